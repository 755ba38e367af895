"""Titles, lengths and counts as a person reads them."""

from audio.text import clock, one_line
from pairing.model import Pick


def title_of(pick: Pick, limit: int | None = None) -> str:
    """The title of a pick, else its file's name, else its number; never empty."""
    stem = pick.path.replace("\\", "/").rsplit("/", 1)[-1].rsplit(".", 1)[0]
    return one_line(pick.title, limit) or one_line(stem, limit) or f"track {pick.n}"


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
