"""The lines that were read on weak evidence become questions."""

import math
import re
import statistics
from collections import Counter

from pairing.model import Group
from pairing.plan.language import spelled
from pairing.plan.line.chunks import is_size
from pairing.plan.line.moves import Around
from pairing.plan.lines import Line
from pairing.plan.loose import numbered, up_to_manner
from pairing.plan.note.answers import answers, of_heading
from pairing.plan.note.evidence.lengths import about_s
from pairing.plan.note.evidence.signs import signs, signs_of_heading, signs_of_repeat
from pairing.plan.note.evidence.typed import Setting
from pairing.plan.note.evidence.weights import UNSURE, is_left_over, weight, words_for
from pairing.plan.note.parting import told_below
from pairing.plan.note.partly import elements
from pairing.plan.note.state import Echo, Reading
from pairing.plan.style import Style

LEAST_OTHERS, MUCH_S, MANY_TIMES = 2, 100.0, 3.0  # lines of a part, and what one of them takes; editorial
_BESIDE = ("odd beside", "may head")
LEAST_TOLD, MOST_TOLD = 0.25, 2.0  # of the minutes of a heading, by lines that it doesn't stretch; editorial


def ask_what_is_unsure(reading: Reading, style: Style) -> None:
    """Ask about each line whose reading doesn't account for what was typed, unless a question stands there already."""
    asked = reading.problems.asked()
    told = _tell_sides(reading)
    odd = set() if reading.has_signs else _far_from_others(reading, style)
    for at, line in enumerate(reading.lines):
        echo = reading.echo.get(line.number)
        if echo is None or not echo.sure or echo.accounted or echo.detail or line.number in asked:
            continue
        setting = _setting(reading, line, echo, style, sides_told=told)
        found = _signs(reading, line, echo, setting)
        found["odd beside"] += line.number in odd
        found["may head"] += _may_head(reading, line, echo, at)
        if weight(found) >= UNSURE:
            _ask(reading, line, echo, setting, found)


def _far_from_others(reading: Reading, style: Style) -> set[int]:
    """Lines without minutes that take many times as long as the others of their part: a count may be read twice."""
    far: set[int] = set()
    part: list[tuple[Line, float, bool]] = []
    for line in (*reading.lines, None):
        echo = reading.echo.get(line.number) if line is not None else None
        if line is None or (echo is not None and echo.what == "heading"):
            usual_s = statistics.median(took_s for _, took_s, _ in part) if len(part) > LEAST_OTHERS else math.inf
            most_s = max(MUCH_S, MANY_TIMES * usual_s)
            far.update(each.number for each, took_s, told in part if took_s > most_s and not told)
            part = []
        elif echo is not None and echo.parts and echo.what == "line" and not echo.detail:
            setting = _setting(reading, line, echo, style)
            part.append((line, about_s(echo.parts, setting), setting.given or _tells_long(reading, line, echo)))
    return far


def _tells_long(reading: Reading, line: Line, echo: Echo) -> bool:
    """Whether a line tells minutes, or names what takes long by itself: a rest, a salutation."""
    flat = [part for token in reading.tokens_of(line) for part in (token, *token.inner)]
    timed = any(token.kind == "pair" or (token.kind == "length" and token.unit == "seconds") for token in flat)
    poses = [reading.table.get(part.pose_id) for part in elements(echo.parts) if part.pose_id]
    return timed or any(reading.table.compound(pose.id) or pose.family in ("rest", "flow transition") for pose in poses)


def _may_head(reading: Reading, line: Line, echo: Echo, at: int) -> bool:
    """Whether a line that was taken to be done stands above lines set in below it, as a heading does."""
    below = reading.lines[at + 1] if at + 1 < len(reading.lines) else None
    kinds = any(token.says("kinds", "sides") for token in reading.tokens_of(line))
    inner = below is not None and bool(reading.echo.get(below.number, Echo()).parts)
    kinds = kinds and inner and line.number not in reading.rows
    deeper = below is not None and (below.level > line.level or not any(map(is_size, reading.tokens_of(line))))
    return bool(echo.parts) and not echo.strict and kinds and deeper and below is not None and _is_below(below, line)


def _is_below(line: Line, above: Line) -> bool:
    return (line.form == "item" and above.form == "text") or line.level > above.level


