"""The time table: every rule of the plan language that takes time, worked out by hand; and what always holds."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plan_texts import breath_lines, plans, section, sections

from pairing.effort.timetable import build_timetable
from pairing.errors import PlanError
from pairing.model import Plan, Step, Timetable
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan
from pairing.plan.write import write_plan


def timed(text: str) -> Timetable:
    return build_timetable(plan_of(text), pose_table())


def plan_of(text: str) -> Plan:
    return read_plan("# Class\nbreath: 5 seconds\n" + text, file="class.md")


def spans(timetable: Timetable) -> list[tuple[str | None, str | None, float]]:
    return [(s.pose_id or s.what, s.side, round(s.end_s - s.start_s, 3)) for s in timetable.steps]


def length(lines: str, heading: str = "## One: flow") -> float:
    return timed(f"\n{heading}\n{lines}\n").duration_s


# Lines of one section at 5 s a breath, and the seconds they take; worked out by hand from the contract's words.
LINES = [
    ("- warrior two, 5 breaths", 25),
    ("- warrior two, 3-5 breaths", 20),
    ("- warrior two, half a breath", 2.5),
    ("- warrior two, inhale", 2.5),
    ("- child's pose, 90 seconds", 90),
    ("- child's pose, 1:30", 90),
    ("- child's pose, 2 minutes", 120),
    ("- standing side bend 3 breaths each side", 30),
    ("- pigeon, 2 minutes each side", 240),
    ("- bridge, 5 breaths x2", 50),
    ("- bridge x3", 45),  # three holds
    ("- bridge x10", 50),  # up and down, once a breath
    ("- push-ups x10", 25),
    ("- cat cow x6", 30),  # one breath a repetition in the pose table
    ("- sun salutation A", 50),
    ("- sun salutation A x3", 150),
    ("- sun salutation A, no hold", 25),
    ("- say: welcome, 1 minute", 60),
    ("- bell", 0),
    ("- song: Lanterns on the Pier", 0),
    ("- warrior two", 15),  # usual hold in a flow: 3 breaths
]


@pytest.mark.parametrize(("line", "seconds"), LINES)
def test_a_line_takes_its_time(line: str, seconds: float) -> None:
    assert length(line) == pytest.approx(seconds)


# Sections with 5 s a breath: heading, lines, seconds.
SECTIONS = [
    ("## One: flow, 3 rounds", "- warrior two, 4 breaths", 60),
    ("## One: flow, 3 rounds, each round 10% quicker", "- warrior two, 4 breaths", 20 + 18 + 16.2),
    ("## One: flow, 3 rounds, each round 10% quicker", "- child's pose, 20 seconds", 60),
    ("## One: flow, both sides", "- warrior two, 4 breaths", 40),
    ("## One: flow, both sides, 2 rounds", "- warrior two, 4 breaths\n- crow, 5 breaths, after both sides", 130),
    ("## One: flow, both sides, 2 rounds", "- say: water, 30 seconds\n- warrior two, 4 breaths", 110),
    ("## One: flow, 3 rounds", "- plank, 1 breath, from round 2", 10),
    ("## One: flow, 3 rounds", "- plank, 1 breath, round 2", 5),
    ("## One: flow, 3 rounds", "- plank, 1 breath, rounds 1-2", 10),
    ("## One: flow, 3 rounds", "- plank, 1 breath, last round", 5),
    ("## One: flow, 3 rounds", "- plank, 1 breath, not last round", 10),
    ("## One: flow, breath 8 seconds", "- plank, 2 breaths", 16),
    ("## One: floor, 10 minutes", "- child's pose, 2 minutes\n- bridge\n- happy baby", 600),
    ("## One: floor, 1 minute", "- child's pose, 2 minutes", 120),
    ("## One: floor, 5 minutes", "- child's pose, 2 minutes", 300),
    ("## One: floor, between 15 seconds", "- bridge, 5 breaths\n- happy baby, 5 breaths\n- frog, 5 breaths", 105),
    ("## One: floor, between 15 seconds", "- pigeon, 5 breaths each side", 65),
    ("## One: flow, between 15 seconds", "- plank, 1 breath\n- vinyasa\n- plank, 1 breath", 20),
    ("## One: flow", "- plank, 1 breath\n### Ladder, both sides, 2 rounds\n- warrior two, 2 breaths", 45),
]


@pytest.mark.parametrize(("heading", "lines", "seconds"), SECTIONS)
def test_a_section_takes_its_time(heading: str, lines: str, seconds: float) -> None:
    assert length(lines, heading) == pytest.approx(seconds)


def test_sides_come_one_after_the_other_the_right_first_unless_said() -> None:
    lines = (
        "- warrior two, 4 breaths\n- triangle, 2 breaths\n"
        "- chair, 1 breath, between sides\n- crow, 1 breath, after both sides"
    )
    first = timed(f"\n## One: flow, both sides\n{lines}\n")
    assert [(s.pose_id, s.side) for s in first.steps] == [
        ("warrior_2", "right"),
        ("triangle", "right"),
        ("chair", None),
        ("warrior_2", "left"),
        ("triangle", "left"),
        ("crow", None),
    ]
    assert [(p.round, p.side) for p in first.sections[0].passes] == [(1, "right"), (1, None), (1, "left"), (1, None)]
    assert timed(f"\n## One: flow, both sides, left first\n{lines}\n").steps[0].side == "left"


def test_lines_without_a_length_share_the_minutes_and_the_others_keep_theirs() -> None:
    timetable = timed(
        "\n## Floor: floor, 10 minutes\n- child's pose, 2 minutes\n- pigeon each side\n- happy baby\n- bell\n"
    )
    assert spans(timetable) == [
        ("child", None, 120),
        ("half_pigeon", "right", 160),
        ("half_pigeon", "left", 160),
        ("happy_baby", None, 160),
        ("bell", None, 0),
    ]


def test_the_minutes_cover_all_rounds_and_sides() -> None:
    timetable = timed("\n## Hold: standing, both sides, 2 rounds, 8 minutes\n- warrior two\n- triangle\n")
    assert {span for *_, span in spans(timetable)} == {60.0}


def test_salutations_alone_in_given_minutes_are_done_as_often_as_fits() -> None:
    timetable = timed("\n## Salutes: warm-up, 10 minutes\n- sun salutation A\n")
    assert len(timetable.sections[0].passes) == 12  # 600 s / 50 s
    assert timetable.duration_s == pytest.approx(600)
    assert any("12 rounds" in said for said in timetable.assumptions)


def test_transitions_keep_their_breaths_where_holds_share_the_minutes() -> None:
    timetable = timed("\n## Flow: flow, 5 minutes\n- warrior two\n- vinyasa\n- triangle\n")
    assert spans(timetable)[1] == ("vinyasa", None, 10.0)
    assert timetable.duration_s == pytest.approx(300)


def test_lines_longer_than_their_minutes_win_and_it_is_said() -> None:
    timetable = timed("\n## Floor: floor, 2 minutes\n- child's pose, 3 minutes\n")
    assert timetable.duration_s == 180
    assert [f.code for f in timetable.findings] == ["lines-longer-than-minutes"]


REST = """
slot: 20 minutes
settle: 3 minutes
leave: 2 minutes

