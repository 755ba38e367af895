"""Which tracks can matter: a shortlist, ranked by the objective itself.

The class is covered at least cost with a sample of the library on a coarse grid. Each track is then rated by the least
cost of covering the class through it, at each minute, and the best of each minute make the shortlist; once more on a
finer grid, with the shortlist in place of the sample. (Column generation: the rating is a reduced cost.) Of very many
tracks a part gives the first shortlist, and only the better ones of each minute get to the finer grid.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from audio.arrays import F32, I32, I64, Mask, offsets
from pairing.solve import tables as tabled
from pairing.solve.coarse import coarse
from pairing.solve.grid import Grid, grid, oldest
from pairing.solve.picks import pin_picks
from pairing.solve.problem import Chosen, Problem

# All editorial: how far is searched.
SAMPLE = 200  # tracks of the first round
A_MINUTE = 8  # tracks kept for each minute of class; editorial, measured in docs/pairing.md
MANY, A_MINUTE_OF_MANY = 5_000, 6  # where there are so many tracks, the best of a minute are nearly alike
COARSE_S, FINER_S = 16, 8  # seconds of the grids on which tracks are rated
TOO_MANY = 20_000  # all tracks are rated on the finer grid up to here
A_MINUTE_AGAIN = 150  # of more tracks, those of each minute that are rated on it
ALL = 250  # libraries up to this size are taken whole


@dataclass(frozen=True, slots=True, eq=False)
class Shortlist:
    """Tracks to lay out, ascending, and whether it is all that may be used."""

    tracks: I64
    whole: bool
    thin: tuple[Problem, F32]  # the problem in units of COARSE_S, and the variance hidden in each


def shortlist(problem: Problem) -> Shortlist:
    """The tracks among which the search chooses.

    Raises:
        ValueError: no second of the class wants music.
    """
    pinned = {pin.track for pin in problem.pins}
    usable = np.isfinite(problem.track_cost) & (np.diff(problem.enter_offset) > 0) & (np.diff(problem.leave_offset) > 0)
    usable[list(pinned)] = False
    tracks = np.flatnonzero(usable)
    thin = coarse(problem, COARSE_S)
    if len(tracks) <= ALL:
        return Shortlist(tracks, True, thin)
    kept = A_MINUTE if len(tracks) <= MANY else A_MINUTE_OF_MANY
    part = _thinned(tracks, TOO_MANY)
    few = part[_best(_rated(thin, COARSE_S, _thinned(tracks, SAMPLE), part), kept)]
    if len(tracks) > TOO_MANY:
        rating = _rated(thin, COARSE_S, few, tracks)
        again = _best(rating, A_MINUTE_AGAIN)
        few, tracks = tracks[again[_best(rating[again], kept)]], tracks[again]
        problem = only(problem, tracks)
    few = tracks[_best(_rated(coarse(problem, FINER_S), FINER_S, few, tracks), kept)]
    return Shortlist(few, False, coarse(only(problem, few), COARSE_S))


def _thinned(tracks: I64, most: int) -> I64:
    return tracks[:: -(-len(tracks) // most)].copy()  # in one piece, as compiled code wants it


def _rated(thin: tuple[Problem, F32], seconds: int, few: I64, tracks: I64) -> F32:
    return rate(thin[0], grid(*thin), few, tracks, minute=max(1, 60 // seconds))


def only(problem: Problem, tracks: I64, chosen: Sequence[Chosen] = ()) -> Problem:
    """The problem with the curves of these tracks alone, of those chosen, and of pins.

    The others stay as tracks without a second, so that every track keeps its number.

    Args:
        tracks: numbers of tracks, shape (n,).
    """
    kept = np.zeros(len(problem.track_cost), dtype=bool)
    kept[tracks] = True
    kept[[pick.track for pick in chosen]] = True
    kept[[pin.track for pin in problem.pins]] = True
    energy, offset = _rows(problem.offset, kept)
    enter, enter_offset = _rows(problem.enter_offset, kept)
    leave, leave_offset = _rows(problem.leave_offset, kept)
    return replace(
        problem,
        energy=problem.energy[energy],
        apart=problem.apart[:, energy] if problem.apart.size else problem.apart,
        offset=offset,
        enter_at=problem.enter_at[enter],
        enter_cost=problem.enter_cost[enter],
        enter_offset=enter_offset,
        leave_at=problem.leave_at[leave],
        leave_cost=problem.leave_cost[leave],
        leave_offset=leave_offset,
    )


def _rows(offset: I64, kept: Mask) -> tuple[I64, I64]:
    """The rows of a table that belong to the tracks kept, and the table's new offsets."""
    sizes = np.where(kept, np.diff(offset), 0)
    after = offsets(sizes)
    return np.repeat(offset[:-1] - after[:-1], sizes) + np.arange(after[-1]), after


