"""A scan through dask.distributed on this machine: a scheduler, two workers, one of them or all of it killed midway."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import made
import nasty
import numpy as np
import pytest

from audio import worker
from audio.cluster import cluster_at
from audio.errors import ArcbedError
from audio.library import Library
from audio.scan import scan

pytestmark = pytest.mark.slow

pytest.importorskip("distributed", reason="the extra “cluster” isn't installed")

CLUSTER = """
import sys
from distributed import LocalCluster
if __name__ == "__main__":
    with LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None,
                      host="127.0.0.1", silence_logs=50) as cluster:
        print(cluster.scheduler_address, *(nanny.pid for nanny in cluster.workers.values()), flush=True)
        sys.stdin.read()
"""
ROOT = Path(__file__).parents[2]
KILL = getattr(signal, "SIGKILL", signal.SIGTERM)


@contextmanager
def cluster(folder: Path) -> Iterator[tuple[str, list[int]]]:
    """Address of a scheduler, and the processes of it and its two workers."""
    (folder / "cluster.py").write_text(CLUSTER)
    process = subprocess.Popen(
        [sys.executable, folder / "cluster.py"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        env=os.environ | {"PYTHONPATH": os.pathsep.join([str(Path(__file__).parent), str(ROOT)])},
    )
    assert process.stdin is not None
    assert process.stdout is not None
    try:
        address, *workers = process.stdout.readline().split()
        yield address, [process.pid, *map(int, workers)]
    finally:
        process.stdin.close()
        process.wait(30)
        process.stdout.close()


def write_songs(folder: Path, seconds: float, count: int) -> Path:
    folder.mkdir()
    for number in range(count):
        sound = nasty.wav(nasty.music(seconds) * np.float32(0.99**number))
        (folder / f"song {number}.wav").write_bytes(sound)
    return folder


def kill(processes: list[int], at: int, done: int) -> None:
    if done == at:
        for process in processes:
            os.kill(process, KILL)


def test_a_worker_that_is_killed_costs_nothing(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(worker, "measure", made.slow_measure)
    music = write_songs(tmp_path / "music", 0.2, 12)
    with cluster(tmp_path) as (address, processes), cluster_at(address) as found:
        assert found.cores == 2
        report = scan(
            [music],
            tmp_path / "library",
            executor=found.executor,
            progress=lambda done, total, name: kill(processes[1:2], 3, done),
            jobs=1,
        )
    assert (report.new, report.left_out) == (12, ())
    with Library(tmp_path / "library") as library:
        assert len(library.tracks()) == 12


@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
def test_where_the_scheduler_is_lost_this_machine_does_the_rest(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(worker, "measure", made.slow_measure)
    music = write_songs(tmp_path / "music", 0.2, 12)
    with cluster(tmp_path) as (address, processes), cluster_at(address, wait_s=2) as found:
        report = scan(
            [music],
            tmp_path / "library",
            executor=found.executor,
            progress=lambda done, total, name: kill(processes, 3, done),
            jobs=1,
        )
    assert (report.new, report.left_out) == (12, ())


def test_the_command_scans_on_the_workers_of_a_scheduler(tmp_path: Path) -> None:
    music = write_songs(tmp_path / "music", 6, 2)
    command = [sys.executable, "-c", "from pairing.commands import main; main()", "scan", str(music)]
    with cluster(tmp_path) as (address, _):
        done = subprocess.run(
            [*command, "--scheduler", address, "--library", str(tmp_path / "library")],
            capture_output=True,
            text=True,
            env=os.environ | {"PYTHONPATH": str(ROOT)},
        )
    assert done.returncode == 0, done.stderr
    assert "2 tracks can be used: 2 new" in done.stdout
    assert done.stderr == ""


def test_an_address_where_nothing_answers_is_named() -> None:
    began = time.monotonic()
    with pytest.raises(ArcbedError, match="no scheduler answers"), cluster_at("tcp://127.0.0.1:9", wait_s=1):
        pass
    assert time.monotonic() - began < 10


@pytest.mark.parametrize("address", ["", "nonsense", "http://127.0.0.1:1", "tcp://", "tcp://256.1.1.1:1", "a b:c"])
def test_what_is_no_address_is_named(address: str) -> None:
    with pytest.raises(ArcbedError, match="no scheduler answers"), cluster_at(address, wait_s=1):
        pass
