"""Chant that was never sung: is it told from a drone, from speech, and a group from one singer?

    python tests/benchmarks/chant.py FOLDER [PIECES]

Voices are made here: harmonics of a wavering pitch, shaped by the formants of vowels and of a hum, in syllables on two
to four notes with pauses for breath; speech comes from espeak-ng, and so does reciting, held at one pitch. Below lie a
drone like a harmonium's (two rows of reeds, a breathing bellows), one like a tanpura's (four strings plucked in turn,
their overtones swelling one after the other) or both. Six kinds: none, speech, recited, one singer, call and response
(one, then five), choir (six). Formants: means of men's vowels of G. Peterson, H. Barney, JASA 24, 1952, from memory.
Nothing was fitted or chosen on these sounds. They can't stand for: real consonants, rooms, worn tapes, bells and drums
on top, overtone or throat singing, languages.
"""

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import soxr
from analysis import SPOKEN, mono
from fit_voice import auc, interval

from audio.measure import analysis
from audio.measure.voice import choir_of, voice_curves

RATE, SECONDS, CONTROL = 22_050, 24, 100  # Hz of what moves a voice
VOWELS = {"a": (730, 1090, 2440), "o": (570, 840, 2410), "u": (300, 870, 2240), "i": (270, 2290, 3010)}
VOWELS |= {"e": (530, 1840, 2480), "m": (250, 1000, 2200)}
WIDTHS, LOUD = (70.0, 100.0, 160.0), {"m": 0.35}
SYLLABLES = ("om", "na", "ma", "hi", "sa", "re", "lo", "ka", "um", "va", "yu", "de", "a", "o")


def main() -> None:
    folder, pieces = Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 8
    folder.mkdir(parents=True, exist_ok=True)
    kinds: dict[str, Callable[[np.random.Generator, float], np.ndarray]] = {
        "none": lambda random, hertz: np.zeros(SECONDS * RATE),
        "speech": lambda random, hertz: spoken(random, folder, flat=False),
        "recited": lambda random, hertz: spoken(random, folder, flat=True),
        "one singer": lambda random, hertz: sung(random, hertz, chant(random)),
        "call and response": answered,
        "choir": lambda random, hertz: together(random, hertz, chant(random), 6),
    }
    found = {name: np.array([measured(make, seed) for seed in range(pieces)]) for name, make in kinds.items()}
    for name, values in found.items():
        voice, speech, choir, share, talk = values.mean(axis=0)
        print(f"{name}: voice {voice:.2f}, in {share:.0%} of the seconds; speech {speech:.2f}, in {talk:.0%};", end=" ")
        print(f"choir {choir:.2f}; a voice in more than a tenth in {np.mean(values[:, 3] > 0.1):.0%} of {pieces}")
    sung_ = np.concatenate([found[name] for name in ("one singer", "call and response", "choir")])
    compared("voice: sung against none", sung_[:, 0], found["none"][:, 0])
    compared("voice: speech against none", found["speech"][:, 0], found["none"][:, 0])
    compared("speech: spoken against sung", found["speech"][:, 1], sung_[:, 1])
    compared("speech: recited against sung", found["recited"][:, 1], sung_[:, 1])
    compared("choir against one singer", found["choir"][:, 2], found["one singer"][:, 2])


def compared(what: str, one: np.ndarray, other: np.ndarray) -> None:
    low, high = interval(one, other)
    print(f"{what}: AUC {auc(one, other):.3f} (95 % {low:.3f} to {high:.3f}), {len(one)} and {len(other)}")


def measured(voice: Callable[[np.random.Generator, float], np.ndarray], seed: int) -> tuple[float, ...]:
    """Means of voice, speech and choir, and the shares of seconds with a voice and with speech."""
    random = np.random.default_rng(seed)
    hertz = float(random.uniform(110, 175))
    ground, over = drone(random, hertz, seed % 3), voice(random, hertz * random.choice([1, 1, 2]))
    if over.any():
        over = over * np.sqrt(np.mean(ground**2) / np.mean(over**2)) * 10 ** (random.uniform(-3, 6) / 20)
    samples = ground + over
    samples = (0.5 * samples / np.abs(samples).max()).astype(np.float32)
    run = analysis.Pass(RATE, (2.0,))
    run.feed(samples[:, None])
    _, heard, voices = run.end()
    curve, speech = voice_curves(voices, heard.odds, heard.middles_s, SECONDS)
    choir = choir_of(heard.odds, heard.middles_s, curve)
    return (
        *(float(v) for v in (curve.mean(), speech.mean(), choir)),
        *(float((v >= 0.5).mean()) for v in (curve, speech)),
    )


