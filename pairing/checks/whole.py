"""Looks at the whole of a note: does what was understood come to what its title and its total say?"""

from collections.abc import Iterator

from audio.text import clock
from pairing.effort.timetable import available_s
from pairing.model import Element, Finding, Group, Plan, Timetable, Where

SHORT_SHARE = 0.5  # of the slot: a class that comes to less is hardly the one that was meant; editorial
TOTAL_SHARE = 0.1  # so far a total may be off before it is worth a word; editorial
MOST_NAMED = 9  # lines without a length that are named


def check_whole(plan: Plan, timetable: Timetable) -> Iterator[Finding]:
    """Compare what was understood with the slot and with a line that sums the class up."""
    where = Where(plan.file or plan.title)
    available = available_s(plan)
    if plan.slot_by_title and available and timetable.duration_s < SHORT_SHARE * available:
        yield Finding(
            "must",
            "far-too-short",
            where,
            f"You have {clock(available)} to teach in; what was understood takes {clock(timetable.duration_s)}."
            f"{_unsized(plan)}",
            "Give these lines a length, or correct the slot.",
        )
    if plan.total is not None and abs(plan.total[1] - timetable.duration_s) > TOTAL_SHARE * plan.total[1]:
        line, total_s = plan.total
        yield Finding(
            "should",
            "total-differs",
            Where(plan.file or plan.title, line),
            f"The total says {clock(total_s)}; the lines come to {clock(timetable.duration_s)}.",
            "Look for a line that is missing a length or a side.",
        )


def _unsized(plan: Plan) -> str:
    lines = list(dict.fromkeys(line for section in plan.sections for line in _without_size(section)))
    if not lines:
        return ""
    named = ", ".join(map(str, lines[:MOST_NAMED])) + (", ..." if len(lines) > MOST_NAMED else "")
    return f" {'This line has' if len(lines) == 1 else 'These lines have'} no length: {named}."


def _without_size(group: Group) -> Iterator[int]:
    for part in group.parts:
        if isinstance(part, Group):
            if part.minutes is None:
                yield from _without_size(part)
        elif _is_unsized(part):
            yield part.place.line


def _is_unsized(part: Element) -> bool:
    return part.what in ("pose", "gap") and part.length is None and part.times is None and part.place.line > 0
