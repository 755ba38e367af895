"""The class's picture for the page: the sheet's drawing, and where things lie in it, for hands to point at."""

import re
from collections.abc import Sequence

from audio.track import Track
from pairing.effort.planned import Planned
from pairing.model import SetList
from pairing.page.values import Json
from pairing.show import drawing, picture
from pairing.show.axes import Frame, Size
from pairing.show.glance import strip_picture
from pairing.show.scene import Scene

SMOOTHED_S = 8.0  # as the music's curve of the picture


def set_picture(setlist: SetList, known: Planned | None, tracks: Sequence[Track], size: Size) -> Json:
    """The drawing of a set and its geometry."""
    lengths = {track.id: track.analysis.duration_s for track in tracks}
    felt = known.arc.felt_mets if known else None
    svg = picture.set_drawing(setlist, size, felt_mets=felt, lengths_s=lengths)
    frame = picture.set_frame(setlist, size, with_effort=felt is not None)
    return {
        "svg": _plain(svg, "class"),
        **_geometry(frame),
    }


def plan_picture(known: Planned, size: Size) -> Json:
    """The drawing of a plan without music."""
    svg = picture.plan_drawing(known.timetable, known.arc, known.plan.title, size)
    frame = picture.plan_frame(known.timetable, size)
    return {"svg": _plain(svg, "plan"), **_geometry(frame)}


def set_strip(setlist: SetList, known: Planned | None, width: float) -> str:
    """The strip that is always in sight, of a class with its music."""
    return strip_picture(Scene.of_set(setlist, known.timetable, known.arc) if known else Scene.of_set(setlist), width)


def plan_strip(known: Planned, width: float) -> str:
    """The same of a class that has no music yet."""
    return strip_picture(Scene.of_plan(known.timetable, known.arc, known.plan.title), width)


def ghost(setlist: SetList) -> Json:
    """The music's energy in a set that might be: means of so many seconds each, for the page to draw."""
    curve = setlist.played_energy
    middles, means = drawing.thinned(curve, max(int(curve.size / SMOOTHED_S), 2))
    return {
        "step_s": 2 * float(middles[0]),
        "energy": [None if value != value else round(value, 3) for value in means.tolist()],
    }


def _geometry(frame: Frame) -> Json:
    size = frame.size
    return {
        "width": size.width, "height": frame.bottom, "left": size.left, "right": size.width - size.right,
        "start_s": frame.start_s, "end_s": frame.end_s, "top": frame.plot_top, "floor": frame.floor,
        "energy_height": size.plot - 6, "bottom": frame.strip_top + size.strip,
    }  # fmt: skip


def _plain(svg: str, prefix: str) -> str:
    """Without the tips of a pointer, which would stand in the way of what a hand does, and with ids of its own."""
    svg = re.sub(r"<title>[^<]*</title>", "", svg)
    return re.sub(r'(?<=["# ])(?=[a-z]-(?:t|d|hatch)\b)', f"{prefix}-", svg)
