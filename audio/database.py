"""The library's file: an SQLite database of ours, made where there is none, brought up to date, never replaced.

Written in write-ahead mode, so that several processes may use it at once. What goes wrong is told in words.
"""

import json
import os
import shutil
import sqlite3
import tempfile
import time
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager
from pathlib import Path
from types import TracebackType
from typing import Self

from audio.errors import LibraryError
from audio.stored import COLUMNS, checksum
from audio.text import shown

# Raise it whenever the tables or the meaning of a measured number change: older libraries are then analysed anew,
# marks and history stay.
SCHEMA = 8
APPLICATION = 0x41524342  # "ARCB" in the header of the file: an SQLite file of ours
WAIT_S = 60.0  # for another process to end its transaction; theirs last milliseconds

_TABLES = f"""
CREATE TABLE IF NOT EXISTS recordings (
    id INTEGER PRIMARY KEY, fingerprint TEXT NOT NULL UNIQUE, problem TEXT,
    title TEXT NOT NULL, artist TEXT NOT NULL, album TEXT NOT NULL, {", ".join(COLUMNS)}, checksum INTEGER);
CREATE TABLE IF NOT EXISTS files (
    path BLOB PRIMARY KEY, size INTEGER NOT NULL, modified_ns INTEGER NOT NULL,
    recording INTEGER NOT NULL REFERENCES recordings (id), missing INTEGER NOT NULL DEFAULT 0,
    checksum INTEGER) WITHOUT ROWID;
CREATE INDEX IF NOT EXISTS files_of_a_recording ON files (recording);
CREATE TABLE IF NOT EXISTS marks (
    fingerprint TEXT, key TEXT, value TEXT NOT NULL, checksum INTEGER,
    PRIMARY KEY (fingerprint, key)) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS uses (
    id INTEGER PRIMARY KEY, used_at TEXT NOT NULL, title TEXT NOT NULL, fingerprints TEXT NOT NULL,
    checksum INTEGER);
CREATE TABLE IF NOT EXISTS older (path BLOB PRIMARY KEY) WITHOUT ROWID;
"""
# What the checksum of a row is made of, its key first; triggers see to it that every way of writing a row makes one.
SUMMED = {
    "recordings": ("id", "fingerprint", "problem", "title", "artist", "album", *COLUMNS),
    "files": ("path", "size", "modified_ns", "recording"),
    "marks": ("fingerprint", "key", "value"),
    "uses": ("id", "used_at", "title", "fingerprints"),
}
_SIGNS_OF_DAMAGE = ("malformed", "not a database", "no such", "not decode")  # in what SQLite says


class UnusableLibraryError(LibraryError):
    """What lies at the library's place is damaged, another program's, or a newer version's."""


