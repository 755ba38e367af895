"""Where each track can be entered and left on the grid of whole seconds, and what that costs.

The analysis knows phrase starts, and the two ends of a track. Here they become tables for all tracks end to end, with
two additions: an ending can be left any second while it dies away, since the cross-fade plays it out; and a track can
be left in between by a fade, dearly, so that a border that must be exact can be met: every few seconds, and every
single second for the tracks that may have to fill a stretch between two such borders alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from audio.arrays import F32, F64, I64, Mask, offsets
from audio.track import Analysis, Track

FADE_COST = 1.5  # editorial: leaving in the middle of a phrase, by a fade
FADE_EVERY_S = 8
MOST_FADES = 100  # of a very long track: an hour's file can be faded out every 36 s
EARLIEST_LEAVE_S = 2  # nothing is heard for less than that
ENDING_S = range(3, 13)  # an ending that is left this long before its last sound is played out by the cross-fade
AT_ITS_START_S, AT_ITS_END_S = 2.0, 13.0  # what is left out there is no loss to the ear; editorial
LOST_INTRO = 0.012  # a second that is skipped at the start, on top; editorial, measured in docs/pairing.md
LOST_ENDING = 0.018  # a second that is never heard at the end, on top; a lost ending is dearer
MOST_LOST_S = 300.0  # more of a track that isn't heard counts no more: a drone of an hour is made to be cut

AT_ONCE = 5_000  # tracks whose tables are made together: those of a huge library at once would need much memory


_NO_CUTS = np.zeros((1, 3))


@dataclass(frozen=True, slots=True, eq=False)
class Points:
    """The cut points of tracks, track after track, and where the music of each track starts and ends.

    A track without any has one at its start that costs nothing.
    """

    at_s: F64
    enter_cost: F64
    leave_cost: F64
    offset: I64  # (N + 1,)
    first_s: F64  # (N,)
    last_s: F64  # (N,)

    @property
    def owner(self) -> I64:
        """The track of each point, shape (points,)."""
        return np.repeat(np.arange(len(self.first_s)), np.diff(self.offset))


@dataclass(frozen=True, slots=True, eq=False)
class CutTable:
    """Seconds at which tracks can be entered or left, track after track, ascending within a track."""

    at: I64
    cost: F32
    offset: I64  # (N + 1,)


def points(tracks: Sequence[Track]) -> Points:
    """Gather the cut points of usable tracks."""
    known = [track.analysis for track in tracks]
    rows = [each if len(each) else _NO_CUTS for each in (analysis.curves.cuts for analysis in known)]
    offset = offsets([len(each) for each in rows])
    at_s, enter_cost, leave_cost = np.concatenate([*rows, _NO_CUTS[:0]]).T.copy()
    duration_s = np.array([analysis.duration_s for analysis in known])
    first_s, last_s = at_s[offset[:-1]], np.minimum(at_s[offset[1:] - 1], duration_s)
    return Points(at_s, enter_cost, leave_cost, offset, first_s, np.where(last_s > first_s, last_s, duration_s))


def enter_table(known: Points) -> CutTable:
    """Where tracks can be entered: phrase starts, and the start of the music."""
    owner, at, cost = known.owner, known.at_s, known.enter_cost
    first, last = known.first_s, known.last_s
    lost = np.clip(at - first[owner], 0.0, MOST_LOST_S)
    seconds = np.floor(at + 0.5).astype(np.int64)
    usable = (cost < 1) & (seconds < np.floor(last)[owner] - EARLIEST_LEAVE_S)
    # The start of the music is always offered, whatever it costs.
    usable |= at <= first[owner]
    return _table(owner[usable], seconds[usable], (cost + LOST_INTRO * lost)[usable], len(first))


def leave_table(known: Points, any_second: Mask) -> CutTable:
    """Where tracks can be left: phrase starts, their ending, and by a fade.

    Args:
        any_second: which tracks can be faded out at any second, shape (N,).
    """
    owner, at, cost = known.owner, known.at_s, known.leave_cost
    first, last = known.first_s, known.last_s
    seconds = np.floor(at + 0.5).astype(np.int64)
    final = cost[known.offset[1:] - 1]
    parts = [(owner, seconds, cost), _fades(first, last, any_second), *_endings(final, last)]
    owner, seconds, cost = (np.concatenate(column) for column in zip(*parts, strict=True))
    latest = np.maximum(np.floor(last) - min(ENDING_S), np.floor(first) + EARLIEST_LEAVE_S)
    kept = (seconds >= (np.floor(first) + EARLIEST_LEAVE_S)[owner]) & (seconds <= latest[owner])
    owner, seconds, cost = owner[kept], seconds[kept], cost[kept]
    lost = np.clip(np.floor(last)[owner] - max(ENDING_S) - seconds, 0.0, MOST_LOST_S)
    return _table(owner, seconds, cost + LOST_ENDING * lost, len(first))


def tables(tracks: Sequence[Track], any_second: Mask) -> tuple[CutTable, CutTable, F64]:
    """Where usable tracks can be entered, where left, and the seconds of music of each; see `leave_table`.

    Args:
        any_second: which of the N tracks may be left anywhere, shape (N,).
    Returns:
        two tables of N tracks, and shape (N,), seconds.
    """
    enters, leaves, lengths = [], [], []
    for first in range(0, len(tracks) or 1, AT_ONCE):
        known = points(tracks[first : first + AT_ONCE])
        enters.append(enter_table(known))
        leaves.append(leave_table(known, any_second[first : first + AT_ONCE]))
        lengths.append(known.last_s - known.first_s)
    return _joined(enters), _joined(leaves), np.concatenate(lengths)


def with_seconds(table: CutTable, track: Sequence[int], second: Sequence[int]) -> CutTable:
    """The table with some seconds more, one a track named, each at the cost of the nearest that the track has.

    Args:
        track, second: numbers of tracks, and whole seconds of each.
    Raises:
        ValueError: they differ in number.
    """
    owner = np.repeat(np.arange(len(table.offset) - 1), np.diff(table.offset))
    cost = []
    for index, at in zip(track, second, strict=True):
        rows = slice(table.offset[index], table.offset[index + 1])
        nearest = np.argmin(np.abs(table.at[rows] - at)) if rows.stop > rows.start else None
        cost.append(FADE_COST if nearest is None else float(table.cost[rows][nearest]))
    return _table(
        np.concatenate((owner, np.array(track, np.int64))),
        np.concatenate((table.at, np.array(second, np.int64))),
        np.concatenate((table.cost.astype(np.float64), np.array(cost))),
        len(table.offset) - 1,
    )


def as_fields(enter: CutTable, leave: CutTable) -> dict[str, Any]:
    """The two tables as the problem's fields."""
    return {
        "enter_at": enter.at,
        "enter_cost": enter.cost,
        "enter_offset": enter.offset,
        "leave_at": leave.at,
        "leave_cost": leave.cost,
        "leave_offset": leave.offset,
    }


