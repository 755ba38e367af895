"""The page in a real Chromium: no request, no error, a clock that keeps time, keys, paper, accessibility."""

import math
import re
import wave
from dataclasses import replace

import numpy as np
import pytest
from page_file import Visit
from show_class import (
    FINDINGS,
    HOSTILE,
    a_class,
    a_set,
    an_arc,
    hostile_set,
    hostile_timetable,
    tracks_of,
)

from pairing.model import Plan, Where
from pairing.show.sheet import sheet_html

pytestmark = pytest.mark.browser

SCHEMES = ("light", "dark")
IN_STEP_S = 0.3
CAUTION = (
    "Load or long stretch of shoulders, hips, hamstrings or ankles: Child's Pose, Downward-Facing Dog, Sun Salutation "
    "A, Sun Salutation B and 16 more. Offer props and a smaller range; nobody is pushed further."
)
FIRST_PAINT_S = 0.5
EVENING = "2026-03-03T18:00:00"
TICK_S = 0.3  # after so long the clock has shown what there is, see TICK_MS of clock.js


@pytest.fixture(scope="module")
def browser(browsers):
    return browsers()


@pytest.fixture(scope="module")
def folder(tmp_path_factory, setlist, timetable, arc):
    """Pages of an hour, of 90 minutes, of hostile text, and of an hour with its mix beside it."""
    place = tmp_path_factory.mktemp("pages")
    plan = Plan("Harbour", ())

    def write(name, html):
        (place / name).write_text(html, encoding="utf-8")

    write("hour.html", sheet_html(setlist, timetable, arc, findings=FINDINGS, plan=plan, tracks=tracks_of(setlist)))
    mix = sheet_html(setlist, timetable, arc, findings=FINDINGS, plan=plan, audio="mix.wav")
    write("mix.html", mix.replace('"fade_s":8.0', '"fade_s":3.0'))  # tests need not wait as long as a class
    long = a_class(90, rest_minutes=9)
    long_set = a_set(long, an_arc(long), tracks=18)
    write("long.html", sheet_html(long_set, long, an_arc(long), findings=FINDINGS, tracks=tracks_of(long_set)))
    bad = hostile_set(timetable, arc)
    write(
        "hostile.html",
        sheet_html(
            bad,
            hostile_timetable(timetable),
            arc,
            findings=bad.findings,
            cautions=HOSTILE,
            plan=replace(plan, facts=tuple((text, text) for text in HOSTILE)),
            tracks=tracks_of(bad),
        ),
    )
    crowded = a_set(timetable, arc, tracks=20)
    crowded = replace(crowded, picks=tuple(replace(p, title=f"{p.title} {p.n}") for p in crowded.picks))
    many = [replace(FINDINGS[0], code=f"c{n}", where=Where(tracks=(n,))) for n in range(10)]
    write(
        "crowded.html",
        sheet_html(
            crowded, timetable, arc, findings=many, cautions=(CAUTION,) * 9, plan=plan, tracks=tracks_of(crowded)
        ),
    )
    a_mix(place / "mix.wav", timetable.duration_s)
    return place


def a_mix(path, seconds, rate=3000):
    """An hour of a soft tone, 8 bits mono, small on disk."""
    tone = (128 + 20 * np.sin(2 * math.pi * 220 * np.arange(rate) / rate)).astype(np.uint8).tobytes()
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 1, rate, 0, "NONE", ""))
        file.writeframes(tone * int(seconds))


@pytest.fixture
def clock(browser, folder):
    with Visit(browser, folder / "hour.html", view="clock", when=EVENING) as visit:
        yield visit
        assert visit.errors == []


@pytest.fixture
def with_mix(browser, folder):
    with Visit(browser, folder / "mix.html", view="clock") as visit:
        yield visit
        assert visit.errors == []


# ---- the file ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["hour", "long", "hostile"])
def test_it_opens_without_network_without_a_request_and_without_an_error(browser, folder, name):
    for view in ("sheet", "clock"):
        with Visit(browser, folder / f"{name}.html", view=view) as visit:
            visit.wait_until("Number(document.getElementById('class-clock').dataset.at) === 0")
            assert visit.errors == []
            asked = [url for url in visit.requests if not url.startswith("data:")]
            assert [url.split("#")[0] for url in asked] == [(folder / f"{name}.html").as_uri()]


