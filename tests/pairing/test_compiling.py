"""The solver's loops are compiled while music is listened to, by another process, and not where there is nothing to do."""

import subprocess
import sys
import threading
from concurrent.futures import ThreadPoolExecutor
from types import SimpleNamespace

import pytest
from page_desk import a_sound

from pairing.solve import compiling
from pairing.workflow import music

LOOK = """
import sys, threading
from pathlib import Path
from pairing.solve import compiling
from pairing.workflow import music
begun = []
compiling.subprocess.run = lambda words, **_: begun.append(words[-1])
for _ in range(2):
    music.scan_music([Path(sys.argv[1])], Path(sys.argv[2]), jobs=1, progress=None)
    for thread in threading.enumerate():
        if thread.daemon and thread is not threading.current_thread():
            thread.join(1)
    print(*begun)
for words in begun:
    exec(words)
    print(all(name in sys.modules for name in compiling.LOOPS))
"""


def test_the_first_scan_has_the_loops_compiled_and_one_that_finds_nothing_new_does_not(tmp_path):
    (tmp_path / "music").mkdir()
    a_sound(tmp_path / "music" / "one.wav", 12.0)
    words = [sys.executable, "-c", LOOK, str(tmp_path / "music"), str(tmp_path / "library.sqlite")]
    first, second, loaded = subprocess.run(words, capture_output=True, text=True, check=True).stdout.splitlines()
    assert "pairing.solve" in first
    assert second == first  # once in a process
    assert loaded == "True"  # these words load everything that compiles
    again = subprocess.run(words, capture_output=True, text=True, check=True).stdout.splitlines()
    assert again == ["", ""]


@pytest.mark.parametrize("where", ["ready", "here"])
def test_nothing_is_compiled_that_is_there(monkeypatch, where):
    monkeypatch.setattr(compiling.threading, "Thread", lambda **_: pytest.fail("a process was started"))
    monkeypatch.setattr(compiling, "_ahead", lambda: object() if where == "ready" else None)
    for name in compiling.LOOPS:
        monkeypatch.setitem(sys.modules, name, object())
    if where == "ready":
        monkeypatch.delitem(sys.modules, compiling.LOOPS[-1])
    compiling.compile_apart.__wrapped__()


@pytest.mark.skipif(sys.platform == "win32", reason="files are locked in another way")
def test_two_do_not_compile_the_same_at_once(monkeypatch):
    both = threading.Barrier(2)  # passed only where the two compile at once

    def njit(*_, **__):
        with pytest.raises(threading.BrokenBarrierError):
            both.wait(0.2)
        return lambda function: function

    monkeypatch.setitem(sys.modules, "numba", SimpleNamespace(njit=njit))
    with ThreadPoolExecutor(2) as threads:
        done = [threads.submit(compiling._now, test_progress_is_still_told, "void()") for _ in range(2)]
    assert [each.result() for each in done] == [test_progress_is_still_told] * 2


def test_progress_is_still_told():
    told = []
    music._compiling_meanwhile(lambda *words: told.append(words))(1, 2, "a.mp3")
    assert told == [(1, 2, "a.mp3")]
