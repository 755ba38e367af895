"""What stands in front of the lines of a note, or ends them all: running numbers, clock times, minutes.

A rising list of times of day or minutes is a clock: a line lasts until the next one. A falling list is a countdown.
"0-5", "19:00-19:10" give start and end. What is neither is a length of its line. Bare numbers at the ends of lines
are minutes where together they make the class: "arrive (5)", "flow (40)", "savasana (15)" in a class of an hour.
"""

import bisect
import itertools
import math
import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from pairing.plan.lines import Line
from pairing.plan.tails import minutes, tails

LEAST = 3  # lines with a time in front, from which on they are a clock; editorial
FIRST_HOUR = 5  # of the day, for two times that make no list; editorial
WHOLE = 0.05  # of the class: numbers that add up to it as closely as that are its minutes; editorial
WHOLE_APART = 0.1  # the same of numbers behind dashes; editorial
MOST_BRACKETS, LEAST_BRACKETS = 0.6, 0.6  # of the lines, of the class: bare numbers in brackets; editorial
MOST_ENDS = 0.75  # of the lines have such a number; editorial
LEAST_COLUMN, MOST_COLUMN = 5, 0.6  # lines with an amount in front, and their share, that make a column; editorial
LEAST_OF_TOLD = 0.4  # of the lines have minutes in front, with their unit and set apart by blanks; editorial
COLUMN_SLACK = 0.15  # of the class: what a column may lack of it; editorial
HALF_DAY_S = 12 * 3600.0
LONGEST_LAST_S = 1800.0  # from the last time of a clock to the end of the class; editorial
SLACK_S = 60.0  # of the last time of a clock and the end of the class; editorial
LONGEST_S = 5400.0  # of one line by the clock: what is longer is a slip; editorial

_TIME = r"(?P<{0}h>\d{{1,2}})[:.h](?P<{0}m>\d\d)"
_CLOCK = re.compile(
    rf"[\[(]?{_TIME.format('a')}(?:\s*(?:-|–|—|to|bis|à|a)\s*{_TIME.format('b')})?\s*(?:am|pm|uhr|h)?[\])]?"
    r"(?:\s*[:|\t–—-]+\s*|\s+)(?=\S)",
    re.IGNORECASE,
)
_BARE_TIME = re.compile(r"(?P<ah>[012]?\d)(?P<am>[0-5]\d)\s+(?=[^\W\d])")
_INNER_TIME = re.compile(r"(?<![\d.:])(\d{1,2})[:.h](\d\d)(?![\d.:])")
_TIME_ALONE = re.compile(rf"{_TIME.format('a')}\s*(?:am|pm|uhr|h)?", re.IGNORECASE)  # "2.00" above what begins then
_SPAN = re.compile(
    r"[\[(]?(?P<from>\d{1,3})\s?['’′]?\s?(?:-|–|—|to)\s?(?P<to>\d{1,3})\s*(?:min(?:ute)?s?\b|['’′]|m\b)?\.?[\])]?\s*[:|\t–—-]?\s+(?=[^\d\s])",
    re.IGNORECASE,
)
_MINUTES = re.compile(
    r"[\[(]?(?:min(?:ute)?s?\.?\s*|:)?(?P<at>\d{1,3})\s?(?P<unit>['’′]|min(?:ute)?s?\b\.?|m\b)?[\])]?(?P<sep>\s*[:|\t–—]+\s*|\s+-\s+|\s+)(?=[^\d\s])",
    re.IGNORECASE,
)
_RUNNING = re.compile(  # "13 11+12 again", but no "3 min plank", "3 x 10", "3 breaths"
    r"(?P<at>\d{1,3})\s+(?!(?:min|m|sec|s|br|breaths?|x|times|rounds?|sets?|h)\b|[-–—:/'’′\"×x]\s?\d)(?=\S)",
    re.IGNORECASE,
)
_MIN = r"(?:\s?(?:min(?:ute)?s?\b\.?|['’′]))?"
_END = re.compile(
    rf"(?:\s*[(\[]\s*(?P<in>\d{{1,3}}){_MIN}\s*[)\]]|\s*(?:[-–—]|(?<!\d):|:(?=\s))+\s*(?P<dash>\d{{1,3}}){_MIN}|(?<![\s\d][x×*])\s+(?P<bare>\d{{1,3}}){_MIN})\s*$",
    re.IGNORECASE,
)
_INNER_END = re.compile(r"(?<=[^\W\d_])\s+(?P<in>)(?P<dash>)(?P<bare>\d{1,3})(?=\s*[:(])")  # "standing 15: tree, eagle"
_SIDED_END = re.compile(r"\s+[-–—]\s*(?P<one>\d{1,3})(?:\s*/\s*(?P<two>\d{1,3})|(?P<words>\s+[^\W\d][^\d]{1,12}))\s*$")
MUSIC_SIGNS = tuple("♪♫♬♩🎵🎶🎼")
_FRONT = re.compile(r"(?P<at>\d{1,3})(?:\s*[-–—:|]\s*|\s+)(?=[^\d\s])")


