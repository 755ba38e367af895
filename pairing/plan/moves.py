"""The tokens of one line -> what is done, in order: poses, holds, counts, pauses, each with its own or a shared amount.

How bare numbers are read, and how long a repetition is where the pose table doesn't say, is common practice, no source.
"""

import itertools
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from pairing.constants import USUAL_BREATH_S
from pairing.model import Element, Group, Kind, Length, Place, Wishes
from pairing.plan.kinds import kind_named
from pairing.plan.poses import Match, Pose, PoseTable
from pairing.plan.tokens import Token
from pairing.plan.words import LONGEST_S, MOST_TIMES, scaled

LINE_GROUP = "part"  # the name of a group that no heading names
ADJACENT = 3  # letters at most between "10s, 20s" of one ladder
COUNT_S = 1.0  # "hold for 8", "16 pulses": a count a second; editorial, as all numbers here
REP_S = 2.0  # a lift, a kick, a circle
MOVE_REP_S = 3.0  # a repetition of a movement that isn't known
SLOW_REP_S = 4.0  # "10 slow": a count of four, at least
QUICK = 0.5  # "20 fast": times the usual repetition
CHANT_S, GREETING_S = 30.0, 8.0
OPEN_S = 30.0  # of a line whose length nothing tells
LEAST_SECONDS = 10  # a bare number beside seconds on its line is seconds from here on
FROM_HERE_SECONDS = 30  # a bare number from here on is seconds, below breaths
SHORT_REST = 3  # a bare number behind a rest between exercises is minutes up to here
MANY_REPS = 6  # a held pose done so often is moved in and out of with the breath
MOST_MINUTES = 20  # a bare number after a resting pose
MOST_PASSIVE = 30  # the same, in a class of few, long poses
PASSIVE_BREATHS = 30  # of the usual slow hold of a pose that one is laid down in
LEAST_PASSIVE = 3  # minutes after such a pose in any class
_STRONG = (Kind.STRENGTH,)
_LAID = {
    "supine_twist",
    "knees_to_chest",
    "happy_baby",
    "reclined_bound_angle",
    "seated_meditation",
}  # stayed in like a rest, near the end
STEP_BREATHS = 0.5  # a repetition no longer than that is never held for breaths
LEAST_TOTAL_S = 60.0  # of several poses together, behind a comma
SOUND_BATH = "Sound Bath"
SEAT_ID = "easy_seat"
_WITHIN = {"say", "pause", "gap"}
_EVERY = (1, 2, 3)  # minutes
_SEPARATORS = {",", ";", "→", "—", ":", "+", "&", "/", "|", "."}
_PARTS = {  # what a "twist" is after another pose of the line
    "chair": "revolved_chair",
    "high_lunge": "revolved_high_lunge",
    "low_lunge": "revolved_low_lunge",
    "runners_lunge": "open_lunge_twist",
}

What = Literal["pose", "say", "pause", "silence", "bell", "song", "gap"]


@dataclass(frozen=True, slots=True)
class Around:
    """What a line's reading may lean on."""

    table: PoseTable
    kind: Kind | None = None  # of the section, where it is known
    yin: bool = False  # bare numbers of this note are minutes
    counts: bool = False  # bare numbers of this note are repetitions
    before: Element | None = None  # the last pose or gap above
    intervals: tuple[float, float] | None = None  # seconds of work and rest, for lines without an amount
    minutes: bool = False  # no bare number near it counts breaths
    both_sides: bool = False  # the lines around are done on both sides already


@dataclass(slots=True)
class Amount:
    """How much: lengths and counts as typed, not yet weighed."""

    lengths: list[Length] = field(default_factory=list)
    times: list[tuple[float, float]] = field(default_factory=list)
    numbers: list[tuple[float, float]] = field(default_factory=list)
    counts: float = 0.0
    chain: tuple[float, ...] = ()
    pair: tuple[float, ...] = ()
    pair_unit: str = ""
    side: Literal["right", "left", "each"] | None = None
    each: bool = False
    ways: int = 1  # "each direction"
    slow: bool = False
    quick: bool = False
    no_hold: bool = False
    optional: bool = False
    supported: bool = False
    alternating: bool = False
    half: bool = False
    open: bool = False
    rounds: bool = False  # the count was given as rounds or sets
    on_off: bool = False  # the pair is work and rest
    odd: bool = False  # it says two things that don't go together
    length_end: int = 0  # where the last length ends in the line

    def has_size(self) -> bool:
        """Say whether anything tells a length or a count."""
        return bool(self.lengths or self.times or self.numbers or self.counts or self.chain or self.pair or self.half)

    def has_any(self) -> bool:
        """Say whether anything was said at all."""
        return self != Amount()


@dataclass(slots=True)
class Move:
    """One thing that is done."""

    what: What | Literal["hold", "pulse", "move"]
    name: str
    match: Match | None = None
    amount: Amount = field(default_factory=Amount)
    notes: list[str] = field(default_factory=list)
    alternatives: list[str] = field(default_factory=list)
    joined: str = ","  # what stands before it
    picture: bool = False
    unknown: bool = False
    doubt: bool = False  # a word before its name belongs to the names of other poses
    roles: frozenset[str] = frozenset()

    @property
    def pose(self) -> Pose | None:
        """The pose it is, where it is one."""
        return self.match.pose if self.match else None


@dataclass(slots=True)
class Line:
    """What one line says."""

    moves: list[Move] = field(default_factory=list)
    label: str = ""
    label_tokens: tuple[Token, ...] = ()
    shared: Amount = field(default_factory=Amount)  # of all its moves
    between: list[Move] = field(default_factory=list)
    between_what: Literal["sides", "rounds", ""] = ""
    other_side: bool = False  # the whole line is done on the other side too
    sets: int = 1
    of_each: bool = False  # a length is said of each of several poses
    minutes: Length | None = None  # of all of it, said before a colon
    notes: list[str] = field(default_factory=list)
    wishes: Wishes = field(default_factory=Wishes)
    peak: bool = False
    leftover: list[str] = field(default_factory=list)  # numbers that found no place


# ---- chunks ------------------------------------------------------------------------------------------------------


@dataclass(slots=True)
class _Chunk:
    before: str
    tokens: list[Token] = field(default_factory=list)
    bracket: bool = False


def line_of(tokens: Sequence[Token], around: Around) -> Line:
    """Read the tokens of a line."""
    line = Line()
    line.of_each = any(token.says("join.each") and not token.says("sides") for token in tokens)
    chunks = _chunks(sides_joined(_with_intervals(tokens)), line)
    chunks = _without_label(chunks, line, around)
    for index, chunk in enumerate(chunks):
        _read_chunk(chunk, line, around, later=chunks[index + 1 :])
    _settle(line)
    return line


def _with_intervals(tokens: Sequence[Token]) -> list[Token]:
    """Make one token of "30 s on, 10 s off"."""
    out: list[Token] = []
    for token in tokens:
        out.append(token)
        plain = [other for other in out[-6:] if other.kind != "mark"][-4:]
        if len(plain) == 4 and _is_interval(plain):
            at = out.index(plain[0])
            values = (plain[0].low, plain[2].low)
            out[at:] = [Token("pair", "on/off", plain[0].start, token.end, values=values, unit="seconds")]
    return out


def _is_interval(tokens: Sequence[Token]) -> bool:
    work, on, rest, off = tokens
    sized = all(size.kind in ("length", "number") and size.unit != "breaths" for size in (work, rest))
    return sized and on.says("intervals.work") and off.says("intervals.rest")


