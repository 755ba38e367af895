"""The time and effort of single lines and of small classes, worked out from docs/effort-and-arc.md and the pose table."""

import csv
import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from pairing import plan as plan_package
from pairing.effort import arc as arcs
from pairing.effort.echo import echo_of
from pairing.effort.line import LEFT_OVER, NO_TIME, LineTime, Pace, line_of
from pairing.effort.manner import Manner, manners, style_words
from pairing.effort.mets import _costs_what_the_table_says, demands, pose_demand
from pairing.effort.placing import placing_of
from pairing.effort.timetable import available_s, build_timetable, class_seconds
from pairing.effort.walk import Here, TimedStretch, Walk
from pairing.effort.wishes import NO_WISHES, from_the_top, handed_on, inside, lifts_a_rest
from pairing.model import (
    Element,
    Group,
    Kind,
    KindPace,
    Length,
    OwnPace,
    Place,
    Plan,
    Section,
    Step,
    Timetable,
    Wishes,
)
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan

POSES = pose_table()
STATED = Manner(breath_s=4.0, salute_s=4.0, holds="flow")
DATA = Path(plan_package.__file__).parent


@cache
def row(pose_id: str) -> dict[str, str]:
    """A pose as its table has it."""
    with (DATA / "poses.csv").open(encoding="utf-8") as file:
        return next(each for each in csv.DictReader(file) if each["id"] == pose_id)


def mets(pose_id: str) -> float:
    return float(row(pose_id)["mets"])


def paced(moves_a_minute: float) -> float:
    """The pace line of sun salutations, by gas exchange (its source stands with `PACE_BASE_METS`)."""
    return 2.30 + 0.094 * moves_a_minute


def element(what: str = "pose", pose_id: str | None = "warrior_2", **more: object) -> Element:
    return Element(what, pose_id or what, Place(1), pose_id if what == "pose" else None, **more)  # type: ignore[arg-type]


def timed(text: str, title: str = "Harbour flow") -> Timetable:
    return build_timetable(read_plan(f"# {title}\n{text}", file="a.md"), POSES)


def spans(timetable: Timetable) -> list[tuple[str, str | None, float]]:
    """What is done, on which side, and for how many seconds."""
    return [(s.pose_id or s.what, s.side, round(s.end_s - s.start_s, 3)) for s in timetable.steps]


# ---- a line ------------------------------------------------------------------------------------------------------

BREATHS, SECONDS = (lambda n: Length("breaths", n, n, n)), (lambda n: Length("seconds", n, n, n))

# element, manner, breaths or seconds that it takes; docs/effort-and-arc.md, "Counted moves", and the pose table's holds
LINES = [
    (element(), STATED, ("breaths", float(row("warrior_2")["hold_breaths_flow"]))),
    (element(), replace(STATED, holds="slow"), ("breaths", float(row("warrior_2")["hold_breaths_slow"]))),
    (element(), replace(STATED, least_breaths=9.0), ("breaths", 9.0)),
    (element(pose_id="upward_dog"), replace(STATED, least_breaths=9.0), ("breaths", 0.5)),  # moved through
    (element(pose_id="child"), replace(STATED, stay_s=180.0), ("seconds", 180.0)),
    (element(pose_id="child"), STATED, ("breaths", float(row("child")["hold_breaths_flow"]))),
    (element(pose_id="chair"), replace(STATED, stay_s=180.0), ("breaths", 3.0)),  # given by the repetition
    (element(times=1), STATED, ("breaths", 3.0)),
    (element(times=2), STATED, ("breaths", 2 * 3.0)),
    (element(times=2), replace(STATED, least_breaths=9.0), ("breaths", 2 * 5.0)),
    (element(times=5), STATED, ("breaths", 5 * 3.0)),
    (element(times=6), STATED, ("breaths", 6 * 1.0)),
    (element(pose_id="chair", times=10), STATED, ("breaths", 10 * 0.8)),
    (element(pose_id="sun_salutation_a"), STATED, ("breaths", 10.0)),
    (element(pose_id="sun_salutation_a", times=2, no_hold=True), STATED, ("breaths", 2 * 5.0)),
    (element(length=Length("breaths", 4.0, 3.0, 5.0), times=2), STATED, ("breaths", 8.0)),
    (element(length=SECONDS(50.0)), STATED, ("seconds", 50.0)),
    (element("pause"), STATED, ("seconds", 30.0)),
    (element("silence"), STATED, ("seconds", 60.0)),
    (element("gap"), STATED, ("seconds", 30.0)),
    (element("gap", length=SECONDS(20.0), times=3), STATED, ("seconds", 60.0)),
    (element("pause", length=SECONDS(20.0), times=3), STATED, ("seconds", 20.0)),
    (element("bell", times=3), STATED, ("seconds", 0.0)),
    (element("song", length=SECONDS(20.0)), STATED, ("seconds", 0.0)),
]


@pytest.mark.parametrize(("given", "manner", "length"), LINES)
def test_a_line_takes_what_is_counted_else_what_its_table_says(
    given: Element, manner: Manner, length: tuple[str, float]
) -> None:
    line = line_of(given, manner, POSES)
    assert (line.length.unit, line.length.likely) == length
    assert (line.name, line.what, line.times) == (given.name, given.what, given.times or 1)


@pytest.mark.parametrize(("words", "seconds"), [(1, 5.0), (12, 5.0), (25, 10.0), (150, 60.0)])
def test_talk_takes_as_long_as_its_words_at_150_a_minute(words: int, seconds: float) -> None:
    given = replace(element("say", None), name="breathe " * words)
    assert line_of(given, STATED, POSES).length == SECONDS(seconds)


