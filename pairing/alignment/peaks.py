"""The moments of a class that the music can meet: the peak's pose, the stillness before it, and what the note asks for.

That a high point of the class and the climax of the music should come together is common practice, no source; all
numbers are editorial.
"""

from collections.abc import Iterator
from math import isfinite

from pairing.model import Curve, Kind, Meets, Moment, Step, Timetable

STILL_METS = 1.6  # what takes no more effort is a stillness,
STILL_S = (8.0, 90.0)  # if it lasts so long,
BEFORE_S = 20.0  # and ends so shortly before the peak's pose


def of_class(timetable: Timetable, effort: Curve) -> tuple[Moment, ...]:
    """The moments of a class that music can meet, in order.

    Args:
        timetable: the class.
        effort: energy asked for in each second of the class, shape (seconds,); it tells the hardest of several passes.
    """
    found = list(_wished(timetable))
    for index, section in enumerate(timetable.sections):
        if section.kind is not Kind.PEAK or any(
            moment.what == "climax" and section.start_s <= moment.at_s < section.end_s for moment in found
        ):
            continue
        steps = [step for step in timetable.steps if step.section == index and step.what == "pose" and _lasts(step) > 0]
        if steps:
            peak = max(steps, key=lambda step: (step.mets, _at(effort, _middle(step)), -step.start_s))
            found.append(Moment(_middle(peak), "climax", peak.name))
            found += [Moment(still.start_s, "break", still.name) for still in _stillness(timetable, peak)]
    return tuple(sorted(found, key=lambda moment: (moment.at_s, moment.what)))


def _wished(timetable: Timetable) -> Iterator[Moment]:
    """What the note asks for: at the first pass of a line, or where a section begins."""
    asked = [(step.start_s, step.name, step.wishes, ("line", step.line)) for step in timetable.steps]
    asked += [(each.start_s, each.name, each.wishes, ("section", at)) for at, each in enumerate(timetable.sections)]
    seen = set()
    for at_s, name, wishes, place in asked:
        wanted: dict[Meets, bool] = {"climax": wishes.rises_into, "break": wishes.breaks_at}
        for what in wanted:
            if wanted[what] and (place, what) not in seen:
                seen.add((place, what))
                yield Moment(at_s, what, name, wished=True)


def _stillness(timetable: Timetable, peak: Step) -> Iterator[Step]:
    """The stillness right before a pose."""
    before = [step for step in timetable.steps if step.end_s <= peak.start_s and _lasts(step) > 0]
    for step in reversed(before):
        if step.end_s < peak.start_s - BEFORE_S:
            return
        is_still = step.what in ("pause", "say") or (step.what == "pose" and step.mets <= STILL_METS)
        if is_still and STILL_S[0] <= _lasts(step) <= STILL_S[1]:
            yield step
            return


def _lasts(step: Step) -> float:
    return step.end_s - step.start_s


def _middle(step: Step) -> float:
    return (step.start_s + step.end_s) / 2


def _at(curve: Curve, at_s: float) -> float:
    value = float(curve[min(int(at_s), len(curve) - 1)]) if len(curve) else 0.0
    return value if isfinite(value) else 0.0
