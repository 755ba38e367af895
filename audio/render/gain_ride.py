"""Sudden rises of loudness taken out of a span by a slow ride of the gain, for music that people lie still to.

A rise is a rise of short-term loudness (3-s windows, EBU Tech 3341) within 3 s that ends above the median of the span
less 3 LU; one that stays quiet wakes nobody. The span is measured as it is played, ten times a second; the gain is a
straight line in dB between knots half a second apart and follows from the samples alone. It falls while a rise lasts,
no quicker than it must, and comes back slowly, but quicker while the music itself falls: else swells, one after the
other, would be held down further each time. The span as a whole keeps its loudness.
"""

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from audio.arrays import F64, I64
from audio.constants import ABSOLUTE_GATE_LUFS, LOUDNESS_OFFSET_LU
from audio.measure.loudness import gated_lufs
from audio.render.span import Level, Span
from audio.render.tenths import taken

if TYPE_CHECKING:
    from scipy.sparse import csr_array


MOST_RISE_LU = 3.0  # editorial: within 3 s; Bernardi et al., Circulation 119, 2009, is why there is a limit
NEAR_MEDIAN_LU = 3.0  # editorial
# What is aimed at, and what is left alone: windows end between those looked at here too; editorial.
AIM_LU, ENOUGH_LU = 2.4, 2.8

FLOOR_SPARE_LU = 4.0  # the median of a whole rest may lie so far below that of one span in it; editorial
BELOW_LU = 0.5  # what is to stay below the floor is brought so far below it; editorial
WINDOW = 30  # steps of 0.1 s: 3 s
BLOCK = 4  # steps of a gating block, 0.4 s; ITU-R BS.1770-4
KNOT = 5  # steps between two knots of the gain
UP_LU_PER_S = 0.5  # editorial: slow enough not to be heard as pumping
FALLING = 0.5  # of a fall of the music itself on top: so the music still falls, by half of it; editorial
SLOW_DOWN_LU_PER_S = 1.0  # editorial: what falls quicker costs
MOST_DOWN_LU_PER_S = 40.0  # editorial
MOST_DOWN_LU = 50.0  # editorial
STEEP_COST = 20.0  # of 1 LU too steep, against 1 LU of lowering at a knot; editorial
LEFT_COST = 1000.0  # of 1 LU left of a rise; editorial
ROUNDS = 40  # how far is searched; editorial
FLOORS, FLOOR_LU = 3, 0.5  # so often what counts is judged anew, where it has moved by so much; editorial


def evened(span: Span, *, settled_s: float = 0.0) -> Span:
    """The span with a gain that lets nothing in it rise suddenly; the span itself where nothing does.

    Args:
        span: counted with its own levels.
        settled_s: from here on, counted from its start, it keeps the loudness that the whole of it had.
    Raises:
        AudioError: its file can't be read.
    """
    own = tuple((round(level.at_s - span.mix_start_s, 3), round(level.gain_db, 3)) for level in span.levels)
    length_s = span.mix_end_s - span.mix_start_s
    settled = max(span.fade_in_s, settled_s)
    gains = _ride(_seen(span.path), span.track_start_s, length_s, (span.fade_in_s, settled, span.fade_out_s), own)
    if not gains:
        return span
    at = span.mix_start_s + np.arange(len(gains)) * KNOT / 10
    bends = np.abs(np.diff(gains, n=2, prepend=np.nan, append=np.nan))
    ride = [(float(at[i]), gains[i]) for i in np.flatnonzero(~(bends < 1e-6)) if at[i] <= span.mix_end_s]
    return replace(span, levels=_added(span.levels, ride))


