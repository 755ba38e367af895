"""The gains that hold a class down, step by step from the rules in words."""

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from audio.render.span import Level, Span
from pairing.sets import shaping

FEW = settings(max_examples=30)
levels = st.lists(st.floats(-60, -5), min_size=1, max_size=60).map(np.array)


@FEW
@given(levels, st.data())
def test_a_cap_lowers_just_as_far_as_what_is_too_loud_around_asks(level: np.ndarray, data: st.DataObject) -> None:
    """From 0.8 s before to 0.8 s after; down by 3 dB a second at most, back by half a dB a second."""
    caps = st.sampled_from([math.inf, -20.0, -35.0])
    cap = np.array(data.draw(st.lists(caps, min_size=len(level), max_size=len(level))))
    count = len(level)
    needed = [min(cap[at] - level[at], 0.0) for at in range(count)]
    wide = [min([0.0, *needed[max(at - 8, 0) : at + 9]]) for at in range(count)]
    gain = shaping.capped(level, cap)
    for at in range(count):
        expected = min(
            wide[other] + (0.05 * (at - other) if other <= at else 0.3 * (other - at)) for other in range(count)
        )
        assert gain[at] == pytest.approx(min(expected, 0.0), abs=1e-9)


@FEW
@given(st.lists(st.floats(1e-9, 1), min_size=1, max_size=30).map(np.array))
def test_momentary_loudness_is_the_mean_of_four_tenths(power: np.ndarray) -> None:
    """EBU Tech 3341; before the first tenth stands silence."""
    for at, level in enumerate(shaping.momentary(power)):
        mean = sum(power[max(at - 3, 0) : at + 1]) / 4
        assert level == pytest.approx(max(-0.691 + 10 * math.log10(mean), -70.0), abs=1e-6)


def decibels(span: Span, at_s: float) -> float:
    return float(np.interp(at_s, [one.at_s for one in span.levels], [one.gain_db for one in span.levels]))


@FEW
@given(st.integers(0, 100))
def test_a_gain_is_laid_on_the_levels_a_span_has(seed: int) -> None:
    rng = np.random.default_rng(seed)
    gain = np.repeat(rng.uniform(-9, 0, 4), 30) * (rng.random() < 0.9)
    span = Span(Path("a.wav"), 2.05, 9.4, 0.0, 1.0, 1.0, (Level(2.05, -3.0), Level(5.0, 1.0), Level(9.4, 0.0)))
    made = shaping._under(span, gain)
    for at in np.arange(25, 94) / 10 + 0.05:
        own = decibels(span, float(at))
        assert decibels(made, float(at)) == pytest.approx(own + float(np.interp(at, (np.arange(120) + 0.5) / 10, gain)))
    assert all(span.mix_start_s <= level.at_s <= span.mix_end_s for level in made.levels)


def test_louder_by_so_much_throughout() -> None:
    span = Span(Path("a.wav"), 0.0, 9.0, 0.0, 1.0, 1.0, (Level(0.0, -3.0), Level(5.0, 1.0)))
    assert [level.gain_db for level in shaping._louder(span, 2.5).levels] == [-0.5, 3.5]


@pytest.mark.parametrize("starts_s", [0.0, 5.0])
@pytest.mark.parametrize("seed", range(6))
def test_the_track_before_the_rest_comes_down_to_it_and_only_sinks(
    seed: int, starts_s: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Down over 14 s, or half of what has been played, to its last three tenths; then never louder than it was."""
    rng = np.random.default_rng(seed)
    drift = np.cumsum(rng.normal(0, 1.5, 400))
    power = 10 ** ((-18 + drift - drift.mean()) / 10)
    monkeypatch.setattr(shaping, "forecast", lambda *_: power)
    monkeypatch.setattr(shaping, "_under", lambda _, gain: gain)
    level, most, first, last = shaping.momentary(power), -16.0, 300, 333
    span = Span(Path("a.wav"), starts_s, 33.3, 0.0, 1.0, 1.0, (Level(starts_s, 0.0),))
    gain = np.asarray(shaping._sunk(span, 30.0, most, 40.0))

    steps = round(10 * min(14.0, (30.0 - starts_s) / 2))
    down = min(most - max(level[first - 3 : first]), 0.0)
    expected = [0.0] * (first - steps) + [down * step / (steps - 1) for step in range(steps)]
    lowest, least = min(level[first - 1], most), down
    for at in range(first, last + 1):
        lowest = min(lowest, level[at])
        least = min(least, lowest - level[at])
        expected.append(least)
    expected += [least] * (400 - last - 1)
    assert gain == pytest.approx(np.array(expected), abs=1e-9)