def test_no_hostile_text_runs(browser, folder):
    with Visit(browser, folder / "hostile.html", view="clock", when=EVENING) as visit:
        for _ in range(len(HOSTILE)):
            visit.page.keyboard.press("ArrowDown")
        visit.page.keyboard.press("Space")
        visit.passes(60)
        assert visit.page.evaluate("typeof window.ran") == "undefined"
        assert visit.page.evaluate("document.images.length") == 0
        assert visit.page.locator("#c-pose").inner_text()
        assert visit.errors == []


def test_the_policy_stops_a_script_that_got_in_all_the_same(browser, folder):
    with Visit(browser, folder / "hour.html") as visit:
        with visit.page.expect_console_message(lambda message: "example.invalid" in message.text):
            visit.page.evaluate(
                "() => { const s = document.createElement('script'); s.textContent = 'window.ran = 1';"
                " document.body.append(s); const i = document.createElement('img');"
                " i.src = 'https://example.invalid/x.png'; document.body.append(i); }"
            )
        assert visit.page.evaluate("typeof window.ran") == "undefined"
        assert all(reason == "csp" for reason in visit.failed)
        assert len(visit.failed) == len([url for url in visit.requests if url.startswith("http")])
        assert any("Content Security Policy" in error for error in visit.errors)


def test_the_first_paint_of_90_minutes_is_quick(browser, folder):
    times = []
    for _ in range(3):
        with Visit(browser, folder / "long.html") as visit:
            visit.wait_until("performance.getEntriesByName('first-contentful-paint').length > 0")
            times.append(
                visit.page.evaluate("performance.getEntriesByName('first-contentful-paint')[0].startTime") / 1000
            )
    assert min(times) < FIRST_PAINT_S


# ---- the clock ---------------------------------------------------------------------------------------------------


def test_it_runs_pauses_and_jumps(clock):
    clock.page.click("#b-run")
    clock.wait_until("Number(document.getElementById('class-clock').dataset.at) > 1")
    clock.page.click("#b-run")
    clock.passes(TICK_S)
    stopped = clock.at()
    clock.passes(30)
    assert clock.at() == stopped
    clock.page.click("#b-forth")
    assert clock.at() == pytest.approx(stopped + 60, abs=0.02)
    clock.page.click("#b-back")
    assert clock.at() == pytest.approx(stopped, abs=0.02)


def test_it_keeps_the_time_of_the_wall(clock):
    clock.page.click("#b-run")
    first, start = clock.page.evaluate(BOTH)
    clock.passes(120)
    second, end = clock.page.evaluate(BOTH)
    assert second - first == pytest.approx(end - start, abs=0.05)


BOTH = """() => new Promise(done => new MutationObserver((_, o) => { o.disconnect();
  done([Number(document.getElementById('class-clock').dataset.at), Date.now() / 1000]); })
  .observe(document.getElementById('class-clock'), {attributes: true, attributeFilter: ['data-at']}))"""


def test_a_section_shows_where_the_class_is(clock, timetable):
    clock.page.click("#c-go summary")
    clock.page.click("#c-sections button:nth-child(4)")
    tide = timetable.sections[3]
    assert clock.at() == pytest.approx(tide.start_s, abs=0.3)
    assert clock.page.inner_text("#c-section") == "Tide"
    assert clock.page.inner_text("#c-pass") == "round 1 of 3, right side"
    assert clock.page.inner_text("#c-pose") == "Three-legged dog"
    assert clock.page.inner_text("#c-breaths") == "1 breath to go"
    assert clock.page.inner_text("#c-next") == "Next: Knee to nose"
    assert clock.page.inner_text("#c-music").startswith("Track 5, Every tide a drum: ")
    clock.page.click("#b-undo")
    assert clock.at() == pytest.approx(0, abs=0.3)


def test_it_survives_a_reload(clock, timetable):
    clock.page.click("#b-run")
    for _ in range(22):
        clock.page.keyboard.press("ArrowRight")
    clock.page.keyboard.press("ArrowUp")
    clock.passes(TICK_S)
    before, late = clock.at(), clock.page.inner_text("#c-pose")
    clock.page.reload()
    clock.passes(TICK_S)
    assert clock.page.inner_text("#b-run") == "Pause"
    assert before < clock.at() < before + 5
    assert clock.page.inner_text("#c-pose") == late


def test_a_paused_class_stays_where_it_was_over_a_reload(clock):
    clock.page.keyboard.press("ArrowRight")
    clock.page.reload()
    clock.passes(TICK_S)
    assert clock.at() == 60
    assert clock.page.inner_text("#b-run") == "Go on"


