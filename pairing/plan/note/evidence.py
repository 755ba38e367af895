"""How well a reading accounts for what was typed: whether a line is sure, and if not, why.

Whatever reader a line went through, its tokens are held against the parts they became. What was left over, what was
used for something weak, and what a reader had to suppose are signs, each with a weight; a line whose signs weigh
`UNSURE` or more is asked about. Weights are editorial: fitted to invented notes whose meaning is known.
"""

import itertools
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from pairing.constants import USUAL_BREATH_S
from pairing.model import Element, Group
from pairing.plan.line.amounts import exactly
from pairing.plan.line.chunks import is_attribute, is_size
from pairing.plan.names import key, words
from pairing.plan.note.partly import Part
from pairing.plan.poses import IDLE_IN_NAMES, Pose, PoseTable, is_loose
from pairing.plan.style import USUAL_STYLE, Style, style_named
from pairing.plan.tokens import Token

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
    "one side": 1.2,
    "side in part": 1.0,
    "no side": 0.7,
    "side untold": 0.25,
    "shared": 1.0,
    "gap": 0.3,
    # it is odd for what it is
    "long": 1.3,
    "in rounds": 1.0,
    "may head": 0.8,
    "below doubt": 1.0,
    # words that nothing knows, and weak names
    "strange unit": 0.7,
    "strange digits": 0.9,
    "strange tail": 0.4,
    "strange name": 1.0,
    "strange before": 0.3,
    "strange behind": 0.3,
    "strange sized": 0.3,
    "strange aside": 0.2,
    "mended name": 0.35,
    "broad name": 0.15,
    "broad left": 0.1,
    # headings and lines that do others again
    "heading size": 1.0,
    "heading again": 0.7,
    "heading pose": 0.4,
    "heading strange": 0.3,
    "again strange": 0.35,
}
_WORDS = {
    "left": "part of it is not used",
    "side": "the sides are not clear",
    "bare": "a number has no unit",
    "open": "nothing tells how long it takes",
    "shared": "it is not clear whose length it is",
    "long": "it would take long for what it is",
    "in rounds": "it is in a part that is done more than once",
    "heading": "it may be a heading or something to do",
    "again": "it is not clear what is done again",
    "may head": "it may be a heading or something to do",
    "below doubt": "the line above it is not clear",
    "gap": "a word is not known",
    "name": "a name is not clear",
    "strange": "a word is not known",
}
TOLD = 0.3  # words weigh so much less where every length stands there with its unit
_AS_HEAVY = {"strange digits", "strange name"}  # also beside lengths that are told
_ONCE_EACH = "bare breaths|bare breaths moved|bare breaths few|bare count|size left|open long|open alone|open beside"
ONCE = frozenset((*_ONCE_EACH.split("|"), "shared", "gap", "broad name", "broad left"))
LONG_S = 240.0  # a line that names no minutes seldom takes longer; editorial
STAYED_S = 60.0  # a usual stay beyond that is a guess; editorial
LONG_HOLD_BREATHS = 8.0  # a pose whose usual slow hold is so long is one to stay in; editorial
HELD_BREATHS = 3.0  # a repetition so long is a hold; editorial
PASSIVE_BREATHS = 30.0  # of a pose that one is laid down in, and expects to stay; editorial
_ORDINAL = re.compile(r"\d*(?:1st|2nd|3rd|[04-9]th)", re.IGNORECASE)
_NEAR = 0.051  # of a typed number and the one it became


@dataclass(frozen=True, slots=True)
class Setting:
    """What a line stands in."""

    table: PoseTable
    style: Style
    both_sides: bool = False  # the lines around are done on both sides already
    again: bool = False  # a line below does it on the other side
    rounds: bool = False  # a heading without signs repeats it
    sides_told: bool = False  # most lines of the note that could name a side do
    given: bool = False  # a table, a clock, a label or work and rest say how long it takes


