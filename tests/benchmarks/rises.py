"""How near climax, breaks and ending that are heard lie to those that the score has.

    python tests/benchmarks/rises.py MIDI_FOLDER SOUNDFONT

Every MIDI file of one to seven minutes is rendered with fluidsynth and measured. The score's own curve is read from its
notes alone: density (notes a second, weighed by velocity and the channel's volume), power (what sounds, squared and
summed, in dB), and the mean of both, each over 8 s. Right is a climax within 4 s of a moment within 5 % of the curve's
highest. A break that is found begins within 2 s of one of the score's, or shares half of the shorter.
Needs fluidsynth and mido. Used: the MIDI of Freedoom (BSD) and of OpenTTD's OpenMSX (GPL), performances of ASAP (F.
Foscarin and others, ASAP, ISMIR 2020; for measuring only) and arrangements of POP909 (MIT).
"""

import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import mido
import numpy as np
from scipy.ndimage import uniform_filter1d

from audio.files.decode import Decoder
from audio.measure.beats import NO_BEATS
from audio.measure.features import FeatureStream
from audio.measure.rises import shape_of
from audio.measure.spectrum import MonoStream
from audio.track import Shape

PER_S, OVER_S, WITHIN_S, NEARLY = 4, 8, 4.0, 0.05
SHORTEST_S, LONGEST_S, DEEP_DB = 1.5, 20, 5.0  # breaks
SUSTAINED = {*range(16, 24), *range(40, 104), 109, 110, 111}  # General MIDI programs that sound until they are let go
Note = tuple[float, float, float, bool, bool]  # start, end, strength, is a drum, is sustained


def notes_of(path: Path) -> list[Note]:
    now, found, open_ = 0.0, list[Note](), dict[tuple[int, int], list[tuple[float, float]]]()
    programs, volume, expression = [0] * 16, [100] * 16, [127] * 16
    for message in mido.MidiFile(path, clip=True):
        now += message.time
        if message.is_meta or not hasattr(message, "channel"):
            continue
        channel = message.channel
        if message.type == "program_change":
            programs[channel] = message.program
        elif message.type == "control_change" and message.control in (7, 11):
            (volume if message.control == 7 else expression)[channel] = message.value
        elif message.type == "note_on" and message.velocity:
            strength = message.velocity / 127 * volume[channel] / 100 * expression[channel] / 127
            open_.setdefault((channel, message.note), []).append((now, strength))
        elif message.type in ("note_on", "note_off") and open_.get((channel, message.note)):
            start, strength = open_[channel, message.note].pop(0)
            found.append((start, now, strength, channel == 9, channel != 9 and programs[channel] in SUSTAINED))
    return found


def sounding(notes: list[Note], seconds: float) -> tuple[np.ndarray, np.ndarray]:
    """What is struck, and the power of what sounds, `PER_S` values a second."""
    steps = int(np.ceil(seconds)) * PER_S
    density, power = np.zeros((2, steps))
    for start, end, strength, drum, sustained in notes:
        first = int(start * PER_S)
        length = 2 * PER_S if drum else max(1, int(np.ceil((end - start) * PER_S)))
        part = power[first : first + length]
        part += strength**2 * (1 if sustained else np.exp(-np.arange(len(part)) / PER_S / (0.2 if drum else 0.8)))
        density[first : first + 1] += strength
    return density, power


def curves(notes: list[Note], seconds: float) -> dict[str, np.ndarray]:
    """The score's curves, a value a second, each from 0 (its 5th percentile) to 1 (its highest)."""
    second = [smooth(values.reshape(-1, PER_S).mean(axis=1)) for values in sounding(notes, seconds)]
    level = 10 * np.log10(second[1] + 1e-4)
    one, two = scaled(second[0]), scaled(np.maximum(level, level.max() - 30))
    return {"density": one, "power": two, "both": scaled(one + two)}


def breaks(notes: list[Note], seconds: float) -> dict[str, list[tuple[float, float]]]:
    """Where the score falls back for a while: all of it rests, or its power or what is struck drops to a third."""
    density, power = sounding(notes, seconds)
    return {
        "rests": rests(notes),
        "power drops": list(falls(10 * np.log10(uniform_filter1d(power, PER_S) + 1e-4))),
        "density drops": list(falls(10 * np.log10(uniform_filter1d(density, 2 * PER_S) + 1e-2))),
    }


def rests(notes: list[Note]) -> list[tuple[float, float]]:
    """Stretches of 1.5 s and more, between notes, in which nothing sounds; a drum sounds for a quarter of a second."""
    found, until = list[tuple[float, float]](), min(notes)[0]
    for start, end, _, drum, _ in sorted(notes):
        if start - until >= SHORTEST_S:
            found.append((until, start))
        until = max(until, start + 0.25 if drum else end)
    return found


