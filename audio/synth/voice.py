"""A sung-like voice without words: harmonics of a gliding pitch, weighted by the resonances of changing vowels.

Source: formant frequencies of women's and men's vowels after G. Peterson, H. Barney, "Control methods used in a study
of the vowels", JASA 24(2), 1952, table II; resonances in a row as in D. Klatt, "Software for a cascade/parallel formant
synthesizer", JASA 67(3), 1980 (both from memory). Widths, glides, consonants and vibrato are editorial.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from audio.arrays import F32, F64
from audio.synth.instruments import RATE, banded_noise, in_between, shape, source_of_chance

# Hz of the first three resonances.
_WOMAN = {
    "a": (850, 1220, 2810),
    "e": (610, 2330, 2990),
    "i": (310, 2790, 3310),
    "o": (590, 920, 2710),
    "u": (370, 950, 2670),
}
_MAN = {
    "a": (730, 1090, 2440),
    "e": (530, 1840, 2480),
    "i": (270, 2290, 3010),
    "o": (570, 840, 2410),
    "u": (300, 870, 2240),
}
_UPPER = (3600, 4700)  # Hz: two resonances that hardly move and give a sung voice its ring
_WIDTHS = (70.0, 90.0, 120.0, 180.0, 250.0)  # Hz
_CLOSED_S = 0.05  # before a hard consonant
_CONSONANTS = (  # noise from Hz to Hz, for seconds, how loud: like s, sh, t, k, h, none
    (5000, 9000, 0.11, 0.22),
    (2200, 6000, 0.12, 0.20),
    (3000, 8000, 0.025, 0.25),
    (1200, 3500, 0.030, 0.25),
    (800, 4000, 0.090, 0.10),
    (800, 4000, 0.010, 0.00),
)
_STEP = 220  # samples a control value, 5 ms
_IN_CACHE = 32  # control values worked on at once
_LOW_VOICE = 57  # below this average pitch the shorter resonances of a man's tract are used


@dataclass(frozen=True, slots=True)
class Syllable:
    """One sung note: where in the phrase it starts, how long it is, its pitch and its vowel."""

    offset_s: float
    seconds: float
    midi: int  # 69 = 440 Hz
    vowel: str  # one of a, e, i, o, u


def sing(line: tuple[Syllable, ...], variant: int) -> F32:
    """Sing a phrase in one breath; shape (n,), peak 1.

    Notes glide into one another; a soft closing of the mouth parts the syllables.
    """
    rng = source_of_chance("sing", line, variant)
    end_s = line[-1].offset_s + line[-1].seconds + 0.25
    control = np.arange(0, end_s, _STEP / RATE)
    hertz = 440 * 2 ** ((_pitch(line, control, rng) - 69) / 12)
    opening = _opening(line, control, rng)
    sizes = _harmonics(hertz, _formants(line, control)) * opening
    n = (control.size - 1) * _STEP
    turns = np.cumsum(in_between(hertz, _STEP), dtype=np.float64) / RATE % 1.0
    total = _added_up(sizes, (turns * 2 * np.pi).astype(np.float32))
    breath = banded_noise(n, 1500, 6000, rng) * in_between(opening, _STEP)
    total += np.abs(total).max() * (np.float32(0.04) * breath + _consonants(line, n, rng))
    return shape((total / np.abs(total).max()).astype(np.float32), 0.03, 0.12)


def _added_up(sizes: F64, phase: F32) -> F32:
    """Sum of sines of the multiples of a phase, shape (n,), each of a size that changes in straight lines.

    Args:
        sizes: shape (harmonics, control values).
        phase: of the first, in radians, shape (n,).
    """
    steps = phase.reshape(-1, 1, _STEP)
    multiples = np.arange(1, len(sizes) + 1, dtype=np.float32)[:, None]
    lines = np.stack([sizes[:, :-1].T, np.diff(sizes).T], axis=1).astype(np.float32)  # where each begins, and its slope
    along = np.arange(_STEP, dtype=np.float32) / _STEP
    total = np.empty((len(steps), _STEP), np.float32)
    for first in range(0, len(steps), _IN_CACHE):
        piece = slice(first, first + _IN_CACHE)
        flat, sloping = np.moveaxis(lines[piece] @ np.sin(multiples * steps[piece]), 1, 0)
        total[piece] = flat + sloping * along
    return total.ravel()


def _smooth(values: F64, seconds: float) -> F64:
    half = max(1, round(seconds * RATE / _STEP))
    window = np.hanning(2 * half + 3)
    padded = np.pad(values, half + 1, mode="edge")
    return np.convolve(padded, window / window.sum(), "valid")


def _which(line: tuple[Syllable, ...], control: F64) -> NDArray[np.intp]:
    return np.searchsorted([s.offset_s for s in line], control, side="right").clip(1) - 1


def _pitch(line: tuple[Syllable, ...], control: F64, rng: np.random.Generator) -> F64:
    now = _which(line, control)
    steps = np.array([s.midi for s in line], float)[now]
    since = control - np.array([s.offset_s for s in line])[now]
    vibrato = 0.3 * np.clip((since - 0.35) / 0.5, 0, 1) * np.sin(2 * np.pi * (5.2 + 0.3 * rng.random()) * control)
    drift = _smooth(rng.standard_normal(control.size), 0.12) * 0.9 + 0.03 * rng.standard_normal(control.size)
    return np.asarray(_smooth(steps, 0.06) - 0.9 * np.exp(-since / 0.05) + vibrato + drift)


def _opening(line: tuple[Syllable, ...], control: F64, rng: np.random.Generator) -> F64:
    """How far the mouth lets the voice out: 0 before hard consonants, a little in soft ones, 1 in vowels."""
    loud = np.zeros(control.size)
    for syllable in line:
        inside = (control >= syllable.offset_s) & (control < syllable.offset_s + syllable.seconds)
        along = control[inside] - syllable.offset_s
        start = rng.choice([0.0, 0.25])
        loud[inside] = np.clip(start + along / 0.06, 0, 1) * (1 - 0.35 * along / syllable.seconds)
        closed = (control >= syllable.offset_s - _CLOSED_S) & (control < syllable.offset_s)
        loud[closed] *= start
    return _smooth(loud, 0.015)


def _formants(line: tuple[Syllable, ...], control: F64) -> F64:
    tract = _MAN if np.mean([s.midi for s in line]) < _LOW_VOICE else _WOMAN
    steps = np.array([(*tract[s.vowel], *_UPPER) for s in line], float)[_which(line, control)]
    return np.stack([_smooth(row, 0.05) for row in steps.T])


def _harmonics(hertz: F64, formants: F64) -> F64:
    """Sizes of the harmonics behind resonances in a row, shape (harmonics, control values)."""
    k = np.arange(1, 1 + int(6500 / hertz.min()))[:, None]
    tone = k * hertz
    size = k**-0.9 * (tone < 9000)
    for centre, width in zip(formants, _WIDTHS, strict=True):
        size /= np.sqrt((1 - (tone / centre) ** 2) ** 2 + (tone * 1.1 * width / centre**2) ** 2)
    return np.asarray(size)


def _consonants(line: tuple[Syllable, ...], n: int, rng: np.random.Generator) -> F32:
    total = np.zeros(n, np.float32)
    for syllable in line:
        low, high, seconds, loud = _CONSONANTS[int(rng.integers(len(_CONSONANTS)))]
        m = round(seconds * RATE)
        start = max(0, round(syllable.offset_s * RATE) - m + round(0.01 * RATE))
        if start + m < n:
            total[start : start + m] += np.float32(loud) * banded_noise(m, low, high, rng) * _puff(m)
    return total


def _puff(n: int) -> F32:
    return np.sin(np.linspace(0, 3.14, n, dtype=np.float32)) ** np.float32(0.7)
