"""Text that people read: strangers' words made harmless, and seconds as they are written.

Whatever leaves `one_line` is one line without control characters, without marks that turn the direction of the text
around it, and without anything XML 1.0 (section 2.2, Char) or UTF-8 can't hold. Markup is not touched here: pages,
pictures and playlists escape it themselves, the terminal takes it as text.
"""

import re
import unicodedata

# C0 and C1 controls (an escape sequence starts with U+001B or U+009B), marks and overrides of direction
# (Unicode Standard Annex 9, table 1), the byte order mark, the two code points XML excludes.
_DROPPED = re.compile(
    r"[\x00-\x08\x0e-\x1f\x7f-\x84\x86-\x9f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff\ufffe\uffff]"
)
_SPACES = re.compile(r"\s+")
_SURROGATES = re.compile(r"[\ud800-\udfff]")  # bytes of a file name that are no UTF-8
_BREAKS = re.compile(r"[\t-\r\x85\u2028\u2029]")


def one_line(text: str, limit: int | None = None) -> str:
    """Give `text` as one harmless line, cut to `limit` characters with an ellipsis.

    >>> one_line("Low \\x1b[31mtide\\n")
    'Low [31mtide'
    >>> one_line("Lanterns on the pier", 12)
    'Lanterns on…'
    """
    line = _SURROGATES.sub("\ufffd", text)
    line = _DROPPED.sub("", line)  # before spaces are joined: what goes may stand between two of them
    line = _SPACES.sub(" ", line)
    line = unicodedata.normalize("NFC", line).strip()
    if limit is None or len(line) <= limit:
        return line
    return line[: limit - 1].rstrip() + "…"


def shown(path: object) -> str:
    """A path as it can be shown, on one line; what can't be read in it, bytes that are no character too, is U+FFFD."""
    return _DROPPED.sub("\ufffd", _BREAKS.sub("\ufffd", _SURROGATES.sub("\ufffd", str(path))))


def clock(seconds: float) -> str:
    """Minutes and seconds, hours only where there are any.

    >>> clock(62.4), clock(3723), clock(-90)
    ('1:02', '1:02:03', '-1:30')
    """
    whole = int(abs(seconds) + 0.5)
    sign = "-" if seconds < 0 and whole else ""
    hours, rest = divmod(whole, 3600)
    minutes, second = divmod(rest, 60)
    return f"{sign}{hours}:{minutes:02d}:{second:02d}" if hours else f"{sign}{minutes}:{second:02d}"
