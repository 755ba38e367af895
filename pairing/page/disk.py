"""Files as the page sees them: what they hold now, a short name of that, and whether somebody changed them outside."""

import hashlib
from collections.abc import Iterable
from pathlib import Path

from audio.errors import ArcbedError, OutputError
from audio.text import one_line

MOST_NAME_BYTES = 120  # every usual file system takes 255 with the ending, and what is written first adds to it
_NEVER = '/\\:*?"<>|'  # not in names on one system or another
_DEVICES = {"CON", "PRN", "AUX", "NUL", *(f"{port}{n}" for port in ("COM", "LPT") for n in range(1, 10))}


class ChangedOutsideError(ArcbedError):
    """A file holds something else than the page knows, or is gone; `which` is "plan" or "set"."""

    def __init__(self, which: str, path: Path) -> None:
        self.which, self.gone = which, not path.exists()
        super().__init__("is no longer there." if self.gone else "was changed outside this page.", where=path.name)


def require_same(which: str, path: Path, known: bytes) -> None:
    """See that a file still holds what was last read from it or written to it.

    Raises:
        ChangedOutsideError: it does not.
    """
    if content_of(path) != known:
        raise ChangedOutsideError(which, path)


def content_of(path: Path) -> bytes:
    """What a file holds; nothing where there is none."""
    return path.read_bytes() if path.is_file() else b""


def is_small_file(path: Path, most_bytes: int) -> bool:
    """Whether it is a file that holds fewer bytes; also false where it can't be asked, or is gone by now."""
    try:
        return path.is_file() and path.stat().st_size < most_bytes
    except OSError:
        return False


def mark_of(content: bytes) -> str:
    """A short name of a file's content."""
    return hashlib.sha256(content).hexdigest()[:16]


def mark_of_file(path: Path | None) -> str | None:
    """A short name of what a file holds now; None where it can't be read."""
    try:
        return mark_of(path.read_bytes()) if path is not None else None
    except OSError:
        return None


def plain_name(name: str, ending: str, other_endings: Iterable[str] = ()) -> str:
    """A name for a new file in the folder: what no file can be called becomes a space, and the ending is that of what
    is written, once.

    Args:
        name: as typed. ending: of what is written; "" for a folder.
        other_endings: those that a person may have left on the name.
    Raises:
        OutputError: nothing of it can be a name.

    >>> plain_name("Saturday: low/high.mp3", ".flac", (".mp3",)), plain_name("class.md.md", ".md")
    ('Saturday low high.flac', 'class.md')
    """
    kept = "".join(" " if letter in _NEVER or not letter.isprintable() else letter for letter in name)
    kept = " ".join(kept.split()).strip(". ")
    endings = tuple(each for each in (ending, *other_endings) if each)
    while any(kept.lower().endswith(each) for each in endings):
        kept = kept[: -len(next(each for each in endings if kept.lower().endswith(each)))].rstrip(". ")
    kept = kept.encode()[:MOST_NAME_BYTES].decode("utf-8", "ignore").rstrip(". ")
    if not kept or kept.split(".")[0].rstrip().upper() in _DEVICES:
        raise OutputError(
            "can’t be the name of a file.", where=one_line(name, 60) or "An empty name", remedy="Give it a word or two."
        )
    return kept + ending
