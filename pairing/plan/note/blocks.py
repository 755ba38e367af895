"""Lines that head the block of lines below them, by place and minutes alone: "hips on the floor 20" below a blank line.

What such a line names need not be known. Its minutes are those of all that stands below it up to the next blank line:
where those lines tell about as much themselves they keep it, where they tell nothing they only say what is done in it.
"""

import itertools
import re
from collections.abc import Sequence

from pairing.model import Length, Side
from pairing.plan.kinds import kind_named
from pairing.plan.line.amounts import exactly
from pairing.plan.line.chunks import is_size
from pairing.plan.line.sides import sides_joined
from pairing.plan.lines import Line
from pairing.plan.loose import BULLETS, SHORTEST_LOUD, Loose, are_details
from pairing.plan.note.nested import hold_of
from pairing.plan.note.parting import rests_itself, tells_s
from pairing.plan.note.state import LONG_STYLES, Reading
from pairing.plan.refs import without_manner
from pairing.plan.tokens import Token

_TIME = re.compile(r"(?:[01]?\d|2[0-3])[:.h][0-5]\d\s*(?:[ap]\.?m\.?|uhr)?", re.IGNORECASE)
_CELL = re.compile(r"\S\s*\t\s*[x×]?\s?\d")  # an amount behind a tab
LEAST_CELLED, MOST_CELLED = 6, 0.6  # lines with one, and their share; editorial
LEAST_COUNTED, MOST_COUNTED = 3, 0.7  # numbered lines, and how many of them stand above others; editorial
LEAST_LINES = 2  # of a block below its heading, where it has minutes; editorial
MOST_LINES = 60  # of a block that are looked at
LEAST_MINUTES, MOST_MINUTES = 3, 45  # of such a heading, as a bare number; editorial
LEAST_FILLED = 0.5  # of the minutes behind a colon, told by the lines below it; editorial
LEAST_TOLD, MOST_TOLD = 0.3, 1.6  # of these minutes, by lines that tell their own; editorial
MOST_TELLING = 0.2  # of them, by lines that only say what is done; editorial
TITLE_LINES = 1
LEAST_LISTED = 3  # times as many lines have a bullet as tell a size without one; editorial
MOST_ROUNDS = 20
MOST_WORDS = 8  # of such a heading; editorial


def block_heading(reading: Reading, line: Line, at: int) -> Loose | None:
    """Read a line as the heading of the block below it; None where it is none."""
    if _is_counted_head(reading, line, at):
        return _counted_head(reading, line)
    if marked := _marked_head(reading, line, at):
        return marked
    if _is_time_of_day(reading, line):
        return Loose(name=line.text, says="the time of day")
    if named := _before_colon(reading, line, at) or _above_its_list(reading, line, at):
        return named
    if sided := _sided_block(reading, line, at):
        return sided
    if _is_above_cells(reading, line, at):
        tokens = sides_joined(reading.tokens_of(line))
        both = any(token.says("sides.each") for token in tokens)
        name, side = line.text.strip(" :"), None if both else _side(tokens)
        return Loose(name=name, kind=kind_named(name), side=side, both=both, says="the lines below it")
    apart = (
        line.raw.lstrip()[:1] not in BULLETS and line.number not in reading.front and line.number not in reading.rows
    )
    minutes_each = reading.style in LONG_STYLES or reading.counts_minutes()  # "butterfly 5" is a pose
    minutes_each = minutes_each and not _is_above_bullets(reading, at)
    if reading.has_signs or at == 0 or not apart or minutes_each or not (line.first or _is_above_bullets(reading, at)):
        return None
    tokens = reading.tokens_of(line)
    if rests_itself(reading, line):
        return None
    if sided := _sided_list(reading, line, at, tokens):
        return sided
    head, minutes = _head_and_minutes(tokens)
    words = sum(token.kind not in ("mark", "aside") for token in head)
    joined = sides_joined(head)
    of_all = _says_both(joined) and any(token.says("again.all") for token in head)  # "side kicks, all R then L (8)"
    if not minutes or not words or words > MOST_WORDS + 4 * of_all or any(map(is_size, head)):
        return None
    if _names_pose(head) and not of_all:
        return None
    below = _block(reading, at)
    both = any(token.says("sides.each") for token in joined) or _says_both(joined)
    told_s = sum(tells_s(reading, each) for each in below) * (2 if both else 1)
    share = told_s / minutes.likely
    sized = any(is_size(token) for each in below for token in reading.tokens_of(each))
    details = bool(below) and share <= MOST_TELLING and (_is_above_bullets(reading, at) or not sized)
    if not details and (len(below) < LEAST_LINES or not LEAST_TOLD <= share <= MOST_TOLD):
        return None
    name = " ".join(token.text for token in head if token.kind not in ("mark", "aside"))
    return Loose(
        name=name,
        kind=kind_named(name),
        side=None if both else _side(joined),
        both=both and not details,
        minutes=minutes if details else None,
        told=minutes,
        block=details,
        peak=any(token.says("kinds.peak") for token in head),
        notes=tuple(token.text for token in head if token.kind == "aside"),
        says="the lines below it",
    )


