"""Possible picks on the grid, with exact costs."""

from dataclasses import dataclass

import numpy as np

from audio.arrays import F32, F64, I64, Mask
from pairing.solve.costs import change_costs, cut_costs, stretches, weighted
from pairing.solve.grid import Grid
from pairing.solve.problem import Pin, Problem


@dataclass(frozen=True, slots=True, eq=False)
class Picks:
    """M possible picks on the grid, with the exact cost of each (neighbours and whole-set terms left out)."""

    start: I64  # (M,) node
    end: I64
    slot: I64
    enter_s: I64  # second of the track
    cost: F64

    def some(self, which: Mask | I64) -> "Picks":
        """A selection of them.

        Args:
            which: a mask of shape (M,), or the numbers of some, in the order wanted.
        """
        return Picks(self.start[which], self.end[which], self.slot[which], self.enter_s[which], self.cost[which])


def pin_picks(problem: Problem, grid: Grid, first_slot: int) -> Picks:
    """Every pick that fulfils a pin; pin x has slot `first_slot` + x."""
    rows = [
        (grid.node(pin.start), grid.node(end), first_slot + x, enter)
        for x, pin in enumerate(problem.pins)
        for enter, end in _pin_cuts(problem, grid, pin)
    ]
    # Columns one after the other in memory, as the compiled loops ask for.
    start, end, slot, enter_s = np.array(rows, dtype=np.int64).reshape(-1, 4).T.copy()
    track = np.array([problem.pins[row[2] - first_slot].track for row in rows], dtype=np.int64)
    cost = pick_costs(problem, grid, start, end, track, enter_s)
    return Picks(start, end, slot, enter_s, cost)


def pick_costs(problem: Problem, grid: Grid, start: I64, end: I64, track: I64, enter_s: I64) -> F64:
    """Exact cost of picks, without neighbours and whole-set terms; a ban counts nothing (the caller has seen to it).

    Args:
        start, end: nodes, shape (M,) each.
        track: their numbers, shape (M,).
        enter_s: second of the track at which it is entered, shape (M,).
    Returns:
        shape (M,).
    """
    from pairing.solve import kernels

    error = np.empty(len(start), dtype=np.float64)
    place = problem.offset[track].astype(np.int64) + enter_s
    kernels.measure(grid.music, start, end - start, place, np.empty(kernels.LANES), error)
    weights = problem.weights
    change = change_costs(problem)[grid.first + start * grid.step]
    length = weighted(weights.clip, problem.length_cost)[(end - start) * grid.step]
    in_zone = np.zeros(len(start))
    for cost, seconds in zip(
        grid.zone_cost, grid.zone_seconds, strict=True
    ):  # one after the other, without an array of all
        in_zone += (seconds[end].astype(np.float64) - seconds[start]) * cost[track]
    leave_s = enter_s + (end - start) * grid.step
    enter = cut_costs(problem.enter_at, problem.enter_cost, problem.enter_offset, track, enter_s)
    leave = cut_costs(problem.leave_at, problem.leave_cost, problem.leave_offset, track, leave_s)
    own = _unbanned(change) + _unbanned(length) + _unbanned(problem.track_cost[track])
    cuts = weights.trim * (_unbanned(enter) + _unbanned(leave))
    total: F64 = error + in_zone + own + cuts
    return total


def joined(one: Picks, two: Picks) -> Picks:
    """Both, sorted by start, slot and end."""
    both = Picks(
        np.concatenate((one.start, two.start)),
        np.concatenate((one.end, two.end)),
        np.concatenate((one.slot, two.slot)),
        np.concatenate((one.enter_s, two.enter_s)),
        np.concatenate((one.cost, two.cost)),
    )
    return both.some(np.lexsort((both.end, both.slot, both.start)))


def distinct(picks: Picks) -> Picks:
    """Each slot, start and end once; the picks are sorted by them."""
    known = (np.diff(picks.start) == 0) & (np.diff(picks.slot) == 0) & (np.diff(picks.end) == 0)
    return picks.some(np.concatenate(([True], ~known))[: len(picks.start)])


def _pin_cuts(problem: Problem, grid: Grid, pin: Pin) -> list[tuple[int, int]]:
    """(second of the track at the start, class second at the end) of each way to fulfil a pin."""
    track = pin.track
    length = int(problem.offset[track + 1] - problem.offset[track])
    last = next((end for first, end in stretches(problem.target) if first <= pin.start < end), pin.start)
    for second in [*map(int, problem.must_change), *(other.start for other in problem.pins)]:
        if pin.start < second:
            last = min(last, second)
    enters = problem.enter_at[problem.enter_offset[track] : problem.enter_offset[track + 1]].tolist()
    leaves = problem.leave_at[problem.leave_offset[track] : problem.leave_offset[track + 1]].tolist()
    return [
        (enter, end)
        for enter in (enters if pin.enter is None else [pin.enter])
        for end in ([pin.start + leave - enter for leave in leaves] if pin.end is None else [pin.end])
        if pin.start < end <= last and enter + end - pin.start <= length and (end - grid.first) % grid.step == 0
    ]


def _unbanned(cost: F64 | F32) -> F64:
    return np.where(np.isinf(cost), 0.0, cost).astype(np.float64)
