"""What a teacher can ask of the library: join others, have an unusable one set aside, forget what is gone."""

import errno
import os
import re
import signal
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from made import made_analysis, made_found

from audio.database import SCHEMA
from audio.library import Library
from audio.track import Tags
from pairing.commands import main
from pairing.workflow import sets


@pytest.fixture
def library(tmp_path: Path) -> Path:
    """A library of one marked track whose file is there, and one whose file is gone."""
    path = tmp_path / "library.sqlite"
    (tmp_path / "here.mp3").touch()
    with Library.open_or_create(path) as opened:
        here = opened.store(made_found(tmp_path / "here.mp3"), "fp1", Tags("Here"), made_analysis(1))
        opened.mark(here, "rest", "never")
        opened.store(made_found(tmp_path / "gone.mp3"), "fp2", Tags("Gone"), made_analysis(2))
    return path


def arcbed(monkeypatch: pytest.MonkeyPatch, *words: str | Path) -> int:
    monkeypatch.setattr(sys, "argv", ["arcbed", *map(str, words)])
    try:
        main()
    except SystemExit as end:
        return int(end.code or 0)
    return 0


def damaged(path: Path) -> bytes:
    content = bytearray(path.read_bytes())
    content[16_400:32_000] = bytes(15_600)  # most of the page of the recordings
    path.write_bytes(content)
    return bytes(content)


def newer(path: Path) -> bytes:
    with sqlite3.connect(path) as database:
        database.execute(f"PRAGMA user_version = {SCHEMA + 1}")
    database.close()
    return path.read_bytes()


def foreign(path: Path) -> bytes:
    path.unlink()
    with sqlite3.connect(path) as database:
        database.execute("CREATE TABLE marks (fingerprint TEXT, key TEXT, value TEXT)")
        database.execute("INSERT INTO marks VALUES ('fp1', 'poem', 'tide')")
    database.close()
    return path.read_bytes()


def test_an_older_library_says_what_to_type_until_that_was_done(
    library: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with sqlite3.connect(library) as database:
        database.execute(f"PRAGMA user_version = {SCHEMA - 2}")
    database.close()
    assert arcbed(monkeypatch, "tracks", "--library", library) != 0
    said = capsys.readouterr().err
    assert "older arcbed" in said
    command = re.search(r"arcbed scan (\S+)", said)
    assert command is not None
    assert arcbed(monkeypatch, "scan", command[1], "--library", library) == 0
    capsys.readouterr()
    assert arcbed(monkeypatch, "tracks", "--library", library) == 0
    assert "older version" not in capsys.readouterr().err


@pytest.mark.parametrize(
    ("harm", "said", "kept"),
    [(damaged, "is damaged", 1), (newer, "newer version", 1), (foreign, "another program", 0)],
)
def test_an_unusable_library_is_set_aside_by_the_teachers_word_only(
    library: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], harm, said: str, kept: int
) -> None:
    before = harm(library)
    if harm is not damaged:  # which shows only where it is met
        assert arcbed(monkeypatch, "scan", library.parent, "--library", library) == 3
        assert "--set-aside" in capsys.readouterr().err
        assert library.read_bytes() == before
    assert arcbed(monkeypatch, "scan", "--set-aside", "--library", library) == 0
    told = capsys.readouterr().err
    assert said in told
    assert f", {kept} marks and classes played." in told
    (aside,) = library.parent.glob("library.sqlite.aside-*")
    assert aside.read_bytes() == before
    with Library(library) as opened:
        opened.store(made_found(library.parent / "here.mp3"), "fp1", Tags("Here"), made_analysis(1))
        assert dict(opened.tracks()[0].marks) == ({"rest": "never"} if kept else {})


