"""A scan through dask.distributed on this machine: a scheduler, two workers, one of them killed midway."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import made
import nasty
import numpy as np
import pytest

from audio import worker
from audio.cluster import executor_at
from audio.errors import ArcbedError
from audio.library import Library
from audio.scan import scan

pytest.importorskip("distributed", reason="the extra “cluster” isn't installed")

CLUSTER = """
import sys, time
from distributed import LocalCluster
if __name__ == "__main__":
    with LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None,
                      host="127.0.0.1", silence_logs=50) as cluster:
        print(cluster.scheduler_address, *(nanny.pid for nanny in cluster.workers.values()), flush=True)
        sys.stdin.read()
"""


def test_a_worker_that_is_killed_costs_nothing(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(worker, "measure", made.slow_measure)
    (tmp_path / "music").mkdir()
    for number in range(12):
        sound = nasty.wav(nasty.music(0.2) * np.float32(0.99**number))
        (tmp_path / "music" / f"song {number}.wav").write_bytes(sound)
    (tmp_path / "cluster.py").write_text(CLUSTER)
    here = [str(Path(__file__).parent), str(Path(__file__).parents[2])]
    cluster = subprocess.Popen(
        [sys.executable, tmp_path / "cluster.py"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env=os.environ | {"PYTHONPATH": os.pathsep.join(here)},
    )
    assert cluster.stdin is not None
    assert cluster.stdout is not None
    try:
        address, *workers = cluster.stdout.readline().split()

        def kill_one(done: int, total: int, name: str) -> None:
            if done == 3:
                os.kill(int(workers[0]), getattr(signal, "SIGKILL", signal.SIGTERM))

        with executor_at(address) as executor:
            report = scan([tmp_path / "music"], tmp_path / "library", executor=executor, progress=kill_one, jobs=1)
    finally:
        cluster.stdin.close()
        cluster.wait(30)
        cluster.stdout.close()
    assert (report.new, report.left_out) == (12, ())
    with Library(tmp_path / "library") as library:
        assert len(library.tracks()) == 12


def test_an_address_where_nothing_answers_is_named() -> None:
    began = time.monotonic()
    with pytest.raises(ArcbedError, match="no scheduler answers"), executor_at("tcp://127.0.0.1:9", wait_s=1):
        pass
    assert time.monotonic() - began < 10
