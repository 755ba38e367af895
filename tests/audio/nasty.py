"""A folder as bad as teachers' folders can be: every entry with what has to become of it.

All sound is made here. The faults are those of real collections: broken, lying, protected, empty, oddly formed files,
and wrongly named ones.
"""

import functools
import io
import os
import struct
import sys
import tempfile
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np

RATE = 44100
LENGTH_S = 6.0
QUICK = {"aac_coder": "fast"}


@dataclass(frozen=True)
class Entry:
    """What becomes of a file: its decoded length and a word of its notes, or a word of the reason it is left out."""

    length_s: float | None = None
    within_s: float = 0.05
    note: str | None = None  # None: no note at all
    reason: str | None = None


@functools.lru_cache
def _music(seconds: float = LENGTH_S, rate: int = RATE, channels: int = 2) -> np.ndarray:
    """Three plucked notes a second over a low drone, float32, shape (frames, channels)."""
    time = np.arange(round(seconds * rate)) / rate
    pluck = np.exp(-6 * (time % (1 / 3)))
    note = 220 * 2 ** (np.floor(time * 3) % 7 / 12)
    tone = 0.3 * pluck * np.sin(2 * np.pi * note * time) + 0.1 * np.sin(2 * np.pi * 82.4 * time)
    noise = 0.02 * np.random.default_rng(5).standard_normal((len(time), channels))
    return (tone[:, None] + noise).astype(np.float32)


def music(seconds: float = LENGTH_S, rate: int = RATE, channels: int = 2) -> np.ndarray:
    """A copy of `_music`."""
    return _music(seconds, rate, channels).copy()


def encoded(
    codec: str,
    container: str,
    samples: np.ndarray | None = None,
    *,
    rate: int = RATE,
    form: str | None = None,
    layout: str | None = None,
    options: dict[str, str] | None = None,
    container_options: dict[str, str] | None = None,
    metadata: dict[str, str] | None = None,
) -> bytes:
    """A file of any kind that FFmpeg writes."""
    samples = music() if samples is None else samples
    layout = layout or {1: "mono", 2: "stereo", 6: "5.1"}[samples.shape[1]]
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder, "made")
        _encode(target, codec, container, samples, rate, form, layout, options, container_options, metadata)
        return target.read_bytes()


def _encode(
    target: Path,
    codec: str,
    container: str,
    samples: np.ndarray,
    rate: int,
    form: str | None,
    layout: str,
    options: dict[str, str] | None,
    container_options: dict[str, str] | None,
    metadata: dict[str, str] | None,
) -> None:
    with av.open(str(target), "w", format=container, options=container_options or {}) as out:
        stream: Any = out.add_stream(codec, rate=rate, options=options or {})
        stream.codec_context.layout = layout
        stream.codec_context.format = form or stream.codec_context.codec.audio_formats[0].name
        out.metadata.update(metadata or {})
        for start in range(0, len(samples), 4096):
            piece = np.ascontiguousarray(samples[start : start + 4096], np.float32)
            frame = av.AudioFrame.from_ndarray(piece.reshape(1, -1), format="flt", layout=layout)
            frame.sample_rate, frame.pts, frame.time_base = rate, start, Fraction(1, rate)
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))


def mp3(samples: np.ndarray | None = None, **options: Any) -> bytes:
    return encoded(
        "libmp3lame", "mp3", samples, form="fltp", options={"b": "128k", "compression_level": "9"}, **options
    )


