"""Spans into one stream: lengths, places, joins, levels, beats that meet."""

from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from audio.render.mixer import MIX_RATE, Sound, render
from audio.render.span import Level, Span

FLAT = (Level(0.0, 0.0),)


def wav(path: Path, samples: NDArray[np.float64], rate: int = MIX_RATE) -> Path:
    soundfile.write(path, samples, rate, subtype="FLOAT")
    return path


def sine(seconds: float, hertz: float, rate: int = MIX_RATE) -> NDArray[np.float64]:
    time = np.arange(round(seconds * rate)) / rate
    return 0.25 * np.sin(2 * np.pi * hertz * time)


def mixed(spans: list[Span], seconds: float, **options: object) -> NDArray[np.float32]:
    return np.concatenate(list(render(spans, seconds, **options)))  # type: ignore[arg-type]


def span(path: Path, start: float, end: float, track_start: float = 0.0, fade: float = 0.0, **more: object) -> Span:
    return Span(path, start, end, track_start, fade, fade, FLAT, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("seconds", [3.0, 7.25, 12.3456])
def test_as_many_frames_come_out_as_the_class_is_long(tmp_path: Path, seconds: float) -> None:
    path = wav(tmp_path / "a.wav", sine(5, 440))
    assert len(mixed([span(path, 1.0, 4.0)], seconds)) == round(seconds * MIX_RATE)
    assert len(mixed([], seconds)) == round(seconds * MIX_RATE)


def test_a_span_comes_from_its_place_and_stands_in_its_place(tmp_path: Path) -> None:
    noise = 0.2 * np.random.default_rng(1).standard_normal(10 * MIX_RATE)
    path = wav(tmp_path / "a.wav", noise)
    mix = mixed([span(path, 2.0, 5.0, track_start=4.0)], 8.0)
    inside = slice(int(2.5 * MIX_RATE), int(4.5 * MIX_RATE))
    np.testing.assert_allclose(mix[inside, 0], noise[int(4.5 * MIX_RATE) : int(6.5 * MIX_RATE)], atol=1e-6)
    assert not mix[: 2 * MIX_RATE].any()
    assert not mix[5 * MIX_RATE :].any()


@pytest.mark.parametrize("fade_s", [0.0, 1.0])
def test_a_fade_begins_and_ends_at_exactly_nothing_and_is_whole_beside(tmp_path: Path, fade_s: float) -> None:
    """On a constant signal the mix is the fade itself, which rises and falls alike; without one 10 ms are faded."""
    path = wav(tmp_path / "a.wav", np.full(10 * MIX_RATE, 0.5))
    mix = mixed([span(path, 1.0, 5.0, fade=fade_s)], 6.0)[:, 0]
    first, last = MIX_RATE, 5 * MIX_RATE - 1
    assert mix[first] == mix[last] == 0.0
    assert mix[first + 1] > 0.0 < mix[last - 1]
    np.testing.assert_allclose(mix[first : last + 1], mix[first : last + 1][::-1], atol=1e-6)
    frames = round(max(fade_s, 0.01) * MIX_RATE)
    assert mix[first + frames - 1] == pytest.approx(0.5, abs=1e-6)
    assert mix[last - frames + 1] == pytest.approx(0.5, abs=1e-6)
    assert (np.diff(mix[first : first + frames]) >= 0).all()


def test_other_rates_and_mono_are_brought_to_stereo_at_the_rate_of_the_mix(tmp_path: Path) -> None:
    path = wav(tmp_path / "a.wav", sine(4, 1000, 32_000), 32_000)
    mix = mixed([span(path, 0.0, 4.0)], 4.0)
    np.testing.assert_array_equal(mix[:, 0], mix[:, 1])
    middle = mix[MIX_RATE : 3 * MIX_RATE, 0]
    np.testing.assert_allclose(np.sqrt(np.mean(middle**2)), 0.25 / np.sqrt(2), rtol=1e-3)


def test_no_step_at_a_join_is_larger_than_the_material_s_own(tmp_path: Path) -> None:
    a, b = wav(tmp_path / "a.wav", sine(10, 300)), wav(tmp_path / "b.wav", sine(10, 500))
    mix = mixed([span(a, 0, 5, fade=1.0), span(b, 4, 8, track_start=1.003, fade=1.0), span(a, 8.0, 9.5)], 10.0)
    # cos a + sin b is at most sqrt(a² + b²): both sines move at once in the overlap
    largest_own = 0.25 * 2 * np.pi * np.hypot(300, 500) / MIX_RATE
    assert np.abs(np.diff(mix, axis=0)).max() <= largest_own * 1.01


def test_music_faded_into_itself_on_the_beat_shows_no_bump(tmp_path: Path) -> None:
    time = np.arange(12 * MIX_RATE) / MIX_RATE
    loop = 0.3 * np.sin(2 * np.pi * 220 * time) * (0.6 + 0.4 * np.cos(2 * np.pi * 2 * time))
    path = wav(tmp_path / "loop.wav", loop)
    mix = mixed([span(path, 0, 6, fade=2.0), span(path, 4, 10, fade=2.0)], 10.0)[:, 0]
    levels = [10 * np.log10(np.mean(mix[i * MIX_RATE : (i + 1) * MIX_RATE] ** 2)) for i in range(1, 9)]
    assert max(levels) - min(levels) < 1.0


@pytest.mark.parametrize("faster", [0.97, 1.015, 1.03])
def test_music_stretched_into_itself_on_the_beat_shows_no_bump(tmp_path: Path, faster: float) -> None:
    pytest.importorskip("python_stretch")

    def chords(bpm: float) -> NDArray[np.float64]:
        """The same chord at any tempo, swelling on each beat."""
        time = np.arange(14 * MIX_RATE) / MIX_RATE
        tones = sum(np.sin(2 * np.pi * hertz * time) for hertz in (220.0, 277.2, 329.6, 440.0))
        return 0.08 * tones * (0.6 + 0.4 * np.cos(2 * np.pi * bpm / 60 * time))

    a, b = wav(tmp_path / "a.wav", chords(120.0)), wav(tmp_path / "b.wav", chords(120.0 * faster))
    beats_a, beats_b = tuple(np.arange(0, 13, 0.5)), tuple(np.arange(0, 13, 0.5 / faster))
    spans = [
        span(a, 0, 10, beats_s=beats_a, tempo_bpm=120.0),
        span(b, 4, 14, beats_s=beats_b, tempo_bpm=120.0 * faster),
    ]
    mix = mixed(spans, 14.0)[:, 0]
    levels = [10 * np.log10(np.mean(mix[i * MIX_RATE // 2 :][:MIX_RATE] ** 2)) for i in range(2, 24)]
    assert max(levels) - min(levels) < 1.0


def test_beats_of_close_tempos_meet_in_the_overlap(tmp_path: Path) -> None:
    pytest.importorskip("python_stretch")

    def clicks(period: float) -> NDArray[np.float64]:
        track = np.zeros(20 * MIX_RATE)
        for beat in np.arange(0, 19, period):
            at = round(beat * MIX_RATE)
            track[at : at + 400] = 0.5 * np.sin(2 * np.pi * 1500 * np.arange(400) / MIX_RATE) * np.hanning(400)
        return track

    slow, quick = 0.5, 0.5 / 1.03
    a, b = wav(tmp_path / "a.wav", clicks(slow)), wav(tmp_path / "b.wav", clicks(quick))
    beats_a, beats_b = tuple(np.arange(0, 19, slow)), tuple(np.arange(0, 19, quick))
    spans = [
        span(a, 0, 12, fade=6.0, beats_s=beats_a, tempo_bpm=120.0),
        span(b, 6, 18, fade=6.0, beats_s=beats_b, tempo_bpm=123.6),
    ]
    mix = np.abs(mixed(spans, 18.0)[:, 0])
    for beat in 6 + beats_b_in_middle(quick):
        near = mix[int((beat - 0.15) * MIX_RATE) : int((beat + 0.2) * MIX_RATE)]
        loud = np.flatnonzero(near > 0.1) / MIX_RATE
        assert loud.max() - loud.min() < 0.03, f"two clicks apart near {beat:.2f} s"


def beats_b_in_middle(period: float) -> NDArray[np.float64]:
    return np.arange(2 * period, 5.0, period)


def test_a_bell_is_added_where_it_falls_across_blocks(tmp_path: Path) -> None:
    samples = np.full((MIX_RATE, 2), 0.1, np.float32)
    mix = mixed([], 4.0, sounds=[Sound(1.5, samples)])
    np.testing.assert_allclose(mix[int(1.5 * MIX_RATE) : int(2.5 * MIX_RATE)], 0.1, rtol=1e-6)
    assert not mix[: int(1.5 * MIX_RATE)].any()
    assert not mix[int(2.5 * MIX_RATE) :].any()


def test_a_gain_moves_on_a_straight_line_in_decibels(tmp_path: Path) -> None:
    path = wav(tmp_path / "a.wav", np.full(10 * MIX_RATE, 0.5))
    levels = (Level(2.0, 0.0), Level(6.0, -20.0))
    mix = mixed([Span(path, 0, 8, 0, 0, 0, levels)], 8.0)[:, 0]
    for at, gain_db in [(1.0, 0.0), (4.0, -10.0), (7.0, -20.0)]:
        assert 20 * np.log10(mix[int(at * MIX_RATE)] / 0.5) == pytest.approx(gain_db, abs=0.01)


def test_three_tracks_at_once_are_refused(tmp_path: Path) -> None:
    path = wav(tmp_path / "a.wav", sine(10, 440))
    with pytest.raises(ValueError, match="three tracks"):
        mixed([span(path, 0, 6), span(path, 3, 7), span(path, 5, 9)], 10.0)
