"""One pass over a file gives every number that is known of it."""

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np

from audio.arrays import F32
from audio.errors import AudioError
from audio.files.decode import Decoder
from audio.measure.beat_network import pulse_of
from audio.measure.beats import beats_of
from audio.measure.energy import HEARD_AT_LUFS, Evidence, energy_curve, noise_curve
from audio.measure.features import FeatureStream
from audio.measure.key import key_of
from audio.measure.loudness import Loudness, Meter, weights_of
from audio.measure.onsets import onset_strength, onsets
from audio.measure.phrases import cut_points
from audio.measure.rises import shape_of
from audio.measure.spectrum import MonoStream
from audio.measure.tagging import TagWindows, tag_odds
from audio.measure.tempo import as_heard, tempo_of
from audio.measure.voice import Voices, VoiceWindows, choir_of, voice_curves
from audio.track import Analysis, MeasuredCurves

SHORTEST_S = 5.0  # editorial: a stinger or a click is no track
NOISE_NOTE = "sounds like a steady noise (rain, surf, a fan), so it counts as calm; if it isn't, say its energy."
TAGS_EVERY_S = 6.0  # from one window of tags to the next; editorial, for speed
_CHUNK_S = 12.0  # worked on at once: long enough for quick array work, short enough for little memory


def analyse(path: Path, *, told: Callable[[Decoder, Loudness], None] | None = None) -> Analysis:
    """Measure a recording.

    Args:
        path: any audio file; it is read once, from end to end.
        told: is given the loudness step by step, of which an analysis keeps a value a second, and what it was read by.
    Returns:
        All of `Analysis`; curves have ceil(duration) values.
    Raises:
        AudioError: the file can't be decoded, is shorter than 5 s, or is silent throughout.

    >>> import soundfile
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     song = Path(folder, "tone.wav")
    ...     soundfile.write(song, 0.1 * np.sin(2 * np.pi * 440 * np.arange(8 * 22_050) / 22_050), 22_050)
    ...     found = analyse(song)
    >>> found.duration_s, round(found.true_peak_dbtp), found.tempo_bpm, found.curves.energy.shape
    (8.0, -20, None, (8,))
    """
    with Decoder(path) as decoder:
        run = Pass(decoder.rate, weights_of(decoder.layout))
        for block in decoder.blocks():
            run.feed(block.samples)
    duration = run.frames / decoder.rate
    if duration < SHORTEST_S:
        raise AudioError(_too_short(duration, decoder.notes), where=str(path))
    loudness, heard, voices = run.end()
    if loudness.integrated_lufs == -math.inf:
        raise AudioError("is silent throughout.", where=str(path))
    if told:
        told(decoder, loudness)
    return _analysis(duration, loudness, heard, voices, tuple(decoder.notes))


class Pass:
    """Takes a recording block by block and keeps what all measures need of it.

    Args:
        rate: samples a second.
        weights: power factors of the channels, see `weights_of`.
        tags_every_s: seconds from one window of tags to the next.
    """

    def __init__(self, rate: int, weights: tuple[float, ...], tags_every_s: float = TAGS_EVERY_S) -> None:
        self._rate = rate
        self._meter = Meter(rate, weights)
        self._mono = MonoStream(rate)
        self._features = FeatureStream()
        self._tags = TagWindows(tags_every_s)
        self._voices = VoiceWindows()
        self._held: list[F32] = []
        self._held_frames = 0
        self.frames = 0

    def feed(self, samples: F32) -> None:
        """Take the next frames, shape (frames, channels), full scale 1.0."""
        self._held.append(samples)
        self.frames += len(samples)
        self._held_frames += len(samples)
        if self._held_frames >= _CHUNK_S * self._rate:
            self._work()

    def end(self) -> tuple[Loudness, Evidence, Voices]:
        """Loudness, what the other measures are read from, and the voices, after the last frames."""
        self._work()
        self._take(self._mono.end())
        self._tags.end()
        loudness, features = self._meter.read(), self._features.end()
        level = loudness.integrated_lufs
        gain = 10 ** ((HEARD_AT_LUFS - level) / 10) if math.isfinite(level) else 1.0
        strength = onset_strength(features)
        odds = tag_odds(self._tags.windows, gain)
        heard = Evidence(features, strength, onsets(strength), odds, np.array(self._tags.middles_s, np.float32))
        return loudness, heard, self._voices.end()

    def _work(self) -> None:
        if self._held:
            samples = np.concatenate(self._held)
            self._held, self._held_frames = [], 0
            self._meter.feed(samples)
            self._take(self._mono.feed(samples))

    def _take(self, mono: F32) -> None:
        self._features.feed(mono)
        self._tags.feed(mono)
        self._voices.feed(mono)


def _too_short(duration: float, notes: tuple[str, ...]) -> str:
    """A cut-off file is short by a fault, which its notes tell."""
    return " ".join((f"lasts {duration:.1f} s, too short for a track.", *notes))


def _analysis(duration: float, loudness: Loudness, heard: Evidence, voices: Voices, notes: tuple[str, ...]) -> Analysis:
    seconds = math.ceil(duration)
    features = heard.features
    pulse = pulse_of(features)
    tempo = tempo_of(heard.strength, pulse)
    noise = np.zeros(seconds) if tempo.bpm else noise_curve(heard, seconds)
    energy = energy_curve(heard, noise)
    tempo = as_heard(tempo, pulse, float(energy.mean()))
    beats = beats_of(features, heard.strength, pulse, tempo)
    key, key_strength = key_of(features.chroma)
    voice, speech = voice_curves(voices, heard.odds, heard.middles_s, seconds)
    if noise.mean() > 0.5:
        notes = (*notes, NOISE_NOTE)
    return Analysis(
        duration_s=duration,
        loudness_lufs=loudness.integrated_lufs,
        loudness_range_lu=loudness.range_lu,
        true_peak_dbtp=loudness.true_peak_dbtp,
        rise_lu=loudness.rise_lu(),
        tempo_bpm=tempo.bpm,
        tempo_confidence=tempo.confidence,
        tempo_drift=tempo.drift,
        metre=beats.metre,
        key=key,
        key_strength=key_strength,
        treble_share=float(features.treble.sum() / max(1e-9, features.power.sum())),
        onset_rate=len(heard.onsets_s) / duration,
        notes=notes,
        choir=choir_of(heard.odds, heard.middles_s, voice),
        curves=MeasuredCurves(
            beats_s=beats.beats_s,
            downbeats_s=beats.downbeats_s,
            energy=energy,
            voice=voice,
            loudness=loudness.curve(seconds),
            cut_points=cut_points(features, beats, duration),
            shape=shape_of(features, beats, duration),
            speech=speech,
        ),
    )
