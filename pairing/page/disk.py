"""Files as the page sees them: what they hold now, a short name of that, and whether somebody changed them outside."""

import hashlib
from pathlib import Path

from audio.errors import ArcbedError, OutputError


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


def mark_of(content: bytes) -> str:
    """A short name of a file's content."""
    return hashlib.sha256(content).hexdigest()[:16]


def mark_of_file(path: Path | None) -> str | None:
    """A short name of what a file holds now; None where it can't be read."""
    try:
        return mark_of(path.read_bytes()) if path is not None else None
    except OSError:
        return None


def plain_name(name: str, ending: str) -> str:
    """A name for a new file in the folder: no path in it, and the ending that goes with what is written.

    Raises:
        OutputError: it is no plain name.
    """
    name = name.strip()
    if not name.lower().endswith(ending):
        name += ending
    if name != Path(name).name or "\\" in name or ":" in name or name.startswith(".") or not name.isprintable():
        raise OutputError("is no plain file name.", where=name[:60], remedy="Give a name without a folder in it.")
    return name
