"""Each check of a class just inside its limit and just outside; the limits are those that its words name."""

import pytest

from pairing.checks.plan import check_plan
from pairing.checks.slot import check_slot
from pairing.effort.timetable import build_timetable
from pairing.model import Finding
from pairing.plan.edit import apply_edits
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan

HEAD = "# C\nbreath: 5 seconds\n"


def found(text: str) -> dict[str, Finding]:
    plan = read_plan(HEAD + text, file="c.md")
    return {finding.code: finding for finding in check_plan(plan, build_timetable(plan, pose_table()), pose_table())}


def section(kind: str, *lines: str) -> str:
    return f"\n## The {kind}: {kind}\n" + "".join(f"- {line}\n" for line in lines)


WARM_UPS = [
    # ACSM: 5 to 10 minutes of light to moderate activity come first; sitting quietly is none (1.07 METs, Compendium).
    (("chair, 299 seconds",), "crow, 5 breaths", True),
    (("chair, 300 seconds",), "crow, 5 breaths", False),
    (("easy seat, 600 seconds",), "crow, 5 breaths", True),
    (("chair, 299 seconds",), "wheel, 5 breaths", True),
    (("chair, 299 seconds",), "camel, 5 breaths", True),
    (("chair, 299 seconds",), "headstand, 5 breaths", True),
    (("chair, 299 seconds",), "downward dog, 5 breaths", False),
    (("chair, 299 seconds",), "plank, 5 breaths", False),
    (("chair, 299 seconds",), "bridge, 5 breaths", False),
]


@pytest.mark.parametrize(("before", "pose", "told"), WARM_UPS)
def test_what_is_demanding_wants_five_minutes_of_moving_before_it(before: tuple[str], pose: str, told: bool) -> None:
    assert ("no-warm-up" in found(section("flow", *before, pose))) is told


@pytest.mark.parametrize(("seconds", "told"), [(299, True), (300, False)])
def test_so_does_the_peak_whatever_is_in_it(seconds: int, told: bool) -> None:
    codes = found(section("flow", f"chair, {seconds} seconds") + section("peak", "bridge, 5 breaths"))
    assert ("no-warm-up" in codes) is told


def test_the_peak_is_told_once_with_the_time_before_it() -> None:
    text = section("flow", "chair, 100 seconds") + section("peak", "bridge, 5 breaths", "bridge, 9 breaths", "crow")
    plan = read_plan(HEAD + text, file="c.md")
    told = [f for f in check_plan(plan, build_timetable(plan, pose_table()), pose_table()) if f.code == "no-warm-up"]
    assert [(f.where.line, "after only 1:40 of movement" in f.message) for f in told] == [(8, True), (10, False)]


# Five easy minutes before the rest, or a tenth of a class below 50 minutes; half of that is too little by far.
EASINGS = [
    (3000, 299, "note"),
    (3000, 300, None),
    (3000, 149, "should"),
    (3000, 150, "note"),
    (600, 59, "note"),
    (600, 60, None),
    (600, 30, "note"),
    (600, 29, "should"),
]


@pytest.mark.parametrize(("class_s", "eased_s", "level"), EASINGS)
def test_hard_work_is_followed_by_easy_minutes(class_s: int, eased_s: int, level: str | None) -> None:
    rest_s = 240
    work_s = class_s - eased_s - rest_s
    text = section("flow", f"crow, {work_s} seconds", f"happy baby, {eased_s} seconds")
    finding = found(text + section("rest", f"savasana, {rest_s} seconds")).get("no-easing")
    assert (finding.level if finding else None) == level


def test_easing_is_counted_to_the_end_where_there_is_no_rest() -> None:
    finding = found(section("flow", "crow, 600 seconds", "happy baby, 20 seconds"))["no-easing"]
    assert "and the end there is only 0:20" in finding.message


@pytest.mark.parametrize(("class_s", "told"), [(1199, False), (1200, True)])
def test_a_class_of_twenty_minutes_wants_a_rest(class_s: int, told: bool) -> None:
    assert ("no-rest" in found(section("floor", f"happy baby, {class_s} seconds"))) is told


# A minute for ten of class, four at least (common practice): of an hour six minutes.
RESTS = [
    (360, None),
    (359, None),
    (358, "rest-short note"),
    (252, "rest-short note"),
    (251, "rest-short should"),
    (900, None),
    (901, "rest-long should"),
]


@pytest.mark.parametrize(("rest_s", "told"), RESTS)
def test_a_rest_has_its_usual_length(rest_s: int, told: str | None) -> None:
    codes = found(
        section("floor", f"happy baby, {3600 - rest_s} seconds") + section("rest", f"savasana, {rest_s} seconds")
    )
    assert {f"{f.code} {f.level}" for f in codes.values() if f.code in ("rest-short", "rest-long")} == (
        {told} if told else set()
    )


@pytest.mark.parametrize(("after", "told"), [("closing", False), ("floor", True)])
def test_only_a_closing_comes_after_the_rest(after: str, told: bool) -> None:
    codes = found(section("rest", "savasana, 5 minutes") + section(after, "easy seat, 1 minute"))
    assert ("rest-not-last" in codes) is told
    assert "rest-not-last" not in found(section(after, "easy seat, 1 minute") + section("rest", "savasana, 5 minutes"))


@pytest.mark.parametrize(
    ("kind", "told"), [("opening", False), ("breathing", False), ("closing", False), ("flow", True)]
)
def test_talk_alone_is_enough_where_one_sits(kind: str, told: bool) -> None:
    assert ("section-without-pose" in found(section(kind, "say: welcome, 1 minute"))) is told
    assert "section-without-pose" not in found(section(kind, "easy seat, 1 minute"))


