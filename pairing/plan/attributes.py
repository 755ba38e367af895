"""What the attributes of a line or a heading say, wherever they stand in it and however they are typed.

Attributes made of several words or of a number with its unit are found anywhere outside brackets; single words
("right", "optional") only where they stand alone between commas, or at the end of a pose's name. What is no
attribute is left in order: first the name, then the teacher's notes.
"""

import difflib
import re
from collections.abc import Callable

from pairing.plan.kinds import is_kind
from pairing.plan.near import LINE_PHRASES, misspelt
from pairing.plan.rules import (
    HEADING_ANYWHERE,
    HEADING_WORDS,
    LENGTH_RULE,
    LENGTHS,
    LINE_ANYWHERE,
    LINE_COUNTS,
    LINE_WORDS,
    MUSIC,
    MUSIC_WORDS,
    AttributeRule,
    Rules,
)
from pairing.plan.said import Fault, Said, twice
from pairing.plan.words import LENGTH

OR = re.compile(r"\s+or\s+|\s*/\s*", re.IGNORECASE)
LONGEST_PART = 200  # letters that are looked back over within a part of a line; keeps long lines quick; editorial
GAP = "\x00"  # stands where an attribute was taken out; no typed line holds it

_ASIDE = re.compile(
    r"\bfrom\s+[\"“](?P<folder>[^\"“”]+)[\"”]|\((?P<round>[^()]*)\)?|\[(?P<square>[^\[\]]*)\]?|<(?P<angle>[^<>]*)>"
    r"|\{(?P<curly>[^{}]*)\}",
    re.IGNORECASE,
)
_SPLIT = re.compile(r"\x00|[,;]\s|[,;]$|(?<!\d)[,;]|[,;](?!\d)|:(?!\d)|(?<!\d):|\s[-–—]+(?=\s)|\s[-–—]+$|^[-–—]+\s")
_COUNT_COMMA = re.compile(r"([x×]\s?\d+),(?=\d)")  # "x3,5 breaths"
_BRACKET = re.compile(r"[(\[<{\"“]")
_TAIL = re.compile(r"(?:^|\s)(?:with|at|on|over)\s", re.IGNORECASE)
_BEFORE = (
    r"(?:\b(?:for|hold|held|holding|stay|about|approx\.?|ca\.?|around|of|over|on|at|then|and|to|in|do|with|just)\s*)+"
)
_FILLERS = re.compile(
    rf"(?:{_BEFORE}|[~≈=-]\s*)\x00|\x00\s*(?:(?:holds?|held|of|then|and|in total|long|or so)\b\s*)+", re.IGNORECASE
)
_WORD = re.compile(r"[^\W_]")
EDGE = ' \t.,;:!-–—~"“”&+/=\\\x00'


def read_line(text: str, is_name: Callable[[str], bool]) -> Said:
    """Read a line: `parts` holds the name, then nothing else; what else is left is in `notes` or `faults`.

    `is_name` says whether a text is the full name of a pose, so that "legs on a chair" is not cut at "on".
    """
    said = Said()
    text = re.sub(r"\bw/o\b", "without", re.sub(r"\bw/(?!o\b)\s*", "with ", text)) if "w/" in text else text
    text = re.sub(r"\s@\s*", " at ", text) if "@" in text else text
    text, asides = _without_asides(said, text)
    head = _SPLIT.split(text, maxsplit=1)[0].strip()
    if head and is_name(head):
        text = text[text.index(head) + len(head) :]
    else:
        head = ""
    text = _COUNT_COMMA.sub(r"\1, ", text)
    text = _apply(said, LINE_ANYWHERE, text)
    text = _lengths_and_counts(said, text)
    parts = _words(said, LINE_WORDS, _parts(text))
    name = head or (_strip_words(said, parts.pop(0), is_name) if parts else "")
    said.parts = [name] if name else []
    for part in parts:
        _note(said, part)
    for aside in asides:
        _aside(said, aside)
    if said.length_again and not said.each_side and said.side is None:
        said.faults.append(twice(said.length_again))  # "2' / 2'" without a word on sides
    return said


