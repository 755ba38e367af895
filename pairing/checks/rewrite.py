"""Small changes of a plan's text, line by line, for the remedies of the slot check.

Each function gives the line with one number changed and every other character as it was, or None where the line
doesn't hold what it looks for.
"""

import re

from pairing.model import Length
from pairing.plan.words import LENGTH, show_number, to_length

_ROUNDS = re.compile(r"(?<![\w.,:-])(\d+)(\s*)(rounds?)\b(?!\s*(?:of\s+breath|\d))", re.IGNORECASE)
_NUMBERS = re.compile(r"\s*(\d+(?:\.\d+)?)((?:\s*(?:-|–|—|to|or)\s*)(\d+(?:\.\d+)?))?")


def with_rounds(line: str, old: int, new: int) -> str | None:
    """Put `new` for the last "N rounds" of a heading, where N is `old`."""
    found = [match for match in _ROUNDS.finditer(line) if int(match[1]) == old]
    if not found:
        return None
    last = found[-1]
    word = "round" if new == 1 else "rounds"
    return f"{line[: last.start()]}{new}{last[2] or ' '}{word}{line[last.end() :]}"


def with_breaths_added(line: str, length: Length, more: float) -> str | None:
    """Put the line's length in breaths up by `more` (both ends of a range)."""
    new = Length("breaths", length.likely + more, length.shortest + more, length.longest + more)
    found = [match for match in LENGTH.finditer(line) if to_length(match) == length]
    numbers = _NUMBERS.match(found[0][0]) if len(found) == 1 else None
    if numbers is None:  # typed in words, or twice: "5 breaths (R), 5 breaths (L)"
        return None
    span = _same_form(numbers, [show_number(new.shortest), show_number(new.longest)])
    start, end = found[0].span()
    return _if_it_says(f"{line[:start]}{span}{found[0][0][numbers.end() :]}{line[end:]}", new)


def with_seconds(line: str, length: Length, new_s: float) -> str | None:
    """Put `new_s` seconds, written in minutes, for a length in seconds or minutes; not for a range."""
    if length.unit != "seconds" or length.shortest != length.longest:
        return None
    for match in reversed(list(LENGTH.finditer(line))):
        if to_length(match) == length:
            changed = f"{line[: match.start()]}{_minutes(new_s)}{line[match.end() :]}"
            return _if_it_says(changed, Length("seconds", new_s, new_s, new_s))
    return None


def _if_it_says(line: str, length: Length) -> str | None:
    """The line, if it reads as meant: numbers are typed in more ways than can be changed safely."""
    return line if any(to_length(match) == length for match in LENGTH.finditer(line)) else None


def with_what_is_left(line: str, minutes: Length | None, least_s: float) -> str | None:
    """Put "what is left, at least N minutes" for a heading's minutes, or at its end if it has none."""
    wanted = f"what is left, at least {_minutes(least_s)}"
    if minutes is not None:
        for match in reversed(list(LENGTH.finditer(line))):
            if to_length(match) == minutes:
                return f"{line[: match.start()]}{wanted}{line[match.end() :]}"
        return None
    return f"{line.rstrip()}, {wanted}" if ":" in line else None


def _same_form(numbers: re.Match[str], ends: list[str]) -> str:
    if numbers[2] is None:
        return numbers[0].replace(numbers[1], ends[0])
    between = numbers[2][: -len(numbers[3])]
    return f"{numbers[0][: -len(numbers[2]) - len(numbers[1])]}{ends[0]}{between}{ends[1]}"


def _minutes(seconds: float) -> str:
    whole = round(seconds)
    if whole % 60:
        return f"{whole // 60}:{whole % 60:02d}"
    return f"{whole // 60} minute" + ("" if whole == 60 else "s")
