"""A problem on a grid of class nodes: what the compiled loops read.

Node j stands for class second `first + j * step`; the step is the largest that meets every permitted hand-over, so a
class with hand-overs each 4 s has a quarter of the nodes.
"""

from dataclasses import dataclass
from math import gcd
from typing import TypeVar

import numpy as np

from audio.arrays import F32, F64, I32, I64, Mask
from pairing.solve.costs import change_costs, stretches, weighted
from pairing.solve.problem import Problem

N = TypeVar("N", int, I64)


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """n nodes of `step` seconds each; arrays over nodes have n + 1 values, the last for the end of the class.

    The class arrays are laid out by phase: class second `first + j * step + p` stands at [p, j], so that a loop over
    nodes reads neighbouring numbers whatever the step.
    """

    first: int
    step: int
    nodes: int
    target: F32  # (step, n)
    low: F32  # the same shape: weight of the squared error where the music is not livelier than the target
    high: F32  # the same shape: where it is
    slope: F32  # the same shape: cost of energy 1, which the search adds for what is heard elsewhere
    change: F32  # (n + 1,) cost of starting a pick at a node; inf: none may start
    stretch: I32  # (K, 2) nodes between which music plays
    reach: I32  # (P, n + 1) the last node to which a pick that starts at a node may play; a row for each set of bans
    reach_row: I32  # (N,) the row of a track
    zone_cost: F32  # (Z, N) cost of a second; 0 where forbidden (reach sees to that)
    zone_seconds: F32  # (Z, n + 1) seconds of a zone before a node
    length: F32  # (n + 1,) cost of a pick of that many nodes; inf: forbidden
    track_cost: F32  # (N,) inf: not to be used, or only at its pin
    enter_cost: F32  # weighted, as long as the problem's
    leave_cost: F32
    energy: F32  # the problem's, writable and in one piece, as compiled code wants it
    spread: F32  # as long as the energy, or one 0: variance within each second, where a second stands for several
    meet: I64  # (K, 3) phase and node of a meeting, and its row of `apart`
    meet_cost: F32  # (K,) weighted
    apart: F32  # (R, as long as the energy)

    @property
    def music(self) -> tuple[F32 | I64, ...]:
        """What is heard and what is wanted, with the shapes above, as the loops in `kernels` take it."""
        wanted = (self.target, self.low, self.high, self.slope)
        return (self.energy, self.spread, *wanted, self.meet, self.meet_cost, self.apart)

    def node(self, class_second: N) -> N:
        """The node of a class second, or the nodes of several."""
        return (class_second - self.first) // self.step

    def second(self, node: N) -> N:
        """The class second of a node, or the seconds of several."""
        return self.first + node * self.step


