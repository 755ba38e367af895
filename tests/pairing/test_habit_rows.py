"""Rows of the table of habits in docs/plan-language.md, with the seconds and the steps that their words say.

At 5 s a breath and without time between poses; common practice, no source.
"""

import pytest

from pairing.effort.timetable import build_timetable
from pairing.model import Step
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan

TOP = "Evening class\nbreath: 5 seconds\nbetween: 0 seconds\nholds: flow\n\n"


def steps(text: str, top: str = TOP) -> list[Step]:
    return [step for step in build_timetable(read_plan(top + text), pose_table()).steps if step.end_s > step.start_s]


def seconds(text: str, top: str = TOP) -> float:
    return round(sum(step.end_s - step.start_s for step in steps(text, top)), 3)


def done(text: str) -> list[str]:
    """What is done, on which side, for how many seconds."""
    return [f"{s.pose_id or s.what}{f' {s.side}' if s.side else ''} {s.end_s - s.start_s:g}" for s in steps(text)]


ROWS = [
    # headings with minutes
    ("WARM UP (6 min)\ncat cow x6\npuppy\n", 360),
    ("SIDE SERIES 5 MIN EACH SIDE\nclam\nside lying leg lift\n", 600),
    # several things on a line
    ("childs 1 min then cat cow 1 min", 120),
    ("boat 5br / plank 30s / bow 5br / tree 20s", 100),
    ("crow or garland 5br", 25),
    ("crow / garland 5br", 25),
    # brackets
    ("pigeon (2m ea)", 240),
    ("ABS (boat 30s, plank 1 min)", 90),
    # sides
    ("pigeon 3'/3'", 360),
    ("tree R 3, L 3", 30),
    ("pigeon 2min/side", 240),
    # numbers
    ("tree 7", 35),
    ("savasana 7", 420),
    ("plank 45", 45),
    # sets and counts
    ("boat 3 x 5br", 75),
    ("boat 5 x 5", 125),
    ("plank 3 lots of 15 secs", 45),
    ("plank 10s 20s 30s", 60),
    # minutes together
    ("jog / high knees / butt kicks 3 min", 180),
    ("stretch 7 min: splits, side bend", 420),
    ("neck + shoulders 2 min", 120),
    ("w1 + w2 5 br", 50),
    # work and rest
    ("plank 40s on / 20s off, 2 rounds", 120),
    ("CIRCUIT 40/20, 3 rounds\nplank\nsquats\n", 360),
    ("burpees 20/10 x8", 240),
    ("boat 3 x 20 s (10 s rest)", 80),
    # counted breathing
    ("4-7-8 x4", 76),
    # times in front
    ("[5 min] chair, twists", 300),
    # on the way
    ("tree 5br\nroll to the side, come to all fours\n", 35),
    ("tree 5br\nstand up slowly\n", 35),
]


@pytest.mark.parametrize(("text", "meant"), ROWS, ids=[text for text, _ in ROWS])
def test_a_row_takes_the_time_that_its_words_say(text: str, meant: float) -> None:
    assert seconds(text) == pytest.approx(meant, abs=0.5)


ORDERS = [
    ("WARM UP (6 min)\npuppy 2 min\nsphinx 3 min\n", ["puppy 120", "sphinx 180", "pause 60"]),
    ("tree 3br R/L", ["tree right 15", "tree left 15"]),
    ("tree r then l 3br", ["tree right 15", "tree left 15"]),
    ("w2 3br -> triangle 5br", ["warrior_2 15", "triangle 25"]),
    ("tree 3br, chair 2br", ["tree 15", "chair 10"]),
    ("boat 2 x 20s, 10s rest between", ["boat 20", "pause 10", "boat 20"]),
    ("tree 3br\nother side\n", ["tree right 15", "tree left 15"]),
]


@pytest.mark.parametrize(("text", "meant"), ORDERS, ids=[text for text, _ in ORDERS])
def test_a_row_brings_what_its_words_say(text: str, meant: list[str]) -> None:
    assert done(text) == meant
