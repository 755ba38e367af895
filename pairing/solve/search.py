"""From a Problem to an Answer."""

from dataclasses import dataclass

import numpy as np

from pairing.solve import bound as bounds
from pairing.solve import graph as graphs
from pairing.solve import tables as tabled
from pairing.solve.candidates import shortlist
from pairing.solve.coarse import coarse
from pairing.solve.costs import Doubles, evaluate, stretches
from pairing.solve.graph import Graph
from pairing.solve.grid import Grid, grid
from pairing.solve.picks import joined, pin_picks
from pairing.solve.problem import Answer, Chosen, Floats, Ints, Problem

MOST_PICKS = 300_000  # picks kept in the graph; editorial, memory and time grow with it
COARSE_S = 16  # seconds of the grid on which prices are found first
BOUNDED = (
    "energy",
    "zones",
    "changes",
    "trims",
    "clips",
    "tracks",
    "tempo steps",
    "key steps",
    "same artist",
    "repeats",
)


class Infeasible(Exception):  # noqa: N818
    """The tracks can't cover the class under the hard rules.

    Attributes:
        second: class second that no chain of picks gets past.
        zone: the zone of that second.
        why: "no track" (none may play there), "no cut" (tracks may, but none can be entered and left so that the second
            is covered), "too few" (only by using a track twice), "pin" (a pin can't be kept).
    """

    def __init__(self, second: int, zone: int, why: str) -> None:
        super().__init__(f"second {second}, zone {zone}: {why}")
        self.second, self.zone, self.why = second, zone, why


def solve(problem: Problem, *, start: Answer | None = None) -> Answer:
    """Choose, order and trim distinct tracks over the class at the least cost that can be found.

    The same problem gives the same answer: the search stops by counts.

    Args:
        start: a former answer; the new one is no worse if that one is still allowed.
    Raises:
        Infeasible: no chain covers the class.
    """
    if not stretches(problem.target):
        return Answer((), 0.0, 0.0, evaluate(problem, ()), BOUNDED, False)
    short = shortlist(problem)
    price = _first_prices(problem, short.tracks)
    stage = _lay_out(problem, grid(problem), short.tracks, price, MOST_PICKS)
    best, prices, graph = _improve(problem, stage)
    terms = evaluate(problem, best)
    cost = float(sum(terms.values()))
    return Answer(best, cost, min(cost, prices.bound, stage.left_out), terms, BOUNDED, not short.whole)


@dataclass(frozen=True, slots=True, eq=False)
class _Stage:
    """A grid, the graph of the picks kept on it, and a lower bound on the chains that need others."""

    grid: Grid
    graph: Graph
    left_out: float
    price: Doubles


def _first_prices(problem: Problem, tracks: Ints) -> Doubles:
    """Prices of the tracks (and pins) from a coarse grid, where they are found quickly."""
    thin, spread = coarse(problem, COARSE_S)
    try:
        stage = _lay_out(thin, grid(thin, spread), tracks, np.zeros(len(tracks) + len(problem.pins)), MOST_PICKS)
    except Infeasible:
        return np.zeros(len(tracks) + len(problem.pins))
    start = np.zeros(len(stage.price))
    return bounds.ascend(stage.graph, start, goal=np.inf, steps=200, dearest=_dearest(problem)).price


def _dearest(problem: Problem) -> float:
    return problem.weights.repeat if problem.allow_repeats else np.inf


def _improve(problem: Problem, stage: _Stage) -> tuple[tuple[Chosen, ...], bounds.Prices, Graph]:
    """Chains and prices in turn, on fewer and fewer picks."""
    graph, price, best, least = stage.graph, stage.price, (), np.inf
    for steps, width in ((40, 16), (80, 64)):
        prices = bounds.ascend(graph, price, goal=least, steps=steps, dearest=_dearest(problem))
        for chain in search(problem, stage.grid, graph, prices, limit=least, width=width):
            cost = cost_of(problem, chain)
            if cost < least:
                best, least = chain, cost
        if not best:
            continue
        kept = bounds.slacks(graph, prices) <= least
        graph = graphs.graph(problem, stage.grid, graph.picks.some(kept), graph.slot_track)
        price = prices.price
    if not best:
        raise Infeasible(stage.grid.second(stage.grid.nodes), 0, "too few")
    return best, prices, graph


def cost_of(problem: Problem, chosen: tuple[Chosen, ...]) -> float:
    """The whole objective."""
    return float(sum(evaluate(problem, chosen).values()))


