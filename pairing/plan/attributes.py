"""What the attributes of a line or a heading say, wherever they stand in it and however they are typed.

Attributes made of several words or of a number with its unit are found anywhere outside brackets; single words
("right", "optional") only where they stand alone between commas, or at the end of a pose's name. What is no
attribute is left in order: first the name, then the teacher's notes.
"""

import difflib
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from typing import Any, Literal, NamedTuple

from pairing.model import Length, Side, Wishes
from pairing.plan.words import LENGTH, LONGEST_S, MOST_TIMES, number, parse_length, to_length

GAP = "\x00"  # stands where an attribute was taken out; no typed line holds it


class Fault(NamedTuple):
    """Something in a line that can't be understood."""

    code: str
    fragment: str
    message: str
    remedy: str
    new: str | None = None  # what the fragment should read, where that is clear; "" to drop it


@dataclass(slots=True)
class Said:
    """What one line or heading says; None or False: nothing said."""

    length: Length | None = None
    times: int | None = None
    each_side: bool = False
    side: Side | None = None
    once: Literal["between sides", "after both sides"] | None = None
    optional: bool = False
    from_round: int | None = None
    to_round: int | None = None
    last_round: Literal["only", "not"] | None = None
    no_hold: bool = False
    supported: bool = False
    every_time: bool = False
    rounds: int | None = None
    quicker: float | None = None
    first_side: Side | None = None
    what_is_left: bool = False
    at_least: Length | None = None
    breath: Length | None = None
    between: Length | None = None
    repeats: str | None = None
    wishes: Wishes = field(default_factory=Wishes)
    notes: list[str] = field(default_factory=list)
    parts: list[str] = field(default_factory=list)  # what is left between the attributes
    faults: list[Fault] = field(default_factory=list)
    liberties: list[str] = field(default_factory=list)
    told: set[str] = field(default_factory=set)

    def put(self, name: str, value: Any, typed: str) -> None:
        """Note that the line says this; a fault where it said something else before."""
        if name in self.told and getattr(self, name) != value:
            self.faults.append(_twice(typed))
            return
        self.told.add(name)
        setattr(self, name, value)

    def wish(self, typed: str, **wishes: Any) -> None:
        """Note a wish for the music."""
        for name, value in wishes.items():
            if name in self.told and getattr(self.wishes, name) != value:
                self.faults.append(_twice(typed))
                return
            self.told.add(name)
        self.wishes = replace(self.wishes, **wishes)


class Rule(NamedTuple):
    """An attribute: words one of which must be in the text, the pattern, what it does."""

    hints: tuple[str, ...]
    pattern: re.Pattern[str]
    act: Callable[[Said, re.Match[str]], bool | None]  # False: leave the text as it is


def _twice(typed: str) -> Fault:
    return Fault("said-twice", typed, f'"{typed}" contradicts what the line says before.',
                 "Keep one; what is no instruction stands in brackets.", f"({typed})")  # fmt: skip


def _rule(hints: str, pattern: str, act: Callable[[Said, re.Match[str]], bool | None]) -> Rule:
    return Rule(tuple(hints.split()), re.compile(pattern, re.IGNORECASE), act)


def _flag(name: str, value: Any = True) -> Callable[[Said, re.Match[str]], None]:
    return lambda said, found: said.put(name, value, _typed(found))


def _wish(**wishes: Any) -> Callable[[Said, re.Match[str]], None]:
    return lambda said, found: said.wish(_typed(found), **wishes)


def _typed(found: re.Match[str]) -> str:
    return found.group().strip(" ,;:")


# ---- single attributes ------------------------------------------------------------------------------------------


def _silent_last(said: Said, found: re.Match[str]) -> None:
    length = parse_length(found["length"]) if found["length"] else Length("seconds", 60.0, 60.0, 60.0)
    if length is None or length.unit == "breaths":
        said.faults.append(_no_length(_typed(found), "silent last 2 minutes"))
        return
    said.wish(_typed(found), silent_last_s=length.likely)


