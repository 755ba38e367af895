"""Headings of sections and groups: name, kind, attributes; also those typed without their signs."""

import re
from dataclasses import dataclass, field

from pairing.model import Element, Group, Kind, Side, Wishes
from pairing.plan.attributes import mistyped, mistyped_length, read_heading
from pairing.plan.kinds import kind_in, kind_named
from pairing.plan.lines import Line
from pairing.plan.names import key
from pairing.plan.near import HEADING_PHRASES, misspelt, misspelt_kind
from pairing.plan.poses import PoseTable
from pairing.plan.problems import Problems
from pairing.plan.said import Fault, Said


@dataclass(slots=True)
class Opened:
    """A section or group whose lines are still coming."""

    line: Line
    level: int  # 2: a section
    name: str
    said: Said
    kind: Kind | None = None
    parts: list["Element | Group"] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    side: Side | None = None  # lines from here on are done on this side: "Right side:"
    side_from: int = 0  # the first part that is
    closed_by: Line | None = None  # a line that speaks of all lines above: "other side"
    unnamed: bool = False  # no heading stands above its lines
    music_from: list[tuple[int, Wishes]] = field(default_factory=list)  # wishes that hold from this part on


def open_section(line: Line, problems: Problems) -> Opened:
    """Read the heading of a section; its kind is None where it names none outside its name."""
    name, said = _split(line.text, group=False)
    _report(line, said, problems)
    kind, notes = kind_in(said.parts)
    if kind is None:
        slips = {part: slip for part in said.parts if (slip := misspelt_kind(part, tuple(Kind)))}
        problems.faults(line, [_unknown_kind(part, slip) for part, slip in slips.items()])
    return Opened(line, 2, name or (kind.value if kind else ""), said, kind, notes=[*said.notes, *notes])


def open_group(line: Line, level: int, problems: Problems) -> Opened:
    """Read the heading of a group."""
    name, said = _split(line.text, group=True)
    _report(line, said, problems)
    return Opened(line, level, name or "part", said, notes=[*said.notes, *said.parts])


def is_bare_heading(line: Line, table: PoseTable) -> bool:
    """Whether a line without signs is meant as a heading: bold, in capitals, before a colon, or apart; and no pose.

    Only for notes that have no headings with signs, or for bold lines.
    """
    if line.form != "text":
        return False
    name = re.split(r"[:,(]|\s[-–—]\s|\s\d", line.text)[0].strip()
    kind = kind_named(name)
    if table.knows(name) and kind is not Kind.REST:
        return False
    loud = line.bold or (name.isupper() and len(name) > 3) or line.text.rstrip().endswith(":")
    return kind is not None and (loud or line.first)


def _split(text: str, *, group: bool) -> tuple[str, Said]:
    """Give a heading's name and what the rest says: at a colon, a dash, a comma; else the name is what says nothing."""
    text = re.sub(r"^\(?\d{1,2}[.)]\s+(?=\D)", "", text)
    for separator in (r"\s*:(?!\d)\s*", r"\s+[-–—]+\s+"):
        name, *rest = re.split(separator, text, maxsplit=1)
        if rest:
            return name.strip(EDGE), read_heading(rest[0])
    name, *rest = re.split(r"\s*,\s*|\s+(?=\()", text, maxsplit=1)
    in_name = read_heading(name)
    if in_name.faults or not (in_name.told & _STRUCTURE or (group and in_name.told and not in_name.parts)):
        return name.strip(EDGE), read_heading(rest[0] if rest else "")
    said = read_heading(text)
    taken = in_name.parts[:1]
    said.parts = [part for part in said.parts if part not in taken]
    return (taken[0].strip(EDGE) if taken else ""), said


def _report(line: Line, said: Said, problems: Problems) -> None:
    """Report what can't be understood in a heading, and keep in `said.parts` what can be a kind or a note."""
    slips = {part: misspelt(part, HEADING_PHRASES) for part in said.parts}
    odd = [part for part, slip in slips.items() if slip or re.search(r"\d", part) or _HANGING.match(part)]
    faults = [_odd(part, slips[part]) for part in odd]
    said.parts = [part for part in said.parts if part not in odd]
    problems.faults(line, [*said.faults, *faults])
    problems.liberties_of(line, said.liberties)


def _odd(part: str, meant: str | None) -> Fault:
    if meant:
        return mistyped(part, meant)
    unknown = Fault("unknown-attribute", part, f'"{part}" isn\'t understood in a heading.', _HEADINGS)
    return mistyped_length(part) or unknown


def _unknown_kind(part: str, meant: str) -> Fault:
    remedy = f'Did you mean "{meant}"? Kinds are: {", ".join(Kind)}.'
    return Fault("unknown-kind", part, f'"{part}" isn\'t a kind of section.', remedy, meant)


def guess_kind(opened: Opened, group: Group, *, first: bool, problems: Problems) -> Kind:
    """Give the kind of a section that names none: from its name, from a corpse pose in it, from its place."""
    kind = kind_named(opened.name)
    if kind is not None and key(opened.name) == key(kind.value):
        return kind
    rests = any(isinstance(part, Element) and part.pose_id == "corpse" for part in group.parts)
    kind = kind or (Kind.REST if rests else Kind.OPENING if first else Kind.FLOW)
    problems.liberty(opened.line, "kind-guessed", f'"{opened.name}" doesn\'t say its kind; {kind.value} is assumed.')
    return kind


# Attributes that a heading without separators may hold beside its name; "quiet" alone is a name.
_STRUCTURE = {
    "rounds",
    "quicker",
    "each_side",
    "first_side",
    "length",
    "what_is_left",
    "at_least",
    "breath",
    "between",
    "repeats",
}
EDGE = " \t:,;-–—#>"
_HANGING = re.compile(r"(?:each|every|per|between|at least|silent last|repeat)\b", re.IGNORECASE)
_HEADINGS = (
    "A heading holds a name, a kind, rounds, sides, minutes, music; what is only for you to read goes in brackets."
)
