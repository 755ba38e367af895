"""Chains without repeats, by beam search over the graph of picks.

At each junction the labels (chains so far) of least bound are kept. Beam search: Lowerre, The Harpy speech recognition
system, 1976 (from memory).
"""

import numpy as np
from numpy.typing import NDArray

from audio.arrays import F64, I32, I64
from pairing.solve.graph import Graph, chosen
from pairing.solve.grid import Grid
from pairing.solve.prices import Prices
from pairing.solve.problem import Chosen, Problem


def search(
    problem: Problem, laid: Grid, graph: Graph, prices: Prices, *, limit: float, width: int, most: int
) -> list[tuple[Chosen, ...]]:
    """Chains without repeats by beam search, at most `most`, the cheapest first; none if the beam finds no way."""
    from pairing.solve import chains

    junctions, slots = len(graph.second), len(graph.slot_track)
    labels = chains.no_labels(junctions, slots, width)
    repeat = problem.weights.repeat if problem.allow_repeats else np.inf
    need, longest = _rules(laid, graph)
    rules = (need, longest, longest.sum(axis=0), _alive(graph))
    limit += float(prices.price.sum())
    work = np.empty(need.shape[1]), np.empty(labels.used.shape[1], dtype=np.uint64)
    chains.beam(graph.arguments, (prices.price, prices.onward), rules, repeat, limit, width, work, tuple(labels))
    last = (junctions - 1) * width
    by_cost = last + np.argsort(labels.cost[last : last + int(labels.kept[-1])], kind="stable")
    return [chosen(graph, laid, _trace(labels.parent, labels.pick, int(label))) for label in by_cost[:most]]


def _trace(parent: I32, pick: I32, label: int) -> I64:
    chain = []
    while parent[label] >= 0:
        chain.append(int(pick[label]))
        label = int(parent[label])
    return np.array(chain[::-1], dtype=np.int64)


def _alive(graph: Graph) -> NDArray[np.uint64]:
    """Slots that can still be picked at or after each junction, as bits; shape (J, words)."""
    slots, junctions = len(graph.slot_track), len(graph.second)
    last = np.full(slots, -1, dtype=np.int64)
    junction = np.repeat(np.arange(junctions), np.diff(graph.departure_offset))
    np.maximum.at(last, graph.departure_slot, junction)
    alive = np.zeros((junctions, (slots + 63) // 64), dtype=np.uint64)
    for slot in range(slots):
        alive[: last[slot] + 1, slot // 64] |= np.uint64(1) << np.uint64(slot % 64)
    return alive


def _rules(laid: Grid, graph: Graph) -> tuple[F64, F64]:
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