def ride(power: F64, from_s: float = 0.0, *, still_s: float = 0.0) -> F64:
    """The gain that takes the sudden rises out of a stretch.

    Args:
        power: weighted mean square of every 0.1 s, shape (steps,); see `powers`.
        from_s: rises that begin before are those of a fade-in, and stay.
        still_s: what the stretch begins with, and keeps its gain.
    Returns:
        dB at knots 0.5 s apart from 0 on, 0 or below; 0 throughout where nothing rises suddenly.
    """
    knots, still, from_step = -(-len(power) // KNOT) + 1, round(10 * still_s) // KNOT, round(10 * from_s)
    gains, floor, up = np.zeros(knots), _floor(short_term(power)), _ways_up(short_term(power), knots)
    for _ in range(FLOORS):
        gains = _ridden(power, gains, (floor, up), from_step, still)
        level = short_term(power * 10 ** (_at_steps(gains, len(power)) / 10))
        # Lowering moves the median too, and with it what counts.
        if _floor(level) > floor - FLOOR_LU or _rises(level, from_step, _floor(level))[1] <= ENOUGH_LU:
            break
        floor = _floor(level)
    return gains


def _ways_up(level: F64, knots: int) -> F64:
    """By how much the gain may come back from each knot to the next, dB, shape (knots - 1,)."""
    at = np.minimum(np.arange(knots) * KNOT + WINDOW // 2, len(level) - 1)  # of the 3 s around
    falls = -np.diff(level[at]) if len(level) else np.zeros(knots - 1)
    return np.asarray(UP_LU_PER_S * KNOT / 10 + FALLING * np.maximum(falls, 0.0))


def _ridden(power: F64, gains: F64, limits: tuple[float, F64], from_step: int, still: int) -> F64:
    """The gain at each knot, found from `gains` on, under which no rise that ends above a floor is too large.

    Args:
        limits: the floor, and by how much the gain may come back from each knot to the next.
    """
    floor, up = limits
    kept, best, least = np.zeros((0, 2), np.int64), gains, math.inf
    for attempt in range(ROUNDS):
        level = short_term(power * 10 ** (_at_steps(gains, len(power)) / 10))
        pairs, worst = _rises(level, from_step, floor)
        if worst < least:
            best, least = gains, worst
        if worst <= ENOUGH_LU:
            break
        kept = np.unique(np.concatenate((kept, pairs)), axis=0)
        gains = _least_lowering(
            power, gains, level, kept, trust=8.0 / (1 + attempt / 4), still=still, floor=floor, up=up
        )
    return best


def short_term(power: F64) -> F64:
    """Short-term loudness (EBU Tech 3341) of every 0.1 s: of the 3 s that end there, or as many as there are.

    Args:
        power: weighted mean squares of each 0.1 s, shape (n,).
    Returns:
        LUFS, shape (n,), -70 at least.

    >>> short_term(np.array([1e-2, 1e-2, 0.0])).round(2).tolist()
    [-20.69, -20.69, -22.45]
    """
    total = np.concatenate(([0.0], np.cumsum(power)))
    end = np.arange(1, len(power) + 1)
    start = np.maximum(end - WINDOW, 0)
    mean = np.maximum(total[end] - total[start], 0.0) / np.maximum(end - start, 1)
    with np.errstate(divide="ignore"):
        return np.asarray(np.maximum(LOUDNESS_OFFSET_LU + 10 * np.log10(mean), ABSOLUTE_GATE_LUFS))


def powers(path: Path, start_s: float, length_s: float) -> F64:
    """K-weighted mean square of every 0.1 s of a recording as the mixer plays it, shape (steps,).

    Raises:
        AudioError: the file can't be read.
    """
    edges = np.append(np.arange(0.0, length_s - 1e-6, 0.1), length_s)
    return taken(path, start_s + edges) / (np.diff(edges) / 0.1)


def _seen(path: Path) -> tuple[Path, int]:
    """The file and when it was changed: what is remembered of it holds no longer than it stays the same."""
    try:
        return path, path.stat().st_mtime_ns
    except OSError:
        return path, 0  # reading it says why


@lru_cache(maxsize=32)
def _ride(
    seen: tuple[Path, int],
    start_s: float,
    length_s: float,
    edges_s: tuple[float, float, float],
    own: tuple[tuple[float, float], ...],
) -> tuple[float, ...]:
    """The gain at knots from the start of a span on, with what it loses in loudness given back; empty where it would
    change nothing. The edges are the lengths of the fade-in, of what comes before it has settled, and of the fade-out.
    """
    fade_in_s, settled_s, fade_out_s = edges_s
    power = powers(seen[0], start_s, length_s)
    own_at, own_db = np.array(own).T
    at = (np.arange(len(power)) + 0.5) / 10
    gains = ride(power * 10 ** (np.interp(at, own_at, own_db) / 10), fade_in_s)
    if not gains.any():
        return ()
    lowered = power * 10 ** (_at_steps(gains, len(power)) / 10)
    faded = at < length_s - fade_out_s
    heard, settled = faded & (at > fade_in_s), faded & (at > settled_s)
    if np.count_nonzero(settled) > WINDOW:
        gains = gains + _integrated(power[heard]) - _integrated(lowered[settled])
    return tuple(float(gain) for gain in gains.round(3))


def _rises(level: F64, from_step: int, floor: float) -> tuple[I64, float]:
    """(now, then) of what rises too much, and the largest rise; 0.2 s apart, each against the lowest of the 3 s before
    it and two more."""
    if len(level) <= WINDOW:
        return np.zeros((0, 2), np.int64), 0.0
    windows = np.lib.stride_tricks.sliding_window_view(level, WINDOW + 1)
    now = np.arange(WINDOW, len(level))
    then = now - WINDOW + windows.argmin(axis=1)
    rise = np.where((level[now] > floor) & (now >= from_step + WINDOW), level[now] - level[then], 0.0)
    worst = float(rise.max(initial=0.0))
    over = (rise > AIM_LU) & ((now % 2 == 0) | (rise == worst))
    lags = [then[over], now[over] - WINDOW // 2, now[over] - WINDOW]
    return np.concatenate([np.stack((now[over], each), axis=1) for each in lags]), worst


def _floor(level: F64) -> float:
    heard = level[level > ABSOLUTE_GATE_LUFS]
    return float(np.median(heard)) - NEAR_MEDIAN_LU - FLOOR_SPARE_LU if len(heard) else 0.0


def _least_lowering(
    power: F64, gains: F64, level: F64, pairs: I64, *, trust: float, still: int, floor: float, up: F64
) -> F64:
    """One step of a sequence of linear programs: the gain at every knot near `gains` (at the first ones 0), how much
    too steep it falls, and what is left of each rise, as little as can be of all three."""
    from scipy.optimize import linprog
    from scipy.sparse import csc_array, diags_array, eye_array, hstack, vstack

    knots, count = len(gains), len(pairs)
    sense = _sensitivity(power, gains)
    now, then = sense[pairs[:, 0]], sense[pairs[:, 1]]
    allowed = level[pairs[:, 1]] + AIM_LU
    # A rise may also end below what counts.
    quiet = floor - BELOW_LU
    below = quiet > allowed
    heard = now - diags_array((~below).astype(np.float64)) @ then
    right = np.where(below, quiet, allowed) - level[pairs[:, 0]] + heard @ gains
    step = eye_array(knots - 1, knots, k=1) - eye_array(knots - 1, knots)
    seconds = KNOT / 10
    steep, left = -eye_array(knots - 1), -eye_array(count)
    solved = linprog(
        np.concatenate((np.full(knots, -1.0), np.full(knots - 1, STEEP_COST), np.full(count, LEFT_COST))),
        A_ub=vstack(
            [
                hstack([heard, csc_array((count, knots - 1)), left]),
                hstack([step, csc_array((knots - 1, knots - 1 + count))]),
                hstack([-step, steep, csc_array((knots - 1, count))]),
            ],
            format="csc",
        ),
        b_ub=np.concatenate((right, up, np.full(knots - 1, SLOW_DOWN_LU_PER_S * seconds))),
        bounds=[
            *[(0.0, 0.0)] * still,
            *((max(gain - trust, -MOST_DOWN_LU), min(gain + trust, 0.0)) for gain in gains[still:]),
            *[(0.0, (MOST_DOWN_LU_PER_S - SLOW_DOWN_LU_PER_S) * seconds)] * (knots - 1),
            *[(0.0, None)] * count,
        ],
    )
    return np.asarray(solved.x[:knots], np.float64) if solved.x is not None else gains


def _sensitivity(power: F64, gains: F64) -> "csr_array":
    """How much each short-term value moves with each knot of the gain, sparse, shape (steps, knots)."""
    from scipy.sparse import csr_array

    steps = len(power)
    heard = power * 10 ** (_at_steps(gains, steps) / 10) + 1e-12
    place = (np.arange(steps) + 0.5) / KNOT
    knot, share = place.astype(np.int64), place % 1.0
    index = np.arange(steps)
    upon = csr_array(
        (np.concatenate((1 - share, share)), (np.tile(index, 2), np.concatenate((knot, knot + 1)))),
        shape=(steps, len(gains)),
    )
    ends = np.repeat(index, WINDOW)
    begins = (ends.reshape(-1, WINDOW) - np.arange(WINDOW)).ravel()
    inside = begins >= 0
    window = csr_array((heard[begins[inside]], (ends[inside], begins[inside])), shape=(steps, steps))
    total = np.asarray(window.sum(axis=1)).ravel()
    return csr_array(window.multiply(1 / total[:, None]) @ upon)


def _at_steps(gains: F64, steps: int) -> F64:
    return np.interp((np.arange(steps) + 0.5) / KNOT, np.arange(len(gains)), gains)


def _integrated(power: F64) -> float:
    """Gated loudness, LUFS; 0 for silence, of which nothing is compared."""
    loudness = gated_lufs(np.convolve(power, np.full(BLOCK, 1 / BLOCK), "valid"))
    return loudness if math.isfinite(loudness) else 0.0


def _added(levels: Sequence[Level], ride: Sequence[tuple[float, float]]) -> tuple[Level, ...]:
    """Two gains one on the other."""
    ride_at, ride_db = np.array(ride).T
    own_at, own_db = np.array([(level.at_s, level.gain_db) for level in levels]).T
    at = np.union1d(ride_at, own_at)
    gains = np.interp(at, ride_at, ride_db) + np.interp(at, own_at, own_db)
    return tuple(Level(float(second), float(gain)) for second, gain in zip(at, gains, strict=True))
