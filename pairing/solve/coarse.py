"""A problem made coarse: each second of the new one stands for several of the old.

It ranks tracks and finds prices quickly. Cuts and changes are moved to the nearest coarse second, so its costs are near
the true ones, and never reported.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from audio.arrays import F32, F64, I64, offsets
from pairing.solve.problem import Pin, Problem

AT_ONCE = 5_000  # tracks
Values = TypeVar("Values", F32, I64)


def coarse(problem: Problem, seconds: int) -> tuple[Problem, F32]:
    """The problem in units of `seconds`, and the variance that each mean of the energy hides.

    Returns:
        the problem, T and all seconds divided by `seconds`; the variance, in energy², shape as of its `energy`.
    """
    length = -(-len(problem.target) // seconds)
    music = ~np.isnan(problem.target)
    share = _blocks(music.astype(np.float64), seconds, length)
    target = _blocks(np.where(music, problem.target, 0.0), seconds, length) / np.maximum(share, 1e-9)
    energy, spread, offset = _joined(_curves, (problem.energy,), problem.offset, seconds)
    apart = [_joined(_curves, (row,), problem.offset, seconds)[0] for row in problem.apart]
    middle = np.minimum(np.arange(length) * seconds + seconds // 2, len(problem.target) - 1)
    enter = _joined(_cuts, (problem.enter_at, problem.enter_cost), problem.enter_offset, seconds)
    leave = _joined(_cuts, (problem.leave_at, problem.leave_cost), problem.leave_offset, seconds)
    whole = np.minimum(np.arange(length + 1) * seconds, len(problem.target))
    thin = replace(
        problem,
        target=np.where(share >= 0.5, target, np.nan).astype(np.float32),
        weight=(_blocks(problem.weight * music, seconds, length) * seconds).astype(np.float32),
        over=problem.over[middle],
        energy=energy,
        apart=np.array(apart, np.float32).reshape(len(apart), -1 if apart else 0),
        offset=offset,
        enter_at=enter[0],
        enter_cost=enter[1],
        enter_offset=enter[2],
        leave_at=leave[0],
        leave_cost=leave[1],
        leave_offset=leave[2],
        change_cost=_changes(problem.change_cost, seconds, length),
        must_change=np.unique(np.round(problem.must_change / seconds).astype(np.int64)),
        length_cost=problem.length_cost[whole],
        zone=problem.zone[middle],
        zone_cost=problem.zone_cost * seconds,
        twins=(),
        pins=tuple(_pin(pin, seconds) for pin in problem.pins),
        meetings=problem.meetings.within(0, len(problem.target), seconds),
    )
    return thin, spread


def _blocks(values: F64 | F32, seconds: int, length: int) -> F64:
    """Means over blocks of seconds, the last filled up with zeros."""
    padded = np.zeros(length * seconds)
    padded[: len(values)] = values
    means: F64 = padded.reshape(length, seconds).mean(axis=1)
    return means


def _joined(
    made: Callable[..., tuple[Values, F32, I64]], columns: Sequence[NDArray[Any]], offset: I64, seconds: int
) -> tuple[Values, F32, I64]:
    """A table of the tracks made coarse, some thousand tracks at a time, so that a huge library needs little memory."""
    tracks = len(offset) - 1
    parts = []
    for first in range(0, tracks or 1, AT_ONCE):
        mine = offset[first : first + AT_ONCE + 1]
        parts.append(made(*(column[mine[0] : mine[-1]] for column in columns), mine - mine[0], seconds))
    sizes = np.concatenate([np.diff(part[2]) for part in parts])
    return (
        np.concatenate([part[0] for part in parts]),
        np.concatenate([part[1] for part in parts]),
        offsets(sizes),
    )


def _curves(energy: F32, offset: I64, seconds: int) -> tuple[F32, F32, I64]:
    """Means and variances of each track's blocks, a last short block included."""
    blocks = -(-np.diff(offset) // seconds)
    ends = offsets(blocks)
    within = np.arange(ends[-1]) - np.repeat(ends[:-1], blocks)
    first = np.repeat(offset[:-1], blocks) + within * seconds
    if not len(first):
        return np.empty(0, np.float32), np.empty(0, np.float32), ends
    size = np.minimum(seconds, np.repeat(offset[1:], blocks) - first).astype(np.float32)
    mean = np.add.reduceat(energy, first, dtype=np.float32) / size
    square = np.add.reduceat(energy * energy, first, dtype=np.float32) / size
    return mean, np.maximum(square - mean * mean, np.float32(0.0)), ends


def _cuts(at: I64, cost: F32, offset: I64, seconds: int) -> tuple[I64, F32, I64]:
    """Cut points at the nearest coarse second, each once, the cheapest."""
    owner = np.repeat(np.arange(len(offset) - 1), np.diff(offset))
    near = (at + seconds // 2) // seconds
    key = owner * (int(near.max(initial=0)) + 1) + near
    first = np.flatnonzero(np.diff(key, prepend=-1))
    least = np.minimum.reduceat(cost, first) if len(first) else cost[:0]
    kept = offsets(np.bincount(owner[first], minlength=len(offset) - 1))
    return near[first], least.astype(np.float32), kept


def _changes(cost: F32, seconds: int, length: int) -> F32:
    """The cheapest hand-over in the seconds around each coarse one."""
    padded = np.full((length + 1) * seconds, np.inf, dtype=np.float32)
    half = seconds // 2
    padded[half : half + len(cost)] = cost[: len(padded) - half]
    least: F32 = padded.reshape(length + 1, seconds).min(axis=1)
    return least


def _pin(pin: Pin, seconds: int) -> Pin:
    start = round(pin.start / seconds)
    end = None if pin.end is None else max(start + 1, round(pin.end / seconds))
    return Pin(pin.track, start, end, None if pin.enter is None else round(pin.enter / seconds))
