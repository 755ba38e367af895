"""How long and how often: typed lengths, counts and bare numbers, weighed by pose, kind and neighbours.

How bare numbers are read, and how long a repetition is where the pose table doesn't say, is common practice, no source.
All numbers here are editorial.
"""

import itertools
from collections.abc import Sequence
from typing import Literal

from pairing.constants import USUAL_BREATH_S
from pairing.model import Element, Kind, Length
from pairing.plan.line.amounts import Amount, exactly, middle
from pairing.plan.line.moves import Around, Move
from pairing.plan.poses import Pose
from pairing.plan.words import scaled

COUNT_S = 1.0  # "hold for 8", "16 pulses": a count a second
REP_S = 2.0  # a lift, a kick, a circle
MOVE_REP_S = 3.0  # a repetition of a movement that isn't known
SLOW_REP_S = 4.0  # "10 slow": a count of four, at least
QUICK = 0.5  # "20 fast": times the usual repetition
OPEN_S = 30.0  # of a line whose length nothing tells
LEAST_SECONDS = 10  # a bare number beside seconds on its line is seconds from here on
FROM_HERE_SECONDS = 30  # a bare number from here on is seconds, below breaths
SOME_REPS, SHORT_HOLD_BREATHS = 4, 3.0  # "bridge x5": held so often, a pose is held shortly
MANY_REPS = 6  # a held pose done so often is moved in and out of with the breath
HELD_BREATHS = 3.0  # a repetition so long is a hold
MOST_BREATHS = 10  # of a pose held several times, without a unit
MOST_MINUTES = 20  # a bare number after a resting pose
MOST_YIN = 12  # more of something that is moved are no minutes
MOST_PASSIVE = 30  # the same, in a class of few, long poses
PASSIVE_BREATHS = 30  # of the usual slow hold of a pose that one is laid down in
MOST_LADDERS = 10  # several lengths are gone through so often at most; editorial
STRETCH_ID = "free_stretch"
LEAST_OF_ALL_S, MUCH_LONGER, MOST_LONGER = 60.0, 2.5, 4.0  # a length of several repetitions together; editorial
FEW_MINUTES = 2  # a bare number so small behind a pose of the floor is no breaths, where one cools down
_LOW = ("seated", "supine", "kneeling", "rest", "twist", "forward fold")
LEAST_PASSIVE = 3  # minutes after such a pose in any class
STRONG = (Kind.STRENGTH,)
_LAID = {
    "supine_twist",
    "knees_to_chest",
    "happy_baby",
    "reclined_bound_angle",
    "seated_meditation",
}  # stayed in like a rest, near the end
LADDER_BREATHS = 1.5  # of a repetition that a ladder counts: "2-4-6-8-10"; a round of breathing is longer
STEP_BREATHS = 0.5  # a repetition no longer than that is never held for breaths
Size = tuple[Length | None, int | None]


def sizes_of(move: Move, amount: Amount, base: Element, around: Around, *, seconds: bool) -> list[Size]:
    """Weigh what was typed: length and repetitions of each hold that the move consists of."""
    pose = around.table.poses.get(base.pose_id or "")
    times = 1
    for ends in amount.times:
        times *= max(1, int(middle(ends) + 0.5))
    if len(amount.times) > 1 and not amount.rounds:
        times = sum(
            max(1, int(middle(ends) + 0.5)) for ends in amount.times
        )  # "x2 slow, x2 on the breath", "8x forward 8x back"
    counted = bool(amount.times)
    times *= amount.ways
    if amount.ways > 1:
        counted = True
    quick = pose is not None and pose.rep_breaths is not None and pose.rep_breaths <= LADDER_BREATHS
    if amount.chain and not amount.tempo and pose is not None and quick and not amount.lengths:
        return [_repeated(move, amount, pose, max(1, int(step)) * times) for step in amount.chain]  # "2-4-6-8-10"
    if amount.chain and not any(length.unit == "seconds" for length in amount.lengths):
        return [(exactly("seconds", sum(amount.chain)), times if counted else None)]
    if amount.half and around.before is not None:
        return [(_halved(around.before, around), None)]
    if amount.pair and amount.pair[0] == amount.pair[1]:
        moved = move.what == "move" or (around.counts and pose is not None and pose.rep_breaths is not None)
        if moved and not amount.pair_unit:
            return [_repeated(move, amount, pose, max(1, int(amount.pair[0])) * times)]  # "criss cross 10/10"
        return [(_of_pair(amount, pose, around), times if counted else None)]
    if amount.pair:
        unit = amount.pair_unit or ("breaths" if max(amount.pair) < FROM_HERE_SECONDS else "seconds")
        return [(exactly("breaths" if unit == "breaths" else "seconds", value), None) for value in amount.pair]
    if amount.lengths:
        if amount.chain:  # "4-7-8 x4 (2 min)"
            return [(amount.lengths[0], None)]
        if len(amount.lengths) > 1:  # "10 s 20 s 30 s x2" too
            ladders = times if times <= MOST_LADDERS else 1
            return [(length, None) for _ in range(ladders) for length in amount.lengths]
        alone = not counted or times <= 1 or _is_of_all(amount.lengths[0], times, pose, around)
        return [(amount.lengths[0], None if alone else times)]
    if amount.counts:
        count = amount.counts + sum(map(middle, amount.numbers))
        return [(exactly("seconds", COUNT_S * count), times if counted and times > 1 else None)]
    if amount.numbers:
        return _of_numbers(move, amount, pose, around, times if counted else 1, seconds=seconds)
    if counted:
        return [_repeated(move, amount, pose, times)]
    return [_unsized(move, amount, pose)]