_SQUARE = re.compile(r"\[(\d{1,2})\]")
_AMOUNT = re.compile(
    r"(?P<n>\d{1,2}(?:[.,]5)?½?|½)(?P<times>\s?[x×]\s?\d{1,2})?\s?(?P<unit>sec|s|min|mins|m|['’′\"”″])?"
    r"(?:\s?\+\s?(?P<other>\d{1,2}(?:[.,]5)?½?|½)\s?['’′\"”″]?)?"
    r"(?P<more>\s?(?:/|each|ea|e/s|es|per|p/s|a|je|pro|por|par|c/)(?:\s?[^\W\d]+)?)?\s{2,}(?=\S)",
    re.IGNORECASE,
)
_MINUTES_TOLD = ("m", "min", "mins", "'", "’", "′")
_MINUTES_ABOVE = re.compile(
    r"(?:mins?|minutes?|minuten?|minutos?|mn)(?:\s{2,}\S.*)?", re.IGNORECASE
)  # the name of a column


@dataclass(frozen=True, slots=True)
class Front:
    """What the time in front of a line says."""

    text: str  # the line without it
    length_s: float | None = None
    start: str | None = None  # of the day, for the first line of a clock
    shown: str = ""
    number: int | None = None  # by which the note counts this line
    over: bool = False  # at this time the class is over


def fronts(lines: Sequence[Line], wholes: Collection[float] = ()) -> dict[int, Front]:
    """Give what stands in front of each line that has a number or time there, by line number.

    Args:
        lines: those of the note.
        wholes: seconds that the note says the class takes: its slot, its total.
    """
    plain = [line for line in lines if line.form in ("text", "item")]
    return (
        _clock_times(plain, wholes)
        or _spans(plain)
        or _ends(plain, wholes)
        or _column(plain, wholes)
        or _behind(plain, wholes)
        or _minutes_of_all(plain, wholes)
        or _running_numbers(plain)
        or _minutes(plain)
        or _in_square_brackets(plain, wholes)
    )


def _column(lines: list[Line], wholes: Collection[float]) -> dict[int, Front]:
    """ "1.5  neck", "1 each side  twist", "45s ea  quad", "2x10  push ups": amounts in a column in front of lines."""
    found = [(line, match) for line in lines if (match := _AMOUNT.match(line.text))]
    minutes_told = [
        match for _, match in found if (match["unit"] or "").lower() in _MINUTES_TOLD and not match["times"]
    ]
    told = len(minutes_told) >= LEAST_COLUMN and 2 * len(minutes_told) > len(found)  # "5m  child" needs no more
    if len(found) < LEAST_COLUMN or len(found) < (LEAST_OF_TOLD if told else MOST_COLUMN) * len(lines):
        return {}
    bare = [minutes(match["n"]) for _, match in found if not match["unit"] and not match["more"]]
    steps = [b - a for a, b in itertools.pairwise(bare)]
    if (steps or not told) and (all(step > 0 for step in steps) or all(step < 0 for step in steps)):
        return {}
    column = {line.number: _of_column(line, match) for line, match in found}
    sum_s = sum(front.length_s or 0.0 for front in column.values())
    named = any(_MINUTES_ABOVE.fullmatch(line.text) for line in lines)
    halves = any(value % 1 for value in bare)
    fits = any(abs(sum_s - whole) <= COLUMN_SLACK * whole for whole in wholes)
    within = told and any(sum_s <= (1.0 + COLUMN_SLACK) * whole for whole in wholes)
    return column if named or halves or fits or within else {}


def _behind(lines: list[Line], wholes: Collection[float]) -> dict[int, Front]:
    """ "Sphinx - 2", "lizard - 1.5": minutes behind the lines that tell them, others between them."""
    found = tails([line for line in lines if not _is_beside(line)], wholes)
    return {at: Front(tail.text, tail.length_s, shown=tail.shown) for at, tail in found.items()}


