"""What `check` does: all checks of a plan or a set, and of a set as it is heard."""

from dataclasses import dataclass
from pathlib import Path

from audio.errors import AudioError
from audio.progress import Progress
from audio.text import one_line
from pairing.checks.heard import heard_findings
from pairing.checks.set import check_set, renewed
from pairing.model import Finding, SetList, Where
from pairing.sets.heard import ClassSound
from pairing.sets.mixdown import outside_library
from pairing.sets.setfile import begins_as_a_set, plan_beside, read_set
from pairing.workflow import there
from pairing.workflow.heard import sound_of_file, sound_of_set
from pairing.workflow.music import all_tracks, library_path
from pairing.workflow.plans import outline, outline_of_set
from pairing.workflow.sets import SetFile


@dataclass(frozen=True, slots=True, eq=False)
class Checked:
    """What was found; and how the class is heard, of a set whose recordings are all there."""

    findings: tuple[Finding, ...]
    sound: ClassSound | None = None
    setlist: SetList | None = None  # whose tracks the findings are about; None of a plan


def check(path: Path, library: Path | None, *, audio: Path | None = None, progress: Progress | None = None) -> Checked:
    """Check a plan, or a set together with the plan inside it; a file that begins with { is a set.

    Args:
        audio: a mix of the set; it is listened to instead of working out how the set will be heard.
        progress: told recordings done, recordings in all, and which one is listened to.
    Raises:
        AudioError: `audio` can't be read.
    """
    if not begins_as_a_set(path):
        return Checked(outline(path).findings)
    setlist = read_set(path)
    tracks = all_tracks(library) if library_path(library).exists() else []
    base = path.absolute().parent
    gone = there.gone(setlist, base, tracks)
    plan_now = plan_beside(setlist, base)
    found = check_set(
        setlist,
        missing_files=gone,
        tracks=tracks,
        plan_text=_text(plan_now) if plan_now else None,
    )
    outside = outside_library(setlist, base, tracks)
    sound, heard = _heard(SetFile(path, setlist, tuple(tracks)), audio, bool(gone), progress)
    findings = (
        *renewed(setlist.findings, found),
        *outside,
        *heard,
        *outline_of_set(setlist).findings,
    )
    return Checked(findings, sound, setlist)


def _heard(
    found: SetFile, audio: Path | None, gone: bool, progress: Progress | None
) -> tuple[ClassSound | None, tuple[Finding, ...]]:
    if audio is not None:
        sound = sound_of_file(found, audio)
    elif gone:
        return None, ()
    else:
        try:
            sound = sound_of_set(found, progress)
        except AudioError as error:
            return None, (
                Finding("must", "not-heard", Where(one_line(error.where or "")), error.message, error.remedy),
            )
    return sound, heard_findings(found.setlist, sound)


def _text(path: Path) -> str | None:
    try:
        return path.read_text("utf-8")
    except (OSError, UnicodeError):
        return None
