"""A gain that lets nothing rise suddenly; what is heard is measured by libebur128 (EBU R 128), by its Python binding."""

import os
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from audio.render.gain_ride import MOST_RISE_LU, NEAR_MEDIAN_LU, evened, ride, short_term
from audio.render.mixer import MIX_RATE, render
from audio.render.span import Level, Span

RATE = 11_025
LENGTH_S = 100
FADE_IN_S, FADE_OUT_S = 8.0, 10.0
Samples = NDArray[np.float32]


def restless(seed: int) -> Samples:
    """Noise as music can be: steps up and down, swells of a few seconds, notes out of near silence, a beat."""
    rng = np.random.default_rng(seed)
    time = np.arange(LENGTH_S * RATE) / RATE
    at, level, knots = 0.0, -20.0, [(0.0, -20.0)]
    while at < LENGTH_S:
        at += float(rng.uniform(3, 20))
        until = float(rng.choice((0.02, 0.5, 2.5, 6.0)))
        knots += [(at, level), (at + until, level := float(rng.uniform(-40, 0)))]
        at += until
    shape = np.interp(time, *np.array(knots).T)
    notes = np.exp(-(time % 4.0)) * (time > 70) + (time <= 70)
    beat = 1 - 0.8 * (np.sin(2 * np.pi * time) > 0) * (time > 40) * (time < 60)
    noise = rng.standard_normal((len(time) + 1, 2))
    return np.asarray((noise[1:] + noise[:-1]) * 0.05 * (10 ** (shape / 20) * notes * beat)[:, None], np.float32)


def played(path: Path, samples: Samples, *, even: bool) -> tuple[Span, Samples]:
    soundfile.write(path, samples, RATE, subtype="FLOAT")
    length_s = len(samples) / RATE
    # It sinks, as the first music of a rest does.
    levels = (Level(0.0, 6.0), Level(30.0, 0.0))
    span = Span(path, 0.0, length_s, 0.0, FADE_IN_S, FADE_OUT_S, levels)
    span = evened(span) if even else span
    return span, np.concatenate(list(render([span], length_s)))


def meter(samples: Samples, mode: str) -> object:
    ebur128 = pytest.importorskip("pyebur128")
    state = ebur128.R128State(2, MIX_RATE, getattr(ebur128.MeasurementMode, mode))
    state.add_frames(np.ascontiguousarray(samples).ravel(), len(samples))
    return state


def largest_rise(samples: Samples) -> float:
    """Of short-term loudness within 3 s, ending above the median less 3 LU; the fade-in aside."""
    ebur128 = pytest.importorskip("pyebur128")
    state = ebur128.R128State(2, MIX_RATE, ebur128.MeasurementMode.MODE_S)
    step, values = MIX_RATE // 10, []
    for start in range(0, len(samples) - step + 1, step):
        state.add_frames(np.ascontiguousarray(samples[start : start + step]).ravel(), step)
        values.append(ebur128.get_loudness_shortterm(state))
    level = np.maximum(np.array(values), -70.0)
    floor = np.median(level) - NEAR_MEDIAN_LU
    rises = [level[i] - level[i - 30 : i + 1].min() for i in range(int(10 * (FADE_IN_S + 3)), len(level))]
    return float(np.max(rises, where=level[-len(rises) :] > floor, initial=0.0))


@pytest.mark.parametrize("seed", range(3))
def test_however_restless_the_music_nothing_in_it_rises_suddenly(tmp_path: Path, seed: int) -> None:
    music = restless(seed)
    _, plain = played(tmp_path / "plain.wav", music, even=False)
    _, even = played(tmp_path / "even.wav", music, even=True)
    assert largest_rise(plain) > MOST_RISE_LU, "the music itself rises by more"
    assert largest_rise(even) <= MOST_RISE_LU