def _is_of_all(length: Length, times: int, pose: Pose | None, around: Around) -> bool:
    """ "Sun A x4 (6 min)": nobody takes so long over one of them, and all of them do."""
    if length.unit != "seconds" or pose is None or length.likely < LEAST_OF_ALL_S:
        return False
    half_breaths = len(around.table.compound(pose.id))
    one_s = USUAL_BREATH_S * (half_breaths / 2 if half_breaths else pose.rep_breaths or 0.0)
    return one_s > 0.0 and length.likely > MUCH_LONGER * one_s and length.likely < MOST_LONGER * times * one_s


def _unsized(move: Move, amount: Amount, pose: Pose | None) -> Size:
    if move.what in ("hold", "pulse"):
        return exactly("seconds", 10.0), None
    if move.what == "move":
        return exactly("seconds", OPEN_S), None
    if amount.no_hold or amount.quick:
        return (None, None) if pose is None else (exactly("breaths", 1.0), None)
    return None, None


def _halved(before: Element, around: Around) -> Length | None:
    length = before.length
    return scaled(length, 0.5) if length else None


def _of_pair(amount: Amount, pose: Pose | None, around: Around) -> Length:
    value = amount.pair[0]
    if amount.pair_unit:
        return exactly("breaths" if amount.pair_unit == "breaths" else "seconds", value)
    if (around.yin and value <= 10) or _is_sunk_into(value, pose, around):
        return exactly("seconds", 60 * value)
    return exactly("breaths", value) if value < FROM_HERE_SECONDS else exactly("seconds", value)


def _pace(amount: Amount) -> float:
    return QUICK if amount.quick and not amount.slow else 1.0


def _repeated(move: Move, amount: Amount, pose: Pose | None, times: int) -> Size:
    """A count without a length."""
    if move.what in ("hold", "pulse"):
        return exactly("seconds", COUNT_S * times), None
    if pose is None or move.what == "move":
        each_s = SLOW_REP_S if amount.slow else (REP_S if move.what == "move" else MOVE_REP_S) * _pace(amount)
        return exactly("seconds", each_s), times
    if pose.rep_breaths is not None and amount.slow:
        return exactly("seconds", max(SLOW_REP_S, pose.rep_breaths * USUAL_BREATH_S)), times
    if pose.rep_breaths is not None and _pace(amount) != 1.0:
        return exactly("breaths", pose.rep_breaths * _pace(amount)), times
    return held_often(pose, times), times


def held_often(pose: Pose, times: int, *, sides: int = 1) -> Length | None:
    """How long each of so many holds of a pose is, where nothing tells; None for a few of them, and for movements."""
    if pose.rep_breaths is not None or pose.family in ("flow transition", "compound") or times < SOME_REPS:
        return None
    return exactly("breaths", 1.0 if sides * times >= MANY_REPS or pose.family == "rest" else SHORT_HOLD_BREATHS)


