"""The large picture of a class: written out in rows like a text, breath for breath, with the music under each row.

By itself it carries the page's light colours; inside a page it takes whatever colours the page has. It is drawn for a
width, 1 unit a pixel, so that letters stay readable on a phone.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from xml.etree.ElementTree import Element

from audio.text import one_line
from pairing.model import Pick, SectionTime
from pairing.show import drawing, pieces
from pairing.show.glance import NAME_SIZE, described, place_names
from pairing.show.lane import Lane, breaths_a_wave, deepest, highest, ribbon, waves
from pairing.show.scene import Scene
from pairing.show.text import counted, length, title_of
from pairing.show.words import effort

LEAST_WIDTH, MOST_WIDTH = 300.0, 2600.0
NARROW = 640.0
ROW_MINUTES = (5, 10, 15, 20, 30, 45, 60, 90, 120, 240, 480, 1440, 4320)
MOST_ROWS = {False: 5, True: 8}  # wide and narrow, so that an hour is 4 rows and 6; editorial
LEAST_ROW = 0.04  # of a row: what is left over and shorter is shared out among the others; editorial
LEAST_WAVE = 5.0  # a breath narrower than this shares its wave
WAVES, RIBBON = 54.0, 26.0  # heights
NAME_ROW, TITLE_ROW = 16.0, 14.5
TITLE_SIZE = 13.0
LEFT, RIGHT = 60.0, 10.0
MOST_TITLE_ROWS = 3
LEAST_TITLE = 60.0  # a title cut to less says nothing; its number does; editorial


@dataclass(frozen=True, slots=True)
class _LaidOutRow:
    """One row as it is laid out."""

    lane: Lane
    end_s: float  # where what is drawn ends: the last row is seldom full
    high: float  # upper edge of its highest wave
    low: float  # lower edge of its music
    names: dict[int, tuple[float, int, str]]
    titles: tuple[tuple[float, int, tuple[str, ...]], ...]  # x, number, rows of words
    bottom: float


def class_picture(scene: Scene, width: float = 1000.0, *, heading: bool = False) -> Element:
    """Draw a class in rows.

    Each row is a group of class "row" with `data-start-s`, `data-end-s`, `data-left`, `data-right`, `data-top`,
    `data-ground`, `data-ribbon` and `data-bottom`, from which a moment's place follows; in it are groups with
    `data-section` and with `data-n`, which hold a part of class "touch" to press. A section or track that goes on in
    the next row has a group there too.
    """
    width = min(max(width, LEAST_WIDTH), MOST_WIDTH)
    top = 40.0 if heading else 4.0
    parts: list[Element] = list(_heading(scene, width)) if heading else []
    rows = list(_laid_out(scene, width, top))
    breaths = breaths_a_wave(scene, rows[0].lane.a_second, LEAST_WAVE)
    parts += [_drawn(scene, row, breaths) for row in rows]
    key, bottom = _key(scene, rows[-1].bottom + 8, width, breaths)
    return pieces.whole(width, bottom, "pc large", described(scene), [*parts, *key], breaths=breaths)


def _heading(scene: Scene, width: float) -> Iterator[Element]:
    took = length(scene.class_s)
    room = width - LEFT - RIGHT - drawing.text_width(took, 13) - 16
    yield pieces.text(LEFT, 24, drawing.fitted(one_line(scene.title), 20, room), "title")
    yield pieces.text(width - RIGHT, 24, took, "small", anchor="end")


def _laid_out(scene: Scene, width: float, top: float) -> Iterator[_LaidOutRow]:
    """Rows one below the other, each as high as its names and titles need."""
    whole_s = max(scene.end_s - scene.start_s, 1.0)
    most = MOST_ROWS[width < NARROW]
    row_s = 60.0 * next(minutes for minutes in ROW_MINUTES if whole_s / 60 <= minutes * most)
    count = math.ceil(round(whole_s / row_s, 6))
    if count > 1 and whole_s - (count - 1) * row_s < LEAST_ROW * row_s:
        count -= 1
        row_s = whole_s / count
    for index in range(count):
        start_s = scene.start_s + index * row_s
        row = _row(scene, start_s, start_s + row_s, width, top)
        yield row
        top = row.bottom + 14


def _row(scene: Scene, start_s: float, end_s: float, width: float, top: float) -> _LaidOutRow:
    begun = _beginning(scene, start_s, end_s)
    high = WAVES * highest(scene, start_s, end_s)
    for count in (1, 2, 3) if begun else (0,):
        ground = top + NAME_ROW * count + 8 + high
        lane = Lane(start_s, end_s, LEFT, width - RIGHT, ground - WAVES, ground, ground + 3, ground + 3 + RIBBON)
        names = place_names(begun, lane, count)
        if not any(words.endswith("…") for _, _, words in names.values()):
            break
    titles = tuple(_titles(scene, lane))
    low = deepest(scene, lane)
    bottom = low + 4 + TITLE_ROW * max((len(words) for _, _, words in titles), default=0)
    return _LaidOutRow(lane, min(end_s, scene.end_s), ground - high, low, names, titles, bottom)


def _beginning(scene: Scene, start_s: float, end_s: float) -> dict[int, SectionTime]:
    """Sections that begin in a row, by their index."""
    return {i: section for i, section in enumerate(scene.sections) if start_s <= section.start_s < end_s}


def _titles(scene: Scene, lane: Lane) -> Iterator[tuple[float, int, tuple[str, ...]]]:
    """Titles of the tracks that begin in a row, each in the room up to the next."""
    begun = list(_begun(scene, lane))
    for (pick, x), until in zip(begun, [*(x for _, x in begun), lane.right][1:], strict=True):
        words = f"{pick.n}. {title_of(pick)}"
        rows = drawing.wrapped(words, TITLE_SIZE, until - x - 8, MOST_TITLE_ROWS)
        if until - x < LEAST_TITLE and " ".join(rows) != words:
            rows = [str(pick.n)] if drawing.text_width(str(pick.n), TITLE_SIZE) <= until - x - 4 else []
        yield x, pick.n, tuple(rows)


def _begun(scene: Scene, lane: Lane) -> Iterator[tuple[Pick, float]]:
    """The tracks that are named in a row, and where: one that begins at the very end of a row is named in the next."""
    late_s = LEAST_TITLE / lane.a_second
    for index, pick in enumerate(scene.picks):
        at_s = pick.class_start_s + (pick.fade_in_s / 2 if index else 0.0)
        goes_on = min(pick.class_end_s, scene.end_s) - late_s / 2
        if lane.start_s - late_s < at_s < lane.start_s < goes_on:
            yield pick, lane.left
        elif lane.start_s <= at_s < lane.end_s and not (at_s > lane.end_s - late_s and lane.end_s < goes_on):
            yield pick, lane.x(at_s)


def _drawn(scene: Scene, row: _LaidOutRow, breaths: int) -> Element:
    lane = row.lane
    end = lane.x(row.end_s)
    parts = [
        pieces.text(LEFT - 6, lane.ground + 4, f"{lane.start_s / 60:.0f} min", "small", anchor="end"),
        *_sections(scene, row, waves(scene, lane, breaths)),
        pieces.line((lane.left, lane.ground), (end, lane.ground), "water"),
        *_ticks(lane, row.end_s),
        *ribbon(scene, lane),
        *_words(row),
    ]
    return pieces.group(
        parts,
        "row",
        start_s=lane.start_s,
        end_s=lane.end_s,
        left=lane.left,
        right=lane.right,
        top=row.high,
        ground=lane.ground,
        ribbon=lane.ribbon,
        bottom=lane.bottom,
        low=row.low,
    )


def _sections(scene: Scene, row: _LaidOutRow, drawn: Sequence[Element]) -> Iterator[Element]:
    lane = row.lane
    for index, section in enumerate(scene.sections):
        if section.end_s <= lane.start_s or section.start_s >= lane.end_s:
            continue
        left, right = lane.x(max(section.start_s, lane.start_s)), lane.x(min(section.end_s, lane.end_s))
        parts = [
            pieces.box(left, row.high - 6, right - left, lane.ground - row.high + 6, "touch"),
            *(wave for wave in drawn if wave.get("data-section") == str(index)),
            pieces.box(left + 1, lane.ground - 1.5, right - left - 2, 2.5, "mark"),
        ]
        if section.start_s >= lane.start_s:
            parts.insert(1, pieces.line((left, row.high - 4), (left, lane.ground), "edge"))
        if index in row.names:
            x, tier, name = row.names[index]
            y = row.high - 6 - NAME_ROW * (max(t for _, t, _ in row.names.values()) - tier)
            parts += _name(section, x, y, name, row)
        yield pieces.group(
            parts, f"section {section.kind.value}", section=index, start_s=section.start_s, end_s=section.end_s
        )


def _name(section: SectionTime, x: float, y: float, name: str, row: _LaidOutRow) -> Iterator[Element]:
    """A section's name, and behind it how hard it is and how long it takes, as far as there is room."""
    yield pieces.text(x, y, name, "name")
    tier = next(t for at, t, _ in row.names.values() if at == x)
    after = x + drawing.text_width(name, NAME_SIZE) + 6
    until = min([row.lane.right, *(at - 8 for at, t, _ in row.names.values() if t == tier and at > x)])
    took = length(section.end_s - section.start_s)
    for words in (f"{effort(section.mean_mets)}, {took}", effort(section.mean_mets)):
        if after + drawing.text_width(words, 13) <= until:
            yield pieces.text(after, y, words, "small")
            return


