"""What a stretch of a class costs a body, in METs (1.0 = rest).

- A pose held two breaths or more costs what the pose table says.
- Poses passed through, a breath or less each, cost 2.30 + 0.094 x moves a minute, the published pace line of sun
  salutations, whatever the poses are: the held costs of poses passed through are not summed.
- Between one and two breaths the two are blended by the share of time in motion.
- Small moves near the floor (seated, lying, on all fours) and moves that the table gives by the repetition cost what
  the table says: its value is that of the move.
- A salutation or vinyasa: its half-breaths by the pace line, its long hold by the held cost.

Every value is for ranking effort and drawing an arc; people differ by a quarter and more (the published deviations).
"""

from collections.abc import Callable, Sequence
from typing import Literal

from pairing.constants import (
    FLOWING_TO_BREATHS,
    HELD_FROM_BREATHS,
    MODERATE_METS,
    PACE_BASE_METS,
    PACE_METS_PER_MOVE_A_MINUTE,
    QUIET_METS,
    RESTING_METS,
    SEDENTARY_METS,
    SMALL_MOVE_BELOW_METS,
    SUPPORTED_SHARE,
    VIGOROUS_METS,
)
from pairing.effort.line import TRANSITION, LineTime, compound_breaths
from pairing.effort.walk import TimedStretch
from pairing.plan.poses import Pose

_NEAR_THE_FLOOR = {"seated", "supine", "prone", "kneeling", "rest"}
_EITHER = {"forward fold", "twist", "backbend"}  # done standing or on the floor


Band = Literal["sedentary", "light", "moderate", "vigorous"]


def band(mets: float) -> Band:
    """Name the band of absolute intensity (ACSM/AHA; see pairing.constants).

    >>> [band(mets) for mets in (1.5, 1.6, 3.0, 5.9, 6.0)]
    ['sedentary', 'light', 'moderate', 'moderate', 'vigorous']
    """
    if mets >= VIGOROUS_METS:
        return "vigorous"
    if mets >= MODERATE_METS:
        return "moderate"
    return "light" if mets > SEDENTARY_METS else "sedentary"


def flow_mets(moves_a_minute: float) -> float:
    """Cost in METs of moving from pose to pose without a stop; measured from 10 to 20 moves a minute.

    >>> [round(flow_mets(moves), 2) for moves in (10, 15, 20)]
    [3.24, 3.71, 4.18]
    """
    return PACE_BASE_METS + PACE_METS_PER_MOVE_A_MINUTE * moves_a_minute


def share_in_motion(breaths: float) -> float:
    """How much of a pose of so many breaths counts as flowing: 1 up to one breath, 0 from two on.

    >>> [share_in_motion(breaths) for breaths in (1, 1.5, 3)]
    [1.0, 0.5, 0.0]
    """
    span = HELD_FROM_BREATHS - FLOWING_TO_BREATHS
    return min(1.0, max(0.0, (HELD_FROM_BREATHS - breaths) / span))


def supported_mets(mets: float) -> float:
    """Cost in METs of a held pose of cost `mets` when props carry the body; editorial.

    >>> supported_mets(1.0), supported_mets(3.0) < 3.0
    (1.0, True)
    """
    return RESTING_METS + SUPPORTED_SHARE * (mets - RESTING_METS) if mets > RESTING_METS else mets


def demands(stretches: Sequence[TimedStretch], held_mets: Callable[[str], float]) -> list[float]:
    """Give the METs of each stretch; talk and pauses are as quiet as the pose they come after, at most.

    Args:
        stretches: of the whole class, in order, their seconds settled.
        held_mets: cost of a held pose by its id, for the hold inside a compound.
    """
    costs: list[float] = []
    known: dict[tuple[int, float, float], float] = {}
    posture, section = QUIET_METS, -1
    for stretch in stretches:
        if stretch.here.section != section:
            posture, section = QUIET_METS, stretch.here.section
        if stretch.line.pose is not None:
            key = (id(stretch.line), stretch.seconds, stretch.here.breath_s)
            if key not in known:
                known[key] = pose_demand(stretch.line, stretch.seconds, stretch.here.breath_s, held_mets)
            costs.append(known[key])
            posture = stretch.line.pose.mets if stretch.held else QUIET_METS
        elif stretch.line is TRANSITION:
            move_s = max(stretch.seconds, stretch.here.breath_s / 2)
            costs.append(posture + PACE_METS_PER_MOVE_A_MINUTE * 60.0 / move_s)
        elif stretch.line.what == "gap":  # the arc runs through what isn't known
            costs.append(costs[-1] if costs else QUIET_METS)
        else:
            costs.append(min(posture, QUIET_METS))
    return costs


def pose_demand(line: LineTime, seconds: float, breath_s: float, held_mets: Callable[[str], float]) -> float:
    """METs of a pose held or moved through for so many seconds, all repetitions together, at this breath."""
    pose, element = line.pose, line.element
    assert pose is not None
    if element is not None and element.supported:
        return supported_mets(pose.mets)
    if seconds <= 0.0:
        return pose.mets
    dwell_s = seconds / line.times
    if line.compound:
        return _compound_demand(line, dwell_s, held_mets)
    if _costs_what_the_table_says(pose, line.times):
        return pose.mets
    share = share_in_motion(dwell_s / breath_s)
    return share * flow_mets(60.0 / dwell_s) + (1.0 - share) * pose.mets


def _costs_what_the_table_says(pose: Pose, times: int) -> bool:
    if pose.family in _NEAR_THE_FLOOR or pose.family == "flow transition":
        return True
    low = pose.family in _EITHER and pose.mets < SMALL_MOVE_BELOW_METS
    return low or (times > 1 and pose.rep_breaths is not None)


def _compound_demand(line: LineTime, seconds: float, held_mets: Callable[[str], float]) -> float:
    """Mean over one performance: every half-breath is a move; a hold of two breaths and more is a hold."""
    no_hold = line.element is not None and line.element.no_hold
    breaths = compound_breaths(line.compound, no_hold=no_hold)
    flowing = flow_mets(60.0 / (0.5 * seconds / breaths))
    cost = 0.5 * len(line.compound) * flowing
    if not no_hold:
        cost += sum(step.hold_breaths * held_mets(step.pose_id) for step in line.compound)
    return cost / breaths
