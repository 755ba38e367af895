"""The players of the demo's invented music: each writes the notes of one bar, or of a phrase, from the bar's chord.

A part is played when the music's intended energy reaches `enters`, and at full strength from `full` on. Players know
nothing of samples; they give `Note`s. Timing and force are humanised here, by chance that starts the same each time.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from audio.arrays import F64
from audio.synth.harmony import Scale, voicing
from audio.synth.recipes import FormSection
from audio.synth.voice import Syllable


@dataclass(frozen=True, slots=True)
class Note:
    """One sound to be placed; `at_s` counts from the start of the track."""

    instrument: str
    at_s: float
    midi: int  # 69 = 440 Hz
    seconds: float  # 0 for what is struck and dies away
    velocity: float  # 0 to 1
    pan: float  # -1 (left) to 1
    gain: float  # amplitude factor
    send: float  # share that goes to the room
    line: tuple[Syllable, ...] = ()  # what a voice sings, instead of `midi` and `seconds`


@dataclass(frozen=True, slots=True)
class Bar:
    """What a player looks at: where in the form we are, the beats' times, the chord and the energy now and next."""

    number: int  # from 0, in the track
    section: FormSection
    index: int  # of the bar in its section
    beats: int
    times_s: F64  # of the beats of this bar and the four after it, as far as there are any
    chord: tuple[int, ...]  # scale steps
    energy: float  # 0 to 1
    next_energy: float  # of the next bar, 0 after the last
    scale: Scale
    triple: bool  # three eighths a beat, as in 6/8
    swing: float  # how much later every second half beat comes, in beats
    final: bool  # the last chord

    @property
    def phrase(self) -> int:
        """Number of the four-bar phrase in the section."""
        return self.index // 4

    @property
    def closes(self) -> bool:
        """Whether the section ends with this bar."""
        return self.index == self.section.bars - 1

    @property
    def seconds(self) -> float:
        """Length of the bar."""
        return float(self.times_s[self.beats] - self.times_s[0])

    def at_s(self, beat: float) -> float:
        """Give the time of a place in the bar, in beats, swung."""
        half = beat % 1.0
        swung = beat + (self.swing if not self.triple and abs(half - 0.5) < 0.01 else 0.0)
        before = min(int(swung), self.times_s.size - 2)
        one, other = self.times_s[before : before + 2].tolist()
        return float(one + min(1.0, swung - before) * (other - one))


@dataclass(frozen=True, slots=True)
class Part:
    """A seat in an ensemble: who plays what, from which energy on, how loud and where."""

    player: "Player"
    instrument: str  # a sound of the desk
    enters: float = 0.0  # energy from which it is heard
    full: float = 0.6  # energy from which it plays at full strength
    gain: float = 0.3  # amplitude factor
    pan: float = 0.0  # -1 (left) to 1
    send: float = 0.3  # share that goes to the room
    around: int = 60  # the pitch the part stays near
    loose_s: float = 0.008  # standard deviation of its timing, cut at two of them
    style: str = ""  # which of the player's ways, where it has several

    def strength(self, energy: float) -> float:
        """Give how strongly the part plays, 0 where it rests, above 0 to 1 else."""
        return _within(0.0, 0.05 + (energy - self.enters) / (self.full - self.enters), 1.0) * (energy >= self.enters)


Player = Callable[[Part, Bar, np.random.Generator], Iterator[Note]]


def note(part: Part, bar: Bar, rng: np.random.Generator, beat: float, midi: int, seconds: float, force: float) -> Note:
    """Write one note at a place in the bar, with a human's small faults of time and force."""
    at_s = bar.at_s(beat) + part.loose_s * _within(-2.0, rng.standard_normal(), 2.0)
    velocity = _within(0.05, force * (1 + 0.09 * rng.standard_normal()), 1.0)
    pan = _within(-1.0, part.pan + 0.06 * rng.standard_normal(), 1.0)
    return Note(part.instrument, max(0.0, at_s), midi, seconds, velocity, pan, part.gain, part.send)


