"""How much louder or softer each pick is played, so that the music lies like an even bed under the class."""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from audio.track import Analysis
from pairing.model import Kind
from pairing.sets.options import Levels

ABSOLUTE_GATE_LUFS = -70.0  # ITU-R BS.1770-4: windows below do not count
RELATIVE_GATE_LU = -10.0  # ITU-R BS.1770-4: nor those so far below the mean of the rest
MOST_GAIN_DB = 24.0  # editorial: what is softer than that is left soft; more gain would lift its noise
WINDOW_S = 3  # the loudness curve holds 3-s windows

# Crescendos raise blood pressure in step with their profile (Bernardi et al., Circulation 119, 2009); a "stable dynamic
# contour" is a trait of sedative music (Jespersen and Vuust 2012, in PMC7399370 table 3). The numbers are editorial.
LARGEST_RISE_LU = 3.0  # of short-term loudness within 3 s, where it ends near or above the median
NEAR_MEDIAN_LU = 3.0  # a rise that ends further below the median wakes nobody
EVENABLE_RISE_LU = 3.8  # what it brings below the largest allowed, measured on the sound: docs/mix-and-rest.md
EVENED_RISE_LU = 2.0  # what evening aims at: the curve has one value a second, and the mix is heard between them
DOWN_LU_PER_S, UP_LU_PER_S = 1.0, 0.1  # how fast evening may move the level: too slow to be heard as such
MOST_EVENED_LU = 4.5
LEFT_COST = 50.0  # of 1 LU left of a rise against 1 LU of lowering for a second

Doubles = NDArray[np.float64]


def gain_db(analysis: Analysis, start_s: float, end_s: float, kind: Kind, levels: Levels) -> float:
    """Gain that brings the seconds played of a track to the bed of a section, dB; 0 for silence."""
    loudness = span_loudness(analysis, start_s, end_s)
    if not math.isfinite(loudness):
        return 0.0
    return min(levels.bed(kind) - loudness, MOST_GAIN_DB)


def span_loudness(analysis: Analysis, start_s: float, end_s: float) -> float:
    """Integrated loudness of a part of a track, LUFS, from its short-term curve; -inf for silence.

    The curve's own figure for the whole track is brought to the exact one, and the part is moved by the same amount.
    """
    whole = _gated(analysis.loudness)
    if not (math.isfinite(whole) and math.isfinite(analysis.loudness_lufs)):
        return analysis.loudness_lufs
    first, last = math.floor(start_s) + WINDOW_S, math.ceil(end_s)
    part = analysis.loudness[first:last] if last - first >= WINDOW_S else analysis.loudness[int(start_s) : last]
    inside = _gated(part)
    return analysis.loudness_lufs + (inside - whole if math.isfinite(inside) else 0.0)


def evened(loudness: np.ndarray, from_s: float = 0.0) -> np.ndarray:
    """Gain of every second that takes the sudden rises out of a quiet stretch, dB, 0 or below.

    Args:
        loudness: short-term loudness at 1 Hz, LUFS, of the stretch as it is played.
        from_s: rises that begin before are those of a fade-in, and stay.
    Returns:
        shape of `loudness`: the least lowering that holds every rise that ends near or above the median to what it may
        be, while the gain falls by 1 LU a second at most and comes back slowly; what that can't take is left. 0
        throughout where nothing rises so.
    """
    curve = np.maximum(np.nan_to_num(loudness.astype(np.float64), neginf=ABSOLUTE_GATE_LUFS), ABSOLUTE_GATE_LUFS)
    high = np.flatnonzero(curve > np.median(curve) - NEAR_MEDIAN_LU - 1.0) if len(curve) else np.zeros(0, int)
    # A rise of 3 s between windows that end anywhere in their second lies between those of 3 and of 4 whole seconds.
    lags = range(1, WINDOW_S + 2)
    pairs = [(now, now - lag) for now in high.tolist() for lag in lags if now - lag >= from_s]
    rise = [
        curve[now] - (curve[then : then + 2].mean() if now - then > WINDOW_S else curve[then]) for now, then in pairs
    ]
    if max(rise, default=0.0) <= LARGEST_RISE_LU:
        return np.zeros(len(curve))
    return _least_lowering(len(curve), pairs, np.array(rise))


def _least_lowering(seconds: int, pairs: Sequence[tuple[int, int]], rise: Doubles) -> Doubles:
    """A linear program: the gain of each second, then what is left of each rise, as little as can be of both."""
    from scipy.optimize import linprog
    from scipy.sparse import eye_array, hstack, lil_array, vstack

    heard = lil_array((len(pairs), seconds))
    for row, (now, then) in enumerate(pairs):
        for at, share in ((now, 1.0), (then, -1.0)):
            window = range(max(at - WINDOW_S + 1, 0), at + 1)  # the seconds that this value of the curve hears
            for second in window:
                heard[row, second] += share / len(window)
    step = eye_array(seconds - 1, seconds, k=1) - eye_array(seconds - 1, seconds)
    none = lil_array((seconds - 1, len(pairs)))
    solved = linprog(
        np.concatenate((np.full(seconds, -1.0), np.full(len(pairs), LEFT_COST))),
        A_ub=vstack(
            [hstack([heard, -eye_array(len(pairs))]), hstack([step, none]), hstack([-step, none])], format="csc"
        ),
        b_ub=np.concatenate(
            (EVENED_RISE_LU - rise, np.full(seconds - 1, UP_LU_PER_S), np.full(seconds - 1, DOWN_LU_PER_S))
        ),
        bounds=[(-MOST_EVENED_LU, 0.0)] * seconds + [(0.0, None)] * len(pairs),
    )
    assert solved.x is not None  # no lowering at all, with every rise left, keeps all rules
    return np.asarray(solved.x[:seconds], np.float64).round(3)


def evening_loss_lu(loudness: np.ndarray, gains: np.ndarray) -> float:
    """By how much evening lowers the loudness of a stretch, LU, 0 or more; what brings it back to its bed."""
    before, after = _gated(loudness), _gated(loudness + gains)
    return before - after if math.isfinite(before) and math.isfinite(after) else 0.0


def _gated(short_term: np.ndarray) -> float:
    """Gated mean in the power domain, as BS.1770 does with its blocks."""
    heard = short_term[np.isfinite(short_term) & (short_term >= ABSOLUTE_GATE_LUFS)].astype(np.float64)
    if not len(heard):
        return -math.inf
    heard = heard[heard >= _mean(heard) + RELATIVE_GATE_LU]
    return _mean(heard)


def _mean(levels: np.ndarray) -> float:
    return float(10 * np.log10(np.mean(10 ** (levels / 10))))
