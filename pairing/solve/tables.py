"""Tables of a shortlist: every pick of its tracks, kept as summed errors at the cut points.

The least cost of covering the class to and from each node follows by dynamic programming over these tables, and the
picks worth keeping with it.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from audio.arrays import F32, F64, I32, I64
from pairing.solve.costs import pair_costs
from pairing.solve.grid import Grid, oldest
from pairing.solve.picks import Picks, pick_costs
from pairing.solve.problem import Problem

LANES = 32  # as in kernels, which is loaded only when needed
BINS = 8192  # of the histogram of picks by cost
SPARSE = 4  # times as many cuts as picks may be kept: all picks may fit
SAMPLED = 30  # tracks by which it is guessed how many picks a limit lets in
AIM, ROOM = 5, 12  # times the picks that may be kept: aimed at, and room for
MOST_WIDER = 8.0  # times as far from the least cost a limit is raised at once that let in too few
LOW_SHARE = 1 / 16  # of the costs that are likely to suffice


@dataclass(frozen=True, slots=True, eq=False)
class Tables:
    """What `kernels` reads; `track` and `enter_s`, `leave_s` lead back to the library."""

    grid: Grid
    track: I64  # (G,) track of a group
    groups: I64  # (G, 10), columns as in kernels
    enters: I64  # (E, 2) row of the group's sums, nodes
    enter_cost: F32
    enter_s: I64  # (E,) second of the track
    enter_group: I64  # (E,)
    leaves: I64
    leave_cost: F32
    leave_s: I64
    pick: I32  # (E,) number of the first pick from an enter
    price: F32  # (G,) added to the cost of each pick: the track's cost and its price
    sums: F32
    tile: int  # nodes that can be done together: no pick is shorter

    def done(self) -> None:
        """Let the next tables have the room of these, which nothing may read any more."""
        spare, room = _SPARE.get(), self.sums if self.sums.base is None else self.sums.base
        if spare is not None and isinstance(room, np.ndarray) and len(room) > len(spare[0]):
            spare[0] = room

    @property
    def plain(self) -> int:
        """Nodes from which on the length of a pick makes no difference; more than there are if it always does."""
        length = self.grid.length
        last = int(np.flatnonzero(length != length[-1]).max(initial=0))
        return max(last + 1, self.tile) if np.isfinite(length[-1]) else len(length)

    @property
    def arguments(self) -> tuple[NDArray[np.generic] | int, ...]:
        """The tables as the compiled loops take them; `kernels` has their shapes."""
        grid = self.grid
        change = np.append(grid.change, np.full(LANES, np.inf, dtype=np.float32))
        return (
            self.groups,
            self.enters,
            self.enter_cost,
            self.leaves,
            self.leave_cost,
            self.pick,
            self.price,
            self.sums,
            grid.reach,
            oldest(grid),
            grid.length,
            self.plain,
            change,
            grid.stretch,
        )

    @property
    def possible(self) -> int:
        """How many picks the cut points allow, at most."""
        return int((self.groups[:, 1] - self.groups[:, 0]) @ (self.groups[:, 3] - self.groups[:, 2])) * self.grid.nodes


_SPARE: ContextVar[list[F32] | None] = ContextVar("_SPARE", default=None)


@contextmanager
def one_room() -> Iterator[None]:
    """Lay tables meanwhile into the room of the largest that is done: memory takes longer to get than to fill."""
    before = _SPARE.set([np.empty(0, dtype=np.float32)])
    try:
        yield
    finally:
        _SPARE.reset(before)


def _room_for_sums(size: int) -> F32:
    spare = _SPARE.get()
    if spare is None or len(spare[0]) < size:
        return np.empty(size, dtype=np.float32)
    room, spare[0] = spare[0], np.empty(0, dtype=np.float32)
    return room[:size]


@dataclass(frozen=True, slots=True, eq=False)
class _TrackRows:
    track: int
    at: I64  # seconds of the track with a row of sums, ascending
    enter: I64  # indices into the problem's enter table
    leave: I64


def tables(problem: Problem, grid: Grid, tracks: I64) -> Tables:
    """Lay out the picks of `tracks` that may be used, and sum their errors.

    Args:
        tracks: their numbers, ascending, shape (n,).
    """
    from pairing.solve import kernels

    grouped = [group for track in tracks for group in _groups(problem, grid, int(track))]
    counts = np.array([(len(g.enter), len(g.leave), len(g.at)) for g in grouped], dtype=np.int64).reshape(-1, 3)
    ends = np.cumsum(counts, axis=0)
    firsts = ends - counts
    shift = np.array([g.at[-1] // grid.step - g.at[0] // grid.step for g in grouped], dtype=np.int64)
    columns = shift + grid.nodes + 1
    sums_end = np.cumsum(counts[:, 2] * columns)
    track = np.array([g.track for g in grouped], dtype=np.int64)
    zone, zone_row = _zones(grid, track)
    groups = np.column_stack(
        (
            firsts[:, 0],
            ends[:, 0],
            firsts[:, 1],
            ends[:, 1],
            sums_end - counts[:, 2] * columns,
            columns,
            shift,
            grid.reach_row[track],
            zone_row,
            np.searchsorted(tracks, track),
        )
    ).astype(np.int64)
    enter, leave = _joined([g.enter for g in grouped]), _joined([g.leave for g in grouped])
    enter_s, leave_s = problem.enter_at[enter].astype(np.int64), problem.leave_at[leave].astype(np.int64)
    enters = _cuts([g.at for g in grouped], enter_s, counts[:, 0], grid.step)
    leaves = _cuts([g.at for g in grouped], leave_s, counts[:, 1], grid.step)
    picks = np.repeat(counts[:, 1], counts[:, 0])
    pick = np.cumsum(picks) - picks
    sums = _room_for_sums(int(sums_end[-1] if len(grouped) else 0) + LANES)
    sums[-LANES:] = 0.0
    rows = np.concatenate(([0], ends[:, 2])).astype(np.int64)
    first_energy = problem.offset[track].astype(np.int64)
    total = np.empty(int(columns.max(initial=0)), dtype=np.float32)
    kernels.lay(grid.music, groups, first_energy, rows, _joined([g.at for g in grouped]), zone, total, sums)
    return Tables(
        grid=grid,
        track=track,
        groups=groups,
        enters=enters,
        enter_cost=grid.enter_cost[enter],
        enter_s=enter_s,
        enter_group=np.repeat(np.arange(len(grouped)), counts[:, 0]),
        leaves=leaves,
        leave_cost=grid.leave_cost[leave],
        leave_s=leave_s,
        pick=pick.astype(np.int32),
        price=grid.track_cost[track],
        sums=sums,
        tile=_tile(grid, enters, leaves, groups),
    )


def priced(problem: Problem, grid: Grid, tracks: I64, price: F64) -> Tables:
    """Tables of `tracks` at prices.

    Args:
        tracks: their numbers, ascending, shape (n,).
        price: of each, shape (n,) or longer.
    """
    table = tables(problem, grid, tracks)
    return replace(table, price=(table.price + price[np.searchsorted(tracks, table.track)]).astype(np.float32))


@dataclass(frozen=True, slots=True, eq=False)
class Least:
    """Least costs of covering the class, neighbours counted, repeats allowed unless side by side; for each slot."""

    ready: F32  # (S, n + 1 + LANES) up to a node, where the slot comes next; the change there left out
    behind: F32  # (S, n + 1 + LANES) from a node on, after the slot
    total: float


def least(problem: Problem, table: Tables, slot_track: I64, pins: Picks) -> Least:
    """Cover the class by dynamic programming over the tables and the pins.

    Args:
        slot_track: track of each slot, shape (S,): those of the tables, then one for each pin.
    """
    from pairing.solve import kernels

    pair, *others = _beside(problem, table, slot_track, pins)
    best, ready, behind = (_room(table, slot_track) for _ in range(3))
    turned = np.ascontiguousarray(pair.T)
    work = _work(table, len(slot_track))
    kernels.backward(table.arguments, (turned, *others), table.tile, work, best, behind)
    kernels.forward(table.arguments, (pair, *others), table.tile, work, best, ready)
    return Least(ready, behind, float(best[:, table.grid.nodes].min(initial=np.inf)))


def least_total(problem: Problem, table: Tables, slot_track: I64, pins: Picks) -> float:
    """What `least` gives in all, in half the time; inf where nothing covers the class.

    Args:
        slot_track: track of each slot, shape (S,).
    """
    from pairing.solve import kernels

    best, ready = (_room(table, slot_track) for _ in range(2))
    work = _work(table, len(slot_track))
    kernels.forward(table.arguments, _beside(problem, table, slot_track, pins), table.tile, work, best, ready)
    return float(best[:, table.grid.nodes].min(initial=np.inf))


def _room(table: Tables, slot_track: I64) -> F32:
    return np.empty((len(slot_track), table.grid.nodes + 1 + LANES), dtype=np.float32)


def _work(table: Tables, slots: int) -> tuple[F32, I32, F32, I32, F32]:
    """What the loops write to besides; they have no room of their own."""
    diagonals = int(table.groups[:, 5].sum())
    run, since = np.empty(diagonals, dtype=np.float32), np.empty(diagonals, dtype=np.int32)
    value, room = np.empty(LANES, dtype=np.float32), np.empty(LANES, dtype=np.int32)
    return run, since, value, room, np.empty((2, slots), dtype=np.float32)


def _beside(problem: Problem, table: Tables, slot_track: I64, pins: Picks) -> tuple[F32, float, I32, F32]:
    """What neighbours cost, the dearest of that, and the picks of pins with their costs."""
    order = np.argsort(pins.start, kind="stable")
    extra = np.ascontiguousarray(np.column_stack((pins.start, pins.end, pins.slot))[order].astype(np.int32))
    extra_cost = (pins.cost - table.grid.change.astype(np.float64)[pins.start])[order].astype(np.float32)
    pair, dearest = neighbour_table(problem, slot_track)
    return pair.astype(np.float32), dearest, extra, extra_cost


def neighbour_table(problem: Problem, slot_track: I64) -> tuple[F64, float]:
    """Cost of one slot before another, inf where that would be a repeat; and the dearest that is finite.

    Args:
        slot_track: track of each slot, shape (S,).
    Returns:
        shape (S, S), the slot before by the slot after; and a number.
    """
    pair = pair_costs(problem, slot_track, slot_track)
    if not problem.allow_repeats:
        np.fill_diagonal(pair, np.inf)
    return pair, float(np.where(np.isinf(pair), 0.0, pair).max(initial=0.0))


def collect(table: Tables, cover: Least, most: int, limit: float = 1e30) -> tuple[I32, float]:
    """The picks on chains of at most `limit`, the `most` on the least, and the least cost of a chain with another.

    Returns:
        start node and number of the pick, as `found_picks` reads them, shape (M, 2); and the cost.
    """
    sparse = table.possible <= SPARSE * most
    top = limit if limit < 1e30 or sparse else _high(cover)
    found, cost = np.empty((ROOM * most, 2), dtype=np.int32), np.empty(ROOM * most, dtype=np.float32)
    guess = None if sparse else _guess(table, cover, AIM * most, min(top, _high(cover)))
    aim, within = float(AIM * most), min(top, guess.limit(AIM * most)) if guess else top
    count, histogram, width = _counted(table, cover, within, found, cost)
    while guess and count < most and within < top:
        aim *= AIM * most / max(count, most / MOST_WIDER)
        least, furthest = (cover.total + wider * (within - cover.total) + 1e-3 for wider in (1.05, MOST_WIDER))
        within = min(top, max(least, min(guess.limit(aim), furthest)))
        count, histogram, width = _counted(table, cover, within, found, cost)
    if count > len(found):
        bins = int(np.searchsorted(np.cumsum(histogram), len(found), side="right"))
        within -= (BINS - max(1, bins)) * width
        count, _, _ = _counted(table, cover, within, found, cost)
    found, cost = found[:count], cost[:count]
    if len(found) <= most:
        return found, within if count <= most else cover.total
    order = np.argpartition(cost, most)
    return found[np.sort(order[:most])], float(cost[order[most]])


def _high(cover: Least) -> float:
    """A cost that is far from the least."""
    return 2.0 * cover.total + 1.0


def _counted(table: Tables, cover: Least, limit: float, found: I32, cost: F32) -> tuple[int, I64, float]:
    """How many picks are on chains of at most `limit`, also by cost in bins of a width; writes those that have room."""
    from pairing.solve import kernels

    histogram, width = np.zeros(BINS, dtype=np.int64), max((limit - cover.total) / (BINS - 1), 1e-9)
    most = int(table.groups[:, 6].max(initial=0)) + 1
    least, code = np.empty((most, LANES), dtype=np.float32), np.empty((most, LANES), dtype=np.int32)
    lengths, is_known, onward = np.empty(most, np.int64), np.empty(most, np.bool_), np.empty(LANES, np.float32)
    work = _work(table, 0), (least, code, lengths, is_known, onward)
    sides = cover.ready, cover.behind
    count = kernels.collect(table.arguments, *sides, limit, width, *work, histogram, found, cost)
    return int(count), histogram, width


@dataclass(frozen=True, slots=True, eq=False)
class _Guess:
    """How many picks lie within a limit, judged by some of the tracks."""

    picks: I64  # within the limits of the bins, ascending
    top: float  # limit of the last bin
    width: float

    def limit(self, picks: float) -> float:
        """The limit within which so many probably lie; inf where it is above all that was looked at."""
        bin_ = int(np.searchsorted(self.picks, picks))
        return self.top - (BINS - 1 - bin_) * self.width if bin_ < BINS else np.inf


def _guess(table: Tables, cover: Least, picks: float, high: float) -> _Guess:
    every = max(1, len(table.groups) // SAMPLED)
    some = replace(table, groups=np.ascontiguousarray(table.groups[::every]))
    none, no_cost = np.empty((0, 2), dtype=np.int32), np.empty(0, dtype=np.float32)
    for share in (LOW_SHARE, 1.0):
        top = cover.total + share * (high - cover.total)
        count, histogram, width = _counted(some, cover, top, none, no_cost)
        if count * every > MOST_WIDER * picks:
            break
    return _Guess(every * np.cumsum(histogram), top, width)


def found_picks(problem: Problem, table: Tables, found: I32, slot_of_track: I64) -> Picks:
    """The picks that `kernels.collect` wrote, each track, start and end once, sorted by start, slot and end.

    Args:
        found: start node and number of the pick, shape (M, 2).
        slot_of_track: shape (N,), of those that have none anything.
    """
    grid = table.grid
    enter = np.searchsorted(table.pick, found[:, 1], side="right") - 1
    group = table.enter_group[enter]
    leave = table.groups[group, 2] + found[:, 1] - table.pick[enter]
    start = found[:, 0].astype(np.int64)
    end = start + table.leaves[leave, 1] - table.enters[enter, 1]
    track = table.track[group]
    cost = pick_costs(problem, grid, start, end, track, table.enter_s[enter])
    order = np.lexsort((cost, end, slot_of_track[track], start))
    picks = Picks(start, end, slot_of_track[track], table.enter_s[enter], cost).some(order)
    same = (np.diff(picks.start) == 0) & (np.diff(picks.end) == 0) & (np.diff(picks.slot) == 0)
    return picks.some(np.concatenate(([True], ~same))[: len(order)])


def _groups(problem: Problem, grid: Grid, track: int) -> list[_TrackRows]:
    """The cut points of a track, by their rest on the grid's step: others never meet."""
    if not np.isfinite(grid.track_cost[track]):
        return []
    enter = _usable(problem.enter_at, grid.enter_cost, problem.enter_offset, track)
    leave = _usable(problem.leave_at, grid.leave_cost, problem.leave_offset, track)
    found = []
    for rest in np.unique(problem.enter_at[enter] % grid.step):
        into = enter[problem.enter_at[enter] % grid.step == rest]
        out = leave[problem.leave_at[leave] % grid.step == rest]
        out = out[problem.leave_at[out] > problem.enter_at[into[0]]]
        if len(out):
            into = into[problem.enter_at[into] < problem.leave_at[out[-1]]]
            at = np.unique(np.concatenate((problem.enter_at[into], problem.leave_at[out]))).astype(np.int64)
            found.append(_TrackRows(track, at, into, out))
    return found


