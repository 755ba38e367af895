"""The attributes of lines and headings: how they are typed, and what each of them says."""

import re
from collections.abc import Callable
from typing import Any, NamedTuple

from pairing.model import Length
from pairing.plan.said import Fault, Said, twice
from pairing.plan.words import LENGTH, LONGEST_S, MOST_TIMES, number, parse_length, to_length

LENGTHS = "Lengths look like: 3 breaths, 40 seconds, 2 minutes."

Act = Callable[[Said, re.Match[str]], bool | None]  # False: leave the text as it is


class AttributeRule(NamedTuple):
    """An attribute: a quick look for the words without which it can't be there, the pattern, what it says."""

    hint: re.Pattern[str]
    pattern: re.Pattern[str]
    act: Act


class Rules(NamedTuple):
    """Attributes that are looked for together, in this order."""

    hint: re.Pattern[str]
    each: tuple[AttributeRule, ...]


def _rule(hints: str, pattern: str, act: Act) -> AttributeRule:
    return AttributeRule(re.compile(hints), re.compile(pattern, re.IGNORECASE), act)


def _rules(*each: AttributeRule) -> Rules:
    return Rules(re.compile("|".join(rule.hint.pattern for rule in each)), each)


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


def _silent_last_of_unsaid(said: Said, found: re.Match[str]) -> None:
    said.faults.append(_no_length(_typed(found), "silent last 2 minutes"))


def _folder(said: Said, found: re.Match[str]) -> None:
    said.wish(_typed(found), folder=found["name"].strip())


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


def _bare_seconds(said: Said, found: re.Match[str]) -> None:
    seconds = float(found["bare"].replace(",", "."))
    said.put(found["what"].lower(), Length("seconds", seconds, seconds, seconds), _typed(found))


