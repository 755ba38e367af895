"""One recording as a stream of stereo samples at the mix's rate, from a given second on."""

from collections.abc import Generator, Iterator
from pathlib import Path
from types import TracebackType
from typing import Self

import numpy as np

from audio.arrays import F32
from audio.files.decode import Block, Decoder

# ITU-R BS.775-3, annex 4: centre and surrounds 3 dB down into left and right, the low-frequency channel left out
DOWNMIX = {
    "FL": (1.0, 0.0),
    "FR": (0.0, 1.0),
    "FC": (0.7071, 0.7071),
    "SL": (0.7071, 0.0),
    "SR": (0.0, 0.7071),
    "BL": (0.7071, 0.0),
    "BR": (0.0, 0.7071),
    "BC": (0.5, 0.5),
    "LFE": (0.0, 0.0),
}


class Source:
    """Read a recording in pieces of any length; silence after its end.

    Args:
        path: the file.
        start_s: second of the recording at which to begin.
        rate: samples a second wanted.
        leap: reach `start_s` by the file's index, without decoding what lies before: quick, for hearing; what is
            written is reached sample by sample.
    Raises:
        AudioError: the file can't be read as audio.
    """

    def __init__(self, path: Path, start_s: float, rate: int, *, leap: bool = False) -> None:
        self._decoder = Decoder(path)
        self._start_s = start_s
        self._rate = rate
        self._leap = leap
        self._waiting: list[F32] = []
        self._frames_waiting = 0

    def __enter__(self) -> Self:
        self._decoder.__enter__()
        self._pieces = self._resampled()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._pieces.close()
        self._decoder.__exit__(kind, error, trace)

    def read(self, frames: int) -> F32:
        """The next frames of the recording; silence behind its end.

        Args:
            frames: how many.
        Returns:
            shape (frames, 2), full scale 1.0.
        Raises:
            AudioError: the file can't be read on.
        """
        while self._frames_waiting < frames or not self._waiting:
            piece = next(self._pieces, None)
            if piece is None:
                piece = np.zeros((frames - self._frames_waiting, 2), np.float32)
            self._waiting.append(piece)
            self._frames_waiting += len(piece)
        joined = self._waiting[0] if len(self._waiting) == 1 else np.concatenate(self._waiting)
        self._waiting = [joined[frames:]]
        self._frames_waiting = len(joined) - frames
        return joined[:frames]

    def blocks(self) -> Iterator[F32]:
        """All that is left of the recording, piece by piece as it comes, shape (frames, 2) each, full scale 1.0.

        Raises:
            AudioError: the file can't be read on.
        """
        left, self._waiting, self._frames_waiting = self._waiting, [], 0
        yield from left
        yield from self._pieces

    def _resampled(self) -> Generator[F32, None, None]:
        from soxr import ResampleStream

        stream: ResampleStream | None = None
        reach = self._decoder.blocks_near if self._leap else self._decoder.blocks
        for block in reach(self._start_s):
            samples = self._stereo(block)
            if block.rate == self._rate:
                yield samples
                continue
            stream = stream or ResampleStream(block.rate, self._rate, 2, dtype="float32")
            yield stream.resample_chunk(samples)
        if stream is not None:
            yield stream.resample_chunk(np.zeros((0, 2), np.float32), last=True)

    def _stereo(self, block: Block) -> F32:
        samples = block.samples
        if samples.shape[1] == 2:
            return samples
        if samples.shape[1] == 1:
            return np.repeat(samples, 2, axis=1)
        layout = self._decoder.layout
        matrix = np.array([DOWNMIX.get(name, (0.5, 0.5)) for name in layout], np.float32)
        return np.asarray(samples @ matrix, np.float32)
