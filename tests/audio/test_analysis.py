"""One pass over a file: what it promises, and what it refuses."""

import math

import numpy as np
import pytest
import sounds

from audio.errors import AudioError
from audio.measure.analysis import NOISE_NOTE, analyse
from audio.measure.loudness import Meter


@pytest.fixture(scope="module")
def song(tmp_path_factory):
    """Forty seconds: soft chords, then drums over them, then soft chords again; half a second of silence around."""
    quiet = 0.15 * sounds.chords([[57, 60, 64], [53, 57, 60], [55, 59, 62], [57, 60, 64]], 1.0, 12, attack_s=0.3)
    beat, _ = sounds.drums(120, 16, first_s=0.0)
    loud = beat + 0.3 * sounds.chords([[57, 60, 64], [53, 57, 60], [55, 59, 62], [57, 60, 64]], 1.0, 16)
    still = np.zeros(sounds.RATE // 2, np.float32)
    samples = np.concatenate((still, quiet, loud, quiet[::-1], still))
    path = sounds.written(tmp_path_factory.mktemp("music") / "tide.wav", samples)
    return path, samples


@pytest.fixture(scope="module")
def known(song):
    return analyse(song[0])


def test_curves_have_a_value_a_second_within_their_ranges(song, known):
    seconds = math.ceil(len(song[1]) / sounds.RATE)
    for curve in (known.curves.energy, known.curves.voice, known.curves.loudness):
        assert curve.shape == (seconds,)
        assert curve.dtype == np.float32
        assert np.isfinite(curve).all()
        assert not curve.flags.writeable
    assert (known.curves.energy >= 0).all()
    assert (known.curves.energy <= 1).all()
    assert (known.curves.voice >= 0).all()
    assert (known.curves.voice <= 1).all()


def test_the_drums_are_livelier_and_louder_than_what_stands_around_them(known):
    middle, ends = slice(16, 25), [2, 3, 4, 5, 36, 37, 38]
    assert known.curves.energy[middle].min() > known.curves.energy[ends].max()
    assert known.curves.loudness[middle].min() > known.curves.loudness[ends].max() + 6
    assert known.rise_lu > 6


def test_cut_points_stand_at_the_ends_of_the_music_and_where_it_changes(known):
    first, *inner, last = known.curves.cut_points
    assert (first.at_s, first.enter_cost, first.leave_cost) == (pytest.approx(0.5, abs=0.1), 0.0, 1.0)
    assert (last.at_s, last.enter_cost, last.leave_cost) == (pytest.approx(40.5, abs=0.3), 1.0, 0.0)
    times = [point.at_s for point in known.curves.cut_points]
    assert times == sorted(set(times))
    cheap = sorted(inner, key=lambda point: min(point.enter_cost, point.leave_cost))[:2]
    assert sorted(round(point.at_s - 0.5) for point in cheap) == [pytest.approx(12, abs=1), pytest.approx(28, abs=1)]
    assert all(0 < point.enter_cost < 1 and 0 < point.leave_cost < 1 for point in inner)


def test_entering_is_cheaper_where_the_level_rises_and_leaving_where_it_falls(known):
    rise = min(known.curves.cut_points, key=lambda point: abs(point.at_s - 12.5))
    fall = min(known.curves.cut_points, key=lambda point: abs(point.at_s - 28.5))
    assert rise.enter_cost < rise.leave_cost
    assert fall.leave_cost < fall.enter_cost


def test_ten_decibels_less_change_loudness_by_ten_and_energy_not_at_all(song, known, tmp_path):
    softer = analyse(sounds.written(tmp_path / "soft.wav", song[1] * np.float32(10 ** (-10 / 20))))
    assert softer.loudness_lufs == pytest.approx(known.loudness_lufs - 10, abs=0.05)
    assert softer.true_peak_dbtp == pytest.approx(known.true_peak_dbtp - 10, abs=0.05)
    assert softer.curves.mean_energy == pytest.approx(known.curves.mean_energy, abs=0.03)
    assert softer.tempo_bpm == pytest.approx(known.tempo_bpm, rel=0.01)


def test_loudness_is_what_the_meter_reads(song, known):
    meter = Meter(sounds.RATE, (2.0,))
    meter.feed(song[1][:, None])
    assert known.loudness_lufs == pytest.approx(meter.read().integrated_lufs, abs=0.01)


def test_a_stereo_file_of_two_equal_channels_is_the_mono_file(song, known, tmp_path):
    stereo = analyse(sounds.written(tmp_path / "two.wav", np.stack([song[1], song[1]], axis=1)))
    assert stereo.loudness_lufs == pytest.approx(known.loudness_lufs, abs=0.01)
    assert stereo.curves.energy == pytest.approx(known.curves.energy, abs=0.01)
    assert stereo.curves.cut_points == known.curves.cut_points


@pytest.mark.parametrize("kind", ["rain", "surf", "white"])
def test_rain_and_surf_are_calm_and_said_to_be_noise(kind, tmp_path):
    noise = analyse(sounds.written(tmp_path / f"{kind}.wav", sounds.noise(25, kind)))
    assert noise.tempo_bpm is None
    assert noise.curves.beats_s.size == 0
    assert noise.curves.mean_energy < 0.25
    assert NOISE_NOTE in noise.notes


def test_silence_is_named(tmp_path):
    with pytest.raises(AudioError, match="silent"):
        analyse(sounds.written(tmp_path / "nothing.wav", np.zeros(20 * sounds.RATE, np.float32)))


def test_a_stinger_is_too_short(tmp_path):
    with pytest.raises(AudioError, match=r"2\.0 s"):
        analyse(sounds.written(tmp_path / "ding.wav", sounds.noise(2, "white")))
