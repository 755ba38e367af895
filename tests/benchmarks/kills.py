"""Commands and a session of the page that are killed (SIGKILL) at random moments, and what the next run finds.

    python tests/benchmarks/kills.py             50 kills each of pair, mix, sheet, swap, rest, pack and the page
    python tests/benchmarks/kills.py 20 swap     20 of one of them

A loss is a file under its final name that is neither as before nor whole, a change that was confirmed and is gone, a
track missing in the library, or anything left beside the files after the next run. (`endurance.py` kills scans.)
"""

import hashlib
import os
import signal
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[2]), str(HERE.parents[1] / "audio"), str(HERE.parents[1] / "pairing")]

import studio  # noqa: E402
from forked import Commands  # noqa: E402

COUNT = 50


def main(count: int = COUNT, *names: str) -> None:
    """Print a line a command."""
    print("| killed | times | lost | |\n|---|---|---|---|")
    with tempfile.TemporaryDirectory(prefix="kills-") as made_here:
        home = Path(made_here) / "studio"
        home.mkdir()
        with Commands(home) as commands:
            studio.make(home, commands)
            for name, trial in trials(commands, Path(made_here)).items():
                if name in names or not names:
                    began = time.monotonic()
                    lost = trial(count)
                    print("\n".join(lost), file=sys.stderr)
                    print(f"| {name} | {count} | {len(lost)} | {time.monotonic() - began:.0f} s |", flush=True)


def trials(commands: Commands, folder: Path) -> dict[str, Callable[[int], list[str]]]:
    """What is killed, by name."""

    def output(name: str) -> Callable[[int], list[str]]:
        target = folder / f"killed {name}" / name
        target.parent.mkdir()
        return lambda count: studio.killed(commands, studio.KILLED[name], target, count, seed=31)

    def change(words: tuple[str, ...]) -> Callable[[int], list[str]]:
        target = folder / f"changed {words[0]}" / "tide.json"
        target.parent.mkdir()
        return lambda count: studio.killed_in_place(commands, words, target, count, seed=32)

    return {
        "pair": output("tide.json"),
        "mix": output("tide.flac"),
        "sheet": output("tide.html"),
        **{words[0]: change(words) for words in studio.CHANGES},
        "pack": lambda count: studio.killed_packing(commands, folder / "packed" / "to-go", count, seed=33),
        "session of the page": lambda count: sessions(folder / "page", count, seed=34),
    }


def sessions(folder: Path, count: int, seed: int) -> list[str]:
    """A process that answers a page's requests is killed; what it had confirmed must be there for the next one."""
    from page_desk import a_desk

    folder.mkdir()
    a_desk(folder, tracks=24, sounds=True)
    dice, lost = np.random.default_rng(seed), []
    for turn in range(count):
        reading, writing = os.pipe()
        child = os.fork()
        if child == 0:
            _be_visited(folder, seed + turn, writing)
        os.close(writing)
        os.read(reading, 1)  # it has begun
        time.sleep(dice.uniform(0.05, 2.5))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        with os.fdopen(reading, "rb") as said:
            diary = said.read().decode().splitlines()
        lost += [f"session {turn}: {what}" for what in _found_after(folder, diary)]
    return lost


def _be_visited(folder: Path, seed: int, diary: int) -> None:
    """Random requests until the end; each is written down before it begins and, with what lies on the disk, after it."""
    import contextlib

    from page_desk import PLAN, Visitor

    from pairing.page.desk import desk_for

    dice = np.random.default_rng(seed)
    nowhere = os.open(os.devnull, os.O_RDWR)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    visitor = Visitor(desk_for(folder / "low-water.md", folder / "library.sqlite")).enter()
    os.write(diary, b"\n")
    for turn in range(10_000):
        n = int(dice.integers(1, 6))
        acts: tuple[tuple[str, dict[str, object]], ...] = (
            ("plan", {"text": f"{PLAN}\n> said {seed}-{turn}\n", "overwrite": True}),
            ("pin", {"n": n, "pinned": bool(dice.integers(2)), "overwrite": True}),
            ("drop", {"n": n, "overwrite": True}),
            ("rest", {"minutes": float(dice.integers(2, 7)), "silence": 0.5, "overwrite": True}),
            ("energy", {"section": 2, "percent": int(dice.integers(20, 80))}),
            ("pair", {"keep": True, "overwrite": True}),
            ("undo", {}),
            ("redo", {}),
            ("mark", {"track": int(dice.integers(1, 20)), "key": "rest", "value": "never"}),
            ("write", {"kind": "sheet", "ending": ".html", "name": "out", "replace": True}),
            ("write", {"kind": "mix", "ending": ".flac", "name": "out", "replace": True}),
        )
        name, values = acts[int(dice.integers(len(acts)))]
        os.write(diary, f"begin {name}\n".encode())
        with contextlib.suppress(Exception):
            visitor.do(name, **values)
        os.write(diary, f"end {_state(folder)}\n".encode())
    os._exit(0)


def _state(folder: Path) -> str:
    return hashlib.sha256(b"".join((folder / f"low-water.{kind}").read_bytes() for kind in ("md", "json"))).hexdigest()


def _found_after(folder: Path, diary: list[str]) -> list[str]:
    """What the next session misses or finds too much of."""
    from page_desk import PLAN, Visitor

    from audio.library import Library
    from pairing.page.desk import desk_for
    from pairing.sets.setfile import read_set

    lost, diary = [], [line for line in diary if line]
    if diary and diary[-1].startswith("end ") and diary[-1] != f"end {_state(folder)}":
        lost.append("a change that was confirmed is gone")
    text = (folder / "low-water.md").read_text("utf-8")
    if not (text.startswith("# Low water\n") and text.endswith("\n") and "- bell" in text):  # wishes stand in it too
        lost.append("the plan is half")
    if not read_set(folder / "low-water.json").picks:
        lost.append("the set is empty")
    with Library(folder / "library.sqlite") as library:
        if len(library.tracks()) != 24:
            lost.append("the library has lost tracks")
    visitor = Visitor(desk_for(folder / "low-water.md", folder / "library.sqlite")).enter()
    for name, values in (
        ("plan", {"text": PLAN, "overwrite": True}),
        ("pin", {"n": 1, "pinned": True, "overwrite": True}),
        ("write", {"kind": "sheet", "ending": ".html", "name": "out", "replace": True}),
    ):
        answer = visitor.do(name, **values).json()
        if "error" in answer and name != "pin":
            lost.append(f"{name}: {answer['error']}")
    usual = {"low-water.md", "low-water.json", "library.sqlite", "music", ".earlier", "out.html", "out.flac", "out.cue"}
    left = {path.name for path in folder.iterdir()} - usual - {"library.sqlite-wal", "library.sqlite-shm"}
    left |= {path.name for path in folder.rglob(".arcbed-*")}
    if left:
        lost.append(f"left over: {left}")
        for path in [*folder.rglob(".arcbed-*"), *(folder / name for name in left)]:
            if path.is_file():
                path.unlink()
    return lost


if __name__ == "__main__":
    main(*(int(word) if word.isdigit() else word for word in sys.argv[1:]))
