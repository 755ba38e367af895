"""A line that does something -> elements: the strict language first, else its tokens."""

import itertools
import re
from collections.abc import Sequence
from dataclasses import replace

from pairing.model import Element, Group, Kind, Length, Place, Side, Wishes
from pairing.plan.elements import Result, read_element
from pairing.plan.fronts import Front
from pairing.plan.kinds import kind_named
from pairing.plan.language import spelled
from pairing.plan.line.amounts import exactly
from pairing.plan.line.chunks import is_size
from pairing.plan.line.ends import BREATHING
from pairing.plan.line.moves import LINE_GROUP, Around, Move
from pairing.plan.line.moves import Line as Said_line
from pairing.plan.line.parts import CHANT_S, parts_of
from pairing.plan.line.read import line_of
from pairing.plan.line.sizes import held_often
from pairing.plan.lines import Line
from pairing.plan.names import key
from pairing.plan.note.adding import (
    LEAST_EACH_S,
    MOST_MINUTES,
    add_gap,
    add_parts,
    ask_unknown,
    is_note_below,
    note_below,
    speaks_of_others,
)
from pairing.plan.note.answers import canonical, one_below_the_other
from pairing.plan.note.evidence.signs import left_over
from pairing.plan.note.leaving import leaves_part
from pairing.plan.note.outside import remark
from pairing.plan.note.parting import close_to, holds_below, inline_section, open_unnamed, tells_s
from pairing.plan.note.partly import Part, all_timed, last_element, lasting, placed
from pairing.plan.note.state import Item, Reading
from pairing.plan.note.strictly import asks_for_more, is_too_long, leaves_doubt
from pairing.plan.note.untils import up_to_clock
from pairing.plan.refs import on_side
from pairing.plan.said import Fault
from pairing.plan.tokens import Token
from pairing.plan.write import write_element

CHANT_ID, HUNDRED_ID, VINYASA_ID = "om_chant", "hundred", "vinyasa"
VINYASA_BREATHS = 3.0  # on a line of its own it ends with a breath in the dog; editorial
_SALUTES = ("sun_salutation_a", "sun_salutation_b")
MOST_LABEL = 6  # tokens up to what a level adds: "level 5: all that + ..."
LEAST_BEATS = 20.0  # fewer are breaths of ten beats; editorial
MANY_WORDS_AT_END = 3  # and more, with minutes behind them, are several things; editorial
HUNDRED_S = 100.0  # a hundred beats, one a second; its name says how many
LEFT_OVER = 0.9  # weight of what one reading leaves over more than another; editorial
_KEPT = {"length", "count", "energy", "beat", "quicker", "song-length", "song-title"}  # wrong, however it is read
_ODD = {"said-twice", "unknown-attribute", "unknown-length"}
LEAST_DETAIL_S = 30.0  # of a line below one of a clock, that may come on top of its time; editorial
LONG_STAY_S = 60.0
PASSED_S = 20.0  # in a pose without a length between long ones that have theirs; editorial
PASSING_S = 10.0  # from lying to sitting, from sitting to standing; editorial
_THEN = (("then",), ("now",), ("and",), ("slowly",), ("dann",), ("luego",), ("puis",))
_PLACES = {  # where one gets to
    "easy_seat", "tabletop", "side_savasana", "side_lying_rest", "mountain", "crocodile", "staff", "constructive_rest",
    "roll_up", "hero", "seated_meditation", "roll_to_side", "roll_up_to_standing", "step_forward",
}  # fmt: skip
_UNIT = re.compile(r"[\d\s–-]+([^\W\d_]{3,})")
_UNCLEAR = "Say one thing on a line; what is only for you to read goes in brackets."
_TERMS = ("from_round", "to_round", "last_round", "once", "optional", "supported", "every_time")


def read_canonical(reading: Reading, line: Line, front: Front | None) -> bool:
    """Read a line of a plan with signs that says what it says in the words of the canonical form; say whether it does.

    Nothing else can be meant by it, so that none of the checks for notes as typed is needed.
    """
    opened = reading.stack[-1] if reading.stack else None
    if not reading.has_signs or line.form != "item" or line.full or front is not None or opened is None:
        return False
    if opened.line.form != "heading":
        return False
    result = _strict_result(reading, line)
    element, lexicon = result.element, reading.scanner.lexicon
    if element is None or element.what != "pose" or result.faults or result.liberties:
        return False
    name = spelled(element.name)
    plain = name not in lexicon.roles and not lexicon.passes(name) and not any(map(str.isdecimal, element.note))
    if not plain or reading.table.exact(key(element.name)) is None or write_element(element) != line.raw.strip():
        return False
    reading.left_over = 0.0
    add_parts(reading, line, (element,), None, sure=True, strict=True)
    return True


