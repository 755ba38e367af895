"""Linear algebra keeps to one thread in the program itself too, unless whoever started it said otherwise."""

import os
import subprocess
import sys

import pytest

from audio.inherited import ONE_THREAD

THREADS = "import pairing.commands.outputs, numpy, os; print(len(os.listdir('/proc/self/task')))"


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="threads are counted as Linux has them")
@pytest.mark.parametrize(("said", "threads"), [({}, 1), ({"OPENBLAS_NUM_THREADS": "2"}, 2)])
def test_the_program_computes_in_one_thread(said: dict[str, str], threads: int) -> None:
    free = {name: value for name, value in os.environ.items() if name not in ONE_THREAD}
    run = [sys.executable, "-c", THREADS]
    done = subprocess.run(run, env=free | said, capture_output=True, text=True, check=True)
    assert int(done.stdout) == min(threads, os.cpu_count() or 1)
