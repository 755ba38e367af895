"""A starting plan for a class of 30, 45, 60, 75 or 90 minutes: commented, complete, within its slot.

The shares of the sections follow a usual split of such a class (opening 7-8 %, warm-up 12-13 %, salutations 16 %,
standing flow 25 %, peak 8 %, cool-down 16 %, rest 10-13 %, closing 3 %). Common practice, no source.
"""

import itertools
from dataclasses import dataclass
from functools import cache


@dataclass(frozen=True, slots=True)
class _Size:
    """What differs between the lengths; minutes, rounds, full breaths."""

    settle: int
    opening: int
    warm_up: int
    salutes: int  # rounds
    second_salutes: int  # rounds; 0: none
    flow: int  # rounds
    hold: int  # breaths of the flow's held poses
    peak: int
    floor: int
    rest_at_least: int
    closing: int


_SIZES = {
    30: _Size(1, 2, 3, 3, 0, 2, 4, 2, 5, 4, 1),
    45: _Size(2, 3, 5, 4, 2, 3, 4, 3, 7, 5, 2),
    60: _Size(2, 5, 7, 5, 3, 3, 5, 5, 10, 6, 2),
    75: _Size(3, 6, 9, 5, 5, 4, 5, 6, 13, 8, 2),
    90: _Size(3, 7, 10, 6, 5, 5, 5, 8, 16, 9, 3),
}
MINUTES = tuple(_SIZES)


def starting_plan(minutes: int) -> str:
    """Give the text of a starting plan; lines that begin with ">" explain it and may be deleted.

    Raises:
        ValueError: `minutes` is none of 30, 45, 60, 75, 90.
    """
    if minutes not in _SIZES:
        raise ValueError(f"no starting plan of {minutes} minutes; there are {', '.join(map(str, MINUTES))}")
    size = _SIZES[minutes]
    second = _SECOND_SALUTES.format(rounds=_rounds(size.second_salutes)) if size.second_salutes else ""
    return _PLAN.format(
        minutes=minutes, settle=_minutes(size.settle), opening=_minutes(size.opening), warm_up=_minutes(size.warm_up),
        salutes=_rounds(size.salutes), second_salutes=second, flow=_rounds(size.flow), hold=size.hold,
        peak=_minutes(size.peak), floor=_minutes(size.floor), rest=_minutes(size.rest_at_least),
        closing=_minutes(size.closing),
    )  # fmt: skip


@cache
def _remarks() -> frozenset[str]:
    lines = itertools.chain.from_iterable(starting_plan(minutes).splitlines() for minutes in MINUTES)
    return frozenset(line.removeprefix(">").strip() for line in lines if line.startswith(">"))


def is_remark(text: str) -> bool:
    """Whether a line only explains a starting plan, and so is nobody's note.

    >>> is_remark("doors at ten to")
    False
    """
    return text.strip() in _remarks()


def _minutes(count: int) -> str:
    return f"{count} minute{'s' if count > 1 else ''}"


def _rounds(count: int) -> str:
    return f"{count} round{'s' if count > 1 else ''}"


_SECOND_SALUTES = """
## Salutes with strength: flow, {rounds}, each round 5% quicker
- sun salutation B
"""
_PLAN = """# A class of {minutes} minutes
slot: {minutes} minutes
settle: {settle}
breath: 5 seconds
> A starting plan: change what you like. Lines like this one are remarks; delete them when you have read them.
> "slot" is the booking, "settle" what people need to arrive, "breath" a full breath, in and out.

## Arrive: opening, {opening}, quiet music
> A section is a name, a colon, what it is for, and then what holds for all of it.
> This one takes exactly {opening}: lines without a length share what the others leave.
- easy seat
- say: welcome, 30 seconds
- seated side bend, each side

## Wake: warm-up, {warm_up}
- cat-cow
- child's pose
- downward dog
- low lunge, each side

## Salutes: warm-up, {salutes}, each round 5% quicker, steady music
> The first round at the class's breath, each further one 5% quicker than the one before.
- sun salutation A
{second_salutes}
## Standing: flow, both sides, {flow}, each round 10% quicker, driving music
> Every round is done right, then left. "from round 2" leaves a line out of the first round.
- three-legged dog, inhale
- step foot through, exhale
- warrior one, {hold} breaths
- warrior two, {hold} breaths
- reverse warrior, 1 breath
- extended side angle, {hold} breaths (what is in brackets is only to be read)
- triangle, {hold} breaths, from round 2
- vinyasa
- chair, {hold} breaths, after both sides

## Peak: peak, {peak}, driving music
- tree, each side
- crow or garland

## Down: cool-down, {floor}, quiet music
> Hard work is followed by at least five easy minutes.
- half pigeon, each side
- seated forward fold
- supine twist, each side

## Rest: rest, what is left, at least {rest}, no voice, silent last 1 minute
> Takes what the slot leaves. If that is less than "at least", the class is too long, and the check says so.
- savasana
- bell

## Close: closing, {closing}
- easy seat
- say: thank you, 20 seconds
"""
