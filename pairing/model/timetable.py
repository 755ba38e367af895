"""A class second by second, and what it asks of a body."""

from dataclasses import dataclass, field
from typing import Annotated, Literal

from msgspec import Meta

from pairing.model.findings import Finding
from pairing.model.plan import Kind, Wishes
from pairing.model.values import Curve, Seconds, Side, Text


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


@dataclass(frozen=True, slots=True, eq=False)
class Arc:
    """What the class asks of a body, and so of the music, second by second."""

    demand_mets: Curve  # METs of the poses and their pace
    felt_mets: Curve  # the same with the body's lag
    target_energy: Curve  # 0 to 1; NaN where no music shall sound

    def __post_init__(self) -> None:
        for curve in (self.demand_mets, self.felt_mets, self.target_energy):
            curve.setflags(write=False)
