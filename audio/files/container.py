"""The one place that opens audio files with PyAV (FFmpeg's libraries), with everything but plain files shut off.

FFmpeg also knows playlists and scripts that name other files and addresses. A file that calls itself a song may be
one, so only containers of audio are allowed and only the protocol "file": nothing else is opened, nothing fetched.
"""

import contextlib
import os
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from audio.errors import AudioError
from audio.files import oggchain
from audio.files.lengths import wav_understates
from audio.files.presence import NotThereError, refuse_absent, refuse_unreadable
from audio.files.protection import is_protected
from audio.text import shown

if TYPE_CHECKING:
    import av.container

# FFmpeg's names of demuxers that read one file and call no other.
_CONTAINERS = (
    "mp3,mov,mp4,m4a,flac,ogg,wav,w64,aiff,au,caf,asf,xwma,aac,ac3,eac3,matroska,webm,wv,ape,tta,tak,mpc,mpc8,"
    "dsf,iff,amr,voc,mpeg,mpegts,avi,flv,oma,loas"
)
LONGEST_S = 2.5 * 3600  # editorial: longer than a class; a worker that measures it stays below 600 MB
# editorial: what is slower or faster is a damaged header; below 3.4 kHz the filter of BS.1770 has no meaning
_RATES = (4_000, 1_000_000)
_WAIT_S = 8.0  # editorial: for one read of the file; well below the 20 s that one file may take to be refused


Extent = range | None  # bytes of a file; None for all of it


def parts_of(path: Path) -> tuple[Extent, ...]:
    """What has to be opened by itself, one after the other: the links of a chain, or the file as it is.

    Raises: AudioError where nothing is there to read (see `refuse_absent`).
    """
    refuse_absent(path)
    try:
        found = oggchain.links(path)
    except OSError as error:
        raise NotThereError(f"can't be read ({error.strerror or error}).", where=shown(path)) from error
    return found if len(found) > 1 else (None,)


@contextlib.contextmanager
def opened(path: Path, part: Extent = None) -> "Iterator[tuple[av.container.InputContainer, av.AudioStream]]":
    """Open the first audio stream of a file, or of a part of it.

    Raises:
        AudioError: nothing is there to read (see `refuse_absent`), it is no audio file, it holds no audio stream, its
            sound is protected, or this program can't decode its kind.
    """
    refuse_absent(path)
    began_s = time.thread_time()
    with contextlib.ExitStack() as stack:
        try:
            source = None if part is None else stack.enter_context(oggchain.Link(path, part))
            container = stack.enter_context(_open(path) if source is None else _opened(source, "ogg"))
        except decoder_errors() as error:
            refuse_slow_disk(error, time.thread_time() - began_s, path)
            refuse_unreadable(path)
            raise AudioError(_why_unopened(path, error), where=shown(path)) from error
        yield container, _audio_stream(container, path)


def refuse_slow_disk(error: Exception, busy_s: float, path: Path) -> None:
    """Tell a disk that doesn't answer from a damaged file that FFmpeg searches in vain: the search keeps a core busy.

    Raises: NotThereError if `error` is the end of FFmpeg's patience and little of it was spent on work.
    """
    import av

    if isinstance(error, av.error.ExitError) and busy_s < _WAIT_S / 2:
        raise NotThereError("could not be read in time: the disk doesn't answer.", where=shown(path)) from error


def refuse_too_long(duration_s: float, path: Path) -> None:
    """Raises: AudioError if a recording lasts longer than LONGEST_S."""
    if duration_s > LONGEST_S:
        hours = f"{LONGEST_S / 3600:g} hours"
        raise AudioError(f"is longer than {hours}; cut out of it what a class could use.", where=shown(path))


def is_sound(rate: int) -> bool:
    """Whether a number of samples a second can be one of sound."""
    return _RATES[0] <= rate <= _RATES[1]


def decoder_errors() -> tuple[type[Exception], ...]:
    """What PyAV raises on a file that is damaged or no audio."""
    import av

    return (av.FFmpegError, OSError, ValueError, IndexError, UnicodeError, MemoryError, OverflowError)


def _open(path: Path) -> "av.container.InputContainer":
    import av

    # Absolute, since FFmpeg takes "concat:a.mp3" for an order rather than a name.
    name = os.path.abspath(path)
    if wav_understates(path):
        return _opened(name, "wav", ignore_length="1")
    try:
        return _opened(name)
    except decoder_errors() as error:
        kind = _kind_stated(path)
        if kind is None or isinstance(error, av.error.ExitError):
            raise
        # FFmpeg guesses by the content too, and now and then takes steady tones in a wav for something else.
        return _opened(name, kind)


def _opened(source: str | oggchain.Link, kind: str | None = None, **more: str) -> "av.container.InputContainer":
    import av

    options: dict[str, Any] = {
        "options": {"protocol_whitelist": "file", "format_whitelist": _CONTAINERS, **more},
        "timeout": (_WAIT_S, _WAIT_S),
    }
    if int(av.__version__.split(".")[0]) < 19:  # from 19 on badly encoded tags never raise
        options["metadata_errors"] = "replace"
    container: av.container.InputContainer = av.open(source, format=kind, **options)
    return container


def _kind_stated(path: Path) -> str | None:
    """FFmpeg's name of the container whose signature the file begins with; None where it has none of these."""
    with path.open("rb") as file:
        head = file.read(12)
    signatures = ((b"RIFF", b"WAVE", "wav"), (b"FORM", b"AIF", "aiff"), (b"fLaC", b"", "flac"), (b"OggS", b"", "ogg"))
    for start, form, kind in signatures:
        if head.startswith(start) and head[8:].startswith(form):
            return kind
    return None


def _audio_stream(container: "av.container.InputContainer", path: Path) -> "av.AudioStream":
    if not container.streams.audio:
        what = "holds a picture or film but no sound." if container.streams.video else "holds no sound."
        raise AudioError(what, where=shown(path))
    stream = container.streams.audio[0]
    context = stream.codec_context
    if context is None:
        raise AudioError("holds a kind of sound that can't be read here.", where=shown(path))
    if stream.rate and not is_sound(stream.rate):
        raise AudioError(f"claims {stream.rate} samples a second: its header is damaged.", where=shown(path))
    if is_protected(path, context.codec_tag):
        raise AudioError(
            "is copy-protected: its sound is encrypted, and only the shop's own player can play it.",
            where=shown(path),
            remedy="Use an unprotected copy of the track.",
        )
    return stream


def _why_unopened(path: Path, error: Exception) -> str:
    if isinstance(error, PermissionError):
        return "can't be read: you don't have permission."
    if type(error).__name__ == "ExitError":
        return "is damaged: nothing that could be sound was found in time."
    with path.open("rb") as file:
        head = file.read(512)
    if head.startswith((b"\x00\x05\x16\x07", b"\x00\x05\x16\x00")):
        return "is a companion file that macOS leaves beside a song, not the song."
    if _is_text(head):
        return "is a text file, not audio."
    if head[4:8] == b"ftyp":
        return "is incomplete: the part that tells where the sound lies is missing."
    return "isn't an audio file, or is too damaged to read."


def _is_text(head: bytes) -> bool:
    try:
        text = head.decode("utf-8")
    except UnicodeDecodeError as error:
        text = head[: error.start].decode("utf-8") if error.start > len(head) - 4 else "\0"
    return all(letter.isprintable() or letter.isspace() for letter in text)
