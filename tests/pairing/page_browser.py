"""A served desk and a real Chromium looking at it: what the tests of the page in a browser share."""

import contextlib
import random
import socket
import threading
import time
from collections import deque
from collections.abc import Callable
from contextlib import contextmanager

import uvicorn
from page_file import ARGS as PLAIN

from pairing.page.desk import Desk
from pairing.page.instance import LOOPBACK
from pairing.page.security import Guard
from pairing.page.server import make_app
from pairing.workflow.music import library_path

PATIENCE_S = 120.0  # after which the page is taken to be stuck: on a busy machine all takes as long as it takes
SECRET = "the-secret-of-a-user-who-is-not-there-for-real"

SOUNDING = "--autoplay-policy=no-user-gesture-required"  # sound begins without a press
ARGS = [*PLAIN, SOUNDING]


@contextmanager
def served(desk: Desk, port: int = 0):
    """The address that opens the page of a desk, served on a free port, or on a certain one."""
    with socket.socket() as listening:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind((LOOPBACK, port))
        port = listening.getsockname()[1]
        guard = Guard(make_app(desk), port, SECRET, library_path(desk.library))
        server = uvicorn.Server(uvicorn.Config(guard, log_level="error", lifespan="off", timeout_graceful_shutdown=1))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
        thread.start()
        while not server.started:
            time.sleep(0.01)
        try:
            yield f"http://{LOOPBACK}:{port}{guard.opening_path}"
        finally:
            server.should_exit = True
            thread.join(10)
            desk.jobs.close()


class Look:
    """A page that was opened, what it asked for, and what it complained of."""

    def __init__(self, browser, address, *, width=1280, height=900, scheme="light", motion="no-preference"):
        self.context = browser.new_context(
            viewport={"width": width, "height": height}, color_scheme=scheme, reduced_motion=motion
        )
        self.page = self.context.new_page()
        self.errors, self.asked = [], []
        self.acts = deque(maxlen=40)  # what random use did last
        self.page.on("console", lambda m: self.errors.append(m.text) if m.type in ("error", "warning") else None)
        self.page.on("pageerror", lambda error: self.errors.append(str(error)))
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.goto(address)
        self.until("document.documentElement.dataset.ready === 'yes'")

    def until(self, script):
        """Poll from outside: the page's policy forbids what a wait inside it would need."""
        end = time.monotonic() + PATIENCE_S
        while not self.page.evaluate(script):
            assert time.monotonic() < end, (script, self.page.inner_text("#say"))
            self.page.wait_for_timeout(40)

    def wait_for(self, holds):
        """Poll something that the test itself has noted."""
        end = time.monotonic() + PATIENCE_S
        while not holds():
            assert time.monotonic() < end
            self.page.wait_for_timeout(40)

    def view(self, name):
        self.page.evaluate(f"location.hash = {name!r}")
        self.until(f"!document.getElementById('view-{name}').hidden")

    def said(self, words):
        self.until(f"document.getElementById('say').textContent.includes({words!r})")

    def idle(self):
        self.until("!document.body.classList.contains('busy')")

    def still(self):
        """Wait until nothing that was asked for is on its way, and what came of it is drawn."""
        self.page.wait_for_load_state("networkidle")
        self.page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")

    def settle(self):
        """Decide later whatever is asked, and wait for what is under way."""
        end = time.monotonic() + PATIENCE_S
        while self.works() and time.monotonic() < end:
            pass
        self.idle()

    def works(self):
        """Whether a change is under way; a question that holds it up is decided later."""
        if self.page.evaluate("!document.getElementById('ask').hidden"):
            self.page.locator("#ask-choices button").last.click()
        self.page.wait_for_timeout(50)
        return self.page.evaluate("document.body.classList.contains('busy')")

    def strangers(self):
        """Requests that went anywhere else than to the page's own server."""
        return [url for url in self.asked if not url.startswith((f"http://{LOOPBACK}:", "data:", "blob:"))]

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.context.close()


