"""The pictures of the class clock in `docs/pictures`, of the demo's class; needs chromium.

    .venv/bin/python tests/benchmarks/clock_pictures.py [--out FOLDER]

The page's own clock is moved on, so that the pictures are the same every time.
"""

import argparse
import datetime
import shutil
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "pairing"))

from page_file import Visit, launched
from page_pictures import ROOT, made, small

from pairing.workflow import outputs, sets

WHEN = datetime.datetime(2026, 11, 5, 18, 30)
SIZES = {390: 844, 820: 1180, 1440: 900}
FLOW_S, LATE_S, REST_S = 26 * 60 + 21, 22 * 60 + 1, 45 * 60 + 24


def main() -> None:
    """Take them all."""
    wanted = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    wanted.add_argument("--out", type=Path, default=ROOT / "docs" / "pictures")
    out = wanted.parse_args().out
    with tempfile.TemporaryDirectory() as name, launched(shutil.which("chromium")) as browser:
        sheet = Path(name) / "demo-class.html"
        desk = made(Path(name))
        outputs.write_sheet(sets.open_set(desk.set_path, desk.library), sheet, audio=None)
        for width in SIZES:
            for scheme in ("light", "dark"):
                taken(browser, sheet, out / f"clock-{width}-{scheme}.png", FLOW_S, width=width, scheme=scheme)
        taken(browser, sheet, out / "clock-390-late.png", LATE_S, keys=["ArrowLeft"] * 3)
        taken(browser, sheet, out / "clock-390-rest.png", REST_S)


def taken(browser, sheet, path, at_s, *, width=390, scheme="light", keys=()):
    """One picture: so many seconds after Start, and after some keys."""
    size = {"width": width, "height": SIZES[width], "scheme": scheme}
    with Visit(browser, sheet, view="clock", when=WHEN, **size) as visit:
        visit.page.click("#b-run")
        visit.page.clock.fast_forward(at_s * 1000)
        for key in keys:
            visit.page.keyboard.press(key)
        visit.page.clock.run_for(1000)
        visit.page.mouse.move(2, 2)
        visit.page.evaluate("document.activeElement.blur()")
        small(visit.page.screenshot(animations="disabled"), path)


if __name__ == "__main__":
    main()
