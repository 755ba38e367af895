"""Headings open the parts of a class, with signs or without; what closes them."""

import itertools
import math
import re
from collections.abc import Sequence
from dataclasses import replace

from pairing.model import Element, Group, Kind, Length, Place, Wishes
from pairing.plan.fronts import Front
from pairing.plan.headings import EDGE, Opened, is_bare_heading, open_group, open_section
from pairing.plan.kinds import kind_named
from pairing.plan.language import spelled
from pairing.plan.line.chunks import is_size
from pairing.plan.line.moves import LINE_GROUP, Around
from pairing.plan.line.moves import Line as Said_line
from pairing.plan.line.parts import parts_of
from pairing.plan.line.read import line_of
from pairing.plan.lines import Line
from pairing.plan.loose import SHORTEST_LOUD, Loose, are_details, loose_heading, might_head
from pairing.plan.note.leaving import says_both_itself
from pairing.plan.note.outside import note_slot
from pairing.plan.note.partly import counted_s, lasting, placed, seconds
from pairing.plan.note.state import Reading
from pairing.plan.note.untils import until
from pairing.plan.problems import Problems
from pairing.plan.refs import Reference, again, is_no_hold, on_side
from pairing.plan.said import Said
from pairing.plan.titles import read_title
from pairing.plan.tokens import Token

LEAST_SIDED = 0.5  # of the lines below a heading tell a side, where they take its minutes one by one; editorial
LEAST_FILLED = 0.75  # of the minutes in brackets, told by lines that are to fill them; editorial
LEAST_REST_S = 120.0  # of a closing rest; editorial
LEAST_PAUSE_S = 45.0  # "water, 1 min" at the end of a part comes once; editorial
CORPSE_ID = "corpse"
LEAST_TELLING, MOST_TELLING = 2, 0.7  # lines that mostly tell their own sizes are no details of a heading; editorial
MOST_DETAILS = 12  # lines below a heading that are looked at


def is_underlined_heading(reading: Reading, line: Line) -> bool:
    """A bare line over a rule is a heading, as in Markdown, unless it is a pose, a key or in a run of lines."""
    if not line.underlined or line.form != "text":
        return False
    return line.underlined == "=" or (line.first and not reading.table.knows(re.split("[,:;]", line.text)[0]))


def is_strict_heading(reading: Reading, line: Line) -> bool:
    """Say whether the strict language takes a line without signs as a heading."""
    front = reading.front.get(line.number)
    if front is not None and front.length_s and not reading.has_signs:
        return False  # "19:06 SAVASANA": a clock tells how long it takes
    if _is_timed_pause(reading.tokens_of(line)) or rests_itself(reading, line):
        return False
    if _names_its_kind(line) and not reading.has_signs and reading.title is not None:
        reading.problems.liberties_of(line, [f'"{line.text}" is read as a heading'])
        return True
    untitled = reading.title is None and reading.top.title is None and not reading.stack and reading.has_title
    if untitled or not is_bare_heading(line, reading.table):
        return False
    if (reading.has_signs and not line.bold) or not _is_plain_heading(reading, line):
        return False
    reading.problems.liberties_of(line, [f'"{line.text}" is read as a heading'])
    return True


def rests_itself(reading: Reading, line: Line) -> bool:
    """Say whether it is the rest itself: "SAVASANA 10 min" above "sit, 1 min quiet", which one does behind it."""
    lengths = [token for token in reading.tokens_of(line) if token.kind == "length" and token.unit == "seconds"]
    if reading.has_signs or len(lengths) != 1 or not any(map(_is_rest, reading.tokens_of(line))):
        return False
    at = reading.places[line.number]
    told_s, below = told_below(reading, at), reading.lines[at + 1 : at + 2]
    ends = any(
        token.says("once.greet", "once.say", "kinds.closing") for each in below for token in reading.tokens_of(each)
    )
    return told_s is not None and (ends or told_s > 0.0) and are_details(told_s, lengths[0].length)


