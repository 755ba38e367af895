"""A folder is filled whole or not at all: everything is written beside it, then it takes the folder's place by renames.

What the folder held of other people stays in it. Whatever ends the work, the folder afterwards holds all of its former
files or all of the new ones; where that happened between two renames, the next run makes it good.
"""

import os
import shutil
import tempfile
from collections.abc import Callable, Collection, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from audio.errors import OutputError
from audio.files import leftovers

Ours = Callable[[Path], Collection[str]]  # the names right in a folder that a former run wrote

_PREFIX = ".arcbed_folder-"


@contextmanager
def whole_folder(folder: Path, ours: Ours) -> Iterator[Path]:
    """Give an empty folder to write into; what lies in it becomes the contents of `folder` when the block ends well.

    Args:
        folder: made where there is none; the folder it lies in must exist.
        ours: tells what in it was written by a former run: that goes. Other files stay.
    Raises:
        OutputError: the place can't be written, or one of the new names is taken by something that isn't ours.
    """
    folder = folder.absolute()
    settle(folder, ours)
    made: Path | None = None
    try:
        made = Path(tempfile.mkdtemp(prefix=leftovers.marked(_PREFIX), dir=folder.parent))
        yield made
        _refuse_to_replace(folder, made, ours(folder))
        _take_over(folder, made, ours)
    except OSError as error:
        why = error.strerror or str(error)
        raise OutputError(f"can't be written ({why}).", where=str(folder), remedy="Nothing was changed.") from error
    finally:
        if made is not None:
            shutil.rmtree(made, ignore_errors=True)


def settle(folder: Path, ours: Ours) -> None:
    """Make good what a run left that was ended between two renames, and sweep what killed ones left."""
    folder = folder.absolute()
    before = _before(folder)
    with suppress(OSError):
        if before.is_dir() and not folder.exists():
            before.rename(folder)
        elif before.is_dir():
            _bring_over(before, folder, ours(before))
        for left in folder.parent.glob(f"{_PREFIX}*"):
            if leftovers.is_left(left, _PREFIX):
                shutil.rmtree(left, ignore_errors=True)


def _before(folder: Path) -> Path:
    return folder.with_name(f".arcbed_before-{folder.name}")


def _refuse_to_replace(folder: Path, made: Path, ours: Collection[str]) -> None:
    for path in made.iterdir():
        if path.name not in ours and os.path.lexists(folder / path.name):
            raise OutputError(
                "is in the way, and wasn't written by an earlier run.",
                where=str(folder / path.name),
                remedy="Name another folder.",
            )


def _take_over(folder: Path, made: Path, ours: Ours) -> None:
    umask = os.umask(0)
    os.umask(umask)
    made.chmod(0o777 & ~umask)  # mkdtemp gives 0700
    before = _before(folder)
    if folder.exists():
        folder.rename(before)
    try:
        made.rename(folder)
    except OSError:
        if before.exists():
            before.rename(folder)
        raise
    if before.exists():
        _bring_over(before, folder, ours(before))


def _bring_over(before: Path, folder: Path, ours: Collection[str]) -> None:
    """Other people's files from the former folder into the new one; then the former goes."""
    for path in before.iterdir():
        if path.name not in ours and not os.path.lexists(folder / path.name):
            path.rename(folder / path.name)
    shutil.rmtree(before)
