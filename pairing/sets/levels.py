"""How much louder or softer each pick is played, so that the music lies like an even bed under the class."""

import math

import numpy as np

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
EVENED_RISE_LU = 2.5  # what evening aims at: the curve has one value a second, and the mix is heard between them
DOWN_LU_PER_S, UP_LU_PER_S = 1.0, 0.25  # how fast evening may move the level: too slow to be heard as such
MOST_EVENED_LU = 9.0


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


def evened(loudness: np.ndarray) -> np.ndarray:
    """Gain of every second that takes the sudden rises out of a quiet stretch, dB, 0 or below.

    Args:
        loudness: short-term loudness at 1 Hz, LUFS, of the stretch as it is played.
    Returns:
        shape of `loudness`: falls by 1 LU a second at most while the music rises by more than it may, and comes back
        slowly; 0 throughout where nothing rises so. Rises by up to about 6 LU in 3 s can be evened out.
    """
    curve = np.maximum(np.nan_to_num(loudness.astype(np.float64), neginf=ABSOLUTE_GATE_LUFS), ABSOLUTE_GATE_LUFS)
    floor = np.median(curve) - NEAR_MEDIAN_LU - (LARGEST_RISE_LU - EVENED_RISE_LU) if len(curve) else 0.0
    level, gain = curve.tolist(), [0.0] * len(curve)
    for now in range(len(level)):
        gain[now] = min(gain[now - 1] + UP_LU_PER_S, 0.0) if now else 0.0
        before = range(max(now - WINDOW_S, 0), now)
        highest = max(min((level[then] + gain[then] for then in before), default=level[now]) + EVENED_RISE_LU, floor)
        if level[now] + gain[now] <= highest:
            continue
        # The lowering is spread over the seconds of the rise.
        lowest = max(gain[before[0]] - len(before) * DOWN_LU_PER_S, -MOST_EVENED_LU)
        wanted = max(highest - level[now], lowest)
        for then in range(max(now - WINDOW_S + 1, 0), now + 1):
            gain[then] = min(gain[then], wanted + (now - then) * DOWN_LU_PER_S)
    return np.array(gain)


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
