"""The first line of a note: its title, and the slot and start that stand in it.

"Weds 6.30 vinyasa 60", "Mat Pilates L2 - Thurs 12:15 (50mins)", "Hatha Wed evening. 19.00 - 20.15".
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from pairing.plan.tokens import Token
from pairing.plan.words import parse_time_of_day

SHORTEST_SLOT_S, LONGEST_SLOT_S = 600.0, 4 * 3600.0  # editorial: what a title may mean by a number of minutes
NO_LINE_S = 2400.0  # a first line of so many minutes is the class itself; editorial
MOST_HOURS = 3  # of a class, behind the time at which it begins; editorial
MOST_THEMES = 3  # poses named in the title of a class with a slot; editorial
USUAL_SLOTS = {
    15,
    20,
    25,
    30,
    35,
    40,
    45,
    50,
    55,
    60,
    70,
    75,
    80,
    85,
    90,
    100,
    105,
    120,
    150,
}  # minutes, without a unit

_DAY_TIME = r"(\d{1,2})(?:[:.h](\d\d))?\s*(a\.?m|p\.?m)?\.?"
_SPAN = re.compile(
    rf"(?<![\d.:]){_DAY_TIME}\s*(?:uhr|h)?\s*(?:-|–|—|to|bis|à|a|until)\s*{_DAY_TIME}(?![\d:'’′])", re.IGNORECASE
)
_HOUR = re.compile(r"\b(?:power|lunch|happy|full|an|one|yoga|pilates|quiet)[\s-]+(?:hr|hour)\b", re.IGNORECASE)
_APART = re.compile(r"\s[-–—|/·]+\s*(\d{2,3})\s*[-–—|/·]+\s")  # "Tues 7pm - 60 - tight hips"
_TOLD = re.compile(r"(?<![\d.:])(\d{2,3})\s?(?:min(?:ute)?s?\b|['’′])", re.IGNORECASE)
_LONE = re.compile(r"(?<![\w.:/+-])(\d{2,3})(?![\w.:/%'’′+-]|\s?(?:[x×]|br\b|sec|s\b|[-–—/:]\s?\d))")
_DECADE = re.compile(r"[1-9]0s")  # "over 60s", "80s music"
_MINUTES = re.compile(r"(?<![\d.:])(\d{2,3})\s*(?:$|[()\],])")


@dataclass(frozen=True, slots=True)
class Title:
    """What a title says."""

    name: str
    slot_s: float | None = None
    start: str | None = None


def read_title(text: str, tokens: Sequence[Token], *, must: bool = False, apart: bool = False) -> Title | None:
    """Read a line as a title; None where it is none. `must`: it is known to be one; `apart`: it stands by itself."""
    slot_s, start = clock_span(text) or (None, None)
    lengths = [token for token in _flat(tokens) if token.kind == "length" and token.unit == "seconds"]
    fitting = [token.low for token in lengths if SHORTEST_SLOT_S <= token.low <= LONGEST_SLOT_S and _is_minutes(token)]
    names_class = any(token.says("top.day", "top.class") for token in tokens)
    if slot_s is None and fitting:
        slot_s = fitting[0]
    if slot_s is None:
        slot_s = _bare_minutes(text) or (3600.0 if _HOUR.search(text) else None)
    told = _TOLD.search(text)
    if slot_s is None and told and SHORTEST_SLOT_S <= 60.0 * int(told[1]) <= LONGEST_SLOT_S:
        slot_s = 60.0 * int(told[1])  # "jueves 19h 55min"
    if slot_s is None and names_class:
        slot_s = _lone_minutes(text)
    others = [
        token for token in tokens if token.kind == "pose" and not token.picture and not token.says("top.class", "kinds")
    ]
    sized = any(
        token.kind in ("times", "counts", "pulses") or (token.kind == "length" and token.unit == "breaths")
        for token in tokens
    )
    outside = [token for token in lengths if token in tokens]
    short = [
        token
        for token in outside
        if token.low < SHORTEST_SLOT_S and not (_is_day_time(token) or _DECADE.fullmatch(token.text))
    ]
    if not must:
        if apart and not sized and not short:
            return Title(_bare(text), slot_s, start or _start(text, tokens))
        long = slot_s is not None and slot_s >= NO_LINE_S and len(outside) <= 1
        if long and not sized and not short and len(others) <= 2:
            return Title(_bare(text), slot_s, start or _start(text, tokens))
        if _stayed_in(others if names_class else tokens):
            return None
        dated = any(token.says("top.day") for token in tokens)  # "Mat Pilates intermed. Wed 9.30"
        if sized or short or len(others) > (MOST_THEMES if dated or (slot_s and names_class) else 0):
            return None
        if not (names_class or slot_s or not others):
            return None
    return Title(_bare(text), slot_s, start or _start(text, tokens))


def slot_in(text: str) -> float | None:
    """Give the seconds of the slot that a first line tells as times of day or minutes, whatever else stands in it."""
    span = clock_span(text)
    told = _TOLD.search(text)
    return span[0] if span else 60.0 * int(told[1]) if told else _bare_minutes(text) or _lone_minutes(text)


def _stayed_in(poses: Sequence[Token]) -> bool:
    """Whether one of them would take the minutes of a slot itself: "yin nidra, corpse 20 min"."""
    return any(token.match and token.match.pose and token.match.pose.id == "corpse" for token in poses)


def clock_span(text: str) -> tuple[float, str | None] | None:
    """Give slot and start of "19.00 - 20.15" or "6-7pm"; None where there is no such span of the day."""
    for found in _SPAN.finditer(text):
        h1, m1, half1, h2, m2, half2 = found.groups()
        hours = re.search(r"\d\s?(?:h\b|uhr)", text[found.start() : found.end() + 4], re.IGNORECASE)  # "19h-20h"
        if not (m1 or m2 or half1 or half2 or hours):
            continue
        if m1 and not m2 and int(h2) <= MOST_HOURS < int(h1) and hours:  # "10h30 - 1h"
            continue
        if m2 and not m1 and hours and int(h2) <= MOST_HOURS < int(h1) and not half2:  # "10h - 1h15"
            continue
        one, two = _minutes_of(h1, m1, half1 or half2), _minutes_of(h2, m2, half2)
        if one is None or two is None:
            continue
        if two <= one:
            two += 720 if two + 720 > one and not half2 else 1440
            if half1 is None and half2:
                one = _minutes_of(h1, m1, None) or 0
                two = _minutes_of(h2, m2, half2) or 0
        seconds = 60.0 * (two - one)
        if SHORTEST_SLOT_S <= seconds <= LONGEST_SLOT_S:
            return seconds, f"{one // 60 % 24:02d}:{one % 60:02d}"
    return None


def _minutes_of(hour: str, minute: str | None, half: str | None) -> int | None:
    time = parse_time_of_day(f"{hour}:{minute or '00'} {(half or '').replace('.', '')}".strip())
    return None if time is None else 60 * int(time[:2]) + int(time[3:])


def _flat(tokens: Sequence[Token]) -> list[Token]:
    return [part for token in tokens for part in ([token] if token.kind != "aside" else _flat(token.inner))]


def _is_minutes(token: Token) -> bool:
    return ":" not in token.text


def _is_day_time(token: Token) -> bool:
    return ":" in token.text


def _bare_minutes(text: str) -> float | None:
    plain = text.strip(" .!*_#")
    found = _MINUTES.search(plain) or _APART.search(plain)
    return 60.0 * int(found[1]) if found and int(found[1]) in USUAL_SLOTS else None


def _lone_minutes(text: str) -> float | None:
    """ "Power 75 // sat 9a // hot room": the one number of a title that may be its minutes."""
    found = [int(number) for number in _LONE.findall(text)]
    return 60.0 * found[0] if len(found) == 1 and found[0] in USUAL_SLOTS else None


def _start(text: str, tokens: Sequence[Token]) -> str | None:
    """A time of day in the title, where it can't be morning and evening alike."""
    found = re.search(
        r"(?<![\d.:])(?:(1[3-9]|2[0-3])[:.h](\d\d)|(\d{1,2})(?:[:.](\d\d))?\s*(am|pm))\b", text, re.IGNORECASE
    )
    if not found:
        return None
    return parse_time_of_day(f"{found[1]}:{found[2]}" if found[1] else f"{found[3]}:{found[4] or '00'} {found[5]}")


def _bare(text: str) -> str:
    return text.strip(" \t:,;-–—#*_>")
