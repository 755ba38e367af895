"""The songs of POP909 as arrays, for `beat_music.py --songs`.

    python tests/benchmarks/pop_songs.py POP909 FILE.npz [--kept]

POP909 is the folder of that name of the repository music-x-lab/POP909-Dataset (MIT licence): Z. Wang, K. Chen, J. Jiang,
Y. Zhang, M. Xu, S. Dai, G. Bin, G. Xia, "POP909: a pop-song dataset for music arrangement generation", ISMIR 2020.
FILE gets NUMBER/notes (start and length in seconds, part, pitch, level; part 0 tune, 1 second voice, 2 piano),
NUMBER/beats and NUMBER/bars. Left out are songs whose number ends in 3, those in which the two annotations of the bars
disagree, and those whose beats drift away from their own notes: a third. Of those that end in 3, the ones with an even digit before it are kept for judging; with --kept, FILE gets
those with an odd one, for `fit_bars.py`. Needs mido.
"""

import sys
from pathlib import Path

import mido
import numpy as np

AGREED = 0.8  # share of the bars, and of the notes on the beats' grid, from which on a song is taken
PARTS = {"MELODY": 0, "BRIDGE": 1, "PIANO": 2}


def main() -> None:
    songs = {}
    folders = (path for path in Path(sys.argv[1]).iterdir() if path.is_dir())
    for folder in sorted(path for path in folders if wanted(path.name, "--kept" in sys.argv)):
        beats, bars, other = annotated(folder)
        agreed = np.mean([np.abs(other - bar).min(initial=9) < 0.15 for bar in bars])
        rows = notes(folder / f"{folder.name}.mid")
        if len(bars) > 8 and agreed > AGREED and on_grid(rows[:, 0], beats) > AGREED:
            songs |= {f"{folder.name}/notes": rows}
            songs |= {f"{folder.name}/beats": beats, f"{folder.name}/bars": bars}
    np.savez_compressed(sys.argv[2], **{name: value.astype(np.float32) for name, value in songs.items()})
    print(len(songs) // 3, "songs")


def wanted(number: str, kept: bool) -> bool:
    """Whether a song is one to train on, or, of those kept back, one to fit on rather than to judge by."""
    return number[-1] == "3" and number[-2] in "13579" if kept else number[-1] != "3"


def on_grid(starts: np.ndarray, beats: np.ndarray) -> float:
    """Share of the notes that begin within 4 % of a beat of its quarters, or of its thirds if that is more."""
    inside = starts[(starts >= beats[0]) & (starts <= beats[-1])]
    places = np.interp(inside, beats, np.arange(len(beats)))
    return max(float(np.mean(np.abs(places * parts - np.round(places * parts)) < 0.04 * parts)) for parts in (4, 3))


def annotated(folder: Path) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Beats and bars by the score, bars by the recording."""
    score, heard = (np.loadtxt(folder / f"beat_{name}.txt") for name in ("midi", "audio"))
    return score[:, 0], score[score[:, 2] == 1, 0], heard[heard[:, 1] == 1, 0]


def notes(path: Path) -> np.ndarray:
    file, rows = mido.MidiFile(path), []
    for track in file.tracks:
        if track.name in PARTS:
            rows += sounding(track, PARTS[track.name], file)
    return np.array(sorted(rows))


def sounding(track: mido.MidiTrack, part: int, file: mido.MidiFile) -> list[tuple[float, float, int, int, int]]:
    tempo = next(message.tempo for message in file.tracks[0] if message.type == "set_tempo")
    now, open_, rows = 0, dict[int, tuple[float, int]](), []
    for message in track:
        now += message.time
        at = mido.tick2second(now, file.ticks_per_beat, tempo)
        if message.type == "note_on" and message.velocity:
            open_[message.note] = at, message.velocity
        elif message.type in ("note_on", "note_off") and message.note in open_:
            start, level = open_.pop(message.note)
            rows.append((start, at - start, part, message.note, level))
    return rows


if __name__ == "__main__":
    main()
