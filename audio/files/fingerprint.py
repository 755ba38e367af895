"""The same recording under another name: a fingerprint of the sound as it is stored, tags and cover left aside.

It is a hash over the packets of the first audio stream, so a file that was moved, renamed or tagged anew keeps it, and
the same music encoded anew does not.
"""

import hashlib
from pathlib import Path

from audio.errors import AudioError
from audio.files.container import Extent, decoder_errors, opened, parts_of, refuse_too_long
from audio.files.lengths import packet_length
from audio.files.presence import NotThereError
from audio.files.watchdog import alive

_DIGEST_BYTES = 16  # 128 bits: two of a billion recordings meet with a chance of 1e-21


def fingerprint(path: Path) -> str:
    """32 hexadecimal digits; reads the whole file without decoding it (about 1 s of CPU an hour of music).

    Raises: AudioError as `audio.files.container.opened` does, and where the file is too long to be used.

    >>> import soundfile
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     song, copy = Path(folder, "tide.wav"), Path(folder, "copy.wav")
    ...     soundfile.write(song, [0.0, 0.5] * 22_050, 44_100)
    ...     _ = copy.write_bytes(song.read_bytes())
    ...     fingerprint(song) == fingerprint(copy), len(fingerprint(song))
    (True, 32)
    """
    digest = hashlib.blake2b(digest_size=_DIGEST_BYTES)
    first, *others = parts_of(path)
    length_s = _digest_part(digest, path, first)
    for part in others:
        try:
            length_s += _digest_part(digest, path, part)
        except NotThereError:
            raise
        except AudioError:
            digest.update(b"broken")
    refuse_too_long(length_s, path)  # known without decoding, which takes minutes for a day of silence
    return digest.hexdigest()


def _digest_part(digest: "hashlib.blake2b", path: Path, part: Extent) -> float:
    """Take up the packets of a part of the file; gives the seconds that they say they last."""
    broken = decoder_errors()
    with opened(path, part) as (container, stream):
        length_s, tick_s = 0.0, float(stream.time_base or 0)
        # The same bytes under another head may be no sound at all.
        digest.update(f"{stream.codec_context.name} {stream.rate} {stream.channels} ".encode())
        try:
            for packet in container.demux(stream):
                if packet.size:
                    digest.update(packet)
                    alive()
                    length_s += packet_length(packet, tick_s)
        except broken:  # the same damage gives the same fingerprint
            digest.update(b"broken")
    return length_s


def fingerprint_of_bytes(path: Path) -> str:
    """A fingerprint for what can't be read as audio: of the plain bytes, the first and the last 64 KiB and the size.

    Raises: OSError.
    """
    digest = hashlib.blake2b(digest_size=_DIGEST_BYTES)
    with path.open("rb") as file:
        digest.update(file.read(1 << 16))
        size = file.seek(0, 2)
        file.seek(max(0, size - (1 << 16)))
        digest.update(file.read(1 << 16))
    digest.update(str(size).encode())
    return digest.hexdigest()
