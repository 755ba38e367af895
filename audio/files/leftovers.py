"""Temporary files and folders name the process that writes them, so that what a killed one left can be told."""

import hashlib
import os
import platform
import time
from pathlib import Path

_LEFT_S = 24 * 3600.0  # editorial: of what nobody can tell


def marked(prefix: str) -> str:
    """A prefix for a name, with this machine and process in it."""
    return f"{prefix}{_machine()}-{os.getpid()}-"


def is_left(path: Path, prefix: str) -> bool:
    """Whether nobody writes there any more: its process is gone, or it is a day old.

    Args:
        prefix: as it was given to `marked`. Another machine's processes may be alive wherever the folder is shared.
    Raises: OSError, as where it is gone meanwhile.
    """
    machine, _, rest = path.name.removeprefix(prefix).partition("-")
    process = rest.partition("-")[0]
    gone = machine == _machine() and process.isdecimal() and not _is_alive(int(process))
    return gone or time.time() - path.stat().st_mtime > _LEFT_S


def _machine() -> str:
    return hashlib.sha256(platform.node().encode()).hexdigest()[:8]


def _is_alive(process: int) -> bool:
    if os.name == "nt":  # asking there ends it
        return True
    try:
        os.kill(process, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except PermissionError:
        pass
    return True
