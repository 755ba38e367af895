"""The graph of the picks worth keeping, with exact costs.

Junctions are moments at which one pick ends and the next starts; see chains. A slot is a track, or a pin: a pinned
track may stand at two pins, so each pin is a slot of its own.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from audio.arrays import F64, I32, I64, Mask
from pairing.solve.grid import Grid
from pairing.solve.picks import Picks
from pairing.solve.problem import Chosen, Problem
from pairing.solve.tables import neighbour_table


@dataclass(frozen=True, slots=True, eq=False)
class Graph:
    """J junctions, A arrivals, D departures, M picks sorted by start and slot; the arrays that chains reads."""

    picks: Picks
    second: I64  # (J,) class second of a junction
    slot_track: I64  # (S,)
    arrival_offset: I64
    arrival_slot: I32
    arrival_junction: I32
    departure_offset: I64
    departure_slot: I32
    pick_offset: I64
    pick_arrival: I32
    pick_departure: I64
    pair: F64  # (S, S)
    quiet: Mask
    dearest: float  # the largest finite value of pair

    @property
    def arguments(self) -> tuple[NDArray[np.generic], ...]:
        """The graph as the loops in chains take it, its arrays with the shapes that stand there."""
        return (
            self.arrival_offset,
            self.arrival_slot,
            self.arrival_junction,
            self.departure_offset,
            self.departure_slot,
            self.pick_offset,
            self.pick_arrival,
            self.picks.cost,
            self.pair,
            self.quiet,
        )


def graph(problem: Problem, grid: Grid, picks: Picks, slot_track: I64) -> Graph:
    """Lay out the junctions, arrivals and departures of some picks, which are sorted by start, slot and end.

    Args:
        slot_track: track of each slot, shape (S,).
    """
    slots = len(slot_track)
    to_junction, second, quiet = _junctions(problem, grid, picks)
    start, end = to_junction[picks.start], to_junction[picks.end]
    departing, arriving = start * slots + picks.slot, end * slots + picks.slot
    pick_offset = np.flatnonzero(np.diff(departing, prepend=-1))
    departures = departing[pick_offset]
    there = np.zeros(len(second) * slots, dtype=bool)
    there[arriving] = True
    arrivals, pick_arrival = np.flatnonzero(there), (np.cumsum(there) - 1)[arriving]
    counted = np.arange(len(second) + 1)
    pair, dearest = neighbour_table(problem, slot_track)
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
        pick_arrival=pick_arrival.astype(np.int32),
        pick_departure=np.repeat(np.arange(len(departures)), np.diff(pick_offset, append=len(picks.start))),
        pair=pair,
        quiet=quiet,
        dearest=dearest,
    )


def chosen(graph_: Graph, grid: Grid, chain: I64) -> tuple[Chosen, ...]:
    """The picks of a chain, as an answer has them.

    Args:
        chain: their numbers, in class order, shape (n,).
    """
    picks = graph_.picks
    return tuple(
        Chosen(
            track=int(graph_.slot_track[picks.slot[p]]),
            start=grid.second(int(picks.start[p])),
            end=grid.second(int(picks.end[p])),
            enter=int(picks.enter_s[p]),
        )
        for p in chain
    )


def _junctions(problem: Problem, grid: Grid, picks: Picks) -> tuple[I64, I64, Mask]:
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
