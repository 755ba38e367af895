"""Silences, bells and talk stand where the note says, in the order of the class and not of the lines."""

import pytest

from pairing.alignment import frame
from pairing.model import PairOptions, Timetable
from pairing.plan.read import read_plan
from pairing.workflow.plans import outline_of

HEAD = "# Small\nbetween: 0 seconds\n## Ebb: cool-down\n- pigeon, 1 minute each side\n"


def table_of(text: str) -> Timetable:
    return outline_of(read_plan(text)).timetable


def order(text: str) -> list[str]:
    """What is done, one after the other, with its side."""
    return [f"{step.name or step.what}{f' {step.side}' if step.side else ''}" for step in table_of(text).steps]


@pytest.mark.parametrize(
    "bell",
    ["bell at the end", "bell, at the end", "bell x3 at the very end", "bell to finish", "bell (at the end)"],
)
def test_a_bell_at_the_end_rings_at_the_end_wherever_it_is_written(bell: str) -> None:
    for lines in (f"- {bell}\n- savasana\n", f"- savasana\n- {bell}\n"):
        table = table_of(f"{HEAD}## Float: rest, 6 minutes\n{lines}")
        rung = next(step for step in table.steps if step.what == "bell")
        assert rung.start_s == pytest.approx(table.duration_s)


@pytest.mark.parametrize("bell", ["bell at the start", "bell to begin", "bell at the beginning", "bell"])
def test_a_bell_at_the_start_rings_at_the_start(bell: str) -> None:
    table = table_of(f"{HEAD}## Float: rest, 6 minutes\n- {bell}\n- savasana\n")
    assert next(step.start_s for step in table.steps if step.what == "bell") == pytest.approx(120.0)
    if bell != "bell":
        table = table_of(f"{HEAD}## Float: rest, 6 minutes\n- savasana\n- {bell}\n")
        assert next(step.start_s for step in table.steps if step.what == "bell") == pytest.approx(120.0)


@pytest.mark.parametrize(
    "silence", ["silence last 2 min", "silence, 2 minutes, at the end", "silence at the end, 2 min"]
)
@pytest.mark.parametrize("written", [0, 1])
def test_a_silence_at_the_end_is_the_rests_silence(silence: str, written: int) -> None:
    lines = ["- savasana", "- bell at the end"]
    lines.insert(written, f"- {silence}")
    known = outline_of(read_plan(f"{HEAD}## Float: rest, 6 minutes\n" + "\n".join(lines)))
    shape = frame.of_class(known.plan, known.timetable, known.arc, PairOptions())
    assert shape.rest is not None
    assert shape.rest.silence_s == pytest.approx(120.0)
    assert shape.silent == ((pytest.approx(360.0), pytest.approx(480.0)),)
    assert shape.rest.bells_s == (pytest.approx(480.0),)


def test_water_that_ends_a_part_with_two_sides_comes_after_both() -> None:
    for water in ("water 1 min", "pause: water, 1 minute"):
        said = order(f"# Small\nbetween: 0 seconds\n## Ebb: cool-down, both sides\n- pigeon, 1 minute\n- {water}\n")
        assert said == ["pigeon right", "pigeon left", "water"]


def test_water_that_ends_rounds_comes_after_the_last_and_talk_after_the_first() -> None:
    text = "# Small\nbetween: 0 seconds\n## Tide: flow, both sides, 2 rounds\n- warrior two, 5 breaths\n- {}\n"
    sides = ["warrior two right", "warrior two left"]
    assert order(text.format("water 1 min")) == [*sides, *sides, "water"]
    assert order(text.format("say: breathe, 10 seconds")) == [*sides, "breathe", *sides]


def test_what_stands_between_poses_or_says_every_time_stays_where_it_is() -> None:
    text = "# Small\nbetween: 0 seconds\n## Ebb: cool-down, both sides\n- pigeon, 1 minute\n- water 1 min{}\n- lizard, 1 minute\n"
    assert order(text.format("")) == ["pigeon right", "water", "lizard right", "pigeon left", "lizard left"]
    assert order(text.format(", every time")).count("water") == 2
    ended = (
        "# Small\nbetween: 0 seconds\n## Ebb: cool-down, both sides\n- pigeon, 1 minute\n- water 1 min, every time\n"
    )
    assert order(ended) == ["pigeon right", "water", "pigeon left", "water"]


def test_a_part_of_talk_and_pauses_alone_keeps_its_order() -> None:
    text = "# Small\nbetween: 0 seconds\n## Sit: opening, both sides\n- say: welcome, 1 minute\n- silence, 1 minute\n- easy seat, 1 minute\n"
    assert order(text)[:2] == ["welcome", "silence"]
