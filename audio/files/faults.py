"""What is wrong with a file, counted while it is decoded and told in lines that a teacher understands."""

from dataclasses import dataclass, field

import numpy as np

from audio.arrays import F32
from audio.text import clock

LOUDEST = 10.0  # +20 dB over full scale; editorial: what is above is an error of decoding, whatever caused it
_ABSURD = 1e6  # +120 dB: a single number that was damaged, not what a decoder makes of sound


@dataclass
class Faults:
    """Counts what is wrong with a file while it is decoded."""

    said_s: float | None = None  # the length that the header states
    bad_packets: int = 0
    lost_s: float = 0.0
    gaps: int = 0
    replaced: int = 0
    loudest: float = 0.0  # of what was above LOUDEST
    stopped: bool = False
    complete: bool = True
    changes: set[str] = field(default_factory=set)

    def count_gap(self, at_s: float, expected_s: float) -> None:
        """Compare a time stamp with the end of what came before, both in seconds; 50 ms allow for coarse clocks."""
        if 0.05 < at_s - expected_s < 86_400:
            self.gaps += 1
            self.lost_s += at_s - expected_s

    def cleaned(self, samples: F32) -> F32:
        """Replace NaN, infinite and absurd samples by silence and count them; note what else is above LOUDEST.

        Args:
            samples: shape (frames, channels), full scale 1.0.
        Returns:
            the same shape; `samples` themselves where none is above LOUDEST.
        """
        if not samples.size or (samples.max() <= LOUDEST and samples.min() >= -LOUDEST):
            return samples
        wrong = ~(np.abs(samples) <= _ABSURD)
        self.replaced += int(wrong.sum())
        samples = np.where(wrong, np.float32(0), samples)
        peak = float(np.abs(samples).max())
        self.loudest = max(self.loudest, peak if peak > LOUDEST else 0.0)
        return samples

    def notes(self, duration_s: float) -> tuple[str, ...]:
        """What was met and made good in a file that gave `duration_s` seconds, a sentence each."""
        notes = []
        if self.bad_packets or self.gaps:
            places = self.bad_packets + self.gaps
            notes.append(
                f"Damaged in {places} place{'s' * (places > 1)}; what can't be decoded was left out"
                + (f" (about {self.lost_s:.1f} s)." if self.lost_s >= 0.05 else ".")
            )
        if self.replaced:
            notes.append(f"{self.replaced} samples were no numbers or absurdly large and were made silent.")
        notes += [
            f"Its {what} changes midway; all was brought to that of the beginning." for what in sorted(self.changes)
        ]
        if self.stopped:
            notes.append(f"Can't be read beyond {clock(duration_s)}.")
        if self.complete and self.said_s is not None:
            notes += _length_note(self.said_s, duration_s)
        return tuple(notes)


def _length_note(said_s: float, duration_s: float) -> list[str]:
    if duration_s < said_s * 0.98 - 0.5:
        return [
            f"Holds {clock(duration_s)} of sound though its header says {clock(said_s)}: incomplete or mislabelled."
        ]
    if duration_s > said_s * 1.02 + 0.5:
        return [f"Holds {clock(duration_s)} of sound though its header says {clock(said_s)}."]
    return []
