"""A class packed as one page whose music follows it."""

from collections.abc import Callable
from pathlib import Path

from audio.errors import OutputError
from audio.files.whole import whole_file
from pairing.sets.live import live_set
from pairing.show.livepage import live_json, pages
from pairing.show.sheet import sheet_html
from pairing.workflow import outputs
from pairing.workflow.pack import LIVE_ENDING, add
from pairing.workflow.plans import outline_of_set
from pairing.workflow.sets import SetFile

Progress = Callable[[int, int, str], None]


def pack_live(found: SetFile, folder: Path, *, progress: Progress | None = None) -> Path:
    """Write the one page of a class into a folder, beside what lies there; give its path.

    A page of the same set that was packed before is replaced.

    Raises:
        AudioError: a track can't be read. OutputError: it can't be written.
    """
    setlist = found.setlist
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"can't be made ({error.strerror}).", where=str(folder)) from error
    live = live_set(setlist, outputs.sounding_spans(found, False, progress), found.tracks)
    known = outline_of_set(setlist)
    html = sheet_html(
        setlist,
        known.timetable,
        known.arc,
        findings=(*setlist.findings, *known.findings),
        plan=known.plan,
        tracks={track.id: track for track in found.tracks},
        set_file=found.path,
        live=live_json(setlist, live),
    )
    out = folder / f"{found.path.stem}{LIVE_ENDING}"
    with whole_file(out) as temporary, temporary.open("w", encoding="utf-8") as file:
        for done, part in enumerate(pages(html, live)):
            file.write(part)
            if progress:
                progress(min(done + 1, live.pieces), live.pieces, out.name)
    add(folder, found, out.name)
    return out
