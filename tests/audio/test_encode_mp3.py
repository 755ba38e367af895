"""What LAME made lies in the file whole and unbroken, and is as long and as near to the music as from FFmpeg's encoder."""

import threading

import av
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from audio.files import encode
from audio.files.decode import Decoder
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


def written(path, samples, rate, handed=5000):
    with Encoder(path, rate=rate, channels=samples.shape[1]) as encoder:
        for start in range(0, len(samples), handed):
            encoder.write(samples[start : start + handed])
    return path


def decoded(path):
    with Decoder(path) as decoder:
        return np.concatenate([block.samples for block in decoder.blocks()])


def by_ffmpeg(path, samples, rate):
    """The same music, rate and quality by the encoder that PyAV brings."""
    layout = "mono" if samples.shape[1] == 1 else "stereo"
    with av.open(str(path), "w", format="mp3") as container:
        stream = container.add_stream("libmp3lame", rate=rate, options={"compression_level": "7"}, layout=layout)
        stream.codec_context.bit_rate = encode.FORMATS[".mp3"].bits * samples.shape[1] // 2
        frame = av.AudioFrame.from_ndarray(samples.reshape(1, -1), format="flt", layout=layout)
        frame.sample_rate, frame.pts = rate, 0
        container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


def error_db(music, made):
    return 10 * np.log10(np.mean((made[: len(music)] - music) ** 2) / np.mean(music**2))


@pytest.mark.parametrize(("rate", "channels"), [(44_100, 2), (48_000, 2), (44_100, 1), (22_050, 2), (32_000, 1)])
def test_an_mp3_is_as_long_and_as_near_as_by_ffmpeg(tmp_path, rate, channels):
    samples = music(9 * rate + 321, rate, channels)
    ours = decoded(written(tmp_path / "ours.mp3", samples, rate))
    theirs = decoded(by_ffmpeg(tmp_path / "theirs.mp3", samples, rate))
    assert ours.shape == theirs.shape == samples.shape
    assert error_db(samples, ours) < error_db(samples, theirs) + 1.0


def frames(data):
    """Bytes of each frame from the first sync word on, by the headers alone (ISO/IEC 11172-3, 2.4.1.3 and 2.4.2.3)."""
    kbits = (0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320)
    at, lengths = data.index(b"\xff\xfb"), []
    while at < len(data):
        assert data[at : at + 2] == b"\xff\xfb"
        lengths.append(144_000 * kbits[data[at + 2] >> 4] // 44_100 + (data[at + 2] >> 1 & 1))
        at += lengths[-1]
    assert at == len(data)
    return lengths


FRAME = 1152


@settings(max_examples=20, deadline=None)
@given(
    length=st.one_of(st.sampled_from([1, 46, 47, FRAME - 1, FRAME, FRAME + 1, FRAME + 47]), st.integers(1, 99_000)),
    handed=st.sampled_from([700, FRAME, 44_100]),
)
def test_no_length_loses_or_doubles_a_frame(tmp_path_factory, length, handed):
    folder = tmp_path_factory.mktemp("mp3")
    samples = music(length, 44_100, 2)
    ours, theirs = written(folder / "o.mp3", samples, 44_100, handed), by_ffmpeg(folder / "t.mp3", samples, 44_100)
    assert len(frames(ours.read_bytes())) == len(frames(theirs.read_bytes()))
    assert len(decoded(ours)) == len(decoded(theirs))


def test_an_error_in_the_middle_leaves_no_file_and_no_thread(tmp_path):
    def write():
        with Encoder(tmp_path / "cut.mp3") as encoder:
            encoder.write(music(60 * 44_100, 44_100, 2))
            raise KeyError("cut")

    with pytest.raises(KeyError, match="cut"):
        write()
    assert not list(tmp_path.iterdir())
    assert not [thread for thread in threading.enumerate() if thread.name.startswith("mp3")]