def _signs(reading: Reading, line: Line, echo: Echo, setting: Setting) -> Counter[str]:
    tokens = reading.tokens_of(line)
    front = reading.front.get(line.number)
    if echo.what != "line" and front is not None and front.length_s:
        return Counter()  # a clock tells how long it takes
    if echo.what == "heading":
        loose = reading.loose[line.number]
        lengths = [length.likely for length in (loose.minutes, loose.told, loose.between, loose.hold) if length]
        used = [*lengths, *(loose.intervals or ()), float(loose.rounds), float(loose.again)]
        outside = [token for token in tokens if token.kind != "aside"] if _stands_out(line) else tokens
        found = signs_of_heading(up_to_manner(numbered(outside)), used)
        told = loose.intervals or loose.both or loose.indented
        found["heading minutes"] += _differs(reading, line)
        found["heading rounds"] += loose.rounds > 1 and _is_plain(line) and not told
        found["heading again"] -= found["heading again"] * (loose.again > 0)
        found["heading size"] -= found["heading size"] * (loose.block and line.number in reading.front)
        if _stands_out(line) or loose.intervals:
            words = ("heading strange", "heading pose")
            return Counter({sign: count for sign, count in found.items() if sign not in words})
        return found
    if echo.what == "repeat":
        return signs_of_repeat(tokens) + Counter({"again long": int(echo.long)})
    if not echo.parts:
        return Counter()
    found = signs(tokens, echo.parts, setting)
    plain = echo.strict or _needs_no_pose(reading, line, echo)
    return Counter({sign: found[sign] for sign in found if is_left_over(sign)}) if plain else found


def _differs(reading: Reading, line: Line) -> bool:
    """Whether a heading tells minutes that nothing takes, and its lines tell far from as many."""
    loose, told_s = reading.loose[line.number], told_below(reading, reading.places[line.number])
    open_ = loose.told is not None and not (loose.block or loose.fills or loose.minutes or loose.intervals)
    if not open_ or loose.told is None or told_s is None or told_s == math.inf or line.number in reading.front:
        return False
    told_s *= loose.rounds * (2 if loose.both else 1)
    return not LEAST_TOLD * loose.told.likely <= told_s <= MOST_TOLD * loose.told.likely


def _needs_no_pose(reading: Reading, line: Line, echo: Echo) -> bool:
    """ "Hands on belly 4 min": only words of what is done without a pose, and minutes."""
    flat = list(elements(echo.parts))
    timed = all(part.length is not None and part.length.unit == "seconds" for part in flat)
    open_ = timed and any(part.what == "gap" for part in flat) and not any(part.what == "pose" for part in flat)
    return open_ and reading.scanner.lexicon.needs_no_pose(spelled(line.text))


def _stands_out(line: Line) -> bool:
    """Whether a line is set apart as headings are: bold, lettered, or in capitals below a blank line."""
    return line.bold or bool(line.part) or (line.first and _is_shouted(line.text))


def _is_shouted(text: str) -> bool:
    """ "CORE x3 (no rest)", "FLOW 3 rounds": in capitals but for a count and what stands in brackets."""
    return re.sub(r"\(.*?(?:\)|$)|\bx\s?\d+|\b\d+\s?\w+$", "", text).isupper()


def _is_plain(line: Line) -> bool:
    """Whether nothing but its words says that a line is a heading: "suns 5 rounds"."""
    return not (line.bold or line.part or _is_shouted(line.text) or line.text.endswith(":") or "(" in line.text)


def _tell_sides(reading: Reading) -> bool:
    """Whether most lines of a note with poses of one side say on which."""
    told = untold = 0
    for number, echo in reading.echo.items():
        for part in elements(echo.parts):
            if part.pose_id and reading.table.get(part.pose_id).sided and not echo.both_sides:
                says = part.each_side or part.side is not None or number in reading.other_side
                told, untold = told + says, untold + (not says)
    return told > untold


def _setting(reading: Reading, line: Line, echo: Echo, style: Style, *, sides_told: bool = False) -> Setting:
    front, row = reading.front.get(line.number), reading.rows.get(line.number)
    shares = any(isinstance(part, Group) and part.minutes is not None for part in echo.parts)
    given = bool((front and front.length_s) or (row and row.length_s) or shares or echo.detail)
    again = line.number in reading.other_side
    return Setting(reading.table, style, echo.both_sides, again, echo.rounds, sides_told, echo.shares, given)


def _ask(reading: Reading, line: Line, echo: Echo, setting: Setting, found: Counter[str]) -> None:
    tokens = reading.tokens_of(line)
    rewrites: tuple[str, ...] = ()
    if echo.parts:
        around = echo.around or Around(reading.table)
        beside = weight(Counter({sign: found[sign] for sign in _BESIDE}))
        rewrites = answers(line, tokens, echo.parts, setting, around, reading.scanner, beside)
    elif echo.what == "heading":
        rewrites = of_heading(line, tokens, minutes=found["heading minutes"] > 0)
    reading.problems.ask_doubt(line, words_for(found), rewrites)
