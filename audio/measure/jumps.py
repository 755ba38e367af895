"""Places of a track that sound alike, so that it can be made longer at a seam nobody minds.

The track is gathered on a grid, bar by bar where bars are clear, beat by beat where there is only a beat, by half
seconds where there is none; each step keeps the levels of 40 mel bands and the content of the pitch classes in four
parts. Two places are alike where the music after them, and a little before them, agrees within what is hardly
noticed: level within 1 dB, bands within a few dB on average (a just noticeable difference of level is about 1 dB, of
single bands of a spectrum 2 to 3 dB: H. Fastl, E. Zwicker, "Psychoacoustics", 3rd ed. 2007, chapter 7; values from
memory), harmony alike. Self-similarity of such features: J. Foote, "Visualizing music and audio using self-
similarity", ACM Multimedia 1999.

The two places are laid on each other by their samples, joined, and the seam is measured: what is added to the spectrum
there is less than at most of the song's own bars, or the jump is dropped.
"""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from audio.arrays import F32, F64
from audio.files.decode import Decoder
from audio.measure.features import CHROMA_PER_S, Features, FeatureStream, flux_of, shares
from audio.measure.onsets import loudest_band
from audio.measure.spectrum import FRAMES_PER_S, RATE, MonoStream, Spectrum

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
REACH_S, LOOK_S = 0.03, 0.15  # the second place is moved by at most REACH_S to meet the first, LOOK_S around it
MOST_A_PLACE, TRIED = 2, 4
MOST_FLUX = 75.0  # percentile of the track's own largest flux at its bars
NEAR_S = 0.1  # so near a seam or a bar flux is its own
AROUND_S = 0.6  # of sound on either side of a seam that is measured


@dataclass(frozen=True, slots=True)
class Jump:
    """From one place of a track back to another that sounds like it.

    The cross-fade is centred on the two places; `seam` is 0 where nothing tells them apart, 1 where it just passes.
    """

    from_s: float
    to_s: float
    fade_s: float
    seam: float


@dataclass(frozen=True, slots=True, eq=False)
class Heard:
    """A recording read for its jumps: frame values, and the sound itself, mono at 22.05 kHz, shape (samples,)."""

    features: Features
    mono: F32


def heard(path: Path) -> Heard:
    """Read a recording once from end to end.

    Raises:
        AudioError: the file can't be decoded.
    """
    stream, kept = FeatureStream(), []
    with Decoder(path) as decoder:
        mono = MonoStream(decoder.rate)
        for block in decoder.blocks():
            kept.append(mono.feed(block.samples))
            stream.feed(kept[-1])
    kept.append(mono.end())
    stream.feed(kept[-1])
    return Heard(stream.end(), np.concatenate(kept))


def jumps(sound: Heard, beats_s: F64, downbeats_s: F64) -> tuple[Jump, ...]:
    """All jumps back that are worth keeping, sorted by where they leave.

    Args:
        beats_s, downbeats_s: seconds, ascending, shape (n,) each; empty where not clear.
    Returns:
        At most two from each place; none where the track never repeats itself.
    """
    features = sound.features
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
    limit = _own_flux(features, downbeats_s if len(downbeats_s) else beats_s[::4] if len(beats_s) else grid)
    return tuple(jump for index in range(len(grid)) for jump in _from(sound, index, alike[index], grid, clear, limit))


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


def _from(sound: Heard, index: int, costs: F64, grid: F64, clear: bool, limit: float) -> list[Jump]:
    """The best from one place of the grid, given what it costs to go to each."""
    nearest = np.argsort(costs[:index], kind="stable")[:TRIED]
    tried = [_joined(sound, grid[index], grid[j], costs[j], clear) for j in nearest if costs[j] <= 1.0]
    measured = [replace(jump, seam=max(jump.seam, _flux_at(sound.mono, jump) / limit)) for jump in tried]
    return sorted((jump for jump in measured if jump.seam <= 1.0), key=lambda jump: jump.seam)[:MOST_A_PLACE]


# ---- the seam ----------------------------------------------------------------------------------------------------


def _joined(sound: Heard, from_s: float, to_s: float, seam: float, clear: bool) -> Jump:
    """A jump with its second place moved to where it meets the first, sample by sample."""
    if not clear:
        return Jump(float(from_s), float(to_s), STILL_FADE_S, float(seam))
    one, other = from_s - AHEAD_S, to_s - AHEAD_S
    return Jump(float(one), float(other + _lag_s(sound.mono, one, other)), BEAT_FADE_S, float(seam))


def _lag_s(mono: F32, one_s: float, other_s: float) -> float:
    """How much later than the second place the sound is most like that at the first; normalised cross-correlation."""
    from scipy.signal import correlate

    half, reach, one, other = (round(each * RATE) for each in (LOOK_S, REACH_S, one_s, other_s))
    if min(one - half, other - half - reach) < 0 or max(one + half, other + half + reach) > len(mono):
        return 0.0
    here = mono[one - half : one + half].astype(np.float64)
    there = mono[other - half - reach : other + half + reach].astype(np.float64)
    power = np.concatenate(([0.0], np.cumsum(np.square(there))))
    likeness = correlate(there, here, "valid", "fft") / np.sqrt(power[2 * half :] - power[: -2 * half] + 1e-9)
    return float(int(np.argmax(likeness)) - reach) / RATE


def _own_flux(features: Features, bars_s: F64) -> float:
    reach = round(NEAR_S * FRAMES_PER_S)
    at = np.round(np.asarray(bars_s) * FRAMES_PER_S).astype(int)
    largest = [features.flux[max(frame - reach, 0) : frame + reach + 1].max(initial=0.0) for frame in at]
    return float(np.percentile(largest, MOST_FLUX)) + 1e-6


def _flux_at(mono: F32, jump: Jump) -> float:
    """The largest flux at the seam of a jump, joined as it will be played."""
    half, cross = round(AROUND_S * RATE), round(min(jump.fade_s, AROUND_S) * RATE)
    one, other = (_around(mono, round(at * RATE), half) for at in (jump.from_s, jump.to_s))
    turn = np.clip((np.arange(2 * half) - half + cross / 2) / cross, 0.0, 1.0) * np.pi / 2
    share = shares(Spectrum().feed((one * np.cos(turn) + other * np.sin(turn)).astype(np.float32)))
    middle, reach = round(AROUND_S * FRAMES_PER_S), round(NEAR_S * FRAMES_PER_S)
    return float(flux_of(share[2:], share[:2])[middle - reach - 2 : middle + reach - 1].max())


def _around(mono: F32, middle: int, half: int) -> F32:
    padded = np.zeros(2 * half, np.float32)
    part = mono[max(middle - half, 0) : middle + half]
    padded[max(half - middle, 0) :][: len(part)] = part
    return padded
