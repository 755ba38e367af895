"""A class as its teacher wrote it."""

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Annotated, Literal

from msgspec import Meta

from pairing.model.findings import Finding
from pairing.model.values import Bpm, Seconds, Share, Side, Text


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
    beat_bpm: tuple[Bpm, Bpm] | None = None  # from, to
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
