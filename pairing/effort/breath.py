"""Breath and beat: the tempi at which whole numbers of beats fall on one full breath.

A breath of b seconds holds n beats at 60 n / b beats a minute; in 4/4 time 4, 8, 12 or 16 beats keep breath and bar
together. Half and double tempo are the same fit to the ear, which the four counts cover.
"""

from dataclasses import dataclass

from pairing.model import Kind, Timetable

BEATS = (4, 8, 12, 16)  # whole bars of four; common practice, no source
TOLERANCE = 0.04  # of the tempo; a breath that drifts by a twenty-fifth still meets its beat; editorial
MUSIC_BPM = (40.0, 220.0)  # outside this, people count the beat at half or double; editorial
MOVING_KINDS = (Kind.WARM_UP, Kind.FLOW, Kind.STANDING, Kind.STRENGTH, Kind.PEAK)


@dataclass(frozen=True, slots=True)
class BeatRange:
    """Tempi at which `beats` whole beats fall on one breath of a stretch."""

    section: int  # index into Timetable.sections
    round: int  # from 1
    breath_s: float  # of a full breath
    beats: int
    bpm: float
    low_bpm: float
    high_bpm: float

    def holds(self, tempo_bpm: float) -> bool:
        """Say whether music of this tempo meets the breath."""
        return self.low_bpm <= tempo_bpm <= self.high_bpm


def beats_of_breath(breath_s: float, tolerance: float = TOLERANCE) -> tuple[tuple[int, float, float, float], ...]:
    """Give (beats, tempo, lowest, highest tempo) for one breath, tempi in beats a minute; no tempo outside `MUSIC_BPM`.

    >>> [(beats, round(bpm, 1)) for beats, bpm, _, _ in beats_of_breath(5.0)]
    [(4, 48.0), (8, 96.0), (12, 144.0), (16, 192.0)]
    """
    tempi = [(beats, 60.0 * beats / breath_s) for beats in BEATS]
    low, high = MUSIC_BPM
    return tuple(
        (beats, bpm, bpm * (1 - tolerance), bpm * (1 + tolerance)) for beats, bpm in tempi if low <= bpm <= high
    )


def beat_ranges(timetable: Timetable, *, tolerance: float = TOLERANCE) -> tuple[BeatRange, ...]:
    """Give the tempo ranges for every flow of a class, one set for every pace of breath in it; () where nothing moves.

    Args:
        timetable: sections that move with the breath count (warm-up, flow, standing, strength, peak); what is given
            in seconds has no breath to meet.
        tolerance: how far, as a share of the tempo, music may be off.
    """
    ranges: list[BeatRange] = []
    for index, round_, breath_s in _breaths(timetable):
        for beats, bpm, low, high in beats_of_breath(breath_s, tolerance):
            ranges.append(BeatRange(index, round_, breath_s, beats, bpm, low, high))
    return tuple(ranges)


def _breaths(timetable: Timetable) -> list[tuple[int, int, float]]:
    """Give section, round and seconds of a breath, each pace of a section once, in the order of the class."""
    seen: dict[tuple[int, float], tuple[int, int, float]] = {}
    for step in timetable.steps:
        moving = timetable.sections[step.section].kind in MOVING_KINDS and step.what == "pose"
        if moving and step.breaths and step.end_s > step.start_s:
            breath_s = round((step.end_s - step.start_s) / step.breaths, 2)
            seen.setdefault((step.section, breath_s), (step.section, step.round, breath_s))
    return list(seen.values())
