"""From a Problem to an Answer."""

from dataclasses import replace

import numpy as np

from audio.arrays import I64
from pairing.solve.candidates import only, shortlist
from pairing.solve.costs import evaluate, pin_of, stretches
from pairing.solve.grid import grid
from pairing.solve.heard import HeardCost, ascend_heard, matters, on_grid, with_heard
from pairing.solve.orders import by_orders, most_useful
from pairing.solve.problem import Answer, Chosen, Problem
from pairing.solve.rounds import ROUNDS, BestChain, first, near, search_on
from pairing.solve.scarce import improved_from
from pairing.solve.stage import (
    MOST_PICKS,
    Infeasible,
    Stage,
    check_pins,
    first_prices,
    highest_price,
    lay_out,
    with_others,
)

# All editorial: how far is searched.
HEARD_STEPS = 30
LAST_ROUNDS = ((30, 48), (60, 96))
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
    "meetings",
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
    former = start.chosen if start else ()
    part = only(problem, short.tracks, former)
    price = first_prices(short)
    stage = lay_out(part, grid(part), short.tracks, price, MOST_PICKS)
    found = search_on(part, stage.grid, first(part, stage, start), ROUNDS, 0.0)
    tracks = short.tracks
    if not found.best:
        chain = _placed(problem)
        tracks = np.union1d(tracks, [pick.track for pick in chain if pin_of(problem, pick) is None])
        part = only(problem, tracks, former)
        stage, found = improved_from(part, _with(part, stage, short.tracks, tracks), tracks, chain)
    found = _again(part, stage, tracks, found)
    terms = evaluate(part, found.best)
    bound = min(found.cost, found.bound, found.left_out)
    return Answer(found.best, float(sum(terms.values())), bound, terms, BOUNDED, not short.whole)


def _placed(problem: Problem) -> tuple[Chosen, ...]:
    """A chain by orders of all tracks.

    Raises:
        Infeasible: none was found.
    """
    placed = by_orders(problem, most_useful(problem))
    if placed.bare:
        second = placed.bare[0]
        raise Infeasible(second, int(problem.zone[second]), "not found", placed.bare)
    return placed.chosen


def _with(problem: Problem, stage: Stage, former: I64, tracks: I64) -> Stage:
    """The stage for more tracks, those that join without a price."""
    if len(tracks) == len(former):
        return stage
    price = np.zeros(len(tracks) + len(problem.pins))
    price[np.searchsorted(tracks, former)] = stage.price[: len(former)]
    price[len(tracks) :] = stage.price[len(former) :]
    return lay_out(problem, stage.grid, tracks, price, MOST_PICKS)


def _again(problem: Problem, stage: Stage, tracks: I64, found: BestChain) -> BestChain:
    """Rounds in which what is heard counts in the cost of each pick, with the picks that were left out too early."""
    dearest = highest_price(problem)
    heard = HeardCost(np.zeros(len(problem.target)), np.zeros(len(problem.target)), 0.0)
    price, graph = found.price, found.graph
    if matters(problem) and not near(found):
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
    return search_on(problem, laid, found, LAST_ROUNDS, heard.constant)
