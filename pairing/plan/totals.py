"""Lines that sum a class up: "total 60", "60 min in all"."""

import re
from collections.abc import Sequence

from pairing.plan.language import Lexicon, spelled
from pairing.plan.lines import Line

_NUMBER = re.compile(r"\d{1,3}")


def totals_of(lines: Sequence[Line], lexicon: Lexicon) -> dict[int, float]:
    """Give the seconds of each line that begins or ends with a word for a total and holds one number, in minutes."""
    found: dict[int, float] = {}
    for line in lines:
        numbers = _NUMBER.findall(line.text)
        words = [word for word in spelled(line.text) if not word.isdecimal()]
        if len(numbers) == 1 and words and any(lexicon.has((word,), "top.total") for word in (words[0], words[-1])):
            found[line.number] = 60.0 * int(numbers[0])
    return found
