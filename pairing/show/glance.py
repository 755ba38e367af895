"""The class at a glance: a strip 120 high, 135 where its names need a third row, in sight wherever one is."""

from collections.abc import Mapping
from xml.etree.ElementTree import Element

import numpy as np

from audio.text import clock, one_line
from pairing.model import Kind, SectionTime
from pairing.show import drawing, pieces
from pairing.show.lane import Lane, breaths_a_wave, names_of_tracks, ribbon, waves
from pairing.show.scene import Scene

NAME_ROW = 15.0
LEAST_WIDTH, MOST_WIDTH = 280.0, 2600.0
NARROW = 640.0  # below, waves may be finer; editorial
NAME_SIZE, SMALL_SIZE = 14.5, 12.0  # as wide as the letters of picture.css are taken
MARGIN = 10.0
GAP = 8.0  # between two names
BELOW = 18.0  # the music: the minutes
LEAST_NAME = 34.0  # a name cut to less says nothing; editorial
Names = dict[int, tuple[float, int, str]]  # x, row and words by a section's index


def strip_picture(scene: Scene, width: float = 1440.0) -> str:
    """Draw a class 120 to 135 high and `width` wide, 1 unit a pixel, so that its letters stay legible.

    Parts carry `data-section` (index, from 0) and `data-n` (number of a track); on the root stand `data-left`,
    `data-right`, `data-start-s`, `data-end-s`, `data-top` and `data-bottom`, from which a moment's place follows. A
    group that is given the class "changed" is marked; parts of class "touch" take presses.
    """
    width = min(max(width, LEAST_WIDTH), MOST_WIDTH)
    lane, named = _lane_with_names(scene, width)
    count = breaths_of(scene, width)
    parts = [
        *_sections(scene, lane, waves(scene, lane, count), named),
        pieces.line((lane.left, lane.ground), (lane.right, lane.ground), "water"),
        *ribbon(scene, lane, fitted=False),
        *_minutes(scene, lane),
    ]
    return pieces.as_text(
        pieces.whole(
            width,
            lane.bottom + BELOW,
            "pc strip",
            described(scene),
            parts,
            left=lane.left,
            right=lane.right,
            start_s=scene.start_s,
            end_s=scene.end_s,
            top=lane.top,
            bottom=lane.bottom,
            breaths=count,
        )
    )


def breaths_of(scene: Scene, width: float) -> int:
    """How many breaths a wave of a strip of this width stands for."""
    a_second = (width - 2 * MARGIN) / (scene.end_s - scene.start_s)
    return breaths_a_wave(scene, a_second, 8.0 if width >= NARROW else 6.0)


def described(scene: Scene) -> str:
    """The picture in words, for those who hear it."""
    names = ", ".join(f"{section.name} at {clock(section.start_s)}" for section in scene.sections)
    title = one_line(scene.title) or "A class"
    music = f" Music: {names_of_tracks(scene.picks)}." if scene.picks else ""
    if not scene.asked.size or not np.isfinite(scene.asked).any():
        return f"{title}. Sections: {names}. It asks for no music.{music}"
    top = int(np.nanargmax(scene.asked))
    where = scene.section_at(top)
    place = f" in {where.name}" if where else ""
    return f"{title}. Sections: {names}. The liveliest music is asked for at {clock(top)}{place}.{music}"


def _lane_with_names(scene: Scene, width: float) -> tuple[Lane, Names]:
    """Names take a second row only where one can't hold them whole, and a third, above, where two leave one out."""
    for rows in (1, 2, 3):
        more = NAME_ROW * max(rows - 2, 0)
        top = 6.0 + NAME_ROW * rows
        lane = Lane(scene.start_s, scene.end_s, MARGIN, width - MARGIN, top, 72.0 + more, 75.0 + more, 102.0 + more)
        named = place_names(dict(enumerate(scene.sections)), lane, rows)
        is_cut = any(words.endswith("…") for _, _, words in named.values())
        if len(named) == len(scene.sections) and not (is_cut and rows == 1):
            break
    return lane, named


def _sections(scene: Scene, lane: Lane, drawn: list[Element], named: Names) -> list[Element]:
    """Each section a group: its ground to press, its waves, its name."""
    found = []
    for index, section in enumerate(scene.sections):
        left, right = lane.x(section.start_s), lane.x(section.end_s)
        parts = [
            pieces.box(left, 0, right - left, lane.ground, "touch"),
            pieces.line((left, lane.top - 3), (left, lane.ground), "edge"),
            *(wave for wave in drawn if wave.get("data-section") == str(index)),
            pieces.box(left + 1, lane.ground - 1.5, right - left - 2, 2.5, "mark"),
        ]
        if index in named:
            x, row, name = named[index]
            parts.append(pieces.text(x, 13.0 + NAME_ROW * row, name, "name"))
        style = f"section {section.kind.value}"
        found.append(pieces.group(parts, style, section=index, start_s=section.start_s, end_s=section.end_s))
    return found


def place_names(sections: Mapping[int, SectionTime], lane: Lane, rows: int) -> Names:
    """Where the names of sections can stand so that none lies on another: x, row and the words, by index.

    Peak and rest come first, then the longest. A name goes beyond its section where there is room, and is left out
    where it would be cut to a stump.
    """
    taken: list[list[tuple[float, float]]] = [[] for _ in range(rows)]
    found: Names = {}
    order = sorted(sections, key=lambda index: _later(sections[index]))
    for allowed in (False, True):  # whole first, then cut
        for index in order:
            if index in found:
                continue
            name = one_line(sections[index].name)
            place = _free(lane, sections[index], name, taken, allowed)
            if place:
                x, row, words = place
                taken[row].append((x, x + drawing.text_width(words, NAME_SIZE)))
                found[index] = place
    return found


def _free(
    lane: Lane, section: SectionTime, name: str, taken: list[list[tuple[float, float]]], cut: bool
) -> tuple[float, int, str] | None:
    wanted = drawing.text_width(name, NAME_SIZE)
    start = lane.x(section.start_s) + 2
    for row, others in enumerate(taken):
        x = max(min(start, lane.right - wanted), lane.left) if not cut else start
        room = min([lane.right, *(left - GAP for left, _ in others if left > x)]) - x
        if any(left - GAP < x < right + GAP for left, right in others):
            continue
        if wanted <= room + 0.01:
            return x, row, name
        if cut and room >= LEAST_NAME and (words := drawing.fitted(name, NAME_SIZE, room)):
            return x, row, words
    return None


def _later(section: SectionTime) -> tuple[bool, float]:
    return section.kind not in (Kind.PEAK, Kind.REST), section.start_s - section.end_s


def _minutes(scene: Scene, lane: Lane) -> list[Element]:
    """Some minutes below, the last with its unit."""
    step = next(m for m in (5, 10, 15, 20, 30, 60, 120, 240, 10**6) if m * 60 * lane.a_second >= 60 or m == 10**6)
    parts = []
    for minute in range(0, int((scene.end_s + 0.5) // 60) + 1, step):
        x = lane.x(minute * 60.0)
        if x > lane.right - 16:
            continue
        words, anchor = ("0 min", "start") if minute == 0 else (str(minute), "middle")
        parts.append(pieces.line((x, lane.bottom + 5), (x, lane.bottom + 8), "tick"))
        parts.append(pieces.text(x, lane.bottom + BELOW - 2, words, "small", anchor=anchor))
    return parts
