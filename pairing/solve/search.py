"""From a Problem to an Answer."""

from dataclasses import dataclass, replace

import numpy as np

from pairing.solve import graph as graphs
from pairing.solve.beam import search
from pairing.solve.candidates import shortlist
from pairing.solve.costs import Doubles, evaluate, stretches, violations
from pairing.solve.graph import Graph
from pairing.solve.grid import Grid, grid
from pairing.solve.heard import Heard, ascend_heard, matters, on_grid, with_heard
from pairing.solve.prices import ascend, slacks
from pairing.solve.problem import Answer, Chosen, Ints, Problem
from pairing.solve.stage import (
    MOST_PICKS,
    Stage,
    check_pins,
    first_prices,
    highest_price,
    lay_out,
    scarce,
    too_few,
    with_others,
)

ROUNDS = ((40, 16), (80, 64), (200, 64), (100, 192))  # subgradient steps and labels a junction of each round
HEARD_STEPS = 30
LAST_ROUNDS = ((30, 48), (60, 96))
RATED = 24  # chains of a round, the cheapest on its graph, whose whole cost is worked out
FEWER = 60_000  # picks kept after a round
CLOSE = 1e-4  # share of the cost: nearer to the bound the search stops
RAISES = 2  # rounds of new picks at raised prices, where tracks are few for their place
MANY_PICKS = 1_000_000  # picks kept in those rounds: where a class needs most of the music, the least make no chain
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
    "worst window",
    "twins",
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
    check_pins(problem)
    short = shortlist(problem)
    price = first_prices(short)
    stage = lay_out(problem, grid(problem), short.tracks, price, MOST_PICKS)
    found = _rounds(problem, stage.grid, _first(problem, stage, start), ROUNDS, 0.0)
    dearest = max(stage.left_out, 1.0)
    price = stage.price
    for _ in range(RAISES):
        if found.best:
            break
        # The picks kept make no chain without a repeat. At higher prices for the tracks that are short, others join.
        price = np.maximum(price + RAISE * dearest * scarce(stage), np.minimum(found.price, dearest))
        stage = with_others(problem, stage, short.tracks, price, MANY_PICKS)
        found = _rounds(problem, stage.grid, _first(problem, stage, None), ROUNDS, 0.0)
    if not found.best:
        raise too_few(problem, stage)
    found = _again(problem, stage, short.tracks, found)
    terms = evaluate(problem, found.best)
    bound = min(found.cost, found.bound, found.left_out)
    return Answer(found.best, float(sum(terms.values())), bound, terms, BOUNDED, not short.whole)


@dataclass(frozen=True, slots=True, eq=False)
class _Found:
    """The best chain so far, its cost, a bound, and the picks and prices with which the search goes on."""

    best: tuple[Chosen, ...]
    cost: float
    bound: float
    graph: Graph
    price: Doubles
    left_out: float  # a bound on chains that need picks no longer in the graph


def _rounds(problem: Problem, laid: Grid, found: _Found, rounds: tuple[tuple[int, int], ...], offset: float) -> _Found:
    """Prices and chains in turn, each time on the picks that can still be of a better chain.

    Args:
        rounds: subgradient steps and labels a junction of each.
        offset: what the costs of the graph leave out.
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
        if best and np.count_nonzero(slack <= limit) > FEWER:
            limit = float(np.partition(slack, FEWER)[FEWER])
            left_out = min(left_out, limit + offset)
        graph = graphs.graph(problem, laid, found.graph.picks.some(slack <= limit), found.graph.slot_track)
        found = _Found(best, cost, max(found.bound, prices.bound + offset), graph, prices.price, left_out)
        if stale or _near(found):
            break
    return found


def _first(problem: Problem, stage: Stage, start: Answer | None) -> _Found:
    """Nothing but a former answer, if it is still allowed."""
    best: tuple[Chosen, ...] = ()
    if start is not None and not violations(problem, start.chosen):
        best = start.chosen
    cost = cost_of(problem, best) if best else np.inf
    return _Found(best, cost, -np.inf, stage.graph, stage.price, stage.left_out)


def _near(found: _Found) -> bool:
    return bool(found.best) and found.cost - found.bound <= CLOSE * found.cost


def _again(problem: Problem, stage: Stage, tracks: Ints, found: _Found) -> _Found:
    """Rounds in which what is heard counts in the cost of each pick, with the picks that were left out too early."""
    dearest = highest_price(problem)
    heard = Heard(np.zeros(len(problem.target)), np.zeros(len(problem.target)), 0.0)
    price, graph = found.price, found.graph
    if matters(problem) and not _near(found):
        heard, price, _ = ascend_heard(
            problem, stage.grid, graph, price, goal=found.cost, steps=HEARD_STEPS, dearest=dearest
        )
        graph = with_heard(problem, stage.grid, graph, heard)
    elif found.left_out >= found.bound:
        return found
    laid, left_out = on_grid(stage.grid, heard), found.left_out
    if left_out < found.cost:
        here = Stage(laid, graph, left_out - heard.constant, price)
        here = with_others(problem, here, tracks, price, MOST_PICKS, found.cost - heard.constant)
        graph, left_out = here.graph, here.left_out + heard.constant
    found = replace(found, graph=graph, price=price, bound=-np.inf, left_out=left_out)
    return _rounds(problem, laid, found, LAST_ROUNDS, heard.constant)


def cost_of(problem: Problem, chosen: tuple[Chosen, ...]) -> float:
    """The whole objective."""
    return float(sum(evaluate(problem, chosen).values()))
