"""A file is written whole or not at all: a temporary file beside it, then a rename."""

import contextlib
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

from audio.errors import OutputError
from audio.files import leftovers

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]

_PREFIX = ".arcbed-"


@contextlib.contextmanager
def whole_file(path: Path, *, replace: bool = True, instead_of: bytes | None = None) -> Iterator[Path]:
    """Give a temporary path with the same ending; rename it to `path` when the block ends well.

    Args:
        path: where the file shall stand; its folder must exist.
        replace: whether a file that stands there may be replaced.
        instead_of: what has to stand there when it is replaced; None: anything.
    Raises:
        OutputError: the folder is missing or read-only, the disk is full, the file exists and may not be replaced, or
            something else stands there by now.

    On any error, an interruption included, the temporary file is removed and `path` is as it was before.
    """
    if path.is_dir():
        raise OutputError("is a folder, not a file.", where=str(path), remedy="Name a file inside it.")
    if path.exists() and not path.is_file():
        raise OutputError("is a pipe or a device, not a file.", where=str(path), remedy="Give another name.")
    if path.exists() and not replace:
        raise OutputError(
            "exists already.", where=str(path), remedy="Give another name, or let it be replaced.", command="--force"
        )
    _sweep(path.parent)
    try:
        handle, name = tempfile.mkstemp(prefix=leftovers.marked(_PREFIX), suffix=path.suffix, dir=path.parent)
        os.close(handle)
    except OSError as error:
        raise OutputError(_reason(error), where=str(path), remedy="Choose another place to write to.") from error
    temporary = Path(name)
    try:
        yield temporary
        _keep(temporary, path, instead_of)
    except OSError as error:
        raise OutputError(_reason(error), where=str(path), remedy="Nothing was written there.") from error
    finally:
        temporary.unlink(missing_ok=True)


def write_text(path: Path, text: str, *, replace: bool = True, instead_of: bytes | None = None) -> bytes:
    """Write `text` as UTF-8 with line feeds, whole or not at all. Gives the bytes.

    Args:
        replace, instead_of: as `whole_file` has them.
    Raises:
        OutputError: as `whole_file` raises it.
    """
    content = text.encode("utf-8", "surrogateescape")
    with whole_file(path, replace=replace, instead_of=instead_of) as temporary:
        temporary.write_bytes(content)
    return content


def _sweep(folder: Path) -> None:
    """Take away what processes left that were killed or lost power while they wrote."""
    with contextlib.suppress(OSError):
        for left in folder.glob(f"{_PREFIX}*"):
            with contextlib.suppress(OSError):
                if leftovers.is_left(left, _PREFIX):
                    left.unlink()


def _keep(temporary: Path, path: Path, instead_of: bytes | None) -> None:
    with temporary.open("rb+") as file:
        os.fsync(file.fileno())
    # mkstemp gives 0600; a result should have the permissions any new file of the user gets.
    umask = os.umask(0)
    os.umask(umask)
    with contextlib.suppress(OSError):
        temporary.chmod(path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~umask)
    if instead_of is None:
        temporary.replace(path)
        return
    with _alone_at(path):
        if not path.is_file() or path.read_bytes() != instead_of:
            raise OutputError(
                "was changed or removed by another program in the meantime.",
                where=str(path),
                remedy="Nothing was written. Look at it as it is now, then make your change again.",
            )
        temporary.replace(path)


@contextlib.contextmanager
def _alone_at(path: Path) -> Iterator[None]:
    """One after the other, as far as the system can; whoever waited finds that another file stands there."""
    with contextlib.ExitStack() as stack:
        if fcntl is not None:
            with contextlib.suppress(OSError):
                fcntl.flock(stack.enter_context(path.open("rb")), fcntl.LOCK_EX)
        yield


def _reason(error: OSError) -> str:
    return f"can't be written ({error.strerror or error})."
