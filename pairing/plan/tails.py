"""Bare minutes that end the lines of a note: "sphinx - 2", "lizard - 1.5", "side lying over bolster   6 + 6".

That they are minutes shows in all of them together: in halves, which nobody breathes or counts, or in a column of
their own, set apart by blanks, whose sum stays within the class. Common practice, no source.
"""

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from pairing.plan.lines import Line

LEAST_TAILS = 5  # lines that end so, from which on they say something of each other; editorial
LEAST_OF_CLASS = 0.4  # what they have to come to of a class whose length is known; editorial
MOST_OF_CLASS = 1.05
MOST_MINUTES = 30.0  # of one line; editorial

_N = r"\d{1,2}(?:[.,]5)?\s?½?|½"
_SIDES = r"(?:\s*(?P<sides>e/s|p/s|ea\b|each\b|per\b|a side|je\b|pro\b|por\b|par\b|c/)[^,\d]{0,12})?"
_DASHED = re.compile(rf"\s[-–—]\s*(?P<n>{_N}){_SIDES}\s*(?P<more>,[^\d]*)?$", re.IGNORECASE)
_APART = re.compile(rf"\s{{2,}}(?P<n>{_N})(?:\s?\+\s?(?P<other>{_N}))?\s*$")


@dataclass(frozen=True, slots=True)
class Tail:
    """What ends a line: the text without it, its seconds over both sides, and how it was typed."""

    text: str
    length_s: float
    shown: str


def tails(lines: Sequence[Line], wholes: Collection[float]) -> dict[int, Tail]:
    """Give the minutes that end lines, by line number; none where nothing shows that they are minutes.

    Args:
        lines: those of the note that may be timed.
        wholes: seconds that the note says the class takes.
    """
    return _dashed(lines, wholes) or _set_apart(lines, wholes)


def _dashed(lines: Sequence[Line], wholes: Collection[float]) -> dict[int, Tail]:
    found = [(line, match) for line in lines if (match := _DASHED.search(line.text)) and match.start()]
    halves = any(minutes(match["n"]) % 1 for _, match in found)
    taken = {line.number: _tail(line, match) for line, match in found}
    return taken if halves and _stays_within(taken, wholes) else {}


def _set_apart(lines: Sequence[Line], wholes: Collection[float]) -> dict[int, Tail]:
    found = [(line, match) for line in lines if (match := _APART.search(line.raw.rstrip())) and match.start()]
    taken = {}
    for line, match in found:
        both = minutes(match["n"]) + (minutes(match["other"]) if match["other"] else 0.0)
        text = line.text[: len(line.text.rstrip()) - len(match.group().rstrip())].rstrip()
        taken[line.number] = Tail(text + (" R/L" if match["other"] else ""), 60.0 * both, match.group().strip())
    return taken if _stays_within(taken, wholes) else {}


def _tail(line: Line, match: re.Match[str]) -> Tail:
    sides = 2.0 if match["sides"] else 1.0
    text = f"{line.text[: match.start()]}{' each side' if match['sides'] else ''}{match['more'] or ''}"
    return Tail(text, 60.0 * sides * minutes(match["n"]), match["n"].strip())


def _stays_within(taken: dict[int, Tail], wholes: Collection[float]) -> bool:
    lengths = [tail.length_s for tail in taken.values()]
    if len(lengths) < LEAST_TAILS or max(lengths) > 2 * 60.0 * MOST_MINUTES or min(lengths) <= 0.0:
        return False
    return any(LEAST_OF_CLASS * whole <= sum(lengths) <= MOST_OF_CLASS * whole for whole in wholes)


def minutes(typed: str) -> float:
    """Give the number that was typed with a point, a comma or a half.

    >>> minutes("1,5"), minutes("1½"), minutes("½"), minutes("8")
    (1.5, 1.5, 0.5, 8.0)
    """
    whole = typed.replace("½", "").replace(",", ".").strip()
    return float(whole or 0) + (0.5 if "½" in typed else 0.0)
