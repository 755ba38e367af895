"""A class that needs most of the music there is: the beam, which goes by cost, runs out of tracks before the end.

A chain found otherwise (`orders`) is then improved by picks that join at new prices. Where it stays far over the bound,
some picks on end are chosen anew, window by window, from the tracks that no other pick uses (a large neighbourhood
search; Shaw, CP 1998, from memory). All stops by counts.
"""

from dataclasses import replace

import numpy as np

from audio.arrays import F64, I64
from pairing.solve import graph as graphs
from pairing.solve.costs import pin_of, violations
from pairing.solve.grid import grid
from pairing.solve.picks import Picks, distinct, joined, pick_costs
from pairing.solve.polish import part_of
from pairing.solve.prices import ascend
from pairing.solve.problem import Answer, Chosen, Problem
from pairing.solve.rounds import BestChain, cost_of, first, search_on
from pairing.solve.stage import Infeasible, Stage, highest_price, lay_out, with_others

# All editorial: how far is searched.
WINDOW, EVERY, PASSES = 6, 3, 3  # picks chosen anew, every so many, so often
WINDOW_PICKS, WINDOW_ROUNDS = 60_000, ((40, 32), (60, 64))
JOINS, JOIN_STEPS, JOINING = 2, 60, 100_000  # turns of prices and of picks that join at them, and how many
JOIN_ROUNDS = ((60, 64),)  # on what has joined
WIDE = 0.1  # share of the cost over the bound from which windows are tried


def improved_from(problem: Problem, stage: Stage, tracks: I64, chain: tuple[Chosen, ...]) -> tuple[Stage, BestChain]:
    """The search from a chain that is known, where the picks of the stage make none without a repeat.

    Args:
        tracks: numbers of those of the stage, ascending, shape (n,).
    """
    stage, found = _priced(problem, stage, tracks, chain)
    if found.cost - found.bound <= WIDE * found.cost:
        return stage, found
    return _priced(problem, stage, tracks, _improved(problem, found.best, tracks, stage.price))


def _priced(problem: Problem, stage: Stage, tracks: I64, chain: tuple[Chosen, ...]) -> tuple[Stage, BestChain]:
    """Prices and the picks that count at them, in turn (column generation), beside those of a known chain."""
    laid, cost, price = stage.grid, cost_of(problem, chain), stage.price
    picks = joined(stage.graph.picks, _picks_of(problem, stage, tracks, chain))
    graph = graphs.graph(problem, laid, distinct(picks), stage.graph.slot_track)
    stage = Stage(laid, graph, stage.left_out, price)
    for _ in range(JOINS):
        price = ascend(stage.graph, price, goal=cost, steps=JOIN_STEPS, dearest=highest_price(problem)).price
        stage = with_others(problem, stage, tracks, price, JOINING, cost)
    known = BestChain(chain, cost, -np.inf, stage.graph, price, stage.left_out)
    return stage, search_on(problem, stage.grid, known, JOIN_ROUNDS, 0.0)


def _picks_of(problem: Problem, stage: Stage, tracks: I64, chain: tuple[Chosen, ...]) -> Picks:
    rows = [
        (stage.grid.node(pick.start), stage.grid.node(pick.end), pick.track, pick.enter)
        for pick in chain
        if pin_of(problem, pick) is None
    ]
    start, end, track, enter = np.array(rows, dtype=np.int64).reshape(-1, 4).T.copy()
    cost = pick_costs(problem, stage.grid, start, end, track, enter)
    return Picks(start, end, np.searchsorted(tracks, track), enter, cost)


def _improved(problem: Problem, chain: tuple[Chosen, ...], tracks: I64, price: F64) -> tuple[Chosen, ...]:
    cost = cost_of(problem, chain)
    for turn in range(PASSES):
        before, at = cost, turn % EVERY
        while at < len(chain):
            other = _window(problem, chain, slice(at, at + WINDOW), tracks, price)
            if other and not violations(problem, other) and cost_of(problem, other) < cost:
                chain, cost = other, cost_of(problem, other)
            at += EVERY
        if before - cost <= 0.01 * cost:
            break
    return chain


def _window(problem: Problem, chain: tuple[Chosen, ...], window: slice, tracks: I64, price: F64) -> tuple[Chosen, ...]:
    """The chain with the picks of a window chosen anew; empty if a pin stands there, or no other is found."""
    inside = chain[window]
    if any(pin_of(problem, pick) is not None for pick in inside):
        return ()
    begin = inside[0].start
    used = {pick.track for pick in chain if pick not in inside}
    free = np.array([track not in used for track in tracks.tolist()])
    part = part_of(problem, begin, inside[-1].end)
    moved = tuple(replace(pick, start=pick.start - begin, end=pick.end - begin) for pick in inside)
    try:
        stage = lay_out(part, grid(part), tracks[free], price[: len(tracks)][free], WINDOW_PICKS)
    except Infeasible:
        return ()
    start = Answer(moved, 0.0, 0.0, {}, (), bound_is_of_shortlist=False)
    best = search_on(part, stage.grid, first(part, stage, start), WINDOW_ROUNDS, 0.0).best
    if not best or best == moved:
        return ()
    back = [replace(pick, start=pick.start + begin, end=pick.end + begin) for pick in best]
    return (*chain[: window.start], *back, *chain[window.stop :])
