"""What was listened to already, as an executor that gives a scan its answers."""

from collections.abc import Callable
from concurrent.futures import BrokenExecutor, Executor, Future
from pathlib import Path
from typing import Any

from audio import worker


def listen(path: Path) -> tuple[worker.Identity, worker.Measured]:
    """Identify and measure a file at once, as a scan does in two steps.

    Raises:
        AudioError: the file goes away while it is read.
    """
    return worker.identify(path), worker.measure(path)


class Listened(Executor):
    """Knows what `listen` gave for each file; a scan that uses it measures nothing anew.

    >>> with Listened() as listened:
    ...     listened.take(Path("song.flac"), (worker.Identity("print"), worker.Measured(problem="is short.")))
    ...     listened.submit(worker.identify, Path("song.flac")).result().fingerprint
    'print'
    """

    def __init__(self) -> None:
        self._answers: dict[tuple[Callable[..., Any], Path], Any] = {}

    @property
    def paths(self) -> list[Path]:
        """The files that were listened to."""
        return [path for task, path in self._answers if task is worker.identify]

    def take(self, path: Path, answers: tuple[worker.Identity, worker.Measured]) -> None:
        """Keep what was heard of a file."""
        self._answers |= zip(((worker.identify, path), (worker.measure, path)), answers, strict=True)

    def submit(self, task: Callable[..., Any], /, *args: Any, **named: Any) -> "Future[Any]":
        """Give the answer, which is there already.

        Raises:
            BrokenExecutor: that file was not listened to; a scan does it itself then.
        """
        if (task, *args) not in self._answers:
            raise BrokenExecutor
        future: Future[Any] = Future()
        future.set_result(self._answers[task, *args])
        return future
