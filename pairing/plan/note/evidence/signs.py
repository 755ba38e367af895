"""What speaks against the reading of a line: signs, counted."""

import itertools
from collections import Counter
from collections.abc import Iterable, Sequence

from pairing.plan.line.chunks import is_size
from pairing.plan.note.evidence.lengths import guessed, open_lengths, shape
from pairing.plan.note.evidence.names import is_as_above, poses_left, weak_names, words_left
from pairing.plan.note.evidence.numbers import bare_numbers, expressed, has, sizes_left, values
from pairing.plan.note.evidence.sides import both_in, sides_left
from pairing.plan.note.evidence.typed import Setting, typed
from pairing.plan.note.evidence.weights import weight
from pairing.plan.note.partly import Part, elements
from pairing.plan.poses import PoseTable
from pairing.plan.style import USUAL_STYLE, style_named
from pairing.plan.tokens import Token


def signs(tokens: Sequence[Token], parts: Sequence[Part], setting: Setting) -> Counter[str]:
    """Count what speaks against the reading of a line as these parts."""
    line, flat, table = typed(tokens), list(elements(parts)), setting.table
    found: Counter[str] = Counter() if setting.given else Counter(sides_left(line, parts, setting))
    as_above = is_as_above(line, flat, both=both_in(parts))
    worded = Counter(weak_names(line.outside, flat))
    worded.update(words_left(line.said, expressed(parts), as_above=as_above))
    if setting.given:
        return found + _told(worded)
    found.update(sizes_left(line, parts))
    amounts = Counter((*bare_numbers(line, flat, table), *open_lengths(line, flat, setting)))
    found.update(shape(line, parts, flat, setting))
    found.update(guessed(parts, setting) if amounts else ())
    worded.update(poses_left(line.outside, flat))
    if not amounts and "gap" not in worded:  # all lengths stand there with their units
        worded = _told(worded)
    return found + amounts + worded


def _told(worded: Counter[str]) -> Counter[str]:
    """Signs about words, which weigh less where all lengths are told."""
    return Counter({f"{sign}, told": count for sign, count in worded.items()})


def left_over(tokens: Sequence[Token], parts: Sequence[Part], table: PoseTable, *, both_sides: bool) -> float:
    """Give the weight of sizes and sides that a reading doesn't use, or uses for what is seldom meant."""
    line, flat = typed(tokens), list(elements(parts))
    found = Counter(sides_left(line, parts, Setting(table, style_named(USUAL_STYLE), both_sides)))
    found.update(sizes_left(line, parts))
    found.update(sign for sign in bare_numbers(line, flat, table) if sign == "bare count held")
    return weight(Counter({sign: found[sign] for sign in found if sign.endswith("left") or sign == "bare count held"}))


def signs_of_heading(tokens: Sequence[Token], used: Iterable[float]) -> Counter[str]:
    """Count what speaks against a line being a heading; `used`: the numbers that it gave to its part."""
    flat = [part for token in tokens for part in (token.inner if token.kind == "aside" else (token,))]
    known = {number for value in used for number in (value, value / 60.0)}
    found: Counter[str] = Counter()
    named = {id(token) for token in tokens if token.kind == "number"}  # "Flow 2"
    for token in flat:
        if is_size(token) and id(token) not in named and not any(has(known, value) for value in values(token)):
            found["heading size"] += 1
        if token.says("again", "sides.other") and not token.says("again.all"):
            found["heading again"] += 1
        if token.kind == "pose" and not token.says("kinds") and not token.broad:
            found["heading pose"] += 1
        if token.kind == "unknown" and any(map(str.isalpha, token.text)):
            found["heading strange"] += 1
    open_ = [token for token in flat if not (token.kind == "times" and token.says("units.rounds"))]  # "2 rounds linked"
    found.update("heading size" for size, word in itertools.pairwise(open_) if is_size(size) and word.kind == "unknown")
    return found


def signs_of_repeat(tokens: Sequence[Token]) -> Counter[str]:
    """Count what speaks against a line doing lines above once more."""
    flat = [part for token in tokens for part in (token.inner if token.kind == "aside" else (token,))]
    return Counter("again strange" for token in flat if token.kind == "unknown")
