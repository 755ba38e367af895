"""Invented libraries and classes for the tests of sets: built from the border types, seeded."""

from collections.abc import Sequence
from pathlib import Path
from types import MappingProxyType

import numpy as np

from audio.track import Analysis, CutPoint, MeasuredCurves, Tags, Track
from pairing.model import Arc, Kind, Passage, Plan, SectionTime, Step, Timetable, Wishes

KEYS = ("A minor", "C major", "D minor", "E minor", "G major", None)

# name, kind, seconds, energy
USUAL = (
    ("Arrive", Kind.OPENING, 200.0, 0.18),
    ("Salutes", Kind.WARM_UP, 380.5, 0.42),
    ("Tide", Kind.FLOW, 700.0, 0.62),
    ("Crest", Kind.PEAK, 300.0, 0.8),
    ("Ebb", Kind.COOL_DOWN, 420.25, 0.35),
    ("Float", Kind.REST, 360.0, 0.16),
)


def track(
    number: int,
    energy: float,
    duration_s: float,
    *,
    seed: int = 0,
    tempo_bpm: float | None = None,
    voice: Sequence[tuple[int, int]] = (),
    calm: bool | None = None,
    artist: str | None = None,
    title: str | None = None,
    folder: str = "music",
    marks: dict[str, str] | None = None,
) -> Track:
    """A track whose energy wanders about a mean; calm ones pass the test of the rest."""
    rng = np.random.default_rng([seed, number])
    seconds = int(np.ceil(duration_s))
    phrase = int(rng.choice([16, 20, 24]))
    levels = np.repeat(energy + 0.05 * rng.standard_normal(seconds // phrase + 1), phrase)[:seconds]
    curve = np.convolve(np.pad(levels, 2, mode="edge"), np.ones(5) / 5, mode="valid").clip(0, 1)
    calm = energy < 0.3 if calm is None else calm
    tempo = tempo_bpm if tempo_bpm is not None else (None if calm else float(rng.uniform(84, 132)))
    beats = np.arange(0.2, duration_s, 60 / tempo) if tempo else np.zeros(0)
    sung = np.full(seconds, 0.02, np.float32)
    for start, end in voice:
        sung[start:end] = 0.9
    lufs = -16 + 8 * (energy - 0.5)
    loudness = np.full(seconds, lufs, np.float32) + (0.2 if calm else 1.5) * rng.standard_normal(seconds)
    analysis = Analysis(
        duration_s=duration_s,
        loudness_lufs=lufs,
        loudness_range_lu=4.0,
        true_peak_dbtp=-1.0,
        rise_lu=1.0,
        tempo_bpm=tempo,
        tempo_confidence=0.9 if tempo else 0.0,
        tempo_drift=0.0,
        metre=4 if tempo else None,
        key=KEYS[number % len(KEYS)],
        key_strength=0.7,
        treble_share=0.05,
        onset_rate=1.0 if calm else 3.5,
        curves=MeasuredCurves(
            beats_s=beats,
            downbeats_s=beats[::4],
            energy=curve.astype(np.float32),
            voice=sung,
            loudness=loudness.astype(np.float32),
            cut_points=_cuts(rng, phrase, duration_s),
        ),
    )
    return Track(
        id=number,
        fingerprint=f"{seed:08x}{number:024x}",
        path=Path("/") / folder / f"{number:04d}.flac",
        tags=Tags(title or f"Piece {number}", f"Player {number % 7}" if artist is None else artist),
        analysis=analysis,
        marks=MappingProxyType(marks or {}),
    )


def library(
    tracks: int, seed: int = 0, *, low: float = 0.08, high: float = 0.9, lengths_s: tuple[float, float] = (150, 420)
) -> list[Track]:
    """A library whose energies are spread over a range."""
    rng = np.random.default_rng(seed)
    energies = np.linspace(low, high, tracks)
    rng.shuffle(energies)
    return [
        track(n, float(energy), float(rng.uniform(*lengths_s)), seed=seed, voice=_voiced(rng, energy))
        for n, energy in enumerate(energies, start=1)
    ]


def timetable(
    shape: Sequence[tuple[str, Kind, float, float]] = USUAL,
    wishes: dict[str, Wishes] | None = None,
    steps: Sequence[Step] = (),
) -> Timetable:
    """A class of sections with one step each; flows in two sides. Extra steps of no length may be given."""
    made: list[Step] = []
    sections: list[SectionTime] = []
    at = 0.0
    for index, (name, kind, seconds, _) in enumerate(shape):
        asked = (wishes or {}).get(name, Wishes())
        half = at + seconds / 2
        passes: tuple[Passage, ...] = (Passage(1, None, at, at + seconds),)
        if kind is Kind.FLOW:
            passes = (Passage(1, "right", at, half), Passage(1, "left", half, at + seconds))
        sections.append(SectionTime(name, kind, at, at + seconds, passes, 5.0, 2.5, asked))
        made.append(Step("pose", name, at, at + seconds, index, times=5, wishes=asked))
        at += seconds
    extra = sorted([*made, *steps], key=lambda step: (step.start_s, step.end_s))
    return Timetable(at, tuple(sections), tuple(extra), at, at)


def arc(table: Timetable, shape: Sequence[tuple[str, Kind, float, float]] = USUAL) -> Arc:
    """The energies of the sections, smoothed; the rest exact."""
    seconds = int(np.ceil(table.duration_s))
    level = np.zeros(seconds)
    for section, (_, _, _, energy) in zip(table.sections, shape, strict=True):
        level[round(section.start_s) :] = energy
    smooth = np.convolve(np.pad(level, 20, mode="edge"), np.ones(41) / 41, mode="valid")
    for section in table.sections:
        if section.kind is Kind.REST:
            smooth[int(section.start_s) : int(section.end_s)] = level[int(section.start_s) : int(section.end_s)]
    flat = np.ones(seconds, np.float32)
    return Arc(flat, flat.copy(), smooth.astype(np.float32))


def plan(**words: object) -> Plan:
    """A plan that has a title, text and what is given."""
    return Plan("Harbour evening", (), file="harbour.md", text="# Harbour evening\n", **words)  # type: ignore[arg-type]


def _cuts(rng: np.random.Generator, phrase: int, duration_s: float) -> tuple[CutPoint, ...]:
    first = float(rng.uniform(0, 0.4))
    inner = [
        CutPoint(at + float(rng.uniform(-0.4, 0.4)), 0.2, 0.25) for at in range(phrase, int(duration_s) - 8, phrase)
    ]
    return (CutPoint(first, 0.0, 1.0), *inner, CutPoint(duration_s - 0.3, 1.0, 0.0))


def _voiced(rng: np.random.Generator, energy: float) -> tuple[tuple[int, int], ...]:
    return ((30, 60), (90, 120)) if energy > 0.35 and rng.random() < 0.4 else ()
