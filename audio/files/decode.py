"""Any audio file into blocks of samples, in one streaming pass.

Samples are float32, shape (frames, channels), full scale +-1, channels in the file's own order. Time is counted in
decoded samples from the first one on (encoder delay that the file states is already taken off), never read from
headers, so that the same second is the same sample however it is reached; only `Decoder.blocks_near` trusts the
file's index and time stamps.
"""

import itertools
import time
from collections.abc import Iterable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self, cast

import numpy as np
from numpy.typing import NDArray

from audio.arrays import F32
from audio.errors import AudioError
from audio.files import watchdog
from audio.files.channels import to_layout, usual_layout
from audio.files.container import (
    Extent,
    decoder_errors,
    is_sound,
    opened,
    parts_of,
    refuse_slow_disk,
    refuse_too_long,
)
from audio.files.faults import LOUDEST, Faults
from audio.files.lengths import packet_length, stated_length
from audio.files.presence import NotThereError, refuse_unreadable
from audio.text import shown

if TYPE_CHECKING:
    import av
    import av.container
    import soxr

BLOCK_S = 1.0  # about
LEAD_S = 2.0  # decoded and dropped after a leap: codecs need what came before (80 ms in Opus, RFC 7845, section 4.6)
_LONGEST_FRAME = 1 << 16  # FLAC's, in samples; longer than any padding
_PATIENCE_S = 8.0  # editorial: CPU time without one decoded frame; with opening well below 20 s a file

# Full scale of FFmpeg's integer sample formats; u8 has its zero at 128.
_FULL_SCALE = {"u8": 2.0**7, "s16": 2.0**15, "s32": 2.0**31, "s64": 2.0**63}

Decoded = tuple[F32, int, tuple[str, ...]]  # samples, rate, layout


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """Some samples in a row: float32, shape (frames, channels), and the second at which the first one stands."""

    samples: F32
    rate: int  # Hz
    start_s: float


