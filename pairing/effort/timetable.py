"""Plan to timetable: when everything happens, in seconds from the first breath, without gap or overlap.

The likely class takes the middle of every range, all options, and the breath as written. The shortest leaves options
out, takes the short end of ranges and a quicker breath; the longest the long end and a slower breath.
"""

import itertools
from collections.abc import Iterable
from dataclasses import replace
from typing import Literal

from pairing.constants import (
    BRISK_BETWEEN,
    EASY_BETWEEN,
    KNOWN_FROM_CLASSES,
    OWN_PACE_RANGE,
    QUICKER_BREATH,
    SLOWER_BREATH,
    USUAL_BREATH_S,
)
from pairing.effort.line import TRANSITION, LineTime, Pace
from pairing.effort.manner import style_words
from pairing.effort.mets import demands
from pairing.effort.share import share_minutes
from pairing.effort.walk import TimedStretch, Walk
from pairing.effort.wishes import from_the_top, inside
from pairing.model import Passage, Plan, SectionTime, Step, Timetable, Wishes
from pairing.plan.poses import PoseTable

LIKELY = Pace()
SHORTEST = Pace("shortest", breath=QUICKER_BREATH, options=False, between=BRISK_BETWEEN)
LONGEST = Pace("longest", breath=SLOWER_BREATH, between=EASY_BETWEEN)


def build_timetable(
    plan: Plan, poses: PoseTable, *, shortest: Pace | None = None, longest: Pace | None = None
) -> Timetable:
    """Time a plan.

    Args:
        plan: its own poses are known without being in `poses`.
        poses: the pose table.
        shortest, longest: under which assumptions the range is computed; if None, a tenth quicker and slower than the
            plan's breath, or the ends of its range ("breath: 4-6 seconds"), or so that the class is six hundredths
            shorter and longer, where the teacher's own pace is known. The words for them stand in `assumptions`.
    Returns:
        Steps and sections from 0 to `duration_s`; an empty plan gives no steps and 0 s.
    Raises:
        PlanError: the class is longer than a day.
    """
    known = poses.with_own(plan.own_poses) if plan.own_poses else poses
    lines: dict[int, LineTime] = {}
    walk = Walk.through(plan, known, LIKELY, lines)
    findings = share_minutes(walk, available_s(plan))
    shortest, longest = shortest or _pace(walk, SHORTEST, 0), longest or _pace(walk, LONGEST, 1)
    steps = _steps(walk)
    duration_s = steps[-1].end_s if steps else 0.0
    # An option left out may bring a transition between the poses beside it: the range still holds the likely length.
    return Timetable(
        duration_s=duration_s,
        sections=_sections(walk, steps),
        steps=steps,
        shortest_s=min(duration_s, _seconds(Walk.through(plan, known, shortest, lines))),
        longest_s=max(duration_s, _seconds(Walk.through(plan, known, longest, lines))),
        assumptions=(*_assumptions(plan, shortest, longest), *walk.notes),
        findings=findings,
    )


def _pace(walk: Walk, usual: Pace, end: Literal[0, 1]) -> Pace:
    plan = walk.plan
    if plan.own_pace and plan.own_pace.classes >= KNOWN_FROM_CLASSES and plan.breath_s is None:
        paced_s = sum(s.seconds for s in walk.stretches if s.breaths is not None or s.line is TRANSITION)
        change = min(2 * OWN_PACE_RANGE, OWN_PACE_RANGE * walk.seconds() / paced_s) if paced_s else 0.0
        factor = (1.0 - change, 1.0 + change)[end]
        return replace(usual, breath=factor, between=factor)
    if plan.breath_range_s is None or not plan.breath_s:
        return usual
    return replace(usual, breath=plan.breath_range_s[end] / plan.breath_s)


def available_s(plan: Plan) -> float | None:
    """Seconds of the slot that are left for the class; None where the plan gives no slot."""
    return None if plan.slot_s is None else max(0.0, plan.slot_s - plan.settle_s - plan.leave_s)


def class_seconds(
    plan: Plan,
    poses: PoseTable,
    *,
    stretched: bool = True,
    lines: dict[int, LineTime] | None = None,
    follows: bool = False,
) -> float:
    """Likely length of the class; without `stretched`, what is left of the slot stays at its least.

    Args:
        plan: its own poses have to be in `poses`.
        poses: the pose table.
        stretched: whether what is left of the slot is taken.
        lines: those known from plans with the same elements; more are added.
        follows: whether these sections come after others.
    """
    return _seconds(Walk.through(plan, poses, LIKELY, lines, follows=follows), stretched=stretched)