def test_a_class_that_hangs_behind_the_music_is_late_while_the_music_goes_on(clock):
    for _ in range(22):
        clock.page.keyboard.press("ArrowRight")
    clock.page.click("#b-run")
    music, pose = clock.page.inner_text("#c-music"), clock.page.inner_text("#c-pose")
    clock.page.click("#b-still")
    clock.passes(TICK_S)
    assert clock.page.inner_text("#c-pose") != pose
    assert clock.page.inner_text("#c-music").split(":")[0] == music.split(":")[0]
    assert re.match(r"0:\d\d late", clock.page.inner_text("#c-late"))
    clock.page.click("#b-already")
    clock.passes(TICK_S)
    assert clock.page.inner_text("#c-pose") == pose
    assert clock.page.inner_text("#c-late") == "On time"


def test_late_by_a_minute_it_names_the_option_and_lets_it_go(clock, timetable):
    for _ in range(21):
        clock.page.keyboard.press("ArrowRight")
    clock.page.click("#b-run")  # planned from here, so on time
    clock.passes(TICK_S)
    assert clock.page.inner_text("#c-late") == "On time"
    clock.page.click("#b-back")
    clock.passes(TICK_S)
    words = clock.page.inner_text("#c-late")
    assert words.startswith("1:00 late; would end at ")
    assert "Leave out Vinyasa in Tide, saves 1:33" in words
    clock.page.click("#c-late button")
    clock.passes(TICK_S)
    assert "1:33 of it will be left out." in clock.page.inner_text("#c-late")
    vinyasa = next(s for s in timetable.steps if s.name == "Vinyasa")
    while clock.at() < vinyasa.start_s:
        clock.page.click("#b-forth")
    clock.passes(30)
    assert clock.page.inner_text("#c-pose") != "Vinyasa"


def test_very_late_a_phone_still_shows_what_to_leave_out_and_the_way_to_the_rest(browser, folder):
    with Visit(browser, folder / "hour.html", width=390, height=844, view="clock", when=EVENING) as visit:
        for _ in range(24):
            visit.page.keyboard.press("ArrowRight")
        visit.page.click("#b-run")
        for _ in range(4):
            visit.page.keyboard.press("ArrowLeft")
        visit.passes(TICK_S)
        assert "Do one round fewer of Tide, saves 4:09" in visit.page.inner_text("#c-late")
        bottom = visit.page.evaluate("document.getElementById('b-rest').getBoundingClientRect().bottom")
        assert bottom <= 844


def test_to_the_rest_now_keeps_the_minutes_of_the_rest(clock, timetable):
    clock.page.click("#b-run")
    clock.page.keyboard.press("r")
    clock.passes(TICK_S)
    rest = timetable.sections[-1]
    assert clock.at() == pytest.approx(rest.start_s, abs=0.6)
    assert clock.page.inner_text("#c-section") == "Float"
    left = clock.page.inner_text("#c-left")
    assert left in ("7:00 to go", "6:59 to go")
    assert clock.page.evaluate("document.documentElement.classList.contains('night')")
    assert clock.page.is_disabled("#b-rest")
    clock.page.keyboard.press("z")
    clock.passes(TICK_S)
    assert clock.at() < 5
    assert not clock.page.evaluate("document.documentElement.classList.contains('night')")


def test_starting_over_asks_first(clock):
    clock.page.click("#c-help summary")
    clock.page.keyboard.press("Escape")
    clock.page.click("#b-forth")
    clock.page.click("#b-over")
    assert clock.at() == 60
    assert clock.page.inner_text("#b-over").startswith("Really?")
    clock.page.click("#b-over")
    assert clock.at() == 0


def test_what_cannot_be_made_up_for_is_said(clock):
    clock.page.click("#c-go summary")
    clock.page.click("#c-sections button:nth-child(6)")
    clock.page.click("#b-run")
    for _ in range(6):
        clock.page.keyboard.press("ArrowLeft")
    clock.passes(TICK_S)
    words = clock.page.inner_text("#c-late")
    assert words.startswith("6:00 late")
    saved = sum(60 * int(m) + int(s) for m, s in re.findall(r"saves (\d+):(\d\d)", words))
    minutes, seconds = re.search(
        r"That leaves (\d+):(\d\d): go to the rest in time rather than shorten it.", words
    ).groups()
    assert saved + 60 * int(minutes) + int(seconds) == pytest.approx(360, abs=8)  # said in quarters of a minute