## Flow: flow
- plank, {}

## Rest: rest, what is left, at least 5 minutes
- savasana
- bell
"""


@pytest.mark.parametrize(("plank", "rest_s", "class_s"), [("4 minutes", 660, 900), ("12 minutes", 300, 1020)])
def test_what_is_left_takes_the_rest_of_the_slot_and_never_less_than_its_least(
    plank: str, rest_s: float, class_s: float
) -> None:
    timetable = timed(REST.format(plank))
    rest = timetable.sections[-1]
    assert rest.end_s - rest.start_s == pytest.approx(rest_s)
    assert timetable.duration_s == pytest.approx(class_s)


@pytest.mark.parametrize(("fixed", "each"), [(600, (172.5, 127.5)), (800, (72.5, 27.5)), (895, (60, 15))])
def test_two_parts_that_take_what_is_left_get_the_same_of_it(fixed: int, each: tuple[float, float]) -> None:
    """Of 900 s, on top of what each takes at least: a minute, and three breaths of 5 s."""
    timetable = timed(
        f"slot: 15 minutes\n\n## One: flow\n- plank, {fixed} seconds\n\n## Two: floor, what is left, at least 1 minute\n"
        "- happy baby\n\n## Three: floor, what is left\n- child's pose\n"
    )
    lasts = [section.end_s - section.start_s for section in timetable.sections]
    assert lasts[0] == fixed
    assert tuple(lasts[1:]) == pytest.approx(each)


@pytest.mark.parametrize(
    ("breath_s", "lines", "moves"),
    [
        (4, ("2 breaths", "2 breaths"), 1),
        (4, ("1.5 breaths", "2 breaths"), 0),
        (4, ("2 breaths", "1.5 breaths"), 0),
        (8, ("1.5 breaths", "10 seconds"), 1),
        (4, ("9 seconds", "10 seconds"), 0),
        (4, ("10 seconds", "10 seconds"), 1),
    ],
)
def test_one_moves_between_what_is_held_two_breaths_or_ten_seconds(
    breath_s: int, lines: tuple[str, str], moves: int
) -> None:
    text = f"# C\nbreath: {breath_s} seconds\n\n## One: floor, between 15 seconds\n- bridge, {lines[0]}\n- frog, {lines[1]}\n"
    steps = build_timetable(read_plan(text, file="c.md"), pose_table()).steps
    assert [step.end_s - step.start_s for step in steps if step.what == "between"] == [15.0] * moves


def test_talk_between_poses_is_quiet_and_moving_between_them_is_not() -> None:
    """METs: 1.3 sitting or standing quietly (2011 Compendium); a move costs 0.094 a minute on top of the pose."""
    steps = timed(
        "\n## One: standing, between 15 seconds\n- warrior two, 5 breaths, right\n- triangle, 5 breaths, right\n"
        "- say: stay, 20 seconds\n- pause, 10 seconds\n"
    ).steps
    warrior, move, _, talk, pause = steps
    assert move.mets == pytest.approx(warrior.mets + 0.094 * 60 / 15)
    assert talk.mets == pause.mets == 1.3


def test_nothing_but_what_is_left_is_stretched_to_the_slot() -> None:
    assert timed("\nslot: 60 minutes\n\n## One: flow\n- plank, 1 minute\n").duration_s == 60


def test_a_section_is_repeated_with_its_rounds_and_sides() -> None:
    text = "\n## Tide: flow, both sides, 2 rounds\n- warrior two, 4 breaths\n\n## Again: flow, repeat Tide\n"
    timetable = timed(text)
    first, again = timetable.sections
    assert again.end_s - again.start_s == pytest.approx(first.end_s - first.start_s) == pytest.approx(80)
    assert [(p.round, p.side) for p in again.passes] == [(p.round, p.side) for p in first.passes]


def test_talk_comes_once_in_rounds_unless_every_time() -> None:
    lines = "- say: breathe, 10 seconds\n- plank, 1 breath"
    assert length(lines, "## One: flow, 3 rounds") == pytest.approx(25)
    assert length(lines.replace("10 seconds", "10 seconds, every time"), "## One: flow, 3 rounds") == pytest.approx(45)


def test_options_and_ranges_give_the_shortest_and_the_longest_class() -> None:
    timetable = timed("\n## One: flow\n- plank, 4-8 breaths\n- crow, 5 breaths, optional\n- child's pose, 1 minute\n")
    assert timetable.duration_s == pytest.approx(30 + 25 + 60)
    assert timetable.shortest_s == pytest.approx(4 * 4.5 + 60)  # options left out, breath a tenth quicker
    assert timetable.longest_s == pytest.approx(8 * 5.5 + 5 * 5.5 + 60)  # options done, breath a tenth slower
    assert any(said.startswith("shortest: options left out, breath 10 % quicker") for said in timetable.assumptions)


def test_wishes_of_a_line_go_before_those_of_the_section_and_the_plan() -> None:
    timetable = timed(
        "music: no voice\n\n## One: flow, quiet music\n- plank, 1 minute\n- crow, 1 minute, driving\n"
        "\n## Two: flow\n- plank, 1 minute\n"
    )
    quiet, driving, plain = (step.wishes for step in timetable.steps)
    assert (quiet.level, driving.level, plain.level) == ("quiet", "driving", None)
    assert quiet.no_voice
    assert driving.no_voice
    assert plain.no_voice


def test_a_class_longer_than_a_day_is_refused_and_not_worked_out() -> None:
    lines = "- plank, 5 breaths\n" * 40
    with pytest.raises(PlanError, match="longer than a day"):
        timed(f"\n## One: flow, both sides, 300 rounds\n{lines}")


def test_an_empty_section_takes_no_time_and_does_no_harm() -> None:
    timetable = build_timetable(Plan("Nothing", ()), pose_table())
    assert (timetable.duration_s, timetable.steps, timetable.sections) == (0.0, (), ())


# ---- what always holds -------------------------------------------------------------------------------------------

MODEST = settings(deadline=None, max_examples=60)  # a busy machine is no failure


@MODEST
@given(plans, st.sampled_from(["", "slot: 30 minutes\n", "between: 10 seconds\n"]))
def test_steps_sections_and_passes_have_no_gap_and_no_overlap(text: str, top: str) -> None:
    timetable = timed(top + text)
    for parts in (timetable.steps, timetable.sections):
        assert_seamless(parts, 0.0, timetable.duration_s)  # type: ignore[arg-type]
    for part in timetable.sections:
        assert_seamless(part.passes, part.start_s, part.end_s)  # type: ignore[arg-type]
    assert timetable.shortest_s <= timetable.duration_s + 1e-6
    assert timetable.duration_s <= timetable.longest_s + 1e-6
    assert all(step.mets > 0.5 and math.isfinite(step.mets) for step in timetable.steps)


def assert_seamless(parts: tuple[Step, ...], start_s: float, end_s: float) -> None:
    at = start_s
    for part in parts:
        assert part.start_s == at
        assert part.end_s >= part.start_s
        at = part.end_s
    assert at == (end_s if parts else start_s)


@MODEST
@given(st.lists(sections(breath_lines, st.just("")), min_size=1, max_size=4).map("".join))
def test_doubling_the_breath_doubles_what_is_timed_by_breath(text: str) -> None:
    plan = read_plan("# Class\nbreath: 4 seconds\n" + text, file="class.md")
    slow = read_plan("# Class\nbreath: 8 seconds\n" + text, file="class.md")
    one, two = (build_timetable(each, pose_table()) for each in (plan, slow))
    assert two.duration_s == pytest.approx(2 * one.duration_s)
    assert [s.end_s for s in two.sections] == pytest.approx([2 * s.end_s for s in one.sections])


@MODEST
@given(st.lists(breath_lines, min_size=1, max_size=6), st.sampled_from(["", ", 3 rounds, each round 15% quicker"]))
def test_each_side_of_a_flow_takes_the_same_time(lines: list[str], rounds: str) -> None:
    timetable = timed(section(", both sides", rounds, [*lines, "- tree, 1 breath"]))
    passes = timetable.sections[0].passes
    sides = {side: [p.end_s - p.start_s for p in passes if p.side == side] for side in ("right", "left")}
    assert sides["right"] == pytest.approx(sides["left"])


@MODEST
@given(plans)
def test_the_same_plan_gives_the_same_time_table(text: str) -> None:
    assert timed(text) == timed(text)


@pytest.mark.parametrize("typed", ["4-6 seconds", "4 to 6 s", "4-6"])
def test_a_range_of_breath_sets_what_the_shortest_and_the_longest_class_assume(typed: str) -> None:
    plan = read_plan(f"# A\nbreath: {typed}\n\n## One: flow\n- warrior two, 10 breaths\n")
    timetable = build_timetable(plan, pose_table())
    assert (timetable.shortest_s, timetable.duration_s, timetable.longest_s) == pytest.approx((40.0, 50.0, 60.0))
    assert any("20 % quicker" in assumption for assumption in timetable.assumptions)
    again = read_plan(write_plan(plan))
    assert (again.breath_s, again.breath_range_s) == (5.0, (4.0, 6.0))
