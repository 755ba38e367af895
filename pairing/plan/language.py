"""The words of the languages a note may be typed in: one TOML file a language, one index of all.

A role is "table.key" of these files: "units.breaths", "sides.right", "kinds.rest". A phrase is a tuple of words in one
spelling (lower case, no accents, no apostrophes), so that "e/s", "E S" and "e-s" meet.
"""

import functools
import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from importlib import resources
from types import MappingProxyType

from pairing.plan.names import unaccented

Phrase = tuple[str, ...]
ENGLISH = "en"
MOST_KEPT_LETTERS = 40  # of words whose spelling is kept: a note says most of its words more than once
TELLING_LETTERS = 4  # a word so long tells a note's language; shorter ones stand in several; editorial

_WORD = re.compile(r"[^\W_]+")
_DRAWN_OUT = re.compile(r"([^\W\di])\1{2,}")  # "slooow", "muuuy"


@dataclass(frozen=True, slots=True)
class Language:
    """The words of one language."""

    code: str  # "en"
    name: str
    roles: Mapping[Phrase, frozenset[str]]  # what a phrase can be
    numbers: Mapping[Phrase, float]
    talk: Mapping[Phrase, str] = field(default_factory=dict)  # words of what is only to be remembered: "deeds"
    passing: frozenset[Phrase] = frozenset()  # what begins a line on which one only gets to the next place
    reminders: frozenset[Phrase] = frozenset()  # what begins a line that is only for oneself
    leaving: frozenset[Phrase] = frozenset()  # words of leaving the room
    still: frozenset[Phrase] = frozenset()  # words of what is done without a pose
    shared: frozenset[str] = frozenset()  # words that stand in names of poses or in other languages too

    @property
    def telling(self) -> frozenset[str]:
        """The words by which a note in this language is known."""
        telling = {word for phrase in self.roles for word in phrase if len(word) >= TELLING_LETTERS}
        return frozenset(telling - self.shared)


@dataclass(frozen=True, slots=True)
class Lexicon:
    """The words of several languages together."""

    roles: Mapping[Phrase, frozenset[str]]
    numbers: Mapping[Phrase, float]
    longest: int  # words of the longest phrase
    talk: Mapping[Phrase, str] = field(default_factory=dict)
    passing: frozenset[Phrase] = frozenset()
    reminders: frozenset[Phrase] = frozenset()
    leaving: frozenset[Phrase] = frozenset()
    still: frozenset[Phrase] = frozenset()
    talk_begins: frozenset[str] = frozenset()  # first words of talk
    passing_begins: frozenset[str] = frozenset()

    def has(self, words: Phrase, role: str) -> bool:
        """Say whether the whole of `words` can be of this role, or of one in this table ("kinds")."""
        return any(found == role or found.startswith(role + ".") for found in self.roles.get(words, ()))

    def talk_in(self, words: Phrase) -> set[str]:
        """Give what words of talk stand among these, as typed in the tables."""
        starts = [at for at, word in enumerate(words) if word in self.talk_begins]
        phrases = {words[at : at + many] for at in starts for many in (1, 2, 3)}
        return {" ".join(phrase) for phrase in phrases if phrase in self.talk}

    def passes(self, words: Phrase) -> bool:
        """Say whether these words begin a line on which one only gets from one place to the next."""
        begins = words[:1] and words[0] in self.passing_begins
        return bool(begins) and any(words[:many] in self.passing for many in range(1, 6))

    def reminds(self, words: Phrase) -> bool:
        """Say whether these words begin a line that is only for oneself: "ask about", "if late"."""
        return any(words[:many] in self.reminders for many in range(1, 5))

    def needs_no_pose(self, words: Phrase) -> bool:
        """Say whether one of these words, or two, is of what is done without a pose: "hands on belly"."""
        return any(words[at : at + many] in self.still for at in range(len(words)) for many in (1, 2))

    def leaves(self, words: Phrase) -> bool:
        """Say whether one of these words tells that the room is left."""
        return any((word,) in self.leaving for word in words)


def spelled(text: str) -> Phrase:
    """Give the words of a text in the spelling of the index.

    >>> spelled("C/lado"), spelled("Árbol – 2ª")
    (('c', 'lado'), ('arbol', '2a'))
    """
    return _spelled(text) if len(text) <= MOST_KEPT_LETTERS else _spelled.__wrapped__(text)


@functools.lru_cache(maxsize=8192)
def _spelled(text: str) -> Phrase:
    return tuple(_WORD.findall(_DRAWN_OUT.sub(r"\1", unaccented(text))))


