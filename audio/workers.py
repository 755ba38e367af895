"""Worker processes of this machine, or the program itself where none can be started."""

import multiprocessing
import os
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Future
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, Any

from audio import worker
from audio.inherited import settings

if TYPE_CHECKING:
    from pebble import ProcessPool

Submit = Callable[..., "Future[Any]"]

START_METHOD = "spawn"  # of processes: it is the same on every system, and safe beside threads
START_S = 60.0  # editorial: a worker imports Python and NumPy first, which takes a second on a quiet machine
_FILES_A_WORKER = 500  # then it is replaced by a fresh one, should a library leak memory


class NoWorkers(Exception):
    """No worker process can be started on this machine now."""


def cores() -> int:
    """How many processes can compute at once."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


@contextmanager
def workers(count: int) -> Iterator[Submit]:
    """Fresh processes; one that dies takes only its own task with it.

    Gives a function that submits a task and its arguments; it raises BrokenExecutor where all have died.

    Raises: NoWorkers if none comes to life within START_S.
    """
    from pebble import ProcessPool

    with settings():
        context = multiprocessing.get_context(START_METHOD)
        pool = ProcessPool(count, _FILES_A_WORKER, initializer=worker.begin, context=context)
        try:
            _see_one_alive(pool)
            yield lambda task, *args: _submitted(pool, task, args)
            pool.close()
        except BaseException:
            pool.stop()
            raise
        finally:
            with suppress(OSError, RuntimeError):  # of a pool that is broken there is nothing to put in order
                pool.join()


def here(task: Callable[..., Any], *args: Any) -> "Future[Any]":
    """Do a task now, in this very process; a hang in it can't be ended."""
    future: Future[Any] = Future()
    try:
        future.set_result(task(*args))
    except Exception as error:
        future.set_exception(error)
    return future


def _see_one_alive(pool: "ProcessPool") -> None:
    try:
        _submitted(pool, worker.is_ready, ()).result(START_S)
    except Exception as error:  # whatever it is: the system's refusal, an early death, silence
        raise NoWorkers from error


def _submitted(pool: "ProcessPool", task: Callable[..., Any], args: tuple[Any, ...]) -> "Future[Any]":
    try:
        return pool.schedule(task, args=args)
    except (OSError, RuntimeError) as error:  # its processes can't be started any more, or are all gone
        raise BrokenExecutor from error
