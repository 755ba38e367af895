"""Fits audio/measure/bars_head.json: what speaks for bars of so many beats that begin on such a beat.

    python tests/benchmarks/fit_bars.py FOLDER SOUNDFONT... --songs KEPT.npz --scores KEPT.npz [--write HEAD.json]

Music that the network of the beats was not trained on: 240 pieces by the rules of `beat_music.py`, of other seeds, 54
excerpts of POP909 and 58 art songs played freely, both from songs that were kept back (`pop_songs.py` and
`art_songs.py` with --kept). FOLDER takes what is measured of each, made once. A candidate is right if its downbeats and
the true ones agree with F > 0.7 (70 ms); where none is, *none* is right. A fifth of the pieces is left out at a time to
say how well it does. Needs tinysoundfont.
"""

import argparse
import functools
import json
import random
from multiprocessing import Pool
from pathlib import Path

import numpy as np
from beat_music import excerpt, freely_played, sounded, written
from scipy.optimize import minimize

from audio.measure.bars import CANDIDATES, CLEAR, MEASURES, evidence_of, likelihoods
from audio.measure.beat_network import pulse_of
from audio.measure.beats import beats_of
from audio.measure.features import FeatureStream
from audio.measure.onsets import onset_strength
from audio.measure.spectrum import FRAMES_PER_S
from audio.measure.tempo import tempo_of

FIRST, RULES, SONGS, SCORES = 500_000, 240, 54, 58
RIGHT, WITHIN_S, PENALTY = 0.7, 0.07, 1.0


def f_measure(found: np.ndarray, true: np.ndarray) -> float:
    hits = sum(np.abs(found - each).min(initial=9.0) <= WITHIN_S for each in true)
    return 2 * hits / max(1, len(found) + len(true))


def one(seed: int, folder: Path, soundfonts: list[Path], songs: Path, scores: Path) -> None:
    """Measure a piece: the evidence for each candidate, and how well each agrees with the truth."""
    path, draw = folder / f"{seed}.npz", random.Random(seed)
    if path.exists():
        return
    if seed < FIRST + RULES:
        piece = written(draw)
    elif seed < FIRST + RULES + SONGS:
        piece = excerpt(draw, songs)
    else:
        piece = freely_played(draw, scores)
    stream = FeatureStream()
    stream.feed(sounded(piece, draw.choice(soundfonts), draw).astype(np.float32))
    features = stream.end()
    strength, pulse = onset_strength(features), pulse_of(features)
    found_s = beats_of(features, strength, pulse, tempo_of(strength, pulse)).beats_s
    if len(found_s):
        evidence = evidence_of(features, strength, pulse, np.round(found_s * FRAMES_PER_S).astype(int))
        agrees = [f_measure(found_s[first::metre], piece.bars) for metre, first in CANDIDATES]
        np.savez(path, evidence=evidence, agrees=np.array(agrees))
    else:
        np.savez(path, evidence=np.zeros((0, 0)), agrees=np.zeros(0))


Known = tuple[np.ndarray, int]  # evidence, and the candidate that is right, or their number where none is


def fitted(pieces: list[Known]) -> tuple[np.ndarray, float]:
    """Weights of the measures and the score of *none*, by penalised likelihood."""

    def cost(values: np.ndarray) -> tuple[float, np.ndarray]:
        total, slope = PENALTY * float(values @ values), 2 * PENALTY * values
        for evidence, right in pieces:
            likely = likelihoods(evidence, values[:-1], float(values[-1]))
            total -= float(np.log(likely[right]))
            wanted = np.arange(len(likely)) == right
            slope[:-1] += np.nan_to_num(evidence).T @ (likely - wanted)[:-1]
            slope[-1] += (likely - wanted)[-1]
        return total, slope

    values = minimize(cost, np.zeros(len(MEASURES) + 1), jac=True, method="L-BFGS-B").x
    return values[:-1], float(values[-1])


def judged(pieces: list[Known], agrees: list[np.ndarray], kinds: np.ndarray) -> None:
    """Print how often bars are said and right, each piece by weights fitted without its fifth."""
    likely, right = np.zeros(len(pieces)), np.zeros(len(pieces), bool)
    for fold in range(5):
        head = fitted([piece for number, piece in enumerate(pieces) if number % 5 != fold])
        for number in range(fold, len(pieces), 5):
            chances = likelihoods(pieces[number][0], *head)[:-1]
            likely[number], right[number] = chances.max(), agrees[number][chances.argmax()] > RIGHT
    for kind in dict.fromkeys(kinds):
        for least in (CLEAR - 0.1, CLEAR, CLEAR + 0.1):
            said = (likely > least) & (kinds == kind)
            print(f"{kind}: from {least:.1f} on said for {said.sum()} of {(kinds == kind).sum()}", end=", ")
            print(f"right {right[said].mean():.2f}")


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("soundfonts", type=Path, nargs="+")
    parser.add_argument("--songs", type=Path, required=True)
    parser.add_argument("--scores", type=Path, required=True)
    parser.add_argument("--write", type=Path)
    given = parser.parse_args()
    given.folder.mkdir(parents=True, exist_ok=True)
    inputs = {"soundfonts": given.soundfonts, "songs": given.songs, "scores": given.scores}
    work = functools.partial(one, folder=given.folder, **inputs)
    seeds = range(FIRST, FIRST + RULES + SONGS + SCORES)
    with Pool() as pool:
        pool.map(work, seeds, chunksize=4)
    pieces, agrees, kinds = [], [], []
    for seed, kind in zip(seeds, ["rules"] * RULES + ["songs"] * SONGS + ["scores"] * SCORES, strict=True):
        with np.load(given.folder / f"{seed}.npz") as file:
            evidence, agree = file["evidence"], file["agrees"]
        if len(agree):
            best = int(agree.argmax())
            pieces.append((evidence, best if agree[best] > RIGHT else len(CANDIDATES)))
            agrees.append(agree)
            kinds.append(kind)
    judged(pieces, agrees, np.array(kinds))
    weights, none = fitted(pieces)
    about = f"odds of a candidate = exp(sum of weight * measure) to exp(none); {len(pieces)} pieces, fit_bars.py"
    named = {name: round(float(weight), 4) for name, weight in zip(MEASURES, weights, strict=True)}
    if given.write:
        head = {"about": about, "none": round(none, 4), "weights": named}
        given.write.write_text(json.dumps(head, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