def mp3_vbr() -> bytes:
    loud = music() * np.where(np.arange(round(LENGTH_S * RATE)) % RATE < RATE // 2, 1, 0.01)[:, None]
    return encoded("libmp3lame", "mp3", loud, form="fltp", options={"flags": "+qscale", "global_quality": "236"})


def wav(samples: np.ndarray | None = None, *, codec: str = "pcm_s16le", rate: int = RATE, **options: Any) -> bytes:
    return encoded(codec, "wav", samples, rate=rate, **options)


def float_wav(samples: np.ndarray) -> bytes:
    data = samples.astype("<f4").tobytes()
    head = struct.pack("<HHIIHH", 3, 2, RATE, RATE * 8, 8, 32)
    return _riff(head, data)


def m4a(**options: Any) -> bytes:
    return encoded("aac", "ipod", form="fltp", options=QUICK, container_options={"movflags": "+faststart"}, **options)


def flac(samples: np.ndarray | None = None, **options: Any) -> bytes:
    return encoded("flac", "flac", samples, form="s16", **options)


def ogg(
    samples: np.ndarray | None = None, *, rate: int = RATE, compression: float = 0.4, subtype: str = "VORBIS"
) -> bytes:
    import soundfile

    samples = music() if samples is None else samples
    target = io.BytesIO()
    with soundfile.SoundFile(
        target, "w", rate, samples.shape[1], format="OGG", subtype=subtype, compression_level=compression
    ) as file:
        for start in range(0, len(samples), RATE):  # libsndfile crashes on a minute in one piece
            file.write(samples[start : start + RATE])
    return target.getvalue()


def opus() -> bytes:
    return encoded("libopus", "opus", music(rate=48000), rate=48000, form="flt")


def film_without_sound() -> bytes:
    target = io.BytesIO()
    with av.open(target, "w", format="mp4") as out:
        stream: Any = out.add_stream("mpeg4", rate=10)
        stream.width = stream.height = 64
        stream.pix_fmt = "yuv420p"
        for _ in range(10):
            out.mux(stream.encode(av.VideoFrame.from_ndarray(np.zeros((64, 64, 3), np.uint8), format="rgb24")))
        out.mux(stream.encode(None))
    return target.getvalue()


def _riff(form: bytes, data: bytes, said: int | None = None) -> bytes:
    said = len(data) if said is None else said
    body = b"WAVE" + b"fmt " + struct.pack("<I", len(form)) + form + b"data" + struct.pack("<I", said) + data
    return b"RIFF" + struct.pack("<I", min(len(body) - len(data) + said, 0xFFFFFFFF)) + body


def _pcm(samples: np.ndarray | None = None) -> bytes:
    samples = music() if samples is None else samples
    return (np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes()


def _form(channels: int = 2, rate: int = RATE) -> bytes:
    return struct.pack("<HHIIHH", 1, channels, rate, rate * channels * 2, channels * 2, 16)


def _first_frame(stream: bytes) -> int:
    """Where the first MPEG frame begins, behind an ID3 tag."""
    if stream[:3] != b"ID3":
        return 0
    size = (stream[6] << 21) | (stream[7] << 14) | (stream[8] << 7) | stream[9]
    return 10 + size


def _frame_length(head: bytes) -> int:
    bits = [0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320][head[2] >> 4] * 1000
    return 144 * bits // RATE + ((head[2] >> 1) & 1)


def without_info_frame(stream: bytes) -> bytes:
    start = _first_frame(stream)
    return stream[start + _frame_length(stream[start : start + 4]) :]


def with_info_frames_times(stream: bytes, factor: int) -> bytes:
    at = max(stream.find(b"Xing"), stream.find(b"Info"))
    count = struct.unpack(">I", stream[at + 8 : at + 12])[0]
    return stream[: at + 8] + struct.pack(">I", count * factor) + stream[at + 12 :]


def with_flac_total_times(stream: bytes, factor: float) -> bytes:
    at = 8 + 10  # behind "fLaC" and the block's head; rate, channels, bits and total share 8 bytes
    packed = struct.unpack(">Q", stream[at : at + 8])[0]
    total = round((packed & ((1 << 36) - 1)) * factor)
    return stream[:at] + struct.pack(">Q", packed >> 36 << 36 | total) + stream[at + 8 :]


def with_page_end_less(stream: bytes, samples: int) -> bytes:
    """An Ogg file whose last page ends some samples earlier than its sound does, as encoders trim it (RFC 3533, 6)."""
    at = stream.rfind(b"OggS")
    page = bytearray(stream[at:])
    page[6:14] = struct.pack("<q", struct.unpack("<q", page[6:14])[0] - samples)
    page[22:26] = bytes(4)
    page[22:26] = struct.pack("<I", _ogg_crc(page))
    return stream[:at] + bytes(page)


def _ogg_crc(page: bytes) -> int:
    """RFC 3533, section 6: generator polynomial 0x04c11db7, initial value and final XOR 0."""
    crc = 0
    for byte in page:
        crc ^= byte << 24
        for _ in range(8):
            crc = (crc << 1 ^ (0x04C11DB7 if crc & 0x80000000 else 0)) & 0xFFFFFFFF
    return crc


def with_last_packet_lasting(stream: bytes, ticks: int) -> bytes:
    """An MPEG-4 file with another duration in the last row of its table (ISO/IEC 14496-12, 8.6.1.2)."""
    at = stream.find(b"stts")
    rows = struct.unpack(">I", stream[at + 8 : at + 12])[0]
    place = at + 12 + 8 * (rows - 1) + 4
    return stream[:place] + struct.pack(">I", ticks) + stream[place + 4 :]


def with_bad_bytes(stream: bytes, share: float, count: int) -> bytes:
    at = int(len(stream) * share)
    bad = np.random.default_rng(7).integers(0, 256, count, dtype=np.uint8).tobytes()
    return stream[:at] + bad + stream[at + count :]


def with_junk_picture(stream: bytes, size: int = 310_000) -> bytes:
    junk = np.random.default_rng(8).integers(0, 256, size, dtype=np.uint8).tobytes()
    body = b"\x00image/png\x00\x03\x00" + junk
    frame = b"APIC" + struct.pack(">I", len(body)) + b"\x00\x00" + body
    return id3(frame) + stream[_first_frame(stream) :]


def id3(frames: bytes, said: int | None = None) -> bytes:
    size = len(frames) if said is None else said
    return b"ID3\x03\x00\x00" + bytes((size >> shift) & 0x7F for shift in (21, 14, 7, 0)) + frames


def without_moov(stream: bytes) -> bytes:
    """As a recorder leaves it whose battery ran out: what tells where the sound lies was never written."""
    kept, at = b"", 0
    while at < len(stream):
        size = struct.unpack(">I", stream[at : at + 4])[0]
        if stream[at + 4 : at + 8] != b"moov":
            kept += stream[at : at + size]
        at += size
    return kept


def poisoned(value: float, count: int = 10) -> np.ndarray:
    samples = music()
    samples[RATE : RATE + count, 0] = value
    return samples


def mutated(stream: bytes, seed: int) -> bytes:
    """A few random faults: bytes changed, stretches lost, doubled, zeroed or moved, the end cut off."""
    rng = np.random.default_rng(seed)
    data = bytearray(stream)
    for _ in range(rng.integers(1, 9)):
        # every third fault falls into the head, where programs trust most
        at = int(rng.integers(0, min(len(data), 600) if rng.random() < 0.33 else len(data)))
        length = int(min(2 ** rng.integers(0, 12), len(data) - at))
        match rng.integers(0, 6):
            case 0:
                data[at] = rng.integers(0, 256)
            case 1:
                data[at : at + length] = rng.bytes(length)
            case 2:
                data[at : at + length] = bytes(length)
            case 3:
                del data[at : at + length]
            case 4:
                data[at:at] = data[at : at + length]
            case 5:
                data[at : at + 4] = int(rng.choice([0, 0xFFFFFFFF, 0x7FFFFFFF, 0x80000000])).to_bytes(4, "big")
        if not data:
            break
    return bytes(data if rng.random() < 0.9 else data[: int(len(data) * rng.random())])


SMALL: dict[str, Callable[[], bytes]] = {
    "mp3": lambda: mp3(music(1), metadata={"title": "Tide"}),
    "m4a": lambda: encoded("aac", "ipod", music(1), form="fltp", options=QUICK, metadata={"title": "Tide"}),
    "alac.m4a": lambda: encoded("alac", "ipod", music(1), form="s16p"),
    "flac": lambda: flac(music(1), metadata={"title": "Tide"}),
    "ogg": lambda: ogg(music(1)),
    "opus": lambda: encoded("libopus", "opus", music(1, rate=48000), rate=48000, form="flt"),
    "wav": lambda: wav(music(1)),
    "aiff": lambda: encoded("pcm_s16be", "aiff", music(1)),
    "wma": lambda: encoded("wmav2", "asf", music(1), form="fltp", options={"b": "128k"}),
}


def cut(stream: bytes, share: float = 0.4) -> bytes:
    return stream[: int(len(stream) * share)]


FILES: dict[str, tuple[Callable[[], bytes], Entry]] = {
    # what is sound
    "good.mp3": (mp3, Entry(6)),
    "good vbr.mp3": (mp3_vbr, Entry(6)),
    "good.m4a": (m4a, Entry(6)),
    "good alac.m4a": (lambda: encoded("alac", "ipod", form="s16p"), Entry(6)),
    "good.flac": (flac, Entry(6)),
    "good.ogg": (ogg, Entry(6)),
    "good.opus": (opus, Entry(6)),
    "good.wav": (wav, Entry(6)),
    "good.aiff": (lambda: encoded("pcm_s16be", "aiff"), Entry(6)),
    "good.wma": (lambda: encoded("wmav2", "asf", form="fltp", options={"b": "128k"}), Entry(6, 0.1)),
    "good.aac": (lambda: encoded("aac", "adts", form="fltp"), Entry(6, 0.1)),
    "good.mka": (lambda: encoded("flac", "matroska", form="s16"), Entry(6)),
    "good.caf": (lambda: encoded("pcm_s16be", "caf"), Entry(6)),
    "good.wv": (lambda: encoded("wavpack", "wv", form="fltp"), Entry(6)),
    "good 24 bit.wav": (lambda: wav(codec="pcm_s24le"), Entry(6)),
    "good float.wav": (lambda: wav(codec="pcm_f32le"), Entry(6)),
    "good 8 bit.wav": (lambda: wav(codec="pcm_u8"), Entry(6)),
    "good adpcm.wav": (lambda: wav(codec="adpcm_ms"), Entry(6, 0.1)),
    # oddly formed
    "8 kHz mono.wav": (lambda: wav(music(rate=8000, channels=1), rate=8000), Entry(6)),
    "11111 Hz.wav": (lambda: wav(music(rate=11111), rate=11111), Entry(6)),
    "192 kHz.flac": (lambda: flac(music(rate=192000), rate=192000), Entry(6)),
    "5.1.flac": (lambda: flac(music(channels=6)), Entry(6)),
    "5.1.m4a": (lambda: encoded("aac", "ipod", music(channels=6), form="fltp", options=QUICK), Entry(6)),
    "5 channels, unnamed.wav": (lambda: _riff(_form(5), _pcm(music(channels=5))), Entry(6)),
    "11 channels, unnamed.wav": (lambda: _riff(_form(11), _pcm(music(channels=11))), Entry(6)),
    "clipped.wav": (lambda: wav(np.clip(music() * 50, -1, 1)), Entry(6)),
    "silent.flac": (lambda: flac(music() * 0), Entry(6)),
    "tiny.wav": (lambda: wav(music(0.01)), Entry(0.01, 0.001)),
    "one sample.wav": (lambda: wav(music()[:1]), Entry(0, 0.001)),
    "no sample.wav": (lambda: _riff(_form(), b""), Entry(reason="no sound|too damaged")),
    "not a number.wav": (lambda: float_wav(poisoned(np.nan)), Entry(6, note="10 samples")),
    "infinite.wav": (lambda: float_wav(poisoned(np.inf)), Entry(6, note="10 samples")),
    "absurdly loud.wav": (lambda: float_wav(poisoned(-1e30)), Entry(6, note="10 samples")),
    "wav in truth.flac": (wav, Entry(6)),
    "mp3 in truth.m4a": (mp3, Entry(6)),
    "no ending": (mp3, Entry(6)),
    # broken
    "cut.mp3": (lambda: cut(mp3()), Entry(2.4, 0.1, note="incomplete")),
    "cut.m4a": (lambda: cut(m4a()), Entry(2.4, 0.3, note="incomplete")),
    "cut.flac": (lambda: cut(flac()), Entry(2.4, 0.3, note="incomplete")),
    "cut.ogg": (lambda: cut(ogg()), Entry(2.4, 0.6)),
    "cut.opus": (lambda: cut(opus()), Entry(2.4, 1.0)),
    "cut.wav": (lambda: cut(wav()), Entry(2.4, 0.1, note="incomplete")),
    "bad bytes.mp3": (lambda: with_bad_bytes(mp3(), 0.5, 3000), Entry(5.9, 0.2, note="Damaged")),
    "bad bytes.flac": (lambda: with_bad_bytes(flac(), 0.5, 64), Entry(5.75, 0.25, note="Damaged")),
    "bad bytes.ogg": (lambda: with_bad_bytes(ogg(), 0.5, 3000), Entry(5.6, 0.5, note="Damaged|incomplete")),
    "bad bytes.m4a": (lambda: with_bad_bytes(m4a(), 0.7, 3000), Entry(5.9, 0.3, note="Damaged")),
    "zeros lead.mp3": (lambda: bytes(200_000) + mp3(), Entry(6, 0.1, note="Damaged in 1 place")),
    "junk picture.mp3": (lambda: with_junk_picture(mp3()), Entry(6, 0.1)),
    "no info frame.mp3": (lambda: without_info_frame(mp3_vbr()), Entry(6, 0.1)),
    "says 5 minutes.mp3": (lambda: with_info_frames_times(mp3(music() / 2), 50), Entry(6, 0.1, note="header says")),
    "says 10 minutes.flac": (lambda: with_flac_total_times(flac(music() / 2), 100), Entry(6, note="header says 10:00")),
    "says 5 minutes.wav": (
        lambda: _riff(_form(), _pcm(music() / 2), len(_pcm()) * 50),
        Entry(6, note="header says 5:00"),
    ),
    "says 1 second.wav": (lambda: _riff(_form(), _pcm(music() * 0.7), 4 * RATE), Entry(6, note="header says 0:01")),
    "says 1 second.flac": (
        lambda: with_flac_total_times(flac(music() * 0.7), 1 / 6),
        Entry(6, note="header says 0:01"),
    ),
    "tag behind the sound.wav": (
        lambda: _riff(_form(), _pcm()) + b"LIST" + struct.pack("<I", 4 * RATE) + bytes(4 * RATE),
        Entry(6),
    ),
    "says no length.wav": (lambda: _riff(_form(), _pcm(), 0xFFFFFFFF), Entry(6)),
    "two rates.mp3": (lambda: mp3() + mp3(music(rate=32000), rate=32000), Entry(12.1, 0.2, note="sample rate")),
    "two rates and widths.mp3": (
        lambda: mp3() + mp3(music(rate=32000, channels=1), rate=32000),
        Entry(12.1, 0.2, note="channels"),
    ),
    "two in a chain.ogg": (lambda: ogg() + ogg(), Entry(12)),
    "chain of qualities.ogg": (lambda: ogg() + ogg(compression=0.9), Entry(12)),
    "chain of rates.ogg": (lambda: ogg() + ogg(music(rate=22050, channels=1), rate=22050), Entry(12, note="rate")),
    "chain of codecs.ogg": (lambda: ogg(music(rate=48000), rate=48000, subtype="OPUS") + ogg(), Entry(12, note="rate")),
    "chain with a broken link.ogg": (
        lambda: ogg() + with_bad_bytes(ogg(), 0.01, 4000) + ogg(music(1)),
        Entry(7, 0.1, note="Damaged in 1 place"),
    ),
    "last packet trimmed.ogg": (lambda: with_page_end_less(ogg(), 3000), Entry(6, 0.1)),
    "last packet of 13 hours.m4a": (lambda: with_last_packet_lasting(m4a(), 0x7FFFFFFF), Entry(6)),
    # no music
    "16 bits as floats.wav": (lambda: float_wav(music() * 32767), Entry(reason="above full scale")),
    "random.mp3": (lambda: with_bad_bytes(b"", 0, 50_000), Entry(reason="an audio file")),
    "letter.mp3": (lambda: "Dear reader, grüße\n".encode() * 99, Entry(reason="text file")),
    "page.mp3": (lambda: b"<!DOCTYPE html><html><body>404</body></html>", Entry(reason="text file")),
    "empty.mp3": (lambda: b"", Entry(reason="empty")),
    "zeros.mp3": (lambda: bytes(100_000), Entry(reason="only zeros")),
    "picture.mp3": (lambda: b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 9, Entry(reason="an audio file")),
    "film.mp4": (film_without_sound, Entry(reason="no sound")),
    "tag only.mp3": (lambda: id3(b"TIT2\x00\x00\x00\x05\x00\x00\x00Tide"), Entry(reason="an audio file|no sound")),
    "huge tag.mp3": (lambda: id3(b"TIT2", 0xFFFFFFF) + mp3(), Entry(reason="an audio file|no sound")),
    "archive.mp3": (lambda: b"PK\x03\x04" + bytes(range(256)) * 9, Entry(reason="an audio file")),
    "no moov.m4a": (lambda: without_moov(m4a()), Entry(reason="incomplete")),
    "rate 0.wav": (lambda: _riff(_form(rate=0), _pcm()), Entry(reason="an audio file|no sound")),
    "rate 1.wav": (lambda: _riff(_form(rate=1), _pcm()), Entry(reason="1 samples a second")),
    "rate 1 kHz.wav": (lambda: _riff(_form(rate=1000), _pcm()), Entry(reason="1000 samples a second")),
    "rate 1 GHz.wav": (lambda: _riff(_form(rate=1_000_000_001), _pcm()), Entry(reason="samples a second")),
    "0 channels.wav": (lambda: _riff(_form(0), _pcm()), Entry(reason="an audio file|no sound")),
    "protected.m4p": (lambda: m4a().replace(b"mp4a", b"drms", 1), Entry(reason="copy-protected")),
    "encrypted.m4a": (lambda: m4a().replace(b"mp4a", b"enca", 1), Entry(reason="copy-protected")),
    "playlist.mp3": (lambda: b"#EXTM3U\n#EXTINF:9,\nhttp://127.0.0.1:9/a.ts\n", Entry(reason="text file")),
    "script.mp3": (lambda: b"ffconcat version 1.0\nfile 'good.mp3'\n", Entry(reason="text file")),
}

# Names that have broken programs; each is a sound file.
NAMES: tuple[bytes, ...] = (
    b"line\nbreak.wav",
    b"tab\tand \x1b[31mescape.wav",
    b"'quotes\" and `more`.wav",
    b"<script>alert(1)</script>&amp;.wav".replace(b"/", b"_"),
    "Sonnenaufgang ☀ 🔥 über Łódź.wav".encode(),
    b"not utf-8 \xff\xfe\xe9.wav",
    b"=HYPERLINK(1).wav",
    b"-rf.wav",
    b"%s %d %n.wav",
    b"concat:good.mp3|.wav",
    b"n" * 251 + b".wav",
    b" .wav",
    b"CAPITALS.WAV",
)


@functools.cache
def content(name: str) -> bytes:
    """The bytes of one of FILES."""
    return FILES[name][0]()


def make(folder: Path, files: Iterable[str] = FILES) -> None:
    """Write FILES, or some of them, and all NAMES into the folder."""
    for name in files:
        (folder / name).write_bytes(content(name))
    if sys.platform == "win32":
        return
    for number, name in enumerate(NAMES):
        sound = wav(music(6) * np.float32(0.9**number))
        Path(os.fsdecode(os.fsencode(folder) + b"/" + name)).write_bytes(sound)
