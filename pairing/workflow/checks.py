"""What `check` does: all checks of a plan or a set."""

from pathlib import Path

from pairing.checks.set import check_set, renewed
from pairing.errors import SetError
from pairing.model import Finding
from pairing.sets.mixdown import locate, outside_library
from pairing.sets.setfile import plan_beside, read_set
from pairing.workflow.music import all_tracks, library_path
from pairing.workflow.plans import outline, outline_of_text


def check(path: Path, library: Path | None) -> tuple[Finding, ...]:
    """Check a plan, or a set together with the plan inside it; a file that begins with { is a set."""
    if not path.is_file() or path.read_bytes()[:1] != b"{":
        return outline(path).findings
    setlist = read_set(path)
    tracks = all_tracks(library) if library_path(library).exists() else []
    base, gone = path.absolute().parent, []
    for pick in setlist.picks:
        try:
            locate(pick, base, tracks)
        except SetError:
            gone.append(pick.path)
    plan_now = plan_beside(setlist, base)
    found = check_set(
        setlist,
        missing_files=tuple(gone),
        tracks=tracks,
        plan_text=_text(plan_now) if plan_now else None,
    )
    outside = outside_library(setlist, base, tracks)
    return (
        *renewed(setlist.findings, found),
        *outside,
        *outline_of_text(setlist.plan_text, setlist.plan_path).findings,
    )


def _text(path: Path) -> str | None:
    try:
        return path.read_text("utf-8")
    except (OSError, UnicodeError):
        return None
