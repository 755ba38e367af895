"""Exact stretches into picks, curves and figures: the last step to a set, for a new set and for a changed one."""

from collections.abc import Sequence

import numpy as np

from audio.track import Track
from pairing.alignment import marks
from pairing.alignment.frame import Frame
from pairing.alignment.refine import DIGITS, ExactPick
from pairing.alignment.task import Task
from pairing.model import Curve, Fit, Kind, Levels, Pick
from pairing.sets import levels, played

BEFORE = "before the class"
AFTER = "after the class"
LEAST_MIDDLE_S = 20.0  # editorial: less says little of how loud a track is


def picks(
    task: Task, stretches: Sequence[ExactPick], beds: Levels, whys: Sequence[str], pinned: Sequence[bool]
) -> tuple[Pick, ...]:
    """The picks of a set, numbered from 1."""
    made = []
    for n, (stretch, why, is_pinned) in enumerate(zip(stretches, whys, pinned, strict=True), start=1):
        track = task.tracks[stretch.track]
        name, kind = main_section(task.frame, stretch)
        end_s = stretch.track_start_s + stretch.class_end_s - stretch.class_start_s
        made.append(
            Pick(
                n=n,
                track_id=track.id,
                fingerprint=track.fingerprint,
                path=str(track.path),
                title=track.title,
                artist=track.tags.artist,
                class_start_s=round(stretch.class_start_s, DIGITS),
                class_end_s=round(stretch.class_end_s, DIGITS),
                track_start_s=round(stretch.track_start_s, DIGITS),
                fade_in_s=round(stretch.fade_in_s, DIGITS),
                fade_out_s=round(stretch.fade_out_s, DIGITS),
                gain_db=round(levels.gain_db(track.analysis, *_middle(stretch, end_s), kind, beds), 2),
                section=name,
                pinned=is_pinned,
                why=why,
            )
        )
    return tuple(made)


def _middle(stretch: ExactPick, end_s: float) -> tuple[float, float]:
    """Seconds of the track between its fades, where its level is judged; all that is played where little is left."""
    first, last = stretch.track_start_s + stretch.fade_in_s, end_s - stretch.fade_out_s
    return (first, last) if last - first >= LEAST_MIDDLE_S else (stretch.track_start_s, end_s)


def main_section(frame: Frame, stretch: ExactPick) -> tuple[str, Kind]:
    """Name and kind of the section in which a pick sounds longest; the first of two that are equal."""
    parts = [
        (min(stretch.class_end_s, section.end_s) - max(stretch.class_start_s, section.start_s), section)
        for section in frame.sections
    ]
    longest, section = max(parts, key=lambda part: part[0])
    if longest > 0:
        return section.name, section.kind
    if stretch.class_start_s < 0:
        return BEFORE, Kind.OPENING
    return AFTER, Kind.CLOSING


def curves(frame: Frame, tracks: Sequence[Track], made: Sequence[Pick], target: Curve) -> tuple[Curve, Curve]:
    """Target and played energy of class seconds, NaN where no music shall sound."""
    heard = played.played_energy(made, [marks.energy(track) for track in tracks], frame.class_s)
    silent = frame.silent_seconds()
    asked = np.where(silent, np.nan, frame.on_grid(target)[-frame.origin_s :][: len(target)])
    return asked.astype(np.float32).round(4), np.where(silent, np.nan, heard).astype(np.float32).round(4)


def fit(heard: Curve, target: Curve, arc: Curve, bound_rmse: float, gap: float) -> Fit:
    """How well the played energy follows the arc."""
    return Fit(
        rmse=round(played.rmse(heard, target), 5),
        bound_rmse=round(bound_rmse, 5),
        gap=round(gap, 5),
        correlation=round(played.correlation(heard, arc), 5),
    )
