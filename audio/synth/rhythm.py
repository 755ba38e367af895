"""Drum patterns of the demo's invented music.

A pattern is one bar of sixteenths (in 6/8 of halved eighths, twelve of them): a digit is the force of a stroke, a dot a
rest. Each drum has three bars, for calm, middle and strong playing. Editorial.
"""

from collections.abc import Iterator

import numpy as np

from audio.synth.parts import Bar, Note, Part, note

_PATTERNS: dict[str, dict[int, tuple[str, str, str]]] = {
    "low": {
        4: ("9.........6.....", "9.....7...8.....", "9..6..8...8..65."),
        3: ("9...........", "9.......6...", "9.....7.8..."),
        2: ("9.....5.....", "9...6.7.....", "9...6.8..67."),
    },
    "high": {
        4: ("....5.......5...", "....7..4....7.4.", "..5.8..5.4..8.56"),
        3: ("....4...4...", "....6...6...", "..4.7..47.4."),
        2: ("......5...4.", "..4...7...5.", "..5.4.8.5.64"),
    },
    "edge": {
        4: ("................", "..3..3....3..3..", ".3.43.34.3.43.34"),
        3: ("............", "..3...3...3.", ".3.4.3.4.3.4"),
        2: ("............", "..3.3...3.3.", "3.434.3.434."),
    },
    "shaker": {
        4: ("5...4...5...4...", "6.4.5.4.6.4.5.4.", "7354735473547354"),
        3: ("5...4...4...", "6.4.5.4.5.4.", "735473547354"),
        2: ("5.....4.....", "6.4.4.5.4.4.", "7.5.5.6.5.5."),
    },
    "claps": {
        4: ("................", "....6.......6...", "....8.......8..5"),
        3: ("............", "....5...5...", "....7...7..."),
        2: ("............", "......6.....", "......8....."),
    },
    "kick": {4: ("9...9...9...9...", "9...9...9...9...", "9...9...9...9..6")},
    "backbeat": {4: ("....7.......7...", "....8.......8...", "....9.......9..4")},
    "hats": {4: ("..6...6...6...6.", "4.7.4.7.4.7.4.7.", "6485648564856485")},
    "open": {4: ("................", "..5...5...5...5.", "..8...8...8...8.")},
    "ride": {4: ("................", "7...5...7...5...", "7.5.7.5.7.5.7.55")},
}


def pattern(part: Part, bar: Bar, rng: np.random.Generator) -> Iterator[Note]:
    """Play one bar of the pattern that the part's style names; the last chord gets one stroke."""
    strength = part.strength(bar.energy)
    strokes = _PATTERNS[part.style][bar.beats][min(2, int(3 * strength))]
    if bar.final:
        strokes = strokes[0] + "." * (len(strokes) - 1)
    for k, stroke in enumerate(strokes):
        if stroke != ".":
            beat = k * bar.beats / len(strokes)
            yield note(part, bar, rng, beat, part.around, 0.0, int(stroke) / 9 * (0.7 + 0.3 * strength))


def fill(part: Part, bar: Bar, rng: np.random.Generator) -> Iterator[Note]:
    """Lead into the next section by a roll that grows, over the last beat or, before a rise, the last two."""
    if not bar.closes or bar.final:
        return
    strokes = 8 if bar.next_energy > bar.energy else 4
    unit = 6 if bar.triple else 4
    for k in range(strokes):
        midi = part.around + 7 - 2 * (k * 4 // strokes)
        yield note(part, bar, rng, bar.beats - (strokes - k) / unit, midi, 0.0, 0.45 + 0.5 * k / strokes)


def first_stroke(part: Part, bar: Bar, rng: np.random.Generator) -> Iterator[Note]:
    """Strike once where a section begins, and on the last chord."""
    if bar.index == 0 and (bar.number > 0 or part.strength(bar.energy) > 0.5):
        yield note(part, bar, rng, 0.0, part.around, 0.0, 0.6 + 0.3 * part.strength(bar.energy))


def rise(part: Part, bar: Bar, rng: np.random.Generator) -> Iterator[Note]:
    """Let noise rise through the last two bars of a section that leads up, one that the form calls a break."""
    if bar.section.name in ("break", "intro") and bar.index == bar.section.bars - 2:
        seconds = float(bar.times_s[2 * bar.beats] - bar.times_s[0])
        yield note(part, bar, rng, 0.0, part.around, seconds, 0.8)