def _is_counted_head(reading: Reading, line: Line, at: int) -> bool:
    """Whether it is one of several numbered lines, nearly each above lines without a number: those head the others."""
    if reading.has_signs or not _is_numbered(line) or line.number in reading.front:
        return False
    if reading.counted_heads is None:
        marked = [place for place, each in enumerate(reading.lines) if _is_numbered(each)]
        above = [place for place in marked if _has_lines_below(reading, place)]
        most = len(marked) >= LEAST_COUNTED and len(above) >= MOST_COUNTED * len(marked)
        reading.counted_heads = most and all(reading.lines[place].level == line.level for place in marked)
    outside = [token for token in reading.tokens_of(line) if token.kind != "aside"]
    sizes = [token for token in outside if is_size(token) and not _counts_rounds(token)]
    return reading.counted_heads and _has_lines_below(reading, at) and not sizes


def _counts_rounds(token: Token) -> bool:
    return token.kind == "times" and token.says("units.rounds")


def _is_numbered(line: Line) -> bool:
    return line.form == "item" and line.raw.lstrip()[:1].isdigit()


def _has_lines_below(reading: Reading, at: int) -> bool:
    below = reading.lines[at + 1] if at + 1 < len(reading.lines) else None
    return below is not None and below.form == "text" and not below.first


def _counted_head(reading: Reading, line: Line, *, says: str = "by its number") -> Loose:
    tokens = sides_joined(reading.tokens_of(line))
    name = " ".join(token.text for token in tokens if token.kind not in ("mark", "aside"))
    both = any(token.says("sides.each") for token in tokens) or _says_both(tokens)
    rounds = next((max(1, min(int(token.low), MOST_ROUNDS)) for token in tokens if _counts_rounds(token)), 1)
    side, says = None if both else _side(tokens), says + (", first right, then left" if both else "")
    return Loose(name=name, kind=kind_named(name), side=side, both=both, rounds=rounds, says=says)


def _marked_head(reading: Reading, line: Line, at: int) -> Loose | None:
    """ "-- Floor 12'", "2 - warm up (8 mins)": a mark in front heads the lines without one, whatever their minutes."""
    if not _marks_heads(reading) or line.form != "item" or not _has_lines_below(reading, at):
        return None
    tokens = reading.tokens_of(line)
    flat = sides_joined([part for token in tokens for part in (token.inner if token.kind == "aside" else (token,))])
    sizes = [token for token in flat if is_size(token)]
    minutes = sizes[0].length if len(sizes) == 1 and sizes[0].kind == "length" and _is_minutes(sizes[0]) else None
    outside = [token for token in tokens if token.kind != "aside"]
    if (sizes and minutes is None) or (_names_pose(outside) and minutes is None) or ":" in line.text:
        return None
    below = list(itertools.takewhile(lambda each: each.form == "text", reading.lines[at + 1 : at + 1 + MOST_LINES]))
    both = any(token.says("sides.each") for token in flat) or _says_both(flat)
    told_s = sum(tells_s(reading, each) for each in below) * (2 if both else 1)
    sized = sum(any(map(is_size, reading.tokens_of(each))) for each in below)
    tell = sized >= MOST_COUNTED * len(below)
    details = minutes is not None and not tell and are_details(told_s, minutes)
    name = " ".join(token.text for token in outside if token.kind != "mark" and not is_size(token))
    return Loose(
        name=name or "Part",
        kind=kind_named(name),
        side=None if both else _side(flat),
        both=both and not details,
        minutes=minutes if details else None,
        told=minutes,
        block=details,
        peak=any(token.says("kinds.peak") for token in tokens),
        says="by its mark",
    )


