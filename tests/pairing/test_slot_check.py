"""The slot check: three cases, and remedies that do to the note what they say, to the second, and nothing else."""

import difflib
import math
import re

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from plan_texts import plans

from pairing.checks.plan import check_plan
from pairing.checks.slot import SlotCheck, check_slot
from pairing.effort.arc import make_arc
from pairing.effort.breath import beat_ranges
from pairing.effort.timetable import build_timetable
from pairing.model import Remedy
from pairing.plan.edit import apply_edits
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan

CLASS = """# Quay evening
slot: {slot} minutes
settle: 2 minutes
breath: 5 seconds

## Arrive: opening, 3 minutes
- child's pose

## Tide: flow, both sides, 4 rounds, each round 10% quicker   <- the long one
- three-legged dog, 1 breath (hips square)
- warrior two, 4-6 breaths
- extended side angle, 4 breaths, long line
- vinyasa, optional
### Twice: 2 rounds
- chair, 5 breaths

## Core: strength, optional
- plank, 5 breaths
- boat, 5 breaths x2

## Ebb: cool-down
- pigeon, 90 seconds each side
- happy baby, 8 breaths

## Float: rest, 5 minutes
- savasana
"""
CLASS = CLASS.replace("   <- the long one", "")


def checked(text: str) -> SlotCheck:
    plan = read_plan(text, file="quay.md")
    return check_slot(plan, build_timetable(plan, pose_table()), pose_table())


def seconds(text: str) -> float:
    return build_timetable(read_plan(text, file="quay.md"), pose_table()).duration_s


def test_without_a_slot_there_is_nothing_to_say() -> None:
    assert checked(CLASS.replace("slot: {slot} minutes\n", "")) == SlotCheck()


@pytest.mark.parametrize(
    ("slot", "fits", "code"),
    [(60, "fits", "spare-time"), (30, "fits", None), (28, "tight", "tight"), (20, "too long", "too-long")],
)
def test_the_three_cases(slot: int, fits: str, code: str | None) -> None:
    check = checked(CLASS.format(slot=slot))
    assert check.fits == fits
    assert [finding.code for finding in check.findings] == ([code] if code else [])
    assert check.available_s == slot * 60 - 120
    assert check.spare_s == pytest.approx(check.available_s - seconds(CLASS.format(slot=slot)))


def test_what_is_left_over_may_go_where_one_remedy_says_and_what_is_too_long_is_not_told_in_a_long_list() -> None:
    (spare,) = checked(CLASS.format(slot=60)).findings
    assert (spare.remedy or "").startswith("For example: ")
    assert len(spare.deeds) == 1
    (too_long,) = checked(CLASS.format(slot=8)).findings
    assert (too_long.remedy or "").startswith("Not enough even together: ")
    assert (too_long.remedy or "").endswith(" others.")
    assert len(too_long.deeds) == 3


@pytest.mark.parametrize("slot", [20, 60])
def test_a_remedy_changes_the_class_by_the_seconds_it_says(slot: int) -> None:
    text = CLASS.format(slot=slot)
    remedies = checked(text).remedies
    assert len(remedies) >= 4
    for remedy in remedies:
        after = apply_edits(text, remedy.edits)
        assert seconds(text) - seconds(after) == pytest.approx(remedy.saves_s, abs=1e-6), remedy
        assert re.search(r"\d:\d\d (shorter|longer)$", remedy.text)


def test_a_remedy_changes_nothing_else_in_the_note() -> None:
    text = CLASS.format(slot=20)
    for remedy in checked(text).remedies:
        after = apply_edits(text, remedy.edits)
        changed = [line for line in difflib.ndiff(text.splitlines(), after.splitlines()) if line[0] in "+-"]
        touched = {line[2:] for line in changed if line[0] == "-"}
        lines = text.splitlines()
        assert touched == {lines[edit.line - 1] for edit in remedy.edits if edit.new != lines[edit.line - 1]}


def remedy(text: str, start: str) -> Remedy:
    return next(r for r in checked(text).remedies if r.text.startswith(start))


def test_the_words_of_the_note_stay_as_they_were_typed() -> None:
    text = CLASS.format(slot=20)
    fewer = remedy(text, 'one round fewer of "Tide"').edits
    assert [edit.new for edit in fewer] == ["## Tide: flow, both sides, 3 rounds, each round 10% quicker"]
    shorter = remedy(text, 'one breath less per hold in "Tide"').edits
    assert [edit.new for edit in shorter] == [
        "- warrior two, 3-5 breaths",
        "- extended side angle, 3 breaths, long line",
        "- chair, 4 breaths",
    ]
    without = remedy(text, 'leave out "Core"').edits
    assert [edit.new for edit in without] == [None] * 4  # heading, two lines, the blank line after them


