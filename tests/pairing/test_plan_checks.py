"""Checks of the class: what a teacher would be told, and what a sound class is not told.

The grounds are the trade's rules (common practice, no source) and the published ones named in pairing.constants.
"""

import pytest

from pairing.checks.plan import check_plan
from pairing.constants import usual_rest_s
from pairing.effort.timetable import build_timetable
from pairing.model import Finding, Where
from pairing.plan.edit import apply_edits
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan

SOUND = """# Sound
breath: 5 seconds

## Arrive: opening
- child's pose, 10 breaths

## Salutes: warm-up, 12 rounds
- sun salutation A

## Tide: flow, both sides, 3 rounds
- warrior two, 5 breaths
- triangle, 5 breaths
- vinyasa

## Crest: peak
- crow, 5 breaths x2

## Ebb: cool-down
- pigeon, 2 minutes each side
- supine twist, 1 minute each side

## Float: rest, 5 minutes
- savasana
"""


def findings(text: str) -> tuple[Finding, ...]:
    plan = read_plan(text, file="class.md")
    poses = pose_table().with_own(plan.own_poses)
    return check_plan(plan, build_timetable(plan, poses), poses)


def codes(text: str) -> set[str]:
    return {finding.code for finding in findings(text) if not finding.code.startswith("caution")}


def test_a_sound_class_is_left_alone() -> None:
    assert codes(SOUND) == set()


# What is changed in the sound class, and the one code that must come of it.
FAULTS = [
    ("pigeon, 2 minutes each side", "pigeon, 2 minutes", "one-side-only"),
    ("pigeon, 2 minutes each side", "pigeon, 2 minutes right\n- pigeon, 1 minute left", "sides-unequal"),
    ("## Salutes: warm-up, 12 rounds", "## Salutes: warm-up", "no-warm-up"),
    ("## Float: rest, 5 minutes\n- savasana\n", "", "no-rest"),
    ("rest, 5 minutes", "rest, 2 minutes", "rest-short"),
    ("rest, 5 minutes", "rest, 20 minutes", "rest-long"),
    ("- pigeon, 2 minutes each side\n- supine twist, 1 minute each side", "- happy baby, 5 breaths", "no-easing"),
    ("- crow, 5 breaths x2", "- pause: water, 1 minute", "section-without-pose"),
    ("both sides, 3 rounds", "both sides, 3 rounds, each round 30% quicker", "breath-too-quick"),
    ("## Crest", "## Hold: floor, 1 minute\n- child's pose, 2 minutes\n\n## Crest", "lines-longer-than-minutes"),
    ("- savasana\n", "- savasana\n\n## Go: flow\n- vinyasa\n", "rest-not-last"),
]


@pytest.mark.parametrize(("before", "after", "code"), FAULTS)
def test_a_fault_is_named(before: str, after: str, code: str) -> None:
    assert before in SOUND
    text = SOUND.replace(before, after)
    if code == "no-warm-up":
        text = text.replace("flow, both sides, 3 rounds", "flow, both sides")
    assert code in codes(text)


@pytest.mark.parametrize("pose", ["wheel", "headstand", "crow"])
def test_demanding_poses_want_some_minutes_of_movement_first(pose: str) -> None:
    alone = f"# C\n\n## Arrive: opening\n- easy seat, 5 minutes\n\n## One: floor\n- {pose}, 5 breaths\n"
    assert "no-warm-up" in codes(alone)


def test_a_pose_written_twice_without_a_side_is_taken_for_both() -> None:
    twice = SOUND.replace(
        "pigeon, 2 minutes each side", "pigeon, 2 minutes\n- happy baby, 5 breaths\n- pigeon, 2 minutes"
    )
    assert "one-side-only" not in codes(twice)


def test_the_correction_of_a_missing_side_is_an_edit_that_ends_the_finding() -> None:
    text = SOUND.replace("pigeon, 2 minutes each side", "pigeon, 2 minutes")
    finding = next(f for f in findings(text) if f.code == "one-side-only")
    assert finding.where == Where("class.md", 19)
    assert codes(apply_edits(text, finding.edits)) == set()


# Common practice, no source: 30, 45, 60, 75, 90 minutes of class have 4, 5, 6, 8, 9 minutes of rest.
@pytest.mark.parametrize(("minutes", "rest"), [(30, 4), (45, 5), (60, 6), (75, 8), (90, 9)])
def test_the_usual_rest(minutes: int, rest: int) -> None:
    assert usual_rest_s(60 * minutes) == 60 * rest


def test_every_finding_names_its_ground() -> None:
    grounds = ("common practice", "ACSM", "Int J Yoga")
    for before, after, _ in FAULTS:
        for finding in findings(SOUND.replace(before, after)):
            if finding.code.startswith("caution") or finding.code == "lines-longer-than-minutes":
                continue
            assert any(ground in finding.message for ground in grounds), finding
            assert finding.remedy


def test_cautions_are_gathered_and_defer_to_licensed_practice() -> None:
    found = {f.code: f for f in findings(SOUND) if f.code.startswith("caution")}
    assert {
        "caution-general",
        "caution-wrists",
        "caution-knees",
        "caution-low-back",
        "caution-pregnancy",
        "caution-head-pressure",
    } <= set(found)
    assert all(finding.level == "note" for finding in found.values())
    assert "licensed professional" in found["caution-general"].message
    assert "Crow Pose" in found["caution-wrists"].message
    # Jasien et al., PLoS ONE 2015;10(12):e0144505: downward dog 17 to 28 mmHg within a minute.
    assert "17 to 28 mmHg" in found["caution-head-pressure"].message


def test_a_class_without_poses_has_no_cautions() -> None:
    assert findings("# Talk\n\n## Talk: opening\n- say: hello, 1 minute\n") == ()
