"""Bars: how many beats they have, and on which beat they begin.

Every number of beats a bar and every beat of the first bar is a candidate. What speaks for one is gathered at its first
beats over the whole track: the bars that `audio.measure.beat_network` hears, bass attacks, changes of sound, changes of
harmony, and whether beats are divided in three, as where two are counted in 6/8. A conditional logit (D. McFadden,
"Conditional logit analysis of qualitative choice behavior", 1974) over all candidates and *none of them* makes a
likelihood of each, and bars are said from a likelihood on. The weights were fitted by tests/benchmarks/fit_bars.py;
docs/analysis-benchmarks.md says on what.
"""

import functools
import json
import math
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from audio.arrays import F32, F64, I64
from audio.measure.beat_network import Pulse
from audio.measure.features import CHROMA_PER_S, Features
from audio.measure.onsets import loudest_band, onset_strength
from audio.measure.spectrum import FRAMES_PER_S

FEWEST = 8  # beats from which on bars are looked for
_ASKED_S = 900.0  # the first quarter of an hour says where the bars lie
_ASKED_FRAMES = round(_ASKED_S * FRAMES_PER_S)
METRES = (2, 3, 4, 6, 8)  # beats a bar; 6 and 8 where the beats that are counted are half as long as usual
CANDIDATES = [(metre, first) for metre in METRES for first in range(metre)]
_OVER_BEATS = (1, 2, 4)  # changes are those from so many beats to the next
SIGNALS: tuple[str, ...] = ("bar heard", "odds of a bar", "bass", "upper bass")
SIGNALS += tuple(f"{what} over {beats}" for what in ("sound", "harmony") for beats in _OVER_BEATS)
MEASURES = (*SIGNALS, "odds on first beats", "odds on others", *(f"{metre} beats" for metre in METRES))
MEASURES += ("two, thirds over halves", "two, thirds over quarters")
CLEAR = 0.4  # least likelihood with which bars are said; editorial, see docs/analysis-benchmarks.md
_BASS = (slice(0, 2), slice(2, 5))  # bands up to about 110 and 300 Hz
_TOP_BAND = 20  # changes of sound are read below about 2.5 kHz
_DEPTH_DB = 60.0  # levels further below the loudest band count as silence
_FLOOR = 0.005  # of a likelihood, so that its odds stay finite


def bars_of(features: Features, strength: F32, pulse: Pulse, beats: I64) -> tuple[int | None, int]:
    """Beats a bar, and the index of the first beat that begins one; None and 0 where it isn't clear.

    Args:
        features, strength, pulse: of the track; see `audio.measure.beats.beats_of`.
        beats: frames of the beats, ascending, shape (n,); those of the first quarter of an hour are asked.
    """
    asked = beats[beats < _ASKED_FRAMES]
    if len(asked) < FEWEST:
        return None, 0
    likely = likelihoods(evidence_of(features, strength, pulse, asked), *_head())[:-1]
    best = int(likely.argmax())
    return CANDIDATES[best] if likely[best] > CLEAR else (None, 0)


def likelihoods(evidence: F64, weights: F64, none: float) -> F64:
    """How likely each candidate is, and last that it is none of them.

    Args:
        evidence: shape (candidates, measures), as `evidence_of` gives it.
        weights: of the measures, shape (measures,). none: the score of none of them.
    Returns:
        shape (candidates + 1,), 0 to 1, of sum 1.
    """
    scores = np.append(np.where(np.isnan(evidence[:, 0]), -np.inf, evidence @ weights), none)
    shares = np.exp(scores - scores.max())
    likely: F64 = shares / shares.sum()
    return likely


def evidence_of(features: Features, strength: F32, pulse: Pulse, beats: I64) -> F64:
    """The measures of each candidate; NaN where there are no two bars of it.

    Args:
        strength: onset strength, dB, shape (frames,).
        beats: frames of the beats, ascending, shape (n,).
    Returns:
        shape (candidates, measures), in the order of `CANDIDATES` and `MEASURES`.
    """
    signals = np.stack([*_heard(pulse, beats), *_basses(features, beats), *_changes(features, beats)])
    odds, even = signals[1], _standard(signals)
    thirds = _thirds(strength, beats)
    rows = np.full((len(CANDIDATES), len(MEASURES)), np.nan)
    for row, (metre, first) in zip(rows, CANDIDATES, strict=True):
        on = np.arange(len(beats)) % metre == first
        if on.sum() >= 2:
            recurring = even[:, on].mean(axis=1) / (metre - 1) ** 0.5  # the correlation with such bars
            is_metre = [float(metre == other) for other in METRES]
            row[:] = *recurring, odds[on].mean(), odds[~on].mean(), *is_metre, *((metre == 2) * thirds)
    return rows


