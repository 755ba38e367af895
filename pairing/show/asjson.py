"""Tracks, plans and findings as JSON values with stable keys (docs: "JSON" of the reference).

A value that is not a number (no music, no beat, silence) is null. Times are seconds, curves at 1 Hz.
"""

import json
import math
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal, Protocol

import numpy as np
from numpy.typing import NDArray

from audio.track import Analysis, Shape, Track, UnusableTrack
from pairing.deeds import remedy_words
from pairing.effort.echo import LineSpan, echo_of
from pairing.model import Arc, Finding, Passage, Plan, SectionTime, Step, Timetable
from pairing.show.heard import sound_lines

if TYPE_CHECKING:
    from audio.scan import ScanReport
    from pairing.alignment.sedative import RestCandidate
    from pairing.plan.poses import Pose
    from pairing.sets.heard import ClassSound
    from pairing.sets.swap import Alternative

Json = dict[str, object]
_DIGITS = 4


class Slot(Protocol):
    """How a class lies in its slot, as the slot check gives it."""

    @property
    def available_s(self) -> float | None:
        """Seconds of the slot left for the class."""

    @property
    def spare_s(self) -> float | None:
        """Seconds left over; below 0: so much too long."""

    @property
    def fits(self) -> Literal["fits", "tight", "too long"] | None:
        """How it fits."""

    @property
    def left_over_s(self) -> float | None:
        """Seconds left over, where they are so many that it is worth a word."""


def as_text(value: object) -> str:
    """Write a JSON value as text in ASCII, so that no control character of a tag reaches a terminal.

    Raises:
        ValueError: a float in it is no number; the functions here leave none.
    """
    return json.dumps(value, indent=2, allow_nan=False)


def tracks_json(tracks: Iterable[Track | UnusableTrack], *, curves: bool = False) -> list[Json]:
    """Give the tracks of a library; `curves` adds energy, voice, loudness, beats and cut points."""
    return [_track(track, curves) for track in tracks]


def plan_json(plan: Plan, timetable: Timetable, arc: Arc, slot: Slot | None, findings: Iterable[Finding]) -> Json:
    """Give a plan with its timetable, its curves and what was found; `slot` None: no slot was given."""
    return {
        "title": plan.title,
        "duration_s": _number(timetable.duration_s),
        "shortest_s": _number(timetable.shortest_s),
        "longest_s": _number(timetable.longest_s),
        "slot_s": _number(plan.slot_s),
        "available_s": _number(slot.available_s) if slot else None,
        "spare_s": _number(slot.spare_s) if slot else None,
        "fits": slot.fits if slot else None,
        "sections": [_section(section) for section in timetable.sections],
        "steps": [_step(step) for step in timetable.steps],
        "demand_mets": _curve(arc.demand_mets),
        "effort_mets": _curve(arc.felt_mets),
        "arc": _curve(arc.target_energy),
        "taken_as": findings_json(plan.taken_as),
        "lines": [_line(line) for line in echo_of(plan, timetable)],
        "findings": findings_json(finding for finding in findings if finding not in plan.taken_as),
    }


def _line(line: LineSpan) -> Json:
    return {
        "line": line.line,
        "text": line.text,
        "start_s": _number(line.start_s),
        "length_s": _number(line.length_s),
        "poses": list(line.poses),
        "says": line.says,
        "sure": line.sure,
        "answers": list(line.answers),
    }


def scan_json(report: "ScanReport", library: Path) -> Json:
    """Give what a scan did."""
    return {
        "library": str(library),
        "new": report.new,
        "changed": report.changed,
        "known": report.known,
        "tracks": report.tracks,
        "missing": report.missing,
        "interrupted": report.interrupted,
        "not_looked_at": report.not_looked_at,
        "left_out": [{"path": str(left.path), "reason": left.reason} for left in report.left_out],
        "notes": [{"path": str(path), "note": note} for path, note in report.notes],
    }


def poses_json(poses: Iterable["Pose"]) -> list[Json]:
    """Give rows of the pose table."""
    return [
        {
            "id": pose.id,
            "names": list(pose.names),
            "family": pose.family,
            "sided": pose.sided,
            "hold_breaths_flow": _number(pose.hold_breaths_flow),
            "hold_breaths_slow": _number(pose.hold_breaths_slow),
            "rep_breaths": _number(pose.rep_breaths),
            "mets": _number(pose.mets),
            "mets_source": str(pose.mets_source),
            "cautions": list(pose.cautions),
        }
        for pose in poses
    ]


def alternatives_json(alternatives: Iterable["Alternative"]) -> list[Json]:
    """Give the ranked replacements for a pick, best first."""
    return [
        {
            "track_id": other.track.id,
            "title": other.track.title,
            "artist": other.track.tags.artist,
            "effect": other.effect,
            "rmse_change": _number(other.rmse_change),
            "correlation_change": _number(other.correlation_change),
            "cost_change": _number(other.cost_change),
        }
        for other in alternatives
    ]


