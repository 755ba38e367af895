"""Turns and bare numbers: a side each round, "R rd 1, L rd 2"; a ladder, "20, 30, 40 s"; minutes of all, "(15)"."""

from collections.abc import Sequence
from dataclasses import replace

from pairing.plan.line.chunks import is_size
from pairing.plan.line.moves import Around
from pairing.plan.tokens import Token

LEAST_LABEL, LEAST_OF_ALL, MOST_OF_ALL = 3, 5, 45  # minutes of a line as a bare number in brackets; editorial
LEAST_RUN = 4  # tokens of a run between the two sides
LEAST_STEPS = 2  # bare numbers before the length that ends a ladder; editorial


def without_turns(tokens: Sequence[Token]) -> Sequence[Token]:
    """Leave out which side is done in which round, "R rd 1, L rd 2": it says nothing of how long or how often."""
    if any(token.kind == "aside" and _are_turns(token.inner) for token in tokens):
        tokens = [token for token in tokens if not (token.kind == "aside" and _are_turns(token.inner))]
    for at in range(1, len(tokens)):
        if _tells_turn(tokens[at:]) and _are_turns(tokens[at:]):
            return tokens[: at - (tokens[at - 1].kind == "mark")]
    return tokens


def _tells_turn(tokens: Sequence[Token]) -> bool:
    return bool(tokens) and tokens[0].says("sides.right", "sides.left", "how.round", "units.rounds")


def _are_turns(tokens: Sequence[Token]) -> bool:
    """Whether all of it names sides, rounds and the numbers of these."""
    plain = [token for token in tokens if token.kind != "mark"]
    sides = [token for token in plain if token.says("sides.right", "sides.left")]
    numbers = [token for token in plain if token.kind in ("number", "times")]
    rounds = [token for token in plain if token.says("how.round", "units.rounds")]
    known = all(token in sides or token in numbers or token in rounds for token in plain)
    return known and len(sides) > 1 and len(numbers) == len(sides) == len(rounds)


def with_ladder(tokens: Sequence[Token]) -> Sequence[Token]:
    """Give the numbers before a length its unit: "20, 30, 40 s"; "3, 5 breaths" are none."""
    end = next((at for at, token in enumerate(tokens) if token.kind == "length" and token.low == token.high), 0)
    steps: list[int] = []
    at = end - 1
    while at > 0 and tokens[at].text in ",/+→" and tokens[at - 1].kind == "number":
        steps.insert(0, at - 1)
        at -= 2
    if len(steps) < LEAST_STEPS or tokens[end].unit != "seconds":
        return tokens
    factor = 60.0 if tokens[end].high >= 60.0 * (tokens[steps[-1]].high or 1.0) / 2.0 else 1.0
    made = list(tokens)
    for step in steps:
        made[step] = replace(
            made[step], kind="length", low=made[step].low * factor, high=made[step].high * factor, unit="seconds"
        )
    return made


def with_minutes(tokens: Sequence[Token], around: Around) -> Sequence[Token]:
    """Give the bare number of "hips (8): pigeon 2/2, lizard" and of "sun A x4, sun B x4 (15)" as minutes of it all."""
    for at, token in enumerate(tokens):
        number = token.inner[0] if token.kind == "aside" and len(token.inner) == 1 else None
        if number is None or number.kind != "number" or number.low != number.high or number.low > MOST_OF_ALL:
            continue
        label = tokens[at + 1 : at + 2] and tokens[at + 1].text == ":" and number.low >= LEAST_LABEL
        counted = sum(is_size(other) and other.kind != "number" for other in tokens[:at])
        last = at == len(tokens) - 1 and counted > 1 and number.low >= LEAST_OF_ALL and not around.yin
        if label or last:
            seconds = 60.0 * number.low
            minutes = replace(number, kind="length", low=seconds, high=seconds, unit="seconds")
            return [*tokens[:at], replace(token, inner=(minutes,)), *tokens[at + 1 :]]
    return tokens


def with_both_sides(tokens: Sequence[Token]) -> Sequence[Token]:
    """Give "[R] lunge 3, twist 3, lizard 5 / [L]" as a run that is done on both sides."""
    if len(tokens) < LEAST_RUN or tokens[-2].text not in "/,→":
        return tokens
    first, last = _side_of(tokens[0]), _side_of(tokens[-1])
    if not first or not last or first == last:
        return tokens
    both = Token("word", "both sides", tokens[-1].start, tokens[-1].end, frozenset({"sides.each"}))
    return [*tokens[1:-2], replace(tokens[-2], text=","), both]


def _side_of(token: Token) -> str:
    """The side that is all that stands in a bracket."""
    only = token.inner[0] if token.kind == "aside" and len(token.inner) == 1 else None
    sides = [side for side in ("right", "left") if only is not None and only.says(f"sides.{side}")]
    return sides[0] if len(sides) == 1 else ""
