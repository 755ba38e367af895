"""The library: what is known of every recording, in one SQLite file that several processes may use at once.

A recording is known by its fingerprint and may lie in several files. The teacher's marks and the history of played sets
hang on fingerprints, so they outlive files and analyses. Written in write-ahead mode, each recording in a transaction
of its own: a process that is killed loses at most the one it was at.
"""

import json
import os
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack, closing, contextmanager, suppress
from datetime import date
from pathlib import Path
from types import MappingProxyType, TracebackType
from typing import Any, Self

from audio.errors import LibraryError
from audio.files.folders import Found
from audio.files.text import shown
from audio.stored import COLUMNS, PACKED, from_row, to_row
from audio.track import Analysis, Tags, Track

# Raise it whenever the tables or the meaning of a measured number change: older libraries are then analysed anew,
# marks and history stay.
SCHEMA = 2
_APPLICATION = 0x41524342  # "ARCB" in the header of the file: an SQLite file of ours
_WAIT_S = 60.0  # for another process to end its transaction; theirs last milliseconds

_TABLES = f"""
CREATE TABLE IF NOT EXISTS recordings (
    id INTEGER PRIMARY KEY, fingerprint TEXT NOT NULL UNIQUE, problem TEXT,
    title TEXT NOT NULL, artist TEXT NOT NULL, album TEXT NOT NULL, {", ".join(COLUMNS)});
CREATE TABLE IF NOT EXISTS files (
    path BLOB PRIMARY KEY, size INTEGER NOT NULL, modified_ns INTEGER NOT NULL,
    recording INTEGER NOT NULL REFERENCES recordings (id), missing INTEGER NOT NULL DEFAULT 0) WITHOUT ROWID;
CREATE INDEX IF NOT EXISTS files_of_a_recording ON files (recording);
CREATE TABLE IF NOT EXISTS marks (
    fingerprint TEXT, key TEXT, value TEXT NOT NULL, PRIMARY KEY (fingerprint, key)) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS uses (
    id INTEGER PRIMARY KEY, used_at TEXT NOT NULL, title TEXT NOT NULL, fingerprints TEXT NOT NULL);
"""
_READ = f"id, fingerprint, problem, title, artist, album, {', '.join(COLUMNS)}"

_SIGNS_OF_DAMAGE = ("malformed", "not a database", "no such", "not decode")  # in what SQLite says

_PREFERRED_LAST = "SELECT recording, path FROM files WHERE NOT missing ORDER BY length(path) DESC, path DESC"


def default_library_path() -> Path:
    """ARCBED_LIBRARY where it is set, else a file in the user's data folder."""
    named = os.environ.get("ARCBED_LIBRARY")
    if named:
        return Path(named)
    import platformdirs

    return Path(platformdirs.user_data_dir("arcbed", appauthor=False)) / "library.sqlite"


class UnusableLibraryError(LibraryError):
    """What lies at the library's place is damaged, another program's, or a newer version's."""


