"""What a person is told: findings, what they are about, and the deeds and edits that help."""

from dataclasses import dataclass
from typing import Annotated, Literal

from msgspec import Meta, Struct

from pairing.model.values import Text, TrackId


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
