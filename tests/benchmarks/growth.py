"""`arcbed pair` and `arcbed swap` as commands, as the library grows: CPU seconds and peak memory of the whole process.

    python tests/benchmarks/growth.py [--tracks 100,1000,10000,100000] [--picture docs/pictures/commands-growth.svg]

The demo's class; made-up tracks with songs' shapes, at most 10,000 different ones, stored under names of their own.
"""

import argparse
import math
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
            path = library.with_name(f"{number}.mp3")
            path.touch()  # what isn't there isn't chosen
            opened.store(Found(path, 1, 1), f"{number:032x}", track.tags, track.analysis)


def cost(folder: Path, *words: str) -> tuple[float, float]:
    """CPU seconds and peak MiB of one command."""
    environment = os.environ | {"ARCBED_LIBRARY": str(folder / "library")}
    child = subprocess.Popen(
        [sys.executable, "-c", COMMAND, *words], cwd=folder, env=environment, stdout=subprocess.DEVNULL
    )
    _, status, used = os.wait4(child.pid, 0)
    assert status == 0, words
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def picture(rows: list[tuple[float, ...]]) -> str:
    """Tracks, then CPU seconds and MiB of pair and of swap, as two panels: seconds and memory."""
    lines = [
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 700 290" font-family="sans-serif" font-size="12" fill="#333">',
        "<title>CPU seconds and peak memory of pair and swap, by the number of tracks</title>",
        '<rect width="700" height="290" fill="#fff"/>',
    ]
    for left, words, shift in ((50, "CPU seconds", 1), (400, "peak memory, MiB", 2)):
        lines += panel(left, words, [(row[0], row[shift], row[shift + 2]) for row in rows])
    return "\n".join([*lines, "</svg>\n"])


def panel(left: int, words: str, rows: list[tuple[float, float, float]]) -> list[str]:
    """Two lines, pair and swap, over tracks in powers of ten."""
    most = max(max(row[1:]) for row in rows)
    step = next(s for n in range(9) for s in (10**n, 2 * 10**n, 5 * 10**n) if most <= 5 * s)
    lowest, highest = math.log10(rows[0][0]), math.log10(rows[-1][0])

    def across(tracks: float) -> float:
        return left + 235 * (math.log10(tracks) - lowest) / ((highest - lowest) or 1)

    def up(value: float) -> float:
        return 240 - 200 * value / (5 * step)

    lines = [f'<text x="{left}" y="22" font-weight="bold">{words}</text>']
    for tick in range(0, 5 * step + 1, step):
        lines.append(f'<line x1="{left}" x2="{left + 235}" y1="{up(tick):.1f}" y2="{up(tick):.1f}" stroke="#ddd"/>')
        lines.append(f'<text x="{left - 6}" y="{up(tick) + 4:.1f}" text-anchor="end">{tick:,}</text>')
    lines += [f'<text x="{across(row[0]):.1f}" y="258" text-anchor="middle">{row[0]:,.0f}</text>' for row in rows]
    lines.append(f'<text x="{left + 117}" y="278" text-anchor="middle">tracks in the library</text>')
    for column, name, colour, dashes in ((1, "pair", "#8a3b12", ""), (2, "swap", "#1f5f8b", "5 4")):
        points = [(across(row[0]), up(row[column])) for row in rows]
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        lines.append(
            f'<polyline fill="none" stroke="{colour}" stroke-width="2" stroke-dasharray="{dashes}" points="{path}"/>'
        )
        lines += [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3" fill="{colour}"/>' for x, y in points]
        lines.append(f'<text x="{points[-1][0] + 8:.1f}" y="{points[-1][1] + 4:.1f}" fill="{colour}">{name}</text>')
    return lines


def main() -> None:
    """Print one row a size."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--tracks", default="100,1000,10000,100000")
    asked.add_argument("--picture", type=Path, help="an SVG file to draw it in")
    given = asked.parse_args()
    sizes = [int(size) for size in given.tracks.split(",")]
    rows: list[tuple[float, ...]] = []
    print("| tracks | pair, CPU s | MiB | swap, CPU s | MiB |\n|---|---|---|---|---|")
    with tempfile.TemporaryDirectory() as made_here:
        folder, count = Path(made_here), 0
        (folder / "class.md").write_text((HERE.parents[2] / "pairing/plan/demo-class.md").read_text("utf-8"), "utf-8")
        for size in sizes:
            fill(folder / "library", count, size)
            count = size
            paired = cost(folder, "pair", "class.md", "--out", "class.json")
            rows.append((size, *paired, *cost(folder, "swap", "class.json", "4")))
            print("| {:,} | {:.1f} | {:.0f} | {:.1f} | {:.0f} |".format(*rows[-1]), flush=True)
    if given.picture:
        given.picture.write_text(picture(rows), "utf-8")


if __name__ == "__main__":
    os.environ["OMP_NUM_THREADS"] = "1"
    main()
