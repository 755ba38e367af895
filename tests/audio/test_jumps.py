"""Places that sound alike: found where music repeats itself, nowhere else; the truth is how the sound was put together."""

import numpy as np
import pytest
import soundfile

from audio.measure.jumps import LEAST_JUMP_S, features_of, jumps

RATE = 44_100
BEAT_S = 0.5
NONE = np.zeros(0)


def phrase(seed: int, seconds: float) -> np.ndarray:
    """Chords and strokes by chance, a chord a second."""
    rng = np.random.default_rng(seed)
    at = np.arange(int(seconds * RATE)) / RATE
    sound = np.zeros(len(at))
    for second in range(int(seconds)):
        here = (at >= second) & (at < second + 1)
        for note in rng.choice(np.arange(45, 81), 4, replace=False):
            sound[here] += 0.08 * np.sin(2 * np.pi * 440 * 2 ** ((note - 69) / 12) * at[here])
    stroke = np.exp(-(at % BEAT_S) * 25) * rng.standard_normal(len(at))
    return (sound + 0.1 * stroke).astype(np.float32)


def heard(tmp_path, sound):
    path = tmp_path / "song.wav"
    soundfile.write(path, sound, RATE)
    return features_of(path)


def test_a_part_that_comes_again_can_be_jumped_to_and_from(tmp_path):
    verse, other = phrase(1, 20), phrase(2, 20)
    features = heard(tmp_path, np.concatenate((verse, other, verse, phrase(3, 8))))
    found = jumps(features, np.arange(0, 68, BEAT_S), np.arange(0, 68, 4 * BEAT_S))
    assert found
    for jump in found:  # from a place of one verse to the same place of the other, 40 s away
        assert abs(jump.to_s - jump.from_s) == pytest.approx(40, abs=0.06)
        assert 0 <= jump.seam <= 1
    assert {jump.to_s < jump.from_s for jump in found} == {True, False}


def test_music_that_never_repeats_has_no_jump(tmp_path):
    features = heard(tmp_path, phrase(4, 60))
    assert jumps(features, np.arange(0, 60, BEAT_S), np.arange(0, 60, 4 * BEAT_S)) == ()


def test_the_same_part_played_louder_is_no_place_to_jump_to(tmp_path):
    verse = phrase(5, 20)
    features = heard(tmp_path, np.concatenate((verse, phrase(6, 10), 0.7 * verse, phrase(7, 8))))  # 3.1 dB down
    assert jumps(features, np.arange(0, 58, BEAT_S), np.arange(0, 58, 4 * BEAT_S)) == ()


def test_where_there_is_no_beat_a_long_cross_fade_joins(tmp_path):
    verse = phrase(8, 20)
    features = heard(tmp_path, np.concatenate((verse, phrase(9, 10), verse, phrase(10, 8))))
    found = jumps(features, NONE, NONE)
    assert found
    assert all(jump.fade_s > 1 and abs(jump.to_s - jump.from_s) >= LEAST_JUMP_S for jump in found)


@pytest.mark.parametrize("seconds", [0.3, 2.0, 6.0])
def test_a_short_sound_has_none(tmp_path, seconds):
    assert jumps(heard(tmp_path, phrase(11, 6)[: int(seconds * RATE)]), NONE, NONE) == ()
