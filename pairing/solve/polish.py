"""Other tracks for one pick of an answer.

The pick before keeps its start, the pick after its end, and both their tracks; the two hand-overs between may move by
some seconds to where the new track and its neighbours can be cut. Nothing else moves.
"""

from dataclasses import dataclass, replace

import numpy as np

from audio.arrays import F32, F64, I64
from pairing.solve import tables as tabled
from pairing.solve.candidates import only, rate_tracks
from pairing.solve.costs import evaluate, neighbours, pair_costs, pin_of
from pairing.solve.grid import Grid, grid
from pairing.solve.picks import pick_costs
from pairing.solve.problem import Answer, Chosen, Problem

SLACK_S = 24  # a hand-over beside a swapped pick may move this far; editorial, two to three phrases
MOST_RATED = 2000  # tracks looked at for one place; more would take seconds a place in very large libraries; editorial
EXAMINED = 6  # more tracks are examined closely than are given; editorial
MOST_CUTS = 200_000  # how far is searched; editorial
ROUNDING = 0.01  # of costs in single precision
ANY = 1e30  # a cost that excludes nothing


@dataclass(frozen=True, slots=True)
class Replacement:
    """One replacement."""

    track: int
    chosen: tuple[Chosen, ...]  # the whole chain with it; only the pick and the hand-overs beside it differ
    cost_change: float  # of the whole objective; below 0 is better
    terms: dict[str, float]  # of the whole objective


def alternatives(
    problem: Problem,
    answer: Answer,
    index: int,
    *,
    limit: int = 20,
    slack_s: int = SLACK_S,
    alone: int | None = None,
    least_s: int = 0,
) -> tuple[Replacement, ...]:
    """Replacements of pick `index` (from 0), best first, at most `limit`; none if no track fits there.

    Tracks that the answer uses already are left out unless repeats are allowed. A neighbour that is pinned keeps its
    cuts, and a hand-over at which the music must change stays where it is.

    Args:
        alone: only this track, cut as it is among all.
        least_s: they play for so long at least.
    Raises:
        ValueError: no second of the class wants music.
    """
    tracks = _near_in_energy(problem, answer.chosen[index], _free_tracks(problem, answer.chosen, index))
    if alone is not None:
        tracks = np.array([alone] if alone in _free_tracks(problem, answer.chosen, index) else [], dtype=np.int64)
    if len(tracks) < len(problem.track_cost):
        problem = only(problem, tracks, answer.chosen)
    place = _place(problem, answer.chosen, index, slack_s, least_s)
    if not len(tracks):
        return ()
    nodes = place.laid.nodes + 1
    rating = rate_tracks(place.problem, place.laid, tracks, place.before, place.after, np.zeros(nodes, dtype=np.int64))
    total = rating[:, 0] + _steps(problem, answer.chosen, index, tracks)
    order = np.argsort(total, kind="stable")[: limit + EXAMINED]
    order = order[np.isfinite(total[order])]
    if not len(order):
        return ()
    # Ratings leave out what a short clip costs on top, at most the weight of one.
    costs = float(rating[order, 0].min()), float(rating[order, 0].max()) + problem.weights.clip + ROUNDING
    if alone is not None:
        costs = costs[0], ANY  # among others its best cut is found though it lies over its own rating by more than that
    picks = _best_cuts(problem, place, np.sort(tracks[order]), *costs)
    now = float(sum(evaluate(problem, answer.chosen).values()))
    found = []
    for middle in picks:
        chain = _chain(answer.chosen, index, place, middle)
        terms = evaluate(problem, chain)
        found.append(Replacement(middle.track, chain, float(sum(terms.values())) - now, terms))
    return tuple(sorted(found, key=lambda one: one.cost_change)[:limit])


@dataclass(frozen=True, slots=True, eq=False)
class _Gap:
    """The stretch of class in which a pick can be replaced, and what its neighbours cost by hand-over."""

    problem: Problem  # of that stretch alone
    laid: Grid
    first: int  # class second of its start
    before: F32  # (n + 1,) cost of the pick before if it ends at a node, change included; inf: it can't
    after: F32  # (n + 1,) cost of the pick after if it starts at a node
    enter_after: I64  # (n + 1,) second of the track after at which it is then entered


