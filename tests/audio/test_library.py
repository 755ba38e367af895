"""The library keeps what it is given, on top of SQLite, and never harms a file that isn't its own."""

import dataclasses
import os
import pickle
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made import made_analysis, made_found

from audio.database import SCHEMA, SUMMED
from audio.errors import LibraryError
from audio.library import Library, Rescued, default_library_path
from audio.stored import from_row, to_row
from audio.track import ALONG, Analysis, CutPoint, Tags, Track, UnusableTrack
from audio.unusable import fault, set_aside


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "library.sqlite"


def assert_same(read: Analysis, given_: Analysis) -> None:
    """Equal within the steps that `audio.stored` states."""
    steps = {
        "energy": 1 / 65535,
        "voice": 1 / 255,
        "speech": 1 / 255,
        "loudness": 0.01,
        "beats_s": 1e-4,
        "downbeats_s": 1e-4,
    }
    fields = [field.name for field in dataclasses.fields(Analysis) if field.name != "curves"]
    pairs = [(name, getattr(given_, name), getattr(read, name)) for name in fields]
    pairs += [(name, getattr(given_.curves, name), getattr(read.curves, name)) for name in ALONG]
    for name, old, new in pairs:
        if name in steps:
            np.testing.assert_allclose(new, old, rtol=1e-6, atol=0.51 * steps[name])
            assert new.dtype == old.dtype
            assert not new.flags.writeable
        elif name == "cut_points":
            for a, b in zip(new, old, strict=True):
                assert dataclasses.astuple(a) == pytest.approx(dataclasses.astuple(b), abs=6e-5)
        else:
            assert new == old, name
    assert read.curves.mean_energy == given_.curves.mean_energy
    assert read.curves.voice_share == given_.curves.voice_share


@given(seed=st.integers(0, 1000), duration_s=st.floats(0.001, 700))
@settings(deadline=None, max_examples=30)
def test_an_analysis_comes_back_as_it_was(seed: int, duration_s: float) -> None:
    analysis = made_analysis(seed, duration_s)
    read = from_row(to_row(analysis))
    assert_same(read, analysis)
    assert_same(pickle.loads(pickle.dumps(read)), analysis)
    assert dataclasses.replace(read, key="C major").key == "C major"
    assert float((read.curves.voice >= 0.5).mean()) == analysis.curves.voice_share


def test_an_empty_analysis_comes_back_too() -> None:
    empty = np.zeros(0)
    analysis = made_analysis(0).but(beats_s=empty, downbeats_s=empty, cut_points=(), energy=empty.astype(np.float32))
    read = from_row(to_row(analysis)).curves
    assert (read.beats_s.size, read.energy.size, read.cut_points, read.mean_energy) == (0, 0, (), 0.0)


def test_tracks_come_back_sorted_by_path_with_tags_and_marks(path: Path, tmp_path: Path) -> None:
    with Library.open_or_create(path) as library:
        second = library.store(made_found(tmp_path / "b.mp3"), "fp2", Tags("Second", "A", "X"), made_analysis(2))
        first = library.store(made_found(tmp_path / "a.mp3"), "fp1", Tags(), made_analysis(1))
        library.store(made_found(tmp_path / "c.mp3"), "fp3", Tags(), problem="is copy-protected.")
        library.mark(first, "rest", "never")
        library.mark(first, "energy", "0.5")
        library.mark(first, "energy", None)
    with Library(path) as library:
        tracks = library.tracks()
        assert [track.id for track in tracks] == [first, second]
        assert [track.title for track in tracks] == ["a", "Second"]
        assert dict(tracks[0].marks) == {"rest": "never"}
        assert_same(tracks[1].analysis, made_analysis(2))
        (unusable,) = library.unusable()
        assert (unusable.title, unusable.problem) == ("c", "is copy-protected.")
        assert isinstance(library.recording(second), Track)
        assert isinstance(library.recording(unusable.id), UnusableTrack)
        assert library.recording(99) is None
        assert library.has_recording("fp1")
        assert not library.has_recording("none")
        with pytest.raises(LibraryError, match="no track 99"):
            library.mark(99, "rest", "never")