def _is_timed_pause(tokens: Sequence[Token]) -> bool:
    """ "-- break, tea 10 min --" is no heading, however it is set apart."""
    lengths = [token for token in tokens if token.kind == "length"]
    brief = len(lengths) == 1 and lengths[0].unit == "seconds" and lengths[0].high < LEAST_REST_S  # "rest 1'"
    paused = bool(tokens) and (tokens[0].says("once.pause") or (tokens[0].says("once.rest") and brief))
    return paused and bool(lengths)


def _names_its_kind(line: Line) -> bool:
    """ "The hard bit: peak", "Strong middle: flow, both sides": a strict heading but for its signs."""
    name, _, said = line.text.partition(":")
    return line.form == "text" and bool(name.strip()) and said.partition(",")[0].strip().lower() in set(Kind)


def _is_plain_heading(reading: Reading, line: Line) -> bool:
    """Whether the strict language understands all of a heading without signs."""
    section = open_section(line, Problems(""))
    kind = section.kind or kind_named(section.name)
    tokens = reading.tokens_of(line)
    if any(part.kind == "length" and part.unit == "seconds" for token in tokens for part in token.inner):
        return False  # its minutes may hold all that stands below it
    sided = any(token.says("sides.right", "sides.left") for token in tokens)
    counted = any(token.kind in ("times", "chain", "counts", "number") for token in tokens)
    sized = counted or any(token.kind in ("length", "pair") for token in tokens)
    rests = kind is Kind.REST and line.first and not counted
    whole = not section.notes and "(" not in section.name
    return kind is not None and whole and not sided and (not sized or line.bold or rests)


def open_heading(reading: Reading, line: Line) -> None:
    """Open the part that a heading names."""
    reading.last_item = None
    if line.form == "heading":
        level = line.level
    else:
        first = line is reading.lines[0] and bool(line.underlined) and not reading.has_signs  # the title, underlined
        level = 1 if line.underlined == "=" or first else 3 if line.bold and reading.has_signs else 2
    if (
        level == 1
        and reading.title is None
        and reading.top.title is None
        and not reading.stack
        and not reading.sections
    ):
        title = read_title(line.text, reading.scanner.scan(line.text), must=True)
        reading.title = line.text.strip(EDGE)
        if title:
            note_slot(reading, title.slot_s, title.start)
        reading.said(line, "the title")
    elif level <= 2 or not reading.stack:
        close_to(reading, to_level=2)
        reading.stack.append(open_section(line, reading.problems))
        reading.said(line, f"a part of the class: {reading.stack[-1].name}")
    else:
        close_to(reading, to_level=level)
        reading.stack.append(open_group(line, level, reading.problems))
        reading.said(line, f"a group of lines: {reading.stack[-1].name}")
    reading.again_means = None


def unfolded(reading: Reading, line: Line) -> Line:
    """Give "WARM UP (cat cow x5, puppy 1 min)" as "WARM UP: cat cow x5, puppy 1 min"; other lines as they are."""
    tokens = [token for token in reading.tokens_of(line) if token.kind != "mark"]
    if len(tokens) < 2 or tokens[-1].kind != "aside" or line.full:
        return line
    head, inner = tokens[:-1], tokens[-1].inner
    poses = sum(token.kind == "pose" for token in inner)
    sized = any(token.kind in ("length", "times", "counts") for token in inner)
    outside = [token for token in head if is_size(token) or (token.kind == "pose" and not token.says("kinds"))]
    if outside or not poses or not sized or not any(token.says("kinds") for token in head):
        return line
    name = line.text[: tokens[-1].start].strip()
    text = f"{name}: {tokens[-1].text}"
    reading.scanned[line.number] = reading.scanner.scan(text)
    return replace(line, text=text)


