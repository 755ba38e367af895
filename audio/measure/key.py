"""Key of a track by the profiles of Krumhansl and Kessler (1982): correlation with the mean pitch-class content.

The profiles and their source stand in `audio.constants`.
"""

import numpy as np

from audio import constants as c
from audio.arrays import F32

_MAJOR = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
_MINOR = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "G#", "A", "Bb", "B")
KEY_NAMES = (*(f"{name} major" for name in _MAJOR), *(f"{name} minor" for name in _MINOR))
"""The 24 keys: pitch class of the tonic (C is 0) for major, 12 more for minor; each in its usual spelling."""


def key_of(chroma: F32) -> tuple[str | None, float]:
    """Name ("A minor", one of `KEY_NAMES`) and strength of the key.

    Args:
        chroma: power of the pitch classes from C, shape (frames, 12).
    Returns:
        The name, None for silence or where no key correlates; and the correlation, 0 to 1.

    >>> scale = np.array([[1, 0, 1, 0, 1, 1, 0, 1, 0, 1, 0, 1]], np.float32)
    >>> key_of(scale)[0], key_of(np.zeros((1, 12), np.float32))
    ('C major', (None, 0.0))
    """
    level = np.sqrt(chroma.astype(np.float64))
    content = (level / np.maximum(level.sum(axis=1, keepdims=True), 1e-9)).sum(axis=0)
    if content.max() - content.min() < 1e-9:
        return None, 0.0
    profiles = np.array(
        [np.roll(profile, tonic) for profile in (c.KEY_PROFILE_MAJOR, c.KEY_PROFILE_MINOR) for tonic in range(12)]
    )
    fit = np.corrcoef(content, profiles)[0, 1:]
    best = int(fit.argmax())
    strength = float(np.clip(fit[best], 0.0, 1.0))
    return (KEY_NAMES[best], strength) if strength > 0 else (None, 0.0)
