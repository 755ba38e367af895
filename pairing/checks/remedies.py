"""Changes of a plan that save or fill time: each as a changed section, to be timed, and as edits of the plan's text."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial

from pairing.checks.rewrite import with_breaths_added, with_rounds, with_seconds, with_what_is_left
from pairing.constants import HELD_FROM_BREATHS, LONG_REST, usual_rest_s
from pairing.model import Edit, Element, Group, Kind, Length, Plan, Section
from pairing.plan.lines import split_lines

Part = Element | Group
_HOLD_STEP_S = 30.0  # by which holds in seconds are changed; this and the next three editorial
_LEAST_HOLD_S = 60.0  # that such a hold is left with
_STEP_S = 60.0  # by which sections of given minutes are changed
_LEAST_S = 120.0  # that such a section is left with


@dataclass(frozen=True, slots=True)
class PlanChange:
    """One way to change one section of a plan, not yet timed."""

    id: str
    text: str
    section: int
    changed: Section | None  # None: it is left out
    edits: tuple[Edit, ...]

    def plan(self, before: Plan) -> Plan:
        """The whole plan after the change."""
        sections = list(before.sections)
        sections[self.section : self.section + 1] = [] if self.changed is None else [self.changed]
        return replace(before, sections=tuple(sections))


@dataclass(frozen=True, slots=True)
class _At:
    """One section, its number, and the lines of the plan's text."""

    number: int
    section: Section
    lines: list[str]

    def change(self, name: str, text: str, changed: Section | None, *edits: Edit) -> PlanChange:
        return PlanChange(name, text, self.number, changed, edits)

    def edit(self, line: int, rewritten: Callable[[str], str | None]) -> Edit | None:
        """The line as `rewritten` gives it; None where it gives none."""
        new = rewritten(self.lines[line - 1]) if 1 <= line <= len(self.lines) else None
        return Edit(line, new) if new is not None else None


def shortening(plan: Plan) -> Iterator[PlanChange]:
    """Give what may be left out or done less of."""
    for at in _sections(plan):
        options = _without_options(at)  # of a class of one section this can't be left out
        yield from (change for change in options if change.changed or len(plan.sections) > 1)
        yield from _rounds(at, -1)
        if at.section.kind != Kind.REST:
            yield from _holds(at, -1)
            yield from _minutes(at, -1)


def lengthening(plan: Plan, room_s: float) -> Iterator[PlanChange]:
    """Give where `room_s` more may go; all of it to the rest only if that doesn't make the rest far too long."""
    usual_s = usual_rest_s(plan.slot_s or 0.0)
    open_ended = any(part.what_is_left for at in _sections(plan) for part in _groups(at.section))
    for at in _sections(plan):
        yield from _rounds(at, +1)
        yield from _minutes(at, +1)
        if at.section.kind != Kind.REST:
            yield from _holds(at, +1)
        elif not open_ended and room_s <= (LONG_REST - 1.0) * usual_s:
            yield from _rest_takes_what_is_left(at, usual_s)


def _sections(plan: Plan) -> Iterator[_At]:
    lines = [line.rstrip("\r\n") for line in split_lines(plan.text)]
    return (_At(number, section, lines) for number, section in enumerate(plan.sections))


# ---- the changes -------------------------------------------------------------------------------------------------


def _without_options(at: _At) -> Iterator[PlanChange]:
    for part in _inside(at.section):
        first = part.place.line
        if part.optional and first <= len(at.lines):
            edits = [Edit(line, None) for line in range(first, _last_line(at.lines, part) + 1)]
            yield at.change(f"option-{first}", f'leave out "{part.name}"', _without(at.section, part), *edits)


def _rounds(at: _At, more: int) -> Iterator[PlanChange]:
    for group in _groups(at.section):
        rounds = group.rounds + more
        edit = at.edit(group.place.line, partial(with_rounds, old=group.rounds, new=rounds))
        if group.rounds > 1 and edit and not _names_a_round_after(group, rounds):
            how = "one round fewer" if more < 0 else "one round more"
            changed = _with(at.section, group, replace(group, rounds=rounds))
            yield at.change(f"rounds-{group.place.line}", f'{how} of "{group.name}"', changed, edit)


def _names_a_round_after(group: Group, rounds: int) -> bool:
    """Say whether a line of the group speaks of a round that there would be no more."""
    for part in group.parts:
        if isinstance(part, Group):
            if part.rounds == 1 and _names_a_round_after(part, rounds):
                return True
        elif max(part.from_round, part.to_round or 1) > rounds or (part.last_round and rounds == 1):
            return True
    return False


