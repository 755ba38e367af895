"""A line of a note -> tokens: poses, lengths, counts, sides, small words, separators; in whatever language.

Nothing is decided here about what the line means. Every character that isn't blank belongs to a token, so that what
isn't understood can be shown. One pass; its cost grows with the length of the line alone.
"""

import functools
import itertools
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal, NamedTuple

from pairing.model import Length
from pairing.plan.language import Lexicon, spelled
from pairing.plan.names import key, words
from pairing.plan.pictures import with_pictures
from pairing.plan.poses import BROAD_NAMES, LONGEST_NAME, Match, PoseTable
from pairing.plan.words import number as number_of

TokenKind = Literal[
    "pose", "number", "pair", "chain", "length", "times", "counts", "pulses", "word", "unknown", "mark", "aside"
]

Unit = Literal["breaths", "seconds", ""]

_FRACTIONS = "½¼¾⅓⅔"
_RUN = re.compile(r"[^\W_]+(?:['’‘`´](?=[^\W\d_])[^\W_]+)*", re.UNICODE)
_WORD = re.compile(r"[^\W\d_]+")
_LETTERS = re.compile(r"[^\W\d_]+(?:/[^\W\d_]+)?")
_NUMBER = rf"(?:\d{{1,5}}(?:[.,]\d{{1,2}}(?!\d))?(?:\s?[{_FRACTIONS}]|\s[1-3]/[2-4](?!\d))?|[{_FRACTIONS}])"
_CHAIN = re.compile(r"\d{1,2}(?:\s?-\s?\d{1,2}){2,}(?![\d:.])")
_CLOCK = re.compile(r"\d{1,3}:[0-5]\d(?::[0-5]\d)?(?!\d)")
_PAIR = re.compile(rf"({_NUMBER})(['’′\"”″]?)\s?/\s?({_NUMBER})(?![\d/])")
_HALF = re.compile(r"(1/2|½)\s?(?=[^\W\d_])")
_SPAN = re.compile(rf"({_NUMBER})(?:\s?(?:-|–|—|\bto\b|\bor\b)\s?({_NUMBER}))?")
_PRIME = re.compile(r"\s?(''|[\"”″]|['’′])(?![^\W\d_])")
_TIMES_BEFORE = re.compile(  # "x4-6", but no "x4 - 6 min"
    r"[x×*]\s?(\d{1,4})(?:\s?[-–]\s?(\d{1,4})(?!\d|\s?(?:min|m\b|sec|s\b|br|['’′\"″])))?(?![\d:.,]\d)", re.IGNORECASE
)
_LETTER_SALUTATIONS = re.compile(r"[AB](?:['’]s\b|s(?=\s*(?:[x×*]\s?\d|\d{1,2}\b)))")
_LETTER_COUNTED = re.compile(r"[AB](?=\s*(?:[x×*]\s?\d|\d{1,2}\s?[x×*](?!\w)|[-–—:]\s*\d))")  # "A x 3", "B - 2"
_COUNTED_SALUTATIONS = re.compile(r"[AB]s?(?=\s*(?:$|[,;+&]|\d|and\b))")  # behind a number: "5 As, 3 Bs", "3A 3B"
_SHORT_SALUTATION = re.compile(r"S{1,2}([AB])(?!\w)")  # "SA x3", "4 SB"
_COUNTED_LETTER = re.compile(r"\d{1,2}[AB]s?")
ORDINAL = re.compile(r"\d*(?:1st|2nd|3rd|\dth)", re.IGNORECASE)  # "3rd" is no three rounds
_SETS = re.compile(r"\s?[x×*]\s?(?=\d)", re.IGNORECASE)  # "2x16", "3 x 15 s"
_ABOUT = re.compile(r"\s?-?ish\b", re.IGNORECASE)  # "3ish mins", "5-ish"
_ABOUT_NUMBER = re.compile(r"\d{1,3}ish", re.IGNORECASE)
_NUMERAL = re.compile(r"[iI]{1,3}|one|two|three", re.IGNORECASE)
_ABBREVIATED = re.compile(r"\.(?=[ \t]*[\d\[(,a-z])")  # the stop of "paschimott. 12"
_SOFT = re.compile(r" {0,2}[-/’'.]? ?")  # what may stand inside a phrase: "cat/cow", "e/s", "warm-up"
_WITHIN = re.compile(r" {0,2}[-’'.]? ?|/ ?| /")  # the same of small words: "each / side angle" is no "each side"
_OPEN, _CLOSE = "([{<", {"(": ")", "[": "]", "{": "}", "<": ">"}
_MARK = re.compile(r"-->|->|=>|→|⇒|➔|➜|<->|<>|↔|\.(?:\s?\.)+|…|[-–—]+|\S")
_ARROWS = {"->", "=>", "-->", "→", "⇒", "➔", "➜", ">", "<>", "<->", "↔"}
SHORT_WORD = 2  # letters of a word that is an abbreviation
SHORTEST_SLIP = 5  # letters of a small word with a slip in it; editorial
SHORTEST_CUT = 6  # letters of a Sanskrit name of one word that is cut short; editorial
SHORTEST_MENDED = 6  # letters of a name of one word with a slip in it: "stuff" is no "staff"; editorial
MOST_KEPT_LINES = 2000  # whose tokens a scanner keeps
WIDE = 4.0  # a range with blanks round its dash ends no further than so many times its beginning; editorial
NUMBER_AND_UNIT = 2  # words
_MOST_ADJECTIVES = 2  # "5 long slow breaths"


