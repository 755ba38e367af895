"""Gain laws: how one track gives way to another, or to silence.

All factors are amplitudes between 0 and 1. x runs from 0 at the first sample of a fade to 1 at its last.
"""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]

SHORTEST_FADE_S = 0.01  # a start or end in the middle of a wave clicks; common practice, no source


def equal_power(samples: int, correlation: float = 0.0) -> tuple[Floats, Floats]:
    """Keep the level while one track gives way to another.

    Args:
        samples: length of the overlap, at least 2.
        correlation: of the two signals in the overlap, 0 (unrelated) to 1 (the same music on the same beat).
    Returns:
        going, coming: shape (samples,), 1 to 0 and 0 to 1. Their power with the correlation counted in,
        going² + coming² + 2 r going coming, is 1 throughout; for unrelated tracks that is cos and sin over
        a quarter turn (both -3.01 dB in the middle), for equal ones both are -6.02 dB there.
    Raises:
        ValueError: `samples` is below 2 or `correlation` outside 0 to 1.

    >>> [round(float(gain[1]), 3) for gain in equal_power(3)]
    [0.707, 0.707]
    >>> [round(float(gain[1]), 3) for gain in equal_power(3, correlation=1.0)]
    [0.5, 0.5]
    """
    if samples < 2:
        raise ValueError(f"an overlap needs 2 samples, not {samples}")
    if not 0.0 <= correlation <= 1.0:
        raise ValueError(f"a correlation of {correlation} is outside 0 to 1")
    angle = np.linspace(0.0, np.pi / 2, samples)
    going, coming = np.cos(angle), np.sin(angle)
    going[-1] = coming[0] = 0.0
    power = 1.0 + 2.0 * correlation * going * coming
    return (going / np.sqrt(power)).astype(np.float32), (coming / np.sqrt(power)).astype(np.float32)


def correlation(going: Floats, coming: Floats) -> float:
    """Correlation of two stereo stretches at lag 0, 0 to 1; 0 where one is silent or they cancel.

    Args:
        going, coming: shape (frames, 2), the same frames of the mix.
    """
    power = float(np.vdot(going, going)) * float(np.vdot(coming, coming))
    if power <= 0.0:
        return 0.0
    return float(np.clip(np.vdot(going, coming) / power**0.5, 0.0, 1.0))
