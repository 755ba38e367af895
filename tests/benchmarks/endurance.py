"""What the tests try a few times, many times: random damage, scans that are killed, disks that are full.

    python tests/benchmarks/endurance.py                 all of it, about 15 minutes
    python tests/benchmarks/endurance.py --share 0.05    a twentieth

Prints a table: faults injected, how often, how many were lost. A loss is a crash of the process, a hang above 20 s, an
error that isn't meant for people, a finished track missing after a kill, or a file half written.
"""

import argparse
import functools
import json
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np

HERE = Path(__file__).resolve()
ROOT = HERE.parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "audio"), str(ROOT / "tests" / "pairing")]

import made  # noqa: E402
import nasty  # noqa: E402
import studio  # noqa: E402
from forked import Commands  # noqa: E402

from audio import worker  # noqa: E402
from audio.database import SUMMED  # noqa: E402
from audio.errors import ArcbedError, AudioError  # noqa: E402
from audio.files.decode import Decoder  # noqa: E402
from audio.files.encode import ENDINGS, Encoder  # noqa: E402
from audio.library import Library  # noqa: E402
from audio.scan import scan  # noqa: E402
from audio.track import Tags  # noqa: E402

ENVIRONMENT = os.environ | {"PYTHONPATH": os.pathsep.join(sys.path[:2]), "OMP_NUM_THREADS": "1"}
MUTATIONS, KILLS, FULL_DISKS = 2000, 50, 20
CONTENT = ", ".join([*SUMMED["recordings"][1:], "path", "size", "modified_ns"])
TAGS = Tags("Tide", "Nobody", "Shore")


def damage(folder: Path, share: float) -> Iterator[tuple[str, int, int, str]]:
    """Each kind in a process of its own, so that a crash is seen."""
    for kind in nasty.SMALL:
        count = max(10, round(MUTATIONS * share))
        run = subprocess.run(
            [sys.executable, HERE, "--damage", kind, "--count", str(count)],
            capture_output=True,
            text=True,
            env=ENVIRONMENT,
            cwd=folder,
        )
        if run.returncode:
            yield f"random damage, {kind}", count, 1, f"process ended with {run.returncode}: {run.stderr[-200:]}"
            continue
        told = json.loads(run.stdout)
        remark = f"{told['decoded']} still decoded, slowest {told['slowest']:.2f} s"
        yield f"random damage, {kind}", count, told["lost"], remark


def damage_one_kind(kind: str, count: int) -> None:
    sound = nasty.SMALL[kind]()
    told = {"decoded": 0, "lost": 0, "slowest": 0.0}
    path = Path(f"damaged.{kind}")
    for seed in range(count):
        path.write_bytes(nasty.mutated(sound, 10_000 + seed))
        began = time.monotonic()
        try:
            worker.identify(path)
            with Decoder(path) as decoder:
                for block in decoder.blocks():
                    assert np.isfinite(block.samples).all()
            told["decoded"] += 1
        except AudioError:
            pass
        except Exception as error:
            told["lost"] += 1
            print(kind, seed, repr(error), file=sys.stderr)
        took = time.monotonic() - began
        told["lost"] += took > 20
        told["slowest"] = max(told["slowest"], took)
    print(json.dumps(told))


def kills(folder: Path, share: float) -> Iterator[tuple[str, int, int, str]]:
    """SIGKILL at a random moment, again and again, then one clean scan: as if nothing had been."""
    music = folder / "music"
    _write_songs(music, 24)
    _scan_process(music, folder / "undisturbed").wait()
    expected = _content(folder / "undisturbed")
    count, lost, rng = max(5, round(KILLS * share)), 0, np.random.default_rng(17)
    finished = 0
    for _ in range(count):
        process = _scan_process(music, folder / "killed")
        time.sleep(rng.uniform(0.1, 1.5))
        process.kill()
        process.wait()
        if (folder / "killed").exists():
            with Library.open_or_create(folder / "killed") as library:
                now = len(library.tracks())
            lost += max(0, finished - now)
            finished = now
        if finished == len(expected):  # begin anew, so that every kill meets work
            _remove(folder / "killed")
            finished = 0
    _scan_process(music, folder / "killed").wait()
    lost += _content(folder / "killed") != expected
    yield "scan killed (SIGKILL)", count, lost, "then one clean scan: the library equals an undisturbed one"


def outputs_killed(folder: Path, share: float) -> Iterator[tuple[str, int, int, str]]:
    """As above, of the commands that write; half of the times over a former output."""
    home, count = folder / "studio", max(5, round(KILLS * share))
    home.mkdir()
    with Commands(home) as commands:
        studio.make(home, commands)
        for name, words in studio.KILLED.items():
            (folder / words[0]).mkdir()
            lost = studio.killed(commands, words, folder / words[0] / name, count, seed=31)
            print("\n".join(lost), file=sys.stderr)
            yield f"{words[0]} killed (SIGKILL)", count, len(lost), "the output whole or as before, the library opens"


def orphans(folder: Path, share: float) -> Iterator[tuple[str, int, int, str]]:
    """Workers of a killed scan must end by themselves."""
    music = folder / "music"
    count, lost = max(2, round(10 * share)), 0
    for number in range(count):
        process = _scan_process(music, folder / f"orphans {number}")
        time.sleep(1.0)
        process.kill()
        process.wait()
        deadline = time.monotonic() + 20
        while time.monotonic() < deadline and _processes_of_group(process.pid):
            time.sleep(0.2)
        lost += bool(_processes_of_group(process.pid))
    yield "workers left behind by a killed scan", count, lost, "gone within 20 s"


