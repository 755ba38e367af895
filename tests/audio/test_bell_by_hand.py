"""A stroke of the bell and the meeting of beats, sample by sample and beat by beat."""

import math

import numpy as np
import pytest

from audio.render import bell, chunks, stretch


def test_a_stroke_is_the_sum_of_its_partials() -> None:
    """Each dies away by its own time and stands at its place with equal power (a quarter turn from left to right)."""
    rate = 8000
    stroke = bell.bell_stroke(rate)
    last = (len(stroke) - 1) / rate
    assert len(stroke) == 9 * rate

    def at(frame: int) -> np.ndarray:
        time = frame / rate
        total = np.zeros(2)
        for number, (ratio, amplitude, decay_s, place) in enumerate(bell.PARTIALS):
            wave = amplitude * math.exp(-time / decay_s) * math.sin(2 * math.pi * 264 * ratio * time + 2.4 * number)
            angle = (place + 1) / 2 * math.pi / 2
            total += wave * np.array([math.cos(angle), math.sin(angle)])
        onset = math.sin(min(time / 0.015, 1) * math.pi / 2) ** 2
        release = math.sin(min((last - time) / 1.5, 1) * math.pi / 2) ** 2
        return total * onset * release

    frames = [1, 30, 60, 119, 121, 500, 4000, 30000, 59000, 61000, 70000]
    scale = max(np.abs(at(frame)).max() for frame in range(8000))
    assert np.abs(stroke).max() == 1.0
    for frame in frames:
        assert stroke[frame] == pytest.approx(at(frame) / scale, abs=1e-5)


def test_a_bell_is_read_only_and_moves_by_decibels() -> None:
    quiet, loud = bell.bell_at(-43.0, 8000), bell.bell_at(-23.0, 8000)
    assert float(np.abs(loud).max() / np.abs(quiet).max()) == pytest.approx(10.0, rel=1e-4)
    assert not loud.flags.writeable
    assert not bell.bell_stroke(8000).flags.writeable


def beats(bpm: float, first: float = 0.0, count: int = 30) -> np.ndarray:
    return first + np.arange(count) * 60 / bpm


@pytest.mark.parametrize(
    ("going", "coming", "rate"),
    [
        (beats(120), beats(120), 1.0),
        (beats(123), beats(120), 120 / 123),
        (beats(124.7), beats(120), 120 / 124.7),
        (beats(125.1), beats(120), None),  # more than 4 % apart
        (beats(115.5), beats(120), 120 / 115.5),
        (beats(115.1), beats(120), None),
        (beats(120, count=2), beats(120), None),
        (beats(120), beats(120, count=2), None),
        (beats(120, -0.5), beats(120), 1.0),  # a beat before the overlap is none of it
        (beats(120, 0.076), beats(120), None),  # out of phase by more than 15 % of a beat
    ],
)
def test_beats_meet_at_the_rate_of_their_tempos(going: np.ndarray, coming: np.ndarray, rate: float | None) -> None:
    found = stretch.meeting_rate(going, coming, 10.0)
    assert found == (None if rate is None else pytest.approx(rate, abs=1e-6))


@pytest.mark.parametrize(("going", "coming", "rate"), [(3, 9, 1.0), (9, 3, 1.0), (2, 9, None), (9, 2, None)])
def test_three_beats_of_each_are_needed(going: int, coming: int, rate: float | None) -> None:
    assert stretch.meeting_rate(beats(120, count=going), beats(120, count=coming), 3.0) == rate


def test_the_nearest_of_the_first_three_beats_is_the_one_that_meets() -> None:
    assert stretch.meeting_rate(beats(120, 0.0), beats(120, 1.0), 10.0) == pytest.approx(1.0)
    assert stretch.meeting_rate(beats(120, 0.0), beats(120, 1.5), 10.0) is None
    assert stretch.meeting_rate(beats(120, 0.074), beats(120), 10.0) is not None


def test_the_rate_is_the_least_squares_line_through_the_start_of_the_overlap() -> None:
    rng = np.random.default_rng(1)
    coming = beats(120, 0.02, 20)
    going = coming * 1.01 + rng.normal(0, 0.01, 20)
    late = coming > 2.5  # what lies in the first quarter says little
    expected = (going[late] * coming[late]).sum() / (coming[late] ** 2).sum()
    assert stretch.meeting_rate(going, coming, 10.0) == pytest.approx(expected)
    assert stretch.meeting_rate(beats(120, count=5), beats(120, count=5), 10.0) is None  # none is late


@pytest.mark.parametrize(("frames", "expected"), [(2, [1, 2]), (3, [1, 2, 3]), (5, [1, 2, 3, 0, 0])])
def test_a_stretch_is_cut_or_filled_to_its_length(frames: int, expected: list[float]) -> None:
    samples = np.array([[1.0, 1.0], [2, 2], [3, 3]], np.float32)
    assert stretch._to_length(samples, frames)[:, 0].tolist() == expected


def test_a_stretch_begins_with_the_plain_samples() -> None:
    plain, output = np.zeros((100, 2), np.float32), np.ones((100, 2), np.float32)
    made = stretch._spliced(plain, output, 1000)[:, 0]
    assert made[:40] == pytest.approx(np.arange(40) / 39)  # over 0.04 s
    assert (made[40:] == 1).all()
    short = stretch._spliced(np.zeros((10, 2), np.float32), np.ones((100, 2), np.float32), 1000)[:, 0]
    assert short[:10] == pytest.approx(np.arange(10) / 9)


@pytest.mark.parametrize(("seconds", "pieces"), [(0.0, 1), (5.0, 1), (10.0, 1), (10.001, 2), (25.0, 3)])
def test_a_stretch_comes_in_pieces_of_ten_seconds(seconds: float, pieces: int) -> None:
    assert chunks.count(3.0, 3.0 + seconds) == pieces
