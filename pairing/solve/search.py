"""From a Problem to an Answer."""

import numpy as np

from pairing.solve import bound as bounds
from pairing.solve import graph as graphs
from pairing.solve import tables as tabled
from pairing.solve.costs import evaluate, stretches
from pairing.solve.graph import Graph, Picks
from pairing.solve.grid import Grid, grid
from pairing.solve.problem import Answer, Chosen, Floats, Ints, Problem

MOST_PICKS = 300_000  # picks kept in the graph; editorial, memory and time grow with it
WIDTH = 48  # labels kept at a junction; editorial, measured in docs/pairing.md
BOUNDED = ("energy", "zones", "changes", "trims", "clips", "tracks", "tempo steps", "key steps", "same artist", "repeats")


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
    laid = grid(problem)
    tracks = np.arange(len(problem.track_cost))
    table = tabled.tables(problem, laid, tracks)
    slot_track = np.concatenate((tracks, [pin.track for pin in problem.pins])).astype(np.int64)
    pins = graphs.pin_picks(problem, laid, len(tracks))
    ahead, behind = _least(table, pins)
    if not np.isfinite(ahead[laid.nodes]):
        raise _stuck(problem, laid, ahead)
    picks, limit = _worth_keeping(problem, table, pins, ahead, behind, slot_track)
    graph = graphs.graph(problem, laid, picks, slot_track)
    dearest = problem.weights.repeat if problem.allow_repeats else np.inf
    prices = bounds.ascend(graph, np.zeros(len(slot_track)), goal=1.1 * float(ahead[laid.nodes]), steps=100, dearest=dearest)
    chains = search(problem, laid, graph, prices, limit=np.inf, width=WIDTH)
    if not chains:
        raise Infeasible(laid.second(laid.nodes), 0, "too few")
    best = min(((cost_of(problem, chain), chain) for chain in chains), key=lambda rated: rated[0])
    terms = evaluate(problem, best[1])
    return Answer(best[1], best[0], min(best[0], prices.bound, limit), terms, BOUNDED, False)


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
    return [
        graphs.chosen(graph, laid, _trace(parent, pick, label)) for label in range(last, last + int(count[-1]))
    ]


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


def _least(table: tabled.Tables, pins: Picks) -> tuple[Floats, Floats]:
    """Least cost to and from each node, repeats allowed."""
    extra = np.ascontiguousarray(np.column_stack((pins.start, pins.end)).astype(np.int32))
    order = np.argsort(pins.start, kind="stable")
    change = table.grid.change.astype(np.float64)
    cost = (pins.cost - change[pins.start]).astype(np.float32)
    ahead, _ = tabled.forward(table, extra[order], cost[order])
    return ahead, tabled.backward(table, extra[order], cost[order])


def _worth_keeping(
    problem: Problem, table: tabled.Tables, pins: Picks, ahead: Floats, behind: Floats, slot_track: Ints
) -> tuple[Picks, float]:
    """The picks on the least chains, as many as are kept, and the cost of chains that were left out."""
    from pairing.solve import kernels

    least = float(ahead[table.grid.nodes])
    limit = 2.0 * least + 1.0
    histogram = np.zeros(1024, dtype=np.int64)
    width = (limit - least) / 1000.0
    none = np.empty((0, 2), dtype=np.int32), np.empty(0, dtype=np.float32)
    count = kernels.collect(*table.arguments, ahead, behind, limit, width, histogram, *none)
    if count > MOST_PICKS:
        bins = max(1, int(np.searchsorted(np.cumsum(histogram), MOST_PICKS, side="right")))
        limit -= (len(histogram) - bins) * width
        histogram[:] = 0
    found, cost = np.empty((MOST_PICKS, 2), dtype=np.int32), np.empty(MOST_PICKS, dtype=np.float32)
    count = kernels.collect(*table.arguments, ahead, behind, limit, width, histogram, found, cost)
    slot_of_track = np.arange(len(slot_track), dtype=np.int64)
    picks = graphs.found_picks(problem, table, found[: min(count, MOST_PICKS)], slot_of_track)
    return graphs.joined(picks, pins), limit


def _stuck(problem: Problem, laid: Grid, ahead: Floats) -> Infeasible:
    """Why no chain of picks gets to the end."""
    node = int(np.flatnonzero(np.isfinite(ahead[: laid.nodes + 1]))[-1])
    second = min(laid.second(node), len(problem.target) - 1)
    zone = int(problem.zone[second])
    allowed = np.isfinite(problem.zone_cost[zone]) & np.isfinite(problem.track_cost)
    pinned = any(pin.start <= second < (pin.end or pin.start + 1) for pin in problem.pins)
    return Infeasible(second, zone, "pin" if pinned else "no cut" if allowed.any() else "no track")
