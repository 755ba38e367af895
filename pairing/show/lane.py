"""A lane of a picture: a stretch of the class with its waves of breath above the ground and its music below.

Above the ground each wave stands for so many breaths, as high as the effort; a round (and side) begins and ends at the
ground. What is done on the right is filled, on the left open, on both at once half toned. Below hangs one ribbon, the
deeper the livelier the music, with a knot at each change.
"""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from xml.etree.ElementTree import Element

import numpy as np

from audio.arrays import F64
from audio.text import clock
from pairing.constants import RESTING_METS
from pairing.model import Curve, Kind, Pick
from pairing.show import pieces
from pairing.show.drawing import NO_POINTS, Point, Value, clipped, thinned
from pairing.show.scene import Scene, Stretch
from pairing.show.text import title_of

GENTLE_TOP_METS = 4.0  # waves of a class that never gets harder stay below the top; editorial
LEAST_WAVE = 0.07  # of the height: rest breathes too; editorial
TROUGH = 0.3  # between two breaths, of the lower of both; editorial
SMOOTHED_S = 8.0  # the music is drawn as means of about this long; editorial
THREAD = 2.5  # the ribbon of the quietest music
KNOT = 3.4
COUNTS = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 30, 40, 60, 120, 240, 1000)


@dataclass(frozen=True, slots=True)
class Lane:
    """Where things lie: class seconds across, heights from the top."""

    start_s: float
    end_s: float
    left: float
    right: float
    top: float  # of the highest wave
    ground: float
    ribbon: float  # upper edge of the music
    bottom: float  # lower edge of the liveliest music

    def x(self, at_s: float) -> float:
        """Where a moment lies across."""
        return self.left + (at_s - self.start_s) * self.a_second

    @property
    def a_second(self) -> float:
        """How wide a second is."""
        return (self.right - self.left) / (self.end_s - self.start_s)

    def energy(self, value: Value) -> Value:
        """How far down music of an energy of 0 to 1 hangs."""
        return self.ribbon + THREAD + value * (self.bottom - self.ribbon - THREAD)


def breaths_a_wave(scene: Scene, a_second: float, least: float) -> int:
    """How many breaths a wave stands for, so that waves are at least about `least` wide."""
    breaths = [stretch.breath_s for stretch in scene.stretches] or [1.0]
    one = float(np.median(breaths)) * a_second
    return next((count for count in COUNTS if count * one >= least), COUNTS[-1])


def waves(scene: Scene, lane: Lane, breaths: int) -> list[Element]:
    """The waves of a lane, a path a stretch."""
    top = _top(scene)
    found = []
    for stretch in scene.stretches:
        if stretch.end_s <= lane.start_s or stretch.start_s >= lane.end_s:
            continue
        spans = [span for span in _spans(stretch, breaths) if lane.start_s <= span[0] < lane.end_s]
        if not spans:
            continue
        heights = [_height(scene.effort_between(stretch, *span), top) for span in spans]
        style = " ".join(word for word in ("waves", stretch.side or "both", _kind(stretch.kind)) if word)
        path = pieces.path(_waves(lane, spans, heights), style)
        found.append(
            pieces.told(path, section=stretch.section, round=stretch.round, side=stretch.side, count=len(spans))
        )
    return found


def highest(scene: Scene, start_s: float, end_s: float) -> float:
    """How high waves reach between two moments, 0 to 1 of the room for them."""
    top = _top(scene)
    inside = [s for s in scene.stretches if s.start_s < end_s and s.end_s > start_s]
    curve = scene.effort_mets[max(int(start_s), 0) : max(int(end_s), 0)]
    known = curve[np.isfinite(curve)] if curve.size else np.array([stretch.mean_mets for stretch in inside])
    return _height(float(known.max()) if known.size else 0.0, top)


def deepest(scene: Scene, lane: Lane) -> float:
    """How far down the music or what is asked of it reaches in a lane."""
    curves = [_heard(scene, lane), _points(scene.asked, lane)]
    if scene.fitted is not None:
        curves.append(_points(scene.fitted, lane))
    depths = np.concatenate(curves)[:, 1]
    return float(np.max(depths, where=np.isfinite(depths), initial=lane.energy(0.0)))


def _top(scene: Scene) -> float:
    known = scene.effort_mets[np.isfinite(scene.effort_mets)]
    return max(GENTLE_TOP_METS, float(known.max())) if known.size else GENTLE_TOP_METS


def _spans(stretch: Stretch, breaths: int) -> list[tuple[float, float]]:
    count = max(1, round((stretch.end_s - stretch.start_s) / (stretch.breath_s * breaths)))
    edges = np.linspace(stretch.start_s, stretch.end_s, count + 1).tolist()
    return list(itertools.pairwise(edges))


def _height(mets: float, top: float) -> float:
    return min(max((mets - RESTING_METS) / (top - RESTING_METS), LEAST_WAVE), 1.0)


def _kind(kind: Kind) -> str:
    return kind.value if kind in (Kind.PEAK, Kind.REST) else ""


def _waves(lane: Lane, spans: Sequence[tuple[float, float]], heights: Sequence[float]) -> str:
    """Breath after breath: up to a crest and down to a trough between two crests, to the ground at both ends."""
    full = lane.ground - lane.top
    troughs = [0.0, *(TROUGH * min(pair) for pair in itertools.pairwise(heights)), 0.0]
    d = "M" + pieces.xy((lane.x(spans[0][0]), lane.ground))
    for (start_s, end_s), height, before, after in zip(spans, heights, troughs[:-1], troughs[1:], strict=True):
        start, end = lane.x(start_s), lane.x(end_s)
        middle, width = (start + end) / 2, end - start
        low, crest, next_low = (lane.ground - share * full for share in (before, height, after))
        d += _bend((start + 0.3 * width, low), (middle - 0.28 * width, crest), (middle, crest))
        d += _bend((middle + 0.28 * width, crest), (end - 0.3 * width, next_low), (end, next_low))
    return d + "Z"


