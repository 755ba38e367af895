"""Beats, downbeats and metre for a known tempo.

Beats: D. Ellis, "Beat tracking by dynamic programming", Journal of New Music Research 36(1), 2007, with a period that
may move, over the beats that `audio.measure.beat_network` hears and, less, the attacks; own code. Where only the other
halves of the beats have low notes, these are the beats. Downbeats: the metre
and phase under which the bars that it hears, bass attacks and changes of sound recur.
"""

from dataclasses import dataclass

import numpy as np

from audio import constants as c
from audio.arrays import F32, F64, I64
from audio.measure.beat_network import Pulse
from audio.measure.features import Features
from audio.measure.onsets import loudest_band, onset_strength
from audio.measure.spectrum import FRAMES_PER_S
from audio.measure.tempo import Tempo

_BEATS_HEARD, _ATTACKS = 4.0, 0.5  # how much each counts in the tracking; editorial, chosen on our own renders
_BASS = (slice(0, 2), slice(2, 5))  # bands up to about 110 and 300 Hz
_LOW = slice(0, 3)  # bands up to about 300 Hz
# Of the attacks between beats, and of the strongest; editorial, chosen on our own renders.
_NONE_ON, _STRUCK = 0.1, 0.15
_EVIDENCE_FRAMES = round(900 * FRAMES_PER_S)  # the first quarter of an hour says where beat and bar lie
_METRES = (3, 4)  # beats a bar that are told apart
_BARS_HEARD = 1.0  # bars heard beside all other accents together; editorial, chosen on our own renders
_CLEAR_BAR = 0.35  # correlation of the accents with the bars, and lead over the next metre or phase; editorial
_CLEAR_LEAD = 0.15
_TOP_BAND = 20  # changes of sound are read below about 2.5 kHz


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
    if len(frames[frames < _EVIDENCE_FRAMES]) < 8:
        return NO_BEATS
    metre, first = _bars(_BandLevels(features), pulse.bar, frames[frames < _EVIDENCE_FRAMES])
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
    if len(beats) < 8:
        return beats
    low = onset_strength(features, _LOW)
    between = beats[:-1] + np.diff(beats) // 2
    on, off = (float(np.median(_near(low, at))) for at in (beats, between))
    return between if on < _NONE_ON * off and off > _STRUCK * np.percentile(low, 99) else beats


class _BandLevels:
    """Band levels as running sums, so that means over any stretch of frames cost nothing."""

    def __init__(self, features: Features) -> None:
        levels = np.maximum(features.bands[:_EVIDENCE_FRAMES].astype(np.float32), loudest_band(features) - 60.0)
        self.total = np.concatenate((np.zeros((1, levels.shape[1])), np.cumsum(levels, axis=0, dtype=np.float64)))
        self.attacks = np.stack([onset_strength(features, group) for group in _BASS])

    def mean(self, start: I64, end: I64) -> F64:
        """Mean level of each band in frames [start, end), shape (n, bands)."""
        last = len(self.total) - 1
        start, end = np.clip(start, 0, last - 1), np.clip(end, 1, last)
        end = np.maximum(end, start + 1)
        means: F64 = (self.total[end] - self.total[start]) / (end - start)[:, None]
        return means

    def change(self, at: I64, reach: int) -> F64:
        """How different the sound is `reach` frames after and before each place, dB."""
        difference = np.abs(self.mean(at + 1, at + 1 + reach) - self.mean(at - reach, at))
        change: F64 = difference[:, :_TOP_BAND].mean(axis=1)
        return change

    def attack(self, at: I64) -> F64:
        """Strongest attack of each group of bands within two frames, shape (2, n)."""
        return np.stack([_near(attacks, at) for attacks in self.attacks])


def _near(values: F32, at: I64) -> F64:
    """Largest value within two frames of each place, shape (n,)."""
    near = np.clip(at[:, None] + np.arange(-2, 3), 0, len(values) - 1)
    largest: F64 = values[near].max(axis=1).astype(np.float64)
    return largest


def _bars(levels: _BandLevels, bar: F32, beats: I64) -> tuple[int | None, int]:
    # Metre and index of the first downbeat. A beat's accent: bars heard, bass attacks, and changes of sound over 1, 2
    # and 4 beats.
    beat = int(np.median(np.diff(beats)))
    accents = [*levels.attack(beats), *(2 * _standard(levels.change(beats, n * beat)) for n in (1, 2, 4))]
    accent = _standard(sum((_standard(a) for a in accents[:2]), np.zeros(len(beats))) + sum(accents[2:]))
    accent = _standard(accent + _BARS_HEARD * _standard(_near(bar, beats)))
    fits = sorted(
        ((float(accent[at::metre].mean()) / (metre - 1) ** 0.5, metre, at) for metre in _METRES for at in range(metre)),
        reverse=True,
    )
    (best, metre, phase), (second, _, _) = fits[:2]
    return (metre, phase) if best > _CLEAR_BAR and best - second > _CLEAR_LEAD else (None, 0)


def _standard(values: F64) -> F64:
    standard: F64 = (values - values.mean()) / (values.std() + 1e-9)
    return standard
