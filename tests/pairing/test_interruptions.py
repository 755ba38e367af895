"""Pairing, sheets and mixes that are killed, meet a full disk, a read-only folder or a vanished stick: outputs are
whole or absent, and the next run gives what an undisturbed one gives.

A few times each; `tests/benchmarks/endurance.py` does it many times.
"""

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from invented_music import library as invented_library

sys.path.insert(0, str(Path(__file__).parents[1] / "audio"))

import nasty
from made import made_found

from audio.files.fingerprint import fingerprint
from audio.library import Library
from audio.track import Tags
from pairing.sets.setfile import read_set

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals and limits of POSIX")

PLAN = """# Tide
slot: 10 minutes

## Sit: opening, 2 minutes
- easy seat

## Rise: flow, 3 minutes, driving music
- warrior two

## Float: rest, 2 minutes, quiet music
- savasana
"""
ROOT = Path(__file__).parents[2]
KILLS = 3


def command(home: Path, *words: str) -> "subprocess.Popen[str]":
    return subprocess.Popen(
        [sys.executable, "-c", "from pairing.commands import main; main()", *words],
        cwd=home,
        env=os.environ | {"PYTHONPATH": str(ROOT), "ARCBED_LIBRARY": str(home / "library.sqlite"), "NO_COLOR": "1"},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def arcbed(home: Path, *words: str) -> tuple[int, str]:
    process = command(home, *words)
    out, errors = process.communicate(timeout=300)
    assert "Traceback" not in errors, errors
    return process.returncode, " ".join((out + errors).split())  # as if no line had been broken


@pytest.fixture(scope="module")
def studio(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A plan, files that sound, a library that knows them under invented numbers, and a set."""
    home = tmp_path_factory.mktemp("studio")
    (home / "music").mkdir()
    with Library.open_or_create(home / "library.sqlite") as library:
        for number, track in enumerate(invented_library(12)):
            path = home / "music" / f"{number}.flac"
            path.write_bytes(nasty.flac(nasty.music(4) * np.float32(0.99**number)))
            found = made_found(path, path.stat().st_size, path.stat().st_mtime_ns)
            library.store(found, fingerprint(path), Tags(f"Song {number}", "Nobody"), track.analysis)
    (home / "tide.md").write_text(PLAN)
    assert arcbed(home, "pair", "tide.md", "--out", "tide.json")[0] in (0, 1)
    return home


def words_for(kind: str, folder: Path) -> tuple[str, ...]:
    out = str(folder / kind)
    return {
        "tide.json": ("pair", "tide.md", "--out", out),
        "tide.html": ("sheet", "tide.json", "--out", out),
        "tide.flac": ("mix", "tide.json", "--out", out, "--force"),
    }[kind]


def test_an_output_that_is_killed_at_any_moment_is_whole_or_absent(studio: Path, tmp_path: Path) -> None:
    rng = np.random.default_rng(23)
    whole = (studio / "tide.json").read_bytes()
    for _ in range(KILLS):
        process = command(studio, *words_for("tide.json", tmp_path))
        time.sleep(rng.uniform(0.2, 2.0))
        process.kill()
        process.communicate()
        target = tmp_path / "tide.json"
        assert not target.exists() or pairs_alike(target.read_bytes(), whole)
    assert arcbed(studio, *words_for("tide.json", tmp_path))[0] in (0, 1)
    assert pairs_alike((tmp_path / "tide.json").read_bytes(), whole)


def pairs_alike(one: bytes, two: bytes) -> bool:
    """The same set but for how it names its files: relative below its folder, else absolute."""
    import json

    sets = [json.loads(each) for each in (one, two)]
    for each in sets:
        each["plan"]["path"] = ""
        for pick in each["picks"]:
            pick["path"] = Path(pick["path"]).name
    return bool(sets[0] == sets[1])


def test_a_set_that_is_changed_in_place_is_never_half_written(studio: Path, tmp_path: Path) -> None:
    home = tmp_path / "copy"
    shutil.copytree(studio, home)
    rng, picks = np.random.default_rng(29), len(read_set(home / "tide.json").picks)
    for turn in range(KILLS):
        process = command(home, "swap", "tide.json", "1", "--pin" if turn % 2 else "--unpin")
        time.sleep(rng.uniform(0.2, 1.5))
        process.kill()
        process.communicate()
        assert len(read_set(home / "tide.json").picks) == picks


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of 4 MB in memory, all but full, where this machine lets us mount one."""
    place = tmp_path / "disk"
    place.mkdir()
    if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=4M", "tmpfs", place], capture_output=True).returncode:
        pytest.skip("mounting needs root rights")
    try:
        (place / "ballast").write_bytes(bytes(shutil.disk_usage(place).free - 8192))
        yield place
    finally:
        subprocess.run(["umount", place], check=True)


@pytest.mark.parametrize("kind", ["tide.json", "tide.html"])
def test_on_a_full_disk_nothing_is_left_and_the_words_say_so(studio: Path, small_disk: Path, kind: str) -> None:
    status, said = arcbed(studio, *words_for(kind, small_disk))
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


def test_a_read_only_folder_is_named(studio: Path, tmp_path: Path) -> None:
    folder = tmp_path / "locked"
    folder.mkdir()
    undo = read_only(folder)
    try:
        status, said = arcbed(studio, *words_for("tide.html", folder))
        assert status == 3
        assert "locked" in said
        assert "can't be written" in said
    finally:
        undo()


def test_music_on_a_stick_that_is_gone_is_named_before_anything_is_written(studio: Path, tmp_path: Path) -> None:
    (studio / "music").rename(studio / "unplugged")
    try:
        status, said = arcbed(studio, *words_for("tide.flac", tmp_path))
        assert status in (2, 3)
        assert "is gone" in said
        assert "scan" in said
        assert list(tmp_path.iterdir()) == []
        assert arcbed(studio, "check", "tide.json")[0] == 1
    finally:
        (studio / "unplugged").rename(studio / "music")


def test_moved_music_is_found_again_by_its_sound(studio: Path) -> None:
    moved = studio / "elsewhere"
    (studio / "music").rename(moved)
    for number in range(12):
        (moved / f"{number}.flac").rename(moved / f"renamed {number}.flac")
    try:
        assert "is not there any more" in arcbed(studio, "check", "tide.json")[1]
        assert "12 new" in arcbed(studio, "scan", "elsewhere")[1]
        assert "is not there any more" not in arcbed(studio, "check", "tide.json")[1]
    finally:
        for number in range(12):
            (moved / f"renamed {number}.flac").rename(moved / f"{number}.flac")
        moved.rename(studio / "music")
