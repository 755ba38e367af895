"""Parts of a class that the note doesn't name: the quiet beginning, the closing rest, the peak.

A note without headings is one long part; here what lies at its ends, and the lines it calls its peak, become parts of
their own, so that the music knows them. Nothing is moved and no length changes.
"""

from collections.abc import Iterable
from dataclasses import replace

from pairing.model import Element, Group, Kind, Section
from pairing.plan.poses import PoseTable

QUIET_METS = 1.6  # up to here a pose is one to arrive in; editorial
REST_ID = "corpse"


def in_sections(sections: list[Section], table: PoseTable, peaks: set[int]) -> tuple[Section, ...]:
    """Give the sections with those that their lines call for."""
    parted = [piece for section in sections for piece in _peaked(section, peaks)]
    has_rest = any(section.kind is Kind.REST for section in parted)
    if not has_rest:
        parted = _with_rest(parted)
    return tuple(_with_opening(parted, table))


def _peaked(section: Section, peaks: set[int]) -> list[Section]:
    if section.place.line in peaks and section.kind is not Kind.REST:
        return [replace(section, kind=Kind.PEAK)]
    lines = {part.place.line for part in section.parts}
    if not lines & peaks or section.rounds > 1 or section.both_sides or section.minutes:
        return [section]
    pieces: list[Section] = []
    for part in section.parts:
        kind = Kind.PEAK if part.place.line in peaks else section.kind
        if pieces and pieces[-1].kind is kind:
            pieces[-1] = replace(pieces[-1], parts=(*pieces[-1].parts, part))
        else:
            name = "Peak" if kind is Kind.PEAK else section.name
            pieces.append(
                replace(section, parts=(part,), kind=kind, name=name, place=part.place if pieces else section.place)
            )
    return pieces


def _with_rest(sections: list[Section]) -> list[Section]:
    """Part the last resting pose of a class off, with what comes behind it."""
    for index in range(len(sections) - 1, max(-1, len(sections) - 3), -1):
        section = sections[index]
        if section.rounds > 1 or section.both_sides or section.minutes or section.what_is_left:
            continue
        at = max((n for n, part in enumerate(section.parts) if _is_rest(part)), default=-1)
        if (
            at < 0
            or not _closes(section.parts[at + 1 :])
            or not all(_closes(other.parts) for other in sections[index + 1 :])
        ):
            continue
        before, rest, after = section.parts[:at], section.parts[at : at + 1], section.parts[at + 1 :]
        pieces = [replace(section, parts=before)] if before else []
        place = rest[0].place
        pieces.append(replace(section, name="Rest", parts=rest, kind=Kind.REST, place=place))
        if after:
            pieces.append(replace(section, name="Closing", parts=after, kind=Kind.CLOSING, place=after[0].place))
        return [*sections[:index], *pieces, *sections[index + 1 :]]
    return sections


def _is_rest(part: Element | Group) -> bool:
    if isinstance(part, Group):
        return len(part.parts) == 1 and _is_rest(part.parts[0])
    return part.pose_id == REST_ID


def _closes(parts: Iterable[Element | Group]) -> bool:
    """Whether nothing but an end follows: talk, a seat, a bell."""
    return (
        sum(1 for part in parts if isinstance(part, Group) or part.what not in ("say", "bell", "silence", "song")) <= 3
    )


def _with_opening(sections: list[Section], table: PoseTable) -> list[Section]:
    first = sections[0] if sections else None
    if first is None or first.kind is not Kind.FLOW or first.name != "Class" or first.rounds > 1 or first.both_sides:
        return sections
    quiet = 0
    while quiet < len(first.parts) and _is_quiet(first.parts[quiet], table):
        quiet += 1
    if quiet == 0 or quiet == len(first.parts):
        return sections
    while quiet < len(first.parts) and first.parts[quiet].place.line == first.parts[quiet - 1].place.line:
        quiet += 1  # no line lies in two parts
    if quiet == len(first.parts) and len(sections) == 1:
        return sections
    opening = replace(first, name="Opening", kind=Kind.OPENING, parts=first.parts[:quiet])
    behind = first.parts[quiet:]
    rest = [replace(first, parts=behind, place=behind[0].place)] if behind else []
    return [opening, *rest, *sections[1:]]


def _is_quiet(part: Element | Group, table: PoseTable) -> bool:
    if isinstance(part, Group):
        return all(_is_quiet(inner, table) for inner in part.parts)
    return part.pose_id is None or table.get(part.pose_id).mets <= QUIET_METS
