"""A small network of our own that hears where beats and bars begin, run with numpy alone.

Temporal convolutions with growing reach, after M. Davies, S. Böck, "Temporal convolutional networks for musical audio
beat tracking", EUSIPCO 2019; own layout, own weights. It was trained on music that we wrote by rules, on arrangements
of POP909 (MIT licence) and on songs of OpenScore Lieder (CC0) played freely, all rendered by ourselves,
tests/benchmarks/train_beats.py, so the weights are free of anyone else's recordings.

It reads the 40 mel bands of two frames at once: level below the loudest band, and rise since 23 ms before.
"""

import functools
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from audio.arrays import F32
from audio.measure.features import Features
from audio.measure.onsets import loudest_band

# The numbers are editorial: the layout of the network that was trained.
TEMPOS_BPM = np.geomspace(40.0, 240.0, 64)
_LOWEST_DB, _HIGHEST_DB = -60.0, 10.0  # around the loudest band
_LAG = 2  # frames, 23 ms
_STRETCH = 8192  # steps of two frames worked on at once, so that hours need little memory
_REACH = 1024  # steps on either side that a step can hear: 1 + 2 * (1 + 2 + ... + 256), rounded up
_PIECE = 1024  # steps of two frames convolved at once: what they need stays in the processor's cache
Net = dict[str, F32]


@dataclass(frozen=True, slots=True, eq=False)
class Pulse:
    """What the network hears.

    beat: likelihood of a beat at each frame, 0 to 1, shape (frames,). bar: the same of the first beat of a bar.
    tempo: likelihood of each of `TEMPOS_BPM`, shape (64,), sums to 1.
    """

    beat: F32
    bar: F32
    tempo: F32


def pulse_of(features: Features) -> Pulse:
    """Where the network hears beats; of a track of fewer than two frames, no beats and all tempi alike."""
    net, frames = _weights(), len(features.bands)
    if frames < _LAG:
        return Pulse(np.zeros(frames, np.float32), np.zeros(frames, np.float32), np.full(64, 1 / 64, np.float32))
    steps, top = (frames + 1) // 2, loudest_band(features)
    heard, sums = np.empty((2, 2 * steps), np.float32), np.zeros(net["out/kernel"].shape[0])
    for start in range(0, steps, _STRETCH):
        end = min(steps, start + _STRETCH)
        first = max(0, start - _REACH)
        last = _layers(net, features, top, first, min(steps, end + _REACH))[start - first :][: end - start]
        odds = last @ net["out/kernel"] + net["out/bias"]
        heard[:, 2 * start : 2 * end] = _likely(odds).reshape(-1, 2, 2).transpose(1, 0, 2).reshape(2, -1)
        sums += last.sum(axis=0, dtype=np.float64)
    return Pulse(heard[0, :frames], heard[1, :frames], _tempo(net, (sums / steps).astype(np.float32)))


def _layers(net: Net, features: Features, top: float, first: int, end: int) -> F32:
    """The last layer and the sum of all, at steps [first, end), shape (steps, 2 * channels)."""
    state = _elu(_entered(net, features, top, first, end))
    state = _elu(_convolved(state, net["enter/kernel"], net["enter/bias"], 1))
    total = np.zeros_like(state)
    for number in range(sum(name.endswith("/mix") for name in net)):
        heard = _elu(_convolved(state, net[f"{number}/kernel"], net[f"{number}/bias"], 2**number))
        state += heard @ net[f"{number}/mix"] + net[f"{number}/mix_bias"]
        total += heard
    return np.concatenate((state, total), axis=1)


def _tempo(net: Net, mean: F32) -> F32:
    hidden = _elu(mean @ net["tempo/first"] + net["tempo/first_bias"])
    odds = hidden @ net["tempo/second"] + net["tempo/second_bias"]
    share = np.exp(odds - odds.max())
    shares: F32 = (share / share.sum()).astype(np.float32)
    return shares


@functools.cache
def _weights() -> Net:
    with np.load(Path(__file__).with_name("beat_weights.npz")) as file:
        return {name: file[name].astype(np.float32) for name in file.files}


def _entered(net: Net, features: Features, top: float, first: int, end: int) -> F32:
    # The first layer at steps [first, end), of two frames each.
    low, high, frames = 2 * first, 2 * end, len(features.bands)
    levels = features.bands[max(0, low - _LAG) : high].astype(np.float32)
    levels = np.pad(levels, ((max(0, _LAG - low), high - min(high, frames)), (0, 0)), mode="edge")
    levels = np.clip(levels - top, _LOWEST_DB, _HIGHEST_DB)
    rise = np.maximum(0.0, levels[_LAG:] - levels[:-_LAG])
    both = np.concatenate((levels[_LAG:] / 30 + 1, rise / 8), axis=1)
    out: F32 = both.reshape(-1, 2 * both.shape[1]) @ net["first/kernel"] + net["first/bias"]
    return out


def _convolved(state: F32, kernel: F32, bias: F32, apart: int) -> F32:
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


def _elu(values: F32) -> F32:
    result: F32 = np.maximum(values, 0) + np.expm1(np.minimum(values, 0))
    return result


def _likely(odds: F32) -> F32:
    return (1 / (1 + np.exp(-odds))).astype(np.float32)