def test_both_ends_of_a_length_are_repeated() -> None:
    line = line_of(element(length=Length("breaths", 4.0, 3.0, 5.0), times=2), STATED, POSES)
    assert line.length == Length("breaths", 8.0, 6.0, 10.0)
    likely, shortest, longest = (Pace(name).seconds(line.length, 4.0) for name in ("likely", "shortest", "longest"))  # type: ignore[arg-type]
    assert (likely, shortest, longest) == (32.0, 24.0, 40.0)
    assert Pace().seconds(SECONDS(7.0), 4.0) == 7.0
    assert Length("seconds", 0.0, 0.0, 0.0) == NO_TIME
    assert Pace() == Pace("likely", 1.0, True, 1.0)


@pytest.mark.parametrize(
    ("given", "shares", "held", "stated"),
    [
        (element(), "yes", True, False),
        (element(length=BREATHS(3.0)), "no", True, True),
        (element(times=3), "no", False, False),
        (element(pose_id="sun_salutation_a"), "if it must", False, False),
        (element(pose_id="sun_salutation_a", times=2), "no", False, False),
        (element(pose_id="cat_cow"), "if it must", True, False),
        (element("gap"), "yes", False, True),
        (element("gap", length=SECONDS(9.0)), "no", False, True),
        (element("pause"), "no", False, True),
    ],
)
def test_what_has_no_length_shares_given_minutes(given: Element, shares: str, held: bool, stated: bool) -> None:
    line = line_of(given, STATED, POSES)
    assert (line.shares, line.may_be_held, line.is_stated) == (shares, held, stated)
    assert line.has_wishes is False
    assert line_of(replace(given, wishes=Wishes(level="quiet")), STATED, POSES).has_wishes is True


@pytest.mark.parametrize(
    ("more", "terms"),
    [
        ({}, False),
        ({"optional": True}, True),
        ({"from_round": 2}, True),
        ({"to_round": 1}, True),
        ({"last_round": "not"}, True),
        ({"side": "left"}, True),
        ({"once": "between sides"}, True),
        ({"times": 2}, False),
    ],
)
@pytest.mark.parametrize("what", ["pose", "say"])
def test_a_line_with_terms_is_not_done_every_time(more: dict[str, object], terms: bool, what: str) -> None:
    assert line_of(element(what, **more), STATED, POSES).has_terms is terms


@pytest.mark.parametrize(
    ("what", "every_time", "once"),
    [("pose", False, False), ("say", False, True), ("say", True, False), ("gap", False, False), ("bell", False, True)],
)
def test_talk_bells_and_pauses_come_once(what: str, every_time: bool, once: bool) -> None:
    assert line_of(element(what, every_time=every_time), STATED, POSES).comes_once is once


HELD = LineTime("pose", "a", pose=POSES.get("warrior_2"), may_be_held=True)
FLOWS = replace(HELD, pose=POSES.get("cat_cow"))
SALUTES = replace(HELD, pose=POSES.get("sun_salutation_a"), compound=POSES.compound("sun_salutation_a"))


@pytest.mark.parametrize(
    ("seconds", "breaths", "spread", "shares", "held"),
    [
        (10.0, None, False, "no", True),
        (9.9, None, False, "no", False),
        (9.0, 2.0, False, "no", True),
        (9.0, 1.9, False, "no", False),
        (9.0, 1.0, True, "yes", True),
        (9.0, 1.0, True, "no", False),
        (9.0, 1.0, False, "yes", False),
        (12.0, 1.0, False, "no", True),
    ],
)
def test_a_pose_is_held_from_two_breaths_or_ten_seconds_on(
    seconds: float, breaths: float | None, spread: bool, shares: str, held: bool
) -> None:
    line = replace(HELD, shares=shares)  # type: ignore[arg-type]
    assert line.is_held(seconds, breaths, spread=spread) is held
    assert replace(line, may_be_held=False).is_held(seconds, breaths, spread=spread) is False
    assert LineTime("pose", "a").is_held(99.0, 9.0, spread=True) is False


@pytest.mark.parametrize(
    ("line", "seconds", "breaths", "stayed"),
    [(HELD, 99.0, 1.9, False), (HELD, 1.0, 2.0, True), (HELD, 9.9, None, False), (HELD, 10.0, None, True),
     (FLOWS, 99.0, 3.9, False), (FLOWS, 1.0, 4.0, True), (FLOWS, 19.9, None, False), (FLOWS, 20.0, None, True),
     (SALUTES, 99.0, 3.9, False), (SALUTES, 20.0, None, True), (LineTime("say", "a"), 99.0, None, False),
     (LineTime("pose", "a"), 99.0, None, False), (replace(HELD, what="gap"), 99.0, None, False)],
)  # fmt: skip
def test_one_settles_in_what_is_held_and_in_moves_done_for_long(
    line: LineTime, seconds: float, breaths: float | None, stayed: bool
) -> None:
    assert line.is_stayed_in(seconds, breaths) is stayed


# ---- what it costs -----------------------------------------------------------------------------------------------


def line(pose_id: str, **more: object) -> LineTime:
    return line_of(element(pose_id=pose_id, **more), STATED, POSES)


# the line, seconds of all repetitions at 4 s a breath, METs; docs/effort-and-arc.md, the table of costs
COSTS = [
    (line("warrior_2"), 8.0, mets("warrior_2")),
    (line("warrior_2"), 4.0, paced(15)),
    (line("warrior_2"), 2.0, paced(30)),
    (line("warrior_2"), 5.0, 0.75 * paced(12) + 0.25 * mets("warrior_2")),
    (line("warrior_2", times=2), 10.0, 0.75 * paced(12) + 0.25 * mets("warrior_2")),
    (line("warrior_2", supported=True), 8.0, 1.0 + 0.15 * (mets("warrior_2") - 1.0)),
    (line("warrior_2"), 0.0, mets("warrior_2")),
    (line("warrior_2"), 0.5, paced(120)),
    (line("half_pigeon"), 4.0, mets("half_pigeon")),
    (line("cat_cow"), 4.0, mets("cat_cow")),
    (line("chair", times=5), 4.0, mets("chair")),
    (line("chair"), 4.0, paced(15)),
    (line("warrior_2", times=5), 20.0, paced(15)),
    (line("sun_salutation_a", no_hold=True), 20.0, paced(30)),
    (line("sun_salutation_a"), 40.0, (5 * paced(30) + 5 * mets("downward_dog")) / 10),
    (line("sun_salutation_a", times=2), 80.0, (5 * paced(30) + 5 * mets("downward_dog")) / 10),
    (replace(line("sun_salutation_a"), element=None), 40.0, (5 * paced(30) + 5 * mets("downward_dog")) / 10),
]


