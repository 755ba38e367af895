"""The picture of a class: its arc with the music on it, effort, sections, and the tracks as a strip.

One drawing serves all: SVG 1.1 with classes. By itself it carries the page's light colours; inside the page
it takes whatever colours the page has. Two widths exist, so that letters stay readable on a phone: the wide one (A4,
screens) and the narrow one, which names tracks by number only. On paper the wide one is flatter and has numbers too:
the table below it names the tracks, so that each title stands there once.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from importlib.resources import as_file, files
from xml.etree.ElementTree import Element

import numpy as np

from audio.text import clock, one_line
from pairing.constants import MODERATE_METS, VIGOROUS_METS
from pairing.model import Arc, Curve, Kind, Rest, SectionTime, SetList, Timetable
from pairing.show import drawing, pieces
from pairing.show.axes import Frame, Size
from pairing.show.drawing import Point
from pairing.show.rows import class_picture
from pairing.show.scene import Scene
from pairing.show.strip import strip
from pairing.show.text import length

NAME_SIZE = 16.0  # as wide as the bold 14 of the style is taken, and its 15 on paper
TURNED = 108.0  # a name that reads upwards is cut where it would be longer; editorial
NOTICED = 0.02  # the arc fitted to the music is drawn where it differs by more on average; editorial
SMOOTHED_S = 8.0  # the music's curve is drawn as means of about this long; editorial


def picture_svg(scene: Scene, width: float = 1000.0) -> str:
    """Draw a class as an SVG that stands by itself."""
    made = class_picture(scene, width, heading=True)
    title, style = Element("title"), Element("style")
    title.text, style.text = one_line(scene.title) or "A class", _style()
    made.insert(0, title)
    made.insert(1, style)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + pieces.as_text(made)


def picture_png(svg: str, width: int = 1600) -> bytes:
    """Turn one of our SVGs into a PNG `width` pixels wide, with letters of the font that is in the package.

    Letters that the font lacks (other scripts, emoji) come from the fonts of the machine, where it has them.
    """
    import resvg_py

    with as_file(files("pairing.show") / "fonts") as fonts:
        return bytes(
            resvg_py.svg_to_bytes(
                svg_string=svg, width=width, background="#ffffff", font_dirs=[str(fonts)],
                font_family="Atkinson Hyperlegible", sans_serif_family="Atkinson Hyperlegible",
            )
        )  # fmt: skip


def standing(svg: str) -> str:
    """Give a drawing its own colours, so that it can stand outside the page."""
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + svg.replace("<defs>", f"<style>{_style()}</style><defs>", 1)


@cache
def _style() -> str:
    """The page's style of pictures with its light colours put in, since not every viewer knows CSS variables."""
    templates = files("pairing.show") / "templates"
    light = (templates / "page.css").read_text(encoding="utf-8").partition("}")[0]
    colours = dict(re.findall(r"(--[a-z]+):(#[0-9a-f]+)", light))
    style = (templates / "picture.css").read_text(encoding="utf-8")
    font = '.pc text{font-family:"Atkinson Hyperlegible","Segoe UI","Helvetica Neue",Roboto,Arial,sans-serif}\n'
    return font + re.sub(r"var\((--[a-z]+)\)", lambda match: colours[match[1]], style)


def set_drawing(
    setlist: SetList,
    size: Size,
    *,
    heading: bool = False,
    felt_mets: Curve | None = None,
    lengths_s: Mapping[int, float] | None = None,
) -> str:
    """Draw a set without colours, to stand in a page that has them."""
    picks = setlist.picks
    frame = set_frame(setlist, size, heading=heading, with_effort=felt_mets is not None)
    parts = [
        *_bands(frame, setlist.sections),
        *_energy_axis(frame),
        *_music(frame, setlist.played_energy),
        *_fitted_arc(frame, setlist),
        *_arc(frame, setlist.arc),
        *_bells(frame, setlist.rest),
        *_effort(frame, felt_mets),
        *_minutes(frame),
        *strip(frame, picks, lengths_s or {}),
        *_labels(frame, setlist.arc, setlist.played_energy, setlist.target_energy if is_fitted(setlist) else None),
        *_names(frame, setlist.sections),
        *_heading(frame, setlist.title, setlist.class_s, heading),
    ]
    return _svg(frame, setlist.title, _described(setlist.sections, setlist.arc, len(picks)), parts)


