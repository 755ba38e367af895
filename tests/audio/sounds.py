"""Small sounds for the tests of measures: drums, chords and noises at known times; mono, 22.05 kHz, seeded."""

from pathlib import Path

import numpy as np
import soundfile

RATE = 22_050


def written(path: Path, samples: np.ndarray, rate: int = RATE) -> Path:
    """A 24-bit wav file."""
    soundfile.write(path, samples, rate, subtype="PCM_24")
    return path


def drums(bpm: float, seconds: float, seed: int = 1, first_s: float = 0.3) -> tuple[np.ndarray, np.ndarray]:
    """Kicks on the beats, the first of four the loudest, snares on the second and fourth, hats between; the beats."""
    random = np.random.default_rng(seed)
    beats = np.arange(first_s, seconds - 0.3, 60 / bpm)
    out = np.zeros(round(seconds * RATE), np.float32)
    for number, at in enumerate(beats):
        time = np.arange(round(0.2 * RATE)) / RATE
        kick = np.sin(2 * np.pi * 60 * time) * np.exp(-time * 20) * (1.0 if number % 4 == 0 else 0.7)
        _add(out, at, kick)
        if number % 2:
            _add(out, at, 0.4 * random.standard_normal(len(time)) * np.exp(-time * 30))
        for half in (0.0, 0.5):
            _add(out, at + half * 60 / bpm, 0.08 * random.standard_normal(len(time)) * np.exp(-time * 80))
    return (0.5 * out / np.abs(out).max()).astype(np.float32), beats


def chords(notes: list[list[int]], each_s: float, seconds: float, attack_s: float = 0.02) -> np.ndarray:
    """Chords of MIDI notes one after the other, over and over, with eight harmonics each."""
    out = np.zeros(round(seconds * RATE), np.float32)
    time = np.arange(round(each_s * RATE)) / RATE
    shape = np.minimum(1, time / attack_s) * np.minimum(1, (each_s - time) / 0.05)
    for number in range(int(seconds / each_s)):
        for note in notes[number % len(notes)]:
            hertz = 440 * 2 ** ((note - 69) / 12)
            tone = sum(np.sin(2 * np.pi * hertz * h * time) / h**1.5 for h in range(1, 9))
            _add(out, number * each_s, shape * tone)
    return (0.3 * out / np.abs(out).max()).astype(np.float32)


def noise(seconds: float, kind: str, seed: int = 2) -> np.ndarray:
    """White noise, surf (sloping, swelling every few seconds) or rain (noise and many small drops)."""
    random = np.random.default_rng(seed)
    count = round(seconds * RATE)
    out = random.standard_normal(count)
    if kind in ("surf", "rain"):
        spectrum = np.fft.rfft(out)
        out = np.fft.irfft(spectrum / np.sqrt(np.maximum(1, np.arange(len(spectrum)))), count)
        out /= np.abs(out).max()
    if kind == "surf":
        swells = np.interp(np.arange(count), np.linspace(0, count, 9), random.uniform(0.2, 1, 9))
        out *= swells
    if kind == "rain":
        time = np.arange(600) / RATE
        for at in random.uniform(0, seconds - 0.1, round(seconds * 40)):
            drop = np.sin(2 * np.pi * random.uniform(1500, 6000) * time) * np.exp(-time * 300)
            _add(out, at, random.uniform(0.02, 0.3) * drop)
    return (0.3 * out / np.abs(out).max()).astype(np.float32)


def _add(out: np.ndarray, at_s: float, sound: np.ndarray) -> None:
    start = round(at_s * RATE)
    part = sound[: max(0, len(out) - start)]
    out[start : start + len(part)] += part