@functools.cache
def languages() -> tuple[Language, ...]:
    """All languages of the package, English first."""
    folder = resources.files("pairing.plan").joinpath("languages")
    codes = sorted(file.name.removesuffix(".toml") for file in folder.iterdir() if file.name.endswith(".toml"))
    codes.sort(key=lambda code: code != ENGLISH)
    return tuple(_language(code, folder.joinpath(f"{code}.toml").read_text(encoding="utf-8")) for code in codes)


def lexicon_of(words: Iterable[str]) -> Lexicon:
    """Give the words of English and of the languages that some of these words belong to, the likeliest first."""
    typed = frozenset(words)
    held = {spoken.code: len(_telling(spoken.code) & typed) for spoken in languages() if spoken.code != ENGLISH}
    return _lexicon((ENGLISH, *sorted((code for code in held if held[code]), key=lambda code: -held[code])))


@functools.cache
def _telling(code: str) -> frozenset[str]:
    english, own = languages()[0], next(spoken for spoken in languages() if spoken.code == code)
    return (own.telling | _words_of_poses(code)) - english.telling - _english_names()


def _words_of_poses(code: str) -> frozenset[str]:
    """The long words in the names of poses of a language; none where it has no such file."""
    file = resources.files("pairing.plan").joinpath("languages", f"poses_{code}.csv")
    names = file.read_text(encoding="utf-8") if file.is_file() else ""
    return frozenset(word for word in spelled(names.replace("_", "")) if len(word) >= TELLING_LETTERS)


@functools.cache
def _english_names() -> frozenset[str]:
    return frozenset(spelled(resources.files("pairing.plan").joinpath("poses.csv").read_text(encoding="utf-8")))


_OF_TITLES = frozenset({"top.day", "top.class"})


@functools.cache
def _lexicon(codes: tuple[str, ...]) -> Lexicon:
    roles: dict[Phrase, frozenset[str]] = {}
    numbers: dict[Phrase, float] = {}
    talk: dict[Phrase, str] = {}
    passing: frozenset[Phrase] = frozenset()
    reminders: frozenset[Phrase] = frozenset()
    leaving: frozenset[Phrase] = frozenset()
    still: frozenset[Phrase] = frozenset()
    for spoken in sorted((each for each in languages() if each.code in codes), key=lambda each: codes.index(each.code)):
        for phrase, found in spoken.roles.items():
            known = roles.get(phrase, frozenset())
            if not known or known <= _OF_TITLES:  # "am" stands in English titles, and within German lines
                roles[phrase] = known | found
        numbers |= {phrase: value for phrase, value in spoken.numbers.items() if phrase not in numbers}
        talk |= spoken.talk
        passing |= spoken.passing
        reminders |= spoken.reminders
        leaving |= spoken.leaving
        still |= spoken.still
    longest = max(map(len, (*roles, *numbers)))
    begins, ways = (frozenset(phrase[0] for phrase in phrases) for phrases in (talk, passing))
    return Lexicon(
        MappingProxyType(roles),
        MappingProxyType(numbers),
        longest,
        MappingProxyType(talk),
        passing,
        reminders,
        leaving,
        still,
        begins,
        ways,
    )


def _language(code: str, text: str) -> Language:
    data = tomllib.loads(text)
    roles: dict[Phrase, frozenset[str]] = {}
    for table, keys in data.items():
        if table in ("language", "shared", "numbers", "talk", "passing", "reminders", "still"):
            continue
        for key, typed in keys.items():
            for phrase in filter(None, map(spelled, typed)):
                roles[phrase] = roles.get(phrase, frozenset()) | {f"{table}.{key}"}
    numbers = {spelled(typed): float(value) for value, list_ in data["numbers"].items() for typed in list_}
    talk = {phrase: key for key, typed in data.get("talk", {}).items() for phrase in map(spelled, typed)}
    passing = frozenset(map(spelled, data.get("passing", {}).get("words", ())))
    reminders, leaving = (frozenset(map(spelled, data.get("reminders", {}).get(of, ()))) for of in ("first", "leaving"))
    still = frozenset(map(spelled, data.get("still", {}).get("words", ())))
    shared = frozenset(data.get("shared", ()))
    return Language(
        code,
        data["language"],
        MappingProxyType(roles),
        MappingProxyType(numbers),
        talk,
        passing,
        reminders,
        leaving,
        still,
        shared,
    )
