"""Perceived energy at 1 Hz, 0 to 1, on one scale for all tracks, free of the level of the recording.

A linear score of the 50 tags of `audio.measure.tagging` (heard at one loudness), spectral entropy, spectral flux and
onset rate, fitted to people's ratings of arousal (1 to 5; energy = (rating - 1) / 4): van der Walle, Wu, Margulis,
Jakubowski, "MUSIFEAST-17", Behavior Research Methods 57(7), 2025, doi 10.3758/s13428-025-02724-0, ratings CC0, 186
clips of 30 s. Weights and the quality of the fit stand in `energy_head.json`. The ratings are of 30-s clips, so the
curve is good for order and shape, not for the level of a single second. A steady noise without onsets (rain, surf, a
fan) is no music that drives, though its spectrum is dense: it is taken for calm as far as it is such a noise.
"""

import functools
import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from audio.arrays import F32, F64
from audio.measure.features import CHROMA_PER_S, Features
from audio.measure.spectrum import FRAMES_PER_S
from audio.measure.tagging import TAGS
from audio.track import Curve

# Editorial, chosen by the fit.
HEARD_AT_LUFS = -14.0  # loudness at which the tags are heard
_TAGS_OVER_S = 8.0  # standard deviation of the Gaussian over windows that a second's tags come from
_SPECTRUM_OVER_S = 12.0  # the other measures are means over so many seconds around
_NOISE_OVER_S = 20.0  # so long a steady noise is judged by
_NOISE_ENERGY = 0.15  # what steady noise is worth


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """What energy is read from.

    features: frame values. strength: onset strength, dB, shape (frames,). onsets_s: seconds of the onsets, shape (n,).
    odds: log odds of the tags, shape (windows, 50). middles_s: middle of each window in seconds, shape (windows,).
    """

    features: Features
    strength: F32
    onsets_s: F32
    odds: F32
    middles_s: F32


def energy_curve(heard: Evidence, noise: F64) -> Curve:
    """Energy of each second, 0 to 1, shape (seconds,).

    Args:
        heard: what was measured; without a beat or an onset the other measures decide.
        noise: how far each second is a steady noise, 0 to 1, shape (seconds,), as `noise_curve` gives it; zeros where
            a beat is clear.
    """
    weights, bias = _head()
    middles: F64 = np.arange(len(noise), dtype=np.float64) + 0.5
    closeness = middles[:, None].astype(np.float32) - heard.middles_s
    closeness /= np.float32(_TAGS_OVER_S)
    np.square(closeness, out=closeness)
    closeness *= np.float32(-0.5)
    np.exp(closeness, out=closeness)  # in place: for hours this is the largest table of all
    closeness += np.float32(1e-12)
    closeness /= closeness.sum(axis=1, keepdims=True)
    rating = evidence(heard, middles, _SPECTRUM_OVER_S, closeness) @ weights + bias
    energy = np.clip((rating - 1) / 4, 0.0, 1.0)
    return ((1 - noise) * energy + noise * np.minimum(energy, _NOISE_ENERGY)).astype(np.float32)


def evidence(heard: Evidence, middles: F64, over_s: float, shares: F64 | F32) -> F64:
    """The 53 measures that the rating is a linear function of, shape (n, 53).

    Args:
        heard: what was measured.
        middles: seconds about which the measures are taken, shape (n,).
        over_s: length of the stretch around each that entropy, flux and onsets are taken from.
        shares: how much each window of tags counts for each, rows sum to 1, shape (n, windows).
    """
    likely = np.clip((shares @ (1 / (1 + np.exp(-heard.odds)))).astype(np.float64), 1e-6, 1 - 1e-6)
    entropy = _around(heard.features.entropy, middles, over_s)
    flux = _around(heard.features.flux, middles, over_s)
    counts = np.bincount(np.round(heard.onsets_s * FRAMES_PER_S).astype(int), minlength=len(heard.strength))
    rate = _around(counts, middles, over_s) * FRAMES_PER_S
    return np.hstack([np.log(likely / (1 - likely)), np.column_stack([entropy, flux, rate])])


def _around(values: NDArray[np.generic], middles: F64, over_s: float, per_s: float = FRAMES_PER_S) -> F64:
    total = np.concatenate(([0.0], np.cumsum(values, dtype=np.float64)))
    low = np.clip((middles - over_s / 2) * per_s, 0, len(values) - 1).astype(int)
    high = np.clip((middles + over_s / 2) * per_s, low + 1, len(values)).astype(int)
    means: F64 = (total[high] - total[low]) / (high - low)
    return means


def noise_curve(heard: Evidence, seconds: int) -> F64:
    """How far each second is a steady noise; asked only of what has no clear beat.

    Args:
        seconds: length of the curve.
    Returns:
        0 to 1, shape (seconds,).
    """
    # 1 where the spectrum is a noise's in every narrow band and no onset stands far out of the rest, 0 for music.
    middles: F64 = np.arange(seconds, dtype=np.float64) + 0.5
    flat = _around(heard.features.flatness, middles, _NOISE_OVER_S, CHROMA_PER_S)
    reach = round(_NOISE_OVER_S * FRAMES_PER_S / 2)
    places = np.clip(np.round(middles * FRAMES_PER_S).astype(int), 0, len(heard.strength) - 1)
    parts = [heard.strength[max(0, place - reach) : place + reach] for place in places]
    peaks = np.array([np.percentile(part, 99) / max(1e-3, float(part.mean())) for part in parts])
    return np.clip((flat - 0.46) / 0.06, 0, 1) * np.clip((6 - peaks) / 2, 0, 1)


@functools.cache
def _head() -> tuple[F64, float]:
    head = json.loads(Path(__file__).with_name("energy_head.json").read_text(encoding="utf-8"))
    return np.array([*(head["tags"][tag] for tag in TAGS), *head["spectrum"].values()]), float(head["bias"])