def sides_joined(tokens: Sequence[Token]) -> list[Token]:
    """Make one token of "r/l", "R then L", "right and left", and drop "leg" after a side."""
    out: list[Token] = []
    for token in tokens:
        if (
            token.says("sides.parts")
            and out
            and (out[-1].says("sides.right", "sides.left", "sides.each") or (out[-1].text == "/"))
        ):
            if out[-1].text == "/":  # "2 min/side"
                out[-1] = Token("word", "each side", out[-1].start, token.end, frozenset({"sides.each"}))
            continue
        out.append(token)
        last = out[-3:]
        if len(last) == 3 and _is_joiner(last[1]) and _opposite(last[0], last[2]):
            out[-3:] = [_each(last[0], last[2])]
        elif len(out) >= 2 and _opposite(out[-2], out[-1]):
            out[-2:] = [_each(out[-2], out[-1])]
        elif len(out) >= 4 and _is_joiner(out[-2]) and _is_joiner(out[-3]) and _opposite(out[-4], out[-1]):
            out[-4:] = [_each(out[-4], out[-1])]
    return out


def _is_joiner(token: Token) -> bool:
    return (token.kind == "mark" and token.text in "/&+,-—") or token.says("join.then", "join.and")


def _opposite(one: Token, other: Token) -> bool:
    return (one.says("sides.right") and other.says("sides.left")) or (
        one.says("sides.left") and other.says("sides.right")
    )


def _each(one: Token, other: Token) -> Token:
    return Token("word", f"{one.text}/{other.text}", one.start, other.end, frozenset({"sides.each"}))


def _chunks(tokens: Sequence[Token], line: Line) -> list[_Chunk]:
    chunks = [_Chunk("")]
    for token in tokens:
        if token.kind == "aside":
            _aside(token, chunks, line)
        elif token.kind == "mark":
            behind_w = token.text == "/" and chunks[-1].tokens and chunks[-1].tokens[-1].end == token.start
            if behind_w and chunks[-1].tokens[-1].text.lower() == "w":
                continue  # "w/ straps"
            if token.text in _SEPARATORS:
                chunks.append(_Chunk(token.text))
        elif token.says("join.then") and not token.match:
            chunks.append(_Chunk("→" if token.text.lower() != "to" else "to"))
        elif token.says("join.or") and not (token.says("how.option") and not chunks[-1].tokens):
            chunks.append(_Chunk("or"))
        elif token.says("join.and") and not token.says("join.with"):
            chunks.append(_Chunk("&"))
        else:
            chunks[-1].tokens.append(token)
    return [chunk for chunk in chunks if chunk.tokens]


def _aside(token: Token, chunks: list[_Chunk], line: Line) -> None:
    """A bracket that says nothing but how long, how often, on which side counts; any other is a note."""
    inner = [part for part in sides_joined(token.inner) if part.kind != "mark"]
    if any(part.says("join.between") for part in inner):
        chunks.append(_Chunk("(", list(inner), bracket=True))
        chunks.append(_Chunk("("))
        return
    if inner and all(part.says("kinds.peak") for part in inner):
        line.peak = True
        return
    if inner and all(part.says("music") for part in inner) and " " in token.text:
        for part in inner:
            line.wishes = wished(line.wishes, part)
    if any(part.says("kinds.peak") for part in inner):
        line.peak = True
        inner = [part for part in inner if not part.says("kinds.peak")]
    if (
        inner
        and all(map(_is_attribute, inner))
        and any(is_size(part) or part.says("sides") or part.says("how") for part in inner)
    ):
        chunks.append(_Chunk("(", list(inner), bracket=True))
        chunks.append(_Chunk(")"))
    elif token.text:
        line.notes.append(token.text)


def attributes_in(tokens: Sequence[Token]) -> list[Token]:
    """Give what stands in brackets that say nothing but how long, how often, on which side."""
    inner = [[part for part in token.inner if part.kind != "mark"] for token in tokens if token.kind == "aside"]
    return [
        part
        for parts in inner
        if all(_is_attribute(part) or part.says("kinds.peak") for part in parts)
        for part in parts
    ]


_SIZES = ("length", "times", "counts", "pulses", "number", "pair", "chain")


def is_size(token: Token) -> bool:
    """Say whether a token is a length, a count or a number."""
    return token.kind in _SIZES


def _is_attribute(token: Token) -> bool:
    return is_size(token) or (
        token.kind == "word"
        and token.says("sides", "how", "join", "units", "again")
        and not token.says("how.last", "how.first")
    )


def _without_label(chunks: list[_Chunk], line: Line, around: Around) -> list[_Chunk]:
    """Take a label off: what stands before a colon, if poses or counts of their own stand behind it."""
    if len(chunks) > 2 and chunks[1].bracket and chunks[2].before == ":":
        chunks = _with_minutes_in_bracket(chunks, line)
    if len(chunks) < 2 or chunks[1].before != ":":
        return chunks
    head, rest = chunks[0], chunks[1:]
    has_pose = any(token.kind == "pose" for token in head.tokens)
    later = any(_opens(token) for chunk in rest for token in chunk.tokens)
    if later and not has_pose and _label_with_minutes(head.tokens, line):
        line.label = " ".join(token.text for token in head.tokens)
        return rest
    if has_pose and not any(token.kind == "pose" or token.says("moves.short") for c in rest for token in c.tokens):
        return chunks  # "plies: 16 slow, 16 pulses"
    if later and not any(is_size(token) and token.kind != "number" for token in head.tokens):
        line.label = " ".join(token.text for token in head.tokens)
        line.label_tokens = tuple(head.tokens)
        return rest
    if not has_pose and not any(map(is_size, head.tokens)) and not later and not _names_move(head.tokens):
        line.label = " ".join(token.text for token in head.tokens)
        line.label_tokens = tuple(head.tokens)
    return chunks


def _with_minutes_in_bracket(chunks: list[_Chunk], line: Line) -> list[_Chunk]:
    """ "Hips (10 min): pigeon, frog": the minutes of all that stands behind."""
    inner = [token for token in chunks[1].tokens if token.kind != "mark"]
    if len(inner) != 1 or inner[0].kind != "length" or inner[0].unit != "seconds":
        return chunks
    line.minutes = inner[0].length
    return [chunks[0], *chunks[2:]]


def _label_with_minutes(tokens: Sequence[Token], line: Line) -> bool:
    """ "AMRAP 6 min: ...", "E2MOM x 5: ...", "tabata x 8: ...": how long or how often what stands behind it is done."""
    lengths = [token for token in tokens if token.kind == "length" and token.unit == "seconds"]
    counts = [token for token in tokens if token.kind in ("number", "times")]
    every = next((n for n in _EVERY for token in tokens if token.says(f"intervals.every_{n}")), 0)
    if len(lengths) == 1 and not counts:
        line.minutes = lengths[0].length
    elif every and len(counts) == 1:
        line.minutes = _exactly(
            "seconds", 60.0 * every * counts[0].high if counts[0].kind == "times" else 60.0 * counts[0].high
        )
    elif len(counts) == 1 and counts[0].kind == "times" and any(token.says("intervals.tabata") for token in tokens):
        line.sets = max(1, int(counts[0].high))
    else:
        return False
    return True


def _names_move(tokens: Iterable[Token]) -> bool:
    return any(token.says("moves", "once", "units.pulses", "how.hold") or token.match for token in tokens)


def _opens(token: Token) -> bool:
    return (
        token.kind in ("pose", "pulses")
        or token.says("moves.short", "once", "units.pulses", "how.hold")
        or token.match is not None
    )


# ---- one chunk ---------------------------------------------------------------------------------------------------


def _read_chunk(chunk: _Chunk, line: Line, around: Around, *, later: list[_Chunk]) -> None:
    tokens = chunk.tokens
    if (
        len(tokens) == 1
        and tokens[0].says("units.rounds")
        and tokens[0].kind == "times"
        and later
        and later[0].before == ":"
    ):
        line.sets = max(1, int((tokens[0].low + tokens[0].high) / 2))
        line.moves = line.moves[:1] if not any(move.amount.has_size() for move in line.moves) else line.moves
        return
    if tokens[0].says("how.option") and line.moves:
        line.notes.append(" ".join(token.text for token in tokens))
        return
    if any(token.says("sides.other") for token in tokens) and line.moves:
        line.other_side = True
        tokens = [token for token in tokens if not token.says("sides.other", "again", "join", "sides.parts")]
        if not tokens:
            return
    if _rests_between_sets(tokens, line):
        _read_between(tokens, line, around)
        return
    if is_between(tokens) and not (chunk.before == "" and not later):
        _read_between(tokens, line, around)
        return
    if (
        line.moves
        and tokens[0].says("again.same", "again.repeat")
        and all(token.says("again", "sides", "join") for token in tokens)
    ):
        line.other_side = True
        return
    _Chunker(chunk, tokens, line, around).read()


