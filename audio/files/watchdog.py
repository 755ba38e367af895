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

_ticks: int | None = None  # since the last sign of life; None: nothing is watched


@contextmanager
def watched() -> Iterator[None]:
    """Watch what is inside; call `alive` whenever it has come further."""
    global _ticks
    before, _ticks = _ticks, 0
    try:
        yield
    finally:
        _ticks = None if before is None else 0


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
    global _ticks
    if _ticks is not None:
        _ticks = 0


def start() -> None:
    """Let this process end itself where watched work hangs; for worker processes only."""
    threading.Thread(target=_watch, name="watchdog", daemon=True).start()


def _watch() -> None:
    global _ticks
    while True:
        time.sleep(1)
        if _ticks is not None:
            _ticks += 1
            if _ticks > LIMIT_S:
                os._exit(HUNG)
