"""Lines that stand behind the lines of a heading without signs, though nothing says so."""

from pairing.model import Element
from pairing.plan.headings import Opened
from pairing.plan.line.sides import sides_joined
from pairing.plan.lines import Line
from pairing.plan.note.partly import last_element
from pairing.plan.note.state import Reading
from pairing.plan.tokens import Token

MOST_ITEMS = 40  # lines of a part that are looked at
LEAST_APART_S = 90.0  # of a line that is no exercise of a circuit; editorial
CORPSE_ID = "corpse"
VINYASA_ID = "vinyasa"


def leaves_part(reading: Reading, line: Line) -> bool:
    """Whether a line stands behind the lines of a heading without signs.

    Below lines that are set in, below a blank line, numbered as the heading is, done on both sides where all else is,
    or no level of a pyramid.
    """
    opened = reading.stack[-1] if reading.stack else None
    loose = reading.loose.get(opened.line.number) if opened else None
    if opened is None or opened.line.form == "heading":
        return False
    if loose is None:
        return _is_done_again(opened) and line.first and _ends_list(reading, line)
    if loose.indented:
        return line.level <= opened.line.level
    if not opened.parts:
        return False
    if loose.block and (line.first or _ends_list(reading, line)):
        return True
    more = loose.both or opened.side is not None or loose.rounds > 1 or loose.hold is not None
    if more and opened.line.form == "text" and _ends_list(reading, line):
        return True
    if (loose.block or loose.both or opened.side or loose.rounds > 1) and _is_closing_rest(reading, line):
        return True
    if reading.marks_heads and opened.line.form == line.form == "item" and opened.line.level == line.level:
        return True
    if _is_numbered(opened.line) and _is_numbered(line) and not _is_numbered(reading.items_here()[0].line):
        return True
    if loose.intervals and (_is_timed_rest(reading, line) or _is_no_station(reading, line)):
        return True
    if _rests_between(opened) or (loose.rounds > 1 and not loose.both and _stands_by_itself(reading, line)):
        return True
    apart = opened.line.first or reading.places[opened.line.number] == 1  # right below the title
    if loose.rounds > 1 and line.first and apart:
        return True  # a heading with its lines between two blank ones
    if not (loose.both or opened.side):
        return False
    sided = any(token.says("sides.each") for token in sides_joined(reading.tokens_of(line)))
    if line.first or (loose.both and sided and not says_both_itself(reading, opened)):
        return True
    if _rests_behind_vinyasa(reading, line):
        return True
    levels = [item for item in reading.items_here() if _is_level(reading, item.line)]
    return len(levels) > 1 and not _is_level(reading, line)


def says_both_itself(reading: Reading, opened: Opened) -> bool:
    """Whether the lines below a heading of both sides say so too: "R+L" in each row below "all right, then left"."""
    items = reading.items_of.get(id(opened), [])[:MOST_ITEMS]
    said = [any(map(_is_of_both, sides_joined(reading.tokens_of(item.line)))) for item in items if not item.is_repeat]
    return bool(said) and 2 * sum(said) > len(said)


def _is_of_both(token: Token) -> bool:
    return token.says("sides.each")


def _rests_between(opened: Opened) -> bool:
    """Whether the last line of a part is the rest between its rounds."""
    last = opened.parts[-1]
    return isinstance(last, Element) and last.what == "pause" and last.last_round == "not"


def _is_done_again(opened: Opened) -> bool:
    """On both sides, or in rounds: what doesn't belong to it would be done as often."""
    return opened.said.each_side or (opened.said.rounds or 1) > 1


def _is_closing_rest(reading: Reading, line: Line) -> bool:
    """ "Savasana 6 min" is none of the stretches above it."""
    tokens = reading.tokens_of(line)
    poses = [token.match.pose.id for token in tokens if token.match and token.match.pose]
    return poses == [CORPSE_ID] and any(token.kind in ("length", "number") for token in tokens)


def _ends_list(reading: Reading, line: Line) -> bool:
    """A line without a bullet behind those with one."""
    items = reading.items_here()
    return line.form == "text" and bool(items) and items[-1].line.form == "item"


def _rests_behind_vinyasa(reading: Reading, line: Line) -> bool:
    """A resting pose with minutes of its own, behind the vinyasa that ends a flow."""
    tokens = reading.tokens_of(line)
    poses = [token.match.pose for token in tokens if token.match and token.match.pose]
    timed = any(token.kind == "length" and token.unit == "seconds" for token in tokens)
    before = last_element(reading.stack[-1].parts[-1])
    ended = before is not None and before.pose_id == VINYASA_ID
    return ended and timed and len(poses) == 1 and poses[0].family == "rest"


def _is_no_station(reading: Reading, line: Line) -> bool:
    """A line with a length of its own, behind stations that have none: the circuit gives them theirs."""
    sized = [any(map(_is_told, reading.tokens_of(item.line))) for item in reading.items_here()]
    return len(sized) > 1 and not any(sized) and any(map(_is_told, reading.tokens_of(line)))


def _is_told(token: Token) -> bool:
    return token.kind in ("length", "times")


def _stands_by_itself(reading: Reading, line: Line) -> bool:
    """A minute and more, or a rest, behind the exercises of a part that is done several times."""
    lengths = [token for token in reading.tokens_of(line) if token.kind == "length" and token.unit == "seconds"]
    long = any(token.high >= LEAST_APART_S for token in lengths)
    exercises = [item for item in reading.items_here() if not item.is_repeat]
    return len(exercises) > 1 and (long or _is_timed_rest(reading, line))


def _is_timed_rest(reading: Reading, line: Line) -> bool:
    """ "Rest 1 min", behind the stations of a circuit."""
    tokens = [token for token in reading.tokens_of(line) if token.kind != "mark"]
    sized = any(token.kind == "length" for token in tokens)
    return sized and tokens[0].says("once.rest", "once.pause", "intervals.rest")


def _is_level(reading: Reading, line: Line) -> bool:
    tokens = reading.tokens_of(line)
    return bool(tokens) and tokens[0].says("how.level")


def _is_numbered(line: Line) -> bool:
    return line.raw.lstrip().lstrip("(")[:1].isdigit() and line.form == "item"