@pytest.mark.parametrize(("given", "seconds", "cost"), COSTS)
def test_a_line_costs_what_the_rules_give(given: LineTime, seconds: float, cost: float) -> None:
    assert pose_demand(given, seconds, 4.0, lambda pose_id: POSES.get(pose_id).mets) == pytest.approx(cost)


def test_small_moves_near_the_floor_cost_what_the_table_says() -> None:
    """Folds, twists and backbends at less than 1.7 METs lie there; the others are moves like any."""
    for pose in POSES.poses.values():
        low = pose.family in ("seated", "supine", "prone", "kneeling", "rest", "flow transition")
        low = low or (pose.family in ("forward fold", "twist", "backbend") and pose.mets < 1.7)
        assert _costs_what_the_table_says(pose, 1) is low
        assert _costs_what_the_table_says(pose, 2) is (low or pose.rep_breaths is not None)
    edge = replace(POSES.get("upward_dog"), mets=1.7)
    assert _costs_what_the_table_says(edge, 1) is False


def test_talk_is_as_quiet_as_the_pose_before_it_and_a_gap_costs_what_came_before() -> None:
    """1.3 METs sitting or standing quietly (2011 Compendium); a move costs 0.094 MET minutes on top of the pose left."""

    def at(text: str) -> list[float]:
        return [step.mets for step in timed(f"breath: 4 seconds\nbetween: 20 seconds\n\n{text}").steps]

    rest = mets("corpse")
    assert rest < 1.3
    assert at("## A: rest\n- savasana, 30 seconds\n- pause, 9 seconds\n") == [rest, rest]
    assert at("## A: floor\n- pause, 9 seconds\n## B: floor\n- pause, 9 seconds\n") == [1.3, 1.3]
    # What was done in another section is left; nor is a pose passed through one that one is quiet in.
    assert at("## A: rest\n- savasana, 30 seconds\n## B: floor\n- pause, 9 seconds\n") == [rest, 1.3]
    moved = at("## A: rest\n- savasana, 1 breath\n- pause, 9 seconds\n")
    assert moved[1] == 1.3
    assert at("## A: standing\n- warrior two, 9 breaths, right\n- tree, 9 breaths, right\n")[1] == pytest.approx(
        mets("warrior_2") + 0.094 * 60 / 20
    )
    quick = "## A: standing, between 1 second\n- warrior two, 9 breaths, right\n- tree, 9 breaths, right\n"
    assert at(quick)[1] == pytest.approx(mets("warrior_2") + 0.094 * 60 / 2)  # half a breath is the least a move takes


def test_what_is_not_known_costs_what_came_before() -> None:
    gap = TimedStretch(LineTime("gap", "?"), Here(0, NO_WISHES, 4.0, STATED), 9.0)
    pose = TimedStretch(line("warrior_2"), Here(0, NO_WISHES, 4.0, STATED), 20.0, held=True)
    found = demands([gap, pose, gap], lambda pose_id: POSES.get(pose_id).mets)
    assert found == [1.3, mets("warrior_2"), mets("warrior_2")]


# ---- a class of a style: flows take 5 s a breath, 14 s into what one settles in, 1.4 times as long in the first round -

FLOW = [
    # out of what is stayed in and into the next
    ("## A: flow\n- warrior two, 5 breaths\n- triangle, 5 breaths\n",
     [("warrior_2", None, 25), ("between", None, 14), ("triangle", None, 25)]),
    ("## A: flow\n- warrior two, 5 breaths\n- triangle, 1 breath\n- tree, 5 breaths\n",
     [("warrior_2", None, 25), ("triangle", None, 5), ("tree", None, 25)]),
    # and into the first of a section, whatever came before
    ("## A: flow\n- warrior two, 1 breath\n## B: flow\n- triangle, 5 breaths\n",
     [("warrior_2", None, 5), ("between", None, 14), ("triangle", None, 25)]),
    ("## A: flow\n- bell\n- warrior two, 5 breaths\n- bell\n- triangle, 5 breaths\n",
     [("bell", None, 0), ("warrior_2", None, 25), ("bell", None, 0), ("between", None, 14), ("triangle", None, 25)]),
    # but not inside given minutes, which hold all that happens in them
    ("## A: flow, 2 minutes\n- warrior two, 60 seconds\n- triangle, 60 seconds\n",
     [("warrior_2", None, 60), ("triangle", None, 60)]),
    # nor after talk
    ("## A: flow\n- warrior two, 5 breaths\n- say: now, 10 seconds\n- triangle, 5 breaths\n",
     [("warrior_2", None, 25), ("say", None, 10), ("triangle", None, 25)]),
    # between two sides it belongs to neither
    ("## A: flow, both sides\n- warrior two, 5 breaths\n",
     [("warrior_2", "right", 25), ("between", None, 14), ("warrior_2", "left", 25)]),
    ("## A: flow, both sides\n- warrior two, 5 breaths\n- triangle, 5 breaths\n",
     [("warrior_2", "right", 25), ("between", "right", 14), ("triangle", "right", 25), ("between", None, 14),
      ("warrior_2", "left", 25), ("between", "left", 14), ("triangle", "left", 25)]),
    # what is moved through is taught in the first round; what is held keeps its breaths
    ("## A: flow, 2 rounds\n- upward dog\n- warrior two, 3 breaths\n",
     [("upward_dog", None, 3.5), ("warrior_2", None, 15), ("upward_dog", None, 2.5), ("warrior_2", None, 15)]),
    ("## A: flow, 2 rounds, each round 10% quicker\n- upward dog\n", [("upward_dog", None, 2.5), ("upward_dog", None, 2.25)]),
    ("## A: flow, 2 rounds, breath 6 seconds\n- upward dog\n", [("upward_dog", None, 3), ("upward_dog", None, 3)]),
    ("## A: flow\n- upward dog\n", [("upward_dog", None, 2.5)]),
    # a salutation is taught once
    ("## A: flow, 2 rounds\n- sun salutation A\n", [("sun_salutation_a", None, 70), ("between", None, 14), ("sun_salutation_a", None, 50)]),
    ("## A: flow\n- sun salutation A x2\n", [("sun_salutation_a", None, 120)]),
    ("## A: flow\n- sun salutation A x4\n", [("sun_salutation_a", None, 220)]),
    # as is what is repeated later, the first time
    ("## A: flow\n- upward dog\n## B: flow, repeat A\n", [("upward_dog", None, 3.5), ("upward_dog", None, 2.5)]),
    ("## A: flow, breath 4 seconds\n- upward dog\n## B: flow, repeat A\n", [("upward_dog", None, 2), ("upward_dog", None, 2)]),
    ("## A: flow, 2 rounds\n- upward dog\n## B: flow, repeat A\n",
     [("upward_dog", None, 3.5), ("upward_dog", None, 2.5), ("upward_dog", None, 2.5), ("upward_dog", None, 2.5)]),
]  # fmt: skip


