"""Random use of the page, for as long as you like: seeded clicks, drags and keys in a real Chromium.

    python tests/benchmarks/page_random_use.py [--minutes 30] [--seed 1] [--tracks 80]

The program runs as a person starts it (`arcbed open`), in a process of its own. Watched all along: errors in the
browser, requests that leave the machine, the set's file (readable, and covered as the checks want it), the memory of
the program and of the page. Prints a line now and then, and what it all came to; ends with 1 where something failed.
Where the page waits for a change and none comes back for three minutes, it ends at once and prints what the program was doing.
"""

import argparse
import random
import shutil
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from contextlib import contextmanager
from itertools import combinations
from pathlib import Path

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[2]), str(HERE.parents[1] / "pairing")]

from page_browser import ARGS, Look, wild  # noqa: E402
from page_desk import a_desk  # noqa: E402

from pairing.checks.set import check_set  # noqa: E402
from pairing.sets.setfile import read_set  # noqa: E402

TOLD_S = 30.0
SETTLED = 1 / 3  # of the run: by then everything was done once, and what is kept for later is full
MOST_GROWTH_MB = 1.0  # a minute, after that
MOST_BUSY_S = 180.0  # choosing for an hour and a half with repeats takes 23 s of CPU, more beside other work
# The program, told to write on SIGUSR1 where each of its threads is.
PROGRAM = """
import faulthandler, signal
faulthandler.register(signal.SIGUSR1, all_threads=True)
from pairing.commands import main
main()
"""
# In the page: since when it waits for a change and none came back, and which requests have no answer yet.
WATCHED = """() => {
  const waiting = new Map(), before = window.fetch;
  let count = 0, moved = 0;
  window.fetch = (path, how) => {
    const number = ++count;
    waiting.set(number, path + " " + (how?.body ?? "").slice(0, 300));
    return before(path, how).finally(() => {
      waiting.delete(number);
      if (path.startsWith("/do/")) moved = performance.now();
    });
  };
  setInterval(() => { if (!document.body.classList.contains("busy")) moved = performance.now(); }, 200);
  window.waits = () => ({
    seconds: (performance.now() - moved) / 1000, requests: [...waiting.values()],
    asked: document.getElementById("ask").hidden ? "" : document.getElementById("ask").textContent,
    said: document.getElementById("say").textContent,
  });
}"""


@contextmanager
def opened(folder: Path):
    """The address of the program's page, and its process."""
    command = [sys.executable, "-c", PROGRAM, "open", "low-water.md", "--no-browser"]
    log = folder / "log.txt"  # a pipe that nobody reads would stop the program once it is full
    with log.open("w") as told:
        process = subprocess.Popen(
            [*command, "--library", "library.sqlite"], cwd=folder, stderr=subprocess.STDOUT, stdout=told
        )
    try:
        while "http://" not in (line := log.read_text()):
            assert process.poll() is None, line
            time.sleep(0.1)
        line = line.split("\n")[0]
        yield line[line.index("http://") :].strip(), process
    finally:
        process.terminate()
        process.wait(20)


def growth_mb(memory: list[tuple[float, float, float]]) -> float:
    """MB a minute by which the program grew once it had settled: the median of the slopes between all looks."""
    settled = [row for row in memory if row[0] >= SETTLED * memory[-1][0]]
    slopes = [(two[1] - one[1]) / (two[0] - one[0]) for one, two in combinations(settled, 2) if two[0] > one[0]]
    return statistics.median(slopes) if slopes else 0.0


def resident_mb(pid: int) -> float:
    """Memory of a process (Linux), 0 where that can't be read."""
    try:
        lines = Path(f"/proc/{pid}/status").read_text("ascii").splitlines()
    except OSError:
        return 0.0
    return next(int(line.split()[1]) / 1024 for line in lines if line.startswith("VmRSS"))


class WaitsError(Exception):
    """The page waits for a change that doesn't come back; carries what it waits for."""


