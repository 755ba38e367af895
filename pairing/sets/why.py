"""Why a pick is there, in a few words, and what the runner-up would have changed."""

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from pairing.alignment.cuts import plays_whole
from pairing.alignment.marks import is_favourite
from pairing.alignment.meetings import is_met
from pairing.alignment.sedative import judge
from pairing.alignment.task import Task
from pairing.model import Meets
from pairing.solve.problem import Chosen
from pairing.temper import livelier_by, temper

# Root mean squared error of a pick, and what it means; editorial.
CLOSENESS = ((0.06, "follows the class closely"), (0.12, "follows the class"), (np.inf, "follows the class loosely"))
FAR = 0.2  # a runner-up so far off is none
MEETS: Mapping[Meets, str] = MappingProxyType({"climax": "reaches its climax at", "break": "falls back at"})
RISE = 0.08  # difference of energy between the first and last third that is heard as a rise; editorial


def reason(task: Task, pick: Chosen, *, pinned: bool = False) -> str:
    """Why this track stands here: what it does and how well that meets the arc."""
    track = task.tracks[pick.track]
    heard = _heard(task, pick)
    error = _error(task, pick, heard)
    closeness = next(words for limit, words in CLOSENESS if error < limit)
    parts = [f"{temper(float(heard.mean()))}{_course(heard)}", closeness]
    if pinned:
        parts.insert(0, "pinned by you")
    elif is_favourite(track):
        parts.insert(0, "your favourite")
    if (pinned or is_favourite(track)) and error >= CLOSENESS[1][0]:
        parts[-1] = _apart(task, pick, heard)
    parts += met(task, pick)
    if _in_rest(task, pick):
        parts.append("suits a rest" if judge(track).fit else "doesn't suit a rest")
    if _is_whole(task, pick):
        parts.append("plays whole")
    return ", ".join(parts)


def met(task: Task, pick: Chosen) -> list[str]:
    """The moments of the class that a track meets, in words."""
    shape = task.tracks[pick.track].analysis.curves.shape
    said = []
    for moment in task.frame.moments:
        second = task.frame.grid(moment.at_s)
        if pick.start <= second < pick.end and is_met(moment, shape, pick.enter + second - pick.start):
            said.append(f'{MEETS[moment.what]} "{moment.name}"')
    return said


def _apart(task: Task, pick: Chosen, heard: np.ndarray) -> str:
    """How a track that was taken for another reason than its energy stands to what is asked for."""
    asked = task.problem.target[pick.start : pick.end]
    words = livelier_by(float(heard.mean()) - float(np.nanmean(asked)))
    return f"{words} than asked" if words else "follows the class only on the whole"


def runner_up(task: Task, pick: Chosen, other: Chosen) -> str:
    """What the next best track would have changed."""
    mine, others = _heard(task, pick), _heard(task, other)
    if _error(task, other, others) > FAR:
        return "no other track comes near"
    change = livelier_by(float(others.mean()) - float(mine.mean())) or "about as lively"
    return f'next best: "{task.tracks[other.track].title}", {change}'


def _heard(task: Task, pick: Chosen) -> np.ndarray:
    first = int(task.problem.offset[pick.track]) + pick.enter
    return task.problem.energy[first : first + pick.end - pick.start].astype(np.float64)


def _error(task: Task, pick: Chosen, heard: np.ndarray) -> float:
    """Root mean squared error of a pick."""
    return float(np.sqrt(np.mean((heard - task.problem.target[pick.start : pick.end]) ** 2)))


def _course(heard: np.ndarray) -> str:
    third = max(len(heard) // 3, 1)
    change = float(heard[-third:].mean() - heard[:third].mean())
    return "" if abs(change) < RISE else " and rising" if change > 0 else " and sinking"


def _in_rest(task: Task, pick: Chosen) -> bool:
    rest = task.frame.rest
    return rest is not None and rest.start_s - 1 < pick.start + task.frame.origin_s < rest.end_s


def _is_whole(task: Task, pick: Chosen) -> bool:
    analysis = task.tracks[pick.track].analysis
    return plays_whole(analysis, pick.enter, pick.enter + pick.end - pick.start)