@pytest.mark.parametrize(("text", "expected"), FLOW, ids=[text for text, _ in FLOW])
def test_a_flow_takes_the_time_of_its_style(text: str, expected: list[tuple[str, str | None, float]]) -> None:
    steps = [
        (s.pose_id or s.what, s.side if s.side else None, round(s.end_s - s.start_s, 3)) for s in timed(text).steps
    ]
    assert [(what, seconds) for what, _, seconds in steps] == [(what, seconds) for what, _, seconds in expected]
    assert [side for what, side, _ in steps if what != "between"] == [
        side for what, side, _ in expected if what != "between"
    ]


def test_a_move_between_two_sides_stands_in_a_passage_of_its_own() -> None:
    (section,) = timed("## A: flow, both sides\n- warrior two, 5 breaths\n").sections
    assert [(each.side, each.start_s, each.end_s) for each in section.passes] == [
        ("right", 0, 25),
        (None, 25, 39),
        ("left", 39, 64),
    ]


STATED_BREATH = [
    # what comes once, in rounds and sides
    ("## A: flow, 2 rounds\n- bell\n- plank, 1 breath\n", ["bell", "plank", "plank"]),
    ("## A: flow, 2 rounds\n- plank, 1 breath\n- bell\n", ["plank", "plank", "bell"]),
    ("## A: flow, 3 rounds\n- plank, 1 breath\n- crow, 1 breath, last round\n", ["plank"] * 3 + ["crow"]),
    ("## A: flow, 3 rounds\n- crow, 1 breath, rounds 2-3\n- plank, 1 breath, round 1\n", ["plank", "crow", "crow"]),
    ("## A: flow, 2 rounds\n- crow, 1 breath, not last round\n", ["crow"]),
    # sides
    (
        "## A: flow, both sides\n- warrior two, 1 breath, left\n- plank, 1 breath\n",
        ["plank", "warrior_2 left", "plank"],
    ),
    ("## A: flow, both sides\n- warrior two, 1 breath each side\n", ["warrior_2 right", "warrior_2 left"]),
    ("## A: flow\n- warrior two, 1 breath each side\n", ["warrior_2 right", "warrior_2 left"]),
    (
        "## A: flow, both sides\n- warrior two, 1 breath\n- crow, 1 breath, between sides\n- plank, 1 breath, after both sides\n",
        ["warrior_2 right", "crow", "warrior_2 left", "plank"],
    ),
    (
        "## A: flow, both sides\n- warrior two, 1 breath\n### B\n- crow, 1 breath, between sides\n- plank, 1 breath, after both sides\n",
        ["warrior_2 right", "crow", "warrior_2 left", "plank"],
    ),
    ("## A: flow, both sides\n### B, both sides\n- warrior two, 1 breath\n", ["warrior_2 right", "warrior_2 left"]),
    ("## A: flow, both sides, left first\n- warrior two, 1 breath\n", ["warrior_2 left", "warrior_2 right"]),
    (
        "## A: flow, 2 rounds\n### B, both sides\n- warrior two, 1 breath\n",
        ["warrior_2 right", "warrior_2 left", "warrior_2 right", "warrior_2 left"],
    ),
    # a repetition is as what it repeats, and says its talk again
    ("## A: flow\n- say: go, 5 seconds\n- plank, 1 breath\n## B: flow, repeat A\n", ["say", "plank", "say", "plank"]),
]


@pytest.mark.parametrize(("text", "expected"), STATED_BREATH, ids=[text for text, _ in STATED_BREATH])
def test_rounds_and_sides_bring_what_they_say(text: str, expected: list[str]) -> None:
    steps = timed(f"breath: 5 seconds\n\n{text}").steps
    assert [f"{step.pose_id or step.what}{f' {step.side}' if step.side else ''}" for step in steps] == expected


@pytest.mark.parametrize(
    ("heading", "breath_s"),
    [
        ("## A: flow, 3 rounds, each round 10% quicker", [5, 4.5, 4.05]),
        ("## A: flow, breath 8 seconds", [8]),
        ("## A: flow, 2 rounds, each round 20% quicker\n### B, breath 10 seconds", [10, 8]),
    ],
)
def test_a_round_is_as_quick_as_its_heading_says(heading: str, breath_s: list[float]) -> None:
    steps = timed(f"breath: 5 seconds\n\n{heading}\n- plank, 2 breaths\n").steps
    assert [(step.end_s - step.start_s) / 2 for step in steps] == pytest.approx(breath_s)


