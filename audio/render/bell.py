"""One soft stroke on a bell: inharmonic partials that die away, high ones first.

The partial ratios are those of a tuned bell as Rayleigh measured them (hum 1/2, prime 1, tierce 6/5, quint 3/2,
nominal 2; "On bells", Philosophical Magazine 29, 1890; ratios from memory), with two beating partners for warmth.
Everything else (pitch, decay, onset) is editorial.
"""

from functools import cache, lru_cache

import numpy as np

from audio.arrays import F32, F64
from audio.measure.loudness import Meter

LENGTH_S = 9.0
PRIME_HZ = 264.0
ONSET_S = 0.015  # soft: no step, no click
# Ratio to the prime, amplitude, seconds to 1/e, place from left (-1) to right (1); editorial but for the ratios.
PARTIALS = (
    (0.5, 0.55, 3.2, 0.0),
    (0.5017, 0.25, 3.0, 0.2),
    (1.0, 1.0, 2.2, -0.1),
    (1.0024, 0.45, 2.1, 0.15),
    (1.2, 0.45, 1.5, 0.2),
    (1.5, 0.25, 1.1, -0.25),
    (2.0, 0.40, 0.9, 0.1),
    (2.51, 0.14, 0.55, -0.3),
    (3.01, 0.10, 0.40, 0.3),
    (4.17, 0.05, 0.25, 0.0),
)


@lru_cache(maxsize=4)  # a class has one level for its bells, and each of its sounds at hand holds the stroke (3 MB)
def bell_at(level_lufs: float, sample_rate: int) -> F32:
    """One stroke of the bell at a level.

    Args:
        level_lufs: what its loudest 400 ms read (momentary loudness, EBU Tech 3341).
        sample_rate: samples a second.
    Returns:
        float32, shape (frames, 2), read-only.

    >>> quiet, loud = bell_at(-40.0, 44_100), bell_at(-20.0, 44_100)
    >>> quiet.shape == loud.shape, round(float(loud.max() / quiet.max()), 3)
    (True, 10.0)
    """
    stroke = np.asarray(bell_stroke(sample_rate) * 10 ** ((level_lufs - _full_lufs(sample_rate)) / 20), np.float32)
    stroke.setflags(write=False)
    return stroke


@cache
def _full_lufs(sample_rate: int) -> float:
    meter = Meter(sample_rate, (1.0, 1.0))
    meter.feed(bell_stroke(sample_rate))
    return float(meter.read().momentary_lufs.max())


@cache
def bell_stroke(sample_rate: int) -> F32:
    """One stroke at a peak of 1.

    Args:
        sample_rate: samples a second.
    Returns:
        shape (frames, 2); begins and ends at exactly 0.
    """
    time = np.arange(int(LENGTH_S * sample_rate)) / sample_rate
    stroke = np.zeros((len(time), 2))
    for index, (ratio, amplitude, decay_s, place) in enumerate(PARTIALS):
        # Golden-angle phases keep the partials from piling up in one sharp first swing.
        wave = amplitude * np.exp(-time / decay_s) * np.sin(2 * np.pi * PRIME_HZ * ratio * time + 2.4 * index)
        turn = (place + 1) * np.pi / 4
        stroke += wave[:, None] * (np.cos(turn), np.sin(turn))
    stroke *= _envelope(time)[:, None]
    soft = np.asarray(stroke / np.abs(stroke).max(), np.float32)
    soft.setflags(write=False)
    return soft


def _envelope(time: F64) -> F64:
    onset = np.sin(np.clip(time / ONSET_S, 0, 1) * np.pi / 2) ** 2
    release = np.sin(np.clip((time[-1] - time) / 1.5, 0, 1) * np.pi / 2) ** 2
    return np.asarray(onset * release)
