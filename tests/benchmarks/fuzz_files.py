"""Set files, libraries and tags changed at random, through the program as it is used: no traceback, no hang, no growth.

    python tests/benchmarks/fuzz_files.py                sets 5,000, libraries 500, tags 2,000
    python tests/benchmarks/fuzz_files.py sets 300 [SEED]

Sets are tried in two forks of one warm process, each by dice of its own. A sound set is changed in one to four places,
mostly into something near what stood there. One that can be read goes through check, swap, rest, undo, playlists, sheet
and picture, used; every tenth through mix, every fortieth through pack.
A damaged library must be told or hold what it held, and what is whole of it must be saved. Tags are changed by the byte.
A loss is anything but a result or an error for people, or more than 5 s of CPU a file (a mix and a pack aside).
"""

import contextlib
import copy
import functools
import io
import json
import os
import pickle
import random
import resource
import shutil
import sys
import tempfile
import time
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[2]), str(HERE.parents[1] / "audio"), str(HERE.parents[1] / "pairing")]

import made  # noqa: E402
import nasty  # noqa: E402
import studio  # noqa: E402
import typer.main  # noqa: E402
from forked import Commands  # noqa: E402
from test_strangers_sets import HOSTILE, places  # noqa: E402

from audio.errors import ArcbedError, LibraryError  # noqa: E402
from audio.files.tags import Tags, read_comment, read_tags, write_tags  # noqa: E402
from audio.library import Library  # noqa: E402
from pairing.commands import main as arcbed  # noqa: E402
from pairing.sets.setfile import read_set  # noqa: E402

HANG_S = 5.0
MIXED, PACKED = 10, 40  # every so manyth of those that can be read, in each fork
AT_ONCE = 2
WHO = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
COUNTS = {"sets": 5000, "libraries": 500, "tags": 2000}


def main(name: str = "", count: int = 0, seed: int = 1) -> None:
    """Print a line a kind."""
    for kind, run in {"sets": sets, "libraries": libraries, "tags": tags}.items():
        if kind == name or not name:
            began_s = spent_s()
            with tempfile.TemporaryDirectory(prefix="fuzz-") as folder:
                said = run(Path(folder), count or COUNTS[kind], random.Random(seed))
            most_mb = max(resource.getrusage(who).ru_maxrss for who in WHO) // 1024
            print(f"{kind}: {said}; {spent_s() - began_s:.0f} CPU s, {most_mb} MB at most", flush=True)


def spent_s() -> float:
    """CPU time of this process and its children that ended."""
    return sum(sum(resource.getrusage(who)[:2]) for who in WHO)


class Told:
    """What went wrong, and the slowest."""

    def __init__(self, lost: list[str] | None = None, slowest_s: float = 0.0) -> None:
        self.lost, self.slowest_s = lost or [], slowest_s

    def tried(self, what: str, act: Callable[[], object], *, limit_s: float = HANG_S) -> None:
        """Do it; only an error for people may come of it."""
        began_s = time.process_time()
        try:
            act()
        except ArcbedError as error:
            assert str(error)  # noqa: PT017
        except Exception as error:
            self.lost.append(f"{what}: {error!r}")
        spent_s = time.process_time() - began_s
        if spent_s > limit_s:
            self.lost.append(f"{what} took {spent_s:.1f} s")
        if limit_s == HANG_S:
            self.slowest_s = max(self.slowest_s, spent_s)

    def __str__(self) -> str:
        print("\n".join(self.lost), file=sys.stderr)
        return f"{len(self.lost)} lost, slowest {self.slowest_s:.2f} s"


def sets(folder: Path, count: int, dice: random.Random) -> str:
    """Changed set files through every command."""
    with Commands(folder) as commands:
        studio.make(folder, commands)
    typer.main.get_command = functools.cache(typer.main.get_command)  # the commands' tree, the same each time
    library, seed = folder / "library.sqlite", dice.randrange(2**32)
    for words in (*USES, ("mix", "SET", "--force", "--out", "a.flac")):  # loads all, and hears the music
        shutil.copyfile(folder / "tide.json", folder / "s.json")
        command(*(_named(word, folder / "s.json") for word in words), "--library", library)
    children = [_forked(folder, share, count, seed) for share in range(AT_ONCE)]
    for child in children:
        os.waitpid(child, 0)
    shares = [json.loads((folder / str(share) / "told.json").read_text("utf-8")) for share in range(AT_ONCE)]
    told = Told([lost for share in shares for lost in share["lost"]], max(share["slowest_s"] for share in shares))
    read = sum(share["read"] for share in shares)
    return f"{count} set files, {read} could be read and went through all commands; {told}"


