"""Lines that last up to a time of day: "sit quiet until 18:15", "legs up the wall till 18:50"."""

import itertools
import re
from collections.abc import Sequence
from dataclasses import replace

from pairing.plan.line.chunks import is_size
from pairing.plan.lines import Line
from pairing.plan.note.evidence.lengths import about_s
from pairing.plan.note.evidence.typed import Setting
from pairing.plan.note.state import Reading
from pairing.plan.style import Style, style_in_words, style_named
from pairing.plan.tokens import Token

MOST_LINES = 400  # since a time that is known; a class has fewer
HALF_DAY_S = 12 * 3600.0
LONGEST_S, LEAST_S = 3600.0, 10.0  # of one line; editorial
_TIME = re.compile(r"(\d{1,2})\s?[:.h]\s?(\d\d)")


def up_to_clock(reading: Reading, line: Line) -> Line:
    """Give a line with the seconds up to the time of day that it names; other lines as they are.

    They are counted from the start of the class, or from the last such line, through what stands between; where no
    start is known, the time is left out, and the line tells no length.
    """
    tokens = reading.tokens_of(line)
    at = until(tokens)
    if at is None or any(is_size(token) for token in tokens[:at]) or reading.has_signs:
        return line
    end_s = _time(tokens[at + 1]) or 0.0
    now_s = _now_s(reading)
    late_s = None if now_s is None else (end_s - now_s) % HALF_DAY_S
    before, behind = line.text[: tokens[at].start].rstrip(" ,-–—"), line.text[tokens[at + 1].end :]
    if late_s is not None and LEAST_S <= late_s <= LONGEST_S:
        reading.known_at = (end_s, line.number)
        text = f"{before}, {round(late_s)} seconds{behind}"
    else:
        text = f"{line.text[: tokens[at].end]}{behind}"
    reading.scanned[line.number] = reading.scanner.scan(text)
    return replace(line, text=text, full="")


def until(tokens: Sequence[Token]) -> int | None:
    """Give the place of an "until" before a time of day; None where none stands."""
    return next((at for at, one in enumerate(tokens[:-1]) if one.says("how.until") and _time(tokens[at + 1])), None)


def _time(token: Token) -> float | None:
    """The seconds of a time of day; None for what is none."""
    found = _TIME.fullmatch(token.text)
    return 60.0 * (60 * int(found[1]) + int(found[2])) if found else None


def _now_s(reading: Reading) -> float | None:
    """When the class is here, about, as seconds of the day: from its start, or from the last time a line ends at."""
    known_s, after = reading.known_at or (None, 0)
    if known_s is None:
        if reading.top.start is None:
            return None
        hours, minutes = reading.top.start.split(":")
        known_s = 60.0 * (60 * int(hours) + int(minutes))
    style = style_named(reading.style) if reading.style else style_in_words(reading.title or "") or style_named("")
    since = list(itertools.islice(reversed(reading.echo), MOST_LINES + 1))
    if len(since) > MOST_LINES and since[-1] > after:
        return None
    return known_s + sum(_took_s(reading, number, style) for number in since if number > after)


def _took_s(reading: Reading, number: int, style: Style) -> float:
    """About the seconds of a line above; where the class keeps to a clock, they hold the time to get into it."""
    echo = reading.echo[number]
    if not echo.parts:
        return 0.0
    return about_s(echo.parts, Setting(reading.table, style)) * (2 if echo.both_sides else 1)
