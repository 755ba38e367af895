"""Cut points: where a track can be entered or left without hurting it.

Sections change where the novelty of a self-similarity matrix peaks (J. Foote, "Automatic audio segmentation using a
measure of audio novelty", ICME 2000), here over features gathered beat by beat, at two scales; a peak is moved to the
downbeat beside it where bars are clear. Music without a beat is gathered by half seconds, and quiet moments count too.
Costs: 0 where the music begins or ends by itself, about 0.2 at a clear change of section, towards 1 anywhere else.
"""

import numpy as np
from numpy.typing import NDArray

from audio.arrays import F32, F64, Mask
from audio.measure.beats import Beats
from audio.measure.features import CHROMA_PER_S, Features
from audio.measure.onsets import loudest_band
from audio.measure.spectrum import FRAMES_PER_S
from audio.track import CutPoint

# All editorial.
SILENCE_DB = -60.0  # below the loudest of the track
_REACHES = (8, 24)  # grid steps on each side that are compared: 2 and 6 bars of four
_STILL_S = 0.5  # grid where there is no beat
_APART_S = 8.0  # two cut points stand at least so far apart,
_GAP_S = 24.0  # and where the next is further off than this the best moment between them is added
_SURE, _UNSURE = 0.15, 0.65  # cost at the clearest change, and where nothing changes
_LEAN = 0.08  # entering costs less where the level rises, leaving where it falls


def cut_points(features: Features, beats: Beats, duration_s: float) -> tuple[CutPoint, ...]:
    """Cut points of a track, sorted; the first is the start of its music, the last the end.

    A track of silence, or too short to compare, has these two only.
    """
    start, end = music_span(features, duration_s)
    first, last = CutPoint(start, 0.0, 1.0), CutPoint(end, 1.0, 0.0)
    grid = _grid(beats, start, end)
    if len(grid) < 2 * _REACHES[0] or end - start < 2 * _APART_S:
        return first, last
    vectors = gathered(features, grid)
    clearness = _clearness(vectors, grid, beats)
    level = _level(features, grid)
    if not beats.beats_s.size:
        clearness = clearness + 0.5 * _stillness(level)
    inner = [_cut(grid, clearness, level, index) for index in _chosen(grid, clearness, start, end)]
    return first, *inner, last


def music_span(features: Features, duration_s: float) -> tuple[float, float]:
    """Seconds at which the music begins and ends; what lies 60 dB below its loudest counts as silence."""
    level = 10 * np.log10(features.power + 1e-10)
    loud = np.flatnonzero(level > level.max(initial=-100.0) + SILENCE_DB)
    if loud.size == 0:
        return 0.0, duration_s
    start = max(0.0, float(loud[0] / FRAMES_PER_S) - 0.03)  # half a frame reaches ahead of the first sound
    return (0.0 if start < 0.1 else start), min(duration_s, float(loud[-1] / FRAMES_PER_S) + 0.03)


def _grid(beats: Beats, start: float, end: float) -> F64:
    return beats.beats_s if len(beats.beats_s) else np.arange(start, end, _STILL_S)


def gathered(features: Features, grid: F64) -> F64:
    """One vector a grid step, shape (steps, 52): levels of the bands and content of the pitch classes, the two on an
    even footing, the track's mean taken away."""
    bands = np.maximum(_means(features.bands, grid, FRAMES_PER_S), loudest_band(features) + SILENCE_DB)
    chroma = _means(np.sqrt(features.chroma), grid, CHROMA_PER_S)
    chroma /= np.maximum(chroma.sum(axis=1, keepdims=True), 1e-9)
    return np.hstack([_even(bands), _even(chroma)])


def _means(values: F32 | NDArray[np.float16], grid: F64, per_s: float) -> F64:
    # Mean of the values from each grid step to the next; the last step is as long as the one before it.
    edges = np.clip(np.round(grid * per_s).astype(int), 0, len(values) - 1)
    ends = np.maximum(np.append(edges[1:], min(len(values), 2 * edges[-1] - edges[-2])), edges + 1)
    means = np.empty((len(edges), values.shape[1]))
    for index, (start, end) in enumerate(zip(edges, ends, strict=True)):
        means[index] = values[start:end].mean(axis=0, dtype=np.float32)
    return means


