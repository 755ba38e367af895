"""One short-time spectrum for every measure that needs one.

All frequency work runs on mono audio at 22.05 kHz; a frame has 1024 samples (46 ms), a hop 256 (11.6 ms). Frame k is
centred on second k * 256 / 22050 of the track. What is kept of each frame is small, so that two hours fit.
"""

import math

import numpy as np

from audio.arrays import F32, F64

RATE = 22050
FRAME = 1024
HOP = 256
FRAMES_PER_S = RATE / HOP


class MonoStream:
    """Blocks of any rate and channel count into mono blocks at `rate`: the mean of the channels, resampled."""

    def __init__(self, rate_in: int, rate: int = RATE) -> None:
        import soxr

        self._stream = soxr.ResampleStream(rate_in, rate, 1, dtype="float32") if rate_in != rate else None

    def feed(self, samples: F32) -> F32:
        """Take frames of shape (frames, channels), give what is ready, shape (n,).

        >>> MonoStream(22_050).feed(np.array([[0.0, 1.0], [0.5, 0.5]], np.float32)).tolist()
        [0.5, 0.5]
        """
        mono = samples[:, 0].copy()
        for channel in range(1, samples.shape[1]):  # adding columns is far quicker than mean(axis=1)
            mono += samples[:, channel]
        mono /= samples.shape[1]
        return self._stream.resample_chunk(mono) if self._stream else mono

    def end(self) -> F32:
        """The last samples, shape (n,); empty where nothing is resampled."""
        if self._stream is None:
            return np.zeros(0, np.float32)
        last: F32 = self._stream.resample_chunk(np.zeros(0, np.float32), last=True)
        return last


class Frames:
    """Cuts a stream into overlapping frames; half a frame of silence stands before and after it."""

    def __init__(self, length: int, hop: int) -> None:
        self._length, self._hop = length, hop
        self._rest = np.zeros(length // 2, np.float32)

    def feed(self, samples: F32) -> F32:
        """Take the next samples, shape (n,); give the whole frames, shape (frames, length), a view where possible."""
        data = np.concatenate((self._rest, samples))
        count = max(0, (len(data) - self._length) // self._hop + 1)
        self._rest = data[count * self._hop :]
        if count == 0:
            return np.zeros((0, self._length), np.float32)
        return np.lib.stride_tricks.sliding_window_view(data, self._length)[:: self._hop][:count]

    def end(self) -> F32:
        """The frames that reach into the silence after the end, shape (frames, length)."""
        return self.feed(np.zeros(self._length // 2, np.float32))


class Spectrum:
    """Magnitudes of a mono stream, frame by frame, Hann window; not scaled, a sine of amplitude 1 reads length / 4."""

    def __init__(self, length: int = FRAME, hop: int = HOP) -> None:
        from scipy.signal import get_window

        self._frames = Frames(length, hop)
        self._window = get_window("hann", length).astype(np.float32)

    def feed(self, samples: F32) -> F32:
        """Take the next samples, shape (n,); magnitudes of the whole frames, shape (frames, length // 2 + 1)."""
        return self._magnitudes(self._frames.feed(samples))

    def end(self) -> F32:
        """Magnitudes of the last frames, shape (frames, length // 2 + 1)."""
        return self._magnitudes(self._frames.end())

    def _magnitudes(self, frames: F32) -> F32:
        from scipy.fft import rfft

        return np.abs(rfft(frames * self._window, axis=1))


def mel_weights(rate: float, length: int, bands: int, low_hz: float = 0.0) -> F32:
    """Triangular filters on Slaney's mel scale, each of area 1 in Hz, shape (length // 2 + 1, bands).

    M. Slaney, "Auditory Toolbox", Technical Report 1998-010, Interval Research, 1998: linear below 1 kHz, 200/3 Hz a
    mel, logarithmic above, 27 mels a factor of 6.4.

    Args:
        rate: samples a second.
        length: samples of a frame, as of `Spectrum`.
        bands: number of filters, their edges evenly spaced in mels from `low_hz` to half the rate.
    """
    edges = _hertz(np.linspace(_mels(low_hz), _mels(rate / 2), bands + 2))
    hertz = np.fft.rfftfreq(length, 1 / rate)[:, None]
    low, middle, high = edges[:-2], edges[1:-1], edges[2:]
    rise, fall = (hertz - low) / (middle - low), (high - hertz) / (high - middle)
    weights = np.maximum(0.0, np.minimum(rise, fall)) * 2 / (high - low)
    return np.ascontiguousarray(weights, np.float32)


def _mels(hertz: float) -> float:
    return hertz * 3 / 200 if hertz < 1000 else 15 + 27 * math.log(hertz / 1000) / math.log(6.4)


def _hertz(mels: F64) -> F64:
    return np.where(mels < 15, mels * 200 / 3, 1000 * np.exp((mels - 15) * math.log(6.4) / 27))