@dataclass(frozen=True, slots=True)
class Typed:
    """What stands on a line, sorted by what it may be used for."""

    outside: tuple[Token, ...]  # of brackets
    attributes: tuple[Token, ...]  # in brackets that say nothing but how much or on which side
    noted: tuple[Token, ...]  # in other brackets

    @property
    def said(self) -> tuple[Token, ...]:
        """All that must have been used."""
        return (*self.outside, *self.attributes)


def typed(tokens: Sequence[Token]) -> Typed:
    """Sort the tokens of a line."""
    outside, behind_with = _without_tails([token for token in tokens if token.kind != "aside"])
    sized = any(map(is_size, outside))
    inner = [[part for part in token.inner if part.kind != "mark"] for token in tokens if token.kind == "aside"]
    plain = [parts for parts in inner if parts and (all(map(is_attribute, parts)) or (is_size(parts[0]) and not sized))]
    other = [parts for parts in inner if parts not in plain]
    return Typed(tuple(outside), tuple(itertools.chain(*plain)), (*itertools.chain(*other), *behind_with))


def _without_tails(tokens: Sequence[Token]) -> tuple[list[Token], list[Token]]:
    """Part off what stands behind "with" or "on" up to the next sign: a note, unless it is a length or a side."""
    kept: list[Token] = []
    tails: list[Token] = []
    tail, off = False, any(token.says("intervals.rest") for token in tokens)
    for token in tokens:
        if token.kind == "mark":
            tail = False
        noted = tail and token.kind in ("unknown", "number") and not token.says("sides")
        (tails if noted else kept).append(token)
        turns = token.says("join.between", "join.then") or (off and token.says("intervals"))  # "40 on 20 off"
        tail = tail or (token.says("join.with") and not turns)
    return kept, tails


def signs(tokens: Sequence[Token], parts: Sequence[Part], setting: Setting) -> Counter[str]:
    """Count what speaks against the reading of a line as these parts."""
    line, flat, table = typed(tokens), list(elements(parts)), setting.table
    found: Counter[str] = Counter() if setting.given else Counter(_sides_left(line, parts, setting))
    as_above = _is_as_above(line, flat, both=_both(parts))
    worded = Counter(_weak_names(line.outside, flat))
    worded.update(_words_left(line.said, _expressed(parts), as_above=as_above))
    if setting.given:
        return found + worded
    found.update(_sizes_left(line, parts))
    amounts = Counter((*_bare_numbers(line, flat, table), *_open_lengths(line, flat, setting)))
    found.update(_shape(line, parts, flat, setting))
    worded.update(_poses_left(line.outside, flat))
    if not amounts and "gap" not in worded:  # all lengths stand there with their units
        worded = Counter({f"{sign}, told": count for sign, count in worded.items()})
    return found + amounts + worded


def left_over(tokens: Sequence[Token], parts: Sequence[Part], table: PoseTable, *, both_sides: bool) -> float:
    """Give the weight of sizes and sides that a reading doesn't use, or uses for what is seldom meant."""
    line, flat = typed(tokens), list(elements(parts))
    found = Counter(_sides_left(line, parts, Setting(table, style_named(USUAL_STYLE), both_sides)))
    found.update(_sizes_left(line, parts))
    found.update(sign for sign in _bare_numbers(line, flat, table) if sign == "bare count held")
    return sum(
        _weight(sign, count) for sign, count in found.items() if sign.endswith("left") or sign == "bare count held"
    )


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
    return next((said for word, said in _WORDS.items() if name.startswith(word) or name.endswith(word)), "")


def _weight(sign: str, count: int) -> float:
    name, _, told = sign.partition(", ")
    one = WEIGHTS.get(name, 0.0) * (TOLD if told and name not in _AS_HEAVY and not name.endswith("left") else 1.0)
    return one if name in ONCE else one * min(count, 2)


def elements(parts: Iterable[Part]) -> Iterator[Element]:
    """Give all elements of parts, those of groups included."""
    for part in parts:
        if isinstance(part, Group):
            yield from elements(part.parts)
        else:
            yield part