def _marks_heads(reading: Reading) -> bool:
    """Whether lines with a mark stand above those without one, which do something, in most of a note."""
    if reading.marks_heads is None:
        lines = reading.lines[TITLE_LINES:]
        marked = [at for at, line in enumerate(reading.lines) if at >= TITLE_LINES and line.form == "item"]
        above = [at for at in marked if _has_lines_below(reading, at)]
        plain = [line for line in lines if line.form == "text"]
        most = not reading.has_signs and len(above) >= LEAST_COUNTED and 2 * len(above) >= len(marked)
        most = most and len(plain) > len(marked) and not reading.front and not reading.rows
        named = sum(any(map(_does, reading.tokens_of(line))) for line in plain) if most else 0
        reading.marks_heads = most and named >= MOST_COUNTED * len(plain)
    return reading.marks_heads


def _does(token: Token) -> bool:
    return is_size(token) or (token.kind == "pose" and not token.broad)


def _is_time_of_day(reading: Reading, line: Line) -> bool:
    """ "2.00" by itself, in a note with other such times."""
    times = (each for each in reading.lines if _TIME.match(each.raw.strip()))
    return (
        not reading.has_signs and _TIME.fullmatch(line.text) is not None and len(list(itertools.islice(times, 2))) > 1
    )


def _sided_list(reading: Reading, line: Line, at: int, tokens: Sequence[Token]) -> Loose | None:
    """ "Seq. 1 (R then L)", "side lying R" above a list: it is done on both sides, or on one, whatever its name."""
    flat = [part for token in tokens for part in (token.inner if token.kind == "aside" else (token,))]
    outside = [token for token in tokens if token.kind != "aside"]
    both = any(token.says("sides.each") for token in sides_joined(flat)) or _says_both(flat)
    side = None if both else _side(flat)
    sized = any(is_size(token) and token.kind != "number" for token in flat)
    again = any(token.says("again") and not token.says("again.all") for token in flat)
    if sized or again or not (both or side) or len(outside) > MOST_WORDS:
        return None
    bullets, listed = _is_above_bullets(reading, at), _is_above_list(reading, at) and line.form == "text"
    if not (bullets or listed) or (_names_pose(outside) and not (line.first and side)):
        return None
    name = " ".join(token.text for token in outside if token.kind != "mark" and not token.says("sides"))
    says = "first right, then left" if both else f"on the {side}"
    return Loose(name=name or "Part", kind=kind_named(name), side=side, both=both, says=says)


def _sided_block(reading: Reading, line: Line, at: int) -> Loose | None:
    """ "Heart of it, r side first, l after, 2 rounds" between a blank line and others: they are done on both sides."""
    below = reading.lines[at + 1] if at + 1 < len(reading.lines) else None
    above = line.first and at > 0 and below is not None and not below.first and below.form == line.form
    if reading.has_signs or not above or line.number in reading.front or line.number in reading.rows:
        return None
    tokens = reading.tokens_of(line)
    sizes = [token for token in tokens if is_size(token) and not _counts_rounds(token)]
    shouted = line.text.split()[0].isupper() and len(tokens[0].text) > SHORTEST_LOUD  # "SIDE - all R first, then L"
    opens = tokens[0].kind in ("word", "unknown")
    opens = opens and (shouted or not tokens[0].says("again", "sides", "join", "once"))
    if not opens or sizes or not _says_both(tokens) or _names_pose(tokens) or len(tokens) > 2 * MOST_WORDS:
        return None
    if any(token.says("again.same", "again.repeat") for token in tokens):
        return None
    return _counted_head(reading, line, says="the lines below it")


