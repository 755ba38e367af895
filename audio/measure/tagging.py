"""A published network that hears 50 tags ("slow", "drums", "female vocal") in 3 s of music, run with numpy alone.

J. Pons, X. Serra, "musicnn: pre-trained convolutional neural networks for music audio tagging", 2019; the weights are
those of musicnn 0.1.0, model MTT, under the ISC licence that stands in tagging_weights.LICENSE. The terms of the music
they were trained on are unresolved, so the weights are one file that can be replaced.

The network sees 96 mel bands of power at 16 kHz, 62.5 frames a second, as log10(10000 x + 1), 187 frames at once.
"""

import functools
from pathlib import Path

import numpy as np

from audio.measure.spectrum import RATE, Samples, mel_weights

# fmt: off
TAGS = (
    "guitar", "classical", "slow", "techno", "strings", "drums", "electronic", "rock", "fast", "piano",
    "ambient", "beat", "violin", "vocal", "synth", "female", "indian", "opera", "male", "singing", "vocals",
    "no vocals", "harpsichord", "loud", "quiet", "flute", "woman", "male vocal", "no vocal", "pop", "soft",
    "sitar", "solo", "man", "classic", "choir", "voice", "new age", "dance", "male voice", "female vocal",
    "beats", "harp", "cello", "no voice", "weird", "country", "metal", "female voice", "choral",
)
# fmt: on
WINDOW_FRAMES = 187
_RATE, _FRAME, _HOP, _BANDS = 16000, 512, 256, 96
_WINDOW_SAMPLES = 66_300  # at 22.05 kHz: 3.007 s, enough for 187 frames at 16 kHz
_BATCH = 8


class TagWindows:
    """Cuts windows of 3 s out of the mono stream at 22.05 kHz, one every `every_s`, and keeps their mel power."""

    def __init__(self, every_s: float) -> None:
        self._every = round(every_s * RATE)
        self._next = max(0, (self._every - _WINDOW_SAMPLES) // 2)
        self._seen = 0
        self._held = np.zeros(0, np.float32)
        self._mel = mel_weights(_RATE, _FRAME, _BANDS)
        self.middles_s: list[float] = []
        self.windows: list[Samples] = []

    def feed(self, samples: Samples) -> None:
        """Take the next samples."""
        self._held = np.concatenate((self._held, samples))
        self._seen += len(samples)
        while self._next + _WINDOW_SAMPLES <= self._seen:
            start = self._next - (self._seen - len(self._held))
            self._keep(self._held[start : start + _WINDOW_SAMPLES])
            self._next += self._every
        surplus = self._next - (self._seen - len(self._held))
        self._held = self._held[max(0, min(surplus, len(self._held))) :]

    def end(self) -> None:
        """A track shorter than a window gives one window with silence after it."""
        if not self.windows:
            self._keep(np.pad(self._held, (0, _WINDOW_SAMPLES))[:_WINDOW_SAMPLES])

    def _keep(self, samples: Samples) -> None:
        import soxr
        from scipy.fft import rfft

        sound = soxr.resample(samples, RATE, _RATE)
        frames = np.lib.stride_tricks.sliding_window_view(np.pad(sound, _FRAME // 2), _FRAME)[::_HOP][:WINDOW_FRAMES]
        power = np.square(np.abs(rfft(frames * np.hanning(_FRAME + 1)[:-1].astype(np.float32), axis=1)))
        self.windows.append(power @ self._mel)
        self.middles_s.append((self._next + _WINDOW_SAMPLES / 2) / RATE)


def tag_odds(windows: Samples, gain: float = 1.0) -> Samples:
    """Log odds of the tags, shape (windows, 50).

    Args:
        windows: mel power as `TagWindows` keeps it, shape (windows, 187, 96).
        gain: factor on the power, so that all tracks are heard at one loudness.
    """
    network = _weights()
    levels = np.log10(10000 * gain * windows + 1)
    batches = [_forward(network, levels[at : at + _BATCH]) for at in range(0, len(levels), _BATCH)]
    return np.concatenate(batches)


@functools.cache
def _weights() -> dict[str, Samples]:
    with np.load(Path(__file__).with_name("tagging_weights.npz")) as file:
        return {name: file[name].astype(np.float32) for name in file.files}


def _forward(net: dict[str, Samples], levels: Samples) -> Samples:
    levels = levels * net["input/factor"] + net["input/offset"]
    parts = [_timbral(net, f"timbral_{i}", levels) for i in range(2)]
    parts += [_temporal(net, f"temporal_{i}", levels) for i in range(3)]
    layer = np.concatenate(parts, axis=2)
    layers = [layer]
    for number in range(3):
        new = _middle(net, f"middle_{number}", layers[-1])
        layers.append(new if number == 0 else new + layers[-1])
    whole = np.concatenate(layers, axis=2)
    pooled = np.stack([whole.max(axis=1), whole.mean(axis=1)], axis=2).reshape(len(whole), -1)
    pooled = pooled * net["pooled/factor"] + net["pooled/offset"]
    hidden = np.maximum(pooled @ net["dense/kernel"] + net["dense/bias"], 0)
    hidden = hidden * net["dense/factor"] + net["dense/offset"]
    return hidden @ net["output/kernel"] + net["output/bias"]


def _timbral(net: dict[str, Samples], name: str, levels: Samples) -> Samples:
    # Filters of 7 frames by some 40 or 70 % of the bands, then the largest value over the bands.
    kernel = net[f"{name}/kernel"]
    frames, bands, channels = kernel.shape
    padded = np.pad(levels, ((0, 0), (frames // 2, frames // 2), (0, 0)))
    windows = np.lib.stride_tricks.sliding_window_view(padded, (frames, bands), axis=(1, 2))
    values = windows.reshape(-1, frames * bands) @ kernel.reshape(-1, channels)
    return _strongest(net, name, values.reshape(*windows.shape[:3], channels))


def _temporal(net: dict[str, Samples], name: str, levels: Samples) -> Samples:
    # Filters of up to 2 s on one band, then the largest value over the bands.
    kernel = net[f"{name}/kernel"][:, 0]
    frames, channels = kernel.shape
    padded = np.pad(levels, ((0, 0), ((frames - 1) // 2, frames // 2), (0, 0)))
    windows = np.lib.stride_tricks.sliding_window_view(padded, frames, axis=1)
    values = windows.reshape(-1, frames) @ kernel
    return _strongest(net, name, values.reshape(*windows.shape[:3], channels))


def _strongest(net: dict[str, Samples], name: str, values: Samples) -> Samples:
    # The largest after the normalisation, whose factor may be negative: then it is the least before it.
    factor = net[f"{name}/factor"]
    best = np.where(factor > 0, values.max(axis=2), values.min(axis=2))
    return np.maximum(best + net[f"{name}/bias"], 0) * factor + net[f"{name}/offset"]


def _middle(net: dict[str, Samples], name: str, layer: Samples) -> Samples:
    kernel = net[f"{name}/kernel"]
    frames, width, channels = kernel.shape
    padded = np.pad(layer, ((0, 0), (frames // 2, frames // 2), (0, 0)))
    windows = np.lib.stride_tricks.sliding_window_view(padded, frames, axis=1)
    values = windows.reshape(*layer.shape[:2], width * frames) @ kernel.transpose(1, 0, 2).reshape(-1, channels)
    return np.maximum(values + net[f"{name}/bias"], 0) * net[f"{name}/factor"] + net[f"{name}/offset"]
