"""MP3 made in pieces, on all cores, is the file that one encoder makes in one go, to the byte."""

import threading

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from audio.files import mp3
from audio.files.encode import Encoder


def music(samples, rate, channels):
    """Chords with a stroke now and then over noise, so that short and long blocks take turns."""
    rng = np.random.default_rng(samples)
    t = np.arange(samples) / rate
    sound = 0.05 * rng.standard_normal((samples, channels))
    for hertz in (110, 220.3, 331.7, 1250):
        sound += 0.1 * np.sin(2 * np.pi * hertz * t * (1 + 0.1 * (t // 0.7 % 3)))[:, None]
    sound[:: rate // 3] += 0.5
    return sound.astype(np.float32)


def file_of(path, samples, rate, pieces_s, handed=5000):
    mp3._PIECE_S, before = pieces_s, mp3._PIECE_S
    try:
        with Encoder(path, rate=rate, channels=samples.shape[1]) as encoder:
            for start in range(0, len(samples), handed):
                encoder.write(samples[start : start + handed])
    finally:
        mp3._PIECE_S = before
    return path.read_bytes()


@pytest.mark.parametrize(("rate", "channels"), [(44_100, 2), (48_000, 2), (44_100, 1), (22_050, 2), (32_000, 1)])
def test_pieces_join_to_the_very_bytes_of_one_encoder(tmp_path, rate, channels):
    samples = music(9 * rate + 321, rate, channels)
    whole = file_of(tmp_path / "whole.mp3", samples, rate, 1e6)
    assert file_of(tmp_path / "pieces.mp3", samples, rate, 1.5) == whole


FRAME, PIECE = 1152, 49 * 1152


@settings(max_examples=12, deadline=None)
@given(
    length=st.one_of(
        st.sampled_from([0, 1, FRAME - 1, PIECE, PIECE + 6 * FRAME - 1, PIECE + 6 * FRAME, 2 * PIECE + 1]),
        st.integers(1, 4 * PIECE),
    ),
    handed=st.sampled_from([700, FRAME, 44_100]),
)
def test_no_length_loses_or_doubles_a_frame_at_a_border(tmp_path_factory, length, handed):
    folder = tmp_path_factory.mktemp("mp3")
    samples = music(length, 44_100, 2)
    whole = file_of(folder / "whole.mp3", samples, 44_100, 1e6, handed)
    assert file_of(folder / "pieces.mp3", samples, 44_100, 1.0, handed) == whole


def test_an_error_in_the_middle_leaves_no_file_and_no_thread(tmp_path):
    def write():
        with Encoder(tmp_path / "cut.mp3") as encoder:
            encoder.write(music(60 * 44_100, 44_100, 2))
            raise KeyError("cut")

    with pytest.raises(KeyError, match="cut"):
        write()
    assert not list(tmp_path.iterdir())
    assert not [thread for thread in threading.enumerate() if thread.name.startswith("mp3")]
