"""One arcbed a user: a second start finds the first, strangers on its port are not taken for it, and it ends by itself."""

import http.server
import os
import socket
import stat
import subprocess
import sys
import threading
from contextlib import contextmanager
from pathlib import Path

import pytest

pytest.importorskip("uvicorn")
from page_desk import a_desk

from pairing.page import instance
from pairing.page.life import ALONE_S, Life

# On ports of this test's own: another test, or a person, may have arcbed open just now.
ARCBED = """
import sys
from pairing.commands import main
from pairing.page import instance
first = int(sys.argv.pop(1))
instance.PORTS = range(first, first + 3)
main()
"""


@pytest.fixture
def port():
    with socket.socket() as free:
        free.bind((instance.LOOPBACK, 0))
        return free.getsockname()[1]


@contextmanager
def started(folder, port, *words):
    """arcbed as a person starts it, once it has told its address."""
    home = folder / "home"
    environment = os.environ | {
        "ARCBED_LIBRARY": str(folder / "library.sqlite"),
        "XDG_DATA_HOME": str(home),
        "HOME": str(home),
        "PYTHONUNBUFFERED": "1",
    }
    program = subprocess.Popen(
        [sys.executable, "-c", ARCBED, str(port), *words],
        cwd=folder,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    try:
        yield program, program.stdout.readline()
    finally:
        program.kill()
        program.wait()


def client_of(line):
    httpx = pytest.importorskip("httpx")
    address = httpx.URL(line.split()[-1])
    here = f"http://{address.host}:{address.port}"
    client = httpx.Client(base_url=here, headers={"Origin": here}, follow_redirects=True, timeout=60)
    assert client.get(str(address)).status_code == 200
    return client


@pytest.mark.slow
def test_a_second_start_shows_the_same_page_with_the_file_it_was_started_with(tmp_path, port):
    a_desk(tmp_path, tracks=12, paired=False)
    (tmp_path / "other.md").write_text("# Other\n\n## Sit: opening\n- child's pose, 8 breaths\n")
    with started(tmp_path, port, "open", "low-water.md", "--no-browser") as (first, line):
        client = client_of(line)
        with started(tmp_path, port, "open", "other.md", "--no-browser") as (second, said):
            assert second.wait(60) == 0
            assert "open already" in said
            assert said.split()[-1] == line.split()[-1]
        assert client.get("/state").json()["plan"]["name"] == "other.md"
        assert first.poll() is None
        assert client.post("/close").json() == {"closed": True}
        assert first.wait(30) == 0
    # The address and its secret stay, so that the tab that was left open finds it again.
    with started(tmp_path, port, "open", "low-water.md", "--no-browser") as (_, again):
        assert again == line
        assert client.get("/state").json()["plan"]["name"] == "low-water.md"
    client.close()


def test_the_secret_stays_and_is_for_this_user_alone(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    secrets = set()
    threads = [threading.Thread(target=lambda: secrets.add(instance.secret_of_user())) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert secrets == {instance.secret_of_user()}
    (file,) = (tmp_path / "arcbed").iterdir()
    assert stat.S_IMODE(file.stat().st_mode) == 0o600


class Stranger(http.server.BaseHTTPRequestHandler):
    """Another program on arcbed's port: it answers everything, and keeps what it is sent."""

    sent: list[str] = []  # noqa: RUF012

    def do_GET(self):  # the library's name for it
        self.sent.append(self.path + str(self.headers))
        self.send_response(200)
        self.end_headers()
        self.wfile.write(b"0" * 64)

    def log_message(self, *_):
        pass


def test_a_stranger_on_the_port_is_neither_taken_for_arcbed_nor_told_the_secret(monkeypatch):
    with http.server.HTTPServer((instance.LOOPBACK, 0), Stranger) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        port = server.server_address[1]
        monkeypatch.setattr(instance, "PORTS", range(port, port + 1))
        assert instance.running("s" * 43, Path("library.sqlite")) is None
        with instance.listening_socket() as other:
            assert other.getsockname()[1] != port
        server.shutdown()
    assert Stranger.sent
    assert not any("sss" in each for each in Stranger.sent)


def test_one_that_listens_and_says_nothing_costs_seconds_not_the_start(monkeypatch):
    monkeypatch.setattr(instance, "_PATIENCE_S", 0.1)
    with socket.socket() as mute:
        mute.bind((instance.LOOPBACK, 0))
        mute.listen()
        port = mute.getsockname()[1]
        monkeypatch.setattr(instance, "PORTS", range(port, port + 1))
        assert instance.running("secret", Path("library.sqlite")) is None


def test_the_answer_depends_on_secret_library_and_question():
    answers = {
        instance.answer(secret, Path(library), question)
        for secret in ("one", "two")
        for library in ("/a", "/b")
        for question in ("x", "y")
    }
    assert len(answers) == 8


def test_it_ends_an_hour_after_the_last_page_but_not_while_it_works():
    now, busy = [0.0], [False]
    life = Life(lambda: busy[0], lambda: now[0])
    now[0] = ALONE_S
    assert not life.is_over
    life.seen()
    now[0] = 2 * ALONE_S
    assert not life.is_over
    busy[0] = True
    now[0] = 9 * ALONE_S
    assert not life.is_over
    busy[0] = False
    now[0] = 10 * ALONE_S + 1
    assert life.is_over


def test_it_ends_at_once_when_it_is_closed_even_while_it_works():
    life = Life(lambda: True, lambda: 0.0)
    assert not life.is_over
    life.end()
    assert life.is_over
