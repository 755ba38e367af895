"""Names of poses as people type them: one key for all spellings, and the nearest known names.

A name is matched without regard to case, accents, hyphens, spaces, plural, "pose", and the way a number is written
("Warrior II", "warrior two", "warrior 2"). A second, coarser key lets the usual spellings of Sanskrit meet
("Parshvakonasana", "parsvakonasana").

Pictures that stand for a pose (`pictures.csv`) are read as its name.
"""

import csv
import difflib
import functools
import heapq
import itertools
import re
import unicodedata
from collections import Counter
from collections.abc import Iterable
from importlib import resources

_NUMBERS = {
    "i": "1",
    "one": "1",
    "ii": "2",
    "two": "2",
    "iii": "3",
    "three": "3",
    "iv": "4",
    "four": "4",
    "five": "5",
}
# What teachers write on a phone; common practice, no source.
_SHORT = {
    "dd": "downward dog",
    "dwd": "downward dog",
    "ddog": "downward dog",
    "ud": "upward dog",
    "updog": "upward dog",
    "w": "warrior",
    "wi": "warrior 1",
    "wii": "warrior 2",
    "wiii": "warrior 3",
    "3ld": "three leg dog",
    "k2n": "knee to nose",
    "esa": "extended side angle",
    "rsa": "revolved side angle",
    "ff": "forward fold",
    "bsa": "bound side angle",
    "bop": "bird of paradise",
    "thru": "through",
    "sal": "salutation",
    "w1": "warrior 1",
    "w2": "warrior 2",
    "w3": "warrior 3",
    "ss": "sun salutation",
    "ssa": "sun salutation a",
    "ssb": "sun salutation b",
    "suna": "sun salutation a",
    "sunb": "sun salutation b",
    "fwd": "forward",
    "rev": "reverse",
    "revd": "revolved",
    "ext": "extended",
    "tri": "triangle",
    "sava": "savasana",
    "chat": "chaturanga",
    "chatt": "chaturanga",
    "chatty": "chaturanga",
    "vin": "vinyasa",
    "utt": "utthita",
    "virabhadra": "virabhadrasana",
    "paschi": "paschimottanasana",
    "sq": "squat",
    "dn": "down",
    "dwn": "downward",
    "upw": "upward",
    "hlf": "half",
    "lng": "lunge",
    "warr": "warrior",
    "brdg": "bridge",
    "tbl": "table",
    "pidgeon": "pigeon",
    "piegon": "pigeon",
    "chatturanga": "chaturanga",
    "caturanga": "chaturanga",
    "legged": "leg",
    "kneed": "knee",
    "supp": "supported",
    "stdg": "standing",
    "std": "standing",
    "sup": "reclined",
    "supta": "reclined",
    "suryanamaskara": "surya namaskar",
    "suryanamaskar": "surya namaskar",
    "sgl": "single",
    "dbl": "double",
    "hams": "hamstring",
    "hamstr": "hamstring",
    "quads": "quad",
    "glut": "glute",
    "strtch": "stretch",
    "oblq": "oblique",
    "obliq": "oblique",
    "shoulds": "shoulder",
    "shdr": "shoulder",
    "shlder": "shoulder",
    "nk": "neck",
    "alt": "alternate",
    "alternating": "alternate",
    "rot": "rotation",
    "rots": "rotation",
    "mobes": "mobility",
    "bwd": "backward",
    "bckwd": "backward",
    "seatd": "seated",
    "stndg": "standing",
    "extd": "extended",
    "trtl": "turtle",
    "recl": "reclined",
    "reclining": "reclined",
    "lying": "reclined",
    "mtn": "mountain",
    "twisted": "revolved",
    "twisting": "revolved",
    "bend": "fold",
    "downdog": "downward dog",
    "ddw": "downward dog",
    "windscreen": "windshield",
    "plough": "plow",
    "namaskara": "namaskar",
    "parivritta": "parivrtta",
    "centre": "center",
    "centring": "centering",
    "hi": "high",
    "lo": "low",
    "btwn": "between",
    "shldr": "shoulder",
    "facing": "",
    # One word for one thing, whichever is typed.
    "supine": "reclined",
    "bind": "bound",
    "lateral": "side",
    "oms": "om",
    "as": "a",
    "bs": "b",
    "stretches": "stretch",
    "ups": "up",
}
_IDLE_WORDS = {"pose", "posture", "the", "asana"}
# Longest first, so that "shh" is no trap; each pair is one sound that teachers spell in several ways.
_SANSKRIT_SOUNDS = (
    ("chh", "c"),
    ("ch", "c"),
    ("sh", "s"),
    ("th", "t"),
    ("dh", "d"),
    ("bh", "b"),
    ("kh", "k"),
    ("gh", "g"),
    ("jh", "j"),
    ("ph", "p"),
    ("aa", "a"),
    ("ee", "i"),
    ("oo", "u"),
    ("w", "v"),
    ("ri", "r"),
    ("y", "i"),
    ("nn", "n"),
    ("tt", "t"),
    ("mg", "ng"),
    ("nk", "nk"),
)


def unaccented(text: str) -> str:
    """Give a text in lower case, without accents and apostrophes.

    >>> unaccented("Árbol"), unaccented("Child’s")
    ('arbol', 'childs')
    """
    plain = text.casefold()
    if not plain.isascii():
        plain = "".join(itertools.filterfalse(unicodedata.combining, unicodedata.normalize("NFKD", plain)))
    return plain.translate(_APOSTROPHES)


KEPT = 16_384  # spellings that are kept: those of the table of poses, some 10,000, and those of a note


