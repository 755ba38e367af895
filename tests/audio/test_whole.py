"""A file is there whole, or as it was before."""

import os
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from audio.errors import OutputError
from audio.files.leftovers import is_left
from audio.files.whole import whole_file, write_text


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_it_replaces_what_stood_there_and_leaves_nothing_else(tmp_path: Path) -> None:
    path = tmp_path / "list.m3u8"
    write_text(path, "old\n")
    path.chmod(0o640)
    write_text(path, "new ☀\n")
    assert path.read_bytes() == "new ☀\n".encode()
    assert names(tmp_path) == ["list.m3u8"]
    if sys.platform != "win32":
        assert path.stat().st_mode & 0o777 == 0o640


@pytest.mark.parametrize("error", [ValueError("bad"), KeyboardInterrupt(), OSError(28, "No space left on device")])
def test_an_error_leaves_the_old_file(tmp_path: Path, error: BaseException) -> None:
    path = tmp_path / "mix.wav"
    path.write_bytes(b"old")
    expected = OutputError if isinstance(error, OSError) else type(error)
    with pytest.raises(expected), whole_file(path) as temporary:  # noqa: PT012
        temporary.write_bytes(b"half")
        raise error
    assert path.read_bytes() == b"old"
    assert names(tmp_path) == ["mix.wav"]


def test_what_may_not_be_replaced_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a.txt").touch()
    with pytest.raises(OutputError, match="exists already"), whole_file(tmp_path / "a.txt", replace=False):
        pass
    with pytest.raises(OutputError, match="is a folder"), whole_file(tmp_path):
        pass
    with pytest.raises(OutputError, match="No such file"), whole_file(tmp_path / "gone" / "a.txt"):
        pass


@pytest.mark.skipif(sys.platform == "win32", reason="no such thing there")
def test_a_device_is_never_replaced(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.txt")
    for path in (tmp_path / "pipe.txt", Path("/dev/null")):
        with pytest.raises(OutputError, match="device"), whole_file(path):
            pass


@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
def test_a_process_that_is_killed_leaves_the_old_file(tmp_path: Path) -> None:
    path = tmp_path / "mix.wav"
    path.write_bytes(b"old")
    writer = (
        "import os, signal, sys; from pathlib import Path; from audio.files.whole import whole_file\n"
        "with whole_file(Path(sys.argv[1])) as temporary:\n"
        "    temporary.write_bytes(b'half'); os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    root = str(Path(__file__).parents[2])
    subprocess.run([sys.executable, "-c", writer, path], env=os.environ | {"PYTHONPATH": root})
    assert path.read_bytes() == b"old"
    assert len(names(tmp_path)) == 2
    write_text(tmp_path / "other.txt", "")
    assert names(tmp_path) == ["mix.wav", "other.txt"]


@pytest.mark.skipif(sys.platform == "win32", reason="processes can't be asked there")
def test_what_a_living_process_or_another_machine_writes_is_left_to_it(tmp_path: Path) -> None:
    with whole_file(tmp_path / "mix.wav") as temporary:
        assert not is_left(temporary, ".arcbed-")
        write_text(tmp_path / "other.txt", "")
        temporary.write_bytes(b"whole")
    assert (tmp_path / "mix.wav").read_bytes() == b"whole"
    theirs = tmp_path / ".arcbed-0badcafe-999999-x.wav"
    theirs.touch()
    write_text(tmp_path / "other.txt", "")
    assert theirs.exists()
    yesterday = time.time() - 25 * 3600
    os.utime(theirs, (yesterday, yesterday))
    write_text(tmp_path / "other.txt", "")
    assert names(tmp_path) == ["mix.wav", "other.txt"]


@pytest.mark.skipif(sys.platform == "win32", reason="locks of POSIX")
def test_of_many_changes_at_once_each_is_kept_or_told(tmp_path: Path) -> None:
    path = tmp_path / "count"
    path.write_text("0")
    told: list[OutputError] = []

    def count(times: int) -> None:
        while times:
            before = path.read_bytes()
            try:
                write_text(path, str(int(before) + 1), instead_of=before)
                times -= 1
            except OutputError as error:
                told.append(error)

    with ThreadPoolExecutor(4) as threads:
        for done in [threads.submit(count, 25) for _ in range(4)]:
            done.result()
    assert path.read_text() == "100"
    assert all("changed" in error.message for error in told)
    with pytest.raises(OutputError, match="removed"):
        write_text(tmp_path / "gone", "1", instead_of=b"0")
    assert names(tmp_path) == ["count"]
