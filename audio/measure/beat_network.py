"""A small network of our own that hears where beats and bars begin, run with numpy alone.

Temporal convolutions with growing reach, after M. Davies, S. Böck, "Temporal convolutional networks for musical audio
beat tracking", EUSIPCO 2019; own layout, own weights. It was trained on music that we wrote by rules and rendered
ourselves, tests/benchmarks/train_beats.py, so the weights are free of anyone else's recordings.

It reads the 40 mel bands of two frames at once: level below the loudest band, and rise since 23 ms before.
"""

import functools
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from audio.measure.features import Features
from audio.measure.onsets import loudest_band
from audio.measure.spectrum import Samples

TEMPOS_BPM = np.geomspace(40.0, 240.0, 64)
_LOWEST_DB, _HIGHEST_DB = -60.0, 10.0  # around the loudest band
_LAG = 2
_PIECE = 1024  # steps of two frames convolved at once: what they need stays in the processor's cache
Net = dict[str, Samples]


@dataclass(frozen=True, slots=True, eq=False)
class Pulse:
    """What the network hears.

    beat: likelihood of a beat at each frame, shape (frames,). bar: the same of the first beat of a bar.
    tempo: likelihood of each of `TEMPOS_BPM`, shape (64,), sums to 1.
    """

    beat: Samples
    bar: Samples
    tempo: Samples


def pulse_of(features: Features) -> Pulse:
    """Where the network hears beats; of a track without frames, nothing."""
    net, frames = _weights(), len(features.bands)
    if frames < _LAG:
        return Pulse(np.zeros(frames, np.float32), np.zeros(frames, np.float32), np.full(64, 1 / 64, np.float32))
    state = _elu(_entered(net, features))
    state = _elu(_convolved(state, net["enter/kernel"], net["enter/bias"], 1))
    heard, total = state, np.zeros_like(state)
    for number in range(sum(name.endswith("/mix") for name in net)):
        heard = _elu(_convolved(state, net[f"{number}/kernel"], net[f"{number}/bias"], 2**number))
        state = state + heard @ net[f"{number}/mix"] + net[f"{number}/mix_bias"]
        total += heard
    last = np.concatenate((state, total), axis=1)
    beat, bar = _likely(last @ net["out/kernel"] + net["out/bias"]).reshape(-1, 2, 2).transpose(1, 0, 2).reshape(2, -1)
    hidden = _elu(last.mean(axis=0) @ net["tempo/first"] + net["tempo/first_bias"])
    odds = hidden @ net["tempo/second"] + net["tempo/second_bias"]
    share = np.exp(odds - odds.max())
    return Pulse(beat[:frames], bar[:frames], share / share.sum())


@functools.cache
def _weights() -> Net:
    with np.load(Path(__file__).with_name("beat_weights.npz")) as file:
        return {name: file[name].astype(np.float32) for name in file.files}


def _entered(net: Net, features: Features) -> Samples:
    # The first layer, piece by piece, so that hours need no second copy of the bands.
    top = loudest_band(features)
    steps = (len(features.bands) + 1) // 2
    out = np.empty((steps, net["first/bias"].size), np.float32)
    for start in range(0, steps, _PIECE):
        first, end = 2 * start, min(2 * (start + _PIECE), 2 * steps)
        levels = features.bands[max(0, first - _LAG) : end].astype(np.float32)
        levels = np.pad(levels, ((max(0, _LAG - first), end - min(end, len(features.bands))), (0, 0)), mode="edge")
        levels = np.clip(levels - top, _LOWEST_DB, _HIGHEST_DB)
        rise = np.maximum(0.0, levels[_LAG:] - levels[:-_LAG])
        both = np.concatenate((levels[_LAG:] / 30 + 1, rise / 8), axis=1)
        out[start : start + _PIECE] = both.reshape(-1, 2 * both.shape[1]) @ net["first/kernel"] + net["first/bias"]
    return out


def _convolved(state: Samples, kernel: Samples, bias: Samples, apart: int) -> Samples:
    # kernel: (taps * channels in, channels out), taps `apart` steps from each other.
    channels = state.shape[1]
    taps = len(kernel) // channels
    reach = taps // 2 * apart
    padded = np.pad(state, ((reach, reach), (0, 0)))
    out = np.empty((len(state), kernel.shape[1]), np.float32)
    for start in range(0, len(state), _PIECE):
        end = min(len(state), start + _PIECE)
        table = np.concatenate([padded[start + k * apart : end + k * apart] for k in range(taps)], axis=1)
        np.matmul(table, kernel, out=out[start:end])
    out += bias
    return out


def _elu(values: Samples) -> Samples:
    result: Samples = np.maximum(values, 0) + np.expm1(np.minimum(values, 0))
    return result


def _likely(odds: Samples) -> Samples:
    return (1 / (1 + np.exp(-odds))).astype(np.float32)
