"""`arcbed pair` and `arcbed swap` as commands, as the library grows: CPU seconds and peak memory of the whole process.

    python tests/benchmarks/growth.py [--tracks 100,1000,10000,100000]

The demo's class; made-up tracks with songs' shapes, at most 10,000 different ones, stored under names of their own.
"""

import argparse
import os
import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[2]), str(HERE.parent)]

import solver_libraries  # noqa: E402

from audio.files.folders import Found  # noqa: E402
from audio.library import Library  # noqa: E402

COMMAND = "from pairing.commands import main; main()"
DIFFERENT = 10_000


def fill(library: Path, first: int, last: int) -> None:
    """Store the tracks from `first` to `last`."""
    tracks = solver_libraries.tracks(min(last, DIFFERENT))
    with Library.open_or_create(library) as opened:
        for number in range(first, last):
            track = tracks[number % len(tracks)]
            assert track.analysis is not None
            opened.store(Found(Path(f"/music/{number}.mp3"), 1, 1), f"{number:032x}", track.tags, track.analysis)


def cost(folder: Path, *words: str) -> str:
    """CPU seconds and peak MiB of one command."""
    environment = os.environ | {"ARCBED_LIBRARY": str(folder / "library")}
    child = subprocess.Popen(
        [sys.executable, "-c", COMMAND, *words], cwd=folder, env=environment, stdout=subprocess.DEVNULL
    )
    _, status, used = os.wait4(child.pid, 0)
    assert status == 0, words
    return f"{used.ru_utime + used.ru_stime:.1f} | {used.ru_maxrss / 1024:.0f}"


def main() -> None:
    """Print one row a size."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--tracks", default="100,1000,10000,100000")
    sizes = [int(size) for size in asked.parse_args().tracks.split(",")]
    print("| tracks | pair, CPU s | MiB | swap, CPU s | MiB |\n|---|---|---|---|---|")
    with tempfile.TemporaryDirectory() as made_here:
        folder, count = Path(made_here), 0
        (folder / "class.md").write_text((HERE.parents[2] / "pairing/plan/demo-class.md").read_text("utf-8"), "utf-8")
        for size in sizes:
            fill(folder / "library", count, size)
            count = size
            paired = cost(folder, "pair", "class.md", "--out", "class.json")
            print(f"| {size:,} | {paired} | {cost(folder, 'swap', 'class.json', '4')} |", flush=True)


if __name__ == "__main__":
    os.environ["OMP_NUM_THREADS"] = "1"
    main()
