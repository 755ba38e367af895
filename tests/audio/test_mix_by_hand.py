"""Mixes and what is reckoned for them, frame by frame and step by step in slow loops from the rules in words."""

import math
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st

from audio import worker
from audio.measure.loudness import Meter
from audio.render import fade, gain_ride, tenths
from audio.render.excerpt import excerpt
from audio.render.forecast import forecast
from audio.render.mixer import MIX_RATE, Sound, render
from audio.render.source import Source
from audio.render.span import Level, Span
from audio.render.tenths import powers_of, powers_of_samples, taken

LEFT, RIGHT = 0.5, 0.25
QUIET = (Level(0.0, 0.0),)


def tone(path: Path, left: float, right: float, seconds: float) -> Path:
    soundfile.write(path, np.tile([left, right], (round(seconds * MIX_RATE), 1)), MIX_RATE, subtype="FLOAT")
    return path


def decibels(levels: tuple[Level, ...], at_s: float) -> float:
    if at_s <= levels[0].at_s:
        return levels[0].gain_db
    for one, two in zip(levels, levels[1:]):
        if at_s <= two.at_s:
            return one.gain_db + (two.gain_db - one.gain_db) * (at_s - one.at_s) / (two.at_s - one.at_s)
    return levels[-1].gain_db


def quarter(share: float) -> float:
    return math.sin(min(max(share, 0.0), 1.0) * math.pi / 2)


def alone(span: Span, frame: int, *, fades_in: bool = True, fades_out: bool = True) -> float:
    """The factor on a span at a frame of the mix: its levels in dB, and a quarter of a sine at either edge."""
    first, last = round(span.mix_start_s * MIX_RATE), round(span.mix_end_s * MIX_RATE) - 1
    rise, fall = round(max(span.fade_in_s, 0.01) * MIX_RATE) - 1, round(max(span.fade_out_s, 0.01) * MIX_RATE) - 1
    factor = 10 ** (decibels(span.levels, frame / MIX_RATE) / 20)
    factor *= quarter((frame - first) / rise) if fades_in else 1.0
    return factor * (quarter((last - frame) / fall) if fades_out else 1.0)


@pytest.fixture
def two(tmp_path: Path) -> tuple[Span, Span]:
    """One on the left, one on the right, so that each is seen alone where both sound."""
    left, right = tone(tmp_path / "l.wav", LEFT, 0.0, 9.0), tone(tmp_path / "r.wav", 0.0, RIGHT, 9.0)
    one = Span(left, 0.5, 4.5, 1.0, 1.5, 0.7, (Level(1.0, -6.0), Level(2.0, -6.0), Level(3.3, 2.0)))
    return one, Span(right, 3.0, 7.25, 0.5, 1.0, 2.0, (Level(3.5, 0.0), Level(6.5, -12.0)))


