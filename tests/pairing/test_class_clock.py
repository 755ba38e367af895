"""The class clock over hours and days: a real Chromium whose clock is set by the test, asleep where nothing is run.

`fast_forward` is a page that slept: its timers fire once, late, as a laptop's do when the lid is opened.
"""

import datetime
import re

import pytest
from page_file import Visit
from show_class import FINDINGS, a_set, an_arc

from pairing.model import Plan
from pairing.show.sheet import sheet_html

pytestmark = pytest.mark.browser

EVENING = datetime.datetime(2026, 3, 3, 18, 0)
HOUR_MS = 3_600_000


@pytest.fixture(scope="module")
def browser(browsers):
    return browsers()


@pytest.fixture(scope="module")
def page_file(tmp_path_factory, timetable):
    arc = an_arc(timetable)
    path = tmp_path_factory.mktemp("clock") / "class.html"
    plan = Plan("Harbour", (), start="18:00")
    path.write_text(sheet_html(a_set(timetable, arc), timetable, arc, findings=FINDINGS, plan=plan), encoding="utf-8")
    return path


class Room(Visit):
    """The clock beside the mat at six in the evening."""

    def __init__(self, browser, path):
        super().__init__(browser, path, view="clock", when=EVENING)

    def minutes(self, count):
        self.page.clock.run_for(count * 60_000)

    def sleeps(self, minutes):
        self.page.clock.fast_forward(int(minutes * 60_000))
        self.page.clock.run_for(400)

    def says(self, element="c-late"):
        return self.page.inner_text(f"#{element}")


@pytest.fixture
def room(browser, page_file):
    with Room(browser, page_file) as visit:
        yield visit
        assert visit.errors == []


def starts(room):
    room.page.click("#b-run")
    room.page.clock.run_for(400)


# ---- the four ways in which the clock failed in its second hour --------------------------------------------------


def test_lateness_ends_with_the_class(room):
    starts(room)
    room.page.click("#b-back")  # nothing to go back to at the start
    room.sleeps(10)
    for _ in range(3):
        room.page.click("#b-back")
    room.sleeps(53.5)
    room.page.clock.run_for(400)
    assert room.says() == "Ended 3:00 late, at 19:03"
    room.sleeps(11)
    assert room.says() == "Ended 3:00 late, at 19:03"
    assert room.says("c-pose") == "The class is over"


def test_again_begins_anew(room):
    starts(room)
    room.sleeps(66)
    assert room.says("b-run") == "Again"
    starts(room)
    assert room.says() == "On time"
    assert room.at() < 2


def test_a_rehearsal_an_hour_ago_makes_nothing_late(room):
    room.page.click("#b-rehearse")
    starts(room)
    assert room.says() == "Rehearsing: nothing is counted"
    room.page.click("#b-speed")
    room.page.click("#b-speed")
    assert room.says("b-speed") == "4 times as quick"
    before = room.at()
    room.minutes(1)
    assert room.at() - before == pytest.approx(240, abs=2)
    room.page.click("#b-run")
    room.sleeps(60)
    room.page.click("#b-rehearse")
    starts(room)
    assert room.says() == "On time"
    assert room.at() < 2


def test_a_rehearsal_leaves_no_trace_over_a_reload(room):
    room.page.click("#b-rehearse")
    starts(room)
    room.minutes(5)
    room.page.reload()
    room.page.clock.run_for(400)
    assert room.says("b-run") == "Start"
    assert room.says() == ""


def test_what_was_to_be_left_out_while_the_page_slept_is_left_out(room, timetable):
    starts(room)
    room.sleeps(21)
    room.page.click("#b-back")
    room.page.clock.run_for(400)
    assert room.says().startswith("1:00 late")
    room.page.click("#c-late button")
    tide = timetable.sections[3]
    room.sleeps((tide.end_s - room.at()) / 60 + 0.5)
    words = room.says()
    assert "late" not in words, words
    assert room.says("c-section") == "Crest"


# ---- and what follows from them ----------------------------------------------------------------------------------


def test_an_old_visit_asks_and_goes_on(room):
    starts(room)
    room.sleeps(31)
    room.page.click("#b-run")
    room.page.clock.run_for(1200)
    room.page.clock.fast_forward(50 * 60_000)
    room.page.reload()
    room.page.clock.run_for(400)
    left = re.match(r"This class was left at (31:0\d)\. Go on there, or begin again\?", room.says()).group(1)
    assert room.says("b-run") == f"Go on at {left}"
    starts(room)
    assert room.at() == pytest.approx(31 * 60, abs=5)
    assert re.match(r"(49|50):\d\d late", room.says())


def test_an_old_visit_asks_and_begins_anew(room):
    starts(room)
    room.sleeps(31)
    room.page.click("#b-run")
    room.page.clock.fast_forward(50 * 60_000)
    room.page.reload()
    room.page.clock.run_for(400)
    room.page.click("#b-anew")
    assert room.says("b-run") == "Start"
    starts(room)
    assert room.at() < 2
    assert room.says().endswith("late; would end at 19:22") or room.says() == "On time"


def test_a_page_left_open_asks_too_and_begins_anew_the_next_day(room):
    starts(room)
    room.sleeps(31)
    room.page.click("#b-run")
    room.sleeps(50)
    assert room.says("b-anew") == "Begin again"
    room.sleeps(24 * 60)
    assert room.says("b-run").startswith("Go on at 31:0")  # what it asked still stands
    room.page.click("#b-run")
    room.page.click("#b-run")
    room.sleeps(24 * 60)
    assert room.says("b-run") == "Start"


def test_a_new_day_begins_anew_without_asking(room):
    starts(room)
    room.sleeps(31)
    room.page.click("#b-run")
    room.page.clock.fast_forward(24 * HOUR_MS)
    room.page.reload()
    room.page.clock.run_for(400)
    assert room.says("b-run") == "Start"
    assert room.at() == 0


def test_a_page_that_slept_through_the_end_says_how_the_class_ended(room):
    starts(room)
    room.sleeps(95)
    assert room.says() == "Ended on time, at 19:00"
    assert room.says("b-run") == "Again"


def test_a_section_after_the_end_counts_from_there(room):
    starts(room)
    room.sleeps(95)
    room.page.click("#c-go summary")
    room.page.click("#c-sections button:nth-child(4)")
    starts(room)
    assert room.says() == "On time"


def test_a_class_half_an_hour_after_its_hour_is_late_by_its_own_hour(browser, page_file):
    """The hours shown come from the hour the class was to start at."""
    with Room(browser, page_file) as room:
        room.page.clock.fast_forward(10 * 60_000)
        starts(room)
        assert room.says().startswith("10:00 late; would end at 19:10")
