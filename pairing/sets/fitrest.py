"""A rest that is a little too long for the music that is fit for it: more silence is better than unfit music."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from pairing.alignment import frame as frames
from pairing.alignment.frame import Frame
from pairing.alignment.options import PinWish
from pairing.alignment.sedative import is_fit
from pairing.alignment.task import Task
from pairing.errors import NotEnoughMusic
from pairing.model import Finding, Rest, SetList, Where
from pairing.solve.problem import Answer

MOST_SILENCE_S = 10  # that a rest may end in unasked; editorial
Solved = tuple[Task, Answer, Sequence[PinWish]]


def solved(shape: Frame, solve: Callable[[Frame], Solved]) -> Solved:
    """A class solved; where its rest gets unfit music for want of some seconds, with so many more of silence.

    Raises:
        NotEnoughMusic: as `solve` does for the class as it is.
    """
    first = solve(shape)
    more_s = _missing(*first[:2])
    if shape.rest is None or not more_s:
        return first
    try:
        second = solve(frames.with_rest(shape, replace(shape.rest, silence_s=shape.rest.silence_s + more_s)))
    except NotEnoughMusic:
        return first
    return first if _has_unfit(*second[:2]) else second


def told(asked: Rest | None, made: SetList) -> tuple[Finding, ...]:
    """That a rest ends in more silence than was asked for."""
    if asked is None or made.rest is None or made.rest.silence_s <= asked.silence_s:
        return ()
    more_s = made.rest.silence_s - asked.silence_s
    name = next(each.name for each in made.sections if each.start_s <= asked.start_s + 0.01 < each.end_s)
    return (
        Finding(
            "note",
            "rest-ends-sooner",
            Where(section=name),
            f"Its music ends {more_s:.0f} s earlier than planned: nothing calm enough lasts longer.",
        ),
    )


def _missing(task: Task, answer: Answer) -> int:
    """Seconds by which the longest fit track is too short for a rest with unfit music; 0: that isn't why."""
    if not _has_unfit(task, answer):
        return 0
    problem = task.problem
    first, last = _span(task)
    longest = [
        problem.leave_at[problem.leave_offset[n + 1] - 1] - problem.enter_at[problem.enter_offset[n]]
        for n, track in enumerate(task.tracks)
        if np.isfinite(problem.track_cost[n]) and _has_cuts(task, n) and is_fit(track)
    ]
    missing = last - first - int(max(longest, default=0))
    return missing if 0 < missing <= MOST_SILENCE_S else 0


def _has_cuts(task: Task, n: int) -> bool:
    problem = task.problem
    return all(offset[n + 1] > offset[n] for offset in (problem.enter_offset, problem.leave_offset))


def _has_unfit(task: Task, answer: Answer) -> bool:
    if task.frame.rest is None:
        return False
    first, last = _span(task)
    return any(first <= pick.start < last and not is_fit(task.tracks[pick.track]) for pick in answer.chosen)


def _span(task: Task) -> tuple[int, int]:
    """The grid seconds of the rest that want music."""
    rest = task.frame.rest
    assert rest is not None
    return task.frame.grid(rest.start_s), task.frame.grid(rest.end_s - rest.silence_s)