def _above_its_list(reading: Reading, line: Line, at: int) -> Loose | None:
    """ "ground", "wave 1 (R/L, 5 br ea)" above bullets, where all that is done in the note has one."""
    if not _heads_lists(reading) or line.form != "text" or not _is_above_bullets(reading, at):
        return None
    if line.number in reading.front or line.number in reading.rows:
        return None
    tokens = reading.tokens_of(line)
    flat = [part for token in tokens for part in (token.inner if token.kind == "aside" else (token,))]
    _, manner = without_manner(flat)
    outside = [token for token in tokens if token.kind != "aside"]
    named = [behind for before, behind in itertools.pairwise(flat) if before.kind in ("word", "unknown")]
    sized = [token for token in flat if not (token.kind == "number" and token in named)]  # "wave 1"
    hold = hold_of(sides_joined(sized)) or (exactly("breaths", 1.0) if manner else None)
    if any(map(is_size, outside)) and (_names_pose(outside) or not _says_how(outside, hold)):
        return None
    joined = sides_joined(flat)
    both = any(token.says("sides.each") and not token.says("join.each") for token in joined) or _says_both(joined)
    rounds = next((int(token.low) for token in flat if token.kind == "times"), 1)
    name = " ".join(token.text for token in outside if token.kind != "mark" and not token.says("sides"))
    return Loose(
        name=name or "Part",
        kind=kind_named(name),
        side=None if both else _side(joined),
        both=both,
        rounds=max(1, min(rounds, MOST_ROUNDS)),
        hold=hold,
        peak=any(token.says("kinds.peak") for token in tokens),
        says="the lines below it",
    )


def _is_above_cells(reading: Reading, line: Line, at: int) -> bool:
    """ "Behind the chair" above "calf raises", a tab and "2 x 10", where nearly all lines have amounts behind tabs."""
    below = reading.lines[at + 1] if at + 1 < len(reading.lines) else None
    apart = below is not None and _has_cell(below) and not _has_cell(line) and line.number not in reading.rows
    if not apart or reading.has_signs or at < TITLE_LINES or line.number in reading.front:
        return False
    if reading.cells is None:
        celled = sum(map(_has_cell, reading.lines))
        reading.cells = celled >= LEAST_CELLED and celled >= MOST_CELLED * len(reading.lines)
    outside = [token for token in reading.tokens_of(line) if token.kind != "aside"]
    return reading.cells and not any(map(is_size, outside)) and len(outside) <= MOST_WORDS


def _has_cell(line: Line) -> bool:
    return _CELL.search(line.raw.strip()) is not None


def _says_how(outside: Sequence[Token], hold: Length | None) -> bool:
    """Whether sizes of a heading are those of its name, its rounds, or what is held in it."""
    sizes = [token for token in outside if is_size(token)]
    named = [behind for before, behind in itertools.pairwise(outside) if before.kind in ("word", "unknown")]
    return all(size.kind == "times" or size in named or hold is not None for size in sizes)


def _heads_lists(reading: Reading) -> bool:
    """Whether lines with bullets do nearly all that the note names, below lines without."""
    if reading.heads_lists is None:
        lines = reading.lines[TITLE_LINES:]
        bullets = sum(line.form == "item" and line.raw.lstrip()[:1] in BULLETS for line in lines)
        heads = [at for at in range(TITLE_LINES, len(reading.lines)) if _is_above_bullets(reading, at)]
        heads = [at for at in heads if reading.lines[at].form == "text"]
        others = [line for line in lines if line.form == "text"]
        done = sum(any(map(is_size, reading.tokens_of(line))) for line in others) if bullets else 0
        reading.heads_lists = len(heads) >= LEAST_COUNTED and bullets >= LEAST_LISTED * max(1, done)
    return reading.heads_lists


def _before_colon(reading: Reading, line: Line, at: int) -> Loose | None:
    """ "Lunges:", "Ground: 8 mins", "Standing: 10ish" right above lines: whatever it names, it heads them."""
    if not _is_before_colon(reading, at) or line.number in reading.front or line.number in reading.rows:
        return None
    tokens = reading.tokens_of(line)
    below = list(
        itertools.takewhile(
            lambda place: not reading.lines[place].first and not _is_before_colon(reading, place),
            range(at + 1, min(at + 1 + MOST_LINES, len(reading.lines))),
        )
    )
    colon = next(place for place, token in enumerate(tokens) if token.text == ":")
    size = next((token for token in tokens[colon:] if is_size(token)), None)
    minutes = _as_minutes(size) if size is not None else None
    told_s = sum(tells_s(reading, reading.lines[place]) for place in below)
    details = minutes is not None and are_details(told_s, minutes)
    sized = sum(any(map(is_size, reading.tokens_of(reading.lines[place]))) for place in below)
    fits = minutes is not None and LEAST_FILLED * minutes.likely <= told_s <= MOST_TOLD * minutes.likely
    if minutes is not None and not fits and (not details or sized >= MOST_COUNTED * len(below)):
        return None  # "arrive: 5 min" above lines with minutes of their own
    name = " ".join(token.text for token in tokens[:colon] if token.kind != "mark")
    return Loose(
        name=name,
        kind=kind_named(name),
        rounds=max(1, min(int(tokens[0].low), MOST_ROUNDS)) if tokens[0].kind == "times" else 1,
        minutes=minutes if details else None,
        told=minutes,
        block=details,
        peak=any(token.says("kinds.peak") for token in tokens),
        says="the lines below it",
    )


