"""What is known of one recording: the values that pass from analysis to library to pairing.

Units: seconds from the first decoded sample, LUFS and LU per ITU-R BS.1770 and EBU R 128, dBTP, beats a minute.
Curves are at 1 Hz: value i holds for [i, i + 1) of the track, ceil(duration_s) values.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType

import numpy as np

from audio.arrays import F32, F64

Curve = F32
_HARDLY_ANY = 0.02  # share of seconds with a voice, below which nothing is said of its kind; editorial
_CHOIR = 0.3  # likelihood from which the voices are called a choir; editorial


@dataclass(frozen=True, slots=True)
class Tags:
    """Title, artist and album as the file states them; empty where it states none."""

    title: str = ""
    artist: str = ""
    album: str = ""


@dataclass(frozen=True, slots=True)
class CutPoint:
    """A moment at which a track can be entered or left, and how much that hurts.

    Costs run from 0 (the music begins or ends there by itself) over about 0.2 (a phrase starts) to 1 (anywhere).
    """

    at_s: float
    enter_cost: float
    leave_cost: float


@dataclass(frozen=True, slots=True)
class Section:
    """A stretch of a track that is alike inside.

    Sections with the same letter sound alike. `level` is how full the music is, 0 (as its emptiest) to 1 (as the
    fullest section of the track).
    """

    start_s: float
    end_s: float
    letter: str
    level: float


@dataclass(frozen=True, slots=True)
class Break:
    """A short drop: at `start_s` the music falls back, at `end_s` it is back at about its strength."""

    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True)
class Shape:
    """How a track rises and falls; seconds of the track.

    `climb_s` is where the rise to the climax begins, `climax_s` where the fullest music is reached; both None where
    the track doesn't rise. From `ending_s` on the music only dies away (None: not known).
    """

    sections: tuple[Section, ...] = ()
    climb_s: float | None = None
    climax_s: float | None = None
    breaks: tuple[Break, ...] = ()
    ending_s: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Analysis:
    """All measured numbers of one recording; holds arrays, so compare by field, not by value."""

    duration_s: float
    loudness_lufs: float  # integrated, gated; -inf for silence
    loudness_range_lu: float  # EBU Tech 3342
    true_peak_dbtp: float
    rise_lu: float  # largest rise of short-term loudness within 3 s
    tempo_bpm: float | None  # None: no clear beat
    tempo_confidence: float  # 0 to 1, calibrated: share of such tracks whose tempo is right
    tempo_drift: float  # spread of the local tempo over the median, 0 for a machine
    beats_s: F64  # empty where there is no clear beat
    downbeats_s: F64  # empty where not clear
    metre: int | None  # beats a bar
    key: str | None  # "A minor"
    key_strength: float  # 0 to 1
    energy: Curve  # 0 to 1, perceived energy
    voice: Curve  # 0 to 1, likelihood of a sung or spoken voice
    loudness: Curve  # short-term LUFS, the loudest 3-s window that ends in the second
    cut_points: tuple[CutPoint, ...]  # sorted; the first is the start, the last the end of the track
    treble_share: float  # share of power above 4 kHz, 0 to 1
    onset_rate: float  # onsets a second
    notes: tuple[str, ...] = ()  # what was odd about the file, one line each
    shape: Shape = Shape()  # where the track rises
    speech: Curve = field(default_factory=lambda: np.zeros(0, np.float32))  # 0 to 1, likelihood that the voice speaks
    choir: float = 0.0  # 0 to 1, likelihood that the voices are a choir's

    def __post_init__(self) -> None:
        for array in (self.beats_s, self.downbeats_s, self.energy, self.voice, self.loudness, self.speech):
            array.setflags(write=False)

    @property
    def seconds(self) -> int:
        """Values of the energy curve."""
        return len(self.energy)

    @property
    def mean_energy(self) -> float:
        """Mean of the energy curve, 0 to 1; 0 for an empty curve."""
        return float(self.energy.mean()) if self.energy.size else 0.0

    @property
    def cuts(self) -> F64:
        """The cut points as numbers, shape (M, 3): second, cost of entering, cost of leaving."""
        return np.array([(c.at_s, c.enter_cost, c.leave_cost) for c in self.cut_points], np.float64).reshape(-1, 3)

    @property
    def voice_share(self) -> float:
        """Share of seconds in which a voice is more likely than not, 0 to 1."""
        return float((self.voice >= 0.5).mean()) if self.voice.size else 0.0

    @property
    def voice_kind(self) -> str | None:
        """Which voices are heard most, "speech", "choir" or "singing"; None where there is hardly any voice."""
        if self.voice_share < _HARDLY_ANY:
            return None
        if self.speech.size and (self.speech >= 0.5).mean() > self.voice_share / 2:
            return "speech"
        return "choir" if self.choir >= _CHOIR else "singing"


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """What the library holds of any recording. `marks` are the teacher's own words, plain key and value."""

    id: int
    fingerprint: str
    path: Path
    tags: Tags
    marks: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}), kw_only=True)

    @property
    def title(self) -> str:
        """The tagged title, or the file's name without its ending."""
        return self.tags.title or self.path.stem


@dataclass(frozen=True, slots=True, eq=False)
class Track(Recording):
    """A recording that can be played, and what was measured of it."""

    analysis: Analysis


@dataclass(frozen=True, slots=True, eq=False)
class UnusableTrack(Recording):
    """A recording that can't be played, and why: "is copy-protected."."""

    problem: str