def test_a_button_keeps_its_focus_while_the_class_grows_later(clock):
    for _ in range(21):
        clock.page.keyboard.press("ArrowRight")
    clock.page.click("#b-run")
    clock.page.click("#b-back")
    clock.page.click("#b-run")  # paused, it grows later by the second
    clock.passes(TICK_S)
    clock.page.focus("#c-drops button")
    first = clock.page.inner_text("#c-late-by")
    clock.wait_until(f"document.getElementById('c-late-by').textContent !== '{first}'")
    assert clock.page.evaluate("document.activeElement.textContent") == "Do that"
    clock.page.keyboard.press("Enter")
    clock.passes(TICK_S)
    assert "of it will be left out." in clock.page.inner_text("#c-late")


# A screen's wake lock as the page sees it (W3C Screen Wake Lock API, sections 6 and 7), with what is held counted; the
# browser answers when the test calls answer().
AWAKE = """window.held = window.asked = 0;
Object.defineProperty(navigator, 'wakeLock', {value: {request: async () => { window.asked += 1;
  await new Promise(done => { window.answer = done; }); window.held += 1;
  return {addEventListener() {}, release: async () => { window.held -= 1; }}; }}})"""


def test_the_screen_stays_awake_while_the_clock_runs_and_only_then(browser, folder):
    with Visit(browser, folder / "hour.html", view="clock", script=AWAKE) as visit:
        page = visit.page
        page.click("#b-run")
        page.evaluate("window.answer()")
        page.wait_for_function("window.held === 1")
        page.click("#b-run")
        page.wait_for_function("window.held === 0")
        for _ in range(4):  # started and paused, twice, before the browser has answered
            page.click("#b-run")
        page.evaluate(
            "() => { window.answer(); return new Promise((done) => setTimeout(done)); }"
        )  # all that awaits it
        assert page.evaluate("[window.held, window.asked]") == [0, 2]
        assert visit.errors == []


def test_time_given_to_what_is_left_out_brings_the_class_back_on_time(clock, timetable):
    """A class one and a half minutes late that leaves the vinyasa out is on time after its three rounds."""
    tide = timetable.sections[3]
    clock.page.click("#c-go summary")
    clock.page.click("#c-sections button:nth-child(4)")
    clock.page.click("#b-run")
    clock.page.click("#b-back")
    clock.passes(TICK_S)
    assert clock.page.inner_text("#c-late").startswith("1:00 late")
    clock.page.click("#c-late button")
    clock.passes(TICK_S)
    for _ in range(int((tide.end_s - tide.start_s) / 60) + 1):
        clock.page.click("#b-forth")
        clock.passes(TICK_S)
    words = clock.page.inner_text("#c-late")
    assert "late" not in words, words


# ---- with the mix ------------------------------------------------------------------------------------------------

DRIFT = """() => new Promise(done => new MutationObserver((_, o) => { o.disconnect();
  const a = document.getElementById('mix');
  done([Number(document.getElementById('class-clock').dataset.at), a.currentTime, a.paused]); })
  .observe(document.getElementById('class-clock'), {attributes: true, attributeFilter: ['data-at']}))"""


def in_step(visit, playing=True):
    at, heard, paused = visit.page.evaluate(DRIFT)
    assert paused is not playing
    assert abs(at - heard) < IN_STEP_S
    return at


def playing(visit):
    visit.wait_until("(a => !a.paused && a.readyState > 2 && !a.seeking)(document.getElementById('mix'))")


def plays_on(visit):
    """Wait until it has sounded for some ticks of the clock."""
    playing(visit)
    begun = visit.page.evaluate("document.getElementById('mix').currentTime")
    visit.wait_until(f"document.getElementById('mix').currentTime > {begun + 2 * TICK_S}")


def test_the_mix_plays_in_step_through_pause_minutes_and_sections(with_mix, timetable):
    page = with_mix.page
    page.click("#b-run")
    plays_on(with_mix)
    in_step(with_mix)
    page.keyboard.press("ArrowRight")
    playing(with_mix)
    assert in_step(with_mix) > 60
    page.click("#c-go summary")
    page.click("#c-sections button:nth-child(5)")
    plays_on(with_mix)
    assert in_step(with_mix) == pytest.approx(timetable.sections[4].start_s, abs=3)
    page.click("#b-run")
    with_mix.wait_until("document.getElementById('mix').paused")
    before = page.evaluate("document.getElementById('mix').currentTime")
    page.wait_for_timeout(2 * 1000 * TICK_S)
    assert page.evaluate("document.getElementById('mix').currentTime") == before
    assert abs(with_mix.at() - before) < IN_STEP_S