class Decoder:
    """Decodes the first audio stream of one file; the file is only read.

    Rate, channels and layout are those of the first decoded frame; what changes midway is brought to them.

    Attributes:
        rate: samples a second. channels: how many. layout: their names ("FL", "FR", "FC", "LFE", "BL", ...).
        duration_s: length of what was decoded, once `blocks` has come to its end.
        notes: what was odd about the file, a line each, once `blocks` has come to its end.

    Raises (on entering):
        AudioError: nothing is there to read, or it isn't sound that this program can decode; the message says which.

    >>> import soundfile
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     soundfile.write(Path(folder, "tide.flac"), np.full((66_150, 2), 0.25), 44_100)
    ...     with Decoder(Path(folder, "tide.flac")) as decoder:
    ...         blocks = [block.samples for block in decoder.blocks()]
    ...     decoder.rate, decoder.layout, decoder.duration_s, float(np.concatenate(blocks).max())
    (44100, ('FL', 'FR'), 1.5, 0.25)
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.rate = 0
        self.layout: tuple[str, ...] = ()
        self.duration_s = 0.0
        self._faults = Faults()
        self._stack = ExitStack()
        self._chunks: Iterator[Decoded] | None = None
        self._file: tuple[av.container.InputContainer, av.AudioStream] | None = (
            None  # to leap in; None for several parts
        )
        self._first_s: float | None = None  # time stamp of the first sample

    def __enter__(self) -> Self:
        try:
            with watchdog.watched():
                self._start()
        except BaseException:
            self._stack.close()
            raise
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._stack.close()

    @property
    def channels(self) -> int:
        """Number of channels."""
        return len(self.layout)

    @property
    def notes(self) -> tuple[str, ...]:
        """What was odd about the file, one line each."""
        return self._faults.notes(self.duration_s)

    def blocks(self, start_s: float = 0.0, end_s: float | None = None) -> Iterator[Block]:
        """Decode from `start_s` to before `end_s` (None: the end of the file), in blocks of about a second.

        The samples are those that decoding the whole file gives at that place, to the last bit: it is decoded from
        its beginning and what lies before is dropped (about 2 to 10 s of CPU an hour of music).

        Raises: AudioError if nothing can be decoded.
        """
        if self._chunks is None:  # a second pass
            self._start()
        chunks, self._chunks = self._chunks, None
        assert chunks is not None
        yield from self._cut(chunks, 0, start_s, end_s)

    def blocks_near(self, start_s: float) -> Iterator[Block]:
        """Decode from `start_s` to the end without decoding all that lies before.

        The file's index leads to a place shortly before, and a time stamp says which one. In sound files of the usual
        kinds the samples are those of `blocks`; where time stamps are coarse or a file is damaged they may lie beside
        by some ms or more: good for hearing, not for writing.

        Raises: AudioError if nothing can be decoded.
        """
        chunks, at_s = self._leapt(start_s - LEAD_S) if start_s > 2 * LEAD_S else (None, 0.0)
        if chunks is None or at_s > start_s:
            yield from self.blocks(start_s)
        else:
            yield from self._cut(chunks, round(at_s * self.rate), start_s, None)

    def _leapt(self, to_s: float) -> tuple[Iterator[Decoded] | None, float]:
        """What comes from about `to_s` on, and the second at which it begins; None where the file can't tell."""
        self._chunks = None
        if self._file is None or self._first_s is None:
            return None, 0.0
        container, stream = self._file
        if not stream.time_base:
            return None, 0.0
        tick = float(stream.time_base)
        try:
            container.seek(round((self._first_s + to_s) / tick), stream=stream)
        except decoder_errors():
            return None, 0.0
        frames = _frames(container, stream, Faults())
        first = next(frames, None)
        if first is None or first[0].pts is None or first[0].pts * tick < self._first_s:
            return None, 0.0
        at_s = first[0].pts * tick - self._first_s
        return _decoded(itertools.chain([first], frames)), at_s

    def _cut(self, chunks: Iterator[Decoded], at: int, start_s: float, end_s: float | None) -> Iterator[Block]:
        """The wanted part of chunks of which the first begins at sample `at`."""
        first = round(start_s * self.rate)
        last = None if end_s is None else round(end_s * self.rate)
        for samples in watchdog.watching(self._uniform(chunks)):
            stop = at + len(samples)
            self.duration_s = stop / self.rate
            wanted = samples[max(0, first - at) : None if last is None else max(0, last - at)]
            if len(wanted):
                yield Block(wanted, self.rate, max(first, at) / self.rate)
            at = stop
            if last is not None and at >= last:
                self._faults.complete = False
                return
            refuse_too_long(self.duration_s, self.path)

    def _start(self) -> None:
        self._stack.close()
        first_part, *others = parts_of(self.path)
        container, stream = self._stack.enter_context(opened(self.path, first_part))
        self._file = None if others else (container, stream)
        self._faults = Faults(said_s=None if others else stated_length(container, stream, self.path))
        self.duration_s = 0.0
        frames = _frames(container, stream, self._faults)
        if others:
            frames = itertools.chain(frames, _frames_of_others(self.path, others, self._faults))
        start = next(frames, None)
        stamp = start[0].pts if start else None
        self._first_s = None if stamp is None else stamp * float(stream.time_base or 0)
        chunks = _decoded(itertools.chain([start] if start else [], frames))
        first = next(chunks, None)
        if first is None:
            raise AudioError("holds no sound that can be decoded.", where=shown(self.path))
        _, self.rate, self.layout = first
        self._chunks = itertools.chain([first], chunks)

    def _uniform(self, chunks: Iterator[Decoded]) -> Iterator[F32]:
        """Bring every chunk to the rate and layout of the first, and take out what is no number."""
        resampler: soxr.ResampleStream | None = None
        rate = self.rate
        for samples, new_rate, layout in chunks:
            samples = self._faults.cleaned(to_layout(samples, layout, self.layout))
            self._refuse_noise()
            if layout != self.layout:
                self._faults.changes.add("number of channels")
            if new_rate != rate:
                if resampler is not None:
                    yield resampler.resample_chunk(samples[:0], last=True)
                resampler, rate = self._resampler(new_rate), new_rate
                self._faults.changes.add("sample rate")
            yield samples if resampler is None else resampler.resample_chunk(samples)
        if resampler is not None:
            yield resampler.resample_chunk(np.zeros((0, self.channels), np.float32), last=True)

    def _refuse_noise(self) -> None:
        if self._faults.loudest > LOUDEST:
            level_db = 20 * np.log10(self._faults.loudest)
            raise AudioError(
                f"is damaged: what it holds comes out {level_db:.0f} dB above full scale, so it isn't music.",
                where=shown(self.path),
            )

    def _resampler(self, rate: int) -> "soxr.ResampleStream | None":
        import soxr

        if rate == self.rate:
            return None
        return soxr.ResampleStream(rate, self.rate, self.channels, dtype="float32", quality="HQ")