def read_item(reading: Reading, line: Line, front: Front | None) -> None:
    """Read a line that does something."""
    if leaves_part(reading, line):
        close_to(reading, to_level=2)
    line = _with_subject(reading, line)
    line = line if front is not None and front.length_s else up_to_clock(reading, line)
    if front is not None and (front.over or (front.length_s is None and front.shown and _is_end(reading, line))):
        reading.ended = True
        reading.said(line, "the end of the class")
        return
    if _stands_behind_the_class(reading, line, front):
        remark(reading, line)
        return
    if _is_detail(reading, line):
        remark(reading, line)
        _ask_of_detail(reading, line)
        return
    if not reading.stack:
        open_unnamed(reading, line)
    group = reading.stack[-1]
    if _closes_class(reading, line, front):
        return
    if _moves_on(reading, line, front):
        return
    result, sure = _read_strictly(reading, line)
    if sure and result is not None and result.element is not None and not _rather_from_tokens(reading, line, result):
        usual = _passed_through(reading, _as_usual(reading, line, result.element), alone=True)
        add_parts(reading, line, (usual,), front, sure=True, strict=True)
        reading.problems.liberties_of(line, result.liberties)
        if result.element.what == "gap":
            ask_unknown(reading, line, result.element.name, [])
        return
    if result is not None and speaks_of_others(reading, line, result, group):
        return
    if is_note_below(reading, line, group) and result is not None:
        note_below(reading, line, group)
        return
    _read_from_tokens(reading, line, front, result)
    _trust_details(reading, line)


def _with_subject(reading: Reading, line: Line) -> Line:
    """ "1-2-3-4-5-4-3-2-1, plank between" below "PUSHUP LADDER": so often is done what the heading names."""
    tokens = reading.tokens_of(line)
    opened = reading.stack[-1] if reading.stack else None
    if (salute := _letter_of_salute(reading, line)) is not None:
        reading.scanned[line.number] = reading.scanner.scan(salute)
        return replace(line, text=salute)
    if not tokens or opened is None or opened.unnamed or opened.parts:
        return line
    counts = tokens[0].kind in ("number", "times") and not any(token.match or token.says("moves") for token in tokens)
    if tokens[0].kind != "chain" and not (counts and opened.line.text.rstrip().endswith(":")):
        return line
    named = [token for token in reading.tokens_of(opened.line) if token.match and token.match.pose]
    pose = named[0].match.pose if len(named) == 1 and named[0].match else None
    if pose is None or (pose.rep_breaths is None and not reading.table.compound(pose.id)):
        return line
    text = f"{pose.english} {line.text}"
    reading.scanned[line.number] = reading.scanner.scan(text)
    return replace(line, text=text)


def _letter_of_salute(reading: Reading, line: Line) -> str | None:
    """ "A 4, first 2 slow", "3x B" below "SUNS": which salutation, and so often; None for other lines."""
    tokens = [token for token in reading.tokens_of(line) if token.kind != "mark"]
    letters = [at for at, token in enumerate(tokens[:2]) if _is_letter(token)]
    if reading.has_signs or line.number in reading.front or len(letters) != 1 or len(tokens) < 2:
        return None
    at = letters[0]
    beside = tokens[at - 1] if at else tokens[1]
    plain = all(token.match is None and token.kind not in ("length", "pair") for token in tokens)
    name = _salute(reading, tokens[at].text) if plain and beside.kind in ("times", "number") else ""
    behind = line.text[max(tokens[at].end, beside.end) :]
    return f"{name} x{beside.low:.0f}{behind}" if name else None


def _is_letter(token: Token) -> bool:
    return len(token.text) == 1 and token.text.isalpha() and token.match is None and not token.says("sides")