def _rests_between_sets(tokens: Sequence[Token], line: Line) -> bool:
    """ "3 x 20 s, rest 10 s": a rest behind sets comes between them."""
    last = line.moves[-1].amount if line.moves else None
    sets = last is not None and any(high > 1 for _, high in last.times)
    sized = any(token.kind == "length" for token in tokens)
    return sets and sized and all(token.kind == "length" or token.says("once.rest", "once.pause") for token in tokens)


def is_between(tokens: Sequence[Token]) -> bool:
    """Say whether these words speak of what comes between sets, rounds or sides: "10 s rest in between"."""
    for at, token in enumerate(tokens):
        if token.says("join.between"):
            behind = tokens[at + 1] if at + 1 < len(tokens) else None
            return (
                behind is None
                or behind.kind == "mark"
                or len(token.text.split()) > 1
                or behind.says("sides", "units", "columns.side")
            )
    return False


def _read_between(tokens: Sequence[Token], line: Line, around: Around) -> None:
    """ "rest 15 s between sets", "vinyasa between sides", "dd 1br between"."""
    amount = Amount()
    pose = next((token for token in tokens if token.kind == "pose"), None)
    for token in tokens:
        if token is not pose:
            _add(amount, token)
    if any(
        token.says("sides") or "side" in token.text.lower() for token in tokens if token.says("join.between", "sides")
    ):
        line.between_what = "sides"
    if pose is None and not amount.lengths and not amount.numbers:
        line.notes.append(" ".join(token.text for token in tokens))
        return
    if pose is not None and pose.match and pose.match.pose and amount.has_size() is False and _rests(pose):
        line.notes.append(" ".join(token.text for token in tokens))
        return
    move = Move("pose", pose.text, pose.match, amount) if pose else Move("pause", "rest", None, amount)
    line.between.append(move)


def _rests(token: Token) -> bool:
    pose = token.match.pose if token.match else None
    return pose is not None and pose.family == "rest"


