"""Who waits while the solver's loops are compiled: the first choice of music on a new machine, with and without a scan before it.

    python tests/benchmarks/compiling.py MUSIC     a folder of a few tracks, 20 minutes in all or more

`pair` with nothing compiled, `scan` of the folder with nothing compiled, `pair` at once after it, and `pair` once more. Seconds
on the wall and of processor; those of `scan` hold the compiling, which goes on in a process of its own.
"""

import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).resolve().parents[2]
PLAN = """# Low water
slot: 15 minutes

## Arrive: opening
- child's pose, 8 breaths

## Tide: flow, both sides, 3 rounds
- warrior two, 5 breaths
- triangle, 5 breaths

## Float: rest, what is left, at least 3 minutes
- savasana
"""


def main(music: str) -> None:
    """Print a line a command."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        (folder / "low-water.md").write_text(PLAN)
        run(folder, "elsewhere", "scan", music)
        shutil.rmtree(folder / "compiled", ignore_errors=True)
        print("| command | wall s | CPU s |\n|---|---|---|")
        told("pair, nothing compiled", run(folder, "elsewhere", "pair", "low-water.md", "--out", "tide.json"))
        shutil.rmtree(folder / "compiled")
        told("scan, nothing compiled", run(folder, "here", "scan", music))
        told("pair, at once after it", run(folder, "here", "pair", "low-water.md", "--out", "tide.json"))
        told("pair, once more", run(folder, "here", "pair", "low-water.md", "--out", "tide.json"))


def run(folder: Path, library: str, *words: str) -> tuple[float, float]:
    """Wall and processor seconds of a command; those of the processes that it has waited for are in them."""
    environment = os.environ | {
        "ARCBED_LIBRARY": str(folder / f"{library}.sqlite"),
        "NUMBA_CACHE_DIR": str(folder / "compiled"),
        "PYTHONPATH": str(HERE),
    }
    command = [sys.executable, "-c", "from pairing.commands import main; main()", *words]
    begun = time.monotonic()
    child = subprocess.Popen(command, cwd=folder, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, _, used = os.wait4(child.pid, 0)
    return time.monotonic() - begun, used.ru_utime + used.ru_stime


def told(what: str, took: tuple[float, float]) -> None:
    """Print one line."""
    print(f"| {what} | {took[0]:.1f} | {took[1]:.1f} |", flush=True)


if __name__ == "__main__":
    main(str(Path(sys.argv[1]).resolve()))
