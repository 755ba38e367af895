"""Loudness and true peak against the signals of EBU Tech 3341 v4 (November 2023), table 1.

Levels are peak dBFS of 1-kHz sines in phase on both channels unless noted; tolerance 0.1 LU, true peak +0.2/-0.4 dB.
Cases 7 and 8 are programmes that can't be synthesised; details of 6, 9, 10, 12 and 13 are from memory of the document.
"""

import math

import numpy as np
import pytest

from audio.measure.loudness import Loudness, Meter, PeakMeter, weights_of

RATES = [44_100, 48_000]
STEREO = ("FL", "FR")

INTEGRATED = {  # case: (peak dBFS, seconds) one after the other; all must read -23.0, case 2 -33.0
    1: [(-23, 20)],
    2: [(-33, 20)],
    3: [(-36, 10), (-23, 60), (-36, 10)],
    4: [(-72, 10), (-36, 10), (-23, 60), (-36, 10), (-72, 10)],
    5: [(-26, 20), (-20, 20.1), (-26, 20)],
}


def tone(steps: list[tuple[float, float]], rate: int) -> np.ndarray:
    """A 1-kHz sine whose peak level goes through `steps`, shape (frames,)."""
    level = np.concatenate([np.full(round(seconds * rate), 10 ** (db / 20)) for db, seconds in steps])
    return (level * np.sin(2 * np.pi * 1000 * np.arange(len(level)) / rate)).astype(np.float32)


def measured(samples: np.ndarray, rate: int, layout: tuple[str, ...] = STEREO, block: int = 10_007) -> Loudness:
    """Read after feeding odd blocks, as a decoder may give them."""
    if samples.ndim == 1:
        samples = np.stack([samples] * len(layout), axis=1)
    meter = Meter(rate, weights_of(layout))
    for start in range(0, len(samples), block):
        meter.feed(samples[start : start + block])
    return meter.read()


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("case", INTEGRATED)
def test_integrated_loudness_of_steps(case, rate):
    expected = -33.0 if case == 2 else -23.0
    assert measured(tone(INTEGRATED[case], rate), rate).integrated_lufs == pytest.approx(expected, abs=0.1)


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize(("case", "expected"), [(1, -23.0), (2, -33.0)])
def test_momentary_and_short_term_of_a_steady_tone(case, expected, rate):
    loudness = measured(tone(INTEGRATED[case], rate), rate)
    assert loudness.momentary_lufs == pytest.approx(expected, abs=0.1)
    assert loudness.short_term_lufs == pytest.approx(expected, abs=0.1)


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize(
    "layout",
    [("FL", "FR", "FC", "SL", "SR"), ("FL", "FR", "FC", "LFE", "SL", "SR"), ("FL", "FR", "FC", "LFE", "BL", "BR")],
)
def test_case_6_five_channels(layout, rate):
    """Front -28, centre -24, surrounds -30 dBFS read -23.0; what the low-frequency channel holds does not count."""
    peak = {"FL": -28, "FR": -28, "FC": -24, "LFE": -10}
    samples = np.stack([tone([(peak.get(name, -30), 20)], rate) for name in layout], axis=1)
    assert measured(samples, rate, layout).integrated_lufs == pytest.approx(-23.0, abs=0.1)


@pytest.mark.parametrize("rate", RATES)
def test_case_9_short_term_is_constant(rate):
    loudness = measured(tone([(-20, 1.34), (-30, 1.66)] * 5, rate), rate)
    assert loudness.short_term_lufs == pytest.approx(-23.0, abs=0.1)


@pytest.mark.parametrize("rate", RATES)
def test_case_12_momentary_is_constant(rate):
    loudness = measured(tone([(-20, 0.18), (-30, 0.22)] * 25, rate), rate)
    assert loudness.momentary_lufs[100:] == pytest.approx(-23.0, abs=0.1)


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize(("case", "tone_s", "step_s"), [(10, 3.0, 0.15), (13, 0.4, 0.02)])
def test_cases_10_and_13_largest_values_wherever_the_tone_starts(case, tone_s, step_s, rate):
    for number in range(20):
        loudness = measured(tone([(-200, number * step_s), (-23, tone_s), (-200, 1.0)], rate), rate)
        values = loudness.short_term_lufs if case == 10 else loudness.momentary_lufs
        assert values.max() == pytest.approx(-23.0, abs=0.1)


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize(("case", "tone_s", "segment_s"), [(11, 3.0, 6.0), (14, 0.4, 0.8)])
def test_cases_11_and_14_largest_values_so_far(case, tone_s, segment_s, rate):
    levels = range(-38, -18)
    steps = [step for db in levels for step in ((db, tone_s), (-200.0, segment_s - tone_s))]
    loudness = measured(tone(steps, rate), rate)
    values = loudness.short_term_lufs if case == 11 else loudness.momentary_lufs
    for number, db in enumerate(levels):
        ended = round((number + 1) * segment_s * 100) - (299 if case == 11 else 39)  # windows of 10-ms steps
        assert values[:ended].max() == pytest.approx(db, abs=0.1)


# Case: period in samples, phase in degrees, amplitude in full scale, expected dBTP.
TRUE_PEAK = {
    15: (4, 0.0, 0.50, -6.0),
    16: (4, 45.0, 0.50, -6.0),
    17: (6, 60.0, 0.50, -6.0),
    18: (8, 67.5, 0.50, -6.0),
    19: (4, 45.0, 1.41, 3.0),
}