def test_a_library_in_order_is_never_set_aside(
    library: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    before = library.read_bytes()
    assert arcbed(monkeypatch, "scan", "--set-aside", "--library", library) == 0
    assert "Nothing is damaged" in capsys.readouterr().err
    assert library.read_bytes() == before
    assert arcbed(monkeypatch, "scan", "--set-aside", "--library", library.with_name("none")) == 0
    assert not library.with_name("none").exists()


def test_libraries_of_several_machines_are_joined(
    library: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    others = [library.with_name("other 1"), library.with_name("other 2")]
    for number, other in enumerate(others):
        with Library.open_or_create(other) as opened:
            opened.store(made_found("/elsewhere/x.mp3"), f"other{number}", Tags("x"), made_analysis(3))
    mine = library.with_name("mine")
    words = [word for other in (library, *others) for word in ("--join", other)]
    assert arcbed(monkeypatch, "scan", "--library", mine, *words) == 0
    assert capsys.readouterr().err.count("Took over") == 3
    with Library(mine) as opened:
        assert [track.title for track in opened.tracks()] == ["Here"]
        assert opened.has_recording("other0")
        assert opened.has_recording("other1")
    damaged(library)
    assert arcbed(monkeypatch, "scan", "--library", mine, "--join", library) == 3
    assert "is damaged" in capsys.readouterr().err
    assert arcbed(monkeypatch, "scan", "--library", mine, "--join", library.with_name("none")) == 3


def test_missing_files_are_forgotten_only_when_asked(
    library: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert arcbed(monkeypatch, "scan", "--forget-missing", "--library", library) == 0
    assert "Forgot 1 file" in capsys.readouterr().err
    with Library(library) as opened:
        assert not opened.has_recording("fp2")
        assert opened.has_recording("fp1")


def test_a_scan_that_has_not_looked_at_every_file_says_so_and_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Whatever may lose a file on its way through the scan: here the one that has to work on it."""
    (tmp_path / "music").mkdir()
    (tmp_path / "music" / "a.mp3").write_bytes(b"x")
    monkeypatch.setattr("audio.scan._work", lambda state, jobs, executor: None)
    words = ("scan", tmp_path / "music", "--library", tmp_path / "new")
    assert arcbed(monkeypatch, *words) == 3
    assert "1 file was found and not looked at" in capsys.readouterr().out
    assert arcbed(monkeypatch, *words, "--json") == 3
    assert '"not_looked_at": 1' in capsys.readouterr().out


@pytest.mark.parametrize("stream", ["stdout", "stderr"])
def test_a_program_started_without_a_screen_works(library: Path, monkeypatch: pytest.MonkeyPatch, stream: str) -> None:
    monkeypatch.setattr(sys, stream, None)
    assert arcbed(monkeypatch, "tracks", "--library", library) == 0


@pytest.mark.parametrize(
    "when",
    ["2026-05-01T18:00:00+02:00", "2026-05-01T18:00:00", "2026-05-01", "9999-01-01", "0001-01-01", "last week", ""],
)
def test_a_class_noted_at_any_time_or_none_does_not_stop_fresh(library: Path, tmp_path: Path, when: str) -> None:
    with Library(library) as opened:
        opened.note_used("Tide", when, ["fp1"])
    uses = sets.uses(library)
    assert len(uses) == (1 if when.startswith(("2026", "9999")) else 0)
    assert all(0 <= use.days_ago < 10_000 for use in uses)


@pytest.mark.skipif(sys.platform == "win32", reason="pipes of POSIX")
def test_whoever_stops_reading_the_output_ends_the_program_without_a_word(library: Path) -> None:
    """With the status that a shell gives other programs then: 128 and the number of SIGPIPE (POSIX.1, 2.8.2)."""
    reading, writing = os.pipe()
    os.close(reading)
    words = [sys.executable, "-c", "from pairing.commands import main; main()", "tracks", "--library", library]
    ended = subprocess.run(words, stdout=writing, stderr=subprocess.PIPE, cwd=Path(__file__).parents[2])
    os.close(writing)
    assert (ended.returncode, ended.stderr) == (128 + signal.SIGPIPE, b"")


def test_a_pipe_that_broke_inside_the_program_is_told_and_no_success(
    library: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    def broken(*asked: object, **named: object) -> None:
        raise BrokenPipeError(errno.EPIPE, os.strerror(errno.EPIPE))

    monkeypatch.setattr(Library, "tracks", broken)
    for name in ("stdout", "stderr"):  # typer puts others in their place
        monkeypatch.setattr(sys, name, getattr(sys, name))
    assert arcbed(monkeypatch, "tracks", "--library", library) == 3
    assert "Broken pipe" in capfd.readouterr().err
