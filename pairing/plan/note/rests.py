"""Rests that a line puts between the rounds of the part above: "30 s between rounds", "(1 min btw sets)"."""

from pairing.model import Element, Place
from pairing.plan.lines import Line
from pairing.plan.note.adding import add_parts
from pairing.plan.note.state import Reading


def is_rest_between(reading: Reading, line: Line) -> bool:
    """Rest between the rounds of the open part where a line says so and no more; say whether it does."""
    opened = reading.stack[-1] if reading.stack else None
    if opened is None or reading.has_signs or not opened.parts or line.number in reading.front:
        return False
    loose = reading.loose.get(opened.line.number)
    rounds = loose.rounds if loose else opened.said.rounds or 1
    flat = [part for token in reading.tokens_of(line) for part in (token.inner if token.kind == "aside" else (token,))]
    lengths = [token for token in flat if token.kind == "length"]
    says = any(token.says("join.between") for token in flat)
    done = any(token.kind in ("pose", "times", "counts", "pulses") for token in flat)
    if rounds < 2 or len(lengths) != 1 or not says or done:
        return False
    place = Place(line.number, line.column())
    rest = Element("pause", "rest between rounds", place, length=lengths[0].length, last_round="not", every_time=True)
    add_parts(reading, line, (rest,), None, sure=True)
    return True
