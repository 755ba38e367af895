"""Which seconds of which file sound when, how loud, with which fades: the hand-over from a set to the mixer."""

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Level:
    """A gain from `at_s` of the mix on; between two levels the gain in dB moves on a straight line."""

    at_s: float
    gain_db: float


@dataclass(frozen=True, slots=True)
class Span:
    """One stretch of one recording in the mix.

    It is heard from `mix_start_s` to `mix_end_s` of the mix, fades included, and is taken from
    `track_start_s` of the file on, sample by sample (a time-stretch happens only inside an overlap).
    """

    path: Path
    mix_start_s: float
    mix_end_s: float
    track_start_s: float
    fade_in_s: float
    fade_out_s: float
    levels: tuple[Level, ...]  # at least one, sorted
    beats_s: tuple[float, ...] = ()  # beats of the track near its two ends, in seconds of the track
    tempo_bpm: float | None = None  # None: no clear beat