class Database:
    """A library's file, open between `with` and its end.

    Raises (on entering, and from inside `guarded` and `written`):
        UnusableLibraryError: it is damaged, another program's or a newer version's. It is left as it is.
        LibraryError: there is none at that place, or it can't be read or written.
    """

    connection: sqlite3.Connection

    def __init__(self, path: Path, *, create: bool) -> None:
        self.path = path
        self._create = create
        self._stack = ExitStack()

    def __enter__(self) -> Self:
        with self.guarded():
            self._prepare_the_place()
            self.connection = self._stack.enter_context(closing(self._connected()))
            try:
                self._settle_schema()
                self._refuse_damage()
            except BaseException:
                self._stack.close()
                raise
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._stack.close()

    @contextmanager
    def written(self) -> Iterator[sqlite3.Connection]:
        """One transaction, whole or not at all.

        Raises:
            LibraryError: the file is damaged, locked by another program, or can't be written; what was begun is undone.
        """
        with self.guarded():
            self.connection.execute("BEGIN IMMEDIATE")
            try:
                yield self.connection
                self.connection.execute("COMMIT")
            except BaseException:
                if self.connection.in_transaction:
                    self.connection.execute("ROLLBACK")
                raise

    @contextmanager
    def guarded(self) -> Iterator[None]:
        """Errors of SQLite and of the disk inside become errors for people.

        Raises:
            LibraryError: in their place; UnusableLibraryError where the file is damaged.
        """
        try:
            yield
        except (sqlite3.Error, OSError, UnicodeError, json.JSONDecodeError) as error:
            raise self._explained(error) from error

    def _prepare_the_place(self) -> None:
        if self.path.exists():
            if self.path.is_file():
                return
            raise LibraryError("isn't a file.", where=shown(self.path), remedy="Name another library file.")
        if not self._create:
            raise LibraryError(
                "there is no music yet.",
                where=shown(self.path),
                remedy="Scan a folder of music.",
                command="arcbed scan FOLDER",
            )
        self.path.parent.mkdir(parents=True, exist_ok=True)

    def _connected(self) -> sqlite3.Connection:
        connection = self._opened()
        connection.create_function("checksum", -1, checksum, deterministic=True)
        return connection

    def _opened(self) -> sqlite3.Connection:
        if (os.access(self.path, os.W_OK) and os.access(self.path.parent, os.W_OK)) or not self.path.exists():
            return sqlite3.connect(self.path, timeout=WAIT_S, isolation_level=None)
        if is_empty(log_of(self.path)):
            return read_only(self.path)
        # What is in the log can't be read without writing beside it: a copy is.
        folder = Path(self._stack.enter_context(tempfile.TemporaryDirectory(prefix="arcbed-")))
        for file in (self.path, log_of(self.path)):
            shutil.copyfile(file, folder / file.name)
        return sqlite3.connect(folder / self.path.name, isolation_level=None)

    def _refuse_damage(self) -> None:
        """By SQLite's own checks of structure and indexes: without them rows can be missing and nothing says so."""
        if self.connection.execute("PRAGMA integrity_check(1)").fetchone()[0] != "ok":
            raise self._refusal("is damaged.")

    def _settle_schema(self) -> None:
        """Make the tables, or see that they are ours and of this version."""
        self.connection.execute("PRAGMA foreign_keys = ON")
        self.connection.execute("PRAGMA synchronous = NORMAL")  # a power cut may cost the last seconds, never the file
        version, application, tables = header(self.connection)
        if version == SCHEMA and application == APPLICATION:
            return
        if application != APPLICATION and tables:
            raise self._refusal("is a database of another program.")
        if version > SCHEMA:
            raise self._refusal("was made by a newer version of this program.")
        if not is_version(version, tables):
            raise self._refusal("is damaged, or isn't a library file.")
        self.connection.execute("PRAGMA page_size = 16384")  # of 4,096 a row would waste a half
        self._keep_a_log()
        with self.written() as database:
            version, _, tables = header(self.connection)  # again: another process may have been first
            if version == SCHEMA:
                return
            _begin(database, _places(database) if tables else [])
            _sum_up(database)
            for trigger in _triggers():
                database.execute(trigger)
            database.execute(f"PRAGMA application_id = {APPLICATION}")
            database.execute(f"PRAGMA user_version = {SCHEMA}")

    def _keep_a_log(self) -> None:
        """Turn the log on; tried again while another process does so, since SQLite doesn't wait for that by itself."""
        end = time.monotonic() + WAIT_S
        while True:
            try:
                self.connection.execute("PRAGMA journal_mode = WAL")
                return
            except sqlite3.OperationalError as error:
                if "locked" not in str(error) or time.monotonic() > end:
                    raise
            time.sleep(0.02)

    def _explained(self, error: Exception) -> LibraryError:
        text = str(error)
        if isinstance(error, ValueError) or any(word in text for word in _SIGNS_OF_DAMAGE):
            return self._refusal("is damaged, or isn't a library file.")
        if "locked" in text:
            return LibraryError(
                "is in use by another program.",
                where=shown(self.path),
                remedy="Wait for the other to end, then try again.",
            )
        if "readonly" in text:
            return LibraryError(
                "can only be read, not changed.",
                where=shown(self.path),
                remedy="Copy it to a place where you may write, and name that.",
                command="--library FILE",
            )
        if "full" in text:
            return LibraryError(
                "can't be written: the disk is full.",
                where=shown(self.path),
                remedy="What was finished before is kept. Make room, then try again.",
            )
        return LibraryError(
            f"can't be opened or written ({getattr(error, 'strerror', None) or text}).",
            where=shown(self.path),
            remedy="Name another place for it.",
            command="--library FILE",
        )

    def _refusal(self, reason: str) -> UnusableLibraryError:
        return UnusableLibraryError(
            reason,
            where=shown(self.path),
            remedy="It was left as it is. Have it renamed and a new one started, which keeps your marks as far as they "
            "can be read; or name another.",
            command="arcbed scan --set-aside FOLDER, or --library FILE",
        )