def candidates_json(candidates: Iterable["RestCandidate"]) -> list[Json]:
    """Give how each track suits a closing rest, the fittest first."""
    return [
        {
            "track_id": candidate.track.id,
            "title": candidate.track.title,
            "artist": candidate.track.tags.artist,
            "fit": candidate.fit,
            "reasons": list(candidate.reasons),
        }
        for candidate in candidates
    ]


def findings_json(findings: Iterable[Finding]) -> list[Json]:
    """Give what checks found, in their order."""
    return [
        {"level": f.level, "code": f.code, "where": str(f.where), "message": f.message, "remedy": remedy_words(f)}
        for f in findings
    ]


def heard_json(sound: "ClassSound") -> list[Json]:
    """Give a class as it is heard as notes, one a section, so that they can stand in a list of findings."""
    words = sound_lines(sound)
    return [
        {
            "level": "note",
            "code": "as-heard",
            "where": section.name,
            "message": words[section.section],
            "remedy": None,
            "heard": {
                "start_s": _number(section.start_s),
                "end_s": _number(section.end_s),
                "loudness_lufs": _number(section.loudness_lufs),
                "loudest_lufs": _number(section.loudest_lufs),
                "loudest_at_s": _number(section.loudest_at_s),
                "rise_lu": _number(section.rise_lu),
                "rise_at_s": _number(section.rise_at_s),
                "energy": _number(section.energy),
                "beat_bpm": _number(section.beat_bpm),
                "voice_share": _number(section.voice_share),
                "silence_s": _number(section.silence_s),
                "carried": [{"n": each.n, "for_s": _number(each.for_s)} for each in section.carried],
            },
        }
        for section in sound.sections
    ]


def _track(track: Track | UnusableTrack, curves: bool) -> Json:
    known = track.analysis if isinstance(track, Track) else None
    value: Json = {
        "id": track.id,
        "path": str(track.path),
        "title": track.title,
        "artist": track.tags.artist,
        "album": track.tags.album,
        "duration_s": _number(known.duration_s) if known else None,
        "tempo_bpm": _number(known.tempo_bpm) if known else None,
        "tempo_confidence": _number(known.tempo_confidence) if known else None,
        "key": known.key if known else None,
        "loudness_lufs": _number(known.loudness_lufs) if known else None,
        "loudness_range_lu": _number(known.loudness_range_lu) if known else None,
        "true_peak_dbtp": _number(known.true_peak_dbtp) if known else None,
        "rise_lu": _number(known.rise_lu) if known else None,
        "mean_energy": _number(known.curves.mean_energy) if known else None,
        "voice_share": _number(known.curves.voice_share) if known else None,
        "voice_kind": known.voice_kind if known else None,
        "shape": _shape(known.curves.shape) if known else None,
        "marks": dict(track.marks),
        "problem": track.problem if isinstance(track, UnusableTrack) else None,
        "notes": list(known.notes) if known else [],
    }
    return value | _curves(known) if curves else value


def _shape(shape: Shape) -> Json:
    return {
        "sections": [
            {
                "start_s": _number(section.start_s),
                "end_s": _number(section.end_s),
                "letter": section.letter,
                "level": _number(section.level),
            }
            for section in shape.sections
        ],
        "climb_s": _number(shape.climb_s),
        "climax_s": _number(shape.climax_s),
        "breaks_s": [[_number(each.start_s), _number(each.end_s)] for each in shape.breaks],
        "ending_s": _number(shape.ending_s),
    }


def _curves(known: Analysis | None) -> Json:
    if known is None:
        return dict.fromkeys(("energy", "voice", "speech", "loudness", "beats_s", "cut_points_s"))
    return {
        "energy": _curve(known.curves.energy),
        "voice": _curve(known.curves.voice),
        "speech": _curve(known.curves.speech),
        "loudness": _curve(known.curves.loudness),
        "beats_s": _curve(known.curves.beats_s),
        "cut_points_s": [_number(point.at_s) for point in known.curves.cut_points],
    }


def _section(section: SectionTime) -> Json:
    return {
        "name": section.name,
        "kind": section.kind.value,
        "start_s": _number(section.start_s),
        "end_s": _number(section.end_s),
        "mean_mets": _number(section.mean_mets),
        "passes": [_passage(passage) for passage in section.passes],
    }


def _passage(passage: Passage) -> Json:
    return {
        "round": passage.round,
        "side": passage.side,
        "start_s": _number(passage.start_s),
        "end_s": _number(passage.end_s),
    }


def _step(step: Step) -> Json:
    return {
        "pose": step.name,
        "start_s": _number(step.start_s),
        "end_s": _number(step.end_s),
        "breaths": _number(step.breaths),
        "side": step.side,
        "round": step.round,
        "line": step.line,
        "note": step.note,
    }


def _number(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else round(float(value), _DIGITS)


def _curve(values: NDArray[np.floating] | Sequence[float]) -> list[float | None]:
    rounded = np.round(np.asarray(values, dtype=np.float64), _DIGITS)
    return [value if math.isfinite(value) else None for value in rounded.tolist()]
