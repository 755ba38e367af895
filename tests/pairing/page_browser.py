"""A served desk and a real Chromium looking at it: what the tests of the page in a browser share."""

import socket
import threading
import time
from contextlib import contextmanager

import uvicorn

from pairing.page.desk import Desk
from pairing.page.security import LOOPBACK, Guard
from pairing.page.server import make_app

ARGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update",
        "--disable-sync", "--no-first-run", "--autoplay-policy=no-user-gesture-required"]  # fmt: skip


@contextmanager
def served(desk: Desk):
    """The address that opens the page of a desk, served on a free port."""
    with socket.socket() as listening:
        listening.bind((LOOPBACK, 0))
        port = listening.getsockname()[1]
        guard = Guard(make_app(desk), port)
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
        self.page.on("console", lambda m: self.errors.append(m.text) if m.type in ("error", "warning") else None)
        self.page.on("pageerror", lambda error: self.errors.append(str(error)))
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.goto(address)
        self.until("document.documentElement.dataset.ready === 'yes'")

    def until(self, script, timeout_s=60.0):
        """Poll from outside: the page's policy forbids what a wait inside it would need."""
        end = time.monotonic() + timeout_s
        while not self.page.evaluate(script):
            assert time.monotonic() < end, (script, self.page.inner_text("#say"))
            self.page.wait_for_timeout(40)

    def view(self, name):
        self.page.evaluate(f"location.hash = {name!r}")
        self.until(f"!document.getElementById('view-{name}').hidden")

    def said(self, words, timeout_s=60.0):
        self.until(f"document.getElementById('say').textContent.includes({words!r})", timeout_s)

    def idle(self, timeout_s=60.0):
        self.until("!document.body.classList.contains('busy')", timeout_s)

    def strangers(self):
        """Requests that went anywhere else than to the page's own server."""
        return [url for url in self.asked if not url.startswith((f"http://{LOOPBACK}:", "data:", "blob:"))]

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.context.close()
