"""The style of a class, told from its title or its poses, and the pace that follows where a note states none.

Titles are made up in the way teachers write them; what a style takes is common practice, no source, so the tests hold
what must be true of any such values: their order, and that what is stated always wins.
"""

import pytest

from pairing.effort.manner import manners, told_style
from pairing.effort.timetable import build_timetable
from pairing.model import Kind, Timetable
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan
from pairing.plan.style import style_in_words, style_named, styles

TITLES = {
    "yin": ["Thursday yin 75", "Candlelit Yin", "YIN YOGA 60 min", "Yin (hips)", "Yin-Yoga am Sonntag"],
    "restorative": ["Restorative Sunday", "Yoga Nidra & rest", "Yoga restaurativo", "rest and restore 75", "Restauratif"],
    "chair": ["Chair yoga, Tues 10:30", "Stuhlyoga 45 min", "yoga en silla", "Yoga sur chaise", "Seated yoga for the office"],
    "mat": ["Mat Pilates L2 - Thurs 12:15 (50mins)", "PILATES 45", "pilates beginners", "Mattenpilates", "Pilates au sol"],
    "barre": ["Barre (no barre lol) 45", "Lunch barre", "barre pilates fusion"],
    "interval": ["20min lunchtime yoga HIIT", "Tabata Tuesday", "Cardio circuit 30", "bootcamp in the park"],
    "prenatal": ["Prenatal Sat", "Schwangerenyoga", "yoga para embarazadas", "pregnancy yoga 60"],
    "kids": ["Kids yoga age 5-8", "Kinderyoga", "Family yoga Sunday", "yoga para niños"],
    "led": ["Half primary – led, 60′", "Led class, primary series", "Erste Serie"],
    "power": ["Power Yoga 60", "strong flow Friday", "Hot yoga 6am", "Poweryoga Montag"],
    "mobility": ["Mobility Monday", "deep stretch 45", "Movilidad", "Beweglichkeit 30 Min"],
    "breathing": ["Pranayama 30 min", "Breathwork", "Meditation Monday", "Atemarbeit"],
    "slow": ["Slow flow for tired people", "Gentle Wednesday", "Beginners wk 3", "Sanftes Yoga", "yoga doux", "Yin Yang 75"],
    "hatha": ["Hatha Wed evening. 19.00 - 20.15", "hatha 75'", "Hatha-Yoga Dienstag"],
    "flow": ["Weds 6.30 vinyasa 60", "SUNDAY FLOW 50min", "Mandala flow, 75 mins", "Clase jueves - vinyasa flow (60 min)"],
}  # fmt: skip


@pytest.mark.parametrize(("style", "title"), [(style, title) for style, titles in TITLES.items() for title in titles])
def test_a_title_tells_the_style(style: str, title: str) -> None:
    named = style_in_words(title)
    assert named is not None
    assert named.name == style


@pytest.mark.parametrize(
    "title", ["Harbour evening", "Tuesday 18:30", "Letting go", "60 min", "New studio", "class 12"]
)
def test_a_title_that_names_no_style_tells_none(title: str) -> None:
    assert style_in_words(title) is None


def timed(text: str) -> Timetable:
    return build_timetable(read_plan(text, file="class.md"), pose_table())


LINES = {
    "mat": "- hundred\n- roll-up x6\n- single-leg stretch x20\n- saw x6\n- swimming, 30 seconds\n",
    "barre": "- plié x8\n- relevé x16\n- plank, 30 seconds\n- attitude lifts x16\n",
    "interval": "- burpees, 40 seconds\n- skaters, 40 seconds\n- plank jacks, 40 seconds\n- boat, 40 seconds\n",
    "chair": "- seated cat-cow x6\n- chair warrior two, 5 breaths each side\n- sit to stand x8\n- seated twist\n",
    "yin": "- butterfly, 4 minutes\n- sphinx, 3 minutes\n- pigeon, 4 minutes each side\n- savasana, 8 minutes\n",
    "breathing": "- box breathing, 5 minutes\n- alternate nostril breathing, 5 minutes\n- kapalabhati x30\n",
    "kids": "- elephant\n- flamingo each side\n- rocket x3\n- balloon breath x5\n- tree each side\n",
    "flow": "- sun salutation A x3\n- warrior two, 5 breaths\n- vinyasa\n- pigeon, 2 minutes each side\n",
    "hatha": "- mountain, 1 minute\n- triangle, 6 breaths each side\n- tree each side\n- camel\n- bow\n- fish, 5 breaths\n",
}