def _of_numbers(
    move: Move, amount: Amount, pose: Pose | None, around: Around, times: int, *, seconds: bool
) -> list[Size]:
    """Bare numbers, by pose, kind and neighbours."""
    numbers = amount.numbers
    if move.what in ("hold", "pulse"):
        return [(exactly("seconds", COUNT_S * times * _counted_down(numbers)), None)]
    total = sum(map(middle, numbers))
    if times > 1 and len(numbers) == 1:  # "2 x 16", and the hundred's ten breaths of ten beats
        if times == 10 and numbers[0] == (10.0, 10.0):
            return [(exactly("seconds", 100.0), None)]
        if pose is not None and _is_held_often(pose, total, around):
            return [(exactly("breaths", total), int(times))]
        return [_repeated(move, amount, pose, int(times * total))]
    if _is_counted(move, pose, around, seconds=seconds):
        return [_repeated(move, amount, pose, max(1, int(total)))]
    low, high = (sum(ends) for ends in zip(*numbers, strict=True))
    return [(_length_of_number(low, high, pose, around, seconds=seconds), None)]


def _is_held_often(pose: Pose, total: float, around: Around) -> bool:
    """ "Boat 5 x 5": a pose that is held, so often for so many breaths."""
    held = (pose.rep_breaths is None or pose.rep_breaths >= HELD_BREATHS) and pose.family not in (
        "flow transition",
        "compound",
    )
    return held and total <= MOST_BREATHS and not around.counts


def _counted_down(numbers: Sequence[tuple[float, float]]) -> float:
    values = [low for low, _ in numbers]
    down = len(values) > 2 and all(one - other == 1 for one, other in itertools.pairwise(values))
    return values[0] if down else sum(map(middle, numbers))


def _is_counted(move: Move, pose: Pose | None, around: Around, *, seconds: bool) -> bool:
    """Whether a bare number behind it counts repetitions: salutations, moves of the table, exercises."""
    if pose is None or move.what == "move":
        return move.what in ("move", "gap") and not around.yin  # "dragonfly 4", unknown, in a class of long holds
    if around.table.compound(pose.id) or pose.family == "flow transition":
        return True
    many = len(move.amount.numbers) > 1 or move.amount.ways > 1  # "8 forward, 8 back", "10 each way"
    least = min((low for low, _ in move.amount.numbers), default=0.0)
    brief = pose.rep_breaths is not None and pose.rep_breaths <= STEP_BREATHS  # "march on the spot 20"
    steps = pose.rep_breaths is not None and least > MOST_YIN if around.yin else brief  # "frogs 26"; "breath of fire 3"
    return steps or (pose.rep_breaths is not None and (around.counts or around.kind in STRONG or many or seconds))


def _length_of_number(low: float, high: float, pose: Pose | None, around: Around, *, seconds: bool) -> Length:
    resting = pose is not None and pose.id == "corpse"
    passive = pose is not None and pose.family == "rest" and pose.hold_breaths_slow >= PASSIVE_BREATHS
    passive = passive or (pose is not None and pose.id == STRETCH_ID)
    if pose is not None and is_rested_in(pose) and around.minutes and high < LEAST_PASSIVE + 1:
        return Length("seconds", 30 * (low + high), 60 * low, 60 * high)
    if (resting and high <= MOST_MINUTES) or (around.yin and high <= (MOST_PASSIVE if passive else 12)):
        return Length("seconds", 30 * (low + high), 60 * low, 60 * high)
    if (passive and low >= LEAST_PASSIVE and high <= MOST_MINUTES) or _is_sunk_into(high, pose, around):
        return Length("seconds", 30 * (low + high), 60 * low, 60 * high)
    unit: Literal["breaths", "seconds"] = (
        "seconds" if low >= FROM_HERE_SECONDS or (seconds and low >= LEAST_SECONDS) else "breaths"
    )
    return Length(unit, (low + high) / 2, low, high)


def _is_sunk_into(number: float, pose: Pose | None, around: Around) -> bool:
    """ "Figure four 2/2" on the way down: nobody lies down for two breaths."""
    lain_in = pose is not None and pose.family in _LOW and pose.rep_breaths is None
    return lain_in and number <= FEW_MINUTES and around.kind is Kind.COOL_DOWN


def is_rested_in(pose: Pose) -> bool:
    """Say whether a pose is lain or sat in, so that a bare 1 to 3 behind it is minutes."""
    return pose.family == "rest" or pose.id in _LAID
