"""The page in a real Chromium: the whole way by mouse and by keyboard, widths, colours, accessibility."""

import wave

import numpy as np
import pytest

pytest.importorskip("starlette")
pytest.importorskip("uvicorn")
from page_browser import SOUNDING, Look, served
from page_desk import PLAN, SHORT, Visitor, a_desk

from pairing.page.desk import Desk
from pairing.sets.setfile import read_set

pytestmark = pytest.mark.browser

VIEWS = ("plan", "music", "class", "rest", "ready")


@pytest.fixture(scope="module")
def browser(browsers):
    return browsers(SOUNDING)


@pytest.fixture(scope="module")
def origin(tmp_path_factory):
    folder = tmp_path_factory.mktemp("origin")
    a_desk(folder, tracks=40, sounds=True)
    return folder


@pytest.fixture
def address(origin):
    with served(Desk(origin, origin / "library.sqlite", origin / "low-water.md")) as found:
        yield found


@pytest.fixture
def look(browser, address):
    with Look(browser, address) as found:
        yield found
        assert found.errors == []
        assert found.strangers() == []


@pytest.fixture(scope="module")
def music(tmp_path_factory):
    """Seven pieces of sound: soft chords, and beats on noise; from still to lively."""
    folder = tmp_path_factory.mktemp("music")
    rng = np.random.default_rng(5)
    rate, seconds = 22_050, 45
    at = np.arange(rate * seconds) / rate
    for number in range(7):
        lively = number / 6
        chord = sum(np.sin(2 * np.pi * f * at * (1 + number / 12)) for f in (110, 165, 220)) / 3
        beat = rng.standard_normal(len(at)) * np.exp(-((at * 2) % 1) * 12)
        sound = ((1 - lively) * 0.2 * chord + lively * 0.5 * beat) * np.minimum(1, at / 2)
        with wave.open(str(folder / f"piece {number}.wav"), "wb") as file:
            file.setparams((1, 2, rate, 0, "NONE", ""))
            file.writeframes((np.clip(sound, -1, 1) * 30_000).astype("<i2").tobytes())
    return folder


def test_the_whole_way_by_mouse_from_an_empty_library_to_a_mix(browser, music, tmp_path):
    (tmp_path / "music").symlink_to(music)
    desk = Desk(tmp_path, tmp_path / "library.sqlite")
    with served(desk) as address, Look(browser, address) as look:
        page = look.page
        page.fill("#new-name", "short.md")
        page.click("#new-plan")
        look.until("document.getElementById('plan-text').value.length > 50")
        page.fill("#plan-text", SHORT)
        look.until("document.getElementById('plan-slot').textContent.includes('3:00')")
        look.until("document.getElementById('plan-kept').textContent.includes('just as typed')")
        assert (tmp_path / "short.md").read_text("utf-8") == SHORT
        page.click("#next-go")
        page.click(".look button[data-key$='music']")
        look.until("document.querySelector('.look').textContent.includes('7 pieces of music')")
        page.click("#scan")
        look.said("7 new")
        page.click("button#next-go")  # chooses the music
        look.until("document.querySelectorAll('#sight .pick').length > 1")
        page.locator(".pick[data-n='2'] .touch").click()
        look.until("document.querySelector('.pick.chosen').dataset.n === '2'")
        page.click("#pin")
        look.until("document.getElementById('pin').getAttribute('aria-pressed') === 'true'")
        page.click("#say button >> text=Undo")  # where it was pressed
        look.until("document.getElementById('pin').getAttribute('aria-pressed') === 'false'")
        page.click("#hear-join")
        look.until("document.getElementById('audio').currentTime > 0.2")
        page.click("#hear-join")
        look.until("document.getElementById('audio').paused && document.querySelector('.hear.on') === null")
        page.click("nav >> text=Ready")
        page.select_option("#mix-ending", ".wav")
        page.click("#everything")
        look.said("Wrote ")
        look.until("document.querySelectorAll('#beside li.this').length === 3")
        assert look.errors == []
        assert look.strangers() == []
    assert (tmp_path / "short.wav").stat().st_size > 180 * 44_100 * 4
    assert "Short tide" in (tmp_path / "short.html").read_text("utf-8")


class Keys:
    """A hand that has only a keyboard."""

    def __init__(self, look):
        self.look, self.page = look, look.page

    def to(self, selector, most=140):
        """Tab until the focus is there."""
        for _ in range(most):
            if self.page.evaluate("s => document.activeElement?.matches(s)", selector):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"{selector} can't be reached by keyboard")

    def press(self, *keys):
        for key in keys:
            self.page.keyboard.press(key)


