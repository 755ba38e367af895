"""Folders of music into the library, on all cores, past bad files and interruptions.

Each file is first identified (fingerprint, tags), then measured if its recording is new. Every result is stored as it
comes, so whatever ends the scan, what was finished is kept. A worker process that dies costs its own file only; a
decoder that hangs ends its worker (see `audio.files.watchdog`), however long a file may rightly take.
"""

import itertools
import multiprocessing
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, CancelledError, Executor, Future, wait
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from audio import worker
from audio.files import watchdog
from audio.files.folders import Found, LeftOut, walk
from audio.library import Library
from audio.text import shown

Progress = Callable[[int, int, str], None]
Submit = Callable[..., "Future[Any]"]

_FILES_A_WORKER = 500  # then it is replaced by a fresh one, should a library leak memory
_TRIES = 2  # the second one last of all, when nothing else needs memory
_THREAD_SETTINGS = (
    "OMP_NUM_THREADS",
    "OPENBLAS_NUM_THREADS",
    "MKL_NUM_THREADS",
    "NUMBA_NUM_THREADS",
    "VECLIB_MAXIMUM_THREADS",
)


@dataclass(frozen=True, slots=True)
class ScanReport:
    """What a scan has done; `new`, `changed` and `known` count files that can be used."""

    new: int
    changed: int
    known: int
    left_out: tuple[LeftOut, ...]
    notes: tuple[tuple[Path, str], ...]
    interrupted: bool
    missing: int = 0  # files of the library that are no longer in these folders


def scan(
    folders: Sequence[Path],
    library_path: Path,
    *,
    jobs: int | None = None,
    executor: Executor | None = None,
    progress: Progress | None = None,
) -> ScanReport:
    """Bring the library up to date with what lies in the folders.

    Args:
        folders: folders, or single files.
        library_path: made where there is none.
        jobs: worker processes, None for one a core; they are started afresh ("spawn"), so a script that calls this
            needs the usual `if __name__ == "__main__":`.
        executor: runs the work instead, `jobs` files at once, here or on other machines that see the files under the
            same paths; where it breaks, worker processes of this machine do what is left.
        progress: called with files done, files in all, and the name of the file just finished.
    Raises:
        LibraryError: the library can't be opened or written; what was finished is kept.
    Ctrl-C ends it early, with `interrupted` set in the report.
    """
    with Library.open_or_create(library_path) as library:
        state = _Scan(library, progress or (lambda done, total, name: None))
        try:
            state.look(folders)
            if state.waiting:
                _work(state, jobs, executor)
            state.close(folders)
        except KeyboardInterrupt:
            state.interrupted = True
        return state.report()


def _work(state: "_Scan", jobs: int | None, executor: Executor | None) -> None:
    if executor is not None:
        state.run(executor.submit, 4 * (jobs or _cores()), tries=_TRIES)
        state.waiting, state.again = state.waiting + state.again, []
        jobs = None
    if state.waiting:  # all of it, or what is left where the executor broke
        state.run_here(jobs or _cores())


def _cores() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


@contextmanager
def _workers(jobs: int) -> Iterator[Submit]:
    """Fresh processes; one that dies takes only its own task with it."""
    from pebble import ProcessPool

    with _one_thread_each():
        pool = ProcessPool(
            jobs, _FILES_A_WORKER, initializer=worker.begin, context=multiprocessing.get_context("spawn")
        )
        try:
            yield lambda task, *args: pool.schedule(task, args=args)
            pool.close()
            pool.join()
        except BaseException:
            pool.stop()
            pool.join()
            raise


@contextmanager
def _one_thread_each() -> Iterator[None]:
    """Workers inherit these: many threads in each of many processes only wait for each other."""
    before = {name: os.environ.get(name) for name in _THREAD_SETTINGS}
    os.environ.update(dict.fromkeys(_THREAD_SETTINGS, "1"))
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


@dataclass
class _Job:
    """A file on its way through the scan."""

    found: Found
    was_known: bool  # by another size or time
    identity: worker.Identity | None = None
    tries: int = 0


