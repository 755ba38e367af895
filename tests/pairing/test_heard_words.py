"""A section as it is heard, in words: no figure a teacher would have to look up."""

import json
import re

import numpy as np
import pytest

from pairing.model import Kind
from pairing.sets.heard import Carried, ClassSound, SectionSound
from pairing.show.asjson import as_text, heard_json
from pairing.show.heard import sound_lines

PEAK = SectionSound(1, "Crest", Kind.PEAK, 60, 120, -18.0, -15.0, 95.0, 1.0, 70.0, 0.8, True, 120.0, 0.6, 0.0, ())


def made(**values):
    other = {
        "section": 0, "name": "Ebb", "kind": Kind.COOL_DOWN, "start_s": 0, "end_s": 60, "loudness_lufs": -18.0,
        "loudest_lufs": -17.0, "loudest_at_s": 12.0, "rise_lu": 0.0, "rise_at_s": 0.0, "energy": 0.3, "is_known": True,
        "beat_bpm": None, "voice_share": 0.0, "silence_s": 0.0, "carried": (),
    } | values  # fmt: skip
    return ClassSound((SectionSound(**other), PEAK), -19.0, 0.0, np.zeros(1200), np.zeros(1200), ())


def heard(**values):
    return sound_lines(made(**values))


@pytest.mark.parametrize(
    ("lufs", "words"),
    [
        (-18.0, "as loud as the peak"),
        (-18.9, "as loud as the peak"),
        (-19.5, "a little softer than the peak"),
        (-22.0, "softer than the peak"),
        (-27.0, "much softer than the peak"),
        (-14.0, "louder than the peak"),
    ],
)
def test_levels_are_said_against_the_peak(lufs, words):
    lines = heard(loudness_lufs=lufs)
    assert lines[0] == f"{words}, loudest at 0:12, calm, no clear beat, no voice"
    assert lines[1] == "the level of the peak, loudest at 1:35, driving, a clear beat, sung"


def test_what_startles_and_what_sounds_on_is_said_and_no_figure_but_times():
    line = heard(rise_lu=5.0, silence_s=121.0, carried=(Carried(3, 4.2),))[0]
    assert "swells quickly" in line
    assert line.endswith("silent for 2 minutes, track 3 sounds on for 4 seconds")
    assert not re.search(r"dB|LU|%|beats a minute", line)
    assert heard(loudest_lufs=-80.0, loudness_lufs=float("-inf"))[0] == "silent"


def test_what_is_silent_has_no_level_in_json():
    silent, _ = json.loads(as_text(heard_json(made(loudness_lufs=float("-inf"), loudest_lufs=-70.0, energy=None))))
    assert silent["message"] == "silent"
    assert silent["heard"]["loudness_lufs"] is silent["heard"]["energy"] is silent["heard"]["beat_bpm"] is None
