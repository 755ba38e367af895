"""Music by rules, to train the network of `audio/measure/beat_network.py` on: seeded, rendered with tinysoundfont.

    python tests/benchmarks/beat_music.py FOLDER FIRST LAST SOUNDFONT... [--songs POP909.npz] [--scores LIEDER.npz]

writes FOLDER/<seed>.npz on all cores: the levels of 40 bands (steps of 0.4 dB from 80 dB below the loudest upwards),
beats and downbeats; both are empty for the one piece of twelve that has no beat. A piece draws a metre, a tempo, a way
in which the tempo moves, and for each part (drums, bass, chords, tune) a pattern of its own; how finely beats are
divided goes with the tempo. The patterns are not those of `grooves.py`. Each piece draws its soundfont, room and
master. With --songs, what `pop_songs.py` wrote, one piece of six is an excerpt of a real song's arrangement in other
instruments, mostly with drums of ours; with --scores, what `art_songs.py` wrote, three of ten are half a minute of an art
song as a pianist would play it (`performed.py`). It needs tinysoundfont (MIT) and soundfonts; Debian's free ones are
TimGM6mb.sf2, FluidR3Mono_GM.sf3 and sf_GMbank.sf2.
"""

import argparse
import functools
import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from multiprocessing import Pool
from pathlib import Path

import numpy as np
from performed import performance
from scipy.signal import fftconvolve

from audio.measure.features import FeatureStream
from audio.measure.spectrum import RATE

# Beats a bar and parts of a beat, by weight.
METRES = {(4, 4): 54, (3, 4): 13, (2, 3): 14, (4, 3): 8, (3, 3): 2, (2, 4): 5, (5, 4): 3, (4, 2): 3}
SCALES = {"major": 40, "minor": 40, "dorian": 10, "mixolydian": 10, "phrygian": 3}
STEPS = {
    "major": (0, 2, 4, 5, 7, 9, 11),
    "minor": (0, 2, 3, 5, 7, 8, 10),
    "dorian": (0, 2, 3, 5, 7, 9, 10),
    "mixolydian": (0, 2, 4, 5, 7, 9, 10),
    "phrygian": (0, 1, 3, 5, 7, 8, 10),
}
PROGRESSIONS = ((0, 4, 5, 3), (5, 3, 0, 4), (0, 5, 1, 4), (0, 3, 0, 4), (0, 6, 5, 6), (0, 0, 0, 0), (1, 4, 0, 0))
# General MIDI programs of chords, bass and tune, by kind of band.
BANDS = {
    "band": ((24, 25, 26, 27, 28, 29, 30, 0, 4, 5, 16), (32, 33, 34, 35, 36), (0, 11, 26, 27, 65, 66, 56, 73, 80, 22)),
    "electric": ((81, 82, 83, 84, 87, 90, 62, 63, 50, 80, 88), (38, 39, 87), (80, 81, 82, 98, 99, 103, 54, 85, 11)),
    "orchestra": ((48, 49, 61, 46, 45, 6, 60), (43, 42, 58, 32), (40, 41, 42, 68, 71, 73, 56, 60)),
    "folk": ((24, 25, 105, 106, 21, 46, 15, 0), (32, 43, 24), (73, 74, 22, 21, 40, 110, 71, 75, 77)),
    "mallets": ((12, 11, 108, 13, 14, 9, 10), (12, 32, 35, 38), (11, 12, 9, 73, 79, 13)),
    "alone": ((0, 1, 0, 0, 24, 46, 2), (0,), (0,)),
}
SOFT = ((48, 49, 50, 52, 88, 89, 91, 92, 94, 95), (32, 43, 89, 91), (73, 74, 77, 79, 68, 40, 42, 46, 11, 108, 8))
PADS, KITS = (48, 50, 88, 89, 90, 91, 92, 94, 95, 52, 16, 19), (0, 0, 0, 8, 16, 24, 25, 32, 40, 48)
CHORDS, BASS, TUNE, PAD, DRUMS = 0, 1, 2, 3, 9
KICK, CROSS_STICK, OPEN_HAT, CRASH = 36, 37, 46, 49
Stroke = tuple[float, int, float]  # place in beats, drum, level
Note = tuple[float, float, int, int, int]  # start and length in seconds, channel, MIDI note, velocity


