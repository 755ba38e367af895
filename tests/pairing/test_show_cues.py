"""The sheet's lines and what can be left out, on the invented class."""

from dataclasses import replace

import pytest

from pairing.effort.timetable import build_timetable
from pairing.model import Kind, Passage
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan
from pairing.show.cues import as_in_set, check_words, drops, laps_of, left, lines_of, place_at, rounds_at

TIDE, CREST, EBB = 3, 4, 5


def test_a_line_of_the_plan_stands_once_with_its_rounds_and_sides(timetable):
    lines = {line.name: line for line in lines_of(timetable, TIDE)}
    assert list(lines) == [
        "Three-legged dog",
        "Knee to nose",
        "Warrior two",
        "Reverse warrior",
        "Extended side angle",
        "Side plank",
        "Vinyasa",
    ]
    assert lines["Side plank"].marks == ("from round 2",)
    assert lines["Vinyasa"].marks == ("optional",)
    assert lines["Extended side angle"].note == "long line, heel to fingertips"
    assert {line.name: line for line in lines_of(timetable, EBB)}["Pigeon"].marks == ("each side",)


def test_rounds_name_both_sides_with_their_moment(timetable):
    laps = laps_of(timetable.sections[TIDE])
    assert [lap.round for lap in laps] == [1, 2, 3]
    assert [side for side, _ in laps[1].sides] == ["right", "left"]
    assert laps[1].sides[1][1] == timetable.sections[TIDE].passes[3].start_s


def test_what_falls_away_is_as_long_as_what_is_said(timetable):
    for drop in drops(timetable):
        for saving in drop.savings:
            if saving.spans:
                assert saving.saves_s == pytest.approx(sum(end - start for start, end in saving.spans))
                assert saving.from_s == saving.spans[0][0]


def test_both_sides_of_a_round_fall_away_together(timetable):
    (vinyasa,) = (d for d in drops(timetable) if "Vinyasa" in d.text)
    assert len(vinyasa.savings) == 3
    assert all(len(saving.spans) == 2 for saving in vinyasa.savings)
    between_the_sides = vinyasa.savings[0].spans[1][0] - 1
    assert left(vinyasa, between_the_sides) == pytest.approx(sum(s.saves_s for s in vinyasa.savings[1:]))


def test_the_rest_gives_nothing_away(timetable):
    rest = next(i for i, s in enumerate(timetable.sections) if s.kind == Kind.REST)
    assert not [drop for drop in drops(timetable) if drop.section == rest]


def test_a_salutation_is_no_hold_to_shorten(timetable):
    salutes = next(d for d in drops(timetable) if d.text == "hold a breath less in Salutes")
    breath_s = timetable.sections[1].breath_s
    assert sum(s.saves_s for s in salutes.savings) == pytest.approx(4 * breath_s)  # the long dog of four rounds only


def test_where_the_class_should_be_when_a_track_starts(timetable):
    tide = timetable.sections[TIDE]
    assert place_at(timetable, tide.start_s) == ("Tide", True)
    assert place_at(timetable, tide.passes[3].start_s + 4) == ("the left side of Tide, round 2", True)
    place, begins = place_at(timetable, tide.passes[3].start_s + 30)
    assert place.startswith("Tide, round 2, left side: ")
    assert not begins


def test_a_time_check_says_what_to_do_when_late(timetable):
    found = drops(timetable)
    second_side = timetable.sections[TIDE].passes[3].start_s
    assert check_words(timetable, found, second_side, first=False) == (
        "You begin the left side of Tide, round 2. If not yet: leave out Vinyasa in Tide (−0:31) "
        "or do one round fewer of Tide (−4:09)."
    )
    midway = check_words(timetable, found, second_side + 30, first=False)
    assert midway.startswith("You are in Tide, round 2, left side: ")
    assert "If not yet" not in midway
    rest = timetable.sections[-1].start_s
    assert check_words(timetable, found, rest, first=True) == "You begin Float; it keeps its minutes, so be there."
    assert check_words(timetable, found, rest + 60, first=False) == ""


def test_what_comes_after_both_sides_is_no_new_round(timetable):
    tide = timetable.sections[TIDE]
    first, second = tide.passes[:2]
    chair = Passage(1, None, second.end_s - 20, second.end_s)
    passes = (first, replace(second, end_s=chair.start_s), chair, *tide.passes[2:])
    sections = (*timetable.sections[:TIDE], replace(tide, passes=passes), *timetable.sections[TIDE + 1 :])
    changed = replace(timetable, sections=sections)
    place, begins = place_at(changed, chair.start_s + 1)
    assert not begins
    assert place.startswith("Tide, round 1: ")


def test_a_rest_made_longer_in_the_set_is_longer_on_the_sheet(timetable):
    rest = timetable.sections[-1]
    longer = replace(rest, end_s=rest.end_s + 120)
    moved = as_in_set(timetable, (*timetable.sections[:-1], longer))
    assert moved.duration_s == longer.end_s
    savasana, bell = moved.steps[-2:]
    assert (savasana.start_s, savasana.end_s) == (rest.start_s, longer.end_s)
    assert bell.start_s == longer.end_s
    assert [s.start_s for s in moved.steps[:-2]] == pytest.approx([s.start_s for s in timetable.steps[:-2]])
    assert as_in_set(timetable, timetable.sections) is timetable


NESTED = """# Stile
slot: 30 minutes
breath: 5 seconds

## Over the stile: strength
- garland, 5 breaths

### Twice over, 2 rounds
- plank, 5 breaths
- boat, 5 breaths

### The bench
- dolphin, 6 breaths

## Rest: rest, 5 minutes
- savasana
"""


