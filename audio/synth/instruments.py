"""The sounds of the demo's invented music: strings, keys, bowls, pads, basses, a breathy pipe.

Every instrument gives float32 samples at `RATE`, shape (n,) for one channel or (2, n) for two, starting and ending at
zero, with a mean below 0.003. The loudest sample is 0.7 to 1.0; a held sound of a bright layer reaches 1.9, `surge` 0.4
only. Pitches are MIDI note numbers (69 = 440 Hz), `layer` runs from 0 (soft, dark) to 2 (hard, bright), `variant` tells
repeats of one note apart. The same arguments give the same samples.

Sources: K. Karplus, A. Strong, "Digital synthesis of plucked-string and drum timbres", Computer Music Journal 7(2),
1983; spread harmonics with random phases for pads after P. Nasca, "PADsynth algorithm" (public description).
Numbers not from there are editorial: chosen by ear and eye.
"""

import zlib
from collections.abc import Iterator
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from audio.arrays import F32

RATE = 44_100  # samples a second
_TABLE = 1 << 17  # samples of a pad that repeats without a seam, 3.0 s
_COARSE = 512  # samples a value of a slow swell
_CYCLE = 1 << 13  # samples of one cycle in a wave table
_STRINGS = ((-11, 0.9), (-5, 0.3), (0, 0.5), (6, 0.7), (12, 0.1))  # of a lead: cents, and how much goes left


def frequency(midi: float) -> float:
    """Give the frequency of a MIDI note number in Hz, equal temperament, 69 = 440 Hz."""
    return float(440.0 * 2.0 ** ((midi - 69.0) / 12.0))


def source_of_chance(*words: object) -> np.random.Generator:
    """Give a generator that always starts the same for the same words."""
    return np.random.default_rng(zlib.crc32(repr(words).encode()))


def sine(hertz: float, n: int, phase: float = 0.0) -> F32:
    """Give n samples of a sine, shape (n,); integer phase, so that long notes stay in tune in float32.

    Args:
        phase: where it begins, in turns.
    """
    step = np.uint32(round(hertz / RATE * 2**32) % 2**32)
    turns = _counted(n) * step
    turns += np.uint32(round(phase % 1.0 * 2**32) % 2**32)
    radians = turns.view(np.int32).astype(np.float32)
    radians *= np.float32(np.pi / 2**31)
    return np.sin(radians, out=radians)


@lru_cache(maxsize=32)
def decay(n: int, seconds: float) -> F32:
    """Give an exponential fall by 60 dB in `seconds`, shape (n,), not to be written to."""
    return _kept(np.exp(np.arange(n, dtype=np.float32) * np.float32(-6.9078 / (seconds * RATE))))


def in_between(values: NDArray[np.floating], step: int) -> F32:
    """Draw straight lines from each value to the next, `step` samples long.

    Args:
        values: shape (n,), at least one.
    Returns:
        shape ((n - 1) * step,).

    >>> in_between(np.array([0.0, 1.0, 0.0]), 2).tolist()
    [0.0, 0.5, 1.0, 0.5]
    """
    start = values[:-1, None].astype(np.float32)
    slope = np.diff(values)[:, None].astype(np.float32)
    return np.asarray((start + slope * (np.arange(step, dtype=np.float32) / step)).ravel())