def _holds(at: _At, sign: int) -> Iterator[PlanChange]:
    """All holds of a section a breath, or half a minute, shorter or longer."""
    word = "less" if sign < 0 else "more"
    line = at.section.place.line
    yield from _longer(at, "breaths", sign * 1.0, f"breath-{line}", f"one breath {word}")
    yield from _longer(at, "seconds", sign * _HOLD_STEP_S, f"hold-{line}", f"half a minute {word}")


def _longer(at: _At, unit: str, more: float, name: str, how: str) -> Iterator[PlanChange]:
    longer: dict[int, Part] = {}
    edits: list[Edit] = []
    for part in _inside(at.section):
        length = part.length if isinstance(part, Element) and part.what == "pose" else None
        if length is None or length.unit != unit or not _is_hold(length, more):
            continue
        new = Length(length.unit, length.likely + more, length.shortest + more, length.longest + more)
        edit = at.edit(part.place.line, partial(_rewritten, length=length, more=more))
        if edit and isinstance(part, Element):
            edits.append(edit)
            longer[id(part)] = replace(part, length=new)
    if edits:
        changed = _changed(at.section, lambda part: longer.get(id(part), part))
        yield at.change(name, f'{how} per hold in "{at.section.name}"', changed, *edits)


def _rewritten(line: str, length: Length, more: float) -> str | None:
    if length.unit == "breaths":
        return with_breaths_added(line, length, more)
    return with_seconds(line, length, length.likely + more)


def _is_hold(length: Length, more: float) -> bool:
    """Say whether it is a hold, and still one when it is shorter."""
    least = HELD_FROM_BREATHS if length.unit == "breaths" else _LEAST_HOLD_S
    return length.shortest + min(more, 0.0) >= least


def _minutes(at: _At, sign: int) -> Iterator[PlanChange]:
    for group in _groups(at.section):
        old = group.minutes
        if old is None or old.likely + sign * _STEP_S < _LEAST_S:
            continue
        new_s = old.likely + sign * _STEP_S
        edit = at.edit(group.place.line, partial(with_seconds, length=old, new_s=new_s))
        if edit:
            how = "one minute less" if sign < 0 else "one minute more"
            changed = _with(at.section, group, replace(group, minutes=Length("seconds", new_s, new_s, new_s)))
            yield at.change(f"minutes-{group.place.line}", f'{how} for "{group.name}"', changed, edit)


def _rest_takes_what_is_left(at: _At, usual_s: float) -> Iterator[PlanChange]:
    """Let the closing rest have the time that is left of the slot."""
    rest = at.section
    least_s = rest.minutes.likely if rest.minutes else usual_s
    edit = at.edit(rest.place.line, partial(with_what_is_left, minutes=rest.minutes, least_s=least_s))
    if edit:
        changed = replace(rest, minutes=None, what_is_left=True, at_least_s=least_s)
        yield at.change(f"rest-{rest.place.line}", f'give "{rest.name}" what is left', changed, edit)


# ---- a section with one thing changed ----------------------------------------------------------------------------


def _with(section: Section, old: Part, new: Part) -> Section | None:
    return _changed(section, lambda part: new if part is old else part)


def _without(section: Section, old: Part) -> Section | None:
    return _changed(section, lambda part: None if part is old else part)


def _changed(section: Section, change: Callable[[Part], Part | None]) -> Section | None:
    """Put a section, then its parts, through `change`, which gives None for what is left out."""
    changed = _changed_part(section, change)
    return changed if isinstance(changed, Section) else None


def _changed_part(part: Part, change: Callable[[Part], Part | None]) -> Part | None:
    kept = change(part)
    if not isinstance(kept, Group):
        return kept
    parts = [_changed_part(inner, change) for inner in kept.parts]
    return replace(kept, parts=tuple(inner for inner in parts if inner is not None))


def _groups(section: Section) -> Iterator[Group]:
    return (part for part in _inside(section) if isinstance(part, Group))


def _inside(part: Part) -> Iterator[Part]:
    """Give a part and those inside it; what a repetition repeats is written elsewhere."""
    yield part
    if isinstance(part, Group) and not part.repeats:
        for inner in part.parts:
            yield from _inside(inner)


def _last_line(lines: list[str], part: Part) -> int:
    """Last line of what leaves with a part: its own lines, and the blank ones after a group."""
    last = max(inner.place.line for inner in _inside(part))
    while isinstance(part, Group) and last < len(lines) and not lines[last].strip():
        last += 1
    return last
