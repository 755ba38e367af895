"""The reference says what the program says: its commands' part is the help, its JSON names are those that come out."""

import inspect
import re
from pathlib import Path

import pytest
from longest_first import order
from quoted import PAGES, ROOT, renewed

from pairing.commands.app import DONE, FAILED, INTERRUPTED, MUST, WRONG_USE
from pairing.show import asjson

TEXT = (ROOT / "docs" / "reference.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_what_is_quoted_is_what_the_program_says(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    assert renewed(text) == text, "renew it: python tests/docs/quoted.py"


def test_every_exit_status_is_explained() -> None:
    listed = " ".join(TEXT.partition("**Exit status:**")[2].partition("**The library**")[0].split())
    said = {DONE: "done", MUST: "done, but", WRONG_USE: "wrong use", FAILED: "a file,", INTERRUPTED: "interrupted"}
    for status, words in said.items():
        assert f"{status} {words}" in listed


def test_every_name_of_the_json_stands_in_the_reference() -> None:
    names = set(re.findall(r'"(\w+)":', inspect.getsource(asjson)))
    assert len(names) > 60
    assert not {name for name in names if f"`{name}`" not in TEXT}


def test_every_file_that_is_said_to_take_long_is_there() -> None:
    assert not [path for path in order() if not path.is_file()]