# Ways to type a hold in breaths, and the same with a breath less; None: left alone, it can't be changed safely.
TYPED = [
    ("- tree, 5 breaths", "- tree, 4 breaths"),
    ("- tree 5 br (eyes shut)", "- tree 4 br (eyes shut)"),
    ("- tree, 4 to 6 breaths", "- tree, 3 to 5 breaths"),
    ("* tree – 4–6 breaths, at the wall", "* tree – 3–5 breaths, at the wall"),
    ("- tree, 3.5 breaths", "- tree, 2.5 breaths"),
    ("- tree, 3,5 breaths", None),
    ("- tree, five breaths", None),
    ("- tree, between 4 and 6 breaths", None),
    ("- tree 5 breaths (R), 5 breaths (L)", None),
]


@pytest.mark.parametrize(("line", "shorter"), TYPED)
def test_a_hold_is_shortened_in_the_words_it_was_typed_in(line: str, shorter: str | None) -> None:
    text = f"# C\nslot: 1 minute\nbreath: 5 seconds\n\n## One: standing\n{line}\n- child's pose, 10 minutes\n"
    edits = [edit.new for r in checked(text).remedies if r.id == "breath-5" for edit in r.edits]
    assert edits == ([shorter] if shorter else [])


def test_what_is_enough_alone_stands_first_the_smallest_of_it_first() -> None:
    check = checked(CLASS.format(slot=20))
    assert check.spare_s is not None
    enough = [r.saves_s >= -check.spare_s - 0.5 for r in check.remedies]
    assert enough == sorted(enough, reverse=True)
    alone = [r.saves_s for r, is_enough in zip(check.remedies, enough, strict=True) if is_enough]
    others = [r.saves_s for r, is_enough in zip(check.remedies, enough, strict=True) if not is_enough]
    assert alone == sorted(alone)
    assert others == sorted(others, reverse=True)


def test_a_class_too_short_is_told_where_time_may_go() -> None:
    text = CLASS.format(slot=33)
    check = checked(text)
    assert check.spare_s is not None
    assert all(-check.spare_s - 1e-6 <= r.saves_s < 0 for r in check.remedies)  # sums round by version of Python
    rest = next(r for r in check.remedies if "what is left" in r.text)
    assert [edit.new for edit in rest.edits] == ["## Float: rest, what is left, at least 5 minutes"]
    assert seconds(apply_edits(text, rest.edits)) == pytest.approx(check.available_s)


def test_what_is_left_takes_what_a_remedy_frees() -> None:
    text = CLASS.format(slot=28).replace("rest, 5 minutes", "rest, what is left, at least 5 minutes")
    check = checked(text)
    assert check.fits == "tight"
    assert check.remedies
    assert all(r.saves_s > 0 and r.text.endswith("for what is left") for r in check.remedies)


@settings(deadline=None, max_examples=60)
@example(
    "## Part: flow\n" + "- plank\n" * 4 + "- plank, optional\n- child's pose, 5 minutes\n", 5, ""
)  # six are held, five may flow
@example("## Part: flow, optional\n- child's pose, 6 minutes\n", 5, "")  # the only section can't be left out
@given(plans, st.sampled_from([5, 10, 20, 120]), st.sampled_from(["", "between: 10 seconds\n"]))
def test_on_any_plan_all_is_computed_and_every_remedy_keeps_its_word(text: str, slot: int, between: str) -> None:
    text = f"# Any\nbreath: 5 seconds\nslot: {slot} minutes\n{between}{text}"
    plan = read_plan(text, file="any.md")
    timetable = build_timetable(plan, pose_table())
    check_plan(plan, timetable, pose_table())
    assert len(make_arc(timetable).target_energy) == math.ceil(timetable.duration_s)
    beat_ranges(timetable)
    for found in check_slot(plan, timetable, pose_table()).remedies:
        after = apply_edits(text, found.edits)
        if not found.text.endswith("what is left") or "what is left" in found.text.split(":")[0]:
            assert timetable.duration_s - seconds(after) == pytest.approx(found.saves_s, abs=1e-6), found
