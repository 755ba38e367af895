"""Parts of a class, as lines put them in: how long, on which sides, where."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from pairing.constants import USUAL_BREATH_S
from pairing.model import Element, Group, Length, Place
from pairing.plan.line.moves import LINE_GROUP
from pairing.plan.lines import Line
from pairing.plan.poses import PoseTable
from pairing.plan.words import scaled

Part = Element | Group


def elements(parts: Iterable[Part]) -> Iterator[Element]:
    """Give all elements of parts, those of groups included."""
    for part in parts:
        if isinstance(part, Group):
            yield from elements(part.parts)
        else:
            yield part


def depth(part: Part) -> int:
    """How many groups lie within each other, the innermost with elements alone."""
    return 1 + max(map(depth, part.parts), default=0) if isinstance(part, Group) else 0


def last_element(part: Part) -> Element | None:
    """Give the last pose or gap of a part."""
    if isinstance(part, Element):
        return part if part.what in ("pose", "gap") else None
    return next((found for inner in reversed(part.parts) if (found := last_element(inner))), None)


def lasting(parts: tuple[Part, ...], minutes: Length, line: Line) -> tuple[Part, ...]:
    """Parts that take these minutes together."""
    if parts and all(isinstance(part, Element) and part.what in ("bell", "say") for part in parts):
        words = sum(isinstance(part, Element) and part.what == "say" for part in parts)
        share = scaled(minutes, 1.0 / max(1, words))  # a bell takes no time itself
        spoken = tuple(
            replace(part, length=share) if isinstance(part, Element) and part.what == "say" else part for part in parts
        )
        return spoken if words else (*parts, Element("silence", "", Place(line.number, line.column()), length=minutes))
    if len(parts) == 1 and isinstance(parts[0], Element):
        only = parts[0]
        count = (only.times or 1) * (2 if only.each_side else 1)
        return (replace(only, length=scaled(minutes, 1.0 / count)),)
    if len(parts) == 1 and isinstance(parts[0], Group) and parts[0].minutes is None:
        return (replace(parts[0], minutes=minutes, parts=tuple(map(_without_length, parts[0].parts))),)
    return (Group(LINE_GROUP, Place(line.number, line.column()), tuple(map(_without_length, parts)), minutes=minutes),)


def told_s(part: Part) -> float:
    """Give about the seconds that lengths and counts of a part tell."""
    if isinstance(part, Group):
        return sum(map(told_s, part.parts)) * part.rounds * (2 if part.both_sides else 1)
    length = part.length
    held = 0.0 if length is None else length.likely * (USUAL_BREATH_S if length.unit == "breaths" else 1.0)
    return held * (part.times or 1) * (2 if part.each_side else 1)


def counted_s(part: Part, table: PoseTable) -> float:
    """Give about the seconds that lengths and counts of a part tell, counts by the usual repetition of their pose."""
    if isinstance(part, Group):
        if part.minutes:
            return part.minutes.likely
        return sum(counted_s(inner, table) for inner in part.parts) * part.rounds * (2 if part.both_sides else 1)
    pose = table.poses.get(part.pose_id or "")
    if part.length is not None or not part.times or pose is None:
        return told_s(part)
    steps = len(table.compound(pose.id)) / 2
    once = pose.rep_breaths if pose.rep_breaths is not None else steps or 1.0
    return once * USUAL_BREATH_S * part.times * (2 if part.each_side else 1)


def all_timed(parts: Sequence[Part]) -> bool:
    """Whether each of them has seconds of its own, which win over the gap to the next time in front."""
    return bool(parts) and all(
        all_timed(part.parts) if isinstance(part, Group) else part.length is not None and part.length.unit == "seconds"
        for part in parts
    )


def _without_length(part: Part) -> Part:
    """Let a pose share the minutes of its line, whatever it says itself."""
    if isinstance(part, Group):
        return replace(part, minutes=None, parts=tuple(map(_without_length, part.parts)))
    return replace(part, length=None, times=None)


def without_minutes(part: Part) -> Part:
    """Give a part that shares the minutes of one around it; a length in seconds was its share of the line's minutes."""
    if isinstance(part, Group):
        return replace(part, minutes=None, parts=tuple(map(without_minutes, part.parts)))
    return replace(part, length=None) if part.length is not None and part.length.unit == "seconds" else part


def complete(parts: tuple[Part, ...], table: PoseTable) -> bool:
    """Whether a line leaves no side open: it has none, or both."""
    sided = False
    for part in parts:
        if isinstance(part, Group):
            if part.both_sides:
                return True
            continue
        if part.each_side or (part.pose_id and table.compound(part.pose_id) and part.pose_id != "vinyasa"):
            return True
        sided = sided or part.what in ("pose", "gap")
    return not sided and not all(isinstance(part, Element) and part.what == "pause" for part in parts)


def placed(part: Part, place: Place) -> Part:
    """Give a part with the place of another line."""
    if isinstance(part, Group):
        return replace(part, place=place, parts=tuple(placed(inner, place) for inner in part.parts))
    return replace(part, place=place)


def seconds(value: float | None) -> Length | None:
    """Give so many seconds as a length."""
    return None if value is None else Length("seconds", value, value, value)