def _beat(said: Said, found: re.Match[str]) -> None:
    low, high = sorted((float(found["low"]), float(found["high"] or found["low"])))
    if not 20 <= low <= high <= 400:
        said.faults.append(Fault("beat", _typed(found), "No music has such a beat.", "Write: beat 96-110."))
        return
    said.wish(_typed(found), beat_bpm=(low, high))


def _energy(said: Said, found: re.Match[str]) -> None:
    share = float(found["share"].replace(",", ".")) / (100 if found["percent"] or "." not in found["share"] else 1)
    if share > 1:
        said.faults.append(Fault("energy", _typed(found), "Energy goes from 0 to 100%.", "Write: energy 60%."))
        return
    said.wish(_typed(found), energy=round(share, 6))


def _length_after(name: str, example: str) -> Callable[[Said, re.Match[str]], None]:
    def act(said: Said, found: re.Match[str]) -> None:
        length = parse_length(found["length"])
        if length is None or length.likely > LONGEST_S:
            said.faults.append(_no_length(_typed(found), example))
        else:
            said.put(name, length, _typed(found))

    return act


def _quicker(said: Said, found: re.Match[str]) -> None:
    percent = float(found["percent"].replace(",", "."))
    if percent > 50:
        said.faults.append(
            Fault("quicker", _typed(found), "A round can't be so much quicker than the one before.",
                  "Usual are 5% to 20%.")  # fmt: skip
        )
        return
    said.put("quicker", percent / 100, _typed(found))


def _rounds_span(said: Said, found: re.Match[str]) -> None:
    low, high = sorted((_ordinal(found["low"]), _ordinal(found["high"])))
    said.put("from_round", low, _typed(found))
    said.put("to_round", high, _typed(found))


def _one_round(said: Said, found: re.Match[str]) -> None:
    at = _ordinal(found["at"] or found["nth"])
    said.put("from_round", at, _typed(found))
    said.put("to_round", at, _typed(found))


def _from_round(said: Said, found: re.Match[str]) -> None:
    said.put("from_round", _ordinal(found["at"] or found["nth"]), _typed(found))


def _until_round(said: Said, found: re.Match[str]) -> None:
    said.put("to_round", _ordinal(found["at"]), _typed(found))


_ORDINALS = {"first": 1, "second": 2, "third": 3, "fourth": 4, "fifth": 5, "one": 1, "two": 2, "three": 3}


def _ordinal(text: str) -> int:
    return _ORDINALS.get(text.lower()) or int(re.sub(r"\D", "", text))


