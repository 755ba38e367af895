"""Invented libraries and classes for the solver's benchmarks: whole tracks with songs' shapes, and the demo's class.

A song is phrases of one length: an introduction that builds, verses and refrains of two levels, a break, an ending.
"""

from importlib.resources import files
from pathlib import Path

import numpy as np

from audio.track import Analysis, CutPoint, MeasuredCurves, Tags, Track
from pairing.effort.arc import make_arc
from pairing.effort.timetable import build_timetable
from pairing.model import Arc, Plan, Timetable
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan

PARTS = (0.0, 0.35, 0.35, 1.0, 0.5, 1.0, 0.2, 1.15, 1.0, 0.3)  # of a song's own lift, phrase group by phrase group


def tracks(count: int, seed: int = 1) -> list[Track]:
    """A library: a third is calm, a quarter sings."""
    rng = np.random.default_rng([seed, count])
    return [_track(rng, number) for number in range(1, count + 1)]


def _track(rng: np.random.Generator, number: int) -> Track:
    calm = rng.random() < 0.33
    level = float(rng.uniform(0.04, 0.3) if calm else rng.beta(1.8, 1.6) * 0.7 + 0.2)
    lift = float(rng.uniform(0.02, 0.08) if calm else rng.uniform(0.08, 0.3))
    tempo = None if calm else float(rng.uniform(72, 140))
    phrase = float(rng.uniform(14, 24)) if tempo is None else 8 * 4 * 60 / tempo
    phrase = phrase if phrase < 24 else phrase / 2
    phrases = int(rng.uniform(150, 330) // phrase)
    length = phrases * phrase + 4.0
    part = np.interp(np.linspace(0, len(PARTS) - 1, phrases), np.arange(len(PARTS)), PARTS)
    seconds = int(np.ceil(length))
    curve = level + lift * (part[np.minimum(np.arange(seconds) // phrase, phrases - 1).astype(int)] - 0.5)
    curve = np.convolve(np.pad(curve, 2, mode="edge"), np.ones(5) / 5, mode="valid")
    curve += 0.02 * rng.standard_normal(seconds)
    curve *= np.minimum(1.0, 0.4 + np.arange(seconds) / rng.uniform(8, 40))
    curve *= np.minimum(1.0, 0.3 + np.arange(seconds)[::-1] / rng.uniform(5, 25))
    sung = np.full(seconds, 0.02, np.float32)
    if not calm and rng.random() < 0.37:
        sung[seconds // 4 : seconds // 2] = 0.9
    starts = [n * phrase for n in range(1, phrases)]
    cuts = [CutPoint(0.0, 0.0, 1.0), *(CutPoint(at, 0.2, 0.25) for at in starts), CutPoint(length - 0.3, 1.0, 0.0)]
    lufs = -20 + 10 * (level - 0.4)
    analysis = Analysis(
        duration_s=length,
        loudness_lufs=lufs,
        loudness_range_lu=4.0,
        true_peak_dbtp=-1.0,
        rise_lu=1.0,
        tempo_bpm=tempo,
        tempo_confidence=0.9 if tempo else 0.0,
        tempo_drift=0.0,
        metre=4 if tempo else None,
        key=("A minor", "C major", "D minor", "E minor", "G major", None)[number % 6],
        key_strength=0.7,
        treble_share=0.05,
        onset_rate=1.0 if calm else 3.5,
        curves=MeasuredCurves(
            beats_s=np.arange(0.2, length, 60 / tempo) if tempo else np.zeros(0),
            downbeats_s=np.zeros(0),
            energy=curve.clip(0, 1).astype(np.float32),
            voice=sung,
            loudness=np.full(seconds, lufs, np.float32),
            cut_points=tuple(cuts),
        ),
    )
    tags = Tags(f"Piece {number}", f"Player {int(rng.integers(0, 60))}")
    return Track(number, f"{number:032x}", Path(f"/music/{number:06d}.flac"), tags, analysis)


def a_class() -> tuple[Plan, Timetable, Arc]:
    """The demo's class."""
    plan = read_plan(files("pairing.plan").joinpath("demo-class.md").read_text("utf-8"), file="class.md")
    timetable = build_timetable(plan, pose_table())
    return plan, timetable, make_arc(timetable)
