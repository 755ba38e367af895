"""Fits audio/measure/voice_head.json to songs with timed words and to clips without a voice.

    python tests/benchmarks/fit_voice.py SONGS RATINGS.csv CLIPS [audio/measure/voice_head.json] [--fresh MUSIC]

SONGS has the folders mp3 and annotations/words of JamendoLyrics (S. Durand, D. Stoller, S. Ewert, "Similarity-based
audio-lyrics alignment of multiple languages", ICASSP 2023); RATINGS.csv has the columns clip, genre and
vocalisation; the clips lie anywhere below CLIPS. Logistic regression of two measures, classes balanced; every song,
and every genre of clips, is judged by a head that was fitted without it. The head of the tags inside stays as it is.
"""

import argparse
import csv
import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from audio.files.decode import Decoder
from audio.measure.analysis import Pass
from audio.measure.loudness import weights_of
from audio.measure.voice import evidence

STEPS = 40
SHARE = 0.1  # of a track's seconds with a voice, above which it is taken for one with a voice


@dataclass(frozen=True)
class Track:
    """The measures at each heard second of a recording, whether a voice sounds there, and with what it is left out."""

    group: str
    middles_s: np.ndarray
    measures: np.ndarray
    sung: np.ndarray
    sure: np.ndarray  # False where the second is in doubt

    def seconds(self, theta: np.ndarray) -> np.ndarray:
        """Log odds of a voice in each second."""
        return np.interp(
            np.arange(int(self.middles_s[-1]) + 1) + 0.5, self.middles_s, self.measures @ theta[:2] + theta[2]
        )


def heard(path: Path) -> tuple[np.ndarray, np.ndarray]:
    with Decoder(path) as decoder:
        run = Pass(decoder.rate, weights_of(decoder.layout))
        for block in decoder.blocks():
            run.feed(block.samples)
    _, tags, voices = run.end()
    return voices.middles_s, evidence(voices, tags.odds, tags.middles_s)


def song(path: Path, words: Path) -> Track:
    middles, measures = heard(path)
    sung = overlap(words, middles)
    return Track(path.stem, middles, measures, sung > 0.5, (sung > 0.5) | (sung == 0))


def overlap(words: Path, middles: np.ndarray) -> np.ndarray:
    """How much of the second about each middle is sung."""
    with words.open(encoding="utf-8") as file:
        times = np.array([[float(row["word_start"]), float(row["word_end"])] for row in csv.DictReader(file)])
    at = middles[:, None].astype(float)
    return np.maximum(0, np.minimum(times[:, 1], at + 0.5) - np.maximum(times[:, 0], at - 0.5)).sum(axis=1)


def clip(path: Path, genre: str) -> Track:
    middles, measures = heard(path)
    return Track(genre, middles, measures, np.zeros(len(middles), bool), np.ones(len(middles), bool))


def fitted(tracks: list[Track]) -> np.ndarray:
    """Weights of the network and of the tags, and bias, by Newton's method."""
    values = np.concatenate([track.measures[track.sure] for track in tracks]).astype(float)
    sung = np.concatenate([track.sung[track.sure] for track in tracks])
    table = np.column_stack((values, np.ones(len(values))))
    share = np.where(sung, 0.5 / sung.mean(), 0.5 / (1 - sung.mean()))
    theta = np.zeros(3)
    for _ in range(STEPS):
        likely = 1 / (1 + np.exp(-table @ theta))
        curvature = (table * (share * likely * (1 - likely))[:, None]).T @ table + 1e-3 * np.eye(3)
        theta -= np.linalg.solve(curvature, table.T @ (share * (likely - sung)) + 1e-3 * theta)
    return theta


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
    words = sorted((given.songs / "annotations" / "words").glob("*.csv"))
    paths = [(given.songs / "mp3" / f"{path.stem}.mp3", path) for path in words]
    songs = [song(path, timed) for path, timed in paths if path.exists()]
    files = {path.stem: path for path in given.clips.rglob("*.mp3")}
    with given.ratings.open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["vocalisation"] == "no"]
    clips = [clip(files[row["clip"]], row["genre"]) for row in rows]
    said = judged(songs, clips)
    print(said)
    theta = fitted(songs + clips)
    if given.fresh:
        fresh = [clip(path, "fresh").seconds(theta) for path in sorted(given.fresh.rglob("*.*"))]
        print(compared([each.seconds(theta) for each in songs], fresh, "pieces nothing was fitted on"))
    if given.head:
        head = json.loads(given.head.read_text(encoding="utf-8"))
        about = (
            "score = bias + network * log odds by the network, smoothed over three heard seconds + by_tags * log odds"
        )
        values = dict(zip(("network", "by_tags", "bias"), (round(float(v), 4) for v in theta), strict=True))
        head |= {"about": f"{about} by the tags; above 0 a voice is likelier than none. {said}"} | values
        given.head.write_text(json.dumps(head, indent=1) + "\n", encoding="utf-8")


def judged(songs: list[Track], clips: list[Track]) -> str:
    """Each by a head fitted without it, or without its genre."""
    scores = []
    for track in songs + clips:
        theta = fitted([other for other in songs + clips if other.group != track.group])
        scores.append((track.measures @ theta[:2] + theta[2], track.seconds(theta)))
    windows = [
        np.concatenate([score[track.sure & (track.sung == sung)] for track, (score, _) in pairs(songs, scores)])
        for sung in (True, False)
    ]
    found, false = ((part > 0).mean() for part in windows)
    by_track = compared([s for _, s in scores[: len(songs)]], [s for _, s in scores[len(songs) :]], "clips")
    return (
        f"{by_track}; in the songs AUC by second {auc(*windows):.3f}, at 0.5 {found:.0%} of the sung seconds are found "
        f"and {false:.1%} of the others taken for sung. Each was judged by a head fitted without it or its genre."
    )


def pairs(tracks: list[Track], scores: list[tuple[np.ndarray, np.ndarray]]):  # noqa: ANN201
    return zip(tracks, scores[: len(tracks)], strict=True)


def compared(songs: list[np.ndarray], others: list[np.ndarray], what: str) -> str:
    means = [np.array([score.mean() for score in group]) for group in (songs, others)]
    low, high = interval(*means)
    voiced = np.mean([(score >= 0).mean() > SHARE for score in others])
    return (
        f"{len(songs)} songs against {len(others)} {what}: AUC {auc(*means):.3f} (95 % {low:.3f} to {high:.3f}); "
        f"{voiced:.0%} of the {what} seem to have a voice in more than a tenth"
    )


if __name__ == "__main__":
    main()
