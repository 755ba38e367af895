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
from numpy.typing import NDArray

from audio.track import Analysis, Track
from pairing.solve.problem import Floats, Ints

FADE_COST = 1.5  # editorial: leaving in the middle of a phrase, by a fade
FADE_EVERY_S = 8
EARLIEST_LEAVE_S = 2  # nothing is heard for less than that
ENDING_S = range(3, 13)  # an ending that is left this long before its last sound is played out by the cross-fade
LOST_INTRO = 0.012  # a second that is skipped at the start, on top; editorial, measured in docs/pairing.md
LOST_ENDING = 0.018  # a second that is never heard at the end, on top; a lost ending is dearer
MOST_LOST_S = 300.0  # more of a track that isn't heard counts no more: a drone of an hour is made to be cut

Doubles = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class CutTable:
    """Seconds at which tracks can be entered or left, track after track, ascending within a track."""

    at: Ints
    cost: Floats
    offset: Ints  # (N + 1,)


def enter_table(tracks: Sequence[Track]) -> CutTable:
    """Where tracks can be entered: phrase starts, and the start of the music."""
    owner, at, cost = _points(tracks, "enter_cost")
    first, last = _ends(tracks)
    lost = np.clip(at - first[owner], 0.0, MOST_LOST_S)
    seconds = np.floor(at + 0.5).astype(np.int64)
    usable = (cost < 1) & (seconds < np.floor(last)[owner] - EARLIEST_LEAVE_S)
    # The start of the music is always offered, whatever it costs.
    usable |= at <= first[owner]
    return _table(owner[usable], seconds[usable], (cost + LOST_INTRO * lost)[usable], len(tracks))


def leave_table(tracks: Sequence[Track], any_second: NDArray[np.bool_]) -> CutTable:
    """Where tracks can be left: phrase starts, their ending, and by a fade.

    Args:
        any_second: which tracks can be faded out at any second, shape (N,).
    """
    owner, at, cost = _points(tracks, "leave_cost")
    first, last = _ends(tracks)
    seconds = np.floor(at + 0.5).astype(np.int64)
    parts = [(owner, seconds, cost), _fades(first, last, any_second), *_endings(tracks, last)]
    owner, seconds, cost = (np.concatenate(column) for column in zip(*parts, strict=True))
    latest = np.maximum(np.floor(last) - min(ENDING_S), np.floor(first) + EARLIEST_LEAVE_S)
    kept = (seconds >= (np.floor(first) + EARLIEST_LEAVE_S)[owner]) & (seconds <= latest[owner])
    owner, seconds, cost = owner[kept], seconds[kept], cost[kept]
    lost = np.clip(np.floor(last)[owner] - max(ENDING_S) - seconds, 0.0, MOST_LOST_S)
    return _table(owner, seconds, cost + LOST_ENDING * lost, len(tracks))


def with_seconds(table: CutTable, track: Sequence[int], second: Sequence[int]) -> CutTable:
    """The table with some seconds more, one a track named, each at the cost of the nearest that the track has."""
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
    """The cut point behind a second of the grid, exact; the second itself where there is none (a fade)."""
    near = [cut.at_s for cut in analysis.cut_points if abs(cut.at_s - second) <= 0.5]
    return min(near, key=lambda at: abs(at - second), default=float(second))


def music_starts(analysis: Analysis) -> float:
    """First second of the music, s."""
    return analysis.cut_points[0].at_s if analysis.cut_points else 0.0


def music_ends(analysis: Analysis) -> float:
    """Last second of the music, s; never past the end of the file."""
    last = analysis.cut_points[-1].at_s if analysis.cut_points else analysis.duration_s
    return min(last, analysis.duration_s) if last > music_starts(analysis) else analysis.duration_s


def _points(tracks: Sequence[Track], name: str) -> tuple[Ints, Doubles, Doubles]:
    owner: list[int] = []
    at: list[float] = []
    cost: list[float] = []
    for index, track in enumerate(tracks):
        assert track.analysis is not None
        points = track.analysis.cut_points
        owner += [index] * len(points)
        at += [point.at_s for point in points]
        cost += [getattr(point, name) for point in points]
        if not points:
            owner.append(index)
            at.append(0.0)
            cost.append(0.0)
    return np.array(owner, np.int64), np.array(at), np.array(cost)


def _ends(tracks: Sequence[Track]) -> tuple[Doubles, Doubles]:
    known = [track.analysis for track in tracks if track.analysis is not None]
    return np.array([music_starts(each) for each in known]), np.array([music_ends(each) for each in known])


def _fades(first: Doubles, last: Doubles, any_second: NDArray[np.bool_]) -> tuple[Ints, Ints, Doubles]:
    step = np.where(any_second, 1, FADE_EVERY_S)
    begin = np.floor(first).astype(np.int64) + np.maximum(step, EARLIEST_LEAVE_S)
    count = np.maximum((np.floor(last).astype(np.int64) - begin) // step + 1, 0)
    owner = np.repeat(np.arange(len(first)), count)
    within = np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count)
    return owner, begin[owner] + step[owner] * within, np.full(len(owner), FADE_COST)


def _endings(tracks: Sequence[Track], last: Doubles) -> list[tuple[Ints, Ints, Doubles]]:
    everyone = np.arange(len(tracks))
    final = np.array([_end_cost(track.analysis) for track in tracks if track.analysis is not None])
    end = np.floor(last).astype(np.int64)
    return [(everyone, end - left, final) for left in ENDING_S]


def _end_cost(analysis: Analysis) -> float:
    return analysis.cut_points[-1].leave_cost if analysis.cut_points else 0.0


def _table(owner: Ints, seconds: Ints, cost: Doubles, tracks: int) -> CutTable:
    """Sorted by track and second, the cheapest of each second kept."""
    order = np.lexsort((cost, seconds, owner))
    owner, seconds, cost = owner[order], seconds[order], cost[order]
    new = np.ones(len(owner), bool)
    new[1:] = (owner[1:] != owner[:-1]) | (seconds[1:] != seconds[:-1])
    offset = np.concatenate(([0], np.cumsum(np.bincount(owner[new], minlength=tracks))))
    return CutTable(seconds[new], cost[new].astype(np.float32), offset.astype(np.int64))
