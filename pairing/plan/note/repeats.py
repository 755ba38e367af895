"""Lines that speak of those above: "other side", "same again x2", "right side:"."""

import re
from collections.abc import Sequence
from dataclasses import replace

from pairing.model import Element, Group, Length, Place, Side
from pairing.plan.elements import read_element
from pairing.plan.headings import Opened
from pairing.plan.language import spelled
from pairing.plan.line.amounts import exactly
from pairing.plan.line.chunks import is_size
from pairing.plan.line.moves import LINE_GROUP
from pairing.plan.line.sides import sides_joined
from pairing.plan.lines import Line
from pairing.plan.loose import SHORTEST_LOUD
from pairing.plan.note.adding import speaks_of_others
from pairing.plan.note.partly import Part, counted_s, depth, elements, lasting, without_minutes
from pairing.plan.note.state import Item, Reading
from pairing.plan.refs import Reference, again, by_numbers, on_side, reference, up_to_addition, without_manner
from pairing.plan.tokens import Token

LEAST_WAY_BACK = 2  # lines that one can go back down; "58-60 retour" is how a class ends
VINYASA_ID = "vinyasa"
MOST_LABELLED = 40  # lines above that one is likened to
MOST_AGAIN_S = 420.0  # of what a line does again that names neither a part nor all of it; editorial
MOST_AGAIN = 12  # times that what is done again is done again; each doubles it, and no class holds more
MOST_PARTS = 300  # that a line does again: what holds earlier repeats doubles each time; editorial
LEAST_OF_ALL_S = 60.0  # of lines that are done again; editorial
MOST_BETWEEN = 3  # lines between the two sides of a pose; editorial
_OTHER: dict[Side, Side] = {"right": "left", "left": "right"}


def is_rounds(reading: Reading, line: Line) -> bool:
    """ "Repeat x3" at the end of a part with a heading: its rounds."""
    opened = reading.stack[-1] if reading.stack else None
    if opened is None or opened.line.form != "heading" or not opened.parts or opened.said.rounds:
        return False
    result = read_element(line, reading.table)
    return result.rounds is not None and speaks_of_others(reading, line, result, opened)


def is_reference(reading: Reading, line: Line) -> bool:
    """Do lines above once more where a line asks for it; say whether it does."""
    if not reading.items and not reading.stack:
        return False
    if _repeats_numbers(reading, line):
        return True
    if _heads_lines_below(reading, line) or _goes_back_to_a_place(reading, line) or _is_sides_part(reading, line):
        return False
    if any(token.says("once.greet") for token in reading.tokens_of(line)):
        return False  # "retour doux, merci"
    if _turns_over(reading, line):
        return True
    same = any(token.says("again.same", "sides") for token in reading.tokens_of(line))
    if not same and reading.scanner.lexicon.passes(spelled(line.text)):
        return False  # "sit down again", but not "turn over, same on the left"
    if (earlier := _same_further_up(reading, line)) is not None:
        item, side = earlier
        _repeat_lines(reading, line, Reference(side=side), item.opened, item.first, item.last)
        return True
    asked = _so_often(reading, line)
    tokens, minutes = _without_minutes_of_all(reading.tokens_of(line))
    asked = asked or reference(up_to_addition(tokens), _known_names(reading)) or _same_on_side(reading, line)
    if asked is None and _same_so_long(reading, line):
        return True
    half = _other_half(reading, line)
    if half is not None:
        _repeat_lines(reading, line, Reference(side=half[1]), half[0].opened, half[0].first, half[0].last)
        return True
    if asked is None:
        return False
    if _stands_outside(reading, line):
        asked = replace(asked, whole=True, other=False, both=asked.both and not _do_both_sides(reading))
    if _is_right_at_first(reading, line, asked):
        return _begin_side(reading, line, "right")
    if _says_same_again(reading, line):
        reading.said(line, "as the line above says", what="repeat")
        return True
    if asked.side and not asked.whole and not _has_spoken_of_sides(reading, line) and _opens_side(reading, line, asked):
        return True
    if asked.side and reading.stack and not any(_has_a_side(reading, item) for item in reading.items_here()):
        return _begin_side(reading, line, asked.side)  # "now r leg": nothing above could be done on a side
    if not reading.stack or not reading.items_here():
        return _opens_side(reading, line, asked)
    opened, first, last = _meant_parts(reading, asked, line)
    if first >= last or (asked.back_down and last - first < LEAST_WAY_BACK):
        return _opens_side(reading, line, asked)
    if last - first > MOST_PARTS or max(map(depth, opened.parts[first:last])) > MOST_AGAIN:
        return False
    _repeat_lines(reading, line, asked, opened, first, last, minutes)
    return True


