"""A scan ends whatever it meets, keeps what it finished, and touches only what is new."""

import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path
from typing import Any

import made
import nasty
import numpy as np
import pytest

from audio import scan as scanning
from audio import worker
from audio.database import SUMMED
from audio.errors import LibraryError
from audio.library import Library
from audio.scan import scan
from audio.track import Tags


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Measuring is another test's subject."""
    monkeypatch.setattr(worker, "measure", made.quick_measure)


def write_songs(folder: Path, count: int, seconds: float = 1) -> list[Path]:
    folder.mkdir(parents=True, exist_ok=True)
    paths = [folder / f"song {number}.wav" for number in range(count)]
    for number, path in enumerate(paths):
        path.write_bytes(nasty.wav(nasty.music(seconds) * np.float32(0.99**number)))
    return paths


CONTENT = ", ".join([*SUMMED["recordings"][1:], "path", "size", "modified_ns"])


def content(library: Path) -> list[tuple[Any, ...]]:
    """All that a library knows, but for the numbers it gave."""
    with sqlite3.connect(library) as database:
        rows = database.execute(
            f"SELECT {CONTENT} FROM recordings JOIN files ON recording = id ORDER BY path"
        ).fetchall()
    database.close()
    return rows


def scan_in_threads(folders: list[Path], library: Path) -> scanning.ScanReport:
    with ThreadPoolExecutor(2) as executor:
        return scan(folders, library, executor=executor)


def test_every_nasty_file_is_used_noted_or_left_out_and_stays_as_it_is(quick: None, tmp_path: Path) -> None:
    folder, library = tmp_path / "music", tmp_path / "library"
    folder.mkdir()
    nasty.make(folder)
    before = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in folder.iterdir()}
    report = scan_in_threads([folder], library)
    assert {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in folder.iterdir()} == before
    left_out = {item.path.name: item.reason for item in report.left_out}
    noted = {path.name for path, _ in report.notes}
    refused = {name for name, (_, entry) in nasty.FILES.items() if entry.reason is not None}
    assert set(left_out) == refused
    assert all(reason.endswith(".") and "\n" not in reason for reason in left_out.values())
    assert noted == {name for name, (_, entry) in nasty.FILES.items() if entry.note is not None}
    names = len(nasty.NAMES) if sys.platform != "win32" else 0
    assert report.new == len(nasty.FILES) - len(refused) + names
    again = scan_in_threads([folder], library)
    assert (again.new, again.changed, again.known) == (0, 0, report.new)
    assert {item.path.name: item.reason for item in again.left_out} == left_out
    assert again.notes == report.notes  # what is damaged stays so, and is said again
    with Library(library) as opened:
        assert again.tracks == report.tracks == len(opened.tracks()) < report.new  # some hold the same sound


def test_worker_processes_do_it_too_and_only_once_for_copies(quick: None, tmp_path: Path) -> None:
    songs = write_songs(tmp_path / "music", 4)
    for name in ("copy 1.wav", "copy 2.wav"):
        (tmp_path / "music" / name).write_bytes(songs[0].read_bytes())
    steps: list[tuple[int, int, str]] = []
    report = scan([tmp_path / "music"], tmp_path / "library", jobs=2, progress=lambda *step: steps.append(step))
    assert (report.new, report.left_out, report.interrupted) == (6, (), False)
    assert [step[:2] for step in steps] == [(done, 6) for done in range(1, 7)]
    with Library(tmp_path / "library") as library:
        assert [track.title for track in library.tracks()] == ["copy 1", "song 1", "song 2", "song 3"]


