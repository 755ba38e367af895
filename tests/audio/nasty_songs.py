"""Songs long enough to be paired whose files, names and tags are as bad as strangers can make them.

Each can be used. The sound is made here: drums or chords of many loudnesses, so that a class finds calm and lively ones.
"""

import os
import struct
from collections.abc import Callable
from pathlib import Path

import nasty
import numpy as np
import sounds
import soxr

Make = Callable[[np.ndarray, dict[str, str]], bytes]

# What acts on a terminal, page, playlist, chapter list, spreadsheet, database, shell or template that takes it for more
# than text.
TITLES = (
    "\x1b[31mRed\x1b[0m \x1b]0;owned\x07\x9b2J tide",
    '=HYPERLINK("http://127.0.0.1:9/","Tide")',
    "'); DROP TABLE recordings;--",
    "<script>alert(1)</script><img src=x onerror=alert(1)>",
    "]]></title></trackList><x a='\"&amp;&lt;",
    'Tide\r\n#EXTINF:1,other\nhttp://127.0.0.1:9/a.mp3\nFILE "x" WAVE',
    "\u202egnp.evil\u2069 \u2028 two \u2029 three",
    "$(touch owned) `touch owned` | touch owned; %n%s",
    "{{ 7 * 7 }}{% raw %}{self} [bold red]loud[/bold red] [link=file:///]",
    "../../../etc/passwd",
    "CON",
    "..",
    "-rf --help",
    "Long " * 400,
    "\u0301\u0301\u0301Z\u0351\u0352a\u0353\u0354lgo \U0001f525 \u202dŁódź",
    "a\ufeffb\ufffec\x7fd\x85e",
    "   ",
    "@SUM(1+1)*cmd|' /C calc'!A0",
    "back\\slash \"quoted\" 'single' `tick`",
    "CHAPTER00=00:00:01.000;title=x\n[CHAPTER]\nSTART=0",
)

# The last part of a name is the file's kind; one that isn't UTF-8, one of 255 bytes.
NAMES = (
    b"line\nbreak",
    b"\x1b[2J\x1b[31mred\x07",
    b"<b>\"quoted' & &amp; `x`",
    b"not utf-8 \xff\xfe\xe9",
    b"n" * 249,
    "🔥 \u202egnp Łódź".encode(),
    b"=1+1",
    b"-rf",
    b"%s %n {{7}} [red]",
    b"http:..127.0.0.1:9",
    b"#EXTM3U",
    b"  spaces  ",
    b"concat:a|b",
    b"file:x",
    b"back\\slash",
    b"$(touch owned);'",
)


def _as_stereo(samples: np.ndarray, gain: float = 1.0) -> np.ndarray:
    return np.stack([samples, samples * np.float32(0.8)], axis=1) * np.float32(gain)


def _at(samples: np.ndarray, rate: int) -> np.ndarray:
    return np.asarray(soxr.resample(samples, sounds.RATE, rate, "QQ"), np.float32)


def _float_wav(samples: np.ndarray, tags: dict[str, str]) -> bytes:
    stereo = _as_stereo(_at(samples, nasty.RATE))
    stereo[1000:1500] = np.nan
    stereo[90_000:90_010, 0] = np.inf
    return nasty.float_wav(stereo)


def _wide_wav(samples: np.ndarray, tags: dict[str, str]) -> bytes:
    raw = (np.repeat(samples[:, None], 11, axis=1) * 9000).astype("<i2").tobytes()
    form = struct.pack("<HHIIHH", 1, 11, sounds.RATE, sounds.RATE * 22, 22, 16)
    head = b"WAVE" + b"fmt " + struct.pack("<I", 16) + form + b"data" + struct.pack("<I", len(raw))
    return b"RIFF" + struct.pack("<I", len(head) + len(raw)) + head + raw


def _surround(samples: np.ndarray) -> np.ndarray:
    return np.repeat(_at(samples, nasty.RATE)[:, None], 6, axis=1) * np.float32(0.4)


MAKERS: tuple[tuple[str, Make], ...] = (
    ("mp3", lambda s, tags: nasty.mp3(_as_stereo(_at(s, nasty.RATE)), metadata=tags)),
    ("flac", lambda s, tags: nasty.flac(_surround(s), metadata=tags)),
    ("wav", _float_wav),
    ("m4a", lambda s, tags: nasty.m4a(samples=_as_stereo(_at(s, nasty.RATE)), metadata=tags)),
    ("wav", lambda s, tags: nasty.wav(_at(s, 8000)[:, None], rate=8000, metadata=tags)),
    ("wav", lambda s, tags: nasty.wav(np.clip(_as_stereo(s, 60), -1, 1), rate=sounds.RATE, metadata=tags)),
    ("wav", _wide_wav),
    ("flac", lambda s, tags: nasty.wav(_as_stereo(_at(s, 11111)), rate=11111, metadata=tags)),
    ("m4a", lambda s, tags: nasty.mp3(_as_stereo(s), rate=sounds.RATE, metadata=tags)),
    ("mp3", lambda s, tags: nasty.with_bad_bytes(nasty.mp3(_as_stereo(_at(s, nasty.RATE)), metadata=tags), 0.5, 3000)),
    ("flac", lambda s, tags: nasty.cut(nasty.flac(_as_stereo(s), rate=sounds.RATE, metadata=tags), 0.8)),
    ("wav", lambda s, tags: nasty.wav(_as_stereo(s), codec="pcm_u8", rate=sounds.RATE, metadata=tags)),
    ("ogg", lambda s, tags: nasty.ogg(_as_stereo(_at(s, nasty.RATE)))),
    ("flac", lambda s, tags: nasty.flac(_as_stereo(_at(s, 96000)), rate=96000, metadata=tags)),
    ("mp3", lambda s, tags: bytes(200_000) + nasty.mp3(_as_stereo(_at(s, nasty.RATE)), metadata=tags)),
    (
        "mka",
        lambda s, tags: nasty.encoded("flac", "matroska", _as_stereo(s), rate=sounds.RATE, form="s16", metadata=tags),
    ),
)


def sound(number: int, seconds: float) -> np.ndarray:
    """Mono, 22.05 kHz: every other one calm chords, the others drums; later ones louder and faster."""
    if number % 2:
        samples = sounds.drums(80 + 5 * number, seconds, seed=number)[0]
    else:
        tonic = 45 + number
        samples = sounds.chords([[tonic, tonic + 7, tonic + 12], [tonic + 5, tonic + 9, tonic + 12]], 4.0, seconds, 0.8)
    return np.asarray(samples * np.float32(0.15 + 0.8 * ((number * 7) % 16) / 16), np.float32)


def make(folder: Path, count: int, seconds: tuple[float, float]) -> None:
    """Write `count` songs, their lengths spread over `seconds`."""
    for number in range(count):
        ending, encode = MAKERS[number % len(MAKERS)]
        name = NAMES[number % len(NAMES)]
        if number >= len(NAMES):
            name = str(number).encode() + name[:240]
        title = TITLES[number % len(TITLES)]
        tags = {
            "title": title,
            "artist": TITLES[(number + 7) % len(TITLES)],
            "album": TITLES[(number + 3) % len(TITLES)],
        }
        length_s = float(np.interp((number * 5) % 16, [0, 15], seconds))
        content = encode(sound(number, length_s), tags)
        Path(os.fsdecode(os.fsencode(folder) + b"/" + name + b"." + ending.encode())).write_bytes(content)
