"""The figures of a set that only the solver knows: how near it comes to what is proven."""

from dataclasses import dataclass

from pairing.alignment.task import Task
from pairing.solve.bound import energy_bound
from pairing.solve.problem import Answer


@dataclass(frozen=True, slots=True)
class Figures:
    """The proven bounds of a set."""

    bound_rmse: float
    gap: float


def bounds(task: Task, answer: Answer) -> Figures:
    """The proven bounds of a solved problem."""
    gap = (answer.cost - answer.bound) / answer.bound if answer.bound > 0 else 0.0
    return Figures(float(energy_bound(task.problem, _in_class(task))), float(max(gap, 0.0)))


def _in_class(task: Task) -> slice:
    """The grid seconds of the class itself, without the music before and after it."""
    return slice(task.frame.grid(0.0), task.frame.grid(task.frame.class_s))