def falls(level: np.ndarray) -> Iterator[tuple[float, float]]:
    """Where a level in dB lies 5 below the mean of the 8 s before for 1.5 s, and is back at half that within 20 s."""
    at, shortest = OVER_S * PER_S, round(SHORTEST_S * PER_S)
    while at + shortest < len(level):
        before = level[at - OVER_S * PER_S : at].mean()
        back = np.flatnonzero(level[at : at + LONGEST_S * PER_S] > before - DEEP_DB / 2)
        if len(back) and level[at : at + shortest].max() < before - DEEP_DB:
            yield at / PER_S, (at + int(back[0])) / PER_S
            at += int(back[0])
        at += 1


def ending(notes: list[Note], seconds: float) -> float:
    """When the score's power over 2 s is for the last time within 3 dB of its median."""
    level = 10 * np.log10(uniform_filter1d(sounding(notes, seconds)[1], 2 * PER_S) + 1e-4)
    last = max(end for _, end, *_ in notes)
    inside = level[: int(last * PER_S)]
    return float(np.flatnonzero(inside >= np.median(inside) - 3)[-1] + 1) / PER_S


def meet(one: tuple[float, float], other: tuple[float, float]) -> bool:
    """Whether two stretches begin within 2 s, or share half of the shorter."""
    shared = min(one[1], other[1]) - max(one[0], other[0])
    return abs(one[0] - other[0]) <= 2 or shared >= 0.5 * min(one[1] - one[0], other[1] - other[0])


def smooth(values: np.ndarray) -> np.ndarray:
    return uniform_filter1d(values, OVER_S, mode="constant") / uniform_filter1d(
        np.ones(len(values)), OVER_S, mode="constant"
    )


def scaled(values: np.ndarray) -> np.ndarray:
    low = np.percentile(values, 5)
    return (values - low) / max(1e-9, values.max() - low)


def heard(path: Path, soundfont: Path) -> tuple[Shape, float]:
    """The shape that is heard, and the seconds of the render."""
    with tempfile.TemporaryDirectory() as folder:
        wav = Path(folder) / "piece.wav"
        command = ["fluidsynth", "-ni", "-g", "0.4", "-r", "22050", "-F", wav, soundfont, path]
        subprocess.run(command, check=True, capture_output=True)
        with Decoder(wav) as decoder:
            mono, stream, frames = MonoStream(decoder.rate), FeatureStream(), 0
            for block in decoder.blocks():
                stream.feed(mono.feed(block.samples))
                frames += len(block.samples)
        stream.feed(mono.end())
    seconds = frames / decoder.rate
    return shape_of(stream.end(), NO_BEATS, seconds), seconds


def main() -> None:
    right, ends = dict[str, list[bool]](), list[float]()
    for path in sorted(Path(sys.argv[1]).glob("*.mid")):
        notes = notes_of(path)
        length = max((end for _, end, *_ in notes), default=0.0)
        if not (60 <= length <= 420 and len(notes) >= 50):
            continue
        shape, seconds = heard(path, Path(sys.argv[2]))
        for name, hits in (*climax_hits(shape, notes, seconds), *break_hits(shape, notes, seconds)):
            right.setdefault(name, []).extend(hits)
        ends.append((shape.ending_s or seconds) - ending(notes, seconds))
    for name, hits in right.items():
        print(f"{name}: {np.mean(hits or [0]):.1%} of {len(hits)}")
    print(f"ending: median {np.median(np.abs(ends)):.1f} s off, within 4 s in {np.mean(np.abs(ends) <= WITHIN_S):.0%}")


def climax_hits(shape: Shape, notes: list[Note], seconds: float) -> Iterator[tuple[str, list[bool]]]:
    for name, curve in curves(notes, seconds).items():
        high = np.flatnonzero(curve >= 1 - NEARLY) + 0.5
        climax = shape.climax_s
        yield f"climax by {name}", [climax is not None and float(np.abs(high - climax).min()) <= WITHIN_S]


def break_hits(shape: Shape, notes: list[Note], seconds: float) -> Iterator[tuple[str, list[bool]]]:
    said, true = [(each.start_s, each.end_s) for each in shape.breaks], breaks(notes, seconds)
    for name, stretches in true.items():
        yield f"{name} found", [any(meet(one, other) for other in said) for one in stretches]
    everything = [stretch for stretches in true.values() for stretch in stretches]
    yield "breaks said that the score has", [any(meet(one, other) for other in everything) for one in said]


if __name__ == "__main__":
    main()