def test_the_shortest_class_leaves_options_out_and_the_longest_does_them() -> None:
    text = "## A: flow\n- plank, 2 breaths\n### B, optional\n- crow, 4 breaths\n- crow, 2 breaths, optional\n"
    made = timed(f"breath: 5 seconds\n\n{text}")
    assert (made.shortest_s, made.duration_s, made.longest_s) == pytest.approx((9, 40, 44))
    assert [step.optional for step in made.steps] == [False, True, True]
    slower = timed("## A: flow\n- warrior two, 5 breaths\n- triangle, 5 breaths\n")  # six tenths of 14 s, and 1.6 times
    assert (slower.shortest_s, slower.longest_s) == pytest.approx((45 + 8.4, 55 + 22.4))
    said = slower.assumptions[-2:]
    assert said == (
        "shortest: options left out, breath 10 % quicker, less time between poses, the shorter of each range",
        "longest: options done, breath 10 % slower, more time between poses, the longer of each range",
    )


def test_the_range_holds_the_likely_length() -> None:
    """An option left out may bring a move between the poses beside it."""
    made = timed("## A: flow\n- warrior two, 20 seconds\n- crow, 1 second, optional\n- triangle, 20 seconds\n")
    assert made.shortest_s == made.duration_s == 41.0


@pytest.mark.parametrize(("classes", "shortest_s", "longest_s"), [(3, 47, 53), (2, 45, 55)])
def test_the_range_of_a_known_pace_is_six_hundredths_of_the_class(
    classes: int, shortest_s: float, longest_s: float
) -> None:
    plan = read_plan("# A\n\n## A: flow\n- plank, 10 breaths\n", file="a.md")
    own = replace(plan, own_pace=OwnPace({Kind.FLOW: KindPace(5.0, None, 0.0)}, classes))
    made = build_timetable(own, POSES)
    assert (made.shortest_s, made.duration_s, made.longest_s) == pytest.approx((shortest_s, 50, longest_s))


def test_where_half_of_a_class_is_in_seconds_a_known_pace_varies_by_twice_as_much_and_no_more() -> None:
    for seconds, share in ((50, 0.12), (100, 0.12)):
        plan = read_plan(f"# A\n\n## A: flow\n- plank, 10 breaths\n- pause, {seconds} seconds\n", file="a.md")
        own = replace(plan, own_pace=OwnPace({Kind.FLOW: KindPace(5.0, None, 0.0)}, 4))
        made = build_timetable(own, POSES)
        assert made.duration_s - made.shortest_s == pytest.approx(50 * share)
        assert made.longest_s - made.duration_s == pytest.approx(50 * share)


def test_minutes_are_filled_by_rounds_of_salutations_as_often_as_fits_best() -> None:
    def rounds(seconds: int, lines: str = "- sun salutation A\n") -> int:
        made = timed(f"breath: 5 seconds\n\n## A: flow, {seconds} seconds\n{lines}")
        assert made.duration_s == pytest.approx(seconds)
        return len([step for step in made.steps if step.pose_id == "sun_salutation_a"])

    assert [rounds(seconds) for seconds in (50, 70, 76, 120, 126)] == [1, 1, 2, 2, 3]
    assert rounds(200, "- sun salutation A\n- vinyasa\n") == 3  # of 60 s
    assert rounds(200, "- sun salutation A\n- plank\n") == 1  # the hold takes the rest
    assert rounds(240, "### B, 2 rounds\n- sun salutation A\n") == 4


def test_minutes_are_shared_and_what_nobody_takes_stands_at_the_end() -> None:
    def of(heading: str, lines: str) -> Timetable:
        return timed(f"breath: 5 seconds\n\n## A: flow, {heading}\n{lines}")

    left = of("2 minutes", "- plank, 1 minute\n")
    assert spans(left) == [("plank", None, 60), ("pause", None, 60)]
    assert (left.steps[-1].name, [found.code for found in left.findings]) == ("time left over", ["minutes-not-filled"])
    assert left.findings[0].message == 'The lines of "A" take 1:00 of its 2:00; 1:00 at its end is left open.'
    over = of("1 minute", "- plank, 2 minutes\n- crow\n")
    assert spans(over) == [("plank", None, 120), ("crow", None, 2.5)]  # half a breath is the least
    assert over.findings[0].message == 'The lines of "A" take 2:03, more than its 1:00; the lines win.'
    assert of("61 seconds", "- plank, 60 seconds\n").findings  # a second is worth a word, less isn't
    assert not of("61 seconds", "- plank, 60.5 seconds\n").findings
    quicker = of("90 seconds, 2 rounds, each round 20% quicker", "- plank\n")
    assert [seconds for *_, seconds in spans(quicker)] == [50, 40]
    assert [step.breaths for step in of("90 seconds", "- plank\n").steps] == [None]
    assert [step.breaths for step in of("90 seconds", "- vinyasa\n- sun salutation A x2\n").steps][0] is not None
    stretched = of("84 seconds", "- sun salutation A\n- vinyasa\n")
    assert [seconds for *_, seconds in spans(stretched)] == [70, 14]
    nested = of("2 minutes", "### B, 1 minute\n- plank\n### C\n- crow\n")
    assert [seconds for *_, seconds in spans(nested)] == [60, 60]


def test_what_is_left_of_the_slot_goes_to_the_last_pose_of_each_part_that_takes_it() -> None:
    def lasts(text: str) -> list[tuple[str, str | None, float]]:
        return spans(timed(f"breath: 5 seconds\nslot: 10 minutes\nsettle: 2 minutes\nleave: 1 minute\n\n{text}"))

    assert lasts("## A: flow\n- plank, 2 minutes\n## B: rest, what is left\n- savasana, 1 minute\n- bell\n") == [
        ("plank", None, 120),
        ("corpse", None, 300),
        ("bell", None, 0),
    ]
    assert lasts("## A: flow\n- plank, 9 minutes\n## B: rest, what is left\n- savasana, 1 minute\n") == [
        ("plank", None, 540),
        ("corpse", None, 60),
    ]
    assert lasts("## B: rest, what is left\n- pause, 1 minute\n") == [("pause", None, 60), ("pause", None, 360)]
    least = "## A: flow\n- plank, 9 minutes\n## B: rest, what is left, at least 2 minutes\n- savasana\n"
    assert lasts(least)[-1] == ("corpse", None, 120)


