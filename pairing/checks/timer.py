"""How long a class takes after one change, without timing again what the change doesn't touch."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from pairing.checks.remedies import PlanChange
from pairing.effort.line import LineTime
from pairing.effort.manner import told_style
from pairing.effort.timetable import available_s, class_seconds
from pairing.errors import PlanError
from pairing.model import Element, Group, Plan, Section
from pairing.plan.edit import apply_edits
from pairing.plan.poses import PoseTable
from pairing.plan.read import read_plan


@dataclass(frozen=True, slots=True)
class Timer:
    """Times a plan and its changes at the likely pace."""

    plan: Plan
    poses: PoseTable
    lines: dict[int, LineTime]  # those timed so far
    least_s: tuple[float, ...]  # of each section, what is left of the slot not counted; () where sections depend
    open_ended: tuple[bool, ...]  # which sections take what is left

    @classmethod
    def of(cls, plan: Plan, poses: PoseTable) -> "Timer":
        """Time a plan's sections, each alone where no section depends on another."""
        known = poses.with_own(plan.own_poses) if plan.own_poses else poses
        plan = replace(plan, style=told_style(plan).style.name)  # a change of a part doesn't make it another class
        timer = cls(plan, known, {}, (), tuple(map(_is_open_ended, plan.sections)))
        if _depends(plan):
            return timer
        return replace(timer, least_s=tuple(timer._alone_s(s, at > 0) for at, s in enumerate(plan.sections)))

    def seconds(self, change: PlanChange | None = None) -> tuple[float, float] | None:
        """Length of the class after a change, stretched to the slot where the plan says so, and at its least.

        None where the plan can't be read after the change: another part of it counts on what was changed.
        """
        if not self.least_s:
            after = self._after(change) if change else self.plan
            return self._whole(after) if after else None
        least_s, open_ended = sum(self.least_s), any(self.open_ended)
        if change:
            section = change.changed
            alone_s = self._alone_s(section, change.section > 0) if section else 0.0
            least_s += alone_s - self.least_s[change.section]
            others = (*self.open_ended[: change.section], *self.open_ended[change.section + 1 :])
            open_ended = any(others) or (section is not None and _is_open_ended(section))
        available = available_s(self.plan)
        return (max(least_s, available) if available is not None and open_ended else least_s), least_s

    def _after(self, change: PlanChange) -> Plan | None:
        """The plan after a change; where sections are repeated elsewhere, only its text knows all that follows."""
        if not any(_any_in(section, lambda group: bool(group.repeats)) for section in self.plan.sections):
            return change.plan(self.plan)
        try:
            after = read_plan(apply_edits(self.plan.text, change.edits), file=self.plan.file)
            return replace(after, style=self.plan.style)
        except PlanError:
            return None

    def _whole(self, plan: Plan) -> tuple[float, float]:
        seconds = [class_seconds(plan, self.poses, stretched=way, lines=self.lines) for way in (True, False)]
        return seconds[0], seconds[1]

    def _alone_s(self, section: Section, follows: bool) -> float:
        alone = replace(self.plan, sections=(section,))
        return class_seconds(alone, self.poses, stretched=False, lines=self.lines, follows=follows)


def _depends(plan: Plan) -> bool:
    """Say whether a section repeats another, or a transition may lie between two."""
    return plan.between_s is not None or any(
        _any_in(s, lambda g: bool(g.repeats or g.between_s)) for s in plan.sections
    )


def _is_open_ended(section: Section) -> bool:
    return _any_in(section, lambda group: group.what_is_left)


def _any_in(part: Element | Group, holds: Callable[[Group], bool]) -> bool:
    return isinstance(part, Group) and (holds(part) or any(_any_in(inner, holds) for inner in part.parts))
