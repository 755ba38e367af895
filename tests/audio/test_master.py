"""The finished file: its length, its true peak, and that it is whole or absent."""

from pathlib import Path

import numpy as np
import pytest
import soundfile
from random_mixes import random_mix

from audio.errors import AudioError, OutputError
from audio.files.decode import Decoder
from audio.files.encode import ENDINGS
from audio.files.fingerprint import fingerprint
from audio.measure.loudness import PeakMeter
from audio.render.master import CEILING_DBTP, Mix, check_readable, write_mix, write_mixes
from audio.render.mixer import MIX_RATE
from audio.render.span import Level, Span


def loud_track(path: Path, seconds: float = 7.0, seed: int = 5) -> Path:
    """Drum-like bursts at full scale: what an encoder overshoots on."""
    rng = np.random.default_rng(seed)
    time = np.arange(round(seconds * MIX_RATE)) / MIX_RATE
    bursts = np.exp(-((time * 2) % 1.0) * 9)[:, None] * rng.standard_normal((len(time), 2))
    tone = 0.5 * np.sign(np.sin(2 * np.pi * 110 * time))[:, None]
    samples = np.clip(bursts + tone, -1, 1)
    soundfile.write(path, samples, MIX_RATE, subtype="FLOAT")
    return path


def mix_of(path: Path, gain_db: float, seconds: float = 6.0) -> Mix:
    return Mix((Span(path, 0.0, seconds, 1.0, 1.0, 2.0, (Level(0.0, gain_db),)),), seconds)


def decoded(path: Path) -> tuple[float, float]:
    with Decoder(path) as decoder:
        meter, frames = PeakMeter(decoder.channels), 0
        for block in decoder.blocks():
            meter.feed(block.samples)
            frames += len(block.samples)
        return frames / decoder.rate, meter.read_dbtp()


@pytest.mark.parametrize("ending", ENDINGS)
def test_a_mix_too_loud_comes_down_below_the_ceiling_in_the_file_itself(tmp_path: Path, ending: str) -> None:
    written = write_mix(mix_of(loud_track(tmp_path / "a.wav"), 3.0), tmp_path / f"mix{ending}")
    seconds, peak = decoded(written.path)
    assert peak <= CEILING_DBTP
    assert written.gain_db < -3.0
    # EBU R 128 sets -1 dBTP; what lies far below it was lowered without need
    assert peak > CEILING_DBTP - 1.0
    assert seconds == pytest.approx(6.0, abs=0.05 if ending in (".wav", ".flac") else 0.1)


@pytest.mark.parametrize("ending", [".flac", ".mp3"])
def test_a_loud_mix_goes_up_to_the_ceiling_by_one_gain_and_no_further(tmp_path: Path, ending: str) -> None:
    mix = mix_of(loud_track(tmp_path / "a.wav"), -20.0)
    plain, loud = (write_mix(mix, tmp_path / f"{name}{ending}", loud=name == "loud") for name in ("plain", "loud"))
    peak = decoded(loud.path)[1]
    # EBU R 128 sets -1 dBTP.
    assert CEILING_DBTP - 1.0 < peak <= CEILING_DBTP
    assert loud.gain_db > 10.0
    assert loud.sound.integrated_lufs == pytest.approx(plain.sound.integrated_lufs + loud.gain_db, abs=0.01)
    assert loud.sound.range_lu == pytest.approx(plain.sound.range_lu, abs=0.01)


def test_silence_is_not_raised(tmp_path: Path) -> None:
    written = write_mix(Mix((), 1.0), tmp_path / "mix.flac", loud=True)
    assert written.gain_db == 0.0 and not soundfile.read(written.path)[0].any()


def test_a_mix_that_is_low_enough_is_left_as_it_is(tmp_path: Path) -> None:
    written = write_mix(mix_of(loud_track(tmp_path / "a.wav"), -12.0), tmp_path / "mix.flac")
    assert written.gain_db == 0.0
    assert written.true_peak_dbtp == pytest.approx(decoded(written.path)[1], abs=0.1)


@pytest.mark.parametrize("ending", [".wav", ".flac"])
def test_the_same_mix_gives_the_same_bytes(tmp_path: Path, ending: str) -> None:
    track = loud_track(tmp_path / "a.wav")
    one = write_mix(mix_of(track, -9.0), tmp_path / f"one{ending}")
    two = write_mix(mix_of(track, -9.0), tmp_path / f"two{ending}")
    assert one.path.read_bytes() == two.path.read_bytes()


