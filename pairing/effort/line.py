"""What one line of a plan takes: breaths or seconds, and whether it is held, moved or shared out."""

from dataclasses import dataclass
from typing import Literal

from pairing.constants import (
    HELD_FROM_BREATHS,
    HELD_FROM_S,
    LEAST_TALK_S,
    MOST_HELD_EACH,
    MOVED_FROM_TIMES,
    SETTLED_FROM_BREATHS,
    SETTLED_FROM_S,
    SPOKEN_WORDS_A_MINUTE,
    USUAL_PAUSE_S,
    USUAL_SILENCE_S,
)
from pairing.effort.manner import Manner
from pairing.effort.wishes import NO_WISHES
from pairing.model import Element, Length
from pairing.plan.poses import CompoundStep, Pose, PoseTable

Shares = Literal["no", "if it must", "yes"]
NO_TIME = Length("seconds", 0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Pace:
    """The assumptions under which a plan is timed."""

    name: Literal["likely", "shortest", "longest"] = "likely"  # which end of "3-5 breaths" is taken
    breath: float = 1.0  # factor on the seconds of every breath
    options: bool = True  # optional lines and groups are done
    between: float = 1.0  # factor on the assumed time between poses

    def count(self, length: Length) -> float:
        """A length in its own unit, at this pace's end of its range."""
        count: float = getattr(length, self.name)
        return count

    def seconds(self, length: Length, breath_s: float) -> float:
        """A length in seconds, at this pace's end of its range.

        Args:
            breath_s: of one breath.
        """
        return self.count(length) * (breath_s if length.unit == "breaths" else 1.0)


@dataclass(frozen=True, slots=True)
class LineTime:
    """What a line of a plan takes, once, on one side."""

    what: str
    name: str
    element: Element | None = None  # None: no line of the plan stands for it
    pose: Pose | None = None
    compound: tuple[CompoundStep, ...] = ()
    times: int = 1
    length: Length = NO_TIME  # of all repetitions together
    shares: Shares = "no"  # in the minutes its group is given
    may_be_held: bool = False  # a pose in stillness, if long enough
    is_stated: bool = True  # its length is the note's own
    has_wishes: bool = False
    comes_once: bool = False  # in its section, whatever its rounds and sides
    has_terms: bool = False  # not done in every round, on every side or at every pace

    def is_held(self, seconds: float, breaths: float | None, *, spread: bool) -> bool:
        """Say whether it is a held pose; without a length, in a group of given minutes (`spread`), always."""
        if not self.may_be_held:
            return False
        long_enough = seconds >= HELD_FROM_S or (breaths or 0.0) >= HELD_FROM_BREATHS
        return long_enough or (spread and self.shares == "yes")

    def is_stayed_in(self, seconds: float, breaths: float | None) -> bool:
        """Say whether one settles in it, held or repeated, so that the next thing takes time to get into."""
        if self.what != "pose" or self.pose is None:
            return False
        flows = bool(self.compound) or self.pose.family == "flow transition"
        if breaths is not None:  # whatever a breath takes
            return breaths >= (SETTLED_FROM_BREATHS if flows else HELD_FROM_BREATHS)
        return seconds >= (SETTLED_FROM_S if flows else HELD_FROM_S)


TRANSITION = LineTime("between", "into the next pose")
LEFT_OVER = LineTime("pause", "time left over")


def line_of(element: Element, manner: Manner, poses: PoseTable) -> LineTime:
    """Give what a line of a plan takes in a section taken in this manner."""
    return _pose_line(element, manner, poses) if element.what == "pose" else _still_line(element)


def compound_breaths(compound: tuple[CompoundStep, ...], *, no_hold: bool) -> float:
    """Full breaths of one performance of a compound: its half-breaths, and the holds on top."""
    return sum(0.5 + (0.0 if no_hold else step.hold_breaths) for step in compound)


def _pose_line(element: Element, manner: Manner, poses: PoseTable) -> LineTime:
    pose = poses.get(element.pose_id or "")
    compound = poses.compound(pose.id)
    counted = element.length is not None or element.times is not None
    flows = bool(compound) or pose.family == "flow transition"
    times = element.times or 1
    once = element.length or _usual_length(element, pose, compound, manner)
    return LineTime(
        what=element.what,
        name=element.name,
        element=element,
        pose=pose,
        compound=compound,
        times=times,
        length=once if times == 1 else _times(once, times),
        shares="no" if counted else "if it must" if flows else "yes",
        may_be_held=not compound and element.times is None,
        is_stated=element.length is not None,
        has_wishes=element.wishes != NO_WISHES,
        has_terms=_has_terms(element),
    )


def _usual_length(element: Element, pose: Pose, compound: tuple[CompoundStep, ...], manner: Manner) -> Length:
    """Give one repetition without a length: as counted, else the usual hold."""
    if compound:
        return _exactly("breaths", compound_breaths(compound, no_hold=element.no_hold))
    if element.times is not None and pose.rep_breaths is not None:
        return _exactly("breaths", pose.rep_breaths)
    if element.times is not None and element.times >= MOVED_FROM_TIMES:
        return _exactly("breaths", 1.0)
    if element.times is not None and element.times > 1:
        return _exactly("breaths", min(manner.usual_breaths(pose), MOST_HELD_EACH))
    if manner.stays_long_in(pose):
        return _exactly("seconds", manner.stay_s or 0.0)
    return _exactly("breaths", manner.usual_breaths(pose))


def _still_line(element: Element) -> LineTime:
    """Talk, a pause, silence, a gap; a bell or song takes no time."""
    gap = element.what == "gap"
    takes_time = element.what not in ("bell", "song")
    return LineTime(
        what=element.what,
        name=element.name,
        element=element,
        times=element.times or 1,
        length=_times(element.length or _exactly("seconds", _usual_s(element)), element.times if gap else 1)
        if takes_time
        else NO_TIME,
        shares="yes" if gap and element.length is None else "no",
        has_wishes=element.wishes != NO_WISHES,
        comes_once=not (element.every_time or gap),
        has_terms=_has_terms(element),
    )


def _has_terms(element: Element) -> bool:
    rounds = element.from_round > 1 or element.to_round or element.last_round
    return bool(element.optional or rounds or element.side or element.once)


def _usual_s(element: Element) -> float:
    if element.what == "say":
        return max(LEAST_TALK_S, len(element.name.split()) * 60.0 / SPOKEN_WORDS_A_MINUTE)
    return USUAL_SILENCE_S if element.what == "silence" else USUAL_PAUSE_S


def _exactly(unit: Literal["breaths", "seconds"], count: float) -> Length:
    return Length(unit, count, count, count)


def _times(once: Length, times: int | None) -> Length:
    times = times or 1
    return Length(once.unit, times * once.likely, times * once.shortest, times * once.longest)