def test_changed_moved_and_tagged_files(quick: None, tmp_path: Path) -> None:
    folder, library = tmp_path / "music", tmp_path / "library"
    songs = write_songs(folder, 3)
    scan_in_threads([folder], library)
    with Library(library) as opened:
        opened.mark(opened.tracks()[0].id, "word", "kept")
    songs[0].rename(folder / "moved.wav")
    songs[1].write_bytes(nasty.wav(nasty.music(2)))
    report = scan_in_threads([folder], library)
    assert (report.new, report.changed, report.known, report.missing) == (1, 1, 1, 0)
    with Library(library) as opened:
        tracks = {track.path.name: track for track in opened.tracks()}
    assert set(tracks) == {"moved.wav", "song 1.wav", "song 2.wav"}
    assert dict(tracks["moved.wav"].marks) == {"word": "kept"}


def test_deleted_files_are_missing_not_forgotten(quick: None, tmp_path: Path) -> None:
    folder, library = tmp_path / "music", tmp_path / "library"
    songs = write_songs(folder, 2)
    scan_in_threads([folder], library)
    content_of_song = songs[0].read_bytes()
    status = songs[0].stat()
    songs[0].unlink()
    assert scan_in_threads([folder], library).missing == 1
    songs[0].write_bytes(content_of_song)
    os.utime(songs[0], ns=(status.st_atime_ns, status.st_mtime_ns))
    report = scan_in_threads([folder], library)
    assert (report.known, report.missing) == (2, 0)


def test_a_file_that_is_only_absent_is_tried_again(quick: None, tmp_path: Path) -> None:
    folder, library = tmp_path / "music", tmp_path / "library"
    folder.mkdir()
    song = folder / "a.wav"
    song.write_bytes(bytes(nasty.RATE))
    assert "only zeros" in scan_in_threads([folder], library).left_out[0].reason
    sound = nasty.wav(nasty.music(1))
    os.utime(song, ns=(1, 1))
    song.write_bytes(sound[: nasty.RATE])
    os.utime(song, ns=(1, 1))  # same size, same time
    assert scan_in_threads([folder], library).left_out == ()


