"""What may be changed in a plan to save or to fill time: every change there is, written out beside the note."""

from dataclasses import replace

import pytest

from pairing.checks import rewrite
from pairing.checks.cautions import cautions
from pairing.checks.remedies import PlanChange, lengthening, shortening
from pairing.checks.slot import _advice, _ranked, check_slot
from pairing.effort.timetable import build_timetable
from pairing.model import Apply, Length, Remedy
from pairing.plan.edit import apply_edits
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan

# Line by line; a slot of 60 minutes, of which the usual rest is 6 (a tenth).
NOTE = """\
# Harbour
slot: 60 minutes

## Up: warm-up, 3 rounds
- chair, 3 breaths
- chair, 2 breaths
- chair, from round 3
- plank, 4-6 breaths

## On: flow, 3 minutes
- plank, 90 seconds
- plank, 89 seconds
- crow, 2 minutes
- say: now, 2 minutes

### Side, optional
- crow, 5 breaths

### Steps, 2 rounds
- crow, 1 breath
- plank, 1 breath, last round

## Down: floor, 2 minutes
- child

## End: rest, 6 minutes
- savasana, 3 minutes
"""


def changes(found: list[PlanChange]) -> dict[str, list[tuple[int, str | None]]]:
    return {one.id: [(edit.line, edit.new) for edit in one.edits] for one in found}


def test_what_may_be_done_less_of() -> None:
    plan = read_plan(NOTE, file="a.md")
    found = list(shortening(plan))
    assert changes(found) == {
        "breath-4": [(5, "- chair, 2 breaths"), (8, "- plank, 3-5 breaths")],
        "option-16": [(16, None), (17, None), (18, None)],
        "breath-10": [(17, "- crow, 4 breaths")],
        "hold-10": [(11, "- plank, 1 minute"), (13, "- crow, 1:30")],
        "minutes-10": [(10, "## On: flow, 2 minutes")],
    }
    texts = {one.id: one.text for one in found}
    assert texts["breath-4"] == 'one breath less per hold in "Up"'
    assert texts["hold-10"] == 'half a minute less per hold in "On"'
    assert texts["option-16"] == 'leave out "Side"'
    assert texts["minutes-10"] == 'one minute less for "On"'


def test_what_may_be_done_more_of() -> None:
    plan = read_plan(NOTE, file="a.md")
    found = list(lengthening(plan, 60.0))
    assert changes(found) == {
        "rounds-4": [(4, "## Up: warm-up, 4 rounds")],
        "breath-4": [(5, "- chair, 4 breaths"), (6, "- chair, 3 breaths"), (8, "- plank, 5-7 breaths")],
        "rounds-19": [(19, "### Steps, 3 rounds")],
        "breath-10": [(17, "- crow, 6 breaths")],
        "hold-10": [(11, "- plank, 2 minutes"), (12, "- plank, 1:59"), (13, "- crow, 2:30")],
        "minutes-10": [(10, "## On: flow, 4 minutes")],
        "minutes-23": [(23, "## Down: floor, 3 minutes")],
        "minutes-26": [(26, "## End: rest, 7 minutes")],
        "rest-26": [(26, "## End: rest, what is left, at least 6 minutes")],
    }
    texts = {one.id: one.text for one in found}
    assert texts["rounds-4"] == 'one round more of "Up"'
    assert texts["breath-4"] == 'one breath more per hold in "Up"'
    assert texts["minutes-23"] == 'one minute more for "Down"'
    assert texts["rest-26"] == 'give "End" what is left'