def _without_minutes_of_all(tokens: Sequence[Token]) -> tuple[Sequence[Token], Length | None]:
    """ "All that again, both sides ... 3 min", "again both sides (4m)": without the minutes of all of it, and these."""
    last = tokens[-1] if tokens else None
    inner = [part for part in last.inner if part.kind != "mark"] if last is not None else []
    only = inner[0] if len(inner) == 1 else last if last is not None and len(tokens) > 1 else None
    long = only is not None and only.kind == "length" and only.unit == "seconds" and only.low >= LEAST_OF_ALL_S
    again = any(token.says("again") for token in tokens[:-1])
    if not (long and again and only is not None) or (only is last and tokens[-2].text not in ",—:"):
        return tokens, None
    return tokens[:-1], only.length


def _heads_lines_below(reading: Reading, line: Line) -> bool:
    """ "Main bit (R, then L, x2 - 2nd time no holds)" below a blank line and right above others: it speaks of those.

    So does "FLOW - R, L, then both again" above bullets, or in capitals.
    """
    at = reading.places[line.number] + 1
    below = reading.lines[at] if at < len(reading.lines) else None
    if below is None or below.first or reading.has_signs:
        return False
    if not line.first and not _opens_a_part(reading, line, below):
        return False
    named, behind = reading.tokens_of(line)[:1], _flat(reading, line)
    sides = {side for side in ("right", "left") if any(token.says(f"sides.{side}") for token in behind)}
    if named and len(sides) == 2 and _is_shouted_name(line, named[0]) and not any(t.says("again.same") for t in behind):
        return True  # "HOLDS, do R leg then L"
    opens = bool(named) and named[0].kind in ("word", "unknown") and not named[0].says("sides", "join", "how")
    opens = opens and (not named[0].says("again") or (named[0].says("kinds") and below.form == "item"))
    return (
        opens
        and len(sides) == 2
        and any(token.says("units.rounds", "again") or token.kind == "times" for token in behind)
    )


def _turns_over(reading: Reading, line: Line) -> bool:
    """ "Roll over, repeat" in a part that is done on one side: all of it on the other."""
    tokens = reading.tokens_of(line)
    comma = tokens[-2] if len(tokens) > 2 else None
    if comma is None or comma.text not in ",&+" or not tokens[-1].says("again.repeat") or not reading.stack:
        return False
    opened, items = reading.stack[-1], reading.items_here()
    if not items or not opened.side or not reading.scanner.lexicon.passes(spelled(line.text[: comma.start])):
        return False
    side = _OTHER[opened.side]
    _repeat_lines(reading, line, Reference(side=side, whole=True), opened, items[0].first, items[-1].last)
    return True


def _goes_back_to_a_place(reading: Reading, line: Line) -> bool:
    """ "Seated again" right above other lines, in a part of another name: one sits down again, for what comes."""
    at = reading.places[line.number] + 1
    below = reading.lines[at] if at < len(reading.lines) else None
    tokens = [token for token in reading.tokens_of(line) if token.kind != "mark"]
    if below is None or below.first or len(tokens) != 2 or not reading.stack:
        return False
    place, again_said = tokens[0].says("kinds.floor", "kinds.standing"), tokens[1].says("again.repeat")
    return place and again_said and tokens[0].text.lower() not in reading.stack[-1].name.lower().split()


