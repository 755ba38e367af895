"""Measures beside their definitions as the papers have them, frame by frame and lag by lag, on small random input."""

import dataclasses
import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from audio import constants
from audio.measure import bars, beats, energy, loudness, onsets, phrases, rises, tempo
from audio.measure.beat_network import Pulse
from audio.measure.beats import Beats
from audio.measure.features import BANDS, CHROMA_PER_S, Features, FeatureStream
from audio.measure.spectrum import FRAMES_PER_S, RATE
from audio.measure.windows import Windows

FEW = settings(max_examples=25)
FRAMES = 900  # ten seconds and a half


def features(seed: int, frames: int = FRAMES) -> Features:
    rng = np.random.default_rng(seed)
    slow = 1 + round(frames / FRAMES_PER_S * CHROMA_PER_S)
    bands = (rng.uniform(-90, -10, (frames, 1)) + rng.uniform(-15, 15, (frames, BANDS))).astype(np.float16)
    chroma = rng.uniform(0, 1, (slow, 12)).astype(np.float32)
    flat = rng.uniform(0.3, 0.6, slow).astype(np.float32)
    power, entropy, flux, treble = rng.uniform(0, 1, (4, frames)).astype(np.float32)
    return Features(bands, power, entropy, flux, treble, chroma, flat)


# ---- the spectrum of a frame -------------------------------------------------------------------------------------


def test_a_frame_is_described_as_its_docstring_says() -> None:
    """Entropy of the magnitudes over its maximum, what was added since two hops before, power above 4 kHz."""
    sound = np.random.default_rng(1).standard_normal(RATE).astype(np.float32) * 0.1
    sound += np.sin(2 * np.pi * 440 * np.arange(len(sound)) / RATE).astype(np.float32)
    stream = FeatureStream()
    for part in np.array_split(sound, 7):
        stream.feed(part)
    made = stream.end()
    padded = np.concatenate((np.zeros(512), sound, np.zeros(512)))
    window = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(1024) / 1024)

    def magnitude(frame: int) -> np.ndarray:
        return np.abs(np.fft.rfft(padded[256 * frame : 256 * frame + 1024] * window))

    hertz = np.arange(513) * RATE / 1024
    for frame in (0, 1, 2, 3, 50, 85):
        now, before = magnitude(frame), magnitude(frame - 2) if frame >= 2 else np.zeros(513)
        share = now / now.sum()
        added = np.maximum(0, share - before / max(before.sum(), 1e-9))
        assert made.entropy[frame] == pytest.approx(-(share * np.log2(share + 1e-12)).sum() / math.log2(513), rel=1e-3)
        assert made.flux[frame] == pytest.approx(math.sqrt((added**2).sum()), rel=1e-3, abs=1e-5)
        assert made.power[frame] == pytest.approx((now**2).sum(), rel=1e-3)
        assert made.treble[frame] == pytest.approx((now**2)[hertz >= 4000].sum(), rel=1e-3)


@pytest.mark.parametrize("note", [36, 45, 57, 69, 80, 93])
def test_a_tone_is_of_its_pitch_class(note: int) -> None:
    hertz = 440 * 2 ** ((note - 69) / 12)
    stream = FeatureStream()
    stream.feed(np.sin(2 * np.pi * hertz * np.arange(2 * RATE) / RATE).astype(np.float32))
    assert (stream.end().chroma[2:8].argmax(axis=1) == note % 12).all()


# ---- the true peak -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("share", [0.01, 0.1, 0.2, 0.3, 0.35, 0.4])
def test_a_tone_between_its_samples_is_read_as_it_is(share: float) -> None:
    """The sampling theorem: a tone of any share of the rate below a half is known between its samples."""
    kernel = loudness._interpolator().astype(float)
    around = np.arange(24) - 11
    for phase, between in zip(kernel.T, (0.25, 0.5, 0.75), strict=True):
        heard = (phase * np.exp(2j * np.pi * share * (around - between))).sum()
        assert abs(20 * math.log10(abs(heard))) < 0.05
        assert abs(math.degrees(math.atan2(heard.imag, heard.real))) < 0.2


# ---- onsets ------------------------------------------------------------------------------------------------------


