"""MP3 on all cores: pieces of the sound are encoded side by side, and their packets joined.

Without a bit reservoir every frame stands alone (ISO/IEC 11172-3: main_data_begin is 0). An encoder that begins
a second early has the state of one that ran from the start by the time its packets count, and the pattern of padding
bytes repeats: pieces that begin at a multiple of it give the very bytes that one encoder would give. LAME in PyAV's
wheels comes without its vector code and needs a second for each minute of sound, which is what makes this worth it.
"""

import math
import os
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TYPE_CHECKING, Any

import numpy as np

from audio.arrays import F32

if TYPE_CHECKING:
    import av
    from av.audio.codeccontext import AudioCodecContext

_PIECE_S = 50.0  # editorial: long against the lead, short against a mix
_LEAD = 24  # frames in which an encoder settles; 2 were seen to be enough (tests/audio/test_encode_mp3.py)
_TAIL = 6  # frames that LAME may look ahead


class Mp3Packets:
    """Encodes samples in pieces, in threads of its own, and gives the packets in order.

    Args:
        context: makes a codec context of libmp3lame, not opened, its bit reservoir off.
        bit_rate: of both channels. rate: samples a second.
    """

    def __init__(self, context: "Callable[[], AudioCodecContext]", bit_rate: int, rate: int) -> None:
        self._context = context
        self._frame = 1152 if rate >= 32_000 else 576  # MPEG-1, MPEG-2 (ISO/IEC 13818-3)
        repeats = rate // math.gcd(self._frame // 8 * bit_rate, rate)
        self._lead = _up_to(repeats, _LEAD) * self._frame
        self._piece = _up_to(repeats, round(_PIECE_S * rate / self._frame)) * self._frame
        self._held: list[F32] = []
        self._held_samples = 0
        self._start = 0  # sample at which the held ones begin
        self._first = 0  # sample from which packets count
        self._threads = ThreadPoolExecutor(os.cpu_count() or 1, thread_name_prefix="mp3")
        self._under_way: deque[Future[list[av.Packet[Any]]]] = deque()
        self._most = (os.cpu_count() or 1) + 1

    def add(self, samples: F32) -> "Iterator[av.Packet[Any]]":
        """Take float32 samples of shape (frames, channels); give the packets that are ready."""
        self._held.append(samples)
        self._held_samples += len(samples)
        while self._start + self._held_samples >= self._first + self._piece + _TAIL * self._frame:
            self._begin(self._first + self._piece)
        while self._under_way and (self._under_way[0].done() or len(self._under_way) > self._most):
            yield from self._under_way.popleft().result()

    def close(self) -> "Iterator[av.Packet[Any]]":
        """Give all packets that are left."""
        self._submit(self._joined(), None)
        while self._under_way:
            yield from self._under_way.popleft().result()
        self._threads.shutdown()

    def abandon(self) -> None:
        """Leave what is under way."""
        self._threads.shutdown(cancel_futures=True)

    def _begin(self, end: int) -> None:
        """Encode what is held, its packets counting from `self._first` to sample `end`."""
        held = self._joined()
        self._submit(held[: end + _TAIL * self._frame - self._start], end)
        kept = held[end - self._lead - self._start :]
        self._held, self._held_samples = [kept], len(kept)
        self._start, self._first = end - self._lead, end

    def _submit(self, samples: F32, end: int | None) -> None:
        self._under_way.append(self._threads.submit(self._encoded, samples, self._start, self._first, end))

    def _encoded(self, samples: F32, start: int, first: int, end: int | None) -> "list[av.Packet[Any]]":
        context = self._context()
        packets = context.encode(_frame_of(samples, context)) if len(samples) else []
        if end is None:
            packets += context.encode(None)
        skipped = (first - start) // self._frame
        counted = packets[skipped : None if end is None else skipped + (end - first) // self._frame]
        for packet in counted:
            packet.pts = packet.dts = (packet.pts or 0) + start
        return counted

    def _joined(self) -> F32:
        return self._held[0] if len(self._held) == 1 else np.concatenate(self._held or [np.zeros((0, 1), np.float32)])


def _frame_of(samples: F32, context: "AudioCodecContext") -> "av.AudioFrame":
    import av

    frame = av.AudioFrame.from_ndarray(
        np.ascontiguousarray(samples, np.float32).reshape(1, -1), format="flt", layout=context.layout.name
    )
    frame.sample_rate = context.sample_rate
    frame.pts = 0
    return frame


def _up_to(step: int, least: int) -> int:
    """The smallest multiple of `step` that is at least `least`."""
    return -(-least // step) * step
