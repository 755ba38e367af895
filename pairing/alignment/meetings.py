"""Where music shall be at a certain point of its own: its climax at the peak's pose, a break in the stillness before.

Which moments of a class these are says `peaks`, where a track rises `audio.measure.rises`. All numbers are editorial.
"""

from collections.abc import Callable, Sequence

import numpy as np

from audio.arrays import F32
from audio.track import Shape, Track
from pairing.alignment import marks
from pairing.alignment.frame import Frame
from pairing.model import Meets, Moment
from pairing.solve.problem import Meetings

ROWS: tuple[Meets, ...] = ("climax", "break")  # of Problem.apart
WEIGHT = {"climax": 1.0, "break": 0.3}  # of a moment found in the class, in Weights.meeting
WISHED_WEIGHT = 1.5  # of one that the teacher asks for
NEAR_S, FAR_S = 2.0, 12.0  # up to here a point is met; from there on it is missed altogether
VOICE_WEIGHT = 0.05  # of a second in which somebody sings while the teacher speaks, in Weights.meeting
SUNG = 0.5  # likelihood from which a second counts as sung
MET_S = 4.0  # so near it is said to be met


def of_tracks(frame: Frame, tracks: Sequence[Track]) -> tuple[Meetings, F32]:
    """The meetings of a class, and how far each second of the tracks is from each point, as `Problem` has them.

    A point that no track has asks for nothing. To keep clear of voices is a meeting in each second of talk: with a
    second in which nobody sings.

    Returns:
        the meetings; and 0 (there) to 1 (far), shape (points, all seconds of all tracks).
    """
    rows: list[F32] = []
    asked: list[tuple[int, int, float]] = []
    for what in ROWS:
        at = [
            (frame.grid(m.at_s), WISHED_WEIGHT if m.wished else WEIGHT[what]) for m in frame.moments if m.what == what
        ]
        curves = [track.analysis.curves for track in tracks] if at else []
        points = [POINTS[what](each.shape) for each in curves]
        if any(points):
            asked += [(second, len(rows), weight) for second, weight in at if 0 <= second < frame.seconds]
            rows.append(_end_to_end([_apart(p, each.seconds) for p, each in zip(points, curves, strict=True)]))
    if frame.spoken:
        seconds = [range(frame.grid(start), frame.grid(end)) for start, end in frame.spoken]
        asked += [(second, len(rows), VOICE_WEIGHT) for each in seconds for second in each]
        rows.append(_end_to_end([_sung(track) for track in tracks]))
    return Meetings.of(asked), np.array(rows, np.float32).reshape(len(rows), -1 if rows else 0)


def _end_to_end(curves: Sequence[F32]) -> F32:
    return np.concatenate([*curves, np.zeros(0, np.float32)])


def _sung(track: Track) -> F32:
    """Whether a voice is likely in each second of a track, 0 or 1; the teacher's word counts more."""
    said, heard = marks.voice(track), track.analysis.curves.voice >= SUNG
    if said is not None and said != bool(heard.any()):
        heard = np.full(len(heard), said)
    return np.asarray(heard, np.float32)


def is_met(moment: Moment, shape: Shape, track_s: float) -> bool:
    """Whether a track of this shape, heard at `track_s` then, meets a moment."""
    return any(abs(at - track_s) <= MET_S for at in POINTS[moment.what](shape))


def _climax(shape: Shape) -> list[float]:
    return [] if shape.climax_s is None else [shape.climax_s]


def _breaks(shape: Shape) -> list[float]:
    return [each.start_s for each in shape.breaks]


POINTS: dict[Meets, Callable[[Shape], list[float]]] = {"climax": _climax, "break": _breaks}


def _apart(points_s: Sequence[float], seconds: int) -> F32:
    """How far each second of a track is from the nearest of some points: 0 near one, 1 far from all."""
    far = np.full(seconds, FAR_S, np.float32)
    for at in points_s:
        np.minimum(far, np.abs(np.arange(seconds, dtype=np.float32) - np.float32(at)), out=far)
    return np.asarray(np.clip((far - NEAR_S) / (FAR_S - NEAR_S), 0, 1), np.float32)
