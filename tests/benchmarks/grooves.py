"""Music with known beats for the benchmark: own MIDI in 14 styles, rendered with fluidsynth.

Needs the program fluidsynth and a General MIDI soundfont (Debian: fluidsynth, fluid-soundfont-gm). Every piece is
seeded: chords of a common progression, a style's pattern, strokes a few milliseconds early or late, in some a tempo
that drifts.
"""

import random
import struct
import subprocess
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

SOUNDFONT = Path("/usr/share/sounds/sf2/FluidR3_GM.sf2")
TICKS = 1000  # a second
PROGRESSIONS = [[0, 7, 9, 5], [9, 5, 0, 7], [0, 9, 2, 7], [0, 5, 0, 7], [2, 7, 0, 0]]
MINOR = {2, 9}
DRUMS, BASS, CHORDS, LEAD = 9, 1, 0, 2
Pattern = Callable[["Bar"], None]


@dataclass(frozen=True)
class Groove:
    """A rendered piece, its beats, and the tempos that count as right."""

    name: str
    path: Path
    beats_s: np.ndarray
    tempos_bpm: tuple[float, ...]
    metre: int


class Bar:
    """Where a pattern writes the notes of one bar; places and lengths in beats."""

    def __init__(self, number: int, metre: int, chord: list[int], chance: random.Random) -> None:
        self.number, self.metre, self.chord, self.chance = number, metre, chord, chance
        self.notes: list[tuple[float, float, int, int, int]] = []

    def play(self, at: float, length: float, channel: int, note: int, level: int) -> None:
        self.notes.append((at, length, channel, note, level))

    def hit(self, drum: int, *places: float, level: int = 90) -> None:
        for at in places:
            self.play(at, 0.2, DRUMS, drum, level)

    def strum(self, *places: float, length: float = 0.4, level: int = 70, up: int = 0) -> None:
        for at in places:
            for note in self.chord:
                self.play(at, length, CHORDS, note + up, level)

    def bass(self, *places: float, length: float = 0.4, level: int = 90) -> None:
        for at in places:
            self.play(at, length, BASS, self.chord[0] - 12, level)

    def tune(self, step: float, share: float) -> None:
        for at in np.arange(0, self.metre, step):
            if self.chance.random() < share:
                self.play(float(at), step * 0.9, LEAD, self.chance.choice(self.chord) + 12, 85)


def rock(bar: Bar) -> None:
    bar.hit(36, 0, 2, level=105)
    bar.hit(38, 1, 3, level=105)
    bar.hit(42, *np.arange(0, 4, 0.5), level=65)
    bar.bass(*np.arange(0, 4, 0.5))
    bar.strum(0, length=3.8, level=75)


def house(bar: Bar) -> None:
    if bar.number // 8 % 4 != 2:
        bar.hit(36, 0, 1, 2, 3, level=115)
    bar.hit(46, 0.5, 1.5, 2.5, 3.5, level=85)
    bar.bass(0.5, 1.25, 1.75, 2.5, 3.25, length=0.25)
    bar.strum(0, 0.75, 1.5, 2.25, 3, length=0.2, up=12)


def broken(bar: Bar) -> None:
    bar.hit(36, 0, 2.5, level=110)
    bar.hit(38, 1, 3, level=110)
    bar.hit(42, *np.arange(0, 4, 0.5), level=70)
    bar.bass(0, 2.5, length=1.2)
    bar.strum(0, length=4, level=60, up=12)


def ballad(bar: Bar) -> None:
    for step in range(8):
        bar.play(step / 2, 0.6, CHORDS, bar.chord[(0, 1, 2, 1)[step % 4]], 80 if step % 2 == 0 else 62)
    bar.bass(0, length=4, level=80)
    bar.tune(1, 0.6)


def swing(bar: Bar) -> None:
    for beat in range(4):
        bar.play(beat, 0.9, BASS, bar.chord[(0, 1, 2, 1)[beat]] - 12, 85)
    bar.hit(51, 0, 1, 1.667, 2, 3, 3.667, level=75)
    bar.hit(44, 1, 3, level=70)
    bar.strum(0.667, 2.667)
    bar.tune(1, 0.7)