def is_loose_heading(reading: Reading, line: Line, at: int) -> Loose | None:
    """Give what a line says as a heading without signs; None where it is none."""
    front = reading.front.get(line.number)
    below = reading.lines[at + 1] if at + 1 < len(reading.lines) else None
    ends = below is None or below.number in reading.front or below.first or below.form == "rule"
    if front and front.length_s and (ends or holds_below(reading, at)):
        return None
    if line.part and (named := _named_part(reading, line, at)):
        return named
    tokens = reading.tokens_of(line)
    if _gets_to_a_place(reading, line) or rests_itself(reading, line) or until(tokens) is not None:
        return None
    if not might_head(line, tokens, below) or _is_timed_pause(tokens) or _opens_block(reading, line):
        return None
    loose = loose_heading(line, tokens, below, told_below(reading, at))
    if loose is not None and loose.rounds > 1 and loose.kind is Kind.FLOW and not _stands_over(reading, line, at):
        return None  # "suns: 5 rounds, they lead the last one"
    if loose is not None and loose.block and _all_tell(reading, at, lengths=loose.both):
        return replace(loose, block=False, minutes=None)
    if loose is not None and loose.fills and _all_tell(reading, at):
        below_s = told_below(reading, at)
        if below_s is not None and below_s < LEAST_FILLED * loose.fills.likely:
            return replace(loose, fills=None)  # lines that all tell their size aren't drawn out
    return loose


def holds_below(reading: Reading, at: int) -> bool:
    """Say whether lines without a time stand right below one of a clock, and tell no size: they are what it holds.

    "10.12-10.20 hands and knees" above "cat cow, tail wags", "bird dog, swap sides".
    """
    front = reading.front.get(reading.lines[at].number)
    clock = front is not None and bool(front.length_s) and _is_by_clock(front)
    below = list(
        itertools.takewhile(
            lambda line: line.number not in reading.front and not line.first and line.form in ("text", "item"),
            reading.lines[at + 1 : at + 1 + MOST_DETAILS],
        )
    )
    sized = any(token.kind not in ("number",) and is_size(token) for line in below for token in reading.tokens_of(line))
    return clock and bool(below) and not sized and not any(speaks_of_above(reading.tokens_of(line)) for line in below)


def _is_by_clock(front: Front) -> bool:
    """Whether what stands in front is a time of day: "10.12-10.20"."""
    return re.match(r"[\[(]?\d{1,2}[:.h]\d\d", front.shown) is not None


def _gets_to_a_place(reading: Reading, line: Line) -> bool:
    """ "come down to the floor, no rush", in small letters: on the way, and no name of a part."""
    plain = line.text[:1].islower() and not (line.bold or line.part or line.text.rstrip().endswith(":"))
    tokens = reading.tokens_of(line)
    return plain and reading.scanner.lexicon.passes(spelled(line.text)) and not any(map(is_size, tokens))


def _stands_over(reading: Reading, line: Line, at: int) -> bool:
    """Whether more than its words makes a heading of a line: what stands above, capitals, a colon, a list."""
    below = reading.lines[at + 1] if at + 1 < len(reading.lines) else None
    lists = below is not None and (below.level > line.level or (below.form == "item" and line.form == "text"))
    set_apart = line.first or at == 1 or line.bold or bool(line.part) or line.text[: SHORTEST_LOUD + 1].isupper()
    return set_apart or lists or line.text.rstrip().endswith(":") or "(" in line.text


def _all_tell(reading: Reading, at: int, *, lengths: bool = False) -> bool:
    """Whether each of several lines below a heading tells its own size: they keep it, whatever it says of them all."""
    below = list(
        itertools.takewhile(lambda line: line.form in ("text", "item"), reading.lines[at + 1 : at + 1 + MOST_DETAILS])
    )
    heads = (
        place
        for place, line in enumerate(below)
        if _heads_next(reading, at + 1 + place, line) or _counts_on(reading, at, line)
    )
    own = below[: next(heads, len(below))]
    own = [line for line in own if not speaks_of_above(reading.tokens_of(line))]
    sized = [
        any(token.kind == "length" if lengths else is_size(token) for token in reading.tokens_of(line)) for line in own
    ]
    return len(own) >= LEAST_TELLING and sum(sized) >= MOST_TELLING * len(own)


def _heads_next(reading: Reading, at: int, line: Line) -> bool:
    behind = reading.lines[min(at + 1, len(reading.lines) - 1)]
    return line.first or _may_open(line, reading.tokens_of(line), behind)


