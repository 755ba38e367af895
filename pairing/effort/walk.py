"""A plan walked through, round by round and side by side: every stretch of time in order, in seconds.

A full breath is in and out. Quicker rounds shorten what is counted in breaths, never what is given in seconds. In
rounds and sides a pose comes each time; talk, pauses, silence, bells and songs come once unless they say "every time".
Where the note doesn't say what passes between poses, the style of the class does: between any two things that one
settles in, but not inside given minutes, which hold all that happens in them. In the first of several rounds, what is
moved through takes longer: it is taught.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from pairing.constants import HELD_FROM_BREATHS, LONGEST_CLASS_S
from pairing.effort.line import LEFT_OVER, TRANSITION, LineTime, Pace, Shares, line_of
from pairing.effort.manner import Manner, manners
from pairing.effort.placing import Placing, placing_of
from pairing.effort.wishes import NO_WISHES, from_the_top, handed_on, inside, lifts_a_rest
from pairing.errors import PlanError
from pairing.model import Element, Group, Plan, Section, Side, Wishes
from pairing.plan.poses import PoseTable

_MOST_STRETCHES = 20_000  # a class of a day at a move every 4 s
_OTHER: dict[Side, Side] = {"right": "left", "left": "right"}
_AFTER_A_SIDE = ("between sides", "after both sides")


class Here(NamedTuple):
    """What holds at a place of the plan while it is walked through."""

    section: int
    wishes: Wishes
    breath_s: float  # of a full breath, in this round
    manner: Manner
    between_s: float | None = None  # stated: from one held pose into the next
    first_pass: float = 1.0  # how much longer what is moved through takes here
    pace: float = 1.0  # of this round, 1.0 in the first
    round: int = 1
    rounds: int = 1
    side: Side | None = None
    first_side: Side = "right"
    passage: tuple[int, ...] = ()  # the same for all of one round on one side
    origin: tuple[int, ...] = ()  # lines of the "repeat" that led here
    optional: bool = False
    spread: bool = False  # inside a group whose lines share its minutes


@dataclass(slots=True)
class TimedStretch:
    """One stretch of the class; `seconds` may still change where lines share a given number of minutes."""

    line: LineTime
    here: Here
    seconds: float
    breaths: float | None = None
    pose_side: Side | None = None
    shares: Shares = "no"
    held: bool = False
    wishes: Wishes = field(default_factory=Wishes)


@dataclass(frozen=True, slots=True)
class Spread:
    """Stretches first .. last - 1 that fill a length of their own; the last one is the time left over."""

    group: Group
    first: int
    last: int


@dataclass(slots=True)
class Walk:
    """All stretches of a plan at one pace, and which of them have to fill given minutes, innermost first."""

    plan: Plan
    poses: PoseTable
    pace: Pace
    lines: dict[int, LineTime]  # by id of the element, which the plan keeps alive
    stretches: list[TimedStretch] = field(default_factory=list)
    spreads: list[Spread] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)  # liberties taken on the way
    _repeated: frozenset[str] = frozenset()  # names of what is done again later
    _follows: bool = False  # something comes before the first section
    _done: set[tuple[int, ...]] = field(default_factory=set)
    _placings: dict[int, Placing] = field(default_factory=dict)  # by id of the group, which `_placed` keeps alive
    _placed: list[Group] = field(default_factory=list)
    _passes: int = 0

    @classmethod
    def through(
        cls,
        plan: Plan,
        poses: PoseTable,
        pace: Pace,
        lines: dict[int, LineTime] | None = None,
        *,
        follows: bool = False,
    ) -> "Walk":
        """Walk through the whole plan.

        Args:
            plan: its own poses have to be in `poses`.
            poses: the pose table.
            pace: the assumptions.
            lines: those that were timed in another walk through the same plan; more are added.
            follows: whether another section comes before the first.
        Raises:
            PlanError: the class is longer than a day.
        """
        walk = cls(plan, poses, pace, {} if lines is None else lines, _follows=follows)
        walk._repeated = frozenset(_repeated_names(plan.sections))
        for index, (section, manner) in enumerate(zip(plan.sections, manners(plan), strict=True)):
            wishes = handed_on(from_the_top(plan.wishes, section.kind))
            if lifts_a_rest(plan.wishes, section.kind) and section.wishes == NO_WISHES:
                walk.notes.append(f"{section.name}: the music asked for at the top doesn't count in the closing rest")
            walk._group(section, Here(index, wishes, manner.breath_s * pace.breath, manner, manner.between_s))
        return walk

    def seconds(self) -> float:
        """Length of the class."""
        return sum(stretch.seconds for stretch in self.stretches)

    # ---- groups --------------------------------------------------------------------------------------------------

    def _group(self, group: Group, outer: Here) -> None:
        if group.optional and not self.pace.options:
            return
        here = self._entered(group, outer)
        first = len(self.stretches)
        self._laps_of(group, here)
        if group.minutes is not None:
            self._repeat_to_fill(group, here, first)
        if not isinstance(group, Section):
            self._hand_to_first(group.wishes, first)
        if group.minutes is not None or group.what_is_left:
            self.stretches.append(TimedStretch(LEFT_OVER, here, 0.0, wishes=here.wishes))
            self.spreads.append(Spread(group, first, len(self.stretches)))

    def _hand_to_first(self, wishes: Wishes, first: int) -> None:
        """What the music shall do as a group begins is asked of the first thing done in it; sections keep it."""
        begins = next(
            (at for at in range(first, len(self.stretches)) if self.stretches[at].line is not TRANSITION), None
        )
        if begins is not None and (wishes.rises_into or wishes.breaks_at):
            own = self.stretches[begins]
            met = replace(
                own.wishes,
                rises_into=own.wishes.rises_into or wishes.rises_into,
                breaks_at=own.wishes.breaks_at or wishes.breaks_at,
            )
            self.stretches[begins] = replace(own, wishes=met)

    def _entered(self, group: Group, outer: Here) -> Here:
        if group.name in self._repeated and not group.repeats and group.breath_s is None and group.rounds == 1:
            first = outer.manner.first_breath
            outer = outer._replace(first_pass=outer.manner.first_pass, breath_s=outer.breath_s * first)
        breath_s = outer.breath_s if group.breath_s is None else group.breath_s * outer.pace * self.pace.breath
        return outer._replace(
            wishes=handed_on(inside(outer.wishes, group.wishes)),
            breath_s=breath_s,
            between_s=outer.between_s if group.between_s is None else group.between_s,
            origin=(*outer.origin, group.place.line) if group.repeats else outer.origin,
            optional=outer.optional or group.optional,
            spread=outer.spread or group.minutes is not None or group.what_is_left,
        )

    def _repeat_to_fill(self, group: Group, here: Here, first: int) -> None:
        """Do salutations and transitions that stand alone in a group of given minutes as often as they fit in."""
        lap = self.stretches[first:]
        lap_s = sum(stretch.seconds for stretch in lap)
        if group.minutes is None or group.rounds > 1 or lap_s <= 0.0:
            return
        rounds = int(self.pace.seconds(group.minutes, here.breath_s) / lap_s + 0.5)
        if rounds > 1 and all(stretch.shares == "if it must" for stretch in lap):
            del self.stretches[first:]
            self._laps_of(replace(group, rounds=rounds), here)
            self.notes.append(f"{group.name}: {rounds} rounds fill its minutes")

    def _laps_of(self, group: Group, here: Here) -> None:
        for lap in self._laps(group, here):
            if group.both_sides and not lap.side:  # inside one side of a section there is that side only
                self._both_sides(group, lap)
            else:
                self._parts(group, lap)

    def _laps(self, group: Group, here: Here) -> Iterator[Here]:
        """Give the rounds of a group, the sides still together."""
        if group.rounds == 1:
            yield here
            return
        stated = group.quicker > 0.0 or group.breath_s is not None
        for number in range(1, group.rounds + 1):
            pace = (1.0 - group.quicker) ** (number - 1)
            taught = number == 1 and not stated and not group.repeats
            yield here._replace(
                round=number,
                rounds=group.rounds,
                pace=here.pace * pace,
                breath_s=here.breath_s * pace * (here.manner.first_breath if taught else 1.0),
                first_pass=here.manner.first_pass if taught else 1.0,
                passage=self._new_passage(here),
            )

    def _both_sides(self, group: Group, lap: Here) -> None:
        sides = (group.first_side, _OTHER[group.first_side])
        for side, afterwards in zip(sides, _AFTER_A_SIDE, strict=True):
            here = lap._replace(side=side, first_side=sides[0], passage=self._new_passage(lap))
            self._parts(group, here, leave_out=_AFTER_A_SIDE)
            if any(self._waits_for(group, part) == afterwards for part in group.parts):
                self._parts(group, lap._replace(passage=self._new_passage(lap)), only=afterwards)

    def _new_passage(self, here: Here) -> tuple[int, ...]:
        self._passes += 1
        return (*here.passage, self._passes)

    def _parts(self, group: Group, here: Here, *, leave_out: tuple[str, ...] = (), only: str | None = None) -> None:
        placing = self._placing(group)
        for part in placing.parts:
            if isinstance(part, Group):
                if only is None:
                    self._group(part, here)
                continue
            line = self._line(part, here)
            waits = self._waits_for(group, part) if group.both_sides else part.once
            if line.has_terms or waits or only is not None:
                if waits in leave_out or (only is not None and waits != only):
                    continue
                if not self._is_due(part, here, placed=only is not None):
                    continue
            if id(part) in placing.in_the_last_round and here.round < here.rounds:
                continue
            self._element(line, part, here)

    def _placing(self, group: Group) -> Placing:
        placing = self._placings.get(id(group))
        if placing is None:
            placing = self._placings[id(group)] = placing_of(group)
            self._placed.append(group)
        return placing

    def _waits_for(self, group: Group, part: Element | Group) -> str | None:
        """After which side of a group with two sides a line comes; None where it belongs to a side."""
        if not isinstance(part, Element):
            return None
        return part.once or ("after both sides" if id(part) in self._placing(group).after_both_sides else None)

    def _line(self, element: Element, here: Here) -> LineTime:
        line = self.lines.get(id(element))
        if line is None:
            line = self.lines[id(element)] = line_of(element, here.manner, self.poses)
        return line

    # ---- lines ---------------------------------------------------------------------------------------------------

    def _is_due(self, element: Element, here: Here, *, placed: bool) -> bool:
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

    def _element(self, line: LineTime, element: Element, here: Here) -> None:
        if line.comes_once:
            key = (here.section, *here.origin, id(element))
            if key in self._done:
                return
            self._done.add(key)
        if element.each_side and here.side is None:  # inside one side of all, that side
            self._add(line, here, here.first_side)
            self._add(line, here, _OTHER[here.first_side])
        else:
            sided = line.pose is not None and line.pose.sided
            self._add(line, here, element.side or (here.side if sided else None))

    def _add(self, line: LineTime, here: Here, side: Side | None) -> None:
        count = self.pace.count(line.length)
        breaths = count if line.length.unit == "breaths" else None
        breath_s = here.breath_s * (here.manner.salute_s / here.manner.breath_s if line.compound else 1.0)
        seconds = (count if breaths is None else breaths * breath_s) * self._taught(line, here, breaths)
        held = line.is_held(seconds, breaths, spread=here.spread)
        self._get_into(line, here, seconds, breaths, held=held)
        wishes = inside(here.wishes, line.element.wishes) if line.has_wishes and line.element else here.wishes
        self.stretches.append(TimedStretch(line, here, seconds, breaths, side, line.shares, held, wishes))
        if len(self.stretches) > _MOST_STRETCHES or seconds > LONGEST_CLASS_S:
            raise PlanError("the class is longer than a day.", (), where=self.plan.file or None)

    def _taught(self, line: LineTime, here: Here, breaths: float | None) -> float:
        """How much longer the first pass takes: what is held keeps its breaths, a salutation is taught once."""
        if line.is_stated or breaths is None:
            return 1.0
        if line.compound and line.times > 1:
            return 1.0 + (here.manner.first_pass - 1.0) / line.times
        return here.first_pass if breaths < HELD_FROM_BREATHS or line.compound else 1.0

    def _get_into(self, line: LineTime, here: Here, seconds: float, breaths: float | None, *, held: bool) -> None:
        """Add the time it takes to get into what comes now: as stated, else as assumed where none is given away."""
        if here.between_s is not None:
            if held and here.between_s > 0.0:
                self._add_transition(here, here.between_s)
        elif here.manner.change_s > 0.0 and not here.spread and line.is_stayed_in(seconds, breaths):
            self._add_change(here)

    def _add_change(self, here: Here) -> None:
        before = next((s for s in reversed(self.stretches) if s.line.what not in ("bell", "song")), None)
        if before is None or before.here.section != here.section:  # what comes first in a section is always got into
            due = before is not None or self._follows
        else:
            due = before.line.is_stayed_in(before.seconds, before.breaths)
        if due:
            self._append_between(here, before, here.manner.change_s * self.pace.between)

    def _add_transition(self, here: Here, seconds: float) -> None:
        before = next((s for s in reversed(self.stretches) if s.line.what not in ("bell", "song")), None)
        if before is not None and before.held:
            self._append_between(here, before, seconds)

    def _append_between(self, here: Here, before: TimedStretch | None, seconds: float) -> None:
        if before is not None and before.here.passage != here.passage:  # then it belongs to neither side
            here = here._replace(passage=(*here.passage, -1), side=None)
        self.stretches.append(TimedStretch(TRANSITION, here, seconds, wishes=here.wishes))


def _repeated_names(parts: Iterable[Element | Group]) -> Iterator[str]:
    for part in parts:
        if isinstance(part, Group):
            if part.repeats:
                yield part.repeats
            yield from _repeated_names(part.parts)
