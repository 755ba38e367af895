"""The demo's sounds and masters: in tune, clean, at their level, in time, the same each time. Short excerpts."""

import numpy as np
import pytest

from audio.arrays import F32
from audio.measure.loudness import Meter
from audio.synth import drums, instruments
from audio.synth.desk import render
from audio.synth.instruments import RATE
from audio.synth.recipes import RECIPES, beats_s
from audio.synth.voice import Syllable, sing

pytestmark = pytest.mark.slow

RECIPE = {recipe.slug: recipe for recipe in RECIPES}
STRUCK = (instruments.pluck, instruments.keys, instruments.tongue, instruments.bowl)
HELD = (instruments.pad, instruments.choir, instruments.drone, instruments.bass, instruments.lead, instruments.pipe)
DRUMS = (drums.skin, drums.slap, drums.shaker, drums.kick, drums.snare, drums.clap, drums.hat, drums.ride, drums.crash)


def fundamental_hz(samples: F32, about_hz: float) -> float:
    """Strongest frequency within a semitone and a half of the expected one, interpolated between bins."""
    mono = samples if samples.ndim == 1 else samples[0]
    mono = mono[: 2 * RATE]
    spectrum = np.abs(np.fft.rfft(mono * np.hanning(mono.size), 1 << 19))
    hertz = np.fft.rfftfreq(1 << 19, 1 / RATE)
    near = (hertz > about_hz * 0.92) & (hertz < about_hz * 1.08)
    return float(hertz[near][spectrum[near].argmax()])


# What is made of several strings or modes slightly apart is a little out of tune by design.
WIDE = (instruments.pad, instruments.choir, instruments.drone, instruments.lead, instruments.bowl)


# ISO 16: a' is 440 Hz; equal temperament.
@pytest.mark.parametrize(("midi", "hertz"), [(45, 110.0), (57, 220.0), (69, 440.0), (60, 261.626)])
@pytest.mark.parametrize("instrument", STRUCK, ids=lambda f: f.__name__)
def test_struck_notes_are_in_tune_with_iso_16(instrument, midi: int, hertz: float):
    cents = 1200 * np.log2(fundamental_hz(instrument(midi, 1, 0), hertz) / hertz)
    assert abs(cents) < (15 if instrument in WIDE else 5)


@pytest.mark.parametrize(("midi", "hertz"), [(45, 110.0), (57, 220.0), (69, 440.0)])
@pytest.mark.parametrize("instrument", HELD, ids=lambda f: f.__name__)
def test_held_notes_are_in_tune_with_iso_16(instrument, midi: int, hertz: float):
    cents = 1200 * np.log2(fundamental_hz(instrument(midi, 1, 2.0, 0), hertz) / hertz)
    assert abs(cents) < (15 if instrument in WIDE else 5)


@pytest.mark.parametrize("layer", [0, 1, 2])
@pytest.mark.parametrize("sound", STRUCK + HELD + DRUMS, ids=lambda f: f.__name__)
def test_every_sound_is_clean(sound, layer: int):
    samples = sound(50, layer, 1.5, 0) if sound in HELD else sound(50, layer, 0)
    assert samples.dtype == np.float32
    assert np.isfinite(samples).all()
    assert 0.2 < np.abs(samples).max() < 2.5
    assert np.abs(samples[..., [0, -1]]).max() < 1e-3  # no click where it starts or ends
    assert abs(samples.mean()) < 0.01 * np.abs(samples).max()


