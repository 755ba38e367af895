"""Places of a track that sound alike, so that it can be made longer or shorter at a seam nobody minds.

The track is gathered on a grid, bar by bar where bars are clear, beat by beat where there is only a beat, by half
seconds where there is none; each step keeps the levels of 40 mel bands and the content of the pitch classes in four
parts. Two places are alike where the music after them, and a little before them, agrees within what is hardly
noticed: level within 1 dB, bands within a few dB on average (a just noticeable difference of level is about 1 dB, of
single bands of a spectrum 2 to 3 dB: H. Fastl, E. Zwicker, "Psychoacoustics", 3rd ed. 2007, chapter 7; values from
memory), harmony alike. Self-similarity of such features: J. Foote, "Visualizing music and audio using self-
similarity", ACM Multimedia 1999.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from audio.arrays import F64
from audio.files.decode import Decoder
from audio.measure.features import CHROMA_PER_S, Features, FeatureStream
from audio.measure.onsets import loudest_band
from audio.measure.spectrum import FRAMES_PER_S, MonoStream

# All editorial; the limits were chosen on songs that the figures in docs/in-the-room.md leave out.
PARTS = 4  # of a grid step
AFTER_S, BEFORE_S = 5.0, 2.0  # so much music is compared on either side of a seam
LEAST_JUMP_S = 8.0
MOST_BANDS_DB = 4.5  # root mean square over bands and parts
MOST_LEVEL_DB = 1.0
LEAST_HARMONY = 0.85  # correlation of the pitch classes
FLOOR_DB = -50.0  # below the loudest band of the track: nothing is compared there
BEAT_FADE_S, STILL_FADE_S = 0.06, 4.0
AHEAD_S = 0.04  # a seam on a beat lies that much before it, so that no attack is cut
STILL_S = 0.5  # grid where there is no beat
SLIDE = 4  # frames of 11.6 ms by which the second place is moved to meet the first
MOST_A_PLACE = 2


@dataclass(frozen=True, slots=True)
class Jump:
    """From one place of a track to another that sounds like it.

    The cross-fade is centred on the two places; `seam` is 0 where nothing tells them apart, 1 where it just passes.
    """

    from_s: float
    to_s: float
    fade_s: float
    seam: float


def features_of(path: Path) -> Features:
    """The frame values of a recording, read once from end to end.

    Raises:
        AudioError: the file can't be decoded.
    """
    stream = FeatureStream()
    with Decoder(path) as decoder:
        mono = MonoStream(decoder.rate)
        for block in decoder.blocks():
            stream.feed(mono.feed(block.samples))
    stream.feed(mono.end())
    return stream.end()


def jumps(features: Features, beats_s: F64, downbeats_s: F64) -> tuple[Jump, ...]:
    """All jumps worth keeping, backward and forward, sorted by where they leave.

    Args:
        beats_s, downbeats_s: empty where not clear.
    Returns:
        At most two backward and two forward from each place; none where the track never repeats itself.
    """
    grid, clear = _grid(features, beats_s, downbeats_s)
    if len(grid) < 4:
        return ()
    step_s = float(np.median(np.diff(grid)))
    after, before = max(round(AFTER_S / step_s), 1), max(round(BEFORE_S / step_s), 1)
    bands, level, harmony = _distances(features, grid)
    limits = [_along(each, after, before, worst) for each, worst in ((bands, False), (level, True), (harmony, False))]
    cost = np.maximum.reduce(
        [np.sqrt(limits[0]) / MOST_BANDS_DB, limits[1] / MOST_LEVEL_DB, limits[2] / (1 - LEAST_HARMONY)]
    )
    apart = np.abs(grid[:, None] - grid) >= LEAST_JUMP_S
    alike = np.where(apart & (cost <= 1.0), cost, np.inf)
    found = [jump for index in range(len(grid)) for jump in _from(index, alike, grid)]
    return tuple(_joined(features, grid[i], grid[j], float(alike[i, j]), clear) for i, j in found)


def _grid(features: Features, beats_s: F64, downbeats_s: F64) -> tuple[F64, bool]:
    if len(downbeats_s) >= 8:
        return np.asarray(downbeats_s, np.float64), True
    if len(beats_s) >= 16:
        return np.asarray(beats_s, np.float64), True
    return np.arange(0.0, len(features.power) / FRAMES_PER_S - STILL_S, STILL_S), False


def _distances(features: Features, grid: F64) -> tuple[F64, F64, F64]:
    """Between all pairs of grid steps: mean square of bands in dB², level in dB, 1 - correlation of harmony."""
    edges = _edges(grid)
    bands = np.maximum(_means(features.bands, edges, FRAMES_PER_S), loudest_band(features) + FLOOR_DB)
    power = 10 * np.log10(_means(features.power[:, None], edges, FRAMES_PER_S) + 1e-10)
    chroma = np.sqrt(_means(features.chroma, edges, CHROMA_PER_S))
    steps = len(grid)
    level = power.reshape(steps, PARTS).mean(axis=1)
    return (
        _squares(bands.reshape(steps, -1)) / (bands.shape[1] * PARTS),
        np.abs(level[:, None] - level),
        1 - np.corrcoef(chroma.reshape(steps, -1) + 1e-9 * np.arange(PARTS * 12)),
    )


def _edges(grid: F64) -> F64:
    """Every grid step in PARTS, with the end of the last; shape (steps x PARTS + 1,)."""
    ends = np.append(grid, 2 * grid[-1] - grid[-2])
    places = np.arange(len(grid) * PARTS + 1) / PARTS
    edges: F64 = np.interp(places, np.arange(len(ends)), ends)
    return edges


def _means(values: NDArray[np.generic], edges: F64, per_s: float) -> F64:
    at = np.clip(np.round(edges * per_s).astype(int), 0, len(values) - 1)
    total = np.concatenate((np.zeros((1, values.shape[1])), np.cumsum(values, axis=0, dtype=np.float64)))
    low, high = at[:-1], np.maximum(at[1:], at[:-1] + 1)
    means: F64 = (total[high] - total[low]) / (high - low)[:, None]
    return means


def _squares(vectors: F64) -> F64:
    power = np.square(vectors).sum(axis=1)
    squares: F64 = np.maximum(power[:, None] + power - 2 * vectors @ vectors.T, 0.0)
    return squares


def _along(distance: F64, after: int, before: int, worst: bool) -> F64:
    """The mean (or the worst) over the steps after a pair of places and before it; what lies outside never passes."""
    steps = len(distance)
    padded = np.full((steps + before + after, steps + before + after), np.inf)
    padded[before : before + steps, before : before + steps] = distance
    gathered = [padded[shift : shift + steps, shift : shift + steps] for shift in range(before + after)]
    total: F64 = np.maximum.reduce(gathered) if worst else np.add.reduce(gathered) / len(gathered)
    return total


def _from(index: int, alike: F64, grid: F64) -> list[tuple[int, int]]:
    costs = alike[index]
    found = []
    for side in (grid < grid[index], grid > grid[index]):
        best = [int(j) for j in np.argsort(np.where(side, costs, np.inf), kind="stable")[:MOST_A_PLACE]]
        found += [(index, j) for j in best if side[j] and np.isfinite(costs[j])]
    return found


def _joined(features: Features, from_s: float, to_s: float, seam: float, clear: bool) -> Jump:
    """A jump with its second place moved by some frames to where it meets the first best."""
    one, other = round(from_s * FRAMES_PER_S), round(to_s * FRAMES_PER_S)
    reach = round(FRAMES_PER_S)
    if not clear or min(one, other) - reach - SLIDE < 0 or max(one, other) + reach + SLIDE > len(features.bands):
        return Jump(from_s, to_s, BEAT_FADE_S if clear else STILL_FADE_S, seam)
    here = features.bands[one - reach : one + reach].astype(np.float32)
    off = [
        float(np.square(here - features.bands[other + slide - reach : other + slide + reach]).mean())
        for slide in range(-SLIDE, SLIDE + 1)
    ]
    slide_s = (int(np.argmin(off)) - SLIDE) / FRAMES_PER_S
    return Jump(from_s - AHEAD_S, to_s + slide_s - AHEAD_S, BEAT_FADE_S, seam)