def drone(random: np.random.Generator, hertz: float, kind: int) -> np.ndarray:
    parts = {0: [reeds], 1: [strings], 2: [reeds, strings]}[kind]
    return np.sum([each(random, hertz) for each in parts], axis=0)


def reeds(random: np.random.Generator, hertz: float) -> np.ndarray:
    """Root, fifth and octave, two reeds each a few cents apart, harmonics falling slowly, a bellows that breathes."""
    time_s, out = np.arange(SECONDS * RATE) / RATE, np.zeros(SECONDS * RATE)
    bellows = 1 + 0.25 * np.sin(2 * np.pi * time_s / random.uniform(2.5, 5)) + 0.03 * np.sin(2 * np.pi * 5.5 * time_s)
    for ratio in (1, 1.5, 2):
        for cents in random.uniform(-7, 7, 2):
            base = hertz * ratio * 2 ** (cents / 1200)
            for number in range(1, int(4500 / base)):
                out += np.sin(2 * np.pi * base * number * time_s + random.uniform(0, 6)) / number**0.8
    return bellows * out / np.sqrt(np.mean(out**2))


def strings(random: np.random.Generator, hertz: float) -> np.ndarray:
    """Fifth, octave, octave, root, one after the other; each overtone rises later the higher it is."""
    out, at, number, apart = np.zeros((SECONDS + 6) * RATE), 0.0, 0, random.uniform(0.8, 1.3)
    time_s = np.arange(5 * RATE) / RATE
    while at < SECONDS:
        base = hertz * (0.75, 1, 1, 0.5)[number % 4] * 2
        pluck = sum(
            np.sin(2 * np.pi * base * h * time_s)
            * np.minimum(1, time_s / (0.005 + 0.03 * h))
            * np.exp(-time_s * 0.25 * h**0.7)
            / h**0.6
            for h in range(1, int(5000 / base))
        )
        first = round(at * RATE)
        out[first : first + len(pluck)] += pluck
        at, number = at + apart * random.normal(1, 0.02), number + 1
    return out[: SECONDS * RATE] / np.sqrt(np.mean(out**2))


def chant(random: np.random.Generator) -> list[tuple[float, float, int, str]]:
    """Start and length in seconds, steps above the root, and a syllable; a line of some that comes again."""
    scale = (0, 0, 0, *((2, 4, -3) if random.random() < 0.5 else (1, 3, 5)))
    line = [
        (float(random.choice([0.3, 0.45, 0.6, 0.9, 1.6])), int(random.choice(scale)), str(random.choice(SYLLABLES)))
        for _ in range(random.integers(5, 9))
    ]
    found, at = list[tuple[float, float, int, str]](), float(random.uniform(0.3, 1))
    while at < SECONDS - 1:
        for length, step, syllable in line:
            found.append((at, length, step, syllable))
            at += length
        at += float(random.uniform(0.4, 0.9))
    return [each for each in found if each[0] + each[1] < SECONDS - 0.2]


def answered(random: np.random.Generator, hertz: float) -> np.ndarray:
    """Every second line of the chant is sung by five."""
    line = chant(random)
    ends = [number for number in range(1, len(line)) if line[number][0] - sum(line[number - 1][:2]) > 0.2]
    which = np.searchsorted(ends, np.arange(len(line)), side="right") % 2
    parts = [[note for note, turn in zip(line, which, strict=True) if turn == whose] for whose in (0, 1)]
    return sung(random, hertz, parts[0]) + 0.5 * together(random, hertz, parts[1], 5)


