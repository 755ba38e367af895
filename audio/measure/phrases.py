"""Cut points: where a track can be entered or left without hurting it.

Sections change where the novelty of a self-similarity matrix peaks (J. Foote, "Automatic audio segmentation using a
measure of audio novelty", ICME 2000) over features gathered beat by beat, or second by second where there is no beat.
Costs: 0 where the music begins or ends by itself, about 0.2 at the start of a phrase, up to 1 anywhere.
"""

import itertools

import numpy as np

from audio.measure.beats import Beats
from audio.measure.features import CHROMA_PER_S, Features
from audio.measure.spectrum import FRAMES_PER_S, Samples
from audio.track import CutPoint, Seconds

_REACH = 16  # grid steps on each side that are compared
_APART_S = 8.0
_SURE = 0.2  # cost at the clearest change
_UNSURE = 0.7  # cost at the faintest one that is still kept


def cut_points(features: Features, beats: Beats, duration_s: float) -> tuple[CutPoint, ...]:
    """Cut points of a track, sorted; the first is its start, the last its end."""
    start, end = music_span(features, duration_s)
    grid = _grid(beats, start, end)
    inner = []
    if len(grid) > 8:
        novelty = _novelty(_gathered(features, grid))
        inner = _peaks(grid, novelty, start, end)
    first = CutPoint(0.0, 0.0, 1.0)
    last = CutPoint(duration_s, 1.0, 0.0)
    return (first, *inner, last)


def music_span(features: Features, duration_s: float) -> tuple[float, float]:
    """Seconds at which the music begins and ends: 60 dB below its loudest is silence."""
    level = 10 * np.log10(features.power + 1e-10)
    loud = np.flatnonzero(level > level.max(initial=-100.0) - 60)
    if loud.size == 0:
        return 0.0, duration_s
    return float(loud[0] / FRAMES_PER_S), min(duration_s, float(loud[-1] / FRAMES_PER_S))


def _grid(beats: Beats, start: float, end: float) -> Seconds:
    if len(beats.beats_s) > 8:
        return beats.beats_s
    return np.arange(start, end, 0.5)


def _gathered(features: Features, grid: Seconds) -> Samples:
    bands = _means(features.bands, np.round(grid * FRAMES_PER_S).astype(int))
    chroma = _means(np.sqrt(features.chroma), np.round(grid * CHROMA_PER_S).astype(int))
    chroma /= np.maximum(chroma.sum(axis=1, keepdims=True), 1e-9)
    return np.hstack((_standard(np.maximum(bands, bands.max() - 60)), 2 * _standard(chroma)))


def _means(values: Samples, edges: np.ndarray) -> Samples:
    edges = np.clip(edges, 0, len(values) - 1)
    parts = [values[a : max(b, a + 1)].mean(axis=0, dtype=np.float32) for a, b in itertools.pairwise(edges)]
    return np.array([*parts, parts[-1]], np.float32)


def _standard(values: Samples) -> Samples:
    return (values - values.mean(axis=0)) / (values.std() + 1e-9)


def _novelty(vectors: Samples) -> Samples:
    unit = vectors / np.maximum(np.linalg.norm(vectors, axis=1, keepdims=True), 1e-9)
    padded = np.pad(unit, ((_REACH, _REACH), (0, 0)), mode="edge")
    taper = np.exp(-0.5 * ((np.arange(_REACH) + 0.5) / (0.5 * _REACH)) ** 2)
    result = np.zeros(len(unit), np.float32)
    for at in range(len(unit)):
        before, after = padded[at : at + _REACH], padded[at + _REACH : at + 2 * _REACH]
        b, a = (taper[::-1, None] * before), (taper[:, None] * after)
        sb, sa = b.sum(axis=0), a.sum(axis=0)
        result[at] = sb @ sb + sa @ sa - 2 * sb @ sa
    return result


def _peaks(grid: Seconds, novelty: Samples, start: float, end: float) -> list[CutPoint]:
    order = np.argsort(novelty)[::-1]
    kept: list[int] = []
    for index in order:
        near = [start, end, *(grid[other] for other in kept)]
        if min(abs(grid[index] - other) for other in near) >= _APART_S:
            kept.append(int(index))
    top = float(novelty.max()) + 1e-9
    points = []
    for index in sorted(kept):
        cost = _UNSURE - (_UNSURE - _SURE) * float(novelty[index]) / top
        points.append(CutPoint(float(grid[index]), cost, cost))
    return points
