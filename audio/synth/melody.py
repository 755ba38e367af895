"""Tunes of the demo's invented music: a four-bar phrase is made up once a track, then repeated, varied and answered.

The tune is kept as steps of the scale, so that it follows key and mode; long notes move to the nearest note of the
chord. In songs the same tune is sung, a breath a bar.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from audio.synth.parts import Bar, Note, Part, note
from audio.synth.voice import Syllable

# All editorial.
_RHYTHMS = {  # onsets in beats within a bar
    4: ((0, 1, 2), (0, 1.5, 2, 3), (0, 0.5, 1, 2, 3), (0, 2), (0, 1, 1.5, 2, 2.5), (0.5, 1, 2, 3)),
    3: ((0, 1, 2), (0, 2), (0, 1.5, 2), (0, 0.5, 1, 2), (0, 1)),
    2: ((0, 2 / 3, 1), (0, 1, 5 / 3), (0, 1 / 3, 2 / 3, 1), (0, 2 / 3, 1, 5 / 3)),
}
_LAST = {4: (0, 1), 3: (0,), 2: (0,)}
_VOWELS = "aoeaiuoa"
_LONGEST_SYLLABLE_S = 0.6


@dataclass(frozen=True, slots=True)
class Tone:
    """One note of the tune: bar of the phrase, place and length in beats, scale step above the tonic."""

    bar: int  # 0 to 3
    beat: float  # within the bar, from 0
    beats: float
    step: int  # 7 is the octave


def tune(rng: np.random.Generator, beats_a_bar: int) -> tuple[Tone, ...]:
    """Make up a phrase of four bars: two rhythms, the first one repeated, and a line that rises and comes home."""
    rhythms = _RHYTHMS[beats_a_bar]
    first, second = (rhythms[int(k)] for k in rng.choice(len(rhythms), 2, replace=False))
    arch = (0, 2, 4, 1) if rng.random() < 0.5 else (2, 4, 3, 0)
    tones: list[Tone] = []
    for bar, rhythm in enumerate((first, second, first, _LAST[beats_a_bar])):
        step = arch[bar] + int(rng.integers(-1, 2))
        for beat, until in zip(rhythm, (*rhythm[1:], beats_a_bar), strict=True):
            tones.append(Tone(bar, float(beat), float(until - beat), step))
            step += int(rng.choice([-2, -1, -1, 1, 1, 2]))
    return tuple(tones)


def varied(tones: tuple[Tone, ...], phrase: int, rng: np.random.Generator) -> tuple[Tone, ...]:
    """Give the phrase as it is played the n-th time: as it is, its end changed, lifted, as it is."""
    if phrase % 4 == 1:
        return tuple(t if t.bar < 2 else Tone(t.bar, t.beat, t.beats, t.step + 1) for t in tones)
    if phrase % 4 == 2:
        return tuple(Tone(t.bar, t.beat, t.beats, t.step + (2 if rng.random() < 0.7 else 4)) for t in tones)
    return tones


def plays_now(part: Part, bar: Bar) -> bool:
    """Whether the tune sounds in this phrase: not in intros and breaks, and with rests between phrases when calm."""
    if bar.final or bar.section.name in ("intro", "break", "outro"):
        return False
    return bar.phrase % 4 != 3 if part.strength(bar.energy) > 0.6 else bar.phrase % 2 == 0


def melody(part: Part, bar: Bar, rng: np.random.Generator) -> Iterator[Note]:
    """Play this bar of the tune on an instrument; the style is the tune's name, so that parts can share one."""
    for tone in _tones_of(part, bar):
        seconds = bar.at_s(tone.beat + tone.beats) - bar.at_s(tone.beat)
        force = 0.5 + 0.3 * part.strength(bar.energy) + (0.1 if tone.beat == 0 else 0.0)
        yield note(part, bar, rng, tone.beat, _pitch(part, bar, tone), 0.96 * seconds, force)


def sung(part: Part, bar: Bar, rng: np.random.Generator) -> Iterator[Note]:
    """Sing this bar of the tune as one breath, vowels changing from note to note; long notes get two syllables."""
    tones = _tones_of(part, bar)
    if not tones:
        return
    start_s = bar.at_s(tones[0].beat)
    line: list[Syllable] = []
    for tone in tones:
        from_s, to_s = bar.at_s(tone.beat) - start_s, bar.at_s(tone.beat + tone.beats) - start_s
        share = float(rng.choice([0.34, 0.5, 0.66])) if to_s - from_s > _LONGEST_SYLLABLE_S else 1.0
        middle_s = from_s + share * (to_s - from_s)
        for one_s, other_s in ((from_s, middle_s), (middle_s, to_s)):
            if other_s - one_s > 0.05:
                vowel = _VOWELS[int(rng.integers(len(_VOWELS)))]
                line.append(Syllable(one_s, max(0.1, other_s - one_s - 0.03), _pitch(part, bar, tone), vowel))
    force = 0.65 + 0.3 * part.strength(bar.energy)
    yield Note(part.instrument, start_s, 0, 0.0, force, part.pan, part.gain, part.send, tuple(line))


def _tones_of(part: Part, bar: Bar) -> tuple[Tone, ...]:
    if not plays_now(part, bar):
        return ()
    rng = np.random.default_rng([bar.scale.tonic, *part.style.encode()])
    phrase = varied(tune(rng, bar.beats), bar.phrase, rng)
    return tuple(tone for tone in phrase if tone.bar == bar.index % 4)


def _pitch(part: Part, bar: Bar, tone: Tone) -> int:
    around = bar.scale.nearest(part.around, (0,))
    steps = (tone.step,) if tone.beats < 1 and tone.beat else bar.chord
    wanted = around + bar.scale.note(tone.step) - bar.scale.note(0)
    return bar.scale.nearest(wanted, steps)