@dataclass(frozen=True, slots=True)
class Token:
    """One thing in a line; `low` and `high` are the ends of a number or length."""

    kind: TokenKind
    text: str
    start: int
    end: int
    roles: frozenset[str] = frozenset()
    low: float = 0.0
    high: float = 0.0
    unit: Unit = ""
    values: tuple[float, ...] = ()  # of a chain or pair
    match: Match | None = None
    broad: bool = False  # a pose's name that is a word of every day too
    mended: bool = False  # a name with a slip in it, or in another romanisation
    picture: bool = False
    inner: tuple["Token", ...] = ()  # of an aside
    approximate: bool = False

    def says(self, *roles: str) -> bool:
        """Say whether it can be one of these roles ("how.hold"), or one of a table ("kinds")."""
        return bool(self.roles) and not _with_tables(self.roles).isdisjoint(roles)

    @property
    def length(self) -> Length:
        """The length that a length token stands for."""
        return Length(
            "breaths" if self.unit == "breaths" else "seconds", (self.low + self.high) / 2, self.low, self.high
        )


@functools.cache
def _with_tables(roles: frozenset[str]) -> frozenset[str]:
    """Roles, and the tables they stand in: "how.hold" and "how"."""
    return roles | {role.partition(".")[0] for role in roles}


@dataclass(frozen=True, slots=True)
class _Run:
    text: str
    start: int
    end: int
    names: tuple[str, ...]
    spelled: tuple[str, ...]


class _Named(NamedTuple):
    """A name of a pose: its runs, its pose, whether it is a broad one, whether it was mistyped."""

    runs: int
    match: Match
    broad: bool
    mended: bool = False


