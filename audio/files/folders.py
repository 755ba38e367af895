"""What to try in folders of music, and what to leave out and why. Nothing is opened that isn't a regular file."""

import errno
import os
import stat
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path


def _endings(text: str) -> frozenset[str]:
    return frozenset(f".{ending}" for ending in text.split())


SONG_ENDINGS = _endings(
    "mp3 m4a m4b m4p m4r mp4 aac flac ogg oga opus spx wav wave w64 aif aiff aifc wma webm mka mp2 mpga ape wv tta tak"
    " mpc dsf caf au snd ac3 amr 3gp aax"
)
_SCORES = _endings("mid midi kar")
_UNFINISHED = _endings("part partial crdownload download tmp")
# Surely no music: these files aren't opened to look inside.
_OTHERS = _endings(
    "jpg jpeg png gif bmp webp svg heic pdf txt md rtf doc docx odt xls xlsx ods csv json xml html htm log nfo ini db"
    " sqlite plist lnk url m3u m3u8 pls xspf cue zip rar 7z gz tar xz exe dll dmg pkg app msi py js sh bat mov mkv avi"
    " m4v wmv mpg mpeg srt lrc"
)
_FOLDERS_OF_THE_SYSTEM = frozenset(("$RECYCLE.BIN", "System Volume Information", "lost+found", "__MACOSX"))
_HEADS = (b"ID3", b"fLaC", b"OggS", b"wvpk", b"MAC ", b"caff", b"MPCK", b"\x30\x26\xb2\x75\x8e\x66\xcf\x11")


@dataclass(frozen=True, slots=True)
class Found:
    """A regular file that may be music."""

    path: Path
    size: int  # bytes
    modified_ns: int


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Something that looks like music by its name and isn't used; the reason continues a sentence that it begins."""

    path: Path
    reason: str


def walk(folders: Iterable[Path]) -> Iterator[Found | LeftOut]:
    """All that may be music below the folders, each folder's entries by name, each folder once.

    Links are followed; a folder met again (a circle of links, a folder named twice) is passed over by its device and
    number. A file that is named itself is taken whatever its ending. Paths are absolute.

    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     for name in ("tide.mp3", "cover.jpg", "tide.mid"):
    ...         _ = Path(folder, name).write_bytes(b"some bytes")
    ...     [(type(each).__name__, each.path.name) for each in walk([Path(folder)])]
    [('LeftOut', 'tide.mid'), ('Found', 'tide.mp3')]
    """
    seen: set[tuple[int, int] | str] = set()
    for folder in folders:
        top = Path(os.path.abspath(folder))
        try:
            status = top.stat()
        except (OSError, ValueError) as error:
            yield LeftOut(top, _unreadable(error))
            continue
        if stat.S_ISDIR(status.st_mode):
            yield from _below(top, seen)
        else:
            yield _judged(top, status)


def common_folder(files: Iterable[Path]) -> Path | None:
    """The folder below which all of the files lie; None where nothing but the whole disk, or several, hold them.

    >>> common_folder([Path("music/calm/a.mp3"), Path("music/calm/old/b.mp3")]) == Path("music/calm")
    True
    """
    try:
        folder = Path(os.path.commonpath([path.parent for path in files]))
    except ValueError:  # on several drives
        return None
    return folder if len(folder.parts) > 1 else None


def _below(top: Path, seen: set[tuple[int, int] | str]) -> Iterator[Found | LeftOut]:
    waiting = [top]
    while waiting:
        folder = waiting.pop()
        try:
            identity = _identity(folder)
            if identity in seen:
                continue
            seen.add(identity)
            names = sorted(os.listdir(folder))
        except OSError as error:
            yield LeftOut(folder, _unreadable(error))
            continue
        inner = []
        for name in names:
            for item in _entry(folder / name):
                if isinstance(item, Path):
                    inner.append(item)
                else:
                    yield item
        waiting += reversed(inner)


def _identity(folder: Path) -> tuple[int, int] | str:
    """What two names of one folder have in common; some file systems number nothing, then it is the real path."""
    status = folder.stat()
    return (status.st_dev, status.st_ino) if status.st_ino else os.path.realpath(folder)


def _entry(path: Path) -> Iterator[Found | LeftOut | Path]:
    """What one name stands for: a Path is a folder to go into. What is no music on purpose isn't worth a line."""
    ending = path.suffix.lower()
    if path.name in _FOLDERS_OF_THE_SYSTEM:
        return
    if path.name.startswith("."):
        yield from _hidden(path, ending)
        return
    try:
        status = path.stat()
    except OSError as error:
        if ending in SONG_ENDINGS or not (ending in _OTHERS or isinstance(error, FileNotFoundError)):
            yield LeftOut(path, _unreadable(error))
        return
    if stat.S_ISDIR(status.st_mode):
        yield path
    elif ending in SONG_ENDINGS:
        yield _judged(path, status)
    elif ending in _SCORES:
        yield LeftOut(path, "is a score (MIDI), not a recording.")
    elif ending not in (_OTHERS | _UNFINISHED) and stat.S_ISREG(status.st_mode) and _sounds_like_music(path):
        yield _judged(path, status)


def _hidden(path: Path, ending: str) -> Iterator[LeftOut]:
    if ending == ".icloud":
        yield LeftOut(path, "isn't on this machine: only a placeholder is here. Download it first.")
    elif ending in SONG_ENDINGS and not path.name.startswith("._"):  # those macOS leaves beside each song
        yield LeftOut(path, "is hidden.")


def _judged(path: Path, status: os.stat_result) -> Found | LeftOut:
    if not stat.S_ISREG(status.st_mode):
        return LeftOut(path, "is a pipe or a device, not a file.")
    if not os.access(path, os.R_OK):
        return LeftOut(path, "can't be read: you don't have permission.")
    return Found(path, status.st_size, status.st_mtime_ns)


def _sounds_like_music(path: Path) -> bool:
    """Whether a file of an unknown ending begins as audio files do."""
    from audio.files.presence import absence

    if absence(path)[0]:
        return False
    try:
        with path.open("rb") as file:
            head = file.read(16)
    except OSError:
        return False
    riff = head[:4] == b"RIFF" and head[8:12] == b"WAVE"
    aiff = head[:4] == b"FORM" and head[8:11] == b"AIF"
    mpeg4 = head[4:8] == b"ftyp" and head[8:11] in (b"M4A", b"M4B")
    mpeg = not path.suffix and head[:1] == b"\xff" and head[1:2] in (b"\xfb", b"\xfa", b"\xf3", b"\xf2")
    return head.startswith(_HEADS) or riff or aiff or mpeg4 or mpeg


def _unreadable(error: Exception) -> str:
    if isinstance(error, FileNotFoundError):
        return "isn't there."
    if isinstance(error, PermissionError):
        return "can't be opened: you don't have permission."
    if isinstance(error, OSError) and error.errno == errno.ENAMETOOLONG:
        return "is too deep in folders: its path is longer than this system takes. Move it further up."
    if isinstance(error, OSError) and error.strerror and "links" in error.strerror:
        return "is a link that leads in a circle."
    return f"can't be opened ({getattr(error, 'strerror', None) or error})."