def test_the_whole_keeps_its_loudness(tmp_path: Path) -> None:
    ebur128 = pytest.importorskip("pyebur128")
    music = restless(1)
    _, plain = played(tmp_path / "plain.wav", music, even=False)
    _, even = played(tmp_path / "even.wav", music, even=True)
    inside = slice(int(FADE_IN_S * MIX_RATE), int((LENGTH_S - FADE_OUT_S) * MIX_RATE))
    before, after = (ebur128.get_loudness_global(meter(each[inside], "MODE_I")) for each in (plain, even))
    assert after == pytest.approx(before, abs=0.2)


def test_music_that_rises_slowly_or_stays_quiet_is_left_as_it_is(tmp_path: Path) -> None:
    rng = np.random.default_rng(5)
    time = np.arange(60 * RATE) / RATE
    slow = 10 ** (np.interp(time, [0, 20, 50, 60], [-30, -30, -9, -9]) / 20)
    quiet = 10 ** (np.where((time > 30) & (time < 34), -25.0, np.where((time > 28) & (time < 36), -45.0, 0.0)) / 20)
    for shape in (slow, quiet[: 35 * RATE]):
        noise = np.asarray(rng.standard_normal((len(shape), 2)) * 0.05 * shape[:, None], np.float32)
        span, _ = played(tmp_path / "a.wav", noise, even=False)
        assert evened(span) == span
    assert not ride(np.zeros(600)).any()
    assert not ride(np.zeros(0)).any()


def test_the_gain_comes_back_slowly_and_falls_with_the_rise() -> None:
    steps = np.arange(900)
    power = 1e-4 * 10 ** (np.where((steps > 400) & (steps < 700), 0.0, -12.0) / 10)
    gains = ride(power, 5.0)
    assert gains.max() <= 0.0
    assert np.diff(gains)[:130].max() <= 0.5 * 0.5 + 1e-6  # half a LU a second, at knots half a second apart
    falling = np.flatnonzero(np.diff(gains) < -0.5 - 1e-6)
    assert falling.min() >= 77
    assert falling.max() <= 84  # around the step at 40 s, from one length of a window before
    level = short_term(power * 10 ** (np.interp(steps / 5, np.arange(len(gains)), gains) / 10))
    assert level[430] - level[400] <= MOST_RISE_LU


def test_music_that_swells_again_and_again_is_not_held_down_further_each_time() -> None:
    """Six LU up in 3 s and down in 5 s; where the gain comes back quicker than elsewhere, the music itself falls."""
    time = np.arange(1200) / 10
    power = 1e-3 * 10 ** (0.6 * np.interp(time % 8.0, [0.0, 3.0, 8.0], [-1.0, 0.0, -1.0]))
    knots = ride(power)
    after = power * 10 ** (np.interp((np.arange(1200) + 0.5) / 5, np.arange(241), knots) / 10)
    plain, heard = short_term(power), short_term(after)
    rises = [[each[t] - each[t - 30 : t + 1].min() for t in range(60, 1200)] for each in (plain, heard)]
    assert max(rises[0]) > MOST_RISE_LU
    assert max(rises[1]) <= MOST_RISE_LU
    assert 10 * np.log10(power[100:].sum() / after[100:].sum()) < 3.0
    quick = np.flatnonzero(np.diff(knots)[:230] > 0.25 + 1e-6)  # half a LU a second, at knots half a second apart
    assert len(quick) > 10
    for knot in quick.tolist():
        falls = plain[5 * knot + 15] - plain[5 * knot + 20]  # of the 3 s around
        assert np.diff(knots)[knot] - 0.25 <= falls / 2 + 1e-6


def test_a_file_that_has_changed_is_measured_anew(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    span, _ = played(path, restless(0), even=False)
    assert evened(span) != span
    flat = np.asarray(np.random.default_rng(1).standard_normal((LENGTH_S * RATE, 2)) * 0.05, np.float32)
    soundfile.write(path, flat, RATE, subtype="FLOAT")
    os.utime(path, (1e9, 1e9))  # a clock that ticks coarsely would hide the change
    assert evened(span) == span