def test_onset_strength_is_the_mean_rise_over_two_hops() -> None:
    made = features(1)
    floor = float(np.percentile(made.bands.max(axis=1), 99)) - 60.0
    levels = np.maximum(made.bands.astype(float), floor)
    for bands in (slice(0, BANDS), slice(2, 5)):
        strength = onsets.onset_strength(made, bands)
        assert not strength[:2].any()
        for frame in range(2, FRAMES, 7):
            rise = [max(0.0, levels[frame, band] - levels[frame - 2, band]) for band in range(BANDS)[bands]]
            assert strength[frame] == pytest.approx(sum(rise) / len(rise), abs=1e-3)


def test_onset_strength_of_long_music_has_no_seams(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = onsets.onset_strength(features(2))
    full = rises.fullness(features(2))
    monkeypatch.setattr(onsets, "_PIECE", 100)
    monkeypatch.setattr(rises, "_PIECE", 100)
    np.testing.assert_allclose(onsets.onset_strength(features(2)), whole, atol=1e-4)
    np.testing.assert_allclose(rises.fullness(features(2)), full, atol=1e-3)


def test_an_onset_is_the_highest_of_seven_frames_and_a_decibel_above_the_half_second_around() -> None:
    strength = np.random.default_rng(3).gamma(1.0, 1.0, 600).astype(np.float32)
    found = np.round(onsets.onsets(strength) * FRAMES_PER_S).astype(int).tolist()
    inside = range(30, 570)
    expected = [
        frame
        for frame in inside
        if strength[frame] == strength[frame - 3 : frame + 4].max()
        and strength[frame] > strength[frame - 21 : frame + 22].mean() + 1.0
    ]
    assert [frame for frame in found if frame in inside] == expected


# ---- tempo -------------------------------------------------------------------------------------------------------


def test_likeness_is_the_generalised_autocorrelation() -> None:
    """Tolonen, Karjalainen, IEEE TSAP 8(6), 2000, as in Percival, Tzanetakis 2014: the inverse transform of the
    magnitudes to the power of a half."""
    values = np.random.default_rng(4).uniform(0, 1, 512 + 2 * 64 + 10).astype(np.float32)
    found = np.concatenate(list(tempo._likeness(values, 512)))
    assert len(found) == 3
    for window in range(3):
        part = values[64 * window : 64 * window + 512].astype(float)
        magnitudes = np.abs(np.fft.fft(np.concatenate((part - part.mean(), np.zeros(512))))) ** 0.5
        lags = np.fft.ifft(magnitudes).real[:512]
        np.testing.assert_allclose(found[window], lags / lags[0], atol=1e-4)
    assert constants.COMPRESSION_EXPONENT == 0.5


def test_a_comb_looks_at_the_period_twice_it_four_times_it_and_half() -> None:
    likeness = np.random.default_rng(5).uniform(-1, 1, (2, 512)).astype(np.float32)

    def at(row: int, lag: float) -> float:
        low = int(lag)
        if low + 1 >= 512:
            return 0.0
        return likeness[row, low] + (lag - low) * (likeness[row, low + 1] - likeness[row, low])

    comb = tempo._comb(likeness)
    for row, number in itertools.product(range(2), range(0, 300, 13)):
        lag = 60 * FRAMES_PER_S / tempo._BPM[number]
        expected = at(row, lag) + at(row, 2 * lag) + at(row, 4 * lag) + 0.3 * at(row, lag / 2)
        assert comb[row, number] == pytest.approx(expected, abs=1e-4)
    for row, lag in ((0, 40.0), (1, 33.3)):
        tried = lag * np.linspace(0.92, 1.08, 65)
        best = max(tried, key=lambda one: at(row, one) + at(row, 2 * one) + at(row, 4 * one))
        assert tempo._follow(likeness, lag)[row] == pytest.approx(best)


def test_what_speaks_for_a_tempo_is_its_height_and_how_many_windows_agree_up_to_octaves() -> None:
    comb = np.zeros((4, 300), np.float32)
    best = 150
    octave = int(np.argmin(np.abs(tempo._BPM - tempo._BPM[best] * 2)))
    for row, place in enumerate((best, octave, 30, best + 1)):
        comb[row, place] = 1.0
    height, agree = tempo._height_and_agreement(comb, best)
    assert height == pytest.approx(0.25**0.5)
    assert agree == 0.75


# ---- beats -------------------------------------------------------------------------------------------------------


@FEW
@given(st.integers(0, 1000), st.floats(6, 20))
def test_beats_are_the_best_chain_of_ellis(seed: int, period: float) -> None:
    """Ellis 2007: score(t) = strength(t) + max over steps of score(t - step) - tightness * log(step / period)^2."""
    strength = np.random.default_rng(seed).uniform(0, 1, 120).astype(np.float32)
    score, back = [], []
    for now in range(120):
        best, came = -math.inf, -1
        for step in range(int(period / 2) + 1, int(2 * period) + 1):
            before = score[now - step] if now >= step else 0.0
            value = before - constants.BEAT_TIGHTNESS * math.log(step / period) ** 2
            if value > best:
                best, came = value, now - step
        score.append(float(strength[now]) + best)
        back.append(came)
    last = int(period) + 1
    at = 120 - last + int(np.argmax(score[-last:]))
    chain = []
    while at >= 0:
        chain.append(at)
        at = back[at]
    assert beats._track(strength, np.full(120, period, np.float32)).tolist() == chain[::-1]


def test_changes_compare_the_means_before_and_after_each_beat() -> None:
    """Levels of bands up to 2.5 kHz by their mean difference, pitch classes by one minus the cosine."""
    made = features(6)
    every = 43  # frames
    at = np.arange(300, 600, every)
    changes = list(bars._changes(made, at))
    floor = float(np.percentile(made.bands.max(axis=1), 99)) - 60.0
    levels, classes = np.maximum(made.bands[:, :20].astype(float), floor), np.sqrt(made.chroma.astype(float))

    def mean(values: np.ndarray, per_s: float, start_s: float, end_s: float) -> np.ndarray:
        """Value k holds for 1 / per_s around k / per_s."""
        edges = (np.arange(len(values) + 1) - 0.5) / per_s
        inside = np.clip(np.minimum(edges[1:], end_s) - np.maximum(edges[:-1], start_s), 0, None)
        return (inside[:, None] * values).sum(axis=0) / (end_s - start_s)

    for row, count in enumerate((1, 2, 4)):
        for column, place in enumerate(at):
            middle, reach = place / FRAMES_PER_S, count * every / FRAMES_PER_S
            stretches = [(middle - reach, middle), (middle, middle + reach)]
            before, after = (mean(levels, FRAMES_PER_S, *stretch) for stretch in stretches)
            assert changes[row][column] == pytest.approx(np.abs(after - before).mean(), rel=1e-4)
            before, after = (mean(classes, CHROMA_PER_S, *stretch) for stretch in stretches)
            cosine = before @ after / np.linalg.norm(before) / np.linalg.norm(after)
            assert changes[3 + row][column] == pytest.approx(1 - cosine, rel=1e-3)


def test_what_recurs_is_its_correlation_with_the_bars() -> None:
    """Pearson's, of the bars heard at the beats with ones at first beats and noughts elsewhere, by numpy."""
    made, rng = features(8, 4000), np.random.default_rng(3)
    at = np.arange(20, 20 + 40 * 60, 40)  # 60 beats: as many of every bar
    heard = rng.uniform(0, 1, 4000).astype(np.float32)
    pulse = Pulse(heard, heard, np.full(64, 1 / 64, np.float32))
    rows = bars.evidence_of(made, rng.uniform(0, 1, 4000).astype(np.float32), pulse, at)
    values = np.array([heard[place - 2 : place + 3].max() for place in at], float)
    for row, (metre, first) in zip(rows, bars.CANDIDATES, strict=True):
        if 60 % metre == 0:
            expected = np.corrcoef(values, np.arange(60) % metre == first)[0, 1]
            assert row[0] == pytest.approx(expected, abs=1e-6)
        assert row[bars.MEASURES.index(f"{metre} beats")] == 1.0
        assert (row[-2:] == 0).all() == (metre != 2)


def test_likelihoods_of_bars_are_a_conditional_logit() -> None:
    """D. McFadden 1974: shares as the exponentials of the scores; what can't be counted has none."""
    evidence = np.array([[1.0, 2.0], [0.5, -1.0], [np.nan, np.nan]])
    likely = bars.likelihoods(evidence, np.array([0.4, 0.3]), 0.6)
    scores = [math.exp(1.0), math.exp(-0.1), 0.0, math.exp(0.6)]
    np.testing.assert_allclose(likely, np.array(scores) / sum(scores))


@FEW
@given(st.integers(0, 1000), st.integers(0, 7))
def test_a_beat_less_at_the_start_moves_the_bars_and_nothing_else(seed: int, less: int) -> None:
    made, rng = features(seed, 4000), np.random.default_rng(seed)
    at = np.arange(20, 20 + 40 * 96, 40)
    heard = np.zeros(4000, np.float32)
    heard[at[3::4]] = 0.9
    pulse = Pulse(heard, heard, np.full(64, 1 / 64, np.float32))
    metre, first = bars.bars_of(made, rng.uniform(0, 1, 4000).astype(np.float32), pulse, at[less:])
    assert (metre, (first + less) % 4) == (4, 3)


def test_beats_before_the_first_and_behind_the_last_stroke_are_none() -> None:
    """A beat counts from a tenth of the root mean square of all beats on."""
    strength = np.zeros(100, np.float32)
    at = np.arange(5, 100, 10)
    strength[at] = [0.0, 0.09, 1.0, 1.0, 0.0, 1.0, 1.0, 0.11, 0.05, 0.0]
    size = math.sqrt(float((strength[at] ** 2).mean()))
    strong = [int(one) for one in at if strength[one] > 0.1 * size]
    assert strong == [15, 25, 35, 55, 65, 75]
    assert beats._trim(at, strength).tolist() == [15, 25, 35, 45, 55, 65, 75]
    strength[15] = 0.065  # the limit lies at 0.0636
    assert beats._trim(at, strength)[0] == 15
    strength[15] = 0.062
    assert beats._trim(at, strength)[0] == 25
    assert not len(beats._trim(at, np.zeros(100, np.float32)))


# ---- phrases -----------------------------------------------------------------------------------------------------


@FEW
@given(st.integers(0, 1000), st.integers(2, 6))
def test_novelty_is_a_checkerboard_laid_over_the_self_similarity(seed: int, reach: int) -> None:
    """J. Foote, ICME 2000: the kernel is positive within past and future and negative across, under a Gaussian taper."""
    vectors = np.random.default_rng(seed).standard_normal((30, 4))
    taper = np.exp(-0.5 * ((np.arange(reach) + 0.5) / (0.5 * reach)) ** 2)
    side = np.concatenate((-taper[::-1], taper)) / taper.sum()
    found = phrases._novelty(vectors, reach)
    for at in range(reach, 30 - reach):
        part = vectors[at - reach : at + reach]
        assert found[at] == pytest.approx(float((np.outer(side, side) * (part @ part.T)).sum()))


def test_values_are_gathered_from_each_step_of_the_grid_to_the_next() -> None:
    values = np.random.default_rng(7).uniform(0, 1, (100, 2)).astype(np.float32)
    grid = np.array([1.0, 2.0, 3.6, 3.61, 6.0])
    means = phrases._means(values, grid, 10.0)
    for row, (first, end) in enumerate([(10, 20), (20, 36), (36, 37), (36, 60), (60, 84)]):
        np.testing.assert_allclose(means[row], values[first:end].mean(axis=0), rtol=1e-5)


def test_a_step_of_the_grid_is_described_by_levels_and_harmony_on_an_even_footing() -> None:
    """Each part has its mean over the track taken away, and rows of a mean square length of 1."""
    made, grid = features(5, 300), np.arange(0.1, 3.2, 0.25)
    found = phrases.gathered(made, grid)
    floor = float(np.percentile(made.bands.max(axis=1), 99)) - 60.0
    harmony = phrases._means(np.sqrt(made.chroma), grid, CHROMA_PER_S)
    parts = [
        np.maximum(phrases._means(made.bands, grid, FRAMES_PER_S), floor),
        np.array([row / row.sum() for row in harmony]),
    ]
    for columns, values in zip((slice(0, BANDS), slice(BANDS, None)), parts, strict=True):
        centred = values - values.mean(axis=0)
        size = math.sqrt(sum(float((row**2).sum()) for row in centred) / len(centred))
        np.testing.assert_allclose(found[:, columns], centred / size, rtol=1e-4, atol=1e-6)


def power_of(levels_db: list[float]) -> Features:
    made = features(1, len(levels_db))
    return dataclasses.replace(made, power=(10 ** (np.array(levels_db) / 10)).astype(np.float32))


@pytest.mark.parametrize(
    ("first", "last", "start_s", "end_s"),
    [(0, 899, 0.0, 10.4), (12, 500, 12 / FRAMES_PER_S - 0.03, 500 / FRAMES_PER_S + 0.03), (11, 880, 0.0, None)],
)
def test_music_begins_and_ends_60_db_below_its_loudest(
    first: int, last: int, start_s: float, end_s: float | None
) -> None:
    """Below a tenth of a second nothing is cut off; what lies 60.5 dB down is silence, what lies 59.5 dB down is music."""
    levels = [-60.5] * FRAMES
    levels[first : last + 1] = [-59.5] * (last + 1 - first)
    levels[(first + last) // 2] = 0.0
    end_s = last / FRAMES_PER_S + 0.03 if end_s is None else end_s
    assert phrases.music_span(power_of(levels), 10.4) == (pytest.approx(start_s), pytest.approx(end_s))


def test_where_there_is_only_silence_it_lasts_from_start_to_end() -> None:
    silent = dataclasses.replace(features(1, 0), power=np.zeros(0, np.float32))
    assert phrases.music_span(silent, 10.4) == (0.0, 10.4)


@FEW
@given(st.integers(0, 1000))
def test_stillness_is_how_far_the_quietest_moment_lies_below_ten_seconds_around(seed: int) -> None:
    """Half seconds: twenty around, ten of which it has to be the quietest of; 10 dB below is all there is."""
    level = np.round(np.random.default_rng(seed).uniform(-30, -10, 60))
    found = phrases._stillness(level)
    for at in range(10, 50):
        depth = min(max((level[at - 10 : at + 10].mean() - level[at]) / 10, 0.0), 1.0)
        quietest = level[at] == level[at - 5 : at + 5].min()
        assert found[at] == pytest.approx(depth if quietest else 0.0)


@FEW
@given(st.integers(0, 1000), st.booleans())
def test_clearness_is_the_novelty_at_two_scales_against_their_clearest(seed: int, barred: bool) -> None:
    vectors, grid = np.random.default_rng(seed).standard_normal((70, 4)), np.arange(70.0)
    beat = Beats(grid, grid[::4], 4 if barred else None)
    novelty = np.zeros(70)
    for reach in (8, 24):
        one = phrases._novelty(vectors, reach)
        novelty += one / np.percentile(one, 99) / 2
    if barred:
        novelty = phrases._onto_bars(novelty, np.arange(70) % 4 == 0)
    assert phrases._clearness(vectors, grid, beat) == pytest.approx(np.clip(novelty, 0, 1.2))


def test_the_level_of_a_step_is_at_least_60_db_below_the_loudest() -> None:
    made, grid = power_of([-80.0] * 300 + [-10.0] * 300 + [-30.0] * 300), np.arange(0.0, 10.0, 0.5)
    found = phrases._level(made, grid)
    assert found[[0, 5, 10, 18]] == pytest.approx([-70.0, -70.0, -10.0, -30.0], abs=1e-3)


def test_bars_take_the_largest_of_the_beats_beside_them() -> None:
    novelty = np.array([1.0, 4.0, 2.0, 0.0, 8.0, 3.0])
    on_bar = np.array([False, False, True, False, False, True])
    assert phrases._onto_bars(novelty, on_bar).tolist() == [0.5, 2.0, 4.0, 0.0, 4.0, 8.0]


@pytest.mark.parametrize(
    ("steps", "lasts_s", "looked"), [(15, 40.0, False), (16, 40.0, True), (16, 16.0, True), (16, 15.9, False)]
)
def test_what_is_too_short_to_compare_has_its_two_ends_only(
    steps: int, lasts_s: float, looked: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Eight steps on either side of a place, and eight seconds."""
    monkeypatch.setattr(phrases, "music_span", lambda *_: (1.0, 1.0 + lasts_s))
    monkeypatch.setattr(phrases, "_grid", lambda *_: 1.0 + np.arange(steps))
    asked = []
    monkeypatch.setattr(phrases, "gathered", lambda *_: asked.append(1) or np.zeros((steps, 2)))
    monkeypatch.setattr(phrases, "_clearness", lambda *_: np.zeros(steps))
    cuts = phrases.cut_points(features(1), beats.NO_BEATS, 60.0)
    assert bool(asked) is looked
    assert (cuts[0].at_s, cuts[-1].at_s) == (1.0, 1.0 + lasts_s)


@FEW
@given(st.lists(st.floats(0, 1), min_size=40, max_size=120), st.floats(0, 3))
def test_cut_points_keep_apart_and_leave_no_gap_that_one_could_fill(values: list[float], start: float) -> None:
    clearness, grid = np.array(values), start + 1.3 * np.arange(len(values))
    end = float(grid[-1]) + 1.3
    chosen = phrases._chosen(grid, clearness, start, end)
    times = [start, *(float(grid[index]) for index in chosen), end]
    assert chosen == sorted(chosen)
    assert all(two - one >= 8.0 - 1e-9 for one, two in itertools.pairwise(times))
    for one, two in itertools.pairwise(times):
        inside = [at for at in grid.tolist() if one + 8.0 <= at <= two - 8.0]
        assert two - one < 24.0 or not inside
    best = int(np.argmax(np.where(phrases._is_peak(clearness), clearness, -1)))
    if (
        clearness[best] >= 0.25
        and min(grid[best] - start, end - grid[best]) >= 8.0
        and (clearness == clearness[best]).sum() == 1
    ):
        assert best in chosen


@pytest.mark.parametrize(
    ("clear", "step_db", "enter", "leave"), [(1.2, 0, 0.15, 0.15), (0, 0, 0.65, 0.65), (0.5, 6, 0.4, 0.4)]
)
def test_a_cut_costs_by_its_clearness_and_leans_to_where_the_level_rises(
    clear: float, step_db: float, enter: float, leave: float
) -> None:
    level = np.repeat([-20.0, -20.0 + step_db], [20, 20])
    cut = phrases._cut(np.arange(40.0), np.full(40, clear), level, 20)
    lean = 0.08 * math.tanh(step_db / 6)
    assert (cut.at_s, cut.enter_cost, cut.leave_cost) == (
        20.0,
        pytest.approx(enter - lean, abs=6e-4),
        pytest.approx(leave + lean, abs=6e-4),
    )


def test_the_music_begins_and_ends_where_it_is_within_60_decibels_of_its_loudest() -> None:
    made = features(8)
    power = np.full(FRAMES, 1e-9, np.float32)
    power[200:700] = 0.5e-6
    power[300:400] = 0.4
    quiet = Features(
        made.bands, power, *[getattr(made, name) for name in ("entropy", "flux", "treble", "chroma", "flatness")]
    )
    assert phrases.music_span(quiet, 10.4) == pytest.approx((200 / FRAMES_PER_S - 0.03, 699 / FRAMES_PER_S + 0.03))
    power[200:700] = 0.3e-6
    power[300:400] = 0.4
    assert phrases.music_span(quiet, 10.4) == pytest.approx((300 / FRAMES_PER_S - 0.03, 399 / FRAMES_PER_S + 0.03))


# ---- rises -------------------------------------------------------------------------------------------------------

curves = st.lists(st.floats(-30, 0), min_size=40, max_size=120).map(np.array)


def around(values: np.ndarray, at: int, width: int) -> float:
    """Mean of `width` values about a place, of an even number one more before it; at the ends of what there is."""
    first = at - width // 2
    return float(values[max(first, 0) : first + width].mean())


@FEW
@given(curves)
def test_the_climax_is_the_fullest_mean_of_eight_seconds_that_stands_out_of_the_eight_before(full: np.ndarray) -> None:
    smooth = [around(full, at, 16) for at in range(len(full))]
    found = rises._climax(full)
    if max(smooth) - np.percentile(smooth, 5) < 1.5:
        assert found is None
        return
    scores = {}
    for at in range(8, len(full) - 8):
        before = full[max(0, at - 24) : at - 8]
        earlier = before.mean() if len(before) else smooth[at]
        scores[at] = smooth[at] + 0.05 * (smooth[at] - earlier)
    assert found is not None
    assert scores[found] == pytest.approx(max(scores.values()))
    low = min(smooth[max(0, found - 180) : found + 1])
    near = [
        at for at in range(max(0, found - 180), found + 1) if smooth[at] <= low + 0.1 * (smooth[found] - low) + 1e-12
    ]
    assert rises._climb(full, found) == near[-1]


@pytest.mark.parametrize("seed", range(3))
def test_a_climb_lies_between_the_start_of_the_music_and_its_climax(seed: int) -> None:
    made = features(seed, 5000)
    level = np.interp(np.arange(5000), [0, 2000, 3500, 4000, 5000], [-70, -60, -20, -30, -60])
    bands = (level[:, None] + np.random.default_rng(seed).uniform(-3, 3, (5000, BANDS))).astype(np.float16)
    power = np.where(np.arange(5000) < 800, 0.0, 1.0).astype(np.float32)
    quiet = [getattr(made, name) for name in ("entropy", "flux", "treble", "chroma", "flatness")]
    shape = rises.shape_of(Features(bands, power, *quiet), beats.NO_BEATS, 5000 / FRAMES_PER_S)
    start_s = 800 / FRAMES_PER_S
    assert shape.climb_s is not None
    assert shape.climax_s is not None
    assert start_s - 0.5 <= shape.climb_s <= shape.climax_s
    assert shape.climax_s == pytest.approx(3500 / FRAMES_PER_S, abs=4.0)
    assert shape.climb_s > 20.0
    assert shape.climax_s < shape.ending_s <= 5000 / FRAMES_PER_S


@FEW
@given(curves)
def test_a_break_lies_5_decibels_below_the_8_seconds_before_and_ends_2_and_a_half_below(full: np.ndarray) -> None:
    expected, at = [], 16
    while at + 3 < len(full):
        before = full[at - 16 : at].mean()
        if full[at : at + 3].max() < before - 5:
            back = next((step for step in range(40) if at + step < len(full) and full[at + step] > before - 2.5), None)
            if back is not None:
                expected.append((at, at + back))
                at += back
        at += 1
    assert list(rises._breaks(full)) == expected


@FEW
@given(curves)
def test_the_ending_is_what_stays_3_decibels_below_the_median(full: np.ndarray) -> None:
    smooth = [around(full, at, 4) for at in range(len(full))]
    limit = float(np.median(smooth)) - 3.0
    assert rises._ending(full) == 1 + max(at for at in range(len(full)) if smooth[at] >= limit - 1e-9)


def test_fullness_is_the_level_of_all_bands_and_what_is_struck() -> None:
    made = features(9)
    top = float(np.percentile(made.bands.max(axis=1), 99))
    bands = made.bands.astype(float) - top
    level = np.clip(bands, -40, 10).mean(axis=1)
    heard = 10 ** (0.3 * np.clip(bands, -80, 10) / 10)
    added = np.concatenate(([0.0], np.maximum(0, np.diff(heard, axis=0)).mean(axis=1)))
    edges = [*(int(half * 0.5 * FRAMES_PER_S) for half in range(math.ceil(FRAMES / (0.5 * FRAMES_PER_S)))), FRAMES]
    levels, adds = (np.array([values[a:b].mean() for a, b in itertools.pairwise(edges)]) for values in (level, added))
    expected = levels + 0.6 * levels.std() / adds.std() * (adds - adds.mean())
    np.testing.assert_allclose(rises.fullness(made), expected, atol=2e-3)


@pytest.mark.parametrize(
    ("period", "metre", "step"),
    [(0.5, None, 2.0), (0.25, None, 2.0), (0.7, None, 1.4), (1.3, None, 1.3), (0.5, 4, 2.0), (4.1, None, 2.0)],
)
def test_steps_of_the_sections_are_bars_or_beats_of_one_to_four_seconds(
    period: float, metre: int | None, step: float
) -> None:
    at = np.arange(3.0, 50.0, period)
    grid = rises._grid(Beats(at, at[::metre] if metre else at[:0], metre), 0.5, 60.0)
    usual = np.median(np.diff(grid))
    assert usual == pytest.approx(step)
    assert grid[0] >= 0.5 - 1e-9
    assert grid[0] < 0.5 + usual
    assert 60.0 - usual <= grid[-1] < 60.0
    np.testing.assert_allclose(np.diff(grid), usual, atol=1e-6)


def test_kinds_that_are_alike_share_a_letter() -> None:
    one, two, three = np.array([1.0, 0]), np.array([0, 1.0]), np.array([1.1, 0.1])
    assert rises._letters([one, two, three, two]) == ["A", "B", "A", "B"]
    assert [rises._letter(number) for number in (0, 25, 26, 52)] == ["A", "Z", "A2", "A3"]


# ---- energy ------------------------------------------------------------------------------------------------------


def test_means_around_each_second() -> None:
    values = np.random.default_rng(10).uniform(0, 1, 1000)
    found = energy._around(values, np.array([0.5, 5.5, 9.5]), 4.0, 100.0)
    assert found == pytest.approx([values[0:250].mean(), values[350:750].mean(), values[750:1000].mean()])


@pytest.mark.parametrize(
    ("flat", "peak", "noise"),
    [(0.46, 1.0, 0.0), (0.49, 1.0, 0.5), (0.53, 1.0, 1.0), (0.53, 5.0, 0.5), (0.53, 7.0, 0.0)],
)
def test_a_steady_noise_is_flat_and_has_no_onset_that_stands_out(flat: float, peak: float, noise: float) -> None:
    made = features(11)
    even = Features(
        *(getattr(made, name) for name in ("bands", "power", "entropy", "flux", "treble", "chroma")),
        np.full_like(made.flatness, flat),
    )
    strength = np.ones(FRAMES, np.float32)
    if peak > 1:
        strength[::10] = peak * 0.9 / (1 - peak * 0.1)
    heard = energy.Evidence(
        even, strength, np.zeros(0, np.float32), np.zeros((1, 50), np.float32), np.zeros(1, np.float32)
    )
    assert energy.noise_curve(heard, 10) == pytest.approx(noise, abs=0.05)


def test_energy_is_a_line_of_likely_tags_and_the_spectrum_around_each_second() -> None:
    """Odds turned into likelihoods, each second's from windows weighed by a Gaussian of 8 s; then log odds again."""
    rng = np.random.default_rng(12)
    made = features(12)
    odds = rng.uniform(-3, 3, (2, 50)).astype(np.float32)
    at = np.array([3.0, 9.0], np.float32)
    strokes = np.array([2.0, 2.5, 8.0], np.float32)
    heard = energy.Evidence(made, np.ones(FRAMES, np.float32), strokes, odds, at)
    weights, bias = energy._head()
    found = energy.energy_curve(heard, np.zeros(10))
    for second in range(10):
        near = [math.exp(-0.5 * ((second + 0.5 - middle) / 8.0) ** 2) for middle in at]
        likely = sum(share * 1 / (1 + np.exp(-row.astype(float))) for share, row in zip(near, odds)) / sum(near)
        first, end = (
            int(min(max(each * FRAMES_PER_S, 0), FRAMES - 1)) for each in (second + 0.5 - 6.0, second + 0.5 + 6.0)
        )
        end = FRAMES if second + 6.5 > FRAMES / FRAMES_PER_S else end
        onsets_a_second = (
            sum(first <= round(one * FRAMES_PER_S) < end for one in strokes) / (end - first) * FRAMES_PER_S
        )
        row = [
            *np.log(likely / (1 - likely)),
            made.entropy[first:end].mean(),
            made.flux[first:end].mean(),
            onsets_a_second,
        ]
        rating = float(np.dot(row, weights) + bias)
        assert found[second] == pytest.approx(min(max((rating - 1) / 4, 0.0), 1.0), abs=1e-3), second
    rain = energy.energy_curve(heard, np.full(10, 0.5))
    assert rain == pytest.approx(0.5 * found + 0.5 * np.minimum(found, 0.15), abs=1e-6)


# ---- windows -----------------------------------------------------------------------------------------------------


@FEW
@given(st.lists(st.integers(1, 60_000), min_size=1, max_size=6))
def test_windows_lie_in_the_middle_of_their_stretches_whatever_the_blocks(sizes: list[int]) -> None:
    sound = np.arange(sum(sizes), dtype=np.float32)
    windows, given, at = Windows(1.0, 8000), [], 0
    for size in sizes:
        given += list(windows.feed(sound[at : at + size]))
        at += size
    given += list(windows.end())
    expected = list(range((RATE - 8000) // 2, len(sound) - 7999, RATE))
    if not expected:
        assert len(given) == 1
        return
    assert [round(middle * RATE) for middle, _ in given] == [start + 4000 for start in expected]
    for (_, samples), start in zip(given, expected):
        np.testing.assert_array_equal(samples, sound[start : start + 8000])
