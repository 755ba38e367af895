"""The library: what is known of every recording, in one SQLite file that several processes may use at once.

A recording is known by its fingerprint and may lie in several files. The teacher's marks and the history of played sets
hang on fingerprints, so they outlive files and analyses. Written in write-ahead mode, each recording in a transaction
of its own: a process that is killed loses at most the one it was at.
"""

import json
import os
import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType, TracebackType
from typing import Any, Self

from audio.database import SUMMED, Database
from audio.errors import LibraryError
from audio.files.folders import Found
from audio.stored import COLUMNS, from_row, to_row, unpack_notes, whole
from audio.text import shown
from audio.track import Analysis, Tags, Track, UnusableTrack
from audio.unusable import ROW, refuse_to_join, whole_recordings, whole_rows

_READ = f"{', '.join(SUMMED['recordings'])}, checksum"

_Found = tuple[Sequence[Any], bytes, Mapping[str, str]]  # a row of recordings, its preferred path, its marks

_PREFERRED_LAST = (
    f"SELECT {', '.join(SUMMED['files'])}, checksum FROM files WHERE NOT missing ORDER BY length(path) DESC, path DESC"
)


def default_library_path() -> Path:
    """ARCBED_LIBRARY where it is set, else a file in the user's data folder."""
    named = os.environ.get("ARCBED_LIBRARY")
    if named:
        return Path(named)
    import platformdirs

    return Path(platformdirs.user_data_dir("arcbed", appauthor=False)) / "library.sqlite"


@dataclass(frozen=True, slots=True)
class Rescued:
    """How many recordings, and how many marks and played sets, were taken out of a damaged library."""

    recordings: int
    words: int