@pytest.mark.parametrize(
    ("slot", "settle", "leave", "left"), [(None, 5.0, 5.0, None), (100.0, 20.0, 30.0, 50.0), (40.0, 20.0, 30.0, 0.0)]
)
def test_the_slot_less_settling_and_leaving_is_left(
    slot: float | None, settle: float, leave: float, left: float | None
) -> None:
    assert available_s(Plan("A", (), slot_s=slot, settle_s=settle, leave_s=leave)) == left


def test_sections_stand_one_after_the_other_with_the_breath_they_begin_with() -> None:
    made = timed(
        "breath: 4 seconds\n\n## A: flow\n- bell\n## B: flow, breath 6 seconds\n- plank, 2 breaths\n- crow, 4 breaths\n"
    )
    assert [(one.start_s, one.end_s, one.breath_s, len(one.passes)) for one in made.sections] == [
        (0, 0, 4, 1),
        (0, 36, 6, 1),
    ]
    assert [one.mean_mets for one in made.sections] == pytest.approx(
        [1.0, (12 * mets("plank") + 24 * mets("crow")) / 36]
    )
    empty = build_timetable(Plan("A", (Section("A", Place(1), ()),)), POSES)
    assert [(one.breath_s, one.mean_mets) for one in empty.sections] == [(5.0, 1.0)]  # 12 breaths a minute
    assert (empty.sections[0].passes[0].round, empty.sections[0].passes[0].side) == (1, None)


def test_a_silence_at_the_end_of_the_class_is_its_last_sections() -> None:
    top = timed("music: silent last 2 minutes\n\n## A: flow\n- plank, 3 minutes\n## B: rest\n- savasana, 3 minutes\n")
    assert [one.wishes.silent_last_s for one in top.sections] == [None, 120]
    own = timed(
        "music: silent last 2 minutes\n\n## A: flow\n- plank, 3 minutes\n## B: rest, silent last 1 minute\n- savasana, 3 minutes\n"
    )
    assert [one.wishes.silent_last_s for one in own.sections] == [None, 60]


def test_a_line_made_for_another_is_told_by_it() -> None:
    told = replace(element(length=SECONDS(9.0)), place=Place(0, 1, 7), note="wide", alternatives=("crow",))
    own = replace(element(length=SECONDS(9.0), supported=True), place=Place(3, 1, 7))
    plan = Plan("A", (Section("A", Place(1), (told, own)),), breath_s=4.0)
    one, two = build_timetable(plan, POSES).steps
    assert (one.line, one.told_by, one.note, one.alternatives, one.supported) == (0, 7, "wide", ("crow",), False)
    assert (two.line, two.told_by, two.note, two.supported, two.optional) == (3, 3, "", True, False)


def test_a_class_is_timed_with_what_is_left_or_without_it() -> None:
    plan = read_plan(
        "# A\nbreath: 5 seconds\nslot: 10 minutes\n\n## A: rest, what is left\n- savasana, 1 minute\n", file="a.md"
    )
    assert class_seconds(plan, POSES) == 600
    assert class_seconds(plan, POSES, stretched=False) == 60
    flow = read_plan("# A\n\n## A: flow\n- plank, 1 minute\n", file="a.md")
    assert class_seconds(flow, POSES) == 60
    assert class_seconds(flow, POSES, follows=True) == 74


def test_what_a_group_asks_of_the_music_as_it_begins_is_asked_of_its_first_line() -> None:
    made = timed(
        "breath: 5 seconds\nbetween: 20 seconds\n\n## A: flow\n- plank, 5 breaths\n### B, music rises into\n- crow, 5 breaths\n- plank, 1 breath\n"
        "### C, music breaks at\n- crow, 1 breath, music rises into\n### D\n- crow, 1 breath\n"
    )
    asked = [(step.pose_id, step.wishes.rises_into, step.wishes.breaks_at) for step in made.steps if step.pose_id]
    assert asked == [
        ("plank", False, False),
        ("crow", True, False),
        ("plank", False, False),
        ("crow", True, True),
        ("crow", False, False),
    ]


# ---- wishes ------------------------------------------------------------------------------------------------------


def test_wishes_inside_go_before_those_around_them() -> None:
    outer = Wishes(
        level="quiet",
        no_voice=True,
        clear_talk=True,
        folder="a",
        beat_bpm=(60, 70),
        same_music=True,
        rises_into=True,
        breaks_at=True,
        silent_last_s=9.0,
    )
    handed = Wishes(level="quiet", no_voice=True, clear_talk=True, folder="a", beat_bpm=(60, 70))
    assert handed_on(outer) == inside(outer, NO_WISHES) == handed
    assert inside(outer, Wishes(folder="b", beat_bpm=(80, 90))) == replace(handed, folder="b", beat_bpm=(80, 90))
    assert inside(outer, Wishes(energy=0.5)) == replace(handed, level=None, energy=0.5)
    assert inside(outer, Wishes(no_music=True)) == replace(handed, level=None, no_music=True)
    assert inside(outer, Wishes(same_music=True, silent_last_s=4.0)) == replace(
        handed, same_music=True, silent_last_s=4.0
    )
    assert inside(NO_WISHES, outer) == outer


@pytest.mark.parametrize(
    ("wishes", "kind", "lifts"),
    [
        (Wishes(level="driving"), Kind.REST, True),
        (Wishes(level="steady"), Kind.REST, True),
        (Wishes(energy=0.4), Kind.REST, True),
        (Wishes(level="quiet"), Kind.REST, False),
        (NO_WISHES, Kind.REST, False),
        (Wishes(level="driving"), Kind.FLOW, False),
        (Wishes(energy=0.4), Kind.FLOW, False),
    ],
)
def test_a_level_for_the_whole_class_is_not_taken_into_its_rest(wishes: Wishes, kind: Kind, lifts: bool) -> None:
    assert lifts_a_rest(wishes, kind) is lifts
    assert from_the_top(wishes, kind) == (NO_WISHES if lifts else wishes)