def _within(least: float, value: float, most: float) -> float:
    """`value`, kept within bounds: what NumPy's `clip` does, in a twentieth of its time for one number."""
    return float(min(max(value, least), most))


def held_chord(part: Part, bar: Bar, rng: np.random.Generator) -> Iterator[Note]:
    """Hold the chord for the bar, the last one into the silence."""
    force = 0.45 + 0.5 * part.strength(bar.energy)
    seconds = bar.seconds * (1.6 if bar.final else 1.0)
    for k, midi in enumerate(voicing(bar.scale, bar.chord, part.around)):
        yield note(part, bar, rng, 0.02 * k, midi, seconds, force)


def held_root(part: Part, bar: Bar, rng: np.random.Generator) -> Iterator[Note]:
    """Hold root and fifth; they overlap with the next bar's."""
    root = bar.scale.nearest(part.around, bar.chord[:1])
    seconds = bar.seconds * 1.35
    yield note(part, bar, rng, 0.0, root, seconds, 0.6 + 0.3 * part.strength(bar.energy))
    if bar.number % 2 == 0 or bar.final:
        yield note(part, bar, rng, 0.3, root + 7, seconds, 0.5)


def wave(part: Part, bar: Bar, rng: np.random.Generator) -> Iterator[Note]:
    """Let a far wave come and go, every second bar or so."""
    if rng.random() < 0.6:
        yield note(part, bar, rng, rng.random() * bar.beats, part.around, rng.uniform(6, 10), 0.6)


def now_and_then(part: Part, bar: Bar, rng: np.random.Generator) -> Iterator[Note]:
    """Drop single notes of the chord, more of them with more strength; always one to end with."""
    steps = bar.chord if rng.random() < 0.7 else (bar.chord[0], bar.chord[0] + 4, bar.chord[0] + 8)
    places = (
        [0.0]
        if bar.final
        else [b for b in np.arange(bar.beats) if rng.random() < 0.2 + 0.35 * part.strength(bar.energy)]
    )
    for beat in places:
        around = part.around + int(rng.integers(-7, 8))
        midi = bar.scale.nearest(around, (int(rng.choice(steps)),))
        late = 0.0 if bar.final else float(rng.choice([0.0, 0.0, 0.5]))
        yield note(part, bar, rng, beat + late, midi, 2.5 * bar.seconds / bar.beats, rng.uniform(0.35, 0.75))


_ROADS = ((0, 1, 2, 3, 2, 1), (0, 2, 1, 3, 2, 4), (0, 3, 2, 1, 4, 2), (0, 2, 4, 3, 1, 2))


def broken_chord(part: Part, bar: Bar, rng: np.random.Generator) -> Iterator[Note]:
    """Walk through the chord over two octaves, in halves or quarters of a beat; roll the last chord."""
    low = voicing(bar.scale, bar.chord, part.around)
    ladder = (*low, *(m + 12 for m in low))
    if bar.final:
        for k, midi in enumerate(ladder[:5]):
            yield note(part, bar, rng, 0.09 * k, midi, 6.0, 0.6 - 0.05 * k)
        return
    strength = part.strength(bar.energy)
    unit = 3 if bar.triple else (4 if strength > 0.75 else 2)
    road = _ROADS[(bar.section.bars + part.around) % len(_ROADS)]
    for k in range(bar.beats * unit):
        accent = 0.22 if k % unit == 0 else 0.0
        if accent or rng.random() < 0.55 + 0.45 * strength:
            midi = ladder[road[k % len(road)] % len(ladder)]
            yield note(part, bar, rng, k / unit, midi, 2.0, 0.38 + accent + 0.35 * strength)