def _forked(folder: Path, share: int, count: int, seed: int) -> int:
    """A child that tries every so manyth set file, in a folder of its own."""
    child = os.fork()
    if child:
        return child
    try:
        (folder / str(share)).mkdir()
        shutil.copyfile(folder / "library.sqlite", folder / str(share) / "library.sqlite")
        whole = json.loads((folder / "tide.json").read_text("utf-8"))
        tries = _Sets(folder / str(share), Told())
        for number in range(share, count, AT_ONCE):
            tries.one(number, changed(whole, random.Random(f"{seed} {number}")))
            if number // AT_ONCE % 100 == 0:
                print(f"set {number}, {tries.read} read, lost: {tries.told.lost}", file=sys.stderr, flush=True)
        said = {"lost": tries.told.lost, "slowest_s": tries.told.slowest_s, "read": tries.read}
        (folder / str(share) / "told.json").write_text(json.dumps(said), "utf-8")
        os._exit(0)
    except BaseException:
        traceback.print_exc()
        os._exit(1)


class _Sets:
    """One changed set file after another, in a folder that holds a library."""

    def __init__(self, folder: Path, told: Told) -> None:
        self._path, self._library = folder / "s.json", ("--library", str(folder / "library.sqlite"))
        self.told, self.read = told, 0

    def one(self, number: int, value: dict[str, Any]) -> None:
        """All that can be done with it."""
        content = json.dumps(value).encode("utf-8", "surrogatepass")
        self._path.write_bytes(content)
        try:
            read_set(self._path)
        except ArcbedError:
            self._use(number, content, "check", "SET")
            return
        except Exception as error:
            self.told.lost.append(f"reading {number}: {error!r}")
            return
        self.read += 1
        for words in USES:
            self._use(number, content, *words)
        if self.read % MIXED == 0:
            self._use(number, content, "mix", "SET", "--force", "--out", "a.flac", limit_s=60)
        if self.read % PACKED == 0:
            self._use(number, content, "pack", "SET", "--as", "flac", "--out", "a.pack", limit_s=60)

    def _use(self, number: int, content: bytes, *words: str, limit_s: float = HANG_S) -> None:
        self._path.write_bytes(content)
        named = [_named(word, self._path) for word in words]
        self.told.tried(f"{words[0]} {number}", lambda: command(*named, *self._library), limit_s=limit_s)


USES = (
    ("check", "SET"),
    ("check", "SET", "--json"),
    ("swap", "SET"),
    ("swap", "SET", "1"),
    ("swap", "SET", "2", "--best"),
    ("swap", "SET", "1", "--pin"),
    ("swap", "SET", "--undo"),
    ("rest", "SET", "--silence", "0.2"),
    ("rest", "SET", "--candidates"),
    ("playlist", "SET", "--force", "--out", "a.m3u8"),
    ("playlist", "SET", "--force", "--out", "a.xspf"),
    ("sheet", "SET", "--force", "--out", "a.html", "--picture", "a.svg"),
    ("used", "SET"),
)


def _named(word: str, path: Path) -> str:
    return str(path) if word == "SET" else str(path.with_name(word)) if word.startswith("a.") else word


def command(*words: str | Path) -> None:
    """The command line in this process; whatever it says must be whole, and its status one that is meant."""
    sys.argv = ["arcbed", *map(str, words)]
    said = io.StringIO()
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
        try:
            arcbed()
            status: object = 0
        except SystemExit as end:
            status = end.code or 0
    assert status in (0, 1, 2, 3), status
    assert "Traceback" not in said.getvalue()


def changed(whole: dict[str, Any], dice: random.Random) -> dict[str, Any]:
    """The set with one to four values changed, moved, doubled or taken away."""
    value = copy.deepcopy(whole)
    for _ in range(dice.choice((1, 1, 1, 2, 3, 4))):
        known = list(places(value))
        place = dice.choice(known)
        holder = value
        for key in place[:-1]:
            holder = holder[key]
        holder[place[-1]] = other(holder[place[-1]], dice)
        if dice.random() < 0.1:
            if isinstance(holder, dict) or dice.random() < 0.5:
                del holder[place[-1]]
            else:
                holder.insert(place[-1], copy.deepcopy(holder[place[-1]]))
    return value