def _decoded(frames: "Iterator[tuple[av.AudioFrame, int]]") -> Iterator[Decoded]:
    """All frames, in chunks of about a second; a chunk has one rate and layout."""
    import av

    held, kind = av.AudioFifo(), None
    end_padding = 0
    for frame, padding in frames:
        new_kind = (frame.rate, frame.layout.name, frame.format.name)
        if kind != new_kind:
            if held.samples:
                yield _chunk(held.read())
            held, kind = av.AudioFifo(), new_kind
        frame.pts = None  # the buffer would refuse a gap
        held.write(frame)
        end_padding = padding
        if held.samples >= frame.rate * BLOCK_S + _LONGEST_FRAME:  # enough stays to take the padding from
            yield _chunk(held.read(round(frame.rate * BLOCK_S)))
    if held.samples > end_padding:
        yield _chunk(held.read(held.samples - end_padding))


def _frames(
    container: "av.container.InputContainer", stream: "av.AudioStream", faults: Faults
) -> "Iterator[tuple[av.AudioFrame, int]]":
    """Every frame, and how many samples at its end are the encoder's padding if it is the last.

    Only MPEG-4 files tell, by the time for which they say the packet lasts. Broken packets are counted and left out.
    """
    broken = decoder_errors()
    tick = float(stream.time_base or 0)
    tells_padding = "mov" in container.format.name
    expected: float | None = None
    heard_s = time.thread_time()  # work, not time: the laptop may sleep
    for packet in _packets(container, stream, faults):
        watchdog.alive()
        try:
            frames = cast("list[av.AudioFrame]", packet.decode())
        except broken:
            faults.bad_packets += 1
            frames = []
        for frame in frames:
            if not (frame.samples and is_sound(frame.rate)):
                continue
            length = frame.samples / frame.rate
            if frame.pts is not None:
                faults.count_gap(frame.pts * tick, frame.pts * tick if expected is None else expected)
                expected = frame.pts * tick
            expected = None if expected is None else expected + length
            stated = round(packet_length(packet, tick) * frame.rate) if tells_padding else 0
            yield frame, max(0, frame.samples - stated) if stated else 0
            heard_s = time.thread_time()
        if time.thread_time() - heard_s > _PATIENCE_S:
            faults.stopped = True
            return


def _frames_of_others(path: Path, parts: "Iterable[Extent]", faults: Faults) -> "Iterator[tuple[av.AudioFrame, int]]":
    """The frames of what follows the first part of a file; a part that can't be decoded is counted and left out."""
    for part in parts:
        faults.stopped = False
        try:
            with opened(path, part) as (container, stream):
                yield from _frames(container, stream, faults)
        except NotThereError:
            raise
        except AudioError:
            faults.bad_packets += 1


def _packets(
    container: "av.container.InputContainer", stream: "av.AudioStream", faults: Faults
) -> "Iterator[av.Packet[Any]]":
    """Every packet; behind a fault of the container reading goes on as long as something comes."""
    broken = decoder_errors()
    while True:
        got = False
        busy_s = time.thread_time()
        try:
            for packet in container.demux(stream):
                got = got or packet.size > 0
                yield packet
                busy_s = time.thread_time()
            return
        except broken as error:
            refuse_slow_disk(error, time.thread_time() - busy_s, Path(container.name))
            refuse_unreadable(Path(container.name))
            faults.bad_packets += 1
            if not got:
                faults.stopped = True
                return


def _chunk(frame: "av.AudioFrame | None") -> Decoded:
    assert frame is not None  # the buffer held as much as was asked for
    return _samples(frame), frame.rate, _layout(frame)


def _layout(frame: "av.AudioFrame") -> tuple[str, ...]:
    names = tuple(channel.name for channel in frame.layout.channels)
    return names if names and "NONE" not in names else usual_layout(frame.layout.nb_channels)


def _samples(frame: "av.AudioFrame") -> F32:
    """Samples of one frame, float32, shape (frames, channels)."""
    raw: NDArray[Any] = frame.to_ndarray()
    raw = raw.T if frame.format.is_planar else raw.reshape(-1, frame.layout.nb_channels)
    kind = frame.format.packed.name
    if kind in ("flt", "dbl"):
        return np.ascontiguousarray(raw, np.float32)
    scaled = np.ascontiguousarray(raw, np.float32)
    if kind == "u8":
        scaled -= np.float32(128)
    scaled *= np.float32(1 / _FULL_SCALE[kind])
    return scaled
