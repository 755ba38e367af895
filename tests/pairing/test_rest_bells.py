"""The words for the bells of a rest, as typed."""

import pytest

from pairing.commands.app import Misuse
from pairing.commands.sets import _bells


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        (None, None),
        (["start"], ["start"]),
        (["end"], ["end"]),
        (["both"], ["start", "end"]),
        (["end", "both"], ["end", "start"]),
        (["none"], []),
    ],
)
def test_bells_are_asked_for_in_words(typed: list[str] | None, meant: list[str] | None) -> None:
    assert _bells(typed) == meant


def test_another_word_is_refused_with_those_there_are() -> None:
    with pytest.raises(Misuse, match="start, the end, both or none"):
        _bells(["noon"])