def test_two_copies_are_one_track_under_the_shorter_name(path: Path, tmp_path: Path) -> None:
    for name in ("copy of tide.mp3", "tide.mp3"):
        (tmp_path / name).touch()
    with Library.open_or_create(path) as library:
        number = library.store(made_found(tmp_path / "copy of tide.mp3"), "fp", Tags(), made_analysis(1))
        assert library.store(made_found(tmp_path / "tide.mp3"), "fp", Tags("Tide")) == number
        (track,) = library.tracks()
        assert track.path == tmp_path / "tide.mp3"
        assert track.title == "Tide"
        assert library.paths(number) == (tmp_path / "tide.mp3", tmp_path / "copy of tide.mp3")


def test_a_moved_file_leaves_its_old_place(path: Path, tmp_path: Path) -> None:
    (tmp_path / "new.mp3").touch()
    with Library.open_or_create(path) as library:
        library.store(made_found(tmp_path / "old.mp3"), "fp", Tags(), made_analysis(1))
        number = library.store(made_found(tmp_path / "new.mp3"), "fp", Tags())
        assert library.paths(number) == (tmp_path / "new.mp3",)


def test_a_file_is_known_by_path_size_and_time(path: Path, tmp_path: Path) -> None:
    with Library.open_or_create(path) as library:
        library.store(made_found(tmp_path / "a.mp3", 10, 20), "fp", Tags(), made_analysis(1))
        assert library.known(made_found(tmp_path / "a.mp3", 10, 20))
        assert not library.known(made_found(tmp_path / "a.mp3", 11, 20))
        assert not library.known(made_found(tmp_path / "a.mp3", 10, 19))  # also when the clock was set back
        assert not library.known(made_found(tmp_path / "b.mp3", 10, 20))