def _begin(database: sqlite3.Connection, places: list[tuple[bytes]]) -> None:
    """Empty tables; marks and history stay where there are any."""
    database.execute("DROP TABLE IF EXISTS files")
    database.execute("DROP TABLE IF EXISTS recordings")
    for statement in _TABLES.split(";"):
        database.execute(statement)
    database.executemany("INSERT OR IGNORE INTO older VALUES (?)", places)


def _sum_up(database: sqlite3.Connection) -> None:
    """Checksums for rows that were written without."""
    for table, columns in SUMMED.items():
        if "checksum" not in {column[1] for column in database.execute(f"PRAGMA table_info({table})")}:
            database.execute(f"ALTER TABLE {table} ADD COLUMN checksum INTEGER")
            database.execute(f"UPDATE {table} SET checksum = checksum({', '.join(columns)})")


def _triggers() -> Iterator[str]:
    """For each table, when a row is put in and when what is summed of it changes."""
    for table, columns in SUMMED.items():
        key = columns[:2] if table == "marks" else columns[:1]
        place = " AND ".join(f"{name} = new.{name}" for name in key)
        summed = ", ".join(columns)
        for event, name in (("INSERT", "new"), (f"UPDATE OF {summed}", "changed")):
            yield (
                f"CREATE TRIGGER IF NOT EXISTS {name}_{table} AFTER {event} ON {table}"
                f" BEGIN UPDATE {table} SET checksum = checksum({summed}) WHERE {place}; END"
            )


def read_only(path: Path) -> sqlite3.Connection:
    """Open without leaving a trace; what another process is writing is seen too.

    Raises:
        sqlite3.Error: it can't be opened.
    """
    how = "immutable=1" if is_empty(log_of(path)) else "mode=ro"  # without a log nobody is writing
    return sqlite3.connect(f"{path.absolute().as_uri()}?{how}", uri=True, timeout=WAIT_S, isolation_level=None)


def log_of(path: Path) -> Path:
    """Where SQLite keeps what isn't in the file yet."""
    return path.with_name(f"{path.name}-wal")


def is_empty(log: Path) -> bool:
    """Whether a log holds nothing."""
    return not log.exists() or log.stat().st_size == 0


def header(database: sqlite3.Connection) -> tuple[int, int, int]:
    """Version, application and number of tables."""

    def value(query: str) -> int:
        return int(database.execute(query).fetchone()[0])

    tables = value("SELECT count(*) FROM sqlite_master")
    return value("PRAGMA user_version"), value("PRAGMA application_id"), tables


def _places(database: sqlite3.Connection) -> list[tuple[bytes]]:
    """Files that an older version knew, so that a person can be told what is to be measured again."""
    if not database.execute("SELECT 1 FROM sqlite_master WHERE name = 'files'").fetchone():
        return []
    return database.execute("SELECT path FROM files").fetchall()


def is_version(version: int, tables: int) -> bool:
    """Whether a number can be a version of ours: a damaged head must not pass for an older one and be made anew."""
    return version >= 1 or (version == 0 and tables == 0)