def _of_column(line: Line, match: re.Match[str]) -> Front:
    text, shown = line.text[match.end() :], _shown(match)
    if match["times"]:
        return Front(f"{text} {shown}", shown=shown)
    unit = 1.0 if (match["unit"] or "").lower().startswith(("s", '"', "”", "″")) else 60.0
    both = minutes(match["n"]) * (2.0 if match["more"] else 1.0) + (minutes(match["other"]) if match["other"] else 0.0)
    sides = match["more"] or (" R/L" if match["other"] else "")
    return Front(f"{text} {sides}".strip(), both * unit, shown=shown)


def _in_square_brackets(lines: list[Line], wholes: Collection[float]) -> dict[int, Front]:
    """ "[7] supta baddha", "savasana [10]", "pigeon [4] r [4] l": minutes set apart, wherever they stand."""
    found = [(line, numbers) for line in lines if (numbers := [int(n) for n in _SQUARE.findall(line.text)])]
    sum_s = 60.0 * sum(sum(numbers) for _, numbers in found)
    known = max(wholes, default=0.0)
    if len(found) < LEAST or (known and sum_s > (1.0 + WHOLE) * known) or min(min(n) for _, n in found) < 1:
        return {}
    return {
        line.number: Front(" ".join(_SQUARE.sub(" ", line.text).split()), 60.0 * numbers[0], shown=str(numbers[0]))
        if len(numbers) == 1
        else Front(_SQUARE.sub(r"\1 min", line.text))
        for line, numbers in found
    }


def _ends(lines: list[Line], wholes: Collection[float]) -> dict[int, Front]:
    """ "Arrive (5)", "flow - 40", "savasana 15": bare numbers behind most lines that make the class together."""
    outer = min((line.level for line in lines[1:]), default=0)
    whole_lines = [line for line in lines[1:] if line.level == outer and not _is_beside(line)]
    ends = ((line, _END.search(line.text) or _INNER_END.search(line.text)) for line in whole_lines)
    found = [(line, match) for line, match in ends if match and match.start()]
    dashed = [(line, match) for line, match in found if match["dash"]]
    told = {
        line.number: Front(
            line.text[: match.start()] + line.text[match.end() :],
            60.0 * float(match["in"] or match["dash"] or match["bare"]),
            shown=match.group().strip(" -–—:()[]"),
        )
        for line, match in (dashed if 2 * len(dashed) > len(found) else found)
    }
    sided = {
        line.number: _of_two_sides(line, match)
        for line in whole_lines
        if line.number not in told and (match := _SIDED_END.search(line.text))
    }
    slack = WHOLE_APART if 2 * len(dashed) > len(found) else WHOLE
    for taken in ({**told, **sided}, told):
        seconds = [front.length_s or 0.0 for front in taken.values()]
        if _make_the_class(len(taken), len(whole_lines), seconds, wholes, slack):
            return taken
    bracketed = {line.number: told[line.number] for line, match in found if match["in"] and line.number in told}
    sum_s = sum(front.length_s or 0.0 for front in bracketed.values())
    most = len(bracketed) >= max(LEAST, MOST_BRACKETS * len(whole_lines))
    if most and any(LEAST_BRACKETS * whole <= sum_s <= (1.0 + WHOLE) * whole for whole in wholes):
        return bracketed
    return {}


def _of_two_sides(line: Line, match: re.Match[str]) -> Front:
    """ "sleeping swan - 3 each side", "twist - 2/2": the minutes of one side, or of either."""
    both = float(match["one"]) + float(match["two"] or match["one"])
    text = line.text[: match.start()] + (match["words"] or " R/L")
    return Front(text, 60.0 * both, shown=match.group().strip(" -–—"))


def has_music_sign(line: Line) -> bool:
    """Whether it begins with a note or a clef."""
    return line.raw.lstrip("-*• \t")[:1] in MUSIC_SIGNS


def _is_beside(line: Line) -> bool:
    """A line in brackets, or one with a sign for music: it tells nothing of what is done."""
    return _in_brackets(line) or (has_music_sign(line) and not _END.search(line.text))


def _minutes_of_all(lines: list[Line], wholes: Collection[float]) -> dict[int, Front]:
    """ "5 - breath", "20 - standing flow": bare numbers in front of most lines that make the class together."""
    outer = min((line.level for line in lines[1:]), default=0)
    whole_lines = [line for line in lines[1:] if line.level == outer and not _in_brackets(line)]
    found = [(line, match) for line in whole_lines if (match := _FRONT.match(line.text))]
    if not _make_the_class(len(found), len(whole_lines), [60.0 * float(match["at"]) for _, match in found], wholes):
        return {}
    return {
        line.number: Front(line.text[match.end() :], 60.0 * float(match["at"]), shown=match["at"])
        for line, match in found
    }


