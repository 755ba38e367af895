"""The values that pass from plan to timetable to arc to set.

Times are seconds (float); `class_` counts from the first breath, `track_` from the first sample of a recording.
Curves are at 1 Hz: value i holds for [i, i + 1) of the class, ceil(class_s) values.
What a set consists of says its own range: a set file may come from a stranger, and is read and described from the
types (`pairing.sets.codec`).
"""

from dataclasses import dataclass, field
from enum import StrEnum
from hashlib import sha256
from typing import Annotated, Literal

from msgspec import Meta, Struct

from audio.arrays import F32

Curve = F32
Side = Literal["right", "left"]

DAY_S = 24 * 3600.0
MOST_STATES = 50  # of a set, kept to be taken back to
Seconds = Annotated[float, Meta(ge=0, le=DAY_S)]  # a length, or a time inside the class
ClassTime = Annotated[float, Meta(ge=-DAY_S, le=2 * DAY_S)]  # music before and after the class included
Interval = tuple[ClassTime, ClassTime]  # start, end
Share = Annotated[float, Meta(ge=0, le=1)]
Text = Annotated[str, Meta(max_length=10_000)]
Tempo = Annotated[float, Meta(ge=1, le=1000)]  # beats a minute
TrackId = Annotated[int, Meta(ge=0, le=2**63 - 1)]


# ---- what a person is told ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Edit:
    """Replace line `line` (from 1) of a plan's text by `new`; None removes the line."""

    line: int
    new: str | None


@dataclass(frozen=True, slots=True)
class Where:
    """What a finding is about: a place in a note, a section, tracks of the class, or what has only a name.

    As text it is what JSON and set files have; `pairing.show.findings` says it to a person.

    >>> str(Where("saturday.md", 14, 3)), str(Where(section="Tide")), str(Where(tracks=(1, 2)))
    ('saturday.md, line 14, column 3', 'Tide', 'track 1 and track 2')
    """

    file: Text = ""
    line: Annotated[int, Meta(ge=0)] = 0  # from 1; 0: the file as a whole
    column: Annotated[int, Meta(ge=0)] = 0  # from 1; 0: the line as a whole
    section: Text = ""  # of the class; with `line`, the one that the line stands in
    tracks: Annotated[tuple[int, ...], Meta(max_length=2000)] = ()  # their numbers in the class
    name: Text = ""  # "library", "the end"

    def __str__(self) -> str:
        line = (f"line {self.line}",) if self.line else ()
        column = (f"column {self.column}",) if self.column else ()
        tracks = " and ".join(f"track {n}" for n in self.tracks)
        section = "" if self.line else self.section
        return ", ".join(part for part in (self.file, *line, *column, section, tracks, self.name) if part)


class Swap(Struct, frozen=True, tag="swap"):
    """A deed: put another track in the place of track `n` of the class."""

    n: Annotated[int, Meta(ge=1)]


class ChooseAnew(Struct, frozen=True, tag="choose"):
    """A deed: choose the music of the plan as it is now; what still fits stays."""


class MakeRest(Struct, frozen=True, tag="rest"):
    """A deed: choose the music of the closing rest anew, or end it in silence."""

    silent: bool = False


class Scan(Struct, frozen=True, tag="scan"):
    """A deed: listen to a folder of music."""


class LookUp(Struct, frozen=True, tag="look-up"):
    """A deed: look for a track in the library."""


class Mark(Struct, frozen=True, tag="mark"):
    """A deed: set the teacher's own word on a track of the library."""

    track_id: TrackId
    word: Text  # "voice=no"


class Apply(Struct, frozen=True, tag="apply"):
    """A deed: change the plan by one of the remedies of its slot check."""

    remedy: Text


class WriteMix(Struct, frozen=True, tag="mix"):
    """A deed: write the mix anew over the one that stands there."""

    out: Text  # its file, as typed


Deed = Swap | ChooseAnew | MakeRest | Scan | LookUp | Mark | Apply | WriteMix


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing a check found: how grave, what, where, what to do, and the deeds that do it.

    `message` and `remedy` name no command: terminal, page and sheet each say in their way how a deed is done.
    """

    level: Literal["must", "should", "note"]
    code: Annotated[str, Meta(max_length=100)]  # lower case with hyphens, stable
    where: Where
    message: Text
    remedy: Text | None = None
    edits: tuple[Edit, ...] = ()  # where there is one clear correction of the plan's text
    deeds: tuple[Deed, ...] = ()


@dataclass(frozen=True, slots=True)
class Remedy:
    """A change of the plan that saves (or fills) time, and the edits that make it."""

    id: str  # what a person types after --apply
    text: str
    saves_s: float  # below 0: takes that much longer
    edits: tuple[Edit, ...]


# ---- the plan ----------------------------------------------------------------------------------------------------


class Kind(StrEnum):
    """What a section is for, in the trade's words."""

    OPENING = "opening"
    BREATHING = "breathing"
    WARM_UP = "warm-up"
    FLOW = "flow"
    STANDING = "standing"
    STRENGTH = "strength"
    PEAK = "peak"
    FLOOR = "floor"
    COOL_DOWN = "cool-down"
    REST = "rest"
    CLOSING = "closing"


