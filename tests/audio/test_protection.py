"""Songs that only a shop's own player can play are named as that, whatever kind of file they come in.

The encryption is FFmpeg's own of ISO/IEC 23001-7; the marks of the other kinds are put into files that are sound.
"""

import uuid
from collections.abc import Callable
from pathlib import Path

import nasty
import pytest

from audio import worker
from audio.errors import AudioError
from audio.files.decode import Decoder

KEY = "00112233445566778899aabbccddeeff"


def commonly_encrypted() -> bytes:
    hidden = {"encryption_scheme": "cenc-aes-ctr", "encryption_key": KEY, "encryption_kid": KEY}
    return nasty.encoded("aac", "mp4", nasty.music(1), form="fltp", options=nasty.QUICK, container_options=hidden)


def wma() -> bytes:
    return nasty.encoded("wmav2", "asf", nasty.music(1), form="fltp", options={"b": "128k"})


def with_asf_object(stream: bytes, name: str) -> bytes:
    """Microsoft's Advanced Systems Format, section 3: one object more at the front of the header."""
    added = uuid.UUID(name).bytes_le + (24 + 16).to_bytes(8, "little") + bytes(16)
    size, count = int.from_bytes(stream[16:24], "little"), int.from_bytes(stream[24:28], "little")
    head = stream[:16] + (size + len(added)).to_bytes(8, "little") + (count + 1).to_bytes(4, "little")
    return head + stream[28:30] + added + stream[30:]


PROTECTED: dict[str, Callable[[], bytes]] = {
    "common encryption.m4a": commonly_encrypted,
    "song.m4p": lambda: nasty.m4a(samples=nasty.music(1)).replace(b"mp4a", b"drms", 1),
    "book.aax": lambda: nasty.m4a(samples=nasty.music(1)).replace(b"mp4a", b"aavd", 1),
    "content.wma": lambda: with_asf_object(wma(), "2211B3FB-BD23-11D2-B4B7-00A0C955FC6E"),
    "extended.wma": lambda: with_asf_object(wma(), "298AE614-2622-4C17-B935-DAE07EE9289C"),
}


@pytest.mark.parametrize("name", PROTECTED)
def test_an_encrypted_song_is_called_so(name: str, tmp_path: Path) -> None:
    path = tmp_path / name
    path.write_bytes(PROTECTED[name]())
    with pytest.raises(AudioError, match="copy-protected: its sound is encrypted"), Decoder(path):
        pass
    assert "only the shop's own player can play it" in (worker.identify(path).problem or "")


def test_words_of_a_tag_are_no_protection(tmp_path: Path) -> None:
    path = tmp_path / "song.m4a"
    path.write_bytes(nasty.m4a(samples=nasty.music(1), metadata={"title": "sinf drms enca schm frma"}))
    assert worker.identify(path).problem is None
    (tmp_path / "song.wma").write_bytes(wma())
    assert worker.identify(tmp_path / "song.wma").problem is None
