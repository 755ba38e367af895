"""Mixes put together at random out of music that is hard on encoders: for the tests and the endurance run."""

from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from audio.render.bell import bell_at
from audio.render.master import Mix
from audio.render.mixer import MIX_RATE, Sound
from audio.render.span import Level, Span

RATES = (22_050, 44_100, 48_000)


def random_mix(folder: Path, seed: int) -> Mix:
    """Three or four tracks of 1 to 2.5 s that overlap, with levels from far too loud to soft, and sometimes a bell."""
    rng = np.random.default_rng(seed)
    spans, at = [], 0.0
    for number in range(int(rng.integers(3, 5))):
        length = float(rng.uniform(1, 2.5))
        rate = int(rng.choice(RATES))
        path = folder / f"track-{seed}-{number}.wav"
        soundfile.write(path, _music(rng, length + 1, rate), rate, subtype="FLOAT")
        fade = float(rng.uniform(0.0, 0.5))
        gain = Level(at, float(rng.uniform(-18, 6)))
        spans.append(Span(path, at, at + length, float(rng.uniform(0, 0.5)), fade, fade, (gain,)))
        at += length - (float(rng.uniform(0, 0.45)) if rng.random() < 0.8 else -0.5)
    end = float(spans[-1].mix_end_s)
    bells = (Sound(end / 2, bell_at(-12.0, MIX_RATE)),) if rng.random() < 0.5 else ()
    return Mix(tuple(spans), end, bells)


def _music(rng: np.random.Generator, seconds: float, rate: int) -> NDArray[np.float64]:
    """Drums, squared-off basses, noise or chords at full scale: what encoders overshoot on."""
    time = np.arange(round(seconds * rate)) / rate
    kind = rng.integers(4)
    pulse = np.exp(-((time * rng.uniform(1, 4)) % 1.0) * 9)
    if kind == 0:
        mono = pulse * rng.standard_normal(len(time)) + 0.5 * np.sign(np.sin(2 * np.pi * rng.uniform(40, 160) * time))
    elif kind == 1:
        mono = rng.standard_normal(len(time))
    elif kind == 2:
        mono = sum(np.sin(2 * np.pi * hertz * time) for hertz in rng.uniform(80, 9000, 6)) / 2
    else:
        mono = np.sign(np.sin(2 * np.pi * rng.uniform(2000, 7000) * time)) * pulse
    side = 0.3 * rng.standard_normal(len(time)) * pulse
    return np.clip(np.stack([mono + side, mono - side], axis=1), -1, 1)
