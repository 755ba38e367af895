"""Lines of a name, a colon and minutes: "Hips: 19 min, R side then L side" heads the lines below that tell their own.

Its minutes check those lines and are no length. Several such lines in one note strengthen each other: where most stand
above lines that tell their own sizes, one of them may name a pose, or tell another sum than its lines do.
"""

import itertools
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from pairing.model import Length, Side
from pairing.plan.kinds import kind_named
from pairing.plan.line.chunks import is_size
from pairing.plan.line.sides import sides_joined
from pairing.plan.lines import Line
from pairing.plan.loose import Loose
from pairing.plan.note.parting import speaks_of_above, tells_s
from pairing.plan.note.state import Reading
from pairing.plan.tokens import Token
from pairing.plan.top import names_key

LEAST_LINES, MOST_TELLING = 2, 0.6  # lines below such a heading, and how many tell their own sizes; editorial
LEAST_HEADS = 3  # such lines in one note, which strengthen each other; editorial
LEAST_S = 60.0  # of a heading; editorial
LEAST_TOLD, MOST_TOLD = 0.5, 1.6  # of its minutes, by its lines; editorial
LEAST_AMONG = 0.25  # the same where several stand in the note; editorial
MOST_LINES = 60  # of a block that are looked at
MOST_WORDS = 8  # of its name; editorial
MOST_STRANGE = 3  # words behind the colon that say neither sides, rounds nor minutes: "whole thing"; editorial
MOST_ROUNDS = 20


@dataclass(frozen=True, slots=True)
class _Head:
    """What a name, a colon and minutes say."""

    name: tuple[Token, ...]
    minutes: Length
    side: Side | None
    both: bool
    rounds: int


def minutes_heading(reading: Reading, line: Line, at: int) -> Loose | None:
    """Read a name, a colon and minutes as the heading of the lines below that tell their own; None where it is none."""
    head = _head_of(reading, line)
    below = _below(reading, at) if head is not None else []
    if head is None or not below:
        return None
    if head.both and any(_does_other_side(reading.tokens_of(each)) for each in below):
        head = replace(head, both=False)  # "All of it on L 8 min", typed below
    known = sum(_heads(reading, place) for place in range(len(reading.lines))) >= LEAST_HEADS
    told_s = sum(tells_s(reading, each) for each in below) * head.rounds * (2 if head.both else 1)
    share = told_s / head.minutes.likely
    plain = not names_key(line.text) and not any(
        token.kind == "pose" and not token.says("kinds") for token in head.name
    )
    if not (share >= LEAST_AMONG if known else plain and LEAST_TOLD <= share <= MOST_TOLD):
        return None
    if not _heads(reading, at) and not (known and plain and len(below) == 1 and LEAST_TOLD <= share <= MOST_TOLD):
        return None
    name = " ".join(token.text for token in head.name if token.kind not in ("mark", "aside"))
    says = "first right, then left" if head.both else f"on the {head.side}" if head.side else "the lines below it"
    return Loose(
        name=name,
        kind=kind_named(name),
        side=head.side,
        both=head.both,
        rounds=head.rounds,
        told=head.minutes,
        peak=any(token.says("kinds.peak") for token in head.name),
        says=says,
    )


def _heads(reading: Reading, at: int) -> bool:
    """Whether a line is such a heading by its form, right above lines that mostly tell their own sizes."""
    if _head_of(reading, reading.lines[at]) is None:
        return False
    below = [line for line in _below(reading, at) if not speaks_of_above(reading.tokens_of(line))]
    telling = sum(any(map(is_size, _flat(reading.tokens_of(line)))) for line in below)
    return len(below) >= LEAST_LINES and telling >= MOST_TELLING * len(below)


def _below(reading: Reading, at: int) -> list[Line]:
    """The lines below one, up to a blank line or the next such heading."""
    lines = itertools.islice(reading.lines, at + 1, at + 1 + MOST_LINES)
    return list(itertools.takewhile(lambda line: _belongs(reading, line), lines))


def _belongs(reading: Reading, line: Line) -> bool:
    plain = line.form in ("text", "item") and not line.first
    return (
        plain and (line.number not in reading.front or _is_counted(reading, line)) and _head_of(reading, line) is None
    )


def _does_other_side(tokens: Sequence[Token]) -> bool:
    """ "All of it on L", "same on the left", "L side, again": what stands above, on one side."""
    return any(token.says("again") for token in tokens) and any(
        token.says("sides.left", "sides.right", "sides.other") for token in sides_joined(tokens)
    )


def _is_counted(reading: Reading, line: Line) -> bool:
    """Whether what stands in front of a line only counts it: "8 - Dragon 2 min"."""
    front = reading.front.get(line.number)
    return front is not None and front.number is not None


def _head_of(reading: Reading, line: Line) -> _Head | None:
    """What a line says as such a heading, by its form alone; None where it has another."""
    named = line.form == "text" or (line.form == "item" and bool(line.part))
    if reading.has_signs or not named or ":" not in line.text or _is_counted(reading, line):
        return None
    if line.number in reading.rows and not _names_rows(line):
        return None
    tokens = reading.tokens_of(line)
    colon = next((place for place, token in enumerate(tokens) if token.text == ":"), 0)
    name, behind = tokens[:colon], sides_joined(_flat(tokens[colon + 1 :]))
    sizes = [token for token in name if is_size(token)]
    numbered = len(name) > 1 and sizes == [name[-1]] and name[-1].kind == "number"  # "Flow 1"
    if not name or len(name) > MOST_WORDS or (sizes and not numbered):
        return None
    lengths = [token for token in behind if token.kind == "length"]
    counts = [token for token in behind if token.kind == "times"]
    if len(lengths) != 1 or lengths[0].unit != "seconds" or lengths[0].low < LEAST_S or len(counts) > 1:
        return None
    others = [token for token in behind if token not in (*lengths, *counts) and token.kind != "mark"]
    if any(is_size(token) or token.kind == "pose" for token in others):
        return None
    strange = [token for token in others if not token.says("sides", "join", "how", "units", "again")]
    sided = len(others) > len(strange) or bool(counts)
    if len(strange) > (MOST_STRANGE if sided else 0):
        return None
    each = any(token.says("sides.each") for token in behind)
    right, left = (any(token.says(f"sides.{side}") for token in behind) for side in ("right", "left"))
    twice = any(token.says("how.twice") for token in behind)
    rounds = int(counts[0].low) if counts else 2 if twice else 1
    both = each or (right and left)
    side: Side | None = None if both or right == left else "right" if right else "left"
    return _Head(tuple(name), lengths[0].length, side, both, max(1, min(rounds, MOST_ROUNDS)))


def _names_rows(line: Line) -> bool:
    """Whether the first cell of a row is a name and a colon, and its cells are all that it says: "Floor:", "7 min"."""
    return re.match(r"\s*[|\t]*\s*[^\W\d][^\t|]*:\s*[\t|]", line.raw) is not None


def _flat(tokens: Sequence[Token]) -> list[Token]:
    return [part for token in tokens for part in (token.inner if token.kind == "aside" else (token,))]
