"""A first chain where the search finds none: tracks in some order, each heard once at its best place or not at all.

Given an order, dynamic programming finds the least cost of covering the class with the tracks in that order, any of
them left out and each second without music dear. Orders are drawn by chance (seeded), the first near to where each
track suits; while seconds stay without music, the best is changed step by step, one track put elsewhere (an iterated
local search; Lourenço, Martin, Stützle, Handbook of Metaheuristics, 2003, from memory). All counts are fixed.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from audio.arrays import F64, I32, I64, offsets
from pairing.solve.grid import Grid, grid
from pairing.solve.picks import Picks, pin_picks
from pairing.solve.problem import Chosen, Problem

# All editorial: how far is searched.
SPREADS = (0.0, 0.1, 0.3, 1.0, 3.0, 10.0, 30.0, 100.0)  # how far chance moves tracks from where they suit
STEPS = 200  # changes of the best order
BARE_COST = 1e4  # of a node without music: dearer than anything else
MOST = 1_000  # tracks that are tried; of more, those that can be heard longest in each zone


@dataclass(frozen=True, slots=True)
class Placed:
    """The chain of an order, and the class seconds that it leaves without music."""

    chosen: tuple[Chosen, ...]
    bare: tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Slots:
    """What can be placed, as `placing.place` reads it; slot k is track `track[k]`."""

    laid: Grid
    track: I64
    length_offset: I64
    length: I64  # nodes
    cost: F64
    enter: I64  # second of the track at which each length is entered
    level: F64  # (S, n + 1)
    start: F64
    bare: F64
    pins: Picks

    @property
    def arguments(self) -> tuple[object, ...]:
        """The arguments of `placing.place` between the order and its results."""
        rows = self.laid.reach_row[self.track]
        pins = np.column_stack((self.pins.start, self.pins.end)).astype(np.int64)
        return (
            self.length_offset,
            self.length,
            self.cost,
            self.laid.reach,
            rows,
            self.level,
            self.start,
            self.bare,
            np.ascontiguousarray(pins),
            self.pins.cost,
            np.empty(self.laid.nodes + 1),
            np.empty(self.laid.nodes + 1, dtype=np.int32),
        )


def by_orders(problem: Problem, tracks: I64) -> Placed:
    """The chain of the best order of `tracks` that was tried; one that leaves no second bare keeps every hard rule.

    Args:
        tracks: their numbers, shape (n,).
    Raises:
        ValueError: no second of the class wants music.
    """
    slots = _slots(problem, grid(problem), tracks)
    rng = np.random.default_rng(len(tracks))
    suits = _suits(slots)
    tried = _Tried(slots)
    for spread in SPREADS:
        noise = rng.gumbel(size=suits.shape) * spread
        tried.take(np.argsort(np.argmin(suits - noise, axis=1), kind="stable"))
        if tried.done:
            return tried.placed()
    for _ in range(STEPS if len(tracks) > 1 else 0):
        one, two = rng.integers(len(tracks), size=2)
        tried.take(_moved(tried.order, int(one), int(two)), min(int(one), int(two)))
        if tried.done:
            break
    return tried.placed()


def most_useful(problem: Problem) -> I64:
    """The tracks that may be used, ascending, shape (n,); of very many, the longest that may play in each zone."""
    usable = np.isfinite(problem.track_cost) & (np.diff(problem.enter_offset) > 0) & (np.diff(problem.leave_offset) > 0)
    usable[[pin.track for pin in problem.pins]] = False
    tracks = np.flatnonzero(usable)
    if len(tracks) <= MOST:
        return tracks
    seconds = np.diff(problem.offset)
    kept = []
    for costs in problem.zone_cost:
        allowed = tracks[np.isfinite(costs[tracks])]
        kept.append(allowed[np.argsort(-seconds[allowed], kind="stable")[: MOST // len(problem.zone_cost)]])
    return np.unique(np.concatenate(kept))


class _Tried:
    """The best order so far; `place` starts again from the first turn that a change touches."""

    def __init__(self, slots: _Slots) -> None:
        shape = len(slots.track) + 1, slots.laid.nodes + 1
        self.slots, self.order, self.cost = slots, np.empty(0, np.int64), np.inf
        self.rows = np.full(shape, np.inf), np.empty(shape, np.int32), np.empty(shape, np.int32)
        self.trial = self.rows[0].copy(), self.rows[1].copy(), self.rows[2].copy()

    @property
    def done(self) -> bool:
        """Whether no second is left without music."""
        return self.cost < BARE_COST

    def take(self, order: I64, first: int = 0) -> None:
        """Try an order, the same as the best up to turn `first`, and keep it if it is no worse."""
        from pairing.solve import placing

        for mine, theirs in zip(self.trial, self.rows, strict=True):
            mine[: first + 1] = theirs[: first + 1]
        placing.place(order, first, *self.slots.arguments, *self.trial)
        if self.trial[0][-1, -1] <= self.cost:
            self.order, self.cost = order, float(self.trial[0][-1, -1])
            self.rows, self.trial = self.trial, self.rows

    def placed(self) -> Placed:
        """The chain of the best order."""
        return _traced(self.slots, self.order, self.rows[1], self.rows[2])


def _slots(problem: Problem, laid: Grid, tracks: I64) -> _Slots:
    parts = [_lengths(problem, laid, int(track)) for track in tracks]
    pins = pin_picks(problem, laid, 0)
    order = np.argsort(pins.start, kind="stable")
    owners = np.array([pin.track for pin in problem.pins], dtype=np.int64)
    pins = pins.some(order)
    wanted = np.zeros(laid.nodes, dtype=bool)
    for first, last in laid.stretch:
        wanted[first:last] = True
    bare = np.where(wanted, BARE_COST, 0.0)
    bare[[laid.node(pin.start) for pin in problem.pins]] = np.inf
    return _Slots(
        laid=laid,
        track=tracks,
        length_offset=offsets([len(part[0]) for part in parts]),
        length=_joined([part[0] for part in parts]).astype(np.int64),
        cost=_joined([part[1] for part in parts]).astype(np.float64),
        enter=_joined([part[2] for part in parts]).astype(np.int64),
        level=_levels(problem, laid, tracks),
        start=laid.change.astype(np.float64),
        bare=bare,
        pins=replace(pins, slot=owners[pins.slot]),
    )


def _lengths(problem: Problem, laid: Grid, track: int) -> tuple[I64, F64, I64]:
    """For how many nodes a track can be heard, ascending, the least cost of each, and the second to enter it at."""
    into = slice(problem.enter_offset[track], problem.enter_offset[track + 1])
    out = slice(problem.leave_offset[track], problem.leave_offset[track + 1])
    seconds = (problem.leave_at[out][None, :] - problem.enter_at[into][:, None]).astype(np.int64)
    cost = laid.enter_cost[into][:, None].astype(np.float64) + laid.leave_cost[out][None, :]
    nodes = np.where((seconds > 0) & (seconds % laid.step == 0), seconds // laid.step, 0)
    nodes[nodes > laid.nodes] = 0
    cost = np.where(nodes > 0, cost + laid.length[nodes], np.inf).ravel()
    order = np.lexsort((cost, nodes.ravel()))
    order = order[np.isfinite(cost[order])]
    first = order[np.diff(nodes.ravel()[order], prepend=0) > 0]
    enter = np.repeat(problem.enter_at[into], seconds.shape[1])[first]
    return nodes.ravel()[first], cost[first] + float(laid.track_cost[track]), enter


def _levels(problem: Problem, laid: Grid, tracks: I64) -> F64:
    """Cost of each track's mean energy, and of its zones, up to each node; shape (S, n + 1)."""
    total = np.concatenate(([0.0], np.cumsum(problem.energy, dtype=np.float64)))
    seconds = np.maximum(np.diff(problem.offset)[tracks], 1)
    mean = (total[problem.offset[tracks + 1]] - total[problem.offset[tracks]]) / seconds
    low, target = laid.low.astype(np.float64), laid.target.astype(np.float64)
    sums = [np.concatenate(([0.0], np.cumsum((low * target**power).sum(axis=0)))) for power in range(3)]
    error = sums[2] - 2 * mean[:, None] * sums[1] + mean[:, None] ** 2 * sums[0]
    zones = laid.zone_cost[:, tracks].astype(np.float64).T @ laid.zone_seconds.astype(np.float64)
    return np.ascontiguousarray(error + zones)


