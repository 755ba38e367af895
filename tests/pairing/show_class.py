"""Invented classes for the tests of what a person sees: built from the border types, not by the planner."""

import itertools
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from audio.track import Analysis, CutPoint, MeasuredCurves, Tags, Track
from pairing.model import (
    Arc,
    Curve,
    Finding,
    Fit,
    Kind,
    PairOptions,
    Passage,
    Pick,
    Rest,
    SectionTime,
    SetFrame,
    SetList,
    SetPlan,
    Side,
    Step,
    Timetable,
    Where,
    Wishes,
)

# name, kind, breath_s, METs, rounds, both sides, lines: (pose, breaths or None, seconds or None, how, note)
# how: "" | "each" (each side) | "opt" (optional) | "r2" (from round 2) | "last" (last round)
# "say" | "pause" | "bell" instead of a pose: once
Line = tuple[str, float | None, float | None, str, str]
SHAPE: tuple[tuple[str, Kind, float, float, int, bool, tuple[Line, ...]], ...] = (
    ("Arrive", Kind.OPENING, 6, 1.4, 1, False, (
        ("Child's pose", 12, None, "", ""),
        ("welcome, and where we are going", None, 75, "say", ""),
        ("Cat and cow", 12, None, "", ""),
        ("Standing side bend", 4, None, "each", ""),
    )),
    ("Salutes", Kind.WARM_UP, 5, 3.3, 4, False, (("Sun salutation A", 9, None, "", ""),
                                                ("Downward dog", 5, None, "", "walk the heels"))),
    ("Fire", Kind.FLOW, 5, 3.7, 2, False, (("Sun salutation B", 14, None, "", ""),
                                          ("Chair", 5, None, "", ""))),
    ("Tide", Kind.FLOW, 4.5, 3.9, 3, True, (
        ("Three-legged dog", 1, None, "", ""),
        ("Knee to nose", 3, None, "", ""),
        ("Warrior two", 4, None, "", ""),
        ("Reverse warrior", 1, None, "", ""),
        ("Extended side angle", 3, None, "", "long line, heel to fingertips"),
        ("Side plank", 2, None, "r2", ""),
        ("Vinyasa", 2, None, "opt", ""),
    )),
    ("Crest", Kind.PEAK, 5, 4.3, 1, True, (
        ("Warrior three", 5, None, "", ""),
        ("Half moon", 5, None, "", "block under the hand"),
        ("Crow", 6, None, "", "or garland"),
        ("Boat", 8, None, "opt", ""),
    )),
    ("Ebb", Kind.COOL_DOWN, 6, 1.9, 1, False, (
        ("Pigeon", None, 120, "each", "bolster under the hip"),
        ("Seated forward fold", 12, None, "", ""),
        ("Reclined twist", 8, None, "each", ""),
        ("water and a blanket", None, 40, "pause", ""),
    )),
    ("Float", Kind.REST, 6, 0.9, 1, False, (("Savasana", None, None, "", ""), ("bell", None, 0, "bell", ""))),
)  # fmt: skip

TITLES = (
    ("Lanterns on the pier", "Quay Ensemble", None),
    ("Slow water", "Quay Ensemble", 61.0),
    ("Copper morning", "Ode Marsh", 96.0),
    ("Salt road", "Hollow Reeds", 104.5),
    ("Every tide a drum", "Nine Ropes", 112.0),
    ("Kiln", "Nine Ropes", 118.0),
    ("Running the long wall at dusk", "Sable & Finch", 124.0),
    ("Ember lift", "Ode Marsh", 126.0),
    ("High shelf", "Hollow Reeds", 121.0),
    ("Reed beds, wind from the north-west", "Ode Marsh", 88.0),
    ("Low lamp", "Quay Ensemble", None),
    ("What the harbour keeps", "Sable & Finch", None),
    ("Second kiln", "Nine Ropes", 119.0),
    ("Gull stair", "Hollow Reeds", 108.0),
    ("Blue flint", "Ode Marsh", 92.0),
    ("Night ferry", "Quay Ensemble", 70.0),
    ("Floes", "Quay Ensemble", None),
    ("Unlit", "Sable & Finch", None),
)


