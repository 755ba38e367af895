"""Half a minute of a song that `art_songs.py` read, played freely: for `beat_music.py --scores`.

Each performance draws how free it is. The tempo arches over phrases and slackens at their ends, the same beats of a
bar are long, a walk and a jitter go beneath, some phrases end in a pause, some bring another tempo. The tune leads, the
hands part, chords are rolled, the pedal is held for a beat, half a bar or a bar; loudness follows score, phrase, bar
and voice. Mostly a piano plays all of it.
"""

import random

import numpy as np

SLOWEST_BPM, FASTEST_BPM = 36.0, 215.0
NOTES_A_S = 5.5  # about which the tempo is drawn where the score has none
PIANOS, TUNES = (0, 0, 0, 0, 1, 2), (40, 41, 42, 68, 71, 73, 52, 56)
OTHERS = ((24, 24), (46, 46), (48, 48), (6, 6), (19, 19), (48, 43), (11, 12))  # right and left hand
CHANNELS = {0: 2, 1: 0, 2: 1}  # of tune, right and left hand
Row = tuple[float, float, int, int, int]


def performance(draw: random.Random, notes: np.ndarray, bars: np.ndarray, bpm: float) -> tuple:
    """Notes in seconds, programs, beats and bars in seconds, and seconds, as `beat_music.Written` has them."""
    seconds, freely = draw.uniform(26, 34), float(np.exp(draw.gauss(0, 0.6)))
    alone = draw.random() < 0.75
    with_tune = not alone or draw.random() < 0.5
    rows = notes if with_tune else notes[notes[:, 2] > 0]
    if len(rows) < 40:
        rows = notes
    bpm = bpm * np.exp(draw.gauss(0, 0.12)) if bpm else drawn_bpm(draw, rows)
    bpm = float(np.clip(bpm, SLOWEST_BPM, FASTEST_BPM))
    last = int(rows[-1, 0]) + 1
    first = draw.choice([int(bar) for bar in bars if bar <= max(bars[0], last - seconds * bpm / 60)])
    beats = beat_times(draw, bars - first, bpm, last - first + 4, freely)
    rows = rows[(rows[:, 0] >= first) & (beats_at(beats, rows[:, 0] - first) < seconds)]
    sounding = list(played(draw, rows, first, bars, beats, freely))
    programs = dict.fromkeys(CHANNELS.values(), draw.choice(PIANOS))
    if not alone:
        programs[CHANNELS[0]] = draw.choice(TUNES)
        if draw.random() < 0.4:
            programs[0], programs[1] = draw.choice(OTHERS)
    starts = beats_at(beats, bars[bars >= first] - first)
    return sounding, programs, beats[beats < seconds], starts[starts < seconds], seconds


def drawn_bpm(draw: random.Random, rows: np.ndarray) -> float:
    """A tempo at which about so many notes are struck in a second as is usual."""
    struck = len(np.unique(rows[:, 0].round(2))) / max(1.0, float(rows[-1, 0] - rows[0, 0]))
    return 60 * NOTES_A_S * float(np.exp(draw.gauss(0, 0.4))) / max(0.5, struck)


def beats_at(beats: np.ndarray, places: np.ndarray) -> np.ndarray:
    return np.interp(places, np.arange(len(beats)), beats)


def beat_times(draw: random.Random, bars: np.ndarray, bpm: float, count: int, freely: float) -> np.ndarray:
    """Seconds of each beat, the first at 0; `freely` is about 1 as a pianist plays, 0 as a machine."""
    random_ = np.random.default_rng(draw.randrange(2**31))
    bars = bars.astype(int)
    slow = np.zeros(count)  # log of how much longer each beat is
    edges = [edge for edge in bars[:: draw.choice([1, 2, 2, 4, 4, 8])] if 0 <= edge < count] + [count]
    depth, late = 0.09 * freely * draw.uniform(0.3, 1.7), draw.choice([0.3, 1.0, 2.0])
    for start, end in zip([0, *edges], edges, strict=False):
        if end - start < 2:
            continue
        along, this = np.linspace(-1, 1, end - start), depth * draw.uniform(0.2, 1.8)
        slow[start:end] += this * (along**2 - 0.33) + this * late * np.maximum(0, along) ** 4
        if draw.random() < 0.06 * freely:
            slow[end - 1] += draw.uniform(0.3, 0.9)
        if draw.random() < 0.05 * freely:
            slow[end:] += draw.gauss(0, 0.18)
    place = np.arange(count) - bars[np.clip(np.searchsorted(bars, np.arange(count), side="right") - 1, 0, None)]
    slow += random_.normal(0, 0.03 * freely, 16)[np.clip(place, 0, 15)]
    walk = np.cumsum(random_.normal(0, 0.02 * freely, count))
    slow += walk - np.convolve(np.pad(walk, 12, mode="edge"), np.ones(25) / 25, mode="valid")
    slow += random_.normal(0, draw.choice([0.005, 0.015, 0.03]) * freely, count)
    return np.concatenate(([0.0], np.cumsum(60 / bpm * np.exp(np.clip(slow, -0.7, 1.2)))))[:count]


def played(draw: random.Random, rows: np.ndarray, first: int, bars: np.ndarray, beats: np.ndarray, freely: float):  # noqa: ANN201
    lead, apart = draw.gauss(0.012, 0.012), draw.gauss(0, 0.008)
    loose, rolls, roll_s = draw.choice([0.004, 0.008, 0.014]), draw.choice([0, 0, 0.15, 0.5]), draw.uniform(0.02, 0.11)
    pedal, up, quiet = draw.choice([0, 0, 1, 2, 9]), draw.randint(-4, 4), draw.uniform(-25, 12)
    wave, phase = draw.uniform(0, 10), draw.uniform(0, 6)
    top = {place: max(pitch for at, pitch in rows[:, [0, 3]] if at == place) for place in np.unique(rows[:, 0])}
    for place in top:
        chord = sorted((row for row in rows if row[0] == place), key=lambda row: row[3])
        rolled = roll_s * draw.uniform(0.5, 1.5) if len(chord) > 2 and draw.random() < rolls else 0.0
        at = float(beats_at(beats, np.array(place - first)))
        is_bar = bool(np.any(np.abs(bars - place) < 0.02))
        for number, (_, length, part, pitch, level) in enumerate(chord):
            is_top = part == 0 or pitch == top[place]
            start = at + draw.gauss(0, loose) - lead * is_top + apart * (part == 2)
            start += rolled * (number / len(chord) - 0.5) - draw.uniform(0.06, 0.11) * (length == 0)
            until = place + max(length, 0.12)
            if pedal:
                until = max(until, lifted(place, pedal, bars))
            end = float(beats_at(beats, np.array(until - first)))
            loud = level + quiet + 10 * is_top - 6 * (part == 2) + 5 * is_bar + draw.gauss(0, 5)
            loud += wave * np.sin(place / 9 + phase) * freely
            velocity = int(np.clip(loud, 12, 124))
            yield max(0.0, start), max(0.05, end - start), CHANNELS[int(part)], int(pitch) + up, velocity


def lifted(place: float, pedal: int, bars: np.ndarray) -> float:
    """Where the pedal that is down at a place is lifted: after so many beats, 9 for the whole bar."""
    number = int(np.searchsorted(bars, place + 0.01)) - 1
    bar = float(bars[max(0, number)])
    end = float(bars[number + 1]) if number + 1 < len(bars) else bar + 4
    return min(end, bar + (np.floor((place - bar) / pedal + 0.01) + 1) * pedal) if place >= bar else place
