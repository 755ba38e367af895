"""Names of channels and their fold-down to two.

Samples are float32, shape (frames, channels), full scale +-1.
"""

import numpy as np

from audio.arrays import F32

# The order of WAVE_FORMAT_EXTENSIBLE (SMPTE 2036-2 for 5.1), for files that state a number of channels only.
_USUAL: dict[int, tuple[str, ...]] = {
    1: ("FC",),
    2: ("FL", "FR"),
    3: ("FL", "FR", "FC"),
    4: ("FL", "FR", "BL", "BR"),
    5: ("FL", "FR", "FC", "BL", "BR"),
    6: ("FL", "FR", "FC", "LFE", "BL", "BR"),
    7: ("FL", "FR", "FC", "LFE", "BC", "SL", "SR"),
    8: ("FL", "FR", "FC", "LFE", "BL", "BR", "SL", "SR"),
}
_MINUS_3_DB = 0.5**0.5
# ITU-R BS.775-3, annex 4, table 2: 3/2 to 2/0, centre and surrounds at 0.7071; the low-frequency channel is left out.
_LEFT_RIGHT: dict[str, tuple[float, float]] = {
    "FL": (1.0, 0.0),
    "FR": (0.0, 1.0),
    "FC": (_MINUS_3_DB, _MINUS_3_DB),
    "LFE": (0.0, 0.0),
    "BL": (_MINUS_3_DB, 0.0),
    "SL": (_MINUS_3_DB, 0.0),
    "BR": (0.0, _MINUS_3_DB),
    "SR": (0.0, _MINUS_3_DB),
    "BC": (0.5, 0.5),
}


def usual_layout(channels: int) -> tuple[str, ...]:
    """Channel names for a number of channels, in the order of WAVE_FORMAT_EXTENSIBLE; "" for those without a place.

    >>> usual_layout(6)
    ('FL', 'FR', 'FC', 'LFE', 'BL', 'BR')
    """
    return _USUAL.get(channels, ("FL", "FR") + ("",) * (channels - 2))


def to_stereo(samples: F32, layout: tuple[str, ...]) -> F32:
    """Fold to left and right by ITU-R BS.775-3; one channel is given to both sides as it is.

    Args:
        samples: shape (frames, channels).
        layout: a name for each channel; what has another name than those of the standard is left out.
    Returns:
        shape (frames, 2). More than two channels can add up to more than full scale.

    >>> to_stereo(np.array([[0.5]], np.float32), ("FC",)).tolist()
    [[0.5, 0.5]]
    """
    if samples.shape[1] == 2:
        return samples
    if samples.shape[1] == 1:
        return np.repeat(samples, 2, axis=1)
    weights = np.array([_LEFT_RIGHT.get(name, (0.0, 0.0)) for name in layout], np.float32)
    folded = np.zeros((len(samples), 2), np.float32)
    np.matmul(samples, weights, out=folded)
    return folded


def to_layout(samples: F32, layout: tuple[str, ...], wanted: tuple[str, ...]) -> F32:
    """Bring samples to another number of channels, by way of stereo; surrounds that are wanted stay silent.

    Args:
        samples: shape (frames, channels).
        layout, wanted: the names of their channels, and of those that come out.
    Returns:
        shape (frames, len(wanted)); `samples` themselves where nothing is to be done.
    """
    if layout == wanted or (len(layout) == len(wanted) <= 2):
        return samples
    stereo = to_stereo(samples, layout)
    if len(wanted) == 1:
        return (stereo[:, :1] + stereo[:, 1:]) * np.float32(0.5)
    spread = np.zeros((len(samples), len(wanted)), np.float32)
    spread[:, :2] = stereo
    return spread