def read_heading(text: str) -> Said:
    """Read the attributes of a heading: `parts` holds what is none, in order."""
    said = Said()
    text, asides = _without_asides(said, text)
    text = _apply(said, HEADING_ANYWHERE, text)
    text = LENGTH.sub(lambda found: _taken(LENGTH_RULE.act(said, found), found), text)
    said.parts = _words(said, HEADING_WORDS, _parts(text))
    for aside in filter(_WORD.search, asides):
        inside = read_heading(aside)
        counts = (inside.told or inside.parts) and not inside.faults and not inside.notes
        if counts and all(map(is_kind, inside.parts)) and said.add(inside):
            said.parts += inside.parts
        else:
            said.notes.append(aside)
    return said


def read_wishes(text: str) -> Said:
    """Read wishes for the music; `parts` holds what is none."""
    said = Said()
    text, asides = _without_asides(said, text)
    said.parts = [*_words(said, MUSIC_WORDS, _parts(_apply(said, MUSIC, text))), *filter(_WORD.search, asides)]
    return said


def trailing(text: str) -> tuple[str, Said]:
    """Take the attributes off the end of a spoken text or a title; give what stays, as typed, and what they say."""
    said = Said()
    while True:
        cut = max((found.start() for found in re.finditer(r"[,;]", text)), default=-1)
        part = text[cut + 1 :].strip()
        rest = _all_attributes(part)
        if rest is None or not said.add(rest):
            break
        text = text[: max(cut, 0)].rstrip(" ,;-–—")
        if cut < 0:
            break
    return text.strip(), said


def trailing_length(said: Said, text: str) -> str:
    """Take a length off the very end of a text that has none between commas; give the text without it."""
    found = next(reversed(list(LENGTH.finditer(text))), None)
    if said.length is not None or found is None or found.end() < len(text.rstrip(EDGE + ")]")):
        return text
    LENGTH_RULE.act(said, found)
    return re.sub(r"(?:\b(?:for|about)\s*|[\s(–—-]+)+$", "", text[: found.start()])


def _without_asides(said: Said, text: str) -> tuple[str, list[str]]:
    asides: list[str] = []

    def take(found: re.Match[str]) -> str:
        if found["folder"]:
            said.wish(found.group(), folder=found["folder"].strip())
            return GAP
        asides.append(next((group for group in found.groups()[1:] if group), ""))
        return ", " if found.end() < len(text) else " "

    return _ASIDE.sub(take, text) if _BRACKET.search(text) else text, asides


def _apply(said: Said, rules: Rules, text: str) -> str:
    low = text.lower()
    if rules.hint.search(low):
        for rule in rules.each:
            if rule.hint.search(low):
                text = rule.pattern.sub(lambda found: _taken(rule.act(said, found), found), text)  # noqa: B023
    return text


def _taken(kept: bool | None, found: re.Match[str]) -> str:
    return found.group() if kept is False else GAP


def _lengths_and_counts(said: Said, text: str) -> str:
    """Take lengths and counts from before "with", "at", "on", "over"; from behind only where none stands before."""
    low = text.lower()
    counts = LINE_COUNTS.each if LINE_COUNTS.hint.search(low) else ()
    rules = [rule for rule in (LENGTH_RULE, *counts) if rule.hint.search(low)]
    for behind in (False, True) if rules else ():
        for rule in rules:
            if behind and ("length" if rule is LENGTH_RULE else "times") in said.told:
                continue
            text = rule.pattern.sub(
                lambda found: found.group() if _in_tail(found) != behind else _taken(rule.act(said, found), found),  # noqa: B023
                text,
            )
    return text


def _in_tail(found: re.Match[str]) -> bool:
    before = _SPLIT.split(found.string[max(0, found.start() - LONGEST_PART) : found.start()])[-1]
    tail = _TAIL.search(before)
    return tail is not None and bool(before[tail.end() :].strip())


def _parts(text: str) -> list[str]:
    text = _FILLERS.sub(GAP, text) if GAP in text else text
    return [part for part in (raw.strip(EDGE) for raw in _SPLIT.split(text)) if _WORD.search(part)]


def _words(said: Said, rules: tuple[AttributeRule, ...], parts: list[str]) -> list[str]:
    """Apply the parts that are single-word attributes as a whole; give the others."""
    return [part for part in parts if not _word(said, rules, part)]


