"""A published network that hears 50 tags ("slow", "drums", "female vocal") in 3 s of music, run with numpy alone.

J. Pons, X. Serra, "musicnn: pre-trained convolutional neural networks for music audio tagging", 2019; the weights are
those of musicnn 0.1.0, model MTT, under the ISC licence that stands in tagging_weights.LICENSE. The terms of the music
they were trained on are unresolved, so the weights are one file that can be replaced.

The network sees 96 mel bands of power at 16 kHz, 62.5 frames a second, as log10(10000 x + 1), 187 frames at once.
"""

import functools
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from audio.arrays import F32
from audio.measure.spectrum import RATE, mel_weights
from audio.measure.windows import Windows

# fmt: off
TAGS = (
    "guitar", "classical", "slow", "techno", "strings", "drums", "electronic", "rock", "fast", "piano",
    "ambient", "beat", "violin", "vocal", "synth", "female", "indian", "opera", "male", "singing", "vocals",
    "no vocals", "harpsichord", "loud", "quiet", "flute", "woman", "male vocal", "no vocal", "pop", "soft",
    "sitar", "solo", "man", "classic", "choir", "voice", "new age", "dance", "male voice", "female vocal",
    "beats", "harp", "cello", "no voice", "weird", "country", "metal", "female voice", "choral",
)
# fmt: on
_FIRST = ("timbral_0", "timbral_1", "temporal_0", "temporal_1", "temporal_2")
WINDOW_FRAMES = 187
_RATE, _FRAME, _HOP, _BANDS = 16000, 512, 256, 96
_WINDOW_SAMPLES = 66_300  # at 22.05 kHz: 3.007 s, enough for 187 frames at 16 kHz
_FLOOR = 1e-9  # of mel power: 50 dB below where the network begins to hear
_CHUNK = 32  # frames convolved at once: what they need stays in the processor's cache
# The first filters are worked out on every second frame and every second band only, at a third of the cost; the heads
# of voice and energy are fitted to what comes out of that. docs/analysis-benchmarks.md has the differences.
_STRIDE = 2


class TagWindows:
    """Cuts windows of 3 s out of the mono stream at 22.05 kHz, one every `every_s`, and keeps the logarithm of their
    mel power in half precision, so that hours fit."""

    def __init__(self, every_s: float) -> None:
        self._windows = Windows(every_s, _WINDOW_SAMPLES)
        self._mel = mel_weights(_RATE, _FRAME, _BANDS)
        self.middles_s: list[float] = []
        self.windows: list[NDArray[np.float16]] = []

    def feed(self, samples: F32) -> None:
        """Take the next samples, shape (n,), full scale 1.0; each whole window joins `windows`, shape (187, 96)."""
        for middle_s, window in self._windows.feed(samples):
            self._keep(middle_s, window)

    def end(self) -> None:
        """A track shorter than a window gives one window with silence after it."""
        for middle_s, window in self._windows.end():
            self._keep(middle_s, window)

    def _keep(self, middle_s: float, samples: F32) -> None:
        import soxr
        from scipy.fft import rfft

        sound = soxr.resample(samples, RATE, _RATE)
        frames = np.lib.stride_tricks.sliding_window_view(np.pad(sound, _FRAME // 2), _FRAME)[::_HOP][:WINDOW_FRAMES]
        power = np.square(np.abs(rfft(frames * np.hanning(_FRAME + 1)[:-1].astype(np.float32), axis=1)))
        self.windows.append(np.log10(power @ self._mel + _FLOOR).astype(np.float16))
        self.middles_s.append(middle_s)


def tag_odds(windows: Sequence[NDArray[np.float16]], gain: float = 1.0) -> F32:
    """Log odds of the tags, shape (windows, 50), in the order of `TAGS`.

    Args:
        windows: log10 of mel power as `TagWindows` keeps it, each of shape (187, 96).
        gain: factor on the power, so that all tracks are heard at one loudness.
    """
    factor = np.float32(10000 * gain)
    power = (10 ** window.astype(np.float32) for window in windows)
    return np.stack([_forward(_weights(), np.log10(factor * one + 1)) for one in power])


@functools.cache
def _weights() -> dict[str, F32]:
    with np.load(Path(__file__).with_name("tagging_weights.npz")) as file:
        return {name: file[name].astype(np.float32) for name in file.files}


def _forward(net: dict[str, F32], levels: F32) -> F32:
    levels = levels * net["input/factor"] + net["input/offset"]
    layer = np.concatenate([_first(net, name, levels) for name in _FIRST], axis=1)
    layers = [layer]
    for number in range(3):
        new = _middle(net, f"middle_{number}", layers[-1])
        layers.append(new if number == 0 else new + layers[-1])
    whole = np.concatenate(layers, axis=1)
    pooled: F32 = np.stack([whole.max(axis=0), whole.mean(axis=0)], axis=1).ravel()
    pooled = pooled * net["pooled/factor"] + net["pooled/offset"]
    hidden = np.maximum(pooled @ net["dense/kernel"] + net["dense/bias"], 0)
    hidden = hidden * net["dense/factor"] + net["dense/offset"]
    odds: F32 = (hidden @ net["output/kernel"] + net["output/bias"]).astype(np.float32)
    return odds


def _first(net: dict[str, F32], name: str, levels: F32) -> F32:
    # Filters of 7 frames by some 40 or 70 % of the bands, or of up to 2 s on one band; then the largest value over the
    # bands after the normalisation. Where its factor is negative, that is the least value before it: the largest of
    # what the kernel with its sign turned gives.
    kernel, factor = net[f"{name}/kernel"], net[f"{name}/factor"]
    frames, bands, channels = kernel.shape
    padded = np.pad(levels, (((frames - 1) // 2, frames // 2), (0, 0)))
    windows = np.lib.stride_tricks.sliding_window_view(padded, (frames, bands))[::_STRIDE, ::_STRIDE]
    sign = np.where(factor < 0, np.float32(-1), np.float32(1))
    table = kernel.reshape(-1, channels) * sign
    best = []
    for start in range(0, len(windows), _CHUNK):
        part = windows[start : start + _CHUNK]
        values = (part.reshape(-1, frames * bands) @ table).reshape(*part.shape[:2], channels)
        best.append(values.max(axis=1))
    out = np.maximum(np.concatenate(best) * sign + net[f"{name}/bias"], 0) * factor + net[f"{name}/offset"]
    every_frame: F32 = np.repeat(out, _STRIDE, axis=0)[: len(levels)]
    return every_frame


def _middle(net: dict[str, F32], name: str, layer: F32) -> F32:
    kernel = net[f"{name}/kernel"]
    frames, width, channels = kernel.shape
    padded = np.pad(layer, ((frames // 2, frames // 2), (0, 0)))
    windows = np.lib.stride_tricks.sliding_window_view(padded, frames, axis=0)
    values = windows.reshape(len(layer), width * frames) @ kernel.transpose(1, 0, 2).reshape(-1, channels)
    out: F32 = np.maximum(values + net[f"{name}/bias"], 0) * net[f"{name}/factor"] + net[f"{name}/offset"]
    return out
