"""How well places that sound alike join: the seams of jumps in real songs, measured on their own sound.

    .venv/bin/python tests/benchmarks/seams.py FOLDER [FILES] [SKIP]

Songs of a folder and those below it that last a minute or more, in the order of the SHA-256 of their names, so that the
same are always set aside: settings are tuned on files from the 41st on (SKIP 40), figures told are of the first 40. For some
jumps of each, the sound is joined as the page joins it and measured afresh, in full and not at half the rate: the largest spectral flux (half-wave rectified difference of
magnitude spectra, each of sum 1, 46 ms apart by half) within 0.1 s of the seam against the 90th percentile of the song's own
largest flux at its bars (at every second where there are none), and the step of the momentary loudness (EBU Tech 3341) across
the seam against what the song does there by itself. Also the share of moments with a jump within 16 s.
"""

import hashlib
import random
import sys
from pathlib import Path

import numpy as np

from audio.errors import AudioError
from audio.measure.analysis import analyse
from audio.measure.jumps import Jump, heard, jumps
from audio.measure.loudness import Meter
from audio.render.source import Source

RATE, FRAME, HOP = 44_100, 2048, 1024
MOST = 12  # jumps of a song that are listened to


def flux(mono: np.ndarray) -> np.ndarray:
    frames = np.lib.stride_tricks.sliding_window_view(mono, FRAME)[::HOP] * np.hanning(FRAME)
    spectrum = np.abs(np.fft.rfft(frames, axis=1))
    spectrum /= spectrum.sum(axis=1, keepdims=True) + 1e-9
    return np.sqrt(np.square(np.maximum(spectrum[1:] - spectrum[:-1], 0)).sum(axis=1))


def largest_at(values: np.ndarray, at_s: float) -> float:
    middle = at_s * RATE / HOP
    return float(values[max(int(middle - 5), 0) : int(middle + 5) + 1].max(initial=0.0))


def joined(sound: np.ndarray, jump: Jump, around_s: float = 4.0) -> np.ndarray:
    """The sound around a seam, which lies in its middle, with the quarter-turn cross-fade of the page."""
    half, cross = int(around_s * RATE), max(int(jump.fade_s * RATE), 2)
    one, other = int(jump.from_s * RATE), int(jump.to_s * RATE)
    out = np.zeros((2 * half, 2), np.float32)
    angle = np.linspace(0, np.pi / 2, cross)[:, None]
    first = half - cross // 2
    out[:first] = sound[one - half : one - half + first]
    out[first : first + cross] = sound[one - cross // 2 :][:cross] * np.cos(angle) + sound[other - cross // 2 :][
        :cross
    ] * np.sin(angle)
    rest = sound[other - cross // 2 + cross : other + half]
    out[first + cross : first + cross + len(rest)] = rest
    return out


def loudness(sound: np.ndarray) -> float:
    meter = Meter(RATE, (1.0, 1.0))
    meter.feed(np.ascontiguousarray(sound))
    return meter.read().integrated_lufs


def step(sound: np.ndarray, jump: Jump) -> float:
    """Loudness of the 3 s after the seam against the 3 s that the song would have gone on with."""
    one, other = int(jump.from_s * RATE), int(jump.to_s * RATE)
    return abs(loudness(sound[other : other + 3 * RATE]) - loudness(sound[one : one + 3 * RATE]))


def songs_of(folder: Path, files: int, skip: int):
    """Paths with what is heard, of so many files after the first `skip`."""
    endings = (".ogg", ".mp3", ".flac", ".m4a", ".wav", ".opus")
    paths = [path for path in folder.rglob("*") if path.suffix.lower() in endings]
    for path in sorted(paths, key=lambda path: hashlib.sha256(path.name.encode()).hexdigest())[skip:][:files]:
        try:
            analysis = analyse(path)
        except AudioError:
            continue
        if analysis.duration_s >= 60:
            yield path, analysis


def main(folder: Path, files: int, skip: int) -> None:
    rng = random.Random(11)
    below, steps, shares = [], [], []
    for path, analysis in songs_of(folder, files, skip):
        curves, length = analysis.curves, analysis.duration_s
        found = jumps(heard(path), curves.beats_s, curves.downbeats_s)
        places = np.array([j.from_s for j in found])
        shares.append(np.mean([((places >= m) & (places <= m + 16)).any() for m in np.arange(0, length, 0.5)]))
        inside = [j for j in found if min(j.from_s, j.to_s) > 4.5 and max(j.from_s, j.to_s) < length - 4.5]
        chosen = rng.sample(inside, min(MOST, len(inside)))
        if not chosen:
            print(f"{path.stem[:32]:32} no jump")
            continue
        with Source(path, 0.0, RATE) as source:
            sound = source.read(int(length * RATE))
        own = flux(sound.mean(axis=1))
        bars = (
            curves.downbeats_s
            if curves.downbeats_s.size
            else curves.beats_s[::4]
            if curves.beats_s.size
            else np.arange(1, length - 1, 1.0)
        )
        limit = float(np.percentile([largest_at(own, float(bar)) for bar in bars if bar < length - 0.2], 90))
        good = [largest_at(flux(joined(sound, j).mean(axis=1)), 4.0) <= limit for j in chosen]
        moved = [step(sound, j) for j in chosen]
        below += good
        steps += moved
        print(
            f"{path.stem[:32]:32} {len(found):4} jumps, flux below in {np.mean(good):4.0%}, step {np.median(moved):.2f} median, {max(moved):.2f} LU at most; a jump within 16 s at {shares[-1]:.0%}"
        )
    print(
        f"{len(below)} seams: flux below the limit in {np.mean(below):.1%}, step below 1.5 LU in {np.mean(np.array(steps) < 1.5):.1%}"
    )
    print(f"moments with a jump back within 16 s: {np.mean(shares):.0%} (mean of songs)")


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 40, int(sys.argv[3]) if len(sys.argv) > 3 else 0)