def exact_second(analysis: Analysis, second: int) -> float:
    """The cut point within half a second of a second of the grid, s; the second itself where there is none (a fade)."""
    near = [cut.at_s for cut in analysis.curves.cut_points if abs(cut.at_s - second) <= 0.5]
    return min(near, key=lambda at: abs(at - second), default=float(second))


def music_starts(analysis: Analysis) -> float:
    """First second of the music, s."""
    return analysis.curves.cut_points[0].at_s if analysis.curves.cut_points else 0.0


def music_ends(analysis: Analysis) -> float:
    """Last second of the music, s; never past the end of the file."""
    last = analysis.curves.cut_points[-1].at_s if analysis.curves.cut_points else analysis.duration_s
    return min(last, analysis.duration_s) if last > music_starts(analysis) else analysis.duration_s


def plays_whole(analysis: Analysis, enter_s: float, leave_s: float) -> bool:
    """Whether so much of a track plays that it is heard as a whole.

    Args:
        enter_s, leave_s: seconds of the track.
    """
    return enter_s <= music_starts(analysis) + AT_ITS_START_S and leave_s >= music_ends(analysis) - AT_ITS_END_S


def _joined(parts: Sequence[CutTable]) -> CutTable:
    sizes = np.concatenate([np.diff(part.offset) for part in parts])
    return CutTable(
        np.concatenate([part.at for part in parts]),
        np.concatenate([part.cost for part in parts]),
        offsets(sizes),
    )


def _fades(first: F64, last: F64, any_second: Mask) -> tuple[I64, I64, F64]:
    long = ((last - first) // MOST_FADES).astype(np.int64)
    step = np.where(any_second, 1, np.maximum(FADE_EVERY_S, long))
    begin = np.floor(first).astype(np.int64) + np.maximum(step, EARLIEST_LEAVE_S)
    count = np.maximum((np.floor(last).astype(np.int64) - begin) // step + 1, 0)
    owner = np.repeat(np.arange(len(first)), count)
    within = np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count)
    return owner, begin[owner] + step[owner] * within, np.full(len(owner), FADE_COST)


def _endings(final: F64, last: F64) -> list[tuple[I64, I64, F64]]:
    everyone = np.arange(len(last))
    end = np.floor(last).astype(np.int64)
    return [(everyone, end - left, final) for left in ENDING_S]


def _table(owner: I64, seconds: I64, cost: F64, tracks: int) -> CutTable:
    """Sorted by track and second, the cheapest of each second kept."""
    order = np.lexsort((cost, seconds, owner))
    owner, seconds, cost = owner[order], seconds[order], cost[order]
    new = np.ones(len(owner), bool)
    new[1:] = (owner[1:] != owner[:-1]) | (seconds[1:] != seconds[:-1])
    offset = offsets(np.bincount(owner[new], minlength=tracks))
    return CutTable(seconds[new], cost[new].astype(np.float32), offset)
