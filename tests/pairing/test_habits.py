"""Notes as teachers type them: for each habit several phrasings, with the seconds they mean. Invented lines.

The seconds are those of the note's own words at 5 s a breath; where the pose table gives a length, only sides, counts and
certainty are looked at. Common practice, no source.
"""

import pytest

from pairing.effort.timetable import build_timetable
from pairing.model import Plan, Step
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan

TOP = "Evening class\nbreath: 5 seconds\nbetween: 0 seconds\nholds: flow\n\n"


def class_of(text: str) -> Plan:
    return read_plan(TOP + text)


def steps(text: str) -> list[Step]:
    plan = class_of(text)
    assert all(line.sure for line in plan.lines), [line for line in plan.lines if not line.sure]
    return [step for step in build_timetable(plan, pose_table()).steps if step.what != "between"]


def seconds(text: str) -> float:
    return round(sum(step.end_s - step.start_s for step in steps(text)), 3)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        # several things on a line
        ("childs 1 min then puppy 30 sec", 90), ("child 1m, puppy 30s, dd 5br", 115), ("tree 5br -> chair 3br", 40),
        ("chair 5 breaths, plank 20 sec", 45), ("plank 30s + boat 20s", 50), ("child 2', puppy 1'", 180),
        ("boat 5br; bow 4br", 45), ("tree 20s → eagle 20s", 40), ("bridge 1 min and then child 1 min", 120),
        # sides
        ("pigeon 2min/side", 240), ("pigeon 2' e/s", 240), ("pigeon 1m/1m", 120), ("pigeon 30s/30s", 60),
        ("pigeon R 1 min, L 1 min", 120), ("pigeon r 45 sec pigeon l 45 sec", 90), ("tree 5/5", 50),
        ("pigeon 10 br R, 10 br L", 100), ("tree r then l 4br", 40), ("tree 4 breaths a side", 40),
        ("tree 3br, other side", 30), ("tree 6 br es", 60), ("eagle 30sec ea", 60), ("twist 1 min r 1 min l", 120),
        # numbers by pose and neighbours
        ("savasana 7", 420), ("tree 7", 35), ("plank 45", 45), ("eagle r 30 eagle l 30", 60), ("headstand 15-25", 100),
        # sets
        ("boat 3 x 20s", 60), ("boat 3x5br", 75), ("boat 5 br x 5", 125), ("boat 3 times 5 breaths", 75),
        ("boat 3 sets of 5 breaths", 75), ("plank 10s 20s 30s", 60), ("plank 60s / 30s", 90),
        ("boat 3 x 20s, 10s rest between", 80), ("plank 10s 20s 10s, 5s rest in between", 50),
        # counts and pulses
        ("chair 5br, pulse x15, hold 10", 50), ("chair 5br + 16 pulses", 41), ("goddess 20s, pulses 10s", 30),
        ("chair: 8 counts down 8 up x4", 64), ("chair 3br, hold 5 4 3 2 1", 20),
        # work and rest
        ("plank 30s on 10s off x4", 160), ("mountain climbers 20/10 x8", 240), ("boat 40 on 20 off x3", 180),
        ("squats 45/15 x2", 120), ("burpees 30 sec on, 30 sec off x 2", 120),
        # counted breathing
        ("4-7-8 x4", 76), ("box breathing 4-4-4-4 x5", 80), ("box breath 4-4-4-4 x 3", 48), ("4-7-8 breath x2", 38),
        # other languages
        ("perro boca abajo 5 resp", 25), ("paloma 2 min por lado", 240), ("Baum 45 Sek re/li", 90),
        ("Krieger 2 5 Atemzüge je Seite", 50), ("chien tête en bas 5 respirations", 25),
        ("pigeon 2 min de chaque côté", 240), ("Vṛkṣāsana 45s r/l", 90), ("🌳 R/L 45s", 90), ("🦅 30s, 🌳 30s", 60),
        # what only says how
        ("tree with a strap, 5br", 25), ("warrior two, 5 breaths, chair under the thigh", 25), ("tree (if you like) 5br", 25),
    ],
)  # fmt: skip
def test_a_line_takes_the_time_its_words_say(typed: str, meant: float) -> None:
    assert seconds(typed) == pytest.approx(meant, abs=0.5)


@pytest.mark.parametrize(
    "again",
    ["other side", "l side", "same on the left", "repeat all L leg", "switch sides", "now the left side", "repeat L"],
)
def test_the_lines_above_come_again_on_the_other_side(again: str) -> None:
    text = f"FLOW\nlow lunge 3br\nwarrior two 5br\n{again}"
    plan = class_of(text)
    at = len((TOP + text).splitlines())
    timed = build_timetable(plan, pose_table()).steps
    assert sum(step.end_s - step.start_s for step in timed if step.line == at) == 40
    assert {step.side for step in timed if step.line == at} == {"left"}


