"""What a packed class weighs in a headless Chromium: an empty page, the class opened, laid by, and playing.

    .venv/bin/python tests/benchmarks/page_memory.py PAGE [SECONDS]

PAGE is what `arcbed pack SET --out FOLDER --live` wrote. Told are proportional megabytes by kind of process, after each step,
and the most that the page's own process took in between. Linux only: memory is read from /proc.
"""

import os
import shutil
import sys
import threading
import time
from pathlib import Path

from class_in_real_time import ARGS, processes_below, used_by


class Most:
    """The most that the renderer takes, looked at twice a second."""

    def __init__(self) -> None:
        self.mb, self._over = 0.0, threading.Event()
        threading.Thread(target=self._look, daemon=True).start()

    def _look(self) -> None:
        while not self._over.wait(0.5):
            self.mb = max(self.mb, used_by(processes_below(os.getpid())).get("renderer", (0.0, 0.0))[0])

    def end(self) -> float:
        self._over.set()
        return self.mb


def told(what: str, most: float | None = None) -> None:
    used = {kind: round(mb) for kind, (mb, _) in used_by(processes_below(os.getpid())).items()}
    peak = "" if most is None else f"; renderer {most:.0f} MB at most until here"
    print(f"{what:20} {sum(used.values()):4} MB, of them {used}{peak}", flush=True)


def main(page_file: Path, seconds: float) -> None:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=ARGS)
        page = browser.new_page()
        time.sleep(3)
        told("an empty page")
        most = Most()
        page.goto(page_file.absolute().as_uri() + "#clock")
        page.wait_for_function("document.documentElement.dataset.ready === 'yes'")
        told("opened", most.mb)
        page.click("#b-run")
        time.sleep(30)
        told("30 s into the class", most.mb)
        time.sleep(seconds)
        told(f"{30 + seconds:g} s into the class", most.end())
        print(
            page.evaluate(
                "[window.classTaught.player().held(), document.querySelectorAll(\"script[id^='sound-']\").length]"
            )
        )
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]), float(sys.argv[2]) if len(sys.argv) > 2 else 60)