def _opens_a_part(reading: Reading, line: Line, below: Line) -> bool:
    """Whether a line without a blank one above begins with the name of a part, in capitals or above a list."""
    first = reading.tokens_of(line)[:1]
    named = bool(first) and first[0].says("kinds") and not first[0].says("again", "sides")
    lists = below.form == "item" and line.form == "text"
    return named and (lists or _is_shouted_name(line, first[0]))


def _is_sides_part(reading: Reading, line: Line) -> bool:
    """ "SIDE - R then L" between a blank line and others: a part of the class, done on both sides."""
    at, tokens = reading.places[line.number] + 1, reading.tokens_of(line)
    below = reading.lines[at] if at < len(reading.lines) else None
    if not line.first or below is None or below.first or any(token.says("again") for token in tokens):
        return False
    name = tokens[0].text
    shouted = len(name) > SHORTEST_LOUD and name.isupper() and not tokens[0].says("sides.right", "sides.left")
    return shouted and all(any(token.says(f"sides.{side}") for token in tokens) for side in ("right", "left"))


def _is_shouted_name(line: Line, first: Token) -> bool:
    """Whether one word in capitals, and no more of them, opens a line: the name of what is below."""
    shouted = len(first.text) > SHORTEST_LOUD and first.text.isupper() and not line.text.isupper()
    return shouted and not first.says("again", "sides", "join")


def _is_right_at_first(reading: Reading, line: Line, asked: Reference) -> bool:
    """ "RIGHT SIDE" below lines that name no side, above others: those are done on the right first."""
    at = reading.places[line.number] + 1
    below = reading.lines[at] if at < len(reading.lines) else None
    plain = asked.side == "right" and all(token.says("sides") for token in reading.tokens_of(line))
    sided = any(
        token.says("sides.right", "sides.left") for item in reading.items_here() for token in _flat(reading, item.line)
    )
    goes_on = below is not None and not below.first and below.form in ("text", "item")
    opened = reading.stack[-1] if reading.stack else None
    return plain and goes_on and opened is not None and opened.side is None and not sided


def _stands_outside(reading: Reading, line: Line) -> bool:
    """Whether a line speaks of a whole part: it stands as far out as the heading, whose lines are set in."""
    opened = reading.stack[-1] if reading.stack else None
    items = reading.items_here()
    if opened is None or opened.line.number not in reading.loose or not items or line.level > opened.line.level:
        return False
    return all(item.line.level > opened.line.level for item in items[-MOST_LABELLED:])


def _do_both_sides(reading: Reading) -> bool:
    """Do the lines of a part on both sides before they are done again, where its heading says so."""
    opened, items = reading.stack[-1], reading.items_here()
    loose = reading.loose[opened.line.number]
    if loose.both:
        parts = tuple(opened.parts)
        opened.parts[:] = on_side(parts, "right", reading.table)
        opened.parts.extend(again(parts, Place(0), reading.table, Reference(side="left")))
        items[-1].last = len(opened.parts)
        reading.loose[opened.line.number] = replace(loose, both=False)
    return loose.both


def _flat(reading: Reading, line: Line) -> list[Token]:
    return [part for token in reading.tokens_of(line) for part in (token, *token.inner)]


def _says_same_again(reading: Reading, line: Line) -> bool:
    """ "Left side", and "same" below it: once, not twice."""
    last = reading.items_here()[-1:]
    above = reading.places[line.number] - 1
    same = all(token.says("again.same", "join") or token.kind == "mark" for token in reading.tokens_of(line))
    if not same or not last or not last[0].is_repeat or reading.lines[above] is not last[0].line:
        return False
    return all(token.says("sides") or token.kind == "mark" for token in reading.tokens_of(last[0].line))


def _so_often(reading: Reading, line: Line) -> Reference | None:
    """ "x2" by itself: all lines of the part so often, of which one time stands above."""
    tokens = [token for token in reading.tokens_of(line) if token.kind != "mark"]
    counted = len(tokens) <= 2 and bool(tokens) and tokens[0].kind == "times" and tokens[0].low >= 2
    rounds = all(token.says("units.rounds") for token in tokens[1:])
    if not counted or not rounds or line.part or len(reading.items_here()) < 2 or line.number in reading.front:
        return None
    return Reference(times=int(tokens[0].low) - 1, whole=True)


