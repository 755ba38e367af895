"""From a Problem to an Answer."""

from dataclasses import replace

import numpy as np

from pairing.solve.candidates import only, shortlist
from pairing.solve.costs import evaluate, stretches
from pairing.solve.grid import grid
from pairing.solve.heard import Heard, ascend_heard, matters, on_grid, with_heard
from pairing.solve.problem import Answer, Ints, Problem
from pairing.solve.rounds import ROUNDS, Found, first, near, search_on
from pairing.solve.scarce import found_otherwise
from pairing.solve.stage import (
    MOST_PICKS,
    Stage,
    check_pins,
    first_prices,
    highest_price,
    lay_out,
    too_few,
    with_others,
)

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
    problem = only(problem, short.tracks, start.chosen if start else ())
    price = first_prices(short)
    stage = lay_out(problem, grid(problem), short.tracks, price, MOST_PICKS)
    found = search_on(problem, stage.grid, first(problem, stage, start), ROUNDS, 0.0)
    if not found.best:
        stage, found = found_otherwise(problem, stage, short.tracks, found)
    if not found.best:
        raise too_few(problem, stage)
    found = _again(problem, stage, short.tracks, found)
    terms = evaluate(problem, found.best)
    bound = min(found.cost, found.bound, found.left_out)
    return Answer(found.best, float(sum(terms.values())), bound, terms, BOUNDED, not short.whole)


def _again(problem: Problem, stage: Stage, tracks: Ints, found: Found) -> Found:
    """Rounds in which what is heard counts in the cost of each pick, with the picks that were left out too early."""
    dearest = highest_price(problem)
    heard = Heard(np.zeros(len(problem.target)), np.zeros(len(problem.target)), 0.0)
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
