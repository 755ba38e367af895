"""How quick the page is for a person: 2,000 tracks, a class of 60 minutes, a real Chromium.

    python tests/benchmarks/page_speed.py [--tracks 2000] [--times 9]

Every figure is wall time inside the browser, from the event a hand makes to the frame that shows (or the moment that
sounds) its effect: the median and the worst of some tries. Needs Chromium and the page's extra; takes some minutes,
most of them to make the library.
"""

import argparse
import os
import shutil
import statistics
import sys
import tempfile
from pathlib import Path

import numpy as np

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[2]), str(HERE.parents[1] / "pairing")]

from invented_music import library  # noqa: E402
from page_browser import ARGS, Look, served  # noqa: E402

from audio.files.encode import Encoder  # noqa: E402
from audio.files.folders import Found  # noqa: E402
from audio.library import Library  # noqa: E402
from pairing.model import PairOptions  # noqa: E402
from pairing.page.desk import Desk  # noqa: E402
from pairing.page.server import warm_up  # noqa: E402
from pairing.workflow import sets  # noqa: E402

PLAN = HERE.parents[2] / "pairing" / "plan" / "examples" / "strong-flow-60.md"
RATE = 44_100
BARS_S = {
    "first paint": 0.6,
    "alternatives on screen": 0.25,
    "a swap redraws": 0.15,
    "typing moves the arc": 0.2,
    "a join is heard": 1.0,
}

# In the page: act, then look at each frame until it shows, and give the milliseconds from the one to the other.
TIMED = """() => new Promise((resolve, reject) => {
  const $ = (selector) => document.querySelector(selector), before = %(before)s, start = performance.now();
  %(act)s;
  const look = () => {
    if (%(seen)s) requestAnimationFrame(() => resolve(performance.now() - start));
    else if (performance.now() - start > 20000) reject(new Error("never seen; the page says: " + $("#say").textContent));
    else requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
})"""


def timed(look: Look, act: str, seen: str, before: str = "null") -> float:
    """Seconds between an act and what is seen of it; three pieces of JavaScript."""
    seconds = look.page.evaluate(TIMED % {"act": act, "seen": seen, "before": before}) / 1000
    look.idle()
    return float(seconds)


def made(folder: Path, tracks: int) -> Desk:
    """A desk with a large library and a class; the tracks of the class are real files."""
    music = folder / "music"
    music.mkdir()
    with Library.open_or_create(folder / "library.sqlite") as known:
        for track in library(tracks):
            known.store(Found(music / f"{track.id:04d}.mp3", 1, 1), track.fingerprint, track.tags, track.analysis)
    plan = folder / "hill.md"
    shutil.copy(PLAN, plan)
    sets.pair_plan(plan, folder / "hill.json", folder / "library.sqlite", PairOptions())
    return Desk(folder, folder / "library.sqlite", plan)


def sound(desk: Desk, track_id: int) -> None:
    """Write the file of one track: a soft tone of its length."""
    track = next(each for each in desk.tracks() if each.id == track_id)
    if track.path.exists() or track.analysis is None:
        return
    at = np.arange(round(track.analysis.duration_s * RATE)) / RATE
    tone = (0.1 * np.sin(2 * np.pi * (150 + track_id % 300) * at)).astype(np.float32)
    with Encoder(track.path, rate=RATE, channels=2) as encoder:
        encoder.write(np.stack([tone, tone], axis=1))


def measured(look: Look, desk: Desk, address: str, times: int) -> dict[str, list[float]]:
    """All figures, in seconds."""
    page, found = look.page, {name: [] for name in BARS_S}
    for _ in range(times):
        page.goto(address)
        look.until("document.documentElement.dataset.ready === 'yes'")
        found["first paint"].append(page.evaluate("performance.getEntriesByType('paint').at(-1).startTime") / 1000)
    look.view("class")
    picks = page.evaluate("document.querySelectorAll('#sight .pick').length")
    look.until("document.querySelectorAll('.offer').length > 0")
    for n in range(2, 2 + times):  # each for the first time: nothing is at hand from before
        n = 1 + n % picks
        seconds = timed(
            look,
            f"$('.pick[data-n=\"{n}\"]').dispatchEvent(new MouseEvent('click', {{bubbles: true}}))",
            f"$('.pick.chosen').dataset.n === '{n}' && $('.offer')",
        )
        found["alternatives on screen"].append(seconds)
        found["a swap redraws"].append(
            timed(
                look,
                "$('.offer .take').click()",
                "$('#sight svg') !== before.svg && $('.trackbox h3').textContent !== before.title",
                "{svg: $('#sight svg'), title: $('.trackbox h3').textContent}",
            )
        )
        look.until("document.querySelectorAll('.offer').length > 0")
    for pick in desk.open.file.setlist.picks:
        sound(desk, pick.track_id)
    warm_up(desk)  # as the program does when it starts: the rest is measured once
    for n in range(2, min(2 + times, picks)):
        page.locator(f".pick[data-n='{n}'] .touch").first.click()
        look.page.wait_for_timeout(200)
        found["a join is heard"].append(
            timed(
                look,
                "$('#hear-join').click()",
                "!$('#audio').paused && $('#audio').currentTime > 0.01 && $('#audio').src !== before",
                "$('#audio').src",
            )
        )
        page.click("#hear-join")
    look.view("plan")
    page.click("#plan-text")
    for step in range(times):
        line = f"- child's pose, {3 + step % 7} breaths\\n"
        found["typing moves the arc"].append(
            timed(
                look,
                f"const t = $('#plan-text'); t.setSelectionRange(t.value.indexOf('- cat-cow'), t.value.indexOf('- cat-cow')); document.execCommand('insertText', false, \"{line}\")",
                "$('#sight svg') !== before",
                "$('#sight svg')",
            )
        )
        page.wait_for_timeout(900)  # it is saved meanwhile
    return found


def main() -> None:
    """Print one line a figure, with its bar."""
    from playwright.sync_api import sync_playwright

    wanted = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    wanted.add_argument("--tracks", type=int, default=2000)
    wanted.add_argument("--times", type=int, default=9)
    wanted = wanted.parse_args()
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        desk = made(Path(folder), wanted.tracks)
        warm_up(desk)
        browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=ARGS)
        with served(desk) as address, Look(browser, address) as look:
            found = measured(look, desk, address, wanted.times)
            assert look.errors == [], look.errors
        browser.close()
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    print(f"{wanted.tracks} tracks, {os.cpu_count()} cores{load}")
    for name, seconds in found.items():
        median = statistics.median(seconds)
        print(f"{name:24} {median:6.3f} s, at worst {max(seconds):6.3f} (bar {BARS_S[name]:g})")


if __name__ == "__main__":
    main()
