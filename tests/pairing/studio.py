"""A teacher's folder for tests of what can go wrong: a plan, music that sounds, a library that knows it, and a set.

The library's numbers are invented, so that nothing has to be measured; the files last as long as they say.
"""

import shutil
from collections.abc import Sequence
from functools import cache
from pathlib import Path

import nasty
import numpy as np
from forked import Commands
from invented_music import library as invented_library
from made import made_found

from audio.files.fingerprint import fingerprint
from audio.library import Library
from audio.track import Tags
from pairing.sets.setfile import read_set

SONGS = 12
LENGTHS_S = (45, 90)  # each is longer than any part of the class
PLAN = """# Tide
slot: 3 minutes

## Sit: opening, 30 seconds
- easy seat

## Rise: flow, 30 seconds, driving music
- warrior two

## Float: rest, 30 seconds, quiet music
- savasana
"""


def make(home: Path, commands: Commands) -> None:
    """Fill an empty home; the set is `tide.json`."""
    (home / "music").mkdir()
    with Library.open_or_create(home / "library.sqlite") as library:
        for number, track in enumerate(invented_library(SONGS, lengths_s=LENGTHS_S)):
            path = home / "music" / f"{number}.flac"
            path.write_bytes(_sound(number, track.analysis.duration_s))
            found = made_found(path, path.stat().st_size, path.stat().st_mtime_ns)
            library.store(found, fingerprint(path), Tags(f"Song {number}", "Nobody"), track.analysis)
    (home / "tide.md").write_text(PLAN)
    ended = commands.run("pair", "tide.md", "--out", "tide.json")
    assert ended.status in (0, 1), ended.said


# What is killed: the words of the command, before the name of the file that it writes.
KILLED = {
    "tide.json": ("pair", "tide.md", "--out"),
    "tide.flac": ("mix", "tide.json", "--force", "--out"),
    "tide.html": ("sheet", "tide.json", "--out"),
}


def killed(commands: Commands, words: Sequence[str], target: Path, count: int, seed: int) -> list[str]:
    """Kill a command at random moments, half of the times with a former output in place; gives what was lost.

    The output must be as it was before or as an undisturbed run writes it, and the library must open.
    """
    undisturbed = commands.run(*words, target)
    assert undisturbed.status in (0, 1), undisturbed.said
    whole, former = target.read_bytes(), target.read_bytes().rstrip() + b"\n\n"
    rng, lost = np.random.default_rng(seed), []
    for turn in range(count):
        target.unlink(missing_ok=True)
        if turn % 2:
            target.write_bytes(former)
        moment = rng.uniform(0, undisturbed.took_s)
        ended = commands.run(*words, target, kill_after_s=moment)
        left = target.read_bytes() if target.exists() else None
        if left not in ((former, whole) if turn % 2 else (None, whole)):
            lost.append(f"{words[0]} killed after {moment:.3f} s: the output is neither as before nor whole")
        if "Traceback" in ended.said:
            lost.append(f"{words[0]} killed after {moment:.3f} s: {ended.said[-300:]}")
        with Library(commands.home / "library.sqlite") as library:
            if len(library.tracks()) != SONGS:
                lost.append(f"{words[0]} killed after {moment:.3f} s: the library has lost tracks")
    again = commands.run(*words, target)
    if again.status != undisturbed.status or target.read_bytes() != whole:
        lost.append(f"{words[0]} after all kills: another output than before")
    return lost + _left_beside(target, words[0], {target.name})


# What changes a set where it lies: the command, and what stands behind the name of the set.
CHANGES = (("swap", "1", "--best"), ("rest", "--silence", "0.25", "--bell", "end"))


def killed_in_place(commands: Commands, words: Sequence[str], target: Path, count: int, seed: int) -> list[str]:
    """Kill a command that changes a set at random moments; gives what was lost.

    The set must be as it was or as an undisturbed run makes it, and nothing may lie beside it after one more run.
    """
    name, *rest = words
    before = (commands.home / "tide.json").read_bytes()
    target.write_bytes(before)
    undisturbed = commands.run(name, target, *rest)
    assert undisturbed.status in (0, 1), undisturbed.said
    after = read_set(target)
    assert (after.picks, after.rest) != (read_set(commands.home / "tide.json").picks, None)
    rng, lost = np.random.default_rng(seed), []
    for _ in range(count):
        target.write_bytes(before)
        moment = rng.uniform(0, undisturbed.took_s)
        ended = commands.run(name, target, *rest, kill_after_s=moment)
        now = target.read_bytes()
        if now != before and (read_set(target).picks, read_set(target).rest) != (after.picks, after.rest):
            lost.append(f"{name} killed after {moment:.3f} s: the set is neither as before nor changed")
        if "Traceback" in ended.said:
            lost.append(f"{name} killed after {moment:.3f} s: {ended.said[-300:]}")
    target.write_bytes(before)
    if commands.run(name, target, *rest).status != undisturbed.status or read_set(target).picks != after.picks:
        lost.append(f"{name} after all kills: another set than before")
    return lost + _left_beside(target, name, {target.name})


def killed_packing(commands: Commands, target: Path, count: int, seed: int) -> list[str]:
    """Kill `pack` at random moments, half of the times over a former folder; gives what was lost."""
    words = ("pack", "tide.json", "--as", "flac", "--out", target)
    target.parent.mkdir()
    undisturbed = commands.run(*words)
    assert undisturbed.status in (0, 1), undisturbed.said
    whole = _files(target)
    rng, lost = np.random.default_rng(seed), []
    for turn in range(count):
        if turn % 2 == 0:
            shutil.rmtree(target, ignore_errors=True)
        moment = rng.uniform(0, undisturbed.took_s)
        ended = commands.run(*words, kill_after_s=moment)
        for place, content in _files(target).items():
            if not place.name.startswith(".") and whole.get(place) != content:
                lost.append(f"pack killed after {moment:.3f} s: {place} isn't whole")
        if "Traceback" in ended.said:
            lost.append(f"pack killed after {moment:.3f} s: {ended.said[-300:]}")
    again = commands.run(*words)
    now = _files(target)
    if again.status != undisturbed.status or now != whole:
        lost.append(f"pack after all kills: another folder than before, {sorted(now.keys() ^ whole.keys())}")
    return lost + _left_beside(target, "pack", {target.name})


def _files(folder: Path) -> dict[Path, bytes]:
    return {path.relative_to(folder): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def _left_beside(target: Path, name: str, usual: set[str]) -> list[str]:
    left = {path.name for path in target.parent.iterdir()} - usual
    return [f"{name} left {left} behind, which the run after the kills didn't sweep"] if left else []


@cache
def _sound(number: int, seconds: float) -> bytes:
    time = np.arange(round(seconds * 8000)) / 8000
    level = 0.4 + 0.6 * np.exp(-15 * (time % 1))  # struck: of an even tone all is peak, which costs a meter most
    tone = 0.2 * level * np.sin(2 * np.pi * (200 + 20 * number) * time)
    return nasty.flac(tone.astype(np.float32)[:, None], rate=8000)