def _even(values: F64) -> F64:
    centred = values - values.mean(axis=0)
    even: F64 = centred / (np.sqrt(np.square(centred).sum(axis=1).mean()) + 1e-9)
    return even


def _clearness(vectors: F64, grid: F64, beats: Beats) -> F64:
    # 0 where nothing changes to about 1 at the clearest change of the track.
    novelty = np.zeros(len(grid))
    for reach in _REACHES:
        one = _novelty(vectors, min(reach, len(grid) // 2))
        novelty += one / (np.percentile(one, 99) + 1e-9)
    novelty /= len(_REACHES)
    if beats.metre:
        on_bar = np.isin(grid, beats.downbeats_s)
        novelty = _onto_bars(novelty, on_bar)
    return np.clip(novelty, 0.0, 1.2)


def _novelty(vectors: F64, reach: int) -> F64:
    # The checkerboard kernel over S = V V^T is the squared length of V filtered by (after - before).
    from scipy.ndimage import correlate1d

    taper = np.exp(-0.5 * ((np.arange(reach) + 0.5) / (0.5 * reach)) ** 2)
    taper /= taper.sum()
    kernel = np.concatenate((-taper[::-1], taper))
    difference = correlate1d(vectors, kernel, axis=0, mode="nearest")
    novelty: F64 = np.square(difference).sum(axis=1)
    return novelty


def _onto_bars(novelty: F64, on_bar: Mask) -> F64:
    # A downbeat takes the largest value of the beats next to it; between downbeats half is left.
    from scipy.ndimage import maximum_filter1d

    return np.where(on_bar, maximum_filter1d(novelty, 3), 0.5 * novelty)


def _level(features: Features, grid: F64) -> F64:
    power = _means(features.power[:, None], grid, FRAMES_PER_S)[:, 0]
    level = 10 * np.log10(power + 1e-10)
    floored: F64 = np.maximum(level, level.max() + SILENCE_DB)
    return floored


def _stillness(level: F64) -> F64:
    # 1 at the quietest moment of the ten seconds around it, if it lies 10 dB below them.
    from scipy.ndimage import minimum_filter1d, uniform_filter1d

    around = round(10 / _STILL_S)
    depth = np.clip((uniform_filter1d(level, around) - level) / 10, 0, 1)
    return np.where(level == minimum_filter1d(level, around // 2), depth, 0.0)


def _chosen(grid: F64, clearness: F64, start: float, end: float) -> list[int]:
    # The clearest first, none too near another; then the gaps that are left are filled.
    rank = clearness + np.where(_is_peak(clearness), 0.0, -1.0)
    taken = [start, end]
    chosen: list[int] = []
    for index in np.argsort(-rank, kind="stable"):
        at = float(grid[index])
        apart = min(abs(at - other) for other in taken)
        needed = rank[index] < 0.25  # no change worth the name: only to fill a gap
        room = _GAP_S if needed else 2 * _APART_S
        gap = min((other for other in taken if other > at), default=end) - max(
            (other for other in taken if other <= at), default=start
        )
        if apart >= _APART_S and gap >= room:
            taken.append(at)
            chosen.append(int(index))
    return sorted(chosen)


def _is_peak(values: F64) -> Mask:
    from scipy.ndimage import maximum_filter1d

    return values >= maximum_filter1d(values, 5)


def _cut(grid: F64, clearness: F64, level: F64, index: int) -> CutPoint:
    cost = _UNSURE - (_UNSURE - _SURE) * min(1.0, float(clearness[index]))
    before, after = level[max(0, index - 8) : index], level[index : index + 8]
    rise = float(np.tanh((after.mean() - before.mean()) / 6)) if len(before) and len(after) else 0.0
    return CutPoint(float(grid[index]), round(cost - _LEAN * rise, 3), round(cost + _LEAN * rise, 3))