def _make_the_class(
    found: int, lines: int, seconds: Sequence[float], wholes: Collection[float], slack: float = WHOLE
) -> bool:
    many = found >= LEAST and found >= MOST_ENDS * lines
    return many and any(abs(sum(seconds) - whole) <= slack * whole for whole in wholes)


def _in_brackets(line: Line) -> bool:
    return line.text[:1] in "([{" and line.text[-1:] in ")]}"


def _clock_times(lines: list[Line], wholes: Collection[float]) -> dict[int, Front]:
    timed = [(line, match) for line in lines if (match := _CLOCK.match(line.text))]
    alone = [(line, match) for line in lines if (match := _TIME_ALONE.fullmatch(line.text))]
    if len(timed) + len(alone) < LEAST or not timed:
        return _few(timed)
    found = sorted([*timed, *alone], key=lambda each: each[0].number)
    starts = _past_noon([60.0 * (60 * int(match["ah"]) + int(match["am"])) for _, match in found])
    small = max(int(match["ah"]) for _, match in found)
    if not all(a <= b for a, b in itertools.pairwise(starts)):
        if all(a >= b for a, b in itertools.pairwise(starts)) and starts[0] <= 7200 * 60:
            return _countdown(found, [s / 60.0 if small > 4 else s for s in starts])
        return {}
    found, starts = _with_bare_times(lines, found, starts)
    # "0:04" and "10:30" are hours and minutes, unless the list would last hours: then minutes and seconds
    hours = not (starts[0] == 0.0 and starts[-1] > 3 * 3600.0)
    scale = 1.0 if hours else 1 / 60.0
    over = hours and any(abs(starts[-1] - starts[0] - whole) < SLACK_S for whole in wholes)
    last = None if over or not hours else _end_of_last(found[-1], starts, wholes)
    told_end = _INNER_TIME.search(found[-1][0].text, found[-1][1].end()) if last is not None else None
    result: dict[int, Front] = {}
    for at, (line, match) in enumerate(found):
        end = 60.0 * (60 * int(match["bh"]) + int(match["bm"])) if _has_end(match) else None
        end = end + HALF_DAY_S if end is not None and end < starts[at] else end
        stop = end if end is not None else starts[at + 1] if at + 1 < len(starts) else last
        length = (stop - starts[at]) * scale if stop is not None else None
        length = length if length is None or 0.0 <= length <= LONGEST_S else None
        start = (
            f"{int(match['ah']) % 24:02d}:{int(match['am']):02d}"
            if at == 0 and hours and starts[0] >= 4 * 3600
            else None
        )
        shown = _shown(match)
        ends = over and at == len(found) - 1
        cut = told_end.start() if told_end is not None and at == len(found) - 1 else None
        result[line.number] = Front(line.text[match.end() : cut], length, start, shown, over=ends)
    return {number: front for number, front in result.items() if front.text or front.over}


def _has_end(match: re.Match[str]) -> bool:
    return bool(match.groupdict().get("bh"))


def _with_bare_times(
    lines: list[Line], found: list[tuple[Line, re.Match[str]]], starts: list[float]
) -> tuple[list[tuple[Line, re.Match[str]]], list[float]]:
    """Add "1914" among "19.02" and "19.18": a time whose sign was forgotten."""
    numbers = [line.number for line, _ in found]
    bounds = [-math.inf, *starts, -math.inf]  # none behind the last
    more = [
        ((line, match), start)
        for line in lines
        if (match := _BARE_TIME.match(line.text))
        and (place := bisect.bisect(numbers, line.number))
        and bounds[place] < (start := 60.0 * (60 * int(match["ah"]) + int(match["am"]))) < bounds[place + 1]
    ]
    found, starts = [*found, *(each for each, _ in more)], [*starts, *(start for _, start in more)]
    together = sorted(zip(found, starts, strict=True), key=lambda each: each[0][0].number)
    return [each for each, _ in together], [start for _, start in together]


def _end_of_last(last: tuple[Line, re.Match[str]], starts: Sequence[float], wholes: Collection[float]) -> float | None:
    """When the last line of a clock ends: at the time it tells itself, else with the class."""
    line, match = last
    inner = [60.0 * (60 * int(h) + int(m)) for h, m in _INNER_TIME.findall(line.text[match.end() :])]
    ends = [*inner, *(starts[0] + whole for whole in wholes)]
    return next((end for end in ends if 0.0 < end - starts[-1] <= LONGEST_LAST_S), None)


