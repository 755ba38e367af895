"""A plan walked through, round by round and side by side: every stretch of time in order, in seconds.

A full breath is in and out. Quicker rounds shorten what is counted in breaths, never what is given in seconds. In
rounds and sides a pose comes each time; talk, pauses, silence, bells and songs come once unless they say "every time".
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Literal

from pairing.constants import (
    HELD_FROM_BREATHS,
    HELD_FROM_S,
    LEAST_TALK_S,
    LONGEST_CLASS_S,
    SPOKEN_WORDS_A_MINUTE,
    USUAL_BREATH_S,
    USUAL_PAUSE_S,
    USUAL_SILENCE_S,
)
from pairing.effort.wishes import inside
from pairing.errors import PlanError
from pairing.model import Element, Group, Length, Plan, Side, Wishes
from pairing.plan.poses import CompoundStep, Pose, PoseTable

_MOST_STRETCHES = 20_000  # a class of a day at a move every 4 s
_OTHER: dict[Side, Side] = {"right": "left", "left": "right"}
_COME_ONCE = ("say", "pause", "silence", "bell", "song")


@dataclass(frozen=True, slots=True)
class Pace:
    """The assumptions under which a plan is timed."""

    name: Literal["likely", "shortest", "longest"] = "likely"  # which end of "3-5 breaths" is taken
    breath: float = 1.0  # factor on the seconds of every breath
    options: bool = True  # optional lines and groups are done


@dataclass(slots=True)
class Stretch:
    """One stretch of the class; `seconds` may still change where lines share a given number of minutes."""

    what: str
    name: str
    seconds: float
    section: int
    passage: tuple[int, ...]  # the same for all of one round on one side
    round: int
    side: Side | None  # of the passage
    wishes: Wishes
    breath_s: float
    pace: float = 1.0  # of this round, 1.0 in the first
    element: Element | None = None
    pose: Pose | None = None
    compound: tuple[CompoundStep, ...] = ()
    pose_side: Side | None = None
    breaths: float | None = None
    times: int = 1
    optional: bool = False
    shares: Literal["no", "if it must", "yes"] = "no"  # in the minutes its group is given
    held: bool = False


@dataclass(frozen=True, slots=True)
class Spread:
    """Stretches first .. last - 1 that fill a length of their own; the last one is the time left over."""

    group: Group
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class _Here:
    """What holds at a place of the plan while it is walked through."""

    section: int
    wishes: Wishes
    breath_s: float
    between_s: float
    pace: float = 1.0
    round: int = 1
    rounds: int = 1
    side: Side | None = None
    first_side: Side = "right"
    passage: tuple[int, ...] = ()
    origin: tuple[int, ...] = ()  # lines of the "repeat" that led here
    optional: bool = False
    spread: bool = False  # inside a group whose lines share its minutes


@dataclass(slots=True)
class Walk:
    """All stretches of a plan at one pace, and which of them have to fill given minutes, innermost first."""

    plan: Plan
    poses: PoseTable
    pace: Pace
    stretches: list[Stretch] = field(default_factory=list)
    spreads: list[Spread] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)  # liberties taken on the way
    _named: dict[str, Group] = field(default_factory=dict)
    _done: set[tuple[object, ...]] = field(default_factory=set)
    _passes: int = 0

    @classmethod
    def through(cls, plan: Plan, poses: PoseTable, pace: Pace) -> "Walk":
        """Walk through the whole plan.

        Raises:
            PlanError: the class is longer than a day.
        """
        walk = cls(plan, poses.with_own(plan.own_poses) if plan.own_poses else poses, pace)
        breath_s = (plan.breath_s or USUAL_BREATH_S) * pace.breath
        for index, section in enumerate(plan.sections):
            walk._group(section, _Here(index, plan.wishes, breath_s, plan.between_s or 0.0))
        return walk

    def seconds(self) -> float:
        """Length of the class."""
        return sum(stretch.seconds for stretch in self.stretches)

    def length_s(self, length: Length, breath_s: float) -> float:
        """Seconds of a length as typed, at this walk's end of its range."""
        return self.count(length) * (breath_s if length.unit == "breaths" else 1.0)

    def count(self, length: Length) -> float:
        """The length in its own unit, at this walk's end of its range."""
        return {"likely": length.likely, "shortest": length.shortest, "longest": length.longest}[self.pace.name]

    # ---- groups --------------------------------------------------------------------------------------------------

    def _group(self, written: Group, outer: _Here) -> None:
        if written.optional and not self.pace.options:
            return
        group = self._resolved(written)
        here = self._entered(group, outer, repeated=written.repeats is not None)
        first = len(self.stretches)
        self._laps_of(group, here)
        if group.minutes is not None:
            self._repeat_to_fill(group, here, first)
        if group.minutes is not None or group.what_is_left:
            self.stretches.append(self._time_left_over(here))
            self.spreads.append(Spread(group, first, len(self.stretches)))
        self._named[_key(written.name)] = group

    def _laps_of(self, group: Group, here: _Here) -> None:
        for lap in self._laps(group, here):
            self._pass(group, lap)

    def _repeat_to_fill(self, group: Group, here: _Here, first: int) -> None:
        """Do salutations and transitions that stand alone in a group of given minutes as often as they fit in."""
        lap = self.stretches[first:]
        lap_s = sum(stretch.seconds for stretch in lap)
        if group.rounds > 1 or lap_s <= 0.0 or any(stretch.shares != "if it must" for stretch in lap):
            return
        assert group.minutes is not None
        rounds = int(self.length_s(group.minutes, here.breath_s) / lap_s + 0.5)
        if rounds > 1:
            del self.stretches[first:]
            self._laps_of(replace(group, rounds=rounds), here)
            self.notes.append(f"{group.name}: {rounds} rounds fill its minutes.")

    def _time_left_over(self, here: _Here) -> Stretch:
        """An empty stretch at the end of a group of given minutes, for what its lines don't fill."""
        return self._plain("pause", "time left over", 0.0, here)

    @staticmethod
    def _plain(what: str, name: str, seconds: float, here: _Here) -> Stretch:
        """A stretch that no line of the plan stands for."""
        return Stretch(
            what, name, seconds, here.section, here.passage, here.round, here.side, here.wishes, here.breath_s
        )

    def _resolved(self, group: Group) -> Group:
        """Put the parts of the earlier group in for "repeat NAME"; what the repetition says itself goes first."""
        earlier = self._named.get(_key(group.repeats)) if group.repeats else None
        if earlier is None:
            return group
        own_laps = group.rounds > 1
        return replace(
            group,
            parts=group.parts or earlier.parts,
            rounds=group.rounds if own_laps else earlier.rounds,
            quicker=group.quicker if own_laps or group.quicker else earlier.quicker,
            both_sides=group.both_sides or earlier.both_sides,
            first_side=group.first_side if group.both_sides else earlier.first_side,
            minutes=group.minutes or (None if own_laps or group.what_is_left else earlier.minutes),
            breath_s=group.breath_s or earlier.breath_s,
            between_s=earlier.between_s if group.between_s is None else group.between_s,
        )

    def _entered(self, group: Group, outer: _Here, *, repeated: bool) -> _Here:
        breath_s = outer.breath_s if group.breath_s is None else group.breath_s * outer.pace * self.pace.breath
        return replace(
            outer,
            wishes=inside(outer.wishes, group.wishes),
            breath_s=breath_s,
            between_s=outer.between_s if group.between_s is None else group.between_s,
            origin=(*outer.origin, group.place.line) if repeated else outer.origin,
            optional=outer.optional or group.optional,
            spread=outer.spread or group.minutes is not None or group.what_is_left,
        )

    def _laps(self, group: Group, here: _Here) -> Iterator[_Here]:
        """Give the rounds of a group, the sides still together."""
        if group.rounds == 1:
            yield here
            return
        for number in range(1, group.rounds + 1):
            pace = (1.0 - group.quicker) ** (number - 1)
            yield replace(
                here, round=number, rounds=group.rounds, pace=here.pace * pace, breath_s=here.breath_s * pace,
                passage=self._new_passage(here),
            )  # fmt: skip

    def _pass(self, group: Group, lap: _Here) -> None:
        if not group.both_sides or lap.side:  # inside one side of a section there is that side only
            self._parts(group, lap)
            return
        sides = (group.first_side, _OTHER[group.first_side])
        for side, afterwards in zip(sides, ("between sides", "after both sides"), strict=True):
            here = replace(lap, side=side, first_side=sides[0], passage=self._new_passage(lap))
            self._parts(group, here, leave_out=("between sides", "after both sides"))
            alone = replace(lap, side=None, passage=self._new_passage(lap))
            self._parts(group, alone, only=afterwards)

    def _new_passage(self, here: _Here) -> tuple[int, ...]:
        self._passes += 1
        return (*here.passage, self._passes)

    def _parts(self, group: Group, here: _Here, *, leave_out: tuple[str, ...] = (), only: str | None = None) -> None:
        for part in group.parts:
            once = part.once if isinstance(part, Element) else None
            if once in leave_out or (only is not None and once != only):
                continue
            if isinstance(part, Group):
                self._group(part, here)
            elif self._is_due(part, here, placed=only is not None):
                self._element(part, here)

    # ---- lines ---------------------------------------------------------------------------------------------------

    def _is_due(self, element: Element, here: _Here, *, placed: bool) -> bool:
        """Say whether the line is done in this round, on this side."""
        if element.optional and not self.pace.options:
            return False
        if here.round < element.from_round or here.round > (element.to_round or here.round):
            return False
        if element.last_round and (element.last_round == "only") != (here.round == here.rounds):
            return False
        if element.side and here.side and element.side != here.side:
            return False
        if element.once and here.side and not placed:  # inside a group of a section that has both sides
            return (here.side == here.first_side) == (element.once == "between sides")
        return True

    def _element(self, element: Element, here: _Here) -> None:
        if element.what in _COME_ONCE and not element.every_time:
            key = (here.section, *here.origin, id(element))
            if key in self._done:
                return
            self._done.add(key)
        if element.what == "pose":
            self._pose(element, here)
        else:
            self._add(self._still(element, here), here)

    def _pose(self, element: Element, here: _Here) -> None:
        pose = self.poses.get(element.pose_id or "")
        stretch = self._moved(element, pose, here)
        if element.each_side:
            sides: tuple[Side | None, ...] = (here.first_side, _OTHER[here.first_side])
        else:
            sides = (element.side or (here.side if pose.sided else None),)
        for side in sides:
            self._add(replace(stretch, pose_side=side), here)

    def _moved(self, element: Element, pose: Pose, here: _Here) -> Stretch:
        compound = self.poses.compound(pose.id)
        breaths, seconds = self._time_of_pose(element, pose, compound, here)
        counted = element.length is not None or element.times is not None
        moving = bool(compound) or element.times is not None
        long_enough = seconds >= HELD_FROM_S or (breaths or 0.0) >= HELD_FROM_BREATHS
        return self._stretch(
            element, here, seconds=seconds, pose=pose, compound=compound, breaths=breaths,
            times=element.times or 1,
            shares="no" if counted else "if it must" if compound or pose.family == "flow transition" else "yes",
            held=not moving and (long_enough or (here.spread and not counted)),
        )  # fmt: skip

    def _time_of_pose(
        self, element: Element, pose: Pose, compound: tuple[CompoundStep, ...], here: _Here
    ) -> tuple[float | None, float]:
        """Give full breaths (None: the line is in seconds) and seconds, all repetitions together."""
        times = element.times or 1
        length = element.length
        if length is not None and length.unit == "seconds":
            return None, self.count(length) * times
        if length is not None:
            breaths = self.count(length)
        elif compound:
            breaths = compound_breaths(compound, no_hold=element.no_hold)
        elif element.times is not None and pose.rep_breaths is not None:
            breaths = pose.rep_breaths
        else:
            breaths = pose.hold_breaths_flow if self.plan.holds == "flow" else pose.hold_breaths_slow
        return breaths * times, breaths * times * here.breath_s

    def _still(self, element: Element, here: _Here) -> Stretch:
        if element.what in ("bell", "song"):
            return self._stretch(element, here, seconds=0.0, times=element.times or 1)
        if element.length is not None:
            seconds = self.length_s(element.length, here.breath_s)
            breaths = self.count(element.length) if element.length.unit == "breaths" else None
            return self._stretch(element, here, seconds=seconds, breaths=breaths)
        return self._stretch(element, here, seconds=_usual_s(element))

    def _stretch(self, element: Element, here: _Here, *, seconds: float, **more: object) -> Stretch:
        return Stretch(
            what=element.what, name=element.name, seconds=seconds, section=here.section, passage=here.passage,
            round=here.round, side=here.side, wishes=inside(here.wishes, element.wishes), breath_s=here.breath_s,
            pace=here.pace, element=element, optional=here.optional or element.optional, **more,  # type: ignore[arg-type]
        )  # fmt: skip

    def _add(self, stretch: Stretch, here: _Here) -> None:
        if here.between_s > 0.0 and stretch.held:
            self._add_transition(stretch, here)
        self.stretches.append(stretch)
        if len(self.stretches) > _MOST_STRETCHES or stretch.seconds > LONGEST_CLASS_S:
            raise PlanError("the class is longer than a day.", (), where=self.plan.file or None)

    def _add_transition(self, stretch: Stretch, here: _Here) -> None:
        before = next((s for s in reversed(self.stretches) if s.what not in ("bell", "song")), None)
        if before is None or not before.held:
            return
        alone = before.passage != stretch.passage  # then it belongs to neither side
        passage, side = ((*here.passage, -1), None) if alone else (here.passage, here.side)
        there = replace(here, passage=passage, side=side)
        self.stretches.append(self._plain("between", "into the next pose", here.between_s, there))


def compound_breaths(compound: tuple[CompoundStep, ...], *, no_hold: bool) -> float:
    """Full breaths of one performance of a compound: its half-breaths, and the holds on top."""
    return sum(0.5 + (0.0 if no_hold else step.hold_breaths) for step in compound)


def _usual_s(element: Element) -> float:
    if element.what == "say":
        return max(LEAST_TALK_S, len(element.name.split()) * 60.0 / SPOKEN_WORDS_A_MINUTE)
    return USUAL_PAUSE_S if element.what == "pause" else USUAL_SILENCE_S


def _key(name: str) -> str:
    return " ".join(name.casefold().split())
