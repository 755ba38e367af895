"""Likelihood of a sung or spoken voice at 1 Hz, from the tags of `audio.measure.tagging`.

A logistic head on the tags' probabilities; about the head's fit see `voice_head.json`. Of chant, mantra and choir
nothing is known: there was no ground truth for them. Low values mean "likely without voice", no more.
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
        middles_s: middle of each window.
        seconds: length of the curve; between two windows it moves on a straight line.
    """
    weights, bias = _head()
    score = np.log(1 / (1 + np.exp(-odds)) + 1e-4) @ weights + bias
    likelihood = 1 / (1 + np.exp(-np.interp(np.arange(seconds) + 0.5, middles_s, score)))
    return likelihood.astype(np.float32)


@functools.cache
def _head() -> tuple[Samples, float]:
    head = json.loads(Path(__file__).with_name("voice_head.json").read_text(encoding="utf-8"))
    return np.array([head["weights"][tag] for tag in TAGS], np.float32), float(head["bias"])