@pytest.mark.parametrize("style", LINES)
def test_poses_tell_the_style_where_the_title_does_not(style: str) -> None:
    told = told_style(read_plan(f"# Tuesday\n\n## All: floor\n{LINES[style]}", file="class.md"))
    assert told.style.name == style
    assert told.why != "its title says so"


def test_every_style_is_whole_and_its_poses_stand_in_the_table() -> None:
    for style in styles():
        assert style.phrases, style.name
        assert style.poses <= set(pose_table().poses), style.name
        assert 4.0 <= style.breath_s <= style.still_breath_s <= 8.0, style.name
        assert 1.0 <= style.first_pass <= 2.0, style.name
        assert 0.0 < style.between_s <= 120.0, style.name


def test_slower_styles_breathe_and_change_more_slowly() -> None:
    order = ["power", "flow", "hatha", "yin", "restorative"]
    paces = [style_named(name) for name in order]
    for quick, slow in zip(paces, paces[1:]):
        assert quick.breath_s <= slow.breath_s
        assert quick.between_s < slow.between_s


FLOOR = "\n## Floor: floor\n- butterfly\n- sphinx\n- pigeon each side\n- happy baby, 2 minutes\n"


def test_a_yin_class_lasts_longer_than_a_flow_of_the_same_lines_and_says_why() -> None:
    yin, flow = timed("# Yin\n" + FLOOR), timed("# Flow\n" + FLOOR)
    assert yin.duration_s > 2 * flow.duration_s
    assert any("taken as a yin class (its title says so)" in said for said in yin.assumptions)
    assert any("taken as a flow class" in said for said in flow.assumptions)


def test_time_between_poses_belongs_to_no_line_and_leaves_the_lines_as_they_are() -> None:
    text = "# Flow\n\n## Hips: floor\n- pigeon, 2 minutes each side\n- happy baby, 1 minute\n- savasana, 5 minutes\n"
    timetable = timed(text)
    between = [step for step in timetable.steps if step.what == "between"]
    assert [step.line for step in between] == [0, 0, 0]  # the other side, into happy baby, into savasana
    lines = {step.line: 0.0 for step in timetable.steps if step.line}
    for step in timetable.steps:
        if step.line:
            lines[step.line] += step.end_s - step.start_s
    assert list(lines.values()) == [240.0, 60.0, 300.0]


def test_nothing_is_added_inside_given_minutes_or_between_moves_of_a_breath() -> None:
    assert timed("# Flow\n\n## Hips: floor, 10 minutes\n- pigeon each side\n- happy baby\n").duration_s == 600
    moves = timed("# Flow\n\n## Tide: flow\n- warrior two, 1 breath\n- reverse warrior, 1 breath\n- plank, 1 breath\n")
    assert not [step for step in moves.steps if step.what == "between"]


@pytest.mark.parametrize("title", ["Yin", "Power", "Restorative", "Mat Pilates", "Flow"])
def test_what_the_note_states_always_wins(title: str) -> None:
    stated = timed(f"# {title}\nbreath: 4 seconds\nbetween: 0 seconds\nholds: flow\n{FLOOR}")
    other = timed(f"# Tuesday\nbreath: 4 seconds\nbetween: 0 seconds\nholds: flow\n{FLOOR}")
    assert stated.duration_s == other.duration_s
    assert not any("taken as" in said for said in stated.assumptions)


