"""Beats on a breath, against the reference's own arithmetic: beats per half-breath = tempo x seconds / 60."""

import pytest

from pairing.effort.breath import beat_ranges, beats_of_breath
from pairing.effort.timetable import build_timetable
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
