"""A recording in pieces that a page can decode one by one and join again without a seam.

Each piece holds CHUNK_S seconds and OVERLAP_S more, the beginning of the next; whoever plays them goes over from one
to the other inside the overlap. MP3 by LAME with its gapless header: every browser that has Web Audio decodes it
(MDN, "Web audio codec guide"; Opus in Ogg came to Safari with 18.4 only), at 58 MB an hour.
"""

import os
from collections import deque
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path

import numpy as np

from audio.arrays import F32
from audio.files.encode import mp3_piece
from audio.render.source import Source

CHUNK_S = 10
OVERLAP_S = 0.1
RATE = 44_100
BITS = 128_000  # a second; editorial: from loudspeakers in a room of moving people it isn't told from the original
MIME = "audio/mpeg"


def chunks(path: Path, from_s: float, to_s: float) -> Iterator[bytes]:
    """The pieces of a stretch of a recording, in order; the last is as long as what is left. Encoded on all cores.

    Args:
        from_s, to_s: seconds of the recording; what lies beyond its end is silence.
    Raises:
        AudioError: the file can't be read.
    """
    most = (os.cpu_count() or 1) + 1
    under_way: deque[Future[bytes]] = deque()
    with ThreadPoolExecutor(most - 1, thread_name_prefix="chunks") as threads:
        for piece in _pieces(path, from_s, to_s):
            under_way.append(threads.submit(encoded, piece))
            if len(under_way) > most:
                yield under_way.popleft().result()
        while under_way:
            yield under_way.popleft().result()


def chunk(path: Path, from_s: float, to_s: float, n: int) -> bytes:
    """Piece `n` of those that `chunks` gives, alone: what lies before it is decoded and thrown away.

    Raises:
        AudioError: the file can't be read.
    """
    left = round((to_s - from_s) * RATE) - n * CHUNK_S * RATE
    with Source(path, from_s + n * CHUNK_S, RATE) as source:
        return encoded(source.read(min(CHUNK_S * RATE + round(OVERLAP_S * RATE), left)))


def count(from_s: float, to_s: float) -> int:
    """How many pieces `chunks` gives."""
    return max(-(-round((to_s - from_s) * RATE) // (CHUNK_S * RATE)), 1)


def encoded(samples: F32) -> bytes:
    """Stereo samples as one piece of MP3.

    Args:
        samples: shape (frames, 2), RATE a second, full scale 1.0.
    """
    return mp3_piece(samples, RATE, BITS)


def _pieces(path: Path, from_s: float, to_s: float) -> Iterator[F32]:
    whole, step, overlap = round((to_s - from_s) * RATE), CHUNK_S * RATE, round(OVERLAP_S * RATE)
    held = np.zeros((0, 2), np.float32)
    with Source(path, from_s, RATE) as source:
        for start in range(0, max(whole, 1), step):
            held = np.concatenate((held, source.read(min(step + overlap, whole - start) - len(held))))
            yield held
            held = held[step:]
