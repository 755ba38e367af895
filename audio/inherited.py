"""What is said to libraries by the environment: to this process, and to workers that it starts."""

import os
from collections.abc import Iterator
from contextlib import contextmanager

# Arrays are short here: threads of linear algebra only wait for each other, many of them in each of many processes, and
# two beside the threads of a mix, which takes a fifth less processor time without them.
ONE_THREAD = {
    "OMP_NUM_THREADS": "1",
    "OPENBLAS_NUM_THREADS": "1",
    "MKL_NUM_THREADS": "1",
    "NUMBA_NUM_THREADS": "1",
    "VECLIB_MAXIMUM_THREADS": "1",
}
_SETTINGS = ONE_THREAD | {
    # The GNU C library keeps memory that was given back, rather than fetch it anew, emptied, for each larger array: 8 %
    # less processor time to listen to a track, 15 to make one. Others don't know these words.
    "MALLOC_MMAP_THRESHOLD_": str(1 << 25),
    "MALLOC_TRIM_THRESHOLD_": str(1 << 28),
}


@contextmanager
def settings() -> Iterator[None]:
    """What processes that are started meanwhile inherit, so that several at once compute well."""
    before = {name: os.environ.get(name) for name in _SETTINGS}
    os.environ.update(_SETTINGS)
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value
