"""The pictures of a class and of its cue sheet for the docs, of the demo's plan and an invented library.

    python tests/benchmarks/sheet_pictures.py [--out docs/pictures]

Needs Chromium; with ImageMagick's `convert` the pictures become small.
"""

import argparse
import shutil
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve()
ROOT = HERE.parents[2]
sys.path[:0] = [str(ROOT), str(HERE.parent), str(HERE.parents[1] / "pairing")]

from page_browser import ARGS  # noqa: E402
from page_pictures import made, small  # noqa: E402

from pairing.show.picture import picture_png, picture_svg  # noqa: E402
from pairing.show.scene import Scene  # noqa: E402
from pairing.show.sheet import sheet_html  # noqa: E402
from pairing.workflow import sets  # noqa: E402
from pairing.workflow.plans import outline_of_set  # noqa: E402

SCREENS = {390: 844, 820: 1000, 1440: 1000}
A4_PX, MARGIN_PX = (794, 1123), (42, 38)  # at 96 a inch; the sheet's margins of paper


def main() -> None:
    """Take them all."""
    from playwright.sync_api import sync_playwright

    wanted = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    wanted.add_argument("--out", type=Path, default=ROOT / "docs" / "pictures")
    out = wanted.parse_args().out
    with tempfile.TemporaryDirectory() as place, sync_playwright() as play:
        folder = Path(place)
        made(folder)
        found = sets.open_set(folder / "demo-class.json", folder / "library.sqlite")
        known = outline_of_set(found.setlist)
        scene = Scene.of_set(found.setlist, known.timetable, known.arc)
        small(picture_png(picture_svg(scene), 1400), out / "class.png")
        sheet = folder / "sheet.html"
        by_id = {track.id: track for track in found.tracks}
        page = sheet_html(
            found.setlist, known.timetable, known.arc, findings=found.setlist.findings, plan=known.plan, tracks=by_id
        )
        sheet.write_text(page, "utf-8")
        browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=ARGS)
        for width, height in SCREENS.items():
            for scheme in ("light", "dark"):
                look = browser.new_page(viewport={"width": width, "height": height}, color_scheme=scheme)
                look.goto(sheet.as_uri())
                small(look.screenshot(), out / f"sheet-{width}-{scheme}.png")
        (wide, high), (across, down) = A4_PX, MARGIN_PX
        look = browser.new_page(viewport={"width": wide - 2 * across, "height": high - 2 * down})
        look.emulate_media(media="print")
        look.goto(sheet.as_uri())
        small(look.screenshot(), out / "sheet-a4.png")
        browser.close()


if __name__ == "__main__":
    main()