class Library:
    """A library file, open between `with` and its end.

    Raises (on entering, and from every method):
        UnusableLibraryError: it is damaged, another program's or a newer version's. It is left as it is.
        LibraryError: there is none at that place, or it can't be read or written.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._create = False
        self._stack = ExitStack()

    @classmethod
    def open_or_create(cls, path: Path) -> Self:
        """As `Library(path)`, but a new, empty library is made where there is none."""
        library = cls(path)
        library._create = True
        return library

    def __enter__(self) -> Self:
        with self._guarded():
            self._prepare_the_place()
            self._database = sqlite3.connect(self.path, timeout=_WAIT_S, isolation_level=None)
            self._stack.enter_context(closing(self._database))
            try:
                self._settle_schema()
            except BaseException:
                self._stack.close()
                raise
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._stack.close()

    def tracks(self, include_unusable: bool = False) -> list[Track]:
        """Every recording of which a file was there at the last scan, by path; curves are unpacked when they are used.

        A recording in several files appears once, under the shortest of its paths; `paths` gives the others.
        """
        with self._guarded():
            path_of = dict(self._database.execute(_PREFERRED_LAST))
            marks = self._all_marks()
            usable = "" if include_unusable else "WHERE problem IS NULL"
            rows = self._database.execute(f"SELECT {_READ} FROM recordings {usable}")
            found = [(path_of[row[0]], row) for row in rows if row[0] in path_of]
        found.sort(key=lambda item: item[0])
        return [_track(row, path, marks.get(row[1], _NO_MARKS)) for path, row in found]

    def track(self, track_id: int) -> Track | None:
        """The recording of that number, or None."""
        return self._one("id = ?", track_id)

    def by_fingerprint(self, fingerprint: str) -> Track | None:
        """The recording of that fingerprint, or None; also one whose files were gone at the last scan."""
        return self._one("fingerprint = ?", fingerprint)

    def paths(self, track_id: int) -> tuple[Path, ...]:
        """Every file of the recording, the preferred one first."""
        with self._guarded():
            rows = self._database.execute(
                "SELECT path FROM files WHERE recording = ? ORDER BY missing, length(path), path", (track_id,)
            )
            return tuple(_path(row[0]) for row in rows)

    def mark(self, track_id: int, key: str, value: str | None) -> None:
        """Set the teacher's own word on a recording, or take it away (None); it outlives every scan.

        Raises: LibraryError if there is no such track.
        """
        with self._written() as database:
            row = database.execute("SELECT fingerprint FROM recordings WHERE id = ?", (track_id,)).fetchone()
            if row is None:
                raise LibraryError(
                    f"has no track {track_id}.", where=shown(self.path), remedy='"arcbed tracks" lists the numbers.'
                )
            if value is None:
                database.execute("DELETE FROM marks WHERE fingerprint = ? AND key = ?", (row[0], key))
            else:
                database.execute("INSERT OR REPLACE INTO marks VALUES (?, ?, ?)", (row[0], key, value))

    def known(self, found: Found) -> bool:
        """Whether this very file, by path, size and time, was analysed before."""
        with self._guarded():
            row = self._database.execute(
                "SELECT size, modified_ns FROM files WHERE path = ?", (os.fsencode(found.path),)
            ).fetchone()
        return row is not None and tuple(row) == (found.size, found.modified_ns)

    def has_path(self, path: Path) -> bool:
        """Whether a file of this path was analysed before, be it another by now."""
        with self._guarded():
            query = "SELECT 1 FROM files WHERE path = ?"
            return self._database.execute(query, (os.fsencode(path),)).fetchone() is not None

    def has_recording(self, fingerprint: str) -> bool:
        """Whether a recording of this fingerprint was analysed before and can be used."""
        with self._guarded():
            query = "SELECT 1 FROM recordings WHERE fingerprint = ? AND problem IS NULL"
            return self._database.execute(query, (fingerprint,)).fetchone() is not None

    def problems(self) -> list[tuple[Path, str]]:
        """Every file that can't be used, and why."""
        with self._guarded():
            rows = self._database.execute(
                "SELECT path, problem FROM files JOIN recordings ON id = recording WHERE problem IS NOT NULL"
            )
            return [(_path(path), problem) for path, problem in rows]

    def store(
        self, found: Found, fingerprint: str, tags: Tags, analysis: Analysis | None = None, problem: str | None = None
    ) -> int:
        """Keep a file and what was measured of its recording; gives the recording's number.

        Args:
            analysis: None for a recording that is known already, or can't be used.
            problem: why it can't be used; None where it can.
        """
        values = [fingerprint, problem, tags.title, tags.artist, tags.album, *to_row(analysis)]
        names = ["fingerprint", "problem", "title", "artist", "album", *COLUMNS]
        updated = names[1:] if analysis is not None or problem is not None else names[2:5]
        with self._written() as database:
            (track_id,) = database.execute(
                f"INSERT INTO recordings ({', '.join(names)}) VALUES ({', '.join('?' * len(names))})"
                f" ON CONFLICT (fingerprint) DO UPDATE SET {', '.join(f'{n} = excluded.{n}' for n in updated)}"
                " RETURNING id",
                values,
            ).fetchone()
            self._drop_moved(database, track_id, found.path)
            database.execute(
                "INSERT OR REPLACE INTO files VALUES (?, ?, ?, ?, 0)",
                (os.fsencode(found.path), found.size, found.modified_ns, track_id),
            )
        return int(track_id)

    def note_presence(self, present: Sequence[Path], below: Sequence[Path]) -> int:
        """Tell which files a finished scan of the folders `below` has met; the others there count as missing.

        Missing files keep their analysis; a later scan that meets them knows them again. Gives the number of files
        that are missing there.
        """
        names = {os.fsencode(path) for path in present}
        tops = [os.fsencode(Path(os.path.abspath(folder))) for folder in below]
        with self._written() as database:
            rows = database.execute("SELECT path, missing FROM files").fetchall()
            there = [row for row in rows if any(row[0] == top or row[0].startswith(_inside(top)) for top in tops)]
            gone = {path for path, _ in there if path not in names and not os.path.lexists(path)}
            changed = [(path in gone, path) for path, missing in there if bool(missing) != (path in gone)]
            database.executemany("UPDATE files SET missing = ? WHERE path = ?", changed)
        return len(gone)

    def forget_missing(self) -> tuple[Path, ...]:
        """Forget every file that is no longer there, and recordings without a file; marks stay. Gives their paths."""
        with self._written() as database:
            paths = [row[0] for row in database.execute("SELECT path FROM files")]
            gone = [path for path in paths if not os.path.lexists(path)]
            database.executemany("DELETE FROM files WHERE path = ?", [(path,) for path in gone])
            database.execute("DELETE FROM recordings WHERE id NOT IN (SELECT recording FROM files)")
        return tuple(_path(path) for path in gone)

    def note_used(self, set_title: str, when_iso: str, fingerprints: Sequence[str]) -> None:
        """Note that a set with these recordings was played at a time (ISO 8601)."""
        with self._written() as database:
            database.execute(
                "INSERT INTO uses (used_at, title, fingerprints) VALUES (?, ?, ?)",
                (when_iso, set_title, json.dumps(list(fingerprints))),
            )

    def uses(self) -> list[tuple[str, str, tuple[str, ...]]]:
        """Every played set: when, title, fingerprints; the oldest first."""
        with self._guarded():
            rows = self._database.execute("SELECT used_at, title, fingerprints FROM uses ORDER BY used_at, id")
            return [(when, title, tuple(json.loads(text))) for when, title, text in rows]

    def join(self, other: Path) -> int:
        """Take over what another library holds and this one doesn't; gives the number of recordings taken over.

        Files that aren't on this machine count as missing; a scan that meets their recordings knows them.

        Raises: LibraryError if the other is no sound library of this version.
        """
        _refuse_to_join(other)
        columns = f"fingerprint, problem, title, artist, album, {', '.join(COLUMNS)}"
        with self._guarded():
            self._database.create_function("is_gone", 1, lambda path: not os.path.lexists(path))
            self._database.execute("ATTACH ? AS other", (str(other),))
        try:
            with self._written() as database:
                count = database.execute(
                    f"INSERT OR IGNORE INTO recordings ({columns}) SELECT {columns} FROM other.recordings"
                ).rowcount
                database.execute(
                    "INSERT OR IGNORE INTO files"
                    " SELECT path, size, modified_ns, mine.id, is_gone(path) FROM other.files"
                    " JOIN other.recordings AS theirs ON theirs.id = recording"
                    " JOIN main.recordings AS mine ON mine.fingerprint = theirs.fingerprint"
                )
                database.execute("INSERT OR IGNORE INTO marks SELECT * FROM other.marks")
                database.execute(
                    "INSERT INTO uses (used_at, title, fingerprints)"
                    " SELECT used_at, title, fingerprints FROM other.uses"
                    " EXCEPT SELECT used_at, title, fingerprints FROM uses"
                )
        finally:
            self._database.execute("DETACH other")
        return int(count)

    def rescue(self, other: Path) -> int:
        """Take the teacher's marks and the played sets out of a library of ours that can't be opened, as far as they
        can still be read; gives how many of both. What is here already stays.
        """
        marks = _readable(other, "SELECT fingerprint, key, value FROM marks")
        uses = _readable(other, "SELECT used_at, title, fingerprints FROM uses")
        with self._written() as database:
            before = database.total_changes
            database.executemany("INSERT OR IGNORE INTO marks VALUES (?, ?, ?)", marks)
            database.executemany("INSERT INTO uses (used_at, title, fingerprints) VALUES (?, ?, ?)", uses)
            return database.total_changes - before

    def _one(self, condition: str, value: int | str) -> Track | None:
        with self._guarded():
            row = self._database.execute(f"SELECT {_READ} FROM recordings WHERE {condition}", (value,)).fetchone()
            if row is None:
                return None
            marks = self._database.execute("SELECT key, value FROM marks WHERE fingerprint = ?", (row[1],)).fetchall()
        paths = self.paths(row[0])
        return _track(row, os.fsencode(paths[0]) if paths else b"", MappingProxyType(dict(marks)))

    def _all_marks(self) -> dict[str, Mapping[str, str]]:
        marks: dict[str, dict[str, str]] = {}
        for fingerprint, key, value in self._database.execute("SELECT fingerprint, key, value FROM marks"):
            marks.setdefault(fingerprint, {})[key] = value
        return {fingerprint: MappingProxyType(words) for fingerprint, words in marks.items()}

    def _drop_moved(self, database: sqlite3.Connection, track_id: int, path: Path) -> None:
        """The recording was found at `path`: where its other files are gone, it was moved."""
        rows = database.execute("SELECT path FROM files WHERE recording = ?", (track_id,)).fetchall()
        gone = [row for row in rows if row[0] != os.fsencode(path) and not os.path.lexists(row[0])]
        database.executemany("DELETE FROM files WHERE path = ?", gone)

    def _prepare_the_place(self) -> None:
        if self.path.exists():
            if self.path.is_file():
                return
            raise LibraryError("is no file.", where=shown(self.path), remedy="Name another library file.")
        if not self._create:
            raise LibraryError(
                "there is no library yet.", where=shown(self.path), remedy='"arcbed scan FOLDER" makes one.'
            )
        self.path.parent.mkdir(parents=True, exist_ok=True)

    def _settle_schema(self) -> None:
        """Make the tables, or see that they are ours and of this version."""
        self._database.execute("PRAGMA foreign_keys = ON")
        self._database.execute("PRAGMA synchronous = NORMAL")  # a power cut may cost the last seconds, never the file
        version, application, tables = _header(self._database)
        if version == SCHEMA and application == _APPLICATION:
            return
        if application != _APPLICATION and tables:
            raise self._refusal("is a database of another program.")
        if version > SCHEMA:
            raise self._refusal("was made by a newer version of this program.")
        if not _is_version(version, tables):
            raise self._refusal("is damaged, or no library.")
        self._database.execute("PRAGMA page_size = 16384")  # of 4,096 a row would waste a half
        self._database.execute("PRAGMA journal_mode = WAL")
        with self._written() as database:
            version, _, tables = _header(self._database)  # again: another process may have been first
            if version != SCHEMA:
                if tables:
                    database.execute("DROP TABLE IF EXISTS files")
                    database.execute("DROP TABLE IF EXISTS recordings")
                for statement in _TABLES.split(";"):
                    database.execute(statement)
                database.execute(f"PRAGMA application_id = {_APPLICATION}")
                database.execute(f"PRAGMA user_version = {SCHEMA}")

    @contextmanager
    def _written(self) -> Iterator[sqlite3.Connection]:
        """One transaction, whole or not at all."""
        with self._guarded():
            self._database.execute("BEGIN IMMEDIATE")
            try:
                yield self._database
                self._database.execute("COMMIT")
            except BaseException:
                if self._database.in_transaction:
                    self._database.execute("ROLLBACK")
                raise

    @contextmanager
    def _guarded(self) -> Iterator[None]:
        try:
            yield
        except (sqlite3.Error, OSError, UnicodeError, json.JSONDecodeError) as error:
            raise self._explained(error) from error

    def _explained(self, error: Exception) -> LibraryError:
        text = str(error)
        if isinstance(error, ValueError) or any(word in text for word in _SIGNS_OF_DAMAGE):
            return self._refusal("is damaged, or no library.")
        if "locked" in text:
            return LibraryError(
                "is in use by another program.",
                where=shown(self.path),
                remedy="Wait for the other to end, then try again.",
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
            remedy="Name another place with --library.",
        )

    def _refusal(self, reason: str) -> UnusableLibraryError:
        return UnusableLibraryError(
            reason,
            where=shown(self.path),
            remedy='It was left as it is. "arcbed scan --set-aside FOLDER" renames it, begins a new one and keeps your'
            " marks as far as they can be read; or name another with --library.",
        )


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
        with closing(_read_only(path)) as database:
            return _fault(database)
    except OSError as error:
        raise LibraryError(f"can't be read ({error.strerror}).", where=shown(path)) from error
    except UnicodeError:  # in the middle of a message about damage
        return "is damaged, or no library."
    except sqlite3.DatabaseError as error:
        if "locked" in str(error) or "unable to open" in str(error):
            raise LibraryError(f"can't be looked at now ({error}).", where=shown(path)) from error
        return "is damaged, or no library."


