"""The graph of the picks worth keeping, with exact costs.

Junctions are moments at which one pick ends and the next starts; see chains. A slot is a track, or a pin: a pinned track
may stand at two pins, so each pin is a slot of its own.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pairing.solve.costs import Doubles, change_costs, pair_costs, stretches, weighted
from pairing.solve.grid import Grid, Int32s
from pairing.solve.problem import Chosen, Floats, Ints, Pin, Problem
from pairing.solve.tables import Tables


@dataclass(frozen=True, slots=True, eq=False)
class Picks:
    """M possible picks on the grid, with the exact cost of each (neighbours and whole-set terms left out)."""

    start: Ints  # (M,) node
    end: Ints
    slot: Ints
    enter_s: Ints  # second of the track
    cost: Doubles

    def some(self, which: NDArray[np.bool_] | Ints) -> "Picks":
        """A selection of them."""
        return Picks(*(part[which] for part in (self.start, self.end, self.slot, self.enter_s, self.cost)))


@dataclass(frozen=True, slots=True, eq=False)
class Graph:
    """J junctions, A arrivals, D departures, M picks sorted by start and slot; the arrays that chains reads."""

    picks: Picks
    second: Ints  # (J,) class second of a junction
    slot_track: Ints  # (S,)
    arrival_offset: Ints
    arrival_slot: Int32s
    arrival_junction: Int32s
    departure_offset: Ints
    departure_slot: Int32s
    pick_offset: Ints
    pick_arrival: Int32s
    pair: Doubles  # (S, S)
    quiet: NDArray[np.bool_]
    dearest: float  # the largest finite value of pair

    @property
    def arguments(self) -> tuple[NDArray[np.generic], ...]:
        """The leading arguments of the loops in chains."""
        return (
            self.arrival_offset, self.arrival_slot, self.departure_offset, self.departure_slot, self.pick_offset,
            self.pick_arrival, self.picks.cost, self.pair, self.quiet,
        )  # fmt: skip


def pin_picks(problem: Problem, grid: Grid, first_slot: int) -> Picks:
    """Every pick that fulfils a pin; pin x has slot `first_slot` + x."""
    rows = [
        (grid.node(pin.start), grid.node(end), first_slot + x, enter)
        for x, pin in enumerate(problem.pins)
        for enter, end in _pin_cuts(problem, grid, pin)
    ]
    table = np.array(rows, dtype=np.int64).reshape(-1, 4)
    track = np.array([problem.pins[row[2] - first_slot].track for row in rows], dtype=np.int64)
    cost = pick_costs(problem, grid, table[:, 0], table[:, 1], track, table[:, 3])
    return Picks(table[:, 0], table[:, 1], table[:, 2], table[:, 3], cost)


def pick_costs(problem: Problem, grid: Grid, start: Ints, end: Ints, track: Ints, enter_s: Ints) -> Doubles:
    """Exact cost of picks, without neighbours and whole-set terms; a ban counts nothing (the caller has seen to it)."""
    from pairing.solve import kernels

    error = np.empty(len(start), dtype=np.float64)
    place = problem.offset[track].astype(np.int64) + enter_s
    kernels.measure(grid.energy, grid.target, grid.low, grid.high, start, end - start, place, error)
    weights, zones = problem.weights, grid.zone_cost[:, track].astype(np.float64)
    change = change_costs(problem)[grid.first + start * grid.step]
    length = weighted(weights.clip, problem.length_cost)[(end - start) * grid.step]
    in_zone = (grid.zone_seconds[:, end].astype(np.float64) - grid.zone_seconds[:, start]) * zones
    return (
        error
        + in_zone.sum(axis=0)
        + _unbanned(change)
        + _unbanned(length)
        + _unbanned(problem.track_cost[track])
        + weights.trim * _unbanned(_cut_cost(problem.enter_at, problem.enter_cost, problem.enter_offset, track, enter_s))
        + weights.trim
        * _unbanned(
            _cut_cost(
                problem.leave_at, problem.leave_cost, problem.leave_offset, track, enter_s + (end - start) * grid.step
            )
        )
    )


def found_picks(problem: Problem, table: Tables, found: Int32s, slot_of_track: Ints) -> Picks:
    """The picks that `kernels.collect` wrote, each track, start and end once, sorted by start, slot and end."""
    grid = table.grid
    enter = np.searchsorted(table.pick, found[:, 1], side="right") - 1
    group = table.enter_group[enter]
    leave = table.groups[group, 2] + found[:, 1] - table.pick[enter]
    start = found[:, 0].astype(np.int64)
    end = start + table.leaves[leave, 1] - table.enters[enter, 1]
    track = table.track[group]
    cost = pick_costs(problem, grid, start, end, track, table.enter_s[enter])
    order = np.lexsort((cost, end, slot_of_track[track], start))
    picks = Picks(start, end, slot_of_track[track], table.enter_s[enter], cost).some(order)
    same = (np.diff(picks.start) == 0) & (np.diff(picks.end) == 0) & (np.diff(picks.slot) == 0)
    return picks.some(np.concatenate(([True], ~same))[: len(order)])


def joined(one: Picks, two: Picks) -> Picks:
    """Both, sorted by start, slot and end."""
    names = ("start", "end", "slot", "enter_s", "cost")
    both = Picks(*(np.concatenate((getattr(one, name), getattr(two, name))) for name in names))
    return both.some(np.lexsort((both.end, both.slot, both.start)))


def graph(problem: Problem, grid: Grid, picks: Picks, slot_track: Ints) -> Graph:
    """Lay out the junctions, arrivals and departures of some picks, which are sorted by start, slot and end."""
    slots = len(slot_track)
    to_junction, second, quiet = _junctions(problem, grid, picks)
    start, end = to_junction[picks.start], to_junction[picks.end]
    departures, pick_offset = np.unique(start * slots + picks.slot, return_index=True)
    arrivals, pick_arrival = np.unique(end * slots + picks.slot, return_inverse=True)
    counted = np.arange(len(second) + 1)
    pair = pair_costs(problem, slot_track, slot_track)
    if not problem.allow_repeats:
        np.fill_diagonal(pair, np.inf)
    return Graph(
        picks=picks,
        second=second,
        slot_track=slot_track,
        arrival_offset=np.searchsorted(arrivals // slots, counted).astype(np.int64),
        arrival_slot=(arrivals % slots).astype(np.int32),
        arrival_junction=(arrivals // slots).astype(np.int32),
        departure_offset=np.searchsorted(departures // slots, counted).astype(np.int64),
        departure_slot=(departures % slots).astype(np.int32),
        pick_offset=np.append(pick_offset, len(picks.start)).astype(np.int64),
        pick_arrival=pick_arrival.reshape(-1).astype(np.int32),
        pair=pair,
        quiet=quiet,
        dearest=float(np.where(np.isinf(pair), 0.0, pair).max(initial=0.0)),
    )


def chosen(graph_: Graph, grid: Grid, chain: Ints) -> tuple[Chosen, ...]:
    """The picks of a chain, given by their numbers, as an answer has them."""
    picks = graph_.picks
    return tuple(
        Chosen(
            track=int(graph_.slot_track[picks.slot[p]]),
            start=grid.second(picks.start[p]),
            end=grid.second(picks.end[p]),
            enter=int(picks.enter_s[p]),
        )
        for p in chain
    )


def _junctions(problem: Problem, grid: Grid, picks: Picks) -> tuple[Ints, Ints, NDArray[np.bool_]]:
    """Junction of each node (-1: none), class second of each, and whether a silence lies in it.

    The end of a stretch of music and the start of the next are one junction.
    """
    nodes = np.zeros(grid.nodes + 1, dtype=bool)
    nodes[picks.start] = True
    nodes[picks.end] = True
    runs = grid.stretch
    nodes[runs[:, 0]] = True
    nodes[runs[:, 1]] = True
    nodes[runs[1:, 0]] = False
    at = np.flatnonzero(nodes)
    to_junction = np.full(grid.nodes + 1, -1, dtype=np.int64)
    to_junction[at] = np.arange(len(at))
    to_junction[runs[1:, 0]] = to_junction[runs[:-1, 1]]
    quiet = np.zeros(len(at), dtype=bool)
    quiet[to_junction[runs[:-1, 1]]] = True
    return to_junction, grid.first + at * grid.step, quiet


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


def _unbanned(cost: Doubles | Floats) -> Doubles:
    return np.where(np.isinf(cost), 0.0, cost).astype(np.float64)


def _cut_cost(at: Ints, cost: Floats, offset: Ints, track: Ints, second: Ints) -> Doubles:
    """Cost of cutting each track at a second; inf where its table doesn't have it."""
    span = int(at.max(initial=0)) + 2
    owner = np.repeat(np.arange(len(offset) - 1), np.diff(offset))
    keys = owner * span + at
    wanted = track * span + np.minimum(second, span - 1)
    place = np.minimum(np.searchsorted(keys, wanted), max(0, len(keys) - 1))
    if not len(keys):
        return np.full(len(wanted), np.inf)
    return np.where(keys[place] == wanted, cost[place].astype(np.float64), np.inf)