class Watch:
    """Looks at the set's file, and notes memory."""

    def __init__(self, look: Look, folder: Path, process: subprocess.Popen[str]) -> None:
        self.look, self.path, self.process = look, folder / "low-water.json", process
        look.page.evaluate(WATCHED)
        self.session = look.context.new_cdp_session(look.page)
        self.memory: list[tuple[float, float, float]] = []  # minutes, MB of the program, MB of the page's heap
        self.wrong: list[str] = []
        self.looks = self.said = 0
        self.start = self.told = time.monotonic()

    def __call__(self) -> None:
        """One look."""
        self.looks += 1
        for error in self.look.errors[self.said :]:
            print("an error in the page:", error, "after", *list(self.look.acts)[-12:], sep="\n  ", flush=True)
        self.said = len(self.look.errors)
        assert self.process.poll() is None, "the program ended"
        waits = self.look.page.evaluate("window.waits()")
        if waits["seconds"] > MOST_BUSY_S:
            self.process.send_signal(signal.SIGUSR1)
            raise WaitsError(waits)
        try:
            setlist = read_set(self.path)
            self.wrong += [finding.message for finding in check_set(setlist) if finding.level == "must"]
        except Exception as error:
            self.wrong.append(f"{type(error).__name__}: {error}")
        if time.monotonic() - self.told >= TOLD_S or not self.memory:
            self.told = time.monotonic()
            self.note()

    def note(self) -> None:
        """Memory, after the page has thrown away what it no longer uses."""
        self.session.send("HeapProfiler.collectGarbage")
        heap = self.session.send("Runtime.getHeapUsage")["usedSize"] / 1e6
        row = ((time.monotonic() - self.start) / 60, resident_mb(self.process.pid), heap)
        self.memory.append(row)
        print(
            f"{row[0]:5.1f} min: program {row[1]:6.1f} MB, page {row[2]:5.1f} MB, errors {len(self.look.errors)}",
            flush=True,
        )


def main() -> int:
    """Use the page, and say what came of it."""
    from playwright.sync_api import sync_playwright

    wanted = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    wanted.add_argument("--minutes", type=float, default=30)
    wanted.add_argument("--seed", type=int, default=1)
    wanted.add_argument("--tracks", type=int, default=80)
    asked = wanted.parse_args()
    with tempfile.TemporaryDirectory() as name, sync_playwright() as play:
        folder = Path(name)
        a_desk(folder, tracks=asked.tracks, sounds=True)
        browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=ARGS)
        with opened(folder) as (address, process), Look(browser, address) as look:
            watch = Watch(look, folder, process)
            try:
                end = time.monotonic() + 60 * asked.minutes
                done = wild(look, random.Random(asked.seed), lambda _: time.monotonic() < end, watch)
                while look.works():
                    watch()
            except WaitsError as error:
                time.sleep(1)  # until the program has written where it is
                print(f"seed {asked.seed}: the page waits: {error}", *look.acts, sep="\n")
                print((folder / "log.txt").read_text())
                return 1
            watch()
            watch.note()
            told = (folder / "log.txt").read_text()
            watch.wrong += ["the program says: " + told[-3000:]] if "Traceback" in told else []
        browser.close()
    growth = growth_mb(watch.memory)
    if asked.minutes >= 10 and growth > MOST_GROWTH_MB:
        watch.wrong.append("the program's memory grows")
    print(f"{done} things done, the set looked at {watch.looks} times, wrong {len(watch.wrong)}")
    print(f"the program grew by {growth:.2f} MB a minute after the first third, to {watch.memory[-1][1]:.0f} MB")
    for line in dict.fromkeys([*look.errors, *look.strangers(), *watch.wrong]):
        print("wrong:", line)
    return 1 if look.errors or look.strangers() or watch.wrong else 0


if __name__ == "__main__":
    sys.exit(main())
