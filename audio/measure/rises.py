"""Where a track rises: its sections, the climb into its climax, its breaks and its ending.

How full the music is, is read from the levels of all bands: more instruments, louder, brighter and faster playing all
fill them. Compared with what scores say (docs/analysis-benchmarks.md), that finds the climax better than loudness or
the density of attacks alone.

Sections: the split of the bars into stretches that are alike inside, by dynamic programming over the least sum of
squares (W. Fisher, "On grouping for maximum homogeneity", JASA 53, 1958; R. Bellman, "On the approximation of curves
by line segments using dynamic programming", CACM 4(6), 1961), with a price on each section. Sections that sound alike
share a letter.
"""

import itertools
import math
from collections.abc import Iterator

import numpy as np

from audio.arrays import F32, F64
from audio.measure.beats import Beats
from audio.measure.features import Features
from audio.measure.onsets import loudest_band
from audio.measure.phrases import gathered, music_span
from audio.measure.spectrum import FRAMES_PER_S
from audio.track import Break, Shape, TrackSection

# All editorial; those of climax and breaks were tried on renders of open scores.
_STEP_S = 0.5  # grid of the fullness
_DEPTH_DB = 40.0  # a band further below the loudest adds nothing
_ADDED = 0.6  # what is struck counts so much beside what sounds, both by their spread over the track
_PIECE = 20_000  # frames at once, so that hours need no second copy in full precision
_CLIMAX_OVER_S = 8.0  # a climax is as full as a mean over so long,
_ARRIVAL, _BEFORE_S = 0.05, 8.0  # and it counts so much that it stands out of so long before it
_LEAST_RISE_DB = 1.5  # a track whose fullness moves less than that has no climax
_CLIMB_S = 90.0  # a climb is looked for so far before the climax
_BREAK_DB, _BACK_DB = 5.0, 2.5  # a break lies so far below the 8 s before it, and ends so far below them
_BREAK_S = (1.5, 20.0)  # shortest and longest break
_ENDING_DB = 3.0  # the ending is what stays so far below the track's median
_BAR_S = (1.2, 4.0)  # a step of the sections: a bar, half of it or some of them
_STILL_S = 2.0  # the step where there is no beat
_SHORTEST_S, _LONGEST_S = 6.0, 120.0  # section
_PRICE = 2.0  # of a section, in mean squared distances of one step from the track's mean
_ALIKE = 0.35  # squared distance of two sections over that of the track, under which they share a letter


def shape_of(features: Features, beats: Beats, duration_s: float) -> Shape:
    """The shape of a track; of one of a few seconds, or without any rise, only what can be told."""
    start_s, end_s = music_span(features, duration_s)
    full = fullness(features)
    inside = slice(round(start_s / _STEP_S), max(round(start_s / _STEP_S) + 1, round(end_s / _STEP_S)))
    climax = _climax(full[inside])
    return Shape(
        sections=tuple(_sections(features, beats, full, start_s, end_s)),
        climb_s=None if climax is None else start_s + _STEP_S * _climb(full[inside], climax),
        climax_s=None if climax is None else start_s + _STEP_S * climax,
        breaks=tuple(Break(start_s + _STEP_S * a, start_s + _STEP_S * b) for a, b in _breaks(full[inside])),
        ending_s=min(end_s, start_s + _STEP_S * _ending(full[inside])),
    )


def fullness(features: Features) -> F64:
    """How full the music is every half second, dB from the loudest band on, shape (half seconds,)."""
    level, added = (_half_seconds(values) for values in _level_and_added(features))
    size = float(level.std()) / max(1e-9, float(added.std()))
    full: F64 = level + _ADDED * size * (added - added.mean())
    return full