def _suits(slots: _Slots) -> F64:
    """What a track costs where it starts at a node and is heard as long as there is room; shape (S, n)."""
    laid, nodes = slots.laid, np.arange(slots.laid.nodes)
    longest = np.array([slots.length[last - 1] if last > first else 0 for first, last in pairwise(slots.length_offset)])
    end = np.minimum(laid.reach[laid.reach_row[slots.track]][:, :-1], nodes + longest[:, None])
    rows = np.arange(len(slots.track))[:, None]
    heard = np.maximum(end - nodes, 0)
    cost = (slots.level[rows, end] - slots.level[:, :-1]) / np.maximum(heard, 1)
    return np.where(heard >= longest[:, None] / 2, cost * longest[:, None], BARE_COST)


def _moved(order: I64, one: int, two: int) -> I64:
    """The order with the track of one turn put into another."""
    return np.insert(np.delete(order, one), two, order[one])


def _joined(parts: Sequence[NDArray[np.generic]]) -> NDArray[np.generic]:
    return np.concatenate([*parts, np.empty(0)])


def _traced(slots: _Slots, order: I64, heard: I32, onward: I32) -> Placed:
    from pairing.solve.placing import BARE, NONE

    laid, chain, bare = slots.laid, [], []
    turn, node = len(order), slots.laid.nodes
    while node > 0:
        step, length = int(onward[turn, node]), int(heard[turn, node])
        if step == BARE:
            node -= 1
            bare += [] if slots.bare[node] == 0 else list(range(laid.second(node), laid.second(node) + laid.step))
        elif step != NONE:
            pin = slots.pins
            chain.append((int(pin.slot[step]), int(pin.start[step]), node, int(pin.enter_s[step])))
            node = int(pin.start[step])
        elif turn > 0 and length != NONE:
            first = node - int(slots.length[length])
            chain.append((int(slots.track[order[turn - 1]]), first, node, int(slots.enter[length])))
            node, turn = first, turn - 1
        else:
            turn -= 1
    return Placed(
        tuple(Chosen(track, laid.second(first), laid.second(last), enter) for track, first, last, enter in chain[::-1]),
        tuple(sorted(bare)),
    )