@dataclass(slots=True)
class _Chunker:
    chunk: _Chunk
    tokens: list[Token]
    line: Line
    around: Around
    current: Move | None = None
    lead: Amount = field(default_factory=Amount)
    words: list[Token] = field(default_factory=list)  # before the first move
    tail: bool = False  # behind "with", "at": a note
    at: int = 0

    def read(self) -> None:
        for at, token in enumerate(self.tokens):
            self.at = at
            self._token(token)
        self._end()

    def _token(self, token: Token) -> None:
        if token.text.upper() in _VARIANTS and token.kind in ("word", "unknown") and not token.says("sides"):
            (self.words if self.current is None else []).append(token)
            return
        if token.kind == "pose" or (token.match and self._stands_alone()):
            self._pose(token)
        elif token.kind == "word" and token.says("music") and self._is_wish(token):
            self.line.wishes = wished(self.line.wishes, token)
        elif token.says("units.pulses") or token.kind == "pulses":
            self._pulse(token)
        elif token.says("how.hold"):
            self._hold(token)
        elif token.says("moves.short") and self.current is None and not (self.words and not self._size_behind()):
            self._start(Move("move", self._phrase(token)))
            self.words = []
        elif token.says("once") and self.current is None and not self.words and not token.says("top.theme"):
            self._once(token)
        elif token.says("join.with") and (self.current or self.words) and not token.says("join.between"):
            self.tail = True
            (self.current.notes if self.current else []).append(token.text)
            if not self.current:
                self.words.append(token)
        elif token.says("kinds.breathing") and self.current is None and token.kind == "word":
            self.words.append(token)
        elif is_size(token) or token.says("sides", "how", "units", "again"):
            self._attribute(token)
        elif token.says("join.each"):
            self._target().each = True
        elif token.kind == "word" and token.says("intervals") and self._target().lengths:
            return
        elif self.current is None:
            self.words.append(token)
        else:
            behind = self.at > 0 and self.tokens[self.at - 1].kind == "pose" and token.kind == "unknown"
            self.current.doubt = self.current.doubt or (behind and self.around.table.tells(token.text))
            self.current.notes.append(token.text)

    def _is_wish(self, token: Token) -> bool:
        alone = len(token.text.split()) > 1 or token.says("music.word")
        return alone or (len(self.tokens) == 1 and self.chunk.before in (",", "—", ";", "(", "."))

    def _stands_alone(self) -> bool:
        """A name that is a small word too, alone in its chunk: "seat, om x3"."""
        others = [token for token in self.tokens if not _is_attribute(token) or token.match]
        return (
            len(others) == 1
            and self.current is None
            and not self.tokens[self.at].says("moves", "how", "once", "sides", "join", "again")
        )

    def _phrase(self, token: Token) -> str:
        names = [other.text for other in (*self.words, token)]
        for other in self.tokens[self.at + 1 :]:
            if other.kind != "unknown" and not other.says("moves", "kinds"):
                break
            names.append(other.text)
        return " ".join(names)

    def _size_behind(self) -> bool:
        return any(map(is_size, self.tokens[self.at + 1 :])) or self.lead.has_size()

    # ---- what opens a move ----

    def _pose(self, token: Token) -> None:
        seconds = COUNTED_BREATH.match(token.text)
        counted = tuple(map(float, seconds.group().split("-"))) if seconds else ()
        if counted and self.current is not None:
            self.current.amount.chain = counted
            return
        self.lead.chain = self.lead.chain or counted
        if self.current and self.current.picture and not self.current.amount.has_any():
            self.line.moves.remove(self.current)
            self.current = None
        talks = self.current is not None and self.current.what == "say"  # "talk about the moon"
        if self.current is not None and (self.tail or token.broad or talks or self._is_cue(token)):
            self.current.notes.append(token.text)
            return
        if self.current is None and self.tail and self.line.moves:
            self.words.append(token)  # "calves on a chair"
            return
        if self.current is None and token.broad and self.lead.numbers and self.line.moves and not self.words:
            self.words.append(token)  # "8 reverse"
            return
        self._start(Move("pose", token.text, self._in_place(token), picture=token.picture, roles=token.roles))

    def _is_cue(self, token: Token) -> bool:
        """The same pose named again right behind itself ("bridge bridge"), or a name behind another without a size."""
        same = self.current is not None and self.current.pose is token.match.pose if token.match else False
        return same and not (self.current and self.current.amount.has_any())

    def _in_place(self, token: Token) -> Match | None:
        """What a name that several poses share means after the pose before it on the line."""
        match = token.match
        before = self.line.moves[-1].pose if self.line.moves else None
        if match and match.pose and match.note and before and match.pose.id == "supine_twist" and before.id in _PARTS:
            return Match(self.around.table.get(_PARTS[before.id]))
        return match

    def _start(self, move: Move) -> None:
        joined = self.chunk.before if self.current is None else ","
        if self.current is None and self.line.moves and self._is_alternative(joined, move):
            self.line.moves[-1].alternatives.append(move.name)
            self.current = self.line.moves[-1]
            self._merge_lead()
            return
        move.joined = joined
        tells = self.around.table.tells
        move.doubt = move.what == "pose" and any(
            word.kind == "unknown" and tells(word.text) for word in self.words[-1:]
        )
        self.line.moves.append(move)
        self.current = move
        move.notes += [word.text for word in self.words if word.kind != "mark"]
        self.words = []
        self._merge_lead()

    def _is_alternative(self, joined: str, move: Move) -> bool:
        if joined == "/" and (self.line.of_each or (self.line.moves[-1].amount.has_size() and self._size_behind())):
            return False  # "malasana 1 min / crow 2 min"
        return joined == "or" or (joined == "/" and move.what == self.line.moves[-1].what == "pose")

    def _merge_lead(self) -> None:
        if self.current is not None and self.lead.has_any():
            _merge(self.current.amount, self.lead)
        self.lead = Amount()

    def _pulse(self, token: Token) -> None:
        fresh = self.current is None or self.current.amount.has_size() or self.current.what != "pose"
        if fresh or token.kind != "pulses":
            self._start(Move("pulse", token.text))
        if token.kind == "pulses" and self.current is not None:
            self.current.amount.counts += (token.low + token.high) / 2

    def _hold(self, token: Token) -> None:
        behind = self.tokens[self.at + 1 :]
        if any(other.kind == "pose" and not other.broad for other in behind[:2]):
            return  # "hold the down dog 5 breaths"
        has_size = any(map(is_size, behind))
        after_size = self.current is not None and self.current.amount.has_size()
        alone = self.current is None and not self.words and bool(self.line.moves or self.around.before)
        if has_size and (after_size or (alone and (not self.line.moves or self.line.moves[-1].amount.has_size()))):
            self._start(Move("hold", token.text))

    def _once(self, token: Token) -> None:
        before = self.line.moves[-1] if self.line.moves else None
        if token.says("once.pause") and before and before.what == "pause" and not self._size_behind():
            before.notes.append(token.text)  # "rest 30 s, water"
            return
        if (
            token.says("once.pause", "once.rest")
            and not token.says("once.pause")
            and not self._size_behind()
            and len(self.tokens) > 1
        ):
            self.words.append(token)
            return
        for role, what in (
            ("once.bell", "bell"),
            ("once.silence", "silence"),
            ("once.pause", "pause"),
            ("once.rest", "pause"),
            ("once.song", "song"),
        ):
            if what == "bell" and token.says(role) and self._sounds_on():
                self._start(Move("pose", token.text, self.around.table.look_up(SOUND_BATH)))
                return
            if token.says(role) and not (what == "song" and token.says("music.word") and not self.words):
                self._start(Move(what, token.text))  # type: ignore[arg-type]
                return
        if token.says("once.say", "once.greet"):
            move = Move("say", token.text)
            if token.says("once.greet"):
                move.amount.lengths = []
                move.joined = "greet"
            self._start(move)
            if token.says("once.greet"):
                move.name = f"{token.text}"
                move.picture = False
                move.unknown = False
                move.alternatives = []
                move.notes.append("\0greet")

    def _sounds_on(self) -> bool:
        """ "Gongs 10 min": they are played, not struck once."""
        sizes = [*self.lead.lengths, *(token.length for token in self.tokens[self.at :] if token.kind == "length")]
        return any(length.unit == "seconds" for length in sizes)

    # ---- what says how ----

    def _attribute(self, token: Token) -> None:
        if self.tail and self.current is not None and not self.current.amount.lengths and is_size(token):
            self.tail = False
        elif self.tail and self.current is not None and self.current.amount.has_size() and is_size(token):
            self.current.notes.append(token.text)
            return
        if self.tail and is_size(token) is False and token.says("how.last", "how.first"):
            return
        target = self._target()
        if self._splits(token, target):
            return
        if token.says("how.last", "how.first"):
            self.tail = True
            return
        _add(target, token)

    def _target(self) -> Amount:
        return self.current.amount if self.current is not None else self.lead

    def _splits(self, token: Token, target: Amount) -> bool:
        """A second side, or a second length behind a side, opens the same pose anew: "twist 1 min r 1 min l"."""
        current = self.current
        if current is None:
            return False
        other = (
            token.says("sides.left", "sides.right")
            and target.side in ("right", "left")
            and not token.says(f"sides.{target.side}")
        )
        if not other:
            return False
        anew = Move(current.what, current.name, current.match, joined=",")
        if len(target.lengths) > 1:  # "1 min r 1 min l": the second length belongs to the second side
            anew.amount.lengths = [target.lengths.pop()]
        elif len(target.numbers) > 1:
            anew.amount.numbers = [target.numbers.pop()]
        anew.amount.side = "left" if token.says("sides.left") else "right"
        self.line.moves.append(anew)
        self.current = anew
        if not anew.amount.has_size() and not any(map(is_size, self.tokens[self.at + 1 :])):
            anew.amount.lengths, anew.amount.numbers, anew.amount.times = (
                list(target.lengths),
                list(target.numbers),
                list(target.times),
            )
        return True

    # ---- the end of the chunk ----

    def _end(self) -> None:
        if self.current is not None:
            return
        real = [
            word
            for word in self.words
            if word.kind in ("unknown", "pose")
            or word.says(
                "moves",
                "kinds",
                "once",
                "columns",
                "top",
                "music",
                "intervals",
                "join.of",
                "units",
                "moves.counted",
                "again",
            )
        ]
        if real and self.line.moves and _variant(real, self.line.moves[-1]):
            _add_variants(real, self.line.moves, self.around.table, self.lead)
            return
        last = self.line.moves[-1] if self.line.moves else None
        if real and last and self.chunk.before in ("+", "&") and not last.amount.has_size() and self.lead.has_size():
            last.notes.append(" ".join(word.text for word in self.words))
            _merge(last.amount, self.lead)
            return
        if self._is_cue_with_number():
            self.line.leftover.append(" ".join(token.text for token in self.tokens))
            return
        substantive = [
            word
            for word in real
            if word.kind in ("unknown", "pose")
            or (word.says("moves.short", "kinds") and not word.says("moves.counted"))
        ]
        if substantive and self.lead.has_size() and self._is_own_move(substantive):
            name = " ".join(word.text for word in self.words)
            known = bool(self.lead.lengths) and all(word.says("kinds", "easy", "join") for word in self.words)
            self.line.moves.append(Move("gap", name, None, self.lead, joined=self.chunk.before, unknown=not known))
            return
        if self.words:
            (self.line.moves[-1].notes if self.line.moves else self.line.notes).append(
                " ".join(word.text for word in self.words)
            )
        if self.lead.has_any():
            self._to_those_before()

    def _is_cue_with_number(self) -> bool:
        """ "hands 2 high" behind a pose: a number in the middle of words that name nothing."""
        inside = len(self.tokens) > 2 and self.tokens[0].kind == self.tokens[-1].kind == "unknown"
        only = self.lead.numbers and not (self.lead.lengths or self.lead.times or self.lead.counts)
        return bool(self.line.moves and inside and only)

    def _is_own_move(self, substantive: list[Token]) -> bool:
        """Whether unknown words with a size are a movement of their own, not "10 slow" or "wide 2nd"."""
        first = self.tokens[0]
        return not (self.line.moves and is_size(first) and first.kind == "number" and len(substantive) == 1)

    def _to_those_before(self) -> None:
        """Give a size or a side that stands alone to the move before it, or to all moves of the line."""
        moves, lead = self.line.moves, self.lead
        if not moves:
            _merge(self.line.shared, lead)
            return
        last = moves[-1]
        side = lead.side
        label_side = any(token.says("sides.right", "sides.left") for token in self.line.label_tokens)
        if side in ("right", "left") and label_side and self.chunk.before == "/":
            self.line.other_side = True  # "R: ..., ... / L"
            return
        if side in ("right", "left"):
            earlier = next((move for move in reversed(moves) if move.amount.side in ("right", "left")), None)
            if earlier is not None and earlier.amount.side != side:
                anew = Move(earlier.what, earlier.name, earlier.match, lead, joined=",")
                if not lead.has_size():
                    anew.amount.lengths, anew.amount.numbers, anew.amount.times = (
                        list(earlier.amount.lengths),
                        list(earlier.amount.numbers),
                        list(earlier.amount.times),
                    )
                moves.append(anew)
                return
        if replace(lead, side=None) == Amount() and side == "each" and self._closes_run():
            self.line.other_side = True
            return
        if self.chunk.before == "/" and lead.lengths and lead.lengths == last.amount.lengths and not last.amount.side:
            last.amount.side = "each"  # "30s/30s"
            return
        bare = [move for move in moves if not move.amount.has_size() and move.what in ("pose", "gap", "move")]
        if self._is_total(lead) and len(moves) > 1 and len(bare) == len(moves):
            self.line.minutes = lead.lengths[0]
        elif self.chunk.before in ("—", "(") and len(moves) > 1 and len(bare) == len(moves):
            _merge(self.line.shared, lead)
        elif self._counts_both_sides(lead):
            moves[-2].amount.times = moves[-1].amount.times = [*lead.times]
        elif self._counts_the_run(lead):
            self.line.sets = max(1, int(_middle(lead.times[0])))
        elif lead.each and len(bare) > 1:
            for move in bare:
                _merge(move.amount, replace(lead, each=False))
        elif (lead.rounds and lead.times and len(moves) > 1 and not last.amount.has_size()) or (
            lead.rounds and lead.times and self.chunk.before == "—"
        ):
            _merge(self.line.shared, lead)
        elif last.amount.has_size() and lead.numbers and (lead.slow or lead.quick):
            moves.append(Move(last.what, last.name, last.match, lead, joined=","))
        elif last.amount.has_size() and lead.numbers and not lead.lengths and last.amount.numbers:
            last.amount.numbers += lead.numbers
        else:
            _merge(last.amount, lead)

    def _is_total(self, lead: Amount) -> bool:
        """ "Neck + shoulders, 3 min": minutes by themselves behind a comma or a sum are those of the line."""
        alone = len(lead.lengths) == 1 and replace(lead, lengths=[], length_end=0) == Amount()
        minutes = alone and lead.lengths[0].unit == "seconds" and lead.lengths[0].likely >= LEAST_TOTAL_S
        joined = {move.joined for move in self.line.moves[1:]}
        sums = self.chunk.before in ("—", "(") and joined <= {"+", "&"}
        return minutes and (sums or self.chunk.before == ",") and "→" not in joined

    def _closes_run(self) -> bool:
        """Whether a side by itself behind several poses holds for them all: "w1 3br, w2 3br, triangle 3br, R & L"."""
        moves = self.line.moves
        poses = [move for move in moves if move.pose is not None and move.pose.sided]
        alone = self.chunk.before in (",", ";", "—", "(", "→") and not any(move.amount.side for move in moves)
        return alone and len(poses) > 1 and all(move.what == "pose" for move in moves)

    def _counts_both_sides(self, lead: Amount) -> bool:
        """ "Neck: look R, look L, 3 times"."""
        if len(self.line.moves) < 2 or not lead.times or lead.lengths:
            return False
        one, other = self.line.moves[-2:]
        sides = {one.amount.side, other.amount.side} == {"right", "left"}
        return sides and one.pose is other.pose and not (one.amount.has_size() or other.amount.has_size())

    def _counts_the_run(self, lead: Amount) -> bool:
        """ "crow 5 breaths -> chaturanga, x3": a count behind a comma holds for the run of the line."""
        alone = replace(lead, times=[], rounds=False) == Amount() and len(lead.times) == 1
        run = len(self.line.moves) > 1 and any(move.joined in ("→", "to") for move in self.line.moves[1:])
        return alone and run and self.chunk.before in (",", ";", "—", "(")