def test_a_file_that_stands_there_is_kept_unless_replacing_was_asked_for(tmp_path: Path) -> None:
    target = tmp_path / "mix.flac"
    target.write_text("mine")
    with pytest.raises(OutputError, match="exists already"):
        write_mix(mix_of(loud_track(tmp_path / "a.wav"), -9.0), target, replace=False)
    assert target.read_text() == "mine"


def test_a_vanished_or_exchanged_track_stops_the_work_before_it_starts(tmp_path: Path) -> None:
    here, gone = loud_track(tmp_path / "a.wav"), tmp_path / "gone.mp3"
    known = fingerprint(here)
    told: list[tuple[int, int, str]] = []
    check_readable([(here, known), (here, ""), (here, known)], progress=lambda *each: told.append(each))
    assert told == [(0, 2, f"checking {here.name}"), (1, 2, f"checking {here.name}")]
    with pytest.raises(AudioError, match=r"gone\.mp3"):
        check_readable([(here, known), (gone, "")])
    loud_track(here, seed=6)
    with pytest.raises(AudioError, match=r"(?s)a\.wav.*not the recording"):
        check_readable([(here, known)])


def test_a_track_damaged_in_its_middle_stops_the_work_before_it_starts(tmp_path: Path) -> None:
    track = loud_track(tmp_path / "a.wav")
    known, content = fingerprint(track), bytearray(track.read_bytes())
    content[len(content) // 2 : len(content) // 2 + 4000] = bytes(4000)
    track.write_bytes(content)
    with pytest.raises(AudioError, match=r"(?s)a\.wav.*damaged"):
        check_readable([(track, known)])


def test_what_is_written_together_comes_down_together(tmp_path: Path) -> None:
    track = loud_track(tmp_path / "a.wav")
    mixes = [(mix_of(track, gain, 4.0), tmp_path / f"{gain}.flac") for gain in (-20.0, 3.0)]
    soft, loud = write_mixes(mixes)
    assert soft.gain_db == loud.gain_db < -3.0
    assert decoded(loud.path)[1] <= CEILING_DBTP
    assert decoded(loud.path)[1] - decoded(soft.path)[1] == pytest.approx(23.0, abs=0.1)


def test_of_files_that_belong_together_all_are_written_or_none(tmp_path: Path) -> None:
    track = loud_track(tmp_path / "a.wav")
    there = tmp_path / "two.mp3"
    there.write_text("mine")
    mixes = [(mix_of(track, -9.0, 2.0), tmp_path / "one.mp3"), (mix_of(track, -9.0, 2.0), there)]
    with pytest.raises(OutputError, match=r"two\.mp3: exists already"):
        write_mixes(mixes, replace=False)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.wav", "two.mp3"]
    told = []

    def interrupted(done: int, total: int, name: str) -> None:
        told.append((done, total))
        if name == "two.mp3":
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_mixes(mixes, progress=interrupted)
    assert there.read_text() == "mine"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.wav", "two.mp3"]
    assert told == [(1, 4), (2, 4), (3, 4)]


@pytest.mark.parametrize("ending", [".wav", ".mp3"])
def test_a_pass_that_was_too_loud_leaves_nothing_when_the_next_is_broken_off(tmp_path: Path, ending: str) -> None:
    track = loud_track(tmp_path / "a.wav")

    def interrupted(done: int, total: int, _: str) -> None:
        seen.append(done)
        if len(seen) > total + 1:
            raise KeyboardInterrupt

    seen: list[int] = []
    with pytest.raises(KeyboardInterrupt):
        write_mix(mix_of(track, 3.0, 3.0), tmp_path / f"mix{ending}", progress=interrupted)
    assert [path.name for path in tmp_path.iterdir()] == ["a.wav"]


# ---- sets put together at random: tests/benchmarks/mix.py --endurance tries twenty of each --------------------------


@pytest.mark.parametrize("ending", ENDINGS)
@pytest.mark.parametrize("seed", range(3))
def test_random_sets_keep_their_length_and_the_ceiling(tmp_path: Path, ending: str, seed: int) -> None:
    mix = random_mix(tmp_path, seed)
    written = write_mix(mix, tmp_path / f"mix{ending}")
    seconds, peak = decoded(written.path)
    assert peak <= CEILING_DBTP
    assert seconds == pytest.approx(mix.duration_s, abs=0.05 if ending in (".wav", ".flac") else 0.1)
