"""Beats, downbeats and metre for a known tempo.

Beats: D. Ellis, "Beat tracking by dynamic programming", Journal of New Music Research 36(1), 2007, with a period that
may move, over the beats that `audio.measure.beat_network` hears and, less, the attacks; own code. Where only the other
halves of the beats have low notes, these are the beats. Downbeats: see `audio.measure.bars`.
"""

from dataclasses import dataclass

import numpy as np

from audio import constants as c
from audio.arrays import F32, F64, I64
from audio.measure.bars import FEWEST, bars_of, near
from audio.measure.beat_network import Pulse
from audio.measure.features import Features
from audio.measure.onsets import onset_strength
from audio.measure.spectrum import FRAMES_PER_S
from audio.measure.tempo import Tempo

_BEATS_HEARD, _ATTACKS = 4.0, 0.5  # how much each counts in the tracking; editorial, chosen on our own renders
_LOW = slice(0, 3)  # bands up to about 300 Hz
# Of the attacks between beats, and of the strongest; editorial, chosen on our own renders.
_NONE_ON, _STRUCK = 0.1, 0.15


@dataclass(frozen=True, slots=True, eq=False)
class Beats:
    """Beat times and downbeat times in seconds, ascending, shape (n,); `metre` is in beats a bar.

    `metre` is None, and downbeats are empty, where bars aren't clear; all is empty where there is no beat.
    """

    beats_s: F64
    downbeats_s: F64
    metre: int | None


NO_BEATS = Beats(np.zeros(0), np.zeros(0), None)


def beats_of(features: Features, strength: F32, pulse: Pulse, tempo: Tempo) -> Beats:
    """Beats, downbeats and metre; none where the tempo is None.

    Args:
        features: frame values of the track.
        strength: onset strength of all bands, shape (frames,).
        pulse: what the network hears in them.
        tempo: what `tempo_of` found.
    """
    if tempo.bpm is None:
        return NO_BEATS
    accent = np.float32(_BEATS_HEARD) * pulse.beat + np.float32(_ATTACKS) * _normal(_unit(strength))
    frames = _onto_the_bass(_trim(_track(accent, _periods(tempo, len(strength))), strength), features)
    if len(frames) < FEWEST:
        return NO_BEATS
    metre, first = bars_of(features, strength, pulse, frames)
    seconds = frames / FRAMES_PER_S
    return Beats(seconds, seconds[first::metre] if metre else seconds[:0], metre)


def _unit(strength: F32) -> F32:
    size = float(np.sqrt(np.mean(np.square(strength)))) + 1e-9
    return (strength / size).astype(np.float32)


def _normal(accent: F32) -> F32:
    # Smoothed over the spread of an attack, and even over the track's loud and quiet parts.
    from scipy.ndimage import gaussian_filter1d, uniform_filter1d

    level = np.sqrt(np.maximum(0.0, uniform_filter1d(np.square(accent), round(8 * FRAMES_PER_S))))
    even: F32 = gaussian_filter1d(accent, 1.5) / np.maximum(level, 0.1 * level.max() + 1e-9)
    return even


def _periods(tempo: Tempo, frames: int) -> F32:
    places = np.linspace(0, frames, len(tempo.period))
    return np.interp(np.arange(frames), places, tempo.period).astype(np.float32)


def _track(strength: F32, period: F32) -> I64:
    # score[t] = strength[t] + max over earlier t' of score[t'] - tightness * log((t - t') / period)^2. No step is
    # shorter than half a period, so half a period of frames can be worked out at once.
    longest = int(2 * period.max()) + 1
    score = np.concatenate((np.zeros(longest, np.float32), strength))
    back = np.full(len(strength), -1)
    start = 0
    while start < len(strength):
        local = float(period[start])
        steps = np.arange(int(local / 2) + 1, int(2 * local) + 1)
        block = np.arange(start, min(len(strength), start + int(local / 2)))
        cost = (c.BEAT_TIGHTNESS * np.log(steps / local) ** 2).astype(np.float32)
        options = score[longest + block[:, None] - steps] - cost
        best = options.argmax(axis=1)
        score[longest + block] += options[np.arange(len(block)), best]
        back[block] = block - steps[best]
        start += len(block)
    return _walk_back(score[longest:], back, int(period[-1]) + 1)


def _walk_back(score: F32, back: I64, last: int) -> I64:
    at = max(0, len(score) - last) + int(score[-last:].argmax())
    beats = []
    while at >= 0:
        beats.append(at)
        at = int(back[at])
    return np.array(beats[::-1])


def _trim(beats: I64, strength: F32) -> I64:
    # Beats in the silence before and after the music are no beats.
    at_beats = strength[beats]
    strong = np.flatnonzero(at_beats > 0.1 * np.sqrt(np.mean(np.square(at_beats))))
    return beats[strong[0] : strong[-1] + 1] if strong.size else beats[:0]


def _onto_the_bass(beats: I64, features: Features) -> I64:
    # Chords or brass between the beats can draw all beats half a beat away. Where low notes are struck between them and
    # none on them, they are where the low notes are.
    if len(beats) < FEWEST:
        return beats
    low = onset_strength(features, _LOW)
    between = beats[:-1] + np.diff(beats) // 2
    on, off = (float(np.median(near(low, at))) for at in (beats, between))
    return between if on < _NONE_ON * off and off > _STRUCK * np.percentile(low, 99) else beats