# ---- numbers ----


def _expressed(parts: Iterable[Part]) -> set[float]:
    """All numbers that stand in parts: seconds also as minutes, breaths, counts, rounds."""
    found: set[float] = set()
    for part in parts:
        length = part.minutes if isinstance(part, Group) else part.length
        if length is not None:
            for value in (length.shortest, length.likely, length.longest):
                found |= {value, value / 60.0} if length.unit == "seconds" else {value}
        if isinstance(part, Group):
            found |= {float(part.rounds)} if part.rounds > 1 else set()
            found |= _expressed(part.parts)
            continue
        found |= {float(part.times)} if part.times else set()
        found |= {float(part.from_round)} if part.from_round > 1 else set()
        found |= {float(part.to_round)} if part.to_round else set()
        wishes = part.wishes
        found |= set(wishes.beat_bpm or ()) | ({wishes.energy * 100} if wishes.energy is not None else set())
        found |= {wishes.silent_last_s, wishes.silent_last_s / 60.0} if wishes.silent_last_s else set()
    return found


def _values(token: Token) -> tuple[float, ...]:
    if token.kind in ("chain", "pair"):
        return token.values
    return (token.low, token.high, (token.low + token.high) / 2)


def _has(expressed: set[float], value: float) -> bool:
    return any(abs(value - known) <= _NEAR for known in expressed)


def _sizes_left(line: Typed, parts: Sequence[Part]) -> Iterator[str]:
    expressed = _expressed(parts)
    label = next((token.start for token in line.outside if token.text == ":"), 0)
    sizes = [token for token in line.said if is_size(token) and not (token.kind == "number" and token.end <= label)]
    names = " ".join(part.name for part in elements(parts))
    left = [token for token in sizes if not any(_has(expressed, value) for value in _values(token))]
    left = [token for token in left if token.text not in names]  # "1/2 sun salutation"
    left = [token for token in left if not _joined(token, sizes, expressed)]
    total = sum(value for token in sizes for value in (token.values or (token.high,)))
    if left and _has(expressed, total):
        left = []
    outside = set(map(id, line.outside))
    for token in left:
        yield "size left" if id(token) in outside else "bracket left"


def _joined(token: Token, sizes: Sequence[Token], expressed: set[float]) -> bool:
    """Whether a number went into a product or sum: "2 x 16", "8 + 8"; a count of two ways counts double."""
    one = _values(token)[-1]
    others = [_values(other)[-1] for other in sizes if other is not token]
    made = [value for other in others for value in (one * other, one + other)] + [2 * one]
    return any(_has(expressed, value) for value in made)


# ---- sides, poses, words ----


def _sides_left(line: Typed, parts: Sequence[Part], setting: Setting) -> Iterator[str]:
    sided = [token for token in line.said if token.says("sides") and not token.says("sides.parts", "sides.direction")]
    flat = list(elements(parts))
    both = setting.both_sides or _both(parts) or {"right", "left"} <= {part.side for part in flat}
    one = both or any(part.side for part in flat)
    if any(token.says("sides.each", "sides.other") for token in sided) and not both:
        yield "side left"
    right, left = (any(token.says(f"sides.{side}") for token in sided) for side in ("right", "left"))
    if (right and left and not both) or ((right or left) and not one):
        yield "side left"
    sidedly = any(_is_sided(part, setting.table) for part in flat)
    if not any(part.what in ("pose", "gap") for part in flat):
        return
    counted = any(part.times or setting.table.compound(part.pose_id or "") for part in flat)  # "x3, 20 s each"
    if (
        any(token.says("join.each") for token in line.said)
        and not both
        and (sidedly or (len(flat) == 1 and not counted))
    ):
        yield "each left"
    half = one and not both and not setting.again and not (right and left)
    if half and sidedly and any(token.kind == "unknown" for token in _behind_names(line.said)):
        yield "one side"
    apart = [part for part in flat if _is_sided(part, setting.table)]
    if one and not setting.both_sides and any(part.each_side for part in apart) and not all(map(_has_side, apart)):
        yield "side in part"
    lone = sidedly and not (sided or both or setting.again or setting.given or any(part.side for part in flat))
    if lone and not any(token.says("sides") for token in line.said):
        strange = any(token.kind == "unknown" for token in _behind_names(line.said))
        yield "one side" if strange else "no side" if setting.sides_told else "side untold"