def _is_before_colon(reading: Reading, at: int) -> bool:
    """Whether a line is a name, a colon and at most minutes, and another stands right below it."""
    line, below = reading.lines[at], reading.lines[at + 1] if at + 1 < len(reading.lines) else None
    if reading.has_signs or line.form != "text" or ":" not in line.text or below is None or below.first:
        return False
    tokens = [token for token in reading.tokens_of(line) if token.kind != "aside"]
    colon = next((place for place, token in enumerate(tokens) if token.text == ":"), 0)
    behind = [token for token in tokens[colon + 1 :] if token.kind != "mark"]
    head = tokens[:colon]
    named = (
        bool(head) and not any(map(is_size, head)) and not any(token.says("sides", "again", "how") for token in head)
    )
    named = named or (len(head) == 1 and head[0].kind == "times" and head[0].says("units.rounds"))  # "3 sets:"
    few = len(behind) <= 1 and all(map(_is_minutes, behind))
    return named and few and len(head) <= MOST_WORDS and below.form in ("text", "item")


def _is_above_list(reading: Reading, at: int) -> bool:
    below = reading.lines[at + 1] if at + 1 < len(reading.lines) else None
    return below is not None and below.form == "item" and not below.first


def _is_above_bullets(reading: Reading, at: int) -> bool:
    below = reading.lines[at + 1] if at + 1 < len(reading.lines) else None
    return below is not None and below.form == "item" and below.raw.lstrip()[:1] in BULLETS


def _block(reading: Reading, at: int) -> list[Line]:
    """The lines below this one up to the next blank line; of bullets, those with one."""
    lines = itertools.islice(reading.lines, at + 1, at + 1 + MOST_LINES)
    if _is_above_bullets(reading, at):
        return list(itertools.takewhile(lambda each: each.form == "item", lines))
    return list(itertools.takewhile(lambda each: not each.first and each.form in ("text", "item"), lines))


def _head_and_minutes(tokens: Sequence[Token]) -> tuple[Sequence[Token], Length | None]:
    """The name of a heading, and the minutes at its end: "standing 12-13", "core (8)", "story (12 mins or so)"."""
    found = [token for token in tokens if token.kind != "mark"]
    last = found[-1] if found else None
    if last is not None and last.kind == "aside":
        inner = [token for token in last.inner if is_size(token)]
        if len(inner) == 1 and _is_minutes(inner[0]):
            return [token for token in tokens if token is not last], _as_minutes(inner[0])
        last = found[-2] if len(found) > 1 else None  # "hips 20 (main bit)"
    if last is not None and _is_minutes(last):
        return [token for token in tokens if token is not last], _as_minutes(last)
    return tokens, None


def _is_minutes(token: Token) -> bool:
    if token.kind == "length":
        return token.unit == "seconds" and token.low >= 60.0 * LEAST_MINUTES
    return token.kind == "number" and LEAST_MINUTES <= token.low <= token.high <= MOST_MINUTES


def _as_minutes(token: Token) -> Length:
    if token.kind == "length":
        return token.length
    return Length("seconds", 30.0 * (token.low + token.high), 60.0 * token.low, 60.0 * token.high)


def _names_pose(head: Sequence[Token]) -> bool:
    """Whether it names something that is done itself, and no part of a class: "warrior 2", not "side kick series"."""
    series = [token for token in head if token.says("kinds") and token.match is None]
    named = any(token.kind == "pose" and not (token.broad or token.picture or token.says("kinds")) for token in head)
    return named and not series


def _says_both(head: Sequence[Token]) -> bool:
    sides = [any(token.says(f"sides.{side}") for token in head) for side in ("right", "left")]
    return all(sides)


def _side(head: Sequence[Token]) -> Side | None:
    right, left = (any(token.says(f"sides.{side}") for token in head) for side in ("right", "left"))
    return None if right == left else "right" if right else "left"