def _past_noon(starts: list[float]) -> list[float]:
    """ "12.55, 1.00, 1.08": a clock of twelve hours that goes past its noon once."""
    drops = [at for at, (one, other) in enumerate(itertools.pairwise(starts), 1) if other < one]
    if len(drops) != 1 or not 12 * 3600.0 <= starts[drops[0] - 1] < 13 * 3600.0 or starts[drops[0]] >= 6 * 3600.0:
        return starts
    return [start + (HALF_DAY_S if at >= drops[0] else 0.0) for at, start in enumerate(starts)]


def _few(found: list[tuple[Line, re.Match[str]]]) -> dict[int, Front]:
    """ "18:15 arrive 3 min", "18:18 cat cow 1 min", and no more: times of day, as no line lasts so long."""
    times = [(int(match["ah"]), int(match["am"])) for _, match in found]
    rising = all(one < other for one, other in itertools.pairwise(times))
    if len(found) < LEAST - 1 or not rising or times[0][0] < FIRST_HOUR or times[-1][0] >= 24:
        return {}
    start = f"{times[0][0]:02d}:{times[0][1]:02d}"
    return {
        line.number: Front(line.text[match.end() :], None, start if at == 0 else None, _shown(match))
        for at, (line, match) in enumerate(found)
    }


def _countdown(found: list[tuple[Line, re.Match[str]]], left: list[float]) -> dict[int, Front]:
    ends = [*left[1:], 0.0]
    return {
        line.number: Front(line.text[match.end() :], here - end, None, _shown(match), over=here == 0.0)
        for (line, match), here, end in zip(found, left, ends, strict=True)
    }


def _shown(match: re.Match[str]) -> str:
    return match.group().strip(" :|\t–—-")


def _spans(lines: list[Line]) -> dict[int, Front]:
    """ "0-5 arrive", "5-12 cat cow": where each begins when the one before it ends."""
    found = [(line, match) for line in lines if (match := _SPAN.match(line.text))]
    if len(found) < LEAST:
        return {}
    ends = [(int(match["from"]), int(match["to"])) for _, match in found]
    joined = sum(one[1] in (other[0], other[0] - 1) for one, other in itertools.pairwise(ends))
    if joined < 0.7 * (len(ends) - 1) or not all(a < b for a, b in ends):
        return {}
    return {
        line.number: Front(line.text[match.end() :], 60.0 * (b - a), None, _shown(match))
        for (line, match), (a, b) in zip(found, ends, strict=True)
    }


def _running_numbers(lines: list[Line]) -> dict[int, Front]:
    """ "1 push-ups", "2 squats", "3 planks": numbers that count the lines; other lines may stand between them."""
    result: dict[int, Front] = {}
    run: list[tuple[Line, re.Match[str]]] = []
    for line in [*lines, None]:
        match = _RUNNING.match(line.text) if line else None
        number = int(match["at"]) if match else None
        if line and match and number == len(run) + 1:
            run.append((line, match))
            continue
        if line and not line.text[:1].isdigit():
            continue
        if len(run) >= LEAST:
            result |= {each.number: Front(each.text[found.end() :], number=int(found["at"])) for each, found in run}
        run = [(line, match)] if line and match and number == 1 else []
    return result


def _minutes(lines: list[Line]) -> dict[int, Front]:
    found = [(line, match) for line in lines if (match := _MINUTES.match(line.text))]
    if len(found) < LEAST:
        return {}
    values = [float(match["at"]) for _, match in found]
    steps = [b - a for a, b in itertools.pairwise(values)]
    share = len(found) / max(1, len(lines))
    if share < 0.6 and values[0] != 0.0:
        return {}
    rising = all(step > 0 for step in steps)
    falling = all(step < 0 for step in steps)
    if rising and values[0] <= 5.0 and values[-1] >= 10.0 and len(values) > LEAST:
        lengths: list[float | None] = [60.0 * step for step in steps]
        return {
            line.number: Front(line.text[match.end() :], length, None, match["at"])
            for (line, match), length in zip(found, [*lengths, None], strict=True)
        }
    if falling and values[0] >= 15.0 and len(values) > LEAST:
        return _countdown(found, [60.0 * value for value in values])
    if all(_names_minutes(match) for _, match in found):
        return {
            line.number: Front(line.text[match.end() :], 60.0 * float(match["at"]), None, match["at"])
            for line, match in found
        }
    return {}


def _names_minutes(match: re.Match[str]) -> bool:
    """ "[5 min]", "5' |": minutes set apart from what stands behind them."""
    apart = match.group()[:1] in "[(" or match["sep"].strip() != ""
    return bool(match["unit"]) and apart
