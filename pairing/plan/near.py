"""Misspelt words of the plan language: what an attribute or a kind was meant to be, where that is clear.

Without this a slip ("optoinal", "boht sides") would pass as a teacher's note. Numbers stand as "#".
"""

import difflib
import functools
import re

_LIKE = 0.85  # how alike, from 0 to 1, a slip and what it is taken for must be; editorial
_SHORTEST = 5  # letters; shorter words are too like others ("light", "right"); editorial
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")

_BOTH = (
    "each side,both sides,optional,no music,no voice,same music,quiet music,steady music,driving music,driving,steady,"
    "no singing while I speak,rises into,breaks at,silent last # minutes,energy #%,beat #-#"
)
LINE_PHRASES = tuple(
    (
        f"{_BOTH},right side,left side,supported,inhale,exhale,between sides,after both sides,first round,last round,"
        "not last round,from round #,round #,rounds #-#,no hold,every time,half a breath"
    ).split(",")
)
HEADING_PHRASES = tuple(
    (
        f"{_BOTH},# rounds,each round #% quicker,#% quicker,left first,right first,what is left,at least # minutes,"
        "breath # seconds,between # seconds"
    ).split(",")
)


@functools.lru_cache(maxsize=1024)
def misspelt(part: str, phrases: tuple[str, ...]) -> str | None:
    """Give the one phrase that `part` is a slip of, with its own numbers put in; None where it is none.

    >>> misspelt("from rond 2", LINE_PHRASES), misspelt("long line", LINE_PHRASES)
    ('from round 2', None)
    """
    numbers = _NUMBER.findall(part)
    typed = re.sub(r"\s+", " ", _NUMBER.sub("#", part.lower().strip()))
    if len(typed) < _SHORTEST or typed in map(str.lower, phrases):
        return None
    fitting = [  # "inhaling" is a cue, no slip of "inhale"
        phrase
        for phrase in phrases
        if phrase.count("#") == len(numbers) and phrase.endswith("ing") >= typed.endswith("ing")
    ]
    near = difflib.get_close_matches(typed, fitting, 1, _LIKE)
    return functools.reduce(lambda text, number: text.replace("#", number, 1), numbers, near[0]) if near else None


def misspelt_kind(part: str, kinds: tuple[str, ...]) -> str | None:
    """Give the kind of a section that `part` is a slip of; None where it is none.

    >>> misspelt_kind("opning", ("opening", "flow")), misspelt_kind("slow", ("opening", "flow"))
    ('opening', None)
    """
    typed = part.lower().strip()
    near = difflib.get_close_matches(typed, kinds, 1, 0.75)
    like = near and (difflib.SequenceMatcher(None, typed, near[0]).ratio() > 0.8 or sorted(typed) == sorted(near[0]))
    return near[0] if like else None
