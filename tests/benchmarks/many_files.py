"""What a scan costs a file, apart from decoding and measuring, and what it waits for: folders of many small files.

    python tests/benchmarks/many_files.py 2000 8000

Each file is half a second of sound of its own. Decoding and measuring are those of the same files one after the other in
one process. Linux: the kernel tells how long each process computed and how long it waited for a core while ready to.
"""

import os
import sys
import tempfile
import threading
import time
from pathlib import Path

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[2]), str(HERE.parents[1] / "audio")]

import nasty  # noqa: E402

from audio import worker  # noqa: E402
from audio.scan import scan  # noqa: E402

ALONE = 500  # files that are measured one after the other
TICK_S = 0.2


class Times(threading.Thread):
    """Seconds of computing, and of waiting for a core, of this process (program) and its children (workers)."""

    def __init__(self) -> None:
        super().__init__(daemon=True)
        self._seen: dict[int, tuple[float, float]] = {}
        self._over = threading.Event()

    def run(self) -> None:
        while not self._over.wait(TICK_S):
            self._look()

    def end(self) -> None:
        self._over.set()
        self.join()

    def _look(self) -> None:
        for process in [os.getpid(), *_children(os.getpid())]:
            try:
                rows = [each.read_text().split() for each in Path(f"/proc/{process}/task").glob("*/schedstat")]
            except OSError:
                continue
            now = sum(int(row[0]) for row in rows) / 1e9, sum(int(row[1]) for row in rows) / 1e9
            self._seen[process] = max(now, self._seen.get(process, now))

    def of_program(self) -> tuple[float, float]:
        return self._seen[os.getpid()]

    def of_workers(self) -> tuple[float, float]:
        rows = [times for process, times in self._seen.items() if process != os.getpid()]
        return sum(row[0] for row in rows), sum(row[1] for row in rows)


def _children(process: int) -> list[int]:
    """Whichever of its threads has started them."""
    threads = Path(f"/proc/{process}/task").glob("*/children")
    return [int(word) for thread in threads for word in thread.read_text().split()]


def main(*counts: int) -> None:
    """Print a line a folder; ms a file."""
    head = "| files | program computes | program waits for a core | workers compute | of it decoding and measuring |"
    print(f"{head} workers wait for a core | wall | again, unchanged, wall |\n|{'---|' * 8}")
    sound = nasty.wav(nasty.music(0.5))
    for count in counts or (2000, 8000):
        with tempfile.TemporaryDirectory(prefix="many-") as folder:
            music = Path(folder) / "music"
            music.mkdir()
            for number in range(count):
                content = bytearray(sound)
                content[-4:] = number.to_bytes(4, "little")
                (music / f"{number:06d}.wav").write_bytes(content)
            print(row(music, Path(folder) / "library", count), flush=True)


def row(music: Path, library: Path, count: int) -> str:
    """The figures of one folder."""
    before_s, times, began_s = time.process_time(), Times(), time.monotonic()
    times.start()
    scan([music], library)
    wall_s, computed_s = time.monotonic() - began_s, time.process_time() - before_s
    times.end()
    alone_s = _alone_s(sorted(music.iterdir())[:ALONE])
    began_s = time.monotonic()
    scan([music], library)
    again_s = time.monotonic() - began_s
    waited_s = times.of_program()[1]
    worked_s, stood_s = times.of_workers()
    figures = (computed_s, waited_s, worked_s, alone_s * count, stood_s, wall_s, again_s)
    return f"| {count:,} | {' | '.join(f'{1000 * figure / count:.2f}' for figure in figures)} |"


def _alone_s(paths: list[Path]) -> float:
    """CPU time a file of decoding and measuring, once all is loaded."""
    worker.measure(paths[0])
    began_s = time.process_time()
    for path in paths:
        worker.identify(path)
        worker.measure(path)
    return (time.process_time() - began_s) / len(paths)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
