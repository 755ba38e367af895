"""Small shapes beside a track's name: its course, how it would lie under the class, how calm it is.

The same ribbon as under the class: it hangs from a line, the deeper the livelier. Above the line stand the beats where
there are any; below runs a wave where somebody sings; slits show where the track can be cut.
"""

from collections.abc import Iterator
from xml.etree.ElementTree import Element

import numpy as np

from audio.arrays import F64
from audio.text import clock
from audio.track import Analysis, Track
from pairing.alignment import marks
from pairing.alignment.sedative import FASTEST_BPM, LIVELIEST_MOMENT, felt_bpm, has_clear_beat, is_fit
from pairing.model import Curve, Pick
from pairing.show import pieces
from pairing.show.drawing import NO_POINTS, Value, clipped, thinned
from pairing.show.words import temper, voice

WIDTH, HEIGHT = 160.0, 32.0
TOP, DEEP, SUNG_AT = 8.0, 25.0, 29.0  # the line, the lower edge of the liveliest, the wave of a voice
CLEAN_CUT = 0.3  # cost of entering or leaving from which on one hears a cut; editorial
LEAST_APART = 5.0  # between two slits
BEAT_APART = 3.5  # between two strokes, each of which then stands for several beats
THREAD = 1.5
SWELL = 6.0  # length of the wave of a voice
ZOOM = 1.4  # a rest's music is drawn deeper than it is, so that small rises are seen


def track_shape(track: Track, pick: Pick | None = None, *, width: float = WIDTH) -> str:
    """A track from its first second to its last; of a pick, only the part that plays is filled."""
    known = track.analysis
    across = _Across(0.0, max(known.duration_s, 1.0), width)
    energy = marks.energy(track)
    if pick is None:
        ribbon = pieces.curve(_course(energy, across), "ribbon", TOP)
    else:
        inside = (across.x(pick.track_start_s), across.x(pick.track_end_s))
        ribbon = [
            *pieces.curve(_course(energy, across), "outline", TOP),
            *pieces.curve(clipped(_course(energy, across), *inside), "ribbon", TOP),
        ]
    parts = [_line(width), *ribbon, *_slits(known, energy, across), *_beats(track, across), *_sung(known, across)]
    return _drawn(width, "pc shape", _said(track, energy), parts)


def offer_shape(track: Track, pick: Pick, asked: Curve, *, width: float = WIDTH) -> str:
    """How a track would lie under the class: what plays of it in its place, and what is asked there.

    Args:
        pick: the track's place, as it would be.
        asked: energy the class asks for, 0 to 1 at 1 Hz; NaN where none.
    """
    known = track.analysis
    across = _Across(pick.track_start_s, max(pick.track_end_s, pick.track_start_s + 1), width)
    energy = marks.energy(track)
    line = _course(asked, _Across(pick.class_start_s, max(pick.class_end_s, pick.class_start_s + 1), width))
    parts = [
        _line(width),
        *pieces.curve(_course(energy, across), "ribbon", TOP),
        *pieces.curve(line, "asked"),
        *_beats(track, across),
        *_sung(known, across),
    ]
    heard = energy[int(pick.track_start_s) : int(np.ceil(pick.track_end_s))]
    return _drawn(width, "pc shape", _said(track, heard), parts)


def calm_shape(track: Track, *, width: float = WIDTH) -> str:
    """How calm a track is: the calmer, the stiller the water; a dashed line is as lively as a rest can bear.

    What would wake people has the warm colour: moments beyond that line, a quick beat, a voice.
    """
    known = track.analysis
    across = _Across(0.0, max(known.duration_s, 1.0), width)
    energy = marks.energy(track)
    course = _course(np.minimum(energy * ZOOM, 1.1).astype(np.float32), across)
    bound = _deep(LIVELIEST_MOMENT * ZOOM)
    quick = has_clear_beat(track) and felt_bpm(known) > FASTEST_BPM
    parts = [
        _line(width),
        *pieces.curve(course, "ribbon", TOP),
        *pieces.curve(np.maximum(course, [0.0, bound]), "wakes", bound),
        pieces.line((0, bound), (width, bound), "bearable"),
        *_beats(track, across, "beat quick" if quick else "beat"),
        *_sung(known, across),
    ]
    fit = "calm enough for a rest" if is_fit(track) else "not calm enough for a rest"
    return _drawn(width, "pc shape calm", f"{_said(track, energy)}: {fit}", parts)


