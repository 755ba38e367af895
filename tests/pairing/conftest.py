"""Browsers for the tests of pages."""

from collections.abc import Callable, Iterator
from functools import cache
from typing import Any

import pytest
from page_file import ARGS


@pytest.fixture(scope="session")
def browsers(chromium: str) -> Iterator[Callable[..., Any]]:
    """Gives a browser with the arguments named: one of each kind a worker, in which each test opens windows of its own."""
    api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with api.sync_playwright() as play:
        yield cache(lambda *more: play.chromium.launch(executable_path=chromium, args=[*ARGS, *more]))