def _repeats_numbers(reading: Reading, line: Line) -> bool:
    """ "11+12 again": lines of the open part by the numbers that the note gives them."""
    tokens = reading.tokens_of(line)
    if not any(token.kind == "number" for token in tokens) or not any(token.says("again", "sides") for token in tokens):
        return False
    numbered = _numbered(reading)
    plain, no_hold = without_manner(tokens)
    found = by_numbers(plain, numbered) if numbered else None
    if found is None:
        return False
    asked, numbers = found
    meant = [item for number, items in numbered.items() if number in numbers for item in items]
    asked = replace(asked, no_hold=asked.no_hold or no_hold)
    _repeat_lines(reading, line, asked, meant[0].opened, meant[0].first, meant[-1].last)
    return True


def _numbered(reading: Reading) -> dict[int, list[Item]]:
    """The lines of the open part by their numbers; those without one are told by that of their heading."""
    opened = reading.stack[-1] if reading.stack else None
    here = _number_of(reading, opened.line) if opened is not None else None
    numbered: dict[int, list[Item]] = {}
    for item in reading.items_here():
        number = _number_of(reading, item.line) or here
        if number:
            numbered.setdefault(number, []).append(item)
    return numbered


def _number_of(reading: Reading, line: Line) -> int | None:
    front, row = reading.front.get(line.number), reading.rows.get(line.number)
    if front is not None and front.number is not None:
        return front.number
    if row is not None and row.number is not None:
        return row.number
    marked = re.match(r"\s*\(?(\d{1,3})[.)/]", line.raw)
    return int(marked[1]) if marked and line.form == "item" else None


def _same_on_side(reading: Reading, line: Line) -> Reference | None:
    """ "Lunge L same", below a line that does the lunge on the right."""
    tokens = [token for token in reading.tokens_of(line) if token.kind != "mark"]
    named = [token for token in tokens if token.match and token.match.pose]
    sides: list[Side] = [side for side in _OTHER if any(token.says(f"sides.{side}") for token in tokens)]
    above = reading.items_here()[-1:]
    if len(named) != 1 or len(sides) != 1 or not above or not any(token.says("again.same") for token in tokens):
        return None
    parts = above[0].opened.parts[above[0].first : above[0].last]
    first = next((part for part in parts if isinstance(part, Element)), None)
    pose = named[0].match.pose if named[0].match else None
    return Reference(side=sides[0]) if first and pose and first.pose_id == pose.id else None


def _same_further_up(reading: Reading, line: Line) -> tuple[Item, Side] | None:
    """ "Dragon L same" below "dragon R ..." and a dog: what is named, not all that stands between."""
    tokens = [token for token in reading.tokens_of(line) if token.kind != "mark"]
    named = [token.match.pose for token in tokens if token.match and token.match.pose and not token.broad]
    sides: list[Side] = [side for side in _OTHER if any(token.says(f"sides.{side}") for token in tokens)]
    plain = len(named) == len(sides) == 1 and any(token.says("again.same") for token in tokens)
    if not plain or any(map(is_size, tokens)):
        return None
    for item in reversed(reading.items_here()[-MOST_BETWEEN - 1 : -1]):
        poses = {part.pose_id for part in elements(_parts_of(item)) if part.side == _OTHER[sides[0]]}
        if not item.is_repeat and named[0].id in poses:
            return item, sides[0]
    return None


def _other_half(reading: Reading, line: Line) -> tuple[Item, Side] | None:
    """ "Swan L", with no length, below "sleeping swan R 4 min" and little else: as long, on the other side."""
    tokens = [token for token in _flat(reading, line) if token.kind != "mark"]
    sides: list[Side] = [side for side in _OTHER if any(token.says(f"sides.{side}") for token in tokens)]
    words = {word for token in tokens if not token.says("sides") for word in token.text.lower().split()}
    if len(sides) != 1 or not words or any(map(is_size, tokens)) or not any(token.match for token in tokens):
        return None
    for item in reversed(reading.items_here()[-MOST_BETWEEN:]):
        parts = _parts_of(item)
        above = {word for token in _flat(reading, item.line) for word in token.text.lower().split()}
        only = parts[0] if len(parts) == 1 and isinstance(parts[0], Element) else None
        if only is not None and only.side == _OTHER[sides[0]] and only.length is not None and words <= above:
            return item, sides[0]
    return None


