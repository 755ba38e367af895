"""A class with its music: what a set file holds."""

from dataclasses import dataclass
from hashlib import sha256
from typing import Annotated, Literal

from msgspec import Meta

from pairing.model.findings import Finding
from pairing.model.plan import Kind, OwnPace
from pairing.model.timetable import SectionTime
from pairing.model.values import DAY_S, MOST_STATES, Bpm, ClassTime, Curve, Interval, Seconds, Text, TrackId

Preference = Literal["balanced", "close fit", "whole songs", "few changes", "smooth changes", "even sides"]


@dataclass(frozen=True, slots=True)
class Levels:
    """The bed: how loud the music of each kind of section is, as integrated loudness."""

    bed_lufs: Annotated[float, Meta(ge=-70, le=0)] = -20.0
    opening_lu: Annotated[float, Meta(ge=-40, le=20)] = -4.0
    rest_lu: Annotated[float, Meta(ge=-40, le=20)] = -8.0

    def bed(self, kind: Kind) -> float:
        """The bed of a section, LUFS."""
        if kind is Kind.REST or kind is Kind.CLOSING:
            return self.bed_lufs + self.rest_lu
        return self.bed_lufs + (self.opening_lu if kind in (Kind.OPENING, Kind.BREATHING) else 0.0)


@dataclass(frozen=True, slots=True)
class RestWish:
    """How a teacher made the rest by hand; None: as the plan says."""

    minutes: Annotated[float, Meta(gt=0, le=60)] | None = None
    planned_s: Seconds | None = None  # what the plan gave it when `minutes` was asked for
    silence_s: Seconds | None = None
    bells: Annotated[tuple[Literal["start", "end"], ...], Meta(max_length=2)] | None = None


@dataclass(frozen=True, slots=True)
class PairOptions:
    """How to choose: stored with the set, so that later changes follow the same rules."""

    prefer: Preference = "balanced"
    fresh: bool = False  # avoid what was played in recent classes
    allow_repeats: bool = False
    exclude: Annotated[tuple[TrackId, ...], Meta(max_length=1_000_000)] = ()  # tracks that are left out
    levels: Levels = Levels()
    rest: RestWish = RestWish()
    swapped: Annotated[tuple[Text, ...], Meta(max_length=2000)] = ()  # recordings that the teacher swapped in


@dataclass(frozen=True, slots=True)
class Rule:
    """What holds for the music of one stretch of the class."""

    start_s: ClassTime
    end_s: ClassTime
    section: Annotated[int, Meta(ge=-1)]  # its index; -1 before, and the number of sections after the class
    no_voice: bool = False
    folder: Text | None = None
    beat_bpm: tuple[Bpm, Bpm] | None = None


@dataclass(frozen=True, slots=True)
class Song:
    """A track the plan names: it begins at `at_s` and is heard whole."""

    at_s: ClassTime
    title: Text
    line: int


Meets = Literal["climax", "break"]


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment of the class at which the music shall be at its climax, or shall fall back."""

    at_s: ClassTime
    what: Meets
    name: Text  # what is done then
    wished: bool = False  # the note asks for it


@dataclass(frozen=True, slots=True)
class SetFrame:
    """What the plan asks of the music besides its energy, stretch by stretch."""

    before_s: Seconds = 0.0  # music before the class
    after_s: Seconds = 0.0  # and after it
    rules: Annotated[tuple[Rule, ...], Meta(max_length=20_000)] = ()  # sorted; music outside the class included
    silent_s: Annotated[tuple[Interval, ...], Meta(max_length=20_000)] = ()  # no music; sorted, apart
    held_s: Annotated[tuple[Interval, ...], Meta(max_length=20_000)] = ()  # poses held still: no change of music inside
    talk_s: Annotated[tuple[Interval, ...], Meta(max_length=20_000)] = ()  # the teacher speaks: no change inside either
    songs: Annotated[tuple[Song, ...], Meta(max_length=2000)] = ()
    moments: Annotated[tuple[Moment, ...], Meta(max_length=2000)] = ()
    spoken_s: Annotated[
        tuple[Interval, ...], Meta(max_length=20_000)
    ] = ()  # where the plan asks to keep clear of voices


@dataclass(frozen=True, slots=True)
class SetPlan:
    """The plan a set was made from, as it was then."""

    path: Text
    text: Annotated[str, Meta(max_length=1_000_000)]
    sha256: Annotated[str, Meta(pattern="^[0-9a-f]{64}$")]
    poses: Annotated[str, Meta(max_length=1_000_000)] = ""  # own poses of the whole folder: its poses.md
    own_pace: OwnPace | None = None  # the teacher's, as it was then

    @staticmethod
    def digest(text: str) -> str:
        """By which it is known whether a plan's note has changed: SHA-256 of it, in hexadecimal digits."""
        return sha256(text.encode("utf-8", "surrogateescape")).hexdigest()


