"""A page opened from its file in a real Chromium, with the network cut: what the tests of sheet and clock share."""

import time
from contextlib import contextmanager

import pytest

# Parts of the browser's own frame that each new window would load in a process of its own (four times what a page of ours
# takes), and, as the last list of features is the one that counts, those of playwright's list that could show in a test.
NOT_WANTED = (
    "WebUIOmniboxPopup",
    "WebUIOmniboxAimPopup",
    "SpareRendererForSitePerProcess",
    "AimEnabled",
    "AvoidUnnecessaryBeforeUnloadCheckSync",
    "DestroyProfileOnBrowserClose",
    "HttpsFirstBalancedModeAutoEnable",
    "HttpsUpgrades",
    "LensOverlay",
    "MediaRouter",
    "NetworkTimeServiceQuerying",
    "OptimizationHints",
    "PaintHolding",
    "PreconnectToSearch",
    "ThirdPartyStoragePartitioning",
)
ARGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    f"--disable-features={','.join(NOT_WANTED)}",
]

PATIENCE_S = 120.0  # after which the page is taken to be stuck


@contextmanager
def launched(chromium, *more):
    """A browser, for as long as it is needed."""
    api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with api.sync_playwright() as play:
        browser = play.chromium.launch(executable_path=chromium, args=[*ARGS, *more])
        yield browser
        browser.close()


class Visit:
    """A page opened from its file with the network cut, and what it said and asked for."""

    def __init__(self, browser, path, *, width=1440, height=900, scheme="light", view="sheet", script=None, when=None):
        self.context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme)
        self.context.set_offline(True)
        self.page = self.context.new_page()
        if when:
            self.page.clock.install(time=when)
        if script:
            self.page.add_init_script(script)
        self.errors, self.requests, self.failed = [], [], []
        self.page.on("console", lambda m: self.errors.append(m.text) if m.type in ("error", "warning") else None)
        self.page.on("pageerror", lambda e: self.errors.append(str(e)))
        self.page.on("requestfailed", lambda r: self.failed.append(r.failure))
        self.page.on("request", lambda r: self.requests.append(r.url))
        self.page.goto(f"{path.as_uri()}#{view}")

    def passes(self, seconds):
        """Let time pass at once, where `when` was given; every timer of the page rings as often as it would have."""
        self.page.clock.run_for(round(seconds * 1000))

    def comes_to_rest(self):
        """Let transitions end."""
        self.page.evaluate("Promise.all(document.getAnimations().map((each) => each.finished)).then(() => null)")

    def at(self):
        return float(self.page.evaluate("document.getElementById('class-clock').dataset.at"))

    def wait_until(self, script):
        """Poll from outside: the page's policy forbids what a wait inside it would need."""
        end = time.monotonic() + PATIENCE_S
        while not self.page.evaluate(script):
            assert time.monotonic() < end, script
            self.page.wait_for_timeout(40)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.context.close()
