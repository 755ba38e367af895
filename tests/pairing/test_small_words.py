"""Small words and signs that decide how long a line takes. Invented lines; common practice, no source."""

import pytest

from pairing.effort.timetable import build_timetable
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan


@pytest.mark.parametrize(
    ("line", "lo", "hi"),
    [
        ("thread needle 1 min e side", 120, 120),
        ("pigeon 2 min e leg", 240, 240),
        ("figure 4 90s per s", 180, 180),
        ("welcome, 5", 300, 300),
        ("Welcome & check in (5)", 300, 330),
        ("check in 5", 300, 300),
        ("say: breathe in for 4, out for 6", 3, 30),
        ("boat 30s/low boat 15s x3", 135, 135),
        ("boat 30s + low boat 15s x3", 135, 135),
        ("plank 30s & boat 20s x 2", 100, 100),
        ("boat 30s, low boat 15s x3", 75, 75),
        ("sun A x4 (6 min)", 360, 360),
        ("sun A x4 - 6 min", 360, 360),
        ("sun A x4, 6 min", 360, 360),
        ("sun A x4-6", 180, 420),
        ("cat cow x8 - 1 min", 60, 60),
        ("squats x10 (2 min)", 120, 120),
        ("squats x3, 45 s", 135, 135),
        ("plank x3, 1 min", 180, 180),
        ("DD 1 min pedal it out", 60, 60),
        ("down dog 5 br, pedal the feet", 20, 30),
        ("DD pedal it out, 8br", 32, 48),
        ("down dog 5 breaths - pedal it out 1 min", 80, 90),
        ("downward dog, pedal it out, 1 min", 60, 60),
    ],
)
def test_a_line_takes_what_it_means(line: str, lo: float, hi: float) -> None:
    plan = read_plan(f"Flow 60\nchild 1 min\n{line}\nSavasana 10\n")
    steps = build_timetable(plan, pose_table()).steps
    assert lo - 1 <= sum(step.end_s - step.start_s for step in steps if step.line == 3) <= hi + 1


@pytest.mark.parametrize(("line", "meant_s"), [("figure four 2/2", 240), ("pigeon 2 e/s", 240), ("frog 2", 120)])
def test_nobody_lies_down_for_two_breaths(line: str, meant_s: int) -> None:
    plan = read_plan(f"SLOW 75 min\nsun A x3\n\nCOOL (12)\nhappy baby 1\n{line}\n\nSAVASANA 8\n")
    steps = build_timetable(plan, pose_table()).steps
    assert sum(step.end_s - step.start_s for step in steps if step.line == 6) == pytest.approx(meant_s, abs=1)


def test_again_and_again_ends() -> None:
    plan = read_plan("Flow 60\nlunge 3 br\nwarrior 2, 5 br\n" + "same again x2\n" * 500)
    assert len(plan.lines) == 503
    assert not all(read.sure for read in plan.lines)  # each doubles it: no class is so long


@pytest.mark.parametrize(
    ("below", "slot_s"),
    [
        ("60 min", 3600),
        ("60 min, 12 people", 3600),
        ("45min / hot room", 2700),
        ("75 mins - level 2", 4500),
        ("30 MIN express / 11 ppl", 1800),
        ("20 min arrive and breathe", None),
        ("25 min sun salutations", None),
        ("30 min yin", None),
    ],
)
def test_minutes_right_below_the_title_are_the_slot_where_nothing_is_done_in_them(
    below: str, slot_s: int | None
) -> None:
    plan = read_plan(f"Tues strong flow\n{below}\nchild 1 min\nsun A x3\nsavasana 5 min\n")
    assert plan.slot_s == slot_s


@pytest.mark.parametrize("title", ["PILATES MAT - INTERMED. WED 9.30", "Tues pigeon lab 7pm", "Sunday: hips + twists"])
def test_a_first_line_with_a_day_is_the_title(title: str) -> None:
    plan = read_plan(f"{title}\ntoe taps x12\nchild 1 min\n")
    assert [read.says.split(";")[0] for read in plan.lines[:1]] == ["the title"]


@pytest.mark.parametrize(
    "heading",
    [
        "Main bit (R, then L, x2 - 2nd time no holds)",
        "Flow (R, then L, x2 - second time quicker)",
        "Main bit - R then L, 2nd time no holds",
        "Hauptteil (re, dann li, 2 Durchgänge)",
        "Parte principal (der, luego izq, x2)",
    ],
)
def test_a_line_with_both_sides_right_above_others_heads_them(heading: str) -> None:
    plan = read_plan(f"Flow 45\nSuns: A x2\nB x2\n\n{heading}\ncrescent 3 br\nvinyasa\n\nSavasana 8 min\n")
    steps = build_timetable(plan, pose_table()).steps
    assert not [step for step in steps if step.line == 5 and step.pose_id == "sun_salutation_b"]
    assert next(read for read in plan.lines if read.line == 5).says.startswith("a part of the class")
