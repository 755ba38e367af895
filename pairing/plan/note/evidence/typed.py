"""What stands on a line, sorted by what it may be used for, and what the line stands in."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

from pairing.plan.line.chunks import is_attribute, is_size
from pairing.plan.poses import PoseTable
from pairing.plan.style import Style
from pairing.plan.tokens import Token


@dataclass(frozen=True, slots=True)
class Setting:
    """What a line stands in."""

    table: PoseTable
    style: Style
    both_sides: bool = False  # the lines around are done on both sides already
    again: bool = False  # a line below does it on the other side
    rounds: bool = False  # a heading without signs repeats it
    sides_told: bool = False  # most lines of the note that could name a side do
    shares: bool = False  # it has its share of the minutes of its part
    given: bool = False  # a table, a clock, a label or work and rest say how long it takes


@dataclass(frozen=True, slots=True)
class Typed:
    """What stands on a line, sorted by what it may be used for."""

    outside: tuple[Token, ...]  # of brackets
    attributes: tuple[Token, ...]  # in brackets that say nothing but how much or on which side
    noted: tuple[Token, ...]  # in other brackets

    @property
    def said(self) -> tuple[Token, ...]:
        """All that must have been used."""
        return (*self.outside, *self.attributes)


def typed(tokens: Sequence[Token]) -> Typed:
    """Sort the tokens of a line."""
    outside, behind_with = _without_tails([token for token in tokens if token.kind != "aside"])
    sized = any(map(is_size, outside))
    inner = [[part for part in token.inner if part.kind != "mark"] for token in tokens if token.kind == "aside"]
    plain = [parts for parts in inner if parts and (all(map(is_attribute, parts)) or (is_size(parts[0]) and not sized))]
    other = [parts for parts in inner if parts not in plain]
    return Typed(tuple(outside), tuple(itertools.chain(*plain)), (*itertools.chain(*other), *behind_with))


def _without_tails(tokens: Sequence[Token]) -> tuple[list[Token], list[Token]]:
    """Part off what stands behind "with" or "on" up to the next sign: a note, unless it is a length or a side."""
    kept: list[Token] = []
    tails: list[Token] = []
    tail, off = False, any(token.says("intervals.rest") for token in tokens)
    for token in tokens:
        if token.kind == "mark":
            tail = False
        noted = tail and token.kind in ("unknown", "number") and not token.says("sides")
        (tails if noted else kept).append(token)
        turns = token.says("join.between", "join.then") or (off and token.says("intervals"))  # "40 on 20 off"
        tail = tail or (token.says("join.with") and not turns)
    return kept, tails
