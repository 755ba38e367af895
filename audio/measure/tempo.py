"""Tempo, how sure it is, and how it moves.

After G. Percival, G. Tzanetakis, "Streamlined tempo estimation based on autocorrelation and cross-correlation with
pulses", IEEE/ACM TASLP 22(12), 2014 (onset strength by log-power flux, a generalised autocorrelation in windows, a
comb over multiples of the period); own code, from the paper. Unlike there, windows of two lengths are averaged rather
than counted, the beats that `audio.measure.beat_network` hears are looked at beside the onsets, and between octaves a
broad preference for middle tempos decides together with the tempo that the network hears.
"""

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from audio import constants as c
from audio.arrays import F32, F64
from audio.measure.beat_network import TEMPOS_BPM, Pulse
from audio.measure.spectrum import FRAMES_PER_S

_SHORT, _LONG = 512, 1024  # frames: 6 s as in the paper, and 12 s, which settles more octaves
_HOP = 64  # frames between windows: 0.74 s
_AT_ONCE = 128  # windows, so that hours need little memory
_COMB = ((1.0, 1.0), (2.0, 1.0), (4.0, 1.0), (0.5, 0.3))  # multiple of the period, weight
_MIDDLE_BPM, _OCTAVES = 110.0, 0.9  # centre and width of the preference; editorial, chosen on our own renders
_HEARD = 0.25  # power to which the network's likelihood of a tempo counts; editorial, chosen on our own renders
# Times that the attacks stand higher at the beat than at its dotted notes; editorial, from our own renders.
_DOTTED = 1.2
_NEAR = 0.04  # octaves within which two tempos are one
_BPM = np.geomspace(*c.TEMPO_RANGE_BPM, 300)
_LAGS = 60 * FRAMES_PER_S / _BPM
# Two logistic regressions: is there a beat (285 renders, loops and recordings with one, 81 sounds without), and is the
# tempo of one that has a beat right; docs/analysis-benchmarks.md.
_BEAT_WEIGHTS, _BEAT_BIAS = np.array([11.37, 0.43, 1.39, 10.59, 1.98]), -5.34
_RIGHT_WEIGHTS, _RIGHT_BIAS = np.array([4.0, 3.5, -0.56, 0.24, 0.26]), -2.3
CLEAR = 0.52  # least likelihood of a beat with which a tempo is stated: 4 of the 81 without one still get a tempo
_LIVELY = 0.42  # energy from which on a fast tempo is believed; editorial
_FAINTEST_DB = 0.2  # spread of the onset strength under which nothing is struck (beating drones, silence); editorial
_PREFERENCE = np.exp(-0.5 * (np.log2(_BPM / _MIDDLE_BPM) / _OCTAVES) ** 2)


@dataclass(frozen=True, slots=True, eq=False)
class Tempo:
    """Tempo of a track; `bpm` is None where no beat is clear.

    bpm: beats a minute.
    confidence: 0 to 1, share of tracks of such evidence whose tempo is right; of those without a beat it never is.
    drift: spread of the local tempo (interquartile range) over the median; 0 for a machine.
    period: length of a beat at each place, frames, one a window of 6 s every 0.74 s; empty where there is no beat.
    """

    bpm: float | None
    confidence: float
    drift: float
    period: F32


def tempo_of(strength: F32, pulse: Pulse) -> Tempo:
    """Tempo of an onset strength, and of the beats heard.

    Args:
        strength: dB, shape (frames,), 86 frames a second, as `onset_strength` gives it.
        pulse: what the network hears, at the same frames.
    Returns:
        beats a minute, None where the beat isn't clear; how sure that is, 0 to 1; and how the period moves.
    """
    attacks, beats = _smooth(strength), _smooth(pulse.beat)
    short, short_heard = _combs(attacks, _SHORT), _combs(beats, _SHORT)
    struck, called = (
        combs.mean(axis=0) + _combs(values, _LONG).mean(axis=0)
        for combs, values in ((short, attacks), (short_heard, beats))
    )
    heard = np.interp(np.log(_BPM), np.log(TEMPOS_BPM), pulse.tempo) + 1e-3
    best = _undotted(np.maximum(struck + called, 1e-6) * _PREFERENCE * heard**_HEARD, struck)
    evidence = _evidence(short, short_heard, best, strength)
    beat = _likelihood(_BEAT_WEIGHTS, _BEAT_BIAS, evidence) if strength.std() >= _FAINTEST_DB else 0.0
    confidence = beat * _likelihood(_RIGHT_WEIGHTS, _RIGHT_BIAS, evidence)
    if beat < CLEAR:
        return Tempo(None, confidence, 0.0, np.zeros(0, np.float32))
    both = _even(attacks) + _even(beats)
    local = np.concatenate([_follow(part, float(_LAGS[best])) for part in _likeness(both, _SHORT)])
    low, middle, high = np.percentile(local, (25, 50, 75))
    return Tempo(float(60 * FRAMES_PER_S / middle), confidence, float((high - low) / middle), local)