@pytest.mark.skipif(sys.platform == "win32", reason="processes end otherwise there")
def test_a_worker_that_dies_or_hangs_costs_its_own_file_only(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(worker, "measure", made.deadly_measure)
    monkeypatch.setattr(worker, "begin", made.impatient_begin)
    songs = write_songs(tmp_path / "music", 6)
    songs[1].rename(tmp_path / "music" / "crash.wav")
    songs[3].rename(tmp_path / "music" / "hang.wav")
    report = scan([tmp_path / "music"], tmp_path / "library", jobs=2)
    assert report.new == 4
    reasons = {item.path.name: item.reason for item in report.left_out}
    assert set(reasons) == {"crash.wav", "hang.wav"}
    assert "hangs" in reasons["hang.wav"]


def test_an_executor_that_breaks_is_replaced(quick: None, tmp_path: Path) -> None:
    class Breaking(Executor):
        def submit(self, task: Any, /, *args: Any, **named: Any) -> "Future[Any]":
            future: Future[Any] = Future()
            future.set_exception(BrokenProcessPool("the machine is gone"))
            return future

    write_songs(tmp_path / "music", 3)
    assert scan([tmp_path / "music"], tmp_path / "library", executor=Breaking(), jobs=1).new == 3


def test_an_executor_that_breaks_midway_loses_no_file(quick: None, tmp_path: Path) -> None:
    class Breaking(ThreadPoolExecutor):
        left = 7

        def submit(self, task: Any, /, *args: Any, **named: Any) -> "Future[Any]":
            self.left -= 1
            if self.left < 0:
                raise BrokenProcessPool("the machine is gone")
            return super().submit(task, *args, **named)

    write_songs(tmp_path / "music", 6)
    with Breaking(1) as executor:
        report = scan([tmp_path / "music"], tmp_path / "library", executor=executor, jobs=1)
    assert (report.new, report.not_looked_at) == (6, 0)


@pytest.mark.skipif(sys.platform == "win32", reason="a shell of POSIX")
@pytest.mark.parametrize("end", ["exit 1", "exit 0", "kill -9 $$"])
@pytest.mark.parametrize("which", ["*spawn_main*", "*"])  # only the workers, or Python's tracker of resources as well
@pytest.mark.filterwarnings("ignore:resource_tracker")
def test_where_no_worker_can_be_started_the_program_does_the_work_itself(
    quick: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, end: str, which: str
) -> None:
    program = tmp_path / "python"
    program.write_text(f'#!/bin/sh\ncase "$*" in {which}) {end};; *) exec {sys.executable} "$@";; esac\n')
    program.chmod(0o755)
    monkeypatch.setattr("multiprocessing.spawn._python_exe", os.fsencode(program))
    monkeypatch.setattr("audio.workers.START_METHOD", "spawn")
    monkeypatch.setattr("audio.workers.START_S", 1.5)
    songs = write_songs(tmp_path / "music", 4)
    songs[0].write_bytes(b"a poem\n" * 99)
    report = scan([tmp_path / "music"], tmp_path / "library", jobs=2)
    assert (report.new, len(report.left_out), report.not_looked_at) == (3, 1, 0)
    assert report.without_workers


def test_ctrl_c_keeps_what_was_finished(quick: None, tmp_path: Path) -> None:
    write_songs(tmp_path / "music", 6)

    def interrupt(done: int, total: int, name: str) -> None:
        if done == 3:
            raise KeyboardInterrupt

    with ThreadPoolExecutor(1) as executor:
        report = scan([tmp_path / "music"], tmp_path / "library", executor=executor, progress=interrupt)
    assert (report.interrupted, report.new) == (True, 3)
    assert len(content(tmp_path / "library")) == 3
    assert scan_in_threads([tmp_path / "music"], tmp_path / "library").new == 3


SCANNER = """
import json, sys
from pathlib import Path
import made
from audio import worker
from audio.scan import scan
worker.measure = made.slow_measure
if __name__ == "__main__":
    report = scan([Path(sys.argv[1])], Path(sys.argv[2]), jobs=2)
    print(json.dumps([report.new, report.known, report.interrupted]))
"""


def start_scan(tmp_path: Path, library: Path) -> "subprocess.Popen[str]":
    script = tmp_path / "scanner.py"
    script.write_text(SCANNER)
    paths = os.pathsep.join([str(Path(__file__).parent), str(Path(__file__).parents[2])])
    # Tests that run in the background of a shell inherit that Ctrl-C is ignored; a terminal's programs don't.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    return subprocess.Popen(
        [sys.executable, script, tmp_path / "music", library],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=os.environ | {"PYTHONPATH": paths},
        start_new_session=True,
    )


@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
def test_a_scan_killed_at_any_moment_loses_nothing_that_was_finished(tmp_path: Path) -> None:
    write_songs(tmp_path / "music", 16, 0.1)
    undisturbed = start_scan(tmp_path, tmp_path / "undisturbed")
    assert json.loads(undisturbed.communicate()[0]) == [16, 0, False]
    rng = np.random.default_rng(11)
    finished = 0
    for _ in range(5):
        process = start_scan(tmp_path, tmp_path / "library")
        time.sleep(rng.uniform(0.3, 1.0))
        process.kill()
        process.communicate()
        if (tmp_path / "library").exists():
            with Library.open_or_create(tmp_path / "library") as library:
                assert len(library.tracks()) >= finished
                finished = len(library.tracks())
    last = start_scan(tmp_path, tmp_path / "library")
    new, known, _ = json.loads(last.communicate()[0])
    assert (new, known) == (16 - finished, finished)
    assert content(tmp_path / "library") == content(tmp_path / "undisturbed")


@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
def test_ctrl_c_in_the_terminal_ends_all_processes_and_says_so(tmp_path: Path) -> None:
    write_songs(tmp_path / "music", 40, 0.2)
    process = start_scan(tmp_path, tmp_path / "library")
    while not (tmp_path / "library").exists() or len(content_or_none(tmp_path / "library")) < 2:
        time.sleep(0.02)
        assert process.poll() is None
    os.killpg(process.pid, signal.SIGINT)  # as a terminal does, to the workers as well
    out, errors = process.communicate(timeout=20)
    new, _, interrupted = json.loads(out)
    assert interrupted
    assert errors == ""
    assert new == len(content(tmp_path / "library"))


