"""The played curve against the law of the equal-power cross-fade."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pairing.model import Pick
from pairing.sets.played import correlation, played_energy, power, rmse


def pick(start_s: float, end_s: float, *, fade_in_s: float = 0.0, fade_out_s: float = 0.0, at_s: float = 0.0) -> Pick:
    return Pick(1, 1, "f", "p", "t", "", start_s, end_s, at_s, fade_in_s, fade_out_s, 0.0, "")


@given(start=st.floats(20, 60), fade=st.floats(1, 15))
def test_two_tracks_of_one_energy_keep_it_through_their_cross_fade(start: float, fade: float) -> None:
    # g1² + g2² = 1 with quarter turns of a sine: trade standard, see "Fades" in docs/pairing.md
    one, two = pick(0, start + fade, fade_out_s=fade), pick(start, 100, fade_in_s=fade)
    flat = np.full(200, 0.6, np.float32)
    assert played_energy([one, two], [flat, flat], 100) == pytest.approx(0.6, abs=1e-6)


def test_the_middle_of_a_fade_is_half_the_power() -> None:
    # cos(pi/4)² = 0.5, that is -3.01 dB
    assert power(pick(0, 20, fade_in_s=10), np.array([5.0]))[0] == pytest.approx(0.5)


def test_a_track_is_heard_where_it_was_entered() -> None:
    ramp = np.arange(100, dtype=np.float32) / 100
    heard = played_energy([pick(10, 20, at_s=50)], [ramp], 30)
    assert heard[10:20] == pytest.approx(np.arange(50, 60) / 100, abs=1e-6)
    assert not heard[:10].any()
    assert not heard[20:].any()


def test_a_class_that_ends_within_a_second_has_a_value_for_the_part() -> None:
    heard = played_energy([pick(0, 10.5)], [np.full(20, 0.4, np.float32)], 10.5)
    assert len(heard) == 11
    assert heard == pytest.approx(0.4, abs=1e-6)


def test_music_outside_the_class_does_not_count() -> None:
    heard = played_energy([pick(-30, 40)], [np.full(100, 0.5, np.float32)], 20)
    assert len(heard) == 20
    assert heard == pytest.approx(0.5, abs=1e-6)


def test_figures_leave_out_seconds_without_music() -> None:
    played = np.array([0.2, 0.4, np.nan, 0.6], np.float32)
    target = np.array([0.1, 0.4, 0.9, 0.8], np.float32)
    assert rmse(played, target) == pytest.approx(np.sqrt((0.01 + 0 + 0.04) / 3), abs=1e-6)
    assert correlation(played, target) == pytest.approx(np.corrcoef([0.2, 0.4, 0.6], [0.1, 0.4, 0.8])[0, 1], abs=1e-6)


def test_a_flat_curve_has_no_correlation() -> None:
    assert correlation(np.full(9, 0.5, np.float32), np.arange(9, dtype=np.float32)) == 0.0