class Library:
    """A library file, open between `with` and its end.

    Raises (on entering, and from every method):
        UnusableLibraryError: it is damaged, another program's or a newer version's. It is left as it is.
        LibraryError: there is none at that place, or it can't be read or written.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._database = Database(path, create=False)

    @classmethod
    def open_or_create(cls, path: Path) -> Self:
        """As `Library(path)`, but a new, empty library is made where there is none.

        Raises:
            LibraryError: it can't be made there.

        >>> from tempfile import TemporaryDirectory
        >>> with TemporaryDirectory() as folder, Library.open_or_create(Path(folder, "all.db")) as library:
        ...     library.tracks()
        []
        """
        library = cls(path)
        library._database = Database(path, create=True)
        return library

    def __enter__(self) -> Self:
        self._database.__enter__()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._database.__exit__(kind, error, trace)

    def tracks(self) -> list[Track]:
        """Every track of which a file was there at the last scan, by path; curves are unpacked when they are used.

        A recording in several files appears once, under the shortest of its paths; `paths` gives the others.
        """
        return [_track(row, path, marks) for row, path, marks in self._recordings(usable=True)]

    def unusable(self) -> list[UnusableTrack]:
        """Every recording that can't be used and of which a file was there at the last scan, by path."""
        return [_unusable(row, path, marks) for row, path, marks in self._recordings(usable=False)]

    def _recordings(self, *, usable: bool) -> list[_Found]:
        with self._database.guarded():
            files = map(whole, self._database.connection.execute(_PREFERRED_LAST))
            path_of = {recording: path for path, _, _, recording in files}
            marks = self._all_marks()
            rows = map(whole, self._database.connection.execute(f"SELECT {_READ} FROM recordings"))
            found = [(path_of[row[0]], row) for row in rows if row[0] in path_of and (row[2] is None) == usable]
        found.sort(key=lambda item: item[0])
        return [(row, path, marks.get(row[1], _NO_MARKS)) for path, row in found]

    def recording(self, track_id: int) -> Track | UnusableTrack | None:
        """The recording of that number, or None; also one whose files were gone at the last scan."""
        with self._database.guarded():
            execute = self._database.connection.execute
            row = execute(f"SELECT {_READ} FROM recordings WHERE id = ?", (track_id,)).fetchone()
            if row is None:
                return None
            marks = self._all_marks().get(row[1], _NO_MARKS)
        paths = self.paths(row[0])
        row, made = whole(row), _track if row[2] is None else _unusable
        return made(row, os.fsencode(paths[0]) if paths else b"", marks)

    def unmeasured(self) -> tuple[Path, ...]:
        """Files that only an older version of the program has measured, which heard other things than this one."""
        with self._database.guarded():
            query = "SELECT path FROM older WHERE path NOT IN (SELECT path FROM files) ORDER BY path"
            return tuple(_path(row[0]) for row in self._database.connection.execute(query))

    def paths(self, track_id: int) -> tuple[Path, ...]:
        """Every file of the recording, the preferred one first."""
        with self._database.guarded():
            rows = self._database.connection.execute(
                "SELECT path FROM files WHERE recording = ? ORDER BY missing, length(path), path", (track_id,)
            )
            return tuple(_path(row[0]) for row in rows)

    def mark(self, track_id: int, key: str, value: str | None) -> None:
        """Set the teacher's own word on a recording, or take it away (None); it outlives every scan.

        Raises: LibraryError if there is no such track.
        """
        with self._database.written() as database:
            row = database.execute("SELECT fingerprint FROM recordings WHERE id = ?", (track_id,)).fetchone()
            if row is None:
                raise LibraryError(
                    f"has no track {track_id}.",
                    where=shown(self.path),
                    remedy="See which there are.",
                    command="arcbed tracks",
                )
            if value is None:
                database.execute("DELETE FROM marks WHERE fingerprint = ? AND key = ?", (row[0], key))
            else:
                database.execute(
                    "INSERT OR REPLACE INTO marks (fingerprint, key, value) VALUES (?, ?, ?)", (row[0], key, value)
                )

    def known(self, found: Found) -> bool:
        """Whether this very file, by path, size and time, was analysed before."""
        with self._database.guarded():
            query = f"SELECT {', '.join(SUMMED['files'])}, checksum FROM files WHERE path = ?"
            row = self._database.connection.execute(query, (os.fsencode(found.path),)).fetchone()
        return row is not None and whole(row)[1:3] == (found.size, found.modified_ns)

    def has_path(self, path: Path) -> bool:
        """Whether a file of this path was analysed before, be it another by now."""
        with self._database.guarded():
            query = "SELECT 1 FROM files WHERE path = ?"
            return self._database.connection.execute(query, (os.fsencode(path),)).fetchone() is not None

    def has_recording(self, fingerprint: str) -> bool:
        """Whether a recording of this fingerprint was analysed before and can be used."""
        with self._database.guarded():
            query = "SELECT 1 FROM recordings WHERE fingerprint = ? AND problem IS NULL"
            return self._database.connection.execute(query, (fingerprint,)).fetchone() is not None

    def problems(self) -> list[tuple[Path, str]]:
        """Every file that can't be used, and why."""
        with self._database.guarded():
            rows = self._database.connection.execute(
                "SELECT path, problem FROM files JOIN recordings ON id = recording WHERE problem IS NOT NULL"
            )
            return [(_path(path), problem) for path, problem in rows]

    def notes(self) -> list[tuple[Path, tuple[str, ...]]]:
        """Every file that can be used and was odd, by path, with what was odd about it."""
        with self._database.guarded():
            rows = self._database.connection.execute(
                "SELECT path, notes FROM files JOIN recordings ON id = recording"
                " WHERE problem IS NULL AND notes != '' ORDER BY path"
            )
            return [(_path(path), unpack_notes(notes)) for path, notes in rows]

    def usable_recordings(self, paths: Sequence[Path]) -> int:
        """How many recordings that can be used these files hold."""
        wanted = {os.fsencode(path) for path in paths}
        with self._database.guarded():
            rows = self._database.connection.execute(
                "SELECT path, recording FROM files JOIN recordings ON id = recording WHERE problem IS NULL"
            )
            return len({recording for path, recording in rows if path in wanted})

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
        with self._database.written() as database:
            (track_id,) = database.execute(
                f"INSERT INTO recordings ({', '.join(names)}) VALUES ({', '.join('?' * len(names))})"
                f" ON CONFLICT (fingerprint) DO UPDATE SET {', '.join(f'{n} = excluded.{n}' for n in updated)}"
                " RETURNING id",
                values,
            ).fetchone()
            self._drop_moved(database, track_id, found.path)
            database.execute(
                "INSERT OR REPLACE INTO files (path, size, modified_ns, recording) VALUES (?, ?, ?, ?)",
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
        with self._database.written() as database:
            rows = database.execute("SELECT path, missing FROM files").fetchall()
            there = [row for row in rows if _is_below(row[0], tops)]
            gone = {path for path, _ in there if path not in names and not os.path.lexists(path)}
            changed = [(path in gone, path) for path, missing in there if bool(missing) != (path in gone)]
            database.executemany("UPDATE files SET missing = ? WHERE path = ?", changed)
            older = [row for row in database.execute("SELECT path FROM older") if _is_below(row[0], tops)]
            database.executemany("DELETE FROM older WHERE path = ?", older)
        return len(gone)

    def forget_missing(self) -> tuple[Path, ...]:
        """Forget every file that is no longer there, and recordings without a file; marks stay. Gives their paths."""
        with self._database.written() as database:
            paths = [row[0] for row in database.execute("SELECT path FROM files")]
            gone = [path for path in paths if not os.path.lexists(path)]
            database.executemany("DELETE FROM files WHERE path = ?", [(path,) for path in gone])
            database.execute("DELETE FROM recordings WHERE id NOT IN (SELECT recording FROM files)")
        return tuple(_path(path) for path in gone)

    def note_used(self, set_title: str, when_iso: str, fingerprints: Sequence[str]) -> None:
        """Note that a set with these recordings was played at a time (ISO 8601)."""
        with self._database.written() as database:
            database.execute(
                "INSERT INTO uses (used_at, title, fingerprints) VALUES (?, ?, ?)",
                (when_iso, set_title, json.dumps(list(fingerprints))),
            )

    def uses(self) -> list[tuple[str, str, tuple[str, ...]]]:
        """Every played set: when, title, fingerprints; the oldest first."""
        with self._database.guarded():
            rows = self._database.connection.execute(
                f"SELECT {', '.join(SUMMED['uses'])}, checksum FROM uses ORDER BY used_at, id"
            )
            return [(when, title, tuple(json.loads(text))) for _, when, title, text in map(whole, rows)]

    def join(self, other: Path) -> int:
        """Take over what another library holds and this one doesn't; gives the number of recordings taken over.

        Files that aren't on this machine count as missing; a scan that meets their recordings knows them.

        Raises: LibraryError if the other is no sound library of this version.
        """
        refuse_to_join(other)
        columns = f"fingerprint, problem, title, artist, album, {', '.join(COLUMNS)}"
        with self._database.guarded():
            self._database.connection.create_function("is_gone", 1, lambda path: not os.path.lexists(path))
            self._database.connection.execute("ATTACH ? AS other", (str(other),))
        try:
            with self._database.written() as database:
                count = database.execute(
                    f"INSERT OR IGNORE INTO recordings ({columns}) SELECT {columns} FROM other.recordings"
                ).rowcount
                database.execute(
                    "INSERT OR IGNORE INTO files (path, size, modified_ns, recording, missing)"
                    " SELECT path, size, modified_ns, mine.id, is_gone(path) FROM other.files"
                    " JOIN other.recordings AS theirs ON theirs.id = recording"
                    " JOIN main.recordings AS mine ON mine.fingerprint = theirs.fingerprint"
                )
                database.execute(
                    "INSERT OR IGNORE INTO marks (fingerprint, key, value)"
                    " SELECT fingerprint, key, value FROM other.marks"
                )
                database.execute(
                    "INSERT INTO uses (used_at, title, fingerprints)"
                    " SELECT used_at, title, fingerprints FROM other.uses"
                    " EXCEPT SELECT used_at, title, fingerprints FROM uses"
                )
        finally:
            self._database.connection.execute("DETACH other")
        return int(count)

    def rescue(self, other: Path) -> Rescued:
        """Take what can still be read out of a library of ours that can't be opened: recordings that are whole, the
        teacher's marks, the played sets. What is here already stays.

        Raises:
            LibraryError: this library can't be written.
        """
        recordings = whole_recordings(other)
        insert = f"INSERT OR IGNORE INTO recordings ({', '.join(ROW)}) VALUES ({', '.join('?' * len(ROW))})"
        with self._database.written() as database:
            kept = _added(database, "recordings", insert, recordings.values())
            _added(
                database,
                "files",
                "INSERT OR IGNORE INTO files (path, size, modified_ns, recording)"
                " SELECT ?, ?, ?, id FROM recordings WHERE fingerprint = ?",
                [(*file, recordings[of][0]) for *file, of in whole_rows(other, "files") if of in recordings],
            )
            marks = "INSERT OR IGNORE INTO marks (fingerprint, key, value) VALUES (?, ?, ?)"
            uses = "INSERT INTO uses (used_at, title, fingerprints) VALUES (?, ?, ?)"
            words = _added(database, "marks", marks, whole_rows(other, "marks"))
            words += _added(database, "uses", uses, [use[1:] for use in whole_rows(other, "uses")])
        return Rescued(kept, words)

    def _all_marks(self) -> dict[str, Mapping[str, str]]:
        marks: dict[str, dict[str, str]] = {}
        rows = self._database.connection.execute("SELECT fingerprint, key, value, checksum FROM marks")
        for fingerprint, key, value in map(whole, rows):
            marks.setdefault(fingerprint, {})[key] = value
        return {fingerprint: MappingProxyType(words) for fingerprint, words in marks.items()}

    def _drop_moved(self, database: sqlite3.Connection, track_id: int, path: Path) -> None:
        """The recording was found at `path`: where its other files are gone, it was moved."""
        rows = database.execute("SELECT path FROM files WHERE recording = ?", (track_id,)).fetchall()
        gone = [row for row in rows if row[0] != os.fsencode(path) and not os.path.lexists(row[0])]
        database.executemany("DELETE FROM files WHERE path = ?", gone)


def _added(database: sqlite3.Connection, table: str, insert: str, rows: Iterable[Sequence[Any]]) -> int:
    count = f"SELECT count(*) FROM {table}"
    before = database.execute(count).fetchone()[0]
    database.executemany(insert, rows)
    return int(database.execute(count).fetchone()[0]) - int(before)


_NO_MARKS: Mapping[str, str] = MappingProxyType({})


def _track(row: Sequence[Any], path: bytes, marks: Mapping[str, str]) -> Track:
    track_id, fingerprint, _, title, artist, album, *stored = row
    return Track(track_id, fingerprint, _path(path), Tags(title, artist, album), from_row(stored), marks=marks)


def _unusable(row: Sequence[Any], path: bytes, marks: Mapping[str, str]) -> UnusableTrack:
    track_id, fingerprint, problem, title, artist, album, *_ = row
    return UnusableTrack(track_id, fingerprint, _path(path), Tags(title, artist, album), problem, marks=marks)


def _path(name: bytes) -> Path:
    return Path(os.fsdecode(name))


def _is_below(path: bytes, tops: Sequence[bytes]) -> bool:
    return any(path == top or path.startswith(_inside(top)) for top in tops)


def _inside(folder: bytes) -> bytes:
    return folder if folder.endswith(os.fsencode(os.sep)) else folder + os.fsencode(os.sep)