@dataclass
class Piece:
    """What a seed draws; notes are (place and length in beats, channel, MIDI note, level)."""

    chance: random.Random
    metre: int = 4
    parts: int = 4
    bpm: float = 100.0
    swing: float = 0.5
    notes: list[tuple[float, float, int, int, float]] = field(default_factory=list)

    def __post_init__(self) -> None:
        draw = self.chance
        self.metre, self.parts = weighted(draw, METRES)
        middle, spread = {(2, 3): (72, 0.28), (4, 3): (100, 0.33)}.get((self.metre, self.parts), (104, 0.36))
        self.bpm = min(208.0, max(46.0, middle * np.exp(draw.gauss(0, spread))))
        self.slow, self.fast = self.bpm < 84, self.bpm > 138
        if self.parts == 4 and not self.fast:
            self.swing = draw.choice([0.5, 0.5, 0.5, 0.5, 0.54, 0.58, 0.62, 0.667])
        if self.parts == 4 and self.bpm > 125 and draw.random() < 0.3:
            self.swing = draw.uniform(0.58, 0.68)
        self.scale, self.root = STEPS[weighted(draw, SCALES)], draw.randrange(40, 52)
        self.progression, self.bars_a_chord = draw.choice(PROGRESSIONS), draw.choice([1, 1, 1, 2, 0.5])
        self.seventh, self.up = draw.random() < 0.25, draw.choice([0, 0, 12])
        self.oom_pah = draw.random() < 0.06  # the bass on the beats, chords between
        self.rolled = draw.uniform(0, 0.06) if draw.random() < 0.4 else 0.0  # seconds from the lowest to the highest

    @property
    def half(self) -> float:
        """The middle of a beat, or two thirds of it."""
        return 2 / 3 if self.parts == 3 else 0.5

    @property
    def finest(self) -> float:
        return 1 / 3 if self.parts == 3 else 0.25

    def chord(self, bar: int) -> list[int]:
        degree = self.progression[int(bar / self.bars_a_chord) % len(self.progression)]
        return [self.note(degree + third) for third in ((0, 2, 4, 6) if self.seventh else (0, 2, 4))]

    def note(self, degree: int) -> int:
        return self.root + self.scale[degree % 7] + 12 * (degree // 7)

    def some(self, places: tuple[float, ...] | np.ndarray, share: float) -> list[float]:
        """Those of the places inside the bar that a throw keeps."""
        return [float(at) for at in places if at < self.metre and self.chance.random() < share]


def weighted(chance: random.Random, weights: dict) -> object:
    return chance.choices(list(weights), list(weights.values()))[0]


def beat_times(piece: Piece, seconds: float, moves: str) -> np.ndarray:
    """Beats with a tempo that is steady, drifts, goes one way, steps, or breathes with the phrase."""
    draw, numbers = piece.chance, np.arange(int((seconds + 14) * piece.bpm / 60) + 3 * piece.metre + 8)
    random_ = np.random.default_rng(draw.randrange(2**31))
    speed = np.ones(len(numbers))
    if moves == "drifts":
        phase = draw.uniform(0, 6)
        waves = np.sin(numbers / draw.uniform(10, 25) + phase) + 0.4 * np.sin(numbers / 5 + 2 * phase)
        speed += draw.choice([0.01, 0.02, 0.03]) * waves
    if moves == "one way":
        speed *= np.linspace(1, draw.choice([0.8, 0.88, 1.12, 1.2, 1.3]), len(numbers))
    if moves == "steps":
        speed[draw.randrange(len(numbers) // 3, 2 * len(numbers) // 3) :] *= draw.choice([0.9, 1.06, 1.12])
    if moves == "breathes":
        phrase, depth = piece.metre * draw.choice([2, 4, 8]), draw.uniform(0.03, 0.2)
        along = numbers % phrase / phrase
        speed *= 1 + depth * np.sin(np.pi * along) - depth * 0.5 - depth * 1.5 * (numbers % phrase == phrase - 1)
        speed *= np.exp(random_.normal(0, depth / 4, len(numbers))) * (1 + 0.05 * np.sin(numbers / 13))
    if moves == "sways":  # the same beats of each bar are long
        speed /= 1 + draw.uniform(0.02, 0.09) * np.cos(2 * np.pi * (numbers % piece.metre) / piece.metre + 1.0)
        speed *= 1 + draw.uniform(0.0, 0.03) * np.sin(numbers / 13)
    if moves != "steady" or draw.random() < 0.4:
        speed *= np.exp(random_.normal(0, draw.choice([0.003, 0.008]), len(numbers)))
    return np.concatenate(([0.0], np.cumsum(60 / piece.bpm / speed)[:-1]))


def drum_pattern(piece: Piece) -> list[Stroke]:
    draw, metre, fine = piece.chance, piece.metre, piece.finest
    snare, hat = draw.choice([38, 40, 39, CROSS_STICK]), draw.choice([42, 42, 44, 70, 82, 69])
    if piece.parts == 3:
        every = draw.choice([1 / 3, 1 / 3, 1])
    else:
        every = draw.choice([0.25, 0.25, 0.5, 0.5] if piece.slow else [0.5, 0.5, 1] if piece.fast else [0.5, 0.5, 0.25])
    hats = [
        (float(at), hat, draw.choice([70, 80] if at % 1 < 0.01 else [45, 60, 70])) for at in np.arange(0, metre, every)
    ]
    kinds: dict[tuple[int, bool], dict[str, int]] = {
        (3, True): {"waltz": 5, "hands": 2, "ride": 2},
        (2, True): {"two": 5, "hands": 2},
        (4, True): {"back": 30, "all four": 18, "half": 8, "broken": 10, "late": 6, "clave": 8, "hands": 8, "ride": 7}
        | {"march": 3, "sparse": 5, "even": 5},
    }
    kind = weighted(draw, kinds.get((metre, True), {"back": 4, "even": 2, "hands": 2}))
    strokes: list[Stroke] = []

    def hit(drum: int, level: float, *places: float) -> None:
        strokes.extend((float(at), drum, level) for at in places if at < metre)

    if kind == "back":
        hit(KICK, 105, 0, *piece.some((2.0,), 0.8), *piece.some(np.arange(piece.half, metre, piece.half), 0.15))
        hit(snare, 108, 1, 3)
        hit(snare, 45, *piece.some(np.arange(fine, metre, fine), 0.04))
    elif kind == "all four":
        hit(KICK, 112, *range(metre))
        hit(snare, 100, *piece.some((1, 3), 0.7))
        hit(OPEN_HAT, 90, *(beat + piece.half for beat in range(metre) if draw.random() < 0.8))
    elif kind == "half":
        hit(KICK, 108, 0, *piece.some((1.5, 2.5, 0.75, 3.5, 3.25), 0.3))
        hit(snare, 110, 2)
    elif kind == "broken":
        hit(KICK, 105, 0, *piece.some((0.5, 1.5, 2.5, 2.75, 1.75, 3.25), 0.4))
        hit(snare, 108, 1, 3)
        hit(snare, 60, *piece.some((1.75, 2.25, 3.75, 0.75, 2.75), 0.3))
    elif kind == "late":
        hit(KICK, 105, 2, *piece.some((0,), 0.4))
        hit(snare, 100, 2)
    elif kind == "clave":
        hit(draw.choice([75, 76, 56]), 95, *draw.choice([(0, 0.75, 1.5, 2.5, 3), (0, 1.5, 3), (1, 2), (0, 1.5, 2.5)]))
        hit(KICK, 95, *piece.some((0, 1.5, 2, 3.5), 0.5))
        hit(draw.choice([62, 63]), 75, *piece.some((0.5, 1.5, 2, 3, 3.5), 0.5))
    elif kind == "hands":
        low, middle, high = draw.choice([(64, 63, 62), (61, 60, 60), (66, 65, 65), (41, 43, 45), (47, 48, 50)])
        hit(low, 100, 0, *piece.some(np.arange(1, metre), 0.35))
        hit(draw.choice([middle, high]), 70, *piece.some(np.arange(piece.half, metre, piece.half), 0.5))
    elif kind == "ride":
        hit(draw.choice([51, 59, 53]), 80, *range(metre))
        hit(51, 65, *(beat + max(piece.half, piece.swing) for beat in range(1, metre, 2)))
        hit(44, 70, *range(1, metre, 2 if metre == 4 else 1))
    elif kind == "march":
        hit(KICK, 95, 0, 2)
        hit(38, 90, 1, 3)
        hit(38, 60, *piece.some(np.arange(0.5, metre, 0.25), 0.3))
    elif kind == "sparse":
        hit(KICK, 90, 0)
        hit(draw.choice([76, CROSS_STICK, 42, 39]), 80, *piece.some((1, 2, 3, 2.5, 3.5), 0.4))
    elif kind == "even":  # strokes as evenly spread over the bar as they can be
        slots = metre * (piece.parts if piece.parts != 2 else 2)
        for drum in (KICK, draw.choice([snare, 63, 76, 56]), hat):
            count = draw.randint(2, 5)
            hit(drum, 85, *(slot * metre / slots for slot in range(slots) if slot * count % slots < count))
    elif kind == "waltz":
        hit(KICK, 100, 0)
        hit(draw.choice([snare, CROSS_STICK, 42]), 80, *range(1, metre))
    elif kind == "two":
        hit(KICK, 100, 0, *piece.some((2 / 3, 5 / 3), 0.4))
        hit(snare, 100, 1)
    return strokes + (hats if kind not in ("march", "sparse", "even") and draw.random() < 0.8 else [])


def bass_pattern(piece: Piece) -> list[tuple[float, float, int]]:
    """Place, length, note of the chord."""
    metre, half = piece.metre, piece.half
    kinds = {"one": 3, "beats": 3, "halves": 3, "pushed": 4, "between": 1.5, "walks": 2, "none": 2, "two": 3, "free": 3}
    kind = "beats" if piece.oom_pah else weighted(piece.chance, kinds | {"ahead": 2.5})
    if kind == "ahead":  # held over the bar line, nothing on the first beat
        early = piece.chance.choice([1.0, 1.0, 1 - half])
        return [(-early, early + 0.6, 0), *((at, 0.8, 2) for at in piece.some((1 + half, 2 + half), 0.7))]
    if kind == "pushed":
        places = (0.75, 1.5, 2.5, 3.25, 3.5, 1.75, 2.75, 2) if piece.parts == 4 else (2 / 3, 5 / 3, 2, 8 / 3, 3, 11 / 3)
        return [(0.0, 0.7, 0), *((at, 0.5, piece.chance.choice([0, 0, 2])) for at in piece.some(places, 0.42))]
    if kind == "free":
        places = piece.some(np.arange(half, metre, half), 0.35)
        return [(0.0, 0.8, 0), *((at, 0.5, piece.chance.choice([0, 0, 2, 1])) for at in places)]
    return {
        "one": [(0.0, metre * 0.95, 0)],
        "two": [(0.0, metre * 0.45, 0), (metre / 2 if metre % 2 == 0 else metre - 1, metre * 0.4, 2)],
        "beats": [(float(beat), 0.85, 0) for beat in range(metre)],
        "walks": [(float(beat), 0.9, piece.chance.randrange(3)) for beat in range(metre)],
        "halves": [(beat + at, 0.4, 0) for beat in range(metre) for at in (0, half)],
        "between": [(beat + half, 0.4, 0) for beat in range(metre)],
        "none": [],
    }[str(kind)]


def chord_pattern(piece: Piece, alone: bool) -> list[tuple[float, float, int | None]]:
    """Place, length, and the note of the chord or None for all of them."""
    metre, half, draw = piece.metre, piece.half, piece.chance
    kinds = {"hold": 6, "broken": 5, "between": 2, "stabs": 4, "strum": 4, "low and high": 2, "beats": 2, "none": 1.5}
    kinds |= {"fine": 2, "halves": 1.5, "ahead": 2}
    kind = weighted(draw, {name: kinds[name] for name in kinds if not alone or name not in ("none", "between")})
    if piece.oom_pah and not alone:
        kind = "between"
    fine = 1 / 3 if piece.parts == 3 else 0.25 if piece.slow and draw.random() < 0.5 else 0.5
    if kind in ("broken", "fine"):
        step = fine if kind == "broken" else 1 / 3 if piece.parts == 3 else 0.5 if piece.fast else 0.25
        order = [draw.randrange(4) for _ in range(draw.choice([3, 4, 4, 6, 8]))]
        places = np.arange(0, metre - 1e-6, step)
        return [(float(at), step * 1.2, order[i % len(order)]) for i, at in enumerate(places)]
    if kind == "stabs":
        places = (0, 0.75, 1.5, 2, 2.5, 2.75, 3.5, 1) if piece.parts == 4 else (0, 2 / 3, 1, 5 / 3, 2, 8 / 3, 11 / 3)
        return [(at, 0.3, None) for at in piece.some(places, 0.4)]
    if kind == "ahead":
        later = piece.some(np.arange(1, metre - 1, half), 0.3)
        return [(half - 1, draw.choice([0.4, 1.5]), None), *((at, 0.4, None) for at in later)]
    if kind == "strum":
        return [(0.0, 0.6, None), *((at, 0.4, None) for at in piece.some(np.arange(half, metre, fine), 0.6))]
    return {
        "hold": [(0.0, metre * 0.97, None)],
        "between": [(beat + half, 0.25, None) for beat in range(metre)],
        "low and high": [(float(beat), 0.4, 0 if beat % 2 == 0 else None) for beat in range(metre)],
        "beats": [(float(beat), 0.7, None) for beat in range(metre)],
        "halves": [(beat + at, 0.4, None) for beat in range(metre) for at in (0, half)],
        "none": [],
    }[str(kind)]


def tune(piece: Piece, bars: int) -> None:
    """A motif of two bars that comes back changed, with lengths that suit the tempo."""
    draw, metre, share = piece.chance, piece.metre, piece.chance.uniform(0.6, 1)
    straight = [0.25, 0.5, 0.5, 1, 1.5] if piece.slow else [1, 1, 0.5, 2, 3] if piece.fast else [0.5, 0.5, 1, 1, 1.5, 2]
    lengths = [1 / 3, 2 / 3, 1, 1, 2] if piece.parts == 3 else straight
    motif, at = [], draw.choice([0, 0, 0, piece.half, -piece.half, -1])
    while at < 2 * metre - 0.01:
        length = draw.choice(lengths)
        if draw.random() < share:
            motif.append((at, length * 0.9, draw.randrange(-3, 9)))
        at += length
    for first in range(0, bars, 2):
        if draw.random() < 0.3:
            motif = [
                (at, length, max(-3, min(9, degree + draw.choice([-2, -1, 1, 2])))) for at, length, degree in motif
            ]
        for at, length, degree in motif if draw.random() > 0.12 else []:
            place = first * metre + at
            if 0 <= place < bars * metre and draw.random() > 0.08:
                level = draw.gauss(88 if abs(place - round(place)) < 0.05 else 80, 6)
                piece.notes.append((place, length, TUNE, piece.note(degree) + 24 + piece.up, level))


@dataclass(frozen=True)
class Written:
    """A piece before it sounds: notes, program of each channel, beats, downbeats, length in seconds."""

    notes: list[Note]
    programs: dict[int, int]
    beats: np.ndarray
    bars: np.ndarray
    seconds: float


def written(draw: random.Random) -> Written:
    piece, alone = Piece(draw), draw.random() < 0.25
    soft = not alone and draw.random() < 0.12
    seconds = draw.uniform(26, 34)
    usual = {"steady": 5, "drifts": 3, "one way": 0.7, "steps": 0.3, "breathes": 0.6, "sways": 0.6}
    freely = {"steady": 1, "drifts": 2, "breathes": 5, "sways": 1.5, "one way": 0.5}
    beats = beat_times(piece, seconds, str(weighted(draw, freely if alone else usual)))
    band = BANDS["alone" if alone else draw.choice(list(BANDS)[:-1])]
    programs = [draw.choice(group) for group in (SOFT if soft else band)]
    play(piece, len(beats) // piece.metre - 1, alone, soft)
    start = draw.uniform(0, 2 * piece.metre) * 60 / piece.bpm if draw.random() < 0.8 else 0.0
    notes = list(in_seconds(piece, beats - start, seconds, 0.006 if alone else 0.0))
    inside = (beats >= start - 0.02) & (beats < start + seconds)
    bars = inside & (np.arange(len(beats)) % piece.metre == 0)
    channels = dict(
        zip((CHORDS, BASS, TUNE, PAD, DRUMS), (*programs, draw.choice(PADS), draw.choice(KITS)), strict=True)
    )
    return Written(notes, channels, beats[inside] - start, beats[bars] - start, seconds)


def free(draw: random.Random) -> Written:
    """Notes and chords at times with no beat behind them: bells, harps, drones, a flute that wanders."""
    seconds, notes = draw.uniform(26, 34), list[Note]()
    scale, root = STEPS[weighted(draw, SCALES)], draw.randrange(40, 60)
    for channel in range(draw.choice([1, 1, 2, 3])):
        at, apart, spread = draw.uniform(0, 2), draw.choice([0.25, 0.5, 1, 2, 4]), draw.uniform(0.4, 1.0)
        long, ground, loud = draw.choice([0.5, 2, 6]), draw.choice([0, 12, 24]), draw.randint(40, 100)
        while at < seconds:
            for _ in range(draw.choice([1, 1, 1, 2, 3])):
                pitch = root + ground + scale[draw.randrange(7)] + draw.choice([0, 12])
                notes.append((at, apart * long, channel, pitch, max(8, min(127, round(draw.gauss(loud, 10))))))
            at += apart * float(np.exp(draw.gauss(0, spread)))
    kinds = (0, 8, 9, 10, 11, 14, 24, 46, 73, 77, 89, 91, 94, 95, 97, 99, 101, 112, 48, 52, 104, 108)
    return Written(notes, {channel: draw.choice(kinds) for channel in range(3)}, np.zeros(0), np.zeros(0), seconds)


def excerpt(draw: random.Random, songs: Path) -> Written:
    """Half a minute of a real song: its tune, second voice and piano, in instruments of ours, mostly with drums."""
    number, seconds = draw.choice(song_numbers(songs)), draw.uniform(26, 34)
    with np.load(songs) as file:
        rows, beats, bars = (file[f"{number}/{name}"].astype(float) for name in ("notes", "beats", "bars"))
    slower = float(np.exp(draw.gauss(0, 0.12)))
    rows[:, :2] *= slower
    beats, bars = beats * slower, bars * slower
    first = draw.uniform(0, max(0.0, beats[-1] - seconds))
    kept = rows[(rows[:, 0] >= first) & (rows[:, 0] < first + seconds)]
    band = [draw.choice(group) for group in BANDS[draw.choice([*list(BANDS), "alone", "alone"])]]
    channel, up = {0: TUNE, 1: PAD, 2: CHORDS}, draw.randint(-4, 4)
    loose = draw.choice([0.0, 0.004, 0.01])
    notes = [
        (max(0.0, at - first + draw.gauss(0, loose)), length, channel[int(part)], int(pitch) + up, int(level))
        for at, length, part, pitch, level in kept
    ]
    if draw.random() < 0.65:
        notes += list(drummed(draw, beats - first, np.isin(beats, bars), seconds))
    inside, bars_inside = (v[(v >= first - 0.02) & (v < first + seconds)] - first for v in (beats, bars))
    programs = {CHORDS: band[0], BASS: band[1], TUNE: band[2], PAD: draw.choice(BANDS["folk"][0]), DRUMS: 0}
    return Written(notes, programs, inside, bars_inside, seconds)


def freely_played(draw: random.Random, scores: Path) -> Written:
    """Half a minute of an art song as a pianist would play it."""
    number = draw.choice(song_numbers(scores))
    with np.load(scores) as file:
        song = [file[f"{number}/{name}"].astype(float) for name in ("notes", "bars", "bpm")]
    return Written(*performance(draw, song[0], song[1], float(song[2])))


def drummed(draw: random.Random, beats: np.ndarray, is_bar: np.ndarray, seconds: float) -> Iterator[Note]:
    piece = Piece(draw)
    piece.metre, piece.parts = 4, 4
    piece.bpm = 60 / float(np.median(np.diff(beats)))
    piece.slow, piece.fast = piece.bpm < 84, piece.bpm > 138
    pattern = drum_pattern(piece)
    for bar in np.flatnonzero(is_bar):
        for at, drum, level in pattern:
            if bar + at <= len(beats) - 1:
                start = float(np.interp(bar + at, np.arange(len(beats)), beats))
                if 0 <= start < seconds:
                    yield start, 0.1, DRUMS, drum, int(max(8, min(127, draw.gauss(level, 5))))


@functools.cache
def song_numbers(songs: Path) -> list[str]:
    with np.load(songs) as file:
        return sorted({name.split("/")[0] for name in file.files})


def play(piece: Piece, bars: int, alone: bool, soft: bool) -> None:
    """Write all parts; from section to section some rest, and there are two patterns of drums and chords."""
    draw, metre, section = piece.chance, piece.metre, piece.chance.choice([4, 8, 8, 16])
    drums = [drum_pattern(piece), drum_pattern(piece)] if not alone and not soft and draw.random() < 0.75 else []
    bass, chords = bass_pattern(piece), [chord_pattern(piece, alone), chord_pattern(piece, alone)]
    pad, sounding = not alone and draw.random() < (0.8 if soft else 0.35), {"drums": True, "bass": True, "chords": True}
    for bar in range(bars):
        if bar and bar % section == 0:
            sounding = {name: draw.random() < 0.88 for name in sounding}
        first, notes, which = bar * metre, piece.chord(bar), bar // section % 2 if draw.random() < 0.5 else 0
        if drums and sounding["drums"]:
            for at, drum, level in drums[which]:
                piece.notes.append((first + at, 0.2, DRUMS, drum, draw.gauss(level, 5)))
            if bar % section == section - 1 and draw.random() < 0.6:
                for at in np.arange(metre - 1, metre, piece.finest):
                    piece.notes.append(
                        (first + at, 0.2, DRUMS, draw.choice([38, 45, 47, 50, 43]), draw.randint(70, 105))
                    )
            if bar % section == 0 and draw.random() < 0.4:
                piece.notes.append((first, 1, DRUMS, CRASH, 100))
        for at, length, note in bass if sounding["bass"] else []:
            piece.notes.append((first + at, length, BASS, notes[note] - 12, draw.gauss(86, 6)))
        pedal = metre if alone and piece.rolled else 0.0  # held down until the bar ends
        for at, length, which_note in chords[which] if sounding["chords"] or not drums else []:
            for step, note in enumerate(notes if which_note is None else [notes[which_note % len(notes)]]):
                level, late = draw.gauss(76 if at % 1 < 0.01 else 70, 5), step * piece.rolled * piece.bpm / 180
                piece.notes.append((first + at + late, max(length, pedal - at), CHORDS, note + 12, level))
        for note in notes if pad else []:
            piece.notes.append((first, metre, PAD, note + 12, draw.randint(50, 70)))
    if draw.random() < 0.75:
        tune(piece, bars)


def in_seconds(piece: Piece, beats: np.ndarray, seconds: float, least_loose_s: float):  # noqa: ANN201
    draw = piece.chance
    loose = draw.choice([0, 0.002, 0.005, 0.008, 0.012, 0.018]) + least_loose_s
    late = {channel: draw.gauss(0, 0.004) for channel in range(10)}

    def when(place: float) -> float:
        whole = np.floor(place + 1e-6)
        swung = np.interp(place - whole, [0, 0.5, 1], [0, piece.swing, 1])
        return float(np.interp(whole + swung, np.arange(len(beats)), beats))

    for at, length, channel, note, level in piece.notes:
        start = when(at) + draw.gauss(0, loose) + late[channel]
        if 0 <= start < seconds:
            pitch = note if channel == DRUMS else max(24, min(103, note))
            yield start, max(0.05, when(at + length) - start), channel, int(pitch), int(max(8, min(127, level)))


def sounded(piece: Written, soundfont: Path, draw: random.Random) -> np.ndarray:
    """The piece in mono at 22.05 kHz, in a room, as one master or another."""
    synth, number = synthesiser(soundfont)
    for channel, program in piece.programs.items():
        synth.program_select(channel, number, 128 if channel == DRUMS else 0, program)
        synth.control_change(channel, 7, draw.randint(70, 127))
    edges = [(start, 1, channel, pitch, level) for start, _, channel, pitch, level in piece.notes]
    edges += [(start + length, 0, channel, pitch, 0) for start, length, channel, pitch, _ in piece.notes]
    parts, now = [], 0
    for at, on, channel, pitch, level in sorted(edges):
        frame = min(round(at * RATE), round(piece.seconds * RATE))
        if frame > now:
            parts.append(np.frombuffer(bytes(synth.generate(frame - now)), np.float32).reshape(-1, 2).mean(axis=1))
            now = frame
        if on:
            synth.noteon(channel, pitch, level)
        else:
            synth.noteoff(channel, pitch)
    rest = max(1, round(piece.seconds * RATE) - now)
    parts.append(np.frombuffer(bytes(synth.generate(rest)), np.float32).reshape(-1, 2).mean(axis=1))
    for channel in range(16):
        synth.sounds_off(channel)
    samples = np.concatenate(parts)
    samples = samples / max(1e-6, float(np.abs(samples).max()))
    return mastered(in_a_room(samples, draw), draw)


def in_a_room(samples: np.ndarray, draw: random.Random) -> np.ndarray:
    if draw.random() < 0.35:
        return samples
    length = draw.uniform(0.2, 2.2)
    noise = np.random.default_rng(draw.randrange(2**31)).standard_normal(round(length * RATE))
    echo = noise * np.exp(-6.9 * np.arange(len(noise)) / len(noise))
    echo /= np.sqrt(np.square(echo).sum())
    return samples + draw.uniform(0.05, 0.5) * fftconvolve(samples, echo)[: len(samples)]


def mastered(samples: np.ndarray, draw: random.Random) -> np.ndarray:
    drive = draw.choice([0, 0, 1, 2, 4])
    samples = samples / max(1e-6, float(np.abs(samples).max()))
    return np.tanh(drive * samples) / np.tanh(drive) if drive else samples


@functools.cache
def synthesiser(soundfont: Path):  # noqa: ANN201
    from tinysoundfont import Synth

    synth = Synth(samplerate=RATE, gain=-6)
    return synth, synth.sfload(str(soundfont))


def one(seed: int, folder: Path, soundfonts: list[Path], songs: Path | None, scores: Path | None) -> None:
    draw = random.Random(seed)
    kind = draw.random()
    if kind < 1 / 12:
        piece = free(draw)
    elif kind < 1 / 4 and songs:
        piece = excerpt(draw, songs)
    elif kind < 0.55 and scores:
        piece = freely_played(draw, scores)
    else:
        piece = written(draw)
    stream = FeatureStream()
    stream.feed(sounded(piece, draw.choice(soundfonts), draw).astype(np.float32))
    levels = stream.end().bands.astype(np.float32)
    top = np.percentile(levels.max(axis=1), 99)
    steps = np.clip(np.round((levels - top + 80) * 2.5), 0, 255).astype(np.uint8)
    np.savez(folder / f"{seed}.npz", levels=steps, beats=piece.beats, bars=piece.bars)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("seeds", type=int, nargs=2, metavar="SEED")
    parser.add_argument("soundfonts", type=Path, nargs="+")
    parser.add_argument("--songs", type=Path)
    parser.add_argument("--scores", type=Path)
    given = parser.parse_args()
    given.folder.mkdir(parents=True, exist_ok=True)
    work = functools.partial(
        one, folder=given.folder, soundfonts=given.soundfonts, songs=given.songs, scores=given.scores
    )
    with Pool() as pool:
        for _ in pool.imap_unordered(work, range(*given.seeds), chunksize=8):
            pass


if __name__ == "__main__":
    main()