@functools.lru_cache(maxsize=KEPT)
def words(name: str) -> tuple[str, ...]:
    """Give the words of a name in one spelling: lower case, no accents, no plural, numbers as digits.

    >>> words("Warrior II"), words("Child’s pose"), words("side-planks")
    (('warrior', '2'), ('child',), ('side', 'plank'))
    """
    plain = _DRAWN_OUT.sub(r"\1", unaccented(name))
    plain = _HALF.sub("half ", plain.replace("down dog", "downward dog").replace("up dog", "upward dog"))
    found = [_NUMBERS.get(word, word) for typed in _TYPED.findall(plain) for word in _in_full(typed)]
    return tuple(word for word in found if word not in _IDLE_WORDS) or tuple(found)


@functools.lru_cache(maxsize=KEPT)
def key(name: str) -> str:
    """Give the key under which all spellings of a name meet; "" for a name without letters or digits."""
    return "".join(words(name))


def sanskrit_key(name: str) -> str:
    """Give a coarser key under which the usual romanisations of a Sanskrit name meet."""
    sound = key(name)
    for typed, heard in _SANSKRIT_SOUNDS:
        sound = sound.replace(typed, heard)
    return sound.removesuffix("a")


@functools.lru_cache(maxsize=4096)
def sanskrit_words(name: str) -> tuple[str, ...]:
    """Give the words of a Sanskrit name as they sound, the ending of poses left out: ("urdva", "danur").

    >>> sanskrit_words("Ūrdhva Dhanurāsana"), sanskrit_words("paścimott.")
    (('urdva', 'danur'), ('pascimot',))
    """
    heard = []
    for word in words(name):
        for typed, sound in _SANSKRIT_SOUNDS:
            word = word.replace(typed, sound)  # noqa: PLW2901
        heard.append(word.removesuffix("asana").removesuffix("asan") or word)
    return tuple(heard)


def pictures_in_words(text: str) -> str:
    """Give the text with each picture that stands for a pose written as the pose's name.

    >>> pictures_in_words("⚔️2"), pictures_in_words("tree")
    (' warrior 2', 'tree')
    """
    if text.isascii():
        return text
    names, picture = pictures()
    return picture.sub(lambda found: f" {names[found[0]]} ", _PICTURE_MODIFIERS.sub("", text)).rstrip()


def nearest(name: str, known: Iterable[str], count: int = 3) -> list[tuple[float, str]]:
    """Give up to `count` of the known names that look most like `name`, best first, with their likeness (0.6 to 1)."""
    wanted = key(name)[:60]
    if not wanted:
        return []
    known = tuple(known)
    scored = [
        (difflib.SequenceMatcher(None, wanted, key(other)).ratio(), other)
        for other in _roughly_like(wanted, known, 2 * count + 4)
    ]
    return [pair for pair in sorted(scored, key=lambda pair: -pair[0])[:count] if pair[0] >= 0.6]


LEAST_SHARED = 0.25  # of the pairs of letters, in any name that looks like it; editorial


def _roughly_like(wanted: str, known: tuple[str, ...], count: int) -> list[str]:
    """Give the `count` names that share the largest part of their pairs of letters with `wanted`."""
    pairs = _pairs(wanted)
    holders, sizes = _index(known)
    shared = Counter(itertools.chain.from_iterable(holders.get(pair, ()) for pair in pairs))
    least = LEAST_SHARED * len(pairs)
    parts = [(-both / (len(pairs) + sizes[at] - both), at) for at, both in shared.items() if both >= least]
    return [known[at] for _, at in heapq.nsmallest(count, parts)]


@functools.lru_cache(maxsize=8)
def _index(known: tuple[str, ...]) -> tuple[dict[str, list[int]], list[int]]:
    """Give for each pair of letters the names that hold it, and how many pairs each name has."""
    holders: dict[str, list[int]] = {}
    sizes = []
    for at, name in enumerate(known):
        pairs = _pairs(key(name))
        sizes.append(len(pairs))
        for pair in pairs:
            holders.setdefault(pair, []).append(at)
    return holders, sizes


_PICTURE_MODIFIERS = re.compile("\ufe0f|\u200d[\u2640\u2642]|[\U0001f3fb-\U0001f3ff]")  # style, sex, tone of skin


@functools.cache
def pictures() -> tuple[dict[str, str], re.Pattern[str]]:
    """Give the words that pictures stand for, and the pattern that finds the pictures."""
    text = resources.files("pairing.plan").joinpath("pictures.csv").read_text(encoding="utf-8")
    names = {row["picture"]: row["name"] for row in csv.DictReader(text.splitlines())}
    return names, re.compile("|".join(sorted(map(re.escape, names), key=len, reverse=True)))


_TYPED = re.compile(r"[^\W_]+")
_DRAWN_OUT = re.compile(r"(?<=\w)([^\W\di])\1{2,}")  # "slooow"; not "iii", "zzz"
_HALF = re.compile(r"(?<!\d)(?<!\d )1[/\u2044]2\s*(?=[^\W\d])")
_APOSTROPHES = {ord(mark): None for mark in "'’‘`´ʼ"}


def _in_full(word: str) -> list[str]:
    """Write a word's abbreviation out; give any other in the singular."""
    word = word if word in _SHORT else _singular(word)
    return _SHORT[word].split() if word in _SHORT else [word]


def _singular(word: str) -> str:
    if len(word) > 4 and word.endswith(("ches", "shes", "sses", "xes")):
        return word[:-2]
    if word == "knees":  # one knee to the chest and both are two poses
        return word
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith(("ss", "us", "is")) else word


def _pairs(text: str) -> frozenset[str]:
    return frozenset(text[i : i + 2] for i in range(len(text) - 1)) or frozenset((text,))