def _named_part(reading: Reading, line: Line, at: int) -> Loose | None:
    """ "A) 2 rounds", "B - 40s work 20s change, x2": a part that a letter names."""
    named = replace(line, text=f"Part {line.part} - {line.text}", form="text", bold=True)
    below = reading.lines[at + 1] if at + 1 < len(reading.lines) else None
    tokens = reading.scanner.scan(named.text)
    loose = loose_heading(named, tokens, below, told_below(reading, at))
    if loose is None and below is not None and re.match(rf"\(?{line.part}1\W", below.raw.strip()):
        counts = [token for token in tokens if token.kind == "times"]  # "C) T spine. 2x through", above "C1 ..."
        rounds = max(1, int(counts[0].low)) if len(counts) == 1 else 1
        return Loose(name=f"Part {line.part}", rounds=rounds, says="the lines with its letter")
    return loose


def told_below(reading: Reading, at: int) -> float | None:
    """Seconds that the lines below this one tell by themselves, up to the next heading; None where none stands."""
    told_s, seen, sided = 0.0, 0, 0
    for place in range(at + 1, min(at + 1 + MOST_DETAILS, len(reading.lines))):
        line, behind = reading.lines[place], reading.lines[min(place + 1, len(reading.lines) - 1)]
        tokens = reading.tokens_of(line)
        if line.form in ("heading", "rule", "remark") or (seen and line.first) or _counts_on(reading, at, line):
            break
        named = next((token for token in tokens if token.kind == "pose" or token.says("kinds", "once")), None)
        ends = _may_open(line, tokens, behind) or (named is not None and _is_rest(named))
        if ends and (seen or not begins_part(reading, line)):
            break
        seen += 1
        flat = [token for outer in tokens for token in (outer, *outer.inner)]
        if seen > 1 and speaks_of_above(tokens):
            told_s *= 2  # "same other side"
            continue
        sides = ("sides.right", "sides.left", "sides.each")  # "same other side" says nothing of the minutes
        sided += any(token.says(*sides) for token in flat) and not any(map(is_size, flat))
        told_s += tells_s(reading, line)
    listed = reading.lines[at].form == "text" and at + 1 < len(reading.lines) and reading.lines[at + 1].form == "item"
    if seen > 1 and sided >= LEAST_SIDED * seen and not (listed and told_s == 0.0):  # bullets tell what is in it
        return math.inf  # what is done on both sides is done for its own time
    return told_s if seen else None


def _counts_on(reading: Reading, at: int, line: Line) -> bool:
    """Whether both have a number or a time in front: "2 - warm up", and "3 - salutations" below its lines."""
    return line.number in reading.front and reading.lines[at].number in reading.front


def speaks_of_above(tokens: Sequence[Token]) -> bool:
    """ "Same other side", "then all of it again": no pose, and lines above once more."""
    again = any(token.says("again.same", "again.repeat", "sides.other") for token in tokens)
    return again and not any(token.kind == "pose" and not token.broad for token in tokens)


def begins_part(reading: Reading, line: Line) -> bool:
    """ "lie down", "sit, eyes closed", right below a heading: how it begins, neither the rest nor a part of its own."""
    tokens = reading.tokens_of(line)
    plain = line.text[:1].islower() and not (line.first or line.bold or line.text.endswith(":"))
    rests = bool(reading.items) and any(map(_is_rest, tokens))  # who lies down at first doesn't rest yet
    return plain and not rests and not any(is_size(token) or token.says("sides") for token in tokens)


def _opens_block(reading: Reading, line: Line) -> bool:
    """Whether it is the first line below a heading whose minutes hold what is below."""
    opened = reading.stack[-1] if reading.stack else None
    loose = reading.loose.get(opened.line.number) if opened else None
    return bool(opened and loose and loose.block and not opened.parts) and begins_part(reading, line)


def _is_rest(token: Token) -> bool:
    return token.says("kinds.rest") or (
        token.match is not None and token.match.pose is not None and token.match.pose.id == CORPSE_ID
    )


