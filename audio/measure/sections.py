"""Recursive filters on a stream, many samples at a time: the numbers of `scipy.signal.sosfilt` without its module.

To load that takes half a second of each process that listens or mixes. A block of samples behind such a filter is
linear in the samples and in the state that the filter had before them, so blocks are worked out by products of
matrices. From state to state of the blocks it takes sums over 1, 2, 4, ... of them, until what is further back has died
away in double precision.
"""

import numpy as np

from audio.arrays import F32, F64

_BLOCK = 32  # samples
_IN_CACHE = 1 << 15  # samples worked on at once
_DIED_AWAY = 1e-18  # what is left of a state, as a share


class Sections:
    """Second-order sections in a row, on samples that come in pieces.

    Args:
        sections: b0, b1, b2, a0 (which is 1), a1, a2 of each, shape (sections, 6).
        channels: of the samples.

    A sum over the last two samples:

    >>> Sections(np.array([[1.0, 1, 0, 1, 0, 0]]), 1).filtered(np.array([[1.0], [2.0], [3.0]])).ravel().tolist()
    [1.0, 3.0, 5.0]
    """

    def __init__(self, sections: F64, channels: int) -> None:
        step, reading = _one_sample_on(sections)
        size = len(step) - 1  # the last row and column stand for the sample
        powers = [np.eye(size)]
        for _ in range(_BLOCK):
            powers.append(powers[-1] @ step[:size, :size])
        self._powers = np.stack(powers)  # what becomes of a state without samples, 0 to _BLOCK of them later
        self._into_state = np.stack([power @ step[:size, size] for power in powers[-2::-1]], axis=1)
        self._out_of_state = np.stack([reading[:size] @ power for power in powers[:-1]])
        response = np.append(reading[size], self._out_of_state[:-1] @ step[:size, size])
        later = np.subtract.outer(np.arange(_BLOCK), np.arange(_BLOCK))
        self._out_of_samples = np.where(later >= 0, response[later], 0.0)
        self._state = np.zeros((channels, size))

    def filtered(self, samples: F32 | F64) -> F64:
        """Take the next samples, shape (frames, channels); give them filtered, the same shape."""
        pieces = [self._piece(samples[at : at + _IN_CACHE]) for at in range(0, len(samples), _IN_CACHE)]
        return np.concatenate(pieces) if pieces else np.zeros(samples.shape)

    def _piece(self, samples: F32 | F64) -> F64:
        frames, channels = samples.shape
        blocks = np.zeros((channels, -(-frames // _BLOCK) * _BLOCK))
        blocks[:, :frames] = samples.T
        blocks = blocks.reshape(channels, -1, _BLOCK)
        states = self._states(blocks)
        result = blocks @ self._out_of_samples.T
        result += states[:, :-1] @ self._out_of_state.T
        whole, rest = divmod(frames, _BLOCK)
        self._state = states[:, whole] @ self._powers[rest].T
        if rest:
            self._state += blocks[:, whole, :rest] @ self._into_state[:, _BLOCK - rest :].T
        return result.reshape(channels, -1)[:, :frames].T

    def _states(self, blocks: F64) -> F64:
        """The state before each block, and after the last one, shape (channels, blocks + 1, size)."""
        states = np.concatenate([self._state[:, None], blocks @ self._into_state.T], axis=1)
        back, power = 1, self._powers[_BLOCK]
        while back < states.shape[1] and np.abs(power).max() > _DIED_AWAY:
            states[:, back:] += states[:, :-back] @ power.T
            back, power = 2 * back, power @ power
        return states


def _one_sample_on(sections: F64) -> tuple[F64, F64]:
    """What becomes of a state and a sample: the next state, and what comes out.

    Returns:
        shape (size + 1, size + 1) and (size + 1,), the sample behind the state of `size` numbers; two of each section,
        as in its transposed direct form II.
    """
    size = 2 * len(sections)
    step, signal = np.zeros((size + 1, size + 1)), np.eye(size + 1)[size]
    for at, (b0, b1, b2, _, a1, a2) in zip(range(0, size, 2), sections, strict=True):
        one, other = np.eye(size + 1)[at : at + 2]
        result = b0 * signal + one
        step[at] = b1 * signal - a1 * result + other
        step[at + 1] = b2 * signal - a2 * result
        signal = result
    return step, signal