def other(now: Any, dice: random.Random) -> Any:
    """A value near it, of its kind, or anything."""
    if dice.random() < 0.15:
        return dice.choice(HOSTILE)
    if isinstance(now, bool):
        return not now
    if isinstance(now, int):
        return now + dice.choice((-1, 1, 1, 2, -5, 100))
    if isinstance(now, float):
        return dice.choice((now + dice.gauss(0, 1), now * dice.uniform(0, 2), now + 1e-9, -now, float(round(now))))
    if isinstance(now, str):
        at = dice.randrange(len(now) + 1)
        return (
            now[:at]
            + chr(dice.choice((dice.randrange(32, 127), dice.randrange(0xD7FF))))
            + now[at + dice.randrange(2) :]
        )
    if isinstance(now, list):
        return now[dice.randrange(2) :] if dice.random() < 0.5 else [*now, *now[:1]]
    return now if isinstance(now, dict) else dice.uniform(-1e3, 1e3)


def libraries(folder: Path, count: int, dice: random.Random) -> str:
    """Damaged library files: told, or nothing has changed; and what is whole is saved."""
    path, told, counts = folder / "library.sqlite", Told(), {"told": 0, "as before": 0}
    with Library.open_or_create(path) as library:
        for number in range(60):
            track = library.store(
                made.made_found(f"/m/{number}.mp3"), f"fp{number}", Tags(f"T{number}"), made.made_analysis(number)
            )
            library.mark(track, "rest", "never")
            library.note_used(f"Evening {number}", "2026-03-01T18:30:00", [f"fp{number}"])
    sound, before, saved = path.read_bytes(), _held(path), []

    def used(number: int) -> None:
        try:
            now = _held(path)
        except LibraryError:
            counts["told"] += 1
            with Library.open_or_create(folder / f"new {number}") as library:
                saved.append(library.rescue(path).recordings)
            return
        if now != before:
            raise AssertionError("other numbers than before, and nothing was said")
        counts["as before"] += 1

    for number in range(count):
        content = bytearray(sound)
        for _ in range(dice.randint(1, 3)):
            at, length = dice.randrange(len(content)), dice.choice((1, 1, 8, 200, 4000))
            content[at : at + length] = dice.choice((bytes(length), dice.randbytes(length)))[: len(content) - at]
        path.write_bytes(content)
        told.tried(f"library {number}", lambda number=number: used(number))
        if path.read_bytes() != content:
            told.lost.append(f"library {number} was written to")
    saved.sort()
    return f"{count} libraries, {counts}, of 60 recordings {saved[len(saved) // 2]} saved in the median; {told}"


def _held(path: Path) -> tuple[object, ...]:
    with Library(path) as library:
        tracks = [(one.id, one.path, one.tags, pickle.dumps(one.analysis), dict(one.marks)) for one in library.tracks()]
        return tracks, library.uses(), library.notes(), library.problems()


def tags(folder: Path, count: int, dice: random.Random) -> str:
    """Files of all kinds whose tags are hostile and damaged."""
    told, kinds, got = Told(), [kind for kind in nasty.SMALL if kind != "aiff"], 0
    words = [each for each in HOSTILE if isinstance(each, str) and "\ud800" not in each and len(each) < 200]
    tagged: dict[str, bytes] = {}
    for kind in kinds:
        path = folder / f"t.{kind}"
        path.write_bytes(nasty.SMALL[kind]())
        with contextlib.suppress(ArcbedError):
            write_tags(
                path, Tags(*(dice.choice(words) or "x" for _ in range(3))), tempo_bpm=99, key="A minor", comment="c"
            )
        tagged[kind] = path.read_bytes()
    for number in range(count):
        kind = dice.choice(kinds)
        content = bytearray(tagged[kind])
        for _ in range(dice.randint(1, 8)):
            at = dice.randrange(min(len(content), 1200)) if dice.random() < 0.7 else dice.randrange(len(content))
            content[at : at + dice.choice((0, 1, 1, 4))] = dice.choice(
                (b"", b"\xff", b"\0\0\0\0", dice.randbytes(2), b"\x7f\xff\xff\xff")
            )
        path = folder / f"x.{kind}"
        path.write_bytes(content)

        def read(path: Path = path) -> None:
            nonlocal got
            found = read_tags(path)
            read_comment(path)
            got += bool(found.title)
            assert all(isinstance(text, str) for text in (found.title, found.artist, found.album))
            "".join((found.title, found.artist, found.album)).encode("utf-8")

        told.tried(f"tags {number} of {kind}", read)
    return f"{count} files, {got} gave a title; {told}"


if __name__ == "__main__":
    main(*(int(word) if word.isdigit() else word for word in sys.argv[1:]))