COUNTED_BREATH = re.compile(r"\d{1,2}(?:-\d{1,2}){2,3}\b")  # "4-7-8": seconds in, held, out


def _variant(words: Sequence[Token], last: Move) -> bool:
    """Whether these words are but a letter or number of the pose before: "A, B, C", "I & II"."""
    return last.pose is not None and all(word.text.upper() in _VARIANTS for word in words)


_VARIANTS = {"A", "B", "C", "D", "E", "F", "I", "II", "III", "IV", "1", "2", "3"}


def _add_variants(words: Sequence[Token], moves: list[Move], table: PoseTable, lead: Amount) -> None:
    last = moves[-1]
    for word in words:
        stem = " ".join(last.name.split()[:-1]) if last.name.split()[-1].upper() in _VARIANTS else last.name
        named = table.look_up(f"{stem} {word.text}")
        match = named if named.pose and named.pose is not last.pose and not named.extra else last.match
        moves.append(Move("pose", f"{stem} {word.text}", match, joined="&"))
    if lead.has_any():
        _merge(moves[-1].amount, lead)


def _add(amount: Amount, token: Token) -> None:
    """Note what an attribute says."""
    if token.kind == "length":
        sane = token.low > 0.0 and token.high <= (LONGEST_S if token.unit == "seconds" else LONGEST_S / USUAL_BREATH_S)
        amount.odd = amount.odd or not sane or any(length.unit != token.length.unit for length in amount.lengths)
        apart = bool(amount.lengths) and token.start - amount.length_end > ADJACENT and amount.side is None
        amount.odd = amount.odd or apart
        amount.length_end = token.end
        amount.lengths += [token.length] if sane else []
    elif token.kind == "times":
        amount.odd = amount.odd or token.high > MOST_TIMES or token.low < 1 or _twice_plain(amount, token)
        if token.high > MOST_TIMES or token.low < 1:
            return
        amount.times.append((token.low, token.high))
        amount.rounds = amount.rounds or token.says("units.rounds")
    elif token.kind in ("counts", "pulses"):
        amount.counts += (token.low + token.high) / 2
    elif token.kind == "number" and token.low > 0.0:
        amount.numbers.append((token.low, token.high))
    elif token.kind == "chain":
        amount.chain = token.values
    elif token.kind == "pair":
        amount.pair, amount.pair_unit, amount.on_off = token.values, token.unit, token.text == "on/off"
    elif token.says("sides.direction") and amount.side:
        amount.ways = 2
    elif token.says("sides.each"):
        if token.says("sides.direction"):
            amount.ways = 2
        else:
            amount.odd = amount.odd or amount.side in ("right", "left")
            amount.side = "each"
    elif token.says("sides.direction"):
        amount.ways = 2
    elif token.says("sides.right", "sides.left"):
        amount.odd = amount.odd or amount.side == "each"
        amount.side = "right" if token.says("sides.right") else "left"
    elif token.says("how.variants"):
        if amount.numbers:
            amount.times.append(amount.numbers.pop())
    else:
        for name in ("slow", "quick", "no_hold", "optional", "supported", "alternating", "half", "open"):
            if token.says(f"how.{name}"):
                setattr(amount, name, True)
        if token.says("how.twice"):
            amount.times.append((2.0, 2.0))


def _twice_plain(amount: Amount, token: Token) -> bool:
    """ "x3 x2": two counts, none of them sets or rounds."""
    return bool(amount.times) and not (amount.rounds or token.says("units.rounds")) and not amount.lengths


def _merge(into: Amount, more: Amount) -> None:
    into.odd = into.odd or len({length.unit for length in (*into.lengths, *more.lengths)}) > 1
    into.lengths += more.lengths
    into.times += more.times
    into.numbers += more.numbers
    into.counts += more.counts
    into.chain = into.chain or more.chain
    into.pair, into.pair_unit = (into.pair, into.pair_unit) if into.pair else (more.pair, more.pair_unit)
    into.side = into.side or more.side
    into.ways = max(into.ways, more.ways)
    for name in (
        "each",
        "slow",
        "quick",
        "no_hold",
        "optional",
        "supported",
        "alternating",
        "half",
        "open",
        "rounds",
        "on_off",
        "odd",
    ):
        setattr(into, name, getattr(into, name) or getattr(more, name))


def wished(wishes: Wishes, token: Token) -> Wishes:
    """Add what a word asks of the music."""
    if token.says("music.off"):
        return replace(wishes, no_music=True)
    if token.says("music.no_voice"):
        return replace(wishes, no_voice=True)
    if token.says("music.same"):
        return replace(wishes, same_music=True)
    for role, level in (("music.louder", "driving"), ("music.quieter", "quiet"), ("music.steady", "steady")):
        if token.says(role):
            return replace(wishes, level=level)  # type: ignore[arg-type]
    return wishes


