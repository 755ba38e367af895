"""What each sign against a reading weighs, and the words for it.

All numbers are editorial: weights fitted to invented notes whose meaning is known. A logistic fit to 860 lines as read
at first sight, one of three hands left out at a time, told right from wrong no better on the whole.
"""

from collections import Counter

UNSURE = 1.0
WEIGHTS = {
    # something of the line was left over
    "each left": 2.0,
    "side left": 1.4,
    "bracket left": 1.3,
    "again left": 1.2,
    "size left": 1.0,
    "until left": 0.7,
    "pose left": 0.35,
    # something was supposed
    "bare count held": 1.2,
    "bare breaths few": 1.0,
    "bare breaths moved": 0.35,
    "bare breaths": 0.35,
    "bare rest": 1.0,
    "merged": 0.9,
    "count held": 0.5,
    "bare count": 0.1,
    "bare minutes": 0.1,
    "bare seconds": 0.15,
    "open long": 1.2,
    "open alone": 0.65,
    "open beside": 0.45,
    "open guessed": 0.4,
    "open guessed long": 0.6,
    "one side": 1.2,
    "side in part": 1.0,
    "no side": 0.7,
    "side untold": 0.25,
    "shared": 1.0,
    "gap": 0.3,
    # it is odd for what it is
    "long": 1.3,
    "odd beside": 1.0,
    "in rounds": 1.0,
    "may head": 0.8,
    # words that nothing knows, and weak names
    "strange unit": 0.7,
    "strange digits": 0.9,
    "strange tail": 0.4,
    "strange name": 1.0,
    "strange before": 0.3,
    "strange behind": 0.3,
    "strange sized": 0.3,
    "strange aside": 0.2,
    "mended name": 0.7,
    "broad name": 0.15,
    "broad left": 0.1,
    # headings and lines that do others again
    "heading size": 1.0,
    "heading again": 0.7,
    "heading rounds": 1.0,
    "heading pose": 0.4,
    "heading strange": 0.3,
    "again strange": 0.35,
    "again long": 1.0,
    "heading minutes": 1.0,
}
_WORDS = {
    "left": "part of it is not used",
    "side": "the sides are not clear",
    "bare": "a number has no unit",
    "count held": "it is not clear whether it is held or repeated",
    "merged": "it may be two things, one after the other",
    "open": "nothing tells how long it takes",
    "shared": "it is not clear whose length it is",
    "odd": "it would take many times as long as the lines around it",
    "long": "it would take long for what it is",
    "in rounds": "it is in a part that is done more than once",
    "minutes": "its minutes are far from those of its lines",
    "heading": "it may be a heading or something to do",
    "again": "it is not clear what is done again",
    "may head": "it may be a heading or something to do",
    "gap": "a word is not known",
    "name": "a name is not clear",
    "strange": "a word is not known",
}
TOLD = 0.3  # words weigh so much less where every length stands there with its unit
_AS_HEAVY = {  # also beside lengths that are told
    "strange digits", "strange name", "mended name",
    "size left", "side left", "each left", "bracket left", "until left",
}  # fmt: skip
_ONCE_EACH = (
    "bare breaths|bare breaths moved|bare breaths few|bare count|size left|"
    "open long|open alone|open beside|open guessed|open guessed long"
)
ONCE = frozenset((*_ONCE_EACH.split("|"), "shared", "gap", "broad name", "broad left"))


def weight(found: Counter[str]) -> float:
    """Give what signs weigh together; from `UNSURE` on a line is asked about."""
    return sum(_weight(sign, count) for sign, count in found.items())


def is_left_over(sign: str) -> bool:
    """Say whether a sign tells that something typed was not used, whatever the rest means."""
    return sign in ("size left", "side left", "each left", "bracket left", "strange digits")


def words_for(found: Counter[str]) -> str:
    """Say in a few words what makes a line unsure most."""
    heaviest = max(found, key=lambda sign: _weight(sign, found[sign]))
    name = heaviest.partition(", ")[0]
    return next(said for word, said in _WORDS.items() if f" {word} " in f" {name} ")


def _weight(sign: str, count: int) -> float:
    name, _, told = sign.partition(", ")
    one = WEIGHTS.get(name, 0.0) * (TOLD if told and name not in _AS_HEAVY else 1.0)
    return one if name in ONCE else one * min(count, 2)
