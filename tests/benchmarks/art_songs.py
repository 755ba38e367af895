"""The songs of OpenScore Lieder as arrays, for `beat_music.py --scores`.

    python tests/benchmarks/art_songs.py SCORES FILE.npz [--kept]

SCORES is the folder of that name of the repository OpenScore/Lieder (CC0): M. Gotham, P. Jonas, "The OpenScore Lieder
corpus", Music Encoding Conference 2021; songs with piano of the 19th century, as MusicXML. FILE gets NUMBER/notes (start
and length in beats, part, pitch, level; part 0 tune, 1 right hand, 2 left hand; a grace note has no length),
NUMBER/bars (in beats) and NUMBER/bpm (0 where the score has none). A beat is what the time signature counts, in 6/8 and
its like three of them. Left out are songs whose number ends in 3, and those in which more than one bar of ten is not as
long as its signature says. Of those that end in 3, the ones with an even digit before it are kept for judging; with
--kept, FILE gets those with an odd one, for `fit_bars.py`. Repeats are played once.
"""

import sys
import zipfile
from collections.abc import Iterator
from multiprocessing import Pool
from pathlib import Path
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import numpy as np
from pop_songs import wanted

SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
LEVEL = 80.0  # MIDI velocity where the score has no dynamics
Row = tuple[float, float, int, int, float]


def main() -> None:
    paths = [path for path in sorted(Path(sys.argv[1]).rglob("*.mxl")) if wanted(path.stem, "--kept" in sys.argv)]
    with Pool() as pool:
        read_ = pool.map(read, paths)
    songs = {path.stem: song for path, song in zip(paths, read_, strict=True) if song}
    arrays = {f"{number}/{name}": value for number, song in songs.items() for name, value in song.items()}
    np.savez_compressed(sys.argv[2], **arrays)
    print(len(songs), "songs of", len(paths))


def read(path: Path) -> dict[str, np.ndarray] | None:
    """Notes, bars and tempo in beats; None where bars and signatures don't agree, or there is no second part."""
    with zipfile.ZipFile(path) as file:
        name = next(name for name in file.namelist() if not name.startswith("META-INF"))
        root = ElementTree.fromstring(file.read(name))
    parts = root.findall("part")
    if not 1 < len(parts) < 5:
        return None
    for part in parts:
        mark_divisions(part)
    measures = Measures(parts[0])
    if measures.irregular > 0.1 or len(measures.bars) < 12:
        return None
    rows = np.array([row for number, part in enumerate(parts) for row in notes(part, number == len(parts) - 1)])
    rows[:, 1] = measures.in_beats(rows[:, 0] + rows[:, 1]) - measures.in_beats(rows[:, 0])
    rows[:, 0] = measures.in_beats(rows[:, 0])
    sound = next((mark for mark in root.iter("sound") if mark.get("tempo")), None)
    bpm = float(sound.get("tempo", 0)) / measures.quarters_a_beat if sound is not None else 0.0
    order = np.argsort(rows[:, 0], kind="stable")
    bars = measures.in_beats(np.array(measures.bars))
    return {"notes": rows[order].astype(np.float32), "bars": bars.astype(np.float32), "bpm": np.float32(bpm)}


class Measures:
    """Where bars and beats begin, in quarters."""

    def __init__(self, part: Element) -> None:
        self.bars, self.beats, self.quarters_a_beat = list[float](), list[float](), 1.0
        now, odd, beat, count, first = 0.0, 0, 1.0, 4, True
        for measure in part.iter("measure"):
            signature = measure.find("attributes/time")
            if signature is not None and signature.find("beats") is not None:
                beat, count = beat_of(signature)
            length = long(measure)
            short = abs(length - beat * count) > 0.01
            odd += short and not first
            missing = count - length / beat if short and length < beat * count else 0.0
            starts = [now + (at - missing) * beat for at in range(count + 8) if missing - 0.01 <= at]
            self.beats += [at for at in starts if at < now + length - 0.01]
            if missing < 0.01:
                self.bars.append(now)
            self.quarters_a_beat = beat if first else self.quarters_a_beat
            now, first = now + length, False
        self.beats.append(now)
        self.irregular = odd / max(1, len(self.bars))

    def in_beats(self, quarters: np.ndarray) -> np.ndarray:
        return np.interp(quarters, self.beats, np.arange(len(self.beats)))


def mark_divisions(part: Element) -> None:
    """Write on each measure the parts of a quarter that its lengths count, which the score writes where they change."""
    divisions = "1"
    for measure in part.iter("measure"):
        divisions = measure.findtext("attributes/divisions", divisions)
        measure.set("divisions", divisions)


def beat_of(signature: Element) -> tuple[float, int]:
    """Quarters a beat, and beats a bar."""
    count = sum(int(each) for each in signature.findtext("beats", "4").split("+"))
    unit = 4 / int(signature.findtext("beat-type", "4"))
    return (3 * unit, count // 3) if count % 3 == 0 and count > 3 else (unit, count)


def long(measure: Element) -> float:
    """Quarters from first to last."""
    return max((end for *_, end in moves(measure)), default=0.0)


def moves(measure: Element) -> Iterator[tuple[Element, float, float]]:
    """Each note with its start and end in quarters, and what only moves on."""
    divisions = float(measure.get("divisions", "1"))
    now = last = 0.0
    for child in measure:
        length = float(child.findtext("duration", "0")) / divisions
        if child.tag == "backup":
            now -= length
        elif child.tag == "forward":
            now += length
            yield child, now - length, now
        elif child.tag == "note" and child.find("chord") is not None:
            yield child, last, last + length
        elif child.tag == "note":
            last, now = now, now + length
            yield child, last, now
        else:
            yield child, now, now


def notes(part: Element, is_piano: bool) -> Iterator[Row]:
    now, level, held = 0.0, LEVEL, dict[tuple[int, int], tuple[float, float]]()
    for measure in part.iter("measure"):
        for child, start, end in moves(measure):
            if child.tag == "direction":
                sounds = child.findall("sound")
                level = next(
                    (0.9 * float(sound.get("dynamics", 0)) for sound in sounds if sound.get("dynamics")), level
                )
            if child.tag == "note" and (pitch := pitch_of(child)):
                which = min(2, int(child.findtext("staff", "1"))) if is_piano else 0
                begun = held.pop((which, pitch), (now + start, level))
                if any(tie.get("type") == "start" for tie in child.findall("tie")):
                    held[which, pitch] = begun
                else:
                    yield begun[0], now + end - begun[0], which, pitch, begun[1]
        now += long(measure)


def pitch_of(note: Element) -> int | None:
    pitch = note.find("pitch")
    if pitch is None:
        return None
    step, octave = pitch.findtext("step", "C"), int(pitch.findtext("octave", "4"))
    return SEMITONES[step] + 12 * (octave + 1) + round(float(pitch.findtext("alter", "0")))


if __name__ == "__main__":
    main()