# ---- the whole line ----------------------------------------------------------------------------------------------


def _settle(line: Line) -> None:
    """Share what is said once for several moves, and drop names that only head others."""
    _drop_heads(line)
    _take_head_minutes(line)
    _drop_talk(line)
    _pass_through_seat(line)
    if any(token.says("how.level") for token in line.label_tokens):
        for move in line.moves:
            if move.what == "pose" and not move.amount.has_size():
                move.amount.lengths = [_exactly("breaths", 1.0)]
    moves = [move for move in line.moves if move.what in ("pose", "gap", "move")]
    if len(moves) == 1 and line.between:
        _rounds_of(moves[0], line)
    if len(moves) > 1:
        _share_each(moves)
        _share_sides(moves, line)
        _share_variants(line.moves)
        _share_rounds(line)
    if line.shared.rounds and line.shared.times:
        line.sets = int(_middle(line.shared.times.pop()))


def _rounds_of(move: Move, line: Line) -> None:
    """ "3 rounds of 30, 30 s rest between": what is between comes between rounds, not between repetitions."""
    amount = move.amount
    if len(amount.times) == 1 and len(amount.numbers) == 1 and move.pose and move.pose.rep_breaths is not None:
        line.sets = max(1, int(_middle(amount.times[0])))
        amount.times, amount.numbers, amount.rounds = [amount.numbers[0]], [], False


def _take_head_minutes(line: Line) -> None:
    """ "5 min warm up - roll downs x3, cat cow": what stands behind the dash fills the minutes."""
    if len(line.moves) < 2 or line.minutes:
        return
    first, *others = line.moves
    heads = first.what == "gap" and not first.unknown and len(first.amount.lengths) == 1 and others[0].joined == "—"
    if heads and first.amount.lengths[0].unit == "seconds" and not any(move.amount.lengths for move in others):
        line.minutes, line.label = first.amount.lengths[0], line.label or first.name
        del line.moves[0]


def _pass_through_seat(line: Line) -> None:
    """ "Roll up to seat" comes to sit; nobody stays there."""
    last = line.moves[-1] if len(line.moves) > 1 else None
    if last and last.pose and last.pose.id == SEAT_ID and last.joined == "to" and not last.amount.has_size():
        last.amount.lengths = [_exactly("breaths", 1.0)]


def _drop_talk(line: Line) -> None:
    """ "5 min arrival, talk", "break, water 1 min": what has no size beside minutes goes on within them."""
    timed = any(length.unit == "seconds" for move in line.moves for length in move.amount.lengths)
    if not timed:
        return
    _name_both(line)
    for one, other in itertools.pairwise(list(line.moves)):
        if one.what == "pose" and other.what == "pause" and other.joined == "&" and not one.amount.has_size():
            one.amount, one.notes = other.amount, [*one.notes, "and", other.name]  # "knees to chest and rest 7 min"
            line.moves.remove(other)
    for move in [
        move for move in line.moves if move.what in _WITHIN and not move.amount.has_size() and move.joined != "→"
    ]:
        line.moves.remove(move)
        line.notes.append(" ".join((move.name, *(note for note in move.notes if note != "\0greet"))))


def _name_both(line: Line) -> None:
    """ "Circle + check in - 8 min": a word that can be a movement is talk beside talk that has the minutes."""
    for one, other in itertools.pairwise(list(line.moves)):
        plain = one.what == "move" and not one.amount.has_size()
        talk = other.what == "say" or "once.say" in other.roles
        if plain and talk and other.amount.lengths and other.joined in ("+", "&"):
            line.moves.remove(one)
            other.name = f"{one.name} and {other.name}"


def _drop_heads(line: Line) -> None:
    """ "Pranayama - anuloma viloma 4 min" is one thing; so is a pose named again with its count."""
    moves = line.moves
    while len(moves) > 1 and moves[0].what == "pose" and not moves[0].amount.has_size() and not moves[0].amount.side:
        first, behind = moves[0], moves[1]
        heads = (
            any(role.startswith("kinds.") for role in first.roles)
            and bool(behind.amount.lengths)
            and behind.joined != "→"
        )
        if not heads and not (first.pose is behind.pose and behind.amount.has_size() and behind.what == "pose"):
            break
        line.label = line.label or first.name
        del moves[0]


def _share_each(moves: list[Move]) -> None:
    """ "Warrior two, triangle 3 breaths each": each of the poses, where those before it have no size of their own."""
    last, before = moves[-1].amount, [move.amount for move in moves[:-1]]
    if not last.each or not last.lengths or any(amount.has_size() or amount.side for amount in before):
        return
    for amount in before:
        amount.lengths = [*last.lengths]
    last.each = False


def _share_sides(moves: list[Move], line: Line) -> None:
    """ "Lizard, half split, pigeon r/l": all of them on both sides."""
    last = moves[-1].amount
    others = [move.amount for move in moves[:-1]]
    if last.side == "each" and not any(amount.side for amount in others) and moves[-1].joined != "→":
        for move in moves[:-1]:
            if move.pose is not None and move.pose.sided and not move.amount.has_size():
                move.amount.side = "each"


def _share_variants(moves: list[Move]) -> None:
    """ "A + B 5/5", "I & II 5 breaths": joined moves share the size of the last of them."""
    for at in range(len(moves) - 2, -1, -1):
        move, behind = moves[at], moves[at + 1]
        if (
            behind.joined in ("&", "+")
            and move.what == "pose"
            and behind.what == "pose"
            and not move.amount.has_size()
            and behind.amount.has_size()
        ):
            if behind.amount.times and not behind.amount.lengths:
                continue
            side = move.amount.side or behind.amount.side
            move.amount = replace(
                behind.amount,
                lengths=list(behind.amount.lengths),
                numbers=list(behind.amount.numbers),
                times=list(behind.amount.times),
                side=side,
            )


def _share_rounds(line: Line) -> None:
    """ "20 s, 20 s, 20 s x3" is three rounds; "plank to dog x10" ten of both; "... (r/l) x2" two of all."""
    moves = line.moves
    last = moves[-1]
    if len(last.amount.times) != 1 or last.amount.numbers:
        return
    sizes = [move.amount for move in moves]
    alike = len(moves) > 2 and all(len(size.lengths) == 1 and size.lengths[0] == sizes[0].lengths[0] for size in sizes)
    swung = (
        last.joined in ("to", "→", "+", "&")
        and not last.amount.lengths
        and not any(size.has_size() for size in sizes[:-1])
    )
    if alike:
        line.sets = int(_middle(last.amount.times.pop()))
    elif swung and (len(moves) == 2 or all(move.joined in ("to", "→") for move in moves[1:])):
        line.sets = int(_middle(last.amount.times.pop()))
        for move in moves:
            whole = move.pose is not None and move.pose.id.startswith("sun_salutation")
            move.amount.lengths = [] if whole else [_exactly("breaths", 1.0)]
    elif last.amount.rounds and not any(size.has_size() for size in sizes[:-1]) and not last.amount.lengths:
        line.sets = int(_middle(last.amount.times.pop()))


def _middle(ends: tuple[float, float]) -> float:
    return (ends[0] + ends[1]) / 2


def _exactly(unit: Literal["breaths", "seconds"], count: float) -> Length:
    count = round(count, 3)
    return Length(unit, count, count, count)


# ---- moves to elements -------------------------------------------------------------------------------------------