@dataclass
class _Scan:
    library: Library
    progress: Progress
    waiting: list[_Job] = field(default_factory=list)
    running: "dict[Future[Any], _Job]" = field(default_factory=dict)
    copies: dict[str, list[_Job]] = field(default_factory=dict)  # by the fingerprint that is being measured
    again: list[_Job] = field(default_factory=list)  # their worker died
    present: list[Path] = field(default_factory=list)
    left_out: list[LeftOut] = field(default_factory=list)
    notes: list[tuple[Path, str]] = field(default_factory=list)
    new: int = 0
    changed: int = 0
    known: int = 0
    missing: int = 0
    done: int = 0
    total: int = 0
    interrupted: bool = False

    def look(self, folders: Sequence[Path]) -> None:
        """Sort what lies in the folders into known, to do, and left out."""
        seen: set[Path] = set()
        known: set[Path] = set()
        for item in walk(folders):
            if isinstance(item, LeftOut):
                self.left_out.append(item)
            elif item.path not in seen:
                seen.add(item.path)
                if self.library.known(item):
                    known.add(item.path)
                else:
                    self.waiting.append(_Job(item, self.library.has_path(item.path)))
        self.present = list(seen)
        problems = {path: problem for path, problem in self.library.problems() if path in known}
        self.left_out += [LeftOut(path, problem) for path, problem in sorted(problems.items())]
        self.known = len(known) - len(problems)
        self.total = len(seen)
        self.done = len(known)

    def close(self, folders: Sequence[Path]) -> None:
        self.missing = self.library.note_presence(self.present, folders)

    def report(self) -> ScanReport:
        return ScanReport(
            self.new,
            self.changed,
            self.known,
            tuple(self.left_out),
            tuple(self.notes),
            self.interrupted,
            self.missing,
        )

    def run_here(self, jobs: int) -> None:
        """All files on worker processes of this machine; those that killed theirs once more, one at a time."""
        with _workers(jobs) as submit:
            self.run(submit, 2 * jobs, tries=_TRIES)
        if self.again:
            self.waiting, self.again = self.again, []
            with _workers(1) as submit:
                self.run(submit, 1, tries=_TRIES)

    def run(self, submit: Submit, at_once: int, *, tries: int) -> None:
        """Identify and measure all that waits; where the executor breaks, what isn't finished waits again.

        A job whose worker died goes to `again` until it was tried `tries` times.
        """
        self.waiting.reverse()
        try:
            while self.waiting or self.running:
                while self.waiting and len(self.running) < at_once:
                    job = self.waiting.pop()
                    self.running[submit(worker.identify, job.found.path)] = job
                for future in wait(self.running, return_when=FIRST_COMPLETED).done:
                    self._take(future, submit, tries)
        except BrokenExecutor:
            self.waiting += [*self.running.values(), *itertools.chain(*self.copies.values())]
            self.running, self.copies = {}, {}

    def _take(self, future: "Future[Any]", submit: Submit, tries: int) -> None:
        job = self.running[future]
        try:
            result = future.result()
        except BrokenExecutor:
            raise
        except CancelledError as error:  # nobody here cancels: its scheduler is gone
            raise BrokenExecutor from error
        except Exception as error:
            result = error
        del self.running[future]
        if isinstance(result, worker.Identity):
            if self._identified(job, result):
                self.running[submit(worker.measure, job.found.path)] = job
            return
        if isinstance(result, worker.Measured):
            self._measured(job, result)
        else:
            self._died(job, result, tries)
        if job.identity is not None:  # whatever became of the first copy, the others go on from there
            self.waiting += self.copies.pop(job.identity.fingerprint, [])

    def _identified(self, job: _Job, identity: worker.Identity) -> bool:
        """Store what needs no measuring; whether it has to be measured."""
        job.identity = identity
        if identity.absent or identity.problem:
            self._unusable(job, identity.absent, identity.problem)
            return False
        if self.library.has_recording(identity.fingerprint):
            self._copy(job)
            return False
        if identity.fingerprint in self.copies:
            self.copies[identity.fingerprint].append(job)
            return False
        self.copies[identity.fingerprint] = []
        return True

    def _measured(self, job: _Job, measured: worker.Measured) -> None:
        assert job.identity is not None
        if measured.analysis is None:
            self._unusable(job, measured.absent, measured.problem)
            return
        self.library.store(job.found, job.identity.fingerprint, job.identity.tags, measured.analysis)
        self.notes += [(job.found.path, note) for note in measured.analysis.notes]
        self._count(job)

    def _copy(self, job: _Job) -> None:
        """Another file of a recording that the library has."""
        assert job.identity is not None
        self.library.store(job.found, job.identity.fingerprint, job.identity.tags)
        self._count(job)

    def _unusable(self, job: _Job, absent: str | None, problem: str | None) -> None:
        """Left out; kept in the library if it is the file's own fault, so that it isn't tried again."""
        if problem is not None:
            identity = job.identity or worker.Identity()
            self.library.store(job.found, identity.fingerprint, identity.tags, problem=problem)
        self._leave_out(job, problem or absent or "")

    def _died(self, job: _Job, error: Exception, tries: int) -> None:
        """The worker came to an end inside the file; a hang has had its time, but a crash may have been chance."""
        job.tries += 1
        hung = getattr(error, "exitcode", None) == watchdog.HUNG
        if not hung and job.tries < tries:
            self.again.append(job)
            return
        what = "hangs" if hung else f"breaks ({type(error).__name__})"
        self._leave_out(job, f"is damaged: the decoder {what} inside it.")

    def _leave_out(self, job: _Job, reason: str) -> None:
        self.left_out.append(LeftOut(job.found.path, reason))
        self._finish(job)

    def _count(self, job: _Job) -> None:
        if job.was_known:
            self.changed += 1
        else:
            self.new += 1
        self._finish(job)

    def _finish(self, job: _Job) -> None:
        self.done += 1
        self.progress(self.done, self.total, shown(job.found.path.name))