def plan_drawing(timetable: Timetable, arc: Arc, title: str, size: Size, *, heading: bool = False) -> str:
    """Draw a plan without colours."""
    frame = plan_frame(timetable, size, heading=heading)
    parts = [
        *_bands(frame, timetable.sections),
        *_energy_axis(frame),
        *_arc(frame, arc.target_energy),
        *_effort(frame, arc.felt_mets),
        *_minutes(frame),
        *_labels(frame, arc.target_energy, None),
        *_names(frame, timetable.sections),
        *_heading(frame, title, timetable.duration_s, heading),
    ]
    return _svg(frame, title, _described(timetable.sections, arc.target_energy, 0), parts)


def set_frame(setlist: SetList, size: Size, *, heading: bool = False, with_effort: bool) -> Frame:
    """Where things lie in the drawing of a set, for those who lay something over it."""
    picks = setlist.picks
    start = min(0.0, *(p.class_start_s for p in picks)) if picks else 0.0
    end = max(setlist.class_s, *(p.class_end_s for p in picks)) if picks else setlist.class_s
    frame = Frame(size, start, end, 34 if heading else 0, with_effort, bool(picks))
    return _with_names(frame, setlist.sections)


def plan_frame(timetable: Timetable, size: Size, *, heading: bool = False) -> Frame:
    """Where things lie in the drawing of a plan."""
    frame = Frame(size, 0.0, max(timetable.duration_s, 1.0), 34 if heading else 0, True, False)
    return _with_names(frame, timetable.sections)


def _svg(frame: Frame, title: str, description: str, parts: Sequence[str]) -> str:
    width, height, name = frame.size.width, frame.bottom, frame.size.id
    hatch = (
        f'<defs><pattern id="{name}-hatch" width="7" height="7" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><path class="hatch" d="M0 0V7"/></pattern></defs>'
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="pc" viewBox="0 0 {width:.0f} {height:.0f}" role="img" '
        f'aria-labelledby="{name}-t {name}-d"><title id="{name}-t">{drawing.escaped(title)}</title>'
        f'<desc id="{name}-d">{drawing.escaped(description)}</desc>{hatch}'
        f"{drawing.box(0, 0, width, height, 'paper')}{''.join(parts)}</svg>"
    )


def _heading(frame: Frame, title: str, class_s: float, wanted: bool) -> list[str]:
    if not wanted:
        return []
    room = frame.size.width - frame.size.left - 120
    return [
        drawing.text(frame.size.left, 22, drawing.fitted(one_line(title), 19, room), "title"),
        drawing.text(frame.size.width - frame.size.right, 22, length(class_s), "small", anchor="end"),
    ]


def _bands(frame: Frame, sections: Sequence[SectionTime]) -> list[str]:
    parts = []
    for index, section in enumerate(sections):
        x, width = frame.x(section.start_s), frame.x(section.end_s) - frame.x(section.start_s)
        height = frame.bottom - frame.top
        if section.kind == Kind.REST:
            parts += [
                drawing.box(x, frame.top, width, height, "restband"),
                drawing.box(x, frame.top, width, height, "", fill=f"{frame.size.id}-hatch"),
                drawing.line((x, frame.top), (x, frame.bottom), "restedge"),
            ]
        else:
            parts.append(drawing.box(x, frame.top, width, height, "bandless" if index % 2 else "band"))
    return parts


def _with_names(frame: Frame, sections: Sequence[SectionTime]) -> Frame:
    """Make room above the curves for the names of the sections, which never lie on them."""
    rows = [_name(section, _room(frame, section)) for section in sections]
    heights = [
        max(drawing.text_width(row, NAME_SIZE) for row in words) + 10 if turned else 16.0 * len(words) + 10
        for words, turned in rows
        if words
    ]
    return replace(frame, names=max(heights, default=0.0))


def _room(frame: Frame, section: SectionTime) -> float:
    return frame.x(section.end_s) - frame.x(section.start_s) - 8


