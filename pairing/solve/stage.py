"""A shortlist laid out on a grid: which picks are worth keeping, and at what prices."""

from dataclasses import dataclass

import numpy as np

from audio.arrays import F32, F64, I64
from pairing.solve import graph as graphs
from pairing.solve import tables as tabled
from pairing.solve.candidates import Shortlist
from pairing.solve.graph import Graph
from pairing.solve.grid import Grid, grid
from pairing.solve.picks import distinct, joined, pin_picks
from pairing.solve.prices import ascend
from pairing.solve.problem import Problem

# All editorial: how far is searched.
MOST_PICKS = 100_000  # picks kept in the graph; with 40,000 a class of 130 scraps was not solved
COARSE_PICKS = 30_000  # the same on the coarse grid on which prices are found first
COARSE_STEPS = 120


class Infeasible(Exception):
    """No chain of the tracks covers the class under the hard rules, or none was found.

    Attributes:
        second: class second that no chain of picks gets past; of a chain not found, the first left without music.
        zone: the zone of that second.
        why: "no track" (none may play there), "no cut" (tracks may, but none can be entered and left so that the second
            is covered, even if tracks could be used again), "pin" (a pin can't be kept); all these are proven. "not
            found": no chain without repeats was found in the steps allowed, which proves nothing.
        bare: class seconds that the nearest chain leaves without music, where none was found.
    """

    def __init__(self, second: int, zone: int, why: str, bare: tuple[int, ...] = ()) -> None:
        super().__init__(f"second {second}, zone {zone}: {why}")
        self.second, self.zone, self.why, self.bare = second, zone, why, bare


@dataclass(frozen=True, slots=True, eq=False)
class Stage:
    """A grid, the graph of the picks kept on it, and a lower bound on the chains that need others."""

    grid: Grid
    graph: Graph
    left_out: float
    price: F64


def lay_out(problem: Problem, laid: Grid, tracks: I64, price: F64, most: int, limit: float = 1e30) -> Stage:
    """Keep the picks of these tracks on chains of at most `limit`, the `most` on the least priced ones.

    Args:
        tracks: their numbers, ascending, shape (n,).
        price: of each track, then of each pin, shape (S,).
    Raises:
        Infeasible: they can't cover the class even with repeats.
    """
    slot_track = np.concatenate((tracks, [pin.track for pin in problem.pins])).astype(np.int64)
    table = tabled.priced(problem, laid, tracks, price)
    slot_of_track = np.full(len(problem.track_cost), -1, dtype=np.int64)
    slot_of_track[tracks] = np.arange(len(tracks))
    pins = pin_picks(problem, laid, len(tracks))
    cover = tabled.least(problem, table, slot_track, pins)
    if not np.isfinite(cover.total):
        raise _stuck(problem, laid, cover.ready.min(axis=0, initial=np.inf))
    found, limit = tabled.collect(table, cover, most, limit + float(price.sum()))
    picks = joined(tabled.found_picks(problem, table, found, slot_of_track), pins)
    table.done()
    return Stage(laid, graphs.graph(problem, laid, picks, slot_track), limit - float(price.sum()), price)


def with_others(problem: Problem, stage: Stage, tracks: I64, price: F64, most: int, limit: float = 1e30) -> Stage:
    """The stage with the picks on the least chains at other prices added; its prices stay.

    Args:
        tracks, price, most, limit: as `lay_out` has them, shapes too.
    Raises:
        Infeasible: as `lay_out` raises it.
    """
    other = lay_out(problem, stage.grid, tracks, price, most, limit)
    picks = distinct(joined(stage.graph.picks, other.graph.picks))
    graph = graphs.graph(problem, stage.grid, picks, stage.graph.slot_track)
    return Stage(stage.grid, graph, max(stage.left_out, other.left_out), stage.price)


def first_prices(short: Shortlist) -> F64:
    """Prices of the tracks (then of the pins) from a coarse grid, where they are found quickly; shape (S,)."""
    (thin, spread), tracks = short.thin, short.tracks
    try:
        stage = lay_out(thin, grid(thin, spread), tracks, np.zeros(len(tracks) + len(thin.pins)), COARSE_PICKS)
    except Infeasible:
        return np.zeros(len(tracks) + len(thin.pins))
    start = np.zeros(len(stage.price))
    return ascend(stage.graph, start, goal=np.inf, steps=COARSE_STEPS, dearest=highest_price(thin)).price


def highest_price(problem: Problem) -> float:
    """No price of a track needs to be above the cost of a repeat, where repeats are allowed."""
    return problem.weights.repeat if problem.allow_repeats else np.inf


def check_pins(problem: Problem) -> None:
    """Check that every pin can be kept beside the others.

    Raises:
        Infeasible: one stands where no music is wanted, or no cut of its track allows it.
        ValueError: no second of the class wants music.
    """
    if not problem.pins:
        return
    length = len(problem.target)
    for pin in problem.pins:
        second = min(max(pin.start, 0), length - 1)
        if pin.start != second or np.isnan(problem.target[second]) or (pin.end or 0) > length:
            raise Infeasible(second, int(problem.zone[second]), "pin")
    laid = grid(problem)
    kept = set(pin_picks(problem, laid, 0).slot.tolist())
    for x, pin in enumerate(problem.pins):
        if x not in kept:
            raise Infeasible(pin.start, int(problem.zone[pin.start]), "pin")


def _stuck(problem: Problem, laid: Grid, ahead: F32) -> Infeasible:
    """Why no chain of picks gets to the end."""
    reached = np.flatnonzero(np.isfinite(ahead[: laid.nodes + 1]))
    node = int(reached[-1]) if len(reached) else 0
    second = min(laid.second(node), len(problem.target) - 1)
    zone = int(problem.zone[second])
    allowed = np.isfinite(problem.zone_cost[zone]) & np.isfinite(problem.track_cost)
    pinned = any(pin.start <= second < (pin.end or pin.start + 1) for pin in problem.pins)
    return Infeasible(second, zone, "pin" if pinned else "no cut" if allowed.any() else "no track")