def _word(said: Said, rules: tuple[AttributeRule, ...], part: str) -> bool:
    for rule in rules:
        found = rule.pattern.fullmatch(part)
        if found:
            return rule.act(said, found) is not False
    if part.lower() in ("each", "ea", "each one") and "length" in said.told:
        if said.times is None and not said.each_side:
            said.each_side = True
            said.liberties.append('"each" is read as "each side"')
        return True
    return part.lower() in ("once", "only", "all rounds", "the", "x", "×")


_AT_START = re.compile(r"(inhale|exhale|supported|optional|opt)\b[\s:.]+(?=\S)", re.IGNORECASE)
_AT_END = re.compile(
    r"(?<=\S)\s+(?:on\s+the\s+)?(right|left|r|l|optional|opt|supported|inhale|exhale)(?:\s+(?:side|leg))?$",
    re.IGNORECASE,
)


def _strip_words(said: Said, name: str, is_name: Callable[[str], bool]) -> str:
    """Take single-word attributes off both ends of a name that is none as it stands."""
    while not is_name(name) and not is_name(OR.split(name)[0]):
        at_start = None if is_name(_TAIL.split(name)[0]) else _AT_START.match(name)  # "supported bridge on a block"
        found = at_start or _AT_END.search(name)
        if not found or not _word(said, LINE_WORDS, found[1]):
            break
        name = (name[: found.start()] + name[found.end() :]).strip(EDGE)
    return name


def _note(said: Said, part: str) -> None:
    tail = _TAIL.search(part)
    meant = misspelt(part, LINE_PHRASES)
    if meant:
        said.faults.append(mistyped(part, meant))
    elif re.search(r"\d", part[: tail.start()] if tail else part):
        said.faults.append(not_understood(part))
    else:
        said.notes.append(part)


def mistyped(part: str, meant: str) -> Fault:
    """Give the fault of a misspelt attribute."""
    remedy = f'Did you mean "{meant}"? What is only for you to read goes in brackets.'
    return Fault("unknown-attribute", part, f'"{part}" isn\'t understood.', remedy, meant)


def not_understood(part: str) -> Fault:
    """Give the fault of a part with a number in it that is no attribute."""
    alone = re.fullmatch(r"(\d{1,3}(?:\s?[-–]\s?\d{1,3})?)", part)
    if alone:
        return Fault("unknown-length", part, f'"{part}" has no unit.', LENGTHS, f"{part} breaths")
    slip = mistyped_length(part)
    if slip:
        return slip
    return Fault(
        "unknown-attribute",
        part,
        f'"{part}" isn\'t understood.',
        "What is only for you to read goes in brackets.",
    )


def mistyped_length(part: str) -> Fault | None:
    """Give the fault of a number with a misspelt unit ("2 breth"); None for anything else."""
    unit = re.fullmatch(r"(\d+(?:\s?[-–]\s?\d+)?)\s*([a-z]{3,9})", part, re.IGNORECASE)
    near = difflib.get_close_matches(unit[2].lower(), _UNITS, 1, 0.65) if unit else []
    if not unit or not near:
        return None
    return Fault("unknown-length", part, f'"{part}" can\'t be read as a length.', LENGTHS, f"{unit[1]} {near[0]}")


_UNITS = ("breaths", "seconds", "minutes", "times", "rounds")


def _aside(said: Said, aside: str) -> None:
    """A bracket that is nothing but an attribute not yet given counts as one; any other is the teacher's note."""
    rest = _all_attributes(aside)
    if rest is not None and rest.told == {"side"} and said.side and rest.side != said.side:
        said.side, said.each_side = None, True
        said.told |= {"each_side"}
        said.liberties.append('"(R)" and "(L)" on one line are read as "each side"')
    elif rest is not None and said.add(rest):
        said.liberties.append(f'"({aside.strip()})" counts, though it is in brackets')
    elif _WORD.search(aside):
        said.notes.append(aside.strip(EDGE))


def _all_attributes(text: str) -> Said | None:
    """Give what a text says that consists of attributes only; None for any other."""
    said = Said()
    if not text.strip():
        return None
    text = _lengths_and_counts(said, _apply(said, LINE_ANYWHERE, text))
    left = _words(said, LINE_WORDS, _parts(text))
    return None if left or said.faults or not said.told else said