def _same_so_long(reading: Reading, line: Line) -> bool:
    """ "Same again, grab the back foot, 30s r/l": the pose above once more, for another time."""
    tokens = [token for token in sides_joined(reading.tokens_of(line)) if token.kind != "mark"]
    lengths = [token for token in tokens if token.kind == "length"]
    above = reading.items_here()[-1:]
    parts = _parts_of(above[0]) if above else ()
    only = parts[0] if len(parts) == 1 and isinstance(parts[0], Element) and parts[0].what == "pose" else None
    again_said = bool(tokens) and tokens[0].says("again.same", "again.repeat")
    if only is None or not again_said or len(lengths) != 1 or any(token.kind == "pose" for token in tokens):
        return False
    each = any(token.says("sides.each") for token in tokens)
    place = Place(line.number, line.column())
    done = replace(only, place=place, length=lengths[0].length, times=None, each_side=each or only.each_side, note="")
    opened = reading.stack[-1]
    opened.parts.append(done)
    reading.keep(Item(line, opened, len(opened.parts) - 1, len(opened.parts), complete=done.each_side))
    reading.said(line, "the pose above once more", what="repeat")
    return True


def _has_spoken_of_sides(reading: Reading, line: Line) -> bool:
    tokens = reading.tokens_of(line)
    return any(token.says("again", "sides.other") for token in tokens)


def _opens_side(reading: Reading, line: Line, asked: Reference) -> bool:
    """ "Right side:" above its lines, or "left side" with lines of its own below it."""
    if not asked.side or asked.whole or not reading.stack:
        return False
    here = reading.items_here()
    if here and not line.text.rstrip().endswith(":"):
        return False
    return _begin_side(reading, line, asked.side)


def _begin_side(reading: Reading, line: Line, side: Side) -> bool:
    reading.stack[-1].side, reading.stack[-1].side_from = side, len(reading.stack[-1].parts)
    reading.said(line, f"the {side} side, for the lines below it")
    return True


def _known_names(reading: Reading) -> list[tuple[str, ...]]:
    names = [opened.name for opened in reading.stack] + [section.name for section in reading.sections[-3:]]
    near = reading.items_here()[-MOST_LABELLED:]
    labels = [label for item in near if ":" in item.line.text and (label := _label_of(reading, item.line))]
    return [*(tuple(name.lower().split()) for name in names), *labels]


def _label_of(reading: Reading, line: Line) -> tuple[str, ...]:
    """The words before a colon, sides apart: "Wave R: lunge, twist"."""
    if ":" not in (line.full or line.text):  # many lines are looked at for each that refers to others
        return ()
    tokens = reading.tokens_of(line)
    texts = [token.text for token in tokens]
    before = tokens[: texts.index(":")] if ":" in texts else []  # that of "1:30" is part of a time
    words = [token.text.lower() for token in before if token.kind in ("word", "unknown", "pose", "number")]
    sides = {token.text.lower() for token in before if token.says("sides")}
    return tuple(word for text in words if text not in sides for word in text.split())


