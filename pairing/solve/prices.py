"""Prices, and the bound they prove.

That no track is used twice is a side condition of a shortest path problem (an elementary path). It is moved into the
cost: a price >= 0 on each further use of a track, found by subgradient steps. At any prices the least priced chain,
less the prices, is a lower bound on every chain without repeats: a Lagrangian bound (Fisher, Management Science
50(12), 2004; Held, Wolfe, Crowder, Mathematical Programming 6, 1974).
"""

from dataclasses import dataclass

import numpy as np

from audio.arrays import F64, I64
from pairing.solve.graph import Graph


@dataclass(frozen=True, slots=True, eq=False)
class Prices:
    """Prices of the slots, the bound they prove, and what the priced chains cost from and to each place."""

    price: F64  # (S,)
    bound: float
    ahead: F64  # (D,) least priced cost from a departure to the end
    onward: F64  # (A,) from an arrival
    behind: F64  # (D,) from the start to a departure, its own price included


def ascend(graph: Graph, price: F64, *, goal: float, steps: int, dearest: float) -> Prices:
    """Raise the bound by at most `steps` subgradient steps from `price`.

    Args:
        price: of each slot, shape (S,), 0 or more.
        goal: cost of a chain that is known (inf: none yet); sets the size of the steps.
        dearest: no price may be higher (the cost of a repeat where repeats are allowed, else inf).
    """
    best_price, best = price.copy(), -np.inf
    scale, stale = 1.0, 0
    for _ in range(steps):
        value, chain, _ = _least(graph, price)
        if value == np.inf:
            break
        if value > best + 1e-9 * abs(best if np.isfinite(best) else 0.0):
            best, best_price, stale = value, price.copy(), 0
        else:
            stale += 1
        if stale >= 8:
            scale, stale, price = scale / 2.0, 0, best_price.copy()
            continue
        aim = goal if np.isfinite(goal) else value + 0.05 * abs(value)
        former, price = price, step(graph, price, chain, scale * max(aim - value, 1e-3 * abs(aim)), dearest)
        if np.array_equal(former, price):
            break
    return priced(graph, best_price)


def step(graph: Graph, price: F64, chain: I64, gain: float, dearest: float) -> F64:
    """Prices after a step that would raise the bound by `gain` if it were linear: dearer what a chain repeats.

    Args:
        price: of each slot, shape (S,).
        chain: numbers of the picks of the chain, shape (n,).
        dearest: no price may be higher.
    Returns:
        shape (S,); `price` itself where the chain uses each slot once.
    """
    uses = np.bincount(graph.picks.slot[chain], minlength=len(price))
    slope = np.where((uses == 0) & (price <= 0.0), 0, uses - 1).astype(np.float64)
    slope[(price >= dearest) & (slope > 0)] = 0.0
    norm = float(slope @ slope)
    return price if norm == 0.0 else np.clip(price + gain / norm * slope, 0.0, dearest)


def least_chain(graph: Graph, price: F64) -> tuple[float, I64]:
    """The bound at these prices, and the picks of the least priced chain; inf and none if no chain is left.

    Args:
        price: of each slot, shape (S,).
    Returns:
        the bound; numbers of the picks in class order, shape (n,).
    """
    value, chain, _ = _least(graph, price)
    return value, chain


def priced(graph: Graph, price: F64) -> Prices:
    """What prices prove, of each slot, shape (S,)."""
    from pairing.solve import chains

    value, _, behind = _least(graph, price)
    ahead = np.full(len(graph.departure_slot), np.inf)
    onward = np.full(len(graph.arrival_slot), np.inf)
    chains.chain_backward(graph.arguments, price, graph.dearest, np.empty(len(price), np.int64), ahead, onward)
    return Prices(price, value, ahead, onward, behind)


def slacks(graph: Graph, prices: Prices) -> F64:
    """Lower bound on a chain through each pick, shape (M,)."""
    return (
        prices.behind[graph.pick_departure]
        + graph.picks.cost
        + prices.onward[graph.pick_arrival]
        - float(prices.price.sum())
    )


def _least(graph: Graph, price: F64) -> tuple[float, I64, F64]:
    """Bound at these prices, the picks of the least priced chain, and the cost to each departure."""
    from pairing.solve import chains

    best = np.empty(len(graph.arrival_slot))
    by_pick = np.full(len(graph.arrival_slot), -1, dtype=np.int32)
    before = np.full(len(graph.departure_slot), -1, dtype=np.int32)
    depart = np.empty(len(graph.departure_slot))
    near = np.empty(len(price), np.int64)
    chains.chain_forward(graph.arguments, price, graph.dearest, near, best, depart, by_pick, before)
    last = slice(int(graph.arrival_offset[-2]), int(graph.arrival_offset[-1]))
    if last.start == last.stop or best[last].min() == np.inf:
        return np.inf, np.empty(0, dtype=np.int64), depart
    arrival = last.start + int(np.argmin(best[last]))
    value = float(best[arrival]) - float(price.sum())
    chain = []
    while arrival >= 0:
        pick = int(by_pick[arrival])
        chain.append(pick)
        arrival = int(before[graph.pick_departure[pick]])
    return value, np.array(chain[::-1], dtype=np.int64), depart
