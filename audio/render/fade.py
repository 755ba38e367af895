"""Gain laws: how one track gives way to another, or to silence.

All factors are amplitudes between 0 and 1. x runs from 0 at the first sample of a fade to 1 at its last.
"""

import numpy as np

from audio.arrays import F32

SHORTEST_FADE_S = 0.01  # a start or end in the middle of a wave clicks; common practice, no source


HOPS_A_SECOND = 4
LEAST_CORRELATION = -0.5  # what cancels is lifted by no more than 3 dB


def equal_power(samples: int, correlation: float | F32 = 0.0) -> tuple[F32, F32]:
    """Keep the level while one track gives way to another.

    Args:
        samples: length of the overlap, at least 2.
        correlation: of the two signals in the overlap, 0 (unrelated) to 1 (the same music on the same beat), below 0
            where they cancel, -0.5 at least; one value, or one a sample.
    Returns:
        going, coming: shape (samples,), 1 to 0 and 0 to 1. Their power with the correlation counted in,
        going² + coming² + 2 r going coming, is 1 throughout; for unrelated tracks that is cos and sin over
        a quarter turn (both -3.01 dB in the middle), for equal ones both are -6.02 dB there.
    Raises:
        ValueError: `samples` is below 2 or `correlation` outside -0.5 to 1.

    >>> [round(float(gain[1]), 3) for gain in equal_power(3)]
    [0.707, 0.707]
    >>> [round(float(gain[1]), 3) for gain in equal_power(3, correlation=1.0)]
    [0.5, 0.5]
    """
    if samples < 2:
        raise ValueError(f"an overlap needs 2 samples, not {samples}")
    if not (np.min(correlation) >= LEAST_CORRELATION and np.max(correlation) <= 1.0):
        raise ValueError(f"a correlation of {correlation} is outside {LEAST_CORRELATION} to 1")
    angle = np.linspace(0.0, np.pi / 2, samples)
    going, coming = np.cos(angle), np.sin(angle)
    going[-1] = coming[0] = 0.0
    power = 1.0 + 2.0 * correlation * going * coming
    return (going / np.sqrt(power)).astype(np.float32), (coming / np.sqrt(power)).astype(np.float32)


def correlation(going: F32, coming: F32, rate: int) -> F32:
    """Correlation of two stereo stretches at lag 0 as it changes, in windows of about a second, shape (frames,).

    A time-stretch keeps the pitch of a track, not its phase, so that the same music may add up here and cancel there.

    Args:
        going, coming: shape (frames, 2), the same frames of the mix.
        rate: frames a second.
    Returns:
        -0.5 to 1; 0 where one is silent.
    """
    frames = len(going)
    edges = np.arange(0, max(frames, 1), max(rate // HOPS_A_SECOND, 1))
    products = ((going * coming), np.square(going), np.square(coming))
    sums = [np.add.reduceat(each.sum(axis=1, dtype=np.float64), edges) for each in products]
    both, one, other = (np.convolve(each, np.ones(HOPS_A_SECOND + 1), "full")[2:-2] for each in sums)
    power = np.sqrt(one * other)
    found = np.divide(both, power, out=np.zeros_like(both), where=power > 0.0)
    middles = edges + np.diff(edges, append=frames) / 2
    return np.asarray(np.interp(np.arange(frames), middles, np.clip(found, LEAST_CORRELATION, 1.0)), np.float32)
