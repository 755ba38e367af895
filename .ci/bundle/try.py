"""Try the bundle as a newcomer would: on a Debian image without Python, compiler and network, as an unprivileged user.

    sudo python .ci/bundle/try.py dist/arcbed-0.1.0-linux-x86_64.tar.xz [--image FOLDER]

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
from collections.abc import Iterator
from pathlib import Path

USER, NETWORK = "teacher", "arcbed-try"
MUST_LACK = ("python3", "python", "gcc", "cc", "clang")
CHROMIUM = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update",
            "--disable-sync", "--no-first-run"]  # fmt: skip


def main() -> None:
    """Make the image, unpack, start, and go the whole way."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("bundle", type=Path)
    words.add_argument("--image", type=Path, default=Path("/var/tmp/arcbed-image"))
    words.add_argument("--browse", help=argparse.SUPPRESS)  # the second half, inside the network
    said = words.parse_args()
    if said.browse:
        go_the_way(said.browse)
        return
    home = make_image(said.image)
    unpack(said.bundle, said.image, home)
    with network(), mounted(said.image):
        for attempt in ("the first start", "the second start"):
            with started(said.image) as address:
                browse = [sys.executable, __file__, str(said.bundle), "--browse", address]
                if attempt == "the first start":
                    subprocess.run(["ip", "netns", "exec", NETWORK, *browse], check=True)
    for made in sorted((home / "Documents/Classes").iterdir()):
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
    subprocess.run(["chroot", str(image), "chown", "-R", f"{USER}:{USER}", f"/home/{USER}"], check=True)
    print(f"unpacked in {time.monotonic() - begun:.1f} s")


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
    command = ["ip", "netns", "exec", NETWORK, "chroot", f"--userspec={USER}:{USER}", str(image), "/usr/bin/env", "-i",
               f"HOME=/home/{USER}", "PATH=/usr/bin:/bin", "LANG=C.UTF-8", f"/home/{USER}/arcbed/arcbed", "open",
               "--no-browser"]  # fmt: skip
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


def go_the_way(address: str) -> None:
    """Demo music, class, music chosen, a swap, the rest, mix and sheet; each by the page's own buttons."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=CHROMIUM)
        page = browser.new_page()
        way = Way(page)
        page.goto(address)
        way.until("document.documentElement.dataset.ready === 'yes'", 60)
        way.done("first paint")
        page.click("#try-it")
        way.until("!document.querySelector('#plan-text')?.value === false", 900)
        way.done("music made and heard, a class to try it with")
        page.evaluate("location.hash = 'class'")
        page.click("#pair")
        way.until("document.querySelectorAll('.pick').length > 3", 200)
        way.done("music chosen")
        page.locator(".pick[data-n='3']").click()
        page.locator(".offer button").first.click()
        way.until("!document.body.classList.contains('busy')", 60)
        way.done("a track swapped")
        page.evaluate("location.hash = 'away'")
        page.click("#write-mix")
        way.until("document.getElementById('say').textContent.includes('Wrote ')", 600)
        way.done("mix written")
        page.click("#write-sheet")
        way.until("document.querySelectorAll('#written li').length > 1", 120)
        way.done("sheet written")
        page.click("#close")
        way.until("document.getElementById('say').textContent.includes('closed')", 20)
        browser.close()


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

    def done(self, what: str) -> None:
        """Say what is reached, and when."""
        print(f"  {time.monotonic() - self.begun:6.1f} s  {what}", flush=True)


if __name__ == "__main__":
    main()