def a_class(minutes: int = 60, *, rest_minutes: int = 7) -> Timetable:
    """A class of exactly `minutes`; the longer the class, the more rounds and the longer the cool-down."""
    extra = (minutes - 60) // 15
    sections: list[SectionTime] = []
    steps: list[Step] = []
    at = 0.0
    scale = (minutes - rest_minutes) * 60 / _lead_s(extra)
    for index, (name, kind, breath, mets, rounds, sided, lines) in enumerate(SHAPE):
        rounds += extra if kind in (Kind.WARM_UP, Kind.FLOW) else 0
        start = at
        passes: list[Passage] = []
        for number in range(1, rounds + 1):
            for side in ("right", "left") if sided else (None,):
                began = at
                last = number == rounds and side in (None, "left")
                for row, line in enumerate(lines):
                    for step in _steps(line, index, 10 * index + row + 10, number, side, breath, mets, last):
                        long = rest_minutes * 60.0 if kind == Kind.REST and step.what == "pose" else None
                        took = long or (step.end_s - step.start_s) * scale
                        steps.append(replace(step, start_s=at, end_s=at + took))
                        at += took
                passes.append(Passage(number, side, began, at))
        sections.append(SectionTime(name, kind, start, at, tuple(passes), breath * scale, mets, Wishes()))
    return Timetable(at, tuple(sections), tuple(steps), at * 0.95, at * 1.08, ("a breath takes 5 seconds",))


def _lead_s(extra: int) -> float:
    total = 0.0
    for index, (_, kind, breath, mets, rounds, sided, lines) in enumerate(SHAPE[:-1]):
        rounds += extra if kind in (Kind.WARM_UP, Kind.FLOW) else 0
        for number in range(1, rounds + 1):
            for side in ("right", "left") if sided else (None,):
                last = number == rounds and side in (None, "left")
                for line in lines:
                    total += sum(s.end_s for s in _steps(line, index, 0, number, side, breath, mets, last))
    return total


def _steps(
    line: Line, section: int, at_line: int, number: int, side: Side | None, breath: float, mets: float, last: bool
) -> Sequence[Step]:
    name, breaths, seconds, how, note = line
    if (how == "r2" and number < 2) or (how in ("say", "pause", "bell") and not last):
        return ()
    took = seconds if breaths is None else breaths * breath
    what = how if how in ("say", "pause", "bell") else "pose"
    step = Step(
        what=what,
        name=name,
        start_s=0.0,
        end_s=took or 0.0,
        section=section,
        pose_id=name.lower().replace(" ", "_").replace("'", ""),
        breaths=breaths,
        side=side,
        round=number,
        line=at_line,
        note=note,
        optional=how == "opt",
        mets=mets if what == "pose" else 1.2,
    )
    return [replace(step, side=s) for s in ("right", "left")] if how == "each" else [step]


def an_arc(timetable: Timetable) -> Arc:
    """Curves that rise and fall with the sections, smoothed as a body would."""
    seconds = int(np.ceil(timetable.duration_s))
    demand = np.ones(seconds, dtype=np.float32)
    for step in timetable.steps:
        demand[int(step.start_s) : int(step.end_s)] = step.mets
    felt = smooth(demand, 60)
    target = np.clip(0.15 + 0.68 * (felt - 0.9) / 3.4, 0.12, 0.85).astype(np.float32)
    return Arc(demand, felt, target)


