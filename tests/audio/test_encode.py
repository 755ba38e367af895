"""Files that are written come back as they were, by this decoder, by mutagen and by libsndfile."""

import hashlib
import os
import struct
import subprocess
import sys
import zlib
from pathlib import Path

import nasty
import numpy as np
import pytest

from audio.errors import AudioError, OutputError
from audio.files.decode import Decoder
from audio.files.encode import ENDINGS, Chapter, Encoder, cue_sheet
from audio.files.tags import read_tags, write_tags
from audio.track import Tags

# Titles in an order that no sorting by name or length gives.
CHAPTERS = (
    Chapter(0, 1.25, "Arrive, and settle for a while ☀"),
    Chapter(1.25, 3.507, 'The "peak" 🔥'),
    Chapter(3.507, 6, "Rest\x1b[2J"),
)
TITLES = ["Arrive, and settle for a while ☀", 'The "peak" 🔥', "Rest[2J"]


def png(side: int = 8) -> bytes:
    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    rows = zlib.compress((b"\x00" + b"\x80\x20\x20" * side) * side)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


def write(path: Path, samples: np.ndarray, piece: int = 10_007, **options: object) -> Path:
    with Encoder(path, **options) as encoder:  # type: ignore[arg-type]
        for start in range(0, len(samples), piece):
            encoder.write(samples[start : start + piece])
    return path


