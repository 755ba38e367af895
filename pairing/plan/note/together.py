"""Lines that do several parts of the class again: "wave 1 + 2 together, 1 breath each", "repeat A + B"."""

import re
from collections.abc import Sequence
from dataclasses import replace

from pairing.model import Group, Place, Section
from pairing.plan.line.moves import LINE_GROUP
from pairing.plan.line.sides import sides_joined
from pairing.plan.lines import Line
from pairing.plan.note.parting import close_to, open_unnamed
from pairing.plan.note.partly import Part, elements
from pairing.plan.note.state import Item, Reading
from pairing.plan.refs import Reference, again, without_manner
from pairing.plan.tokens import Token

LEAST_PARTS = 2  # that such a line names


def does_parts_again(reading: Reading, line: Line) -> bool:
    """Do the parts again that a line names by their numbers or letters; say whether it does."""
    if reading.has_signs or line.number in reading.front or line.number in reading.rows:
        return False
    tokens, no_hold = without_manner(sides_joined(reading.tokens_of(line)))
    labels = _labels(tokens)
    how = no_hold or any(token.says("again", "sides.each", "how.quick", "how.no_hold") for token in tokens)
    if len(labels) < LEAST_PARTS or not how:
        return False
    known = {_label(reading, part.name, part.line.number) for part in reading.stack}
    known |= {_label(reading, section.name, section.place.line) for section in reading.sections}
    if not known.issuperset(labels):
        return False
    close_to(reading, to_level=2)
    meant = [
        next(s for s in reversed(reading.sections) if _label(reading, s.name, s.place.line) == label)
        for label in labels
    ]
    place = Place(line.number, line.column())
    quick = any(token.says("how.quick") for token in tokens)
    asked = Reference(no_hold=no_hold or any(token.says("how.no_hold") for token in tokens), quick=quick)
    parts = [part for section in meant for part in again(_of(section), place, reading.table, asked)]
    rounds = next((int(token.low) for token in tokens if token.kind == "times"), 1)
    both = any(token.says("sides.each") for token in tokens) and not any(map(_has_both, meant))
    group = Group(LINE_GROUP, place, tuple(parts), rounds=max(1, rounds), both_sides=both)
    open_unnamed(reading, line)
    opened = reading.stack[-1]
    opened.parts.append(group)
    reading.keep(Item(line, opened, 0, 1, complete=True, is_repeat=True))
    reading.said(line, f"{' and '.join(section.name for section in meant)} once more", what="repeat")
    return True


def _labels(tokens: Sequence[Token]) -> list[str]:
    """The numbers or letters that a sign or a word joins: "wave 1 + 2", "A & B"."""
    words = [token for token in tokens if token.kind in ("number", "unknown", "word") or token.text in "+&"]
    found: list[str] = []
    for before, sign, behind in zip(words, words[1:], words[2:], strict=False):
        joined = sign.text in "+&" or sign.says("join.and")
        if joined and _is_label(before) and _is_label(behind):
            found += [token.text.upper() for token in (before, behind)]
    return list(dict.fromkeys(found))


def _is_label(token: Token) -> bool:
    return token.kind == "number" or (len(token.text) == 1 and token.text.isalpha() and not token.says("sides"))


def _label(reading: Reading, name: str, number: int) -> str:
    """The number or letter of a part: in front of its heading, else at the end of its name."""
    line = reading.lines[reading.places[number]] if number in reading.places else None
    marked = re.match(r"\s*\(?(\d{1,2})[.)]", line.raw) if line is not None else None
    words = name.split()
    return marked[1] if marked else words[-1].upper() if len(words) > 1 else ""


def _of(section: Section) -> Sequence[Part]:
    if section.both_sides:
        return (Group(LINE_GROUP, section.place, section.parts, both_sides=True),)
    return [replace(part, minutes=None) if isinstance(part, Group) else part for part in section.parts]


def _has_both(section: Section) -> bool:
    """Whether both sides lie among the lines of a part already."""
    sides = {element.side for element in elements(section.parts)}
    return section.both_sides or {"right", "left"} <= sides
