"""Key by the profiles of Krumhansl and Kessler (1982); the profiles themselves are from memory of the printed table."""

import numpy as np
import pytest
import sounds
from hypothesis import given
from hypothesis import strategies as st

from audio import constants as c
from audio.measure.features import FeatureStream
from audio.measure.key import KEY_NAMES, key_of


def chroma_of(samples: np.ndarray) -> np.ndarray:
    stream = FeatureStream()
    stream.feed(samples)
    return stream.end().chroma


CADENCES = {  # I IV V I and i iv V i, spelt in MIDI notes
    "C major": [[48, 52, 55, 60], [53, 57, 60], [55, 59, 62], [48, 52, 55, 60]],
    "A minor": [[45, 48, 52, 57], [50, 53, 57], [52, 56, 59], [45, 48, 52, 57]],
    "F# minor": [[42, 45, 49, 54], [47, 50, 54], [49, 53, 56], [42, 45, 49, 54]],
    "Eb major": [[51, 55, 58, 63], [56, 60, 63], [58, 62, 65], [51, 55, 58, 63]],
}


@pytest.mark.parametrize("name", CADENCES)
def test_a_cadence_names_its_key(name):
    key, strength = key_of(chroma_of(sounds.chords(CADENCES[name], 1.0, 8)))
    assert key == name
    assert strength > 0.6


@given(tonic=st.integers(0, 11), minor=st.booleans(), level=st.floats(1e-3, 1e3))
def test_a_profile_is_the_best_fit_to_itself_at_any_level(tonic, minor, level):
    profile = np.roll(c.KEY_PROFILE_MINOR if minor else c.KEY_PROFILE_MAJOR, tonic)
    key, strength = key_of((level * np.square(profile))[None, :].astype(np.float32))
    assert key == KEY_NAMES[tonic + 12 * minor]
    assert strength == pytest.approx(1.0)


def test_silence_has_no_key():
    assert key_of(np.zeros((20, 12), np.float32)) == (None, 0.0)