@dataclass(slots=True)
class Scanner:
    """Finds tokens with the words of some languages and the names of a pose table."""

    lexicon: Lexicon
    table: PoseTable
    _mended: dict[str, _Run] = field(default_factory=dict)
    _kept: dict[str, tuple[Token, ...]] = field(default_factory=dict)

    def scan(self, text: str) -> list[Token]:
        """Give the tokens of a line in order; those of lines seen before are kept, as a note is read at each key."""
        if text not in self._kept:
            if len(self._kept) >= MOST_KEPT_LINES:
                self._kept.clear()
            plain, pictures = with_pictures(text)
            self._kept[text] = tuple(self._tokens(plain, 0, pictures))
        return list(self._kept[text])

    # ---- the pass ------------------------------------------------------------------------------------------------

    def _tokens(self, text: str, offset: int, pictures: frozenset[int]) -> Iterator[Token]:
        runs = [self._run(found) for found in _RUN.finditer(text)]
        at, run = 0, 0
        while at < len(text):
            while run < len(runs) and runs[run].end <= at:
                run += 1
            if text[at].isspace():
                at += 1
                continue
            token = self._aside(text, at, offset) or self._salutations(text, at) or self._number(text, at, runs, run)
            if token is None and run < len(runs) and runs[run].start <= at < runs[run].end:
                token = self._phrase(text, runs, run, pictures)
            if token is None:
                mark = _MARK.match(text, at)
                end = mark.end() if mark else at + 1
                token = Token("mark", _mark(text, at, end), at, end)
            yield token
            at = token.end

    def _run(self, found: re.Match[str]) -> _Run:
        text = found.group()
        return _Run(text, found.start(), found.end(), words(text), spelled(text))

    def _aside(self, text: str, at: int, offset: int) -> Token | None:
        if (
            text[at] not in _CLOSE or offset > 2 or text.startswith(("<>", "<-"), at)
        ):  # a bracket in a bracket in a bracket is text
            return None
        end = text.find(_CLOSE[text[at]], at)
        inner = text[at + 1 : end] if end > at else text[at + 1 :]
        if text[at] == "<" and end < 0:
            return None
        stop = end + 1 if end > at else len(text)
        return Token("aside", inner.strip(), at, stop, inner=tuple(self._tokens(inner, offset + 1, frozenset())))

    def _salutations(self, text: str, at: int) -> Token | None:
        """ "A's", "Bs x3", "SA": sun salutations by their letters."""
        short = _SHORT_SALUTATION.match(text, at) if text[at] == "S" else None
        if short and not (at and text[at - 1].isalnum()):
            match = self.table.look_up(f"sun salutation {short[1]}")
            return Token("pose", short.group(), at, short.end(), match=match)
        if text[at] not in "AB":
            return None
        found = _LETTER_SALUTATIONS.match(text, at)
        apart = not re.search(r"[^\s,;:+&→>]\s*$", text[max(0, at - 4) : at])
        if found is None and (apart or re.search(r"[x×*]\s?\d{1,2}\s+$", text[max(0, at - 6) : at])):  # "A x4 B x3"
            found = _LETTER_COUNTED.match(text, at)
        found = found or (
            _COUNTED_SALUTATIONS.match(text, at) if re.search(r"\d\s?$", text[max(0, at - 3) : at]) else None
        )
        if found is None or (at and text[at - 1].isalpha()):
            return None
        match = self.table.look_up(f"sun salutation {text[at]}")
        return Token("pose", found.group(), at, found.end(), match=match)

    # ---- numbers -------------------------------------------------------------------------------------------------

    def _number(self, text: str, at: int, runs: list[_Run], run: int) -> Token | None:
        if at >= len(text) or (at and text[at - 1].isalnum() and text[at].isalpha()):
            return None
        char = text[at]
        if char in "xX×*":
            times = _TIMES_BEFORE.match(text, at)
            if times and not times[2] and self._unit(text, times.end(), runs)[0] in ("breaths", "seconds", "minutes"):
                return self._with_unit(text, at, times.end(), float(times[1]), float(times[1]), runs)  # "x 5 breaths"
            if times:
                high = float(times[2] or times[1])
                return Token("times", times.group(), at, times.end(), low=float(times[1]), high=high)
        if char in "~≈":
            later = (
                self._number(text, at + 1 + (text[at + 1 : at + 2] == " "), runs, run) if at + 1 < len(text) else None
            )
            return _put(later, start=at, approximate=True) if later else None
        if not (char.isdecimal() or char in _FRACTIONS):
            word = self._number_word(text, runs, run) if char.isalpha() else None
            return word
        if not self._digits_stand_alone(text, at, runs, run):
            return None
        return self._figure(text, at, runs, run)

    def _digits_stand_alone(self, text: str, at: int, runs: list[_Run], run: int) -> bool:
        """Whether a run that begins with a digit is a number, not the name of a pose ("3ld") or a word ("2nd side")."""
        if run >= len(runs) or runs[run].start != at:
            return True
        if runs[run].text.isdecimal():
            named = self._longest_pose(text, runs, run)  # "hundred, 100 beats" counts
            counted = named and named.runs == 1 and self._unit(text, runs[run].end, runs)[0] != ""
            return self._longest_phrase(text, runs, run) < 2 and (not named or bool(counted))
        if self._longest_pose(text, runs, run) or self._longest_phrase(text, runs, run):
            return False
        if _COUNTED_LETTER.fullmatch(runs[run].text):
            return True
        if ORDINAL.fullmatch(runs[run].text):
            return False
        if _ABOUT_NUMBER.fullmatch(runs[run].text):
            return True
        figures = _SPAN.match(text, at)
        behind = figures.end() if figures else at
        return behind >= runs[run].end or bool(_SETS.match(text, behind)) or self._unit(text, behind, runs)[1] > behind

    def _half_of_name(self, text: str, at: int, runs: list[_Run], run: int) -> Token | None:
        """ "1/2 moon": a name that begins with "half"."""
        half = _HALF.match(text, at)
        behind = [other for other in runs[run : run + LONGEST_NAME + 2] if half and other.start >= half.end()]
        if half is None or not behind:
            return None
        word = _Run("half", at, half.end(1), ("half",), ("half",))
        named = self._longest_pose(text, [word, *behind], 0)
        if named is None or named.runs < 2 or named.mended:
            return None
        end = behind[named.runs - 2].end
        return Token("pose", text[at:end], at, end, match=named.match)

    def _figure(self, text: str, at: int, runs: list[_Run], run: int) -> Token | None:
        named = self._half_of_name(text, at, runs, run)
        if named:
            return named
        chain = _CHAIN.match(text, at)
        if chain:
            values = tuple(float(value) for value in re.findall(r"\d+", chain.group()))
            return Token("chain", chain.group(), at, chain.end(), values=values)
        clock = _CLOCK.match(text, at)
        if clock:
            whole = functools.reduce(lambda sum_, part: 60 * sum_ + int(part), clock.group().split(":"), 0)
            return Token("length", clock.group(), at, clock.end(), low=float(whole), high=float(whole), unit="seconds")
        pair = _PAIR.match(text, at)
        if pair and not (
            pair.group().replace(" ", "") in ("1/2", "1/4", "3/4") and text[pair.end() : pair.end() + 1] != ""
        ):
            values = (number_of(pair[1]), number_of(pair[3]))
            unit_s, end = self._unit(text, pair.end(), runs)
            prime = _PRIME.match(text, pair.end())
            seconds = (1.0 if prime[1] in "''\"”″" and prime[1] != "'" else 60.0) if prime else 0.0
            unit: Unit = (
                "seconds" if prime or unit_s in ("seconds", "minutes") else "breaths" if unit_s == "breaths" else ""
            )
            factor = seconds or {"minutes": 60.0}.get(unit_s, 1.0)
            stop = prime.end() if prime else end
            return Token(
                "pair",
                text[at:stop],
                at,
                stop,
                unit=unit,
                values=(values[0] * factor, values[1] * factor),
            )
        half = _HALF.match(text, at)
        if half and half[1] == "1/2":
            return self._with_unit(text, at, half.end(), 0.5, 0.5, runs)
        span = _SPAN.match(text, at)
        if span is None:
            return None
        low = number_of(span[1])
        high = number_of(span[2]) if span[2] else low
        end = span.end()
        spaced = re.search(r"\s[-–—]\s", span.group()) is not None  # "block 1 - 30 s": no range
        part = spaced and run > 0 and self.lexicon.has(runs[run - 1].spelled, "columns.section")  # "block 1 - 3 rounds"
        if span[2] and (high < low or part or (spaced and high > WIDE * low)):
            low, high, end = low, low, span.end(1)
        return self._with_unit(text, at, end, low, high, runs)

    def _number_word(self, text: str, runs: list[_Run], run: int) -> Token | None:
        if run >= len(runs) or self._longest_phrase(text, runs, run) > NUMBER_AND_UNIT:
            return None  # "one breath one movement" is no length
        named = self._longest_pose(text, runs, run) if self._is_number_word(runs[run]) else None
        if named and named.runs > 1 and not named.mended:
            return None  # "three part breath"
        for length in (4, 3, 2, 1):
            phrase = _joined(runs[run : run + length])
            value = self.lexicon.numbers.get(phrase) if len(runs[run : run + length]) == length else None
            if value is None or not _softly(text, runs[run : run + length]):
                continue
            start, end = runs[run].start, runs[run + length - 1].end
            token = self._with_unit(text, start, end, value, value, runs)
            if token.kind != "number":
                return token if value >= 2 or token.kind == "length" else None
            counts = value >= 2 and self._pose_follows(text, runs, run + length)
            return token if counts else None
        return None

    def _is_number_word(self, run: _Run) -> bool:
        return len(run.text) > SHORT_WORD and run.spelled in self.lexicon.numbers

    def _pose_follows(self, text: str, runs: list[_Run], run: int) -> bool:
        return run < len(runs) and bool(self._longest_pose(text, runs, run))

    def _with_unit(self, text: str, start: int, end: int, low: float, high: float, runs: list[_Run]) -> Token:
        about = _ABOUT.match(text, end)
        if about:  # "3ish mins"
            end = about.end()
        sets = _SETS.match(text, end)
        if sets:
            return Token("times", text[start : sets.end()], start, sets.end(), low=low, high=high)
        prime = _PRIME.match(text, end)
        if prime:
            minutes = prime[1] in "'’′"
            return self._with_seconds(text, start, prime.end(), low, high, 60.0 if minutes else 1.0, runs)
        unit, stop = self._unit(text, end, runs)
        typed = text[start:stop]
        if unit in ("minutes", "seconds", "hours"):
            return self._with_seconds(
                text, start, stop, low, high, {"minutes": 60.0, "hours": 3600.0}.get(unit, 1.0), runs
            )
        if unit == "breaths":
            half = re.compile(r"\s+(?:and\s+a\s+half|y\s+medi[oa]|et\s+demie?|einhalb)\b", re.IGNORECASE).match(
                text, stop
            )
            more, stop = (0.5, half.end()) if half else (0.0, stop)
            return Token("length", text[start:stop], start, stop, low=low + more, high=high + more, unit="breaths")
        if unit == "counts":
            return Token("counts", typed, start, stop, low=low, high=high)
        if unit == "pulses":
            return Token("pulses", typed, start, stop, low=low, high=high)
        if unit in ("times", "rounds"):
            return Token("times", typed, start, stop, frozenset({f"units.{unit}"}), low=low, high=high)
        return Token("number", text[start:end], start, end, low=low, high=high)

    def _with_seconds(
        self, text: str, start: int, end: int, low: float, high: float, factor: float, runs: list[_Run]
    ) -> Token:
        """A length of time; "1 min 30" and "1h15" have a second number."""
        low, high = low * factor, high * factor
        more = (
            re.compile(r"\s?(?:and\s|y\s|und\s|et\s)?([0-5]?\d)(?![\d:/])").match(text, end)
            if factor > 1 and low == high
            else None
        )
        if more:
            prime = _PRIME.match(text, more.end())
            prime = prime if prime and (factor != 60.0 or prime[1] not in "'’′") else None  # "1' and 1'" are two
            unit, stop = self._unit(text, more.end(), runs)
            smaller = "seconds" if factor == 60.0 else "minutes"
            ends = re.compile(r"\s*(?:$|[,;)])").match(text, more.end())
            joined = text[end - 1] in "'’′" and more.start(1) == end  # "1'30"
            joined = joined or (factor == 3600.0 and len(more[1]) == 2 and more.start(1) == end)  # "1h15"
            joined = joined or (int(more[1]) >= 10 and self._is_sided(text, more.end()))  # "1 min 30 per side"
            if unit == smaller or prime or joined or (ends and factor == 3600.0) or (ends and int(more[1]) >= 10):
                extra = float(more[1]) * factor / 60.0
                low, high = low + extra, high + extra
                end = prime.end() if prime else stop if unit == smaller else more.end()
        else:
            behind = re.compile(rf"\s?(?:-|–|—|to)\s?({_NUMBER})").match(text, end)
            if behind:
                unit, stop = self._unit(text, behind.end(), runs)
                seconds = {"minutes": 60.0, "seconds": 1.0}.get(unit)
                if seconds:
                    low, high = sorted((low, number_of(behind[1]) * seconds))
                    end = stop
        half = re.compile(r"\s+(?:and\s+a\s+half|y\s+medi[oa]|et\s+demie?|einhalb)\b", re.IGNORECASE).match(text, end)
        if half:
            low, high, end = low + factor / 2, high + factor / 2, half.end()
        return Token("length", text[start:end], start, end, low=low, high=high, unit="seconds")

    def _unit(self, text: str, at: int, runs: list[_Run]) -> tuple[str, int]:
        """Give the unit that stands at this place, and its end; "" and `at` for none."""
        found = re.compile(r"\s?-?\s?").match(text, at)
        start = found.end() if found else at
        if text[start : start + 1] in ("×", "*") and not text[start + 1 : start + 3].strip()[:1].isdecimal():
            return "times", start + 1  # "2× each side"
        if not text[start : start + 1].isalpha() or self._salutations(text, start):
            return "", at
        unit = self._unit_of(text, start)
        if unit:
            return unit
        stop = start
        for _ in range(_MOST_ADJECTIVES if start > at else 0):  # not "3d breath"  # "5 long, slow breaths"
            word = _RUN.match(text, stop)
            gap = word and re.compile(r"\s+").match(text, word.end())
            if not word or not gap or not word.group().isalpha() or self._is_no_adjective(spelled(word.group())):
                break
            stop = gap.end()
            later = self._unit_of(text, stop)
            if later and later[1] - stop >= 4 and (later[0] == "breaths" or self._is_plain_round(later, word.group())):
                return later
        return "", at

    def _is_plain_round(self, unit: tuple[str, int], adjective: str) -> bool:
        """ "4 full rounds", but not "4 slow rounds", which says how, nor "4 squat sets"."""
        known = spelled(adjective) in self.lexicon.roles or self.table.exact(key(adjective)) is not None
        return unit[0] == "rounds" and not known

    def _is_no_adjective(self, word: tuple[str, ...]) -> bool:
        """ "2 on breath", "x2 one breath one movement": no 2 breaths."""
        return self.lexicon.has(word, "join") or word in self.lexicon.numbers

    def _unit_of(self, text: str, start: int) -> tuple[str, int] | None:
        best: tuple[str, int] | None = None
        phrase: tuple[str, ...] = ()
        at = start
        for _ in range(4):
            run = _LETTERS.match(text, at) if not phrase else _RUN.match(text, at)
            if run is None:
                break
            if not phrase and spelled(run.group()) not in self.lexicon.roles:
                run = _WORD.match(text, at) or run  # "2 min/Seite"
            phrase += spelled(run.group())
            if len(phrase) > 2 and any(role == "how.quick" for role in self.lexicon.roles.get(phrase, ())):
                return None  # "x2 breath to movement"
            for role in self.lexicon.roles.get(phrase, ()):
                if role.startswith("units."):
                    name = role.removeprefix("units.")
                    if len(phrase) > 1 and self.lexicon.has(phrase[-1:], "join.each"):
                        continue  # "5 breaths each side"
                    if phrase == ("x",) and self._stands_for_each(text, start):
                        continue  # "4 x lado"
                    if phrase == ("x",) and text[run.end() : run.end() + 2].strip()[:1].isdecimal():
                        continue
                    best = (
                        name,
                        run.end()
                        + (
                            text[run.end() : run.end() + 1] == "."
                            and len(phrase[-1]) <= 4
                            and text[run.end() + 1 : run.end() + 2] in ("", " ", ",", ";", ")")
                        ),
                    )
            gap = re.compile(r"[ ]").match(text, run.end())
            if not gap:
                break
            at = gap.end()
        return best

    def _is_sided(self, text: str, at: int) -> bool:
        """Whether a side is told right behind."""
        words_ = spelled(text[at : at + 16])
        return text[at : at + 1] == " " and any(self.lexicon.has(words_[:many], "sides") for many in (1, 2, 3))

    def _stands_for_each(self, text: str, start: int) -> bool:
        """Whether an "x" begins a phrase for both sides in some language: "x lado"."""
        words_ = spelled(text[start : start + 12])
        return self.lexicon.has(words_[:2], "sides.each")

    # ---- names and words -----------------------------------------------------------------------------------------

    def _phrase(self, text: str, runs: list[_Run], run: int, pictures: frozenset[int]) -> Token:
        pose = self._longest_pose(text, runs, run)
        word = self._longest_phrase(text, runs, run)
        start = runs[run].start
        if word and (not pose or word > pose[0] or (word == pose[0] and self._rather_a_word(runs[run : run + word]))):
            part = runs[run : run + word]
            roles = self.lexicon.roles[_joined(part)]
            match = pose[1] if pose and pose[0] == word else None
            return Token("word", text[start : part[-1].end], start, part[-1].end, roles, match=match)
        if pose:
            length, match, broad, mended = pose
            end = runs[run + length - 1].end
            end += _ABBREVIATED.match(text, end) is not None and not self._knows_whole(runs[run + length - 1])
            roles = self.lexicon.roles.get(_joined(runs[run : run + length]), frozenset())
            picture = start in pictures
            return Token(
                "pose", text[start:end], start, end, roles, match=match, broad=broad, mended=mended, picture=picture
            )
        return self._slip(runs[run])

    def _slip(self, run: _Run) -> Token:
        """A small word with a slip in it ("agian", "stoping"); else an unknown one."""
        word = run.spelled[0] if len(run.spelled) == 1 else ""
        if len(word) >= SHORTEST_SLIP and word.isalpha():
            swapped = (word[:at] + word[at + 1] + word[at] + word[at + 2 :] for at in range(1, len(word) - 1))
            doubled = (word[:at] + word[at] + word[at:] for at in range(1, len(word)))
            for meant in (*swapped, *doubled):
                roles = self.lexicon.roles.get((meant,), frozenset()) if meant != word else frozenset()
                if roles:
                    return Token("word", run.text, run.start, run.end, roles, mended=True)
        return Token("unknown", run.text, run.start, run.end)

    def _rather_a_word(self, part: Sequence[_Run]) -> bool:
        """Whether a name that is a small word too ("rest", "switch") is rather the word."""
        roles = self.lexicon.roles.get(_joined(part), frozenset())
        name = key(" ".join(run.text for run in part))
        tables = {role.partition(".")[0] for role in roles}
        return name in BROAD_NAMES or bool(tables & {"sides", "join", "how", "again"})

    def _longest_phrase(self, text: str, runs: list[_Run], run: int) -> int:
        best = 0
        phrase: tuple[str, ...] = ()
        for length in range(1, min(self.lexicon.longest, len(runs) - run) + 1):
            if length > 1 and not _go_together(text, runs[run + length - 2], runs[run + length - 1]):
                break
            phrase += runs[run + length - 1].spelled
            if phrase in self.lexicon.roles:
                best = length
        return best

    def _longest_pose(self, text: str, runs: list[_Run], run: int) -> _Named | None:
        """The longest name that begins here."""
        reach = 1
        while reach < LONGEST_NAME and run + reach < len(runs):
            if not _SOFT.fullmatch(text, runs[run + reach - 1].end, runs[run + reach].start):
                break
            reach += 1
        if run and reach > 1 and runs[run].text.lower() == "w" and not runs[run + 1].text[:1].isdigit():
            reach = 2 if _NUMERAL.fullmatch(runs[run + 1].text) else 1  # "mermaid w twist" has no warrior
        for length in range(reach, 0, -1):
            if length > 1 and self._ends_in_no_name(runs[run + length - 1]):
                continue
            name = _name(runs[run : run + length])
            match = self.table.exact(name)
            if match and not self._is_side_and_number(runs[run : run + length]):
                return _Named(length, match, name in BROAD_NAMES or name in _EVERYDAY)
        return self._mistyped(runs, run, reach)

    def _ends_in_no_name(self, last: _Run) -> bool:
        """ "W the cream", "to R": no name ends in such a word."""
        sided = len(last.text) == 1 and last.text != "I" and self.lexicon.has(last.spelled, "sides")  # "guerrero I"
        return last.names == ("the",) or sided

    def _is_side_and_number(self, part: Sequence[_Run]) -> bool:
        """ "G 3": on the left, three; "G3" is a name."""
        apart = len(part) == 2 and part[1].text.isdecimal() and part[0].end < part[1].start
        return apart and any(self.lexicon.has(part[0].spelled, f"sides.{side}") for side in ("right", "left"))

    def _mistyped(self, runs: list[_Run], run: int, reach: int) -> _Named | None:
        """A name in another romanisation of Sanskrit, or with a slip in one of its words."""
        first = runs[run].text
        if not first[0].isalpha():
            return None
        for length in range(min(reach, 6), 0, -1):
            typed = " ".join(item.text for item in runs[run : run + length])
            if len(typed) > 4 and (length > 1 or not self._is_word(runs[run])):
                sound = self.table.by_sound(typed)
                if sound:
                    return _Named(length, sound, broad=False)
            cut = self._cut_short(runs[run : run + length])
            if cut:
                return cut
        for length in range(min(reach, 5), 0, -1):
            part = runs[run : run + length]
            mended = [self._mend(item) for item in part]
            as_typed = all(one.names == other.names for one, other in zip(mended, part, strict=True))
            if as_typed or self._is_side_and_number(part) or (length == 1 and len(first) < SHORTEST_MENDED):
                continue
            name = _name(mended)
            match = self.table.exact(name)
            if match:
                return _Named(length, match, name in BROAD_NAMES or name in _EVERYDAY, mended=True)
        return None

    def _knows_whole(self, run: _Run) -> bool:
        """Whether a word is one of the table as it stands, and no short form with a full stop."""
        return bool(run.names) and self.table.whole(run.names[-1])

    def _cut_short(self, part: Sequence[_Run]) -> _Named | None:
        """ "Paścimott.", "ūrdhva dhanur": a Sanskrit name whose words are cut short."""
        letters = part[-1].text[-1:] + part[0].text[:1]
        if not letters.isalpha() or self._is_word(part[0]) or self._is_word(part[-1]):
            return None
        typed = " ".join(item.text for item in part)
        if len(part) == 1 and len(typed) < SHORTEST_CUT and typed.isascii():
            return None
        match = self.table.cut_short(typed)
        return _Named(len(part), match, broad=False, mended=bool(match.note)) if match else None

    def _is_word(self, run: _Run) -> bool:
        return run.spelled in self.lexicon.roles

    def _mend(self, run: _Run) -> _Run:
        if run.text not in self._mended:
            fits = len(run.names) == 1 and not self._is_word(run)
            word = "salutation" if run.names == ("salute",) else self.table.mended(run.names[0]) if fits else None
            self._mended[run.text] = replace(run, names=(word,)) if word and word != run.names[0] else run
        return self._mended[run.text]


