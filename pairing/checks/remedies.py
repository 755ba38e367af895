"""Changes of a plan that save or fill time: each as a changed plan, to be timed, and as edits of the plan's text."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial

from pairing.checks.rewrite import (
    heading_level,
    with_breaths_added,
    with_rounds,
    with_seconds,
    with_what_is_left,
)
from pairing.constants import HELD_FROM_BREATHS, usual_rest_s
from pairing.model import Edit, Element, Group, Kind, Length, Plan, Section

Part = Element | Group
_STEP_S = 60.0  # by which sections of fixed minutes are changed
_LEAST_HOLD_S = 60.0  # that a hold in seconds is left with
_LEAST_S = 120.0  # that a section of fixed minutes is left with


@dataclass(frozen=True, slots=True)
class Change:
    """One way to change a plan, not yet timed."""

    id: str
    text: str
    plan: Plan
    edits: tuple[Edit, ...]


def shortening(plan: Plan) -> Iterator[Change]:
    """Give what may be left out or done less of."""
    lines = plan.text.splitlines()
    for part in _parts(plan):
        if part.optional:
            yield from _left_out(plan, part, lines)
    for group in _groups(plan):
        if group.rounds > 1:
            yield from _rounds(plan, group, lines, -1)
    for section in plan.sections:
        if not _is_rest(section):
            yield from _holds(plan, section, lines, -1)
    for group in _groups(plan):
        if group.minutes and group.minutes.shortest - _STEP_S >= _LEAST_S and not _is_rest(group):
            yield from _minutes(plan, group, lines, -_STEP_S)


def lengthening(plan: Plan) -> Iterator[Change]:
    """Give where more time may go."""
    lines = plan.text.splitlines()
    yield from _rest_takes_what_is_left(plan, lines)
    for group in _groups(plan):
        if group.rounds > 1:
            yield from _rounds(plan, group, lines, +1)
    for section in plan.sections:
        if not _is_rest(section):
            yield from _holds(plan, section, lines, +1)
    for group in _groups(plan):
        if group.minutes:
            yield from _minutes(plan, group, lines, _STEP_S)


# ---- the changes -------------------------------------------------------------------------------------------------


def _left_out(plan: Plan, part: Part, lines: list[str]) -> Iterator[Change]:
    first = part.place.line
    last = _last_line(lines, first) if isinstance(part, Group) else first
    if last <= len(lines):
        changed = _changed(plan, lambda other: None if other is part else other)
        edits = tuple(Edit(line, None) for line in range(first, last + 1))
        yield Change(f"option-{first}", f'leave out "{part.name}"', changed, edits)


def _rounds(plan: Plan, group: Group, lines: list[str], more: int) -> Iterator[Change]:
    edit = _edit(lines, group.place.line, lambda line: with_rounds(line, group.rounds, group.rounds + more))
    if edit:
        changed = _with(plan, group, lambda it: replace(it, rounds=group.rounds + more))
        how = "one round less" if more < 0 else "one round more"
        yield Change(f"rounds-{group.place.line}", f'{how} of "{group.name}"', changed, (edit,))


def _holds(plan: Plan, section: Section, lines: list[str], sign: int) -> Iterator[Change]:
    """All holds of a section a breath, or half a minute, shorter or longer."""
    more = "less" if sign < 0 else "more"
    yield from _longer(
        plan, section, lines, "breaths", sign * 1.0, f"breath-{section.place.line}", f"one breath {more}"
    )
    yield from _longer(
        plan, section, lines, "seconds", sign * 30.0, f"hold-{section.place.line}", f"half a minute {more}"
    )


def _longer(
    plan: Plan, section: Section, lines: list[str], unit: str, more: float, name: str, how: str
) -> Iterator[Change]:
    longer: dict[int, Length] = {}
    edits: list[Edit] = []
    for element in _elements(section):
        length = element.length
        if element.what != "pose" or length is None or length.unit != unit or not _is_hold(length, more):
            continue
        edit = _edit(lines, element.place.line, partial(_rewritten, length=length, more=more))
        if edit:
            edits.append(edit)
            longer[id(element)] = replace(
                length, likely=length.likely + more, shortest=length.shortest + more, longest=length.longest + more
            )

    def changed(part: Part) -> Part:
        length = longer.get(id(part))
        return replace(part, length=length) if isinstance(part, Element) and length else part

    if edits:
        yield Change(name, f'{how} per hold in "{section.name}"', _changed(plan, changed), tuple(edits))


def _rewritten(line: str, length: Length, more: float) -> str | None:
    if length.unit == "breaths":
        return with_breaths_added(line, length, more)
    return with_seconds(line, length, length.likely + more)


def _is_hold(length: Length, more: float) -> bool:
    """Say whether it is a hold, and still one when it is shorter."""
    least = HELD_FROM_BREATHS if length.unit == "breaths" else _LEAST_HOLD_S
    return length.shortest + min(more, 0.0) >= least


def _minutes(plan: Plan, group: Group, lines: list[str], more_s: float) -> Iterator[Change]:
    old = group.minutes
    if old is None or old.unit != "seconds" or old.shortest != old.longest:
        return
    new_s = old.likely + more_s
    edit = _edit(lines, group.place.line, lambda line: with_seconds(line, old, new_s))
    if edit:
        changed = _with(plan, group, lambda it: replace(it, minutes=Length("seconds", new_s, new_s, new_s)))
        how = "one minute less" if more_s < 0 else "one minute more"
        yield Change(f"minutes-{group.place.line}", f'{how} for "{group.name}"', changed, (edit,))


def _rest_takes_what_is_left(plan: Plan, lines: list[str]) -> Iterator[Change]:
    """Let the closing rest have the time that is left of the slot."""
    rest = next((section for section in plan.sections if section.kind == Kind.REST), None)
    if rest is None or any(group.what_is_left for group in _groups(plan)):
        return
    least_s = rest.minutes.likely if rest.minutes else usual_rest_s(plan.slot_s or 0.0)
    edit = _edit(lines, rest.place.line, lambda line: with_what_is_left(line, rest.minutes, least_s))
    if edit:
        changed = _with(plan, rest, lambda it: replace(it, minutes=None, what_is_left=True, at_least_s=least_s))
        yield Change(f"rest-{rest.place.line}", f'give "{rest.name}" what is left', changed, (edit,))


# ---- a plan with one thing changed -------------------------------------------------------------------------------


def _edit(lines: list[str], number: int, rewritten: Callable[[str], str | None]) -> Edit | None:
    if not 1 <= number <= len(lines):
        return None
    new = rewritten(lines[number - 1])
    return Edit(number, new) if new is not None else None


def _with(plan: Plan, group: Group, change: Callable[[Group], Group]) -> Plan:
    line = group.place.line
    return _changed(plan, lambda it: change(it) if isinstance(it, Group) and it.place.line == line else it)


def _changed(plan: Plan, change: Callable[[Part], Part | None]) -> Plan:
    """Put every group, then its lines, through `change`; None leaves it out."""
    sections = [_changed_part(section, change) for section in plan.sections]
    return replace(plan, sections=tuple(section for section in sections if isinstance(section, Section)))


def _changed_part(part: Part, change: Callable[[Part], Part | None]) -> Part | None:
    if isinstance(part, Group):
        kept = change(part)
        if not isinstance(kept, Group):
            return kept
        parts = [_changed_part(inner, change) for inner in kept.parts]
        return replace(kept, parts=tuple(inner for inner in parts if inner is not None))
    return change(part)


def _groups(plan: Plan) -> Iterator[Group]:
    return (part for part in _parts(plan) if isinstance(part, Group))


def _parts(plan: Plan) -> Iterator[Part]:
    for section in plan.sections:
        yield from _inside(section)


def _inside(part: Part) -> Iterator[Part]:
    yield part
    if isinstance(part, Group):
        for inner in part.parts:
            yield from _inside(inner)


def _elements(section: Section) -> Iterator[Element]:
    return (part for part in _inside(section) if isinstance(part, Element))


def _is_rest(group: Group) -> bool:
    return isinstance(group, Section) and group.kind == Kind.REST


def _last_line(lines: list[str], first: int) -> int:
    """Last line of the group whose heading is line `first`: up to the next heading of its level or above."""
    level = heading_level(lines[first - 1]) if first <= len(lines) else 0
    for number in range(first + 1, len(lines) + 1):
        other = heading_level(lines[number - 1])
        if other and other <= level:
            return number - 1
    return len(lines)
