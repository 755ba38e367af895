"""What a line was read as finds its place in the class; what it lacks is asked."""

import re
from dataclasses import replace

from pairing.model import Element, Group, Kind, Length, Place
from pairing.plan.elements import Result
from pairing.plan.fronts import Front
from pairing.plan.headings import EDGE, Opened
from pairing.plan.kinds import kind_named
from pairing.plan.language import spelled
from pairing.plan.line.chunks import is_size
from pairing.plan.line.moves import Line as Said_line
from pairing.plan.lines import Line
from pairing.plan.note.outside import remark
from pairing.plan.note.partly import Part, all_timed, complete, last_element, lasting, told_s
from pairing.plan.note.state import LONG_STYLES, Item, Reading
from pairing.plan.poses import PoseTable
from pairing.plan.refs import on_side
from pairing.plan.said import Fault
from pairing.plan.says import says_of_parts
from pairing.plan.tokens import Token
from pairing.plan.write import write_element

MOST_MINUTES = 20  # a bare number behind the name of a part of a class; editorial
MUCH_LESS, LEAST_OWN_S = 0.25, 60.0  # told of the time up to the next line of a clock, it is no length; editorial
LEAST_EACH_S = 30.0  # "3' each" of what isn't known is of each side; editorial
LEAST_REST_S = 120.0  # of a closing rest; editorial
LEAST_STROKES = 2
RINGS_S, RISES_S = 5.0, 10.0  # a stroke of a bell dies away, one sits up from lying; editorial


def add_parts(
    reading: Reading, line: Line, parts: tuple[Part, ...], front: Front | None, *, sure: bool, strict: bool = False
) -> None:
    """Put parts into the class, for as long as the time in front of their line says."""
    group = reading.stack[-1]
    loose = reading.loose.get(group.line.number)
    if front is None and not reading.has_signs:
        parts = _rung(reading, line, parts)
    if loose is not None and loose.hold is not None:
        parts = tuple(_held(part, loose.hold, reading.table) for part in parts)
    if loose is not None and loose.each_side:
        parts = tuple(_on_each_side(part, reading.table) for part in parts)
    rounds = loose.rounds if loose is not None else (group.said.rounds or 1)
    if rounds > 1 and not reading.has_signs:
        parts = tuple(_each_round(part) for part in parts)
    if group.side:
        parts = on_side(parts, group.side, reading.table)
    told = all_timed(parts) and any(map(_tells_time, reading.tokens_of(line)))
    if front is not None and front.length_s and sum(map(told_s, parts)) < min(MUCH_LESS * front.length_s, LEAST_OWN_S):
        told = False  # "5:30 lying down, 4 ct in, 6 ct out", up to 5:35
    if front is not None and front.length_s and (line.number in reading.rows or not told):
        minutes = Length("seconds", front.length_s, front.length_s, front.length_s)
        parts = lasting(parts, minutes, line)
    start = len(group.parts)
    group.parts.extend(parts)
    reading.keep(Item(line, group, start, len(group.parts), complete=complete(parts, reading.table)))
    reading.again_means = None
    reading.rested = reading.rested or (bool(parts) and _rests_long(parts[-1], front))
    reading.last_item = line
    reading.said(line, says_of_parts(parts, reading.table), sure=sure, parts=parts, strict=strict)


def _rung(reading: Reading, line: Line, parts: tuple[Part, ...]) -> tuple[Part, ...]:
    """ "Bell x3, sit up": several strokes die away one after the other before anything else is done."""
    only = parts[0] if len(parts) == 1 and isinstance(parts[0], Element) else None
    if only is None or only.what != "bell" or not only.times or only.times < LEAST_STROKES:
        return parts
    rises = any(token.kind == "pose" or token.says("passing") for token in reading.tokens_of(line))
    rises = rises or reading.scanner.lexicon.passes(spelled(only.note))
    length_s = RINGS_S * only.times + (RISES_S if rises else 0.0)
    length = Length("seconds", length_s, length_s, length_s)
    return (only, Element("silence", "", Place(line.number, line.column()), length=length))


def _held(part: Part, hold: Length, table: PoseTable) -> Part:
    """Give a pose without a size the hold that the heading tells for each."""
    if isinstance(part, Group):
        return replace(part, parts=tuple(_held(inner, hold, table) for inner in part.parts))
    open_ = part.what == "pose" and part.length is None and part.times is None
    return replace(part, length=hold) if open_ and not table.compound(part.pose_id or "") else part


def _on_each_side(part: Part, table: PoseTable) -> Part:
    """Give a pose that has two sides both of them, as the heading asks for."""
    if isinstance(part, Group):
        return part
    sided = part.pose_id is not None and part.side is None and table.get(part.pose_id).sided
    return replace(part, each_side=True) if sided else part


def _each_round(part: Part) -> Part:
    """A rest among the lines of a part that is done several times comes in each of its rounds."""
    return replace(part, every_time=True) if isinstance(part, Element) and part.what == "pause" else part


def _tells_time(token: Token) -> bool:
    return is_size(token) and token.kind not in ("number", "times")


def _rests_long(part: Part, front: Front | None) -> bool:
    """Whether it is the closing rest, by its pose and its length, where one is told."""
    rest = last_element(part)
    if rest is None or rest.pose_id != "corpse":
        return False
    return front is not None or rest.length is None or rest.length.likely >= LEAST_REST_S