def _salute(reading: Reading, letter: str) -> str:
    """The name that a letter makes with the heading above, or with the salutation that the line above does; else ""."""
    opened, above = reading.stack[-1] if reading.stack else None, reading.items_here()[-1:]
    last = last_element(above[0].opened.parts[above[0].last - 1]) if above and above[0].last > above[0].first else None
    names = [opened.name] if opened is not None else []
    names += [reading.table.get(last.pose_id).english.rpartition(" ")[0]] if last is not None and last.pose_id else []
    for name in names:
        pose = reading.table.exact(key(f"{name} {letter}"))
        if pose is not None and pose.pose is not None and pose.pose.id in _SALUTES:
            return pose.pose.english
    return ""


def _trust_details(reading: Reading, line: Line) -> None:
    """Ask nothing about a line that only says what is done in the minutes of its heading."""
    echo = reading.echo.get(line.number)
    if echo is not None and echo.detail:
        echo.sure = True
        reading.problems.forget(line)


def _rather_from_tokens(reading: Reading, line: Line, strict: Result) -> bool:
    """Whether the strict language leaves something of a line over that its tokens account for."""
    element, tokens = strict.element, reading.tokens_of(line)
    if element is None or element.what != "pose":
        return False
    if any(token.says("again.same") for token in tokens) or _tells_how_one_is_done(tokens):
        return True
    if not reading.has_signs and _names_its_part(tokens):
        return True
    both = any(opened.said.each_side for opened in reading.stack)
    left = reading.left_over = left_over(tokens, (element,), reading.table, both_sides=both)
    if left < LEFT_OVER:
        return False
    around = reading.around(line)
    parts = parts_of(line_of(tokens, around), Place(line.number, line.column()), around)
    return bool(parts) and left_over(tokens, parts, reading.table, both_sides=both) < left - LEFT_OVER


def _is_bell(part: Part) -> bool:
    return isinstance(part, Element) and part.what == "bell"


def _names_its_part(tokens: Sequence[Token]) -> bool:
    """ "Cool down: pigeon 2 min": a part of the class begins."""
    head = list(itertools.takewhile(lambda token: token.text != ":", tokens))
    return 0 < len(head) < len(tokens) and all(token.says("kinds") and not token.match for token in head)


def _tells_how_one_is_done(tokens: Sequence[Token]) -> bool:
    """ "Sun B x3, last one 1 breath per move": the length is none of all of them."""
    at = next((at for at, token in enumerate(tokens) if token.says("how.last", "how.first")), len(tokens))
    counted = any(token.kind == "times" for token in tokens[:at])
    return counted and any(token.kind == "length" and token.unit == "breaths" for token in tokens[at:])


def _is_end(reading: Reading, line: Line) -> bool:
    tokens = [token for token in reading.tokens_of(line) if token.kind != "mark"]
    first = bool(tokens) and tokens[0].says("kinds.closing")  # "6:45 end - blow out the candles"
    if reading.rested and tokens and not any(map(_does_something, tokens)):
        return True  # "7.00 out, the choir needs the room"
    return first or (bool(tokens) and all(token.says("kinds.closing", "top.total", "join") for token in tokens))


def _read_strictly(reading: Reading, line: Line) -> tuple[Result | None, bool]:
    """The strict language's reading of a line, and whether it leaves no doubt."""
    if line.full:
        return None, False
    result = _strict_result(reading, line)
    if result.element is not None and result.element.what == "song":
        reading.problems.faults(line, result.faults)
        return result, True
    sure = result.element is not None and not result.faults and not leaves_doubt(reading, line, result.element)
    return result, sure


def _strict_result(reading: Reading, line: Line) -> Result:
    """What the strict language makes of a line, read once."""
    section = reading.stack[0]
    rest = (section.kind or kind_named(section.name)) is Kind.REST
    if reading.strictly is None or reading.strictly[:2] != (line, rest):
        reading.strictly = (line, rest, read_element(line, reading.table, rest=rest))
    return reading.strictly[2]


