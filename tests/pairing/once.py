"""What is made once in a run of the tests, by whichever worker needs it first, and read by the others."""

import contextlib
import os
from collections.abc import Callable, Iterator
from hashlib import sha256
from pathlib import Path

try:
    import fcntl
except ImportError:  # Windows: each worker makes its own, then
    fcntl = None

FOLDER: list[Path] = []  # of this run, set when it begins


def once(what: object, make: Callable[[], bytes]) -> bytes:
    """What `make` gives, the same for the same `what` in all workers of this run."""
    if not FOLDER or fcntl is None:
        return make()
    path = FOLDER[0] / sha256(repr(what).encode()).hexdigest()
    with _alone(path.with_suffix(".lock")):
        if not path.exists():
            path.write_bytes(make())
    return path.read_bytes()


@contextlib.contextmanager
def _alone(lock: Path) -> Iterator[None]:
    descriptor = os.open(lock, os.O_CREAT | os.O_RDWR)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX)
        yield
    finally:
        os.close(descriptor)
