"""Pictures that stand for a pose (`pictures.csv`) or another word (`picture_words.csv`), as phones type them."""

import csv
import functools
import re
from importlib import resources

from pairing.plan.names import pictures

_ORNAMENT = re.compile("[\u2600-\u27bf\u2b00-\u2bff\ufe0e\ufe0f\u200d\u20e3\U0001f000-\U0001faff]")


def has_pictures(text: str) -> bool:
    """Say whether the text holds a picture that stands for a word."""
    return not text.isascii() and _all()[1].search(text) is not None


def with_pictures(text: str) -> tuple[str, frozenset[int]]:
    """Put the words for pictures in their place; give where those words begin."""
    if text.isascii():
        return text, frozenset()
    names, picture = _all()
    out, starts, at = "", [], 0
    for found in picture.finditer(text):
        out += text[at : found.start()]
        out += " " if out and not out[-1].isspace() else ""
        starts.append(len(out))
        out += f"{names[found.group()]} "
        at = found.end()
    return _ORNAMENT.sub(" ", out + text[at:]), frozenset(starts)


@functools.cache
def _all() -> tuple[dict[str, str], re.Pattern[str]]:
    text = resources.files("pairing.plan").joinpath("picture_words.csv").read_text(encoding="utf-8")
    names = pictures()[0] | {row["picture"]: row["word"] for row in csv.DictReader(text.splitlines())}
    return names, re.compile("|".join(sorted(map(re.escape, names), key=len, reverse=True)))