def waltz(bar: Bar) -> None:
    bar.bass(0, length=0.9, level=95)
    bar.strum(1, 2, length=0.6)
    bar.tune(1, 0.7)


def lilt(bar: Bar) -> None:
    for beat in range(bar.metre):
        for third in range(3):
            bar.play(beat + third / 3, 0.3, CHORDS, bar.chord[third], 88 if third == 0 else 62)
    bar.bass(0, length=0.9, level=80)
    bar.tune(1, 0.6)


def hands(bar: Bar) -> None:
    bar.hit(64, 0, 2, level=95)
    bar.hit(63, 0.5, 1.5, 3, level=65)
    bar.hit(62, 1, 2.5, 3.5, level=75)
    bar.hit(70, *np.arange(0, 4, 0.5), level=50)
    bar.strum(0, length=4, level=60)
    bar.tune(0.5, 0.5)


def strings(bar: Bar) -> None:
    bar.strum(0, length=bar.metre * 0.98)
    bar.bass(0, length=bar.metre * 0.98, level=80)
    bar.tune(1, 0.7)


def march(bar: Bar) -> None:
    bar.bass(0, 1, 2, 3, level=95)
    bar.strum(0.5, 1.5, 2.5, 3.5, length=0.3)
    bar.hit(36, 0, 2)
    bar.hit(38, 1, 3)
    bar.tune(1, 0.7)


def skank(bar: Bar) -> None:
    bar.strum(0.5, 1.5, 2.5, 3.5, length=0.2, level=85, up=12)
    bar.hit(42, *np.arange(0, 4, 0.5), level=60)
    bar.hit(36, 2, level=105)
    bar.bass(0, 0.75, 1.5, 2.5, 3)


def clave(bar: Bar) -> None:
    bar.hit(75, *((0, 1.5, 3) if bar.number % 2 == 0 else (1, 2)), level=95)
    bar.hit(70, *np.arange(0, 4, 0.5), level=60)
    bar.bass(1.5, 3, length=0.9, level=95)
    bar.strum(0.5, 1.5, 2, 3, 3.5, length=0.3, level=80, up=12)


def slow_groove(bar: Bar) -> None:
    bar.hit(36, 0, 0.75, 2.5, level=110)
    bar.hit(38, 1, 3, level=108)
    bar.hit(42, *np.arange(0, 4, 0.5), level=60)
    bar.bass(0, 1.5, 2.5, length=0.7)
    bar.strum(0, 1.5, length=1.2, level=65)


def sequence(bar: Bar) -> None:
    for step in range(16):
        note = bar.chord[(0, 2, 1, 2)[step % 4]] + 12 * (step % 3)
        bar.play(step / 4, 0.2, CHORDS, note, 90 if step % 4 == 0 else 70)
    if bar.number % 8 >= 4:
        bar.hit(36, 0, 1, 2, 3, level=95)


# Pattern, beats a bar, slowest and fastest tempo, second level at which the tempo is as right, General MIDI programs.
STYLES: dict[str, tuple[Pattern, int, int, int, float, tuple[int, int, int]]] = {
    "rock": (rock, 4, 85, 180, 0, (29, 33, 0)),
    "house": (house, 4, 115, 135, 0.5, (81, 38, 88)),
    "broken": (broken, 4, 160, 180, 0.5, (89, 39, 0)),
    "ballad": (ballad, 4, 58, 95, 2, (0, 32, 48)),
    "swing": (swing, 4, 95, 205, 0, (0, 32, 11)),
    "waltz": (waltz, 3, 85, 190, 0, (48, 43, 73)),
    "lilt": (lilt, 2, 55, 90, 3, (24, 32, 73)),
    "hands": (hands, 4, 75, 125, 0, (24, 32, 108)),
    "strings": (strings, 4, 60, 110, 2, (48, 43, 40)),
    "march": (march, 4, 90, 130, 0, (61, 58, 56)),
    "skank": (skank, 4, 65, 90, 2, (16, 33, 0)),
    "clave": (clave, 4, 85, 125, 0, (0, 32, 0)),
    "slow groove": (slow_groove, 4, 75, 105, 2, (4, 33, 0)),
    "sequence": (sequence, 4, 90, 135, 0, (80, 38, 0)),
}
DRIFTING = {"rock", "ballad", "swing", "waltz", "hands", "strings", "skank", "clave", "lilt"}