def test_marks_outlive_forgetting_and_a_change_of_schema(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Library.open_or_create(path) as library:
        number = library.store(made_found(tmp_path / "a.mp3"), "fp", Tags(), made_analysis(1))
        library.mark(number, "voice", "none")
        library.note_used("Evening", "2026-03-01T18:30:00", ["fp"])
        assert library.forget_missing() == (tmp_path / "a.mp3",)
        assert library.tracks() == []
    monkeypatch.setattr("audio.database.SCHEMA", SCHEMA + 1)
    with Library(path) as library:
        assert not library.known(made_found(tmp_path / "a.mp3"))
        library.store(made_found(tmp_path / "a.mp3"), "fp", Tags(), made_analysis(1))
        assert dict(library.tracks()[0].marks) == {"voice": "none"}
        assert library.uses() == [("2026-03-01T18:30:00", "Evening", ("fp",))]


def test_what_an_older_version_measured_is_named_until_a_scan_has_been_there(path: Path, tmp_path: Path) -> None:
    songs = [tmp_path / "album" / "a.mp3", tmp_path / "other" / "b.mp3"]
    with Library.open_or_create(path) as library:
        for number, song in enumerate(songs):
            library.store(made_found(song), f"fp{number}", Tags(), made_analysis(number))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("audio.database.SCHEMA", SCHEMA + 1)
        with Library(path) as library:
            assert library.unmeasured() == tuple(songs)
        patch.setattr("audio.database.SCHEMA", SCHEMA + 2)  # a second change before anything was measured
        with Library(path) as library:
            assert library.unmeasured() == tuple(songs)
            library.store(made_found(songs[0]), "fp0", Tags(), made_analysis(0))
            assert library.unmeasured() == (songs[1],)
            library.note_presence([], [tmp_path / "other"])
            assert library.unmeasured() == ()


def test_a_stick_that_is_gone_takes_its_tracks_along_and_brings_them_back(path: Path, tmp_path: Path) -> None:
    stick = tmp_path / "stick"
    song, other = stick / "a.mp3", tmp_path / "b.mp3"
    with Library.open_or_create(path) as library:
        library.store(made_found(song), "fp1", Tags(), made_analysis(1))
        library.store(made_found(other), "fp2", Tags(), made_analysis(2))
        assert library.note_presence([], [stick]) == 1
        assert [track.path for track in library.tracks()] == [other]
        assert library.has_recording("fp1")
        assert library.known(made_found(song))
        assert library.note_presence([song], [stick]) == 0
        assert [track.path for track in library.tracks()] == [other, song]


@pytest.mark.skipif(sys.platform == "win32", reason="names are text there")
def test_names_of_any_bytes_survive(path: Path, tmp_path: Path) -> None:
    name = Path(os.fsdecode(os.fsencode(tmp_path) + b"/\xff\n'\";--\xe9.mp3"))
    with Library.open_or_create(path) as library:
        library.store(made_found(name), "fp", Tags("'); DROP TABLE files;--"), made_analysis(1))
        assert library.tracks()[0].path == name
        assert library.tracks()[0].title == "'); DROP TABLE files;--"


def test_libraries_can_be_joined(path: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.sqlite"
    for name, place, number in (("a", path, 1), ("b", other, 2)):
        with Library.open_or_create(place) as library:
            (tmp_path / "both").mkdir(exist_ok=True)
            (tmp_path / name).touch()
            (tmp_path / "both" / name).touch()
            track = library.store(made_found(tmp_path / name), f"fp{number}", Tags(name), made_analysis(number))
            library.store(made_found(tmp_path / "both" / name), "fp", Tags("both"), made_analysis(3))
            library.mark(track, "word", name)
            library.note_used(name, f"2026-03-0{number}", [f"fp{number}"])
    with Library(path) as library:
        assert library.join(other) == 1
        assert library.join(other) == 0
        assert {track.title: dict(track.marks) for track in library.tracks()} == {
            "a": {"word": "a"},
            "b": {"word": "b"},
            "both": {},
        }
        assert [use[1] for use in library.uses()] == ["a", "b"]
        (both,) = (track for track in library.tracks() if track.title == "both")
        assert len(library.paths(both.id)) == 2


def test_a_file_of_another_machine_is_missing_until_its_recording_is_met_here(path: Path, tmp_path: Path) -> None:
    with Library.open_or_create(tmp_path / "other") as library:
        library.store(made_found("/elsewhere/a.mp3"), "fp", Tags("a"), made_analysis(1))
    with Library.open_or_create(path) as library:
        assert library.join(tmp_path / "other") == 1
        assert library.tracks() == []
        assert library.has_recording("fp")
        (tmp_path / "a.mp3").touch()
        library.store(made_found(tmp_path / "a.mp3"), "fp", Tags("a"))
        assert [track.path for track in library.tracks()] == [tmp_path / "a.mp3"]


def test_what_is_no_library_of_ours_is_named_and_left_as_it_is(path: Path) -> None:
    path.write_bytes(b"this is no database" * 500)
    before = path.read_bytes()
    with pytest.raises(LibraryError, match=r"library\.sqlite: is damaged.*\n.*set-aside"), Library.open_or_create(path):
        pass
    assert path.read_bytes() == before


def test_a_database_of_another_program_is_left_alone(path: Path) -> None:
    with sqlite3.connect(path) as database:
        database.execute("CREATE TABLE recordings (poem TEXT)")
    database.close()
    before = path.read_bytes()
    with pytest.raises(LibraryError, match="another program"), Library.open_or_create(path):
        pass
    assert path.read_bytes() == before


def test_a_newer_library_is_left_alone(path: Path) -> None:
    with Library.open_or_create(path):
        pass
    with sqlite3.connect(path) as database:
        database.execute(f"PRAGMA user_version = {SCHEMA + 1}")
    database.close()
    with pytest.raises(LibraryError, match="newer version"), Library.open_or_create(path):
        pass


@pytest.mark.parametrize("at", [0.0, 0.05, 0.3, 0.6, 0.9])
def test_a_damaged_library_gives_an_error_a_person_can_read(path: Path, tmp_path: Path, at: float) -> None:
    with Library.open_or_create(path) as library:
        for number in range(60):
            library.store(made_found(tmp_path / f"{number}.mp3"), f"fp{number}", Tags(), made_analysis(number))
    content = bytearray(path.read_bytes())
    start = int(len(content) * at)
    content[start : start + 8192] = np.random.default_rng(1).bytes(8192)[: len(content) - start]
    path.write_bytes(content)
    damaged = path.read_bytes()
    try:
        with Library.open_or_create(path) as library:
            library.tracks()
    except LibraryError as error:
        assert "damaged" in error.message  # noqa: PT017
    assert path.read_bytes() == damaged


@pytest.mark.parametrize("seed", range(60))
def test_random_damage_is_told_and_never_mended_in_silence(path: Path, tmp_path: Path, seed: int) -> None:
    with Library.open_or_create(path) as library:
        for number in range(5):
            library.store(made_found(tmp_path / f"{number}.mp3"), f"fp{number}", Tags(), made_analysis(number))
    rng = np.random.default_rng(seed)
    content = bytearray(path.read_bytes())
    at = int(rng.integers(0, 4096 if seed % 3 == 0 else len(content)))
    content[at : at + 200] = rng.bytes(200)[: len(content) - at]
    path.write_bytes(content[: len(content) if seed % 5 else at + 1])
    damaged, told = path.read_bytes(), fault(path)
    assert path.read_bytes() == damaged
    try:
        with Library(path) as library:
            for track in library.tracks():
                for name in ALONG:
                    getattr(track.analysis.curves, name)
    except LibraryError as error:
        assert "damaged" in error.message or "another program" in error.message  # noqa: PT017
        assert told is not None  # so that the teacher may have it set aside
    assert path.read_bytes() == damaged


def test_marks_and_played_sets_are_rescued_from_a_damaged_library(path: Path, tmp_path: Path) -> None:
    with Library.open_or_create(path) as library:
        for number in range(30):
            track = library.store(made_found(tmp_path / f"{number}"), f"fp{number}", Tags(), made_analysis(number))
            library.mark(track, "rest", "never")
        library.note_used("Evening", "2026-03-01T18:30:00", ["fp"])
    content = bytearray(path.read_bytes())
    content[-40_000:] = bytes(40_000)
    path.write_bytes(content)
    assert fault(path) == "is damaged."
    aside = set_aside(path)
    with Library.open_or_create(path) as library:
        kept = library.rescue(aside)
        assert kept.words == 31
        assert 10 < kept.recordings < 30
        assert library.rescue(tmp_path / "none") == Rescued(0, 0)
        library.store(made_found(tmp_path / "3"), "fp3", Tags(), made_analysis(3))
        assert dict(library.tracks()[0].marks) == {"rest": "never"}
        assert [title for _, title, _ in library.uses()] == ["Evening"]
    assert aside.read_bytes() == bytes(content)


def test_no_track_goes_missing_from_a_damaged_library_in_silence(path: Path, tmp_path: Path) -> None:
    """Whatever byte is changed: all tracks are there, or it is said; and then what is whole can be saved."""
    with Library.open_or_create(path) as library:
        for number in range(40):
            library.store(made_found(f"/m/{number}.mp3"), f"fp{number}", Tags(), made_analysis(number))
    sound, told, saved = path.read_bytes(), 0, []
    for seed in range(100):
        rng = np.random.default_rng(seed)
        content = bytearray(sound)
        at = int(rng.integers(0, len(content)))
        content[at : at + 2000] = bytes(2000)[: len(content) - at] if seed % 2 else rng.bytes(2000)[: len(content) - at]
        path.write_bytes(content)
        try:
            with Library(path) as library:
                assert len(library.tracks()) == 40, seed
        except LibraryError:
            told += 1
            with Library.open_or_create(tmp_path / f"new {seed}") as library:
                saved.append(library.rescue(path).recordings)
    assert told > 10
    assert np.median(saved) >= 30  # a page holds some of them


def all_of(library: Library) -> list[tuple[object, ...]]:
    tracks = library.tracks()
    return [
        (one.id, one.fingerprint, one.path, one.tags, pickle.dumps(one.analysis), dict(one.marks)) for one in tracks
    ]


def test_no_number_changes_in_silence(path: Path, tmp_path: Path) -> None:
    """Damage that leaves SQLite's own structure sound, down to a bit: told, and all but that row is saved."""
    with Library.open_or_create(path) as library:
        for number in range(60):
            track = library.store(
                made_found(f"/m/{number}.mp3"), f"fp{number}", Tags(f"T{number}"), made_analysis(number)
            )
            library.mark(track, "rest", "never")
    sound = path.read_bytes()
    with Library(path) as library:
        before = all_of(library)
    silent, saved = 0, []
    for seed in range(80):
        content = bytearray(sound)
        at = int(np.random.default_rng(seed).integers(200, len(content)))
        content[at] ^= 1 << seed % 8
        path.write_bytes(content)
        try:
            with Library(path) as library:
                assert all_of(library) == before, seed
            silent += 1  # the byte belongs to nothing
        except LibraryError as error:
            assert "damaged" in error.message  # noqa: PT017
            assert fault(path) is not None
            with Library.open_or_create(tmp_path / f"new {seed}") as library:
                saved.append(library.rescue(path).recordings)
    assert silent < 50, silent
    assert np.median(saved) == 59  # all but the one that was hit


@pytest.mark.parametrize(
    ("table", "column", "value"),
    [
        ("recordings", "loudness_lufs", -9.0),
        ("recordings", "title", "Other"),
        ("files", "recording", 2),
        ("files", "path", b"/m/9.mp3"),
        ("marks", "value", "always"),
        ("uses", "fingerprints", "[]"),
    ],
)
def test_a_row_that_is_not_what_was_written_is_told_and_left_out_when_the_rest_is_saved(
    path: Path, tmp_path: Path, table: str, column: str, value: object
) -> None:
    with Library.open_or_create(path) as library:
        for number in range(3):
            track = library.store(made_found(f"/m/{number}.mp3"), f"fp{number}", Tags(), made_analysis(number))
            library.mark(track, "rest", "never")
            library.note_used(f"Evening {number}", "2026-03-01T18:30:00", [f"fp{number}"])
    with sqlite3.connect(path) as database:  # as if the disk had done it: no trigger, the checksum stays
        database.execute(f"DROP TRIGGER changed_{table}")
        database.execute(
            f"UPDATE {table} SET {column} = ? WHERE {SUMMED[table][0]} = (SELECT min({SUMMED[table][0]}) FROM {table})",
            [value],
        )
    database.close()
    with pytest.raises(LibraryError, match="no longer what was written"), Library(path) as library:
        library.uses() if table == "uses" else library.tracks()
    assert fault(path) == "is damaged."
    with Library.open_or_create(tmp_path / "new") as library:
        kept = library.rescue(path)
        assert kept.recordings == (2 if table == "recordings" else 3)
        assert kept.words == (5 if table in ("marks", "uses") else 6)
        assert len(library.tracks()) == (2 if table in ("recordings", "files") else 3)


def test_a_library_without_checksums_gets_them_and_keeps_what_the_teacher_said(path: Path) -> None:
    with Library.open_or_create(path) as library:
        track = library.store(made_found("/m/a.mp3"), "fp", Tags("A"), made_analysis(1))
        library.mark(track, "rest", "never")
        library.note_used("Evening", "2026-03-01T18:30:00", ["fp"])
    with sqlite3.connect(path) as database:  # as version 4 made it
        for table in SUMMED:
            database.execute(f"DROP TRIGGER new_{table}")
            database.execute(f"DROP TRIGGER changed_{table}")
            database.execute(f"ALTER TABLE {table} DROP COLUMN checksum")
        database.execute("PRAGMA user_version = 4")
    database.close()
    with Library(path) as library:
        assert library.tracks() == []
        assert library.uses() == [("2026-03-01T18:30:00", "Evening", ("fp",))]
        library.store(made_found("/m/b.mp3"), "fp", Tags("B"), made_analysis(1))
        assert [dict(track.marks) for track in library.tracks()] == [{"rest": "never"}]
    assert fault(path) is None


def test_a_library_that_may_only_be_read_is_read_without_a_trace(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """For root every place can be written, so what the system says of the place is made up here."""
    with Library.open_or_create(path) as library:
        library.store(made_found("/m/a.mp3"), "fp1", Tags("A"), made_analysis(1))
        monkeypatch.setattr("os.access", lambda *asked: False)
        for _ in range(2):  # as long as the other has it open, a part lies in the log; then the file is all
            names, before = sorted(each.name for each in tmp_path.iterdir()), path.read_bytes()
            with Library(path) as reading:
                assert [track.title for track in reading.tracks()] == ["A"]
            assert sorted(each.name for each in tmp_path.iterdir()) == names
            assert path.read_bytes() == before
            library.__exit__(None, None, None)
    with Library(path) as reading, pytest.raises(LibraryError, match="can only be read"):
        reading.mark(1, "rest", "never")


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write everywhere")
def test_a_library_in_a_folder_without_permission_to_write_is_read(path: Path, tmp_path: Path) -> None:
    with Library.open_or_create(path) as library:
        library.store(made_found("/m/a.mp3"), "fp1", Tags("A"), made_analysis(1))
    path.chmod(0o400)
    tmp_path.chmod(0o500)
    try:
        with Library(path) as library:
            assert len(library.tracks()) == 1
    finally:
        tmp_path.chmod(0o700)


def test_an_older_or_empty_library_is_not_joined_and_left_as_it_is(path: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    with Library.open_or_create(other) as library:
        library.store(made_found(tmp_path / "a"), "fp", Tags(), made_analysis(1))
    before = other.read_bytes()
    with pytest.MonkeyPatch.context() as patch, Library.open_or_create(path) as library:
        patch.setattr("audio.database.SCHEMA", SCHEMA + 1)
        with pytest.raises(LibraryError, match="older version"):
            library.join(other)
    assert other.read_bytes() == before
    (tmp_path / "empty").touch()
    with Library(path) as library, pytest.raises(LibraryError, match="is empty"):
        library.join(tmp_path / "empty")
    with Library(path) as library, pytest.raises(LibraryError, match="can't be read"):
        library.join(tmp_path / "none")


def test_a_library_can_be_set_aside_and_begun_anew(path: Path) -> None:
    path.write_bytes(b"this is no database")
    aside = set_aside(path)
    assert aside.read_bytes() == b"this is no database"
    assert not path.exists()
    path.write_bytes(b"again")
    assert set_aside(path) != aside


def test_a_missing_library_says_how_to_make_one(path: Path) -> None:
    with pytest.raises(LibraryError, match=r"no music yet.\n.*arcbed scan"), Library(path):
        pass
    assert not path.exists()


def test_a_place_that_cannot_be_written_is_an_error(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(LibraryError), Library.open_or_create(tmp_path / "file" / "library.sqlite"):
        pass
    with pytest.raises(LibraryError, match="isn't a file"), Library.open_or_create(tmp_path):
        pass


def test_the_environment_names_the_library(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("ARCBED_LIBRARY", str(tmp_path / "named"))
    assert default_library_path() == tmp_path / "named"
    monkeypatch.delenv("ARCBED_LIBRARY")
    assert default_library_path().name == "library.sqlite"


WRITER = """
import sys
from pathlib import Path
from audio.files.folders import Found
from audio.library import Library
from audio.track import Tags
with Library.open_or_create(Path(sys.argv[1])) as library:
    print("open", flush=True)
    for number in range(int(sys.argv[3])):
        library.store(Found(Path(f"/{sys.argv[2]}/{number}"), 1, 1), f"{sys.argv[2]}{number}", Tags(), problem="p")
"""


def test_two_processes_write_at_once(path: Path) -> None:
    writers = [subprocess.Popen([sys.executable, "-c", WRITER, path, name, "60"]) for name in ("left", "right")]
    assert [writer.wait() for writer in writers] == [0, 0]
    with Library(path) as library:
        assert len(library.tracks()) + len(library.unusable()) == 120


def test_a_writer_that_is_killed_leaves_a_sound_library(path: Path) -> None:
    rng = np.random.default_rng(3)
    for round_ in range(5):
        writer = subprocess.Popen(
            [sys.executable, "-c", WRITER, path, str(round_), "100000"], stdout=subprocess.PIPE, text=True
        )
        assert writer.stdout is not None
        writer.stdout.readline()
        time.sleep(rng.uniform(0, 0.2))
        writer.kill()
        writer.wait()
        writer.stdout.close()
        with sqlite3.connect(path) as database:
            assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            # every file has its recording: transactions were whole
            assert database.execute("PRAGMA foreign_key_check").fetchall() == []
        database.close()


def test_cut_points_are_values(path: Path) -> None:
    cuts = (CutPoint(0.0, 0.0, 1.0), CutPoint(240.0, 1.0, 0.0))
    assert from_row(to_row(made_analysis(1).but(cut_points=cuts))).curves.cut_points == cuts


def test_cut_points_read_as_numbers_are_the_same() -> None:
    for analysis in (made_analysis(1), from_row(to_row(made_analysis(1)))):
        points = [(cut.at_s, cut.enter_cost, cut.leave_cost) for cut in analysis.curves.cut_points]
        assert points
        assert list(map(tuple, analysis.curves.cuts.tolist())) == points
        assert analysis.curves.seconds == len(analysis.curves.energy) > 0
    assert made_analysis(1).but(cut_points=()).curves.cuts.shape == (0, 3)