def _name(section: SectionTime, room: float) -> tuple[list[str], bool]:
    """A section's name in the rows that its room allows, or in rows that read upwards (then True)."""
    name = one_line(section.name)
    if drawing.text_width(name, NAME_SIZE) <= room:
        return [name, _under(section, name, room)], False
    rows = drawing.wrapped(name, NAME_SIZE, room, 3)
    if " ".join(rows) == name or room > TURNED:
        return rows, False
    return (drawing.wrapped(name, NAME_SIZE, TURNED, 2 if room > 26 else 1) if room > 4 else []), True


def _names(frame: Frame, sections: Sequence[SectionTime]) -> list[str]:
    parts: list[str] = []
    for section in sections:
        room = _room(frame, section)
        x = frame.x(section.start_s) + 5
        rows, turned = _name(section, room)
        if turned:
            first = x + room / 2 + 5 - 8 * (len(rows) - 1)
            parts += [
                drawing.text(first + 16 * row, frame.plot_top - 6, words, "name", turned=True)
                for row, words in enumerate(rows)
            ]
        else:
            under = drawing.text_width(one_line(section.name), NAME_SIZE) <= room
            styles = ["name", "small" if under else "name", "name"]
            parts += [
                drawing.text(x, frame.top + 17 + 16 * row, words, style)
                for row, (words, style) in enumerate(zip(rows, styles, strict=False))
            ]
    return parts


def _under(section: SectionTime, name: str, room: float) -> str:
    """What stands under a section's name: its kind and its length, as far as there is room."""
    kind = section.kind.value if section.kind.value != name.lower() else ""
    took = clock(section.end_s - section.start_s)
    words = (f"{kind}, {took}" if kind else took, took)
    return next((word for word in words if drawing.text_width(word, 12.5) <= room), "")


def _energy_axis(frame: Frame) -> list[str]:
    parts = []
    for value, word in ((0.0, "still"), (0.25, ""), (0.5, "50 %"), (0.75, ""), (1.0, "full")):
        y = frame.energy(value)
        parts.append(drawing.line((frame.size.left, y), (frame.size.width - frame.size.right, y), "grid"))
        if word:
            parts.append(drawing.text(frame.size.left - 5, y + 4, word, "small", anchor="end"))
    return parts


def _points(frame: Frame, values: Curve) -> list[Point]:
    """A curve as points of the drawing across, values up, no denser than eye and paper need."""
    across = frame.x(float(values.size)) - frame.x(0.0)
    middles, means = drawing.thinned(values, int(min(values.size / SMOOTHED_S, across / 2)))
    start, second = frame.x(0.0), frame.x(1.0) - frame.x(0.0)
    return [(start + float(t) * second, float(v)) for t, v in zip(middles, means, strict=True)]


def _music(frame: Frame, played: Curve) -> list[str]:
    points = [(x, frame.energy(v)) for x, v in _points(frame, played)]
    return [drawing.curve(points, "music", frame.floor), drawing.curve(points, "musicedge")]


def _arc(frame: Frame, target: Curve) -> list[str]:
    points = [(x, frame.energy(v)) for x, v in _points(frame, target)]
    return [drawing.curve(points, "arc")]


def is_fitted(setlist: SetList) -> bool:
    """Whether the music's range forced the arc into another shape, which is then drawn too."""
    apart = np.abs(setlist.target_energy - setlist.arc)
    return bool(np.isfinite(apart).any() and np.nanmean(apart) > NOTICED)


def _fitted_arc(frame: Frame, setlist: SetList) -> list[str]:
    if not is_fitted(setlist):
        return []
    points = [(x, frame.energy(v)) for x, v in _points(frame, setlist.target_energy)]
    return [drawing.curve(points, "fitted")]


def _bells(frame: Frame, rest: Rest | None) -> list[str]:
    parts = []
    for at_s in rest.bells_s if rest else ():
        x, y = frame.x(at_s), frame.floor - 9
        parts.append(drawing.shape([(x, y - 7), (x + 5, y), (x, y + 7), (x - 5, y)], "bell", f"bell at {clock(at_s)}"))
    return parts


