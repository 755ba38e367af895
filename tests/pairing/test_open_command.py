"""`arcbed open` as a person starts and ends it: a process, its address, Ctrl-C."""

import json
import os
import signal
import subprocess
import sys
import threading
import time
from contextlib import contextmanager, suppress

import pytest

pytest.importorskip("uvicorn")
import httpx
from page_desk import a_desk

pytestmark = [pytest.mark.slow, pytest.mark.skipif(sys.platform == "win32", reason="no SIGINT to another process")]


@contextmanager
def opened(folder):
    """The running program and a client that has entered by the address it named."""
    command = [
        sys.executable,
        "-c",
        "from pairing.commands import main; main()",
        "open",
        "low-water.md",
        "--no-browser",
    ]
    environment = os.environ | {"ARCBED_LIBRARY": str(folder / "library.sqlite"), "PYTHONUNBUFFERED": "1"}
    program = subprocess.Popen(
        command, cwd=folder, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    )
    try:
        address = httpx.URL(program.stdout.readline().split()[-1])
        assert "Ctrl-C ends it" in program.stdout.readline()
        here = f"http://{address.host}:{address.port}"
        with httpx.Client(base_url=here, headers={"Origin": here}, follow_redirects=True, timeout=60) as client:
            assert client.get(str(address)).status_code == 200  # at once: the address is good from when it is told
            yield program, client
    finally:
        program.kill()
        program.wait()


def ended(program):
    """All that the program said until Ctrl-C ended it."""
    program.send_signal(signal.SIGINT)
    said, _ = program.communicate(timeout=30)
    assert program.returncode in (0, 130, -signal.SIGINT), said
    return said


def test_ctrl_c_ends_it_without_a_fault(tmp_path):
    a_desk(tmp_path, tracks=12, paired=False)
    with opened(tmp_path) as (program, client):
        assert client.get("/state").json()["plan"]["name"] == "low-water.md"
        said = ended(program)
    assert said.strip() == ""


def test_ctrl_c_while_music_is_chosen_leaves_a_whole_set_or_none(tmp_path):
    a_desk(tmp_path, tracks=40, paired=False)
    with opened(tmp_path) as (program, client):

        def ask():
            with suppress(httpx.HTTPError):  # it is cut off
                client.post("/do/pair", json={})

        asking = threading.Thread(target=ask, daemon=True)
        asking.start()
        time.sleep(1.0)
        said = ended(program)
        asking.join(10)
    assert said.strip() == ""
    made = tmp_path / "low-water.json"
    assert not made.exists() or json.loads(made.read_text("utf-8"))["picks"]
    assert {path.name for path in tmp_path.iterdir()} <= {
        "low-water.md",
        "low-water.json",
        "music",
        "library.sqlite",
        "library.sqlite-wal",
        "library.sqlite-shm",
        ".earlier",
    }
