"""Who plays together in the demo's invented music: seats, gains, places and the room. Editorial throughout."""

from dataclasses import dataclass

from audio.synth.melody import melody, sung
from audio.synth.parts import (
    Part,
    broken_chord,
    held_chord,
    held_root,
    low_line,
    now_and_then,
    pumping_chord,
    riff,
    two_hands,
    wave,
)
from audio.synth.rhythm import fill, first_stroke, pattern, rise


@dataclass(frozen=True, slots=True)
class Ensemble:
    """Who plays together, and in which room."""

    parts: tuple[Part, ...]
    room_s: float  # length of the echo, down to -60 dB
    room: float  # its amplitude
    drive: float = 0.0  # how hard the whole is driven into soft clipping; 0: not at all


_SEA = Part(wave, "wash", gain=0.04, send=0.2)
_HANDS = (
    Part(pattern, "skin", 0.0, 0.8, 0.75, -0.1, 0.18, 43, 0.007, "low"),
    Part(pattern, "skin", 0.2, 0.8, 0.45, 0.25, 0.22, 52, 0.008, "high"),
    Part(pattern, "slap", 0.3, 0.85, 0.30, 0.3, 0.22, 52, 0.008, "edge"),
    Part(pattern, "shaker", 0.28, 0.8, 0.16, -0.45, 0.12, 60, 0.006, "shaker"),
    Part(pattern, "clap", 0.5, 0.8, 0.22, 0.1, 0.35, 60, 0.010, "claps"),
    Part(fill, "skin", 0.35, 0.8, 0.5, 0.0, 0.25, 47, 0.006),
)
_DECK = (
    Part(broken_chord, "pluck", 0.25, 0.8, 0.22, 0.4, 0.25, 57, 0.008),
    Part(low_line, "bass", 0.3, 0.7, 0.34, 0.0, 0.05, 38, 0.006, "steps"),
    Part(melody, "pipe", 0.4, 0.8, 0.20, -0.3, 0.4, 74, 0.015, "oar"),
    Part(held_chord, "pad", 0.25, 0.7, 0.08, 0.0, 0.4, 57, 0.02),
)
_KIT = (
    Part(pattern, "kick", 0.66, 0.95, 0.50, 0.0, 0.02, 33, 0.001, "kick"),
    Part(pattern, "snare", 0.7, 0.95, 0.48, 0.05, 0.15, 60, 0.002, "backbeat"),
    Part(pattern, "clap", 0.76, 0.95, 0.42, -0.05, 0.25, 60, 0.004, "backbeat"),
    Part(pattern, "hat", 0.6, 0.9, 0.46, 0.3, 0.06, 60, 0.003, "hats"),
    Part(pattern, "open_hat", 0.68, 0.9, 0.42, -0.3, 0.08, 60, 0.003, "open"),
    Part(pattern, "ride", 0.8, 0.98, 0.34, 0.5, 0.10, 60, 0.003, "ride"),
    Part(pattern, "shaker", 0.7, 0.95, 0.30, -0.6, 0.08, 60, 0.004, "shaker"),
    Part(fill, "skin", 0.6, 0.9, 0.7, 0.0, 0.25, 45, 0.003),
    Part(first_stroke, "crash", 0.72, 0.95, 0.42, 0.2, 0.25, 60, 0.001),
    Part(rise, "riser", 0.6, 0.9, 0.30, 0.0, 0.2),
)
_MACHINE = (
    Part(low_line, "bass", 0.66, 0.95, 0.28, 0.0, 0.02, 38, 0.002, "pulse"),
    Part(pumping_chord, "surge", 0.5, 0.95, 0.34, 0.0, 0.20, 60, 0.001),
    Part(riff, "lead", 0.5, 1.0, 0.20, 0.15, 0.22, 67, 0.003),
)

