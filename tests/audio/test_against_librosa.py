"""Filters and spectra against librosa (B. McFee et al., "librosa: Audio and music signal analysis in Python", 2015)."""

import numpy as np
import pytest
import sounds

from audio.measure.features import FeatureStream
from audio.measure.spectrum import FRAME, HOP, RATE, MonoStream, Spectrum, mel_weights

librosa = pytest.importorskip("librosa")


@pytest.mark.parametrize(("rate", "length", "bands", "low"), [(22_050, 1024, 40, 30.0), (16_000, 512, 96, 0.0)])
def test_mel_filters_are_librosas(rate, length, bands, low):
    theirs = librosa.filters.mel(sr=rate, n_fft=length, n_mels=bands, fmin=low)
    assert mel_weights(rate, length, bands, low) == pytest.approx(theirs.T, abs=1e-7)


@pytest.mark.slow
def test_a_streamed_spectrum_is_librosas_whatever_the_blocks():
    samples = sounds.noise(2, "white")
    spectrum = Spectrum()
    blocks = np.split(samples, [1, 700, 701, 9_000, 30_000])
    ours = np.concatenate([*(spectrum.feed(block) for block in blocks), spectrum.end()])
    theirs = np.abs(librosa.stft(samples, n_fft=FRAME, hop_length=HOP, pad_mode="constant")).T
    count = min(len(ours), len(theirs))
    assert count >= len(theirs) - 1
    assert ours[:count] == pytest.approx(theirs[:count], abs=1e-3)


def test_resampling_in_blocks_is_resampling_at_once():
    """soxr by way of librosa, high quality, on the mean of two channels."""
    random = np.random.default_rng(5)
    stereo = random.standard_normal((44_100, 2)).astype(np.float32) * 0.1
    stream = MonoStream(44_100)
    ours = np.concatenate([*(stream.feed(block) for block in np.split(stereo, 7)), stream.end()])
    theirs = librosa.resample(stereo.mean(axis=1), orig_sr=44_100, target_sr=RATE, res_type="soxr_hq")
    assert len(ours) == len(theirs)
    assert ours == pytest.approx(theirs, abs=1e-5)


def test_flatness_of_any_noise_is_what_theory_says_and_of_a_tone_is_small():
    """Periodogram bins of noise are exponentially distributed: geometric over arithmetic mean is exp(-0.5772)."""
    for kind in ("white", "surf"):
        stream = FeatureStream()
        stream.feed(sounds.noise(10, kind))
        assert np.median(stream.end().flatness) == pytest.approx(np.exp(-np.euler_gamma), abs=0.04)
    stream = FeatureStream()
    stream.feed(sounds.chords([[57, 61, 64]], 10, 10))
    assert np.median(stream.end().flatness) < 0.2


def test_entropy_is_one_for_white_noise_and_low_for_a_tone():
    time = np.arange(5 * RATE) / RATE
    for samples, low, high in ((sounds.noise(5, "white"), 0.95, 1.0), (np.sin(2 * np.pi * 440 * time), 0.0, 0.35)):
        stream = FeatureStream()
        stream.feed(samples.astype(np.float32))
        assert low < np.median(stream.end().entropy) < high
