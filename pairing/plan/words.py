"""Lengths, numbers and times of day as people type them.

Understood: "3 breaths", "3-5 br", "half a breath", "90 s", `30"`, "2 min", `5'`, "1:30", "1 min 30", "1 h 15",
"two minutes", "2 1/2 minutes", "2½ min". A range has its middle as the likely value.
"""

import functools
import re

from pairing.model import Length

LONGEST_S = 6 * 3600.0  # editorial: no line of a class is longer; keeps a typing error from filling a day
MOST_TIMES = 300  # editorial, likewise for repetitions and rounds

_NUMBER_WORDS = {
    "a": 1.0, "an": 1.0, "one": 1.0, "two": 2.0, "three": 3.0, "four": 4.0, "five": 5.0, "six": 6.0, "seven": 7.0,
    "eight": 8.0, "nine": 9.0, "ten": 10.0, "eleven": 11.0, "twelve": 12.0, "fifteen": 15.0, "twenty": 20.0,
    "thirty": 30.0, "forty": 40.0, "forty-five": 45.0, "sixty": 60.0, "ninety": 90.0, "a couple of": 2.0,
    "half a": 0.5, "half an": 0.5, "half": 0.5, "one and a half": 1.5, "two and a half": 2.5,
}  # fmt: skip
_FRACTIONS = {"½": 0.5, "¼": 0.25, "¾": 0.75, "⅓": 1 / 3, "⅔": 2 / 3}

_DIGITS = r"(?:\d{1,5}(?:[.,]\d{1,6})?(?:\s+[1-3]/[2-4](?!\d)|\s?[½¼¾⅓⅔])?|[1-3]/[2-4](?!\d)|[½¼¾⅓⅔])"
_WORDS = "|".join(sorted(map(re.escape, _NUMBER_WORDS), key=len, reverse=True))
_TO = r"\s*(?:-|–|—|−|\bto\b|\bor\b)\s*"
_BREATHS = (
    r"(?:(?:full|deep|slow|long|quick|even|more|big|easy|quiet)\s+){0,2}(?:breaths?|breathes)\b"
    r"|(?:full\s+)?(?:rounds?|cycles)\s+of\s+breath(?:ing)?\b"
)
_SECONDS, _MINUTES, _HOURS = r"(?:seconds?|secs?)\b\.?", r"(?:minutes?|mins?)\b\.?", r"(?:hours?|hrs?)\b\.?"
_SHORT_BREATHS = r"(?:brths?|bths?|brs?|b)\b\.?"
_TIME = rf"(?:{_SECONDS}|{_MINUTES}|s\b|m\b)"
_SHORT_SECONDS, _SHORT_MINUTES, _SHORT_HOURS = r"s\b|\"|”|''|″", r"m\b|'(?!')|’|′", r"h\b"

# What may stand behind the second number of "1 min 30".
_NO_UNIT = r"(?=\s*(?:$|[,;)\x00]|(?:each|ea|e/s|per|on|right|left|r|l|both|optional)\b))"

