"""A library file that can't be used, or is another's: read as far as it goes without leaving a trace, renamed."""

import sqlite3
from collections.abc import Sequence
from contextlib import closing, suppress
from datetime import date
from pathlib import Path
from typing import Any

from audio import database
from audio.database import APPLICATION, SUMMED, header, is_version, read_only
from audio.errors import LibraryError
from audio.stored import COLUMNS, PACKED, from_row, whole
from audio.text import shown

ROW = SUMMED["recordings"][1:]
_FAR = 100  # numbers of recordings in a row that may be unreadable; more than a damaged page holds


def fault(path: Path) -> str | None:
    """Why the library at `path` can't be used, every page of it looked at; None where it can. It isn't written to.

    Raises: LibraryError if it isn't there, or can't be read now.
    """
    try:
        if path.stat().st_size == 0:
            return None  # a library that is about to be made
        with path.open("rb") as file:  # tells a disk that can't be read from a file that is damaged
            while file.read(1 << 20):
                pass
        with closing(read_only(path)) as opened:
            return _fault(opened)
    except OSError as error:
        raise LibraryError(f"can't be read ({error.strerror}).", where=shown(path)) from error
    except UnicodeError:  # in the middle of a message about damage
        return "is damaged, or isn't a library file."
    except sqlite3.DatabaseError as error:
        if "locked" in str(error) or "unable to open" in str(error):
            raise LibraryError(f"can't be looked at now ({error}).", where=shown(path)) from error
        return "is damaged, or isn't a library file."


def refuse_to_join(other: Path) -> None:
    """Raises: LibraryError if it is no sound library of this very version; it isn't brought up to date here."""
    reason = fault(other)
    if reason is None and readable(other, "PRAGMA user_version") != [(database.SCHEMA,)]:
        reason = "was made by an older version of this program, or is empty."
    if reason:
        raise LibraryError(reason, where=shown(other), remedy="Nothing was taken over from it.")


def readable(path: Path, query: str) -> list[tuple[Any, ...]]:
    """The rows that a library of ours still gives, be it damaged; the file isn't written to."""
    with suppress(sqlite3.Error, UnicodeError), closing(read_only(path)) as opened:
        if opened.execute("PRAGMA application_id").fetchone() == (APPLICATION,):
            return _as_far_as_it_goes(opened, query)
    return []


def whole_recordings(path: Path) -> dict[int, tuple[Any, ...]]:
    """The recordings of a library of ours of which all can be read, as values of ROW by their numbers.

    Pages that can't be read are passed over; of a library that another version made nothing is taken.
    """
    if readable(path, "PRAGMA user_version") != [(database.SCHEMA,)]:
        return {}
    found: dict[int, tuple[Any, ...]] = {}
    query = f"SELECT id, {', '.join(ROW)}, checksum FROM recordings WHERE id >= ? ORDER BY id"
    at, ahead = 0, 1
    with closing(read_only(path)) as opened:
        while ahead <= _FAR:
            rows = _as_far_as_it_goes(opened, query, at + ahead)
            found |= {row[0]: row[1:-1] for row in rows if _is_whole(row) and _can_be_used(row[1:-1])}
            # Where numbers are damaged too they need not rise.
            at, ahead = (max(at + ahead, *(row[0] for row in rows)), 1) if rows else (at, ahead + 1)
    return found


def whole_rows(path: Path, table: str) -> list[tuple[Any, ...]]:
    """The rows of a table of ours that are what was written, with the columns of SUMMED; those of an older version,
    which kept no checksums, as they are.
    """
    columns = ", ".join(SUMMED[table])
    if readable(path, "PRAGMA user_version") == [(database.SCHEMA,)]:
        rows = readable(path, f"SELECT {columns}, checksum FROM {table}")
        return [row[:-1] for row in rows if _is_whole(row)]
    return readable(path, f"SELECT {columns} FROM {table}")


def _as_far_as_it_goes(opened: sqlite3.Connection, query: str, *values: int) -> list[tuple[Any, ...]]:
    rows: list[tuple[Any, ...]] = []
    with suppress(sqlite3.Error, UnicodeError):
        for row in opened.execute(query, values):  # one by one: a damaged page ends the reading, not what came before
            rows.append(row)  # noqa: PERF402
    return rows


def set_aside(path: Path) -> Path:
    """Rename a library file that can't be used, with its companions, so that a new one can be made; gives the new path.

    Only ever called because a person asked for it.

    Raises: LibraryError if it can't be renamed, as where another program has it open.
    """
    number = 0
    while True:
        aside = path.with_name(f"{path.name}.aside-{date.today().isoformat()}{f'-{number}' if number else ''}")
        if not aside.exists():
            break
        number += 1
    for companion in ("-wal", "-shm", ""):
        old = path.with_name(path.name + companion)
        try:
            if old.exists():
                old.rename(aside.with_name(aside.name + companion))
        except OSError as error:
            raise LibraryError(f"can't be renamed ({error.strerror}).", where=shown(old)) from error
    return aside


def _is_whole(row: tuple[Any, ...]) -> bool:
    try:
        whole(row)
    except LibraryError:
        return False
    return True


def _can_be_used(row: Sequence[Any]) -> bool:
    fingerprint, problem, *tags = row[: len(ROW) - len(COLUMNS)]
    if not all(isinstance(text, str) for text in (fingerprint, *tags)) or problem is not None:
        return False
    try:
        analysis = from_row(row[len(ROW) - len(COLUMNS) :])
        for name in PACKED:
            getattr(analysis.curves, name)
    except LibraryError:
        return False
    return True


def _fault(opened: sqlite3.Connection) -> str | None:
    version, application, tables = header(opened)
    if application != APPLICATION:
        return "is a database of another program."
    if version > database.SCHEMA:
        return "was made by a newer version of this program."
    sound = opened.execute("PRAGMA integrity_check(1)").fetchone()[0] == "ok" and is_version(version, tables)
    return None if sound and _can_be_unpacked(opened) and _is_as_written(opened, version) else "is damaged."


def _is_as_written(opened: sqlite3.Connection, version: int) -> bool:
    """Whether every row has its checksum; older versions kept none."""
    if version != database.SCHEMA:
        return True
    queries = (f"SELECT {', '.join(columns)}, checksum FROM {table}" for table, columns in SUMMED.items())
    return all(_is_whole(row) for query in queries for row in opened.execute(query))


def _can_be_unpacked(opened: sqlite3.Connection) -> bool:
    """Whether every track's numbers can be read."""
    rows = opened.execute(f"SELECT {', '.join(COLUMNS)} FROM recordings WHERE problem IS NULL")
    try:
        for analysis in map(from_row, rows):
            for name in PACKED:
                getattr(analysis.curves, name)
    except LibraryError:
        return False
    return True
