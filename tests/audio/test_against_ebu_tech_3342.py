"""Loudness range against EBU Tech 3342 (signals of table 1, 1-kHz stereo sines, tolerance 1 LU) and a second meter."""

import numpy as np
import pytest
from test_against_ebu_tech_3341 import RATES, measured, tone

# Peak dBFS and seconds; expected LU. Case 4 is from memory of the document. 5 and 6 are programmes.
CASES = {
    1: ([(-20, 20), (-30, 20)], 10),
    2: ([(-20, 20), (-15, 20)], 5),
    3: ([(-40, 20), (-20, 20)], 20),
    4: ([(-50, 20), (-35, 20), (-20, 20), (-35, 20), (-50, 20)], 15),
}


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("case", CASES)
def test_loudness_range_of_steps(case, rate):
    steps, expected = CASES[case]
    assert measured(tone(steps, rate), rate).range_lu == pytest.approx(expected, abs=1.0)


@pytest.mark.parametrize("down", [1, -1])
def test_loudness_range_lies_between_the_10th_and_the_95th_percentile(down):
    """Tech 3342, section 2: of levels that are spread evenly the range is 85 % of their spread, whichever way they go.

    97 s of windows of 3 s lie in 100 s of sound that climbs by 0.2 dB a second; none falls below the gate.
    """
    climb = np.linspace(-40, -20, 100 * 48_000)[::down]
    sound = (10 ** (climb / 20) * np.sin(2 * np.pi * 1000 * np.arange(len(climb)) / 48_000)).astype(np.float32)
    assert measured(sound, 48_000).range_lu == pytest.approx(0.85 * 97 * 0.2, abs=0.05)


def test_what_lies_20_lu_below_the_mean_counts_in_no_range():
    """Tech 3342, section 2: the relative gate, from either side of it."""
    for quiet_db, counts in [(-39, True), (-44, False)]:
        sound = tone([(quiet_db, 40), (-20, 60)], 48_000)
        assert (measured(sound, 48_000).range_lu > 10) == counts


def test_a_piece_without_a_whole_window_has_no_range():
    assert measured(tone([(-20, 2)], 48_000), 48_000).range_lu == 0.0


@pytest.mark.parametrize("rate", RATES)
def test_agrees_with_an_independent_meter_on_music_like_sound(rate):
    """libebur128 (its Python binding pyebur128) on noise whose colour and level wander: 0.1 LU and 0.1 dB."""
    pyebur128 = pytest.importorskip("pyebur128")
    random = np.random.default_rng(3341)
    frames = 60 * rate
    level = np.interp(np.arange(frames), np.linspace(0, frames, 25), random.uniform(0.02, 0.5, 25))
    noise = random.standard_normal((frames, 2)).astype(np.float32)
    noise = (noise + 3 * np.cumsum(noise, axis=0) * 0.01) * level[:, None].astype(np.float32) * 0.2
    noise = np.ascontiguousarray(np.clip(noise - noise.mean(axis=0), -1, 1), np.float32)
    mode = pyebur128.MeasurementMode
    other = pyebur128.R128State(2, rate, mode.MODE_I | mode.MODE_TRUE_PEAK)
    other.add_frames(noise.ravel(), frames)
    ours = measured(noise, rate)
    assert ours.integrated_lufs == pytest.approx(pyebur128.get_loudness_global(other), abs=0.1)
    theirs = max(pyebur128.get_true_peak(other, channel) for channel in (0, 1))
    assert ours.true_peak_dbtp == pytest.approx(20 * np.log10(theirs), abs=0.1)