def add_gap(reading: Reading, line: Line, said: Said_line, front: Front | None, faults: list[Fault]) -> None:
    """A line that names nothing known keeps its length and its place."""
    group = reading.stack[-1]
    length = said.shared.lengths[0] if said.shared.lengths else None
    if (
        length is not None
        and not said.notes
        and not _letters(line.text, said)
        and not (group.parts or group.unnamed or _holds(reading, line))
        and group.said.length is None
    ):
        group.said.length = length
        group.said.told.add("length")
        reading.problems.liberties_of(line, [f'"{line.text}" is read as the length of "{group.name}"'])
        reading.said(line, f"the length of {group.name}")
        return
    kind = next((kind_named(token.text) for token in reading.tokens_of(line) if token.says("kinds")), None)
    name = re.split(r"[,;(\[<{]|\s\d", line.text)[0].strip(EDGE) or line.text.strip(EDGE) or "?"
    times = int(said.shared.times[0][0]) if said.shared.times else None
    if length is None and said.shared.numbers:
        low, high = said.shared.numbers[0]
        length = Length("seconds", (low + high) / 2, low, high) if low >= 30 else None
        minutes = kind is not None and high <= MOST_MINUTES and said.shared.side is None  # "relaxation 8"
        if (reading.style in LONG_STYLES and high < 30) or minutes or reading.counts_minutes():
            length = Length("seconds", 30 * (low + high), 60 * low, 60 * high)
    off = any(token.says("intervals.rest") for token in reading.tokens_of(line))  # "1 min off"
    if (kind is Kind.REST or off) and length is not None and _rests_short(reading, length):
        element = Element("pause", name, Place(line.number, line.column()), length=length)
        add_parts(reading, line, (element,), front, sure=True)
        return
    if kind is Kind.REST and length is not None:
        element = Element("pose", name, Place(line.number, line.column()), pose_id="corpse", length=length)
        add_parts(reading, line, (element,), front, sure=True)
        return
    if length is None and times is None and front is None and _is_only_a_cue(reading, line):
        remark(reading, line)
        return
    tokens = reading.tokens_of(line)
    whole = length is not None and any(token.says("top.total") for token in tokens)  # "3 goes, 10 min altogether"
    element = Element("gap", name, Place(line.number, line.column()), length=length, times=None if whole else times)
    side, long = said.shared.side, length is not None and length.likely >= LEAST_EACH_S
    if side == "each" or (
        said.shared.each and times is None and long and length is not None and length.unit == "seconds"
    ):
        element = replace(element, each_side=True)
    elif side:
        element = replace(element, side=side)
    timed = (length is not None and length.unit == "seconds") or bool(front and front.length_s)
    named = timed and any(token.says("kinds", "easy") for token in tokens)
    named = named or (timed and long and reading.scanner.lexicon.needs_no_pose(spelled(line.text)))
    add_parts(reading, line, (element,), front, sure=named)
    if not named:
        sized_only = all(is_size(token) or token.kind == "mark" for token in reading.tokens_of(line))
        kept = write_element(element).removeprefix("- ") if length is not None and front is None else ""
        ask_unknown(reading, line, "" if sized_only else name, faults, kept=kept)


def _rests_short(reading: Reading, length: Length) -> bool:
    return length.unit == "breaths" or length.likely <= 120


def _is_only_a_cue(reading: Reading, line: Line) -> bool:
    """Nothing in it could be a movement: a question mark, a link, many words."""
    if any(map(is_size, reading.tokens_of(line))) and any(token.says("sides") for token in reading.tokens_of(line)):
        return False
    return len(line.text.split()) > 12 or "?" in line.text or "://" in line.text


def ask_unknown(reading: Reading, line: Line, name: str, faults: list[Fault], taken: str = "", kept: str = "") -> None:
    """Ask what a name that no pose has means; see `Problems.ask_pose`."""
    reading.problems.ask_pose(line, name, reading.table, faults, taken, kept)


def speaks_of_others(reading: Reading, line: Line, result: Result, group: Opened) -> bool:
    """Take a line that is no element but says how the others are done; say whether it was one."""
    said = group.said
    if result.rounds and group.parts and said.rounds is None and group.line.form == "heading":
        said.rounds = result.rounds
        meaning = f'"{result.rounds} rounds" of "{group.name}"'
    elif result.length and not group.parts and said.length is None and group.name and not _holds(reading, line):
        said.length = result.length
        said.told.add("length")
        meaning = f'the length of "{group.name}"'
    elif result.alternative and group.parts and isinstance(group.parts[-1], Element):
        last = group.parts[-1]
        group.parts[-1] = replace(last, alternatives=(*last.alternatives, result.alternative))
        meaning = "an alternative to the line above"
    else:
        return False
    reading.problems.liberties_of(line, [f'"{line.text}" is read as {meaning}'])
    reading.said(line, meaning)
    return True


def _holds(reading: Reading, line: Line) -> bool:
    """ "Hold 20 s", first below a heading without signs: what is done there, not how long all of it takes."""
    return not reading.has_signs and any(token.says("how.hold") for token in reading.tokens_of(line))


def is_note_below(reading: Reading, line: Line, group: Opened) -> bool:
    """Whether a line that names no pose is set in below one that does, and holds no number."""
    above = reading.last_item
    deeper = above is not None and line.level >= above.level + 2
    return deeper and bool(group.parts) and isinstance(group.parts[-1], Element) and not re.search(r"\d", line.text)


def note_below(reading: Reading, line: Line, group: Opened) -> None:
    """Take a line as a note to the one above."""
    last = group.parts[-1]
    bare = re.sub(r"[()\[\]<>{}]", "", line.text).strip()
    group.parts[-1] = replace(last, note="; ".join(filter(None, (last.note, bare))))
    reading.problems.liberties_of(line, [f'"{line.text}" is read as a note to the line above'])
    reading.said(line, "a note to the line above")


def _letters(text: str, said: Said_line) -> bool:
    return bool(said.notes or said.label)
