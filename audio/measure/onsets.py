"""Onset strength: how much was added to the spectrum at each frame, by the rising level of mel bands."""

import numpy as np

from audio.arrays import F32
from audio.measure.features import BANDS, Features
from audio.measure.spectrum import FRAMES_PER_S

_DEPTH_DB = 60.0  # levels further below the loudest band of the track count as silence
_LAG = 2  # frames: a 46-ms window sees an attack grow over about two hops
_PIECE = 20_000  # frames at once, so that hours need no second copy in full precision


def onset_strength(features: Features, bands: slice = slice(0, BANDS)) -> F32:
    """Mean rise of the bands at each frame; free of the level of the recording.

    Args:
        bands: which of the mel bands, from the lowest.
    Returns:
        dB, shape (frames,), 0 in silence.
    """
    strength = np.zeros(len(features.bands), np.float32)
    floor = loudest_band(features) - _DEPTH_DB
    for start in range(0, len(strength), _PIECE):
        first = max(0, start - _LAG)
        levels = np.maximum(features.bands[first : start + _PIECE, bands].astype(np.float32), floor)
        rise = np.maximum(0.0, levels[_LAG:] - levels[:-_LAG]).mean(axis=1)
        strength[first + _LAG : first + _LAG + len(rise)] = rise
    return strength


def loudest_band(features: Features) -> float:
    """Level in dB that the loudest band of a frame passes in one frame of a hundred; 0 where there are no frames."""
    return float(np.percentile(features.bands.max(axis=1), 99)) if len(features.bands) else 0.0


def onsets(strength: F32) -> F32:
    """Seconds of the single onsets: peaks of the strength 1 dB above the half second around; editorial.

    Args:
        strength: dB, shape (frames,), as `onset_strength` gives it.
    Returns:
        ascending, shape (n,).

    >>> strength = np.zeros(172, np.float32)  # two seconds
    >>> strength[[43, 129]] = 6.0
    >>> onsets(strength).round(2).tolist()
    [0.5, 1.5]
    """
    from scipy.ndimage import maximum_filter1d, uniform_filter1d

    if len(strength) == 0:
        return np.zeros(0, np.float32)
    around = uniform_filter1d(strength, 43)
    peak = (strength == maximum_filter1d(strength, 7)) & (strength > around + 1.0)
    return (np.flatnonzero(peak) / FRAMES_PER_S).astype(np.float32)
