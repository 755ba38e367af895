"""Prices of what is heard: the two terms that no single pick can know, brought into the cost of picks.

The worst window is at least any weighted mean of all windows, and the squared difference of two sides at least any of
its tangents, since both are convex. So each becomes a sum over class seconds, which is added to the cost of the picks
there; the bound stays one (a Lagrangian bound, as in prices). Weights and tangents follow the mean of the chains found.
"""

from dataclasses import dataclass, replace

import numpy as np

from audio.arrays import F32, F64
from pairing.solve.costs import WINDOW_S, played, squared_errors, stretches
from pairing.solve.graph import Graph, chosen
from pairing.solve.grid import Grid, phases
from pairing.solve.prices import least_chain, step
from pairing.solve.problem import Problem

PACE = 0.15  # share of the newest chain in the mean; editorial


@dataclass(frozen=True, slots=True, eq=False)
class HeardCost:
    """Cost of class second t at energy e: square[t] (e - target[t])² + slope[t] e; and a constant."""

    square: F64  # (T,)
    slope: F64  # (T,)
    constant: float


def matters(problem: Problem) -> bool:
    """Whether the objective has terms of what is heard."""
    return problem.weights.worst_window > 0.0 or (problem.weights.twin > 0.0 and bool(problem.twins))


def on_grid(laid: Grid, heard: HeardCost) -> Grid:
    """The grid with the costs of `heard` in it."""
    square, slope = _phases(laid, heard)
    return replace(laid, low=laid.low + square, high=laid.high + square, slope=slope)


def with_heard(problem: Problem, laid: Grid, graph: Graph, heard: HeardCost) -> Graph:
    """The graph with the costs of `heard` added to its picks.

    Args:
        laid: the grid of the graph, without those costs.
    """
    from pairing.solve import kernels

    picks = graph.picks
    place = problem.offset[graph.slot_track[picks.slot]].astype(np.int64) + picks.enter_s
    square, slope = _phases(laid, heard)
    nodes = np.flatnonzero((square != 0).any(axis=0) | (slope != 0).any(axis=0))
    first, last = np.searchsorted(nodes, picks.start), np.searchsorted(nodes, picks.end)
    some = first < last  # the others cost nothing, nor does what lies before the first node and after the last
    start, end = nodes[first[some]], nodes[last[some] - 1] + 1
    inside, extra = np.empty(len(start)), np.zeros(len(picks.cost))
    only = replace(laid, low=square, high=square, slope=slope, meet=laid.meet[:0], meet_cost=laid.meet_cost[:0])
    from_there = place[some] + (start - picks.start[some]) * laid.step
    kernels.measure(only.music, start, end - start, from_there, np.empty(kernels.LANES), inside)
    extra[some] = inside
    return replace(graph, picks=replace(picks, cost=picks.cost + extra))


def _phases(laid: Grid, heard: HeardCost) -> tuple[F32, F32]:
    square = phases(heard.square, laid.first, laid.step, laid.nodes)
    return square, phases(heard.slope, laid.first, laid.step, laid.nodes)


def ascend_heard(
    problem: Problem, laid: Grid, graph: Graph, price: F64, *, goal: float, steps: int, dearest: float
) -> tuple[HeardCost, F64, float]:
    """Raise the bound by prices of tracks and of what is heard together.

    Args:
        price: of each slot, shape (S,), to begin with.
        goal: cost of a chain that is known; sets the size of the steps, of which there are at most `steps`.
        dearest: no price may be higher.
    Returns:
        what is heard, prices of the slots, shape (S,), and the bound.
    """
    heard = HeardCost(np.zeros(len(problem.target)), np.zeros(len(problem.target)), 0.0)
    best = heard, price, -np.inf
    squares: F64 | None = None
    apart: list[F64] = []
    for _ in range(steps):
        value, chain = least_chain(with_heard(problem, laid, graph, heard), price)
        value += heard.constant
        if value == np.inf:
            break
        if value > best[2]:
            best = heard, price, value
        curve = played(problem, chosen(graph, laid, chain))
        now = squared_errors(problem, curve)
        between = [curve[a : a + n].astype(np.float64) - curve[b : b + n] for a, b, n in problem.twins]
        squares = now if squares is None else (1.0 - PACE) * squares + PACE * now
        apart = (
            [np.nan_to_num(x) for x in between]
            if not apart
            else [(1.0 - PACE) * mean + PACE * np.nan_to_num(x) for mean, x in zip(apart, between, strict=True)]
        )
        price = step(graph, price, chain, max(goal - value, 1e-3 * abs(goal)) / 2.0, dearest)
        heard = _towards(problem, heard, squares, apart)
    return best


def _towards(problem: Problem, heard: HeardCost, squares: F64, apart: list[F64]) -> HeardCost:
    """Tangents at the mean difference of the sides, and weight moved to the worst window of the mean error."""
    weights = problem.weights
    slope = np.zeros(len(problem.target))
    constant = 0.0
    for (one, two, length), mean in zip(problem.twins, apart, strict=True):
        slope[one : one + length] += 2.0 * weights.twin * mean
        slope[two : two + length] -= 2.0 * weights.twin * mean
        constant -= weights.twin * float(mean @ mean)
    first, size = _worst(problem, squares)
    newest = np.zeros(len(squares))
    newest[first : first + size] = weights.worst_window / size
    share = PACE if heard.square.any() else 1.0
    return HeardCost((1.0 - share) * heard.square + share * newest, slope, constant)


def _worst(problem: Problem, squares: F64) -> tuple[int, int]:
    """First second and length of the worst window."""
    worst, place = -1.0, (0, WINDOW_S)
    for first, last in stretches(problem.target):
        size = min(WINDOW_S, last - first)
        sums = np.concatenate(([0.0], np.cumsum(squares[first:last])))
        means = (sums[size:] - sums[:-size]) / size
        if means.max() > worst:
            worst, place = float(means.max()), (first + int(np.argmax(means)), size)
    return place
