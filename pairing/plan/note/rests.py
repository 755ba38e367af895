"""What lies between: rests between the rounds of a part ("30 s between rounds"), and moves between long poses."""

from pairing.model import Element, Place
from pairing.plan.language import spelled
from pairing.plan.line.amounts import exactly
from pairing.plan.line.chunks import is_size
from pairing.plan.lines import Line
from pairing.plan.note.adding import add_parts
from pairing.plan.note.outside import is_done_aside
from pairing.plan.note.state import LONG_STYLES, Reading

BETWEEN_S = 20.0  # from one long pose into the next, where a line says what is done; editorial


def moves_between(reading: Reading, line: Line) -> bool:
    """Take "> dog or all fours, shake out" for what is done between two long poses; say whether it is.

    It is where some line with that sign tells a length, in a class of long poses: the sign then marks what is done.
    """
    yin = reading.style in LONG_STYLES and bool(reading.items) and not (reading.has_signs or reading.has_title)
    tokens = reading.tokens_of(line)
    if not yin or line.form != "remark" or is_done_aside(reading, line):
        return False
    if any(is_size(token) and token.unit == "seconds" for token in tokens) or not _moves(reading, line):
        return False
    if reading.asides_done is None:
        reading.asides_done = any(is_done_aside(reading, other) for other in reading.lines if other.form == "remark")
    if not reading.asides_done:
        return False
    place = Place(line.number, line.column())
    add_parts(
        reading, line, (Element("pause", line.text, place, length=exactly("seconds", BETWEEN_S)),), None, sure=True
    )
    return True


def _moves(reading: Reading, line: Line) -> bool:
    """Whether it names a movement, or one that was done above: "legs long, bounce knees", "same", not "breathe"."""
    moved = any(token.match or token.says("moves", "again.same", "once.pause") for token in reading.tokens_of(line))
    return moved or reading.scanner.lexicon.passes(spelled(line.text))


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