def _seconds(walk: Walk, *, stretched: bool = True) -> float:
    share_minutes(walk, available_s(walk.plan) if stretched else None)
    return walk.seconds()


def _steps(walk: Walk) -> tuple[Step, ...]:
    costs = demands(walk.stretches, lambda pose_id: walk.poses.get(pose_id).mets)
    ends = list(itertools.accumulate(stretch.seconds for stretch in walk.stretches))
    starts = [0.0, *ends[:-1]]
    return tuple(map(_step, walk.stretches, starts, ends, costs))


def _step(stretch: TimedStretch, start_s: float, end_s: float, mets: float) -> Step:
    line, here, element = stretch.line, stretch.here, stretch.line.element
    return Step(
        what=line.what,  # type: ignore[arg-type]
        name=line.name,
        start_s=start_s,
        end_s=end_s,
        section=here.section,
        pose_id=line.pose.id if line.pose else None,
        breaths=stretch.breaths,
        times=line.times,
        side=stretch.pose_side,
        round=here.round,
        line=element.place.line if element else 0,
        told_by=(element.place.line or element.place.told_by) if element else 0,
        note=element.note if element else "",
        optional=here.optional or (element is not None and element.optional),
        supported=element is not None and element.supported,
        mets=mets,
        alternatives=element.alternatives if element else (),
        wishes=stretch.wishes,
    )


def _sections(walk: Walk, steps: tuple[Step, ...]) -> tuple[SectionTime, ...]:
    timed: list[SectionTime] = []
    start_s, at = 0.0, 0
    for index, section in enumerate(walk.plan.sections):
        first = at
        while at < len(steps) and steps[at].section == index:
            at += 1
        mine = steps[first:at]
        end_s = mine[-1].end_s if mine else start_s
        timed.append(
            SectionTime(
                name=section.name,
                kind=section.kind,
                start_s=start_s,
                end_s=end_s,
                passes=_passes(walk.stretches[first:at], mine) or (Passage(1, None, start_s, end_s),),
                breath_s=walk.stretches[first].here.breath_s if mine else walk.plan.breath_s or USUAL_BREATH_S,
                mean_mets=_mean_mets(mine),
                wishes=_section_wishes(walk.plan, index),
            )
        )
        start_s = end_s
    return tuple(timed)


def _passes(stretches: list[TimedStretch], steps: tuple[Step, ...]) -> tuple[Passage, ...]:
    passes: list[Passage] = []
    for _, run in itertools.groupby(zip(stretches, steps, strict=True), key=lambda pair: pair[0].here.passage):
        (stretch, step), *others = list(run)
        end_s = others[-1][1].end_s if others else step.end_s
        if end_s > step.start_s:
            passes.append(Passage(stretch.here.round, stretch.here.side, step.start_s, end_s))
    return tuple(passes)


def _mean_mets(steps: Iterable[Step]) -> float:
    spans = [(step.end_s - step.start_s, step.mets) for step in steps]
    seconds = sum(span for span, _ in spans)
    return sum(span * mets for span, mets in spans) / seconds if seconds > 0.0 else 1.0


def _section_wishes(plan: Plan, index: int) -> Wishes:
    """The section's wishes over the plan's; a silence at the end of the whole class is the last section's."""
    section = plan.sections[index]
    wishes = inside(from_the_top(plan.wishes, section.kind), section.wishes)
    if index == len(plan.sections) - 1 and wishes.silent_last_s is None:
        return replace(wishes, silent_last_s=plan.wishes.silent_last_s)
    return wishes


def _assumptions(plan: Plan, shortest: Pace, longest: Pace) -> tuple[str, ...]:
    return (*style_words(plan), _assumed("shortest", shortest), _assumed("longest", longest))


def _assumed(word: str, pace: Pace) -> str:
    options = "options done" if pace.options else "options left out"
    percent = round(abs(pace.breath - 1.0) * 100)
    breath = "breath as written" if not percent else f"breath {percent} % {'slower' if pace.breath > 1 else 'quicker'}"
    between = "" if pace.between == 1.0 else f", {'less' if pace.between < 1.0 else 'more'} time between poses"
    return f"{word}: {options}, {breath}{between}, the {'short' if pace.name == 'shortest' else 'long'}er of each range"
