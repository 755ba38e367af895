"""The class's picture for the page: the sheet's drawing, and where things lie in it, for hands to point at."""

import re
from collections.abc import Sequence

import numpy as np

from audio.track import Track
from pairing.effort.planned import Planned
from pairing.model import Curve, SetList
from pairing.page.values import Json, harmless
from pairing.show import drawing, picture
from pairing.show.axes import NARROW, WIDE, Frame, Size
from pairing.show.text import title_of

SIZES = {"wide": WIDE, "narrow": NARROW}
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
        "picks": _places(frame, setlist),
        "wishes": _wishes(frame, setlist),
    }


def plan_picture(known: Planned, size: Size) -> Json:
    """The drawing of a plan without music."""
    svg = picture.plan_drawing(known.timetable, known.arc, known.plan.title, size)
    frame = picture.plan_frame(known.timetable, size)
    return {"svg": _plain(svg, "plan"), **_geometry(frame), "picks": [], "wishes": []}


def ghost(setlist: SetList) -> Json:
    """The music's energy in a set that might be: means of so many seconds each, for the page to draw."""
    curve = setlist.played_energy
    middles, means = drawing.thinned(curve, max(int(curve.size / SMOOTHED_S), 2))
    return {
        "step_s": 2 * float(middles[0]),
        "energy": [None if value != value else round(value, 3) for value in means.tolist()],
    }


def track_picture(track: Track, width: float = 560.0, height: float = 90.0) -> Json:
    """Energy and likely voice of a track over time, as paths, with its cut points."""
    known = track.analysis
    assert known is not None
    step = width / max(known.duration_s, 1.0)
    return {
        "width": width,
        "height": height,
        "energy": _path(known.energy, step, height),
        "voice": _path(np.where(known.voice >= 0.5, 0.06, np.nan), step, height),
        "cuts": [round(point.at_s * step, 1) for point in known.cut_points if point.enter_cost <= 0.3],
    }


def _path(values: Curve, step: float, height: float) -> str:
    middles, means = drawing.thinned(np.asarray(values, np.float32), 280)
    points = [
        (float(at) * step, height - float(value) * (height - 4)) for at, value in zip(middles, means, strict=True)
    ]
    found = re.search(r' d="([^"]*)"', drawing.curve(points, "energy", height))
    return found[1] if found else ""


def _geometry(frame: Frame) -> Json:
    size = frame.size
    return {
        "width": size.width, "height": frame.bottom, "left": size.left, "right": size.width - size.right,
        "start_s": frame.start_s, "end_s": frame.end_s, "top": frame.plot_top, "floor": frame.floor,
        "energy_height": size.plot - 6, "strip_top": frame.strip_top, "strip": size.strip,
    }  # fmt: skip


def _places(frame: Frame, setlist: SetList) -> list[Json]:
    return [
        {
            "n": pick.n,
            "title": title_of(pick),
            "x": round(frame.x(pick.class_start_s), 1),
            "width": round(frame.x(pick.class_end_s) - frame.x(pick.class_start_s), 1),
            "start_s": pick.class_start_s,
            "pinned": pick.pinned,
        }
        for pick in setlist.picks
    ]


def _wishes(frame: Frame, setlist: SetList) -> list[Json]:
    """Where each section's wish for energy lies: the mean of its arc."""
    found = []
    for index, section in enumerate(setlist.sections):
        arc = setlist.arc[int(section.start_s) : int(section.end_s)]
        if not np.isfinite(arc).any():
            continue
        mean = float(np.nanmean(arc))
        found.append(
            {
                "section": index,
                "name": harmless(section.name),
                "percent": round(100 * mean),
                "x": round(frame.x(section.start_s), 1),
                "width": round(frame.x(section.end_s) - frame.x(section.start_s), 1),
                "y": round(frame.energy(mean), 1),
            }
        )
    return found


def _plain(svg: str, prefix: str) -> str:
    """Without the tips of a pointer, which would stand in the way of what a hand does, and with ids of its own."""
    svg = re.sub(r"<title>[^<]*</title>", "", svg)
    return re.sub(r'(?<=["# ])(?=[a-z]-(?:t|d|hatch)\b)', f"{prefix}-", svg)