def test_the_whole_way_by_keyboard_alone_from_an_empty_library_to_a_mix(browser, music, tmp_path):
    (tmp_path / "music").symlink_to(music)
    with served(Desk(tmp_path, tmp_path / "library.sqlite")) as address, Look(browser, address) as look:
        keys = Keys(look)
        keys.to("#new-name")
        keys.press("Control+a")
        look.page.keyboard.type("short.md")
        keys.to("#new-plan")
        keys.press("Enter")
        look.until("document.activeElement.id === 'plan-text' && document.activeElement.value.length > 50")
        keys.press("Control+a")
        look.page.keyboard.insert_text(SHORT)
        look.until("document.getElementById('plan-kept').textContent.includes('just as typed')")
        keys.to("#next-go")
        keys.press("Enter")
        look.until("document.querySelector('.look button') !== null")
        keys.to("[data-key^='in-'][data-key$='music']")
        keys.press("Enter")
        look.until("document.querySelector('.look').textContent.includes('7 pieces of music')")
        keys.to("#scan")
        keys.press("Enter")
        look.said("7 new")
        keys.to("#step-class")
        keys.press("Enter")
        keys.to("#pair")
        keys.press("Enter")
        look.until("document.querySelectorAll('#sight .pick').length > 2")
        keys.to(".pick")
        keys.press("ArrowRight")
        look.until("document.activeElement.dataset.n === '2'")
        before = read_set(tmp_path / "short.json").picks[1].track_id
        look.until("document.querySelectorAll('.offer').length > 0")
        keys.to("[data-key^='take-']")
        keys.press("Enter")
        look.said("plays there now")
        assert read_set(tmp_path / "short.json").picks[1].track_id != before
        keys.press("Control+z")
        look.said("Undone")
        assert read_set(tmp_path / "short.json").picks[1].track_id == before
        keys.to(".temper[aria-pressed=false]")
        keys.press("Enter")
        look.said("The plan says so too")
        assert "energy" in (tmp_path / "short.md").read_text("utf-8")
        keys.press("Control+z")
        look.said("Undone")
        assert (tmp_path / "short.md").read_text("utf-8") == SHORT
        keys.press("h")
        look.until("document.getElementById('audio').currentTime > 0.1")
        keys.to("#hear-join")
        keys.press("Enter")  # stops it
        look.until("document.getElementById('audio').paused")
        keys.to("#minute")
        keys.press("Control+a", "1", "Enter")
        look.until("document.getElementById('audio').currentTime > 60")
        keys.press("Tab", "Enter", "4")
        look.until("document.activeElement.id === 'view-rest' && Boolean(document.getElementById('rest-minutes'))")
        keys.to("#rest-minutes")
        keys.press("Control+a")
        look.page.keyboard.type("0:50")
        keys.to("#rest-go")
        keys.press("Enter")
        look.said("The rest is as you wish")
        rest = read_set(tmp_path / "short.json").rest
        assert rest.end_s - rest.start_s == pytest.approx(50)
        keys.press("5")
        keys.to("#mix-ending")
        look.page.select_option("#mix-ending", ".wav")
        keys.to("#everything")
        keys.press("Enter")
        look.said("Wrote ")
        assert look.errors == []
        assert look.strangers() == []
    assert (tmp_path / "short.wav").exists()


def test_what_is_typed_stays_while_something_else_changes(browser, tmp_path):
    desk = a_desk(tmp_path, tracks=12)
    with served(desk) as address, Look(browser, address) as look:
        look.view("rest")
        look.until("document.getElementById('rest-minutes') !== null")
        look.page.fill("#rest-minutes", "4:30")
        with look.page.expect_response("**/rest?*"):  # asked for anew
            Visitor(desk).enter().do("pin", n=1, pinned=True)
        look.still()
        assert look.page.input_value("#rest-minutes") == "4:30"
        assert look.page.evaluate("document.activeElement.id") == "rest-minutes"
        look.page.press("#rest-minutes", "Enter")
        look.said("The rest is as you wish")
        assert look.page.input_value("#rest-minutes") == "4:30"
        look.view("ready")
        look.page.click("[data-key=how]")
        look.page.fill("#stem", "low tide")
        look.page.press("#stem", "ArrowLeft")
        with look.page.expect_response("**/state?*"):
            Visitor(desk).enter().do("pin", n=1, pinned=False)
        look.still()
        look.page.keyboard.type("-")
        assert look.page.input_value("#stem") == "low tid-e"
        assert look.errors == []


