"""Prices and chains in turn: rounds of the search on one graph of picks."""

from dataclasses import dataclass

import numpy as np

from audio.arrays import F64
from pairing.solve import graph as graphs
from pairing.solve.beam import search
from pairing.solve.costs import evaluate, violations
from pairing.solve.graph import Graph
from pairing.solve.grid import Grid
from pairing.solve.prices import ascend, slacks
from pairing.solve.problem import Answer, Chosen, Problem
from pairing.solve.stage import Stage, highest_price

# All editorial: how far is searched.
ROUNDS = ((40, 16), (80, 64), (200, 64), (100, 192))  # subgradient steps and labels a junction of each round
RATED = 24  # chains of a round, the cheapest on its graph, whose whole cost is worked out
FEWER = 60_000  # picks kept after a round
CLOSE = 1e-4  # share of the cost: nearer to the bound the search stops


@dataclass(frozen=True, slots=True, eq=False)
class BestChain:
    """The best chain so far, its cost, a bound, and the picks and prices with which the search goes on."""

    best: tuple[Chosen, ...]
    cost: float
    bound: float
    graph: Graph
    price: F64
    left_out: float  # a bound on chains that need picks no longer in the graph


def search_on(
    problem: Problem,
    laid: Grid,
    found: BestChain,
    rounds: tuple[tuple[int, int], ...],
    offset: float,
    fewer: int = FEWER,
) -> BestChain:
    """Prices and chains in turn, each time on the picks that can still be of a better chain.

    Args:
        rounds: subgradient steps and labels a junction of each.
        offset: what the costs of the graph leave out.
        fewer: picks kept after each.
    """
    for steps, width in rounds:
        goal = found.cost - offset
        prices = ascend(found.graph, found.price, goal=goal, steps=steps, dearest=highest_price(problem))
        chains = search(problem, laid, found.graph, prices, limit=goal, width=width, most=RATED)
        rated = [(cost_of(problem, chain), n) for n, chain in enumerate(chains)]
        best, cost = found.best, found.cost
        if rated and min(rated)[0] < cost:
            cost, best = min(rated)[0], chains[min(rated)[1]]
        stale = bool(best) and cost == found.cost and prices.bound + offset <= found.bound
        slack = slacks(found.graph, prices)
        limit = cost - offset
        left_out = found.left_out
        if best and np.count_nonzero(slack <= limit) > fewer:
            limit = float(np.partition(slack, fewer)[fewer])
            left_out = min(left_out, limit + offset)
        graph = graphs.graph(problem, laid, found.graph.picks.some(slack <= limit), found.graph.slot_track)
        found = BestChain(best, cost, max(found.bound, prices.bound + offset), graph, prices.price, left_out)
        if stale or near(found):
            break
    return found


def first(problem: Problem, stage: Stage, start: Answer | None) -> BestChain:
    """Nothing but a former answer, if it is still allowed."""
    best: tuple[Chosen, ...] = ()
    if start is not None and not violations(problem, start.chosen):
        best = start.chosen
    cost = cost_of(problem, best) if best else np.inf
    return BestChain(best, cost, -np.inf, stage.graph, stage.price, stage.left_out)


def near(found: BestChain) -> bool:
    """Whether the best chain is as near to the bound as is asked for."""
    return bool(found.best) and found.cost - found.bound <= CLOSE * found.cost


def cost_of(problem: Problem, chosen: tuple[Chosen, ...]) -> float:
    """The whole objective, in error² x seconds."""
    return float(sum(evaluate(problem, chosen).values()))
