"""A voice among music: espeak-ng speaks over invented music, and several of its voices drone over a drone.

The synthesised voices stand in for people only so far: real speakers and singers vary more, and a real chant has breath,
a room and harmonies that no synthesiser makes."""

import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
import soundfile
import sounds
import soxr

from audio.measure.analysis import analyse
from audio.measure.spectrum import RATE
from audio.measure.voice import VoiceWindows
from audio.measure.windows import Windows

TEXT = "Breathe in and lift the arms, breathe out and fold. Step the right foot back, and stay for one more breath."
needs_voice = pytest.mark.skipif(shutil.which("espeak-ng") is None, reason="espeak-ng is not installed")


def spoken(folder: Path, seconds: float) -> np.ndarray:
    subprocess.run(["espeak-ng", "-v", "en-gb", "-s", "140", "-w", folder / "said.wav", TEXT], check=True)
    samples, rate = soundfile.read(folder / "said.wav", dtype="float32")
    return np.resize(soxr.resample(samples, rate, sounds.RATE), round(seconds * sounds.RATE))


def level(samples: np.ndarray) -> float:
    return float(np.sqrt(np.mean(samples**2)))


@needs_voice
@pytest.mark.parametrize("over_db", [0, 6])
def test_speech_over_music_is_told_from_the_music_alone(over_db, tmp_path):
    music = sounds.chords([[48, 52, 55, 60], [45, 48, 52, 57]], 2.0, 20) + 0.3 * sounds.drums(90, 20)[0]
    talk = spoken(tmp_path, 20)
    mixed = music + talk * level(music) / level(talk) * 10 ** (over_db / 20)
    alone = analyse(sounds.written(tmp_path / "music.wav", 0.5 * music))
    both = analyse(sounds.written(tmp_path / "both.wav", 0.5 * mixed / np.abs(mixed).max()))
    assert alone.curves.voice_share < 0.1
    assert alone.voice_kind is None
    assert both.curves.voice_share > 0.8
    assert both.voice_kind == "speech"
    assert (both.curves.speech <= both.curves.voice).all()


@pytest.mark.parametrize("block", [1000, 22_050, 70_000])
def test_windows_are_the_same_however_the_stream_comes(block):
    samples = np.arange(10 * RATE, dtype=np.float32)
    windows = Windows(2.0, RATE)
    found = [pair for at in range(0, len(samples), block) for pair in windows.feed(samples[at : at + block])]
    found += windows.end()
    assert [middle for middle, _ in found] == pytest.approx([1, 3, 5, 7, 9], abs=1e-4)
    for middle, window in found:
        first = round(middle * RATE - RATE / 2)
        assert (window == samples[first : first + RATE]).all()


def test_less_than_a_window_is_heard_with_silence_after_it():
    heard = VoiceWindows()
    heard.feed(np.full(5000, 0.01, np.float32))
    voices = heard.end()
    assert len(voices.voice) == len(voices.speech) == len(voices.middles_s) == 1
    assert 0 <= voices.speech[0] <= voices.voice[0] <= 1