ENSEMBLES: dict[str, Ensemble] = {
    "drone": Ensemble(
        (
            Part(held_root, "drone", gain=0.34, send=0.3, around=45, loose_s=0.3),
            Part(held_root, "choir", 0.05, 0.2, 0.16, -0.1, 0.5, 57, 0.3),
            Part(held_chord, "pad", 0.03, 0.2, 0.07, 0.1, 0.5, 62, 0.3),
            Part(now_and_then, "bowl", 0.05, 0.4, 0.09, 0.3, 0.6, 69, 0.2),
            _SEA,
        ),
        4.5, 0.8,
    ),
    "pads": Ensemble(
        (
            Part(held_chord, "pad", gain=0.16, send=0.4, around=58, loose_s=0.05),
            Part(held_root, "drone", gain=0.18, send=0.2, around=41, loose_s=0.1),
            Part(held_chord, "choir", 0.10, 0.3, 0.09, 0.0, 0.5, 65, 0.08),
            Part(now_and_then, "keys", 0.06, 0.3, 0.15, 0.25, 0.5, 70, 0.03),
            Part(now_and_then, "bowl", 0.04, 0.5, 0.07, -0.35, 0.6, 74, 0.05),
            Part(melody, "pipe", 0.15, 0.3, 0.08, -0.15, 0.6, 74, 0.03, "shore"),
            _SEA,
        ),
        4.0, 0.8,
    ),
    "pluck": Ensemble(
        (
            Part(broken_chord, "pluck", 0.0, 0.5, 0.30, -0.35, 0.25, 57, 0.010),
            Part(melody, "pluck", 0.2, 0.5, 0.34, 0.35, 0.30, 72, 0.012, "net"),
            Part(melody, "pipe", 0.30, 0.5, 0.13, 0.1, 0.45, 72, 0.02, "net"),
            Part(low_line, "bass", 0.2, 0.6, 0.26, 0.0, 0.05, 38, 0.008, "held"),
            Part(held_chord, "pad", 0.24, 0.6, 0.06, 0.0, 0.4, 60, 0.02),
            Part(pattern, "shaker", 0.33, 0.8, 0.10, 0.5, 0.15, 60, 0.008, "shaker"),
            Part(pattern, "skin", 0.36, 0.9, 0.35, -0.1, 0.2, 45, 0.008, "low"),
        ),
        1.9, 0.55,
    ),
    "tongues": Ensemble(
        (
            Part(broken_chord, "tongue", 0.0, 0.5, 0.30, -0.3, 0.25, 62, 0.007),
            Part(melody, "tongue", 0.2, 0.5, 0.32, 0.35, 0.35, 77, 0.009, "wick"),
            Part(low_line, "bass", 0.2, 0.5, 0.24, 0.0, 0.05, 41, 0.008, "steps"),
            Part(held_chord, "choir", 0.25, 0.5, 0.09, 0.0, 0.4, 62, 0.02),
            Part(pattern, "shaker", 0.28, 0.7, 0.09, 0.5, 0.15, 60, 0.007, "shaker"),
        ),
        1.6, 0.5,
    ),
    "ballad": Ensemble(
        (
            Part(two_hands, "keys", 0.0, 0.4, 0.34, -0.1, 0.3, 60, 0.012),
            Part(melody, "keys", 0.13, 0.4, 0.38, 0.15, 0.35, 74, 0.014, "wrack"),
            Part(held_chord, "pad", 0.15, 0.5, 0.07, 0.0, 0.4, 62, 0.03),
            Part(low_line, "bass", 0.22, 0.5, 0.20, 0.0, 0.05, 36, 0.010, "held"),
            Part(melody, "pipe", 0.27, 0.5, 0.09, -0.25, 0.5, 74, 0.02, "wrack"),
        ),
        2.6, 0.6,
    ),
    "song": Ensemble(
        (
            Part(sung, "sing", 0.1, 0.5, 0.27, 0.0, 0.16, 59, 0.0, "river"),
            Part(broken_chord, "pluck", 0.0, 0.6, 0.17, -0.4, 0.25, 55, 0.010),
            Part(held_chord, "pad", 0.15, 0.6, 0.10, 0.1, 0.4, 60, 0.02),
            Part(low_line, "bass", 0.22, 0.6, 0.26, 0.0, 0.05, 38, 0.008, "steps"),
            Part(pattern, "skin", 0.28, 0.7, 0.45, -0.1, 0.2, 45, 0.008, "low"),
            Part(pattern, "skin", 0.34, 0.7, 0.25, 0.25, 0.2, 54, 0.008, "high"),
            Part(pattern, "shaker", 0.32, 0.7, 0.12, 0.5, 0.15, 60, 0.007, "shaker"),
        ),
        2.2, 0.55,
    ),
    "hands": Ensemble((*_HANDS, *_DECK), 1.4, 0.5),
    "stamp": Ensemble(
        (*_HANDS, *_DECK, Part(pattern, "kick", 0.5, 0.9, 0.40, 0.0, 0.05, 33, 0.003, "kick")),
        1.4, 0.5,
    ),
    "chant": Ensemble(
        (
            *_HANDS,
            Part(sung, "sing", 0.4, 0.8, 0.34, 0.1, 0.30, 60, 0.0, "mallet"),
            Part(sung, "sing", 0.6, 0.8, 0.24, -0.4, 0.35, 53, 0.0, "mallet"),
            Part(low_line, "bass", 0.3, 0.7, 0.34, 0.0, 0.05, 36, 0.006, "steps"),
            Part(pattern, "kick", 0.6, 0.9, 0.50, 0.0, 0.05, 33, 0.003, "kick"),
            Part(riff, "pluck", 0.5, 0.8, 0.20, 0.4, 0.2, 65, 0.006),
        ),
        1.6, 0.5,
    ),
    "drive": Ensemble(
        (*_KIT, *_MACHINE, Part(melody, "lead", 0.84, 1.0, 0.20, -0.2, 0.3, 72, 0.004, "gale")),
        1.5, 0.4, 1.1,
    ),
    "anthem": Ensemble(
        (*_KIT, *_MACHINE, Part(sung, "sing", 0.8, 1.0, 0.60, 0.0, 0.30, 62, 0.0, "flare")),
        1.7, 0.45, 1.0,
    ),
}  # fmt: skip
