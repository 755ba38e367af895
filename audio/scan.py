"""Folders of music into the library, on all cores, past bad files and interruptions.

Each file is first identified (fingerprint, tags), then measured if its recording is new. Every result is stored as it
comes, so whatever ends the scan, what was finished is kept. A worker process that dies costs its own file only; a
decoder that hangs ends its worker (see `audio.files.watchdog`), however long a file may rightly take.
"""

import itertools
from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, CancelledError, Executor, Future, wait
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from audio import worker, workers
from audio.files import watchdog
from audio.files.folders import Found, LeftOut, walk
from audio.library import Library
from audio.progress import Progress
from audio.text import shown
from audio.workers import Submit

_TRIES = 2  # the second one last of all, when nothing else needs memory
_HANGS = "is damaged: the decoder hangs inside it."
_BREAKS = "is damaged: the decoder breaks inside it."


@dataclass(frozen=True, slots=True)
class ScanReport:
    """What a scan has done; `new`, `changed` and `known` count files that can be used.

    `notes` say what was odd about files that can be used, those included that were known before.
    """

    new: int
    changed: int
    known: int
    left_out: tuple[LeftOut, ...]
    notes: tuple[tuple[Path, str], ...]
    interrupted: bool
    missing: int = 0  # files of the library that are no longer in these folders
    not_looked_at: int = 0  # files that were found and neither used nor left out
    without_workers: bool = False  # no worker process could be started; the program did their work itself
    tracks: int = 0  # recordings in the files that can be used; several files may hold the same


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
        state = _ScanRun(library, progress or (lambda done, total, name: None))
        try:
            state.look(folders)
            if state.waiting:
                _work(state, jobs, executor)
            state.close(folders)
        except KeyboardInterrupt:
            state.interrupted = True
        return state.report()


def _work(state: "_ScanRun", jobs: int | None, executor: Executor | None) -> None:
    if executor is not None:
        state.run(executor.submit, 4 * (jobs or workers.cores()), tries=_TRIES)
        state.waiting, state.again = state.waiting + state.again, []
        jobs = None
    if state.waiting:  # all of it, or what is left where the executor broke
        state.run_here(jobs or workers.cores())


@dataclass
class _FileJob:
    """A file on its way through the scan."""

    found: Found
    was_known: bool  # by another size or time
    identity: worker.Identity | None = None
    tries: int = 0


