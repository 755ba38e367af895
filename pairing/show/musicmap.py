"""All of one's music by temper, in minutes, against what a class asks of each."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from xml.etree.ElementTree import Element, SubElement

import numpy as np

from audio.text import one_line
from audio.track import Track
from pairing.alignment import marks
from pairing.model import Curve
from pairing.show import pieces
from pairing.temper import TEMPERS, temper

WORDS = tuple(word for _, word in reversed(TEMPERS))  # still first
LEFT, RIGHT = 82.0, 10.0
ROW, STONE = 46.0, 15.0  # height of a row, and of a track in it
NARROWEST = 3.0  # a track narrower than this isn't seen by itself
LEAST_NEED = 0.5  # minutes; less is a class on its way from one temper to another; editorial
MOST_TIMES = 4.0  # the longest need is this part of the width at least; editorial
LEAST_WIDTH, MOST_WIDTH = 300.0, 2600.0


@dataclass(frozen=True, slots=True)
class _Row:
    word: str
    tracks: tuple[Track, ...]
    have: float  # minutes
    need: float

    @property
    def said(self) -> str:
        there = f"{_minutes(self.have)} there" if self.tracks else "none there"
        if not self.need:
            return there
        return f"{_minutes(self.need)} needed, {there}{': too little' if self.is_short and self.tracks else ''}"

    @property
    def is_short(self) -> bool:
        return self.have < self.need


def needs_of(asked: Curve) -> dict[str, float]:
    """Minutes of each temper that an arc asks for; seconds without music (NaN) don't count.

    >>> needs_of(np.array([0.1] * 60 + [0.8] * 120, np.float32))
    {'still': 1.0, 'driving': 2.0}
    """
    known = asked[np.isfinite(asked)].tolist()
    words = [temper(value) for value in known]
    return {word: words.count(word) / 60 for word in WORDS if word in words}


def too_little(tracks: Iterable[Track], needs: Mapping[str, float]) -> tuple[str, ...]:
    """The tempers of which the class asks for more minutes than all tracks of it last."""
    return tuple(row.word for row in _rows(tracks, needs) if row.is_short)


def music_map(tracks: Sequence[Track], needs: Mapping[str, float], width: float = 1000.0) -> str:
    """Draw what there is of each temper, a stone a track as long as it lasts, and how much of it a class asks for.

    Args:
        needs: minutes by temper, see `needs_of`; empty without a class.
        width: 1 unit a pixel.

    Each row is a group with `data-temper`, each stone has `data-track` (the track's id) and its title as a tip. Where
    tracks are too many to be told apart, a row is one ribbon.
    """
    width = min(max(width, LEAST_WIDTH), MOST_WIDTH)
    rows = _rows(tracks, needs)
    most = max([1.0, *(max(row.have, row.need) for row in rows)])
    if needs:
        most = min(most, MOST_TIMES * max(needs.values()))
    a_minute = (width - LEFT - RIGHT) / most
    parts = [
        pieces.group(_row(row, index * ROW, a_minute, width), "temper", temper=row.word)
        for index, row in enumerate(rows)
    ]
    label = "Your music by temper. " + " ".join(f"{row.word.capitalize()}: {row.said}." for row in rows)
    return pieces.as_text(pieces.whole(width, ROW * len(rows), "pc musicmap", label, parts))


def _rows(tracks: Iterable[Track], needs: Mapping[str, float]) -> list[_Row]:
    found: dict[str, list[Track]] = {word: [] for word in WORDS}
    for track in tracks:
        if not marks.is_banned(track):
            found[temper(marks.mean_energy(track))].append(track)
    return [
        _Row(word, tuple(same), sum(track.analysis.duration_s for track in same) / 60, _noticed(needs.get(word, 0.0)))
        for word, same in found.items()
    ]


def _noticed(minutes: float) -> float:
    return minutes if minutes >= LEAST_NEED else 0.0


def _row(row: _Row, top: float, a_minute: float, width: float) -> Iterator[Element]:
    short = row.is_short
    yield pieces.text(2, top + 34, row.word, "name")
    yield pieces.text(LEFT, top + 15, row.said, "small short" if short else "small")
    yield pieces.line((LEFT, top + 20), (width - RIGHT, top + 20), "water")
    yield from _stones(row, top + 21, a_minute, width - RIGHT)
    if row.need:
        x = min(LEFT + row.need * a_minute, width - RIGHT)
        yield pieces.line((LEFT, top + 39), (x, top + 39), "need short" if short else "need")
        yield pieces.line((x, top + 20), (x, top + 42), "need short" if short else "need")


def _stones(row: _Row, top: float, a_minute: float, right: float) -> Iterator[Element]:
    """A row's tracks one after the other, the longest first; one ribbon where they would be too narrow."""
    widths = [track.analysis.duration_s / 60 * a_minute for track in row.tracks]
    if widths and np.median(widths) < NARROWEST:
        yield pieces.box(LEFT, top, min(sum(widths), right - LEFT), STONE, "ribbon")
        return
    x = LEFT
    for track in sorted(row.tracks, key=lambda track: -track.analysis.duration_s):
        wide = track.analysis.duration_s / 60 * a_minute
        if x + min(wide, NARROWEST) > right:
            return
        stone = pieces.told(pieces.box(x + 0.5, top, min(wide, right - x) - 1, STONE, "stone"), track=track.id)
        stone.set("rx", "5")
        SubElement(stone, "title").text = one_line(track.title)
        yield stone
        x += wide


def _minutes(minutes: float) -> str:
    whole = round(minutes)
    return f"{whole} min" if whole < 120 else f"{minutes / 60:.0f} hours"
