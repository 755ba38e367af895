"""A second start: what it was started with is put before the arcbed that runs already, and its page is shown."""

import http.client
import json
import webbrowser
from pathlib import Path

from audio.errors import ArcbedError
from pairing.page.instance import LOOPBACK
from pairing.page.security import cookie_of, opening_path

_PATIENCE_S = 60.0  # it may be choosing music


def visit(port: int, secret: str, file: Path | None, *, browser: bool) -> str:
    """Have the running arcbed open a file, if there is one, and show its page; give the page's address.

    Args:
        port: where it answers, as `instance.running` found it: nobody else may be sent the secret.
        file: a plan, set or table, absolute. browser: whether to open the page.
    Raises:
        ArcbedError: it would not open that file; carries its words.
    """
    if file is not None:
        _bring(port, secret, file)
    address = f"http://{LOOPBACK}:{port}{opening_path(secret)}"
    if browser:
        webbrowser.open(address)
    return address


def _bring(port: int, secret: str, file: Path) -> None:
    here = f"{LOOPBACK}:{port}"
    headers = {"Cookie": cookie_of(port, secret), "Origin": f"http://{here}", "Content-Type": "application/json"}
    connection = http.client.HTTPConnection(here, timeout=_PATIENCE_S)
    try:
        connection.request("POST", "/do/bring", json.dumps({"path": str(file)}), headers)
        said = json.loads(connection.getresponse().read())
    except (OSError, http.client.HTTPException, ValueError) as error:
        raise ArcbedError("the arcbed that is open doesn't answer.", remedy="Close it and start again.") from error
    finally:
        connection.close()
    if said.get("error"):
        raise ArcbedError(str(said["error"]))