# ---- random use --------------------------------------------------------------------------------------------------

PRESSED = ["Tab", "Shift+Tab", "Enter", "Escape", " ", "ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown", "Home", "End",
           "1", "2", "3", "4", "5", "h", "c", "p", "Control+z", "Control+y", "Control+Shift+z"]  # fmt: skip
TYPED = ["- crow 3 breaths\n", "x", "## New: flow\n", "- child's pose, 5 breaths\n", "\n", "energy 40%", "é"]
# Not pressed: what leaves the page, what takes minutes, and folders that are not the test's.
LEFT_ALONE = (
    "Open",
    "write-mix",
    "write-parts",
    "write-pack",
    "everything",
    "Teach from",
    "Listen to",
    "scan",
    "job-stop",
)
TARGETS = (
    "main button:visible:enabled, nav a:visible, .pick .touch:visible, #ask button:visible, #say button:visible, #next-go:visible, "
    "main summary:visible, main input[type=checkbox]:visible"
)


def wild(
    look: Look, rng: random.Random, goes_on: Callable[[int], bool], seen: Callable[[], None] = lambda: None
) -> int:
    """Clicks, drags and keys anywhere; the plan is typed in too. `seen` is called in between.

    Args:
        goes_on: told how many things were done; says whether another is.
    Returns:
        how many things were done.
    """
    done = 0
    while goes_on(done):
        did = rng.choices((_click, _press, _drag, _put, _type, _number), (50, 18, 10, 6, 10, 6))[0]
        look.acts.append(f"{time.monotonic():.1f} {did.__name__[1:]} {did(look.page, rng) or ''}")
        done += 1
        look.page.wait_for_timeout(rng.randrange(10, 80))
        if done % 10 == 0:
            seen()
    return done


def _click(page, rng):
    found = page.locator(TARGETS)
    names = found.evaluate_all("all => all.map(e => e.textContent + ' ' + e.id + ' ' + (e.ariaLabel ?? ''))")
    allowed = [index for index, words in enumerate(names) if not any(each in words for each in LEFT_ALONE)]
    if not allowed:
        return None
    chosen = rng.choice(allowed)
    with _gone():
        found.nth(chosen).click(timeout=1500, force=True, no_wait_after=True)
    return names[chosen]


def _press(page, rng):
    focused = page.evaluate("(document.activeElement?.textContent ?? '') + ' ' + (document.activeElement?.id ?? '')")
    key = rng.choice(PRESSED)
    if key in ("Enter", " ") and any(each in focused for each in LEFT_ALONE):
        key = "Tab"
    page.keyboard.press(key)
    return f"{key} on {focused[:60]}"


def _drag(page, rng):
    page.mouse.move(rng.randrange(1200), rng.randrange(800))
    page.mouse.down()
    page.mouse.move(rng.randrange(1200), rng.randrange(800), steps=3)
    page.mouse.up()


def _put(page, rng):
    """Drag a track onto another one's place."""
    offered, places = page.locator("[draggable=true]:visible"), page.locator(".pick .touch:visible")
    count, there = offered.count(), places.count()
    if count and there:
        with _gone():
            offered.nth(rng.randrange(min(count, 12))).drag_to(places.nth(rng.randrange(there)), timeout=2500)


def _type(page, rng):
    text = page.locator("#plan-text")
    if text.is_visible():
        with _gone():
            text.press_sequentially(rng.choice(TYPED), timeout=2500)


def _number(page, rng):
    fields = page.locator("main input[type=number]:visible, main input[type=search]:visible, main select:visible")
    count = fields.count()
    if count:
        with _gone():
            fields.nth(rng.randrange(count)).press(
                rng.choice(["ArrowUp", "ArrowDown", "1", "7", "Delete"]), timeout=1500
            )


def _gone():
    """The page was quicker, and what should be touched is no longer there."""
    from playwright.sync_api import Error

    return contextlib.suppress(Error)