def search(
    problem: Problem, laid: Grid, graph: Graph, prices: bounds.Prices, *, limit: float, width: int
) -> list[tuple[Chosen, ...]]:
    """Chains without repeats by beam search, the most promising first; none if the beam finds no way."""
    from pairing.solve import chains

    junctions, slots = len(graph.second), len(graph.slot_track)
    need, longest = _rules(laid, graph)
    labels = junctions * width
    cost, key = np.empty(labels), np.empty(labels)
    arrival, parent, pick = (np.empty(labels, dtype=np.int32) for _ in range(3))
    used = np.zeros((labels, (slots + 63) // 64), dtype=np.uint64)
    count = np.zeros(junctions, dtype=np.int32)
    chains.beam(
        *graph.arguments, graph.arrival_junction, prices.price, prices.onward, need, longest, _alive(graph),
        problem.weights.repeat if problem.allow_repeats else np.inf, limit + float(prices.price.sum()), width,
        cost, key, arrival, parent, pick, used, count,
    )  # fmt: skip
    last = (junctions - 1) * width
    return [graphs.chosen(graph, laid, _trace(parent, pick, label)) for label in range(last, last + int(count[-1]))]


def _trace(parent: Ints, pick: Ints, label: int) -> Ints:
    chain = []
    while parent[label] >= 0:
        chain.append(int(pick[label]))
        label = int(parent[label])
    return np.array(chain[::-1], dtype=np.int64)


def _alive(graph: Graph) -> Ints:
    """Slots that can still be picked at or after each junction, as bits; shape (J, words)."""
    slots, junctions = len(graph.slot_track), len(graph.second)
    last = np.full(slots, -1, dtype=np.int64)
    junction = np.repeat(np.arange(junctions), np.diff(graph.departure_offset))
    np.maximum.at(last, graph.departure_slot, junction)
    alive = np.zeros((junctions, (slots + 63) // 64), dtype=np.uint64)
    for slot in range(slots):
        alive[: last[slot] + 1, slot // 64] |= np.uint64(1) << np.uint64(slot % 64)
    return alive


def _rules(laid: Grid, graph: Graph) -> tuple[Floats, Floats]:
    """Where music is scarce: seconds left at each junction (J, R), and the most of them each slot can fill (S, R).

    A rule is a zone, or the whole class; only those are kept whose tracks could barely fill them.
    """
    before = np.concatenate((laid.zone_seconds, laid.zone_seconds.sum(axis=0, keepdims=True))).astype(np.float64)
    node = (graph.second - laid.first) // laid.step
    need = (before[:, -1:] - before[:, node]).T
    longest = np.zeros((len(graph.slot_track), len(before)))
    for rule in range(len(before)):
        seconds = before[rule, graph.picks.end] - before[rule, graph.picks.start]
        np.maximum.at(longest[:, rule], graph.picks.slot, seconds)
    scarce = (need[0] > 0) & (longest.sum(axis=0) < 4.0 * need[0])
    return np.ascontiguousarray(need[:, scarce]), np.ascontiguousarray(longest[:, scarce])


def _lay_out(problem: Problem, laid: Grid, tracks: Ints, price: Doubles, most: int) -> _Stage:
    """The picks of these tracks on the least priced chains, at most `most`.

    Raises:
        Infeasible: they can't cover the class even with repeats.
    """
    slot_track = np.concatenate((tracks, [pin.track for pin in problem.pins])).astype(np.int64)
    table = tabled.tables(problem, laid, tracks)
    slot_of_track = np.full(len(problem.track_cost), -1, dtype=np.int64)
    slot_of_track[tracks] = np.arange(len(tracks))
    table = table.priced((table.price + price[slot_of_track[table.track]]).astype(np.float32))
    pins = pin_picks(problem, laid, len(tracks))
    ahead, behind = tabled.least(table, pins)
    if not np.isfinite(ahead[laid.nodes]):
        raise _stuck(problem, laid, ahead)
    found, limit = tabled.collect(table, ahead, behind, most)
    picks = joined(tabled.found_picks(problem, table, found, slot_of_track), pins)
    return _Stage(laid, graphs.graph(problem, laid, picks, slot_track), limit - float(price.sum()), price)


def _stuck(problem: Problem, laid: Grid, ahead: Floats) -> Infeasible:
    """Why no chain of picks gets to the end."""
    node = int(np.flatnonzero(np.isfinite(ahead[: laid.nodes + 1]))[-1])
    second = min(laid.second(node), len(problem.target) - 1)
    zone = int(problem.zone[second])
    allowed = np.isfinite(problem.zone_cost[zone]) & np.isfinite(problem.track_cost)
    pinned = any(pin.start <= second < (pin.end or pin.start + 1) for pin in problem.pins)
    return Infeasible(second, zone, "pin" if pinned else "no cut" if allowed.any() else "no track")
