"""Tags, fingerprints and harmless text: what a file says of itself, and what it is."""

import os
import sys
from pathlib import Path

import mutagen
import nasty
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from mutagen.apev2 import APEv2
from mutagen.id3 import APIC, ID3, TIT2, TPE1

from audio.files.fingerprint import fingerprint, fingerprint_of_bytes
from audio.files.presence import NotThereError, refuse_absent
from audio.files.tags import read_tags, write_tags
from audio.text import one_line, shown
from audio.track import Tags

TAGGED = ["good.mp3", "good vbr.mp3", "no info frame.mp3", "good.m4a", "good.flac", "good.ogg", "good.opus", "good.wav"]


def put(folder: Path, name: str, content: bytes | None = None) -> Path:
    path = folder / name
    path.write_bytes(nasty.content(name) if content is None else content)
    return path


@pytest.mark.parametrize("name", TAGGED)
def test_a_fingerprint_outlives_new_tags_and_a_new_name(tmp_path: Path, name: str) -> None:
    path = put(tmp_path, name)
    before = fingerprint(path)
    write_tags(path, Tags("A title " * 500, "Somebody"), tempo_bpm=99)
    moved = path.rename(tmp_path / f"moved{path.suffix}")
    assert moved.read_bytes() != nasty.content(name)
    assert fingerprint(moved) == before
    assert read_tags(moved).artist == "Somebody"


def test_tags_at_the_end_and_covers_of_an_mp3_change_nothing(tmp_path: Path) -> None:
    path = put(tmp_path, "good.mp3")
    before = fingerprint(path)
    tags = ID3(path)
    tags.add(APIC(encoding=3, mime="image/png", type=3, desc="", data=bytes(400_000)))
    tags.add(TIT2(encoding=3, text=["Foam"]))
    tags.save(path, v1=2)  # with the old 128 bytes at the end
    assert fingerprint(path) == before
    ape = APEv2()
    ape["Title"] = "Foam"
    ape.save(path)
    assert fingerprint(path) == before


def test_other_sound_has_another_fingerprint(tmp_path: Path) -> None:
    prints = {name: fingerprint(put(tmp_path, name)) for name in TAGGED}
    assert prints.pop("no info frame.mp3") == prints["good vbr.mp3"]  # the same sound, but for what states its length
    assert len(set(prints.values())) == len(prints)
    shorter = put(tmp_path, "shorter.flac", nasty.flac(nasty.music()[:-5000]))
    assert fingerprint(shorter) not in prints.values()
    assert all(len(print_) == 32 for print_ in prints.values())


def test_what_is_no_sound_is_known_by_its_bytes(tmp_path: Path) -> None:
    one, two = put(tmp_path, "a.mp3", b"x" * 100_000), put(tmp_path, "b.mp3", b"x" * 100_001)
    assert fingerprint_of_bytes(one) != fingerprint_of_bytes(two)
    assert fingerprint_of_bytes(one) == fingerprint_of_bytes(one.rename(tmp_path / "c.mp3"))


@pytest.mark.parametrize("name", nasty.FILES)
def test_reading_tags_never_fails(tmp_path: Path, name: str) -> None:
    assert isinstance(read_tags(put(tmp_path, name)), Tags)


def test_tags_of_other_kinds_are_read(tmp_path: Path) -> None:
    made = {"title": "Foam", "artist": "Nobody", "album": "Shore"}
    options = {"metadata": made}
    for name, content in {
        "a.wma": nasty.encoded("wmav2", "asf", form="fltp", options={"b": "128k"}, **options),
        "a.wav": nasty.wav(**options),  # an INFO chunk
        "a.mka": nasty.encoded("flac", "matroska", form="s16", **options),
        "a.aiff": nasty.encoded("pcm_s16be", "aiff", container_options={"write_id3v2": "1"}, **options),
    }.items():
        assert read_tags(put(tmp_path, name, content)) == Tags("Foam", "Nobody", "Shore"), name


def test_several_artists_are_all_named(tmp_path: Path) -> None:
    path = put(tmp_path, "good.mp3")
    tags = ID3()
    tags.add(TPE1(encoding=3, text=["One", "Two"]))
    tags.save(path)
    assert read_tags(path).artist == "One, Two"


def test_tags_cannot_act_on_a_terminal_or_turn_text_around(tmp_path: Path) -> None:
    path = put(tmp_path, "good.flac")
    file = mutagen.File(path)
    file["title"] = "a\x1b]0;owned\x07b\nc\u202ed\x9b31m\u2028e"
    file.save()
    title = read_tags(path).title
    assert title == "a]0;ownedb cd31m e"


@given(text=st.text())
@example(text="0\r\x1b 0")
def test_harmless_text_is_one_readable_line(text: str) -> None:
    clean = one_line(text)
    assert clean == one_line(clean) == " ".join(clean.split())
    assert clean.isprintable() or any(letter in clean for letter in "\u00a0\u00ad\u200c\u200d") or not clean.isascii()
    assert not any(ord(letter) < 32 or 0x7F <= ord(letter) < 0xA0 for letter in clean)
    clean.encode()


def test_ordinary_text_stays_as_it_is() -> None:
    for text in ("Łódź 🔥", "雨の音", "שלום", "नमस्ते", "family 👨‍👩‍👧", "O'Brien & <b>"):
        assert one_line(text) == text


@pytest.mark.skipif(sys.platform == "win32", reason="names are text there")
def test_a_name_of_any_bytes_can_be_shown() -> None:
    name = shown(os.fsdecode(b"a\xff\n\x1b[31m.mp3"))
    assert name == "a\ufffd\ufffd\ufffd[31m.mp3"
    name.encode()


@pytest.mark.skipif(sys.platform == "win32", reason="holes are asked for otherwise there")
def test_placeholders_are_named_without_being_read(tmp_path: Path) -> None:
    with (tmp_path / "hollow.mp3").open("wb") as file:
        file.write(nasty.content("good.mp3"))
        file.truncate(3 << 30)
    if (tmp_path / "hollow.mp3").stat().st_blocks * 512 > 1 << 30:
        pytest.skip("this file system has no holes")
    with pytest.raises(NotThereError, match="only a placeholder"):
        refuse_absent(tmp_path / "hollow.mp3")


def test_flags_of_windows_and_macos_name_placeholders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    class Status:
        st_mode, st_size = 0o100644, 1_000_000

    path = put(tmp_path, "good.mp3")
    for flag in ({"st_file_attributes": 0x400000}, {"st_file_attributes": 0x1000}, {"st_flags": 0x40000000}):
        status = Status()
        vars(status).update(flag)
        monkeypatch.setattr(Path, "stat", lambda self, status=status: status)
        with pytest.raises(NotThereError, match="only a placeholder"):
            refuse_absent(path)


def test_zeros_are_told_from_sound_that_begins_late(tmp_path: Path) -> None:
    put(tmp_path, "late.mp3", bytes(3_000_000) + nasty.content("good.mp3"))
    refuse_absent(tmp_path / "late.mp3")
    put(tmp_path, "never.mp3", bytes(3_000_000))
    with pytest.raises(NotThereError, match="only zeros"):
        refuse_absent(tmp_path / "never.mp3")
