"""Windows of a stream: one of some seconds every so many seconds."""

from collections.abc import Iterator

import numpy as np

from audio.arrays import F32
from audio.measure.spectrum import RATE


class Windows:
    """Cuts windows out of the mono stream at 22.05 kHz, each in the middle of its stretch of the track.

    Args:
        every_s: seconds from one window to the next.
        samples: length of a window.
    """

    def __init__(self, every_s: float, samples: int) -> None:
        self._every, self._length = round(every_s * RATE), samples
        self._next = max(0, (self._every - samples) // 2)
        self._seen = 0
        self._held = np.zeros(0, np.float32)
        self.count = 0

    def feed(self, samples: F32) -> Iterator[tuple[float, F32]]:
        """Take the next samples, shape (n,).

        Yields:
            each window that is whole: its middle in seconds, and its samples, shape (length,).
        """
        self._held = np.concatenate((self._held, samples))
        self._seen += len(samples)
        while self._next + self._length <= self._seen:
            start = self._next - (self._seen - len(self._held))
            yield self._given(self._held[start : start + self._length])
            self._next += self._every
        surplus = self._next - (self._seen - len(self._held))
        self._held = self._held[max(0, min(surplus, len(self._held))) :]

    def end(self) -> Iterator[tuple[float, F32]]:
        """A track shorter than a window gives one window with silence after it; its samples have shape (length,)."""
        if not self.count:
            yield self._given(np.pad(self._held, (0, self._length))[: self._length])

    def _given(self, samples: F32) -> tuple[float, F32]:
        self.count += 1
        return (self._next + self._length / 2) / RATE, samples
