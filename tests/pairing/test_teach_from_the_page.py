"""A class taught from the local page: made ready, opened, and its music follows; in a real Chromium."""

import time

import pytest

pytest.importorskip("starlette")
pytest.importorskip("uvicorn")
from page_browser import SOUNDING, Look, served
from page_desk import BRIEF, SHORT, Visitor, fill_library

from pairing.model import PairOptions
from pairing.page.desk import Desk, desk_for
from pairing.workflow import sets


@pytest.fixture(scope="module")
def desk(tmp_path_factory) -> Desk:
    folder = tmp_path_factory.mktemp("teach")
    fill_library(folder / "library.sqlite", folder / "music", 12, lengths_s=BRIEF)
    plan = folder / "short.md"
    # Long enough for several tracks before the rest, so that a press has somewhere to go.
    plan.write_text(SHORT.replace("slot: 4", "slot: 6").replace("90 seconds", "3 minutes"), encoding="utf-8")
    sets.pair_plan(plan, folder / "short.json", folder / "library.sqlite", PairOptions())
    return desk_for(plan, folder / "library.sqlite")


@pytest.mark.browser
def test_a_class_is_taught_from_the_page_and_moves_on_at_a_press(browsers, desk):
    with served(desk) as address, Look(browsers(SOUNDING), address) as look:
        look.view("ready")
        look.page.click("#teach")
        look.said("The class is ready")
        look.until("document.getElementById('teach-open') !== null")
        with look.context.expect_page() as opened:
            look.page.click("#teach-open")
        _teach(opened.value, look)
        assert look.errors == []


def _teach(page, look):
    errors, asked = [], []
    page.on("console", lambda m: errors.append(m.text) if m.type in ("error", "warning") else None)
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.on("response", lambda answer: asked.append((answer.url, answer.status)))
    page.wait_for_load_state()
    page.reload()  # with somebody listening from its first line on

    def until(script):
        look.page, main = page, look.page
        try:
            look.until(script)
        finally:
            look.page = main

    until("document.documentElement.dataset.ready === 'yes'")
    page.click("#b-run")
    until("window.classTaught.player().held() > 0 && window.classTaught.player().r() > 1")
    before = page.inner_text("#c-music").split(";")[0]
    page.click("#b-on")
    until(f"!document.getElementById('c-music').textContent.startsWith({before!r})")
    until("window.classTaught.player().voices() > 0")
    assert page.evaluate("window.classTaught.player().faults.decode") == 0
    pieces = [status for url, status in asked if "/sound/room/" in url]
    assert pieces and set(pieces) == {200}
    assert page.evaluate("getComputedStyle(document.getElementById('b-on')).minHeight") != "0px"
    assert errors == []


def test_pieces_go_by_number_and_what_is_not_there_is_said(desk):
    visitor = Visitor(desk).enter()
    if not desk.rooms:
        visitor.do("teach")
        while desk.jobs.is_busy:
            time.sleep(0.02)
    number = len(desk.rooms) - 1
    assert visitor.get("/state").json()["teach"] == f"/teach/{number}"
    page = visitor.get(f"/teach/{number}")
    assert "<style" not in page.text and "font/woff2" not in page.text
    assert str(desk.folder) not in page.text
    assert visitor.get(f"/sound/room/{number}/0/0").headers["content-type"] == "audio/mpeg"
    for path in (f"{number}/0/9999", f"{number}/999/0", "99/0/0", f"{number}/0/-1", f"{number}/0/..%2f..%2fshort.md"):
        assert visitor.get(f"/sound/room/{path}").status_code == 404
    assert visitor.get("/teach/99").status_code == 404
    stranger = Visitor(desk)
    assert stranger.get(f"/teach/{number}").status_code == stranger.get(f"/sound/room/{number}/0/0").status_code == 403
