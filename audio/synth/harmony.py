"""Keys, modes and chords as numbers: names of musical keys to scales, degrees to notes, smooth voicings."""

from dataclasses import dataclass

_TONICS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_MODES = {
    "major": (0, 2, 4, 5, 7, 9, 11),
    "minor": (0, 2, 3, 5, 7, 8, 10),
    "Dorian": (0, 2, 3, 5, 7, 9, 10),
    "Phrygian": (0, 1, 3, 5, 7, 8, 10),
    "Lydian": (0, 2, 4, 6, 7, 9, 11),
    "Mixolydian": (0, 2, 4, 5, 7, 9, 10),
}


@dataclass(frozen=True, slots=True)
class Scale:
    """A key: pitch class of the tonic, 0 for C, and the seven steps above it in semitones."""

    tonic: int
    steps: tuple[int, ...]

    @classmethod
    def named(cls, key: str) -> "Scale":
        """Read a key as musicians write it: "A minor", "F sharp Dorian", "B flat major".

        Raises:
            ValueError: the name is none of these.
        """
        words = key.split()
        if len(words) not in (2, 3) or words[0] not in _TONICS or words[-1] not in _MODES:
            raise ValueError(f"no key: {key!r}")
        shift = {"sharp": 1, "flat": -1}[words[1]] if len(words) == 3 else 0
        return cls((_TONICS[words[0]] + shift) % 12, _MODES[words[-1]])

    def note(self, step: int, octave: int = 4) -> int:
        """Give the MIDI number of a scale step; 0 is the tonic, 7 the tonic an octave above."""
        return 12 * (octave + 1 + step // 7) + self.tonic + self.steps[step % 7]

    def nearest(self, midi: int, steps: tuple[int, ...]) -> int:
        """Give the MIDI number of that note of the scale steps which lies closest to the pitch `midi`."""
        classes = {(self.tonic + self.steps[s % 7]) % 12 for s in steps}
        return min((m for m in range(midi - 7, midi + 8) if m % 12 in classes), key=lambda m: abs(m - midi))


def chord(degree: int, size: int = 3) -> tuple[int, ...]:
    """Give the scale steps of the chord on a degree (1 to 7) in stacked thirds; size 4 adds the seventh."""
    return tuple(degree - 1 + 2 * k for k in range(size))


def voicing(scale: Scale, steps: tuple[int, ...], around: int) -> tuple[int, ...]:
    """Give the MIDI numbers of a chord, ascending, each as near as can be to one pitch, so that voices move little."""
    notes = {scale.nearest(around + 4 * (k - 1), (step,)) for k, step in enumerate(steps)}
    return tuple(sorted(notes))