def _level_and_added(features: Features) -> tuple[F32, F32]:
    # Mean level of the bands, dB; and what each frame adds in loudness as it is heard, which grows as the power of 0.3.
    level, added = np.empty((2, len(features.bands)), np.float32)
    top = loudest_band(features)
    for start in range(0, len(level), _PIECE):
        first, end = max(0, start - 1), min(len(level), start + _PIECE)
        bands = features.bands[first:end].astype(np.float32) - np.float32(top)
        heard = np.exp(np.clip(bands, -80, 10) * np.float32(0.03 * math.log(10)))
        rise = np.maximum(0, np.diff(heard, axis=0)).mean(axis=1)
        level[start:end] = np.clip(bands[start - first :], -_DEPTH_DB, 10).mean(axis=1)
        added[end - len(rise) : end] = rise
    added[:1] = 0.0
    return level, added


def _half_seconds(frames: F32) -> F64:
    edges = np.arange(0, len(frames), _STEP_S * FRAMES_PER_S).astype(int)
    means: F64 = np.add.reduceat(frames, edges, dtype=np.float64) / np.diff(edges, append=len(frames))
    return means


def _smooth(values: F64, over_s: float) -> F64:
    # Centred means; at the ends over what there is.
    from scipy.ndimage import uniform_filter1d

    width = max(1, round(over_s / _STEP_S))
    sums = uniform_filter1d(values, width, mode="constant")
    smooth: F64 = sums / uniform_filter1d(np.ones(len(values)), width, mode="constant")
    return smooth


