"""Pairing, sheets and mixes that are killed, meet a full disk, a read-only folder or a vanished stick: outputs are
whole or absent, and the next run gives what an undisturbed one gives.

A few times each; `tests/benchmarks/endurance.py` does it many times.
"""

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
import studio
from forked import Commands

from pairing.sets.setfile import read_set

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals and limits of POSIX")

KILLS = 3


def arcbed(commands: Commands, *words: str | Path) -> tuple[int, str]:
    ended = commands.run(*words)
    assert "Traceback" not in ended.said, ended.said
    return ended.status, " ".join(ended.said.split())  # as if no line had been broken


@pytest.mark.parametrize("name", studio.KILLED)
def test_an_output_that_is_killed_at_any_moment_is_whole_or_absent(
    commands: Commands, tmp_path: Path, name: str
) -> None:
    assert studio.killed(commands, studio.KILLED[name], tmp_path / name, KILLS, seed=23) == []


def test_a_set_that_is_changed_in_place_is_never_half_written(commands: Commands, tmp_path: Path) -> None:
    target = tmp_path / "tide.json"
    shutil.copy(commands.home / "tide.json", target)
    rng, picks = np.random.default_rng(29), len(read_set(target).picks)
    took_s = commands.run("swap", target, "1", "--pin").took_s
    for turn in range(KILLS):
        commands.run("swap", target, "1", "--pin" if turn % 2 else "--unpin", kill_after_s=rng.uniform(0, took_s))
        assert len(read_set(target).picks) == picks
    commands.run("swap", target, "1", "--pin")
    assert [path.name for path in tmp_path.iterdir()] == ["tide.json"]


@pytest.mark.parametrize("words", studio.CHANGES, ids=lambda words: words[0])
def test_a_set_that_is_changed_is_as_before_or_as_it_should_be(
    commands: Commands, tmp_path: Path, words: tuple[str, ...]
) -> None:
    assert studio.killed_in_place(commands, words, tmp_path / "tide.json", KILLS, seed=37) == []


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of 4 MB in memory, all but full, where this machine lets us mount one."""
    place = tmp_path / "disk"
    place.mkdir()
    if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=4M", "tmpfs", place], capture_output=True).returncode:
        pytest.skip("mounting needs root rights")
    try:
        (place / "ballast").write_bytes(bytes(shutil.disk_usage(place).free - 4096))
        yield place
    finally:
        subprocess.run(["umount", place], check=True)


@pytest.mark.parametrize("kind", ["tide.json", "tide.html"])
def test_on_a_full_disk_nothing_is_left_and_the_words_say_so(commands: Commands, small_disk: Path, kind: str) -> None:
    status, said = arcbed(commands, *studio.KILLED[kind], small_disk / kind)
    assert status == 3
    assert "No space left" in said
    assert [path.name for path in small_disk.iterdir()] == ["ballast"]


def read_only(folder: Path) -> Callable[[], None]:
    """Make a folder read-only, also for a user whom permissions don't bind."""
    if subprocess.run(["mount", "-t", "tmpfs", "-o", "ro", "tmpfs", folder], capture_output=True).returncode == 0:
        return lambda: subprocess.run(["umount", folder], check=True) and None
    if os.geteuid() == 0:
        pytest.skip("nothing is read-only for root here")
    folder.chmod(0o500)
    return lambda: folder.chmod(0o700)


def test_a_read_only_folder_is_named(commands: Commands, tmp_path: Path) -> None:
    folder = tmp_path / "locked"
    folder.mkdir()
    undo = read_only(folder)
    try:
        status, said = arcbed(commands, *studio.KILLED["tide.html"], folder / "tide.html")
        assert status == 3
        assert "locked" in said
        assert "can't be written" in said
    finally:
        undo()


def test_music_on_a_stick_that_is_gone_is_named_before_anything_is_written(commands: Commands, tmp_path: Path) -> None:
    (commands.home / "music").rename(commands.home / "unplugged")
    try:
        status, said = arcbed(commands, *studio.KILLED["tide.flac"], tmp_path / "tide.flac")
        assert status in (2, 3)
        assert "is gone" in said
        assert "scan" in said
        assert list(tmp_path.iterdir()) == []
        assert arcbed(commands, "check", "tide.json")[0] == 1
    finally:
        (commands.home / "unplugged").rename(commands.home / "music")


def test_moved_music_is_found_again_by_its_sound(commands: Commands) -> None:
    moved = commands.home / "elsewhere"
    (commands.home / "music").rename(moved)
    for number in range(studio.SONGS):
        (moved / f"{number}.flac").rename(moved / f"renamed {number}.flac")
    try:
        assert "can be found now" in arcbed(commands, "check", "tide.json")[1]
        assert "12 new" in arcbed(commands, "scan", "elsewhere")[1]
        assert "can be found now" not in arcbed(commands, "check", "tide.json")[1]
    finally:
        for number in range(studio.SONGS):
            (moved / f"renamed {number}.flac").rename(moved / f"{number}.flac")
        moved.rename(commands.home / "music")