def _as_usual(reading: Reading, line: Line, element: Part) -> Part:
    """What a name tells of a length by itself: a chant is no single om, and one comes up from the closing rest."""
    if isinstance(element, Element) and element.what == "say" and not reading.has_signs:
        return _talked(element, reading.tokens_of(line))
    if isinstance(element, Group) or reading.has_signs or element.pose_id is None:
        return element
    if element.pose_id == HUNDRED_ID and element.times is not None and element.length is None:
        beats = HUNDRED_S if element.times == 1 else float(element.times)
        return replace(element, length=exactly("seconds", beats), times=None) if beats >= LEAST_BEATS else element
    if element.pose_id == VINYASA_ID and _stands_alone(reading, line, element):
        return replace(element, length=exactly("breaths", VINYASA_BREATHS))
    if element.length is None and element.times is not None:
        often = held_often(reading.table.get(element.pose_id), element.times, sides=2 if element.each_side else 1)
        return replace(element, length=often) if often else element
    if element.length is not None:
        return element
    if element.pose_id == HUNDRED_ID:
        return replace(element, length=exactly("seconds", HUNDRED_S))
    pose = reading.table.get(element.pose_id)
    ends = reading.rested and any(token.says("once.bell", "once.greet") for token in reading.tokens_of(line))
    sits_up = pose.family in ("seated", "rest") and pose.id != "corpse" and (ends or _is_over(reading, line))
    return replace(element, length=exactly("seconds", CHANT_S)) if element.pose_id == CHANT_ID or sits_up else element


def _stands_alone(reading: Reading, line: Line, element: Element) -> bool:
    """Whether nothing else is done on a line, and nothing tells how long or how often."""
    poses = [token for token in reading.tokens_of(line) if token.match and token.match.pose]
    return len(poses) == 1 and element.length is None and not (element.times or element.no_hold)


def _talked(element: Element, tokens: Sequence[Token]) -> Element:
    """ "Talk: the shoulder, 15 min. Questions later", "in twos 5 min, then all 10 min": the minutes of all of it."""
    told = [token.length for token in tokens if token.kind == "length" and token.unit == "seconds"]
    told = [length for length in told if length.likely >= LEAST_EACH_S]
    then = len(told) > 1 and any(token.says("join.then") for token in tokens)
    if not told or not (then or element.length is None):
        return element
    low, high = sum(length.shortest for length in told), sum(length.longest for length in told)
    return replace(element, length=Length("seconds", (low + high) / 2, low, high))


def _read_from_tokens(reading: Reading, line: Line, front: Front | None, strict: Result | None) -> None:
    around = reading.leant_on = reading.around(line)
    said = line_of(reading.tokens_of(line), around)
    _as_above(said, around)
    _breathe(reading, said)
    place = Place(line.number, line.column())
    faults = [fault for fault in strict.faults if not _has_known_unit(reading, fault)] if strict else []
    timed = all(len(move.amount.lengths) == 1 and move.amount.lengths[0].unit == "seconds" for move in said.moves)
    unknown = [move for move in said.moves if move.unknown or (move.doubt and not timed)]
    odd = said.shared.odd or any(move.amount.odd for move in said.moves) or bool(said.leftover)
    odd = odd or is_too_long(parts_of(said, place, around)) or asks_for_more(said)
    kept = [fault for fault in faults if _is_kept(reading, fault, odd=odd)]
    if (unknown or odd or kept or not said.moves) and _as_corrected(reading, line, faults, front):
        return
    if not said.moves:
        add_gap(reading, line, said, front, faults)
        return
    usual = [_as_usual(reading, line, part) for part in parts_of(said, place, around)]
    usual = [_with_a_breath(reading, part) for part in usual] if len(usual) > 1 else usual
    timed = around.yin and any(isinstance(part, Element) and _is_long(part.length) for part in usual)
    usual = [_passed_through(reading, part, alone=len(usual) == 1, among=timed) for part in usual]
    parts = (*_added_to(reading, line, said), *(_with_terms(part, strict) for part in usual))
    if said.wishes != Wishes():
        parts = tuple(part if _is_bell(part) else replace(part, wishes=said.wishes) for part in parts)
    if said.peak:
        reading.peaks.add(line.number)
    side = _side_of(said.label_tokens)
    parts = on_side(parts, side, reading.table) if side and not said.other_side else parts
    parts = tuple(placed(part, place) if part.place.line == 0 else part for part in parts)
    level = reading.tokens_of(line)[0].says("how.level")
    if reading.levels_both and level:
        parts = (Group(LINE_GROUP, place, _one_sided(parts), both_sides=True),)
    inline_section(reading, line, said)
    if said.minutes and not timed:
        parts = lasting(parts, said.minutes, line)
    given = front is not None and front.length_s is not None
    asks = bool(unknown) and not (given and not unknown[0].doubt)
    asks = asks and not all(_needs_no_pose(reading, move, around) for move in unknown)
    add_parts(reading, line, parts, front, sure=not (asks or odd or kept))
    if kept:
        reading.problems.faults(line, kept)
    elif odd:
        reading.problems.offer(line, [one_below_the_other(parts) or canonical(parts)])
        reading.problems.faults(line, [Fault("unclear", line.text, f'"{line.text}" can mean two things.', _UNCLEAR)])
    elif asks:
        name = f"{' '.join(unknown[0].notes)} {unknown[0].name}" if unknown[0].doubt else unknown[0].name
        taken = canonical(parts) if unknown[0].doubt else ""
        as_gap = "" if taken or front else one_below_the_other(parts) or (canonical(parts) if timed else "")
        ask_unknown(reading, line, name, faults, taken, as_gap)