def doubles(folder: Path, share: float) -> Iterator[tuple[str, int, int, str]]:
    music = folder / "music"
    expected = _content(folder / "undisturbed")
    count, lost = max(2, round(10 * share)), 0
    for number in range(count):
        library = folder / f"double {number}"
        processes = [_scan_process(music, library) for _ in range(2)]
        lost += any(process.wait() for process in processes) or _content(library) != expected
    yield "two scans at once", count, lost, "the library equals that of one scan"


def full_disks(folder: Path, share: float) -> Iterator[tuple[str, int, int, str]]:
    """A small file system in memory, where this machine lets us mount one."""
    with _small_disk(folder / "disk", 6) as disk:
        if disk is None:
            yield "full disk", 0, 0, "skipped: mounting needs root rights"
            return
        count, lost, forgotten, rng = max(3, round(FULL_DISKS * share)), 0, 0, np.random.default_rng(4)
        noise = rng.uniform(-0.5, 0.5, (44100 * 60, 2)).astype(np.float32)
        for number in range(count):
            ballast = disk / "ballast"
            ballast.write_bytes(bytes(shutil.disk_usage(disk).free - int(rng.integers(0, 600_000))))
            for ending in ENDINGS:
                lost += not _refused(functools.partial(_write, disk / f"mix{ending}", noise))
                lost += [path.name for path in disk.iterdir()] != ["ballast"]
            ballast.unlink()
            forgotten += _library_on_a_full_disk(disk, number)
        yield "full disk while writing a mix", count * len(ENDINGS), lost, "no file left, an error that says so"
        yield "full disk while storing a scan", count, forgotten, "opens again with all that was finished"


def nasty_folder(folder: Path, share: float) -> Iterator[tuple[str, int, int, str]]:
    """The whole scan, measuring included, on the nastiest folder."""
    music = folder / "nasty"
    music.mkdir()
    nasty.make(music)
    began = time.monotonic()
    report = scan([music], folder / "nasty library")
    total = len(list(music.iterdir()))
    lost = total - report.new - len(report.left_out)
    yield "nasty files, whole scan", total, lost, f"{report.new} used, {time.monotonic() - began:.0f} s"


def _write_songs(folder: Path, count: int) -> None:
    folder.mkdir()
    for number in range(count):
        sound = nasty.wav(nasty.music(0.2) * np.float32(0.99**number))
        (folder / f"song {number}.wav").write_bytes(sound)


def _scan_process(music: Path, library: Path) -> "subprocess.Popen[bytes]":
    return subprocess.Popen(
        [sys.executable, HERE, "--scan", music, library],
        env=ENVIRONMENT,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )


def _content(library: Path) -> list[tuple[object, ...]]:
    with sqlite3.connect(library) as database:
        rows = database.execute(
            f"SELECT {CONTENT} FROM recordings JOIN files ON recording = id ORDER BY path"
        ).fetchall()
    database.close()
    return rows


def _remove(library: Path) -> None:
    for path in library.parent.glob(f"{library.name}*"):
        path.unlink()


def _processes_of_group(group: int) -> list[int]:
    found = []
    for process in Path("/proc").glob("[0-9]*"):
        try:
            fields = (process / "stat").read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if int(fields[2]) == group and fields[0] != "Z":
            found.append(int(process.name))
    return found


@contextmanager
def _small_disk(place: Path, megabytes: int) -> Iterator[Path | None]:
    place.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={megabytes}M", "tmpfs", place], capture_output=True
    ).returncode
    try:
        yield None if mounted else place
    finally:
        if not mounted:
            subprocess.run(["umount", place], check=True)


def _write(path: Path, samples: np.ndarray) -> None:
    with Encoder(path, title="Full") as encoder:
        for start in range(0, len(samples), 44100):
            encoder.write(samples[start : start + 44100])


def _refused(act: Callable[[], None]) -> bool:
    try:
        act()
    except ArcbedError as error:
        return "can't be written" in error.message
    return False


def _library_on_a_full_disk(disk: Path, seed: int) -> int:
    """How many finished tracks a library has lost after the disk was full."""
    library_path, stored = disk / "library", 0
    try:
        with Library.open_or_create(library_path) as library:
            for number in range(5000):
                analysis = made.made_analysis(seed + number)
                library.store(made.made_found(f"/{number}"), str(number), TAGS, analysis)
                stored += 1
    except ArcbedError:
        pass
    with Library(library_path) as library:
        lost = stored - len(library.tracks())
    _remove(library_path)
    return lost


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--share", type=float, default=1.0, help="of the full counts")
    parser.add_argument("--damage", help=argparse.SUPPRESS)
    parser.add_argument("--count", type=int, default=0, help=argparse.SUPPRESS)
    parser.add_argument("--scan", nargs=2, type=Path, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.damage:
        damage_one_kind(options.damage, options.count)
        return
    if options.scan:
        worker.measure = made.slow_measure
        scan([options.scan[0]], options.scan[1], jobs=2)
        return
    print("| fault | times | lost | |\n|---|---|---|---|")
    folder = Path(tempfile.mkdtemp(prefix="endurance-"))
    try:
        for trial in (damage, kills, outputs_killed, orphans, doubles, full_disks, nasty_folder):
            for fault, times, lost, remark in trial(folder, options.share):
                print(f"| {fault} | {times:,} | {lost} | {remark} |", flush=True)
    finally:
        shutil.rmtree(folder)


if __name__ == "__main__":
    main()