def test_it_is_said_that_a_level_is_not_taken_into_the_rest_unless_the_rest_asks_itself() -> None:
    for rest, said in (("", 1), (", quiet music", 0)):
        made = timed(f"music: driving\n\n## A: flow\n- plank, 1 minute\n## B: rest{rest}\n- savasana, 3 minutes\n")
        assert sum("doesn't count in the closing rest" in one for one in made.assumptions) == said


# ---- manners -----------------------------------------------------------------------------------------------------


def manner(text: str, title: str = "Harbour flow", own: OwnPace | None = None) -> Manner:
    return manners(replace(read_plan(f"# {title}\n{text}", file="a.md"), own_pace=own))[0]


def test_a_section_is_taken_in_the_manner_of_its_class() -> None:
    """Seconds and breaths as pairing/plan/styles.toml has them."""
    flow = manner("## A: flow\n- plank\n")
    assert (flow.breath_s, flow.salute_s, flow.holds, flow.stay_s, flow.between_s) == (5.0, 5.0, "flow", None, None)
    assert (flow.change_s, flow.first_pass, flow.first_breath, flow.least_breaths) == (14.0, 1.4, 1.0, 0.0)
    yin = manner("## A: floor\n- plank\n", "Yin")
    assert (yin.breath_s, yin.holds, yin.stay_s, yin.change_s, yin.first_pass) == (7.0, "slow", 180, 45.0, 1.0)
    stated = manner("breath: 4 seconds\n\n## A: floor\n- plank\n", "Yin")
    assert (stated.breath_s, stated.salute_s, stated.change_s, stated.first_pass) == (4.0, 4.0, 0.0, 1.0)
    assert manner("holds: flow\n\n## A: floor\n- plank\n", "Yin").stay_s is None
    assert manner("between: 9 seconds\n\n## A: flow\n- plank\n").change_s == 0.0
    assert manner("## Yin part: floor\n- plank\n").stay_s == 180
    assert manner("## Power part: flow\n- plank\n").breath_s == 5.0  # only some styles are those of a part
    assert manner("holds: slow\n\n## A: flow\n- plank\n", "Led primary").least_breaths == 0.0
    assert manner("## A: flow\n- plank\n", "Led primary").least_breaths == 5.0


@pytest.mark.parametrize("between_s", [0.5, 1.0, 2.0])
def test_even_a_second_between_two_holds_is_taken(between_s: float) -> None:
    steps = timed(f"between: {between_s} seconds\n\n## A: floor\n- sphinx, 1 minute\n- cobra, 1 minute\n").steps
    assert [(step.what, step.end_s - step.start_s) for step in steps] == [
        ("pose", 60.0),
        ("between", pytest.approx(between_s)),
        ("pose", 60.0),
    ]


def test_the_teachers_own_pace_takes_the_place_of_the_styles() -> None:
    own = OwnPace({Kind.FLOW: KindPace(4.0, 6.0, 20.0), Kind.FLOOR: KindPace(4.0, None, None)}, 3)
    flow = manner("## A: flow\n- plank\n", own=own)
    assert (flow.breath_s, flow.salute_s, flow.change_s, flow.first_pass, flow.first_breath) == (
        4.0,
        4.0,
        20.0,
        1.0,
        1.5,
    )
    floor = manner("## A: floor\n- plank\n", own=own)
    assert (floor.change_s, floor.first_breath) == (0.0, 1.0)
    assert manner("## A: standing\n- plank\n", own=own).change_s == 14.0
    assert manner("breath: 5 seconds\n\n## A: flow\n- plank\n", own=own).breath_s == 5.0
    taught = replace(read_plan("# A\n\n## A: flow, 2 rounds\n- plank, 2 breaths\n", file="a.md"), own_pace=own)
    steps = [step for step in build_timetable(taught, POSES).steps if step.pose_id]
    assert [step.end_s - step.start_s for step in steps] == [12, 8]
    again = replace(
        read_plan("# A\n\n## A: flow\n- plank, 2 breaths\n## B: flow, repeat A\n", file="a.md"), own_pace=own
    )
    steps = [step for step in build_timetable(again, POSES).steps if step.pose_id]
    assert [step.end_s - step.start_s for step in steps] == [12, 8]


def words(text: str, title: str = "Harbour flow", own: OwnPace | None = None) -> str:
    return " / ".join(style_words(replace(read_plan(f"# {title}\n{text}", file="a.md"), own_pace=own)))


def test_what_is_assumed_is_said() -> None:
    """As docs/effort-and-arc.md has it: which style was taken and why, and what follows from it."""
    lines = "## A: flow\n- plank, 5 breaths\n"
    assert "a full breath takes 5 s" in words(lines)
    assert "14 s to move from one pose to the next" in words(lines)
    assert "a long hold" not in words(lines)
    assert "(6 s where it is still)" in words(lines, "Barre")
    assert "where it is still" not in words(lines, "Yin")
    assert "a long hold without a length takes 3 minutes" in words(lines, "Yin")
    assert "a long hold" not in words(f"holds: flow\n\n{lines}", "Yin")
    assert words(f"breath: 5 seconds\nholds: flow\n\n{lines}").startswith("moving from one held pose")
    assert words(f"breath: 5 seconds\nbetween: 9 seconds\nholds: flow\n\n{lines}") == ""
    assert "takes no time" not in words(f"between: 9 seconds\n\n{lines}")
    own = OwnPace({}, 3)
    assert "learned from 3 classes" in words(lines, own=own)
    assert "to move from one pose" not in words(lines, own=own)
    assert "learned from 1 class (" in words(lines, own=OwnPace({}, 1))
    assert "learned" not in words(lines, own=OwnPace({}, 0))
    assert "at your own pace" not in words(f"breath: 5 seconds\n\n{lines}", own=own)