def _near_in_energy(problem: Problem, pick: Chosen, tracks: I64) -> I64:
    """Of very many tracks those whose mean energy lies nearest to what the place of the pick asks for."""
    if len(tracks) <= MOST_RATED:
        return tracks
    means = np.add.reduceat(problem.energy, problem.offset[:-1]) / np.maximum(np.diff(problem.offset), 1)
    off = np.abs(means[tracks] - np.nanmean(problem.target[pick.start : pick.end]))
    return np.sort(tracks[np.argpartition(off, MOST_RATED)[:MOST_RATED]])


def _free_tracks(problem: Problem, chosen: tuple[Chosen, ...], index: int) -> I64:
    free = np.isfinite(problem.track_cost) & (np.diff(problem.enter_offset) > 0) & (np.diff(problem.leave_offset) > 0)
    taken = [pin.track for pin in problem.pins] + [chosen[index].track]
    free[taken if problem.allow_repeats else taken + [pick.track for pick in chosen]] = False
    return np.flatnonzero(free)


def _place(problem: Problem, chosen: tuple[Chosen, ...], index: int, slack_s: int, least_s: int) -> _Gap:
    laid = grid(problem)
    pick = chosen[index]
    former = chosen[index - 1] if index > 0 and chosen[index - 1].end == pick.start else None
    later = chosen[index + 1] if index + 1 < len(chosen) and chosen[index + 1].start == pick.end else None
    starts = _ends_of(problem, laid, former, pick.start, slack_s)
    ends = _starts_of(problem, laid, later, pick.end, slack_s)
    # Where a pick is shorter than the slack, its two borders must not pass each other.
    starts = {second: cost for second, cost in starts.items() if second < pick.end} or {pick.start: 0.0}
    first = min(starts)
    ends = {second: found for second, found in ends.items() if second > first} or {
        pick.end: (0.0, later.enter if later else 0)
    }
    last = max(ends)
    starts = {second: cost for second, cost in starts.items() if second < last}
    part = part_of(problem, first, last)
    own = grid(part)
    nodes = own.nodes + 1
    before, after = np.full(nodes, np.inf, dtype=np.float32), np.full(nodes, np.inf, dtype=np.float32)
    enter_after = np.zeros(nodes, dtype=np.int64)
    for second, cost in starts.items():
        before[own.node(second - first)] = cost + float(laid.change[laid.node(second)])
    for second, (cost, enter) in ends.items():
        after[own.node(second - first)], enter_after[own.node(second - first)] = cost, enter
    length = np.where(np.arange(len(own.length)) * own.step < least_s, np.inf, own.length).astype(np.float32)
    still = replace(own, change=np.where(np.isfinite(before), 0.0, np.inf).astype(np.float32), length=length)
    free = replace(part, change_cost=np.zeros_like(part.change_cost))  # `before` holds what a change costs
    return _Gap(free, still, first, before, after, enter_after)


def _ends_of(problem: Problem, laid: Grid, former: Chosen | None, now: int, slack_s: int) -> dict[int, float]:
    """Class seconds at which the pick before may end, and its cost then."""
    if former is None:
        return {now: 0.0}
    if pin_of(problem, former) or now in problem.must_change:
        return {now: 0.0}
    track = former.track
    leaves = problem.leave_at[problem.leave_offset[track] : problem.leave_offset[track + 1]].astype(np.int64)
    end = former.start + leaves - former.enter
    ok = (end > former.start) & (np.abs(end - now) <= slack_s) & ((end - laid.first) % laid.step == 0)
    end = end[ok & (end <= laid.second(laid.reach[laid.reach_row[track], laid.node(former.start)]))]
    end = end[np.isfinite(laid.change[laid.node(end)])]
    one = np.ones(len(end), dtype=np.int64)
    start = one * laid.node(former.start)
    cost = pick_costs(problem, laid, start, laid.node(end), one * track, one * former.enter)
    allowed = np.isfinite(problem.length_cost[end - former.start])
    return {int(e): float(c) for e, c, fits in zip(end, cost, allowed, strict=True) if fits or e == now} or {now: 0.0}


