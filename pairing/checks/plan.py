"""Checks of the class itself: sides, warm-up, easing, rest, empty sections, pace, cautions.

Each check is one function that yields findings; each message ends with its ground, a published source or common
practice. They are a colleague's second look, not a judgement: every one can be meant as it is.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from audio.text import clock
from pairing.checks.cautions import CAUTION_CODES, cautions
from pairing.checks.register import Register
from pairing.constants import (
    EASING_S,
    LONG_REST,
    MODERATE_METS,
    QUICKEST_BREATH_S,
    SEDENTARY_METS,
    WARM_UP_S,
    usual_rest_s,
)
from pairing.model import Edit, Finding, Kind, Plan, SectionTime, Step, Timetable, Where
from pairing.plan.lines import split_lines
from pairing.plan.poses import Pose, PoseTable

_SAME_S = 1.0  # sides that differ by less count as equal
EASING_SHARE = 0.1  # of a class too short for the published minutes; editorial
_SHORT_CLASS_S = 1200.0  # below 20 minutes a class may do without a rest; editorial
_NEAR_USUAL = 0.7  # share of the usual rest from which a shorter one is only noted; editorial
_COMMON = "common practice, no source"
_ACSM = "ACSM Guidelines: 5 to 10 minutes of light to moderate activity, second hand"

# Backbends that ask for a warm spine; editorial.
DEEP_BACKBENDS = frozenset({"bow", "camel", "wheel", "inverted_staff", "king_pigeon"})
MAY_BE_WITHOUT_POSE = (Kind.OPENING, Kind.BREATHING, Kind.CLOSING)


@dataclass(frozen=True, slots=True)
class _ClassPlan:
    plan: Plan
    timetable: Timetable
    poses: PoseTable

    def where(self, line: int, section: str = "") -> Where:
        file = self.plan.file or self.plan.title
        return Where(file, line) if line or not section else Where(section=section)

    def section(self, step: Step) -> SectionTime:
        return self.timetable.sections[step.section]

    def pose(self, step: Step) -> Pose | None:
        return self.poses.poses.get(step.pose_id) if step.pose_id else None


_CHECKS = Register[_ClassPlan]()


def check_plan(plan: Plan, timetable: Timetable, poses: PoseTable) -> tuple[Finding, ...]:
    """Look over a class; what came up in timing it is told too.

    Args:
        plan, timetable: of the same class.
        poses: knows the plan's own poses (`PoseTable.with_own`).
    """
    return (*timetable.findings, *_CHECKS.findings(_ClassPlan(plan, timetable, poses)))


# ---- sides -------------------------------------------------------------------------------------------------------


@_CHECKS.finds("one-side-only", "sides-unequal")
def _sides(it: _ClassPlan) -> Iterator[Finding]:
    """Every one-sided pose is done on both sides for the same time."""
    by_pose: dict[str, list[Step]] = {}
    for step in it.timetable.steps:
        pose = it.pose(step)
        if pose is not None and pose.sided and (step.side or pose.family != "flow transition"):
            by_pose.setdefault(pose.id, []).append(step)
    for steps in by_pose.values():
        yield from _sides_of(it, steps)


def _sides_of(it: _ClassPlan, steps: list[Step]) -> Iterator[Finding]:
    right, left, unsaid = (_seconds(steps, side) for side in ("right", "left", None))
    unsaid_steps = [step for step in steps if step.side is None]
    name, where = steps[0].name, it.where(steps[0].line)
    if unsaid and not _are_two_sides(unsaid_steps):
        step = unsaid_steps[0]
        yield Finding(
            "should",
            "one-side-only",
            it.where(step.line),
            f'"{step.name}" has two sides and names none, so it is done once ({_COMMON}).',
            'Add "each side", or put it in a section with "both sides".',
            _add_each_side(it.plan, step),
        )
    if abs(right - left) > _SAME_S:
        longer, shorter = ("right", "left") if right > left else ("left", "right")
        yield Finding(
            "should",
            "sides-unequal",
            where,
            f'"{name}" takes {clock(max(right, left))} on the {longer} and {clock(min(right, left))} on the {shorter} '
            f"({_COMMON}: both sides the same).",
            f"Add {clock(abs(right - left))} on the {shorter}, or take it from the {longer}.",
        )


def _are_two_sides(steps: list[Step]) -> bool:
    """A pose written without a side an even number of times, half of the time each, is taken for both sides."""
    times = sum(step.times for step in steps)
    spans = [step.end_s - step.start_s for step in steps]
    return times % 2 == 0 and (len(spans) == 1 or abs(sum(spans[::2]) - sum(spans[1::2])) <= _SAME_S)


def _seconds(steps: list[Step], side: str | None) -> float:
    return sum(step.end_s - step.start_s for step in steps if step.side == side)


def _add_each_side(plan: Plan, step: Step) -> tuple[Edit, ...]:
    lines = split_lines(plan.text)
    typed = lines[step.line - 1].rstrip() if 1 <= step.line <= len(lines) else ""
    if not typed or typed.endswith(")"):
        return ()
    return (Edit(step.line, f"{typed}, each side"),)


# ---- before and after the hardest part ---------------------------------------------------------------------------


@_CHECKS.finds("no-warm-up")
def _warm_up(it: _ClassPlan) -> Iterator[Finding]:
    """Some minutes of moving come before the peak, deep backbends, arm balances and inversions."""
    warm_s = 0.0
    told: set[str] = set()
    for step in it.timetable.steps:
        what = _demanding(it, step)
        if what and what not in told and warm_s < WARM_UP_S:
            told.add(what)
            yield Finding(
                "should",
                "no-warm-up",
                it.where(step.line),
                f'"{step.name}" ({what}) comes after only {clock(warm_s)} of movement ({_ACSM}).',
                "Put a warm-up before it, or move it to a later place.",
            )
        if step.mets > SEDENTARY_METS:
            warm_s += step.end_s - step.start_s


def _demanding(it: _ClassPlan, step: Step) -> str | None:
    pose = it.pose(step)
    if pose is None:
        return None
    if pose.id in DEEP_BACKBENDS:
        return "a deep backbend"
    if pose.family == "arm balance" and "fall risk" in pose.cautions:
        return "an arm balance"
    if pose.family == "inversion" and "neck" in pose.cautions:
        return "an inversion"
    return "the peak" if it.section(step).kind == Kind.PEAK and not step.supported else None


@_CHECKS.finds("no-easing")
def _easing(it: _ClassPlan) -> Iterator[Finding]:
    """Some easy minutes lie between the last hard work and the rest."""
    rest = _first(it.timetable, Kind.REST)
    end_s = rest.start_s if rest else it.timetable.duration_s
    poses = (step for step in it.timetable.steps if step.what == "pose" and step.end_s <= end_s + _SAME_S)
    hard = [step for step in poses if step.mets >= MODERATE_METS]
    if not hard:
        return
    eased_s = end_s - hard[-1].end_s
    wanted_s = min(EASING_S, EASING_SHARE * it.timetable.duration_s)
    if eased_s < wanted_s:
        grave = eased_s < wanted_s / 2
        yield Finding(
            "should" if grave else "note",
            "no-easing",
            it.where(hard[-1].line),
            f'Between "{hard[-1].name}", the last hard work, and {"the rest" if rest else "the end"} there is only '
            f"{clock(eased_s)} ({_ACSM}; it keeps blood from pooling).",
            "Add a few easy poses on the floor before the rest.",
        )


# ---- rest and sections -------------------------------------------------------------------------------------------


@_CHECKS.finds("no-rest", "rest-not-last", "rest-short", "rest-long")
def _rest(it: _ClassPlan) -> Iterator[Finding]:
    """The closing rest has its usual length and stands at the end."""
    duration_s, usual_s = it.timetable.duration_s, usual_rest_s(it.timetable.duration_s)
    rest = _first(it.timetable, Kind.REST)
    if rest is None:
        if duration_s >= _SHORT_CLASS_S:
            yield Finding(
                "should",
                "no-rest",
                it.where(0),
                f"The class has no closing rest ({_COMMON}: {clock(usual_s)}).",
                f'Add a section "## Rest: rest, {usual_s / 60:g} minutes" with "- savasana".',
            )
        return
    yield from _rest_length(it, rest, usual_s)
    after = [s for s in it.timetable.sections if s.start_s >= rest.end_s and s.kind not in (Kind.CLOSING, Kind.REST)]
    if any(section.end_s > section.start_s for section in after):
        yield Finding(
            "note",
            "rest-not-last",
            Where(section=rest.name),
            f'"{after[0].name}" comes after the closing rest ({_COMMON}: only a closing does).',
            "Move the rest to the end.",
        )


def _rest_length(it: _ClassPlan, rest: SectionTime, usual_s: float) -> Iterator[Finding]:
    long_s = rest.end_s - rest.start_s
    usual = f"usual for {clock(it.timetable.duration_s)}: {clock(usual_s)}; {_COMMON}"
    if long_s < usual_s - _SAME_S:
        level: Literal["note", "should"] = "note" if long_s >= _NEAR_USUAL * usual_s else "should"
        yield Finding(
            level,
            "rest-short",
            Where(section=rest.name),
            f"The rest takes {clock(long_s)} ({usual}).",
            f"Give it {clock(usual_s - long_s)} more; shorten the middle of the class, not the rest.",
        )
    elif long_s > LONG_REST * usual_s:
        yield Finding(
            "should",
            "rest-long",
            Where(section=rest.name),
            f"The rest takes {clock(long_s)} ({usual}).",
            "If you don't want that, add rounds or poses elsewhere.",
        )


@_CHECKS.finds("section-without-pose")
def _empty_sections(it: _ClassPlan) -> Iterator[Finding]:
    """Every section that is for moving or resting has a pose."""
    with_pose = {step.section for step in it.timetable.steps if step.what == "pose"}
    with_anything = {step.section for step in it.timetable.steps if step.end_s > step.start_s}
    for index, section in enumerate(it.timetable.sections):
        talks = index in with_anything and section.kind in MAY_BE_WITHOUT_POSE
        if index not in with_pose and not talks:
            yield Finding(
                "should",
                "section-without-pose",
                it.where(it.plan.sections[index].place.line, section.name),
                f'"{section.name}" has no pose ({_COMMON}).',
                "Add a pose, or take the section out.",
            )


@_CHECKS.finds("breath-too-quick")
def _pace(it: _ClassPlan) -> Iterator[Finding]:
    """No round is quicker than breath has been studied in."""
    told: set[int] = set()
    for step in it.timetable.steps:
        if step.what != "pose" or not step.breaths or step.section in told:
            continue
        breath_s = (step.end_s - step.start_s) / step.breaths
        if breath_s < QUICKEST_BREATH_S - 0.05:
            told.add(step.section)
            yield Finding(
                "should",
                "breath-too-quick",
                it.where(step.line),
                f'"{it.section(step).name}" comes to {breath_s:.1f} s a breath in round {step.round} '
                f"(quickest studied: {QUICKEST_BREATH_S} s, Bandyopadhyay et al., Int J Yoga 2022;15:163-167).",
                "Do fewer rounds, or speed up less from round to round.",
            )


@_CHECKS.finds(*CAUTION_CODES)
def _cautions(it: _ClassPlan) -> Iterator[Finding]:
    return cautions(it.plan, it.timetable, it.poses)


def _first(timetable: Timetable, kind: Kind) -> SectionTime | None:
    return next((section for section in timetable.sections if section.kind == kind), None)
