"""One arcbed a user: its secret, its address, and how a second start finds the first.

The secret lies in the user's data folder, for this user alone, and stays from start to start, so that a page left open
finds its program again. Whoever looks for a running arcbed sends a question of chance; only a program that knows the
secret and serves the same library gives the right answer (HMAC, RFC 2104). The secret goes to nobody else.
"""

import contextlib
import hashlib
import hmac
import http.client
import os
import secrets
import socket
import sys
from pathlib import Path

import platformdirs

from audio.errors import OutputError

LOOPBACK = "127.0.0.1"
PORTS = range(49_640, 49_650)  # among those that are given to nobody (RFC 6335: 49152 to 65535)
_PATIENCE_S = 2.0  # with a program that listens and doesn't answer
_MOST_BYTES = 200


def secret_of_user() -> str:
    """The secret of this user's pages; made when it is first asked for.

    Raises:
        OutputError: the data folder can't be written to.
    """
    path = platformdirs.user_data_path("arcbed", appauthor=False) / "page-secret"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with contextlib.suppress(FileExistsError):
            _write_once(path, secrets.token_urlsafe(32))
        return path.read_text("ascii").strip()
    except (OSError, UnicodeDecodeError) as error:
        raise OutputError("can't be read or written.", where=str(path), remedy="Delete it and start again.") from error


def answer(secret: str, library: Path, question: str) -> str:
    """What proves that a program knows the secret and serves this library."""
    words = f"arcbed\n{library.absolute()}\n{question}".encode("utf-8", "surrogatepass")
    return hmac.new(secret.encode(), words, hashlib.sha256).hexdigest()


def running(secret: str, library: Path) -> int | None:
    """The port at which this user's arcbed answers for this library, if it runs."""
    return next((port for port in PORTS if _is_ours(port, secret, library)), None)


def listening_socket() -> socket.socket:
    """A socket on arcbed's own port, on the next one that is free, or on any."""
    for port in (*PORTS, 0):
        made = socket.socket()
        # A port just left may be taken again at once; on Windows the same word would let two share it.
        made.setsockopt(socket.SOL_SOCKET, _take_alone(), 1)
        try:
            made.bind((LOOPBACK, port))
        except OSError:
            made.close()
            continue
        made.listen()  # a browser that is quicker than the server waits, where it would be refused
        return made
    raise OutputError("no port of this machine is free.", remedy="Close some programs and try again.")


def _is_ours(port: int, secret: str, library: Path) -> bool:
    question = secrets.token_urlsafe(16)
    connection = http.client.HTTPConnection(LOOPBACK, port, timeout=_PATIENCE_S)
    try:
        connection.request("GET", f"/here?{question}")
        said = connection.getresponse().read(_MOST_BYTES)
    except (OSError, http.client.HTTPException):
        return False
    finally:
        connection.close()
    return hmac.compare_digest(said, answer(secret, library, question).encode())


def _write_once(path: Path, text: str) -> None:
    """Write a file that is not there yet, whole, for this user alone; of two at once, one is kept."""
    draft = path.with_name(f"{path.name}-{os.getpid()}-{secrets.token_hex(4)}")
    handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with os.fdopen(handle, "w", encoding="ascii") as file:
            file.write(text)
        if path.exists():
            raise FileExistsError
        with contextlib.suppress(OSError):
            os.link(draft, path)  # fails where another was quicker
            return
        if not path.exists():  # a file system without links
            draft.replace(path)
    finally:
        draft.unlink(missing_ok=True)


def _take_alone() -> int:
    if sys.platform == "win32":
        return socket.SO_EXCLUSIVEADDRUSE
    return socket.SO_REUSEADDR
