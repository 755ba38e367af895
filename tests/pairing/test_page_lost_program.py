"""The program ends while its page is open, in a real Chromium: nothing typed is lost, and the page goes on."""

import shutil
import socket

import pytest

pytest.importorskip("starlette")
pytest.importorskip("uvicorn")
from page_browser import SOUNDING, Look, served
from page_desk import a_desk

from pairing.page.desk import Desk
from pairing.page.instance import LOOPBACK

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def browser(browsers):
    return browsers(SOUNDING)


@pytest.fixture(scope="module")
def origin(tmp_path_factory):
    folder = tmp_path_factory.mktemp("origin")
    a_desk(folder, tracks=12, paired=False)
    return folder


@pytest.fixture
def here(origin, tmp_path):
    return shutil.copytree(origin, tmp_path / "classes")


@pytest.fixture
def port():
    with socket.socket() as free:
        free.bind((LOOPBACK, 0))
        return free.getsockname()[1]


def desk(folder, plan="low-water.md"):
    return Desk(folder, folder / "library.sqlite", folder / plan if plan else None)


def typed(look, words):
    look.page.locator("#plan-text").press("Control+End")
    look.page.keyboard.type(words)


def leave_behind(look, folder, text):
    """Have the browser hold a draft, as a tab does in which one types; None: as one that has kept it."""
    set_ = "([key, text]) => text === null ? localStorage.removeItem(key) : localStorage.setItem(key, text)"
    look.page.evaluate(set_, [f"arcbed-draft:{folder / 'low-water.md'}", text])


def kept(folder, words):
    return words in (folder / "low-water.md").read_text("utf-8")


def test_what_is_typed_while_the_program_is_gone_reaches_the_file_when_it_is_back(browser, here, port):
    with served(desk(here), port) as address:
        look = Look(browser, address)
        look.view("plan")
    look.said("start arcbed again")
    typed(look, "- say: low tide, 1 minute\n")
    look.until("document.getElementById('plan-kept').textContent.startsWith('Being')")
    with served(desk(here, plan=None), port):  # as a double click starts it: with no class open
        look.said("arcbed is back")
        look.until("document.getElementById('plan-kept').textContent.startsWith('Kept')")
        assert kept(here, "low tide")
    look.context.close()


def test_what_was_typed_before_the_tab_was_closed_is_offered_when_the_class_is_open_again(browser, here, port):
    with served(desk(here), port) as address:
        look = Look(browser, address)
        look.view("plan")
    look.said("start arcbed again")
    # A browser slow to end a page sends what it keeps on leaving so late that the program is back: then it is in the file.
    look.page.evaluate("() => { window.fetch = () => Promise.reject(new TypeError('this page reaches nothing now')); }")
    typed(look, "- say: high tide, 1 minute\n")
    look.page.goto("about:blank")
    with served(desk(here), port) as address:
        look.page.goto(address)
        look.until("!document.getElementById('ask').hidden")
        assert "didn’t reach the file" in look.page.inner_text("#ask")
        look.page.click("#ask-choices button >> text=Put it back")
        look.until("document.getElementById('plan-kept').textContent.startsWith('Kept')")
        assert kept(here, "high tide")
        look.until("localStorage.length === 0")  # once it is kept, it is not offered again
    look.context.close()


def test_who_types_on_without_an_answer_is_offered_the_draft_again(browser, here):
    with served(desk(here)) as address, Look(browser, address) as look:
        look.view("plan")
        leave_behind(look, here, "# Spring tide")
        look.page.goto(address)
        look.until("!document.getElementById('ask').hidden")
        look.view("plan")
        typed(look, "- say: neap tide, 1 minute\n")
        look.until("document.getElementById('plan-kept').textContent.startsWith('Kept')")
        assert kept(here, "neap tide")
        look.page.goto(address)
        look.until("!document.getElementById('ask').hidden")
        look.page.click("#ask-choices button >> text=Put it back")
        look.until("document.getElementById('plan-text').value === '# Spring tide'")


def test_what_is_being_typed_in_another_tab_is_not_offered_in_this_one(browser, here):
    with served(desk(here)) as address, Look(browser, address) as look:
        look.page.clock.install()
        leave_behind(look, here, "# Spr")
        look.page.goto(address)
        look.until("document.documentElement.dataset.ready === 'yes'")
        for words in ("# Spring t", "# Spring tide", None):  # None: the other tab has kept it
            leave_behind(look, here, words)
            look.page.clock.run_for(1500)
        assert look.page.evaluate("document.getElementById('ask').hidden")


def test_close_arcbed_keeps_what_was_typed_and_says_that_it_is_closed(browser, here):
    with served(desk(here)) as address, Look(browser, address) as look:
        look.view("plan")
        typed(look, "- say: slack water, 1 minute\n")
        look.page.click("#close")
        look.said("arcbed is closed")
        assert kept(here, "slack water")


def test_close_asks_nothing_about_work_that_has_just_ended(browser, here):
    with served(desk(here)) as address, Look(browser, address) as look:
        running = '{state: "running", title: "A mix", number: 1}'
        look.page.evaluate(f"import('/static/tools.js').then((tools) => {{ tools.state.job = {running}; }})")
        look.page.click("#close")
        look.said("arcbed is closed")


def test_the_classes_of_before_are_one_press_away(browser, here):
    from pairing.page.places import note_opened

    note_opened(here / "low-water.md")
    with served(desk(here, plan=None)) as address, Look(browser, address) as look:
        look.view("plan")
        look.page.click("main button >> text=low-water")
        look.until("document.getElementById('plan-text').value.includes('Low water')")


def test_a_class_is_begun_from_an_example_and_comes_back_after_a_wrong_key(browser, here):
    with served(desk(here, plan=None)) as address, Look(browser, address) as look:
        look.view("plan")
        look.page.select_option("#example", "yin-60")
        look.page.click("#new-from-example")
        look.until("document.getElementById('plan-text').value.includes('Yin by the window')")
        look.page.locator("#plan-text").fill("")
        look.until("document.getElementById('plan-kept').textContent.startsWith('Kept')")
        assert (here / "yin-60.md").read_bytes() == b""
        look.page.click("#earlier summary")
        look.page.locator("#versions button").first.click()
        look.until("document.getElementById('plan-text').value.includes('Yin by the window')")
        assert look.errors == []