def two_hands(part: Part, bar: Bar, rng: np.random.Generator) -> Iterator[Note]:
    """Accompany as on keys: a low octave, then the chord in gentle halves, fuller as the music grows."""
    strength = part.strength(bar.energy)
    root = bar.scale.nearest(part.around - 19, bar.chord[:1])
    force = 0.4 + 0.4 * strength
    yield note(part, bar, rng, 0.0, root, 5.0, force)
    if strength > 0.4 or bar.final:
        yield note(part, bar, rng, 0.02, root + 12, 5.0, 0.8 * force)
    chord = voicing(bar.scale, bar.chord, part.around)
    if bar.final:
        for k, midi in enumerate(chord):
            yield note(part, bar, rng, 0.1 + 0.12 * k, midi, 6.0, 0.8 * force)
        return
    step = 0.5 if strength > 0.35 else 1.0
    for k, beat in enumerate(np.arange(step, bar.beats, step)):
        yield note(part, bar, rng, beat, chord[k % len(chord)], 3.0, (0.75 + 0.15 * (k % 2)) * force)
        if strength > 0.7 and k % 2 == 1:
            yield note(part, bar, rng, beat + 0.01, chord[(k + 1) % len(chord)], 3.0, 0.7 * force)


def low_line(part: Part, bar: Bar, rng: np.random.Generator) -> Iterator[Note]:
    """Play the bass, by style: "held", "steps" (root, fifth, a step towards the next), "pulse" (after each beat)."""
    root = bar.scale.nearest(part.around, bar.chord[:1])
    beat_s = bar.seconds / bar.beats
    force = 0.5 + 0.45 * part.strength(bar.energy)
    if bar.final or part.style == "held":
        yield note(part, bar, rng, 0.0, root, 0.95 * bar.seconds, force)
    elif part.style == "steps":
        fifth = bar.scale.nearest(root + 7, (bar.chord[0] + 4,))
        yield note(part, bar, rng, 0.0, root, 1.4 * beat_s, force)
        yield note(part, bar, rng, 0.5 * bar.beats if bar.beats != 3 else 2.0, fifth, 0.9 * beat_s, 0.85 * force)
        if force > 0.7:
            yield note(part, bar, rng, bar.beats - 0.5, root + 12, 0.4 * beat_s, 0.7 * force)
    else:
        for quarter in range(4 * bar.beats):
            if quarter % 4:
                midi = root + (12 if quarter % 8 == 6 else 0)
                yield note(part, bar, rng, quarter / 4, midi, 0.2 * beat_s, force * (1.0 if quarter % 2 == 0 else 0.8))


def pumping_chord(part: Part, bar: Bar, rng: np.random.Generator) -> Iterator[Note]:
    """Let the chord open up in every beat."""
    beat_s = bar.seconds / bar.beats
    force = 0.5 + 0.5 * part.strength(bar.energy)
    for beat in range(1 if bar.final else bar.beats):
        for midi in voicing(bar.scale, bar.chord, part.around):
            yield note(part, bar, rng, beat, midi, (4 if bar.final else 0.98) * beat_s, force)


def riff(part: Part, bar: Bar, rng: np.random.Generator) -> Iterator[Note]:
    """Repeat a figure of sixteenths on the chord, the same in every bar of a section, an octave up when strong."""
    same = np.random.default_rng(part.around + bar.section.bars + 100 * (bar.index % 2))
    strength = part.strength(bar.energy)
    steps = (*bar.chord, bar.chord[0] + 7)
    for sixteenth in range(4 * bar.beats):
        plays, pick = same.random() < 0.45 + 0.4 * strength, int(same.integers(len(steps)))
        if plays and not bar.final:
            midi = bar.scale.nearest(part.around + (12 if strength > 0.8 and sixteenth % 8 > 3 else 0), (steps[pick],))
            force = (0.75 if sixteenth % 4 == 0 else 0.5) + 0.25 * strength
            yield note(part, bar, rng, sixteenth / 4, midi, 0.22 * bar.seconds / bar.beats, force)
