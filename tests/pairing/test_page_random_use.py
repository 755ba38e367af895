"""Random use of the page in a real Chromium, 150 things done: no error, a valid set, and nothing piles up.

`tests/benchmarks/page_random_use.py` does it for half an hour, with the program in a process of its own.
"""

import json
import random

import pytest

pytest.importorskip("starlette")
pytest.importorskip("uvicorn")
from held import held_mb
from page_browser import SOUNDING, Look, served, wild
from page_desk import a_desk

from pairing.page.desk import KEPT
from pairing.sets.setfile import read_set

pytestmark = [pytest.mark.browser, pytest.mark.slow]

SETTLING, MORE = 60, 90  # things done, however long they take
MOST_MB = 8.0  # coarse: what is done hangs on how quick the page is; tests/pairing/test_page_memory.py looks closely


def kept_mb(desk):
    """What is held beside the last answers."""
    assert len(desk._answers) <= KEPT
    desk._answers.clear()
    return held_mb(desk)


def test_random_use_leaves_no_error_a_valid_set_and_steady_memory(browsers, tmp_path):
    desk, rng = a_desk(tmp_path, sounds=True), random.Random(11)
    with served(desk) as address, Look(browsers(SOUNDING), address) as look:
        wild(look, rng, SETTLING.__gt__)
        look.settle()
        before = kept_mb(desk)
        wild(look, rng, MORE.__gt__)
        look.settle()
        grown = kept_mb(desk) - before
        assert look.errors == []
        assert look.strangers() == []
    assert grown < MOST_MB
    assert read_set(tmp_path / "low-water.json").picks
    assert json.loads((tmp_path / "low-water.json").read_bytes())["format"] == "arcbed-set"
