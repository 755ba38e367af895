"""How loud a recording is in every tenth of a second, as the mixer plays it, measured once and remembered.

Power is the K-weighted mean square of both channels together (ITU-R BS.1770-4), so that -0.691 + 10 log10(power) is a
loudness in LUFS. What was measured is kept in the user's cache folder under the file's path, size and time; whoever
deletes it loses nothing but the time to measure again (an hour of music: 7 s of one core). A scan keeps it for the
recordings that the mixer plays sample by sample as they are.
"""

import hashlib
import os
from contextlib import suppress
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from audio.arrays import F32, F64
from audio.constants import LOUDNESS_OFFSET_LU
from audio.errors import OutputError
from audio.files.decode import Decoder
from audio.files.whole import whole_file
from audio.measure.loudness import Loudness, Meter
from audio.render.mixer import MIX_RATE
from audio.render.source import Source

PER_S = 10
_STEPS_OF_THE_METER = 10  # its steps last 10 ms
_HUNDREDTHS_OF_SILENCE = -20_000  # -200 LUFS stands for nothing at all


def powers_of(path: Path) -> F64:
    """Power of every whole tenth of a second of a recording, shape (steps,), to 0.01 LU.

    Raises:
        AudioError: the file can't be read.

    Only the first call for a file reads it whole.
    """
    try:
        state = path.stat()
    except OSError:
        return _measured(path)  # reading it says why
    return _remembered(path, state.st_size, state.st_mtime_ns)


def keep(read: Decoder, loudness: Loudness) -> None:
    """Remember what was measured of a file while it was read for something else, where that is what the mixer plays.

    Args:
        read: what the file was read by, to its end.
        loudness: of all of it, at its own rate and of its own channels.
    """
    if (read.rate, read.channels) == (MIX_RATE, 2):
        with suppress(OSError):
            state = read.path.stat()
            _keep(_place(read.path, state.st_size, state.st_mtime_ns), in_tenths(loudness.power))


def taken(path: Path, edges_s: F64) -> F64:
    """What of a recording sounds between each two of some moments, as mean power of a tenth of a second that it filled.

    Args:
        path: the recording.
        edges_s: its seconds, rising, shape (n + 1,); before its beginning and after its end is silence.
    Returns:
        shape (n,); of a stretch of 0.05 s half the power that it has.
    Raises:
        AudioError: the file can't be read.
    """
    summed = np.concatenate(([0.0], np.cumsum(powers_of(path))))
    return np.diff(np.interp(edges_s * PER_S, np.arange(len(summed)), summed))


def powers_of_samples(samples: F32) -> F64:
    """Power of every tenth of a second of samples at the mix's rate; the last step is filled with silence.

    Args:
        samples: shape (frames, 2), 44.1 kHz, full scale 1.0.
    Returns:
        K-weighted mean square of both channels, shape (steps,).
    """
    step = MIX_RATE // PER_S
    meter = Meter(MIX_RATE, (1.0, 1.0))
    meter.feed(samples)
    meter.feed(np.zeros((-len(samples) % step, 2), np.float32))
    return in_tenths(meter.read().power)


def in_tenths(power: F64) -> F64:
    """The meter's steps of 10 ms joined to tenths of a second, their mean power; what fills none at the end is dropped.

    Args:
        power: one value each 10 ms, shape (n,).
    Returns:
        shape (n // 10,), in the unit of `power`.

    >>> in_tenths(np.array([1.0] * 10 + [3.0] * 10 + [9.0])).tolist()
    [1.0, 3.0]
    """
    whole = len(power) // _STEPS_OF_THE_METER
    return np.asarray(power[: whole * _STEPS_OF_THE_METER].reshape(whole, _STEPS_OF_THE_METER).mean(axis=1))


@lru_cache(maxsize=256)  # an hour of music takes 0.3 MB
def _remembered(path: Path, size: int, modified_ns: int) -> F64:
    kept = _place(path, size, modified_ns)
    power = _read(kept)
    if power is None:
        power = _measured(path)
        _keep(kept, power)
    power.setflags(write=False)
    return power


def _place(path: Path, size: int, modified_ns: int) -> Path:
    import platformdirs

    name = hashlib.sha256(b"\0".join((os.fsencode(path.absolute()), b"%d %d" % (size, modified_ns)))).hexdigest()
    return Path(platformdirs.user_cache_dir("arcbed", appauthor=False)) / "loudness" / f"{name[:32]}.npy"


def _measured(path: Path) -> F64:
    """Read the whole of a file; every step to 0.01 LU, so that what is remembered is what was measured."""
    meter = Meter(MIX_RATE, (1.0, 1.0))
    with Source(path, 0.0, MIX_RATE) as source:
        for block in source.blocks():
            meter.feed(block)
    return _unpacked(_packed(in_tenths(meter.read().power)))


def _packed(power: F64) -> NDArray[np.int16]:
    with np.errstate(divide="ignore"):
        lufs = LOUDNESS_OFFSET_LU + 10 * np.log10(power)
    return np.rint(np.clip(100 * lufs, _HUNDREDTHS_OF_SILENCE, 32_767)).astype("<i2")


def _unpacked(hundredths: NDArray[np.int16]) -> F64:
    power = 10 ** ((hundredths / 100 - LOUDNESS_OFFSET_LU) / 10)
    return np.asarray(np.where(hundredths == _HUNDREDTHS_OF_SILENCE, 0.0, power))


def _read(kept: Path) -> F64 | None:
    """What was kept; None where there is nothing, or nothing sound."""
    try:
        stored = np.load(kept, allow_pickle=False)
    except (OSError, ValueError, EOFError):
        return None
    return _unpacked(stored) if stored.ndim == 1 and stored.dtype == np.dtype("<i2") else None


def _keep(kept: Path, power: F64) -> None:
    # A folder that can't be written, or a full disk, costs the next run its time and nothing else.
    with suppress(OSError, OutputError):
        kept.parent.mkdir(parents=True, exist_ok=True)
        with whole_file(kept) as temporary, temporary.open("wb") as file:
            np.save(file, _packed(power))