def _climax(full: F64) -> int | None:
    # Where the music is fullest; of two places nearly alike the one that stands further above what came before.
    over, before = round(_CLIMAX_OVER_S / _STEP_S), round(_BEFORE_S / _STEP_S)
    smooth = _smooth(full, _CLIMAX_OVER_S)
    if smooth.max() - np.percentile(smooth, 5) < _LEAST_RISE_DB or len(full) < 2 * over:
        return None
    at = np.arange(over // 2, len(full) - over // 2)
    total = np.concatenate(([0.0], np.cumsum(full)))
    end = at - over // 2
    start = np.maximum(0, end - before)
    earlier = np.where(end > start, (total[end] - total[start]) / np.maximum(1, end - start), smooth[at])
    score = smooth[at] + _ARRIVAL * (smooth[at] - earlier)
    return int(at[score.argmax()])


def _climb(full: F64, climax: int) -> int:
    # From the last moment near the lowest point before the climax.
    first = max(0, climax - round(_CLIMB_S / _STEP_S))
    before = _smooth(full, _CLIMAX_OVER_S)[first : climax + 1]
    low, high = float(before.min()), float(before[-1])
    return first + int(np.flatnonzero(before <= low + 0.1 * (high - low))[-1])


def _breaks(full: F64) -> Iterator[tuple[int, int]]:
    around, shortest = round(_CLIMAX_OVER_S / _STEP_S), round(_BREAK_S[0] / _STEP_S)
    total = np.concatenate(([0.0], np.cumsum(full)))
    at = around
    while at + shortest < len(full):
        before = (total[at] - total[at - around]) / around
        if full[at : at + shortest].max() < before - _BREAK_DB:
            back = np.flatnonzero(full[at : at + round(_BREAK_S[1] / _STEP_S)] > before - _BACK_DB)
            if len(back):
                yield at, at + int(back[0])
                at += int(back[0])
        at += 1


def _ending(full: F64) -> int:
    smooth = _smooth(full, 2.0)
    return int(np.flatnonzero(smooth >= np.median(smooth) - _ENDING_DB)[-1]) + 1


def _sections(features: Features, beats: Beats, full: F64, start_s: float, end_s: float) -> Iterator[TrackSection]:
    grid = _grid(beats, start_s, end_s)
    if len(grid) < 4:
        yield TrackSection(start_s, end_s, "A", 1.0)
        return
    vectors = np.hstack((gathered(features, grid), _even(full, grid)))
    step_s = float(np.median(np.diff(grid)))
    edges = _split(vectors, max(1, round(_SHORTEST_S / step_s)), max(2, round(_LONGEST_S / step_s)))
    letters = _letters([vectors[a:b].mean(axis=0) for a, b in itertools.pairwise(edges)])
    times = [start_s, *(float(grid[edge]) for edge in edges[1:-1]), end_s]
    levels = [full[round(a / _STEP_S) : max(round(a / _STEP_S) + 1, round(b / _STEP_S))] for a, b in _pairs(times)]
    means = np.array([float(part.mean()) if len(part) else float(full.min()) for part in levels])
    low, high = float(np.percentile(full, 5)), float(means.max())
    scaled = np.clip((means - low) / max(1e-9, high - low), 0.0, 1.0)
    for (a, b), letter, level in zip(_pairs(times), letters, scaled.tolist(), strict=True):
        yield TrackSection(a, b, letter, level)


def _even(full: F64, grid: F64) -> F64:
    # The fullness at each step, as much as all bands or all pitch classes together.
    total = np.concatenate(([0.0], np.cumsum(full)))
    edges = np.clip(np.round(np.append(grid, grid[-1] + grid[-1] - grid[-2]) / _STEP_S).astype(int), 0, len(full))
    means = np.diff(total[edges]) / np.maximum(1, np.diff(edges))
    even: F64 = ((means - means.mean()) / (means.std() + 1e-9))[:, None]
    return even


def _pairs(times: list[float]) -> list[tuple[float, float]]:
    return list(itertools.pairwise(times))


def _grid(beats: Beats, start_s: float, end_s: float) -> F64:
    """Steps of about two seconds: bars where they are clear, else two or four beats, else seconds."""
    known = beats.downbeats_s if beats.metre else beats.beats_s
    if len(known) < 8:
        return np.arange(start_s, end_s, _STILL_S)
    step = float(np.median(np.diff(known)))
    if step > _BAR_S[1]:
        return np.arange(start_s, end_s, _STILL_S)
    every = 1
    while step * every < _BAR_S[0]:
        every *= 2
    known = known[::every]
    first = np.arange(known[0], start_s - 1e-9, -step * every)[1:][::-1]  # before the first beat, and after the last
    last = np.arange(known[-1], end_s, step * every)[1:]
    return np.concatenate((first, known[(known >= start_s) & (known < end_s)], last))


def _split(vectors: F64, shortest: int, longest: int) -> list[int]:
    # best[j]: least cost of the first j steps; a section costs its squared distances from its mean, and a price.
    # A track of too few steps is one section.
    count = len(vectors)
    sums = np.concatenate((np.zeros((1, vectors.shape[1])), np.cumsum(vectors, axis=0)))
    squares = np.concatenate(([0.0], np.cumsum(np.square(vectors).sum(axis=1))))
    price = _PRICE * squares[-1] / count
    best, back = np.full(count + 1, np.inf), np.zeros(count + 1, int)
    best[0] = 0.0
    for end in range(min(shortest, count), count + 1):
        first = np.arange(max(0, end - longest), max(1, end - shortest + 1))
        spread = np.square(sums[end] - sums[first]).sum(axis=1) / (end - first)
        cost = best[first] + squares[end] - squares[first] - spread + price
        back[end] = first[cost.argmin()]
        best[end] = cost.min()
    edges = [count]
    while edges[-1]:
        edges.append(int(back[edges[-1]]))
    return edges[::-1]


def _letters(means: list[F64]) -> list[str]:
    # Each takes the letter of the nearest kind before it that is near enough.
    kinds: list[F64] = []
    letters = []
    limit = _ALIKE * float(np.mean([np.square(mean).sum() for mean in means])) + 1e-12
    for mean in means:
        apart = [float(np.square(mean - kind).sum()) for kind in kinds]
        nearest = int(np.argmin(apart)) if apart else 0
        if not apart or apart[nearest] > limit:
            kinds.append(mean)
            nearest = len(kinds) - 1
        letters.append(_letter(nearest))
    return letters


def _letter(number: int) -> str:
    return chr(ord("A") + number % 26) + (str(number // 26 + 1) if number >= 26 else "")