def test_a_plan_that_states_its_breath_gets_nothing_added_and_says_so() -> None:
    timetable = timed(f"# Flow\nbreath: 5 seconds\n{FLOOR}")
    assert not [step for step in timetable.steps if step.what == "between"]
    assert any("takes no time" in said for said in timetable.assumptions)


def test_the_first_taught_pass_is_slower_than_the_later_ones_and_what_is_held_is_not() -> None:
    tide = "\n## Tide: flow, 3 rounds\n- cobra\n- downward dog\n- warrior two, 5 breaths\n"
    timetable = timed("# Flow\n" + tide)
    rounds = {
        number: {s.name: s.end_s - s.start_s for s in timetable.steps if s.round == number and s.line}
        for number in (1, 2, 3)
    }
    assert rounds[2] == rounds[3]
    assert rounds[1]["cobra"] > rounds[2]["cobra"]
    assert rounds[1]["warrior two"] == rounds[2]["warrior two"]
    quicker = timed("# Flow\n" + tide.replace("3 rounds", "3 rounds, each round 10% quicker"))
    first = next(step for step in quicker.steps if step.name == "cobra")
    assert first.end_s - first.start_s == pytest.approx(rounds[2]["cobra"])  # the note says how its rounds differ


def test_a_part_may_have_a_style_of_its_own() -> None:
    plan = read_plan("# Power hour\n\n## Tide: flow\n- vinyasa\n\n## Yin to end: floor\n- butterfly\n", file="class.md")
    first, last = manners(plan)
    assert first.breath_s == style_named("power").breath_s
    assert last.stay_s == style_named("yin").stay_s


def test_where_it_is_still_the_breath_is_slower() -> None:
    plan = read_plan("# Flow\n\n## Tide: flow\n- vinyasa\n\n## Ebb: cool-down\n- butterfly\n", file="class.md")
    moving, still = manners(plan)
    assert still.breath_s > moving.breath_s
    assert style_named("flow").breath_in(Kind.REST) == still.breath_s


CLOCKS = [
    "Tuesday\n18:30 easy seat\n18:35 sun salutation A x5\n18:45 warrior two R/L\n18:55 pigeon R/L\n19:05 savasana\n19:15 end\n",
    "Start\tMins\tPoses\n0:00\t5\teasy seat\n0:05\t10\tsun salutation A x 5\n0:15\t20\tpigeon R/L\n0:35\t10\tsavasana\n",
]


@pytest.mark.parametrize("note", CLOCKS)
def test_times_that_follow_one_another_hold_all_that_happens(note: str) -> None:
    timetable = timed(note)
    assert not [step for step in timetable.steps if step.what == "between"]
    assert timetable.duration_s == pytest.approx(45 * 60, abs=60)


# Mean METs that a class of a style must lie between. Whole classes as published, a standard deviation or half a MET to
# either side: Pilates on the mat 1.8 (Compendium 2024, 02103); hatha 2.3 (02150; Hagins 2007: 2.5 +/- 0.8); breathing 1.3 +/-
# 0.3 (Larson-Meyer 2016), alternate nostril 2.0 (02170); vinyasa 2.7 to 3.6 (02185; Sherman 2017); lying and sitting still 0.83 to 1.3 (Ray 2011,
# Compendium 2011); calisthenics and circuits 3.8 to 7.5 (02022, 02020).
EFFORT = {
    "mat": (1.5, 2.6),
    "hatha": (1.5, 2.9),
    "breathing": (0.9, 2.0),
    "flow": (2.0, 4.1),
    "yin": (0.8, 1.5),
    "interval": (3.8, 7.5),
    "barre": (2.0, 3.8),
    "chair": (1.3, 2.4),
    "kids": (1.5, 3.8),
}


@pytest.mark.parametrize("style", EFFORT)
def test_what_a_class_of_a_style_costs_lies_near_what_was_published(style: str) -> None:
    timetable = timed(f"# Tuesday\n\n## All: {'flow' if style == 'flow' else 'strength'}\n{LINES[style]}")
    least, most = EFFORT[style]
    assert least <= timetable.sections[0].mean_mets <= most, timetable.sections[0].mean_mets