def a_set(
    timetable: Timetable, arc: Arc, *, tracks: int = 12, title: str = "Harbour evening flow", seed: int = 3
) -> SetList:
    """A set over the whole class whose changes fall on section starts where they can; rest has its own track."""
    rng = np.random.default_rng(seed)
    rest = timetable.sections[-1]
    cuts = [0.0, *_cuts(timetable, tracks - 1)[1:-1], rest.start_s, timetable.duration_s]
    picks = []
    for n, (start, end) in enumerate(itertools.pairwise(cuts), start=1):
        name, artist, _ = TITLES[(n - 1) % len(TITLES)]
        tail = -60.0 if n == tracks else 8.0
        picks.append(
            Pick(
                n=n,
                track_id=100 + n,
                fingerprint=f"f{n:04d}",
                path=f"music/{name.lower()}.mp3",
                title=name,
                artist=artist,
                class_start_s=start,
                class_end_s=end + tail,
                track_start_s=float(rng.choice([0.0, 0.0, 21.5, 48.0])),
                fade_in_s=0.0 if n == 1 else 8.0,
                fade_out_s=25.0 if n == tracks else 8.0,
                gain_db=-4.5,
                section=_section_at(timetable, start).name,
                pinned=n == 6,
                why="follows the arc within 0.04; starts with the section",
            )
        )
    noise = smooth(rng.normal(0, 0.5, arc.target_energy.size).astype(np.float32), 40)
    played = np.clip(arc.target_energy + noise, 0, 1).astype(np.float32)
    played[-60:] = np.nan  # the silence at the end of the rest
    return SetList(
        title=title,
        plan=SetPlan("harbour.md", "# Harbour evening flow\n", "0" * 64),
        options=PairOptions(),
        frame=SetFrame(),
        class_s=timetable.duration_s,
        slot_s=timetable.duration_s + 600,
        sections=timetable.sections,
        arc=arc.target_energy,
        target_energy=arc.target_energy,
        played_energy=played,
        fit=Fit(0.061, 0.045, 0.03, 0.94),
        rest=Rest(rest.start_s, rest.end_s, bells_s=(rest.end_s - 1,), silence_s=60.0),
        picks=tuple(picks),
        findings=FINDINGS,
    )


FINDINGS = (
    Finding(
        "should",
        "change-in-hold",
        Where(tracks=(7,)),
        "changes while warrior three is held.",
        "Swap it, or move the change to the start of Crest.",
    ),
    Finding(
        "note", "energy-limit", Where(section="Crest"), "the liveliest track reaches 71 of the 78 the arc asks for."
    ),
)


def tempo_of(setlist: SetList) -> dict[int, float | None]:
    """Beats a minute of the invented tracks by their id."""
    return {pick.track_id: TITLES[(pick.n - 1) % len(TITLES)][2] for pick in setlist.picks}


def lengths_of(setlist: SetList) -> dict[int, float]:
    """Whole lengths of the invented tracks by their id."""
    return {pick.track_id: pick.track_end_s + (pick.n % 3) * 17.0 for pick in setlist.picks}