def _breathe(reading: Reading, said: Said_line) -> None:
    """ "3 breaths together": words of what is done without a pose, and breaths: one breathes."""
    for move in said.moves:
        breaths = len(move.amount.lengths) == 1 and move.amount.lengths[0].unit == "breaths"
        words = spelled(" ".join((move.name, *move.notes)))
        if move.what == "gap" and breaths and reading.scanner.lexicon.needs_no_pose(words):
            move.match, move.what, move.unknown = reading.table.look_up(BREATHING), "pose", False


def _needs_no_pose(reading: Reading, move: Move, around: Around) -> bool:
    """ "Hands on belly 4 min": words of what is done without a pose, and their minutes."""
    lengths, numbers = move.amount.lengths, move.amount.numbers
    told = any(length.unit == "seconds" and length.likely >= LEAST_EACH_S for length in lengths)
    told = told or (around.yin and len(numbers) == 1 and numbers[0][1] <= MOST_MINUTES)
    words = spelled(" ".join((move.name, *move.notes)))
    return move.what == "gap" and told and reading.scanner.lexicon.needs_no_pose(words)


def _with_a_breath(reading: Reading, part: Part) -> Part:
    """ "Walk to front, fold, roll up": what is passed through takes a breath where it is named among others."""
    if reading.has_signs or isinstance(part, Group) or part.pose_id is None or part.length or part.times:
        return part
    brief = reading.table.get(part.pose_id).hold_breaths_flow < 1.0 and not reading.table.compound(part.pose_id)
    return replace(part, length=exactly("breaths", 1.0)) if brief else part


def _is_long(length: Length | None) -> bool:
    return length is not None and length.unit == "seconds" and length.likely >= LONG_STAY_S


def _passed_through(reading: Reading, part: Part, *, alone: bool, among: bool = False) -> Part:
    """ "Hug the knees in" between poses of minutes: nobody stays there."""
    if reading.has_signs or isinstance(part, Group) or part.pose_id is None or part.length or part.times:
        return part
    pose = reading.table.get(part.pose_id)
    stays = pose.family == "rest" or reading.table.compound(pose.id) or not (among or reading.passes_through())
    return part if stays else replace(part, length=exactly("seconds", PASSED_S if alone else PASSED_S / 2))


def _as_above(said: Said_line, around: Around) -> None:
    """ "Triangle, same": as long and on the sides of what stands above."""
    before, move = around.before, said.moves[0] if len(said.moves) == 1 else None
    if move is None or move.pose is None or move.amount.has_size() or before is None or not said.same:
        return
    if move.amount.side in ("right", "left") and before.pose_id == move.pose.id:
        return  # "lunge L same": all that was done on the right
    move.amount.lengths = [before.length] if before.length else []
    move.amount.times = [(before.times, before.times)] if before.times else []
    move.amount.side = move.amount.side or ("each" if before.each_side else None)


