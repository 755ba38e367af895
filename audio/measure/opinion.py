"""A second opinion on a recording: librosa's onset strength, tempo, beats and key, beside what this program finds.

B. McFee et al., "librosa: Audio and music signal analysis in Python", 2015; an extra of the install, imported only here
and only when asked. librosa names no key: its pitch-class content is held against the same profiles as ours
(`audio.measure.key`), so that the difference is the content's.
"""

from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

import numpy as np

from audio.arrays import F32, F64
from audio.errors import ArcbedError
from audio.files.decode import Decoder
from audio.measure.analysis import analyse
from audio.measure.features import FeatureStream
from audio.measure.key import key_of
from audio.measure.onsets import onset_strength
from audio.measure.spectrum import FRAMES_PER_S, RATE, MonoStream

_TOGETHER_S = 0.07  # beats so near to each other are the same; as in the usual F measure of beat tracking
_HOP = 512  # librosa's own


@dataclass(frozen=True, slots=True, eq=False)
class Opinion:
    """What one listener finds in a recording.

    strength: onset strength, in the listener's own unit, shape (frames,), `per_s` of them a second.
    tempo_bpm: None where no beat is clear; librosa always names one.
    beats_s: seconds, ascending.
    """

    who: str
    duration_s: float
    strength: F32
    per_s: float
    tempo_bpm: float | None
    beats_s: F64
    key: str | None


def opinions(path: Path) -> tuple[Opinion, Opinion]:
    """This program's opinion of a recording, and librosa's.

    Raises:
        ArcbedError: librosa isn't installed. AudioError: the file can't be read, or is too short for a track.
    """
    if find_spec("librosa") is None:
        raise ArcbedError(
            "a second opinion needs librosa, which isn't installed.",
            remedy="Install it beside arcbed.",
            command="pip install 'arcbed[opinion]'",
        )
    known, samples = analyse(path), _mono(path)
    features = FeatureStream()
    features.feed(samples)
    ours = Opinion(
        "arcbed",
        known.duration_s,
        onset_strength(features.end()),
        FRAMES_PER_S,
        known.tempo_bpm,
        known.curves.beats_s,
        known.key,
    )
    return ours, _by_librosa(samples)


def agreement(one: Opinion, two: Opinion) -> float | None:
    """F measure of two opinions' beats, within 70 ms of each other, 0 to 1; None where one has none."""
    if not len(one.beats_s) or not len(two.beats_s):
        return None
    near = sum(_near(two.beats_s, at) for at in one.beats_s.tolist())
    back = sum(_near(one.beats_s, at) for at in two.beats_s.tolist())
    precision, recall = near / len(one.beats_s), back / len(two.beats_s)
    return 2 * precision * recall / (precision + recall) if precision + recall else 0.0


def _by_librosa(samples: F32) -> Opinion:
    import librosa

    strength = librosa.onset.onset_strength(y=samples, sr=RATE, hop_length=_HOP)
    tempo, beats = librosa.beat.beat_track(onset_envelope=strength, sr=RATE, hop_length=_HOP, units="time")
    chroma = librosa.feature.chroma_cqt(y=samples, sr=RATE, hop_length=_HOP)
    bpm = float(np.atleast_1d(tempo)[0])
    return Opinion(
        "librosa",
        len(samples) / RATE,
        np.asarray(strength, np.float32),
        RATE / _HOP,
        bpm or None,
        np.asarray(beats, np.float64),
        key_of(np.square(chroma.T).astype(np.float32))[0],
    )


def _mono(path: Path) -> F32:
    with Decoder(path) as decoder:
        stream = MonoStream(decoder.rate)
        parts = [stream.feed(block.samples) for block in decoder.blocks()]
    return np.concatenate([*parts, stream.end()])


def _near(beats_s: F64, at_s: float) -> bool:
    return bool(np.abs(beats_s - at_s).min() <= _TOGETHER_S)
