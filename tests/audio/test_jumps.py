"""Places that sound alike: found where music repeats itself, nowhere else; the truth is how the sound was put together."""

import numpy as np
import pytest
import soundfile

from audio.measure.jumps import LEAST_JUMP_S, heard, jumps

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


def listened(tmp_path, sound):
    path = tmp_path / "song.wav"
    soundfile.write(path, sound, RATE)
    return heard(path)


def test_a_part_that_comes_again_can_be_jumped_to_and_from(tmp_path):
    verse, other = phrase(1, 20), phrase(2, 20)
    sound = listened(tmp_path, np.concatenate((verse, other, verse, phrase(3, 8))))
    found = jumps(sound, np.arange(0, 68, BEAT_S), np.arange(0, 68, 4 * BEAT_S))
    assert found
    for jump in found:  # from a place of one verse to the same place of the other, 40 s away
        assert jump.from_s - jump.to_s == pytest.approx(40, abs=1 / 22_050)
        assert 0 <= jump.seam <= 1


def test_places_are_laid_on_each_other_by_their_samples_though_the_beats_are_not(tmp_path):
    """The verse comes again 7 ms later than the beats say, as where a tracker rounds or people play."""
    verse = phrase(1, 20)
    late = np.zeros(round(0.007 * RATE), np.float32)
    sound = listened(tmp_path, np.concatenate((verse, phrase(2, 20), late, verse, phrase(3, 8))))
    found = jumps(sound, np.arange(0, 68, BEAT_S), np.arange(0, 68, 4 * BEAT_S))
    assert found
    assert all(jump.from_s - jump.to_s == pytest.approx(40 + len(late) / RATE, abs=1 / 22_050) for jump in found)


@pytest.mark.parametrize("busy", [False, True])
def test_a_seam_is_no_more_than_what_most_bars_of_its_song_have(tmp_path, busy):
    """A verse that comes again, alike to the sample. Where another tone comes with every bar in between, it is joined; where
    there is nothing but noise, the verse's own bars are what stands out, and nothing is joined there."""
    rng, at = np.random.default_rng(6), np.arange(80 * RATE) / RATE
    tones = np.sin(2 * np.pi * rng.uniform(300, 1200, 40)[(at // 2).astype(int)] * at)
    between = 0.3 * tones if busy else 0.05 * rng.standard_normal(len(at))
    sound = listened(tmp_path, np.concatenate((phrase(5, 10), between, phrase(5, 10), phrase(3, 2))))
    bars = np.arange(0, 102, 4 * BEAT_S)
    assert busy == any(jump.from_s > 91 for jump in jumps(sound, bars, bars))


def test_music_that_never_repeats_has_no_jump(tmp_path):
    sound = listened(tmp_path, phrase(4, 60))
    assert jumps(sound, np.arange(0, 60, BEAT_S), np.arange(0, 60, 4 * BEAT_S)) == ()


def test_the_same_part_played_louder_is_no_place_to_jump_to(tmp_path):
    verse = phrase(5, 20)
    sound = listened(tmp_path, np.concatenate((verse, phrase(6, 10), 0.7 * verse, phrase(7, 8))))  # 3.1 dB down
    assert jumps(sound, np.arange(0, 58, BEAT_S), np.arange(0, 58, 4 * BEAT_S)) == ()


def test_where_there_is_no_beat_a_long_cross_fade_joins(tmp_path):
    verse = phrase(8, 20)
    sound = listened(tmp_path, np.concatenate((verse, phrase(9, 10), verse, phrase(10, 8))))
    found = jumps(sound, NONE, NONE)
    assert found
    assert all(jump.fade_s > 1 and jump.from_s - jump.to_s >= LEAST_JUMP_S for jump in found)


@pytest.mark.parametrize("seconds", [0.3, 2.0, 6.0])
def test_a_short_sound_has_none(tmp_path, seconds):
    assert jumps(listened(tmp_path, phrase(11, 6)[: int(seconds * RATE)]), NONE, NONE) == ()
