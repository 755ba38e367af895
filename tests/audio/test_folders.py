"""What is tried in a folder, and what is left out with which reason."""

import os
import socket
import sys
from pathlib import Path

import nasty
import pytest

from audio.files.folders import Found, LeftOut, walk

posix = pytest.mark.skipif(sys.platform == "win32", reason="no such thing there")


def looked(*folders: Path) -> tuple[list[str], dict[str, str]]:
    """Names found, and reasons by name of what was left out."""
    items = list(walk(folders))
    found = [item.path.name for item in items if isinstance(item, Found)]
    return found, {item.path.name: item.reason for item in items if isinstance(item, LeftOut)}


def test_songs_are_found_by_their_ending_or_their_first_bytes(tmp_path: Path) -> None:
    for name in ("a.mp3", "B.M4A", "deep/er/c.opus", "notes.txt", "cover.jpg", "list.m3u", "letter"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(b"x" * 100)
    (tmp_path / "track without ending").write_bytes(nasty.wav(nasty.music(1)))
    (tmp_path / "old.backup").write_bytes(nasty.id3(b"TIT2"))
    assert looked(tmp_path) == (["B.M4A", "a.mp3", "old.backup", "track without ending", "c.opus"], {})


def test_a_file_that_is_named_itself_is_taken(tmp_path: Path) -> None:
    (tmp_path / "odd.xyz").write_bytes(b"x")
    assert looked(tmp_path / "odd.xyz") == (["odd.xyz"], {})


@pytest.mark.parametrize(
    ("name", "reason"),
    [
        (".a.mp3", "hidden"),
        (".a.mp3.icloud", "only a placeholder"),
        ("a.mid", "score"),
    ],
)
def test_what_is_no_song_though_it_looks_so_has_a_reason(tmp_path: Path, name: str, reason: str) -> None:
    (tmp_path / name).write_bytes(b"x")
    found, left_out = looked(tmp_path)
    assert found == []
    assert reason in left_out[name]


@pytest.mark.parametrize("name", ["._a.mp3", "a.mp3.part", "a.m4a.crdownload", "a.mp3.tmp", "notes.txt"])
def test_what_is_no_music_on_purpose_gets_no_line(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_bytes(nasty.id3(b"TIT2"))
    assert looked(tmp_path) == ([], {})


@posix
def test_a_path_too_long_for_the_system_is_named(tmp_path: Path) -> None:
    """Such folders come about when one is moved into another; no path leads to what is in them."""
    before = os.getcwd()
    try:
        os.chdir(tmp_path)
        for _ in range(18):
            os.mkdir("n" * 250)
            os.chdir("n" * 250)
        Path("deep.mp3").touch()
        os.chdir(tmp_path)
        found, left_out = looked(tmp_path)
    finally:
        os.chdir(before)
    assert found == []
    (reason,) = left_out.values()
    assert "its path is longer" in reason


@posix
def test_pipes_devices_and_folders_named_like_songs_are_never_opened(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.mp3")
    os.mkfifo(tmp_path / "pipe without ending")
    (tmp_path / "device.mp3").symlink_to("/dev/zero")
    (tmp_path / "album.mp3").mkdir()
    (tmp_path / "album.mp3" / "a.mp3").touch()
    with socket.socket(socket.AF_UNIX) as server:
        where = os.getcwd()
        os.chdir(tmp_path)  # the name of a socket may have 108 bytes only
        try:
            server.bind("socket.mp3")
        finally:
            os.chdir(where)
        found, left_out = looked(tmp_path)
    assert found == ["a.mp3"]
    assert set(left_out) == {"pipe.mp3", "device.mp3", "socket.mp3"}


@posix
def test_circles_of_links_end(tmp_path: Path) -> None:
    inner = tmp_path / "inner"
    inner.mkdir()
    (inner / "a.mp3").touch()
    (inner / "back").symlink_to(tmp_path)
    (tmp_path / "again").symlink_to(inner)
    (tmp_path / "self.mp3").symlink_to(tmp_path / "self.mp3")
    (tmp_path / "nowhere.mp3").symlink_to(tmp_path / "gone")
    found, left_out = looked(tmp_path, inner, tmp_path)
    assert found == ["a.mp3"]
    assert "circle" in left_out["self.mp3"]
    assert "isn't there" in left_out["nowhere.mp3"]


@posix
def test_what_may_not_be_opened_is_named(tmp_path: Path) -> None:
    (tmp_path / "closed").mkdir()
    (tmp_path / "closed.mp3").touch()
    (tmp_path / "closed.mp3").chmod(0)
    (tmp_path / "closed").chmod(0)
    try:
        if os.access(tmp_path / "closed", os.R_OK):
            pytest.skip("root may open everything")
        found, left_out = looked(tmp_path)
    finally:
        (tmp_path / "closed").chmod(0o700)
    assert found == []
    assert "permission" in left_out["closed"]
    assert "permission" in left_out["closed.mp3"]


@posix
def test_names_of_any_bytes_are_found(tmp_path: Path) -> None:
    for name in nasty.NAMES:
        Path(os.fsdecode(os.fsencode(tmp_path) + b"/" + name)).touch()
    items = list(walk([tmp_path]))
    assert {os.fsencode(item.path.name) for item in items} == set(nasty.NAMES)


def test_a_folder_that_is_gone_is_named(tmp_path: Path) -> None:
    assert looked(tmp_path / "gone") == ([], {"gone": "isn't there."})