class _Across:
    """Seconds of a track (or of the class) across the shape."""

    def __init__(self, start_s: float, end_s: float, width: float) -> None:
        self.start_s, self.end_s, self.width = start_s, end_s, width

    def x(self, at_s: float) -> float:
        return (at_s - self.start_s) / (self.end_s - self.start_s) * self.width

    def at(self, x: float) -> float:
        return self.start_s + x / self.width * (self.end_s - self.start_s)


def _deep(energy: Value) -> Value:
    return TOP + THREAD + energy * (DEEP - TOP - THREAD)


def _line(width: float) -> Element:
    return pieces.line((0, TOP), (width, TOP), "water")


def _course(energy: Curve, across: _Across) -> F64:
    """A curve of energies as the lower edge of a ribbon, from border to border."""
    if not energy.size:
        return NO_POINTS
    seen = max(across.end_s - across.start_s, 1.0)
    count = max(int(energy.size / seen * across.width / 2), 1)
    middles, means = thinned(energy, min(energy.size, count))
    points = np.column_stack([(middles - across.start_s) / seen * across.width, _deep(means)])
    return clipped(points, 0.0, across.width)


def _slits(known: Analysis, energy: Curve, across: _Across) -> Iterator[Element]:
    """Where the track can be entered or left: the best places, none on another."""
    taken: list[float] = []
    places = sorted(known.curves.cut_points, key=lambda cut: min(cut.enter_cost, cut.leave_cost))
    for cut in places:
        x = across.x(cut.at_s)
        if min(cut.enter_cost, cut.leave_cost) > CLEAN_CUT or not LEAST_APART <= x <= across.width - LEAST_APART:
            continue
        if all(abs(x - other) >= LEAST_APART for other in taken):
            taken.append(x)
    for x in sorted(taken):
        second = min(int(across.at(x)), energy.size - 1)
        yield pieces.line((x, TOP - 2), (x, max(_deep(float(energy[second])), TOP + 4) + 1), "slit")


def _beats(track: Track, across: _Across, style: str = "beat") -> list[Element]:
    """Strokes above the line where a clear beat is heard, as dense as they can be told apart."""
    beats = track.analysis.curves.beats_s
    if not has_clear_beat(track) or not len(beats):
        return []
    strokes, last = "", -BEAT_APART
    for x in (across.x(float(at)) for at in beats):
        if x - last >= BEAT_APART and 0.5 <= x <= across.width - 0.5:
            strokes += f"M{x:.1f} {TOP - 6:.1f}V{TOP - 3:.1f}"
            last = x
    return [pieces.path(strokes, style)] if strokes else []


def _sung(known: Analysis, across: _Across) -> list[Element]:
    """A wave below the ribbon where a voice is more likely than not."""
    likely = known.curves.voice >= 0.5
    if not likely.any():
        return []
    edges = np.flatnonzero(np.diff(np.concatenate([[False], likely, [False]]).astype(np.int8)))
    found = ""
    for start, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        left, right = max(across.x(start), 0.0), min(across.x(end), across.width)
        if right - left >= 1.0:
            found += _swell(left, right)
    return [pieces.path(found, "sung")] if found else []


def _swell(left: float, right: float) -> str:
    count = max(1, round((right - left) / SWELL))
    xs = np.linspace(left, right, 2 * count + 1).tolist()
    d = f"M{left:.1f} {SUNG_AT:.1f}"
    for index in range(count):
        first, middle, last = xs[2 * index : 2 * index + 3]
        d += f"Q{(first + middle) / 2:.1f} {SUNG_AT - 3.5:.1f} {middle:.1f} {SUNG_AT:.1f}"
        d += f"Q{(middle + last) / 2:.1f} {SUNG_AT + 3.5:.1f} {last:.1f} {SUNG_AT:.1f}"
    return d


def _said(track: Track, energy: Curve) -> str:
    known = track.analysis
    beat = "a clear beat" if has_clear_beat(track) else "no clear beat"
    mean = float(energy.mean()) if energy.size else 0.0
    return f"{temper(mean)}, {voice(known.curves.voice_share, known.voice_kind)}, {beat}, {clock(known.duration_s)}"


def _drawn(width: float, style: str, label: str, parts: list[Element]) -> str:
    return pieces.as_text(pieces.whole(width, HEIGHT, style, label, parts))