def test_a_sung_vowel_has_its_resonances_where_peterson_and_barney_measured_them():
    # JASA 24(2), 1952, table II, men: F1, F2 of the vowels of "heed" and "hod" (values from memory)
    for vowel, first_hz, second_hz in (("i", 270, 2290), ("a", 730, 1090)):
        voice = sing((Syllable(0.0, 1.5, 43, vowel),), 0)[RATE // 2 : RATE]
        power = np.abs(np.fft.rfft(voice * np.hanning(voice.size))) ** 2
        hertz = np.fft.rfftfreq(voice.size, 1 / RATE)

        def level_db(at_hz: float, power: F32 = power, hertz: F32 = hertz) -> float:
            return 10 * np.log10(power[np.abs(hertz - at_hz) < 120].sum())

        assert level_db(first_hz) > level_db(first_hz + 500 if vowel == "i" else 1700) + 6
        assert level_db(second_hz) > level_db(1500 if vowel == "i" else 1900) + 6


EXCERPTS = ("slack-water", "tidewrack", "ropewalk-waltz", "hawser", "northerly")


@pytest.fixture(scope="module")
def excerpts() -> dict[str, F32]:
    return {slug: render(RECIPE[slug], 20.0) for slug in EXCERPTS}


@pytest.mark.parametrize("slug", EXCERPTS)
def test_a_master_is_at_its_level_clean_and_wide(excerpts: dict[str, F32], slug: str):
    samples = excerpts[slug]
    meter = Meter(RATE, (1.0, 1.0))
    meter.feed(np.ascontiguousarray(samples))
    assert samples.shape == (20 * RATE, 2)
    assert meter.read().integrated_lufs == pytest.approx(RECIPE[slug].level_lufs, abs=0.3)
    assert np.abs(samples).max() <= 10 ** (-2.4 / 20)
    assert abs(samples.mean()) < 0.002
    assert -0.5 < np.corrcoef(samples.T)[0, 1] < 0.97  # not mono, and not lost where a speaker adds both sides
    assert 20 * np.log10(samples[:, 0].std() / samples[:, 1].std()) == pytest.approx(0, abs=1)


def test_the_same_recipe_gives_the_same_samples(excerpts: dict[str, F32]):
    for cache in (instruments.pluck, instruments.bowl, drums.skin):
        cache.cache_clear()
    np.testing.assert_array_equal(render(RECIPE["hawser"], 20.0), excerpts["hawser"])


def test_pieces_differ(excerpts: dict[str, F32]):
    one, other = excerpts["hawser"][:, 0], excerpts["northerly"][:, 0]
    assert abs(np.corrcoef(one, other)[0, 1]) < 0.2


@pytest.mark.parametrize("slug", ["ropewalk-waltz", "hawser", "northerly"])
def test_onsets_repeat_with_the_beat_of_the_recipe(excerpts: dict[str, F32], slug: str):
    """The autocorrelation of rising level is higher at the beat than beside it: checked without our own tempo code."""
    mono = excerpts[slug].mean(axis=1)
    level = np.log(np.square(mono[: mono.size // 441 * 441]).reshape(-1, 441).mean(axis=1) + 1e-6)  # 100 a second
    rise = np.maximum(np.diff(level), 0)
    rise -= rise.mean()
    score = np.correlate(rise, rise, "full")[rise.size - 1 :]
    beat = 100 * 60 / RECIPE[slug].tempo_bpm
    on = max(score[round(beat) - 1 : round(beat) + 2])
    beside = max(score[round(beat * f) + d] for f in (0.86, 1.14) for d in (-1, 0, 1))
    assert on > 1.5 * max(beside, 0)


@pytest.mark.parametrize("slug", ["hawser", "northerly"])
def test_drums_fall_on_the_beats_of_the_recipe(excerpts: dict[str, F32], slug: str):
    mono = excerpts[slug].mean(axis=1)
    level = np.square(mono[: mono.size // 441 * 441]).reshape(-1, 441).mean(axis=1)
    rise = np.maximum(np.diff(np.log(level + 1e-6)), 0)
    at = np.round(100 * beats_s(RECIPE[slug])).astype(int)
    at = at[(at > 10) & (at < rise.size - 30)]
    on = np.mean([rise[k - 3 : k + 4].max() for k in at])
    between = np.mean([rise[k + 10 : k + 17].max() for k in at])
    assert on > 1.3 * between


def brightness(samples: F32) -> float:
    """Spectral entropy, 0 to 1: what the published ratings of energy follow most closely."""
    mono = samples[::2].mean(axis=1)
    frames = np.lib.stride_tricks.sliding_window_view(mono, 2048)[::1024] * np.hanning(2048)
    share = np.abs(np.fft.rfft(frames, axis=1)) + 1e-12
    share /= share.sum(axis=1, keepdims=True)
    return float(-(share * np.log2(share)).sum(axis=1).mean() / np.log2(1025))


def test_more_intended_energy_is_a_denser_spectrum(excerpts: dict[str, F32]):
    dense = [brightness(excerpts[slug]) for slug in ("slack-water", "ropewalk-waltz", "hawser", "northerly")]
    assert dense == sorted(dense)
    assert dense[-1] - dense[0] > 0.25