def _quicker(said: Said, found: re.Match[str]) -> None:
    percent = float(found["percent"].replace(",", "."))
    if percent > 50:
        said.faults.append(
            Fault(
                "quicker",
                _typed(found),
                "A round can't be so much quicker than the one before.",
                "5% to 20% is usual.",
            )
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
            Fault("count", typed, f'"{typed}" can\'t be a count in a class.', f"Write 1 to {MOST_TIMES}: x3.")
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
    said.liberties.append(f'"{_typed(found)}" is counted as {count} times')
    _count(said, _typed(found), count, count)


def _times_each_side(said: Said, found: re.Match[str]) -> None:
    _times(said, found)
    said.put("each_side", True, _typed(found))


def _rounds_of_group(said: Said, found: re.Match[str]) -> None:
    count = int(number(found["count"]))
    _count(said, _typed(found), count, count, name="rounds")


def _length(said: Said, found: re.Match[str]) -> bool | None:
    length = to_length(found)
    if length.shortest <= 0 or length.longest > LONGEST_S:
        said.faults.append(Fault("length", _typed(found), f'"{_typed(found)}" can\'t be a length in a class.', LENGTHS))
        return None
    said.put("length", length, _typed(found))
    return None


def _half_breath(said: Said, found: re.Match[str]) -> bool | None:
    if said.length is not None:
        return False
    said.put("length", Length("breaths", 0.5, 0.5, 0.5), _typed(found))
    return None


def _side(said: Said, found: re.Match[str]) -> None:
    if said.each_side:
        said.faults.append(twice(_typed(found)))
        return
    said.put("side", "right" if found["side"].lower().startswith("r") else "left", _typed(found))


def _first_side(said: Said, found: re.Match[str]) -> None:
    said.put("first_side", "left" if "left" in found.group().lower() else "right", _typed(found))


def _repeat(said: Said, found: re.Match[str]) -> None:
    said.put("repeats", found["name"].strip(" .\"“”'"), _typed(found))


def _no_length(typed: str, example: str) -> Fault:
    return Fault("unknown-length", typed, f'"{typed}" has no length that can be read.', f"Write: {example}.")


_LEN = (
    r"(?P<length>\d[\d:.,½/]*(?:\s*[-–]\s*\d+)?\s*(?:breaths?\b|brs?\b|seconds?\b|secs?\b|s\b|minutes?\b|mins?\b|m\b|['’\"]|"
    r"(?<=:\d\d))(?:\s*\d{1,2}\s*(?:seconds?|secs?|s)\b)?|(?:an?|one|two|three|four|five|ten|half an?)\s+"
    r"(?:breath|minute|second)s?\b)"
)
_EACH = (
    r"(?:(?:\bon\s+|\bto\s+|\bfor\s+)?(?:\b(?:each|either|ea\.?|per|every)\s+(?:foot|hand|hip|arm|knee|wrist|ankle|shoulder)s?\b"
    r"|\b(?:each|either|ea\.?|per|every|both)\s+(?:side|way|direction|leg)s?\b(?!\s+(?:to|up|in)\b))"
    r"|\be\.?\s?/\s?s\b\.?|\bea/s\b|\br\s?(?:[/&+]|and)\s?l\b|\bl\s?[/&+]\s?r\b"
    r"|\br\s*(?:,|then|->|→)\s*l\b|\bl\s*(?:,|then|->|→)\s*r\b"
    r"|\bright\s*(?:and|then|&|/|\+)(?:\s+then)?\s*left\b|\bleft\s*(?:and|then|&|/|\+)(?:\s+then)?\s*right\b"
    r"|/\s?sides?\b)"
)
_EACH_HINTS = (
    r"side|way|direction|leg|arm|e/s|ea/s|e\. ?/|r ?[/&+]|r and l|l ?[/&+] ?r|\b[rl] ?(?:,|then|->|→)|left|foot|hand"
    r"|hip|knee|wrist|ankle"
    r"|shoulder"
)
_SPAN = r"(?P<low>\d{1,5})(?:\s*(?:-|–|to|or)\s*(?P<high>\d{1,5}))?"
_NO_MINUTES = r"(?<!min )(?<!mins )(?<!minute )(?<!minutes )(?<!['’] )"  # "1 min 30 each side" is no count
_PERCENT = r"(?P<percent>\d{1,2}(?:[.,]\d{1,6})?)\s*(?:%|percent\b|per cent\b)"
_ONLY = r"(?:\s+only\b)?"
_NTH = r"(?P<nth>first|second|third|fourth|fifth|[1-9](?:st|nd|rd|th))"
_ALONE = r"(?=\s*(?:$|[,;)\x00]))"
_THE = r"(?:in\s+|on\s+)?(?:the\s+)?"
_NO_NAME = r"\b(?!\s+[^\W\d])"  # "rises into standing split" tells of a body

MUSIC = _rules(
    _rule("silen", rf"\bsilent\s+(?:for\s+)?(?:the\s+)?(?:last|final)\s+(?:{_LEN}|minute\b)", _silent_last),
    _rule("silen", rf"\b(?:the\s+)?(?:last|final)\s+(?:{_LEN}|minute)\s*(?:\bin\s+)?\bsilen(?:t|ce)\b", _silent_last),
    _rule("silen", r"\bsilent\s+(?:at\s+the\s+)?(?:last|end)\b", _silent_last_of_unsaid),
    _rule("from", r"\bfrom\s+(?:the\s+|my\s+)?folder\s+[\"“]?(?P<name>[^,;\"”\x00]+)[\"”]?", _folder),
    _rule("beat|bpm|tempo", r"\b(?:beat|bpm|tempo)\s*:?\s*(?:of\s+|around\s+|about\s+)?(?P<low>\d{2,3})"
          r"(?:\s*(?:-|–|to)\s*(?P<high>\d{2,3}))?(?:\s*(?:bpm|beats(?: a| per) minute))?\b", _beat),
    _rule("bpm", r"\b(?P<low>\d{2,3})(?:\s*(?:-|–|to)\s*(?P<high>\d{2,3}))?\s*bpm\b", _beat),
    _rule("energy", r"\benergy\s*:?\s*(?P<share>\d{1,3}(?:[.,]\d{1,6})?)\s*(?P<percent>%|per ?cent\b)?", _energy),
    _rule("music", r"\b(?:no|without)\s+music\b", _wish(no_music=True)),
    _rule("while|when", r"\b(?:no|without)\s+(?:voices?|vocals?|singing|singers?|lyrics|words)\s+(?:while|when)\s+"
          r"I(?:['’]m|\s+am)?\s+(?:speak|talk|cue|teach|explain)(?:ing)?\b", _wish(clear_talk=True)),
    _rule("voice|vocal|sing|instrumental", r"\b(?:(?:no|without)\s+(?:voices?|vocals?|singing|singers?)|instrumentals?"
          r"(?:\s+only)?)\b(?:\s+music\b)?", _wish(no_voice=True)),
    _rule("music", r"\b(?:same|keep(?:\s+the)?)\s+music\b", _wish(same_music=True)),
    _rule("rise", rf"\b(?:the\s+)?(?:music\s+)?rises?\s+into(?:\s+(?:it|this))?{_NO_NAME}", _wish(rises_into=True)),
    _rule("music", r"\b(?:the\s+)?music\s+rises\s+here\b", _wish(rises_into=True)),
    _rule("break", rf"\b(?:the\s+)?(?:music\s+)?breaks\s+at(?:\s+(?:it|this))?{_NO_NAME}", _wish(breaks_at=True)),
    _rule("music", r"\b(?:the\s+)?music\s+breaks\s+here\b", _wish(breaks_at=True)),
    _rule("music", r"\b(?:quiet|soft|calm)\s+music\b", _wish(level="quiet")),
    _rule("music", r"\bsteady\s+music\b", _wish(level="steady")),
    _rule("music", r"\bdriving\s+music\b", _wish(level="driving")),
)  # fmt: skip
LEVELS = (
    _rule("", r"quiet|soft music", _wish(level="quiet")),
    _rule("", r"steady", _wish(level="steady")),
    _rule("", r"driving", _wish(level="driving")),
)
LINE_ANYWHERE = _rules(
    *MUSIC.each,
    _rule("between", r"\b(?:once\s+|in\s+)*between\s+(?:the\s+)?(?:two\s+)?sides\b", _flag("once", "between sides")),
    _rule("after", r"\b(?:once\s+)?after\s+(?:(?:the\s+)?(?:both|second|two|2nd|other)\s+sides?\b|both\b)",
          _flag("once", "after both sides")),
    _rule("round", rf"\b(?:but\s+)?(?:not|except|skip|all but|without)\s+{_THE}(?:last|final)\s+round\b{_ONLY}",
          _flag("last_round", "not")),
    _rule("round", rf"\b(?:only\s+)?{_THE}(?:last|final)\s+round\b{_ONLY}", _flag("last_round", "only")),
    _rule("round", rf"\b(?:from|starting)\s+(?:the\s+)?(?:rounds?\s*(?P<at>\d{{1,3}}|two|three)\b|{_NTH}\s+round\b)"
          r"(?:\s+on(?:wards?)?\b)?", _from_round),
    _rule("round", r"\brounds?\s*(?P<at>\d{1,3})\s*(?:\+|\b(?:and\s+)?(?:on|onwards?|up)\b)(?P<nth>)", _from_round),
    _rule("round", r"\b(?:until|till|up to|to)\s+(?:round\s*)(?P<at>\d{1,3})\b", _until_round),
    _rule("round", rf"\b{_THE}rounds?\s*(?P<low>\d{{1,3}})\s*(?:-|–|to|and|&|\+)\s*(?P<high>\d{{1,3}})\b{_ONLY}",
          _rounds_span),
    _rule("round", rf"\b(?:only\s+)?{_THE}(?:rounds?\s*(?P<at>\d{{1,3}}|one|two|three)\b|{_NTH}\s+round\b){_ONLY}",
          _one_round),
    _rule("every|each", r"\b(?:every|each)\s+(?:time|round)\b", _flag("every_time")),
    _rule("hold|dog", r"\b(?:no|without(?:\s+the|\s+a)?)\s+(?:long\s+)?(?:holds?|dog)\b(?!\s+back)", _flag("no_hold")),
    _rule(_EACH_HINTS, rf"(?<![\w.:,/]){_NO_MINUTES}{_SPAN}\s*(?:x\s*|times\s+|reps\s+)?{_EACH}", _times_each_side),
    _rule(_EACH_HINTS, _EACH, _flag("each_side")),
    _rule("if", r"\bif\s+(?:there(?:['’]?s|\s+is)?\s+)?(?:any\s+)?time(?:\s+(?:allows|permits))?\b", _flag("optional")),
)  # fmt: skip
LINE_COUNTS = _rules(
    _rule("x|×|set", r"(?<![\w.,])(?P<sets>\d{1,2})\s*(?:sets?\s*(?:of|x|×)|x|×)\s*(?P<reps>\d{1,3})(?![\d:.,]\d|\w)"
          r"(?:\s*(?:times|reps?|repetitions?)\b)?", _sets),
    _rule("rep", r"(?<![\w.,])(?P<reps>\d{1,3})\s*reps?\s*[x×,]\s*(?P<sets>\d{1,2})\b(?:\s*(?:sets?|times)\b)?", _sets),
    _rule("x|×", r"(?<![a-zA-Z])[x×]\s?(?P<low>\d{1,5})(?:\s*[-–]\s*(?P<high>\d{1,5}))?(?!\d)"
          r"(?:\s*(?:times|reps?)\b)?", _times),
    _rule("x|×", r"(?<![\w.,])(?P<low>\d{1,5})(?:\s?[-–]\s?(?P<high>\d{1,5}))?\s?[x×](?![a-zA-Z\d])", _times),
    _rule("time|rep|round|cycle|set|tr|attempt", rf"(?<![\w.,]){_SPAN}\s*(?:more\s+)?(?:times|reps?|repetitions?|"
          r"repeats|rounds?|cycles|sets|tries|attempts)\b(?:\s+of\b)?", _times),
    _rule("rep", r"\breps?\s*:?\s*(?P<low>\d{1,5})\b", _times),
    _rule("twice", r"\btwice\b", _flag("times", 2)),
    *(_rule("time|rep|round|set", rf"\b{word}\s+(?:times|reps|rounds|sets)\b", _flag("times", count))
      for word, count in (("two", 2), ("three", 3), ("four", 4), ("five", 5), ("six", 6), ("eight", 8), ("ten", 10))),
)  # fmt: skip
LINE_WORDS = (
    _rule("", r"(?:on\s+)?(?:the\s+)?(?P<side>right|left|r|l)(?:\s+(?:side|leg|foot|arm))?(?:\s+only)?", _side),
    _rule("", r"optional(?:ly)?|opt\.?|if (?:wanted|needed|you like)", _flag("optional")),
    _rule("", r"supported|with support", _flag("supported")),
    _rule(
        "",
        r"(?:on an? |on the |one )?(?:inhal(?:e|ation)|exhal(?:e|ation)|in-?breath|out-?breath"
        r"|(?:breathe\s+)?(?:in|out))|half\s+breath",
        _half_breath,
    ),
    *LEVELS,
)
HEADING_ANYWHERE = _rules(
    *MUSIC.each,
    _rule("least|min", rf"\b(?:at\s+least|min\.?|minimum(?:\s+of)?)\s+{_LEN}",
          _length_after("at_least", "at least 5 minutes")),
    _rule("quicker|faster", rf"\b(?:(?:each|every)\s+(?:round\s+)?)?(?:by\s+)?{_PERCENT}\s*(?:quicker|faster)"
          r"(?:\s+(?:each|every)(?:\s+(?:round|time))?)?\b", _quicker),
    _rule("quicker|faster", r"\b(?:(?:each|every)\s+round\s+)?(?:quicker|faster)"
          rf"(?:\s+(?:each|every)\s+(?:round|time))?\s+by\s+{_PERCENT}", _quicker),
    _rule("breath", rf"\bbreaths?\s*:?\s*(?:of\s+)?{_LEN}", _length_after("breath", "breath 5 seconds")),
    _rule("breath", rf"{_LEN}\s*(?:(?:a|per|each)\s+breath|breaths?)\b", _length_after("breath", "breath 5 seconds")),
    _rule("between", rf"\bbetween\s*:?\s*{_LEN}", _length_after("between", "between 15 seconds")),
    _rule("breath|between", rf"\b(?P<what>between|breath)s?\s*:?\s*(?P<bare>\d{{1,3}}(?:[.,]\d)?){_ALONE}",
          _bare_seconds),
    _rule("left", r"\b(?:what(?:ever)?(?:['’]?s|\s+is)|all\s+that\s+is|the\s+time)\s+left\b", _flag("what_is_left")),
    _rule("remain|rest", r"\b(?:the\s+)?(?:remaining|rest of the)\s+time\b|\bwhat\s+remains\b", _flag("what_is_left")),
    _rule("first|start", r"\b(?:starting\s+(?:on\s+the\s+)?(?:left|right)|(?:left|right)\s+(?:side\s+)?first)\b",
          _first_side),
    _rule(_EACH_HINTS, rf"\b(?:on\s+)?{_EACH}|\b2\s+sides\b|\bboth\s+sides\b", _flag("each_side")),
    _rule("repeat|same|again", r"\b(?:repeats?(?:\s+of)?|same\s+as)\s*:?\s+(?P<name>[^,;\x00]+)", _repeat),
    _rule("round|time|set", r"(?<![\w.,])(?P<count>\d{1,5}|one|two|three|four|five|six)\s*(?:rounds?|times|sets)\b",
          _rounds_of_group),
    _rule("x|×", r"(?<![a-zA-Z\d])[x×]\s?(?P<count>\d{1,5})(?![a-zA-Z\d])", _rounds_of_group),
    _rule("x|×", r"(?<![a-zA-Z\d])(?P<count>\d{1,5})\s?[x×](?![a-zA-Z\d])", _rounds_of_group),
)  # fmt: skip
HEADING_WORDS = (
    _rule("", r"optional(?:ly)?|opt\.?|if (?:there (?:is|'s) )?time", _flag("optional")),
    _rule("", r"silent|in silence|silence", _wish(no_music=True)),
    *LEVELS,
)
MUSIC_WORDS = (
    *LEVELS,
    _rule("", r"soft|calm|gentle|low", _wish(level="quiet")),
    _rule("", r"music", lambda said, found: None),
)
LENGTH_RULE = AttributeRule(re.compile(r"\d|[½¼¾⅓⅔]|\b(?:breath|minute|second|hour)"), LENGTH, _length)
