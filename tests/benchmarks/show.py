"""What it costs to show a class of 90 minutes: CPU time of each part, size of the page, its first paint.

Run: python tests/benchmarks/show.py
"""

import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "pairing"))

from show_class import FINDINGS, a_class, a_set, an_arc, tracks_of

from pairing.show.glance import strip_picture
from pairing.show.picture import picture_png, picture_svg
from pairing.show.playlist import m3u8, xspf
from pairing.show.scene import Scene
from pairing.show.sheet import sheet_html
from pairing.show.terminal import set_text

REPEATS = 5


def main() -> None:
    """Print one line a part: the first run, imports included, and the median of the following ones."""
    timetable = a_class(90, rest_minutes=9)
    arc = an_arc(timetable)
    setlist = a_set(timetable, arc, tracks=18)
    scene = Scene.of_set(setlist, timetable, arc)
    svg = picture_svg(scene)
    page = sheet_html(setlist, timetable, arc, findings=FINDINGS, tracks=tracks_of(setlist))
    here = Path.cwd()
    parts: dict[str, Callable[[], object]] = {
        "picture, SVG": lambda: picture_svg(scene),
        "strip": lambda: strip_picture(scene),
        "picture, PNG 1600 wide": lambda: picture_png(svg),
        "page": lambda: sheet_html(setlist, timetable, arc, findings=FINDINGS, tracks=tracks_of(setlist)),
        "terminal": lambda: set_text(setlist, here / "class.json"),
        "playlist, M3U": lambda: m3u8(setlist, here, here / "class.m3u8"),
        "playlist, XSPF": lambda: xspf(setlist, here, here / "class.xspf"),
    }
    for name, make in parts.items():
        times = [_cpu_ms(make) for _ in range(REPEATS)]
        print(f"{name:24} {times[0]:8.1f} ms first, {sorted(times[1:])[len(times) // 2 - 1]:8.1f} ms after")
    print(f"{'page':24} {len(page.encode()) / 1000:8.1f} kB")
    print(f"{'picture, SVG':24} {len(svg.encode()) / 1000:8.1f} kB")
    _first_paint(page)


def _cpu_ms(make: Callable[[], object]) -> float:
    start = time.process_time()
    make()
    return 1000 * (time.process_time() - start)


def _first_paint(page: str) -> None:
    chromium = shutil.which("chromium") or shutil.which("google-chrome")
    if chromium is None:
        print("no Chromium here: first paint not measured")
        return
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        file = Path(folder) / "class.html"
        file.write_text(page, encoding="utf-8")
        browser = play.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-gpu"])
        times = []
        for _ in range(REPEATS):
            tab = browser.new_page()
            tab.goto(file.as_uri())
            tab.wait_for_timeout(400)
            times.append(tab.evaluate("performance.getEntriesByName('first-contentful-paint')[0].startTime"))
            tab.close()
        browser.close()
    print(f"{'first paint':24} {sorted(times)[REPEATS // 2]:8.1f} ms (median of {REPEATS}, {max(times):.1f} at most)")


if __name__ == "__main__":
    main()
