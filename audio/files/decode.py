"""Any audio file into blocks of samples, in one streaming pass.

Samples are float32, shape (frames, channels), full scale +-1, channels in the file's own order. Time is counted in
decoded samples from the first one on (encoder delay that the file states is already taken off), never read from
headers, so that the same second is the same sample however it is reached.
"""

import time
from collections.abc import Iterable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self, cast

import numpy as np
from numpy.typing import NDArray

from audio.errors import AudioError
from audio.files import watchdog
from audio.files.channels import Samples, to_layout, usual_layout
from audio.files.container import decoder_errors, opened
from audio.files.lengths import stated_length
from audio.files.text import shown

if TYPE_CHECKING:
    import av
    import av.container
    import soxr

BLOCK_S = 1.0  # about; blocks are at least as long, the last one aside
LONGEST_S = 24 * 3600.0  # editorial: what is longer is a fault or a joke, not music for a class
LOUDEST = 1e6  # +120 dB over full scale: no sound, a fault of the file
_PATIENCE_S = 12.0  # editorial: without one decoded frame; with opening well below 20 s a file

# Full scale of FFmpeg's integer sample formats; u8 has its zero at 128.
_FULL_SCALE = {"u8": 2.0**7, "s16": 2.0**15, "s32": 2.0**31, "s64": 2.0**63}

Frame = tuple[Samples, int, tuple[str, ...]]  # samples, rate, layout


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """Some samples in a row: float32, shape (frames, channels), and the second at which the first one stands."""

    samples: Samples
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

    >>> with Decoder(Path("tide.flac")) as decoder:              # doctest: +SKIP
    ...     loudest = max(abs(block.samples).max() for block in decoder.blocks())
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.rate = 0
        self.layout: tuple[str, ...] = ()
        self.duration_s = 0.0
        self._faults = _Faults()
        self._stack = ExitStack()
        self._frames: Iterator[Frame] | None = None

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
        if self._frames is None:  # a second pass
            self._start()
        frames = self._frames
        self._frames = None
        assert frames is not None
        first = round(start_s * self.rate)
        last = None if end_s is None else round(end_s * self.rate)
        at = 0
        for samples in watchdog.watching(_in_blocks(self._uniform(frames), round(BLOCK_S * self.rate))):
            stop = at + len(samples)
            self.duration_s = stop / self.rate
            wanted = samples[max(0, first - at) : None if last is None else max(0, last - at)]
            if len(wanted):
                yield Block(wanted, self.rate, max(first, at) / self.rate)
            at = stop
            if last is not None and at >= last:
                self._faults.complete = False
                return
            if self.duration_s > LONGEST_S:
                raise AudioError(f"is longer than {LONGEST_S / 3600:.0f} hours.", where=shown(self.path))

    def _start(self) -> None:
        self._stack.close()
        container, stream = self._stack.enter_context(opened(self.path))
        self._faults = _Faults(said_s=stated_length(container, stream, self.path))
        self.duration_s = 0.0
        frames = _decoded(container, stream, self._faults)
        first = next(frames, None)
        if first is None:
            raise AudioError("holds no sound that can be decoded.", where=shown(self.path))
        _, self.rate, self.layout = first
        self._frames = _chained(first, frames)

    def _uniform(self, frames: Iterator[Frame]) -> Iterator[Samples]:
        """Bring every frame to the rate and layout of the first, and take out what is no number."""
        resampler: soxr.ResampleStream | None = None
        rate = self.rate
        for samples, new_rate, layout in frames:
            samples = self._faults.cleaned(to_layout(samples, layout, self.layout))
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

    def _resampler(self, rate: int) -> "soxr.ResampleStream | None":
        import soxr

        if rate == self.rate:
            return None
        return soxr.ResampleStream(rate, self.rate, self.channels, dtype="float32", quality="HQ")


@dataclass
class _Faults:
    """Counts what is wrong with a file while it is decoded."""

    said_s: float | None = None  # the length that the header states
    bad_packets: int = 0
    lost_s: float = 0.0
    gaps: int = 0
    replaced: int = 0
    stopped: bool = False
    complete: bool = True

    def __post_init__(self) -> None:
        self.changes: set[str] = set()

    def cleaned(self, samples: Samples) -> Samples:
        """Replace NaN, infinite and absurd samples by silence, and count them."""
        if not samples.size or (samples.max() <= LOUDEST and samples.min() >= -LOUDEST):
            return samples
        wrong = ~(np.abs(samples) <= LOUDEST)
        self.replaced += int(wrong.sum())
        return np.where(wrong, np.float32(0), samples)

    def notes(self, duration_s: float) -> tuple[str, ...]:
        notes = []
        if self.bad_packets or self.gaps:
            places = self.bad_packets + self.gaps
            notes.append(
                f"Damaged in {places} place{'s' * (places > 1)}; what can't be decoded was left out"
                + (f" (about {self.lost_s:.1f} s)." if self.lost_s >= 0.05 else ".")
            )
        if self.replaced:
            notes.append(f"{self.replaced} samples were no numbers or absurdly large and were made silent.")
        notes += [
            f"Its {what} changes midway; all was brought to that of the beginning." for what in sorted(self.changes)
        ]
        if self.stopped:
            notes.append(f"Can't be read beyond {clock(duration_s)}.")
        if self.complete and self.said_s is not None:
            notes += _length_note(self.said_s, duration_s)
        return tuple(notes)


