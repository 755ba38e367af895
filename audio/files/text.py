"""Text from strangers made harmless: file names and tags are shown as text and nothing else."""

import re
import unicodedata

# Characters that turn the direction of the text around them (Unicode Standard Annex 9, table of section 2).
_BIDI = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
_SPACE = re.compile(r"\s+")


def harmless(text: str) -> str:
    """Take out what would act on a terminal or page rather than be read.

    Control characters (escape sequences begin with one), turns of direction and halves of characters go; line breaks
    and tabs become one space; what is left is composed (Unicode NFC) and has no space around it.

    >>> harmless("Low\\x1b[31m tide\\n  again")
    'Low[31m tide again'
    """
    kept = (letter for letter in text if letter.isspace() or (letter not in _BIDI and _is_readable(letter)))
    return _SPACE.sub(" ", unicodedata.normalize("NFC", "".join(kept))).strip()


def shown(path: object) -> str:
    """A path as it can be shown; bytes that are no character are shown as U+FFFD."""
    text = str(path).encode("utf-8", "surrogateescape").decode("utf-8", "replace")
    return "".join(letter if _is_readable(letter) and letter not in _BIDI else "\ufffd" for letter in text)


def _is_readable(letter: str) -> bool:
    return unicodedata.category(letter) not in ("Cc", "Cs", "Cn", "Zl", "Zp")
