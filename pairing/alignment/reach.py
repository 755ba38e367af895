"""The arc fitted into what the library can give.

Where the music's energy covers only part of the arc's range, the arc is moved into that part by one straight,
rising line, so that every rise and fall survives instead of being cut off; what is missing is said.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from audio.track import Track
from pairing.alignment import marks
from pairing.alignment.frame import Frame
from pairing.model import Curve, Finding, Scan, Where
from pairing.temper import livelier_by, temper

SMOOTH_S = 20  # a level counts when it is held that long
TOLERANCE = 0.03  # differences of energy below that are nothing; editorial
ENOUGH = 0.7  # a level is within reach where music for that share of the time holds it; editorial
AT_LEAST_S = 120  # the ends of the range must be there for that long
ALIKE = 0.35  # a range of energies below that share of what the arc asks for: tracks much alike; editorial
LIBRARY_SAMPLE = 4_000_000  # seconds of music that settle the range; more is thinned out evenly


def sample(tracks: Sequence[Track]) -> list[Curve]:
    """Energies that settle what usable tracks can reach: those of all, or of every so many in a huge library.

    Returns:
        at 1 Hz, 0 to 1, shape (seconds,) each.
    """
    total = sum(track.analysis.curves.seconds for track in tracks)
    return [marks.energy(track) for track in tracks[:: total // LIBRARY_SAMPLE + 1]]


def reach(energies: Sequence[Curve], arc: Curve, *, repeats: bool = False) -> tuple[float, float]:
    """Lowest and highest energy the library can hold for as long as the arc stays near its own two ends, 0 to 1.

    Args:
        energies: one a track, 0 to 1, shape (seconds,) each.
        arc: energy asked for, 0 to 1, shape (seconds,), NaN where no music shall sound.
        repeats: tracks may come again: music shorter than the class is there as often as it takes to fill it.
    Returns:
        0 and 1 where there is no music, or none is asked for.
    """
    wanted = arc[~np.isnan(arc)]
    held = np.sort(_held(energies))
    if not len(held) or not len(wanted):
        return 0.0, 1.0
    low, high = arc_ends(arc)
    near = 0.15 * (high - low)
    low_s = max(int(np.count_nonzero(wanted <= low + near)), AT_LEAST_S)
    high_s = max(int(np.count_nonzero(wanted >= high - near)), AT_LEAST_S)
    share = ENOUGH * (min(len(held) / len(wanted), 1.0) if repeats else 1.0)
    low_s, high_s = round(share * low_s), round(share * high_s)
    return float(held[min(low_s, len(held) - 1)]), float(held[max(len(held) - 1 - high_s, 0)])


def arc_ends(arc: Curve) -> tuple[float, float]:
    """The levels between which the arc spends all but 4 percent of its time, 0 to 1.

    Args:
        arc: energy, shape (seconds,), NaN where no music shall sound; not everywhere.

    >>> [round(level, 2) for level in arc_ends(np.linspace(0, 1, 101, dtype=np.float32))]
    [0.02, 0.98]
    """
    low, high = np.nanpercentile(arc, (2, 98))
    return float(low), float(high)


def fitted(arc: Curve, lowest: float, highest: float) -> Curve:
    """The arc moved into the range of the library where it exceeds it.

    Args:
        arc: energy, 0 to 1, shape (seconds,); NaN where no music shall sound, and stays so.
        lowest, highest: what the library can hold, 0 to 1.
    Returns:
        the arc itself where it lies within, else one of the same shape.

    >>> [round(float(value), 2) for value in fitted(np.linspace(0, 1, 101), 0.2, 0.6)[[0, 50, 100]]]
    [0.19, 0.4, 0.61]
    """
    low, high = arc_ends(arc)
    fits = lowest <= low + TOLERANCE and highest >= high - TOLERANCE
    if fits or high - low < 1e-6:
        return arc
    # Where one end has to give way, the other makes room, so that as much of the range as there is remains.
    bottom, top = max(low, lowest), min(high, highest)
    bottom, top = max(lowest, min(bottom, top - (high - low))), min(highest, max(top, bottom + (high - low)))
    top = max(top, bottom + 0.02)
    moved = bottom + (arc - low) * ((top - bottom) / (high - low))
    return np.asarray(np.clip(moved, 0.0, 1.0), np.float32)


def squeeze(arc: Curve, target: Curve) -> float:
    """The target's range over the arc's, at most 1; 1 where the arc doesn't move.

    Args:
        arc, target: energy, 0 to 1, shape (seconds,) each, NaN where no music shall sound.

    >>> arc = np.linspace(0, 1, 101, dtype=np.float32)
    >>> round(squeeze(arc, arc / 2), 2)
    0.5
    """
    if np.isnan(arc).all() or np.isnan(target).all():
        return 1.0
    low, high = arc_ends(arc)
    bottom, top = arc_ends(target)
    return min((top - bottom) / (high - low), 1.0) if high - low > 0.05 else 1.0


def are_alike(arc: Curve, target: Curve) -> bool:
    """Whether an arc had to be fitted into so narrow a range that the tracks must be much alike.

    Args:
        arc, target: energy, 0 to 1, shape (seconds,) each, before and after.
    """
    return squeeze(arc, target) < ALIKE


def findings(frame: Frame, lowest: float, highest: float, *, calm_rest: bool = False) -> Iterator[Finding]:
    """What the library can't reach, where, and what to look for.

    Args:
        calm_rest: the rest has one track that is fit for it, so that nothing calmer is missing there.
    """
    low, high = arc_ends(frame.arc)
    if are_alike(frame.arc, fitted(frame.arc, lowest, highest)):
        yield _alike(lowest, highest, low, high)
        return
    if highest < high - TOLERANCE:
        yield _missing(frame, frame.arc > highest + TOLERANCE, highest, "lively")
    livelier = frame.arc < lowest - TOLERANCE
    if calm_rest and frame.rest is not None:
        livelier[int(frame.rest.start_s) : int(np.ceil(frame.rest.end_s))] = False
    if lowest > low + TOLERANCE and livelier.any():
        yield _missing(frame, livelier, lowest, "calm")
    if highest < high - TOLERANCE or lowest > low + TOLERANCE:
        yield Finding(
            "note",
            "arc-fitted-to-library",
            Where(name="library"),
            f"You have enough music from {temper(lowest)} to {temper(highest)}, and the class asks "
            "for more than that where it is calmest or liveliest. "
            "The arc was fitted to your music, so every rise and fall stays.",
        )


def _alike(lowest: float, highest: float, low: float, high: float) -> Finding:
    return Finding(
        "should",
        "tracks-alike",
        Where(name="library"),
        "Your tracks are much alike: the only music you have enough of is "
        f"{_range(lowest, max(lowest, highest))}, and the class asks for {_range(low, high)}. "
        "The arc was fitted to your music, so its rises and falls are slight.",
        "Add a few calmer and a few livelier tracks to your music folder and scan it again.",
        deeds=(Scan(),),
    )


def _missing(frame: Frame, where: np.ndarray, reached: float, kind: str) -> Finding:
    best = max(frame.sections, key=lambda section: int(_part(where, section.start_s, section.end_s).sum()))
    inside = _part(where, best.start_s, best.end_s)
    seconds = np.flatnonzero(inside)
    wanted = _part(frame.arc, best.start_s, best.end_s)[inside]
    asked = float(np.max(wanted) if kind == "lively" else np.min(wanted)) if len(seconds) else reached
    how, more = ("a little calmer", "livelier") if kind == "lively" else ("a little livelier", "calmer")
    return Finding(
        "should",
        f"nothing-{kind}-enough",
        Where(section=best.name),
        f"You have too little music {kind} enough for {_which(seconds, len(inside))} of {best.name} ({best.kind}): "
        f"what there is enough of is {livelier_by(reached - asked) or how} than asked.",
        f"Add a few {more} tracks to your music folder and scan it again.",
        deeds=(Scan(),),
    )


def _range(low: float, high: float) -> str:
    return temper(low) if temper(low) == temper(high) else f"{temper(low)} to {temper(high)}"


def _part(curve: np.ndarray, start_s: float, end_s: float) -> np.ndarray:
    return curve[int(start_s) : max(int(end_s), int(start_s) + 1)]


def _which(seconds: np.ndarray, length: int) -> str:
    if not len(seconds) or len(seconds) >= 0.9 * length:
        return "all"
    amount = f"{len(seconds) / 60:.0f} minutes" if len(seconds) >= 90 else f"{len(seconds)} seconds"
    if seconds[0] > 5 and seconds[-1] >= length - 5:
        return f"the last {amount}"
    return f"the first {amount}" if seconds[0] <= 5 and seconds[-1] < length - 5 else amount


def _held(energies: Sequence[Curve]) -> Curve:
    kernel = np.full(SMOOTH_S, 1 / SMOOTH_S, np.float32)
    held = [np.convolve(curve, kernel, "valid") for curve in energies if len(curve) >= SMOOTH_S]
    return np.concatenate(held) if held else np.zeros(0, np.float32)