def _may_open(line: Line, tokens: Sequence[Token], behind: Line) -> bool:
    """Whether a line among those below a heading is rather the next one."""
    loud = line.bold or (line.text.isupper() and len(line.text) > SHORTEST_LOUD)
    return loud or loose_heading(line, tokens, behind, 0.0) is not None


def tells_s(reading: Reading, line: Line) -> float:
    """About the seconds that a line tells by lengths and counts."""
    tokens = reading.tokens_of(line)
    if not any(is_size(token) for outer in tokens for token in (outer, *outer.inner)):
        return 0.0
    around = Around(reading.table)
    said = line_of(tokens, around)
    if not said.moves:  # "in it 12'"
        return sum(length.likely for length in said.shared.lengths if length.unit == "seconds")
    if said.minutes:
        return said.minutes.likely
    return sum(counted_s(part, reading.table) for part in parts_of(said, Place(line.number), around))


def open_loose(reading: Reading, line: Line, loose: Loose, front: Front | None) -> None:
    """Open the part that a heading without signs names."""
    close_to(reading, to_level=2)
    said = Said()
    if loose.rounds > 1:
        said.rounds = loose.rounds
        said.told.add("rounds")
    said.wishes = loose.wishes
    minutes = loose.minutes or loose.fills or (seconds(front.length_s) if front and front.length_s else None)
    if minutes and not (loose.indented or loose.block):
        said.length = minutes
        said.told.add("length")
    opened = Opened(line, 2, loose.name, said, loose.kind, side=loose.side, notes=list(loose.notes))
    reading.stack.append(opened)
    reading.loose[line.number] = loose
    reading.last_item, reading.again_means = None, None
    says = f"a part of the class: {loose.name}" + (f", {loose.says}" if loose.says else "")
    reading.said(line, says, what="heading")
    if loose.peak:
        reading.peaks.add(line.number)


def open_unnamed(reading: Reading, line: Line) -> None:
    """Open a part that no heading names."""
    reading.stack.append(Opened(line, 2, "Class", Said(), Kind.FLOW, unnamed=True))
    if reading.has_signs:
        reading.problems.liberty(line, "section-missing", 'There is no section above; "Class: flow" is assumed.')


def inline_section(reading: Reading, line: Line, said: Said_line) -> None:
    """ "Balance: tree r 45 s ..." begins a part of this name where its label names a kind."""
    kinds = [token for token in said.label_tokens if token.says("kinds")]
    if not kinds or reading.has_signs or any(token.says("sides", "again") for token in said.label_tokens):
        return
    kind = kind_named(said.label)
    loose = reading.loose.get(reading.stack[0].line.number) if reading.stack else None
    if loose and (reading.stack[0].side or loose.both):
        return
    if kind is None or not all(
        token.says("kinds", "join", "top") or token.kind == "number" for token in said.label_tokens
    ):
        return
    if reading.stack and (reading.stack[0].kind is kind and reading.stack[0].name == said.label):
        return
    close_to(reading, to_level=2)
    reading.stack.append(Opened(line, 2, said.label, Said(), kind))
    reading.again_means = None


def _finish(reading: Reading, opened: Opened) -> None:
    loose = reading.loose.get(opened.line.number)
    _music_from(opened)
    if loose is None:
        return
    place = Place(0)  # no line of its own asks for these passes
    parts = tuple(opened.parts)
    apart = _sides_in_bracket(reading, opened.line)  # "(R then L)" stands apart from the lines
    behind = _paused_behind(parts) if loose.both else ()
    parts = parts[: len(parts) - len(behind)]
    opened.parts[:] = parts
    if loose.both and parts and not says_both_itself(reading, opened):
        opened.parts[:] = on_side(parts, "right", reading.table)
        asked = Reference(side="left")
        if apart:
            opened.parts.extend(again(parts, place, reading.table, asked))
        else:
            opened.parts += [part for one in parts for part in again((one,), one.place, reading.table, asked)]
    if loose.again and opened.parts:
        quick = Reference(no_hold=True)
        done = opened.parts if not apart else ()
        once = tuple(part for one in done for part in again((one,), one.place, reading.table, quick))
        once = once or again(tuple(opened.parts), place, reading.table, quick)
        opened.parts.append(Group(LINE_GROUP, place, once, rounds=loose.again))
    opened.parts += behind
    if loose.between and opened.said.rounds:
        opened.parts.append(
            Element("pause", "rest between rounds", Place(0), length=loose.between, last_round="not", every_time=True)
        )
    if loose.block and loose.minutes:
        heading = Place(opened.line.number, opened.line.column())
        opened.parts[:] = [placed(part, heading) for part in opened.parts]
        if opened.parts:
            _fill_minutes(reading, opened, loose.minutes)


