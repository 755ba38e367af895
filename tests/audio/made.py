"""Analyses and files made up for tests of what keeps them."""

import math
import os
import signal
import time
from pathlib import Path

import numpy as np

from audio import worker
from audio.errors import AudioError
from audio.files import watchdog
from audio.files.decode import Decoder
from audio.files.folders import Found
from audio.track import Analysis, Break, CutPoint, MeasuredCurves, Shape, TrackSection


def made_analysis(seed: int, duration_s: float = 240.0) -> Analysis:
    """Random numbers of the shapes and ranges that measuring gives."""
    rng = np.random.default_rng(seed)
    seconds = math.ceil(duration_s)
    loudness = rng.uniform(-60, -5, seconds).astype(np.float32)
    loudness[:3] = -np.inf
    even = np.arange(0.3, duration_s, 0.55)
    frames = np.sort(np.rint((even + rng.normal(0, 0.02, len(even))) / 0.0116))  # as a spectrum's frames place them
    beats = np.maximum(frames, 0) * 0.0116
    cuts = tuple(CutPoint(at, *rng.random(2)) for at in sorted(rng.uniform(0, duration_s, 30)))
    return Analysis(
        duration_s=duration_s,
        loudness_lufs=-14.2,
        loudness_range_lu=5.5,
        true_peak_dbtp=-0.7,
        rise_lu=3.25,
        tempo_bpm=None if seed % 3 == 0 else 60 + rng.random() * 100,
        tempo_confidence=rng.random(),
        tempo_drift=0.01,
        metre=4,
        key="A minor",
        key_strength=0.7,
        treble_share=0.1,
        onset_rate=2.0,
        notes=("odd, but “usable”",) if seed % 2 else (),
        choir=0.25,
        curves=MeasuredCurves(
            beats_s=beats,
            downbeats_s=beats[::4],
            energy=rng.random(seconds).astype(np.float32),
            voice=rng.random(seconds).astype(np.float32),
            loudness=loudness,
            cut_points=cuts,
            shape=made_shape(duration_s) if seed % 2 else Shape(),
            speech=rng.random(seconds).astype(np.float32),
        ),
    )


def made_shape(duration_s: float) -> Shape:
    first, half, later, last = (round(duration_s * part, 4) for part in (0.3, 0.5, 0.6, 0.9))
    sections = TrackSection(0.0, half, "A", 0.25), TrackSection(half, round(duration_s, 4), "B", 1.0)
    return Shape(sections, first, half, (Break(half, later),), last)


def made_found(path: str | Path, size: int = 1000, modified_ns: int = 1) -> Found:
    return Found(Path(path), size, modified_ns)


def quick_analyse(path: Path) -> Analysis:
    """Stands in for the measuring, where a test is about everything around it: real decoding, one real number."""
    with Decoder(path) as decoder:
        power = sum(float((block.samples.astype(float) ** 2).sum()) for block in decoder.blocks())
        made = made_analysis(1, max(decoder.duration_s, 5.0))
        values = {name: getattr(made, name) for name in made.__dataclass_fields__}
        return Analysis(**values | {"loudness_lufs": 10 * math.log10(power + 1e-9), "notes": decoder.notes})


def quick_measure(path: Path) -> worker.Measured:
    """`audio.worker.measure` with `quick_analyse`; for worker processes, which import it by name."""
    try:
        return worker.Measured(quick_analyse(path))
    except AudioError as error:
        return worker.Measured(problem=error.message)


def slow_measure(path: Path) -> worker.Measured:
    """As `quick_measure`, in long enough to be interrupted."""
    time.sleep(0.05)
    return quick_measure(path)


def deadly_measure(path: Path) -> worker.Measured:
    """As `quick_measure`; by the file's name, the process dies as if a decoder had crashed or hung in compiled code."""
    if "crash" in path.name:
        os.kill(os.getpid(), signal.SIGKILL if hasattr(signal, "SIGKILL") else signal.SIGTERM)
    if "hang" in path.name:
        with watchdog.watched():
            time.sleep(3600)
    return quick_measure(path)


def impatient_begin() -> None:
    """`audio.worker.begin` with a watchdog that waits four seconds only."""
    watchdog.LIMIT_S = 4
    worker.begin()