def shape(samples: F32, attack_s: float, release_s: float) -> F32:
    """Fade the two ends of a note by quarter-sine ramps, in place; shortened to fit where the note is short.

    Args:
        samples: shape (n,) or (channels, n).
    Returns:
        `samples` themselves.
    """
    n = samples.shape[-1]
    rise, fall = min(n // 2, round(attack_s * RATE)), min(n // 2, round(release_s * RATE))
    samples[..., :rise] *= _quarter_sine(rise)
    if fall:
        samples[..., n - fall :] *= _quarter_cosine(fall)
    return samples


@lru_cache(maxsize=64)
def _quarter_sine(n: int) -> F32:
    return _kept(np.sin(np.linspace(0, np.pi / 2, n, dtype=np.float32)))


@lru_cache(maxsize=64)
def _quarter_cosine(n: int) -> F32:
    return _kept(np.cos(np.linspace(0, np.pi / 2, n, dtype=np.float32)))


def _kept(samples: F32) -> F32:
    """Samples that several notes share: what would write to them is told."""
    samples.flags.writeable = False
    return samples


def banded_noise(n: int, low_hz: float, high_hz: float, rng: np.random.Generator, slope: float = 1.0) -> F32:
    """Give noise between two frequencies, shape (n,), peak 1.

    Args:
        slope: steepness of both edges in units of 6 dB an octave.
    """
    from scipy import fft

    size = fft.next_fast_len(n, real=True)
    spectrum = fft.rfft(rng.standard_normal(size, np.float32))
    hertz = np.maximum(fft.rfftfreq(size, 1 / RATE), 1.0).astype(np.float32)
    spectrum *= (1 + (low_hz / hertz) ** 2) ** -slope * (1 + (hertz / high_hz) ** 2) ** -slope
    return _level(fft.irfft(spectrum, size)[:n])


@lru_cache(maxsize=256)
def pluck(midi: int, layer: int, variant: int) -> F32:
    """Give a plucked string, shape (n,): Karplus and Strong's loop, its many passes written as powers of one filter."""
    hertz = frequency(midi)
    period = int(RATE / hertz)
    seconds = float(np.clip(3.6 * (220 / hertz) ** 0.5, 1.0, 4.5))
    passes = int(seconds * RATE / period)
    partial = np.arange(period // 2 + 1)
    rng = source_of_chance("pluck", midi, variant)
    burst = np.fft.rfft(rng.uniform(-1, 1, period)) * np.abs(np.sin(np.pi * partial * 0.18))
    burst *= (1 + (partial * hertz / (900, 2200, 5200)[layer]) ** 2) ** -0.6
    burst[0] = 0
    keep = 10 ** (-3 / (seconds * hertz)) * np.abs(np.cos(np.pi * partial / period)) ** (0.5 if hertz > 300 else 0.9)
    rows = np.fft.irfft(burst * keep ** np.arange(passes)[:, None], period)
    stretch = hertz * period / RATE  # the loop is a whole number of samples, the note isn't
    at = np.arange(int((rows.size - 1) / stretch)) * stretch
    return shape(_level(np.interp(at, np.arange(rows.size), rows.ravel())), 0.001, 0.2)


@lru_cache(maxsize=256)
def keys(midi: int, layer: int, variant: int) -> F32:
    """Give a struck string like a felt piano's, shape (n,): stretched partials, two strings a note, a soft knock."""
    hertz = frequency(midi)
    seconds = float(np.clip(4.5 * (220 / hertz) ** 0.4, 1.5, 5.5))
    n = round(seconds * RATE)
    rng = source_of_chance("keys", midi, variant)
    total = np.zeros(n, np.float32)
    for k in range(1, 15):
        partial = k * hertz * (1 + 0.0004 * k * k) ** 0.5
        if partial > 9000:
            break
        strength = k ** -(1.9 - 0.35 * layer) * abs(np.sin(np.pi * k * 0.13)) * (0.8 + 0.4 * rng.random())
        life = seconds / (1 + 0.28 * (k - 1))
        m = round(life * RATE)
        tone = sine(partial, m, rng.random())
        if k < 6:  # above, the second string is no more heard apart
            tone += np.float32(0.6) * sine(partial * 1.0006, m, rng.random())
        total[:m] += np.float32(strength) * tone * decay(m, life)
    knock = banded_noise(2200, 80, 900 + 900 * layer, rng) * decay(2200, 0.045)
    total[: knock.size] += np.float32(0.06) * np.abs(total).max() * knock
    return shape(_level(total), 0.003 - 0.001 * layer, 0.4)


@lru_cache(maxsize=128)
def tongue(midi: int, layer: int, variant: int) -> F32:
    """Give a wooden or metal tongue, as of a thumb piano, shape (n,): nearly a sine with a short bright start."""
    hertz = frequency(midi)
    n = round(1.6 * RATE)
    total = sine(hertz, n, 0.02 * variant) * decay(n, 1.5)
    for ratio, strength, life in ((2.0, 0.12, 0.8), (3.98, 0.20, 0.35), (6.3, 0.10, 0.14)):
        if ratio * hertz < 12_000:
            total += np.float32(strength * (0.5 + 0.5 * layer)) * sine(ratio * hertz, n) * decay(n, life)
    return shape(_level(total), 0.002, 0.3)


@lru_cache(maxsize=64)
def bowl(midi: int, layer: int, variant: int) -> F32:
    """Give a struck bowl, shape (n,): few stretched partials, each a beating pair, dying over eight seconds."""
    hertz = frequency(midi)
    n = 8 * RATE
    rng = source_of_chance("bowl", midi, variant)
    total = np.zeros(n, np.float32)
    for ratio, strength, life in ((1.0, 1.0, 8.0), (2.71, 0.35, 5.0), (5.15, 0.10 + 0.05 * layer, 3.0)):
        pair = sine(ratio * hertz, n, rng.random()) + sine(ratio * hertz + 0.5 + rng.random(), n, rng.random())
        total += np.float32(strength) * pair * decay(n, life)
    return shape(_level(total), 0.02, 1.5)


def pad(midi: int, layer: int, seconds: float, variant: int) -> F32:
    """Give a wide string-like note, shape (2, n), that swells between a dark and a brighter colour."""
    return _held("pad", midi, layer, seconds, variant, attack_s=1.4, release_s=2.4)


def choir(midi: int, layer: int, seconds: float, variant: int) -> F32:
    """Give a wide hummed note, shape (2, n), without words."""
    return _held("choir", midi, layer, seconds, variant, attack_s=1.2, release_s=2.0)


def drone(midi: int, layer: int, seconds: float, variant: int) -> F32:
    """Give a very slow, dark note, shape (2, n), as of a bellows reed far away."""
    return _held("drone", midi, layer, seconds, variant, attack_s=2.5, release_s=6.0)


def surge(midi: int, layer: int, seconds: float, variant: int) -> F32:
    """Give a bright chord note, shape (2, n), that opens up within one beat, for music that breathes with the drum."""
    n = round(seconds * RATE)
    note = _loop(_spread("surge", midi, layer), n, variant)
    note *= _opening(n)
    return shape(note, 0.004, 0.03)


@lru_cache(maxsize=16)
def _opening(n: int) -> F32:
    return _kept(np.linspace(0.05, 1, n, dtype=np.float32) ** 1.5)


def wash(midi: int, layer: int, seconds: float, variant: int) -> F32:
    """Give a wave that comes and goes on a far shore, shape (2, n): dark noise; `midi` is not used."""
    n = round(seconds * RATE)
    rng = source_of_chance("wash", midi, variant)
    two = np.stack([banded_noise(n, 60, 240 + 160 * layer, rng, 1.0) for _ in range(2)])
    two *= np.sin(np.linspace(0, np.pi, n, dtype=np.float32)) ** 2
    return two.astype(np.float32)


def bass(midi: int, layer: int, seconds: float, variant: int) -> F32:
    """Give a round bass note, shape (n,), brighter and rougher with the layer; all variants are one."""
    return _bass(midi, layer, seconds)


@lru_cache(maxsize=64)
def _bass(midi: int, layer: int, seconds: float) -> F32:
    hertz = frequency(midi)
    n = round((seconds + 0.06) * RATE)
    rolloff = (2.2, 1.5, 1.05)[layer]
    full = _wave(tuple(k**-rolloff for k in range(1, 1 + int(min(24, 5000 / hertz)))))
    soft = _wave((1.0, 0.18, 0.04))
    turns = _turns(hertz, n)
    bite = decay(n, (0.5, 0.7, 0.9)[layer])
    note = (full[turns] * bite + soft[turns] * (1 - bite)) * decay(n, 6.0)
    return shape(_level(note), 0.004, 0.05)


def lead(midi: int, layer: int, seconds: float, variant: int) -> F32:
    """Give a bright lead, shape (2, n): five sawtooth strings slightly out of tune."""
    hertz = frequency(midi)
    n = round((seconds + 0.08) * RATE)
    rolloff = (1.5, 1.15, 0.95)[layer]
    table = _wave(tuple(k**-rolloff for k in range(1, 1 + int(min(60, 15_000 / hertz)))))
    rng = source_of_chance("lead", midi, variant)
    strings = np.empty((len(_STRINGS), n), np.float32)
    for string, (cents, _) in zip(strings, _STRINGS, strict=True):
        string[:] = table[_turns(hertz * 2 ** (cents / 1200), n, rng.random())]
    left = np.array([side for _, side in _STRINGS], np.float32)
    note = np.stack([left, 1 - left]) @ strings
    note *= decay(n, 2.5)
    return shape(_level(note), 0.006, 0.07)


def pipe(midi: int, layer: int, seconds: float, variant: int) -> F32:
    """Give a breathy pipe, shape (n,), with a vibrato that comes late."""
    n = round((seconds + 0.12) * RATE)
    rng = source_of_chance("pipe", midi, variant, n)
    time = np.arange(n) / RATE
    depth = 0.006 * np.clip((time - 0.25) / 0.5, 0, 1)
    scoop = -0.02 * np.exp(-time / 0.03)
    turns = np.cumsum(frequency(midi) / RATE * (1 + scoop + depth * np.sin(2 * np.pi * (4.6 + rng.random()) * time)))
    table = _wave((1.0, 0.30 + 0.1 * layer, 0.10 + 0.05 * layer, 0.03))
    note = table[((turns % 1.0) * _CYCLE).astype(np.int32)]
    breath = banded_noise(n, 700, 3500, rng)
    return shape(_level(note + np.float32(0.05 + 0.03 * layer) * breath), 0.06, 0.12)


def _level(samples: NDArray[np.floating]) -> F32:
    peak = float(max(samples.max(), -samples.min()))
    return (samples / (peak or 1.0)).astype(np.float32, copy=False)


def _turns(hertz: float, n: int, phase: float = 0.0) -> NDArray[np.uint32]:
    step = np.uint32(round(hertz / RATE * 2**32))
    turns = _counted(n) * step
    turns += np.uint32(int(phase * 2**32))
    turns >>= np.uint32(32 - 13)
    return turns


def _counted(n: int) -> NDArray[np.uint32]:
    """0, 1, 2, ... for n samples, not to be written to."""
    return _counted_to(1 << (n - 1).bit_length())[:n]


@lru_cache(maxsize=32)
def _counted_to(n: int) -> NDArray[np.uint32]:
    return np.arange(n, dtype=np.uint32)


@lru_cache(maxsize=256)
def _wave(partials: tuple[float, ...]) -> F32:
    """One cycle of the given partials, phases spread so that the crest stays low."""
    cycle = np.arange(_CYCLE) / _CYCLE
    total = sum(a * np.sin(2 * np.pi * (k * cycle + 0.11 * k * k)) for k, a in enumerate(partials, 1))
    return _level(np.asarray(total))


def _held(name: str, midi: int, layer: int, seconds: float, variant: int, *, attack_s: float, release_s: float) -> F32:
    n = round((seconds + 0.8 * release_s) * RATE)
    note = _loop(_spread(name, midi, layer), n, variant)
    if layer:
        note *= _swell(n)
        dark = _spread(name, midi, 0)
        for here, there in _turns_of_table(n, variant):
            note[:, here] += dark[:, there]
    return shape(note, min(attack_s, 0.5 * seconds), release_s)


@lru_cache(maxsize=8)
def _swell(n: int) -> F32:
    return _kept(in_between(np.sin(np.linspace(0, np.pi, n // _COARSE + 2)) ** 2, _COARSE)[:n])


def _loop(table: F32, n: int, variant: int) -> F32:
    """Take n samples out of an endless table, from another place for each variant."""
    note = np.empty((2, n), np.float32)
    for here, there in _turns_of_table(n, variant):
        note[:, here] = table[:, there]
    return note


def _turns_of_table(n: int, variant: int) -> Iterator[tuple[slice, slice]]:
    """Which samples of a note are which of an endless table."""
    done, start = 0, variant * 77_777 % _TABLE
    while done < n:
        size = min(n - done, _TABLE - start)
        yield slice(done, done + size), slice(start, start + size)
        done, start = done + size, 0


_COLOURS = {  # rolloff of the partials by layer, spread in cents
    "pad": ((2.6, 2.1, 1.6), 9.0),
    "choir": ((1.9, 1.6, 1.3), 12.0),
    "drone": ((2.2, 1.9, 1.6), 7.0),
    "surge": ((1.4, 1.0, 0.7), 22.0),
}
_HUM = ((320.0, 90.0, 1.0), (800.0, 120.0, 0.5), (2500.0, 250.0, 0.05))  # centre Hz, width Hz, strength


@lru_cache(maxsize=128)
def _spread(name: str, midi: int, layer: int) -> F32:
    """Harmonics spread to narrow bands with random phases: two channels that repeat without a seam."""
    from scipy import fft

    rolloffs, cents = _COLOURS[name]
    hertz = frequency(midi)
    rng = source_of_chance(name, midi, layer)
    sizes = np.zeros(_TABLE // 2 + 1)
    for k in range(1, 1 + int(min(80, 14_000 / hertz))):
        strength = k ** -rolloffs[layer]
        if name == "choir":
            strength *= 0.02 + sum(s / (1 + ((k * hertz - f) / w) ** 2) for f, w, s in _HUM)
        centre = k * hertz * _TABLE / RATE
        width = max(1.0, centre * (2 ** (cents / 1200) - 1))
        low, high = int(centre - 4 * width), int(centre + 4 * width) + 1
        bins = np.arange(max(1, low), min(high, sizes.size))
        sizes[bins] += strength / width**0.5 * np.exp(-(((bins - centre) / width) ** 2))
    used = np.flatnonzero(sizes)
    angles = (2 * np.pi * rng.random((2, used.size))).astype(np.float32)
    spectrum = np.zeros((2, sizes.size), np.complex64)
    spectrum.real[:, used] = sizes[used] * np.cos(angles)
    spectrum.imag[:, used] = sizes[used] * np.sin(angles)
    return _level(fft.irfft(spectrum, _TABLE))
