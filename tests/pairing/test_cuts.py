"""Where tracks can be entered and left."""

import dataclasses

import invented_music
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from audio.track import CutPoint, Track
from pairing.alignment import cuts

EVERY = np.array([True])


def with_cuts(*points: CutPoint, duration_s: float = 200.0) -> Track:
    made = invented_music.track(1, 0.5, duration_s)
    return dataclasses.replace(made, analysis=made.analysis.but(cut_points=points))


def costs(table: cuts.CutTable, index: int = 0) -> dict[int, float]:
    part = slice(table.offset[index], table.offset[index + 1])
    return dict(zip(table.at[part].tolist(), table.cost[part].tolist(), strict=True))


@given(seed=st.integers(0, 1000), number=st.integers(1, 12))
def test_tables_are_ascending_within_each_track_and_inside_it(seed: int, number: int) -> None:
    tracks = invented_music.library(number, seed)
    known = cuts.points(tracks)
    for table in (cuts.enter_table(known), cuts.leave_table(known, np.arange(number) % 2 == 0)):
        assert len(table.offset) == number + 1
        for index, track in enumerate(tracks):
            at = table.at[table.offset[index] : table.offset[index + 1]]
            assert len(at)
            assert (np.diff(at) > 0).all()
            assert at[0] >= 0
            assert at[-1] <= track.analysis.duration_s


def test_a_phrase_is_a_cheap_place_to_leave_and_between_phrases_a_dear_one() -> None:
    leave = costs(
        cuts.leave_table(
            cuts.points([with_cuts(CutPoint(0, 0, 1), CutPoint(99.7, 0.2, 0.2), CutPoint(200, 1, 0))]), EVERY
        )
    )
    assert leave[100] < leave[99]
    assert leave[99] > cuts.FADE_COST - 0.01


def test_an_ending_costs_nothing_while_the_cross_fade_plays_it_out() -> None:
    leave = costs(cuts.leave_table(cuts.points([with_cuts(CutPoint(0, 0, 1), CutPoint(198.5, 1, 0))]), EVERY))
    assert [leave[second] for second in (186, 190, 195)] == pytest.approx([0, 0, 0])
    assert max(leave) == 195, "something is left to cross-fade, and to move a hand-over by"


def test_a_lost_ending_costs_more_than_a_lost_intro_of_the_same_length() -> None:
    track = with_cuts(CutPoint(0, 0, 1), CutPoint(40, 0.2, 0.2), CutPoint(160, 0.2, 0.2), CutPoint(200, 1, 0))
    assert costs(cuts.leave_table(cuts.points([track]), EVERY))[160] > costs(cuts.enter_table(cuts.points([track])))[40]


def test_a_track_without_cut_points_is_entered_at_its_start() -> None:
    track = with_cuts()
    assert costs(cuts.enter_table(cuts.points([track]))) == {0: 0}
    assert costs(cuts.leave_table(cuts.points([track]), EVERY))[195] == 0


def test_the_exact_moment_behind_a_grid_second() -> None:
    analysis = with_cuts(CutPoint(0.2, 0, 1), CutPoint(99.7, 0.2, 0.2)).analysis
    assert cuts.exact_second(analysis, 100) == 99.7
    assert cuts.exact_second(analysis, 50) == 50
