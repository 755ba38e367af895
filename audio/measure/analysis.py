"""One pass over a file gives every number that is known of it."""

import math
from pathlib import Path

import numpy as np

from audio.errors import AudioError
from audio.files.decode import Decoder
from audio.measure.beats import beats_of
from audio.measure.energy import energy_curve
from audio.measure.features import Features, FeatureStream
from audio.measure.key import key_of
from audio.measure.loudness import Loudness, Meter, weights_of
from audio.measure.onsets import onset_strength, onsets
from audio.measure.phrases import cut_points
from audio.measure.spectrum import MonoStream, Samples
from audio.measure.tagging import TagWindows, tag_odds
from audio.measure.tempo import tempo_of
from audio.measure.voice import voice_curve
from audio.track import Analysis

SHORTEST_S = 5.0  # editorial: a stinger or a click is no track
_TAGS_EVERY_S = 6.0
_CHUNK_S = 12.0  # worked on at once: long enough for quick array work, short enough for little memory


def analyse(path: Path) -> Analysis:
    """Measure a recording.

    Args:
        path: any audio file; it is read once, from end to end.
    Returns:
        All of `Analysis`; curves have ceil(duration) values.
    Raises:
        AudioError: the file can't be decoded, is shorter than 5 s, or is silent throughout.
    """
    with Decoder(path) as decoder:
        run = _Pass(decoder.rate, weights_of(decoder.layout))
        for block in decoder.blocks():
            run.feed(block.samples)
    return run.result(path, tuple(decoder.notes))


class _Pass:
    def __init__(self, rate: int, weights: tuple[float, ...]) -> None:
        self._rate = rate
        self._meter = Meter(rate, weights)
        self._mono = MonoStream(rate)
        self._features = FeatureStream()
        self._tags = TagWindows(_TAGS_EVERY_S)
        self._held: list[Samples] = []
        self._frames = self._held_frames = 0

    def feed(self, samples: Samples) -> None:
        self._held.append(samples)
        self._frames += len(samples)
        self._held_frames += len(samples)
        if self._held_frames >= _CHUNK_S * self._rate:
            self._work()

    def _work(self) -> None:
        if self._held:
            samples = np.concatenate(self._held)
            self._held, self._held_frames = [], 0
            self._meter.feed(samples)
            self._take(self._mono.feed(samples))

    def _take(self, mono: Samples) -> None:
        self._features.feed(mono)
        self._tags.feed(mono)

    def result(self, path: Path, notes: tuple[str, ...]) -> Analysis:
        self._work()
        self._take(self._mono.end())
        duration = self._frames / self._rate
        if duration < SHORTEST_S:
            raise AudioError(f"lasts {duration:.1f} s, too short for a track.", where=str(path))
        loudness = self._meter.read()
        if loudness.integrated_lufs == -math.inf:
            raise AudioError("is silent throughout.", where=str(path))
        self._tags.end()
        return _analysis(duration, loudness, self._features.end(), self._tags, notes)


def _analysis(
    duration: float, loudness: Loudness, features: Features, tags: TagWindows, notes: tuple[str, ...]
) -> Analysis:
    seconds = math.ceil(duration)
    strength = onset_strength(features)
    onset_times = onsets(strength)
    tempo = tempo_of(strength)
    beats = beats_of(features, strength, tempo)
    key, key_strength = key_of(features.chroma)
    odds = tag_odds(np.array(tags.windows))
    return Analysis(
        duration_s=duration,
        loudness_lufs=loudness.integrated_lufs,
        loudness_range_lu=loudness.range_lu,
        true_peak_dbtp=loudness.true_peak_dbtp,
        rise_lu=loudness.rise_lu(),
        tempo_bpm=tempo.bpm,
        tempo_confidence=tempo.confidence,
        tempo_drift=tempo.drift,
        beats_s=beats.beats_s,
        downbeats_s=beats.downbeats_s,
        metre=beats.metre,
        key=key,
        key_strength=key_strength,
        energy=energy_curve(features, onset_times, seconds),
        voice=voice_curve(odds, np.array(tags.middles_s, np.float32), seconds),
        loudness=loudness.curve(seconds),
        cut_points=cut_points(features, beats, duration),
        treble_share=float(features.treble.sum() / max(1e-9, features.power.sum())),
        onset_rate=len(onset_times) / duration,
        notes=notes,
    )
