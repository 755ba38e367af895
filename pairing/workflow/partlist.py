"""The list of the parts of a mix: a playlist beside their folder, and what says later which files in it are ours.

A class mixed anew with fewer tracks would leave parts of the former one between its own.
"""

import re
from collections.abc import Collection, Sequence
from pathlib import Path

from audio.errors import OutputError
from audio.files.encode import ENDINGS
from audio.files.whole import write_text
from audio.text import one_line
from pairing.sets.parts import MixPart

_OURS = re.compile(r"\d\d+ [^/\\]+")


def list_of(folder: Path) -> Path:
    """Where the list of the parts in this folder lies: beside it, so that the folder holds nothing but parts."""
    folder = folder.absolute()
    return folder.with_name(f"{folder.name} in order.m3u8")


def refuse_to_mingle(folder: Path) -> None:
    """Leave the parts of another mix alone.

    Raises:
        OutputError: such parts lie there.
    """
    if listed(folder):
        raise OutputError(
            "holds the parts of a mix already.",
            where=str(folder),
            remedy="Name another folder, or let its former parts be replaced; other files stay.",
            command="--force",
        )


def listed(folder: Path) -> tuple[Path, ...]:
    """The parts in a folder that our own list names; none where there is no list."""
    start = f"{folder.absolute().name}/"
    try:
        lines = list_of(folder).read_text(encoding="utf-8", errors="replace").splitlines()
    except OSError:
        return ()
    names = [line.removeprefix(start) for line in lines if line.startswith(start)]
    named = [folder / name for name in names if _OURS.fullmatch(name) and Path(name).suffix.lower() in ENDINGS]
    return tuple(path for path in named if path.is_file())


def renew(folder: Path, parts: Sequence[MixPart], ending: str, former: Collection[Path]) -> None:
    """Take away the former parts that were not written anew, and list the new ones.

    Raises:
        OutputError: one can't be taken away, or the list can't be written.
    """
    names = [f"{part.name}{ending}" for part in parts]
    for path in former:
        if path.name not in names:
            try:
                path.unlink(missing_ok=True)
            except OSError as error:
                raise OutputError(f"can't be taken away ({error.strerror}).", where=str(path)) from error
    write_text(list_of(folder), text(parts, ending, f"{folder.absolute().name}/"))


def text(parts: Sequence[MixPart], ending: str, before: str = "") -> str:
    """A playlist of the parts in order (.m3u8); `before` goes before each file's name."""
    lines = ["#EXTM3U"]
    for part in parts:
        lines += [f"#EXTINF:{round(part.duration_s)},{one_line(part.title)}", f"{before}{part.name}{ending}"]
    return "\n".join(lines) + "\n"
