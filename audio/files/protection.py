"""Whether a file's sound is encrypted by the shop that sold it: FFmpeg gives noise, or nothing, and doesn't say why."""

import contextlib
import re
import uuid
from pathlib import Path
from typing import BinaryIO

# Codec tags of encrypted sound: of shops of songs, of common encryption (ISO/IEC 23001-7), of shops of audio books.
_TAGS = ("drms", "enca", "aavd")
# ISO/IEC 14496-12, 8.12: a protection scheme box holds the original format or the scheme.
_SCHEME = re.compile(rb"sinf.{4}(?:frma|schm|schi)", re.DOTALL)
# Advanced Systems Format (Microsoft), sections 3.14 and 3.15: content encryption, and its extended form.
_ASF = uuid.UUID("75B22630-668E-11CF-A6D9-00AA0062CE6C").bytes_le
_ASF_PROTECTED = tuple(
    uuid.UUID(text).bytes_le
    for text in ("2211B3FB-BD23-11D2-B4B7-00A0C955FC6E", "298AE614-2622-4C17-B935-DAE07EE9289C")
)
_MOST_BYTES = 1 << 24  # editorial: of a header that is looked through
_MOST_BOXES = 1000  # editorial: a film in pieces has its header first


def is_protected(path: Path, codec_tag: str) -> bool:
    """Whether the sound of a file that FFmpeg has opened is encrypted.

    Args:
        codec_tag: the four letters by which the container names the kind of sound.
    A file that can't be read any more counts as not encrypted; what decodes it will say so.
    """
    if codec_tag in _TAGS:
        return True
    with contextlib.suppress(OSError, OverflowError), path.open("rb") as file:
        head = file.read(24)
        if head.startswith(_ASF):
            header = file.read(min(int.from_bytes(head[16:24], "little"), _MOST_BYTES))
            return any(name in header for name in _ASF_PROTECTED)
        return bool(_SCHEME.search(_movie_box(file)))
    return False


def _movie_box(file: BinaryIO) -> bytes:
    """The box "moov" of an MPEG-4 file, which is a row of boxes, each its length and four letters; b"" of others."""
    at = 0
    for _ in range(_MOST_BOXES):
        file.seek(at)
        head = file.read(16)
        size = int.from_bytes(head[:4], "big")
        if size == 1:
            size = int.from_bytes(head[8:16], "big")
        if head[4:8] == b"moov":
            file.seek(at)
            return file.read(min(size, _MOST_BYTES))
        if size < 8 or not head[4:8].isalnum():
            break
        at += size
    return b""