def _has_side(part: Element) -> bool:
    return part.each_side or part.side is not None


def _is_sided(part: Element, table: PoseTable) -> bool:
    return part.pose_id is not None and table.get(part.pose_id).sided and not table.compound(part.pose_id)


def _behind_names(tokens: Sequence[Token]) -> Sequence[Token]:
    named = next((at for at, token in enumerate(tokens) if token.match), 0)
    return tokens[named:]


def _both(parts: Iterable[Part]) -> bool:
    return any((part.both_sides or _both(part.parts)) if isinstance(part, Group) else part.each_side for part in parts)


def _poses_left(tokens: Sequence[Token], flat: Sequence[Element]) -> Iterator[str]:
    taken = {part.pose_id for part in flat}
    shown = " ".join(" ".join((part.name, *part.alternatives)).lower() for part in flat)
    talks = all(part.what == "say" for part in flat)
    colon = next((at for at, token in enumerate(tokens) if token.text == ":"), 0)
    behind_with = False
    for token in () if talks else tokens[colon:]:
        behind_with = (behind_with or token.says("join.with")) and token.kind != "mark"
        pose = token.match.pose if token.match else None
        if pose is None or pose.id in taken or token.text.lower() in shown:
            continue
        if token.broad or token.kind == "word":
            yield "broad left"
        elif not behind_with:
            yield "pose left"


def _words_left(tokens: Sequence[Token], used: set[float], *, as_above: bool) -> Iterator[str]:
    """Words that nothing knows, by where they stand; and words that speak of other lines or of a whole."""
    yield from _beside_sizes(tokens)
    for piece in _pieces(tokens):
        named = next((at for at, token in enumerate(piece) if token.kind == "pose" or token.match), None)
        sized = any(map(is_size, piece))
        for at, token in enumerate(piece):
            counted = at + 1 < len(piece) and piece[at + 1].kind == "times"  # "repeat x 2"
            same_as_above = token.says("again.same") and as_above
            if token.says("again.same", "again.repeat", "how.variants") and not (counted or same_as_above):
                yield "again left"
            if token.says("how.until", "how.half", "how.open"):
                yield "until left"
            if token.kind != "unknown" or not any(map(str.isalpha, token.text)):
                continue
            if any(map(str.isdecimal, token.text)):
                if not _ORDINAL.fullmatch(token.text) and not any(_has(used, number) for number in _numbers_in(token)):
                    yield "strange digits"
            elif named is None:
                yield "strange sized" if sized else "strange aside"
            elif at < named:
                narrows = at == named - 1 and _may_narrow(token, piece[named])
                yield "strange name" if narrows else "strange before"
            elif not (at and is_size(piece[at - 1])):
                yield "strange behind"


def _may_narrow(word: Token, name: Token) -> bool:
    """Whether a word before a name may make another pose of it: "moonlit lunge", "frobnicate the moon"."""
    idle = IDLE_IN_NAMES.issuperset(words(word.text))
    return not idle and name.match is not None and is_loose(key(name.text), name.match)


def _numbers_in(token: Token) -> list[float]:
    return [float(number) for number in re.findall(r"\d{1,5}", token.text)]


def _is_as_above(line: Typed, flat: Sequence[Element], *, both: bool) -> bool:
    """Whether a line without a size of its own took one: "triangle, same"."""
    sized = any(part.length is not None or part.times for part in flat)
    if sized and not any(map(is_size, line.said)) and both:
        return True
    return sized and not any(map(is_size, line.said)) and any(part.each_side or part.side for part in flat)


