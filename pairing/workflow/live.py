"""A class packed as one page whose music follows it."""

from pathlib import Path

from audio.errors import OutputError
from audio.files.whole import whole_file
from audio.progress import Progress
from pairing.sets.live import LiveSet, live_set
from pairing.show.livepage import live_json, pages
from pairing.workflow import outputs
from pairing.workflow.pack import LIVE_ENDING, add
from pairing.workflow.sets import SetFile


def live_of(found: SetFile, progress: Progress | None = None) -> LiveSet:
    """All that is played when a class doesn't go by the plan; each of its tracks is read once.

    Raises:
        AudioError: a track can't be read.
    """
    spans = outputs.sounding_spans(found, False, progress)
    return live_set(found.setlist, spans, found.tracks, progress=progress)


def page_of(found: SetFile, live: LiveSet, chunks: str | None = None) -> str:
    """The page, without its sound; `chunks` is the address it gets that from, None: it is put inside."""
    return outputs.sheet_of(found, live=live_json(found.setlist, live), chunks=chunks)


def pack_live(found: SetFile, folder: Path, *, progress: Progress | None = None) -> Path:
    """Write the one page of a class into a folder, beside what lies there; give its path.

    A page of the same set that was packed before is replaced.

    Raises:
        AudioError: a track can't be read. OutputError: it can't be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"can't be made ({error.strerror}).", where=str(folder)) from error
    live = live_of(found, progress)
    html = page_of(found, live)
    out = folder / f"{found.path.stem}{LIVE_ENDING}"
    with whole_file(out) as temporary, temporary.open("w", encoding="utf-8") as file:
        for done, part in enumerate(pages(html, live)):
            file.write(part)
            if progress:
                progress(min(done + 1, live.pieces), live.pieces, out.name)
    add(folder, found, out.name)
    return out