def _fault(database: sqlite3.Connection) -> str | None:
    version, application, tables = _header(database)
    if application != _APPLICATION:
        return "is a database of another program."
    if version > SCHEMA:
        return "was made by a newer version of this program."
    sound = database.execute("PRAGMA quick_check(1)").fetchone()[0] == "ok" and _is_version(version, tables)
    return None if sound and _can_be_unpacked(database) else "is damaged."


def _can_be_unpacked(database: sqlite3.Connection) -> bool:
    """Whether every track's numbers can be read: SQLite keeps no checksum of what it stores."""
    rows = database.execute(f"SELECT {', '.join(COLUMNS)} FROM recordings WHERE problem IS NULL")
    try:
        for analysis in map(from_row, rows):
            for name in PACKED:
                getattr(analysis, name)
    except LibraryError:
        return False
    return True


def _refuse_to_join(other: Path) -> None:
    """Raises: LibraryError if it is no sound library of this very version; it isn't brought up to date here."""
    reason = fault(other)
    if reason is None and _readable(other, "PRAGMA user_version") != [(SCHEMA,)]:
        reason = "was made by an older version of this program, or is empty."
    if reason:
        raise LibraryError(reason, where=shown(other), remedy="Nothing was taken over from it.")


def _header(database: sqlite3.Connection) -> tuple[int, int, int]:
    """Version, application and number of tables."""

    def value(query: str) -> int:
        return int(database.execute(query).fetchone()[0])

    tables = value("SELECT count(*) FROM sqlite_master")
    return value("PRAGMA user_version"), value("PRAGMA application_id"), tables


