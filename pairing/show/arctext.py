"""The arc as a small picture in text: the music as shaded columns, the arc as a line over them."""

import numpy as np

from pairing.model import Curve
from pairing.show.drawing import thinned
from pairing.show.screen import can_draw

_GUTTER = 8  # columns for the scale at the left


def arc_text(curve: Curve, played: Curve | None = None, width: int = 72, rows: int = 8) -> str:
    """Draw an arc, and the music that is played to it, in letters.

    Args:
        curve: target energy, 0 to 1 at 1 Hz, NaN where no music shall sound.
        played: energy of the music, same length; without it the space below the arc is shaded lightly.
        width, rows: size in characters, scale and minutes not counted in `rows`.
    Returns:
        `rows` + 1 lines; for an empty curve one line that says so.
    """
    if not curve.size:
        return "no time, no arc"
    line, shade, faint = ("━", "▒", "·") if can_draw() else ("=", ":", ".")
    across = width - _GUTTER
    arc = _resampled(curve, across)
    music = arc if played is None else _resampled(played, across)
    fill = faint if played is None else shade
    drawn = [[" "] * across for _ in range(rows)]
    for column in range(across):
        for row in range(_height(music[column], rows)):
            drawn[rows - 1 - row][column] = fill
        if np.isfinite(arc[column]):
            drawn[rows - max(1, _height(arc[column], rows))][column] = line
    scale = {0: "driving", (rows - 1) // 2: "steady", rows - 1: "still"}
    body = [f"{scale.get(row, ''):>7} {''.join(cells)}".rstrip() for row, cells in enumerate(drawn)]
    return "\n".join([*body, _minutes(curve.size, across)])


def _resampled(curve: Curve, count: int) -> Curve:
    if curve.size >= 2 * count:
        _, means = thinned(curve, count)
        index = np.minimum((np.arange(count) + 0.5) * means.size / count, means.size - 1)
        curve, index = means, index.astype(int)
    else:
        index = np.minimum((np.arange(count) * curve.size) // count, curve.size - 1)
    picked: Curve = curve[index]
    return picked


def _height(value: float, rows: int) -> int:
    """Rows that a value fills, at least one where music sounds."""
    if not np.isfinite(value):
        return 0
    return max(1, min(rows, round(float(value) * rows)))


def _minutes(seconds: int, across: int) -> str:
    minutes = seconds / 60
    step = next((m for m in (1, 2, 5, 10, 15, 20, 30, 60) if across * m / minutes >= 7), 120)
    marks = [" "] * (across + 6)
    minute = 0
    while minute <= minutes:
        label = f"{minute} min" if minute == 0 else str(minute)
        at = round(minute / minutes * across)
        at = min(at, across - len(label)) if minute else at
        marks[at : at + len(label)] = label
        minute += step
    return " " * _GUTTER + "".join(marks).rstrip()