def test_pausing_the_music_by_a_key_of_the_machine_pauses_the_clock(with_mix):
    with_mix.page.click("#b-run")
    playing(with_mix)
    with_mix.page.evaluate("document.getElementById('mix').pause()")
    with_mix.wait_until("document.getElementById('b-run').textContent === 'Go on'")


def test_after_a_reload_the_music_waits_for_a_touch_and_comes_back_in_step(with_mix):
    page = with_mix.page
    page.click("#b-run")
    playing(with_mix)
    page.keyboard.press("ArrowRight")
    playing(with_mix)
    page.reload()
    with_mix.wait_until("Number(document.getElementById('class-clock').dataset.at) > 60")
    page.click("#c-section")
    plays_on(with_mix)
    in_step(with_mix)


def test_to_the_rest_the_music_sinks_then_rises(with_mix, timetable):
    page = with_mix.page
    page.click("#b-run")
    playing(with_mix)
    page.click("#b-rest")
    with_mix.wait_until("document.getElementById('mix').volume < 0.75")
    assert page.evaluate("document.getElementById('mix').volume") > 0.1
    assert page.inner_text("#b-rest") == "The music fades …"
    with_mix.wait_until(
        f"Number(document.getElementById('class-clock').dataset.at) > {timetable.sections[-1].start_s - 1}"
    )
    playing(with_mix)
    in_step(with_mix)
    with_mix.wait_until("document.getElementById('mix').volume === 1")


def test_a_mix_that_is_missing_is_said_and_the_clock_runs(browser, folder, tmp_path):
    page_file = tmp_path / "mix.html"
    page_file.write_bytes((folder / "mix.html").read_bytes())
    with Visit(browser, page_file, view="clock") as visit:
        visit.wait_until("document.getElementById('c-say').textContent.startsWith('The mix does not lie')")
        visit.page.click("#b-run")
        visit.wait_until("Number(document.getElementById('class-clock').dataset.at) > 0.5")


# ---- keys and people ---------------------------------------------------------------------------------------------


def test_every_control_is_reached_by_tab_and_shows_its_focus(clock):
    page = clock.page
    for summary in ("#c-go summary", "#c-help summary"):
        page.click(summary)
    page.keyboard.press("ArrowRight")
    wanted = page.evaluate(
        "[...document.querySelectorAll('a, button, summary')].filter(e => e.offsetParent && !e.disabled).length"
    )
    page.evaluate("document.activeElement.blur()")
    reached = set()
    for _ in range(wanted + 3):
        page.keyboard.press("Tab")
        found = page.evaluate(
            """() => { const e = document.activeElement; if (e === document.body) return null;
            const s = getComputedStyle(e); return [[...document.querySelectorAll('a, button, summary')].indexOf(e),
            s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2]; }"""
        )
        if found:
            assert found[1], "focus must be seen"
            reached.add(found[0])
    assert len(reached) == wanted


def test_keys_do_what_the_help_says(clock, timetable):
    page = clock.page
    page.keyboard.press("PageDown")
    assert clock.at() == pytest.approx(timetable.sections[1].start_s, abs=0.1)
    page.keyboard.press("PageUp")
    assert clock.at() == 0
    first = page.inner_text("#c-pose")
    page.keyboard.press("ArrowDown")
    assert page.inner_text("#c-pose") != first
    page.keyboard.press("ArrowUp")
    assert page.inner_text("#c-pose") == first
    page.keyboard.press("Space")
    assert page.inner_text("#b-run") == "Pause"


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("view", ["sheet", "clock"])
def test_axe_finds_nothing_serious(browser, folder, scheme, view):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe is not installed").Axe()
    name, width = ("hour", 390) if scheme == "light" else ("hostile", 820)
    with Visit(browser, folder / f"{name}.html", scheme=scheme, view=view, width=width) as visit:
        if view == "clock":
            visit.page.click("#c-go summary")
            visit.page.click("#c-sections button:last-child")  # the rest has colours of its own
            visit.comes_to_rest()
        found = axe.run(visit.page).response["violations"]
        assert [v for v in found if v["impact"] in ("serious", "critical")] == []


