"""What one carries to class in one folder, all of one state: mix, sheet with clock, one file a track, a playlist."""

from collections.abc import Sequence
from pathlib import Path

from audio.errors import OutputError
from audio.files.encode import refuse_other_kinds
from audio.files.whole import write_text
from audio.files.whole_folder import settle, whole_folder
from audio.progress import Progress
from audio.render.master import write_mixes
from pairing.checks.heard import heard_findings
from pairing.sets import mixdown
from pairing.sets.mixmark import mark_of
from pairing.sets.parts import parts as parts_of
from pairing.show.heard import sound_lines
from pairing.workflow import outputs, partlist
from pairing.workflow.heard import sound_of_mix
from pairing.workflow.outputs import MixReport
from pairing.workflow.sets import SetFile

CONTENTS = "what is in here.txt"
TRACKS = "one file a track"
LIVE_ENDING = "-live.html"
_FIRST_LINE = "Packed by arcbed: "


def write_pack(
    found: SetFile,
    folder: Path,
    *,
    ending: str,
    under_voice: bool = False,
    loud: bool = False,
    progress: Progress | None = None,
) -> MixReport:
    """Write everything that plays or shows a class into one folder; a former pack there is replaced.

    Args:
        folder: absent, empty, or one that was packed before; files in it that aren't of a pack stay.
        ending: the kind of the sound files.
    Raises:
        OutputError: the folder holds other things, or can't be written. AudioError: a recording can't be read.

    Whatever ends the work, the folder holds the former pack or the new one, whole.
    """
    refuse_other_kinds(Path(f"mix{ending}"))
    settle(folder, packed)
    if not packed(folder) and folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise OutputError("holds other things.", where=str(folder), remedy="Name a folder that is empty, or a new one.")
    try:
        folder.absolute().parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"can't be made ({error.strerror}).", where=str(folder.parent)) from error
    with whole_folder(folder, packed) as made:
        return _fill(made, found, ending, under_voice=under_voice, loud=loud, progress=progress)


def packed(folder: Path) -> tuple[str, ...]:
    """The names right in a folder that a former pack put there; none where there is none."""
    try:
        first, *lines = (folder / CONTENTS).read_text("utf-8").splitlines()
    except (OSError, UnicodeError, ValueError):
        return ()
    if not first.startswith(_FIRST_LINE):
        return ()
    names = [line.partition(": ")[0] for line in lines if ": " in line]
    return (CONTENTS, *(name for name in names if Path(name).name == name))


def add(folder: Path, found: SetFile, name: str) -> None:
    """Note in a folder's list of contents a page that was put beside a pack, or stands alone."""
    names = {*(name for name in packed(folder) if name != CONTENTS), name}
    write_text(folder / CONTENTS, _contents(found, sorted(names)))


def _fill(
    made: Path, found: SetFile, ending: str, *, under_voice: bool, loud: bool, progress: Progress | None
) -> MixReport:
    setlist, stem = found.setlist, found.path.stem
    spans = outputs.sounding_spans(found, under_voice, progress)
    parts = parts_of(setlist, spans)
    tracks = made / TRACKS
    tracks.mkdir()
    whole = made / f"{stem}{ending}"
    mixes = [(outputs.mix_of(found, spans), whole)]
    mixes += [(outputs.mix_of_part(found, part), tracks / f"{part.name}{ending}") for part in parts]
    files = write_mixes(mixes, loud=loud, progress=progress)
    sound = sound_of_mix(found, files[0].sound)
    page = outputs.sheet_of(found, audio=whole.name, heard=sound_lines(sound))
    write_text(made / f"{stem}.html", page)
    write_text(tracks / "in order.m3u8", partlist.text(parts, ending))
    write_text(made / CONTENTS, _contents(found, [path.name for path in made.iterdir()]))
    outside = mixdown.outside_library(setlist, found.path.absolute().parent, found.tracks)
    return MixReport(files, (*outside, *heard_findings(setlist, sound)), sound)


def _contents(found: SetFile, names: Sequence[str]) -> str:
    lines = [f"{_FIRST_LINE}{found.setlist.title}, mark {mark_of(found.setlist)}", ""]
    lines += [f"{name}: {_what(name)}" for name in sorted(names)]
    return "\n".join(lines) + "\n"


def _what(name: str) -> str:
    if name == TRACKS:
        return "the same class as one file a track, to be played in order without pauses (in order.m3u8)."
    if name.endswith(LIVE_ENDING):
        return "cue sheet and class clock with the music inside, which follows the class. Open it in a browser."
    if name.endswith(".html"):
        return "cue sheet and class clock. Open it in a browser; it plays the whole class that is beside it."
    if name.endswith(".cue"):
        return "where its tracks begin, for players that read it."
    return "the whole class in one go. Press play with the first breath."