@dataclass
class _ScanRun:
    library: Library
    progress: Progress
    waiting: list[_FileJob] = field(default_factory=list)
    running: "dict[Future[Any], _FileJob]" = field(default_factory=dict)
    copies: dict[str, list[_FileJob]] = field(default_factory=dict)  # by the fingerprint that is being measured
    again: list[_FileJob] = field(default_factory=list)  # their worker died
    present: list[Path] = field(default_factory=list)
    left_out: list[LeftOut] = field(default_factory=list)
    new: int = 0
    changed: int = 0
    known: int = 0
    missing: int = 0
    done: int = 0
    total: int = 0
    interrupted: bool = False
    without_workers: bool = False

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
                    self.waiting.append(_FileJob(item, self.library.has_path(item.path)))
        self.present = list(seen)
        problems = {path: problem for path, problem in self.library.problems() if path in known}
        self.left_out += [LeftOut(path, problem) for path, problem in sorted(problems.items())]
        self.known = len(known) - len(problems)
        self.total = len(seen)
        self.done = len(known)

    def close(self, folders: Sequence[Path]) -> None:
        self.missing = self.library.note_presence(self.present, folders)

    def report(self) -> ScanReport:
        present = set(self.present)
        return ScanReport(
            new=self.new,
            changed=self.changed,
            known=self.known,
            left_out=tuple(self.left_out),
            notes=tuple((path, note) for path, notes in self.library.notes() if path in present for note in notes),
            interrupted=self.interrupted,
            missing=self.missing,
            not_looked_at=self.total - self.done,
            without_workers=self.without_workers,
            tracks=self.library.usable_recordings(self.present),
        )

    def run_here(self, jobs: int) -> None:
        """All files on this machine; those that killed their worker once more, one at a time and last of all."""
        while self.waiting or self.again:
            if not self.waiting:
                self.waiting, self.again, jobs = self.again, [], 1
            before = self.done + len(self.again)
            try:
                with workers.workers(jobs) as submit:
                    self.run(submit, 2 * jobs, tries=_TRIES)
            except workers.NoWorkers:
                self.without_workers = True
            if self.done + len(self.again) == before:
                self._run_without_workers()

    def _run_without_workers(self) -> None:
        """What killed a worker isn't let into the program itself."""
        for job in [job for job in self.waiting if job.tries]:
            self._leave_out(job, _BREAKS)
        self.waiting = [job for job in self.waiting if not job.tries]
        self.run(workers.here, 1, tries=_TRIES)

    def run(self, submit: Submit, at_once: int, *, tries: int) -> None:
        """Identify and measure all that waits; where the executor breaks, what isn't finished waits again.

        A job whose worker died goes to `again` until it was tried `tries` times.
        """
        self.waiting.reverse()
        try:
            while self.waiting or self.running:
                while self.waiting and len(self.running) < at_once:
                    self._start(self.waiting.pop(), submit, worker.identify)
                for future in wait(self.running, return_when=FIRST_COMPLETED).done:
                    self._take(future, submit, tries)
        except BrokenExecutor:
            self.waiting += [*self.running.values(), *itertools.chain(*self.copies.values())]
            self.running, self.copies = {}, {}

    def _start(self, job: _FileJob, submit: Submit, task: Callable[[Path], Any]) -> None:
        try:
            self.running[submit(task, job.found.path)] = job
        except BrokenExecutor:
            self.waiting.append(job)
            raise

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
                self._start(job, submit, worker.measure)
            return
        if isinstance(result, worker.Measured):
            self._measured(job, result)
        else:
            self._died(job, result, tries)
        if job.identity is not None:  # whatever became of the first copy, the others go on from there
            self.waiting += self.copies.pop(job.identity.fingerprint, [])

    def _identified(self, job: _FileJob, identity: worker.Identity) -> bool:
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

    def _measured(self, job: _FileJob, measured: worker.Measured) -> None:
        assert job.identity is not None
        if measured.analysis is None:
            self._unusable(job, measured.absent, measured.problem)
            return
        self.library.store(job.found, job.identity.fingerprint, job.identity.tags, measured.analysis)
        self._count(job)

    def _copy(self, job: _FileJob) -> None:
        """Another file of a recording that the library has."""
        assert job.identity is not None
        self.library.store(job.found, job.identity.fingerprint, job.identity.tags)
        self._count(job)

    def _unusable(self, job: _FileJob, absent: str | None, problem: str | None) -> None:
        """Left out; kept in the library if it is the file's own fault, so that it isn't tried again."""
        if problem is not None:
            identity = job.identity or worker.Identity()
            self.library.store(job.found, identity.fingerprint, identity.tags, problem=problem)
        self._leave_out(job, problem or absent or "")

    def _died(self, job: _FileJob, error: Exception, tries: int) -> None:
        """The worker came to an end inside the file; a hang has had its time, but a crash may have been chance."""
        job.tries += 1
        hung = getattr(error, "exitcode", None) == watchdog.HUNG
        if not hung and job.tries < tries:
            self.again.append(job)
            return
        self._leave_out(job, _HANGS if hung else _BREAKS)

    def _leave_out(self, job: _FileJob, reason: str) -> None:
        self.left_out.append(LeftOut(job.found.path, reason))
        self._finish(job)

    def _count(self, job: _FileJob) -> None:
        if job.was_known:
            self.changed += 1
        else:
            self.new += 1
        self._finish(job)

    def _finish(self, job: _FileJob) -> None:
        self.done += 1
        self.progress(self.done, self.total, shown(job.found.path.name))
