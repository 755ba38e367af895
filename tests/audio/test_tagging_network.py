"""The tagging network against a slow, literal reading of its published graph, and its front end against librosa.

J. Pons, X. Serra, "musicnn: pre-trained convolutional neural networks for music audio tagging", 2019.
"""

import numpy as np
import pytest
import sounds

from audio.measure import tagging


def literal(levels: np.ndarray, net: dict[str, np.ndarray]) -> np.ndarray:
    """Every filter at every place, in double precision, as the paper draws it."""
    from scipy.signal import correlate

    def normal(name: str, values: np.ndarray) -> np.ndarray:
        return np.maximum(values + net[f"{name}/bias"], 0) * net[f"{name}/factor"] + net[f"{name}/offset"]

    levels = levels * net["input/factor"] + net["input/offset"]
    parts = []
    for name in ("timbral_0", "timbral_1", "temporal_0", "temporal_1", "temporal_2"):
        kernel = net[f"{name}/kernel"].astype(np.float64)
        frames = kernel.shape[0]
        padded = np.pad(levels.astype(np.float64), (((frames - 1) // 2, frames // 2), (0, 0)))
        planes = [correlate(padded, kernel[:, :, channel], mode="valid") for channel in range(kernel.shape[2])]
        parts.append(normal(name, np.stack(planes, axis=-1)).max(axis=1))
    layers = [np.concatenate(parts, axis=1)]
    for number in range(3):
        kernel = net[f"middle_{number}/kernel"].astype(np.float64)
        padded = np.pad(layers[-1], ((3, 3), (0, 0)))
        rows = [np.tensordot(padded[at : at + 7], kernel, axes=2) for at in range(len(levels))]
        new = normal(f"middle_{number}", np.array(rows))
        layers.append(new if number == 0 else new + layers[-1])
    whole = np.concatenate(layers, axis=1)
    pooled = np.stack([whole.max(axis=0), whole.mean(axis=0)], axis=1).ravel()
    pooled = pooled * net["pooled/factor"] + net["pooled/offset"]
    hidden = normal("dense", pooled @ net["dense/kernel"])
    return hidden @ net["output/kernel"] + net["output/bias"]


@pytest.fixture(scope="module")
def windows() -> list[np.ndarray]:
    samples = np.concatenate((sounds.drums(120, 7)[0], sounds.chords([[57, 61, 64], [50, 54, 57]], 2.0, 8)))
    stream = tagging.TagWindows(5.0)
    for start in range(0, len(samples), 30_000):
        stream.feed(samples[start : start + 30_000])
    stream.end()
    assert np.array(stream.middles_s) == pytest.approx([2.5, 7.5, 12.5], abs=0.01)
    return stream.windows


def test_the_quick_network_is_the_literal_one(windows, monkeypatch):
    monkeypatch.setattr(tagging, "_STRIDE", 1)
    levels = np.log10(10000 * 10 ** windows[0].astype(np.float32) + 1)
    assert tagging.tag_odds(windows[:1])[0] == pytest.approx(literal(levels, tagging._weights()), abs=2e-3)


def test_leaving_out_every_second_place_changes_little(windows, monkeypatch):
    thinned = tagging.tag_odds(windows)
    monkeypatch.setattr(tagging, "_STRIDE", 1)
    full = tagging.tag_odds(windows)
    assert np.corrcoef(thinned.ravel(), full.ravel())[0, 1] > 0.95


@pytest.mark.slow
def test_the_front_end_is_librosas(windows):
    librosa = pytest.importorskip("librosa")
    samples = np.concatenate((sounds.drums(120, 7)[0], sounds.chords([[57, 61, 64], [50, 54, 57]], 2.0, 8)))
    start = round((7.5 - 66_300 / 22_050 / 2) * 22_050)
    sound = librosa.resample(samples[start : start + 66_300], orig_sr=22_050, target_sr=16_000, res_type="soxr_hq")
    mel = librosa.feature.melspectrogram(
        y=sound, sr=16_000, n_fft=512, hop_length=256, n_mels=96, pad_mode="constant"
    ).T[:187]
    ours = 10 ** windows[1].astype(np.float32)
    assert np.log10(10000 * ours + 1) == pytest.approx(np.log10(10000 * mel + 1), abs=0.02)


def test_a_short_sound_gives_one_window():
    stream = tagging.TagWindows(6.0)
    stream.feed(np.full(1000, 0.1, np.float32))
    stream.end()
    assert len(stream.windows) == 1
    assert tagging.tag_odds(stream.windows).shape == (1, 50)