@pytest.mark.parametrize("way", [shortening, lambda plan: lengthening(plan, 60.0)])
def test_a_changed_plan_is_its_changed_text_read_again(way) -> None:
    plan = read_plan(NOTE, file="a.md")
    for change in way(plan):
        again = read_plan(apply_edits(NOTE, change.edits), file="a.md")
        mine, read = (build_timetable(replace(each, style="flow"), pose_table()) for each in (change.plan(plan), again))
        assert [(one.name, one.end_s - one.start_s) for one in mine.sections] == [
            (one.name, one.end_s - one.start_s) for one in read.sections
        ], change.id
        assert [step.pose_id for step in mine.steps] == [step.pose_id for step in read.steps], change.id
        assert mine.shortest_s == pytest.approx(read.shortest_s), change.id
        assert mine.longest_s == pytest.approx(read.longest_s), change.id


@pytest.mark.parametrize(("room_s", "offered"), [(540.0, True), (541.0, False)])
def test_a_rest_gets_all_the_time_only_up_to_two_and_a_half_times_its_usual_length(
    room_s: float, offered: bool
) -> None:
    plan = read_plan(NOTE, file="a.md")  # six minutes, and one and a half times as much
    assert ("rest-26" in changes(list(lengthening(plan, room_s)))) is offered
    without = NOTE.replace("rest, 6 minutes", "rest")
    found = changes(list(lengthening(read_plan(without, file="a.md"), 60.0)))
    assert found["rest-26"] == [(26, "## End: rest, what is left, at least 6 minutes")]
    taken = NOTE.replace("floor, 2 minutes", "floor, what is left")
    assert "rest-26" not in changes(list(lengthening(read_plan(taken, file="a.md"), 60.0)))
    no_slot = NOTE.replace("slot: 60 minutes\n", "\n").replace("rest, 6 minutes", "rest")
    assert changes(list(lengthening(read_plan(no_slot, file="a.md"), 60.0)))["rest-26"] == [
        (26, "## End: rest, what is left, at least 4 minutes")  # the least there is
    ]


@pytest.mark.parametrize(
    ("lines", "rounds"),
    [
        ("- crow, round 2", False),
        ("- crow, rounds 1-2", False),
        ("- crow, from round 2", False),
        ("- crow, round 1", True),
        ("- crow, last round", False),
        ("- crow, not last round", False),
        ("### In\n- crow, from round 2", False),
        ("### In, 2 rounds\n- crow, round 2", True),
        ("- crow", True),
    ],
)
def test_a_round_that_a_line_speaks_of_is_not_left_out(lines: str, rounds: bool) -> None:
    plan = read_plan(f"# A\n\n## A: flow, 2 rounds\n- plank, 1 breath\n{lines}\n\n## B: flow\n- plank\n", file="a.md")
    assert ("rounds-3" in changes(list(shortening(plan)))) is rounds


def test_a_third_round_may_go_where_lines_speak_of_the_last_one() -> None:
    plan = read_plan("# A\n\n## A: flow, 3 rounds\n- plank, 1 breath\n- crow, last round\n", file="a.md")
    assert changes(list(shortening(plan)))["rounds-3"] == [(3, "## A: flow, 2 rounds")]


def test_an_option_leaves_with_its_lines_and_the_only_section_stays() -> None:
    alone = read_plan("# A\n\n## A: flow, optional\n- plank\n", file="a.md")
    assert changes(list(shortening(alone))) == {}
    two = read_plan("# A\n\n## A: flow, optional\n- plank\n\n\n## B: flow\n- crow, optional\n- plank\n", file="a.md")
    found = list(shortening(two))
    assert changes(found) == {"option-3": [(3, None), (4, None), (5, None), (6, None)], "option-8": [(8, None)]}
    assert [section.name for section in found[0].plan(two).sections] == ["B"]
    last = read_plan("# A\n\n## A: flow\n- plank\n## B: flow, optional\n- crow\n\n", file="a.md")
    assert changes(list(shortening(last)))["option-5"][:2] == [(5, None), (6, None)]


