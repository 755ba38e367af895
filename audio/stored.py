"""An analysis as a row of plain numbers and small blobs, and back.

Curves cost 1 or 2 bytes a second; times are kept to 0.1 ms, loudness to 0.01 LU, energy and costs to 1/65535, voice to
1/255 with the same seconds on either side of one half. What is unpacked is unpacked when it is asked for, so that a
library of 100,000 tracks can be read in seconds; bytes that a fault of the disk has changed are then an error for
people.
"""

import json
import zlib
from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from audio.arrays import F64
from audio.errors import LibraryError
from audio.track import Analysis, Break, Curve, Curves, CutPoint, Shape, TrackSection

_PLAIN = (
    "duration_s",
    "loudness_lufs",
    "loudness_range_lu",
    "true_peak_dbtp",
    "rise_lu",
    "tempo_bpm",
    "tempo_confidence",
    "tempo_drift",
    "metre",
    "key",
    "key_strength",
    "treble_share",
    "onset_rate",
    "choir",
)
_SUMS = ("mean_energy", "voice_share")
PACKED = ("energy", "voice", "loudness", "beats_s", "downbeats_s", "cut_points", "shape", "speech")
COLUMNS = (*_PLAIN, *_SUMS, "notes", *PACKED)

_TICKS = 10_000  # a second
_SILENT = -(1 << 15)  # stands for -inf
_CUT = np.dtype([("at", "<i4"), ("enter", "<u2"), ("leave", "<u2")])
_CUT_UNITS = np.array((_TICKS, 65535.0, 65535.0))


def checksum(*values: Any) -> int:
    """CRC-32 of a row's values as MessagePack writes them: SQLite keeps none of what it stores."""
    return zlib.crc32(msgspec.msgpack.encode(values))


def whole(row: tuple[Any, ...]) -> tuple[Any, ...]:
    """A row without its checksum, which stands last.

    Raises: LibraryError if it isn't what was written.
    """
    if checksum(*row[:-1]) != row[-1]:
        raise _damage()
    return row[:-1]


def to_row(analysis: Analysis | None) -> list[Any]:
    """Values in the order of COLUMNS; all None without an analysis."""
    if analysis is None:
        return [None] * len(COLUMNS)
    along = analysis.curves
    return [
        *(getattr(analysis, name) for name in _PLAIN),
        *(getattr(along, name) for name in _SUMS),
        json.dumps(analysis.notes, ensure_ascii=False) if analysis.notes else "",
        _pack_share(along.energy, "<u2"),
        _pack_share(along.voice, "u1"),
        _pack_loudness(along.loudness),
        _pack_times(along.beats_s),
        _pack_times(along.downbeats_s),
        _pack_cuts(along.cut_points),
        _pack_shape(along.shape),
        _pack_share(along.speech, "u1"),
    ]


def from_row(row: Sequence[Any]) -> Analysis:
    """The analysis of a row in the order of COLUMNS; its curves are unpacked each time they are asked for.

    Raises: LibraryError, also when a curve is asked for, if the row was damaged on the disk.
    """
    if not all(isinstance(value, float) for value in row[:5]):
        raise _damage()
    packed = PackedCurves(tuple(row[len(_PLAIN) :]))
    return Analysis(**dict(zip(_PLAIN, row, strict=False)), curves=packed, notes=packed.get("notes"))


def content_mark(analysis: Analysis) -> int:
    """A number that stays the same as long as the library, from which the analysis was read, holds the same of it."""
    assert isinstance(analysis.curves, PackedCurves)
    return hash((*(getattr(analysis, name) for name in _PLAIN), *analysis.curves.packed))


class PackedCurves(Curves):
    """Curves as the library keeps them, in the order of COLUMNS from the sums on."""

    __slots__ = ("packed",)

    def __init__(self, packed: tuple[Any, ...]) -> None:
        self.packed = packed

    def get(self, name: str) -> Any:
        """The value of that name, or the notes, unpacked.

        Raises: LibraryError if it was damaged.
        """
        place, unpack = _UNPACKED[name]
        try:
            return unpack(self.packed[place])
        except (zlib.error, ValueError, TypeError) as error:
            raise _damage() from error


def _damage() -> LibraryError:
    return LibraryError(
        "the library is damaged: an entry in it is no longer what was written.",
        remedy="It can be renamed and a new one started, which keeps your marks.",
        command="arcbed scan --set-aside FOLDER",
    )