@pytest.mark.parametrize(
    ("again", "meant"),
    [
        ("do that again no holds", 20),
        ("both sides again no holding", 20),
        ("repeat all without holds", 20),
        ("one more time", 80),
        ("both sides again x2", 160),
        ("again, 1 breath each", 20),
    ],
)
def test_both_sides_come_again(again: str, meant: float) -> None:
    text = f"FLOW\nlow lunge 3br\nwarrior two 5br\nl side\n{again}"
    timed = build_timetable(class_of(text), pose_table()).steps
    at = len((TOP + text).splitlines())
    assert sum(step.end_s - step.start_s for step in timed if step.line == at) == meant


@pytest.mark.parametrize(
    ("title", "slot_min", "start"),
    [
        ("Weds 6.30 vinyasa 60", 60, None),
        ("Mat class - Thurs (50mins)", 50, None),
        ("Hatha. 19.00 - 20.15", 75, "19:00"),
        ("PYRAMID VINYASA 45'", 45, None),
        ("Sunday flow 50min", 50, None),
        ("Slow flow - 1h15", 75, None),
        ("mon 6:30pm slow flow (75)", 75, "18:30"),
        ("Lunch class 12:15-13:00", 45, "12:15"),
        ("Mittwoch Vinyasa 75 Min", 75, None),
        ("Lundi 18h30 - hatha 60 min", 60, "18:30"),
    ],
)
def test_the_slot_stands_in_the_title(title: str, slot_min: float, start: str | None) -> None:
    plan = read_plan(f"{title}\n\nchilds pose 2 min\nsavasana 5 min\n")
    assert (plan.title, plan.slot_s, plan.start) == (plan.title, 60 * slot_min, start)


@pytest.mark.parametrize(
    "text",
    [
        "18:00 easy seat\n18:05 cat cow\n18:12 tree\n18:20 savasana 5 min",
        "0:00 easy seat\n0:05 cat cow\n0:12 tree\n0:20 savasana 5 min",
        "0-5 easy seat\n5-12 cat cow\n12-20 tree\n20-25 savasana",
        "0 easy seat\n5 cat cow\n12 tree\n20 savasana 5 min",
        "25 easy seat\n20 cat cow\n13 tree\n5 savasana",
        "Start\tMins\tPoses\n0:00\t5\teasy seat\n0:05\t7\tcat cow\n0:12\t8\ttree\n0:20\t5\tsavasana\n\t25\ttotal",
    ],
)
def test_times_in_front_of_lines_and_in_tables_are_the_truth(text: str) -> None:
    timed = build_timetable(read_plan("Class\nbetween: 0 seconds\n\n" + text), pose_table())
    lengths = [step.end_s - step.start_s for step in timed.steps if step.what == "pose"]
    assert lengths == pytest.approx([300, 420, 480, 300])


@pytest.mark.parametrize(
    "heading", ["WARM UP", "**Warm up**", "Warm up:", "-- warm up --", "2. Warm-up", "Aufwärmen:", "Calentamiento:"]
)
def test_headings_need_no_signs_and_one_with_signs_switches_none_off(heading: str) -> None:
    for other in ("FLOOR", "## Floor"):
        plan = class_of(f"{heading}\ncat cow x5\ntree 5br\n\n{other}\npigeon 1 min e/s\n")
        assert [section.kind.value for section in plan.sections] == ["warm-up", "floor"]


@pytest.mark.parametrize(
    ("line", "level"),
    [
        ("music up", "driving"),
        ("strong music", "driving"),
        ("*** drop the beat here ***", "driving"),
        ("chill music", "quiet"),
        ("music down", "quiet"),
        ("subir música", "driving"),
    ],
)
def test_a_line_of_music_is_a_wish_from_there_on(line: str, level: str) -> None:
    plan = class_of(f"FLOW\nCrow 5br\n{line}\nla cobra, tree 5br\n")
    wishes = [step.wishes.level for step in build_timetable(plan, pose_table()).steps if step.what == "pose"]
    assert wishes[0] is None
    assert wishes[-1] == level


@pytest.mark.parametrize("typed", ["zibberish x4", "wobbly wall thing 2 min", "?? 30s", "flurb", "the long one 40 sec"])
def test_what_is_not_understood_is_a_gap_with_a_question_and_the_class_goes_on(typed: str) -> None:
    plan = class_of(f"FLOW\ntree 5br\n{typed}\nchair 5br\n")
    timed = build_timetable(plan, pose_table())
    gap = next(step for step in timed.steps if step.what == "gap")
    assert (gap.pose_id, gap.end_s > gap.start_s) == (None, True)
    (asked,) = [line for line in plan.lines if not line.sure]
    assert asked.text == typed
    assert len(asked.answers) <= 3
    assert [finding.where.line for finding in plan.questions] == [asked.line]


@pytest.mark.parametrize(
    "heading", ["SIDE LYING (all on R then all on L)", "Flow 1 (R then L)", "SEAT: both sides", "FLOW - R + L"]
)
def test_no_side_of_a_part_is_lost(heading: str) -> None:
    timed = build_timetable(class_of(f"{heading}\nlow lunge 3br\nwarrior two 5br\n\nFLOOR\nchild 1 min"), pose_table())
    by_side = {side: sum(s.end_s - s.start_s for s in timed.steps if s.side == side) for side in ("right", "left")}
    assert by_side == {"right": 40, "left": 40}
