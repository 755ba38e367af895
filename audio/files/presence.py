"""Whether a file is there to be read at all, found without waiting and without making a cloud service fetch it."""

import os
import stat
from pathlib import Path

from audio.errors import AudioError
from audio.text import shown

# Windows SDK, winnt.h: FILE_ATTRIBUTE_OFFLINE, _RECALL_ON_OPEN, _RECALL_ON_DATA_ACCESS.
_ELSEWHERE_ON_WINDOWS = 0x1000 | 0x40000 | 0x400000
# macOS, sys/stat.h: SF_DATALESS, the content lives elsewhere.
_ELSEWHERE_ON_MACOS = 0x40000000
_PROBE_BYTES = 1 << 16
_PROBES = 32

_KINDS = {
    stat.S_IFDIR: "is a folder, not a file.",
    stat.S_IFIFO: "is a pipe, not a file.",
    stat.S_IFSOCK: "is a socket, not a file.",
    stat.S_IFCHR: "is a device, not a file.",
    stat.S_IFBLK: "is a device, not a file.",
}


class NotThereError(AudioError):
    """There is nothing to read now; that may be otherwise tomorrow, so it says nothing of the music."""


def refuse_absent(path: Path) -> os.stat_result:
    """See that `path` is a regular file with content on this machine.

    Raises:
        NotThereError: it is missing, no regular file, not readable, empty, only a placeholder of a file that lives in
            a cloud, or holds zeros only. Pipes and devices are never opened.
    """
    reason, status = absence(path)
    if status is None:
        raise NotThereError(reason, where=shown(path))
    return status


def refuse_unreadable(path: Path) -> None:
    """After a fault in reading: see whether it was the file, or the disk that it lies on.

    Raises: NotThereError if the file's end can't be read now.
    """
    try:
        with path.open("rb", buffering=0) as file:
            file.seek(max(0, path.stat().st_size - _PROBE_BYTES))
            file.read(_PROBE_BYTES)
    except OSError as error:
        raise NotThereError(f"can't be read any more ({error.strerror or error}).", where=shown(path)) from error


def absence(path: Path) -> tuple[str, os.stat_result | None]:
    """The reason why there is nothing to read at `path` and None, or "" and the file's status."""
    try:
        status = path.stat()
        reason = _no_file(status) or _elsewhere(path, status) or _only_zeros(path, status.st_size)
    except FileNotFoundError:
        reason = "is no longer there."
    except PermissionError:
        reason = "can't be read: you don't have permission."
    except (OSError, ValueError) as error:
        reason = f"can't be read ({getattr(error, 'strerror', None) or error})."
    return (reason, None) if reason else ("", status)


def _no_file(status: os.stat_result) -> str:
    kind = stat.S_IFMT(status.st_mode)
    if kind != stat.S_IFREG:
        return _KINDS.get(kind, "isn't a regular file.")
    return "" if status.st_size else "is empty (0 bytes)."


def _elsewhere(path: Path, status: os.stat_result) -> str:
    on_windows = getattr(status, "st_file_attributes", 0) & _ELSEWHERE_ON_WINDOWS
    on_macos = getattr(status, "st_flags", 0) & _ELSEWHERE_ON_MACOS
    if on_windows or on_macos or _is_hollow(path, status):
        return "isn't on this machine: only a placeholder is here. Download it first."
    return ""


def _is_hollow(path: Path, status: os.stat_result) -> bool:
    """Whether less than half of the file has a place on the disk; asks the file system, reads nothing."""
    on_disk = getattr(status, "st_blocks", None)
    if on_disk is None or not hasattr(os, "SEEK_DATA") or on_disk * 512 >= status.st_size / 2:
        return False
    with path.open("rb", buffering=0) as file:
        return _data_bytes(file.fileno(), status.st_size) < status.st_size / 2


def _data_bytes(handle: int, size: int) -> int:
    """Bytes of the file that are stored; all of them where the file system can't tell."""
    total, at = 0, 0
    try:
        while at < size:
            start = os.lseek(handle, at, os.SEEK_DATA)
            at = os.lseek(handle, start, os.SEEK_HOLE)
            total += at - start
    except OSError:  # ENXIO: no data beyond here
        pass
    return total


def _only_zeros(path: Path, size: int) -> str:
    """Look at the start, then at places all over the file: what was not wholly copied often holds zeros."""
    with path.open("rb", buffering=0) as file:
        step = max(_PROBE_BYTES, size // _PROBES)
        for at in range(0, size, step):
            file.seek(at)
            if any(file.read(_PROBE_BYTES)):
                return ""
    return "holds only zeros: it was never wholly copied or downloaded."
