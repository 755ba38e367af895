"""Decoding is exact: in time wherever it begins, and in value against soundfile (libsndfile), another decoder."""

import io
from pathlib import Path

import av
import nasty
import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st

from audio.errors import AudioError
from audio.files.channels import to_layout, to_stereo, usual_layout
from audio.files.container import refuse_slow_disk
from audio.files.decode import Block, Decoder
from audio.files.fingerprint import fingerprint
from audio.files.oggchain import links
from audio.files.presence import NotThereError

KINDS = [
    "good.mp3",
    "good vbr.mp3",
    "no info frame.mp3",
    "good.m4a",
    "good alac.m4a",
    "good.flac",
    "good.ogg",
    "good.opus",
    "good.wav",
    "good.aiff",
    "good.wma",
    "good.aac",
    "bad bytes.mp3",
    "bad bytes.flac",
    "two rates.mp3",
]


def whole(blocks: "list[Block]") -> np.ndarray:
    return np.concatenate([block.samples for block in blocks])


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("kinds")
    for name in KINDS:
        (folder / name).write_bytes(nasty.content(name))
    return folder


@pytest.mark.parametrize("name", KINDS)
@given(start_s=st.floats(0, 6.5), length_s=st.floats(0, 3))
@settings(deadline=None, max_examples=5, derandomize=True)
def test_a_stretch_holds_the_very_samples_of_the_whole(
    folder: Path, name: str, start_s: float, length_s: float
) -> None:
    with Decoder(folder / name) as decoder:
        samples = whole(list(decoder.blocks()))
        rate = decoder.rate
        stretch = list(decoder.blocks(start_s, start_s + length_s))  # a second pass of the same decoder
    first, last = round(start_s * rate), round((start_s + length_s) * rate)
    expected = samples[first:last]
    assert sum(len(block.samples) for block in stretch) == len(expected)
    if len(expected):
        np.testing.assert_array_equal(whole(stretch), expected)
        assert stretch[0].start_s == pytest.approx(first / rate)


