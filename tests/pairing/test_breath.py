"""Beats on a breath, against the reference's own arithmetic: beats per half-breath = tempo x seconds / 60."""

from types import SimpleNamespace

import pytest

from pairing.effort.breath import BeatRange, beat_ranges, beats_of_breath
from pairing.effort.timetable import build_timetable
from pairing.model import Kind, Step
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan

# Seconds of a half-breath, tempo, beats on it: 2.5 s at 96 bpm and 3 s at 80 bpm hold 4 beats, 4 s at 120 bpm hold 8.
WORKED = [(2.5, 96.0, 4), (3.0, 80.0, 4), (4.0, 120.0, 8)]


@pytest.mark.parametrize(("half_s", "bpm", "beats"), WORKED)
def test_beats_of_a_half_breath(half_s: float, bpm: float, beats: int) -> None:
    found = {count: tempo for count, tempo, _, _ in beats_of_breath(2 * half_s)}
    assert found[2 * beats] == pytest.approx(bpm)


def test_every_pace_of_a_flow_has_its_ranges_and_held_floor_poses_have_none() -> None:
    plan = read_plan(
        "# C\nbreath: 5 seconds\n\n## Tide: flow, both sides, 2 rounds, each round 20% quicker\n- plank, 2 breaths\n"
        "- child's pose, 1 minute\n\n## Low: cool-down\n- bridge, 5 breaths\n",
        file="class.md",
    )
    ranges = beat_ranges(build_timetable(plan, pose_table()), tolerance=0.05)
    assert {(r.section, r.round, r.breath_s) for r in ranges} == {(0, 1, 5.0), (0, 2, 4.0)}
    first = next(r for r in ranges if (r.round, r.beats) == (1, 8))
    assert (first.bpm, first.low_bpm, first.high_bpm) == pytest.approx((96.0, 91.2, 100.8))
    assert first.holds(100.0)
    assert not first.holds(102.0)


@pytest.mark.parametrize(
    ("breath_s", "beats"),
    [
        (6.0, [4, 8, 12, 16]),
        (6.01, [8, 12, 16]),
        (4.0, [4, 8, 12]),
        (4.4, [4, 8, 12, 16]),
        (4.35, [4, 8, 12]),
        (1.2, [4]),
        (1.0, []),
    ],
)
def test_a_beat_lies_between_40_and_220_a_minute(breath_s: float, beats: list[int]) -> None:
    """60 n / b by hand; a breath of 6 s holds 4 beats at exactly 40."""
    assert [count for count, *_ in beats_of_breath(breath_s)] == beats


def test_a_breath_is_told_to_the_hundredth_and_each_pace_once() -> None:
    """Three breaths in ten seconds, and in 10.004: one pace; only poses that move with the breath have one."""

    def step(start_s: float, end_s: float, breaths: float | None, what: str = "pose", section: int = 0) -> Step:
        return Step(what, "plank", start_s, end_s, section, breaths=breaths, round=1 + section)

    sections = (SimpleNamespace(kind=Kind.FLOW), SimpleNamespace(kind=Kind.REST), SimpleNamespace(kind=Kind.PEAK))
    steps = (
        step(0, 10, 3), step(10, 20.004, 3), step(20, 30, None), step(30, 30, 3), step(30, 38, 2, "say"),
        step(40, 48, 2, section=1), step(50, 60, 3, section=2),
    )  # fmt: skip
    ranges = beat_ranges(SimpleNamespace(sections=sections, steps=steps))  # type: ignore[arg-type]
    assert list(dict.fromkeys((one.section, one.round, one.breath_s) for one in ranges)) == [(0, 1, 3.33), (2, 3, 3.33)]


def test_a_tempo_at_the_edge_of_a_range_still_meets_the_breath() -> None:
    found = BeatRange(0, 1, 5.0, 8, 96.0, 92.0, 100.0)
    assert [found.holds(bpm) for bpm in (91.9, 92.0, 100.0, 100.1)] == [False, True, True, False]