def _meant_parts(reading: Reading, asked: Reference, line: Line) -> tuple[Opened, int, int]:
    """The parts that a reference means: first and last in those of the open part."""
    opened = reading.stack[-1]
    items = reading.items_here()
    if _means_line_above(reading, line):
        return opened, items[-1].first, items[-1].last
    words = tuple(asked.named.lower().split())
    labelled = [item for item in items[-MOST_LABELLED:] if words and _label_of(reading, item.line) == words]
    if labelled:
        return opened, labelled[-1].first, labelled[-1].last
    if _is_level(reading, line) and _is_level(reading, items[-1].line):
        return opened, items[-1].first, items[-1].last  # each level holds those before it
    if not (asked.other or asked.side) and reading.again_means and reading.again_means[0] is opened:
        return reading.again_means
    if asked.whole or asked.back_down or line.number in reading.loose or _by_name(reading, asked):
        here = [item for item in items if not item.is_repeat and item.first >= opened.side_from]
        start = here[0] if here else items[0]
        start = _first_named(items, _OTHER[asked.side]) or start if asked.side and not opened.side else start
        return opened, start.first, max(item.last for item in items if not item.is_repeat or asked.both)
    last = items[-1]
    if opened.side and (asked.other or asked.side == _OTHER[opened.side]):  # "Right leg: ...", all of it
        since = [at for at, item in enumerate(items) if item.is_repeat or item.first < opened.side_from]
        return opened, items[min(max(since, default=-1) + 1, len(items) - 1)].first, last.last
    begun = _labelled_side(reading, items, _OTHER[asked.side] if asked.side else None)
    return opened, begun.first if begun else _start_of_side(reading, items), last.last


def _means_line_above(reading: Reading, line: Line) -> bool:
    """ "6.33 same again x2", "   then quicker" below "6.28 flow": what a line of a clock does, and no more."""
    last = reading.items_here()[-1]
    sides = sides_joined(_flat(reading, line))
    if last.is_repeat or any(token.says("sides.right", "sides.left", "sides.other") for token in sides):
        return False
    own, above = reading.front.get(line.number), reading.front.get(last.line.number)
    timed = above is not None and above.length_s is not None and last.line.number not in reading.rows
    return timed and ((own is not None and own.length_s is not None) or line.level > last.line.level)


def _is_level(reading: Reading, line: Line) -> bool:
    return reading.tokens_of(line)[0].says("how.level")


def _first_named(items: list[Item], side: Side) -> Item | None:
    """The first line since the last repeat that says that side: "now r leg, build it up"."""
    since = max((at + 1 for at, item in enumerate(items) if item.is_repeat), default=0)
    return next((item for item in items[since:] if any(_is_on(part, side) for part in _parts_of(item))), None)


def _labelled_side(reading: Reading, items: list[Item], side: Side | None) -> Item | None:
    """The line since the last repeat that begins with a side: "R side: W2, reverse, triangle"."""
    since = max((at + 1 for at, item in enumerate(items) if item.is_repeat), default=0)
    roles = [f"sides.{side}"] if side else ["sides.right", "sides.left"]
    for item in items[since:]:
        tokens = reading.tokens_of(item.line)
        if ":" in item.line.text and tokens[0].says(*roles) and not tokens[0].says("sides.each"):
            return item
    return None


def _has_a_side(reading: Reading, item: Item) -> bool:
    return any(
        part.side or (part.pose_id and reading.table.get(part.pose_id).sided) or part.what == "gap"
        for part in elements(_parts_of(item))
    )


def _parts_of(item: Item) -> Sequence[Part]:
    return item.opened.parts[item.first : item.last]


def _is_on(part: Part, side: Side) -> bool:
    return isinstance(part, Element) and part.side == side


def _by_name(reading: Reading, asked: Reference) -> bool:
    named = asked.named.lower().split()
    name = reading.stack[-1].name.lower().split()
    return bool(named) and any(word in name for word in named)


def _start_of_side(reading: Reading, items: list[Item]) -> int:
    """Where the run of lines begins that has been done on one side only."""
    last = items[-1]
    if last.last - last.first >= 3 or _is_run(reading, last):
        return last.first
    start = last.first
    if last.complete:
        return start
    closes = [part.pose_id for part in elements(_parts_of(last))] == [VINYASA_ID]  # the end of a flow of several lines
    sided = any(part.side for part in elements(_parts_of(last)))
    for item in reversed(items[:-1]):
        if item.complete or item.is_repeat or (_is_run(reading, item) and not closes):
            break
        if sided and not any(part.side for part in elements(_parts_of(item))):
            break  # below "wide fold, lunge R", the left side is that of the lunge
        start = item.first
        if item.line.first:
            break
    return start


def _is_run(reading: Reading, item: Item) -> bool:
    parts = item.opened.parts[item.first : item.last]
    inner = parts[0].parts if len(parts) == 1 and isinstance(parts[0], Group) else parts
    return len(inner) >= 3


