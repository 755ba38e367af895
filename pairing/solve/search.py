"""From a Problem to an Answer."""

import numpy as np

from pairing.solve import graph as graphs
from pairing.solve.beam import search
from pairing.solve.candidates import shortlist
from pairing.solve.costs import Doubles, evaluate, stretches
from pairing.solve.grid import grid
from pairing.solve.prices import ascend, slacks
from pairing.solve.problem import Answer, Chosen, Problem
from pairing.solve.stage import MOST_PICKS, Infeasible, Stage, first_prices, highest_price, lay_out, scarce, with_others

RAISES = 6  # rounds of new picks at raised prices, where tracks are few for their place
RAISE = 0.05  # share of the least cost by which the price of a scarce track rises in each
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
    price = first_prices(problem, short.tracks)
    stage = lay_out(problem, grid(problem), short.tracks, price, MOST_PICKS)
    best, bound, found = _improve(problem, stage)
    dearest = max(stage.left_out, 1.0)
    price = stage.price
    for _ in range(RAISES):
        if best:
            break
        # The picks kept make no chain without a repeat. At higher prices for the tracks that are short, others join.
        price = np.maximum(price + RAISE * dearest * scarce(stage), np.minimum(found, dearest))
        stage = with_others(problem, stage, short.tracks, price, MOST_PICKS)
        best, bound, found = _improve(problem, stage)
    if not best:
        raise Infeasible(stage.grid.second(stage.grid.nodes), 0, "too few")
    terms = evaluate(problem, best)
    cost = float(sum(terms.values()))
    return Answer(best, cost, min(cost, bound, stage.left_out), terms, BOUNDED, not short.whole)


def _improve(problem: Problem, stage: Stage) -> tuple[tuple[Chosen, ...], float, Doubles]:
    """Chains and prices in turn, on fewer and fewer picks; the best chain (empty: none), its bound, the last prices."""
    graph, price, least = stage.graph, stage.price, np.inf
    best: tuple[Chosen, ...] = ()
    for steps, width in ((40, 16), (80, 64)):
        prices = ascend(graph, price, goal=least, steps=steps, dearest=highest_price(problem))
        for chain in search(problem, stage.grid, graph, prices, limit=least, width=width):
            cost = cost_of(problem, chain)
            if cost < least:
                best, least = chain, cost
        if not best:
            price = prices.price
            continue
        kept = slacks(graph, prices) <= least
        graph = graphs.graph(problem, stage.grid, graph.picks.some(kept), graph.slot_track)
        price = prices.price
    return best, prices.bound, price


def cost_of(problem: Problem, chosen: tuple[Chosen, ...]) -> float:
    """The whole objective."""
    return float(sum(evaluate(problem, chosen).values()))