def content_or_none(library: Path) -> list[tuple[Any, ...]]:
    try:
        return content(library)
    except sqlite3.Error:
        return []


def test_two_scans_at_once_share_one_library(tmp_path: Path) -> None:
    write_songs(tmp_path / "music", 10, 0.2)
    scans = [start_scan(tmp_path, tmp_path / "library") for _ in range(2)]
    results = [json.loads(process.communicate()[0]) for process in scans]
    assert all(new + known == 10 for new, known, _ in results)
    with Library(tmp_path / "library") as library:
        assert len(library.tracks()) == 10


@pytest.mark.skipif(sys.platform == "win32", reason="limits of POSIX")
def test_a_full_disk_keeps_what_was_finished(tmp_path: Path) -> None:
    """A limit on the size of files stands in for the full disk: SQLite meets the same failing write."""
    limited = (
        "import resource, signal; signal.signal(signal.SIGXFSZ, signal.SIG_IGN);"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (1_500_000, 1_500_000));"
        "from pathlib import Path; from audio.library import Library; from audio.errors import LibraryError;"
        "from audio.track import Tags; import made, sys\n"
        "try:\n"
        "    with Library.open_or_create(Path(sys.argv[1])) as library:\n"
        "        for number in range(1000):\n"
        "            library.store(made.made_found(f'/{number}'), str(number), Tags(), made.made_analysis(number))\n"
        "except LibraryError as error:\n"
        "    print(number, error.message)\n"
    )
    paths = os.pathsep.join([str(Path(__file__).parent), str(Path(__file__).parents[2])])
    run = subprocess.run(
        [sys.executable, "-c", limited, tmp_path / "library"],
        capture_output=True,
        text=True,
        env=os.environ | {"PYTHONPATH": paths},
        check=True,
    )
    assert run.stderr == ""
    number, _, message = run.stdout.partition(" ")
    assert "can't be" in message
    with Library(tmp_path / "library") as library:
        assert len(library.tracks()) == int(number) > 5
        library.store(made.made_found("/more"), "more", Tags(), made.made_analysis(1))


@pytest.mark.parametrize("field", ["loudness_lufs", "true_peak_dbtp", "energy", "beats_s"])
def test_numbers_that_are_none_never_reach_the_library(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, field: str
) -> None:
    wrong = np.array([0.5, np.nan]) if field in ("energy", "beats_s") else float("nan")
    analysis = made.made_analysis(1).but(**{field: wrong})
    monkeypatch.setattr("audio.measure.analysis.analyse", lambda path, **_: analysis)
    (song,) = write_songs(tmp_path / "music", 1)
    assert worker.measure(song).problem == "can't be measured: its sound gives no sensible numbers."


def test_a_recording_of_a_day_is_left_out_without_decoding_it(quick: None, tmp_path: Path) -> None:
    path = tmp_path / "day.flac"
    silence = np.zeros((8000 * 600, 1), np.float32)
    path.write_bytes(nasty.encoded("flac", "flac", silence, rate=8000, form="s16"))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("audio.files.container.LONGEST_S", 500.0)
        patch.setattr("audio.files.decode.Decoder", None)
        report = scan_in_threads([tmp_path], tmp_path / "library")
    assert "is longer than" in report.left_out[0].reason


def test_a_damaged_library_stops_the_scan_before_it_starts(quick: None, tmp_path: Path) -> None:
    (tmp_path / "library").write_bytes(b"a poem\n" * 999)
    write_songs(tmp_path / "music", 1)
    with pytest.raises(LibraryError, match="damaged"):
        scan([tmp_path / "music"], tmp_path / "library")