LENGTH = re.compile(
    rf"""(?<![a-wyz\d.,:/%½¼¾-])(?:
      (?=[\d½¼¾⅓⅔])(?:
          (?P<clock>\d{{1,3}}:[0-5]\d(?::[0-5]\d)?)(?:{_TO}(?P<clock2>\d{{1,3}}:[0-5]\d(?::[0-5]\d)?))?(?![\d:])
              (?:\s*(?:{_MINUTES}|{_HOURS}))?
        | (?P<hours>\d{{1,2}})\s*(?:{_HOURS}|{_SHORT_HOURS}|h(?=\d))\s*(?:and\s+)?(?P<hour_minutes>[0-5]?\d)
              (?:\s*(?:{_MINUTES}|{_SHORT_MINUTES})|{_NO_UNIT})
        | (?P<minutes>\d{{1,3}})\s*(?:{_MINUTES}|{_SHORT_MINUTES}|m(?:ins?)?(?=\d))\s*(?:and\s+)?(?P<seconds>[0-5]?\d)
              (?:\s*(?:{_SECONDS}|{_SHORT_SECONDS})|{_NO_UNIT})
        | (?P<b_low>{_DIGITS})\s*(?:{_BREATHS}|{_SHORT_BREATHS}){_TO}(?P<b_high>{_DIGITS})
              \s*(?:{_BREATHS}|{_SHORT_BREATHS})
        | (?P<t_low>{_DIGITS})\s*(?P<t_low_unit>{_TIME}){_TO}(?P<t_high>{_DIGITS})\s*(?P<t_high_unit>{_TIME})
        | (?P<low>{_DIGITS})(?:{_TO}(?P<high>{_DIGITS}))?(?:\s*-\s*|\s*)
              (?P<unit>{_BREATHS}|{_SHORT_BREATHS}|{_SECONDS}|{_MINUTES}|{_HOURS}
                      |{_SHORT_SECONDS}|{_SHORT_MINUTES}|{_SHORT_HOURS}))
    | between\s+(?P<from>{_DIGITS})\s+and\s+(?P<till>{_DIGITS})\s*(?P<between_unit>{_BREATHS}|{_SECONDS}|{_MINUTES})
    | \b(?P<word>{_WORDS})(?:\s+(?:to|or)\s+(?P<word2>{_WORDS}))?(?:\s+|-)
          (?P<word_unit>{_BREATHS}|{_SECONDS}|{_MINUTES}|{_HOURS})
    )(?P<half>\s+and\s+a\s+half\b)?(?:\s*\b(?:holds?|long)\b)?""",
    re.IGNORECASE | re.VERBOSE,
)


def to_length(found: re.Match[str]) -> Length:
    """Give the length that a match of LENGTH stands for."""
    if found["unit"]:
        return _of_unit(found["unit"], found["low"], found["high"], found["half"])
    if found["word"]:
        return _of_unit(found["word_unit"], found["word"], found["word2"], found["half"])
    if found["clock"]:
        return _span("seconds", _clock(found["clock"]), _clock(found["clock2"] or found["clock"]))
    if found["hours"]:
        return _span("seconds", 3600 * float(found["hours"]) + 60 * float(found["hour_minutes"]))
    if found["minutes"]:
        return _span("seconds", 60 * float(found["minutes"]) + float(found["seconds"]))
    if found["b_low"]:
        return _span("breaths", number(found["b_low"]), number(found["b_high"]))
    if found["t_low"]:
        ends = [number(found[end]) * (_seconds_in(found[f"{end}_unit"]) or 1.0) for end in ("t_low", "t_high")]
        return _span("seconds", *ends)
    return _of_unit(found["between_unit"], found["from"], found["till"], None)


def parse_length(text: str) -> Length | None:
    """Give the length that the whole of `text` names; None where it names none.

    >>> parse_length("3-5 breaths")
    Length(unit='breaths', likely=4.0, shortest=3.0, longest=5.0)
    """
    found = LENGTH.fullmatch(text.strip(" .,~"))
    return to_length(found) if found else None


def parse_seconds(text: str, *, bare: float, breath_s: float = 5.0) -> float | None:
    """Give the seconds that `text` names; a number alone counts `bare` seconds a unit; None for no length."""
    plain = re.sub(r"^(?:about|approx\.?|ca\.?|~)\s*", "", text.strip(" .,"), flags=re.IGNORECASE)
    if re.fullmatch(_DIGITS, plain):
        return bare * number(plain)
    length = parse_length(re.sub(r"\s+(?:each|before|after|per breath)$", "", plain))
    if length is None:
        return None
    return length.likely * (breath_s if length.unit == "breaths" else 1.0)


