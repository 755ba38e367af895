"""Tags as a person wants to read them: UTF-8 that was encoded twice repaired, words that say nothing left out."""

import re

_PLACEHOLDERS = re.compile(r"[<\[(]?\s*unknown(?:\s+(?:artist|album|title|track|interpret))?\s*[>\])]?", re.IGNORECASE)
_OFFICIAL = re.compile(r"\s*[\[(]\s*official\b[^\])]*[\])]", re.IGNORECASE)  # "[Official Audio]"


def clean(text: str) -> str:
    """A tag without what was added by machines; empty where nothing else was in it.

    >>> clean("SchÃ¶ne FlÃ¶te [Official Audio]"), clean("Unknown Artist")
    ('Schöne Flöte', '')
    """
    repaired = without_official(encoded_once(text))
    return "" if _PLACEHOLDERS.fullmatch(repaired.strip()) else repaired


def without_official(text: str) -> str:
    """The text without "[Official ...]"; itself where nothing would be left.

    >>> without_official("Low Tide (Official Video)")
    'Low Tide'
    """
    return _OFFICIAL.sub("", text).strip() or text


def encoded_once(text: str) -> str:
    """UTF-8 that was read as Latin-1 or Windows-1252 and encoded again, as it was meant; any other text as it is.

    That is clear only where every character stands for one byte and the bytes are sound UTF-8 with at least one letter
    of several bytes (The Unicode Standard, table 3-7): other text in those alphabets hardly ever is.

    >>> encoded_once("Ã‰tude"), encoded_once("Élan Ã"), encoded_once("naïve")
    ('Étude', 'Élan Ã', 'naïve')
    """
    for _ in range(2):  # some are encoded three times
        if text.isascii():
            return text
        try:
            meant = b"".join(map(_byte, text)).decode("utf-8")
        except UnicodeError:
            return text
        text = meant
    return text


def _byte(letter: str) -> bytes:
    """The byte that was read as this letter: of Windows-1252, else of Latin-1.

    Raises:
        UnicodeEncodeError: it stands in neither.
    """
    try:
        return letter.encode("cp1252")
    except UnicodeEncodeError:
        return letter.encode("latin-1")
