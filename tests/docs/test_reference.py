"""The reference says what the program says: its commands' part is the help, its JSON names are those that come out."""

import inspect
import re

from help_texts import PAGE, renewed

from pairing.commands.app import DONE, FAILED, INTERRUPTED, MUST, WRONG_USE
from pairing.show import asjson

TEXT = PAGE.read_text(encoding="utf-8")


def test_the_commands_are_those_of_the_program() -> None:
    assert renewed(TEXT) == TEXT, "renew it: python tests/docs/help_texts.py"


def test_every_exit_status_is_explained() -> None:
    listed = " ".join(TEXT.partition("**Exit status:**")[2].partition("**The library**")[0].split())
    said = {DONE: "done", MUST: "done, but", WRONG_USE: "wrong use", FAILED: "a file,", INTERRUPTED: "interrupted"}
    for status, words in said.items():
        assert f"{status} {words}" in listed


def test_every_name_of_the_json_stands_in_the_reference() -> None:
    names = set(re.findall(r'"(\w+)":', inspect.getsource(asjson)))
    assert len(names) > 60
    assert not {name for name in names if f"`{name}`" not in TEXT}
