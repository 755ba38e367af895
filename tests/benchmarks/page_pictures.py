"""Pictures of the page for the docs: every view at three widths, light and dark, on an invented library.

    python tests/benchmarks/page_pictures.py [--out docs/pictures] [--only class-1440-light]

Needs Chromium; with ImageMagick's `convert` the pictures become small.
"""

import argparse
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

HERE = Path(__file__).resolve()
ROOT = HERE.parents[2]
sys.path[:0] = [str(ROOT), str(HERE.parents[1] / "pairing")]

from invented_music import library  # noqa: E402
from page_browser import ARGS, Look, served  # noqa: E402

from audio.files.folders import Found  # noqa: E402
from audio.library import Library  # noqa: E402
from audio.track import Tags  # noqa: E402
from pairing.model import PairOptions  # noqa: E402
from pairing.page.desk import Desk  # noqa: E402
from pairing.workflow import sets  # noqa: E402

WIDTHS = {390: 844, 820: 1000, 1440: 1000}
VIEWS = ("plan", "music", "class", "rest", "ready")
FIRST = ("Low", "Slack", "Outer", "Second", "Grey", "Long", "Salt", "Early", "Lee", "Double", "Cold", "Far")
SECOND = ("Mooring", "Swell", "Buoy", "Groyne", "Bollard", "Reef Knot", "Capstan", "Ebb", "Lantern Room", "Jetty",
          "Tidal Gauge", "Fog Signal", "Slipway", "Dredger")  # fmt: skip
NAMES = [f"{one} {two}" for two in SECOND for one in FIRST]


def made(folder: Path) -> Desk:
    """The demo's plan, with music that nobody recorded."""
    rng = np.random.default_rng(4)
    with Library.open_or_create(folder / "library.sqlite") as known:
        for track, name in zip(library(len(NAMES)), rng.permutation(NAMES), strict=True):
            tags = Tags(str(name), f"Quay {1 + track.id % 9} Players", "Invented")
            found = Found(folder / "music" / f"{track.id:04d}.flac", 1, 1)
            known.store(found, track.fingerprint, tags, track.analysis)
    plan = folder / "demo-class.md"
    shutil.copy(ROOT / "pairing" / "plan" / "demo-class.md", plan)
    sets.pair_plan(plan, folder / "demo-class.json", folder / "library.sqlite", PairOptions())
    return Desk(folder, folder / "library.sqlite", plan)


def shown(look: Look, view: str) -> None:
    """Bring a view to where a person would have it."""
    look.view(view)
    if view == "class":
        look.page.locator(".pick[data-n='9'] .touch").first.click()
        look.until("document.querySelector('.pick.chosen').dataset.n === '9'")
        look.until("document.querySelectorAll('.offer').length > 0")
    if view == "music":
        look.until("document.querySelectorAll('.opens').length > 2")
        look.page.locator(".opens").nth(1).click()
    if view == "ready":  # not where this machine happened to put it
        look.page.evaluate("document.querySelector('.everything bdi').textContent = 'Classes'")
    look.page.mouse.move(2, 2)
    look.page.evaluate("scrollTo(0, 0)")
    look.page.wait_for_timeout(400)


def main() -> None:
    """Take them all."""
    from playwright.sync_api import sync_playwright

    wanted = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    wanted.add_argument("--out", type=Path, default=ROOT / "docs" / "pictures")
    wanted.add_argument("--only", default="")
    asked = wanted.parse_args()
    with tempfile.TemporaryDirectory() as name, sync_playwright() as play:
        folder = Path(name) / "harbour"
        folder.mkdir()
        desk = made(folder)
        browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=ARGS)
        with served(desk) as address:
            for width, height in WIDTHS.items():
                for scheme in ("light", "dark"):
                    with Look(browser, address, width=width, height=height, scheme=scheme) as look:
                        for view in VIEWS:
                            name = f"{view}-{width}-{scheme}"
                            if asked.only in name:
                                shown(look, view)
                                small(look.page.screenshot(), asked.out / f"page-{name}.png")
        browser.close()


def small(png: bytes, path: Path) -> None:
    """Write a picture with few colours."""
    path.write_bytes(png)
    convert = shutil.which("convert")
    if convert:
        subprocess.run([convert, path, "-strip", "-dither", "None", "-colors", "64", f"PNG8:{path}"], check=True)


if __name__ == "__main__":
    main()