def unpack_notes(text: str) -> tuple[str, ...]:
    """Notes as they were stored.

    Raises: ValueError if they were damaged.
    """
    return tuple(map(str, json.loads(text))) if text else ()


def _pack_share(values: Curve, kind: str) -> bytes:
    most = np.iinfo(np.dtype(kind)).max
    return np.rint(np.clip(np.nan_to_num(values), 0, 1).astype(np.float64) * most).astype(kind).tobytes()


def _unpack_energy(packed: bytes) -> Curve:
    return _fixed(np.frombuffer(packed, "<u2") / np.float32(65535))


def _unpack_voice(packed: bytes) -> Curve:
    return _fixed(np.frombuffer(packed, "u1") / np.float32(255))


def _pack_loudness(lufs: Curve) -> bytes:
    hundredths = np.rint(np.clip(np.nan_to_num(lufs, nan=-300.0), -300, 300) * 100)
    return np.where(np.isneginf(lufs), _SILENT, hundredths).astype("<i2").tobytes()


def _unpack_loudness(packed: bytes) -> Curve:
    raw = np.frombuffer(packed, "<i2")
    return _fixed(np.where(raw == _SILENT, -np.inf, raw / 100))


def _pack_times(seconds: F64) -> bytes:
    ticks = np.rint(np.asarray(seconds, np.float64) * _TICKS).astype("<i4")
    return zlib.compress(np.diff(ticks, prepend=np.int32(0)).astype("<i4").tobytes(), 6) if ticks.size else b""


def _unpack_times(packed: bytes) -> F64:
    raw = zlib.decompress(packed) if packed else b""
    seconds: F64 = np.cumsum(np.frombuffer(raw, "<i4")) / _TICKS
    seconds.setflags(write=False)
    return seconds


def _pack_cuts(cuts: Sequence[CutPoint]) -> bytes:
    rows = [(round(c.at_s * _TICKS), round(c.enter_cost * 65535), round(c.leave_cost * 65535)) for c in cuts]
    return np.array(rows, _CUT).tobytes()


@lru_cache(maxsize=1024)  # a swap asks for those of some hundred tracks several times over
def _unpack_cuts(packed: bytes) -> tuple[CutPoint, ...]:
    return tuple(map(CutPoint, *_unpack_cut_numbers(packed).T.tolist()))


def _unpack_cut_numbers(packed: bytes) -> F64:
    rows = np.frombuffer(packed, _CUT)
    numbers = np.empty((len(rows), 3))
    for column, name in enumerate(rows.dtype.names or ()):
        numbers[:, column] = rows[name]
    numbers /= _CUT_UNITS
    return numbers


def _pack_shape(shape: Shape) -> str:
    """Times to 0.1 ms, null where they are not known; levels to 0.01."""
    sections = [[_time(s.start_s), _time(s.end_s), s.letter, round(s.level, 2)] for s in shape.sections]
    breaks = [[_time(each.start_s), _time(each.end_s)] for each in shape.breaks]
    times = [_time(at) for at in (shape.climb_s, shape.climax_s, shape.ending_s)]
    return json.dumps([sections, breaks, times], separators=(",", ":"))


def _time(seconds: float | None) -> float | None:
    return None if seconds is None else round(seconds, 4)


def _unpack_shape(text: str) -> Shape:
    sections, breaks, (climb_s, climax_s, ending_s) = json.loads(text)
    parts, drops = tuple(TrackSection(*part) for part in sections), tuple(Break(*drop) for drop in breaks)
    return Shape(parts, climb_s, climax_s, drops, ending_s)


def _fixed(values: NDArray[Any]) -> Curve:
    curve = values.astype(np.float32, copy=False)
    curve.setflags(write=False)
    return curve


_UNPACKED: dict[str, tuple[int, Callable[[Any], Any]]] = {  # where each stands, and what makes it of that
    "mean_energy": (0, float),
    "voice_share": (1, float),
    "notes": (2, unpack_notes),
    "energy": (3, _unpack_energy),
    "seconds": (3, lambda packed: len(packed) // 2),
    "voice": (4, _unpack_voice),
    "loudness": (5, _unpack_loudness),
    "beats_s": (6, _unpack_times),
    "downbeats_s": (7, _unpack_times),
    "cut_points": (8, _unpack_cuts),
    "cuts": (8, _unpack_cut_numbers),
    "shape": (9, _unpack_shape),
    "speech": (10, _unpack_voice),
}
