"""Beats, downbeats and metre for a known tempo.

Beats: D. Ellis, "Beat tracking by dynamic programming", Journal of New Music Research 36(1), 2007, with a period that
may move; our own code. Downbeats: the phase and metre under which accents of low bands and changes of harmony recur.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from audio import constants as c
from audio.measure.spectrum import FRAMES_PER_S, Samples
from audio.measure.tempo import Tempo
from audio.track import Seconds


@dataclass(frozen=True, slots=True, eq=False)
class Beats:
    """Beat times and downbeat times in seconds; `metre` is None, and downbeats are empty, where bars aren't clear."""

    beats_s: Seconds
    downbeats_s: Seconds
    metre: int | None


NO_BEATS = Beats(np.zeros(0), np.zeros(0), None)


def beats_of(strength: Samples, tempo: Tempo) -> Beats:
    """Beats of an onset strength at 86 frames a second, none where the tempo is None."""
    if tempo.bpm is None:
        return NO_BEATS
    frames = _track(_normal(strength), _periods(tempo, len(strength)))
    return Beats(_trim(frames, strength) / FRAMES_PER_S, np.zeros(0), None)


def _normal(strength: Samples) -> Samples:
    from scipy.ndimage import gaussian_filter1d, uniform_filter1d

    level = np.sqrt(uniform_filter1d(strength**2, round(8 * FRAMES_PER_S)))
    return gaussian_filter1d(strength, 1.5) / np.maximum(level, 0.1 * level.max() + 1e-9)


def _periods(tempo: Tempo, frames: int) -> Samples:
    places = np.linspace(0, frames, len(tempo.period))
    return np.interp(np.arange(frames), places, tempo.period).astype(np.float32)


def _track(strength: Samples, period: Samples) -> NDArray[np.int64]:
    # score[t] = strength[t] + max over earlier t' of score[t'] - tightness * log((t - t') / period)^2. No step is
    # shorter than half a period, so half a period of frames can be worked out at once.
    longest = int(2 * period.max()) + 1
    score = np.concatenate((np.zeros(longest, np.float32), strength))
    back = np.full(len(strength), -1)
    start = 0
    while start < len(strength):
        local = period[start]
        steps = np.arange(int(local / 2) + 1, int(2 * local) + 1)
        block = np.arange(start, min(len(strength), start + int(local / 2)))
        cost = c.BEAT_TIGHTNESS * np.log(steps / local) ** 2
        options = score[longest + block[:, None] - steps] - cost
        best = options.argmax(axis=1)
        score[longest + block] += options[np.arange(len(block)), best]
        back[block] = block - steps[best]
        start = block[-1] + 1
    return _walk_back(score[longest:], back, int(period[-1]) + 1)


def _walk_back(score: Samples, back: NDArray[np.int64], last: int) -> NDArray[np.int64]:
    at = len(score) - last + int(score[-last:].argmax()) if len(score) >= last else int(score.argmax())
    beats = []
    while at >= 0:
        beats.append(at)
        at = int(back[at])
    return np.array(beats[::-1])


def _trim(beats: NDArray[np.int64], strength: Samples) -> NDArray[np.int64]:
    # Beats of the silence before and after the music are no beats.
    at_beats = strength[np.clip(beats, 0, len(strength) - 1)]
    strong = np.flatnonzero(at_beats > 0.2 * np.sqrt(np.mean(at_beats**2)))
    return beats[strong[0] : strong[-1] + 1] if strong.size else beats[:0]
