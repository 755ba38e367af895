"""A teacher's folder for tests of what can go wrong: a plan, music that sounds, a library that knows it, and a set.

The library's numbers are invented, so that nothing has to be measured; the files last as long as they say.
"""

from collections.abc import Sequence
from pathlib import Path

import nasty
import numpy as np
from forked import Commands
from invented_music import library as invented_library
from made import made_found

from audio.files.fingerprint import fingerprint
from audio.library import Library
from audio.track import Tags

SONGS = 12
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
        for number, track in enumerate(invented_library(SONGS)):
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
    names = {path.name for path in target.parent.iterdir()}
    if names != {target.name}:
        lost.append(f"{words[0]} left {names - {target.name}} behind, which the run after the kills didn't sweep")
    return lost


def _sound(number: int, seconds: float) -> bytes:
    time = np.arange(round(seconds * 8000)) / 8000
    tone = 0.2 * np.sin(2 * np.pi * (200 + 20 * number) * time)
    return nasty.flac(tone.astype(np.float32)[:, None], rate=8000)