def read(path: Path) -> tuple[np.ndarray, int]:
    with Decoder(path) as decoder:
        return np.concatenate([block.samples for block in decoder.blocks()]), decoder.rate


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The same music in all six kinds, with everything that can be said of it."""
    folder = tmp_path_factory.mktemp("written")
    return {
        ending: write(
            folder / f"mix{ending}",
            nasty.music(),
            title="Harbour\nevening",
            artist="Ünknown\x1b[31m",
            album="Tide",
            chapters=CHAPTERS,
            cover_png=png(),
        )
        for ending in ENDINGS
    }


@pytest.mark.parametrize("ending", ENDINGS)
def test_length_and_sound_come_back(written: dict[str, Path], ending: str) -> None:
    import soxr

    samples, rate = read(written[ending])
    expected = nasty.music()
    if rate != nasty.RATE:
        expected = soxr.resample(expected, nasty.RATE, rate)
    lossless = ending in (".wav", ".flac")
    assert len(samples) == 6 * rate
    length = min(len(samples), len(expected))
    difference = samples[:length] - expected[:length]
    if lossless:
        assert np.abs(difference).max() <= 2**-23  # half a step of 24 bits, and float's own
    else:  # in place to the sample: shifted by one, the difference would be 10 dB larger
        assert 10 * np.log10((difference**2).mean() / (expected**2).mean()) < -16


@pytest.mark.parametrize("ending", ENDINGS)
def test_tags_come_back_harmless(written: dict[str, Path], ending: str) -> None:
    assert read_tags(written[ending]) == Tags("Harbour evening", "Ünknown[31m", "Tide")


@pytest.mark.parametrize("ending", [".flac", ".ogg", ".opus"])
def test_chapters_stand_as_comments(written: dict[str, Path], ending: str) -> None:
    import mutagen

    tags = mutagen.File(written[ending]).tags
    assert [tags[f"CHAPTER{n:03}NAME"][0] for n in range(3)] == TITLES
    assert [tags[f"CHAPTER{n:03}"][0] for n in range(3)] == ["00:00:00.000", "00:00:01.250", "00:00:03.507"]


def test_chapters_stand_in_mp3_in_their_order(written: dict[str, Path]) -> None:
    from mutagen.id3 import ID3

    frames = [frame for frame in ID3(written[".mp3"]).values() if frame.FrameID == "CHAP"]
    assert [frame.sub_frames["TIT2"].text[0] for frame in frames] == TITLES
    assert [frame.start_time for frame in frames] == [0, 1250, 3507]  # milliseconds


def test_chapters_stand_in_m4a(written: dict[str, Path]) -> None:
    from mutagen.mp4 import MP4

    chapters = MP4(written[".m4a"]).chapters
    assert [chapter.title for chapter in chapters] == TITLES
    assert [chapter.start for chapter in chapters] == pytest.approx([0, 1.25, 3.507])


def test_chapters_of_a_wav_stand_in_a_sheet_beside_it(written: dict[str, Path]) -> None:
    sheet = written[".wav"].with_suffix(".cue").read_text(encoding="utf-8")
    assert 'FILE "mix.wav" WAVE' in sheet  # no path of this machine
    assert [line.split('"')[1] for line in sheet.splitlines() if line.startswith("    TITLE")] == [
        TITLES[0],
        "The 'peak' 🔥",
        TITLES[2],
    ]
    assert "INDEX 01 00:01:19" in sheet  # 1.25 s = 1 s and 18.75 of 75 frames
    assert not written[".flac"].with_name("other.cue").exists()


def test_a_sheet_has_no_line_that_a_title_could_add() -> None:
    sheet = cue_sheet('a"\nFILE "x', Tags('t"\n', "\u202eabc"), [Chapter(0, 1, 'a"\nREM b')] * 120)
    assert sheet.count("\n") == 3 + 99 * 3
    assert "REM" not in [line.split()[0] for line in sheet.splitlines()]


def test_every_kind_but_wav_has_the_cover(written: dict[str, Path]) -> None:
    import mutagen
    from mutagen.flac import Picture

    assert mutagen.File(written[".mp3"]).tags.getall("APIC")[0].data == png()
    assert bytes(mutagen.File(written[".m4a"]).tags["covr"][0]) == png()
    assert mutagen.File(written[".flac"]).pictures[0].data == png()
    for ending in (".ogg", ".opus"):
        import base64

        comment = mutagen.File(written[ending]).tags["METADATA_BLOCK_PICTURE"][0]
        assert Picture(base64.b64decode(comment)).data == png()


@pytest.mark.parametrize("ending", [".wav", ".flac"])
def test_the_same_samples_give_the_same_bytes(tmp_path: Path, ending: str) -> None:
    hashes = {
        hashlib.sha256(
            write(tmp_path / f"{piece}{ending}", nasty.music(2), piece, chapters=CHAPTERS[:2], title="A").read_bytes()
        ).hexdigest()
        for piece in (1000, 44100, 88200)
    }
    assert len(hashes) == 1


def test_silence_stays_silence(tmp_path: Path) -> None:
    for ending in (".wav", ".flac"):
        samples, _ = read(write(tmp_path / f"a{ending}", np.zeros((44100, 2), np.float32)))
        assert not samples.any()


def test_what_is_too_loud_is_clipped_not_folded_over(tmp_path: Path) -> None:
    loud = np.full((44100, 2), 1.5, np.float32)
    loud[22050:] = -1.5
    for ending in (".wav", ".flac"):
        samples, _ = read(write(tmp_path / f"a{ending}", loud))
        assert samples[:22050].min() > 0.999
        assert samples[22050:].max() < -0.999


@pytest.mark.parametrize("ending", ENDINGS)
def test_what_is_no_number_becomes_silence_and_what_is_huge_full_scale(tmp_path: Path, ending: str) -> None:
    """In a process of its own, since LAME ends the process that gives it such samples."""
    path = tmp_path / f"a{ending}"
    run = subprocess.run(
        [sys.executable, "-c", NO_NUMBERS, path],
        capture_output=True,
        text=True,
        env=os.environ | {"PYTHONPATH": str(Path(__file__).parents[2])},
    )
    assert run.returncode == 0, run.stderr
    samples, rate = read(path)
    assert np.isfinite(samples).all()
    assert len(samples) == 3 * rate
    middle = samples[rate + rate // 5 : 2 * rate - rate // 5]  # away from the steps on either side
    assert np.abs(middle).max() < 0.02


NO_NUMBERS = """
import sys
from pathlib import Path
import numpy as np
from audio.files.encode import Encoder
samples = np.zeros((3 * 44100, 2), np.float32)
samples[:44100] = 0.2 * np.sin(np.arange(44100) / 20)[:, None]
samples[44100 : 2 * 44100] = np.nan
samples[2 * 44100 :: 3] = np.inf
samples[2 * 44100 + 1 :: 3] = -1e30
with Encoder(Path(sys.argv[1])) as encoder:
    for start in range(0, len(samples), 30000):
        encoder.write(samples[start : start + 30000])
