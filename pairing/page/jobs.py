"""Work that takes a while, one piece at a time: scanning, writing a mix. It tells how far it is, and can be stopped."""

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, replace

from audio.errors import ArcbedError
from audio.progress import Progress
from audio.text import one_line
from pairing.page.values import error_words

LEAST_S = 2.0  # of work, before anything is said of the time left

Work = Callable[[Progress], dict[str, object]]


@dataclass(frozen=True, slots=True)
class Job:
    """One piece of work: what it does, how far it is, and what came of it."""

    number: int
    what: str  # "scan", "mix"
    title: str
    unit: str = ""  # of what it counts: "tracks"; "": a share says more
    done: int = 0
    total: int = 0
    left_s: float | None = None  # what it still takes, as far as it went; None: not known yet
    now: str = ""
    state: str = "running"  # "running", "done", "stopped", "failed"
    words: str = ""
    result: dict[str, object] | None = None


class _CountRate:
    """How quickly a count goes on."""

    def __init__(self, now: Callable[[], float] = time.monotonic) -> None:
        self._now, self._total, self._from, self._since = now, 0, 0, now()

    def left_s(self, done: int, total: int) -> float | None:
        """Seconds until the count is full, as it went so far; None as long as that says little."""
        if total != self._total or done < self._from:  # another part of the work, which counts something else
            self._total, self._from, self._since = total, done, self._now()
        went, took_s = done - self._from, self._now() - self._since
        return took_s / went * (total - done) if went > 0 and took_s >= LEAST_S else None


class Jobs:
    """Runs one job at a time in a thread of its own."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._job: Job | None = None
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None
        self._pace = _CountRate()

    @property
    def latest(self) -> Job | None:
        """The job that runs, or the one that ended last."""
        return self._job

    @property
    def is_busy(self) -> bool:
        """Whether one runs."""
        return self._job is not None and self._job.state == "running"

    def start(self, what: str, title: str, work: Work, unit: str = "") -> Job:
        """Begin a job.

        Raises:
            ArcbedError: another one runs.
        """
        with self._lock:
            if self.is_busy:
                raise ArcbedError("something else is being done just now.", remedy="Wait for it, or stop it.")
            self._job = job = Job((self._job.number if self._job else 0) + 1, what, title, unit)
            self._pace = _CountRate()
            self._stop.clear()
        self._thread = threading.Thread(target=self._run, args=(work,), name=what, daemon=True)
        self._thread.start()
        return job

    def stop(self) -> None:
        """Ask the job to end; what was finished is kept."""
        self._stop.set()

    def close(self, wait_s: float = 10.0) -> None:
        """Stop and wait."""
        self.stop()
        if self._thread is not None:
            self._thread.join(wait_s)

    def _run(self, work: Work) -> None:
        try:
            result = work(self._tell)
            state = "stopped" if self._stop.is_set() else "done"
            self._set(state=state, result=result, words=str(result.get("words", "")))
        except KeyboardInterrupt:
            self._set(state="stopped", words="Stopped; nothing was written.")
        except ArcbedError as error:
            self._set(state="failed", words="\n".join(one_line(line) for line in error_words(error).split("\n")))
        except OSError as error:
            self._set(state="failed", words=one_line(f"{error.filename or 'A file'}: {error.strerror or error}."))
        except Exception as error:
            self._set(state="failed", words=one_line(f"Something went wrong: {type(error).__name__}: {error}"))

    def _tell(self, done: int, total: int, now: str) -> None:
        if self._stop.is_set():
            raise KeyboardInterrupt  # the work's own way to end early and keep what is finished
        self._set(done=done, total=total, now=one_line(now, 120), left_s=self._pace.left_s(done, total))

    def _set(self, **values: object) -> None:
        with self._lock:
            assert self._job is not None
            self._job = replace(self._job, **values)  # type: ignore[arg-type]
