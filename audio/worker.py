"""What a worker process does with one file: know it, measure it, and say in a line what is wrong with it.

Functions of one path that return plain values, so that any executor can run them, on this machine or another.
"""

import math
import signal
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from audio.errors import AudioError
from audio.files import watchdog
from audio.files.fingerprint import fingerprint, fingerprint_of_bytes
from audio.files.presence import NotThereError
from audio.files.tags import read_tags
from audio.track import Analysis, Tags

if TYPE_CHECKING:
    from audio.files.decode import Decoder
    from audio.measure.loudness import Loudness

NUMBERS = (
    "duration_s",
    "loudness_lufs",
    "loudness_range_lu",
    "true_peak_dbtp",
    "rise_lu",
    "tempo_confidence",
    "tempo_drift",
    "treble_share",
    "onset_rate",
)


@dataclass(frozen=True, slots=True)
class Identity:
    """Which recording a file holds. `absent` says why it can't be read now, `problem` why it can never be used."""

    fingerprint: str = ""
    tags: Tags = Tags()  # noqa: RUF009
    absent: str | None = None
    problem: str | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Measured:
    """What was measured, or `absent` or `problem` as for Identity."""

    analysis: Analysis | None = None
    absent: str | None = None
    problem: str | None = None


def begin() -> None:
    """Make this process a worker: Ctrl-C is the scan's affair, and hangs end the process."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    watchdog.start()


def is_ready() -> bool:
    """Answer, as a process that has come to life can."""
    return True


def identify(path: Path) -> Identity:
    """Fingerprint and tags; a file that is no audio gets the fingerprint of its bytes.

    Raises:
        AudioError: the file goes away while it is read.
    """
    with watchdog.watched():
        try:
            return Identity(fingerprint(path), read_tags(path))
        except NotThereError as error:
            return Identity(absent=error.message)
        except AudioError as error:
            return _unusable(path, error.message)


def measure(path: Path) -> Measured:
    """Analyse the file; how loud it is step by step is kept for the mix, which need not read it for that then."""
    from audio.measure.analysis import analyse
    from audio.render.tenths import keep

    heard: list[tuple[Decoder, Loudness]] = []
    try:
        before = path.stat()
        analysis = analyse(path, told=lambda *said: heard.append(said))
        after = path.stat()
    except (NotThereError, OSError) as error:
        return Measured(absent=getattr(error, "message", None) or f"can't be read ({error}).")
    except AudioError as error:
        return Measured(problem=error.message)
    except MemoryError:
        return Measured(absent="needs more memory than this machine has free.")
    except Exception as error:  # a fault of ours costs this file, not the scan
        return Measured(problem=f"can't be analysed ({type(error).__name__}: {error}).")
    if (before.st_size, before.st_mtime_ns) != (after.st_size, after.st_mtime_ns):
        return Measured(absent="changed while it was read; scan again when it is finished.")
    if not _is_sound(analysis):
        return Measured(problem="can't be measured: its sound gives no sensible numbers.")
    for said in heard:
        keep(*said)
    return Measured(analysis)


def _is_sound(analysis: Analysis) -> bool:
    """Whether every number is one: a single one that is none would spoil each choice it takes part in."""
    numbers = (getattr(analysis, name) for name in NUMBERS)
    curves = (analysis.curves.energy, analysis.curves.voice, analysis.curves.beats_s, analysis.curves.downbeats_s)
    return all(map(math.isfinite, numbers)) and all(bool(np.isfinite(curve).all()) for curve in curves)


def _unusable(path: Path, problem: str) -> Identity:
    try:
        return Identity(fingerprint_of_bytes(path), read_tags(path), problem=problem)
    except OSError as error:
        return Identity(absent=f"can't be read ({error.strerror}).")
