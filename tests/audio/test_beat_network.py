"""The network that hears beats: its arithmetic against a plain reading of it, and what it hears in known sounds."""

import numpy as np
import pytest
import sounds
from test_tempo_and_beats import features_of

from audio.measure import beat_network
from audio.measure.beat_network import TEMPOS_BPM, Pulse, pulse_of
from audio.measure.features import Features
from audio.measure.spectrum import FRAMES_PER_S
from audio.measure.tempo import Tempo, as_heard


def convolved_plainly(state: np.ndarray, kernel: np.ndarray, bias: np.ndarray, apart: int) -> np.ndarray:
    """Sum over the taps, each frame and channel for itself; outside the track stands silence."""
    channels = state.shape[1]
    taps = kernel.reshape(-1, channels, kernel.shape[1])
    out = np.tile(bias.astype(np.float64), (len(state), 1))
    for number, tap in enumerate(taps):
        shift = (number - len(taps) // 2) * apart
        for frame in range(len(state)):
            if 0 <= frame + shift < len(state):
                out[frame] += state[frame + shift] @ tap
    return out


@pytest.mark.parametrize(("frames", "apart"), [(40, 1), (40, 4), (7, 16)])
def test_convolution_in_pieces_is_the_plain_sum(frames, apart, monkeypatch):
    monkeypatch.setattr(beat_network, "_PIECE", 16)
    random = np.random.default_rng(frames + apart)
    state = random.standard_normal((frames, 3)).astype(np.float32)
    kernel, bias = random.standard_normal((15, 2)).astype(np.float32), np.array([0.5, -1], np.float32)
    ours = beat_network._convolved(state, kernel, bias, apart)
    assert ours == pytest.approx(convolved_plainly(state, kernel, bias, apart), abs=1e-4)


def elu(values: np.ndarray) -> np.ndarray:
    """D.-A. Clevert et al., "Fast and accurate deep network learning by exponential linear units", 2016."""
    return np.where(values > 0, values, np.exp(np.minimum(values, 0)) - 1)


def heard_plainly(bands: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """What the network's head says that it does, layer by layer over the whole track, in double precision.

    Two frames a step: levels from 60 dB below the loudest band to 10 above, by 30 and one more; rises over two frames,
    by 8. Layer n hears 2 ** n steps to either side; its mix is added to what goes on, and all are summed.
    """
    net = {name: values.astype(np.float64) for name, values in beat_network._weights().items()}
    top = float(np.percentile(bands.max(axis=1), 99))  # what one frame of a hundred passes
    frames = len(bands)
    padded = np.concatenate((bands[:1], bands[:1], bands, bands[-1:])).astype(np.float64)[: frames + 2 + frames % 2]
    levels = np.clip(padded - top, -60.0, 10.0)
    seen = [
        np.concatenate((now / 30 + 1, np.maximum(now - before, 0) / 8))
        for now, before in zip(levels[2:], levels[:-2], strict=True)
    ]
    steps = np.array(seen).reshape(len(seen) // 2, -1)
    state = elu(steps @ net["first/kernel"] + net["first/bias"])
    state = elu(convolved_plainly(state, net["enter/kernel"], net["enter/bias"], 1))
    total, number = np.zeros_like(state), 0
    while f"{number}/mix" in net:
        heard = elu(convolved_plainly(state, net[f"{number}/kernel"], net[f"{number}/bias"], 2**number))
        state = state + heard @ net[f"{number}/mix"] + net[f"{number}/mix_bias"]
        total, number = total + heard, number + 1
    assert number == 9
    last = np.concatenate((state, total), axis=1)
    likely = 1 / (1 + np.exp(-(last @ net["out/kernel"] + net["out/bias"])))
    odds = elu(last.mean(axis=0) @ net["tempo/first"] + net["tempo/first_bias"]) @ net["tempo/second"]
    shares = np.exp(odds + net["tempo/second_bias"])
    by_frame = likely.reshape(-1, 2, 2)  # what is heard (beat, bar), then the step's first and second frame
    beat, bar = (by_frame[:, which].reshape(-1)[:frames] for which in (0, 1))
    return beat, bar, shares / shares.sum()


def silent(bands: np.ndarray) -> Features:
    """Features of which nothing but the bands counts."""
    still = np.zeros(len(bands), np.float32)
    return Features(bands.astype(np.float16), still, still, still, still, np.zeros((1, 12), np.float32), still)


@pytest.mark.parametrize("frames", [61, 80])
def test_the_whole_network_is_the_plain_one(frames):
    random = np.random.default_rng(frames)
    bands = (random.uniform(-70, -20, (frames, 1)) + random.uniform(-30, 30, (frames, 40))).astype(np.float16)
    beat, bar, tempo = heard_plainly(bands)
    made = pulse_of(silent(bands))
    assert made.beat == pytest.approx(beat, abs=2e-4)
    assert made.bar == pytest.approx(bar, abs=2e-4)
    assert made.tempo == pytest.approx(tempo, abs=1e-4)
    assert beat.std() > 1e-3
    assert np.log(TEMPOS_BPM[[0, -1]]) == pytest.approx(np.log([40.0, 240.0]))


@pytest.mark.parametrize("stretch", [700, 1500])
def test_what_is_heard_does_not_depend_on_the_stretches(stretch, monkeypatch):
    features = features_of(sounds.drums(110, 50)[0])
    whole = pulse_of(features)
    monkeypatch.setattr(beat_network, "_STRETCH", stretch)
    parts = pulse_of(features)
    assert parts.beat == pytest.approx(whole.beat, abs=1e-4)
    assert parts.bar == pytest.approx(whole.bar, abs=1e-4)
    assert parts.tempo == pytest.approx(whole.tempo, abs=1e-4)


@pytest.mark.parametrize("bpm", [84, 100, 120, 140])
def test_each_beat_of_drums_is_likelier_than_all_between(bpm):
    samples, true_s = sounds.drums(bpm, 20)
    pulse = pulse_of(features_of(samples))
    frames = np.round(true_s[2:-2] * FRAMES_PER_S).astype(int)
    near = pulse.beat[frames[:, None] + np.arange(-3, 4)].max(axis=1)
    between = pulse.beat[frames + round(30 / bpm * FRAMES_PER_S)]
    assert near.min() > 10 * between.max()
    assert pulse.tempo.sum() == pytest.approx(1, abs=1e-4)


@pytest.mark.parametrize("frames", [0, 1, 2, 3])
def test_hardly_any_sound_is_no_trouble(frames):
    still = np.zeros(frames, np.float32)
    few = Features(
        np.full((frames, 40), -80, np.float16), still, still, still, still, np.zeros((1, 12), np.float32), still
    )
    pulse = pulse_of(few)
    assert len(pulse.beat) == len(pulse.bar) == frames
    assert np.isfinite(pulse.tempo).all()


@pytest.mark.parametrize(
    ("bpm", "energy", "slow_share", "heard"),
    [(130, 0.2, 0.5, 65), (130, 0.2, 0.01, 130), (130, 0.6, 0.5, 130), (90, 0.1, 0.5, 90), (None, 0.1, 0.5, None)],
    ids=["calm and fast", "the network says fast", "lively", "not fast", "no beat"],
)
def test_a_calm_tempo_is_halved_only_where_the_network_agrees(bpm, energy, slow_share, heard):
    near = np.abs(np.log(TEMPOS_BPM / 65)) < 0.1
    share = np.where(near, slow_share, np.where(np.abs(np.log(TEMPOS_BPM / 130)) < 0.1, 1 - slow_share, 0.0))
    pulse = Pulse(np.zeros(9, np.float32), np.zeros(9, np.float32), share.astype(np.float32))
    tempo = as_heard(Tempo(bpm, 0.9, 0.0, np.full(3, 40, np.float32)), pulse, energy)
    assert tempo.bpm == heard
    assert tempo.period[0] == (80 if heard == 65 else 40)