def _count(said: Said, typed: str, low: int, high: int, *, name: str = "times") -> None:
    if not 1 <= low <= high <= MOST_TIMES:
        said.faults.append(
            Fault("count", typed, f'"{typed}" is no count for a class.', f"Write 1 to {MOST_TIMES}: x3.")
        )
        return
    if low != high:
        said.liberties.append(f'"{typed}" is counted as {(low + high) // 2}')
    said.put(name, (low + high) // 2, typed)


def _times(said: Said, found: re.Match[str]) -> None:
    low = int(found["low"])
    _count(said, _typed(found), low, int(found["high"] or low) if "high" in found.groupdict() else low)


def _sets(said: Said, found: re.Match[str]) -> None:
    count = int(found["sets"]) * int(found["reps"])
    _count(said, _typed(found), count, count)


def _times_each_side(said: Said, found: re.Match[str]) -> None:
    _times(said, found)
    said.put("each_side", True, _typed(found))


def _rounds_of_group(said: Said, found: re.Match[str]) -> None:
    count = int(number(found["count"] or found["x"]))
    _count(said, _typed(found), count, count, name="rounds")


def _length(said: Said, found: re.Match[str]) -> bool | None:
    length = to_length(found)
    if length.shortest <= 0 or length.longest > LONGEST_S:
        said.faults.append(
            Fault("length", _typed(found), f'"{_typed(found)}" is no length for a class.', _LENGTHS)
        )
        return None
    said.put("length", length, _typed(found))
    return None


def _half_breath(said: Said, found: re.Match[str]) -> bool | None:
    if said.length is not None:
        return False
    said.put("length", Length("breaths", 0.5, 0.5, 0.5), _typed(found))
    return None


def _side(said: Said, found: re.Match[str]) -> None:
    said.put("side", "right" if found["side"].lower().startswith("r") else "left", _typed(found))


def _first_side(said: Said, found: re.Match[str]) -> None:
    said.put("first_side", "left" if "left" in found.group().lower() else "right", _typed(found))


def _repeat(said: Said, found: re.Match[str]) -> None:
    said.put("repeats", found["name"].strip(" .\"“”'"), _typed(found))


def _no_length(typed: str, example: str) -> Fault:
    return Fault("unknown-length", typed, f'"{typed}" holds no length that can be read.', f"Write: {example}.")


_LENGTHS = "Lengths look like: 3 breaths, 40 seconds, 2 minutes."
_LEN = (
    r"(?P<length>\d[\d:.,½/]*(?:\s*[-–]\s*\d+)?\s*(?:breaths?\b|brs?\b|seconds?\b|secs?\b|s\b|minutes?\b|mins?\b|m\b|['’\"]|"
    r"(?<=:\d\d))(?:\s*\d{1,2}\s*(?:seconds?|secs?|s)\b)?|(?:an?|one|two|three|four|five|ten|half an?)\s+"
    r"(?:breath|minute|second)s?\b)"
)
_EACH = (
    r"(?:(?:\bon\s+|\bto\s+|\bfor\s+)?\b(?:each|either|ea\.?|per|every|both)\s+(?:side|way|direction|leg|arm|foot|hand|hip|"
    r"knee|wrist|ankle|shoulder)s?\b|\be\.?\s?/\s?s\b\.?|\bea/s\b|\br\s?(?:[/&+]|and)\s?l\b|\bl\s?[/&+]\s?r\b"
    r"|\bright\s*(?:and|then|&|/|\+)(?:\s+then)?\s*left\b|\bleft\s*(?:and|then|&|/|\+)(?:\s+then)?\s*right\b"
    r"|/\s?sides?\b)"
)
_EACH_HINTS = "side way direction leg arm e/s ea/s e./s r/l l/r r&l r+l r\x20 left foot hand hip knee wrist ankle shoulder"
_NTH = r"(?P<nth>first|second|third|fourth|fifth|[1-9](?:st|nd|rd|th))"
_THE = r"(?:in\s+|on\s+)?(?:the\s+)?"

_MUSIC = (
    _rule("silen", rf"\bsilent\s+(?:for\s+)?(?:the\s+)?(?:last|final)\s+(?:{_LEN}|minute\b)", _silent_last),
    _rule("silen", rf"\b(?:the\s+)?(?:last|final)\s+(?:{_LEN}|minute)\s*(?:\bin\s+)?\bsilen(?:t|ce)\b", _silent_last),
    _rule("beat bpm tempo", r"\b(?:beat|bpm|tempo)\s*:?\s*(?:of\s+|around\s+|about\s+)?(?P<low>\d{2,3})"
          r"(?:\s*(?:-|–|to)\s*(?P<high>\d{2,3}))?(?:\s*(?:bpm|beats(?: a| per) minute))?\b", _beat),
    _rule("bpm", r"\b(?P<low>\d{2,3})(?:\s*(?:-|–|to)\s*(?P<high>\d{2,3}))?\s*bpm\b", _beat),
    _rule("energy", r"\benergy\s*:?\s*(?P<share>\d{1,3}(?:[.,]\d{1,6})?)\s*(?P<percent>%|percent\b|per cent\b)?", _energy),
    _rule("music", r"\b(?:no|without)\s+music\b", _wish(no_music=True)),
    _rule("voice vocal sing instrumental", r"\b(?:(?:no|without)\s+(?:voices?|vocals?|singing|singers?)|instrumentals?"
          r"(?:\s+only)?)\b(?:\s+music\b)?", _wish(no_voice=True)),
    _rule("music", r"\b(?:same|keep(?:\s+the)?)\s+music\b", _wish(same_music=True)),
    _rule("music", r"\b(?:quiet|soft|calm)\s+music\b", _wish(level="quiet")),
    _rule("music", r"\bsteady\s+music\b", _wish(level="steady")),
    _rule("music", r"\bdriving\s+music\b", _wish(level="driving")),
)  # fmt: skip
_LEVELS = (
    _rule("", r"quiet|soft music", _wish(level="quiet")),
    _rule("", r"steady", _wish(level="steady")),
    _rule("", r"driving", _wish(level="driving")),
)
_LINE_ANYWHERE = (
    *_MUSIC,
    _rule("between", r"\b(?:once\s+)?(?:in\s+)?between\s+(?:the\s+)?(?:two\s+)?sides\b", _flag("once", "between sides")),
    _rule("after", r"\b(?:once\s+)?after\s+(?:(?:the\s+)?(?:both|second|two|2nd|other)\s+sides?\b|both\b)",
          _flag("once", "after both sides")),
    _rule("round", rf"\b(?:but\s+)?(?:not|except|skip|all but|without)\s+{_THE}(?:last|final)\s+round\b(?:\s+only\b)?",
          _flag("last_round", "not")),
    _rule("round", rf"\b(?:only\s+)?{_THE}(?:last|final)\s+round\b(?:\s+only\b)?", _flag("last_round", "only")),
    _rule("round", rf"\b(?:from|starting)\s+(?:the\s+)?(?:rounds?\s*(?P<at>\d{{1,3}}|two|three)\b|{_NTH}\s+round\b)"
          r"(?:\s+on(?:wards?)?\b)?", _from_round),
    _rule("round", r"\brounds?\s*(?P<at>\d{1,3})\s*(?:\+|\b(?:and\s+)?(?:on|onwards?|up)\b)(?P<nth>)", _from_round),
    _rule("round", r"\b(?:until|till|up to|to)\s+(?:round\s*)(?P<at>\d{1,3})\b", _until_round),
    _rule("round", rf"\b{_THE}rounds?\s*(?P<low>\d{{1,3}})\s*(?:-|–|to|and|&|\+)\s*(?P<high>\d{{1,3}})\b(?:\s+only\b)?",
          _rounds_span),
    _rule("round", rf"\b(?:only\s+)?{_THE}(?:rounds?\s*(?P<at>\d{{1,3}}|one|two|three)\b|{_NTH}\s+round\b)"
          r"(?:\s+only\b)?", _one_round),
    _rule("every each", r"\b(?:every|each)\s+(?:time|round)\b", _flag("every_time")),
    _rule("hold dog", r"\b(?:no|without(?:\s+the|\s+a)?)\s+(?:long\s+)?(?:holds?|dog)\b(?!\s+back)", _flag("no_hold")),
    _rule(_EACH_HINTS, rf"(?<![\w.:,/])(?P<low>\d{{1,4}})(?:\s*[-–]\s*(?P<high>\d{{1,4}}))?\s*(?:x\s*|times\s+|reps\s+)?{_EACH}",
          _times_each_side),
    _rule(_EACH_HINTS, _EACH, _flag("each_side")),
    _rule("if", r"\bif\s+(?:there(?:['’]?s|\s+is)?\s+)?(?:any\s+)?time(?:\s+(?:allows|permits))?\b", _flag("optional")),
)  # fmt: skip
_LINE_COUNTS = (
    _rule("x × set", r"(?<![\w.,])(?P<sets>\d{1,2})\s*(?:sets?\s*(?:of|x|×)|x|×)\s*(?P<reps>\d{1,3})(?![\d:.,]\d|\w)"
          r"(?:\s*(?:times|reps?|repetitions?)\b)?", _sets),
    _rule("rep", r"(?<![\w.,])(?P<reps>\d{1,3})\s*reps?\s*(?:x|×|,)\s*(?P<sets>\d{1,2})\b(?:\s*(?:sets?|times)\b)?", _sets),
    _rule("x ×", r"(?<![a-zA-Z])[x×]\s?(?P<low>\d{1,5})(?:\s*[-–]\s*(?P<high>\d{1,5}))?(?!\d)"
          r"(?:\s*(?:times|reps?)\b)?", _times),
    _rule("x ×", r"(?<![\w.,])(?P<low>\d{1,5})\s?[x×](?![a-zA-Z\d])", _times),
    _rule("time rep round cycle set", r"(?<![\w.,])(?P<low>\d{1,5})(?:\s*(?:-|–|to|or)\s*(?P<high>\d{1,5}))?\s*"
          r"(?:more\s+)?(?:times|reps?|repetitions?|repeats|rounds?|cycles|sets)\b(?:\s+of\b)?", _times),
    _rule("rep", r"\breps?\s*:?\s*(?P<low>\d{1,5})\b", _times),
    _rule("twice", r"\btwice\b", _flag("times", 2)),
    *(_rule("time rep round set", rf"\b{word}\s+(?:times|reps|rounds|sets)\b", _flag("times", count))
      for word, count in (("two", 2), ("three", 3), ("four", 4), ("five", 5), ("six", 6), ("eight", 8), ("ten", 10))),
)  # fmt: skip
_LINE_WORDS = (
    _rule("", r"(?:on\s+)?(?:the\s+)?(?P<side>right|left|r|l)(?:\s+(?:side|leg|foot|arm))?(?:\s+only)?", _side),
    _rule("", r"optional(?:ly)?|opt\.?|if (?:wanted|needed|you like)", _flag("optional")),
    _rule("", r"supported|with support", _flag("supported")),
    _rule("", r"(?:on an? |on the |one )?(?:inhal(?:e|ation)|exhal(?:e|ation)|in-?breath|out-?breath)|half\s+breath",
          _half_breath),
    *_LEVELS,
)  # fmt: skip
_HEADING_ANYWHERE = (
    *_MUSIC,
    _rule("least min", rf"\b(?:at\s+least|min\.?|minimum(?:\s+of)?)\s+{_LEN}", _length_after("at_least", "at least 5 minutes")),
    _rule("quicker faster", r"\b(?:each\s+(?:round\s+)?|every\s+round\s+)?(?:by\s+)?(?P<percent>\d{1,2}(?:[.,]\d{1,6})?)\s*"
          r"(?:%|percent|per cent)\s*(?:quicker|faster)(?:\s+(?:each|every)(?:\s+(?:round|time))?)?\b", _quicker),
    _rule("quicker faster", r"\b(?:(?:each|every)\s+round\s+)?(?:quicker|faster)(?:\s+(?:each|every)\s+(?:round|time))?\s+by\s+"
          r"(?P<percent>\d{1,2}(?:[.,]\d{1,6})?)\s*(?:%|percent|per cent)", _quicker),
    _rule("breath", rf"\bbreaths?\s*:?\s*(?:of\s+)?{_LEN}", _length_after("breath", "breath 5 seconds")),
    _rule("breath", rf"{_LEN}\s*(?:(?:a|per|each)\s+breath|breaths?)\b", _length_after("breath", "breath 5 seconds")),
    _rule("between", rf"\bbetween\s*:?\s*{_LEN}", _length_after("between", "between 15 seconds")),
    _rule("left", r"\b(?:what(?:['’]?s|\s+is)|whatever(?:['’]?s|\s+is)|all\s+that\s+is|the\s+time)\s+left\b", _flag("what_is_left")),
    _rule("remain rest", r"\b(?:the\s+)?(?:remaining|rest of the)\s+time\b|\bwhat\s+remains\b", _flag("what_is_left")),
    _rule("first start", r"\b(?:starting\s+(?:on\s+the\s+)?(?:left|right)|(?:left|right)\s+(?:side\s+)?first)\b", _first_side),
    _rule(_EACH_HINTS, rf"\b(?:on\s+)?{_EACH}|\b2\s+sides\b|\bboth\s+sides\b", _flag("each_side")),
    _rule("repeat same again", r"\b(?:repeats?(?:\s+of)?|same\s+as)\s*:?\s+(?P<name>[^,;\x00]+)", _repeat),
    _rule("round time set", rf"(?<![\w.,])(?P<count>\d{{1,5}}|{'|'.join(_ORDINALS)}|four|five|six)\s*(?:rounds?|times|sets)\b"
          r"(?P<x>)", _rounds_of_group),
    _rule("x ×", r"(?<![a-zA-Z\d])(?:[x×]\s?(?P<x>\d{1,5})|(?P<count>\d{1,5})\s?[x×])(?![a-zA-Z\d])", _rounds_of_group),
)  # fmt: skip
_HEADING_WORDS = (
    _rule("", r"optional(?:ly)?|opt\.?|if (?:there (?:is|'s) )?time", _flag("optional")),
    _rule("", r"silent|in silence|silence", _wish(no_music=True)),
    *_LEVELS,
)

_ASIDE = re.compile(
    r"\bfrom\s+[\"“](?P<folder>[^\"“”]+)[\"”]|\((?P<round>[^()]*)\)?|\[(?P<square>[^\[\]]*)\]?|<(?P<angle>[^<>]*)>"
    r"|\{(?P<curly>[^{}]*)\}", re.IGNORECASE
)  # fmt: skip
_SPLIT = re.compile(r"\x00|[,;]\s|[,;]$|(?<!\d)[,;]|[,;](?!\d)|:(?!\d)|(?<!\d):|\s[-–—]+(?=\s)|\s[-–—]+$|^[-–—]+\s")
_TAIL = re.compile(r"(?:^|\s)(?:with|at|on|over)\s", re.IGNORECASE)
_BEFORE = r"(?:\b(?:for|hold|held|holding|stay|about|approx\.?|ca\.?|around|of|over|on|at|then|and|to|in|do|with|just)\s*)+"
_FILLERS = re.compile(rf"(?:{_BEFORE}|[~≈=-]\s*)\x00|\x00\s*(?:(?:holds?|held|of|then|and|in total|long|or so)\b\s*)+", re.IGNORECASE)
_WORD = re.compile(r"[^\W_]")
_EDGE = " \t.,;:!-–—~\"“”&+/=\x00"


def read_line(text: str, is_name: Callable[[str], bool]) -> Said:
    """Read a line: `parts` holds the name, then nothing else; what else is left is in `notes` or `faults`.

    `is_name` says whether a text is the full name of a pose, so that "legs on a chair" is not cut at "on".
    """
    said = Said()
    text, asides = _without_asides(said, text)
    head = _SPLIT.split(text, maxsplit=1)[0].strip()
    if head and is_name(head):
        text = text[text.index(head) + len(head) :]
    else:
        head = ""
    text = re.sub(r"([x×]\s?\d+),(?=\d)", r"\1, ", text)
    text = _apply(said, _LINE_ANYWHERE, text)
    text = _lengths_and_counts(said, text)
    parts = _words(said, _LINE_WORDS, _parts(text))
    name = head or (_strip_words(said, parts.pop(0), is_name) if parts else "")
    said.parts = [name] if name else []
    for part in parts:
        _note(said, part)
    for aside in asides:
        _aside(said, aside)
    return said


def read_heading(text: str) -> Said:
    """Read the attributes of a heading: `parts` holds what is none, in order."""
    said = Said()
    text, asides = _without_asides(said, text)
    text = _apply(said, _HEADING_ANYWHERE, text)
    text = LENGTH.sub(lambda found: _taken(_length(said, found)), text)
    said.parts = _words(said, _HEADING_WORDS, _parts(text))
    said.notes.extend(aside for aside in asides if _WORD.search(aside))
    return said


def read_wishes(text: str) -> Said:
    """Read wishes for the music; `parts` holds what is none."""
    said = Said()
    text, asides = _without_asides(said, text)
    rules = (*_LEVELS, _rule("", r"music", lambda said, found: None))
    said.parts = [*_words(said, rules, _parts(_apply(said, _MUSIC, text))), *filter(_WORD.search, asides)]
    return said


def trailing(text: str) -> tuple[str, Said]:
    """Take the attributes off the end of a spoken text or a title; give what stays, as typed, and what they say."""
    said = Said()
    while True:
        cut = max((found.start() for found in re.finditer(r"[,;]", text)), default=-1)
        part = text[cut + 1 :].strip()
        rest = _all_attributes(part)
        if rest is None or not _merge(said, rest):
            break
        text = text[: max(cut, 0)].rstrip(" ,;-–—")
        if cut < 0:
            break
    return text.strip(), said


def trailing_length(said: Said, text: str) -> str:
    """Take a length off the very end of a text that has none between commas; give the text without it."""
    found = None
    for found in LENGTH.finditer(text):
        pass
    if said.length is not None or found is None or found.end() < len(text.rstrip(" .)")):
        return text
    _length(said, found)
    return re.sub(r"(?:\b(?:for|about)\s*|[\s(–—-]+)+$", "", text[: found.start()])


def _without_asides(said: Said, text: str) -> tuple[str, list[str]]:
    asides: list[str] = []

    def take(found: re.Match[str]) -> str:
        if found["folder"]:
            said.wish(found.group(), folder=found["folder"].strip())
            return GAP
        asides.append(next((group for group in found.groups()[1:] if group), ""))
        return ", " if found.end() < len(text) else " "

    return _ASIDE.sub(take, text) if re.search(r"[(\[<{\"“]", text) else text, asides


def _apply(said: Said, rules: Iterable[Rule], text: str) -> str:
    low = text.lower()
    for rule in rules:
        if any(hint in low for hint in rule.hints):
            text = rule.pattern.sub(lambda found: _taken(rule.act(said, found), found), text)  # noqa: B023
    return text


def _taken(kept: bool | None, found: re.Match[str] | None = None) -> str:
    return found.group() if kept is False and found is not None else GAP


def _lengths_and_counts(said: Said, text: str) -> str:
    """Take lengths and counts from before "with", "at", "on", "over"; from behind only where none stands before."""
    patterns = (Rule((), LENGTH, _length), *(r for r in _LINE_COUNTS if any(h in text.lower() for h in r.hints)))
    for behind in (False, True):
        for rule in patterns:
            if behind and ("length" if rule.pattern is LENGTH else "times") in said.told:
                continue
            text = rule.pattern.sub(
                lambda found: found.group() if _in_tail(found) != behind else _taken(rule.act(said, found), found),  # noqa: B023
                text,
            )
    return text


def _in_tail(found: re.Match[str]) -> bool:
    before = _SPLIT.split(found.string[: found.start()])[-1]
    tail = _TAIL.search(before)
    return tail is not None and bool(before[tail.end() :].strip())


def _parts(text: str) -> list[str]:
    text = _FILLERS.sub(GAP, text) if GAP in text else text
    return [part for part in (raw.strip(_EDGE) for raw in _SPLIT.split(text)) if _WORD.search(part)]


def _words(said: Said, rules: Iterable[Rule], parts: list[str]) -> list[str]:
    """Apply the parts that are single-word attributes as a whole; give the others."""
    rules = tuple(rules)
    return [part for part in parts if not _word(said, rules, part)]


def _word(said: Said, rules: Iterable[Rule], part: str) -> bool:
    for rule in rules:
        found = rule.pattern.fullmatch(part)
        if found:
            return rule.act(said, found) is not False
    if part.lower() in ("each", "ea", "each one") and "length" in said.told:
        if said.times is None and not said.each_side:
            said.each_side = True
            said.liberties.append('"each" is taken as "each side"')
        return True
    return part.lower() in ("once", "only", "all rounds", "the")


_AT_START = re.compile(r"(inhale|exhale|supported|optional|opt)\b[\s:.]+(?=\S)", re.IGNORECASE)
_AT_END = re.compile(r"(?<=\S)\s+(?:on\s+the\s+)?(right|left|r|l|optional|opt|supported|inhale|exhale)(?:\s+(?:side|leg))?$", re.IGNORECASE)  # fmt: skip


def _strip_words(said: Said, name: str, is_name: Callable[[str], bool]) -> str:
    """Take single-word attributes off both ends of a name that is none as it stands."""
    while not is_name(name):
        found = _AT_START.match(name) or _AT_END.search(name)
        if not found or not _word(said, _LINE_WORDS, found[1]):
            break
        name = (name[: found.start()] + name[found.end() :]).strip(_EDGE)
    return name


def _note(said: Said, part: str) -> None:
    tail = _TAIL.search(part)
    if not re.search(r"\d", part[: tail.start()] if tail else part):
        said.notes.append(part)
        return
    said.faults.append(_not_understood(part))


def _not_understood(part: str) -> Fault:
    alone = re.fullmatch(r"(\d{1,3}(?:\s?[-–]\s?\d{1,3})?)", part)
    if alone:
        return Fault("unknown-length", part, f'"{part}" has no unit.', _LENGTHS, f"{part} breaths")
    slip = mistyped_length(part)
    if slip:
        return slip
    return Fault("unknown-attribute", part, f'"{part}" is neither a length nor another instruction.',
                 "What is only to be read stands in brackets.", f"({part})")  # fmt: skip


def mistyped_length(part: str) -> Fault | None:
    """Give the fault of a number with a misspelt unit ("2 breth"); None for anything else."""
    unit = re.fullmatch(r"(\d+(?:\s?[-–]\s?\d+)?)\s*([a-z]{3,9})", part, re.IGNORECASE)
    near = difflib.get_close_matches(unit[2].lower(), _UNITS, 1, 0.65) if unit else []
    if not unit or not near:
        return None
    return Fault("unknown-length", part, f'"{part}" is no length.', _LENGTHS, f"{unit[1]} {near[0]}")


_UNITS = ("breaths", "seconds", "minutes", "times", "rounds")


def _aside(said: Said, aside: str) -> None:
    """A bracket that is nothing but an attribute not yet given counts as one; any other is the teacher's note."""
    rest = _all_attributes(aside)
    if rest is not None and _merge(said, rest):
        said.liberties.append(f'"({aside.strip()})" counts, though it stands in brackets')
    elif _WORD.search(aside):
        said.notes.append(aside.strip(_EDGE))


def _all_attributes(text: str) -> Said | None:
    """Give what a text says that consists of attributes only; None for any other."""
    said = Said()
    if not text.strip():
        return None
    text = _lengths_and_counts(said, _apply(said, _LINE_ANYWHERE, text))
    left = _words(said, _LINE_WORDS, _parts(text))
    return None if left or said.faults or not said.told else said


def _merge(said: Said, more: Said) -> bool:
    """Add what `more` says, if `said` has said nothing about any of it."""
    if said.told & more.told:
        return False
    for name in more.told:
        if hasattr(said, name):
            setattr(said, name, getattr(more, name))
        else:
            said.wishes = replace(said.wishes, **{name: getattr(more.wishes, name)})
    said.told |= more.told
    said.liberties += more.liberties
    return True