def test_single_keys_can_be_turned_off(look):
    """WCAG 2.1, success criterion 2.1.4."""
    look.view("music")
    look.page.click("footer summary")
    look.page.uncheck("#keys-on")
    look.page.keyboard.press("Escape")
    look.page.evaluate("document.activeElement.blur()")
    look.page.keyboard.press("3")
    assert look.page.evaluate("location.hash") == "#music"
    look.page.check("#keys-on")
    look.page.evaluate("document.activeElement.blur()")
    look.page.keyboard.press("3")
    look.until("location.hash === '#class'")


def test_what_strangers_wrote_stays_text(browser, tmp_path):
    """Titles, artists, names of files and folders, and the plan's own words."""
    hostile = '<img src=x onerror="window.ran=1"><script>window.ran=1</script>'
    desk = a_desk(tmp_path, title=hostile)
    (tmp_path / "<img src=x onerror=ran=1>").mkdir()
    (tmp_path / "song.mp3").touch()  # so that the page takes this folder for the one with the music
    (tmp_path / "low-water.md").write_text(
        PLAN.replace("Low water", hostile).replace("Ebb", "<b onclick=ran=1>Ebb</b>"), encoding="utf-8"
    )
    desk.reload_plan()
    desk.pair(prefer=None, fresh=None, keep=True)
    with served(desk) as address, Look(browser, address) as look:
        for view in VIEWS:
            look.view(view)
            look.still()
        look.view("music")
        look.page.click("#folders summary")
        look.until("document.querySelector('.look').textContent.includes('<img')")
        look.page.fill("#words", "onerror")
        look.until("document.querySelectorAll('#tracks li').length === 1")
        assert look.page.evaluate(
            "window.ran === undefined && document.querySelectorAll('img, main script, b[onclick]').length === 0"
        )
        assert "<img" in look.page.inner_text("#tracks")
        assert look.errors == []
        assert look.strangers() == []


def test_a_track_is_put_in_place_by_dragging_it(look, origin):
    look.view("class")
    look.page.locator(".pick[data-n='3'] .touch").click()
    look.until("document.querySelector('.pick.chosen').dataset.n === '3'")
    look.until("document.querySelectorAll('.offer').length > 1")
    wanted = look.page.locator(".offer .name b").nth(1).inner_text()
    look.page.locator(".offer").nth(1).drag_to(look.page.locator(".pick[data-n='3'] .touch"))
    look.said("Taken")
    assert read_set(origin / "low-water.json").picks[2].title == wanted
    look.page.keyboard.press("Control+z")
    look.said("Undone")


def test_a_track_of_the_list_is_dragged_onto_a_place_of_the_class(look, origin):
    look.view("class")
    look.page.locator(".pick[data-n='2'] .touch").click()
    look.view("music")
    look.until("document.querySelectorAll('#tracks li[draggable=true]').length > 3")
    standing = {pick.title for pick in read_set(origin / "low-water.json").picks}
    titles = look.page.locator("#tracks .name b").all_inner_texts()
    index = next(at for at, title in enumerate(titles) if title not in standing)
    look.page.locator("#tracks li").nth(index).drag_to(look.page.locator(".pick[data-n='2'] .touch"))
    look.said("Taken")
    assert read_set(origin / "low-water.json").picks[1].title == titles[index]
    look.page.keyboard.press("Control+z")
    look.said("Undone")


def test_one_press_settles_the_beat_and_another_takes_it_back(look):
    look.view("music")
    look.until("document.querySelectorAll('#tracks [data-key^=open-]').length > 3")
    look.page.click("[data-key=open-1]")
    key = look.page.locator("#tracks [data-key^=mark-beat]").first.get_attribute("data-key")
    pressed = f"document.querySelector('[data-key={key}]')?.getAttribute('aria-pressed')"
    for turn in ("true", "false"):
        look.page.locator(f"[data-key={key}]").click()
        look.until(f"{pressed} === '{turn}'")
    assert "a minute, you say" not in look.page.inner_text("#tracks")


def test_pointing_at_an_alternative_draws_what_it_would_do(look):
    look.view("class")
    look.until("document.querySelectorAll('.offer').length > 0")
    look.page.locator(".offer").first.hover()
    assert look.page.evaluate("document.querySelector('.ghost').getAttribute('d').length") > 100