def smooth(values: Curve, seconds: int) -> Curve:
    """A centred moving mean that keeps the length."""
    padded = np.pad(values, seconds // 2, mode="edge")
    means = np.convolve(padded, np.ones(seconds) / seconds, mode="same")
    return means[seconds // 2 :][: values.size].astype(np.float32)


def _cuts(timetable: Timetable, spans: int) -> list[float]:
    rest_start = timetable.sections[-1].start_s
    passes = [p.start_s for s in timetable.sections[:-1] for p in s.passes]
    even = np.linspace(0, rest_start, spans + 1)
    near = [min(passes, key=lambda p: abs(p - e)) for e in even[1:-1]]
    return [0.0, *(p if abs(p - e) < 45 else float(e) for p, e in zip(near, even[1:-1], strict=True)), rest_start]


def _section_at(timetable: Timetable, at_s: float) -> SectionTime:
    return next(s for s in timetable.sections if s.start_s <= at_s < s.end_s)


# What strangers write into tags: markup, quotes, escape sequences, directions, emoji, line breaks, bytes, length.
HOSTILE = (
    "<script>window.ran=1</script>",
    "\"><img src=x onerror='window.ran=1'>",
    "</script><script>window.ran=1</script>",
    "<svg/onload=window.ran=1>",
    "{{ 7*7 }} ${7*7} <%= 7*7 %>",
    "javascript:window.ran=1",
    "]]> <!-- &amp; &lt; &#x41;",
    "\x1b[31mred\x1b[0m\x1b]0;owned\x07",
    "\x9b31m and \x85 next line",
    "one\ntwo\r\nthree\tfour\u2028five",
    "\u202eevil\u202c \u2067right\u2069",
    "مدّ وجزر",
    "גאות ושפל",
    "👩🏽‍🎤🌊 tide 🕯️",
    "long " * 100,
    "\udcff\udcfe not UTF-8",
    "#EXTM3U",
    "=1+1",
    "   ",
    "",
    "\x00\x01\x7f\ufffe\uffff",
    "'; DROP TABLE tracks; --",
    "`rm` $(rm) %PATH% [bold]rich[/bold] :smile:",
)


def hostile_set(timetable: Timetable, arc: Arc) -> SetList:
    """A set whose every text comes from someone who means no good."""
    base = a_set(timetable, arc, tracks=len(HOSTILE))
    picks = tuple(
        replace(pick, title=text, artist=text, path=f"music/{_as_name(text)}.mp3", section=text, why=text)
        for pick, text in zip(base.picks, HOSTILE, strict=True)
    )
    sections = tuple(
        replace(section, name=HOSTILE[index % len(HOSTILE)]) for index, section in enumerate(base.sections)
    )
    findings = tuple(Finding("must", "code", Where(name=text), text, text) for text in HOSTILE)
    return replace(base, title=HOSTILE[0], picks=picks, sections=sections, findings=findings)


def hostile_timetable(timetable: Timetable) -> Timetable:
    """The same class with hostile names, notes and alternatives."""
    count = len(HOSTILE)
    sections = tuple(replace(s, name=HOSTILE[i % count]) for i, s in enumerate(timetable.sections))
    steps = tuple(
        replace(s, name=HOSTILE[i % count], note=HOSTILE[(i + 1) % count], alternatives=(HOSTILE[(i + 2) % count],))
        for i, s in enumerate(timetable.steps)
    )
    return replace(timetable, sections=sections, steps=steps)


def _as_name(text: str) -> str:
    return text.replace("/", "_").replace("\x00", "_")[:80] or "_"


def tracks_of(setlist: SetList) -> dict[int, Track]:
    """The invented tracks as a library would hold them, measured curves left out."""
    return {
        pick.track_id: Track(
            pick.track_id,
            pick.fingerprint,
            Path(pick.path),
            Tags(pick.title, pick.artist),
            an_analysis(lengths_of(setlist)[pick.track_id], tempo_of(setlist)[pick.track_id]),
        )
        for pick in setlist.picks
    }


def an_analysis(duration_s: float, tempo_bpm: float | None) -> Analysis:
    """An analysis with plain figures."""
    curve = np.linspace(0.2, 0.6, max(1, int(np.ceil(duration_s))), dtype=np.float32)
    beats = np.arange(0, duration_s, 60 / tempo_bpm) if tempo_bpm else np.zeros(0)
    return Analysis(
        duration_s=duration_s,
        loudness_lufs=-14.2,
        loudness_range_lu=6.1,
        true_peak_dbtp=-0.8,
        rise_lu=2.5,
        tempo_bpm=tempo_bpm,
        tempo_confidence=0.9 if tempo_bpm else 0.1,
        tempo_drift=0.01,
        metre=4 if tempo_bpm else None,
        key="A minor",
        key_strength=0.7,
        treble_share=0.1,
        onset_rate=2.0,
        curves=MeasuredCurves(
            beats_s=beats,
            downbeats_s=beats[::4].copy(),
            energy=curve,
            voice=curve * 0.1,
            loudness=curve * 0 - 14,
            cut_points=(CutPoint(0, 0, 1), CutPoint(duration_s, 1, 0)),
        ),
    )