def _ticks(lane: Lane, end_s: float) -> Iterator[Element]:
    """A stroke across the ground each five minutes of the class."""
    for at_s in range(300 * math.ceil(lane.start_s / 300), int(end_s) + 1, 300):
        if lane.start_s < at_s < lane.end_s:
            yield pieces.line((lane.x(at_s), lane.ground), (lane.x(at_s), lane.ground + 3), "tick")


def _words(row: _LaidOutRow) -> Iterator[Element]:
    for x, n, rows in row.titles:
        for index, words in enumerate(rows):
            text = pieces.text(x, row.low + 14 + TITLE_ROW * index, words, "song")
            yield pieces.told(text, n=n)


# ---- what the shapes mean ----------------------------------------------------------------------------------------


def _key(scene: Scene, top: float, width: float, breaths: int) -> tuple[list[Element], float]:
    """The shapes with their meaning, in as many rows as they need."""
    each = "one breath" if breaths == 1 else counted(breaths, "breath", "breaths")
    entries = [("both", f"{each}: the higher, the harder"), ("right", "right side"), ("left", "left side")]
    if any(section.kind.value == "peak" for section in scene.sections):
        entries.append(("peak", "peak"))
    if scene.picks:
        entries += [("ribbon", "the music: the deeper, the livelier"), ("knot", "one track into the next")]
    entries.append(("asked", "what the class asks of it" if scene.picks else "how lively the music should be"))
    if scene.fitted is not None:
        entries.append(("fitted", "the same, fitted to your music"))
    if scene.bells_s:
        entries.append(("bell", "bell"))
    parts: list[Element] = []
    x, y = LEFT, top
    for style, words in entries:
        wide = 32 + drawing.text_width(words, 13) + 14
        if x + wide > width - RIGHT and x > LEFT:
            x, y = LEFT, y + 20
        parts += [_sample(style, x, y), pieces.text(x + 32, y + 13, words, "small")]
        x += wide
    return parts, y + 24


def _sample(style: str, x: float, y: float) -> Element:
    if style in ("asked", "fitted"):
        return pieces.line((x, y + 9), (x + 26, y + 9), style)
    if style == "ribbon":
        edge = f"V{y + 9:.1f}Q{x + 13:.1f} {y + 20:.1f} {x:.1f} {y + 7:.1f}Z"
        return pieces.path(f"M{x:.1f} {y + 2:.1f}H{x + 26:.1f}{edge}", style)
    if style == "knot":
        return pieces.oval(x + 13, y + 8, 5, 3.4, style)
    if style == "bell":
        return pieces.path(f"M{x + 9:.1f} {y + 15:.1f}Q{x + 13:.1f} {y - 6:.1f} {x + 17:.1f} {y + 15:.1f}Z", style)
    hump = "c4 0 3 -13 6.5 -13s2.5 10 6.5 10s3 -10 6.5 -10s2.5 13 6.5 13z"
    return pieces.path(f"M{x:.1f} {y + 15:.1f}{hump}", f"waves {style} right" if style == "peak" else f"waves {style}")