def parts_of(line: Line, place: Place, around: Around) -> tuple[Element | Group, ...]:
    """Give the elements and groups that a line's moves stand for."""
    seconds = any(map(_tells_seconds, line.moves))
    parts: list[Element | Group] = []
    before = around.before
    for move in _stations(line, around):
        amount = _with_shared(move.amount, line.shared)
        made = _parts_of_move(move, amount, place, replace(around, before=before), seconds=seconds, line=line)
        parts += made
        before = next(
            (part for part in reversed(made) if isinstance(part, Element) and part.what in ("pose", "gap")), before
        )
    sided = [part for part in parts if isinstance(part, Element) and part.each_side]
    shared_sides = line.shared.side == "each" and len(sided) > 1
    sides_open = line.between_what == "sides" and bool(line.between) and not sided
    both = line.other_side or shared_sides or (sides_open and len(line.moves) > 1)
    sets = (
        line.sets
        if line.sets > 1
        else int(_middle(line.shared.times[0]))
        if line.shared.times and len(line.moves) > 1
        else 1
    )
    if both:
        one_side = len({part.side for part in parts if isinstance(part, Element) and part.side}) == 1
        if one_side:  # "triangle R, repeat left"
            parts = [replace(part, side=None) if isinstance(part, Element) else part for part in parts]
        parts = [replace(part, each_side=False) if isinstance(part, Element) else part for part in parts]
    pauses = _betweens(line, place, around)
    if both and line.between_what == "sides":
        parts += [replace(pause, once="between sides") for pause in pauses]
    elif sets > 1:
        parts += [replace(pause, last_round="not", every_time=True) for pause in pauses]
    if (both or sets > 1) and parts:
        return (Group(line.label or LINE_GROUP, place, tuple(parts), rounds=max(1, min(sets, 300)), both_sides=both),)
    return tuple(parts)


def _tells_seconds(move: Move) -> bool:
    """Whether it is held for seconds, so that bare numbers beside it are: "plank 40, side plank 20"."""
    held = move.pose is not None and move.pose.rep_breaths is None
    bare = held and any(low >= FROM_HERE_SECONDS for low, _ in move.amount.numbers)
    return bare or any(length.unit == "seconds" for length in move.amount.lengths)


def _stations(line: Line, around: Around) -> list[Move]:
    """The moves of a line; one of several where the line is one turn of a circuit."""
    if around.intervals is None or any(move.amount.has_size() for move in line.moves):
        return line.moves
    return line.moves[:1]


def _with_shared(own: Amount, shared: Amount) -> Amount:
    if not shared.has_any():
        return own
    both = replace(own, lengths=list(own.lengths), numbers=list(own.numbers), times=list(own.times))
    more = replace(shared, times=[]) if own.has_size() or shared.times else shared
    if own.has_size():
        more = replace(more, lengths=[], numbers=[], counts=0.0)
    _merge(both, more)
    return both


def _betweens(line: Line, place: Place, around: Around) -> list[Element]:
    made: list[Element] = []
    for move in line.between:
        made += [
            part
            for part in _parts_of_move(move, move.amount, place, around, seconds=True, line=Line())
            if isinstance(part, Element)
        ]
    return made


def _parts_of_move(
    move: Move, amount: Amount, place: Place, around: Around, *, seconds: bool, line: Line
) -> list[Element | Group]:
    base = _base(move, place, around)
    base = replace(
        base,
        optional=amount.optional,
        no_hold=amount.no_hold,
        supported=amount.supported,
        note=_note(note for note in move.notes if note != "\0greet"),
    )
    if base.what in ("say", "pause", "silence", "bell", "song"):
        return [_once_of(base, move, amount, among=seconds or len(line.moves) > 1 or around.kind in _STRONG)]
    on_off = len(amount.pair) == 2 and (amount.pair[0] != amount.pair[1] or amount.on_off)
    pair_s = amount.pair if on_off else ()
    if pair_s and (amount.times or around.intervals is not None or line.sets > 1):
        return _intervals(base, pair_s, int(_middle(amount.times[0])) if amount.times else 1, place)
    if around.intervals and not amount.has_size():
        return _intervals(base, around.intervals, 1, place)
    if amount.side in ("right", "left"):
        base = replace(base, side=amount.side)
    elif (
        amount.side == "each"
        or (line.between_what == "sides" and line.between and len(line.moves) == 1)
        or (amount.pair and amount.pair[0] == amount.pair[1])
        or _each_is_side(amount, base, around, alone=len(line.moves) == 1)
    ):
        base = replace(base, each_side=not around.both_sides)
    sizes = _sizes(move, amount, base, around, seconds=seconds)
    parts: list[Element | Group] = [replace(base, length=length, times=times) for length, times in sizes]
    if len(parts) > 1 and line.between and line.sets == 1 and line.between_what != "sides":
        spread: list[Element | Group] = []
        for part in parts:
            between = _betweens(line, place, around) if spread else []
            spread += [*(replace(pause, every_time=True) for pause in between), part]
        return spread
    if len(parts) == 1 and line.between and line.sets == 1:
        return _spaced(parts[0], _betweens(line, place, around), amount, place, line)
    return parts


def _note(words: Iterable[str]) -> str:
    return _BRACKETS.sub(" ", " ".join(words)).strip(" \t.,;:!-–—~&+/=\\")


_BRACKETS = re.compile(r"[()\[\]<>{}\s\x00]+")