def _beside_sizes(tokens: Sequence[Token]) -> Iterator[str]:
    """An unknown word right behind a number or a length may be its unit or a side."""
    for size, word in itertools.pairwise(tokens):
        if is_size(size) and word.kind == "unknown" and word.start - size.end <= 1:
            yield "strange unit" if size.kind == "number" else "strange tail"


def _pieces(tokens: Sequence[Token]) -> Iterator[list[Token]]:
    piece: list[Token] = []
    for token in tokens:
        if token.kind == "mark" and token.text in ",;→—:+&/|.":
            yield piece
            piece = []
        else:
            piece.append(token)
    yield piece


def _weak_names(tokens: Sequence[Token], flat: Sequence[Element]) -> Iterator[str]:
    taken = {part.pose_id for part in flat}
    for token in tokens:
        match = token.match
        if match is None or match.pose is None or match.pose.id not in taken:
            continue
        if token.broad:
            yield "broad name"
        if token.mended:
            yield "mended name"
    yield from ("gap" for part in flat if part.what == "gap")


# ---- lengths ----


def _bare_numbers(line: Typed, flat: Sequence[Element], table: PoseTable) -> Iterator[str]:
    ordinals = {number.start for word, number in itertools.pairwise(line.said) if word.says("how.round", "how.level")}
    for token in line.said:
        if token.kind != "number" or token.start in ordinals:
            continue
        paused = [part for part in flat if part.what == "pause" and part.length and part.length.likely >= 60.0]
        if any(part.length and part.length.likely == 60 * token.high for part in paused):
            yield "bare rest"
        part = next((part for part in flat if _has(_expressed([part]), token.high)), None)
        if part is None:
            held = [part for part in flat if part.times and _is_held(table.poses.get(part.pose_id or ""), table)]
            if token.high and any((part.times or 0) % token.high == 0 for part in held):
                yield "bare count held"  # "boat 5 x 5", as 25
            continue
        length, pose = part.length, table.poses.get(part.pose_id or "")
        if length is None or (part.times and not _has(_expressed([replace(part, times=None)]), token.high)):
            yield "bare count held" if _is_held(pose, table) else "bare count"
        elif length.unit == "breaths":
            moved = pose is not None and pose.rep_breaths is not None
            yield "bare breaths moved" if moved else "bare breaths few" if token.high <= 2 else "bare breaths"
        else:
            yield "bare minutes" if length.likely >= 60.0 else "bare seconds"


def _is_held(pose: Pose | None, table: PoseTable) -> bool:
    if pose is None or table.compound(pose.id) or pose.family == "flow transition":
        return False
    return pose.rep_breaths is None or pose.rep_breaths >= HELD_BREATHS


def _open_lengths(line: Typed, flat: Sequence[Element], setting: Setting) -> Iterator[str]:
    sized = any(map(is_size, line.said))
    for part in flat:
        if part.what != "pose" or part.length is not None or part.pose_id is None:
            continue
        pose = setting.table.get(part.pose_id)
        laid = pose.family == "rest" and pose.hold_breaths_slow >= PASSIVE_BREATHS
        rests = not sized and (laid or setting.style.stay_s is not None)
        stays = not rests and usual_s(replace(part, times=None), setting) > STAYED_S
        if setting.table.compound(part.pose_id) or (part.times is not None and not stays):
            continue
        if part.times is not None and not _is_held(setting.table.get(part.pose_id), setting.table):
            continue
        yield "open long" if stays else "open beside" if sized else "open alone"


