"""How long a class takes after one change, without timing again what the change doesn't touch."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from pairing.checks.remedies import Change
from pairing.effort.timetable import available_s, class_seconds
from pairing.model import Element, Group, Plan, Section
from pairing.plan.poses import PoseTable


@dataclass(frozen=True, slots=True)
class Timer:
    """Times a plan and its changes at the likely pace."""

    plan: Plan
    poses: PoseTable
    least_s: tuple[float, ...]  # of each section, what is left of the slot not counted; () where sections depend

    @classmethod
    def of(cls, plan: Plan, poses: PoseTable) -> "Timer":
        """Time a plan's sections, each alone where no section depends on another."""
        known = poses.with_own(plan.own_poses) if plan.own_poses else poses
        if _depends(plan):
            return cls(plan, known, ())
        return cls(plan, known, tuple(_alone_s(plan, known, section) for section in plan.sections))

    def seconds(self, change: Change | None = None) -> tuple[float, float]:
        """Length of the class after a change, stretched to the slot where the plan says so, and at its least."""
        after = change.plan(self.plan) if change else self.plan
        if not self.least_s:
            return class_seconds(after, self.poses), class_seconds(after, self.poses, stretched=False)
        least_s = sum(self.least_s)
        if change:
            new_s = _alone_s(self.plan, self.poses, change.changed) if change.changed else 0.0
            least_s += new_s - self.least_s[change.section]
        available = available_s(self.plan)
        if available is None or not any(_is_open_ended(section) for section in after.sections):
            return least_s, least_s
        return max(least_s, available), least_s


def _alone_s(plan: Plan, poses: PoseTable, section: Section) -> float:
    return class_seconds(replace(plan, sections=(section,)), poses, stretched=False)


def _depends(plan: Plan) -> bool:
    """Say whether a section repeats another, or a transition may lie between two."""
    return plan.between_s is not None or any(
        _any_in(s, lambda g: bool(g.repeats or g.between_s)) for s in plan.sections
    )


def _is_open_ended(section: Section) -> bool:
    return _any_in(section, lambda group: group.what_is_left)


def _any_in(part: Element | Group, holds: Callable[[Group], bool]) -> bool:
    return isinstance(part, Group) and (holds(part) or any(_any_in(inner, holds) for inner in part.parts))
