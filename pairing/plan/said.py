"""What one line or heading of a plan says, as it is found out; and what in it can't be understood."""

from dataclasses import dataclass, field, replace
from typing import Any, Literal, NamedTuple

from pairing.model import Length, Side, Wishes


class Fault(NamedTuple):
    """Something in a line that can't be understood; `code` as in `Finding`, `fragment` as typed."""

    code: str
    fragment: str
    message: str
    remedy: str
    new: str | None = None  # what the fragment should read, where that is clear; "" to drop it


@dataclass(slots=True)
class Said:
    """What one line or heading says, fields as in `Element`, `Group` and `Wishes`; None or False: nothing said."""

    length: Length | None = None
    times: int | None = None
    each_side: bool = False
    side: Side | None = None
    once: Literal["between sides", "after both sides"] | None = None
    optional: bool = False
    from_round: int | None = None
    to_round: int | None = None
    last_round: Literal["only", "not"] | None = None
    no_hold: bool = False
    supported: bool = False
    every_time: bool = False
    rounds: int | None = None
    quicker: float | None = None
    first_side: Side | None = None
    what_is_left: bool = False
    at_least: Length | None = None
    breath: Length | None = None
    between: Length | None = None
    repeats: str | None = None
    wishes: Wishes = field(default_factory=Wishes)
    notes: list[str] = field(default_factory=list)  # only to be read
    parts: list[str] = field(default_factory=list)  # what is left between the attributes
    faults: list[Fault] = field(default_factory=list)
    liberties: list[str] = field(default_factory=list)  # sentences for a person
    told: set[str] = field(default_factory=set)  # names of the fields that were said
    length_again: str | None = None  # the same length as typed a second time

    def put(self, name: str, value: Any, typed: str) -> None:
        """Note that the line says this; a fault where it said something else before."""
        if name in self.told and getattr(self, name) != value:
            self.faults.append(twice(typed))
            return
        if name in self.told and name == "length":
            self.length_again = typed
        self.told.add(name)
        setattr(self, name, value)

    def wish(self, typed: str, **wishes: Any) -> None:
        """Note a wish for the music."""
        for name, value in wishes.items():
            if name in self.told and getattr(self.wishes, name) != value:
                self.faults.append(twice(typed))
                return
            self.told.add(name)
        self.wishes = replace(self.wishes, **wishes)

    def add(self, more: "Said") -> bool:
        """Add what `more` says, if nothing has been said about any of it; tell whether it was added."""
        if self.told & more.told:
            return False
        for name in more.told:
            if hasattr(self, name):
                setattr(self, name, getattr(more, name))
            else:
                self.wishes = replace(self.wishes, **{name: getattr(more.wishes, name)})
        self.told |= more.told
        self.liberties += more.liberties
        return True


def twice(typed: str) -> Fault:
    """Give the fault of an attribute that says other than one before it."""
    return Fault(
        "said-twice",
        typed,
        f'"{typed}" contradicts what the line says before.',
        "Keep one; what is only for you to read goes in brackets.",
    )