# ---- places, echo, arc -------------------------------------------------------------------------------------------


def placed(*parts: Element | Group) -> tuple[list[str], list[str], list[str]]:
    """Names in order, of those that wait for both sides, of those in the last round only."""
    found = placing_of(Group("A", Place(1), parts))
    named = {id(part): part.name for part in parts}
    return (
        [part.name for part in found.parts],
        sorted(named[one] for one in found.after_both_sides),
        sorted(named[one] for one in found.in_the_last_round),
    )


def test_lines_that_come_once_stand_where_they_say() -> None:
    def still(what: str, name: str, note: str = "", **more: object) -> Element:
        return replace(element(what, None, note=note, **more), name=name)

    pose = replace(element(), name="pose")
    end, start = still("pause", "end", "at the end"), still("silence", "start", "at the start")
    bell = still("bell", "bell", "soft, at the very end")
    assert placed(bell, end, pose, start)[0] == ["start", "pose", "end", "bell"]
    assert placed(bell, end, pose, start)[1:] == (["bell", "end"], ["bell", "end"])
    assert placed(still("pause", "a", "first"), pose) == (["a", "pose"], [], [])
    assert placed(pose, still("say", "talk"), still("pause", "rest")) == (
        ["pose", "talk", "rest"],
        ["rest", "talk"],
        ["rest"],
    )
    assert placed(still("say", "talk", "at the end"), pose)[0] == ["talk", "pose"]
    assert placed(pose, still("pause", "each", every_time=True)) == (["pose", "each"], [], [])
    assert placed(pose, still("pause", "later", from_round=2)) == (["pose", "later"], [], [])
    assert placed(still("pause", "one"), still("bell", "two")) == (["one", "two"], [], [])


def test_each_line_of_a_note_is_told_with_its_place_in_time() -> None:
    text = "# A\nbreath: 5 seconds\n\n## A: flow, 2 rounds\n- plank, 2 breaths\n- crow, 1 breath\n- bell\n"
    plan = read_plan(text, file="a.md")
    found = {span.line: span for span in echo_of(plan, build_timetable(plan, POSES))}
    assert (found[5].start_s, found[5].length_s, found[5].poses) == (0.0, 20.0, ("plank",))
    assert (found[6].start_s, found[6].length_s, found[6].poses) == (10.0, 10.0, ("crow",))
    assert (found[1].start_s, found[1].length_s, found[1].poses) == (None, 0, ())


def test_an_arc_has_a_value_for_each_second_begun() -> None:
    made = timed("breath: 5 seconds\n\n## A: flow\n- plank, 10.4 seconds\n- crow, 10 seconds\n")
    arc = arcs.make_arc(made)
    assert [len(curve) for curve in (arc.demand_mets, arc.felt_mets, arc.target_energy)] == [21, 21, 21]
    assert arc.demand_mets[[0, 9, 20]] == pytest.approx([mets("plank"), mets("plank"), mets("crow")])
    assert arc.demand_mets[10] == pytest.approx(0.4 * mets("plank") + 0.6 * mets("crow"))
    none = arcs.make_arc(build_timetable(Plan("A", ()), POSES))
    assert [len(curve) for curve in (none.demand_mets, none.felt_mets, none.target_energy)] == [0, 0, 0]


def step(what: str, start_s: float, end_s: float, **more: object) -> Step:
    return Step(what, "a", start_s, end_s, 0, **more)  # type: ignore[arg-type]


def test_silence_is_where_it_is_asked_for() -> None:
    made = timed(
        "breath: 5 seconds\n\n## A: flow\n- plank, 1 minute\n## B: rest, silent last 20 seconds\n- savasana, 30 seconds\n- silence, 10 seconds\n"
    )
    silent = np.flatnonzero(np.isnan(arcs.make_arc(made).target_energy)).tolist()
    assert silent == list(range(80, 100))
    longer = timed("breath: 5 seconds\n\n## A: rest, silent last 5 minutes\n- savasana, 30 seconds\n")
    assert np.isnan(arcs.make_arc(longer).target_energy).all()


def test_a_wish_holds_where_it_is_written() -> None:
    made = timed(
        "breath: 5 seconds\n\n## A: flow\n- plank, 3 minutes, energy 70%\n- crow, 3 minutes, steady\n- plank, 2 minutes\n"
        "- plank, 2 minutes, quiet music\n- plank, 1 minute, no music\n"
    )
    energy = arcs.make_arc(made).target_energy
    assert energy[:180] == pytest.approx(0.7, abs=0.33)
    assert energy[0] == pytest.approx(0.7)
    assert np.ptp(energy[190:350]) == pytest.approx(0, abs=1e-6)
    assert energy[480:600].max() <= 0.22 + 1e-6
    assert np.isnan(energy[600:]).all()
    assert not np.isnan(energy[:600]).any()
    assert np.abs(np.diff(energy[:600])).max() <= 0.04 + 1e-6


def test_a_walk_keeps_its_defaults() -> None:
    here = Here(0, NO_WISHES, 5.0, STATED)
    assert (here.first_pass, here.pace, here.round, here.rounds) == (1.0, 1.0, 1, 1)
    assert (here.optional, here.spread) == (False, False)
    assert TimedStretch(LEFT_OVER, here, 0.0).held is False
    assert (STATED.least_breaths, STATED.change_s, STATED.first_pass, STATED.first_breath) == (0.0, 0.0, 1.0, 1.0)
    plan = read_plan("# A\nbreath: 5 seconds\n\n## A: flow\n- plank, 1 minute\n", file="a.md")
    known: dict[int, LineTime] = {}
    assert Walk.through(plan, POSES, Pace(), known).seconds() == 60
    assert len(known) == 1
    assert math.isclose(Walk.through(plan, POSES, Pace(breath=2.0), known).stretches[0].here.breath_s, 10.0)
