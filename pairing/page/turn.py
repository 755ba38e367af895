"""Turns: work that must not be done side by side."""

import asyncio
import threading
from collections.abc import Callable
from concurrent.futures import Future
from queue import SimpleQueue
from typing import Any, TypeVar

T = TypeVar("T")


class Turn:
    """Work that is done one after the other, in one thread; who waits for the turn holds none.

    In one, because the system keeps for each thread what large arrays once needed there, and choosing music needs a
    hundred MB for a moment: in whichever thread was free, the program grew for half an hour.
    """

    def __init__(self, name: str) -> None:
        self._lock = asyncio.Lock()
        self._asked: SimpleQueue[tuple[Future[Any], Callable[[], Any]]] = SimpleQueue()
        # Not one of an executor: the program would wait for its work when a person ends it.
        threading.Thread(target=self._work, name=name, daemon=True).start()

    async def __aenter__(self) -> "Turn":
        await self._lock.acquire()
        return self

    async def __aexit__(self, *_: object) -> None:
        self._lock.release()

    async def done(self, work: Callable[[], T]) -> T:
        """What the work gives."""
        future: Future[T] = Future()
        self._asked.put((future, work))
        return await asyncio.wrap_future(future)

    def _work(self) -> None:
        while True:
            future, work = self._asked.get()
            if future.set_running_or_notify_cancel():
                try:
                    future.set_result(work())
                except BaseException as error:
                    future.set_exception(error)
            del future, work  # what was answered isn't held until the next question
