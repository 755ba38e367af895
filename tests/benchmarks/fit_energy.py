"""Fits audio/measure/energy_head.json to ratings of energy and says how well it holds on genres left out.

    python tests/benchmarks/fit_energy.py RATINGS.csv FOLDER_OF_CLIPS [audio/measure/energy_head.json]

RATINGS.csv has the columns clip, genre, arousal (1 to 5); the clips are FOLDER/<clip>.mp3. Ridge regression on
standardised measures. Ratings and clips: HazelvdW/MUSIFEAST-17 (CC0 ratings; the clips are for research only).
"""

import csv
import json
import sys
from pathlib import Path

import numpy as np

from audio.files.decode import Decoder
from audio.measure.analysis import Pass
from audio.measure.energy import Evidence, evidence
from audio.measure.loudness import weights_of
from audio.measure.tagging import TAGS

PENALTY = 50.0
SPECTRUM = ("entropy", "flux", "onsets_per_s")


def heard_in(path: Path) -> Evidence:
    with Decoder(path) as decoder:
        run = Pass(decoder.rate, weights_of(decoder.layout), tags_every_s=3.0)
        for block in decoder.blocks():
            run.feed(block.samples)
    return run.end()[1]


def measures(path: Path) -> np.ndarray:
    heard = heard_in(path)
    windows = len(heard.odds)
    return evidence(heard, np.array([15.0]), 60.0, np.full((1, windows), 1 / windows))[0]


def ridge(values: np.ndarray, ratings: np.ndarray) -> tuple[np.ndarray, float]:
    mean, spread = values.mean(axis=0), values.std(axis=0)
    standard = (values - mean) / spread
    gram = standard.T @ standard + PENALTY * np.eye(values.shape[1])
    weights = np.linalg.solve(gram, standard.T @ (ratings - ratings.mean())) / spread
    return weights, float(ratings.mean() - mean @ weights)


def main() -> None:
    with Path(sys.argv[1]).open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    values = np.array([measures(Path(sys.argv[2]) / f"{row['clip']}.mp3") for row in rows])
    ratings = np.array([float(row["arousal"]) for row in rows])
    genres = np.array([row["genre"] for row in rows])
    guess = np.zeros(len(rows))
    for genre in sorted(set(genres)):
        out = genres == genre
        weights, bias = ridge(values[~out], ratings[~out])
        guess[out] = values[out] @ weights + bias
    correlation = float(np.corrcoef(guess, ratings)[0, 1])
    error = float(np.sqrt(np.mean((guess - ratings) ** 2)))
    print(f"{len(rows)} clips, each genre left out once: r = {correlation:.3f}, error {error / 4:.3f} of the scale")
    if len(sys.argv) > 3:
        weights, bias = ridge(values, ratings)
        head = {
            "about": "rating 1 to 5 = bias + sum of weight * log odds of the tag's mean probability + spectrum; ridge "
            f"regression (penalty {PENALTY:g} on standardised measures) on {len(rows)} clips of MUSIFEAST-17 (ratings "
            f"CC0); with each genre left out once r = {correlation:.3f}, error {error / 4:.3f} of the scale of 0 to 1",
            "bias": round(bias, 5),
            "tags": {tag: round(float(weight), 5) for tag, weight in zip(TAGS, weights, strict=False)},
            "spectrum": {
                name: round(float(weight), 5) for name, weight in zip(SPECTRUM, weights[len(TAGS) :], strict=True)
            },
        }
        Path(sys.argv[3]).write_text(json.dumps(head, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
