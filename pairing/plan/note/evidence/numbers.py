"""Lengths, counts and bare numbers of a line that its reading left over, or gave a unit."""

import itertools
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from pairing.model import Element, Group
from pairing.plan.line.chunks import is_size
from pairing.plan.line.sizes import HELD_BREATHS
from pairing.plan.note.evidence.typed import Typed
from pairing.plan.note.partly import Part, elements
from pairing.plan.poses import Pose, PoseTable
from pairing.plan.tokens import Token

_NEAR = 0.051  # of a typed number and the one it became


def sizes_left(line: Typed, parts: Sequence[Part]) -> Iterator[str]:
    """Give a sign for each length, count or number that stands in no part."""
    used = expressed(parts)
    label = next((token.start for token in line.outside if token.text == ":"), 0)
    sizes = [token for token in line.said if is_size(token) and not (token.kind == "number" and token.end <= label)]
    names = " ".join(part.name for part in elements(parts))
    told = set(_of_names_and_ends(line.said))
    sizes = [token for token in sizes if token.start not in told]
    left = [token for token in sizes if not any(has(used, value) for value in values(token))]
    left = [token for token in left if token.text not in names]  # "1/2 sun salutation"
    left = [token for token in left if not _joined(token, sizes, used)]
    if any(token.text in "+&" or token.says("join.and") for token in line.outside if token.kind in ("mark", "word")):
        left = [token for token in left if not shared_out(token, parts)]
    total = sum(value for token in sizes for value in (token.values or (token.high,)))
    if left and has(used, total):
        left = []
    outside = set(map(id, line.outside))
    for token in left:
        yield "size left" if id(token) in outside else "bracket left"


def _of_names_and_ends(tokens: Sequence[Token]) -> Iterator[int]:
    """Places of numbers that count postures, "Postura 2.", or tell the end of something, "the last 15 s"."""
    for at, (word, size) in enumerate(itertools.pairwise(tokens)):
        if word.says("how.last", "how.first") or (at == 0 and word.says("columns.pose", "columns.section")):
            yield size.start


def shared_out(token: Token, parts: Sequence[Part]) -> bool:
    """Say whether minutes were shared by movements that are joined: "march + arms 2 min"."""
    alike = Counter(part.length.likely for part in elements(parts) if part.length is not None)
    return any(count > 1 and abs(count * length - token.high) <= count for length, count in alike.items())


def _joined(token: Token, sizes: Sequence[Token], used: set[float]) -> bool:
    """Whether a number went into a product or sum: "2 x 16", "8 + 8"; a count of two ways counts double."""
    one = values(token)[-1]
    others = [values(other)[-1] for other in sizes if other is not token]
    made = [value for other in others for value in (one * other, one + other)] + [2 * one]
    return any(has(used, value) for value in made)


def bare_numbers(line: Typed, flat: Sequence[Element], table: PoseTable) -> Iterator[str]:
    """Give a sign for each number without a unit, by what it was taken for."""
    ordinals = {number.start for word, number in itertools.pairwise(line.said) if word.says("how.round", "how.level")}
    for token in line.said:
        if token.kind != "number" or token.start in ordinals:
            continue
        paused = [part for part in flat if part.what == "pause" and part.length and part.length.likely >= 60.0]
        alone = sum(other.kind == "number" for other in line.said) == 1  # not "sphinx 3 - rest 1 - seal 2"
        if alone and any(part.length and part.length.likely == 60 * token.high for part in paused):
            yield "bare rest"
        part = next((part for part in flat if has(expressed([part]), token.high)), None)
        if part is None:
            held = [part for part in flat if part.times and is_held(table.poses.get(part.pose_id or ""), table)]
            if token.high and any((part.times or 0) % token.high == 0 for part in held):
                yield "bare count held"  # "boat 5 x 5", as 25
            continue
        length, pose = part.length, table.poses.get(part.pose_id or "")
        if length is None or (part.times and not has(expressed([replace(part, times=None)]), token.high)):
            yield "bare count held" if is_held(pose, table) else "bare count"
        elif length.unit == "breaths":
            moved = pose is not None and pose.rep_breaths is not None
            yield "bare breaths moved" if moved else "bare breaths few" if token.high <= 2 else "bare breaths"
        else:
            yield "bare minutes" if length.likely >= 60.0 else "bare seconds"


def is_held(pose: Pose | None, table: PoseTable) -> bool:
    """Say whether a pose is stayed in, so that a count of it is odd."""
    if pose is None or table.compound(pose.id) or pose.family == "flow transition":
        return False
    return pose.rep_breaths is None or pose.rep_breaths >= HELD_BREATHS


def expressed(parts: Iterable[Part]) -> set[float]:
    """Give all numbers that stand in parts: seconds also as minutes, breaths, counts, rounds."""
    found: set[float] = set()
    for part in parts:
        length = part.minutes if isinstance(part, Group) else part.length
        if length is not None:
            for value in (length.shortest, length.likely, length.longest):
                found |= {value, value / 60.0} if length.unit == "seconds" else {value}
        if isinstance(part, Group):
            found |= {float(part.rounds)} if part.rounds > 1 else set()
            found |= expressed(part.parts)
            continue
        found |= {float(part.times)} if part.times else set()
        found |= {float(part.from_round)} if part.from_round > 1 else set()
        found |= {float(part.to_round)} if part.to_round else set()
        wishes = part.wishes
        found |= set(wishes.beat_bpm or ()) | ({wishes.energy * 100} if wishes.energy is not None else set())
        found |= {wishes.silent_last_s, wishes.silent_last_s / 60.0} if wishes.silent_last_s else set()
    return found


def values(token: Token) -> tuple[float, ...]:
    """Give the numbers that a token may stand for."""
    if token.kind in ("chain", "pair"):
        return token.values
    return (token.low, token.high, (token.low + token.high) / 2)


def has(used: set[float], value: float) -> bool:
    """Say whether a number stands among those that parts express."""
    return any(abs(value - known) <= _NEAR for known in used)