def _shape(line: Typed, parts: Sequence[Part], flat: Sequence[Element], setting: Setting) -> Iterator[str]:
    sizes = [token for token in line.said if is_size(token)]
    timed = any(
        token.kind in ("length", "pair") and token.unit == "seconds" and max(_values(token)) >= 60 for token in sizes
    )
    about = sum(about_s(part, setting) for part in parts)
    whole = any(part.pose_id and setting.table.compound(part.pose_id) for part in flat)
    told = any(part.length is not None or part.times for part in flat)
    if (
        about > LONG_S
        and told
        and not timed
        and not whole
        and "bare minutes" not in _bare_numbers(line, flat, setting.table)
    ):
        yield "long"
    lengths = [token for token in sizes if token.kind in ("length", "number")]
    holds = [part for part in flat if part.length is not None]
    each = any(token.says("join.each", "sides.each", "sides.right", "sides.left") for token in line.said)
    level = any(token.says("how.level") for token in line.said) or all(h.length == exactly("breaths", 1) for h in holds)
    if len(lengths) == 1 and len(holds) > 1 and not each and not level and len({h.pose_id for h in holds}) > 1:
        yield "shared"
    rests = any(part.pose_id and setting.table.get(part.pose_id).family == "rest" for part in flat)
    then = [token.start for token in line.outside if token.says("join.then")]
    ends = [token.start for token in sizes]
    if len(flat) == 1 and len(sizes) > 1 and any(min(ends) < at < max(ends) for at in then):
        yield "merged"
    counted = [part.pose_id for part in flat if part.times and part.length is None and part.pose_id]
    if any(_is_held(setting.table.get(pose_id), setting.table) for pose_id in counted):
        yield "count held"
    if setting.rounds and (timed or rests):
        yield "in rounds"


def signs_of_heading(tokens: Sequence[Token], used: Iterable[float]) -> Counter[str]:
    """Count what speaks against a line being a heading; `used`: the numbers that it gave to its part."""
    flat = [part for token in tokens for part in (token.inner if token.kind == "aside" else (token,))]
    known = {number for value in used for number in (value, value / 60.0)}
    found: Counter[str] = Counter()
    named = {id(token) for token in tokens if token.kind == "number"}  # "Flow 2"
    for token in flat:
        if is_size(token) and id(token) not in named and not any(_has(known, value) for value in _values(token)):
            found["heading size"] += 1
        if token.says("again", "sides.other") and not token.says("again.all"):
            found["heading again"] += 1
        if token.kind == "pose" and not token.says("kinds") and not token.broad:
            found["heading pose"] += 1
        if token.kind == "unknown" and any(map(str.isalpha, token.text)):
            found["heading strange"] += 1
    found.update("heading size" for size, word in itertools.pairwise(flat) if is_size(size) and word.kind == "unknown")
    return found


def signs_of_repeat(tokens: Sequence[Token]) -> Counter[str]:
    """Count what speaks against a line doing lines above once more."""
    flat = [part for token in tokens for part in (token.inner if token.kind == "aside" else (token,))]
    return Counter("again strange" for token in flat if token.kind == "unknown")


def about_s(part: Part, setting: Setting) -> float:
    """About the seconds that a part takes."""
    if isinstance(part, Group):
        if part.minutes:
            return part.minutes.likely
        inner_s = sum(about_s(inner, setting) for inner in part.parts)
        return inner_s * part.rounds * (2 if part.both_sides else 1)
    if part.length is not None:
        once = part.length.likely * (USUAL_BREATH_S if part.length.unit == "breaths" else 1.0)
    else:
        once = usual_s(part, setting)
    return once * (part.times or 1) * (2 if part.each_side else 1)


def usual_s(part: Element, setting: Setting) -> float:
    """About the seconds of a pose, or of one repetition of it, where its line tells none."""
    pose, style = setting.table.poses.get(part.pose_id or ""), setting.style
    if pose is None:
        return 0.0
    steps = len(setting.table.compound(pose.id)) / 2
    if part.times and pose.rep_breaths is not None:
        return pose.rep_breaths * USUAL_BREATH_S
    if style.stay_s and not steps and pose.hold_breaths_slow >= LONG_HOLD_BREATHS:
        return style.stay_s
    usual = pose.hold_breaths_flow if style.holds == "flow" else pose.hold_breaths_slow
    return steps * USUAL_BREATH_S if steps else usual * style.breath_s
