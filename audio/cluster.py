"""A scan on many machines, for a catalogue too big for one: dask.distributed behind the usual executor interface.

The machines must see the music under the same paths, and have this package installed. Each worker should run one thread
(`dask worker --nthreads 1 ADDRESS`): decoders and number crunching keep a core busy, and a worker that is ended because
a file hangs takes its other threads along. Whoever reaches the scheduler can run code on all of these machines, so keep
it on a network of your own.
"""

import socket
from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from dataclasses import dataclass
from urllib.parse import urlsplit

from audio.errors import ArcbedError
from audio.files import watchdog


@dataclass(frozen=True, slots=True)
class Cluster:
    """The workers of a scheduler: what runs work on them, and how many files they can analyse at once."""

    executor: Executor
    cores: int


@contextmanager
def cluster_at(address: str, *, wait_s: float = 10.0) -> Iterator[Cluster]:
    """What `audio.scan.scan` needs to run on the workers of a scheduler.

    Args:
        address: as the scheduler prints it, for instance "tcp://192.168.1.7:8786".
    Raises:
        ArcbedError: dask.distributed isn't installed, or nothing answers at that address.
    """
    try:
        from distributed import Client
    except ImportError as error:
        raise ArcbedError(
            "scanning on several machines needs the extra “cluster”.", remedy='pip install "arcbed[cluster]"'
        ) from error
    try:
        _knock(address, wait_s)
        client = Client(address, timeout=wait_s)
    except (OSError, ValueError) as error:
        raise ArcbedError(
            "no scheduler answers there.", where=address, remedy='Start one with "dask scheduler", then its workers.'
        ) from error
    with client:
        client.register_worker_callbacks(watchdog.start)  # also of workers that come later
        cores = sum(client.ncores().values())
        with client.get_executor(pure=False) as executor:
            yield Cluster(executor, max(cores, 1))


def _knock(address: str, wait_s: float) -> None:
    """Raise OSError or ValueError where nothing listens: a client that never connected can hang when thrown away."""
    place = urlsplit(address)
    if not place.hostname or not place.port:
        raise ValueError(f"{address!r} has no host and port")
    socket.create_connection((place.hostname, place.port), timeout=wait_s).close()
