"""Lengths that a file states of itself. They are hints: any of them may be wrapped, negative, zero or huge.

What is true is counted in decoded samples.
"""

import os
import struct
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO

if TYPE_CHECKING:
    import av
    import av.container

# FFmpeg's names of containers whose length stands in a header; for others it is guessed from the bit rate.
_STATED = {"flac", "aiff", "mov", "ogg", "w64", "caf", "au", "wv", "matroska"}
_UNKNOWN = 0x7FFF0000  # from here on: what programs write into a wav that they stream
_LONGEST_PACKET_S = 60.0  # editorial; the longest of the kinds that are read last some seconds


def stated_length(container: "av.container.InputContainer", stream: "av.AudioStream", path: Path) -> float | None:
    """Seconds that the header states; None where it says nothing to rely on.

    Raises:
        OSError: the file can't be read.
    """
    names = set(container.format.name.split(","))
    if "wav" in names:
        return _wav_length(path)
    if not (names & _STATED or ("mp3" in names and _has_info_frame(path))):
        return None
    if stream.duration is None or stream.time_base is None:
        return None
    seconds = float(stream.duration * stream.time_base)
    return seconds if 0 < seconds < 1e7 else None


def packet_length(packet: "av.Packet[Any]", tick_s: float) -> float:
    """Seconds that a packet says it lasts; 0 where that makes no sense.

    An Ogg file whose last page ends before its last packet begins gives that packet a negative duration, which comes
    as an unsigned number of 32 bits.
    """
    length_s = (packet.duration or 0) * tick_s
    return length_s if 0 < length_s <= _LONGEST_PACKET_S else 0.0


def _has_info_frame(path: Path) -> bool:
    """Whether an mp3 begins with the frame that states its length ("Xing" or "Info" of LAME, "VBRI")."""
    with path.open("rb") as file:
        head = file.read(10)
        if head[:3] == b"ID3" and len(head) == 10:
            file.seek(10 + (head[6] << 21 | head[7] << 14 | head[8] << 7 | head[9]))
        start = file.read(4096)
    return any(word in start for word in (b"Xing", b"Info", b"VBRI"))


def wav_understates(path: Path) -> bool:
    """Whether a wav goes on with sound behind the length that it states, as one does whose recorder lost its power.

    Raises:
        OSError: the file can't be read.
    """
    data = _wav_data(path)
    if data is None or data.size >= _UNKNOWN:
        return False
    end = data.start + data.size + data.size % 2
    with path.open("rb") as file:
        left = file.seek(0, os.SEEK_END) - end
        file.seek(end)
        head = file.read(8)
    is_chunk = head[:4].isascii() and head[:4].decode("ascii").isprintable() and _size_in(head) <= left
    return left > data.bytes_a_second > 0 and not is_chunk


@dataclass(frozen=True, slots=True)
class _WavData:
    """Where the chunk of sound begins in a wav, and what is said of it."""

    start: int
    size: int
    bytes_a_second: int


def _wav_length(path: Path) -> float | None:
    data = _wav_data(path)
    return data.size / data.bytes_a_second if data and data.bytes_a_second and data.size < _UNKNOWN else None


def _wav_data(path: Path) -> _WavData | None:
    """By the chunks "fmt " and "data" (Multimedia Programming Interface and Data Specifications 1.0, 1991)."""
    with path.open("rb") as file:
        if file.read(4) != b"RIFF" or file.read(8)[4:] != b"WAVE":
            return None
        bytes_a_second = 0
        while len(head := file.read(8)) == 8:
            if head[:4] == b"data":
                return _WavData(file.tell(), _size_in(head), bytes_a_second)
            bytes_a_second = _skip_chunk(file, _size_in(head), head[:4] == b"fmt ") or bytes_a_second
    return None


def _size_in(head: bytes) -> int:
    return int.from_bytes(head[4:8], "little")


def _skip_chunk(file: BinaryIO, size: int, is_format: bool) -> int:
    """Go behind a chunk; bytes a second, if it is the one that states the format."""
    body = file.read(min(size, 16)) if is_format else b""
    file.seek(size + size % 2 - len(body), 1)
    return int(struct.unpack("<I", body[8:12])[0]) if len(body) == 16 else 0
