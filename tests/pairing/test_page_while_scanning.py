"""What is heard already can be used while the rest of the music is still listened to."""

import threading
import time
from types import SimpleNamespace

import pytest

pytest.importorskip("starlette")
pytest.importorskip("uvicorn")
from invented_music import library
from page_browser import SOUNDING, Look, served
from page_desk import PLAN, Visitor, a_desk, a_sound, fill_library

from audio.files.fingerprint import fingerprint
from audio.files.folders import Found
from audio.library import Library
from pairing.page import actions, listing
from pairing.page.desk import desk_for
from pairing.workflow.music import library_path

STUCK_S = 600.0  # however busy the machine is
FIRST, ALL = 25, 40


@pytest.fixture
def scanning(tmp_path, monkeypatch):
    """A desk without music, and a scan that stores tracks one by one and waits after some until it is let go."""
    (tmp_path / "music").mkdir()
    (tmp_path / "low-water.md").write_text(PLAN, encoding="utf-8")
    halfway, let_go = threading.Event(), threading.Event()

    def slowly(folders, file, *, jobs, progress):
        with Library.open_or_create(library_path(file)) as known:
            for done, track in enumerate(library(ALL)):
                if done == FIRST:
                    halfway.set()
                    assert let_go.wait(STUCK_S)
                sound = tmp_path / "music" / f"{track.id:04d}.wav"
                a_sound(sound, track.analysis.duration_s, pitch=150 + 5 * track.id)
                known.store(Found(sound, 1, 1), fingerprint(sound), track.tags, track.analysis)
                progress(done + 1, ALL, sound.name)
        return SimpleNamespace(new=ALL, changed=0, known=0, missing=0, not_looked_at=0, left_out=())

    monkeypatch.setattr(actions.music, "scan_music", slowly)
    yield desk_for(tmp_path / "low-water.md", tmp_path / "library.sqlite"), halfway, let_go
    let_go.set()


def test_a_class_gets_its_music_before_all_is_heard(scanning):
    desk, halfway, let_go = scanning
    visitor = Visitor(desk).enter()
    visitor.do("scan", folder="music")
    assert halfway.wait(STUCK_S)
    state = visitor.get("/state").json()
    assert (state["library"]["usable"], state["job"]["state"]) == (FIRST, "running")
    before = visitor.do("pair", keep=False).json()["set"]
    assert len(before["picks"]) >= 4
    offer = visitor.get("/alternatives/2").json()["alternatives"][0]
    assert visitor.do("swap", n=2, track=offer["id"]).json()["job"]["state"] == "running"
    let_go.set()
    while desk.jobs.is_busy:
        time.sleep(0.02)
    assert desk.jobs.latest.state == "done", desk.jobs.latest.words
    after = visitor.get("/state").json()
    assert after["library"]["usable"] == ALL
    assert after["set"]["picks"][1]["track"] == offer["id"]


def _choose_a_place(look, rows):
    """Have more of the music shown, and say of one track where in the class it shall play, and no more yet."""
    look.view("music")
    look.page.click("[data-key=more]")
    look.until(f"document.querySelectorAll('.track-row').length === {rows}")
    look.page.locator(".track-row .opens").nth(5).click()
    look.page.locator("select[data-key^=place-]").select_option("3")
    look.page.locator("select[data-key^=place-]").focus()


@pytest.mark.browser
def test_the_page_offers_to_choose_music_while_more_is_listened_to(browsers, scanning, monkeypatch):
    monkeypatch.setattr(listing, "AT_ONCE", 10)
    desk, halfway, let_go = scanning
    with served(desk) as address, Look(browsers(SOUNDING), address) as look:
        Visitor(desk).enter().do("scan", folder="music")
        assert halfway.wait(STUCK_S)
        look.until(f"!document.getElementById('job').hidden && {FIRST} > 0")
        look.view("class")
        look.until("document.getElementById('pair') !== null")
        look.page.click("#pair")
        look.until("document.querySelectorAll('.pick').length > 3")
        assert desk.jobs.is_busy
        _choose_a_place(look, rows=20)
        let_go.set()
        look.until(f"document.getElementById('count').textContent.startsWith('{ALL} tracks')")
        assert look.page.locator(".track-row").count() == 20
        place = look.page.locator("select[data-key^=place-]")
        assert (place.input_value(), place.evaluate("e => e === document.activeElement")) == ("3", True)
        look.until("document.getElementById('job').hidden")
        assert look.errors == []


@pytest.mark.browser
def test_more_of_a_list_that_is_another_by_now_is_the_list_as_it_is(browsers, tmp_path, monkeypatch):
    monkeypatch.setattr(listing, "AT_ONCE", 10)
    desk = a_desk(tmp_path, tracks=14, paired=False)
    visitor = Visitor(desk).enter()
    with served(desk) as address, Look(browsers(SOUNDING), address) as look:
        look.page.route("**/pulse*", lambda route: None)  # the page doesn't hear of what is new
        look.view("music")
        look.until("document.querySelectorAll('.track-row').length === 10")
        first = {row["title"] for row in visitor.get("/music?section=0").json()["tracks"]}
        fill_library(tmp_path / "library.sqlite", tmp_path / "music", 40, sounds=False)
        now = [row["title"] for row in visitor.get("/music?section=0&rows=20").json()["tracks"]]
        assert first & set(now[10:]), "the rows that follow are all new, and show nothing"
        look.page.click("[data-key=more]")
        look.until("document.querySelectorAll('.track-row').length === 20")
        assert look.page.locator(".track-row b").all_inner_texts() == now
        assert look.errors == []