def grid(problem: Problem, spread: F32 | None = None) -> Grid:
    """Lay a problem out on its nodes.

    Args:
        spread: variance within each value of the energy, in energy², shape as of `problem.energy`; None: none.
    Raises:
        ValueError: no second of the class wants music.
    """
    runs = stretches(problem.target)
    if not runs:
        raise ValueError("no second of the class wants music")
    change = change_costs(problem)
    first, last = runs[0][0], runs[-1][1]
    step = _step(change, runs)
    nodes = (last - first) // step
    low = np.where(np.isnan(problem.target), 0.0, problem.weights.error * problem.weight)
    allowed = np.isfinite(problem.zone_cost)
    sets, rows = _ban_sets(allowed)
    seconds = first + step * np.arange(nodes + 1)
    meet, meet_cost = _meetings(problem, first, step, nodes)
    return Grid(
        first=first,
        step=step,
        nodes=nodes,
        target=phases(np.nan_to_num(problem.target), first, step, nodes),
        low=phases(low, first, step, nodes),
        high=phases(low * problem.over, first, step, nodes),
        slope=np.zeros((step, nodes), dtype=np.float32),
        change=_starts(change, runs, seconds),
        stretch=((np.array(runs) - first) // step).astype(np.int32),
        reach=_reach(problem, runs, sets, seconds),
        reach_row=rows,
        zone_cost=np.ascontiguousarray(np.where(allowed, problem.zone_cost, 0.0), dtype=np.float32),
        zone_seconds=_zone_seconds(problem, seconds),
        length=weighted(problem.weights.clip, problem.length_cost)[: nodes * step + 1 : step].astype(np.float32),
        track_cost=_track_cost(problem),
        enter_cost=weighted(problem.weights.trim, problem.enter_cost).astype(np.float32),
        leave_cost=weighted(problem.weights.trim, problem.leave_cost).astype(np.float32),
        energy=np.require(problem.energy, dtype=np.float32, requirements=["C", "W"]),
        spread=np.zeros(1, dtype=np.float32) if spread is None else spread,
        meet=meet,
        meet_cost=meet_cost,
        apart=np.require(problem.apart, dtype=np.float32, requirements=["C", "W"]),
    )


def oldest(laid: Grid) -> I32:
    """The first node from which a pick may play to each node, for each set of bans, shape (P, n + 2)."""
    nodes = np.arange(laid.nodes + 2)
    return np.array([np.searchsorted(row, nodes) for row in laid.reach], dtype=np.int32).reshape(-1, len(nodes))


def _meetings(problem: Problem, first: int, step: int, nodes: int) -> tuple[I64, F32]:
    """Where on the grid the meetings lie that cost anything, and what each costs where it is missed."""
    inside = problem.meetings.within(first, first + nodes * step)
    counts = problem.weights.meeting * inside.weight > 0
    place = np.column_stack((inside.second % step, inside.second // step, inside.row))[counts]
    return np.ascontiguousarray(place, np.int64), (problem.weights.meeting * inside.weight[counts]).astype(np.float32)


def _step(change: F64, runs: list[tuple[int, int]]) -> int:
    first, last = runs[0][0], runs[-1][1]
    permitted = np.flatnonzero(np.isfinite(change[first : last + 1]))
    return gcd(*permitted.tolist()) or last - first


def phases(values: F64 | F32, first: int, step: int, nodes: int) -> F32:
    """Values of class seconds in the layout of `Grid`.

    Args:
        values: shape (T,).
    Returns:
        shape (step, nodes).

    >>> phases(np.arange(7.0), 1, 2, 3).tolist()
    [[1.0, 3.0, 5.0], [2.0, 4.0, 6.0]]
    """
    inside = np.asarray(values[first : first + nodes * step], dtype=np.float32)
    return np.ascontiguousarray(inside.reshape(nodes, step).T)


def _starts(change: F64, runs: list[tuple[int, int]], seconds: I64) -> F32:
    """Cost of starting at each node: none may start in a silence or at the end of a stretch."""
    inside = np.zeros(len(change), dtype=bool)
    for first, last in runs:
        inside[first:last] = True
    return np.where(inside, change, np.inf)[seconds].astype(np.float32)


def _ban_sets(allowed: Mask) -> tuple[Mask, I32]:
    """The different columns of `allowed` and which of them each track has."""
    rows = np.zeros(allowed.shape[1], dtype=np.int64)
    for eight in np.packbits(allowed, axis=0):  # numbers, that sort many times as fast as columns
        rows = np.unique(256 * rows + eight, return_inverse=True)[1]
    at = np.unique(rows, return_index=True)[1]
    return allowed[:, at], rows.astype(np.int32)


def _reach(problem: Problem, runs: list[tuple[int, int]], sets: Mask, seconds: I64) -> I32:
    """The last node a pick may play to from each node: to the next second that is forbidden or wants another track."""
    length = len(problem.target)
    common = np.arange(length + 1)
    for first, last in runs:
        common[first:last] = last
    for second in [*map(int, problem.must_change), *(pin.start for pin in problem.pins)]:
        common[:second] = np.minimum(common[:second], second)
    for pin in problem.pins:
        common[pin.start] = pin.start
    rows = np.empty((sets.shape[1], len(seconds)), dtype=np.int32)
    for row in range(sets.shape[1]):
        banned = np.append(~sets[problem.zone, row], True)
        ahead = np.where(banned, np.arange(length + 1), length)
        stop = np.minimum.accumulate(ahead[::-1])[::-1]
        rows[row] = (np.minimum(common, stop)[seconds] - seconds[0]) // (seconds[1] - seconds[0])
    return rows


def _zone_seconds(problem: Problem, seconds: I64) -> F32:
    zones = problem.zone_cost.shape[0]
    inside = (np.arange(zones)[:, None] == problem.zone) & ~np.isnan(problem.target)
    before = np.concatenate((np.zeros((zones, 1)), np.cumsum(inside, axis=1)), axis=1)
    return np.ascontiguousarray(before[:, seconds], dtype=np.float32)


def _track_cost(problem: Problem) -> F32:
    cost = np.array(problem.track_cost, dtype=np.float32)
    for pin in problem.pins:
        cost[pin.track] = np.inf
    return cost
