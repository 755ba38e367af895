"""Ends a worker process whose decoder has come to a stop inside a damaged file.

Decoders are compiled code that no exception reaches. So the code that calls them says that it is alive, and a thread
that only counts its own ticks (a laptop that sleeps doesn't count) ends the process where nothing was said for long.
"""

import os
import threading
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import TypeVar

Item = TypeVar("Item")

HUNG = 75  # exit status of a process that was ended so
LIMIT_S = 12  # editorial; with a second of slack and the start below 20 s a file

_ticks: dict[int, int] = {}  # since the last sign of life, by the thread that is watched


@contextmanager
def watched() -> Iterator[None]:
    """Watch what is inside; call `alive` whenever it has come further."""
    thread = threading.get_ident()
    outermost = thread not in _ticks
    _ticks[thread] = 0
    try:
        yield
    finally:
        if outermost:
            del _ticks[thread]


def watching(items: Iterable[Item]) -> Iterator[Item]:
    """The items, each watched while it comes into being but not while it is used."""
    rest = iter(items)
    while True:
        with watched():
            try:
                item = next(rest)
            except StopIteration:
                return
        yield item


def alive() -> None:
    """Say that the watched work has come further."""
    thread = threading.get_ident()
    if thread in _ticks:
        _ticks[thread] = 0


def start() -> None:
    """Let this process end itself where watched work hangs; for worker processes only."""
    threading.Thread(target=_watch, name="watchdog", daemon=True).start()


def _watch() -> None:
    while True:
        time.sleep(1)
        for thread in list(_ticks):
            _count(thread)


def _count(thread: int) -> None:
    ticks = _ticks.get(thread, -1) + 1
    if ticks > LIMIT_S:
        os._exit(HUNG)
    if thread in _ticks:
        _ticks[thread] = ticks