def parse_slot(text: str) -> float | None:
    """Give the seconds of a booking: a length, minutes as a bare number, "1:15" (hours) or "12:15-13:00"."""
    booked = re.fullmatch(rf"(\d{{1,2}})[:.h](\d\d){_TO}(\d{{1,2}})[:.h](\d\d)", text.strip())
    if booked:
        start_h, start_m, end_h, end_m = map(int, booked.groups())
        return 60.0 * ((60 * (end_h - start_h) + end_m - start_m) % 1440)
    seconds = parse_seconds(text, bare=60.0)
    short_clock = re.fullmatch(r"\s*\d:\d\d\s*(?:h|hours?)?\s*", text)
    return seconds * 60 if seconds is not None and short_clock else seconds


def parse_time_of_day(text: str) -> str | None:
    """Give a local wall time as "18:30"; None for what is none."""
    found = re.fullmatch(r"(\d{1,2})(?:[:.h](\d\d)?)?\s*(a\.?m\.?|p\.?m\.?|o'clock|h|uhr)?", text.strip(" ."), re.I)
    if not found:
        return None
    hour, minute, half = int(found[1]), int(found[2] or 0), (found[3] or "").lower()[:1]
    if half in ("a", "p"):
        hour = hour % 12 + (12 if half == "p" else 0)
    return f"{hour:02d}:{minute:02d}" if hour < 24 and minute < 60 else None


@functools.lru_cache(maxsize=1024)
def number(text: str) -> float:
    """Give the value of a number in digits, fractions or words, as LENGTH matches them."""
    plain = re.sub(r"\s+", " ", text.strip().lower()).replace(",", ".")
    if plain in _NUMBER_WORDS:
        return _NUMBER_WORDS[plain]
    if plain[-1] in _FRACTIONS:
        return float(plain[:-1] or 0) + _FRACTIONS[plain[-1]]
    whole, _, fraction = plain.rpartition(" ")
    if "/" in fraction:
        over, under = fraction.split("/")
        return float(whole or 0) + int(over) / int(under)
    return float(plain)


def scaled(length: Length, by: float) -> Length:
    """Give a length so many times as long, to the millisecond."""
    low, high = round(by * length.shortest, 3), round(by * length.longest, 3)
    return Length(length.unit, (low + high) / 2, low, high)


def show_number(value: float) -> str:
    """Give a number as short as it can be written without loss."""
    return str(int(value)) if value == int(value) else repr(value)


def show_length(length: Length) -> str:
    """Give a length as `parse_length` reads it back, value for value."""
    minutes = length.unit == "seconds" and not length.shortest % 60 and not length.longest % 60
    ends = [show_number(end / 60 if minutes else end) for end in (length.shortest, length.longest)]
    unit = "minutes" if minutes else length.unit
    return f"1 {unit[:-1]}" if ends == ["1", "1"] else f"{'-'.join(dict.fromkeys(ends))} {unit}"


def show_seconds(seconds: float) -> str:
    """Give seconds as a person would write them."""
    return show_length(Length("seconds", seconds, seconds, seconds))


def _of_unit(unit: str, low: str, high: str | None, half: str | None) -> Length:
    factor = _seconds_in(unit)
    more = 0.5 if half else 0.0
    ends = [(factor or 1.0) * (number(end) + more) for end in (low, high or low)]
    return _span("breaths" if factor is None else "seconds", *ends)


def _span(unit: str, low: float, high: float | None = None) -> Length:
    low, high = sorted((round(low, 3), round(low if high is None else high, 3)))
    return Length("breaths" if unit == "breaths" else "seconds", (low + high) / 2, low, high)


def _clock(text: str) -> float:
    seconds = 0.0
    for part in text.split(":"):
        seconds = 60 * seconds + int(part)
    return seconds


@functools.lru_cache(maxsize=256)
def _seconds_in(unit: str) -> float | None:
    """Seconds in a unit of time; None for breaths."""
    plain = unit.lower().strip(" .")
    if re.search("br|bth", plain) or plain == "b":
        return None
    if plain.startswith(("m", "'", "’", "′")) and plain != "''":
        return 60.0
    return 3600.0 if plain.startswith("h") else 1.0
