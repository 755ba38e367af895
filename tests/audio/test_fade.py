"""Gain laws against their definition: the power of the sum stays 1."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from audio.render.fade import correlation, equal_power


@given(samples=st.integers(2, 48_000), r=st.floats(0, 1))
def test_equal_power_keeps_the_power_at_every_sample(samples: int, r: float) -> None:
    going, coming = (gain.astype(float) for gain in equal_power(samples, r))
    np.testing.assert_allclose(going**2 + coming**2 + 2 * r * going * coming, 1.0, atol=1e-5)
    assert going[0] == pytest.approx(1.0)
    assert coming[-1] == pytest.approx(1.0)
    assert going[-1] == coming[0] == 0.0


# Equal power: cos and sin, -3.01 dB each in the middle; linear for identical material, -6.02 dB (arithmetic)
@pytest.mark.parametrize(("r", "middle_db"), [(0.0, -3.01), (1.0, -6.02)])
def test_the_middle_of_an_overlap(r: float, middle_db: float) -> None:
    going, _ = equal_power(10_001, r)
    assert 20 * np.log10(going[5_000]) == pytest.approx(middle_db, abs=0.005)


def test_two_unrelated_noises_keep_their_level_through_the_overlap() -> None:
    noise = np.random.default_rng(7).standard_normal((2, 4 * 44_100)).astype(np.float32)
    going, coming = equal_power(noise.shape[1])
    mixed = noise[0] * going + noise[1] * coming
    levels = [10 * np.log10(np.mean(part**2)) for part in np.array_split(mixed, 8)]
    assert max(levels) - min(levels) < 0.3


def test_correlation_of_the_same_unrelated_opposite_and_silent_music() -> None:
    rng = np.random.default_rng(3)
    one, other = rng.standard_normal((2, 44_100, 2)).astype(np.float32)
    rate = len(one) // 3
    np.testing.assert_allclose(correlation(one, one, rate), 1.0, atol=1e-5)
    assert np.abs(correlation(one, other, rate)).max() < 0.1
    np.testing.assert_allclose(correlation(one, -one, rate), -0.5)
    assert not correlation(one, np.zeros_like(one), rate).any()
    turning = one * np.sign(np.arange(len(one)) - len(one) / 2)[:, None].astype(np.float32)
    found = correlation(one, turning, rate)
    assert found[0] == -0.5
    assert found[-1] == pytest.approx(1.0, abs=1e-3)


@pytest.mark.parametrize(("samples", "r"), [(1, 0.0), (10, -0.6), (10, 1.1)])
def test_wrong_calls_are_named(samples: int, r: float) -> None:
    with pytest.raises(ValueError, match=r"needs 2 samples|outside -0.5 to 1"):
        equal_power(samples, r)


@pytest.mark.parametrize("values", [(-0.6, 0.0, 0.5), (0.0, 0.5, 1.1), (-1.0, 2.0, 0.0)])
def test_no_moment_of_a_correlation_may_lie_outside_its_range(values: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match="is outside"):
        equal_power(3, np.array(values))
    assert len(equal_power(3, np.clip(values, -0.5, 1.0))[0]) == 3
