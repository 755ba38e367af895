"""When the beats of two tracks can be made to meet, by arithmetic."""

import numpy as np
import pytest

from audio.render.stretch import meeting_rate


def beats(bpm: float, first_s: float = 0.0, seconds: float = 12.0) -> np.ndarray:
    return np.arange(first_s, seconds, 60 / bpm)


@pytest.mark.parametrize(("going", "coming"), [(120, 120), (120, 122), (120, 118), (100, 103.9), (100, 96.2)])
def test_the_going_track_runs_at_the_ratio_of_the_tempos(going: float, coming: float) -> None:
    assert meeting_rate(beats(going), beats(coming), 10.0) == pytest.approx(coming / going, rel=1e-3)


@pytest.mark.parametrize(
    ("going", "coming"),
    [
        (beats(120), beats(126)),  # 5 % apart
        (beats(120), beats(114)),
        (beats(120), beats(120, first_s=0.2)),  # out of phase by 0.4 of a beat
        (beats(120, seconds=1.0), beats(120)),  # two beats only
        (beats(120), beats(120, seconds=1.0)),
        (np.zeros(0), beats(120)),
    ],
)
def test_what_is_too_far_apart_is_left_to_a_plain_fade(going: np.ndarray, coming: np.ndarray) -> None:
    assert meeting_rate(going, coming, 10.0) is None


def test_beats_outside_the_overlap_decide_nothing() -> None:
    """Where the tempo changes right behind the overlap, and before it."""
    inside = beats(120, seconds=6.0)
    before, behind = np.arange(-5.0, -0.3, 0.31), np.arange(6.5, 12.0, 0.31)
    expected = meeting_rate(inside, beats(122, seconds=6.0), 6.0)
    assert meeting_rate(np.concatenate([before, inside, behind]), beats(122), 6.0) == pytest.approx(expected, rel=1e-3)


def test_a_little_out_of_phase_still_meets_at_the_end() -> None:
    rate = meeting_rate(beats(120), beats(120, first_s=0.05), 10.0)
    assert rate is not None
    assert 0.99 < rate < 1.0  # the going track, a twentieth of a second early, is held back