def _bend(first: Point, second: Point, to: Point) -> str:
    return "C" + " ".join(map(pieces.xy, (first, second, to)))


# ---- the music ---------------------------------------------------------------------------------------------------


def ribbon(scene: Scene, lane: Lane, *, fitted: bool = True) -> list[Element]:
    """The music that plays, in a part a track, the thread where nothing sounds, and what the class asks.

    Args:
        fitted: draw the arc fitted to the music there is too, where that is another.
    """
    points = _heard(scene, lane)
    end = lane.x(min(lane.end_s, scene.end_s))
    thread = pieces.line((lane.left, lane.ribbon + 0.8), (end, lane.ribbon + 0.8), "thread")
    parts = [thread]
    for pick, start_s, end_s in shares(scene.picks):
        if end_s <= lane.start_s or start_s >= lane.end_s:
            continue
        inside = clipped(points, lane.x(max(start_s, lane.start_s)), lane.x(min(end_s, lane.end_s)))
        parts.append(
            _part(
                pick, [*pieces.curve(inside, "ribbon", lane.ribbon), *pieces.curve(inside, "hem")], lane, start_s, end_s
            )
        )
    parts += pieces.curve(_points(scene.asked, lane), "asked")
    if fitted and scene.fitted is not None:
        parts += pieces.curve(_points(scene.fitted, lane), "fitted")
    return parts + knots(scene.picks, lane) + _bells(scene, lane)


def _heard(scene: Scene, lane: Lane) -> F64:
    """The music's curve; outside the class, where none is known, it goes on as it began or ended."""
    curve = scene.played
    known = curve[np.isfinite(curve)]
    if not known.size:
        return NO_POINTS
    before, after = max(-scene.start_s, 0.0), max(scene.end_s - curve.size, 0.0)
    whole = np.concatenate([np.full(int(before), known[0]), curve, np.full(int(after), known[-1])])
    return _points(whole.astype(np.float32), lane, -int(before))


def shares(picks: Sequence[Pick]) -> Iterator[tuple[Pick, float, float]]:
    """From when to when the ribbon is each track's: it passes from one to the next amid their overlap."""
    joins = [
        (one.class_end_s + two.class_start_s) / 2 if one.class_end_s >= two.class_start_s else None
        for one, two in itertools.pairwise(picks)
    ]
    for pick, before, after in zip(picks, [None, *joins], [*joins, None], strict=False):
        yield (
            pick,
            pick.class_start_s if before is None else before,
            pick.class_end_s if after is None else after,
        )


def _part(pick: Pick, drawn: Sequence[Element], lane: Lane, start_s: float, end_s: float) -> Element:
    left, right = lane.x(max(start_s, lane.start_s)), lane.x(min(end_s, lane.end_s))
    mark = pieces.box(left + 1, lane.bottom + 1.5, right - left - 2, 2.5, "mark")
    touch = pieces.box(left, lane.ribbon, right - left, lane.bottom - lane.ribbon, "touch")
    return pieces.group([*drawn, mark, touch], "music", n=pick.n, start_s=start_s, end_s=end_s)


def knots(picks: Sequence[Pick], lane: Lane) -> list[Element]:
    """A knot where one track is tied to the next, as wide as both sound together."""
    found = []
    for one, two in itertools.pairwise(picks):
        over_s = one.class_end_s - two.class_start_s
        middle = (one.class_end_s + two.class_start_s) / 2
        if over_s >= 0 and lane.start_s <= middle < lane.end_s:
            across = max(KNOT, over_s * lane.a_second / 2)
            knot = pieces.oval(lane.x(middle), lane.ribbon + 1, across, KNOT, "knot")
            found.append(pieces.told(knot, n=two.n))
    return found


def _bells(scene: Scene, lane: Lane) -> list[Element]:
    """A bell hangs from the ground where it rings."""
    found = []
    for at_s in scene.bells_s:
        if lane.start_s <= at_s <= lane.end_s:
            x, y = min(max(lane.x(at_s), lane.left + 5), lane.right - 5), lane.ground + 2
            foot, top, other = (pieces.xy(point) for point in ((x - 4.5, y + 12), (x, y - 9), (x + 4.5, y + 12)))
            found.append(pieces.told(pieces.path(f"M{foot}Q{top} {other}Z", "bell"), bell=clock(at_s)))
    return found


def _points(values: Curve, lane: Lane, from_s: float = 0.0) -> F64:
    """A curve of energies that begins at `from_s` as points of the lane, no denser than eye and paper need."""
    if not values.size:
        return NO_POINTS
    across = values.size * lane.a_second
    middles, means = thinned(values, int(min(values.size / SMOOTHED_S, across / 2)))
    points = np.column_stack([lane.left + (from_s + middles - lane.start_s) * lane.a_second, lane.energy(means)])
    begins, ends = lane.x(from_s), lane.x(from_s + values.size)
    return clipped(points, max(lane.left, begins), min(lane.right, ends))


def names_of_tracks(picks: Sequence[Pick]) -> str:
    """The tracks in order, for those who hear the picture."""
    return ", ".join(f"{pick.n}. {title_of(pick)} at {clock(pick.class_start_s)}" for pick in picks)
