"""Earlier versions of a class: its files as they were, in a hidden folder beside them; a wrong press loses nothing.

Each lies in a folder of its own, named by the moment it was kept, with the files under their own names: readable and
copied back without arcbed too. Many are kept of the last hour and few of last month.
"""

import contextlib
import re
import shutil
import tempfile
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from audio.errors import ArcbedError, OutputError
from pairing.page.notes import write_bytes

FOLDER = ".earlier"
MOST = 24  # of a class; about 4 MB with an hour of music
APART_S = 300.0  # what is typed is kept so often
WRECKED_LINES = 3  # a note that loses so many lines at once is kept first
_STAMP = "%Y-%m-%d %H%M%S-%f"
_ID = re.compile(r"\d{4}-\d\d-\d\d \d{6}-\d{6}")
_UNDER_WAY = "new-"

Files = Sequence[Path]


@dataclass(frozen=True, slots=True)
class Version:
    """One earlier version: the folder it lies in, and when it was kept."""

    folder: Path
    kept: datetime

    @property
    def id(self) -> str:
        """Names it among those of its class."""
        return self.folder.name

    def content(self, name: str) -> bytes | None:
        """What the file of this name held; None where there was none."""
        path = self.folder / name
        return path.read_bytes() if path.is_file() else None


def versions(files: Files) -> tuple[Version, ...]:
    """The versions kept of a class, the latest first.

    Args:
        files: where its note and its music lie; the first one names the class.
    """
    there = _home(files)
    found = [each for each in there.iterdir() if _ID.fullmatch(each.name)] if there.is_dir() else []
    kept = [Version(each, datetime.strptime(each.name, _STAMP).replace(tzinfo=UTC)) for each in found]
    return tuple(sorted(kept, key=lambda each: each.id, reverse=True))


def version(files: Files, name: str) -> Version:
    """One of them.

    Raises:
        ArcbedError: there is none of this name.
    """
    found = next((each for each in versions(files) if each.id == name), None)
    if found is None:
        raise ArcbedError("this version is no longer there.")
    return found


def keep(files: Files, *, apart_s: float = 0.0, now: datetime | None = None) -> None:
    """Keep what the files hold now, before something else is written to them; never in the way of that.

    Nothing is kept that the latest version holds already, nor within `apart_s` of it.
    """
    now = now or datetime.now(UTC)
    with contextlib.suppress(OSError, OutputError):
        there = {path.name: path.read_bytes() for path in files if path.is_file()}
        before = versions(files)
        if not there or (before and _is_kept(before[0], files, there)):
            return
        if before and abs((now - before[0].kept).total_seconds()) < apart_s:
            return
        _write(_home(files), there, now)
        _thin_out(versions(files), now)


def is_wrecked(before: str, after: str) -> bool:
    """Whether a note loses so much at once that a wrong key may have done it."""
    gone = Counter(before.splitlines()) - Counter(after.splitlines())
    return sum(count for line, count in gone.items() if line.strip()) >= WRECKED_LINES


def _home(files: Files) -> Path:
    return files[0].parent / FOLDER / files[0].stem


def _is_kept(latest: Version, files: Files, there: dict[str, bytes]) -> bool:
    return {path.name: latest.content(path.name) for path in files if path.name in there} == there


def _write(home: Path, there: dict[str, bytes], now: datetime) -> None:
    home.mkdir(parents=True, exist_ok=True)
    for left in home.glob(f"{_UNDER_WAY}*"):  # of a program that was killed meanwhile
        shutil.rmtree(left, ignore_errors=True)
    made = Path(tempfile.mkdtemp(prefix=_UNDER_WAY, dir=home))
    try:
        for name, content in there.items():
            write_bytes(made / name, content)
        made.rename(home / now.strftime(_STAMP))
    finally:
        shutil.rmtree(made, ignore_errors=True)


def _thin_out(kept: tuple[Version, ...], now: datetime) -> None:
    """Of too many, the one goes that is missed least: its neighbours are near each other for their age."""
    while len(kept) > MOST:
        ages = [max((now - each.kept).total_seconds(), 1.0) for each in kept]
        least = min(range(1, len(kept) - 1), key=lambda n: (ages[n + 1] - ages[n - 1]) / ages[n])
        shutil.rmtree(kept[least].folder)
        kept = (*kept[:least], *kept[least + 1 :])
