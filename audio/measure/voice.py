"""Likelihood of a sung or spoken voice at 1 Hz, from the tags of `audio.measure.tagging`.

A logistic head on the tags' probabilities; what it was fitted on and how well it holds stands in `voice_head.json`. Of
chant, mantra and choir nothing is known: there was no ground truth for them, and short ad-libs are mostly missed. Low
values mean "likely without voice", no more.
"""

import functools
import json
from pathlib import Path

import numpy as np

from audio.measure.spectrum import Samples
from audio.measure.tagging import TAGS
from audio.track import Curve


def voice_curve(odds: Samples, middles_s: Samples, seconds: int) -> Curve:
    """Likelihood of a voice in each second, 0 to 1, shape (seconds,).

    Args:
        odds: log odds of the tags, shape (windows, 50).
        middles_s: middle of each window, ascending.
        seconds: length of the curve; between two windows the log odds move on a straight line.
    """
    weights, bias = _head()
    score = np.interp(np.arange(seconds) + 0.5, middles_s, evidence(odds) @ weights + bias)
    likelihood: Curve = (1 / (1 + np.exp(-score))).astype(np.float32)
    return likelihood


def evidence(odds: Samples) -> Samples:
    """What the head weighs: the log of each tag's probability, kept from minus infinity, shape (windows, 50)."""
    logs: Samples = np.log(1 / (1 + np.exp(-odds)) + 1e-4)
    return logs


@functools.cache
def _head() -> tuple[Samples, float]:
    head = json.loads(Path(__file__).with_name("voice_head.json").read_text(encoding="utf-8"))
    return np.array([head["weights"][tag] for tag in TAGS], np.float32), float(head["bias"])