def _usable(at: I64, cost: F32, offset: I64, track: int) -> I64:
    inside = np.arange(offset[track], offset[track + 1])
    return inside[np.isfinite(cost[inside])]


def _joined(parts: list[I64]) -> I64:
    return np.concatenate([np.empty(0, dtype=np.int64), *parts]).astype(np.int64)


def _cuts(rows_at: list[I64], seconds: I64, counts: I64, step: int) -> I64:
    """(row of the group's sums, nodes from its first cut point) of each cut point."""
    ends = np.cumsum(counts)
    table = np.empty((len(seconds), 2), dtype=np.int64)
    for at, end, count in zip(rows_at, ends, counts, strict=True):
        own = seconds[end - count : end]
        table[end - count : end, 0] = np.searchsorted(at, own)
        table[end - count : end, 1] = (own - at[0]) // step
    return table


def _zones(grid: Grid, track: I64) -> tuple[F32, I64]:
    """Summed zone cost before each node, a row for each different track, and the row of each; row 0: no cost."""
    different, row = np.unique(grid.zone_cost[:, track], axis=1, return_inverse=True)
    none = np.zeros((1, grid.nodes + 1), dtype=np.float32)
    rows = np.concatenate((none, (different.T @ grid.zone_seconds).astype(np.float32)))
    costs = np.asarray(different.any(axis=0))[row.reshape(-1)]
    return rows, np.where(costs, row.reshape(-1) + 1, 0).astype(np.int64)


def _tile(grid: Grid, enters: I64, leaves: I64, groups: I64) -> int:
    """Nodes that can be done together, LANES at most: no pick may be shorter."""
    shortest = grid.nodes
    for first_in, end_in, first_out, end_out in groups[:, :4]:
        nodes = leaves[first_out:end_out, 1][None, :] - enters[first_in:end_in, 1][:, None]
        shortest = min(shortest, int(nodes[nodes > 0].min(initial=grid.nodes)))
    allowed = np.flatnonzero(np.isfinite(grid.length[1:])) + 1
    return max(1, min(LANES, max(shortest, int(allowed.min(initial=grid.nodes)))))
