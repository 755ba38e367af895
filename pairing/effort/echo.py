"""Every line of a note with when it starts, how long it takes, and what it was taken for."""

from collections.abc import Iterable
from dataclasses import dataclass

from pairing.model import Plan, Step, Timetable


@dataclass(frozen=True, slots=True)
class LineSpan:
    """A line of a note in its class; a line that takes no time has no start."""

    line: int  # from 1
    text: str
    start_s: float | None
    length_s: float  # over all rounds and sides
    poses: tuple[str, ...]  # ids
    says: str
    sure: bool
    answers: tuple[str, ...]  # rewrites of a line that isn't sure


def echo_of(plan: Plan, timetable: Timetable) -> tuple[LineSpan, ...]:
    """Give all lines of a plan's note that aren't blank, in order."""
    steps = _by_line(timetable.steps)
    return tuple(
        LineSpan(
            read.line,
            read.text,
            steps[read.line][0].start_s if read.line in steps else None,
            sum(step.end_s - step.start_s for step in steps.get(read.line, ())),
            tuple(dict.fromkeys(step.pose_id for step in steps.get(read.line, ()) if step.pose_id)),
            read.says,
            read.sure,
            read.answers,
        )
        for read in plan.lines
    )


def _by_line(steps: Iterable[Step]) -> dict[int, list[Step]]:
    found: dict[int, list[Step]] = {}
    for step in steps:
        found.setdefault(step.told_by, []).append(step)
    return found