def grooves(folder: Path, each: int, seed: int) -> Iterator[Groove]:
    """Render `each` pieces of every style into `folder`; those that are there are taken as they are."""
    chance = random.Random(seed)
    for style, (pattern, metre, slow, fast, level, programs) in STYLES.items():
        for number in range(each):
            bpm = chance.uniform(slow, fast)
            drift = chance.choice([0.0, 0.01, 0.02]) if style in DRIFTING else 0.0
            seconds = chance.choice([24, 30, 36])
            beats = beat_times(bpm, seconds, drift, chance)
            notes = list(written_out(pattern, metre, beats, chance))
            path = folder / f"{style.replace(' ', '_')}_{seed}_{number}.wav"
            if not path.exists():
                render(notes, dict(enumerate(programs)), path)
            heard = beats[beats < seconds]
            true = float(60 / np.median(np.diff(heard)))
            others = (true * level,) if level else (true * (2 if true < 110 else 0.5),)
            yield Groove(path.stem, path, heard, (true, *others), metre)


def beat_times(bpm: float, seconds: float, drift: float, chance: random.Random) -> np.ndarray:
    numbers = np.arange(int(seconds * bpm / 60) + 4)
    phase = chance.uniform(0, 6)
    speed = 1 + drift * (np.sin(numbers / 17 + phase) + 0.4 * np.sin(numbers / 5 + 2 * phase))
    return np.concatenate(([0.0], np.cumsum(60 / bpm / speed)[:-1]))


def written_out(
    pattern: Pattern, metre: int, beats: np.ndarray, chance: random.Random
) -> Iterator[tuple[float, float, int, int, int]]:
    """Notes as start and length in seconds, channel, MIDI note and velocity."""
    root = chance.randrange(48, 60)
    roots = chance.choice(PROGRESSIONS)
    loose = chance.choice([0.002, 0.006, 0.012])
    for number in range(len(beats) // metre):
        step = roots[number % len(roots)]
        chord = [root + step, root + step + (3 if step in MINOR else 4), root + step + 7]
        bar = Bar(number, metre, chord, chance)
        pattern(bar)
        for at, length, channel, note, level in bar.notes:
            place = number * metre + at
            start, end = np.interp([place, place + length], np.arange(len(beats)), beats)
            velocity = max(1, min(127, round(level + chance.gauss(0, 6))))
            yield max(0.0, start + chance.gauss(0, loose)), end - start, channel, max(20, min(110, note)), velocity


def render(notes: list[tuple[float, float, int, int, int]], programs: dict[int, int], path: Path) -> None:
    midi = path.with_suffix(".mid")
    midi.write_bytes(midi_file(notes, programs))
    command = [
        "fluidsynth",
        "-ni",
        "-q",
        "-g",
        "0.6",
        "-r",
        "44100",
        "-T",
        "wav",
        "-F",
        str(path),
        str(SOUNDFONT),
        str(midi),
    ]
    subprocess.run(command, check=True, capture_output=True)
    midi.unlink()


def midi_file(notes: list[tuple[float, float, int, int, int]], programs: dict[int, int]) -> bytes:
    """A standard MIDI file, format 0, in which a tick is a millisecond."""
    events = [(0, bytes([0xC0 | channel, program])) for channel, program in programs.items()]
    for start, length, channel, note, level in notes:
        events.append((round(start * TICKS), bytes([0x90 | channel, note, level])))
        events.append((round((start + max(0.05, length)) * TICKS), bytes([0x80 | channel, note, 0])))
    events.sort(key=lambda event: event[0])
    track = b"\x00\xff\x51\x03\x0f\x42\x40"  # a quarter note lasts a second
    now = 0
    for tick, data in events:
        track += variable_length(tick - now) + data
        now = tick
    track += b"\x00\xff\x2f\x00"
    return b"MThd" + struct.pack(">IHHH", 6, 0, 1, TICKS) + b"MTrk" + struct.pack(">I", len(track)) + track


def variable_length(value: int) -> bytes:
    parts = [value & 127]
    while value := value >> 7:
        parts.append(value & 127 | 128)
    return bytes(reversed(parts))
