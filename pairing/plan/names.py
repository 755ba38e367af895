"""Names of poses as people type them: one key for all spellings, and the nearest known names.

A name is matched without regard to case, accents, hyphens, spaces, plural, "pose", and the way a number is written
("Warrior II", "warrior two", "warrior 2"). A second, coarser key lets the usual spellings of Sanskrit meet
("Parshvakonasana", "parsvakonasana").
"""

import difflib
import re
import unicodedata
from collections.abc import Iterable

_NUMBERS = {
    "i": "1", "one": "1", "ii": "2", "two": "2", "iii": "3", "three": "3", "iv": "4", "four": "4", "five": "5",
}  # fmt: skip
_IDLE_WORDS = {"pose", "posture", "the", "asana"}
# Longest first, so that "shh" is no trap; each pair is one sound that teachers spell in several ways.
_SANSKRIT_SOUNDS = (("chh", "c"), ("ch", "c"), ("sh", "s"), ("th", "t"), ("dh", "d"), ("bh", "b"), ("kh", "k"),
                    ("gh", "g"), ("jh", "j"), ("ph", "p"), ("aa", "a"), ("ee", "i"), ("oo", "u"), ("w", "v"),
                    ("ri", "r"), ("y", "i"), ("nn", "n"), ("tt", "t"), ("mg", "ng"), ("nk", "nk"))  # fmt: skip


def words(name: str) -> list[str]:
    """Give the words of a name in one spelling: lower case, no accents, no plural, numbers as digits.

    >>> words("Warrior II"), words("Child’s pose"), words("side-planks")
    (['warrior', '2'], ['child'], ['side', 'plank'])
    """
    plain = unicodedata.normalize("NFKD", name.casefold()).translate(_APOSTROPHES)
    plain = "".join(letter for letter in plain if not unicodedata.combining(letter))
    found = [_NUMBERS.get(word, _singular(word)) for word in re.findall(r"[^\W_]+", plain)]
    return [word for word in found if word not in _IDLE_WORDS] or found


def key(name: str) -> str:
    """Give the key under which all spellings of a name meet; "" for a name without letters or digits."""
    return "".join(words(name))


def sanskrit_key(name: str) -> str:
    """Give a coarser key under which the usual romanisations of a Sanskrit name meet."""
    sound = key(name)
    for typed, heard in _SANSKRIT_SOUNDS:
        sound = sound.replace(typed, heard)
    return sound.removesuffix("a")


def nearest(name: str, known: Iterable[str], count: int = 3) -> tuple[str, ...]:
    """Give up to `count` of the known names that look most like `name`, best first; none that is far off."""
    wanted = key(name)
    if not wanted:
        return ()
    pairs = _pairs(wanted)
    rough = sorted(known, key=lambda other: -_overlap(pairs, _pairs(key(other))))[:12]
    scored = [(difflib.SequenceMatcher(None, wanted, key(other)).ratio(), other) for other in rough]
    return tuple(other for score, other in sorted(scored, key=lambda pair: -pair[0])[:count] if score >= 0.6)


_APOSTROPHES = {ord(mark): None for mark in "'’‘`´ʼ"}


def _singular(word: str) -> str:
    if len(word) > 4 and word.endswith(("ches", "shes", "sses", "xes")):
        return word[:-2]
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith(("ss", "us", "is")) else word


def _pairs(text: str) -> set[str]:
    return {text[i : i + 2] for i in range(len(text) - 1)} or {text}


def _overlap(one: set[str], other: set[str]) -> float:
    return len(one & other) / len(one | other)
