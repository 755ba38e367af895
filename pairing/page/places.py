"""Where classes lie: a folder for them among the user's documents, and the classes that were open last."""

import contextlib
import glob
import hashlib
import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path

import platformdirs

from audio.errors import OutputError
from audio.files.whole import write_text

_MOST = 30  # classes remembered
_LARGEST = 1_000_000  # bytes of a plan
_LOOKED_AT = 2000  # files looked at for a class that was moved


def classes_folder() -> Path:
    """The folder for classes among the user's documents; it may not be there yet."""
    return platformdirs.user_documents_path() / "Classes"


@dataclass(frozen=True, slots=True)
class RecentClass:
    """A class that was open: its file, when it was (ISO 8601), and a mark of what it held."""

    path: str
    opened: str
    mark: str


def note_opened(path: Path) -> None:
    """Remember that a class was opened or written; a file that can't be read is not remembered."""
    mark = _mark(path)
    if mark is None:
        return
    known = [each for each in _read() if Path(each.path) != path.absolute()]
    here = RecentClass(str(path.absolute()), datetime.now(UTC).isoformat(timespec="seconds"), mark)
    with contextlib.suppress(OSError, OutputError):  # a convenience: no class is refused for it
        _write([here, *known][:_MOST])


def known_classes() -> tuple[RecentClass, ...]:
    """The classes that were open and are still there, the last one first; one that was moved is found again."""
    found = [each if Path(each.path).is_file() else _found_again(each) for each in _read()]
    unique = {each.path: each for each in reversed([each for each in found if each is not None])}
    return tuple(sorted(unique.values(), key=lambda each: each.opened, reverse=True))


def _found_again(known: RecentClass) -> RecentClass | None:
    """A class that was moved or renamed nearby: the file that holds what it held, else the only one of its name."""
    was = Path(known.path)
    there = list(dict.fromkeys(_nearby(was)))
    same = [path for path in there if _mark(path) == known.mark] or [path for path in there if path.name == was.name]
    return RecentClass(str(same[0]), known.opened, known.mark) if len(same) == 1 else None


def _nearby(was: Path) -> Iterator[Path]:
    looked = 0
    for folder in dict.fromkeys((was.parent, was.parent.parent, classes_folder())):
        if not folder.is_dir() or folder == Path(folder.anchor):
            continue
        for pattern in (glob.escape(was.name), f"*{was.suffix}", f"*/*{was.suffix}"):
            # Not Path.glob, which fails where a folder goes while it looks.
            for name in glob.iglob(pattern, root_dir=folder):
                looked += 1
                if looked > _LOOKED_AT:
                    return
                yield folder / name


def _mark(path: Path) -> str | None:
    try:
        if not path.is_file() or path.stat().st_size > _LARGEST:
            return None
        return hashlib.sha256(path.read_bytes()).hexdigest()[:16]
    except OSError:
        return None


def _file() -> Path:
    return platformdirs.user_data_path("arcbed", appauthor=False) / "classes.json"


def _read() -> list[RecentClass]:
    """What is remembered; nothing where the file is missing or spoilt: it is a convenience, and made again."""
    try:
        rows = json.loads(_file().read_text("utf-8"))
        return [RecentClass(str(row["path"]), str(row["opened"]), str(row["mark"])) for row in rows]
    except (OSError, ValueError, TypeError, KeyError):
        return []


def _write(known: list[RecentClass]) -> None:
    _file().parent.mkdir(parents=True, exist_ok=True)
    write_text(_file(), json.dumps([asdict(each) for each in known], indent=1) + "\n")