def as_heard(tempo: Tempo, pulse: Pulse, energy: float) -> Tempo:
    """The tempo at half its speed where it is faster than music of so little energy is heard, if the network agrees.

    Between two levels of the beat the onsets don't decide; what is heard as calm is not heard as fast. The limit rises
    from 100 beats a minute at no energy to 125; the calmer, the less the network has to favour the slower level
    (editorial; chosen on our own music and on renders of open scores).
    """
    if tempo.bpm is None or energy >= _LIVELY or tempo.bpm <= min(100 + 80 * energy, 125):
        return tempo
    fast, slow = np.interp(np.log([tempo.bpm, tempo.bpm / 2]), np.log(TEMPOS_BPM), pulse.tempo)
    if slow < energy * fast:
        return tempo
    return dataclasses.replace(tempo, bpm=tempo.bpm / 2, period=2 * tempo.period)


def _undotted(height: F64, struck: F32) -> int:
    # The best place of the grid. Chords on every third quarter of a beat, over a steady drum, draw it to four thirds of
    # the tempo: where the attacks clearly favour three quarters of it, that, or the best octave of that.
    best = int(height.argmax())
    octaves = np.log2(_BPM / (0.75 * _BPM[best]))
    slower, same = np.abs(octaves) < _NEAR, np.abs(np.log2(_BPM / _BPM[best])) < _NEAR
    if not slower.any() or struck[slower].max() < _DOTTED * struck[same].max():
        return best
    return int(np.where(np.abs(octaves - np.round(octaves)) < _NEAR, height, 0).argmax())


def _combs(smooth: F32, length: int) -> F32:
    return np.concatenate([_comb(part) for part in _likeness(smooth, length)])


def _even(values: F32) -> F32:
    even: F32 = values / (values.std() + np.float32(1e-9))
    return even


def _smooth(strength: F32) -> F32:
    from scipy.signal import firwin

    padded = np.pad(strength, (0, max(0, _LONG - len(strength))))
    return np.convolve(padded, firwin(15, 7.0, fs=FRAMES_PER_S), mode="same").astype(np.float32)


def _likeness(smooth: F32, length: int) -> Iterator[F32]:
    # Autocorrelation of every window, row by row 1 at lag 0, some windows at once so that hours need little memory.
    # Compressing the magnitudes narrows the peaks: the paper's generalised autocorrelation.
    from scipy.fft import irfft, rfft

    windows = np.lib.stride_tricks.sliding_window_view(smooth, length)[::_HOP]
    for start in range(0, len(windows), _AT_ONCE):
        part = windows[start : start + _AT_ONCE]
        part = part - part.mean(axis=1, keepdims=True)
        spectrum = np.abs(rfft(part, 2 * length, axis=1)) ** c.COMPRESSION_EXPONENT
        likeness = irfft(spectrum, axis=1)[:, :length]
        yield (likeness / np.maximum(likeness[:, :1], 1e-9)).astype(np.float32)


def _comb(likeness: F32) -> F32:
    # Autocorrelation at the period, its multiples and its half, for every tempo of the grid.
    return sum((w * _at(likeness, m * _LAGS) for m, w in _COMB), np.zeros((1, len(_LAGS)), np.float32))


def _at(likeness: F32, lags: F64) -> F32:
    low = np.floor(lags).astype(int)
    part = (lags - low).astype(np.float32)
    inside = low + 1 < likeness.shape[1]
    low = np.where(inside, low, 0)
    values: F32 = np.where(inside, likeness[:, low] * (1 - part) + likeness[:, low + 1] * part, np.float32(0))
    return values


def _follow(likeness: F32, lag: float) -> F32:
    # The local period is the autocorrelation's peak within 8 % of the whole track's.
    lags = lag * np.linspace(0.92, 1.08, 65)
    score = sum((_at(likeness, m * lags) for m in (1, 2, 4)), np.zeros((1, 65), np.float32))
    best: F32 = lags[score.argmax(axis=1)].astype(np.float32)
    return best


def _likelihood(weights: F64, bias: float, evidence: F64) -> float:
    return float(1 / (1 + np.exp(-(weights @ evidence + bias))))


def _evidence(comb: F32, heard: F32, best: int, strength: F32) -> F64:
    # How high the comb stands at the tempo and how many windows agree up to octaves, for attacks and for beats heard;
    # how marked the attacks are.
    marked = float(np.log(strength.std() + 0.1))
    return np.array([*_height_and_agreement(comb, best), marked, *_height_and_agreement(heard, best)])


def _height_and_agreement(comb: F32, best: int) -> tuple[float, float]:
    octaves = np.log2(_BPM[(comb * _PREFERENCE).argmax(axis=1)] / _BPM[best])
    agree = float((np.abs(octaves - np.round(octaves)) < _NEAR).mean())
    return max(0.0, float(comb[:, best].mean())) ** 0.5, agree
