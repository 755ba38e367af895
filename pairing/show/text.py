"""Text of strangers made harmless: titles, artists, file names, lines of a plan.

Whatever leaves `one_line` is one line without control characters, without marks that turn the direction of the text
around it, and without anything XML 1.0 (section 2.2, Char) or UTF-8 can't hold. Markup is not touched here: the page,
the picture and the playlists escape it themselves, the terminal takes it as text.
"""

import re
import unicodedata

from pairing.model import Pick

# C0 and C1 controls (an escape sequence starts with U+001B or U+009B), marks and overrides of direction
# (Unicode Standard Annex 9, table 1), the byte order mark, the two code points XML excludes.
_DROPPED = re.compile(
    r"[\x00-\x08\x0e-\x1f\x7f-\x84\x86-\x9f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff\ufffe\uffff]"
)
_SPACES = re.compile(r"\s+")
_SURROGATES = re.compile(r"[\ud800-\udfff]")  # bytes of a file name that are no UTF-8


def one_line(text: str, limit: int | None = None) -> str:
    """Give `text` as one harmless line, cut to `limit` characters with an ellipsis.

    >>> one_line("Low \\x1b[31mtide\\n")
    'Low [31mtide'
    >>> one_line("Lanterns on the pier", 12)
    'Lanterns on…'
    """
    line = _SURROGATES.sub("\ufffd", text)
    line = _SPACES.sub(" ", line)
    line = _DROPPED.sub("", line)
    line = unicodedata.normalize("NFC", line).strip()
    if limit is None or len(line) <= limit:
        return line
    return line[: limit - 1].rstrip() + "…"


def title_of(pick: Pick, limit: int | None = None) -> str:
    """The title of a pick, else its file's name, else its number; never empty."""
    stem = pick.path.replace("\\", "/").rsplit("/", 1)[-1].rsplit(".", 1)[0]
    return one_line(pick.title, limit) or one_line(stem, limit) or f"track {pick.n}"


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


def length(seconds: float) -> str:
    """A length in words a person says.

    >>> length(45), length(180), length(200)
    ('45 seconds', '3 minutes', '3:20 minutes')
    """
    whole = int(abs(seconds) + 0.5)
    if whole < 60:
        return "1 second" if whole == 1 else f"{whole} seconds"
    if whole % 60 == 0:
        return "1 minute" if whole == 60 else f"{whole // 60} minutes"
    return f"{clock(whole)} minutes"


def number(value: float) -> str:
    """A count without needless digits; a half as a fraction.

    >>> number(3.0), number(0.5), number(2.5)
    ('3', '½', '2½')
    """
    doubled = round(value * 2)
    whole, half = divmod(doubled, 2)
    if not half:
        return str(whole)
    return f"{whole}½" if whole else "½"


def counted(count: float, one: str, many: str) -> str:
    """A number with its noun.

    >>> counted(1, "breath", "breaths"), counted(0.5, "breath", "breaths")
    ('1 breath', '½ breath')
    >>> counted(0, "file", "files")
    '0 files'
    """
    return f"{number(count)} {one if 0 < count <= 1 else many}"