def test_rounds_of_a_group_inside_a_section_are_the_groups_own():
    timetable = build_timetable(read_plan(NESTED, file="stile.md"), pose_table())
    marks = {line.name: line.marks for line in lines_of(timetable, 0)}
    assert marks == {"garland": (), "plank": ("2 rounds",), "boat": ("2 rounds",), "dolphin": ()}
    assert [lap.round for lap in laps_of(timetable.sections[0])] == [1, 2]
    stile = timetable.sections[0]
    assert [rounds_at(stile, p.start_s) for p in stile.passes] == [1, 2, 2, 1]
    (less,) = (d for d in drops(timetable) if d.what == "round")
    assert less.savings[0].saves_s == pytest.approx(stile.passes[2].end_s - stile.passes[2].start_s)
    assert place_at(timetable, stile.passes[3].start_s + 12) == ("Over the stile: dolphin", False)


def test_before_and_after_the_class_there_is_nowhere_to_be(timetable):
    found = drops(timetable)
    assert check_words(timetable, found, -300, first=True) == ""
    assert check_words(timetable, found, timetable.duration_s, first=False) == ""


SLOW = """# Slow
slot: 40 minutes
holds: slow

## Plain: floor, 14 minutes
- half pigeon, 3 minutes each side
- seated forward fold, 4 minutes
- sphinx, 30 seconds

## Rest: rest, 8 minutes
- savasana
"""


def test_holds_of_minutes_can_be_a_quarter_shorter():
    timetable = build_timetable(read_plan(SLOW, file="slow.md"), pose_table())
    (shorter,) = (d for d in drops(timetable) if "quarter" in d.text)
    assert shorter.text == "hold the long poses of Plain a quarter shorter"
    long = [s for s in timetable.steps if s.section == 0 and s.what == "pose" and s.end_s - s.start_s >= 60]
    assert len(long) == 3
    assert sum(s.saves_s for s in shorter.savings) == pytest.approx(sum(s.end_s - s.start_s for s in long) / 4)
    words = check_words(timetable, drops(timetable), 0, first=True)
    assert words == "You begin Plain. If not yet: hold the long poses of Plain a quarter shorter (−2:30)."


def test_a_silence_has_a_name():
    text = "# Still\n\n## Sit: opening\n- easy seat, 5 breaths\n- silence, 1 minute\n- bell\n"
    timetable = build_timetable(read_plan(text, file="still.md"), pose_table())
    assert [(line.name, line.amount, line.what) for line in lines_of(timetable, 0)][1:] == [
        ("silence", "1 minute", "silence"),
        ("bell", "", "bell"),
    ]


@pytest.mark.parametrize(
    ("heading", "told"),
    [
        ("FLOW (R, then L, then both again faster)", "then once more, quick"),
        ("FLOW (right, left, 2 more rounds faster)", "then 2 times more, quick"),
        ("FLOW B: R, L, both again at 1 br each", "then once more, quick"),
        ("FLOW (R, L, then 1 br per move x2)", "then 2 times more, quick"),
        ("FLUSS (rechts, links, dann beide nochmal schneller)", "then once more, quick"),
    ],
)
def test_a_quick_pass_behind_both_sides_stands_apart(heading, told):
    plan = read_plan(f"Flow 60\n\nchild 2 min\n\n{heading}\ncrescent 5br\ntriangle 3br\n\nsavasana 8 min\n")
    timed = build_timetable(plan, pose_table())
    lines = lines_of(timed, 1)
    assert [line.name for line in lines] == ["crescent", "triangle"] * 2
    assert [line.amount for line in lines] == ["5 breaths", "3 breaths", "1 breath", "1 breath"]
    assert all("each side" in line.marks for line in lines)
    assert ["again, quick" in line.marks for line in lines] == [False, False, True, True]
    assert told in next(line.says for line in plan.lines if line.text == heading)


@pytest.mark.parametrize(
    "poses",
    [
        ("warrior 2 3br", "reverse 1", "side angle 3br"),
        ("reverse warrior 1 br", "triangle 5 br"),
        ("crescent 5 br", "lizard 1 br"),
        ("warrior 2 4 br, reverse 1 br, triangle 4 br", "half moon 5 br"),
        ("low lunge 5 br", "plank 1 br", "warrior 3 3 br", "pyramid 1 br"),
    ],
)
def test_a_quick_pass_keeps_its_order_where_a_pose_takes_a_breath_either_time(poses):
    typed = "\n".join(poses)
    plan = read_plan(f"Flow 60\n\nchild 2 min\n\nFLOW - R then L, then both sides faster\n{typed}\n\nsavasana 8 min\n")
    timed = build_timetable(plan, pose_table())
    done = [step.name for step in timed.steps if step.section == 1 and step.what == "pose"]
    once = done[: len(done) // 4]  # as it is done: right, left, right quick, left quick
    lines = lines_of(timed, 1)
    assert [line.name for line in lines] == once * 2
    assert ["again, quick" in line.marks for line in lines] == [False] * len(once) + [True] * len(once)


def test_rounds_with_time_between_them_are_all_counted():
    plan = read_plan("# Flow\n\n## Tide: flow, 3 rounds\n- chair, 5 breaths\n- plank, 5 breaths\n")
    (tide,) = build_timetable(plan, pose_table()).sections
    lines = lines_of(build_timetable(plan, pose_table()), 0)
    assert len(tide.passes) > 3  # the time between two rounds is one
    assert all("2 rounds" not in line.marks for line in lines)
    assert [lap.round for lap in laps_of(tide)] == [1, 2, 3]
    assert {rounds_at(tide, passage.start_s) for passage in tide.passes if passage.round > 1} == {3}
