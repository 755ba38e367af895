"""How a note was written, so that it can be read, and a changed one be written in the same way."""

import codecs
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Encoding:
    """The name of an encoding, and the bytes that stand before the text to tell it."""

    name: str
    mark: bytes = b""

    def read(self, data: bytes) -> str:
        """The text of a file, its mark left out."""
        return data[len(self.mark) :].decode(self.name, errors="replace")

    def written(self, text: str) -> bytes:
        """A file of this text; a character that the encoding lacks becomes a question mark."""
        return self.mark + text.encode(self.name, errors="replace")


_MARKED = (
    Encoding("utf-8", codecs.BOM_UTF8),
    Encoding("utf-16-le", codecs.BOM_UTF16_LE),
    Encoding("utf-16-be", codecs.BOM_UTF16_BE),
)


def encoding_of(data: bytes) -> Encoding:
    """UTF-8 with or without a mark, UTF-16 with one, else Latin-1, in which any bytes are a text.

    >>> encoding_of("Übung".encode("latin-1")).name
    'latin-1'
    """
    for known in _MARKED:
        if data.startswith(known.mark):
            return known
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return Encoding("latin-1")
    return Encoding("utf-8")