def test_every_frame_of_a_mix_is_what_its_law_says(two: tuple[Span, Span]) -> None:
    one, other = two
    bell = Sound(1.9, np.tile(np.float32([0.01, 0.02]), (MIX_RATE // 2, 1)))
    mix = np.concatenate(list(render(two, 8.0, sounds=[bell], gain_db=-3.0)))
    loud = 10 ** (-3 / 20)
    first, last = round(3.0 * MIX_RATE), round(4.5 * MIX_RATE) - 1  # both sound
    for frame in [*range(0, 8 * MIX_RATE, 1777), first, last, last + 1, round(0.5 * MIX_RATE) + 1]:
        left = right = 0.0
        if 0.5 * MIX_RATE <= frame <= last:
            left = LEFT * alone(one, frame, fades_out=False)
            left *= math.cos(max(frame - first, 0) / (last - first) * math.pi / 2)
        if first <= frame < 7.25 * MIX_RATE:
            right = RIGHT * alone(other, frame, fades_in=False)
            right *= quarter((frame - first) / (last - first))
        if 1.9 * MIX_RATE <= frame < 2.4 * MIX_RATE:
            left, right = left + 0.01, right + 0.02
        assert mix[frame] == pytest.approx([loud * left, loud * right], abs=2e-5), frame
    assert len(mix) == 8 * MIX_RATE


@pytest.mark.parametrize("start_s", [0.0, 0.2, 1.3, 2.2, 3.5, 4.6, 5.0, 6.9, 7.5])
def test_an_excerpt_is_the_same_mix_from_there_on(two: tuple[Span, Span], start_s: float) -> None:
    bell = Sound(1.9, np.tile(np.float32([0.01, 0.02]), (MIX_RATE, 1)))
    whole = np.concatenate(list(render(two, 8.0, sounds=[bell])))
    start = round(start_s * MIX_RATE)
    part = np.concatenate(list(excerpt(two, 8.0, start, sounds=[bell])))
    np.testing.assert_allclose(part, whole[start:], atol=2e-6)


def test_the_forecast_is_the_power_of_the_rendered_mix(tmp_path: Path) -> None:
    rng = np.random.default_rng(3)
    paths = []
    for name in ("a", "b"):
        soundfile.write(
            tmp_path / f"{name}.wav", 0.05 * rng.standard_normal((9 * MIX_RATE, 2)), MIX_RATE, subtype="FLOAT"
        )
        paths.append(tmp_path / f"{name}.wav")
    one = Span(paths[0], 0.55, 4.5, 1.02, 1.5, 0.7, (Level(1.0, -6.0), Level(3.3, 2.0)))
    two = Span(paths[1], 2.5, 7.23, 0.5, 1.0, 2.0, (Level(3.5, 0.0), Level(6.5, -12.0)))
    three = Span(paths[0], 7.23, 9.0, 0.0, 0.0, 0.0, QUIET)
    bell = Sound(7.04, np.asarray(0.1 * rng.standard_normal((MIX_RATE, 2)), np.float32))
    foretold = forecast((one, two, three), 9.0, (bell,))
    heard = powers_of_samples(np.concatenate(list(render((one, two, three), 9.0, sounds=(bell,)))))
    assert len(foretold) == len(heard) == 90
    assert not foretold[:5].any()
    assert foretold[5] > 0, "half of this tenth is heard"
    difference = 10 * np.log10(foretold[6:] / heard[6:])
    assert np.abs(difference).mean() < 0.1
    assert np.abs(difference).max() < 1.0


def test_what_sounds_between_moments_is_a_sum_of_tenths(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    soundfile.write(path, 0.1 * np.random.default_rng(1).standard_normal((2 * MIX_RATE, 2)), MIX_RATE, subtype="FLOAT")
    steps = powers_of(path)
    assert len(steps) == 20
    got = taken(path, np.array([-1.0, 0.0, 0.05, 0.1, 0.35, 1.0, 5.0]))
    whole = [
        0.0,
        steps[0] / 2,
        steps[0] / 2,
        steps[1] + steps[2] + steps[3] / 2,
        steps[3] / 2 + steps[4:10].sum(),
        steps[10:].sum(),
    ]
    assert got == pytest.approx(whole)
    with Source(path, 0.0, MIX_RATE) as source:
        meter = Meter(MIX_RATE, (1.0, 1.0))
        meter.feed(source.read(2 * MIX_RATE))
    power = meter.read().power
    assert steps == pytest.approx([power[at : at + 10].mean() for at in range(0, 200, 10)], rel=0.002)


@pytest.mark.parametrize(("rate", "channels"), [(MIX_RATE, 2), (MIX_RATE, 1), (48_000, 2)])
def test_a_scan_keeps_it_for_what_is_played_as_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, rate: int, channels: int
) -> None:
    path = tmp_path / "a.wav"
    soundfile.write(path, 0.1 * np.random.default_rng(1).standard_normal((6 * rate, channels)), rate, subtype="FLOAT")
    assert worker.measure(path).analysis
    asked = []
    measured = tenths._measured(path)
    monkeypatch.setattr(tenths, "_measured", lambda path: asked.append(path) or measured)
    assert powers_of(path) == pytest.approx(measured, rel=0.003)  # 0.01 LU
    assert bool(asked) == ((rate, channels) != (MIX_RATE, 2))


class Touch:
    """Makes a file when it is unpickled."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def __reduce__(self) -> tuple[object, ...]:
        return Path.touch, (self.path,)


def test_what_is_remembered_is_numbers_and_never_run(tmp_path: Path) -> None:
    kept, touched = tmp_path / "kept.npy", tmp_path / "touched"
    np.save(kept, np.array([Touch(touched)], dtype=object), allow_pickle=True)
    assert tenths._read(kept) is None
    assert not touched.exists()
    np.save(kept, np.array([-2000, -20_000], "<i2"))
    assert tenths._read(kept) == pytest.approx([10 ** ((-20 + 0.691) / 10), 0.0])


def test_six_channels_come_down_to_two_as_bs_775_has_it(tmp_path: Path) -> None:
    """ITU-R BS.775-3, annex 4: centre and surrounds 3 dB down, no low-frequency channel. Order of WAVE: FL FR FC LFE BL BR."""
    parts = np.array([0.1, 0.2, 0.3, 0.4, 0.05, 0.15])
    path = tmp_path / "six.wav"
    soundfile.write(path, np.tile(parts, (MIX_RATE, 1)), MIX_RATE, subtype="FLOAT")
    with Source(path, 0.0, MIX_RATE) as source:
        left, right = source.read(100)[50]
    down = 10 ** (-3 / 20)
    assert left == pytest.approx(0.1 + down * (0.3 + 0.05), rel=0.005)
    assert right == pytest.approx(0.2 + down * (0.3 + 0.15), rel=0.005)


# ---- the ride of the gain ----------------------------------------------------------------------------------------

powers = st.lists(st.floats(1e-9, 1.0), min_size=1, max_size=90).map(np.array)


@given(powers)
def test_short_term_loudness_is_the_mean_of_three_seconds(power: np.ndarray) -> None:
    """EBU Tech 3341: -0.691 + 10 log10 of the mean square of the last 3 s."""
    for step, level in enumerate(gain_ride.short_term(power)):
        window = power[max(step - 29, 0) : step + 1]
        assert level == pytest.approx(max(-0.691 + 10 * math.log10(window.mean()), -70.0), abs=1e-6)


@settings(max_examples=30)
@given(st.lists(st.floats(-60, -5), min_size=31, max_size=80).map(np.array), st.integers(0, 20), st.floats(-60, -5))
def test_rises_are_those_of_every_two_moments_within_three_seconds(level: np.ndarray, first: int, floor: float) -> None:
    pairs, worst = gain_ride._rises(level, first, floor)
    found = {
        (now, then): level[now] - level[then]
        for now in range(max(30, first + 30), len(level))
        for then in range(now - 30, now + 1)
        if level[now] > floor
    }
    assert worst == pytest.approx(max([0.0, *found.values()]))
    for now, then in pairs.tolist():
        lowest = level[now - 30 : now + 1].min()
        assert level[now] - lowest > gain_ride.AIM_LU
        assert then in (now - 15, now - 30) or level[then] == lowest
    if worst > gain_ride.AIM_LU:
        assert any(level[now] - level[then] == worst for now, then in pairs.tolist())


def test_how_a_level_moves_with_each_knot_is_its_derivative() -> None:
    rng = np.random.default_rng(2)
    power, gains = rng.uniform(1e-4, 1e-2, 53), rng.uniform(-6, 0, 12)

    def level(knots: np.ndarray) -> np.ndarray:
        at = [np.interp((step + 0.5) / 5, range(12), knots) for step in range(53)]
        return gain_ride.short_term(power * 10 ** (np.array(at) / 10))

    sense = gain_ride._sensitivity(power, gains).toarray()
    for knot in range(12):
        more, less = gains.copy(), gains.copy()
        more[knot] += 1e-4
        less[knot] -= 1e-4
        assert sense[:, knot] == pytest.approx((level(more) - level(less)) / 2e-4, abs=1e-4)


def test_one_step_of_the_ride_keeps_to_its_bounds_and_takes_the_rise_out() -> None:
    power = np.repeat([1e-5, 1e-3], [60, 60])
    level, gains = gain_ride.short_term(power), np.zeros(25)
    floor = gain_ride._floor(level)
    assert floor == pytest.approx(float(np.median(level)) - 7.0)
    pairs, worst = gain_ride._rises(level, 0, floor)
    made = gain_ride._least_lowering(power, gains, level, pairs, trust=8.0, still=3, floor=floor, up=np.full(24, 0.25))
    assert not made[:3].any()
    assert made.max() <= 1e-9
    assert made.min() >= -8.0 - 1e-9
    assert np.diff(made).max() <= 0.25 + 1e-9
    after = gain_ride.short_term(power * 10 ** (gain_ride._at_steps(made, 120) / 10))
    assert gain_ride._rises(after, 0, floor)[1] < worst - 5.0


@pytest.mark.parametrize(("still_s", "knots"), [(0.0, 0), (3.0, 6)])
def test_a_ride_leaves_alone_what_it_is_told_to(still_s: float, knots: int) -> None:
    power = np.repeat([1e-5, 1e-3, 1e-3], [50, 60, 60])
    gains = gain_ride.ride(power, still_s=still_s)
    assert len(gains) == 35
    assert not gains[:knots].any()
    assert gains.min() < -5
    assert not gain_ride.ride(power, from_s=9.0).any(), "the rise belongs to the fade-in"


def test_the_gain_comes_back_by_half_a_decibel_a_second_and_half_of_what_the_music_falls() -> None:
    """From knot to knot, half a second apart; the level of a knot is that of the window of 3 s around it."""
    level = np.random.default_rng(7).uniform(-40, -10, 61)
    found = gain_ride._ways_up(level, 13)
    for knot in range(12):
        here, there = (level[min(5 * each + 15, 60)] for each in (knot, knot + 1))
        assert found[knot] == pytest.approx(0.25 + 0.5 * max(here - there, 0.0))
    assert gain_ride._ways_up(np.zeros(0), 4).tolist() == [0.25] * 3


def test_a_rise_counts_from_seven_below_the_median_of_what_is_heard() -> None:
    assert gain_ride._floor(np.array([-70.0, -30.0, -20.0, -28.0])) == -35.0
    assert gain_ride._floor(np.full(5, -70.0)) == gain_ride._floor(np.zeros(0)) == 0.0


def test_the_loudness_of_tenths_is_that_of_blocks_of_four_through_the_gates() -> None:
    """ITU-R BS.1770-4: blocks of 0.4 s, a quarter of one apart; -70 LUFS, then 10 LU below the mean of those."""
    power = np.concatenate((np.full(30, 1e-2), np.full(30, 1e-9), np.full(30, 4e-3), np.full(30, 1e-5)))
    blocks = np.array([power[at : at + 4].mean() for at in range(117)])
    loud = blocks[-0.691 + 10 * np.log10(blocks) > -70]
    loud = loud[loud > loud.mean() / 10]
    assert gain_ride._integrated(power) == pytest.approx(-0.691 + 10 * math.log10(loud.mean()))
    assert gain_ride._integrated(np.zeros(30)) == 0.0


def test_two_gains_are_added_second_by_second() -> None:
    own, ride = (Level(2.0, -3.0), Level(10.0, 5.0)), [(0.0, -1.0), (4.0, -5.0), (6.0, 0.0)]
    made = gain_ride._added(own, ride)
    assert [level.at_s for level in made] == [0.0, 2.0, 4.0, 6.0, 10.0]
    for at_s in np.arange(0, 12, 0.25).tolist():
        second = decibels(tuple(Level(*each) for each in ride), at_s)
        assert decibels(made, at_s) == pytest.approx(decibels(own, at_s) + second)


@pytest.mark.parametrize(("settled_s", "given_back"), [(4.0, True), (30.0, True), (56.9, True), (57.0, False)])
def test_what_a_ride_takes_is_given_back_over_what_is_heard_once_it_has_settled(
    settled_s: float, given_back: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """60 s with a step up of 20 dB after the tenth; 4 s of fade-in, none out; of 3 s and less nothing is compared."""
    power = np.repeat([1e-5, 1e-3], [100, 500])
    monkeypatch.setattr(gain_ride, "powers", lambda *_: power)
    own = ((0.0, 2.0), (30.0, 2.0))
    key = Path(f"settled {settled_s}"), 0
    gains = np.array(gain_ride._ride(key, 0.0, 60.0, (4.0, settled_s, 0.0), own))
    at = (np.arange(600) + 0.5) / 10
    if given_back:
        after = power * 10 ** (np.interp(at, 0.5 * np.arange(len(gains)), gains) / 10)
        heard = gain_ride._integrated(power[at > 4.0])
        assert gain_ride._integrated(after[at > settled_s]) == pytest.approx(heard, abs=0.01)
    else:
        assert gains.max() == 0.0
    monkeypatch.setattr(gain_ride, "powers", lambda *_: np.full(600, 1e-3))
    assert gain_ride._ride((Path("even"), 0), 0.0, 60.0, (4.0, settled_s, 0.0), own) == ()


def test_a_span_takes_the_ride_on_top_of_its_own_levels(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = []
    gains = (0.0, -1.0, -2.0, -3.0, -1.0, -1.0, -1.0, -1.0, -0.5, 0.0, 7.0)
    monkeypatch.setattr(gain_ride, "_ride", lambda *words: asked.append(words) or gains)
    span = Span(Path("a.flac"), 20.0, 24.6, 3.0, 1.0, 0.5, (Level(21.0, -6.0), Level(24.0, -2.0)))
    made = gain_ride.evened(span, settled_s=2.0)
    seen, start_s, length_s, edges_s, own = asked[0]
    assert (seen[0], start_s, edges_s, own) == (span.path, 3.0, (1.0, 2.0, 0.5), ((1.0, -6.0), (4.0, -2.0)))
    assert length_s == pytest.approx(4.6)
    for at_s in np.arange(20.0, 24.5, 0.1).tolist():
        ride = float(np.interp(at_s, 20 + 0.5 * np.arange(11), gains))
        assert decibels(made.levels, at_s) == pytest.approx(decibels(span.levels, at_s) + ride)
    assert max(level.at_s for level in made.levels) <= 24.6
    assert len(made.levels) == 7  # where the ride bends, and the span's own
    assert gain_ride.evened(span).fade_in_s == 1.0
    assert asked[1][3] == (1.0, 1.0, 0.5)


@given(st.lists(st.tuples(st.floats(-1, 1), st.floats(-1, 1)), min_size=8, max_size=70))
def test_the_correlation_of_an_overlap_is_that_of_the_second_around(pairs: list[tuple[float, float]]) -> None:
    """Four hops a second; each window the hop, two before and two after it."""
    one, other = (np.repeat(np.float32(each)[:, None], 2, axis=1) for each in zip(*pairs))
    found = fade.correlation(one, other, rate=16)
    hops = range(0, len(one), 4)
    for hop in hops:
        window = slice(max(hop - 8, 0), hop + 12)
        a, b = one[window].astype(float), other[window].astype(float)
        power = math.sqrt((a * a).sum() * (b * b).sum())
        expected = min(max((a * b).sum() / power, -0.5), 1.0) if power > 1e-12 else 0.0
        if len(one) - hop >= 4:
            middle = hop + 2
            if middle < len(one) and power > 1e-6:
                assert found[middle] == pytest.approx(expected, abs=1e-3)