def _spaced(
    part: Element | Group, pauses: list[Element], amount: Amount, place: Place, line: Line
) -> list[Element | Group]:
    """Repetitions with something between them, or two sides with something between."""
    assert isinstance(part, Element)
    if part.each_side and line.between_what == "sides":
        group = (replace(part, each_side=False), *(replace(pause, once="between sides") for pause in pauses))
        return [Group(LINE_GROUP, place, group, both_sides=True)]
    sets_first = len(amount.times) + len(amount.numbers) == 2 and (amount.numbers or amount.rounds)
    if part.times and not part.length and amount.times and sets_first:  # "3 x 20, rest 30 s between"
        sets = max(1, int(_middle(amount.times[0])))
        one = replace(part, times=max(1, part.times // sets))
        group = (one, *(replace(pause, last_round="not", every_time=True) for pause in pauses))
        return [Group(LINE_GROUP, place, group, rounds=sets)]
    many = part.times or (len(amount.numbers) if len(amount.numbers) > 2 else 1)
    if part.times and part.length and many > 1:
        group = (replace(part, times=None), *(replace(pause, last_round="not", every_time=True) for pause in pauses))
        return [Group(LINE_GROUP, place, group, rounds=many)]
    if many > 2:
        return [
            part,
            Group(LINE_GROUP, place, tuple(replace(pause, every_time=True) for pause in pauses), rounds=many - 1),
        ]
    return [part]


def _each_is_side(amount: Amount, base: Element, around: Around, *, alone: bool) -> bool:
    pose = around.table.poses.get(base.pose_id or "")
    return amount.each and (alone or not amount.times) and pose is not None and pose.sided


def _base(move: Move, place: Place, around: Around) -> Element:
    if move.pose is not None:
        return Element("pose", move.name, place, pose_id=move.pose.id, alternatives=tuple(move.alternatives))
    if move.what in ("silence", "bell"):
        return Element(move.what, "bell" if move.what == "bell" else "", place)
    if move.what in ("hold", "pulse", "move"):
        before = around.before
        if (
            before is not None
            and before.pose_id
            and before.pose_id != "corpse"
            and around.table.get(before.pose_id).family not in ("flow transition", "compound")
        ):
            return Element("pose", move.name, place, pose_id=before.pose_id)
        return Element("gap", move.name, place)
    return Element(move.what, move.name, place)  # type: ignore[arg-type]


def _once_of(base: Element, move: Move, amount: Amount, *, among: bool) -> Element:
    """A pause, a bell, words; `among`: between exercises, where a bare number of some size is seconds."""
    length = amount.lengths[0] if amount.lengths else None
    if length is None and amount.numbers and base.what != "bell":
        low, high = amount.numbers[0]
        minutes = high <= (SHORT_REST if among and base.what == "pause" else 10)
        length = (
            Length("seconds", 30 * (low + high), 60 * low, 60 * high)
            if minutes
            else Length("seconds", (low + high) / 2, low, high)
        )
    times = int(_middle(amount.times[0])) if amount.times else None
    if base.what == "bell":
        return replace(
            base, name="bell", times=times or (int(amount.numbers[0][0]) if amount.numbers else None), length=None
        )
    if base.what == "say" and length is None:
        greets = "\0greet" in move.notes
        length = _exactly("seconds", GREETING_S if greets else CHANT_S)
        times = None
    return replace(base, length=length, times=None)


def _intervals(base: Element, pair: tuple[float, ...], rounds: int, place: Place) -> list[Element | Group]:
    work = replace(base, length=_exactly("seconds", pair[0]), times=None, each_side=False)
    rest = Element("pause", "rest", place, length=_exactly("seconds", pair[1]), every_time=True)
    parts = (work, rest) if pair[1] > 0 else (work,)
    return list(parts) if rounds == 1 else [Group(LINE_GROUP, place, parts, rounds=rounds)]


Size = tuple[Length | None, int | None]


def _sizes(move: Move, amount: Amount, base: Element, around: Around, *, seconds: bool) -> list[Size]:
    """Weigh what was typed: length and repetitions of each hold that the move consists of."""
    pose = around.table.poses.get(base.pose_id or "")
    times = 1
    for ends in amount.times:
        times *= max(1, int(_middle(ends) + 0.5))
    counted = bool(amount.times)
    times *= amount.ways
    if amount.ways > 1:
        counted = True
    if amount.chain and not any(length.unit == "seconds" for length in amount.lengths):
        return [(_exactly("seconds", sum(amount.chain)), times if counted else None)]
    if amount.half and around.before is not None:
        return [(_halved(around.before, around), None)]
    if amount.pair and amount.pair[0] == amount.pair[1]:
        if around.counts and pose is not None and pose.rep_breaths is not None and not amount.pair_unit:
            return [_repeated(move, amount, pose, max(1, int(amount.pair[0])) * times)]  # "criss cross 10/10"
        return [(_of_pair(amount, pose, around), times if counted else None)]
    if amount.pair:
        unit = amount.pair_unit or ("breaths" if max(amount.pair) < FROM_HERE_SECONDS else "seconds")
        return [(_exactly("breaths" if unit == "breaths" else "seconds", value), None) for value in amount.pair]
    if amount.lengths:
        if amount.chain:  # "4-7-8 x4 (2 min)"
            return [(amount.lengths[0], None)]
        if len(amount.lengths) > 1:
            return [(length, None) for length in amount.lengths]
        return [(amount.lengths[0], times if counted and times > 1 else None)]
    if amount.counts:
        count = amount.counts + sum(map(_middle, amount.numbers))
        return [(_exactly("seconds", COUNT_S * count), times if counted and times > 1 else None)]
    if amount.numbers:
        return _of_numbers(move, amount, pose, around, times if counted else 1, seconds=seconds)
    if counted:
        return [_repeated(move, amount, pose, times)]
    return [_unsized(move, amount, pose)]


def _unsized(move: Move, amount: Amount, pose: Pose | None) -> Size:
    if move.what in ("hold", "pulse"):
        return _exactly("seconds", 10.0), None
    if move.what == "move":
        return _exactly("seconds", OPEN_S), None
    if amount.no_hold or amount.quick:
        return (None, None) if pose is None else (_exactly("breaths", 1.0), None)
    return None, None


def _halved(before: Element, around: Around) -> Length | None:
    length = before.length
    return scaled(length, 0.5) if length else None


def _of_pair(amount: Amount, pose: Pose | None, around: Around) -> Length:
    value = amount.pair[0]
    if amount.pair_unit:
        return _exactly("breaths" if amount.pair_unit == "breaths" else "seconds", value)
    if around.yin and value <= 10:
        return _exactly("seconds", 60 * value)
    return _exactly("breaths", value) if value < FROM_HERE_SECONDS else _exactly("seconds", value)


def _pace(amount: Amount) -> float:
    return QUICK if amount.quick and not amount.slow else 1.0


def _repeated(move: Move, amount: Amount, pose: Pose | None, times: int) -> Size:
    """A count without a length."""
    if move.what in ("hold", "pulse"):
        return _exactly("seconds", COUNT_S * times), None
    if pose is None or move.what == "move":
        each_s = SLOW_REP_S if amount.slow else (REP_S if move.what == "move" else MOVE_REP_S) * _pace(amount)
        return _exactly("seconds", each_s), times
    if pose.rep_breaths is not None and amount.slow:
        return _exactly("seconds", max(SLOW_REP_S, pose.rep_breaths * USUAL_BREATH_S)), times
    if pose.rep_breaths is not None and _pace(amount) != 1.0:
        return _exactly("breaths", pose.rep_breaths * _pace(amount)), times
    if pose.rep_breaths is None and times >= MANY_REPS and pose.family not in ("flow transition", "compound"):
        return _exactly("breaths", 1.0), times
    return None, times


def _of_numbers(
    move: Move, amount: Amount, pose: Pose | None, around: Around, times: int, *, seconds: bool
) -> list[Size]:
    """Bare numbers, by pose, kind and neighbours."""
    numbers = amount.numbers
    if move.what in ("hold", "pulse"):
        return [(_exactly("seconds", COUNT_S * times * _counted_down(numbers)), None)]
    total = sum(map(_middle, numbers))
    if times > 1 and len(numbers) == 1:  # "2 x 16", and the hundred's ten breaths of ten beats
        if times == 10 and numbers[0] == (10.0, 10.0):
            return [(_exactly("seconds", 100.0), None)]
        return [_repeated(move, amount, pose, int(times * total))]
    if _is_counted(move, pose, around):
        return [_repeated(move, amount, pose, max(1, int(total)))]
    low, high = (sum(ends) for ends in zip(*numbers, strict=True))
    return [(_length_of_number(low, high, pose, around, seconds=seconds), None)]


def _counted_down(numbers: Sequence[tuple[float, float]]) -> float:
    values = [low for low, _ in numbers]
    down = len(values) > 2 and all(one - other == 1 for one, other in itertools.pairwise(values))
    return values[0] if down else sum(map(_middle, numbers))


def _is_counted(move: Move, pose: Pose | None, around: Around) -> bool:
    """Whether a bare number behind it counts repetitions: salutations, moves of the table, exercises."""
    if pose is None or move.what == "move":
        return move.what in ("move", "gap")
    if around.table.compound(pose.id) or pose.family == "flow transition":
        return True
    many = len(move.amount.numbers) > 1  # "8 forward, 8 back"
    steps = pose.rep_breaths is not None and pose.rep_breaths <= STEP_BREATHS  # "march on the spot 20"
    return steps or (pose.rep_breaths is not None and (around.counts or around.kind in _STRONG or many))


def _length_of_number(low: float, high: float, pose: Pose | None, around: Around, *, seconds: bool) -> Length:
    resting = pose is not None and pose.id == "corpse"
    passive = pose is not None and pose.family == "rest" and pose.hold_breaths_slow >= PASSIVE_BREATHS
    if pose is not None and is_rested_in(pose) and around.minutes and high < LEAST_PASSIVE + 1:
        return Length("seconds", 30 * (low + high), 60 * low, 60 * high)
    if (resting and high <= MOST_MINUTES) or (around.yin and high <= (MOST_PASSIVE if passive else 12)):
        return Length("seconds", 30 * (low + high), 60 * low, 60 * high)
    if passive and low >= LEAST_PASSIVE and high <= MOST_MINUTES:
        return Length("seconds", 30 * (low + high), 60 * low, 60 * high)
    unit: Literal["breaths", "seconds"] = (
        "seconds" if low >= FROM_HERE_SECONDS or (seconds and low >= LEAST_SECONDS) else "breaths"
    )
    return Length(unit, (low + high) / 2, low, high)


def is_rested_in(pose: Pose) -> bool:
    """Say whether a pose is lain or sat in, so that a bare 1 to 3 behind it is minutes."""
    return pose.family == "rest" or pose.id in _LAID


def heading_kind(label: str) -> Kind | None:
    """The kind that a line's label names."""
    return kind_named(label) if label else None