@dataclass(frozen=True, slots=True)
class Place:
    """Where something stands in a plan's text; lines and columns count from 1."""

    line: int  # 0: no line asks for this by itself
    column: int = 1
    told_by: int = 0  # then the line that says how it is done, in the pass before


@dataclass(frozen=True, slots=True)
class Length:
    """A length as typed, in full breaths or in seconds; a range has its middle as the likely value."""

    unit: Literal["breaths", "seconds"]
    likely: float
    shortest: float
    longest: float


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the teacher asks of the music; None or False where nothing is said."""

    level: Literal["quiet", "steady", "driving"] | None = None
    energy: Share | None = None
    no_music: bool = False
    no_voice: bool = False
    clear_talk: bool = False  # no voice while the teacher speaks
    same_music: bool = False
    folder: Text | None = None  # as typed: only music from a folder of this name
    beat_bpm: tuple[Tempo, Tempo] | None = None  # from, to
    rises_into: bool = False  # the music reaches its climax here
    breaks_at: bool = False  # the music falls back here
    silent_last_s: Seconds | None = None


@dataclass(frozen=True, slots=True)
class Element:
    """One line of a plan: a pose, or something that happens once."""

    what: Literal["pose", "say", "pause", "silence", "bell", "song", "gap"]
    name: str  # as typed: the pose, the spoken text, the song's title; of a gap, what isn't understood
    place: Place
    pose_id: str | None = None  # None for all but poses
    alternatives: tuple[str, ...] = ()  # "crow or garland": what stands after the first
    length: Length | None = None  # None: the usual hold of the pose table
    times: int | None = None  # x3; for a bell, its strokes
    each_side: bool = False
    side: Side | None = None  # done on this side only
    once: Literal["between sides", "after both sides"] | None = None
    optional: bool = False
    from_round: int = 1
    to_round: int | None = None  # None: to the last
    last_round: Literal["only", "not"] | None = None
    no_hold: bool = False  # a salutation without its long hold
    supported: bool = False  # by props
    every_time: bool = False  # talk, a bell and the like come in each round
    note: str = ""
    wishes: Wishes = field(default_factory=Wishes)


@dataclass(frozen=True, slots=True)
class Group:
    """Lines done together: rounds, sides, a common length. A section is a group with a kind."""

    name: str
    place: Place
    parts: tuple["Element | Group", ...]
    rounds: int = 1
    quicker: float = 0.0  # 0 up to below 1: each round takes (1 - quicker) of the one before
    both_sides: bool = False
    first_side: Side = "right"
    minutes: Length | None = None  # covers all rounds and sides
    what_is_left: bool = False
    at_least_s: float | None = None  # of a group that takes what is left
    breath_s: float | None = None  # of a full breath; None: as around it
    between_s: float | None = None  # from one held pose into the next; None: as around it
    optional: bool = False
    repeats: str | None = None  # name of the earlier section or group whose parts these are
    note: str = ""
    wishes: Wishes = field(default_factory=Wishes)


@dataclass(frozen=True, slots=True)
class Section(Group):
    """A part of the class that has a name and a purpose."""

    kind: Kind = Kind.FLOW


@dataclass(frozen=True, slots=True)
class KindPace:
    """A teacher's own pace in sections of one kind; None where nothing is known."""

    breath_s: Annotated[float, Meta(ge=1, le=60)] | None = None  # a full breath
    first_breath_s: Annotated[float, Meta(ge=1, le=120)] | None = None  # in the first, taught pass
    between_s: Annotated[float, Meta(ge=0, le=900)] | None = None  # from one pose into the next


@dataclass(frozen=True, slots=True)
class OwnPace:
    """A teacher's own pace, for classes of one style."""

    kinds: dict[Kind, KindPace]
    classes: Annotated[int, Meta(ge=0)] = 0  # that it was learned from


