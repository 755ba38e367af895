"""The objective, defined once, and exactly: what a chain of picks costs, term by term.

A cost is in error² x seconds. The search works on tables made of the same parts; tests, the local moves and the swap
list ask `evaluate`. A chain that breaks a hard rule has an infinite term; `violations` says which rule.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from audio.arrays import F32, F64, I64, Mask
from pairing.solve.problem import Chosen, Pin, Problem

WINDOW_S = 8  # the worst window: a drop this long is heard however good the mean is; editorial
CLEAR_TEMPO_STEP = 0.12  # share; editorial, two tempos closer than that are felt as one pulse
TERMS = (
    "energy",
    "worst window",
    "zones",
    "changes",
    "trims",
    "clips",
    "tracks",
    "tempo steps",
    "key steps",
    "same artist",
    "repeats",
    "twins",
    "meetings",
)


def weighted(weight: float, cost: F32 | F64) -> F64:
    """Weight x cost, shape as given, where an infinite cost stays infinite at weight 0: a ban is no matter of taste.

    >>> weighted(0.0, np.array([2.0, np.inf])).tolist()
    [0.0, inf]
    """
    wide = np.asarray(cost, dtype=np.float64)
    return np.where(np.isinf(wide), np.inf, weight * np.where(np.isinf(wide), 0.0, wide))


def stretches(target: F32) -> list[tuple[int, int]]:
    """Stretches of class seconds that want music, in order, as (first second, second after the last).

    Args:
        target: shape (T,), NaN where no music is wanted.

    >>> stretches(np.array([0.5, 0.5, np.nan, 0.5], np.float32))
    [(0, 2), (3, 4)]
    """
    music = np.concatenate(([False], ~np.isnan(target), [False])).astype(np.int8)
    steps = np.diff(music)
    return list(zip(np.flatnonzero(steps == 1).tolist(), np.flatnonzero(steps == -1).tolist(), strict=True))


def change_costs(problem: Problem) -> F64:
    """Weighted cost of a hand-over at each class second, shape (T + 1,).

    Where music begins or must change, or a pin starts or ends, a hand-over is allowed whatever the table says; where
    music begins it is free.
    """
    cost = weighted(problem.weights.change, problem.change_cost)
    forced = [int(s) for s in problem.must_change if s < len(cost)]
    for pin in problem.pins:
        forced += [pin.start] if pin.end is None else [pin.start, pin.end]
    for second in forced:
        if np.isinf(cost[second]):
            cost[second] = 0.0
    for first, last in stretches(problem.target):
        cost[first] = 0.0
        cost[last] = 0.0
    return cost


def pair_costs(problem: Problem, before: I64, after: I64) -> F64:
    """What it costs that a track of `after` follows one of `before`, weighted.

    Args:
        before, after: numbers of tracks, shape (n,) and (m,).
    Returns:
        shape (n, m).
    """
    tempo, key, artist = _steps(problem, before[:, None], after[None, :])
    return tempo + key + artist


def played(problem: Problem, chosen: Sequence[Chosen]) -> F32:
    """Energy heard at each class second, 0 to 1, shape (T,); NaN where nothing plays."""
    heard = np.full(len(problem.target), np.nan, dtype=np.float32)
    for pick in chosen:
        first = int(problem.offset[pick.track]) + pick.enter
        heard[pick.start : pick.end] = problem.energy[first : first + pick.end - pick.start]
    return heard


def squared_errors(problem: Problem, heard: F32) -> F64:
    """Unweighted squared error of each class second, shape (T,); 0 where no music is wanted.

    Args:
        heard: energy of each class second, shape (T,), as `played` gives it.
    """
    error = heard.astype(np.float64) - problem.target.astype(np.float64)
    return np.where(np.isnan(problem.target), 0.0, error**2)


def evaluate(problem: Problem, chosen: tuple[Chosen, ...]) -> dict[str, float]:
    """Every term of the objective for a chain of picks that covers the class; their sum is the cost.

    Args:
        chosen: picks in class order; `violations` must be empty, else single terms may be infinite.
    Returns:
        cost by the name of its term, in error² x seconds.

    >>> from pairing.solve.arrays import problem
    >>> from pairing.solve.problem import Chosen
    >>> calm = problem([np.full(64, 0.25)], np.full(64, 0.75))
    >>> terms = evaluate(calm, (Chosen(track=0, start=0, end=64, enter=0),))
    >>> terms["energy"], sum(terms.values())
    (16.0, 16.0)
    """
    weights = problem.weights
    heard = played(problem, chosen)
    squares = squared_errors(problem, heard)
    livelier = np.where(heard > problem.target, problem.over, 1.0)
    terms = dict.fromkeys(TERMS, 0.0)
    terms["energy"] = weights.error * float(np.sum(problem.weight * livelier * squares))
    terms["worst window"] = weights.worst_window * worst_window(problem, squares)
    for term, costs in _pick_terms(problem, chosen).items():
        terms[term] = float(costs.sum())
    pairs = list(neighbours(chosen))
    before, after = (np.array([pair[side].track for pair in pairs], dtype=np.int64) for side in (0, 1))
    for term, costs in zip(("tempo steps", "key steps", "same artist"), _steps(problem, before, after), strict=True):
        terms[term] = float(costs.sum())
    terms["repeats"] = weights.repeat * (len(chosen) - len({pick.track for pick in chosen}))
    terms["twins"] = weights.twin * twin_difference(problem, heard)
    terms["meetings"] = weights.meeting * missed(problem, chosen)
    return terms


def _pick_terms(problem: Problem, chosen: Sequence[Chosen]) -> dict[str, F64]:
    """The terms of single picks, energy left out, each of shape (len(chosen),); inf: forbidden."""
    weights = problem.weights
    pinned = np.array([pin_of(problem, pick) is not None for pick in chosen], dtype=bool)
    track, start, end, enter = (
        np.array([getattr(pick, name) for pick in chosen], dtype=np.int64)
        for name in ("track", "start", "end", "enter")
    )
    zones = [problem.zone_cost[problem.zone[pick.start : pick.end], pick.track] for pick in chosen]
    into = cut_costs(problem.enter_at, problem.enter_cost, problem.enter_offset, track, enter)
    out = cut_costs(problem.leave_at, problem.leave_cost, problem.leave_offset, track, enter + end - start)
    cuts = _waive(into, pinned), _waive(out, pinned)
    return {
        "zones": np.array([_waive(row, pin).sum() for row, pin in zip(zones, pinned, strict=True)]),
        "changes": change_costs(problem)[start],
        "trims": weighted(weights.trim, cuts[0]) + weighted(weights.trim, cuts[1]),
        "clips": _waive(weighted(weights.clip, problem.length_cost[end - start]), pinned),
        "tracks": _waive(problem.track_cost[track], pinned),
    }


def worst_window(problem: Problem, squares: F64) -> float:
    """The largest mean squared error of WINDOW_S seconds on end with music, or of a shorter stretch as a whole.

    Args:
        squares: squared error of each class second, shape (seconds,).
    """
    worst = 0.0
    for first, last in stretches(problem.target):
        length = min(WINDOW_S, last - first)
        sums = np.concatenate(([0.0], np.cumsum(squares[first:last])))
        worst = max(worst, float((sums[length:] - sums[:-length]).max()) / length)
    return worst


def twin_difference(problem: Problem, heard: F32) -> float:
    """Squared difference of what is heard on the two sides of each flow, summed over seconds.

    Args:
        heard: energy of each class second, 0 to 1, shape (seconds,), NaN in silence, which counts for nothing.
    """
    total = 0.0
    for one, two, length in problem.twins:
        difference = heard[one : one + length].astype(np.float64) - heard[two : two + length]
        total += float(np.nansum(difference**2))
    return total


def missed(problem: Problem, chosen: Sequence[Chosen]) -> float:
    """How far all meetings are missed, each 0 to its weight, added up; where nothing plays nothing is missed."""
    met, total = problem.meetings, 0.0
    for pick in chosen if len(met.second) else ():
        here = (met.second >= pick.start) & (met.second < pick.end)
        place = int(problem.offset[pick.track]) + pick.enter - pick.start + met.second[here]
        total += float(met.weight[here] @ problem.apart[met.row[here], place].astype(np.float64))
    return total


def neighbours(chosen: Sequence[Chosen]) -> Iterator[tuple[Chosen, Chosen]]:
    """Picks that follow each other without a silence between them."""
    for one, two in pairwise(chosen):
        if one.end == two.start:
            yield one, two


def pin_of(problem: Problem, pick: Chosen) -> Pin | None:
    """The pin that a pick fulfils."""
    for pin in problem.pins:
        if pin.track == pick.track and pin.start == pick.start:
            if pin.end not in (None, pick.end) or pin.enter not in (None, pick.enter):
                continue
            return pin
    return None


def violations(problem: Problem, chosen: Sequence[Chosen]) -> list[str]:
    """Every hard rule that a chain of picks breaks, in words for a developer; empty: the chain is allowed.

    >>> from pairing.solve.arrays import problem
    >>> from pairing.solve.problem import Chosen
    >>> violations(problem([np.full(64, 0.5)], np.full(72, 0.5)), [Chosen(track=0, start=0, end=64, enter=0)])
    ['second 64 is covered 0 times']
    """
    return [*_gaps(problem, chosen), *_misplaced(problem, chosen), *_banned(problem, chosen)]


def _gaps(problem: Problem, chosen: Sequence[Chosen]) -> Iterator[str]:
    covered = np.zeros(len(problem.target), dtype=np.int64)
    for pick in chosen:
        if not 0 <= pick.start < pick.end <= len(problem.target):
            yield f"{pick} isn't inside the class"
        covered[max(pick.start, 0) : pick.end] += 1
    if np.any(covered != ~np.isnan(problem.target)):
        wrong = int(np.flatnonzero(covered != ~np.isnan(problem.target))[0])
        yield f"second {wrong} is covered {covered[wrong]} times"


def _misplaced(problem: Problem, chosen: Sequence[Chosen]) -> Iterator[str]:
    starts = {pick.start for pick in chosen}
    for second in problem.must_change:
        wanted = second < len(problem.target) and not np.isnan(problem.target[second])
        if wanted and int(second) not in starts:
            yield f"no track starts at second {second}"
    for pin in problem.pins:
        if not any(pin_of(problem, pick) == pin for pick in chosen):
            yield f"{pin} isn't kept"
    for pick in chosen:
        length = int(problem.offset[pick.track + 1] - problem.offset[pick.track])
        if pick.enter < 0 or pick.enter + pick.end - pick.start > length:
            yield f"{pick} isn't inside its track"


def _banned(problem: Problem, chosen: Sequence[Chosen]) -> Iterator[str]:
    for term, costs in _pick_terms(problem, chosen).items():
        yield from (
            f"{pick} has a forbidden part: {term}"
            for pick, cost in zip(chosen, costs.tolist(), strict=True)
            if not np.isfinite(cost)
        )
    free = [pick.track for pick in chosen if pin_of(problem, pick) is None]
    pinned = {pin.track for pin in problem.pins}
    if not problem.allow_repeats and (len(set(free)) < len(free) or pinned & set(free)):
        yield "a track is repeated"


def _waive(cost: F64 | F32, pinned: Mask | bool) -> F64:
    """The cost, an infinite one taken as none where the teacher herself put the track there."""
    return np.where(np.isinf(cost) & pinned, 0.0, cost.astype(np.float64))


def cut_costs(at: I64, cost: F32, offset: I64, track: I64, second: I64) -> F64:
    """Cost of cutting some tracks, each at a second of its own; inf where its table doesn't have it.

    Args:
        at, cost, offset: a table of cut points, ascending within a track; shapes (P,), (P,), (N + 1,).
        track, second: which track, and where in it; shape (M,) each.
    Returns:
        shape (M,).
    """
    owners, owner = np.unique(track, return_inverse=True)
    sizes = offset[owners + 1] - offset[owners]
    rows = np.repeat(offset[owners] - np.cumsum(sizes) + sizes, sizes) + np.arange(int(sizes.sum()))
    if not len(rows):
        return np.full(len(track), np.inf)
    span = int(at[rows].max()) + 2
    keys = np.repeat(np.arange(len(owners)), sizes) * span + at[rows]
    wanted = owner.reshape(-1) * span + np.clip(second, -1, span - 1)
    place = np.minimum(np.searchsorted(keys, wanted), len(keys) - 1)
    return np.where(keys[place] == wanted, cost[rows[place]].astype(np.float64), np.inf)


def _steps(problem: Problem, before: I64, after: I64) -> tuple[F64, F64, F64]:
    """Weighted cost of the step in tempo, of the step in key, and of the same artist (or track) twice running."""
    weights = problem.weights
    octaves = np.log2(problem.tempo_bpm[before]) - np.log2(problem.tempo_bpm[after])
    folded = np.abs(octaves - np.round(octaves))  # NaN, no clear beat: compares as False
    tempo = weights.tempo_step * (folded > np.log2(1.0 + CLEAR_TEMPO_STEP))
    one, two = problem.key[before], problem.key[after]
    apart = (_on_circle(one) - _on_circle(two)) % 12
    key = weights.key_step * np.where((one < 0) | (two < 0), 0.0, np.minimum(apart, 12 - apart) / 6.0)
    by_one = (problem.artist[before] == problem.artist[after]) & (problem.artist[before] >= 0)
    return tempo, key, weights.same_artist * (by_one | (before == after))


def _on_circle(key: I64) -> I64:
    """Place on the circle of fifths; a minor key stands with its relative major, three semitones up."""
    tonic = np.where(key >= 12, key - 12 + 3, key)
    return (7 * tonic) % 12
