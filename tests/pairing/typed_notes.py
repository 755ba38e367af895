"""Notes as they are typed, with the seconds that each line may mean over all its rounds and sides."""

from pairing.effort.timetable import build_timetable
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan

Meant = tuple[str, float, float]  # a line, and the least and the most seconds of it
NO_TIME = 0.0, 0.0
BLANK = "", 0.0, 0.0
NEAR_S = 1.0


def note(title: str, *lines: Meant) -> tuple[str, tuple[Meant, ...]]:
    """What stands above the lines, one line or several, and the lines."""
    return title, lines


def amiss(title: str, lines: tuple[Meant, ...]) -> list[tuple[str, float]]:
    """The lines that take less or more than they may, with the seconds they take."""
    steps = build_timetable(read_plan("\n".join([title, *(text for text, _, _ in lines)])), pose_table()).steps
    first = 2 + title.count("\n")
    spent = [sum(step.end_s - step.start_s for step in steps if step.line == at + first) for at in range(len(lines))]
    return [
        (text, took)
        for (text, lo, hi), took in zip(lines, spent, strict=True)
        if not lo - NEAR_S <= took <= hi + NEAR_S
    ]
