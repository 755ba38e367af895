"""Types of arrays, by what they hold; shapes and units stand where one is used. Lists of lists laid end to end."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

F32 = NDArray[np.float32]
F64 = NDArray[np.float64]
I32 = NDArray[np.int32]
I64 = NDArray[np.int64]
Mask = NDArray[np.bool_]


def offsets(sizes: I64 | Sequence[int]) -> I64:
    """Where each of several lists begins that are laid end to end, and where the last one ends.

    Args:
        sizes: of each list, shape (N,).
    Returns:
        shape (N + 1,), from 0 to their sum.

    >>> offsets([2, 0, 3]).tolist()
    [0, 2, 2, 5]
    """
    return np.concatenate(([0], np.cumsum(sizes, dtype=np.int64)))