@dataclass(frozen=True, slots=True)
class Plan:
    """A whole class as the teacher wrote it."""

    title: str
    sections: tuple[Section, ...]
    slot_s: float | None = None  # the booking; None: not said
    settle_s: float = 0.0  # arrivals, inside the slot, before the start
    leave_s: float = 0.0  # leaving, inside the slot, after the end
    breath_s: float | None = None  # None: not said, 5 s are taken
    holds: Literal["flow", "slow"] | None = None  # None: not said, by the style of the class
    between_s: float | None = None  # from one held pose into the next; None: not said, by the style of the class
    style: str | None = None  # a name of pairing.plan.style; None: told from title and poses
    own_pace: OwnPace | None = None  # the teacher's, where the note states no breath
    before_s: float = 0.0  # music before the class
    after_s: float = 0.0  # and after it
    start: str | None = None  # "18:30", local wall time
    wishes: Wishes = field(default_factory=Wishes)
    own_poses: tuple["OwnPose", ...] = ()
    facts: tuple[tuple[str, str], ...] = ()  # theme, props, level, note, in the order typed
    file: str = ""  # name for messages
    text: str = ""  # the source, byte for byte what was typed
    taken_as: tuple[Finding, ...] = ()  # liberties taken in reading, level "note"
    questions: tuple[Finding, ...] = ()  # what could not be read for certain, level "must"
    lines: tuple["LineRead", ...] = ()  # every line that isn't blank, in order
    slot_by_title: bool = False  # the slot was read in the title, not under its own name
    total: tuple[int, float] | None = None  # a line that sums the class up, and its seconds
    breath_range_s: tuple[float, float] | None = None  # "breath: 4-6 seconds": the quickest and the slowest


@dataclass(frozen=True, slots=True)
class LineRead:
    """A line of a note as typed, and what it was taken for."""

    line: int  # from 1
    text: str
    says: str  # for a person: "Warrior II, 5 breaths, each side"
    sure: bool = True
    answers: tuple[str, ...] = ()  # where it isn't sure: three rewrites of the line at most, the likeliest first


@dataclass(frozen=True, slots=True)
class OwnPose:
    """A pose the teacher defined: like another, or by its effort."""

    name: str
    like: str | None = None  # pose id
    mets: float | None = None  # of the held pose
    sided: bool = False


# ---- the timetable -----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Step:
    """One stretch of the class in which one thing happens."""

    what: Literal["pose", "say", "pause", "silence", "bell", "song", "gap", "between"]
    name: str  # for display
    start_s: float
    end_s: float
    section: int  # index into Timetable.sections
    pose_id: str | None = None
    breaths: float | None = None  # full breaths; None where the length is in seconds
    times: int = 1  # repetitions; strokes of a bell
    side: Side | None = None
    round: int = 1
    line: int = 0  # that asks for it; 0: time between poses, and passes that a heading without signs adds
    told_by: int = 0  # the line that says how it is done; 0: none
    note: str = ""
    optional: bool = False
    supported: bool = False
    mets: float = 1.0  # demand, METs, of this step as it is moved or held here
    alternatives: tuple[str, ...] = ()
    wishes: Wishes = field(default_factory=Wishes)  # what holds here: line over group over section over plan


@dataclass(frozen=True, slots=True)
class Passage:
    """One round on one side (or both at once)."""

    round: Annotated[int, Meta(ge=1, le=10_000)]
    side: Side | None
    start_s: Seconds
    end_s: Seconds


@dataclass(frozen=True, slots=True)
class SectionTime:
    """When a section happens."""

    name: Text
    kind: Kind
    start_s: Seconds
    end_s: Seconds
    passes: Annotated[tuple[Passage, ...], Meta(max_length=2000)]
    breath_s: Annotated[float, Meta(ge=0.1, le=600)]
    mean_mets: Annotated[float, Meta(ge=0, le=50)]
    wishes: Wishes


@dataclass(frozen=True, slots=True)
class Timetable:
    """The class second by second; steps and sections without gap or overlap from 0 to duration_s."""

    duration_s: float
    sections: tuple[SectionTime, ...]
    steps: tuple[Step, ...]  # bells and songs have start_s == end_s
    shortest_s: float
    longest_s: float
    assumptions: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()  # what came up in timing: lines longer than their minutes


# ---- the arc -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, eq=False)
class Arc:
    """What the class asks of a body, and so of the music, second by second."""

    demand_mets: Curve  # METs of the poses and their pace
    felt_mets: Curve  # the same with the body's lag
    target_energy: Curve  # 0 to 1; NaN where no music shall sound

    def __post_init__(self) -> None:
        for curve in (self.demand_mets, self.felt_mets, self.target_energy):
            curve.setflags(write=False)


# ---- the set -----------------------------------------------------------------------------------------------------

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
    beat_bpm: tuple[Tempo, Tempo] | None = None


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