def _closes_class(reading: Reading, line: Line, front: Front | None) -> bool:
    """ "Slowly back, seated, close", behind the closing rest: words of an end, not a pose that is stayed in."""
    rested = any(item.opened.parts[item.first : item.last] and _is_corpse(reading, item) for item in reading.items[-2:])
    tokens = [token for token in reading.tokens_of(line) if token.kind != "mark"]
    ends = any(token.says("kinds.closing") for token in tokens) and len(tokens) > 1
    rings = any(token.says("once.bell", "once.silence", "once.pause") for token in tokens)  # "bell at the end"
    timed = front is not None and (front.length_s is not None or front.shown != "")
    sized = any(is_size(part) for token in tokens for part in (token, *token.inner))
    length = Length("seconds", CHANT_S, CHANT_S, CHANT_S)
    if reading.rested and not timed and _end_in_minutes(tokens):
        length = tokens[-1].length
    elif not rested or timed or sized or not ends or rings:
        return False
    add_parts(
        reading, line, (Element("say", line.text, Place(line.number, line.column()), length=length),), front, sure=True
    )
    return True


def _end_in_minutes(tokens: Sequence[Token]) -> bool:
    """ "Ring the bell, sit up, thank you, 1 min": at the end the minutes are those of all of it."""
    sizes = [part for token in tokens for part in (token, *token.inner) if is_size(part)]
    ends = any(token.says("kinds.closing", "once.bell", "once.greet") for token in tokens)
    rests = any(token.match and token.match.pose and token.match.pose.id == "corpse" for token in tokens)
    rests = rests or any(token.says("once.silence", "once.pause") for token in tokens)
    last = len(sizes) == 1 and tokens[-1:] == sizes and sizes[0].unit == "seconds" and sizes[0].kind == "length"
    return ends and last and len(tokens) > MANY_WORDS_AT_END and not rests


def _moves_on(reading: Reading, line: Line, front: Front | None) -> bool:
    """ "Roll to the side, come to all fours": one gets to the next place; nothing is stayed in."""
    tokens = reading.tokens_of(line)
    flat = [part for token in tokens for part in (token, *token.inner)]
    words = spelled(line.text)
    lexicon = reading.scanner.lexicon
    passes = lexicon.passes(words[1:] if words[:1] in _THEN else words)
    named = [token for token in flat if token.kind == "pose" and not token.broad and token.match]
    ways = [] if reading.has_signs else [token for token in named if lexicon.passes(spelled(token.text))]  # "sit up"
    poses = [token.match.pose for token in named if token.match and token not in ways]
    stays = any(pose is not None and pose.id not in _PLACES for pose in poses)
    if not passes or stays or any(map(is_size, flat)) or any(token.says("once") for token in flat):
        return False
    if front is not None and (front.length_s or front.shown):
        return False
    place = Place(line.number, line.column())
    ends = any(token.says("kinds.closing") for token in flat)  # "sit up, close"
    element = Element("pause", line.text, place, length=exactly("seconds", CHANT_S if ends else PASSING_S))
    add_parts(reading, line, (element,), front, sure=True)
    return True


def _stands_behind_the_class(reading: Reading, line: Line, front: Front | None) -> bool:
    """ "Biscuits after", "don't forget the blankets", below the closing rest: it names nothing that is done."""
    if front is not None or not _is_over(reading, line):
        return False
    tokens = [token for token in reading.tokens_of(line) if not token.says("how", "join")]
    return bool(tokens) and tokens[0].match is None and not any(map(_does_something, tokens))


def _is_detail(reading: Reading, line: Line) -> bool:
    """Whether it is set in below a line with a time in front, which holds all that is said below it."""
    above = reading.items_here()[-1:]
    front = reading.front.get(above[0].line.number) if above else None
    if front is None or front.length_s is None or line.number in reading.front:
        return False
    if _tells_its_time(reading, line) and all_timed(above[0].opened.parts[above[0].first : above[0].last]):
        return False  # "18:40 tree 1 min r/l", and the eagle below it
    deeper = line.level > above[0].line.level or (line.form == "item" and above[0].line.form == "text")
    return deeper or holds_below(reading, reading.places[above[0].line.number])


def _tells_its_time(reading: Reading, line: Line) -> bool:
    """Whether a line names a pose and tells a length of its own."""
    tokens = reading.tokens_of(line)
    named = any(token.kind == "pose" and not token.broad for token in tokens)
    return named and any(token.kind in ("length", "pair") for token in tokens)


def _ask_of_detail(reading: Reading, line: Line) -> None:
    """Ask about a line with a length of its own among what a line of a clock holds: it may come on top."""
    if _tells_its_time(reading, line) and tells_s(reading, line) >= LEAST_DETAIL_S:
        reading.problems.ask_doubt(
            line, "the line above has all the time up to the next one", (f"({line.raw.strip()})",)
        )