# ---- one line ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "old", "new", "written"),
    [
        ("## A, 3 rounds", 3, 2, "## A, 2 rounds"),
        ("## A, 2 rounds", 2, 1, "## A, 1 round"),
        ("## A, 1 round", 1, 2, "## A, 2 rounds"),
        ("## A, 3 rounds", 2, 1, None),
        ("- 3 rounds of breath", 3, 2, None),
        ("3 rounds, then 3 rounds", 3, 4, "3 rounds, then 4 rounds"),
        ("## A, 3rounds", 3, 2, "## A, 2 rounds"),
        ("## 1.3 rounds", 3, 2, None),
    ],
)
def test_rounds_are_rewritten(line: str, old: int, new: int, written: str | None) -> None:
    assert rewrite.with_rounds(line, old, new) == written


BREATHS = Length("breaths", 5, 5, 5)


@pytest.mark.parametrize(
    ("line", "length", "written"),
    [
        ("- plank, 5 breaths", BREATHS, "- plank, 6 breaths"),
        ("- plank, 5 breaths, left", BREATHS, "- plank, 6 breaths, left"),
        ("- plank, 4-6 breaths", Length("breaths", 5, 4, 6), "- plank, 5-7 breaths"),
        ("- plank, 4 to 6 breaths", Length("breaths", 5, 4, 6), "- plank, 5 to 7 breaths"),
        ("- plank, 5 breaths, 5 breaths", BREATHS, None),
        ("- plank, five breaths", BREATHS, None),
        ("- plank, 4 breaths", BREATHS, None),
    ],
)
def test_breaths_are_added(line: str, length: Length, written: str | None) -> None:
    assert rewrite.with_breaths_added(line, length, 1.0) == written


MINUTES = Length("seconds", 120, 120, 120)


@pytest.mark.parametrize(
    ("line", "length", "new_s", "written"),
    [
        ("## A, 2 minutes", MINUTES, 60, "## A, 1 minute"),
        ("## A, 2 minutes", MINUTES, 180, "## A, 3 minutes"),
        ("## A, 2 minutes", MINUTES, 125, "## A, 2:05"),
        ("## A, 2:00", MINUTES, 60, "## A, 1 minute"),
        ("## A, 3 minutes", MINUTES, 60, None),
        ("## A, 5 breaths", BREATHS, 60, None),
        ("## A, 1-3 minutes", Length("seconds", 120, 60, 180), 60, None),
        ("2 minutes, 2 minutes", MINUTES, 60, "2 minutes, 1 minute"),
        ("2 minutes, 3 minutes", MINUTES, 60, "1 minute, 3 minutes"),
    ],
)
def test_seconds_are_rewritten(line: str, length: Length, new_s: float, written: str | None) -> None:
    assert rewrite.with_seconds(line, length, new_s) == written


@pytest.mark.parametrize(
    ("line", "minutes", "written"),
    [
        ("## End: rest, 2 minutes", MINUTES, "## End: rest, what is left, at least 5 minutes"),
        ("## End: rest, 3 minutes", MINUTES, None),
        ("## End: rest  ", None, "## End: rest, what is left, at least 5 minutes"),
        ("## End", None, None),
    ],
)
def test_a_rest_gets_what_is_left(line: str, minutes: Length | None, written: str | None) -> None:
    assert rewrite.with_what_is_left(line, minutes, 300.0) == written


# ---- the slot ----------------------------------------------------------------------------------------------------


def remedy(name: str, saves_s: float) -> Remedy:
    return Remedy(name, name.upper(), saves_s, ())


def test_what_is_enough_alone_stands_first_and_of_that_the_smallest() -> None:
    four = [remedy("a", 40), remedy("b", 100), remedy("c", 59.5), remedy("d", 20), remedy("e", 59.4)]
    assert [one.id for one in _ranked(four, 60)] == ["c", "b", "e", "a", "d"]


