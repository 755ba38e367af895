"""What one line says, in order: poses, holds, counts, pauses, each with its own or a shared amount."""

from dataclasses import dataclass, field
from typing import Literal

from pairing.model import Element, Kind, Length, Wishes
from pairing.plan.line.amounts import Amount
from pairing.plan.poses import Match, Pose, PoseTable
from pairing.plan.tokens import Token

LINE_GROUP = "part"  # the name of a group that no heading names
What = Literal["pose", "say", "pause", "silence", "bell", "song", "gap"]


@dataclass(frozen=True, slots=True)
class Around:
    """What a line's reading may lean on."""

    table: PoseTable
    kind: Kind | None = None  # of the section, where it is known
    yin: bool = False  # bare numbers of this note are minutes
    counts: bool = False  # bare numbers of this note are repetitions
    before: Element | None = None  # the last pose or gap above
    intervals: tuple[float, float] | None = None  # seconds of work and rest, for lines without an amount
    minutes: bool = False  # no bare number near it counts breaths
    both_sides: bool = False  # the lines around are done on both sides already


@dataclass(slots=True)
class Move:
    """One thing that is done."""

    what: What | Literal["hold", "pulse", "move"]
    name: str
    match: Match | None = None
    amount: Amount = field(default_factory=Amount)
    notes: list[str] = field(default_factory=list)
    alternatives: list[str] = field(default_factory=list)
    joined: str = ","  # what stands before it
    picture: bool = False
    broad: bool = False  # its name is a word of every day too
    unknown: bool = False
    greets: bool = False  # it is said in a moment: "namaste"
    doubt: bool = False  # a word before its name belongs to the names of other poses
    roles: frozenset[str] = frozenset()

    @property
    def pose(self) -> Pose | None:
        """The pose it is, where it is one."""
        return self.match.pose if self.match else None


@dataclass(slots=True)
class Line:
    """What one line says."""

    moves: list[Move] = field(default_factory=list)
    label: str = ""
    label_tokens: tuple[Token, ...] = ()
    shared: Amount = field(default_factory=Amount)  # of all its moves
    between: list[Move] = field(default_factory=list)
    between_what: Literal["sides", "rounds", ""] = ""
    other_side: bool = False  # the whole line is done on the other side too
    in_front: bool = False  # what is shared stands in a bracket before all moves
    sets: int = 1
    work_rest: tuple[float, float] | None = None  # seconds of work and rest of each set, where its label tells
    same: bool = False  # as what stands above
    of_each: bool = False  # a length is said of each of several poses
    minutes: Length | None = None  # of all of it, said before a colon
    notes: list[str] = field(default_factory=list)
    wishes: Wishes = field(default_factory=Wishes)
    peak: bool = False
    leftover: list[str] = field(default_factory=list)  # numbers that found no place
