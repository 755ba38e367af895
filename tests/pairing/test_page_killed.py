"""The program is killed while one types, while it listens to music and while it writes a mix: started again, the same page
goes on, and nothing typed, heard or written before is lost. A process of its own, SIGKILL, a real Chromium."""

import time

import pytest

pytest.importorskip("starlette")
pytest.importorskip("uvicorn")
from page_browser import SOUNDING, Look
from page_desk import BRIEF, SHORT, a_desk, a_sound
from test_page_instance import port, started

from audio.files.decode import Decoder

pytestmark = [pytest.mark.browser, pytest.mark.slow]
__all__ = ["port"]

ASK = """([path, values]) => fetch(path, values === null ? {} : {method: "POST", body: JSON.stringify(values),
headers: {"Content-Type": "application/json"}}).then((answer) => answer.json())"""


class Session:
    """A page that outlives its program."""

    def __init__(self, folder, port, browser):
        self.folder, self.port, self.browser, self.look = folder, port, browser, None

    def ask(self, path, values=None):
        answer = self.look.page.evaluate(ASK, [path, values])
        assert "error" not in answer, answer
        return answer

    def run(self):
        """The program from start to kill; the page opens at the first start and is back at the others."""
        return started(self.folder, self.port, "open", "low-water.md", "--no-browser")

    def enter(self, line):
        if self.look is None:
            self.look = Look(self.browser, line.split()[-1])
        self.look.until("!document.body.classList.contains('lost')")

    def lost(self):
        self.look.until("document.body.classList.contains('lost')")

    def job(self, what):
        """What the work under way says, once `what` holds of it."""
        end = time.monotonic() + 120
        while not (job := self.ask("/pulse")["job"]) or not what(job):
            assert time.monotonic() < end, job
            time.sleep(0.02)
        return job


@pytest.fixture
def session(browsers, tmp_path, port):
    a_desk(tmp_path, tracks=14, sounds=True, paired=False, text=SHORT, lengths_s=BRIEF)
    (tmp_path / "more").mkdir()
    for n in range(4):
        a_sound(tmp_path / "more" / f"{n}.wav", 25.0, rate=44_100, pitch=180 + 40 * n)
    session = Session(tmp_path, port, browsers(SOUNDING))
    yield session
    if session.look:
        session.look.context.close()


def test_killed_while_typing_while_listening_and_while_writing_a_mix(session):
    folder = session.folder
    with session.run() as (_, line):
        session.enter(line)
        session.look.view("plan")
        session.look.page.locator("#plan-text").press("Control+End")
        session.look.page.keyboard.type("- say: ebb tide, 1 minute\n")
    session.lost()
    session.look.page.keyboard.type("- say: spring tide, 1 minute\n")
    with session.run() as (_, line):
        session.enter(line)
        session.look.until("document.getElementById('plan-kept').textContent.startsWith('Kept')")
        kept = (folder / "low-water.md").read_text("utf-8")
        assert kept.endswith("- say: ebb tide, 1 minute\n- say: spring tide, 1 minute\n")
        session.look.still()  # what was asked before the kill and answered after it raises no question
        assert session.look.page.evaluate("document.getElementById('ask')?.hidden !== false")
        session.ask("/do/scan", {"folder": "more"})
        session.job(lambda job: job["done"] >= 1 or job["state"] != "running")
    session.lost()
    with session.run() as (_, line):
        session.enter(line)
        assert session.ask("/state")["library"]["usable"] >= 15  # what was heard before the kill
        session.ask("/do/scan", {"folder": "more"})
        assert session.job(lambda job: job["state"] != "running")["state"] == "done"
        assert session.ask("/state")["library"]["usable"] == 18
        session.ask("/do/pair", {"keep": False})
        session.ask("/do/write", {"kind": "mix", "ending": ".wav", "name": "tide"})
        session.job(lambda job: job["done"] >= 2 or job["state"] != "running")
    session.lost()
    if (folder / "tide.wav").exists():  # it was quicker than the kill
        with Decoder(folder / "tide.wav") as decoder:
            assert decoder.duration_s > 60
    with session.run() as (_, line):
        session.enter(line)
        assert len(session.ask("/state")["set"]["picks"]) > 2
        session.ask("/do/write", {"kind": "mix", "ending": ".wav", "name": "tide", "replace": True})
        assert session.job(lambda job: job["state"] != "running")["state"] == "done"
        assert [path.name for path in folder.glob(".arcbed-*")] == []
        assert (folder / "tide.wav").stat().st_size > 1e7