def test_typing_marks_the_line_that_is_not_understood_and_a_button_mends_it(look, origin):
    look.view("plan")
    text = PLAN.replace("- warrior two, 5 breaths", "- warrior two, 5 breaths each side")
    look.page.fill("#plan-text", text)
    look.until("document.querySelector('.mirror .unsure') !== null")
    assert look.page.inner_text(".mirror .unsure") == "- warrior two, 5 breaths each side"
    look.until("document.querySelector('.echo .unsure .answers button') !== null")
    line, beside = (look.page.locator(each).bounding_box() for each in (".mirror .unsure", ".echo .unsure"))
    assert abs(line["y"] - beside["y"]) < line["height"]
    look.page.click("#correct")
    look.until("document.querySelector('.mirror .unsure') === null")
    assert look.page.input_value("#plan-text") == PLAN
    look.until("document.getElementById('plan-kept').textContent.includes('just as typed')")
    assert (origin / "low-water.md").read_text("utf-8") == PLAN


def test_a_change_outside_is_asked_about(look, origin):
    look.view("class")
    path = origin / "low-water.json"
    content = path.read_bytes()
    path.write_bytes(content.replace(b'"pinned": false', b'"pinned": true', 1))
    look.until("!document.getElementById('ask').hidden")
    look.page.click("#ask >> text=Take it as it is there")
    look.said("Taken as it is")
    assert read_set(path).picks[0].pinned
    look.page.click("#undo")
    look.said("Undone")
    assert path.read_bytes() == content


def test_what_would_be_drawn_anew_while_one_presses_it_is_pressed(look):
    look.view("class")
    look.until("document.getElementById('pin') !== null")
    look.page.clock.install(time=0)
    look.page.clock.pause_at(1)
    look.page.locator("#pin").hover()
    look.page.mouse.down()
    with look.page.expect_response("**/state*"):
        look.page.evaluate("void import('/static/tools.js').then((tools) => tools.refresh())")
    for _ in range(5):  # long enough for whatever draws at once
        look.page.evaluate("fetch('/pulse').then((answer) => answer.json())")
    look.page.mouse.up()
    look.page.clock.resume()
    look.until("document.getElementById('pin').getAttribute('aria-pressed') === 'true'")
    look.page.click("#undo")
    look.said("Undone")


def test_a_press_that_comes_again_meanwhile_is_one_wish_and_each_undo_counts(look):
    look.view("class")
    look.until("document.getElementById('pin') !== null")
    held, sent = [], []

    def let_through(route):
        if "go" in sent:
            route.continue_()
        else:
            held.append(route)

    look.page.route("**/do/*", let_through)
    look.page.on("request", lambda request: sent.append(request.url.split("?")[0].rsplit("/", 1)[-1]))

    def press(*buttons):
        sent.clear()
        for button in buttons:
            look.page.click(button)
        look.wait_for(lambda: held)
        sent.append("go")
        held.pop().continue_()
        look.idle()
        return [name for name in sent if name in ("pin", "undo", "energy")]

    assert press("#pin", "#pin", "#pin") == ["pin"]
    assert press("#pin") == ["pin"]
    assert press("#undo", "#undo") == ["undo", "undo"]
    others = [f"[data-key=temper-{word}]" for word in ("still", "calm", "lively")]
    pressed = look.page.locator("[data-key^=temper-][aria-pressed=true]").get_attribute("data-key")
    others = [each for each in others if pressed not in each][:2]
    assert press("#pin", *others) == ["pin", "energy"]
    assert look.page.locator(others[1]).get_attribute("aria-pressed") == "true"
    assert press("#undo") == press("#undo") == ["undo"]
    assert look.errors == []


def test_a_question_that_nobody_answers_holds_nothing_up(look, origin):
    look.view("ready")
    look.page.click(".single summary")
    look.page.click("#write-picture")
    look.said("The picture is written")
    look.page.click("#write-picture")
    look.until("!document.getElementById('ask').hidden")
    written = (origin / "low-water.png").stat().st_mtime_ns
    look.view("class")
    look.page.click("#pin")
    look.until("document.getElementById('pin').getAttribute('aria-pressed') === 'true'")
    look.idle()
    assert look.page.evaluate("document.getElementById('ask').hidden")
    assert (origin / "low-water.png").stat().st_mtime_ns == written
    look.page.click("#undo")
    look.said("Undone")