def _repeat_lines(
    reading: Reading,
    line: Line,
    asked: Reference,
    opened: Opened,
    first: int,
    last: int,
    minutes: Length | None = None,
) -> None:
    """Do parts once more; `minutes`: what all of it takes, where the line tells it."""
    place = Place(line.number, line.column())
    start = len(opened.parts)
    parts = tuple(opened.parts[first:last])
    other = asked.other or asked.side is not None
    if other and not asked.both:
        opened.parts[first:last] = on_side(parts, _OTHER[asked.side or "left"], reading.table)
        done = again(parts, place, reading.table, replace(asked, side=asked.side or _missing_side(reading, parts)))
        reading.again_means = (opened, first, start + len(done))
    elif asked.back_down:
        done = again(parts, place, reading.table, asked)
    elif asked.both and not _is_whole(reading, opened, first, last) and any(part.side for part in elements(parts)):
        sides: tuple[Side, ...] = ("right", "left")
        done = tuple(
            part for side in sides for part in again(parts, place, reading.table, replace(asked, side=side, both=False))
        )
    elif asked.both and not _is_whole(reading, opened, first, last):
        done = (Group(LINE_GROUP, place, again(parts, place, reading.table, asked), both_sides=True),)
    else:
        done = again(parts, place, reading.table, asked)
    if asked.times > 1 and done:
        done = (Group(LINE_GROUP, place, done, rounds=asked.times),)
    front = reading.front.get(line.number)
    if front is not None and front.length_s and done:  # "20' (left)"
        done = lasting(done, exactly("seconds", front.length_s), line)
    elif minutes is not None and done:
        done = lasting(done, minutes, line)
    if front is None and _means_line_above(reading, line):
        _share_minutes(reading, opened, done)
        start -= 1
    else:
        opened.parts.extend(done)
    opened.side = None if other else opened.side
    reading.keep(Item(line, opened, start, len(opened.parts), complete=True, is_repeat=True))
    if not reading.again_means or reading.again_means[0] is not opened:
        reading.again_means = (opened, first, last)
    reading.said(line, f"the lines above once more{_how(asked)}", what="repeat")
    again_s = sum(counted_s(part, reading.table) for part in done)
    open_ = not (minutes or front or asked.whole or asked.named or opened.side or reading.has_signs)
    reading.echo[line.number].long = open_ and again_s > MOST_AGAIN_S
    if other or asked.both:
        covered = [item.line.number for item in reading.items_here() if first <= item.first < last]
        reading.other_side.update(covered)
    if opened.closed_by:
        opened.closed_by = None


def _share_minutes(reading: Reading, opened: Opened, done: Sequence[Part]) -> None:
    """Let what a line of a clock does, and what is done of it once more, take the time up to the next line."""
    above = reading.items_here()[-1]
    length_s = reading.front[above.line.number].length_s or 0.0
    once = [without_minutes(part) for part in opened.parts[above.first : above.last]]
    parts = (*once, *(without_minutes(part) for part in done))
    group = Group(LINE_GROUP, Place(above.line.number), parts, minutes=exactly("seconds", length_s))
    opened.parts[above.first : above.last] = [group]
    above.last = above.first + 1


def _missing_side(reading: Reading, parts: Sequence[Part]) -> Side | None:
    sides = {part.side for part in parts if isinstance(part, Element) and part.side}
    return _OTHER[sides.pop()] if len(sides) == 1 else "left" if not sides else None


def _is_whole(reading: Reading, opened: Opened, first: int, last: int) -> bool:
    """Whether both sides lie among these parts already."""
    return any(item.is_repeat and item.first < last and item.first >= first for item in reading.items_here())


def _how(asked: Reference) -> str:
    said = [f"on the {asked.side}" if asked.side else "on the other side" if asked.other else ""]
    said += ["on both sides" if asked.both else "", f"{asked.times} times" if asked.times > 1 else ""]
    said += ["without holds" if asked.no_hold else "", "faster" if asked.quick else ""]
    words = ", ".join(filter(None, said))
    return f", {words}" if words else ""
