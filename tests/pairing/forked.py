"""Commands in children of one warm process, killed at the moment that is asked for.

A child begins with all modules loaded, so that a kill at a random moment meets the work and not the start of Python. It
is a process of its own all the same, and the kill is SIGKILL.
"""

import json
import os
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Self

ROOT = Path(__file__).parents[2]


@dataclass(frozen=True)
class Ended:
    """Status (negative: the signal that ended it), what was said on both streams, and seconds."""

    status: int
    said: str
    took_s: float


class Commands:
    """Runs `arcbed` in a home with a library of its own."""

    def __init__(self, home: Path, **environment: str) -> None:
        self.home, self._more = home, environment

    def __enter__(self) -> Self:
        library = str(self.home / "library.sqlite")
        self._process = subprocess.Popen(
            [sys.executable, __file__],
            cwd=self.home,
            env=os.environ
            | {"PYTHONPATH": str(ROOT), "ARCBED_LIBRARY": library, "NO_COLOR": "1", "COLUMNS": "200"}
            | {"XDG_CACHE_HOME": str(self.home / "cache")}
            | self._more,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._process.communicate()

    def run(self, *words: str | Path, kill_after_s: float | None = None) -> Ended:
        """Run one command to its end, or until it is killed; the first one, not killed, warms the process itself."""
        assert self._process.stdin
        assert self._process.stdout
        print(json.dumps([[*map(str, words)], kill_after_s]), file=self._process.stdin, flush=True)
        return Ended(*json.loads(self._process.stdout.readline()))


def serve() -> None:
    """Answer each line of stdin, [words, seconds to the kill], with [status, said, seconds]."""
    import scipy.signal  # noqa: F401

    from pairing.commands import main
    from pairing.workflow import outputs, sets  # noqa: F401

    warm = False
    for line in sys.stdin:
        words, kill_after_s = json.loads(line)
        with tempfile.TemporaryFile() as said:
            began = time.monotonic()
            if not warm:
                status, warm = _run(main, words, said.fileno()), True
            else:
                status = _forked(main, words, said.fileno(), kill_after_s)
            took_s = time.monotonic() - began
            said.seek(0)
            print(json.dumps([status, said.read().decode(), took_s]), flush=True)


def _forked(main: Callable[[], None], words: list[str], said: int, kill_after_s: float | None) -> int:
    child = os.fork()
    if child == 0:
        os._exit(_run(main, words, said))
    if kill_after_s is not None:
        time.sleep(kill_after_s)
        os.kill(child, signal.SIGKILL)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def _run(main: Callable[[], None], words: list[str], said: int) -> int:
    """The command in this process, with both streams in the file `said`."""
    kept = [os.dup(1), os.dup(2)]
    os.dup2(said, 1)
    os.dup2(said, 2)
    sys.argv = ["arcbed", *words]
    try:
        main()
        status = 0
    except SystemExit as end:
        status = int(end.code or 0)
    except BaseException:
        traceback.print_exc()
        status = 70
    sys.stdout.flush()
    sys.stderr.flush()
    os.dup2(kept[0], 1)
    os.dup2(kept[1], 2)
    return status


if __name__ == "__main__":
    serve()
