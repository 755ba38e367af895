"""Speed and memory of everything between the disk and the numbers: decoding, encoding, fingerprints, the library.

    python tests/benchmarks/files.py [MUSIC FILE]

CPU seconds (user and system) of one process. Without a file the music is made up, which encoders find easier.
"""

import functools
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[2]), str(HERE.parents[1] / "audio")]

import made  # noqa: E402
import nasty  # noqa: E402

from audio.files.decode import Decoder  # noqa: E402
from audio.files.encode import ENDINGS, Encoder  # noqa: E402
from audio.files.fingerprint import fingerprint  # noqa: E402
from audio.files.folders import Found  # noqa: E402
from audio.library import Library  # noqa: E402
from audio.track import Tags  # noqa: E402

MINUTES = 5
RATE = 44100


def cpu(act: Callable[[], object]) -> float:
    began = time.process_time()
    act()
    return time.process_time() - began


def peak_mib() -> float:
    """Of this process; `ru_maxrss` would count the parent's as well, as it was when it started this one."""
    status = Path("/proc/self/status").read_text()
    return int(status.split("VmHWM:")[1].split()[0]) / 1024


def music(path: Path | None) -> np.ndarray:
    if path is None:
        return nasty.music(60.0)
    with Decoder(path) as decoder:
        return np.concatenate([block.samples for block in decoder.blocks(0, 60)])[:, :2]


def encode(path: Path, samples: np.ndarray, minutes: int) -> None:
    with Encoder(path, title="Benchmark") as encoder:
        for _ in range(minutes):
            for start in range(0, len(samples), RATE):
                encoder.write(samples[start : start + RATE])


def decode(path: Path) -> float:
    with Decoder(path) as decoder:
        for _ in decoder.blocks():
            pass
    return decoder.duration_s


def error_db(path: Path, samples: np.ndarray) -> float:
    """Level of what encoding adds, against the music; only where the rate is the same."""
    with Decoder(path) as decoder:
        read = np.concatenate([block.samples for block in decoder.blocks(0, 60)])
        if decoder.rate != RATE:
            return float("nan")
    length = min(len(read), len(samples))
    difference = read[:length] - samples[:length]
    return float(10 * np.log10((difference**2).sum() / (samples[:length] ** 2).sum() + 1e-30))


def formats(folder: Path, samples: np.ndarray) -> None:
    print("| kind | encode, x real time | error, dB | decode, x real time | CPU s an hour | fingerprint, s an hour |")
    print("|---|---|---|---|---|---|")
    seconds = MINUTES * len(samples) / RATE
    for ending in ENDINGS:
        path = folder / f"music{ending}"
        encoding = cpu(functools.partial(encode, path, samples, MINUTES))
        decoding = min(cpu(functools.partial(decode, path)) for _ in range(3))
        hashing = min(cpu(functools.partial(fingerprint, path)) for _ in range(3))
        print(
            f"| {ending} | {seconds / encoding:.0f} | {error_db(path, samples):.1f} | {seconds / decoding:.0f}"
            f" | {3600 * decoding / seconds:.1f} | {3600 * hashing / seconds:.1f} |",
            flush=True,
        )


def memory(folder: Path, samples: np.ndarray) -> None:
    path = folder / "long.mp3"
    encode(path, samples, round(120 * 60 * RATE / len(samples)))
    run = subprocess.run([sys.executable, HERE, "--peak", path], capture_output=True, text=True, check=True)
    print(f"\nDecoding an mp3 of 2 hours: {run.stdout.strip()}")


def peak(path: Path) -> None:
    began = time.process_time()
    length = decode(path)
    print(f"{length / 3600:.2f} h, peak {peak_mib():.0f} MiB, {time.process_time() - began:.1f} s of CPU")


def library(folder: Path) -> None:
    print("\n| tracks | MB | store one, ms | read all, s | peak, MiB | know 1,000 files, s | energy of all, s |")
    print("|---|---|---|---|---|---|---|")
    analyses = [made.made_analysis(seed) for seed in range(50)]
    path, count = folder / "library", 0
    for size in (100, 1_000, 10_000, 100_000):
        began = time.process_time()
        with Library.open_or_create(path) as opened:
            for number in range(count, size):
                tags = Tags(f"Title {number}", f"Artist {number % 97}", "Album")
                found = Found(Path(f"/music/{number % 97}/{number % 1013}/{number}.mp3"), 1, 1)
                opened.store(found, f"{number:032x}", tags, analyses[number % 50])
        storing = (time.process_time() - began) / (size - count)
        count = size
        run = subprocess.run([sys.executable, HERE, "--read", path], capture_output=True, text=True, check=True)
        megabytes = path.stat().st_size / 1e6
        print(f"| {size:,} | {megabytes:.1f} | {1000 * storing:.2f} | {run.stdout.strip()} |", flush=True)


def read(path: Path) -> None:
    with Library(path) as opened:
        began = time.process_time()
        tracks = opened.tracks()
        reading = time.process_time() - began
        megabytes = peak_mib()
        known = [Found(track.path, 1, 1) for track in tracks[:1000]]
        knowing = cpu(lambda: [opened.known(found) for found in known]) * 1000 / len(known)
        unpacking = cpu(lambda: [track.analysis.curves.energy for track in tracks])
    print(f"{reading:.2f} | {megabytes:.0f} | {knowing:.3f} | {unpacking:.2f}")


def main() -> None:
    match sys.argv[1:]:
        case ["--peak", path]:
            peak(Path(path))
        case ["--read", path]:
            read(Path(path))
        case names:
            with tempfile.TemporaryDirectory() as made_here:
                samples = music(Path(names[0]) if names else None)
                formats(Path(made_here), samples)
                memory(Path(made_here), samples)
                library(Path(made_here))


if __name__ == "__main__":
    os.environ["OMP_NUM_THREADS"] = "1"
    main()