def clock(seconds: float) -> str:
    """Minutes and seconds as a person writes them: 4:07, 1:02:03.

    >>> clock(247.4), clock(3723)
    ('4:07', '1:02:03')
    """
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02}:{rest:02}" if hours else f"{minutes}:{rest:02}"


def _length_note(said_s: float, duration_s: float) -> list[str]:
    if duration_s < said_s * 0.98 - 0.5:
        return [
            f"Holds {clock(duration_s)} of sound though its header says {clock(said_s)}: incomplete or mislabelled."
        ]
    if duration_s > said_s * 1.02 + 0.5:
        return [f"Holds {clock(duration_s)} of sound though its header says {clock(said_s)}."]
    return []


def _chained(first: Frame, rest: Iterable[Frame]) -> Iterator[Frame]:
    yield first
    yield from rest


def _decoded(container: "av.container.InputContainer", stream: "av.AudioStream", faults: _Faults) -> Iterator[Frame]:
    """Every frame that can be decoded: samples, rate, layout. Broken packets are counted and left out."""
    broken = decoder_errors()
    expected: float | None = None
    held: Frame | None = None
    stated_s = 0.0
    alive = time.monotonic()
    for packet in _packets(container, stream, faults):
        watchdog.alive()
        try:
            frames = cast("list[av.AudioFrame]", packet.decode())
        except broken:
            faults.bad_packets += 1
            frames = []
        for frame in frames:
            if not frame.samples or not frame.rate:
                continue
            expected = _count_gap(frame, expected, faults)
            if held is not None:
                yield held
            held = _samples(frame), frame.rate, _layout(frame)
            stated_s = float((packet.duration or 0) * packet.time_base)
            alive = time.monotonic()
        if not frames and time.monotonic() - alive > _PATIENCE_S:
            faults.stopped = True
            break
    if held is not None:
        yield _unpadded(held, stated_s) if "mov" in container.format.name else held


def _unpadded(frame: Frame, stated_s: float) -> Frame:
    """The last frame without the encoder's padding: MPEG-4 files state how long its packet really lasts."""
    samples, rate, layout = frame
    stated = round(stated_s * rate)
    return (samples[:stated] if stated else samples), rate, layout


def _packets(
    container: "av.container.InputContainer", stream: "av.AudioStream", faults: _Faults
) -> "Iterator[av.Packet[Any]]":
    """Every packet; behind a fault of the container reading goes on as long as something comes."""
    broken = decoder_errors()
    while True:
        got = False
        try:
            for packet in container.demux(stream):
                got = got or packet.size > 0
                yield packet
            return
        except broken:
            faults.bad_packets += 1
            if not got:
                faults.stopped = True
                return


def _count_gap(frame: "av.AudioFrame", expected: float | None, faults: _Faults) -> float | None:
    """Compare the frame's time stamp with the end of the one before; 50 ms allow for coarse clocks."""
    if frame.pts is None or frame.time_base is None:
        return None if expected is None else expected + frame.samples / frame.rate
    at = float(frame.pts * frame.time_base)
    if expected is not None and 0.05 < at - expected < LONGEST_S:
        faults.gaps += 1
        faults.lost_s += at - expected
    return at + frame.samples / frame.rate


def _layout(frame: "av.AudioFrame") -> tuple[str, ...]:
    names = tuple(channel.name for channel in frame.layout.channels)
    return names if names and "NONE" not in names else usual_layout(frame.layout.nb_channels)


def _samples(frame: "av.AudioFrame") -> Samples:
    """Samples of one frame, float32, shape (frames, channels)."""
    raw: NDArray[Any] = frame.to_ndarray()
    raw = raw.T if frame.format.is_planar else raw.reshape(-1, frame.layout.nb_channels)
    kind = frame.format.packed.name
    if kind in ("flt", "dbl"):
        return np.asarray(raw, np.float32)
    scaled = raw.astype(np.float32)
    if kind == "u8":
        scaled -= np.float32(128)
    scaled *= np.float32(1 / _FULL_SCALE[kind])
    return scaled


def _in_blocks(frames: Iterator[Samples], least: int) -> Iterator[Samples]:
    """Join frames until `least` samples are there."""
    held: list[Samples] = []
    count = 0
    for samples in frames:
        held.append(samples)
        count += len(samples)
        if count >= least:
            yield np.ascontiguousarray(np.concatenate(held))
            held, count = [], 0
    if count:
        yield np.ascontiguousarray(np.concatenate(held))