def _starts_of(
    problem: Problem, laid: Grid, later: Chosen | None, now: int, slack_s: int
) -> dict[int, tuple[float, int]]:
    """Class seconds at which the pick after may start, its cost then, and the second of its track."""
    if later is None:
        return {now: (0.0, 0)}
    if pin_of(problem, later) or now in problem.must_change:
        return {now: (0.0, later.enter)}
    track = later.track
    enters = problem.enter_at[problem.enter_offset[track] : problem.enter_offset[track + 1]].astype(np.int64)
    leaves = problem.leave_at[problem.leave_offset[track] : problem.leave_offset[track + 1]].astype(np.int64)
    left = later.enter + later.end - later.start
    leaves = leaves[np.abs(leaves - left) <= slack_s]
    enter = np.repeat(enters, len(leaves))
    start = later.end - (np.tile(leaves, len(enters)) - enter)
    ok = (np.abs(start - now) <= slack_s) & (start < later.end) & ((start - laid.first) % laid.step == 0)
    enter, start = enter[ok], start[ok]
    node = laid.node(start)
    ok = np.isfinite(laid.change[node]) & (later.end <= laid.second(laid.reach[laid.reach_row[track], node]))
    ok &= np.isfinite(problem.length_cost[later.end - start]) | (start == now)
    enter, node = enter[ok], node[ok]
    one = np.ones(len(node), dtype=np.int64)
    cost = pick_costs(problem, laid, node, one * laid.node(later.end), one * track, enter)
    found: dict[int, tuple[float, int]] = {}
    for n, c, e in zip(node.tolist(), cost.tolist(), enter.tolist(), strict=True):
        second = laid.second(n)
        if second not in found or c < found[second][0]:
            found[second] = (c, e)
    return found or {now: (0.0, later.enter)}


def part_of(problem: Problem, first: int, last: int) -> Problem:
    """The problem of some seconds of the class alone.

    Args:
        first, last: class seconds; what lies from one to before the other stays, counted from 0.
    """
    inside = problem.must_change[(problem.must_change > first) & (problem.must_change < last)]
    return replace(
        problem,
        target=problem.target[first:last],
        weight=problem.weight[first:last],
        over=problem.over[first:last],
        change_cost=problem.change_cost[first : last + 1],
        must_change=inside - first,
        length_cost=problem.length_cost[: last - first + 1],
        zone=problem.zone[first:last],
        twins=(),
        pins=(),
        meetings=problem.meetings.within(first, last),
    )


def _steps(problem: Problem, chosen: tuple[Chosen, ...], index: int, tracks: I64) -> F64:
    """Cost of each track beside the neighbours of a pick."""
    cost = np.zeros(len(tracks))
    for one, two in neighbours(chosen[index - 1 : index + 2] if index > 0 else chosen[:2]):
        if two == chosen[index]:
            cost += pair_costs(problem, np.array([one.track]), tracks)[0]
        else:
            cost += pair_costs(problem, tracks, np.array([two.track]))[:, 0]
    return cost


def _best_cuts(problem: Problem, place: _Gap, tracks: I64, least: float, most: float) -> list[Chosen]:
    """The best pick of each track at the place; each costs from `least` to `most`, what stands beside it included."""
    laid = place.laid
    table = tabled.tables(place.problem, laid, tracks)
    pad = np.full(tabled.LANES, np.inf, dtype=np.float32)
    ready, behind = (np.tile(np.append(side, pad), (len(tracks), 1)) for side in (place.before, place.after))
    found, _ = tabled.collect(table, tabled.Least(ready, behind, least), MOST_CUTS, most)
    slot_of_track = np.arange(len(problem.track_cost), dtype=np.int64)
    picks = tabled.found_picks(place.problem, table, found, slot_of_track)
    table.done()
    total = place.before[picks.start] + picks.cost + place.after[picks.end]
    order = np.lexsort((total, picks.slot))
    first = order[np.flatnonzero(np.diff(picks.slot[order], prepend=-1))]
    return [
        Chosen(
            int(picks.slot[p]),
            place.first + laid.second(int(picks.start[p])),
            place.first + laid.second(int(picks.end[p])),
            int(picks.enter_s[p]),
        )
        for p in first
    ]


def _chain(chosen: tuple[Chosen, ...], index: int, place: _Gap, middle: Chosen) -> tuple[Chosen, ...]:
    """The chain with another pick at the place, and its neighbours cut to it."""
    chain = list(chosen)
    if index > 0 and chosen[index - 1].end == chosen[index].start:
        chain[index - 1] = replace(chosen[index - 1], end=middle.start)
    if index + 1 < len(chosen) and chosen[index + 1].start == chosen[index].end:
        enter = int(place.enter_after[place.laid.node(middle.end - place.first)])
        chain[index + 1] = replace(chosen[index + 1], start=middle.end, enter=enter)
    chain[index] = middle
    return tuple(chain)