@dataclass(frozen=True, slots=True)
class Pick:
    """One track's place in a set; `class_start_s` is the first audible moment and `class_end_s` the last."""

    n: Annotated[int, Meta(ge=1)]
    track_id: TrackId
    fingerprint: Annotated[str, Meta(max_length=200)]
    path: Annotated[str, Meta(min_length=1, max_length=10_000)]
    title: Text
    artist: Text
    class_start_s: ClassTime
    class_end_s: ClassTime
    track_start_s: Seconds
    fade_in_s: Seconds
    fade_out_s: Seconds
    gain_db: Annotated[float, Meta(ge=-120, le=60)]
    section: Text
    pinned: bool = False
    why: Text = ""

    @property
    def track_end_s(self) -> float:
        """Last audible second of the track; a span is as long in the class as in the track."""
        return self.track_start_s + (self.class_end_s - self.class_start_s)


@dataclass(frozen=True, slots=True)
class Fit:
    """How well the played energy follows the arc."""

    rmse: Annotated[float, Meta(ge=0, le=10)]  # unweighted, against the target
    # No choice under the same rules has a smaller one: proven for up to 250 tracks, of more for those that matter most.
    bound_rmse: Annotated[float, Meta(ge=0, le=10)]
    gap: Annotated[float, Meta(ge=0, le=1e9)]  # of the full objective to its proven bound, 0 = optimal
    correlation: Annotated[float, Meta(ge=-1.001, le=1.001)]  # played energy against the arc


@dataclass(frozen=True, slots=True)
class Rest:
    """The closing rest of a set."""

    start_s: Seconds
    end_s: Seconds
    bells_s: Annotated[tuple[Seconds, ...], Meta(max_length=1000)] = ()
    silence_s: Seconds = 0.0  # the last seconds without music
    bed_lufs: Annotated[float, Meta(ge=-70, le=0)] = -28.0


@dataclass(frozen=True, slots=True, eq=False)
class Former:
    """How a set was before a change."""

    what: Text  # the change, as one says what is taken back: "swapping track 4"
    was: "SetList"  # without earlier states of its own
    with_plan: bool = False  # the change wrote into the plan's note too


@dataclass(frozen=True, slots=True, eq=False)
class SetList:
    """A class with its music: what `pair` makes and everything later reads."""

    title: Text
    plan: SetPlan
    options: PairOptions
    frame: SetFrame
    class_s: Annotated[float, Meta(ge=0.001, le=DAY_S)]
    slot_s: Seconds | None
    sections: Annotated[tuple[SectionTime, ...], Meta(min_length=1, max_length=500)]
    arc: Curve
    target_energy: Curve  # the arc fitted to what the library can give; NaN where no music
    played_energy: Curve  # NaN where no music
    fit: Fit
    rest: Rest | None
    picks: Annotated[tuple[Pick, ...], Meta(max_length=2000)]
    findings: Annotated[tuple[Finding, ...], Meta(max_length=10_000)] = ()
    previous: Annotated[tuple[Former, ...], Meta(max_length=MOST_STATES)] = ()  # newest last
