"""The bell stroke: soft, without a click, and inharmonic."""

import itertools

import numpy as np
import pytest

from audio.render.bell import bell_at, bell_stroke

RATE = 44_100


def test_it_begins_and_ends_in_silence_without_a_step() -> None:
    stroke = bell_stroke(RATE)
    assert np.all(stroke[0] == 0)
    assert np.all(np.abs(stroke[-1]) < 1e-6)
    assert np.abs(stroke).max() == 1.0
    # A full-scale 1.1 kHz sine, the highest partial, moves 0.16 a sample at most.
    assert np.abs(np.diff(stroke, axis=0)).max() < 0.16


def test_it_dies_away() -> None:
    stroke = bell_stroke(RATE)
    seconds = [np.sqrt(np.mean(stroke[i * RATE : (i + 1) * RATE] ** 2)) for i in range(8)]
    assert all(later < earlier for earlier, later in itertools.pairwise(seconds))
    assert 20 * np.log10(seconds[7] / seconds[0]) < -20


@pytest.mark.parametrize(("name", "ratio"), [("hum", 1 / 2), ("tierce", 6 / 5), ("quint", 3 / 2), ("nominal", 2.0)])
def test_its_partials_are_those_of_a_tuned_bell(name: str, ratio: float) -> None:
    """Rayleigh, "On bells", Philosophical Magazine 29, 1890; the ratios to the prime from memory."""
    spectrum = np.abs(np.fft.rfft(bell_stroke(RATE)[:, 0]))
    hertz = np.fft.rfftfreq(len(bell_stroke(RATE)), 1 / RATE)

    def peak(about: float) -> float:
        inside = (hertz > 0.9 * about) & (hertz < 1.1 * about)
        assert spectrum[inside].max() > 20 * np.median(spectrum[inside])
        return float(hertz[inside][np.argmax(spectrum[inside])])

    prime = peak(264.0)
    assert peak(ratio * prime) / prime == pytest.approx(ratio, rel=0.01)


@pytest.mark.parametrize("level_lufs", [-45.0, -23.0])
def test_its_loudest_moment_has_the_level_asked_for(level_lufs: float) -> None:
    """Momentary loudness, EBU Tech 3341 (400 ms), as libebur128 reads it every 10 ms."""
    pyebur128 = pytest.importorskip("pyebur128")
    meter = pyebur128.R128State(2, RATE, pyebur128.MeasurementMode.MODE_M)
    read = []
    for part in np.array_split(np.ascontiguousarray(bell_at(level_lufs, RATE)[: 3 * RATE]), 300):
        meter.add_frames(part.ravel(), len(part))
        read.append(pyebur128.get_loudness_momentary(meter))
    assert max(read) == pytest.approx(level_lufs, abs=0.1)