def test_nothing_is_cut_off_at_any_width(look):
    for view in VIEWS:
        look.view(view)
        for width in (1440, 1024, 820, 390):
            look.page.set_viewport_size({"width": width, "height": 900})
            look.still()
            assert look.page.evaluate("document.documentElement.scrollWidth") <= width, (view, width)


@pytest.mark.parametrize(("width", "scheme"), [(390, "light"), (1440, "dark")])
def test_no_serious_finding_of_accessibility(browser, address, width, scheme):
    """WCAG 2.x rules as axe-core checks them; level "serious" and "critical". No width has colours of its own."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    with Look(browser, address, width=width, scheme=scheme, motion="reduce") as look:
        for view in VIEWS:
            look.view(view)
            look.still()
            found = axe.run(look.page).response["violations"]
            grave = [
                (each["id"], each["nodes"][0]["html"][:150])
                for each in found
                if each["impact"] in ("serious", "critical")
            ]
            assert grave == [], view
        assert look.errors == []


def test_of_two_tabs_the_second_one_asks_before_it_writes(browser, tmp_path):
    desk = a_desk(tmp_path, tracks=12, paired=False)
    with served(desk) as address, Look(browser, address) as one, Look(browser, address) as two:
        for look, words in ((one, "- say: yours, 1 minute\n"), (two, "- say: mine, 1 minute\n")):
            look.view("plan")
            look.page.locator("#plan-text").press("Control+End")
            look.page.keyboard.insert_text(words)
        for look in (one, two):
            look.until(
                "!document.getElementById('ask').hidden || "
                "document.getElementById('plan-kept').textContent.includes('just as typed')"
            )
        asked = next(each for each in (one, two) if each.page.is_visible("#ask"))
        asked.page.click("#ask >> text=Write mine over it")
        asked.until("document.getElementById('plan-kept').textContent.includes('just as typed')")
        assert (tmp_path / "low-water.md").read_text("utf-8") == asked.page.input_value("#plan-text")


def test_a_message_stands_where_the_press_was_and_on_the_screen(browser, address):
    with Look(browser, address, width=390, height=844) as look:
        look.view("class")
        look.until("document.querySelectorAll('.offer').length > 3")
        press = look.page.locator("[data-key^='take-']").nth(3)
        press.scroll_into_view_if_needed()
        before = press.bounding_box()
        press.click()
        look.said("plays there now")
        words = look.page.locator("#say").bounding_box()
        assert words["y"] >= 0 and words["y"] + words["height"] <= 844
        apart = max(before["y"] - words["y"] - words["height"], words["y"] - before["y"] - before["height"], 0)
        assert apart < 100
        look.page.click("#say >> text=Undo")
        look.said("Undone")


def test_two_offers_are_compared_and_heard_one_after_the_other(look):
    look.view("class")
    look.until("document.querySelectorAll('.offer').length > 1")
    names = look.page.locator(".offer .name b").all_inner_texts()[:2]
    for index in range(2):
        look.page.locator("[data-key^='more-']:not(summary)").nth(index).click()
        look.page.locator("[data-key^='compare-']:visible").first.click()
    look.until("document.querySelectorAll('.compared .one').length === 2")
    assert look.page.locator(".compared h4").all_inner_texts() == names
    look.page.click("[data-key='hear-both']")
    look.until("document.getElementById('audio').currentTime > 0.2")
    first = look.page.evaluate("document.getElementById('audio').src")
    look.page.evaluate("document.getElementById('audio').currentTime = 1e6")  # to its end
    look.until(
        f"document.getElementById('audio').src !== {first!r} && document.getElementById('audio').currentTime > 0.2"
    )
    assert look.page.inner_text("[data-key='hear-both']").strip() == "Stop"


def test_of_changes_in_quick_succession_only_the_last_is_listened_to(look, origin):
    """A browser has few lines to one program: questions that nobody needs any more must not hold them."""
    asked, ended = [], []
    look.page.route("**/heard*", lambda route: asked.append(route.request))  # none is answered
    look.page.on("requestfailed", lambda request: ended.append(request))
    look.view("class")
    look.page.click("#sounding > summary")
    for pressed in ("true", "false", "true"):
        look.page.click("#pin")
        look.until(f"document.querySelector('#pin').getAttribute('aria-pressed') === {pressed!r}")
    look.wait_for(lambda: len(asked) > 2 and len([each for each in asked if each not in ended]) == 1)
