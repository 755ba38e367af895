"""What is known of one recording: the values that pass from analysis to library to pairing.

Units: seconds from the first decoded sample, LUFS and LU per ITU-R BS.1770 and EBU R 128, dBTP, beats a minute.
Curves are at 1 Hz: value i holds for [i, i + 1) of the track, ceil(duration_s) values.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any, Generic, Self, TypeVar, cast, overload

import numpy as np

from audio.arrays import F32, F64

Curve = F32
_T = TypeVar("_T")
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
class TrackSection:
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

    sections: tuple[TrackSection, ...] = ()
    climb_s: float | None = None
    climax_s: float | None = None
    breaks: tuple[Break, ...] = ()
    ending_s: float | None = None


class _Along(Generic[_T]):
    """A value of curves under the name it is given there: typed, and got by `Curves.get` whenever it is asked for."""

    def __set_name__(self, owner: type, name: str) -> None:
        self._name = name

    @overload
    def __get__(self, curves: None, owner: type) -> Self: ...
    @overload
    def __get__(self, curves: "Curves", owner: type) -> _T: ...
    def __get__(self, curves: "Curves | None", owner: type) -> Self | _T:
        return self if curves is None else cast(_T, curves.get(self._name))


class Curves:
    """What runs along a recording: at hand (`MeasuredCurves`), or unpacked whenever it is asked for.

    Arrays are read-only; T is ceil(duration_s), the number of `seconds`.
    """

    __slots__ = ()

    energy = _Along[Curve]()
    """Perceived energy, 0 to 1, shape (T,)."""
    voice = _Along[Curve]()
    """Likelihood of a sung or spoken voice, 0 to 1, shape (T,)."""
    speech = _Along[Curve]()
    """Likelihood that the voice speaks, 0 to 1, shape (T,) or (0,) where it isn't known."""
    loudness = _Along[Curve]()
    """Short-term LUFS, the loudest 3-s window that ends in the second, shape (T,)."""
    beats_s = _Along[F64]()
    """When the beats fall, ascending; empty where there is no clear beat."""
    downbeats_s = _Along[F64]()
    """When the bars begin, ascending; empty where that isn't clear."""
    cut_points = _Along[tuple[CutPoint, ...]]()
    """Sorted; the first is the start, the last the end of the track."""
    cuts = _Along[F64]()
    """The cut points as numbers, shape (M, 3): second, cost of entering, cost of leaving."""
    shape = _Along[Shape]()
    """Where the track rises."""
    seconds = _Along[int]()
    """Values of the energy curve, T."""
    mean_energy = _Along[float]()
    """Mean of the energy curve, 0 to 1; 0 for an empty curve."""
    voice_share = _Along[float]()
    """Share of seconds in which a voice is more likely than not, 0 to 1."""

    def get(self, name: str) -> Any:
        """The value of that name, untyped: what the two kinds differ in."""
        raise NotImplementedError


ALONG = ("energy", "voice", "loudness", "beats_s", "downbeats_s", "cut_points", "shape", "speech")  # the others follow


class MeasuredCurves(Curves):
    """Curves at hand."""

    __slots__ = ("_values",)

    def __init__(
        self,
        *,
        energy: Curve,
        voice: Curve,
        loudness: Curve,
        beats_s: F64,
        downbeats_s: F64,
        cut_points: tuple[CutPoint, ...],
        shape: Shape = Shape(),  # noqa: B008  (it can't be changed)
        speech: Curve | None = None,
    ) -> None:
        speech = np.zeros(0, np.float32) if speech is None else speech
        for array in (beats_s, downbeats_s, energy, voice, loudness, speech):
            array.setflags(write=False)
        numbers = [(cut.at_s, cut.enter_cost, cut.leave_cost) for cut in cut_points]
        self._values: dict[str, Any] = {
            "energy": energy,
            "voice": voice,
            "loudness": loudness,
            "beats_s": beats_s,
            "downbeats_s": downbeats_s,
            "cut_points": cut_points,
            "shape": shape,
            "speech": speech,
            "seconds": len(energy),
            "cuts": np.array(numbers, np.float64).reshape(-1, 3),
            "mean_energy": float(energy.mean()) if energy.size else 0.0,
            "voice_share": float((voice >= 0.5).mean()) if voice.size else 0.0,
        }

    def get(self, name: str) -> Any:
        """The value of that name."""
        return self._values[name]


@dataclass(frozen=True, slots=True, eq=False)
class Analysis:
    """All that was measured of one recording; holds arrays, so compare by field, not by value."""

    duration_s: float
    loudness_lufs: float  # integrated, gated; -inf for silence
    loudness_range_lu: float  # EBU Tech 3342
    true_peak_dbtp: float
    rise_lu: float  # largest rise of short-term loudness within 3 s
    tempo_bpm: float | None  # None: no clear beat
    tempo_confidence: float  # 0 to 1, calibrated: share of such tracks whose tempo is right
    tempo_drift: float  # spread of the local tempo over the median, 0 for a machine
    metre: int | None  # beats a bar
    key: str | None  # "A minor"
    key_strength: float  # 0 to 1
    treble_share: float  # share of power above 4 kHz, 0 to 1
    onset_rate: float  # onsets a second
    curves: Curves
    notes: tuple[str, ...] = ()  # what was odd about the file, one line each
    choir: float = 0.0  # 0 to 1, likelihood that the voices are a choir's

    def but(self, **changed: Any) -> "Analysis":
        """The same with all curves at hand, and with other values where some are given, of itself or of its curves."""
        along = {name: changed.pop(name) if name in changed else getattr(self.curves, name) for name in ALONG}
        return replace(self, curves=MeasuredCurves(**along), **changed)

    @property
    def voice_kind(self) -> str | None:
        """Which voices are heard most, "speech", "choir" or "singing"; None where there is hardly any voice."""
        share, speech = self.curves.voice_share, self.curves.speech
        if share < _HARDLY_ANY:
            return None
        if speech.size and (speech >= 0.5).mean() > share / 2:
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
