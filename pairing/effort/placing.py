"""Where in its part a line is done that stands elsewhere in the note than in the class.

"bell at the end" may be written first, "silence last 2 minutes" before the pose that goes into it, and a pause for
water that ends a part with two sides comes after both. A place of its own is read from the line's note: "at the start",
"at the end", "last". Common practice, no source.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from pairing.model import Element, Group

_STILL = ("say", "pause", "silence", "bell")
_START = re.compile(
    r"\b(?:at|in|from)\s+the\s+(?:very\s+)?(?:start|beginning)\b|\bto\s+(?:start|begin)\b|^first$", re.I
)
_END = re.compile(
    r"\b(?:at|in|for|towards?)\s+the\s+(?:very\s+)?end\b|\bto\s+(?:end|finish|close)\b|^(?:the\s+)?(?:last|final)$",
    re.I,
)


@dataclass(frozen=True, slots=True)
class Placing:
    """A group's parts in the order in which they are done; ids of lines that wait for both sides, or the last round."""

    parts: tuple[Element | Group, ...]
    after_both_sides: frozenset[int]
    in_the_last_round: frozenset[int]


def placing_of(group: Group) -> Placing:
    """The order of a group's parts.

    Lines that are said to stand at its start or its end do so. What comes once (talk, a pause, silence, a bell) and
    ends a group with two sides comes after both of them; a pause, silence or bell that ends its rounds comes after the
    last.
    """
    first = [part for part in group.parts if _stands(part, _START)]
    last = [part for part in group.parts if _stands(part, _END) and part not in first]
    middle = [part for part in group.parts if part not in first and part not in last]
    ending = _ending(middle)
    return Placing(
        parts=(*first, *middle, *sorted(last, key=_is_bell)),
        after_both_sides=frozenset(map(id, (*ending, *last))),
        in_the_last_round=frozenset(id(part) for part in (*ending, *last) if _what(part) != "say" or part in last),
    )


def _ending(parts: Sequence[Element | Group]) -> list[Element | Group]:
    """The lines at the end that come once, after something that is done each time."""
    ending: list[Element | Group] = []
    for part in reversed(parts):
        if not _comes_once(part):
            return ending
        ending.append(part)
    return []  # nothing else is in it


def _comes_once(part: Element | Group) -> bool:
    return (
        isinstance(part, Element)
        and part.what in _STILL
        and not (part.every_time or part.once or part.side or part.each_side or part.optional)
        and (part.from_round, part.to_round, part.last_round) == (1, None, None)
    )


def _stands(part: Element | Group, place: re.Pattern[str]) -> bool:
    """Whether a line that comes once says that it stands there; what is said in a talk says nothing of its place."""
    if not (isinstance(part, Element) and part.what in ("pause", "silence", "bell") and _comes_once(part)):
        return False
    return any(place.search(note.strip()) for note in re.split("[,;]", part.note))


def _is_bell(part: Element | Group) -> bool:
    return _what(part) == "bell"


def _what(part: Element | Group) -> str:
    return part.what if isinstance(part, Element) else ""