_scanners: list[Scanner] = []  # the last few, by what they were made from


def scanner_of(lexicon: Lexicon, table: PoseTable) -> Scanner:
    """Give a scanner for these words and names, the one of last time where they are the same objects."""
    found = next((each for each in _scanners if each.lexicon is lexicon and each.table is table), None)
    if found is None:
        found = Scanner(lexicon, table)
        _scanners[:] = [found, *_scanners[:3]]
    return found


# Names of poses that are words of every day too: inside a cue they name no pose. Editorial.
_EVERYDAY_NAMES = """
arms up,arms overhead,reach up,sweep arms up,step,hop,jump,walk,arms,reach,open,knees,star,flip,wave,shoulder,neck,
wrist,step forward,step back,straighten,child,stand tall,feet together,sway,hold,bird,table,ball,bear,baby,lie down,
hug,cross,swing,heel,point,tuck,crawl,shake,circle,prayer,hands,gate,scale,monkey,king,side stretch,rock,
toes,toe
"""
_EVERYDAY = {key(name) for name in _EVERYDAY_NAMES.split(",")}


def _mark(text: str, start: int, end: int) -> str:
    """One sign for all arrows and one for all dashes that part; a hyphen within a word stays one."""
    typed = text[start:end]
    if typed in _ARROWS:
        return "→"
    if typed[0] in "-–—":
        inside = typed == "-" and text[start - 1 : start].strip() and text[end : end + 1].strip()
        return "-" if inside else "—"
    return "—" if (typed[0] in ".…" and len(typed) > 1) or typed == "…" else typed


def _put(token: Token, **changes: object) -> Token:
    return replace(token, **changes)  # type: ignore[arg-type]


def _joined(runs: Sequence[_Run]) -> tuple[str, ...]:
    return tuple(word for run in runs for word in run.spelled)


def _name(part: Sequence[_Run]) -> str:
    """The key of the name that these words make."""
    found = [word for run in part for word in run.names]
    if len(part) > 1:
        found = [word for word in found if word not in ("pose", "posture", "the", "asana")]
        for at, word in enumerate(found[1:]):
            if word == "dog" and found[at] in ("down", "up"):
                found[at] += "ward"
    return "".join(found)


def _go_together(text: str, one: _Run, other: _Run) -> bool:
    """Whether two words may be parts of one small phrase: "p / s", "each side", but not "each / side"."""
    short = len(one.text) <= SHORT_WORD and len(other.text) <= SHORT_WORD
    return bool((_SOFT if short else _WITHIN).fullmatch(text, one.end, other.start))


def _softly(text: str, runs: Sequence[_Run]) -> bool:
    return all(_SOFT.fullmatch(text, one.end, other.start) for one, other in itertools.pairwise(runs))
