"""One process that has the libraries loaded, and its forks."""

import contextlib
import os
import signal
import sys
import traceback
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

BROKE_OFF = 70  # the status of work that ended with an error of its own
ROOT = Path(__file__).resolve().parents[2]


_ENDED: dict[int, tuple[int, float]] = {}  # children that nobody asked for yet, with status and CPU time


@dataclass(frozen=True)
class Ended:
    """How one fork ended: its number, its status (negative: the signal that ended it) and its CPU time."""

    number: int
    status: int
    cpu_s: float


def warm() -> None:
    """Load what tests need and no fault touches."""
    for library in ("OMP", "OPENBLAS", "MKL"):
        os.environ.setdefault(f"{library}_NUM_THREADS", "1")
    import av, httpx, hypothesis.extra.numpy, hypothesis.stateful, jinja2, jsonschema, librosa, mutagen, numba  # noqa: E401, F401, I001
    import msgspec, pebble, pytest, resvg_py, rich.console, scipy.optimize, scipy.signal, scipy.stats, soundfile, soxr  # noqa: E401, F401
    import typer.testing  # noqa: F401


def in_forks(work: Callable[[int], int], count: int, at_once: int) -> Iterator[Ended]:
    """Each number's work, which gives a status, in a child of its own; as they end."""
    waiting, running = list(reversed(range(count))), dict[int, int]()
    while waiting or running:
        while waiting and len(running) < at_once:
            number = waiting.pop()
            running[_forked(work, number)] = number
        while not running.keys() & _ENDED.keys():
            child, status, used = os.wait4(-1, 0)
            _ENDED[child] = (os.waitstatus_to_exitcode(status), used.ru_utime + used.ru_stime)
        for child in running.keys() & _ENDED.keys():
            with contextlib.suppress(ProcessLookupError, PermissionError):
                os.killpg(child, signal.SIGKILL)  # what it left behind
            yield Ended(running.pop(child), *_ENDED.pop(child))


def _forked(work: Callable[[int], int], number: int) -> int:
    sys.stdout.flush()
    sys.stderr.flush()
    child = os.fork()
    if child:
        return child
    _become_quiet()
    status = BROKE_OFF
    try:
        status = work(number)
    except BaseException:
        traceback.print_exc()
    os._exit(status)


def _become_quiet() -> None:
    os.setpgid(0, 0)
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    nowhere = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(nowhere, stream)
