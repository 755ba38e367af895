"""Two opinions of one recording side by side: as text, and as a picture over the same seconds."""

from collections.abc import Sequence
from xml.etree.ElementTree import Element

import numpy as np

from audio.measure.opinion import Opinion, agreement
from audio.text import clock
from pairing.show.pieces import as_text, box, line, text, whole
from pairing.show.screen import rendered, safe
from pairing.show.tables import BARS, table

COLUMNS = 28  # of the strip that shows the onset strength
WIDTH, ROW, LEFT, RIGHT = 1200.0, 150.0, 90.0, 20.0
STYLE = (
    "text{font:14px sans-serif;fill:#222}.small{font-size:12px;fill:#555}.strength{fill:#8a3b12}"
    ".beat{stroke:#1f5f8b;stroke-width:1.2}.axis{stroke:#999}.ground{fill:#fff}"
)


def opinions_text(title: str, both: Sequence[Opinion]) -> str:
    """The two opinions as a table, how far their beats agree, and their onset strengths over the same seconds."""
    rows = table("", "beats a min>", "beats>", "first beat>", "key", "attacks from start to end")
    for one in both:
        rows.add_row(
            safe(one.who, "bold"),
            f"{one.tempo_bpm:.1f}" if one.tempo_bpm else "no beat",
            f"{len(one.beats_s)}",
            f"{one.beats_s[0]:.2f} s" if len(one.beats_s) else "",
            one.key or "not clear",
            _strip(one),
        )
    share = agreement(*both)
    beats = "Only one of them hears a beat." if share is None else f"Of their beats {share:.0%} fall together (70 ms)."
    return f"{safe(title, 'bold')}\n{rendered(rows)}\n{beats}"


def opinions_picture(title: str, both: Sequence[Opinion]) -> str:
    """The same as SVG: for each a strip of onset strength, its beats as ticks below."""
    long_s = max(one.duration_s for one in both)
    height = 60 + len(both) * ROW + 30
    style = Element("style")
    style.text = STYLE
    parts = [style, box(0, 0, WIDTH, height, "ground"), text(LEFT, 28, title, "title")]
    for index, one in enumerate(both):
        parts += _row(one, 50 + index * ROW, long_s)
    parts += _axis(height - 34, long_s)
    return as_text(whole(WIDTH, height, "", title, parts)) + "\n"


def _row(one: Opinion, top: float, long_s: float) -> list[Element]:
    floor = top + ROW - 50
    count = round((WIDTH - LEFT - RIGHT) * one.duration_s / long_s)
    levels = _levels(one, max(count, 1))
    bars = [box(LEFT + x, floor - 90 * level, 1.0, 90 * level, "strength") for x, level in enumerate(levels.tolist())]
    ticks = [line((_across(at, long_s), floor + 6), (_across(at, long_s), floor + 22), "beat") for at in one.beats_s]
    tempo = f"{one.tempo_bpm:.1f}" if one.tempo_bpm else "no beat"
    said = [
        text(8, top + 40, one.who, ""),
        text(8, top + 60, tempo, "small"),
        text(8, top + 78, one.key or "", "small"),
    ]
    return [*said, *bars, *ticks]


def _axis(at: float, long_s: float) -> list[Element]:
    every = next(step for step in (10, 30, 60, 300, 600, 3600, 36_000) if long_s / step <= 14 or step == 36_000)
    marks = np.arange(0, long_s, every).tolist()
    words = [text(_across(second, long_s), at + 20, clock(second), "small", anchor="middle") for second in marks]
    return [line((LEFT, at), (WIDTH - RIGHT, at), "axis"), *words]


def _across(second: float, long_s: float) -> float:
    return LEFT + (WIDTH - LEFT - RIGHT) * float(second) / long_s


def _strip(one: Opinion) -> str:
    return "".join(BARS[min(int(level * len(BARS)), len(BARS) - 1)] for level in _levels(one, COLUMNS))


def _levels(one: Opinion, count: int) -> np.ndarray:
    """Mean onset strength of so many equal stretches, 0 to 1."""
    parts = np.array_split(one.strength, count)
    means = np.array([float(part.mean()) if len(part) else 0.0 for part in parts])
    return means / max(float(means.max(initial=0.0)), 1e-9)
