"""The links of a chained Ogg file: several recordings one after the other, each with parameters of its own.

RFC 3533, section 4: a physical stream may be a chain, in which one logical stream begins when the last has ended.
FFmpeg decodes all links with what the first one stated, so each is opened by itself.
"""

import io
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any, BinaryIO

_FIRST_PAGE = b"OggS\x00\x02"  # RFC 3533, section 6: capture pattern, version 0, flag "beginning of stream"
_HEAD = 27  # bytes of a page before its table of segments
_READ = 1 << 20


def links(path: Path) -> tuple[range, ...]:
    """Where each link lies in the file, in bytes; one for all of it where it is no chain, or no Ogg file.

    Raises: OSError.
    """
    with path.open("rb") as file:
        size = file.seek(0, os.SEEK_END)
        starts = list(_link_starts(file)) if _starts_with_ogg(file) else [0]
    return tuple(range(start, end) for start, end in zip(starts, [*starts[1:], size], strict=True))


def _starts_with_ogg(file: BinaryIO) -> bool:
    file.seek(0)
    return file.read(4) == _FIRST_PAGE[:4]


def _link_starts(file: BinaryIO) -> Iterator[int]:
    """The first pages of streams, but for those right behind another: they sound together."""
    yield 0
    behind = None
    for at in _first_pages(file):
        if at not in (0, behind):
            yield at
        behind = _end_of_page(file, at)


def _first_pages(file: BinaryIO) -> Iterator[int]:
    at, held = 0, b""
    while file.seek(at + len(held)) >= 0 and (read := file.read(_READ)):
        held += read
        found = held.find(_FIRST_PAGE)
        while found >= 0:
            yield at + found
            found = held.find(_FIRST_PAGE, found + 1)
        at, held = at + len(held) - len(_FIRST_PAGE) + 1, held[1 - len(_FIRST_PAGE) :]


def _end_of_page(file: BinaryIO, at: int) -> int:
    file.seek(at)
    head = file.read(_HEAD + 255)
    return at + _HEAD + head[_HEAD - 1] + sum(head[_HEAD : _HEAD + head[_HEAD - 1]]) if len(head) >= _HEAD else at


class Link(io.RawIOBase):
    """A link as a file of its own, for reading.

    Attributes:
        name: path of the whole file.
    """

    def __init__(self, path: Path, where: range) -> None:
        super().__init__()
        self.name = str(path)
        self._file = path.open("rb")
        self._where = where
        self.seek(0)

    def readable(self) -> bool:
        """Say that it can be read."""
        return True

    def seekable(self) -> bool:
        """Say that it can be read from any place."""
        return True

    def seek(self, offset: int, whence: int = os.SEEK_SET) -> int:
        """Go to a place, counted from the beginning of the link, from here, or from its end; gives the place."""
        start = {os.SEEK_SET: self._where.start, os.SEEK_CUR: self._file.tell(), os.SEEK_END: self._where.stop}[whence]
        return self._file.seek(max(self._where.start, start + offset)) - self._where.start

    def readinto(self, buffer: Any) -> int:
        """Read on; gives the number of bytes, 0 at the end of the link."""
        left = max(0, self._where.stop - self._file.tell())
        return self._file.readinto(memoryview(buffer)[:left])

    def close(self) -> None:
        """Close the file."""
        self._file.close()
        super().close()