def _is_over(reading: Reading, line: Line) -> bool:
    """Whether the closing rest stands above, and nothing with a size from here on."""
    return reading.ended or (reading.rested and reading.places[line.number] > reading.last_sized)


def _does_something(token: Token) -> bool:
    named = token.kind == "pose" and not token.broad
    late = ("kinds.closing", "kinds.rest", "kinds.breathing", "sides", "again.same", "again.repeat", "once", "easy")
    return is_size(token) or named or token.says(*late)


def _is_corpse(reading: Reading, item: Item) -> bool:
    last = last_element(item.opened.parts[item.last - 1])
    return last is not None and last.pose_id == "corpse"


def _has_known_unit(reading: Reading, fault: Fault) -> bool:
    """ "100 beats" is a slip in the strict language alone."""
    unit = _UNIT.fullmatch(fault.fragment) if fault.code == "unknown-length" else None
    return unit is not None and spelled(unit[1]) in reading.scanner.lexicon.roles


def _is_kept(reading: Reading, fault: Fault, *, odd: bool) -> bool:
    """Whether what the strict language finds wrong stays wrong however the line is read."""
    if fault.code in _KEPT or (odd and fault.code in _ODD):
        return True
    word = re.sub(r"[\d\s]+$", "", fault.fragment)  # "rebound 1"
    slip = fault.new is not None and spelled(word) not in reading.scanner.lexicon.roles
    in_unit = fault.code == "unknown-length" and _UNIT.fullmatch(fault.fragment) is not None
    return slip and (fault.code == "unknown-attribute" or in_unit)


def _as_corrected(reading: Reading, line: Line, faults: list[Fault], front: Front | None) -> bool:
    """Take a line for what it reads once its slips are corrected, and ask; say whether that was possible."""
    text = line.text
    for fault in faults:
        if fault.new is None or "\n" in fault.new or fault.fragment not in text:
            return False
        text = text.replace(fault.fragment, fault.new, 1)
    if not faults or text == line.text:
        return False
    result = read_element(replace(line, text=text), reading.table)
    if result.element is None or result.faults:
        return False
    add_parts(reading, line, (result.element,), front, sure=False)
    if not any(map(is_size, reading.tokens_of(line))):
        reading.problems.offer(line, [f"({line.text})"])  # a word alone may be a cue, and no slip of a name
    reading.problems.faults(line, faults)
    return True


def _added_to(reading: Reading, line: Line, said: Said_line) -> tuple[Part, ...]:
    """ "Level 5: + standing split" does all of the level before, and more."""
    tokens = reading.tokens_of(line)
    label = [token for token in tokens[:MOST_LABEL] if token.text == "+" or not token.says("again.all")]
    adds = any(one.text == ":" and other.text == "+" for one, other in itertools.pairwise(label))
    adds = adds or bool(said.moves and said.moves[0].joined == "+")
    if not tokens[0].says("how.level") or not adds:
        return ()
    items = reading.items_here()
    if not items:
        return ()
    last = items[-1]
    return tuple(placed(part, Place(0)) for part in last.opened.parts[last.first : last.last])


def _one_sided(parts: Sequence[Part]) -> tuple[Part, ...]:
    """Parts of a level without the group that did those of the level before on both sides."""
    once = [inner.parts if isinstance(inner, Group) and inner.both_sides else (inner,) for inner in parts]
    return tuple(part for inner in once for part in inner)


def _with_terms(part: Part, strict: Result | None) -> Part:
    """Give a part the rounds in which it is done, and the like, as the strict language reads them on its line."""
    element = strict.element if strict else None
    if element is None:
        return part
    if isinstance(part, Group):
        return replace(part, parts=tuple(_with_terms(inner, strict) for inner in part.parts))
    terms = {name: value for name in _TERMS if (value := getattr(element, name)) not in (None, False, 1)}
    return replace(part, **terms, wishes=element.wishes if part.wishes == Wishes() else part.wishes)


def _side_of(tokens: Sequence[Token]) -> Side | None:
    """The one side that a label names: "R: warrior one, warrior two"."""
    right, left = (any(token.says(f"sides.{side}") for token in tokens) for side in ("right", "left"))
    return None if right == left else "right" if right else "left"