@pytest.mark.parametrize(
    ("saved", "needed", "words", "deeds"),
    [
        ((60, 50), 60, "For example: A.", "a"),
        ((60, 50), 60.5, "For example: A.", "a"),
        ((60, 50), 61, "Together enough: A; B.", "ab"),
        ((60, 50, 40), 110, "Together enough: A; B.", "ab"),
        ((60, 50), 111, "Not enough even together: A; B.", "ab"),
        ((60,), 99, "For example: A.", "a"),
        ((9, 8, 7, 6), 30, "Together enough: A; B; C; D.", "abcd"),
        ((9, 8, 7, 6, 5), 34, "Together enough: A; B; C; and less from 2 others.", "abc"),
    ],
)
def test_as_many_remedies_are_named_as_are_needed(
    saved: tuple[float, ...], needed: float, words: str, deeds: str
) -> None:
    remedies = tuple(remedy(name, saves_s) for name, saves_s in zip("abcdef", saved, strict=False))
    assert _advice(remedies, needed) == (words, tuple(Apply(name) for name in deeds))
    assert _advice((), needed) == (None, ())


def slot(minutes: float, lines: str = "- plank, 10 minutes\n", top: str = "breath: 5 seconds\n") -> tuple[str, ...]:
    plan = read_plan(f"# A\n{top}slot: {minutes} minutes\n\n## A: flow\n{lines}", file="a.md")
    found = check_slot(plan, build_timetable(plan, pose_table()), pose_table())
    return (str(found.fits), *(finding.code for finding in found.findings))


def test_a_class_fits_is_tight_or_too_long() -> None:
    assert slot(10) == ("fits",)
    assert slot(9.99) == ("too long", "too-long")
    assert slot(9.992) == ("fits",)  # less than a plan can say
    breaths = "- plank, 120 breaths\n"  # ten minutes, eleven with a slower breath
    assert slot(10, breaths) == ("tight", "tight")
    assert slot(11, breaths) == ("fits",)
    assert slot(10.98, breaths) == ("tight", "tight")
    assert slot(11.1) == ("fits",)  # a tenth over is nothing to speak of
    assert slot(11.2) == ("fits", "spare-time")
    assert slot(12, "- plank, 5-15 minutes\n") == ("tight", "tight", "spare-time")


def test_remedies_say_what_they_save() -> None:
    plan = read_plan(
        "# A\nbreath: 5 seconds\nslot: 10 minutes\n\n## A: flow, 10 minutes\n- plank\n## B: flow\n- crow, 4 breaths\n",
        file="a.md",
    )
    found = check_slot(plan, build_timetable(plan, pose_table()), pose_table())
    assert [(one.id, one.saves_s) for one in found.remedies] == [("minutes-5", 60), ("breath-7", 5)]
    assert [one.text for one in found.remedies] == [
        'one minute less for "A": 1:00 shorter',
        'one breath less per hold in "B": 0:05 shorter',
    ]
    assert found.findings[0].remedy == 'For example: one minute less for "A": 1:00 shorter.'
    assert (found.available_s, found.spare_s) == (600, -20)
    left = read_plan(
        "# A\nbreath: 5 seconds\nslot: 10 minutes\n\n## A: flow\n- plank, 60 breaths\n## B: rest, what is left\n- savasana, 5 minutes\n",
        file="a.md",
    )
    (one,) = check_slot(left, build_timetable(left, pose_table()), pose_table()).remedies
    assert (one.saves_s, one.text) == (5, 'one breath less per hold in "A": 0:05 for what is left')


def test_four_poses_are_named_for_a_caution_and_the_others_counted() -> None:
    def wrists(*poses: str) -> str:
        plan = read_plan("# A\n\n## A: flow\n" + "".join(f"- {pose}\n" for pose in poses), file="")
        found = {one.code: one for one in cautions(plan, build_timetable(plan, pose_table()), pose_table())}
        assert found["caution-wrists"].where.file == "A"
        return found["caution-wrists"].message

    four = ("plank", "crow", "wheel", "side plank")
    assert " more" not in wrists(*four)
    assert " and 1 more" in wrists(*four, "upward dog")
