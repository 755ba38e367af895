"""Perceived energy at 1 Hz, 0 to 1, from how dense and how restless the spectrum is.

Weights on the standardised measures are fitted to people's ratings of arousal: van der Walle, Wu, Margulis, Jakubowski,
"MUSIFEAST-17", Behavior Research Methods 57(7), 2025, doi 10.3758/s13428-025-02724-0; ratings CC0.
"""

import numpy as np

from audio.measure.features import Features
from audio.measure.spectrum import FRAMES_PER_S, Samples
from audio.track import Curve

_WINDOW_S = 10


def energy_curve(features: Features, onsets_s: Samples, seconds: int) -> Curve:
    """Energy of each second, from the 10 s around it, shape (seconds,)."""
    entropy = _windowed(features.entropy, seconds)
    flux = _windowed(features.flux, seconds)
    rate = _rate(onsets_s, seconds)
    score = 3.167 + 0.545 * (entropy - 0.7469) / 0.0902 + 0.245 * (flux - 0.0297) / 0.0075
    score = score + 0.05 * (rate - 3.5) / 1.6
    return np.clip((score - 1) / 4, 0, 1).astype(np.float32)


def _windowed(values: Samples, seconds: int) -> Samples:
    total = np.concatenate(([0.0], np.cumsum(values, dtype=np.float64)))
    middle = np.arange(seconds) + 0.5
    low = np.clip((middle - _WINDOW_S / 2) * FRAMES_PER_S, 0, len(values) - 1).astype(int)
    high = np.clip((middle + _WINDOW_S / 2) * FRAMES_PER_S, 1, len(values)).astype(int)
    return ((total[high] - total[low]) / np.maximum(1, high - low)).astype(np.float32)


def _rate(onsets_s: Samples, seconds: int) -> Samples:
    counts = np.bincount(onsets_s.astype(int), minlength=seconds)[:seconds].astype(np.float32)
    from scipy.ndimage import uniform_filter1d

    return uniform_filter1d(counts, _WINDOW_S, mode="nearest")