"""


@pytest.mark.parametrize("ending", ENDINGS)
def test_one_channel_and_48_khz(tmp_path: Path, ending: str) -> None:
    path = write(tmp_path / f"a{ending}", nasty.music(2, rate=48000, channels=1), rate=48000, channels=1)
    samples, rate = read(path)
    assert rate == 48000
    assert samples.shape[1] == 1
    assert len(samples) == 2 * rate


@pytest.mark.parametrize("ending", ENDINGS)
def test_tags_with_tempo_and_key_can_be_written(tmp_path: Path, ending: str) -> None:
    path = write(tmp_path / f"a{ending}", nasty.music(1))
    write_tags(path, Tags("Foam", "Nobody", "Shore"), tempo_bpm=119.6, key="B flat minor")
    assert read_tags(path) == Tags("Foam", "Nobody", "Shore")
    content = path.read_bytes()
    assert b"120" in content or b"tmpo" in content
    assert len(read(path)[0])


def test_an_unknown_ending_is_refused_with_those_that_are_known(tmp_path: Path) -> None:
    with pytest.raises(AudioError, match=r"\.wma.*\n.*\.mp3, \.m4a, \.flac, \.wav, \.ogg or \.opus"):
        Encoder(tmp_path / "a.wma")


@pytest.mark.parametrize("ending", ENDINGS)
def test_what_was_broken_off_leaves_the_old_file(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"a{ending}"
    path.write_bytes(b"old")
    with pytest.raises(KeyboardInterrupt), Encoder(path, chapters=CHAPTERS) as encoder:  # noqa: PT012
        encoder.write(nasty.music(1))
        raise KeyboardInterrupt
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_nothing_is_replaced_unless_it_may(tmp_path: Path) -> None:
    (tmp_path / "a.cue").write_text("mine")
    with (
        pytest.raises(OutputError, match=r"a\.cue: exists"),
        Encoder(tmp_path / "a.wav", chapters=CHAPTERS, replace=False),
    ):
        pass
    assert [path.name for path in tmp_path.iterdir()] == ["a.cue"]


FULL = """
import resource, signal, sys
from pathlib import Path
import numpy as np
from audio.errors import ArcbedError
from audio.files.encode import Encoder
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))
noise = np.random.default_rng(1).uniform(-.5, .5, (44100 * 20, 2)).astype(np.float32)
try:
    with Encoder(Path(sys.argv[1]), title="x") as encoder:
        for start in range(0, len(noise), 44100):
            encoder.write(noise[start : start + 44100])
except ArcbedError as error:
    print(error)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="limits of POSIX")
@pytest.mark.parametrize("ending", ENDINGS)
def test_a_full_disk_leaves_nothing_behind(tmp_path: Path, ending: str) -> None:
    """A limit on the size of files stands in for the full disk."""
    root = str(Path(__file__).parents[2])
    run = subprocess.run(
        [sys.executable, "-c", FULL, tmp_path / f"a{ending}"],
        capture_output=True,
        text=True,
        env=os.environ | {"PYTHONPATH": root},
        check=True,
    )
    assert "can't be written" in run.stdout
    assert run.stderr == ""
    assert list(tmp_path.iterdir()) == []