def _is_version(version: int, tables: int) -> bool:
    """Whether a number can be a version of ours: a damaged head must not pass for an older one and be made anew."""
    return version >= 1 or (version == 0 and tables == 0)


def _read_only(path: Path) -> sqlite3.Connection:
    """Open without leaving a trace; what another process is writing is seen too."""
    log = path.with_name(f"{path.name}-wal")
    how = "mode=ro" if log.exists() and log.stat().st_size else "immutable=1"  # without a log nobody is writing
    return sqlite3.connect(f"{path.absolute().as_uri()}?{how}", uri=True, timeout=_WAIT_S)


def _readable(path: Path, query: str) -> list[tuple[Any, ...]]:
    """The rows that a library of ours still gives, be it damaged; the file isn't written to."""
    rows: list[tuple[Any, ...]] = []
    with suppress(sqlite3.Error, UnicodeError), closing(_read_only(path)) as database:
        if database.execute("PRAGMA application_id").fetchone() == (_APPLICATION,):
            for row in database.execute(query):  # one by one: a damaged page ends the reading, not what came before
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


_NO_MARKS: Mapping[str, str] = MappingProxyType({})


def _track(row: Sequence[Any], path: bytes, marks: Mapping[str, str]) -> Track:
    track_id, fingerprint, problem, title, artist, album, *stored = row
    analysis = None if problem is not None else from_row(stored)
    return Track(track_id, fingerprint, _path(path), Tags(title, artist, album), analysis, problem, marks)


def _path(name: bytes) -> Path:
    return Path(os.fsdecode(name))


def _inside(folder: bytes) -> bytes:
    return folder if folder.endswith(os.fsencode(os.sep)) else folder + os.fsencode(os.sep)
