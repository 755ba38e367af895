"""MP3 packets by LAME, in a thread of its own.

FFmpeg writes the file; the packets come from `lameenc`, since LAME as PyAV's wheels hold it, without vector code, takes
3.6 times as long for the same. What `lameenc` doesn't tell, how far the first and the last frame reach beyond the
music, is the same for a silence that FFmpeg's own encoder makes packets of.
"""

from collections import deque
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TYPE_CHECKING, Any

import numpy as np

from audio.arrays import F32

if TYPE_CHECKING:
    import av

_QUALITY = 7  # LAME's quick way; at high rates also the nearer to the samples (tests/benchmarks/mix.py)
_MOST = 64  # pieces that may wait for the encoder


class Mp3Packets:
    """Encodes samples and gives FFmpeg's packets in order.

    Args:
        bit_rate: a second, of all channels. rate: samples a second. channels: 1 or 2.
    """

    def __init__(self, bit_rate: int, rate: int, channels: int) -> None:
        import av

        self._bit_rate, self._rate, self._channels = bit_rate, rate, channels
        self._frame = 1152 if rate >= 32_000 else 576  # MPEG-1, MPEG-2 (ISO/IEC 13818-3)
        self._lame = _lame(bit_rate, rate, channels)
        self._parser = av.CodecContext.create("mp3", "r")
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="mp3")
        self._under_way: deque[Future[bytes]] = deque()
        self._samples = self._given = self._delay = 0

    def add(self, samples: F32) -> "Iterator[av.Packet[Any]]":
        """Take samples, give the packets that are ready.

        Args:
            samples: shape (frames, channels), -1 to 1; what is no number would end the process.
        """
        self._samples += len(samples)
        self._under_way.append(self._thread.submit(self._encoded, samples))
        while self._under_way[0].done() or len(self._under_way) > _MOST:
            yield from self._packets(self._under_way.popleft().result())
            if not self._under_way:
                return

    def close(self) -> "Iterator[av.Packet[Any]]":
        """Give all packets that are left."""
        if not self._samples:  # LAME wants to have been asked before it ends
            self._under_way.append(self._thread.submit(self._encoded, np.zeros((0, self._channels), np.float32)))
        self._under_way.append(self._thread.submit(self._lame.flush))
        rest = b"".join(future.result() for future in self._under_way)
        self._thread.shutdown()
        last = [*self._packets(rest), *self._packets(b"")]
        if last:
            _copy_mark(self._of_silence(self._samples % self._frame + self._frame)[-1], last[-1])
        yield from last

    def abandon(self) -> None:
        """Leave what is under way."""
        self._thread.shutdown(cancel_futures=True)

    def _encoded(self, samples: F32) -> bytes:
        whole = np.clip(np.rint(samples * np.float32(32768)), -32768, 32767)
        return bytes(self._lame.encode(whole.astype("<i2").tobytes()))

    def _packets(self, data: bytes) -> "Iterator[av.Packet[Any]]":
        for packet in self._parser.parse(data or None):
            if not self._given:
                first = self._of_silence(self._frame)[0]
                self._delay = -(first.pts or 0)
                _copy_mark(first, packet)
            packet.pts = packet.dts = self._given * self._frame - self._delay
            packet.duration = self._frame
            self._given += 1
            yield packet

    def _of_silence(self, samples: int) -> "list[av.Packet[Any]]":
        import av

        layout = "mono" if self._channels == 1 else "stereo"
        context: Any = av.CodecContext.create("libmp3lame", "w")
        context.sample_rate, context.bit_rate = self._rate, self._bit_rate
        context.layout, context.format = layout, "fltp"
        silence = av.AudioFrame.from_ndarray(np.zeros((1, samples * self._channels), np.float32), "flt", layout)
        silence.sample_rate, silence.pts = self._rate, 0
        return [*context.encode(silence), *context.encode(None)]


def _copy_mark(packet: "av.Packet[Any]", to: "av.Packet[Any]") -> None:
    """How much of a packet is no music, and is left out by players."""
    if packet.has_sidedata("skip_samples"):
        to.set_sidedata(packet.get_sidedata("skip_samples"))


def _lame(bit_rate: int, rate: int, channels: int) -> Any:
    import lameenc

    encoder = lameenc.Encoder()
    encoder.silence()
    encoder.set_bit_rate(bit_rate // 1000)
    encoder.set_in_sample_rate(rate)
    encoder.set_out_sample_rate(rate)
    encoder.set_channels(channels)
    encoder.set_quality(_QUALITY)
    return encoder