def near(values: F32, at: I64) -> F64:
    """Largest value within two frames of each place.

    Args:
        values: shape (frames,). at: frames, shape (n,).
    Returns:
        shape (n,).
    """
    around = np.clip(at[:, None] + np.arange(-2, 3), 0, len(values) - 1)
    largest: F64 = values[around].max(axis=1).astype(np.float64)
    return largest


def _heard(pulse: Pulse, beats: I64) -> tuple[F64, F64]:
    heard = near(pulse.bar, beats)
    return heard, np.log((heard + _FLOOR) / (1 + _FLOOR - heard))


def _basses(features: Features, beats: I64) -> list[F64]:
    return [near(onset_strength(features, group), beats) for group in _BASS]


def _changes(features: Features, beats: I64) -> Iterator[F64]:
    """How much differs from the beats before each place to those after it: levels of bands, then pitch classes."""
    levels = features.bands[:_ASKED_FRAMES, :_TOP_BAND].astype(np.float32)
    sound = _Gathered(np.maximum(levels, loudest_band(features) - _DEPTH_DB), FRAMES_PER_S)
    harmony = _Gathered(np.sqrt(features.chroma[: math.ceil(_ASKED_S * CHROMA_PER_S)]), CHROMA_PER_S)
    at_s, beat_s = beats / FRAMES_PER_S, float(np.median(np.diff(beats))) / FRAMES_PER_S
    for count in _OVER_BEATS:
        before, after = sound.around(at_s, count * beat_s)
        yield np.abs(after - before).mean(axis=1)
    for count in _OVER_BEATS:
        before, after = harmony.around(at_s, count * beat_s)
        lengths = np.linalg.norm(before, axis=1) * np.linalg.norm(after, axis=1)
        yield np.where(lengths > _FLOOR**2, 1 - (before * after).sum(axis=1) / np.maximum(lengths, _FLOOR**2), 0.0)


class _Gathered:
    """Values in time as running sums, so that means over any stretch cost nothing."""

    def __init__(self, values: F32, per_s: float) -> None:
        self._sums = np.concatenate((np.zeros((1, values.shape[1])), np.cumsum(values, axis=0, dtype=np.float64)))
        self._per_s = per_s

    def around(self, at_s: F64, reach_s: float) -> tuple[F64, F64]:
        """Means over the stretch before and after each place, shape (n, columns) each."""
        edges = [self._sum_until(at_s + reach) for reach in (-reach_s, 0.0, reach_s)]
        size = reach_s * self._per_s
        return (edges[1] - edges[0]) / size, (edges[2] - edges[1]) / size

    def _sum_until(self, at_s: F64) -> F64:
        # Value k lies around k / per_s.
        places = at_s * self._per_s + 0.5
        return np.stack([np.interp(places, np.arange(len(self._sums)), column) for column in self._sums.T], axis=1)


def _thirds(strength: F32, beats: I64) -> F64:
    """How much more is struck at thirds of the beats than at halves, and than at quarters, in its own spread."""
    struck = np.log1p(np.maximum(strength, 0.0))

    def at(part: float) -> float:
        return float(near(struck, beats[:-1] + np.round(part * np.diff(beats)).astype(int)).mean())

    first, second = at(1 / 3), at(2 / 3)
    over = (min(first, second) - at(1 / 2), (first + second - at(1 / 4) - at(3 / 4)) / 2)
    thirds: F64 = np.array(over) / (struck.std() + 1e-6)
    return thirds


def _standard(values: F64) -> F64:
    middle, spread = values.mean(axis=1, keepdims=True), values.std(axis=1, keepdims=True)
    standard: F64 = (values - middle) / (spread + 1e-9)
    return standard


@functools.cache
def _head() -> tuple[F64, float]:
    head = json.loads(Path(__file__).with_name("bars_head.json").read_text(encoding="utf-8"))
    return np.array([head["weights"][name] for name in MEASURES]), float(head["none"])
