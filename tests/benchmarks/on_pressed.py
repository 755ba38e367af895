"""How soon a packed class leaves what sounds when On is pressed, at places from a seed, in a headless Chromium with sound.

    .venv/bin/python tests/benchmarks/on_pressed.py PAGE [TIMES]

PAGE is what `arcbed pack SET --out FOLDER --live` wrote. The page rehearses: it goes to a part, some minutes into it, and On is
pressed. Told is the time from the press to the moment at which the track that sounded begins to fade.
"""

import random
import shutil
import statistics
import sys
from pathlib import Path

from class_in_real_time import ARGS, ON


def main(page_file: Path, times: int) -> None:
    """Press and measure."""
    from playwright.sync_api import sync_playwright

    rng, waits, nothing = random.Random(5), [], 0
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=ARGS)
        page = browser.new_page()
        page.goto(page_file.absolute().as_uri() + "#clock")
        page.wait_for_function("document.documentElement.dataset.ready === 'yes'")
        page.click("#b-rehearse")
        page.click("#b-run")
        page.click("#c-where")
        parts = page.locator("#c-sections button").count()
        while len(waits) + nothing < times:
            page.locator("#c-sections button").nth(rng.randrange(parts - 1)).click()
            for _ in range(rng.randrange(12)):
                page.keyboard.press("ArrowRight")
            page.wait_for_timeout(rng.uniform(600, 1500))
            wait = page.evaluate(ON) if page.is_enabled("#b-on") and page.is_enabled("#b-rest") else None
            if wait is None:
                nothing += 1
            else:
                waits.append(wait)
        browser.close()
    waits.sort()
    print(
        f"{len(waits)} presses before the rest ({nothing} at places with no music or in the rest): median {statistics.median(waits):.1f} s,"
    )
    print(f"95 % within {waits[int(0.95 * len(waits))]:.1f} s, longest {waits[-1]:.1f} s")


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 60)
