"""What a drawing is measured by: how wide a text will be, and curves as points."""

import unicodedata
from itertools import accumulate, takewhile
from typing import TypeVar

import numpy as np

from audio.arrays import F64
from pairing.model import Curve

Point = tuple[float, float]
NO_POINTS = np.zeros((0, 2))
Value = TypeVar("Value", float, Curve)  # one, or a curve of them

# Widths in em of a sans-serif text face, on the safe side; editorial.
_NARROW, _WIDE = set("iljtfrI.,:;'!|()[] -"), set("mwMWQO@%&")


def text_width(text: str, size: float) -> float:
    """Estimate the width of `text` at `size`, in the units of `size`; rather too wide than too narrow."""
    return size * sum(map(_hundredths, text)) / 100


def fitted(text: str, size: float, width: float) -> str:
    """Cut `text` with an ellipsis so that it fits `width`; empty where not even two characters do."""
    if text_width(text, size) <= width:
        return text
    fits = takewhile(lambda wide: size * (wide + _hundredths("…")) / 100 <= width, accumulate(map(_hundredths, text)))
    kept = text[: sum(1 for _ in fits)]
    return kept.rstrip() + "…" if len(kept) >= 2 else ""


def wrapped(text: str, size: float, width: float, lines: int) -> list[str]:
    """Break `text` at spaces into at most `lines` lines that fit `width`; what is left is cut."""
    rows: list[str] = []
    rest = text.split(" ")
    while rest and len(rows) < lines:
        row = rest.pop(0)
        while rest and text_width(f"{row} {rest[0]}", size) <= width:
            row += f" {rest.pop(0)}"
        rows.append(row)
    if rest:
        rows[-1] += " " + " ".join(rest)
    return [row for row in (fitted(row, size, width) for row in rows) if row]


def clipped(points: F64, left: float, right: float) -> F64:
    """Points from `left` to `right`; the line between two of them ends just at the border it crosses.

    Args:
        points: across and down, shape (n, 2), sorted across.
    """
    if not len(points) or right <= left:
        return NO_POINTS
    xs, ys = points.T
    inside = points[np.searchsorted(xs, left, "right") : np.searchsorted(xs, right, "left")]
    ends = np.interp([left, right], xs, ys)
    return np.concatenate([[[left, ends[0]]], inside, [[right, ends[1]]]])


def thinned(values: Curve, count: int) -> tuple[Curve, Curve]:
    """Means of about `count` equal stretches of a 1-Hz curve: their middles in seconds, and the means.

    A stretch that is NaN for the most part stays NaN.
    """
    size = max(1, round(values.size / max(count, 1)))
    whole = -(-values.size // size)
    padded = np.full(whole * size, np.nan, dtype=np.float32)
    padded[: values.size] = values
    parts = padded.reshape(whole, size)
    known = np.isfinite(parts)
    counted = known.sum(axis=1)
    sums = np.where(known, parts, 0).sum(axis=1)
    means = np.where(counted * 2 >= size, sums / np.maximum(counted, 1), np.nan)
    if whole and counted[-1]:
        means[-1] = sums[-1] / counted[-1]
    middles = (np.arange(whole) + 0.5) * size
    return np.minimum(middles, values.size).astype(np.float32), means.astype(np.float32)


def _hundredths(character: str) -> int:
    """Of an em; whole numbers, whose sum is the same on every version of Python."""
    if unicodedata.east_asian_width(character) in "WF":
        return 105
    if unicodedata.combining(character):
        return 0
    if character in _NARROW:
        return 33
    return 90 if character in _WIDE else 66 if character.isupper() else 56