@pytest.mark.parametrize(("name", "width"), [("hour", 390), ("hostile", 390), ("hostile", 820), ("hostile", 1440)])
def test_nothing_is_wider_than_the_screen(browser, folder, width, name):
    for view in ("sheet", "clock"):
        with Visit(browser, folder / f"{name}.html", width=width, view=view) as visit:
            assert visit.page.evaluate("document.documentElement.scrollWidth") <= width


def test_buttons_are_large_enough_for_a_thumb(browser, folder):
    with Visit(browser, folder / "hour.html", width=390, height=844, view="clock") as visit:
        sizes = visit.page.evaluate(
            """[...document.querySelectorAll('.clock button, .clock summary')].filter(e => e.offsetParent)
            .map(e => [e.getBoundingClientRect().width, e.getBoundingClientRect().height])"""
        )
        assert min(min(size) for size in sizes) >= 44  # WCAG 2.2, success criterion 2.5.5 (target size, enhanced)
        bottom = visit.page.evaluate("document.getElementById('b-rest').getBoundingClientRect().bottom")
        assert bottom <= 844  # all that is needed in class lies on a phone's first screen


# ---- paper -------------------------------------------------------------------------------------------------------


def pages_of(browser, file, out, paper, **more):
    """The texts of the pages that a sheet takes on paper."""
    pypdf = pytest.importorskip("pypdf")
    with Visit(browser, file, **more) as visit:
        visit.page.pdf(path=out, format=paper)
    return [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(out).pages]


@pytest.mark.parametrize(("paper", "scheme"), [("A4", "dark"), ("Letter", "light")])
def test_on_paper_an_hour_takes_three_pages_with_every_track_once(browser, folder, setlist, timetable, paper, scheme):
    pages = pages_of(browser, folder / "hour.html", folder / f"{paper}.pdf", paper, scheme=scheme, view="clock")
    assert len(pages) <= 3  # also from the clock
    text = " ".join(pages)
    for pick in setlist.picks:
        assert text.count(f"{pick.n}. {pick.title} by {pick.artist}") == 1, pick.title
    for step in timetable.steps:
        assert step.name in text
    for index, section in enumerate(timetable.sections):  # no heading stands alone at the foot of a page
        heading = f"{clock_of(section.start_s)} {section.name}"
        first = next(step.name for step in timetable.steps if step.section == index)
        begun = next(page for page in pages if heading in page)
        assert first in begun.split(heading, 1)[1]
    assert text.count("not medical advice") == 1
    assert "Class clock" not in text


def clock_of(seconds):
    whole = int(seconds + 0.5)
    return f"{whole // 60}:{whole % 60:02d}"


def test_an_hour_of_20_tracks_with_much_to_say_takes_five_pages(browser, folder):
    pages = pages_of(browser, folder / "crowded.html", folder / "crowded.pdf", "A4")
    assert len(pages) <= 5
    text = " ".join(pages)
    assert {n for n in range(1, 21) if re.search(rf"\b{n}\. [A-Z][^.]* {n} by ", text)} == set(range(1, 21))
    assert "Playing music to a class is a public performance" in text  # the last of the cautions


# Capitals of 10 minutes of arc, twice the letters of the smallest line that normal sight (6/6) reads: 2000 mm x
# tan(10/60 degrees) at two metres. How far a mat lies: common practice, no source.
READ_FROM_MM, LEAST_ARC_DEG = 2000.0, 10 / 60
CAPITALS = """() => [...document.querySelectorAll('.now, .head h2, .head .at')]
  .filter(e => !e.closest('.around')).map(e => { const style = getComputedStyle(e),
  pen = document.createElement('canvas').getContext('2d');
  pen.font = style.fontWeight + ' ' + style.fontSize + ' ' + style.fontFamily;
  return pen.measureText('H').actualBoundingBoxAscent; })"""


def test_on_paper_what_to_do_is_read_from_a_mat(browser, folder):
    with Visit(browser, folder / "hour.html") as visit:
        visit.page.emulate_media(media="print")
        visit.page.evaluate("document.fonts.ready")
        heights = [px * 25.4 / 96 for px in visit.page.evaluate(CAPITALS)]  # CSS Values 4: 1 in is 96 px
    assert len(heights) > 30
    assert min(heights) >= 6.0 >= READ_FROM_MM * math.tan(math.radians(LEAST_ARC_DEG))


def test_a_page_of_90_minutes_is_small(folder):
    assert (folder / "long.html").stat().st_size < 400_000
