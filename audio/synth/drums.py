"""Struck things of the demo's invented music: hand drums, a drum kit, shakers, cymbals, rising noise.

Conventions as in `audio.synth.instruments`; all are one channel, shape (n,), and all but `riser` last as long as they
sound. `midi` is the pitch of `skin`, `slap` and `kick`; the others have none. Numbers are editorial; the membrane's
mode ratios are those of an ideal round membrane (zeros of the Bessel functions, any textbook of acoustics).
"""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from audio.arrays import F32
from audio.synth.instruments import RATE, banded_noise, decay, frequency, shape, sine, source_of_chance

_MODES = ((1.0, 1.0), (1.594, 0.45), (2.136, 0.25), (2.296, 0.2), (2.653, 0.15), (3.6, 0.08))


@lru_cache(maxsize=128)
def skin(midi: int, layer: int, variant: int) -> F32:
    """Give an open stroke on a frame drum or a barrel drum, shape (n,)."""
    rng = source_of_chance("skin", midi, layer, variant)
    n = round(0.9 * RATE)
    hertz = frequency(midi) * (1 + 0.006 * rng.standard_normal())
    total = np.zeros(n, np.float32)
    for k, (ratio, strength) in enumerate(_MODES):
        tone = sine(hertz * ratio, n, 0.25 * rng.random()) * decay(n, 0.8 / (1 + 0.7 * k))
        total += np.float32(strength * (0.7 + 0.6 * rng.random()) * (1 if k == 0 else 0.4 + 0.3 * layer)) * tone
    finger = banded_noise(1800, 300, 1500 + 1500 * layer, rng) * decay(1800, 0.03)
    total[:1800] += np.float32(0.25 + 0.15 * layer) * finger
    return _finish(total)


@lru_cache(maxsize=64)
def slap(midi: int, layer: int, variant: int) -> F32:
    """Give a sharp rim or slap stroke on the same drum, shape (n,)."""
    rng = source_of_chance("slap", midi, layer, variant)
    n = round(0.25 * RATE)
    total = 0.5 * sine(frequency(midi) * 2.3, n) * decay(n, 0.12) + 0.3 * sine(frequency(midi) * 3.6, n) * decay(
        n, 0.08
    )
    total += banded_noise(n, 900, 4000 + 2500 * layer, rng) * decay(n, 0.07 + 0.03 * layer)
    return _finish(total)


@lru_cache(maxsize=64)
def shaker(midi: int, layer: int, variant: int) -> F32:
    """Give one movement of a shaker, shape (n,)."""
    rng = source_of_chance("shaker", layer, variant)
    n = round((0.10 + 0.02 * layer) * RATE)
    grains = banded_noise(n, 4500, 11_000, rng) * np.hanning(n) ** 0.8
    return _finish(grains)


@lru_cache(maxsize=32)
def kick(midi: int, layer: int, variant: int) -> F32:
    """Give a bass drum whose pitch falls to that of `midi`, shape (n,)."""
    n = round(0.42 * RATE)
    time = np.arange(n) / RATE
    turns = np.cumsum((frequency(midi) + (90 + 60 * layer) * np.exp(-time / 0.028)) / RATE)
    body = np.sin(2 * np.pi * turns) * np.exp(-time / 0.13)
    click = banded_noise(700, 1500, 7000, source_of_chance("kick", layer, variant)) * decay(700, 0.012)
    body[:700] += (0.12 + 0.12 * layer) * click
    return _finish(np.tanh(1.6 * body))


@lru_cache(maxsize=32)
def snare(midi: int, layer: int, variant: int) -> F32:
    """Give a snare drum, shape (n,)."""
    rng = source_of_chance("snare", layer, variant)
    n = round(0.35 * RATE)
    total = 0.6 * sine(190, n) * decay(n, 0.16) + 0.4 * sine(285, n) * decay(n, 0.12)
    total += 0.9 * banded_noise(n, 1200, 9000, rng) * decay(n, 0.22 + 0.05 * layer)
    return _finish(total)


@lru_cache(maxsize=32)
def clap(midi: int, layer: int, variant: int) -> F32:
    """Give several hands that clap not quite together, shape (n,)."""
    rng = source_of_chance("clap", layer, variant)
    n = round(0.38 * RATE)
    total = np.zeros(n, np.float32)
    for delay in np.sort(rng.uniform(0, 0.026, 5)):
        start = round(delay * RATE)
        total[start:] += banded_noise(n - start, 900, 6000, rng) * decay(n - start, 0.09)
    total += 0.3 * banded_noise(n, 900, 5000, rng) * decay(n, 0.35)
    return _finish(total)


@lru_cache(maxsize=32)
def hat(midi: int, layer: int, variant: int) -> F32:
    """Give a closed hi-hat, shape (n,)."""
    return _metal("hat", 0.09 + 0.02 * layer, 6500, layer, variant)


@lru_cache(maxsize=32)
def open_hat(midi: int, layer: int, variant: int) -> F32:
    """Give an open hi-hat, shape (n,)."""
    return _metal("open hat", 0.42, 5500, layer, variant)


@lru_cache(maxsize=32)
def ride(midi: int, layer: int, variant: int) -> F32:
    """Give a ride cymbal, with the ping of its cup, shape (n,)."""
    wave = _metal("ride", 1.1, 3200, layer, variant)
    ping = sine(3170, wave.size) * decay(wave.size, 0.5) + sine(4690, wave.size) * decay(wave.size, 0.3)
    return _finish(wave + 0.12 * ping)


@lru_cache(maxsize=16)
def crash(midi: int, layer: int, variant: int) -> F32:
    """Give a crash cymbal, shape (n,)."""
    return _metal("crash", 2.8, 1800, layer, variant)


def riser(midi: int, layer: int, seconds: float, variant: int) -> F32:
    """Give noise that grows and brightens over `seconds`, ending at once, shape (n,)."""
    rng = source_of_chance("riser", variant)
    n = round(seconds * RATE)
    along = np.linspace(0, 1, n, dtype=np.float32)
    low, high = banded_noise(n, 300, 1500, rng), banded_noise(n, 2500, 9000, rng)
    return shape((low * along * (1 - along) + high * along**2.5).astype(np.float32), 0.05, 0.02)


def _metal(name: str, seconds: float, low_hz: float, layer: int, variant: int) -> F32:
    rng = source_of_chance(name, layer, variant)
    n = round(seconds * RATE)
    return _finish(banded_noise(n, low_hz, 10_000 + 1500 * layer, rng, 2.0) * decay(n, seconds))


def _finish(samples: NDArray[np.floating]) -> F32:
    """Take out the offset with the sound's own envelope, so that it still starts and ends at zero."""
    envelope = decay(samples.size, samples.size / RATE)
    centred = samples - envelope * (samples.sum() / envelope.sum())
    return shape((centred / np.abs(centred).max()).astype(np.float32), 0.0005, 0.02)