@pytest.mark.parametrize("name", [name for name in KINDS if name.startswith(("good", "no info"))])
def test_a_leap_into_a_file_lands_on_the_very_sample(folder: Path, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    start_s, packets = 5.3, []
    monkeypatch.setattr("audio.files.watchdog.alive", lambda: packets.append(1))
    with Decoder(folder / name) as decoder:
        samples = whole(list(decoder.blocks()))
        all_packets = len(packets)
        packets.clear()
        leapt = whole(list(decoder.blocks_near(start_s)))
    assert len(packets) < 0.75 * all_packets
    expected = samples[round(start_s * decoder.rate) :]
    if name == "good.wma":  # its time stamps are whole milliseconds
        assert abs(len(leapt) - len(expected)) < 0.001 * decoder.rate
    elif name in (
        "good.aac",
        "good.m4a",
    ):  # AAC fills in noise (ISO/IEC 14496-3, 4.6.13) that depends on what came before
        assert len(leapt) == len(expected)
        assert np.std(leapt - expected) < 0.05 * np.std(expected)  # 0.0202 with the newest PyAV
    else:
        np.testing.assert_array_equal(leapt, expected)


@pytest.mark.parametrize("name", ["bad bytes.mp3", "bad bytes.flac", "two rates.mp3"])
def test_a_leap_into_a_strange_file_lands_near(folder: Path, name: str) -> None:
    """Not the very sample: what can't be decoded takes time by the stamps, and none where samples are counted."""
    with Decoder(folder / name) as decoder:
        length_s = sum(len(block.samples) for block in decoder.blocks()) / decoder.rate
        blocks = list(decoder.blocks_near(5.3))
    assert blocks[0].start_s == pytest.approx(5.3, abs=0.1)
    assert len(whole(blocks)) / decoder.rate == pytest.approx(length_s - 5.3, abs=0.3)


@pytest.mark.parametrize("name", ["good.flac", "good.wav", "good 24 bit.wav", "good float.wav", "good 8 bit.wav"])
def test_lossless_samples_are_those_of_libsndfile(name: str, tmp_path: Path) -> None:
    import soundfile

    (tmp_path / name).write_bytes(nasty.content(name))
    expected, rate = soundfile.read(tmp_path / name, dtype="float32")
    with Decoder(tmp_path / name) as decoder:
        np.testing.assert_array_equal(whole(list(decoder.blocks())), expected)
        assert decoder.rate == rate


@pytest.mark.parametrize("name", ["good.mp3", "good.ogg", "good.opus"])
def test_lossy_samples_are_those_of_libsndfile_but_for_rounding(name: str, tmp_path: Path) -> None:
    """Also in number and place: the encoder's delay is taken off alike."""
    import soundfile

    (tmp_path / name).write_bytes(nasty.content(name))
    expected, rate = soundfile.read(tmp_path / name, dtype="float32")
    with Decoder(tmp_path / name) as decoder:
        np.testing.assert_allclose(whole(list(decoder.blocks())), expected, atol=1e-5)
        assert decoder.rate == rate


@pytest.mark.parametrize("compression", [0.0, 0.4, 0.9])
def test_each_link_of_an_ogg_chain_is_decoded_as_if_it_stood_alone(tmp_path: Path, compression: float) -> None:
    """RFC 3533, section 4; libsndfile decodes the links one by one here."""
    links = [nasty.ogg(nasty.music(3)), nasty.ogg(nasty.music(3)[::-1], compression=compression)]
    (tmp_path / "chain.ogg").write_bytes(b"".join(links))
    with Decoder(tmp_path / "chain.ogg") as decoder:
        samples = whole(list(decoder.blocks()))
    expected = [soundfile.read(io.BytesIO(link), dtype="float32")[0] for link in links]
    np.testing.assert_allclose(samples, np.concatenate(expected), atol=1e-5)


def test_chains_that_begin_alike_are_told_apart(tmp_path: Path) -> None:
    first = nasty.ogg(nasty.music(2))
    for name, second in {
        "a": nasty.ogg(nasty.music(3, channels=1)),
        "b": nasty.ogg(nasty.music(4, channels=1)),
    }.items():
        (tmp_path / name).write_bytes(first + second)
    assert fingerprint(tmp_path / "a") != fingerprint(tmp_path / "b")


def test_streams_that_sound_together_are_one_link(tmp_path: Path) -> None:
    """Multiplexed streams begin with all their first pages (RFC 3533, section 4), which makes them no chain."""
    one, other = nasty.ogg(nasty.music(1)), nasty.ogg(nasty.music(1, channels=1))
    page = other.find(b"OggS", 1)
    second = one.find(b"OggS", 1)
    (tmp_path / "grouped.ogg").write_bytes(one[:second] + other[:page] + one[second:] + other[page:])
    assert len(links(tmp_path / "grouped.ogg")) == 1
    (tmp_path / "chain.ogg").write_bytes(one + other)
    assert links(tmp_path / "chain.ogg") == (range(len(one)), range(len(one), len(one) + len(other)))


def test_blocks_follow_each_other_without_gap(folder: Path) -> None:
    with Decoder(folder / "good.mp3") as decoder:
        blocks = list(decoder.blocks())
    ends = np.cumsum([len(block.samples) for block in blocks]) / decoder.rate
    assert [block.start_s for block in blocks] == pytest.approx([0, *ends[:-1]])
    assert decoder.duration_s == pytest.approx(ends[-1])
    assert max(len(block.samples) for block in blocks) <= 3 * decoder.rate


def test_layouts_are_named_as_bs_1770_needs_them(tmp_path: Path) -> None:
    for name, layout in {
        "8 kHz mono.wav": ("FC",),
        "good.wav": ("FL", "FR"),
        "5.1.flac": ("FL", "FR", "FC", "LFE", "BL", "BR"),
        "5 channels, unnamed.wav": ("FL", "FR", "FC", "BL", "BR"),
    }.items():
        (tmp_path / name).write_bytes(nasty.content(name))
        with Decoder(tmp_path / name) as decoder:
            assert decoder.layout == layout
            assert decoder.channels == len(layout)


def test_a_change_of_rate_midway_keeps_pitch_and_length(tmp_path: Path) -> None:
    """The second half, 1 kHz at 32 kHz, must still be 1 kHz at 44.1 kHz: counted by its zero crossings."""
    sines = [0.5 * np.sin(2 * np.pi * 1000 * np.arange(3 * rate) / rate) for rate in (44100, 32000)]
    halves = [
        nasty.mp3(np.repeat(sine[:, None], 2, axis=1).astype(np.float32), rate=rate)
        for sine, rate in zip(sines, (44100, 32000), strict=True)
    ]
    (tmp_path / "a.mp3").write_bytes(b"".join(halves))
    with Decoder(tmp_path / "a.mp3") as decoder:
        samples = whole(list(decoder.blocks(4.0, 5.0)))
        assert decoder.rate == 44100
    crossings = int((np.diff(np.signbit(samples[:, 0]).astype(int)) != 0).sum())
    assert crossings == pytest.approx(2000, abs=2)


def test_five_channels_fold_down_as_bs_775_says() -> None:
    # ITU-R BS.775-3, annex 4 (from memory): Lo = L + 0.7071 C + 0.7071 Ls, Ro likewise; the LFE is left out
    layout = ("FL", "FR", "FC", "LFE", "BL", "BR")
    folded = to_stereo(np.eye(6, dtype=np.float32), layout)
    half = 0.5**0.5
    np.testing.assert_allclose(folded, [[1, 0], [0, 1], [half, half], [0, 0], [half, 0], [0, half]], rtol=1e-6)


@given(have=st.integers(1, 8), want=st.integers(1, 8))
def test_any_layout_can_become_any_other(have: int, want: int) -> None:
    samples = np.ones((5, have), np.float32)
    assert to_layout(samples, usual_layout(have), usual_layout(want)).shape == (5, want)


def test_a_slow_disk_is_told_from_a_vain_search() -> None:
    patience = av.error.ExitError(0x54495845, "Immediate exit requested")
    with pytest.raises(NotThereError, match="disk doesn't answer"):
        refuse_slow_disk(patience, 0.1, Path("a.mp3"))
    refuse_slow_disk(patience, 7.9, Path("a.mp3"))
    refuse_slow_disk(ValueError(), 0.1, Path("a.mp3"))


def test_a_file_that_names_other_files_opens_none(tmp_path: Path) -> None:
    """FFmpeg takes these names and contents for orders to open something else."""
    (tmp_path / "good.wav").write_bytes(nasty.content("good.wav"))
    (tmp_path / "list.ffconcat").write_text("ffconcat version 1.0\nfile good.wav\n")
    (tmp_path / "list.m3u8").write_text("#EXTM3U\n#EXTINF:6,\ngood.wav\n#EXT-X-ENDLIST\n")
    (tmp_path / "list.sdp").write_text("v=0\no=- 0 0 IN IP4 127.0.0.1\nm=audio 9 RTP/AVP 0\n")
    for path in [*tmp_path.glob("list.*"), Path(f"concat:{tmp_path}/good.wav"), Path("http://127.0.0.1/a.mp3")]:
        with pytest.raises(AudioError), Decoder(path):
            pass


def test_steady_tones_in_a_wav_are_not_taken_for_something_else(tmp_path: Path) -> None:
    # A user's oscillator: FFmpeg 9 gives up on this very content unless it is told what the header says.
    time = np.arange(4 * 32_000) / 32_000
    soundfile.write(tmp_path / "tone.wav", 0.25 * np.sin(2 * np.pi * 1000 * time), 32_000, subtype="FLOAT")
    with Decoder(tmp_path / "tone.wav") as decoder:
        assert sum(len(block.samples) for block in decoder.blocks()) == len(time)