def _effort(frame: Frame, felt: Curve | None) -> list[str]:
    if felt is None:
        return []
    right = frame.size.width - frame.size.right
    y = frame.mets(MODERATE_METS)
    points = [(x, frame.mets(min(v, VIGOROUS_METS))) for x, v in _points(frame, felt)]
    label = f"effort felt, {float(np.nanmax(felt)):.1f} METs at most" if felt.size else "effort felt"
    return [
        drawing.line((frame.size.left, frame.effort_floor), (right, frame.effort_floor), "axis"),
        drawing.line((frame.size.left, y), (right, y), "grid"),
        drawing.text(frame.size.left - 5, y + 4, "3 METs" if frame.size.wide else "3", "small", anchor="end"),
        drawing.curve(points, "effort"),
        drawing.text(frame.size.left + 5, frame.floor + 20, label, "ofeffort halo"),
    ]


def _minutes(frame: Frame) -> list[str]:
    step = next(m for m in (frame.size.minutes, 10, 15, 20, 30, 60, 10**6) if _fits(frame, m))
    parts = [
        drawing.line((frame.size.left, frame.floor), (frame.size.width - frame.size.right, frame.floor), "axis"),
    ]
    for minute in range(int(-(-frame.start_s // 60)), int((frame.end_s + 0.5) // 60) + 1):
        x, long = frame.x(minute * 60.0), minute % step == 0
        parts.append(drawing.line((x, frame.effort_floor), (x, frame.effort_floor + (6 if long else 3)), "axis"))
        if long:
            word, anchor = ("0 min", "start") if minute == 0 else (str(minute), "middle")
            if x > frame.size.width - frame.size.right - 6:
                anchor = "end"
            parts.append(drawing.text(x, frame.effort_floor + 19, word, "small halo", anchor=anchor))
    return parts


def _fits(frame: Frame, minutes: int) -> bool:
    return frame.x(minutes * 60.0) - frame.x(0.0) >= 32 or minutes >= 10**6


def _labels(frame: Frame, target: Curve, played: Curve | None, fitted: Curve | None = None) -> list[str]:
    """Names at the curves themselves: the arc's above it where it is least in the way, the music's inside its area."""
    parts = []
    arc = _points(frame, target)
    if np.isfinite(target).any():
        others = [point for curve in (played, fitted) if curve is not None for point in _points(frame, curve)]
        x, y = _free_place(frame, arc, others)
        parts.append(drawing.text(x, y, "the arc", "ofarc halo", anchor="middle"))
    if played is not None and np.isfinite(played).any():
        top = int(np.argmax(np.convolve(np.nan_to_num(played), np.ones(120) / 120, mode="same")))
        x = min(max(frame.x(top), frame.size.left + 45), frame.size.width - frame.size.right - 45)
        parts.append(drawing.text(x, frame.floor - 12, "the music", "ofmusic", anchor="middle"))
    return parts


def _free_place(frame: Frame, arc: list[Point], others: list[Point]) -> Point:
    """Where a short label lies just above the arc and clear of the other curves, as high up as may be."""
    half = 32.0
    xs, values = np.array([point for point in (*arc, *others) if not np.isnan(point[1])]).T
    best, where = np.inf, (frame.x(0) + half, frame.plot_top)
    for x, value in arc:
        if np.isnan(value) or not frame.size.left + half <= x <= frame.size.width - frame.size.right - half:
            continue
        under = float(values[np.abs(xs - x) <= half].max())
        y = max(frame.energy(under) - 7, frame.plot_top + 8)
        score = abs(frame.energy(value) - 7 - y) + 40 * (1 - value)
        if score < best:
            best, where = score, (x, y)
    return where


def _described(sections: Sequence[SectionTime], target: Curve, tracks: int) -> str:
    """The picture in words, for those who hear it."""
    if not target.size or not np.isfinite(target).any():
        return "No music is asked for."
    top = int(np.nanargmax(target))
    where = next((s.name for s in sections if s.start_s <= top < s.end_s), "")
    names = ", ".join(f"{s.name} at {clock(s.start_s)}" for s in sections)
    music = f" {tracks} tracks cover it." if tracks else ""
    return f"Sections: {names}. The arc is highest, {target[top]:.0%}, at {clock(top)} in {where}.{music}"
