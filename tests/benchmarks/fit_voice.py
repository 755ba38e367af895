"""Fits audio/measure/voice_head.json to songs with timed words and to clips without a voice.

    python tests/benchmarks/fit_voice.py SONGS RATINGS.csv FOLDER_OF_CLIPS [audio/measure/voice_head.json] [--fresh MUSIC]

SONGS has the folders mp3 and annotations/words of JamendoLyrics (S. Durand, D. Stoller, S. Ewert, "Similarity-based
audio-lyrics alignment of multiple languages", ICASSP 2023); RATINGS.csv has the columns clip, genre and
vocalisation. Logistic regression, classes balanced; every song, and every genre of clips, is judged by a head that was
fitted without it.
"""

import argparse
import csv
import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from fit_energy import heard_in

from audio.measure.tagging import TAGS
from audio.measure.voice import evidence

PENALTY = 100.0  # on standardised measures
SUNG_S = 1.5  # of a window's 3 s; windows with some but less are left out
STEPS = 60


@dataclass(frozen=True)
class Track:
    """Measures of the windows of one recording, which of them hold a voice, and with what it is left out."""

    group: str
    windows: np.ndarray
    sung: np.ndarray  # True, False; windows in doubt are gone


def song(path: Path, words: Path) -> Track:
    heard = heard_in(path)
    with words.open(encoding="utf-8") as file:
        times = np.array([[float(row["word_start"]), float(row["word_end"])] for row in csv.DictReader(file)])
    middles = heard.middles_s[:, None].astype(float)
    sung = np.maximum(0, np.minimum(times[:, 1], middles + 1.5) - np.maximum(times[:, 0], middles - 1.5)).sum(axis=1)
    sure = (sung > SUNG_S) | (sung == 0)
    return Track(path.stem, evidence(heard.odds)[sure], sung[sure] > 0)


def clip(path: Path, genre: str) -> Track:
    windows = evidence(heard_in(path).odds)
    return Track(genre, windows, np.zeros(len(windows), bool))


def fitted(tracks: list[Track]) -> tuple[np.ndarray, float]:
    """Weights and bias by Newton's method."""
    values = np.concatenate([track.windows for track in tracks]).astype(float)
    sung = np.concatenate([track.sung for track in tracks])
    mean, spread = values.mean(axis=0), values.std(axis=0)
    table = np.column_stack(((values - mean) / spread, np.ones(len(values))))
    share = np.where(sung, 0.5 / sung.mean(), 0.5 / (1 - sung.mean()))
    penalty = np.diag(np.append(np.full(len(mean), PENALTY), 0.0))
    theta = np.zeros(table.shape[1])
    for _ in range(STEPS):
        likely = 1 / (1 + np.exp(-table @ theta))
        slope = table.T @ (share * (likely - sung)) + penalty @ theta
        curvature = (table * (share * likely * (1 - likely))[:, None]).T @ table + penalty
        theta -= np.linalg.solve(curvature, slope)
    weights = theta[:-1] / spread
    return weights, float(theta[-1] - mean @ weights)


def auc(positive: np.ndarray, negative: np.ndarray) -> float:
    above = (positive[:, None] > negative).mean() + 0.5 * (positive[:, None] == negative).mean()
    return float(above)


def interval(positive: np.ndarray, negative: np.ndarray) -> tuple[float, float]:
    """95 % of the bootstrap over tracks."""
    random = np.random.default_rng(0)
    values = [auc(random.choice(positive, len(positive)), random.choice(negative, len(negative))) for _ in range(2000)]
    low, high = np.percentile(values, [2.5, 97.5])
    return float(low), float(high)


def main() -> None:
    parser = argparse.ArgumentParser()
    for name in ("songs", "ratings", "clips"):
        parser.add_argument(name, type=Path)
    parser.add_argument("head", type=Path, nargs="?")
    parser.add_argument("--fresh", type=Path, help="a folder of music without a voice that nothing was fitted on")
    given = parser.parse_args()
    songs = given.songs
    words = sorted((songs / "annotations" / "words").glob("*.csv"))
    paths = [(songs / "mp3" / f"{path.stem}.mp3", path) for path in words]
    tracks = [song(path, timed) for path, timed in paths if path.exists()]
    sung_tracks = len(tracks)
    with given.ratings.open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["vocalisation"] == "no"]
    tracks += [clip(given.clips / f"{row['clip']}.mp3", row["genre"]) for row in rows]
    scores: dict[int, np.ndarray] = {}
    for group in sorted({track.group for track in tracks}):
        weights, bias = fitted([track for track in tracks if track.group != group])
        scores |= {i: t.windows @ weights + bias for i, t in enumerate(tracks) if t.group == group}
    means = np.array([scores[i].mean() for i in range(len(tracks))])
    every = np.concatenate([scores[i] for i in range(len(tracks))])
    sung = np.concatenate([track.sung for track in tracks])
    by_track = auc(means[:sung_tracks], means[sung_tracks:])
    low, high = interval(means[:sung_tracks], means[sung_tracks:])
    found, false = float((every[sung] > 0).mean()), float((every[~sung] > 0).mean())
    said = (
        f"{sung_tracks} songs and {len(rows)} clips, each judged by a head fitted without it, or without its genre: "
        f"AUC by track {by_track:.3f} (95 % {low:.3f} to {high:.3f}), by window {auc(every[sung], every[~sung]):.3f}; "
        f"at 0.5 {found:.0%} of the sung windows are found, {false:.0%} of the others are taken for sung"
    )
    print(said)
    weights, bias = fitted(tracks)
    if given.fresh:
        fresh = [clip(path, "fresh").windows @ weights + bias for path in sorted(given.fresh.iterdir())]
        others = np.array([score.mean() for score in fresh])
        low, high = interval(means[:sung_tracks], others)
        print(f"the same songs against {len(others)} fresh pieces: AUC {auc(means[:sung_tracks], others):.3f}", end=" ")
        print(f"(95 % {low:.3f} to {high:.3f}); {np.mean(others > 0):.0%} of the pieces are taken for sung")
    if given.head:
        head = {
            "about": "score = bias + sum of weight * ln(probability of the tag + 1e-4) on a window of 3 s; above 0 a "
            "voice, sung or spoken, is likelier than none. Logistic regression on songs of JamendoLyrics (timed words) "
            f"and clips of MUSIFEAST-17 without vocalisation. {said}. Short ad-libs are mostly missed (AUC 0.70 on 46 "
            "clips that have some); chant, mantra and choir were not scored.",
            "bias": round(bias, 4),
            "weights": {tag: round(float(weight), 4) for tag, weight in zip(TAGS, weights, strict=True)},
        }
        given.head.write_text(json.dumps(head, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
