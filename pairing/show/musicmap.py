"""All of one's music by temper, in minutes, against what a class asks of each.

A class isn't short of still music where calm music serves as well: as when music is chosen, a track a little calmer or
livelier than asked will do, and in the rest any that is calm enough for one.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from xml.etree.ElementTree import Element, SubElement

import numpy as np

from audio.text import one_line
from audio.track import Track
from pairing.alignment import marks
from pairing.alignment.sedative import is_fit
from pairing.model import Curve, Kind, SectionTime
from pairing.show import pieces
from pairing.temper import PLAINLY, TEMPERS, temper

WORDS = tuple(word for _, word in reversed(TEMPERS))  # still first
LEFT, RIGHT = 82.0, 10.0
ROW, STONE = 46.0, 15.0  # height of a row, and of a track in it
NARROWEST = 3.0  # a track narrower than this isn't seen by itself
LEAST_NEED = 0.5  # minutes; less is a class on its way from one temper to another; editorial
MOST_TIMES = 4.0  # the longest need is this part of the width at least; editorial
LEAST_WIDTH, MOST_WIDTH = 300.0, 2600.0


@dataclass(frozen=True, slots=True)
class Need:
    """Minutes that a class asks for of one temper, and the energies that do there; in a rest, all fit for one does."""

    word: str
    minutes: float
    least: float
    most: float
    in_rest: bool = False

    def takes(self, track: Track) -> bool:
        """Whether a track would be taken there gladly."""
        return self.least <= marks.mean_energy(track) <= self.most or (self.in_rest and is_fit(track))


@dataclass(frozen=True, slots=True)
class _TemperRow:
    word: str
    tracks: tuple[Track, ...]
    have: float  # minutes
    need: float
    is_short: bool
    other: str | None  # what serves as well where there is too little of its own

    @property
    def said(self) -> str:
        there = f"{_minutes(self.have)} there" if self.tracks else "none there"
        if not self.need:
            return there
        near = " that fits" if self.have >= self.need else ""
        short = f": too little{near}" if self.is_short and self.tracks else ""
        instead = f"; {self.other} music will do" if self.other else ""
        return f"{_minutes(self.need)} needed, {there}{short}{instead}"


def needs_of(asked: Curve, sections: Iterable[SectionTime] = ()) -> tuple[Need, ...]:
    """What a class asks for, the stillest first, its rest before that.

    Args:
        asked: energy of each class second, 0 to 1; seconds without music (NaN) don't count.
        sections: of the class; those of rest count by themselves.

    >>> [(need.word, need.minutes) for need in needs_of(np.array([0.1] * 60 + [0.8] * 120, np.float32))]
    [('still', 1.0), ('driving', 2.0)]
    """
    resting = np.zeros(len(asked), bool)
    for section in sections:
        resting[int(section.start_s) : int(section.end_s)] |= section.kind is Kind.REST
    return (*_needs(asked[resting], in_rest=True), *_needs(asked[~resting], in_rest=False))


def too_little(tracks: Iterable[Track], needs: Sequence[Need]) -> tuple[str, ...]:
    """The tempers of which the class asks for more than all music lasts that would be taken there.

    Neighbours may share what there is: where each alone has enough and both together haven't, both are named.
    """
    usable = [track for track in tracks if not marks.is_banned(track)]
    short: set[str] = set()
    for many in range(1, len(needs) + 1):
        for first in range(len(needs) - many + 1):
            some = needs[first : first + many]
            if short.isdisjoint(need.word for need in some) and not _suffice(usable, some):
                short |= {need.word for need in some}
    return tuple(word for word in WORDS if word in short)


def music_map(tracks: Sequence[Track], needs: Sequence[Need], width: float = 1000.0) -> str:
    """Draw what there is of each temper, a stone a track as long as it lasts, and how much of it a class asks for.

    Args:
        needs: see `needs_of`; empty without a class.
        width: 1 unit a pixel.

    Each row is a group with `data-temper`, each stone has `data-track` (the track's id) and its title as a tip. Where
    tracks are too many to be told apart, a row is one ribbon.
    """
    width = min(max(width, LEAST_WIDTH), MOST_WIDTH)
    rows = _rows(tracks, needs)
    most = max([1.0, *(max(row.have, row.need) for row in rows)])
    if needs:
        most = min(most, MOST_TIMES * max(row.need for row in rows))
    a_minute = (width - LEFT - RIGHT) / most
    parts = [
        pieces.group(_row(row, index * ROW, a_minute, width), "temper", temper=row.word)
        for index, row in enumerate(rows)
    ]
    label = "Your music by temper. " + " ".join(f"{row.word.capitalize()}: {row.said}." for row in rows)
    return pieces.as_text(pieces.whole(width, ROW * len(rows), "pc musicmap", label, parts))


def _rows(tracks: Iterable[Track], needs: Sequence[Need]) -> list[_TemperRow]:
    found: dict[str, list[Track]] = {word: [] for word in WORDS}
    for track in tracks:
        if not marks.is_banned(track):
            found[temper(marks.mean_energy(track))].append(track)
    short = too_little(tracks, needs)
    return [_row_of(word, found, [need for need in needs if need.word == word], word in short) for word in WORDS]


def _row_of(word: str, found: Mapping[str, Sequence[Track]], needs: Sequence[Need], is_named: bool) -> _TemperRow:
    same = tuple(found[word])
    have, need = _lasts(same), sum(need.minutes for need in needs)
    if not is_named and have < need:
        return _TemperRow(word, same, have, need, False, _serving(word, found, needs))
    is_short = is_named and (have < need or not _suffice([t for each in found.values() for t in each], needs))
    return _TemperRow(word, same, have, need, is_short, None)


def _serving(word: str, found: Mapping[str, Sequence[Track]], needs: Sequence[Need]) -> str:
    """The other temper of which most would be taken."""
    lasts = {
        other: _lasts(track for track in tracks if any(need.takes(track) for need in needs))
        for other, tracks in found.items()
        if other != word
    }
    return max(lasts, key=lambda other: lasts[other])


def _needs(asked: Curve, *, in_rest: bool) -> list[Need]:
    levels: dict[str, list[float]] = {}
    for value in asked[np.isfinite(asked)].tolist():
        levels.setdefault(temper(value), []).append(value)
    return [
        Need(word, len(same) / 60, min(same) - PLAINLY, max(same) + PLAINLY, in_rest)
        for word, same in ((word, levels.get(word, [])) for word in WORDS)
        if len(same) / 60 >= LEAST_NEED
    ]


def _suffice(tracks: Sequence[Track], needs: Sequence[Need]) -> bool:
    """Whether what would be taken for any of these lasts as long as all of them."""
    missing = sum(need.minutes for need in needs)
    for track in tracks:
        if missing <= 0:
            break
        if any(need.takes(track) for need in needs):
            missing -= track.analysis.duration_s / 60
    return missing <= 0


def _lasts(tracks: Iterable[Track]) -> float:
    return sum(track.analysis.duration_s for track in tracks) / 60


def _row(row: _TemperRow, top: float, a_minute: float, width: float) -> Iterator[Element]:
    short = row.is_short
    yield pieces.text(2, top + 34, row.word, "name")
    yield pieces.text(LEFT, top + 15, row.said, "small short" if short else "small")
    yield pieces.line((LEFT, top + 20), (width - RIGHT, top + 20), "water")
    yield from _stones(row, top + 21, a_minute, width - RIGHT)
    if row.need:
        x = min(LEFT + row.need * a_minute, width - RIGHT)
        yield pieces.line((LEFT, top + 39), (x, top + 39), "need short" if short else "need")
        yield pieces.line((x, top + 20), (x, top + 42), "need short" if short else "need")


def _stones(row: _TemperRow, top: float, a_minute: float, right: float) -> Iterator[Element]:
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
