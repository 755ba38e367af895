"""What many of these tests begin with: an invented class of an hour, a teacher's folder, browsers for pages."""

from collections.abc import Callable, Iterator
from functools import cache
from typing import Any

import pytest
import studio
from forked import Commands
from page_file import ARGS
from show_class import a_class, a_set, an_arc

from pairing.model import Arc, SetList, Timetable


@pytest.fixture(scope="session")
def browsers(chromium: str) -> Iterator[Callable[..., Any]]:
    """Gives a browser with the arguments named: one of each kind a worker, in which each test opens windows of its own."""
    api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with api.sync_playwright() as play:
        yield cache(lambda *more: play.chromium.launch(executable_path=chromium, args=[*ARGS, *more]))


@pytest.fixture(scope="session")
def timetable() -> Timetable:
    return a_class(60)


@pytest.fixture(scope="session")
def arc(timetable: Timetable) -> Arc:
    return an_arc(timetable)


@pytest.fixture(scope="session")
def setlist(timetable: Timetable, arc: Arc) -> SetList:
    return a_set(timetable, arc)


@pytest.fixture(scope="module")
def commands(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Commands]:
    """A folder with a plan, music, a library and a set, and a process that runs commands there."""
    home = tmp_path_factory.mktemp("studio")
    with Commands(home) as commands:
        studio.make(home, commands)
        yield commands
