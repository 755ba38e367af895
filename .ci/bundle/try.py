"""Try the bundle as a newcomer would: on a Debian image without Python, compiler and network, as an unprivileged user.

    sudo python .ci/bundle/try.py dist/arcbed-0.1.0-linux-x86_64.tar.xz --music FOLDER [--image FOLDER]

Needs root, debootstrap, iproute2 and Chromium on the machine that tries it, and playwright in the Python that runs it.
The image is made if it isn't there. The bundle runs inside it, in a network of its own that ends at the loopback; the
browser shares that network and nothing else. Prints how long each step took; docs/endurance-and-scale.md keeps results.
"""

import argparse
import contextlib
import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

USER, NETWORK = "teacher", "arcbed-try"
CLASS = """# Mine
slot: 15 minutes

## Arrive: opening, quiet music
- child's pose, 8 breaths
- say: low tide, 30 seconds

## Salutes: warm-up, 3 rounds
- sun salutation A

## Tide: flow, both sides, 2 rounds
- warrior two, 5 breaths
- triangle, 4 breaths

## Float: rest, what is left, at least 3 minutes
- savasana
"""
MUST_LACK = ("python3", "python", "gcc", "cc", "clang")
CHROMIUM = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]


def main() -> None:
    """Make the image, unpack, start, and go each way."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("bundle", type=Path)
    words.add_argument("--image", type=Path, default=Path("/var/tmp/arcbed-image"))
    words.add_argument("--music", type=Path, required=True, help="a folder of music to be used as the newcomer's own")
    words.add_argument("--ways", nargs="+", choices=WAYS, default=["look", "look", "demo", "own"], help="one a start")
    words.add_argument("--browse", nargs=2, help=argparse.SUPPRESS)  # the second half, inside the network
    said = words.parse_args()
    if said.browse:
        address, way = said.browse
        go(address, WAYS[way])
        return
    home = make_image(said.image)
    unpack(said.bundle, said.image, home)
    shutil.copytree(said.music, home / "Music")
    give(said.image, f"/home/{USER}/Music")
    with network(), mounted(said.image):
        Path("/proc/sys/vm/drop_caches").write_text("3")
        for way in said.ways:
            with started(said.image) as address:
                browse = [sys.executable, __file__, "-", "--music", "-", "--browse", address, way]
                subprocess.run(["ip", "netns", "exec", NETWORK, *browse], check=True)
    for made in sorted((home / "Documents/Classes").glob("*")):
        print(f"  {made.name}: {made.stat().st_size / 1e6:.1f} MB")


def make_image(image: Path) -> Path:
    """A minimal system with one user and an empty home; gives the home."""
    if not (image / "bin/sh").exists():
        subprocess.run(["debootstrap", "--variant=minbase", "bookworm", str(image)], check=True)
    there = [
        name for name in MUST_LACK if shutil.which(name, path=f"{image}/usr/bin:{image}/bin:{image}/usr/local/bin")
    ]
    if there:
        sys.exit(f"The image has {', '.join(there)}; it should have none of them.")
    subprocess.run(["chroot", str(image), "userdel", "-r", USER], check=False, stderr=subprocess.DEVNULL)
    subprocess.run(["chroot", str(image), "useradd", "-m", USER], check=True)
    return image / "home" / USER


def unpack(bundle: Path, image: Path, home: Path) -> None:
    """Unpack the bundle into the user's home."""
    begun = time.monotonic()
    shutil.unpack_archive(bundle, home)
    give(image, f"/home/{USER}")
    print(f"unpacked in {time.monotonic() - begun:.1f} s")


def give(image: Path, what: str) -> None:
    """Make something the newcomer's own."""
    subprocess.run(["chroot", str(image), "chown", "-R", f"{USER}:{USER}", what], check=True)


@contextlib.contextmanager
def network() -> Iterator[None]:
    """A network that holds the loopback alone."""
    subprocess.run(["ip", "netns", "add", NETWORK], check=True)
    try:
        subprocess.run(["ip", "-n", NETWORK, "link", "set", "lo", "up"], check=True)
        yield
    finally:
        subprocess.run(["ip", "netns", "del", NETWORK], check=False)


@contextlib.contextmanager
def mounted(image: Path) -> Iterator[None]:
    """What a running system has: processes, devices, shared memory."""
    mounts = (("proc", "proc"), ("sysfs", "sys"), ("devtmpfs", "dev"), ("tmpfs", "dev/shm"))
    for kind, at in mounts:
        (image / at).mkdir(exist_ok=True)
        subprocess.run(["mount", "-t", kind, kind, str(image / at)], check=True)
    os.chmod(image / "dev/shm", 0o1777)
    try:
        yield
    finally:
        for _, at in reversed(mounts):
            subprocess.run(["umount", "-l", str(image / at)], check=False)