def true_peak(samples: np.ndarray, block: int = 4_801) -> float:
    meter = PeakMeter(1)
    for start in range(0, len(samples), block):
        meter.feed(samples[start : start + block, None].astype(np.float32))
    return meter.read_dbtp()


def faded(samples: np.ndarray) -> np.ndarray:
    """Without the click at its ends, whose band-limited peak would be above the tone's."""
    ramp = np.minimum(1.0, np.arange(len(samples)) / 2000)
    return samples * ramp * ramp[::-1]


@pytest.mark.parametrize("case", TRUE_PEAK)
def test_true_peak_of_sines_between_the_samples(case):
    period, degrees, amplitude, expected = TRUE_PEAK[case]
    sine = amplitude * np.sin(2 * np.pi * np.arange(48_000) / period + math.radians(degrees))
    assert expected - 0.4 <= true_peak(faded(sine)) <= expected + 0.2


@pytest.mark.parametrize("offset", range(4))
def test_cases_20_to_23_a_peak_between_the_samples(offset):
    """A burst made at four times the rate, full scale, decimated with each of four offsets: 0.0 dBTP."""
    from scipy.signal import firwin

    n = np.arange(48_000 * 4)
    burst = np.sin(2 * np.pi * n / 24) * np.hanning(len(n)) ** 8
    band_limited = np.convolve(burst, firwin(255, 0.2), mode="same")
    band_limited /= np.abs(band_limited).max()
    assert -0.4 <= true_peak(band_limited[offset::4]) <= 0.2


# ITU-R BS.1770-4, annex 1: a 997-Hz full-scale sine in one front channel reads -3.01 LKFS.
def test_full_scale_sine_in_one_channel_reads_minus_3():
    rate = 48_000
    sine = np.sin(2 * np.pi * 997 * np.arange(20 * rate) / rate).astype(np.float32)
    left = np.stack([sine, np.zeros_like(sine)], axis=1)
    assert measured(left, rate).integrated_lufs == pytest.approx(-3.01, abs=0.02)


def test_a_single_channel_counts_as_two_equal_ones():
    rate = 48_000
    sine = tone([(-23, 20)], rate)
    mono = measured(sine[:, None], rate, ("FC",)).integrated_lufs
    assert mono == pytest.approx(measured(sine, rate).integrated_lufs, abs=1e-6)


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("case", INTEGRATED)
def test_integrated_loudness_of_steps_in_one_channel(case, rate):
    """The stereo signals of cases 1 to 5 as mono files: their reading is the stereo file's."""
    expected = -33.0 if case == 2 else -23.0
    loudness = measured(tone(INTEGRATED[case], rate)[:, None], rate, ("FC",))
    assert loudness.integrated_lufs == pytest.approx(expected, abs=0.1)


def test_opposite_channels_are_as_loud_as_equal_ones():
    rate = 44_100
    sine = tone([(-23, 20)], rate)
    assert measured(np.stack([sine, -sine], axis=1), rate).integrated_lufs == pytest.approx(-23.0, abs=0.1)


@pytest.mark.parametrize("rate", [8_000, 11_025, 22_050, 96_000])
def test_other_rates_read_the_same(rate):
    assert measured(tone([(-23, 20)], rate), rate).integrated_lufs == pytest.approx(-23.0, abs=0.1)


def test_silence_and_a_blink_have_no_loudness():
    assert measured(np.zeros(48_000, np.float32), 48_000).integrated_lufs == -math.inf
    assert measured(tone([(-23, 0.3)], 48_000), 48_000).integrated_lufs == -math.inf
    assert measured(np.zeros(0, np.float32), 48_000).true_peak_dbtp == -math.inf


def test_a_rise_is_found_where_it_is_and_the_start_of_the_music_is_none():
    rate = 44_100
    assert measured(tone([(-200, 5), (-23, 20)], rate), rate).rise_lu() == pytest.approx(0.0, abs=0.1)
    assert measured(tone([(-30, 10), (-20, 10)], rate), rate).rise_lu() == pytest.approx(10.0, abs=0.1)


def test_the_curve_has_a_value_a_second_and_names_the_loudest_window_that_ends_there():
    curve = measured(tone([(-33, 10), (-23, 10.5)], 44_100), 44_100).curve(21)
    assert curve.shape == (21,)
    assert curve[:10] == pytest.approx(-33.0, abs=0.1)
    assert curve[13:] == pytest.approx(-23.0, abs=0.1)


@pytest.mark.parametrize(("within_s", "rise_lu"), [(1.0, 2.0), (3.0, 6.0), (5.0, 10.0)])
def test_a_level_that_climbs_steadily_rises_by_its_slope_times_the_time(within_s, rise_lu):
    """Arithmetic: each window of 3 s grows by as many dB a second as the sound itself."""
    climb = np.linspace(-50, -10, 20 * 48_000)  # 2 dB a second
    sound = (10 ** (climb / 20) * np.sin(2 * np.pi * 1000 * np.arange(len(climb)) / 48_000)).astype(np.float32)
    assert measured(sound, 48_000).rise_lu(within_s) == pytest.approx(rise_lu, abs=0.03)


def test_the_first_seconds_are_as_loud_as_there_is_sound_for() -> None:
    """A hundredth of a second of a tone at -23 LUFS, then silence: its power over the shortest window that ends in each
    second, which begins with the sound until there are three seconds of it.
    """
    curve = measured(tone([(-23, 0.01), (-200, 4)], 48_000), 48_000).curve(4)
    expected = [-23 + 10 * math.log10(0.01 / long_s) for long_s in (0.01, 1.01, 2.01)]
    assert curve[:3] == pytest.approx(expected, abs=0.5)
    assert curve[3] < -60
