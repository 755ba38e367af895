"""Tempo by pulse trains: G. Percival, G. Tzanetakis, "Streamlined tempo estimation based on autocorrelation and
cross-correlation with pulses", IEEE/ACM TASLP 22(12), 2014; our own code, from the paper.

Every 6-s window of the onset strength gives its best period: peaks of a generalised autocorrelation are tried as pulse
trains of one, one and a half and two periods. The windows' periods are gathered in a histogram; its peak is the tempo.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from audio import constants as c
from audio.measure.spectrum import FRAMES_PER_S, Samples

_WINDOW = 512  # frames: 5.9 s, as in the paper
_HOP = 64
_PULSES = 4


@dataclass(frozen=True, slots=True, eq=False)
class Tempo:
    """Tempo of a track; `bpm` is None where no beat is clear.

    confidence: 0 to 1, share of tracks of such evidence whose tempo is right.
    drift: spread of the local tempo (interquartile range) over the median; 0 for a machine.
    period: beats of the local tempo, frames a beat, one a window; empty where there is no clear beat.
    """

    bpm: float | None
    confidence: float
    drift: float
    period: Samples


NO_BEAT = Tempo(None, 0.0, 0.0, np.zeros(0, np.float32))


def tempo_of(strength: Samples) -> Tempo:
    """Tempo of an onset strength at 86 frames a second; shorter than 6 s or without a beat: none."""
    windows = _windows(strength)
    if len(windows) == 0:
        return NO_BEAT
    likeness = _autocorrelation(windows)
    periods, salience = _best_periods(windows, likeness)
    bpm, clear = _gather(periods, salience)
    if clear < 0.3:
        return NO_BEAT
    local = _follow(likeness, bpm)
    spread = np.subtract(*np.percentile(local, [75, 25])) / np.median(local)
    return Tempo(bpm, clear, float(spread), local)


def _windows(strength: Samples) -> Samples:
    from scipy.signal import firwin, oaconvolve

    if len(strength) < _WINDOW:
        return np.zeros((0, _WINDOW), np.float32)
    smooth = oaconvolve(strength, firwin(15, 7.0, fs=FRAMES_PER_S), mode="same").astype(np.float32)
    return np.lib.stride_tricks.sliding_window_view(smooth, _WINDOW)[::_HOP]


def _autocorrelation(windows: Samples) -> Samples:
    # Compressing the magnitudes narrows the peaks: the paper's generalised autocorrelation.
    from scipy.fft import irfft, rfft

    centred = windows - windows.mean(axis=1, keepdims=True)
    spectrum = np.abs(rfft(centred, 2 * _WINDOW, axis=1)) ** c.COMPRESSION_EXPONENT
    return irfft(spectrum, axis=1)[:, :_WINDOW].astype(np.float32)


def _lags() -> NDArray[np.float64]:
    slow, fast = c.TEMPO_RANGE_BPM
    return 60 * FRAMES_PER_S / np.geomspace(slow, fast, 240)


def _at(likeness: Samples, lags: NDArray[np.float64]) -> Samples:
    low = np.floor(lags).astype(int)
    part = (lags - low).astype(np.float32)
    inside = low + 1 < likeness.shape[1]
    low = np.where(inside, low, 0)
    return np.where(inside, likeness[:, low] * (1 - part) + likeness[:, low + 1] * part, 0.0)


def _best_periods(windows: Samples, likeness: Samples) -> tuple[NDArray[np.float64], Samples]:
    lags = _lags()
    comb = _at(likeness, lags) + _at(likeness, 2 * lags) + _at(likeness, 4 * lags)
    prior = np.exp(-0.5 * (np.log2(60 * FRAMES_PER_S / lags / 120) / 0.9) ** 2)
    score = comb * prior
    best = score.argmax(axis=1)
    return lags[best], _at(likeness, lags)[np.arange(len(best)), best] / np.maximum(likeness[:, 0], 1e-9)


def _gather(periods: NDArray[np.float64], salience: Samples) -> tuple[float, float]:
    grid = np.log2(np.geomspace(*c.TEMPO_RANGE_BPM, 600))
    tempo = np.log2(60 * FRAMES_PER_S / periods)
    votes = np.exp(-0.5 * ((grid[:, None] - tempo) / 0.02) ** 2) @ np.maximum(salience, 0)
    peak = float(grid[votes.argmax()])
    near = np.abs(tempo - peak) < 0.06
    return float(2 ** np.median(tempo[near])), float(near.mean())


def _follow(likeness: Samples, bpm: float) -> Samples:
    # The local period is the autocorrelation's peak within 8 % of the whole track's.
    lags = 60 * FRAMES_PER_S / bpm * np.linspace(0.92, 1.08, 65)
    return lags[_at(likeness, lags).argmax(axis=1)].astype(np.float32)
