"""Sound for the browser: a stretch of the mix as a WAV file that exists only while it is asked for.

Any range of bytes can be asked for (RFC 9110, section 14), since a byte's place names its sample: so the browser can
seek in an hour that was never rendered.
"""

import re
import struct
from collections.abc import Callable, Generator, Iterator
from contextlib import closing
from dataclasses import dataclass

import numpy as np
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from audio.arrays import F32
from audio.render.mixer import MIX_RATE

HEADER_BYTES, FRAME_BYTES = 44, 4  # RIFF WAVE with 16-bit stereo PCM

Blocks = Callable[[int], Generator[F32, None, None]]


@dataclass(frozen=True, slots=True)
class Wave:
    """A sound of so many frames; `blocks` renders it from a frame on."""

    frames: int
    blocks: Blocks

    @property
    def size(self) -> int:
        """Bytes of the whole file."""
        return HEADER_BYTES + FRAME_BYTES * self.frames

    def read(self, start: int, end: int) -> Iterator[bytes]:
        """The bytes from `start` to before `end`."""
        head = _header(self.frames)[start:end]
        if head:
            yield head
        at = max(start, HEADER_BYTES)
        first = (at - HEADER_BYTES) // FRAME_BYTES
        skip = (at - HEADER_BYTES) % FRAME_BYTES
        left = end - at
        if left <= 0:
            return
        with closing(self.blocks(first)) as blocks:
            for block in blocks:
                piece = _pcm(block)[skip : skip + left]
                skip = 0
                left -= len(piece)
                yield piece
                if left <= 0:
                    return
        while left > 0:  # the mix may end a frame before its stated length
            yield bytes(min(left, 65_536))
            left -= 65_536


def wave_response(wave: Wave, request: Request) -> Response:
    """Answer with the file, or with the range of it that was asked for."""
    headers = {"Accept-Ranges": "bytes", "Content-Type": "audio/wav"}
    wanted = _range(request.headers.get("range"), wave.size)
    if wanted is None:
        return Response(status_code=416, headers={"Content-Range": f"bytes */{wave.size}"})
    start, end = wanted
    status = 200
    if "range" in request.headers:
        status = 206
        headers["Content-Range"] = f"bytes {start}-{end - 1}/{wave.size}"
    headers["Content-Length"] = str(end - start)
    if request.method == "HEAD":
        return Response(status_code=status, headers=headers)
    return StreamingResponse(wave.read(start, end), status, headers)


def _range(text: str | None, size: int) -> tuple[int, int] | None:
    """First byte and the one after the last; the whole where nothing is asked for, None where it lies outside."""
    if text is None:
        return 0, size
    match = re.fullmatch(r"bytes=(\d{0,15})-(\d{0,15})", text.strip())
    if match is None or not (match[1] or match[2]):
        return None
    if not match[1]:
        return max(size - int(match[2]), 0), size
    start, end = int(match[1]), min(int(match[2]) + 1 if match[2] else size, size)
    return (start, end) if start < end else None


def _header(frames: int) -> bytes:
    size = frames * FRAME_BYTES
    return struct.pack(
        "<4sI4s4sIHHIIHH4sI",
        b"RIFF",
        36 + size,
        b"WAVE",
        b"fmt ",
        16,
        1,
        2,
        MIX_RATE,
        MIX_RATE * FRAME_BYTES,
        FRAME_BYTES,
        16,
        b"data",
        size,
    )


def _pcm(block: F32) -> bytes:
    return bytes((np.clip(block, -1, 1) * 32_767).astype("<i2").tobytes())