# 36 poses a minute, 3.3 s a breath, is the quickest pace studied (Int J Yoga 2022;15:163-167).
@pytest.mark.parametrize(("breath_s", "told"), [(3.2, True), (3.3, False), (5.0, False)])
def test_no_breath_is_quicker_than_has_been_studied(breath_s: float, told: bool) -> None:
    text = f"\n## One: flow, breath {breath_s} seconds\n- chair, 3 breaths\n"
    assert ("breath-too-quick" in found(text)) is told


SIDES = [
    (("pigeon, 60 seconds, right", "pigeon, 61 seconds, left"), None),
    (("pigeon, 60 seconds, right", "pigeon, 62 seconds, left"), "sides-unequal"),
    (("pigeon, 60 seconds", "happy baby, 1 minute", "pigeon, 61 seconds"), None),
    (("pigeon, 60 seconds", "happy baby, 1 minute", "pigeon, 62 seconds"), "one-side-only"),
    (("pigeon, 60 seconds x2",), None),
    (("pigeon, 60 seconds x3",), "one-side-only"),
    (("pigeon, 60 seconds", "happy baby", "pigeon, 60 seconds", "happy baby", "pigeon, 60 seconds"), "one-side-only"),
    (("bridge, 60 seconds",), None),
]


@pytest.mark.parametrize(("lines", "told"), SIDES)
def test_both_sides_take_the_same_time(lines: tuple[str, ...], told: str | None) -> None:
    codes = found(section("floor", *lines))
    assert {code for code in codes if code in ("one-side-only", "sides-unequal")} == ({told} if told else set())


def test_unequal_sides_are_told_with_their_seconds() -> None:
    finding = found(section("floor", "pigeon, 100 seconds, right", "pigeon, 40 seconds, left"))["sides-unequal"]
    assert "1:40 on the right and 0:40 on the left" in finding.message
    assert "Add 1:00 on the left" in (finding.remedy or "")


# ---- the slot ----------------------------------------------------------------------------------------------------


def slot(class_line: str, head: str = "slot: 20 minutes\nsettle: 3 minutes\nleave: 2 minutes\n"):
    plan = read_plan(f"{HEAD}{head}\n## One: floor\n- {class_line}\n", file="c.md")
    return check_slot(plan, build_timetable(plan, pose_table()), pose_table())


@pytest.mark.parametrize(
    ("seconds", "fits", "spare"),
    [(900, "fits", None), (901, "too long", None), (810, "fits", None), (809, "fits", "spare-time")],
)
def test_a_class_fits_what_the_slot_leaves_of_it(seconds: int, fits: str, spare: str | None) -> None:
    checked = slot(f"happy baby, {seconds} seconds")
    assert (checked.available_s, checked.spare_s, checked.fits) == (900.0, 900.0 - seconds, fits)
    assert {f.code for f in checked.findings} == {
        *([spare] if spare else []),
        *(["too-long"] if fits == "too long" else []),
    }


@pytest.mark.parametrize(("breaths", "fits"), [(163, "fits"), (164, "tight"), (180, "tight"), (181, "too long")])
def test_a_class_is_tight_where_only_a_slower_breath_is_too_long(breaths: int, fits: str) -> None:
    """Breaths of 5 s, a tenth slower: 163 take 896.5 s of the 900, 164 take 902."""
    assert slot(f"happy baby, {breaths} breaths").fits == fits


def test_without_a_slot_nothing_is_said() -> None:
    assert slot("happy baby, 9 minutes", head="").fits is None


@pytest.mark.parametrize(("round_s", "offered"), [(600, True), (840, True), (841, False), (1200, False)])
def test_what_a_far_too_long_rest_gives_back_is_all_that_may_be_filled(round_s: int, offered: bool) -> None:
    """An hour with a rest of twenty minutes: six are usual, so fourteen may go elsewhere."""
    text = (
        f"\n## Flow: flow, 2 rounds\n- chair, {round_s} seconds\n\n## Still: floor\n- happy baby, {2400 - 2 * round_s} seconds\n"
        "\n## Float: rest\n- savasana, 20 minutes\n"
    )
    plan = read_plan(f"{HEAD}slot: 60 minutes\n{text}", file="c.md")
    remedies = check_slot(plan, build_timetable(plan, pose_table()), pose_table()).remedies
    assert any(-remedy.saves_s == round_s for remedy in remedies) is offered


REPEATING = """slot: 20 minutes

## Tide: flow, 3 rounds
- chair, 60 seconds

## Ebb: floor, 5 minutes
- happy baby

## Again: flow, repeat Tide

## Still: floor
- pigeon, 3 minutes each side
"""


@pytest.mark.parametrize("minutes", [20, 14, 10])
def test_where_one_part_repeats_another_a_remedy_is_timed_with_both(minutes: int) -> None:
    """Beside the whole plan read and timed again."""
    text = HEAD + REPEATING.replace("20 minutes", f"{minutes} minutes", 1)
    plan = read_plan(text, file="c.md")
    before = build_timetable(plan, pose_table())
    remedies = check_slot(plan, before, pose_table()).remedies
    assert remedies or minutes == 20
    for remedy in remedies:
        after = build_timetable(read_plan(apply_edits(text, remedy.edits), file="c.md"), pose_table())
        assert before.duration_s - after.duration_s == pytest.approx(remedy.saves_s), remedy.text