def together(
    random: np.random.Generator, hertz: float, notes: list[tuple[float, float, int, str]], count: int
) -> np.ndarray:
    """Several singers, men and women, each a little late or early, and out of tune in a way of their own."""
    octave = random.permutation(np.arange(count) % 2)
    moved = [[(max(0.0, at + random.normal(0, 0.04)), *rest) for at, *rest in notes] for _ in range(count)]
    voices = [sung(random, hertz * 2.0**up, part) for up, part in zip(octave, moved, strict=True)]
    return np.sum(voices, axis=0)


def sung(random: np.random.Generator, hertz: float, notes: list[tuple[float, float, int, str]]) -> np.ndarray:
    """One voice: `hertz` is its root; above 200 Hz the formants of a smaller head."""
    count = SECONDS * CONTROL
    pitch, loud, shapes = (
        np.full(count, np.log(hertz)),
        np.zeros(count),
        np.tile(np.array(VOWELS["m"], float), (count, 1)),
    )
    for at, length, step, syllable in notes:
        first, last = round(at * CONTROL), round((at + length) * CONTROL)
        vowels = [letter for letter in syllable if letter in VOWELS]
        for number, vowel in enumerate(vowels):
            part = slice(
                first + (last - first) * number // len(vowels), first + (last - first) * (number + 1) // len(vowels)
            )
            shapes[part], loud[part] = VOWELS[vowel], LOUD.get(vowel, 1.0)
        pitch[first:last] = np.log(hertz) + step * np.log(2) / 12 + random.normal(0, 0.004)
        loud[last - 4 : last] = 0
    time_s = np.arange(count) / CONTROL
    smooth = np.hanning(9) / np.hanning(9).sum()
    pitch = np.convolve(np.pad(pitch, 4, mode="edge"), smooth, mode="valid")
    pitch += random.uniform(0, 0.012) * np.sin(
        2 * np.pi * random.uniform(4.8, 6) * time_s
    ) + 0.002 * random.standard_normal(count)
    loud = np.convolve(loud, smooth, mode="same")
    shapes = np.stack([np.convolve(np.pad(row, 4, mode="edge"), smooth, mode="valid") for row in shapes.T], axis=1)
    return voiced(random, np.exp(pitch), loud, shapes * (1.17 if hertz > 200 else 1.0) * random.normal(1, 0.04))


def voiced(random: np.random.Generator, pitch: np.ndarray, loud: np.ndarray, shapes: np.ndarray) -> np.ndarray:
    """Harmonics under the formants, and a little breath."""
    at, moves = np.arange(SECONDS * RATE) / RATE, np.arange(len(pitch)) / CONTROL
    phase = 2 * np.pi * np.cumsum(np.interp(at, moves, pitch)) / RATE
    out = np.zeros(len(at))
    for number in range(1, min(36, int(4500 / pitch.mean()))):
        hertz = number * pitch
        gain = sum(1 / (1 + ((hertz - shapes[:, k]) / WIDTHS[k]) ** 2) * 0.6**k for k in range(3)) + 0.01
        out += np.interp(at, moves, loud * gain / number**0.6) * np.sin(number * phase)
    breath = 0.02 * random.standard_normal(len(at)) * np.interp(at, moves, loud)
    return out + breath


def spoken(random: np.random.Generator, folder: Path, *, flat: bool) -> np.ndarray:
    """A synthesiser's voice with pauses; flat: held at one pitch and slower, as a text is recited."""
    language = str(random.choice(list(SPOKEN)))
    path = folder / f"{'recited' if flat else 'spoken'}_{language}.wav"
    if not path.exists():
        prosody = f'<speak><prosody range="0%" rate="70%">{SPOKEN[language]}</prosody></speak>'
        said = ["-m", prosody] if flat else [SPOKEN[language]]
        subprocess.run(["espeak-ng", "-v", language, "-s", "130", "-w", path, *said], check=True)
    voice, rate = mono(path)
    pause = np.zeros(round(random.uniform(0.8, 2.0) * RATE))
    return np.resize(np.concatenate((soxr.resample(voice, rate, RATE), pause)), SECONDS * RATE)


if __name__ == "__main__":
    main()