def rate(thin: Problem, laid: Grid, few: I64, tracks: I64, *, minute: int) -> F32:
    """Least cost of covering the class with `few` and each track, by the minute in which its pick ends.

    Args:
        thin, laid: the problem on a coarse grid, and that grid.
        few, tracks: numbers of tracks, ascending, shape (n,) each.
        minute: seconds of the coarse problem that are one.
    Returns:
        shape (len(tracks), minutes); inf where it can't be used.
    """
    table = tabled.tables(thin, laid, few)
    slots = np.concatenate((few, [pin.track for pin in thin.pins])).astype(np.int64)
    cover = tabled.least(thin, table, slots, pin_picks(thin, laid, len(few)))
    table.done()
    nodes = laid.nodes + 1
    ahead, behind = cover.ready.min(axis=0), cover.behind.min(axis=0)
    bins = np.arange(nodes) * laid.step // minute
    return rate_tracks(thin, laid, tracks, ahead[:nodes] + laid.change, behind[:nodes], bins)


def rate_tracks(problem: Problem, laid: Grid, tracks: I64, ready: F32, behind: F32, bins: I64) -> F32:
    """Least cost of a chain through each track, by the bin of the node at which its pick ends.

    Args:
        tracks: their numbers, shape (n,).
        ready: (n + 1,) least cost up to each node, the change there included.
        behind: (n + 1,) least cost from each node on.
        bins: (n + 1,) number of the bin of each node.
    Returns:
        shape (len(tracks), bins); inf where it can't be used.
    """
    from pairing.solve import kernels

    best = np.full((len(tracks), int(bins.max()) + 1), np.inf, dtype=np.float32)
    allowed = np.flatnonzero(np.isfinite(laid.length))
    shortest = int(allowed[allowed > 0].min(initial=laid.nodes)) * laid.step
    enters = (problem.enter_at, laid.enter_cost, problem.enter_offset)
    leaves = (problem.leave_at, laid.leave_cost, problem.leave_offset)
    zones, bans = (laid.zone_cost, laid.zone_seconds), (oldest(laid), laid.reach_row)
    cuts = (problem.offset, *enters, *leaves)
    work = _work(problem, laid, tracks)
    sides = ready, behind
    kernels.price_tracks(laid.music, cuts, zones, bans, laid.track_cost, tracks, *sides, shortest, bins, work, best)
    return best


def _work(problem: Problem, laid: Grid, tracks: I64) -> tuple[F32, F32, I32, F32, F32, F32]:
    """What the loop writes to besides; it has no room of its own."""
    seconds, enters = np.diff(problem.offset)[tracks], np.diff(problem.enter_offset)[tracks]
    diagonals, nodes = laid.nodes + 2 + int(seconds.max(initial=0)) // laid.step, laid.nodes + 1
    total, run = np.empty(diagonals, dtype=np.float32), np.empty(diagonals, dtype=np.float32)
    value = np.empty((int(enters.max(initial=0)) + 1, nodes), dtype=np.float32)
    least, zone = np.empty(nodes, dtype=np.float32), np.empty(nodes, dtype=np.float32)
    return total, run, np.empty(diagonals, dtype=np.int32), value, least, zone


def _best(rating: F32, most: int) -> I64:
    """The rows with the best tracks of each minute, ascending."""
    keep = np.zeros(len(rating), dtype=bool)
    for minute in np.ascontiguousarray(rating.T):
        order = np.argpartition(minute, most)[:most] if most < len(minute) else np.arange(len(minute))
        keep[order[np.isfinite(minute[order])]] = True
    return np.flatnonzero(keep)
