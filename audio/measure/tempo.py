"""Tempo, how sure it is, and how it moves.

After G. Percival, G. Tzanetakis, "Streamlined tempo estimation based on autocorrelation and cross-correlation with
pulses", IEEE/ACM TASLP 22(12), 2014 (onset strength by log-power flux, a generalised autocorrelation in windows, a
comb over multiples of the period); own code, from the paper. Unlike there, windows of two lengths are averaged rather
than counted, and one broad preference for middle tempos decides between octaves.
"""

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from audio import constants as c
from audio.measure.spectrum import FRAMES_PER_S, Samples

_SHORT, _LONG = 512, 1024  # frames: 6 s as in the paper, and 12 s, which settles more octaves
_HOP = 64
_AT_ONCE = 512  # windows, so that hours need little memory
_COMB = ((1.0, 1.0), (2.0, 1.0), (4.0, 1.0), (0.5, 0.3))  # multiple of the period, weight
_MIDDLE_BPM, _OCTAVES = 110.0, 0.9  # centre and width of the preference; editorial, chosen on our own renders
_BPM = np.geomspace(*c.TEMPO_RANGE_BPM, 300)
_LAGS = 60 * FRAMES_PER_S / _BPM
# Logistic regression on 332 renders, loops and recordings, 37 of them without a beat; docs/analysis-benchmarks.md.
_EVIDENCE_WEIGHTS = np.array([6.63, 3.61, 0.28])
_EVIDENCE_BIAS = -3.62
CLEAR = 0.22  # least confidence with which a tempo is stated: 3 of our 37 tracks without a beat still get one
_LIVELY = 0.4  # energy from which on a fast tempo is believed
_FAINTEST_DB = 0.2  # spread of the onset strength under which nothing is struck: beating drones, silence
_PREFERENCE = np.exp(-0.5 * (np.log2(_BPM / _MIDDLE_BPM) / _OCTAVES) ** 2)


@dataclass(frozen=True, slots=True, eq=False)
class Tempo:
    """Tempo of a track; `bpm` is None where no beat is clear.

    confidence: 0 to 1, share of tracks of such evidence whose tempo is right.
    drift: spread of the local tempo (interquartile range) over the median; 0 for a machine.
    period: length of a beat at each place, frames, one a window of 6 s every 0.74 s; empty where there is no beat.
    """

    bpm: float | None
    confidence: float
    drift: float
    period: Samples


def tempo_of(strength: Samples) -> Tempo:
    """Tempo of an onset strength at 86 frames a second; None where the beat isn't clear."""
    smooth = _smooth(strength)
    short, long = (np.concatenate([_comb(part) for part in _likeness(smooth, length)]) for length in (_SHORT, _LONG))
    best = int(((short.mean(axis=0) + long.mean(axis=0)) * _PREFERENCE).argmax())
    confidence = _confidence(short, best, strength)
    if confidence < CLEAR:
        return Tempo(None, confidence, 0.0, np.zeros(0, np.float32))
    local = np.concatenate([_follow(part, float(_LAGS[best])) for part in _likeness(smooth, _SHORT)])
    low, middle, high = np.percentile(local, (25, 50, 75))
    return Tempo(float(60 * FRAMES_PER_S / middle), confidence, float((high - low) / middle), local)


def as_heard(tempo: Tempo, energy: float) -> Tempo:
    """The tempo at half its speed where it is faster than music of so little energy is heard.

    Between two levels of the beat the onsets don't decide; what is heard as calm is not heard as fast. The limit rises
    from 100 beats a minute at no energy to 132 at 0.4; livelier music keeps its tempo (editorial; chosen on our own
    music and on recordings on which two published methods disagree by an octave).
    """
    if tempo.bpm is None or energy >= _LIVELY or tempo.bpm <= 100 + 80 * energy:
        return tempo
    return dataclasses.replace(tempo, bpm=tempo.bpm / 2, period=2 * tempo.period)


def _smooth(strength: Samples) -> Samples:
    from scipy.signal import firwin

    padded = np.pad(strength, (0, max(0, _LONG - len(strength))))
    return np.convolve(padded, firwin(15, 7.0, fs=FRAMES_PER_S), mode="same").astype(np.float32)


def _likeness(smooth: Samples, length: int) -> Iterator[Samples]:
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


def _comb(likeness: Samples) -> Samples:
    # Autocorrelation at the period, its multiples and its half, for every tempo of the grid.
    return sum((w * _at(likeness, m * _LAGS) for m, w in _COMB), np.zeros((1, len(_LAGS)), np.float32))


def _at(likeness: Samples, lags: NDArray[np.float64]) -> Samples:
    low = np.floor(lags).astype(int)
    part = (lags - low).astype(np.float32)
    inside = low + 1 < likeness.shape[1]
    low = np.where(inside, low, 0)
    values: Samples = np.where(inside, likeness[:, low] * (1 - part) + likeness[:, low + 1] * part, np.float32(0))
    return values


def _follow(likeness: Samples, lag: float) -> Samples:
    # The local period is the autocorrelation's peak within 8 % of the whole track's.
    lags = lag * np.linspace(0.92, 1.08, 65)
    score = sum((_at(likeness, m * lags) for m in (1, 2, 4)), np.zeros((1, 65), np.float32))
    best: Samples = lags[score.argmax(axis=1)].astype(np.float32)
    return best


def _confidence(comb: Samples, best: int, strength: Samples) -> float:
    """Share of tracks of such evidence whose tempo is right; of those without a beat it never is."""
    if strength.std() < _FAINTEST_DB:
        return 0.0
    return float(1 / (1 + np.exp(-(_EVIDENCE_WEIGHTS @ _evidence(comb, best, strength) + _EVIDENCE_BIAS))))


def _evidence(comb: Samples, best: int, strength: Samples) -> NDArray[np.float64]:
    # How high the comb stands at the tempo, how many windows agree up to octaves, how marked the attacks are.
    height = max(0.0, float(comb[:, best].mean()))
    octaves = np.log2(_BPM[(comb * _PREFERENCE).argmax(axis=1)] / _BPM[best])
    agree = float((np.abs(octaves - np.round(octaves)) < 0.04).mean())
    return np.array([height**0.5, agree, np.log(float(strength.std()) + 0.1)])