def _paused_behind(parts: Sequence[Element | Group]) -> tuple[Element, ...]:
    """ "Water, 1 min" as the last line of a part that is done on both sides: once, behind all of it."""
    last = parts[-1] if len(parts) > 1 else None
    if not isinstance(last, Element) or last.what != "pause" or last.length is None or last.place.line == 0:
        return ()
    long = last.length.unit == "seconds" and last.length.likely >= LEAST_PAUSE_S
    alone = all(part.place.line != last.place.line for part in parts[:-1])
    return (replace(last, every_time=False),) if long and alone else ()


def _sides_in_bracket(reading: Reading, heading: Line) -> bool:
    """Whether a heading tells in a bracket of more passes: those are its own, else they are of its lines.

    "(all on R then all on L)" and "(R then L, then 1 br 1 movement x2)" go through all of it once more; "(R, then L)"
    says no more than "both sides" does, and "(R, L, then both sides again)" is about the lines as they were done.
    """
    tokens = reading.tokens_of(heading)
    inner = [part for token in tokens for part in token.inner]
    then = any(one.says("join.then") and is_no_hold(other) for one, other in itertools.pairwise(inner))
    said = [part for part in inner if part.says("again", "how") and not part.says("join", "units", "how.twice")]
    more = then or bool(said)
    both = any(token.says("sides.each") for token in inner)
    return more and not both and not any(token.says("sides") for token in tokens)


def _fill_minutes(reading: Reading, opened: Opened, minutes: Length) -> None:
    """Let all lines of a part take its minutes together."""
    opened.parts[:] = lasting(tuple(opened.parts), minutes, opened.line)
    for item in reading.items_of.get(id(opened), ()):
        item.first, item.last = 0, len(opened.parts)


def name_of_first(reading: Reading, line: Line) -> str:
    """Give the name of a part that no heading names: what is done first in it, as typed; "" for none."""
    tokens = reading.tokens_of(line)
    named = next((token for token in tokens if token.match or token.says("kinds", "once", "easy")), None)
    return named.text[:1].upper() + named.text[1:] if named is not None else ""


def check_rests(reading: Reading) -> None:
    """See that a class has one closing rest."""
    rests = [section for section in reading.sections if section.kind is Kind.REST]
    for section in rests[:-1] if not reading.has_signs else ():
        reading.sections[reading.sections.index(section)] = replace(section, kind=Kind.COOL_DOWN)
    for section in rests[1:] if reading.has_signs else ():
        reading.problems.at_line(
            section.place.line,
            "two-rests",
            f'"{section.name}" is a second closing rest.',
            'A class has one "rest", the closing one; a pause before it is "cool-down".',
        )


def _music_from(opened: Opened) -> None:
    """Put the wishes of music lines on the parts behind them."""
    for at, wishes in opened.music_from:
        opened.parts[at:] = [
            replace(part, wishes=wishes) if part.wishes == Wishes() else part for part in opened.parts[at:]
        ]


def close_to(reading: Reading, to_level: int) -> None:
    """Close all parts down to this level of headings."""
    while reading.stack and reading.stack[-1].level >= to_level:
        opened = reading.stack.pop()
        if opened.unnamed and not opened.parts and not reading.stack:
            continue
        _finish(reading, opened)
        if reading.stack:
            reading.stack[-1].parts.append(reading.groups.group(opened, reading.top.breath_s))
        else:
            first = not reading.sections
            if opened.unnamed and not first:
                opened.name = name_of_first(reading, opened.line) or opened.name
            reading.sections.append(reading.groups.section(opened, reading.top.breath_s, first=first))