@contextlib.contextmanager
def started(image: Path) -> Iterator[str]:
    """The bundle as that user starts it; gives the page's address once it answers."""
    command = [
        "ip",
        "netns",
        "exec",
        NETWORK,
        "chroot",
        f"--userspec={USER}:{USER}",
        str(image),
        "/usr/bin/env",
        "-i",
        f"HOME=/home/{USER}",
        "PATH=/usr/bin:/bin",
        "LANG=C.UTF-8",
        f"/home/{USER}/arcbed/arcbed",
        "open",
        "--no-browser",
    ]
    begun = time.monotonic()
    program = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    try:
        assert program.stdout is not None
        line = program.stdout.readline()
        found = re.search(r"http://\S+", line)
        if not found:
            sys.exit(f"It did not start: {line}{program.stdout.read()}")
        print(f"started in {time.monotonic() - begun:.2f} s")
        yield found.group()
    finally:
        program.terminate()
        program.wait(30)


def go(address: str, steps: "Callable[[Way], None]") -> None:
    """Open the page, go a way, close arcbed.

    Pressed and typed into is what keeps its name (`#try-it`, `#plan-text`, `#close`); the rest is asked of the program
    as the page asks it, so that the page may change its face.
    """
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=CHROMIUM)
        page = browser.new_page()
        page.goto(address)
        way = Way(page)
        way.until("document.documentElement.dataset.ready === 'yes'", 60)
        painted = page.evaluate("performance.getEntriesByName('first-contentful-paint')[0]?.startTime")
        print(f"first paint {painted / 1000:.2f} s after the page was asked for")
        steps(way)
        page.reload()  # it knows a second late of what was asked behind its back, and would ask whether to go on
        way.until("document.documentElement.dataset.ready === 'yes'", 60)
        page.click("#close")
        way.until("document.body.classList.contains('lost')", 20)
        browser.close()


def demo(way: "Way") -> None:
    """With music made here."""
    way.page.click("#try-it")
    way.job(1800, "music made and heard, a class to try it with")
    finish(way, "demo-class")


def own(way: "Way") -> None:
    """With music of one's own, found where the page looks for it first, and a class typed."""
    folder = way.ask("/folders?at=")["at"]
    way.do("new", {"name": "mine", "minutes": 30})  # one to start from; what is typed takes its place
    way.page.reload()
    way.until("document.documentElement.dataset.ready === 'yes'", 60)
    way.page.evaluate("location.hash = 'plan'")
    way.page.locator("#plan-text").fill(CLASS)
    way.until("fetch('/state').then((a) => a.json()).then((s) => s.plan.text.includes('low tide'))", 30)
    way.done("a class typed and kept")
    way.do("scan", {"folder": folder})
    way.job(1800, "own music heard")
    finish(way, "mine")


def finish(way: "Way", name: str) -> None:
    """Music chosen, a track swapped, another rest, mix and sheet."""
    way.do("pair", {"keep": False})
    way.done("music chosen")
    minutes = way.ask("/rest")["minutes"]  # a longer one may not fit the class
    way.do("rest", {"minutes": minutes, "silence": 0.5, "bell_start": True, "bell_end": True})
    way.done("another rest")
    n, offer = next(
        (n, offers[0])
        for n in range(1, len(way.ask("/state")["set"]["picks"]) + 1)
        if (offers := way.ask(f"/alternatives/{n}")["alternatives"])
    )
    way.do("swap", {"n": n, "track": offer["id"]})
    way.done("a track swapped")
    way.do("write", {"kind": "mix", "ending": ".mp3", "name": name, "replace": True})
    way.job(1800, "mix written")
    way.do("write", {"kind": "sheet", "ending": ".html", "name": name, "replace": True})
    way.done("sheet written")


WAYS = {"look": lambda way: None, "demo": demo, "own": own}


class Way:
    """Waits and tells how long it took."""

    def __init__(self, page) -> None:  # type: ignore[no-untyped-def]
        self.page = page
        self.begun = time.monotonic()

    def until(self, script: str, limit_s: float) -> None:
        """Poll the page."""
        end = time.monotonic() + limit_s
        while not self.page.evaluate(script):
            if time.monotonic() > end:
                self.page.screenshot(path="/var/tmp/arcbed-try.png")
                sys.exit(f"Waited {limit_s:.0f} s in vain for {script}; the page said: {self.page.inner_text('#say')}")
            time.sleep(0.05)

    def ask(self, path: str, values: object = None) -> dict[str, object]:
        """The program's answer to what the page would ask."""
        answer = self.page.evaluate(
            """([path, values]) => fetch(path, values === null ? {} : {method: "POST", body: JSON.stringify(values),
            headers: {"Content-Type": "application/json"}}).then((answer) => answer.json())""",
            [path, values],
        )
        if answer.get("error"):
            sys.exit(f"{path}: {answer['error']}")
        return answer

    def do(self, action: str, values: object) -> None:
        """What a press does."""
        self.ask(f"/do/{action}", values)

    def job(self, limit_s: float, what: str) -> None:
        """Wait for the work under way."""
        end = time.monotonic() + limit_s
        while (job := self.ask("/pulse")["job"]) is None or job["state"] == "running":
            if time.monotonic() > end:
                sys.exit(f"Waited {limit_s:.0f} s in vain for: {what}.")
            time.sleep(0.2)
        if job["state"] != "done":
            sys.exit(f"{what}: {job['words']}")
        self.done(what)

    def done(self, what: str) -> None:
        """Say what is reached, and when."""
        print(f"  {time.monotonic() - self.begun:6.1f} s  {what}", flush=True)


if __name__ == "__main__":
    main()
