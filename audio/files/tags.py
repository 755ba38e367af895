"""Title, artist and album: read from any file, written to files that this program made itself.

The only module that imports mutagen (GPL-2.0-or-later, see docs), so that another library could take its place.
"""

import base64
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from audio.errors import AudioError
from audio.files.clean import clean
from audio.files.presence import absence
from audio.text import one_line, shown
from audio.track import Tags

_MOST_LETTERS = 10_000  # editorial: a title longer than that is no title
_NAMES = {  # ours: easy keys, ID3 frames, ASF attributes
    "title": ("title", "TIT2", "Title"),
    "artist": ("artist", "TPE1", "Author"),
    "album": ("album", "TALB", "WM/AlbumTitle"),
}


@dataclass(frozen=True, slots=True)
class Chapter:
    """A named stretch of a file, seconds from its start."""

    start_s: float
    end_s: float
    title: str


def read_tags(path: Path) -> Tags:
    """What the file says of itself, clean and harmless to show; empty where it says nothing or can't be read.

    Never raises: a file whose tags are damaged can still be played.
    """
    if absence(path)[0]:
        return Tags()
    words = _by_mutagen(path) or _by_container(path)
    return Tags(**{name: one_line(clean(words.get(name, "")[:_MOST_LETTERS])) for name in _NAMES})


def read_comment(path: Path) -> str:
    """The comment among a file's tags; empty where there is none, or where it can't be read.

    Raises:
        AudioError: nothing is there to read (see `audio.files.presence.refuse_absent`).
    """
    if absence(path)[0]:
        return ""
    return one_line(_of_container(path).get("comment", "")[:_MOST_LETTERS])


def write_tags(
    path: Path, tags: Tags, *, tempo_bpm: float | None = None, key: str | None = None, comment: str = ""
) -> None:
    """Write title, artist, album, tempo and key into a file of one of the six kinds that are written here.

    Args:
        comment: only for kinds that keep their tags as Vorbis comments (FLAC, Ogg).
    Raises: AudioError if the file can't take them.
    """
    _edit(path, lambda file: _set_words(file, tags, tempo_bpm, key, comment))


def write_chapters_and_cover(path: Path, chapters: Sequence[Chapter], cover_png: bytes | None) -> None:
    """Add a cover picture, and chapters as comments where the kind of file keeps them so (FLAC, Ogg).

    Raises: AudioError if the file can't take them.
    """
    _edit(path, lambda file: _set_chapters_and_cover(file, chapters, cover_png))


def _edit(path: Path, change: Any) -> None:
    import mutagen

    try:
        file = mutagen.File(path)
        if file is None:
            raise AudioError("takes no tags.", where=shown(path))
        if file.tags is None:
            file.add_tags()
        change(file)
        file.save()
    except (mutagen.MutagenError, ValueError, KeyError) as error:
        raise AudioError(f"takes no tags ({error}).", where=shown(path)) from error


def _set_words(file: Any, tags: Tags, tempo_bpm: float | None, key: str | None, comment: str) -> None:
    from mutagen.id3 import ID3, TALB, TBPM, TIT2, TKEY, TPE1
    from mutagen.mp4 import MP4Tags

    words = {"title": tags.title, "artist": tags.artist, "album": tags.album}
    tempo = "" if tempo_bpm is None else str(round(tempo_bpm))
    if isinstance(file.tags, ID3):
        frames: tuple[Any, ...] = (TIT2, TPE1, TALB, TBPM, TKEY)
        for frame, text in zip(frames, (*words.values(), tempo, id3_key(key)), strict=True):
            if text:
                file.tags.setall(frame.__name__, [frame(encoding=3, text=[text])])
    elif isinstance(file.tags, MP4Tags):
        atoms = zip(("\xa9nam", "\xa9ART", "\xa9alb"), words.values(), strict=True)
        file.tags.update({atom: [text] for atom, text in atoms if text})
        if tempo:
            file.tags["tmpo"] = [int(tempo)]
        if key:
            file.tags["----:com.apple.iTunes:initialkey"] = [key.encode()]
    else:
        words |= {"bpm": tempo, "key": key or "", "comment": comment}
        file.tags.update({name: [text] for name, text in words.items() if text})


def id3_key(key: str | None) -> str:
    """ID3v2.4, TKEY: the tonic, "b" or "#", "m" for minor.

    >>> id3_key("B flat minor"), id3_key("F# major")
    ('Bbm', 'F#')
    """
    if not key:
        return ""
    tonic, _, mode = key.rpartition(" ")
    tonic = tonic.replace(" flat", "b").replace(" sharp", "#").replace("♭", "b").replace("♯", "#")
    return tonic + ("m" if mode == "minor" else "")


def _set_chapters_and_cover(file: Any, chapters: Sequence[Chapter], cover_png: bytes | None) -> None:
    from mutagen.flac import FLAC
    from mutagen.id3 import APIC, ID3
    from mutagen.mp4 import MP4Cover, MP4Tags

    if isinstance(file.tags, ID3):
        if cover_png:
            file.tags.add(APIC(encoding=3, mime="image/png", type=3, desc="", data=cover_png))
    elif isinstance(file.tags, MP4Tags):
        if cover_png:
            file.tags["covr"] = [MP4Cover(cover_png, MP4Cover.FORMAT_PNG)]
    else:
        for number, chapter in enumerate(chapters):
            file.tags[f"CHAPTER{number:03}"] = [_chapter_time(chapter.start_s)]
            file.tags[f"CHAPTER{number:03}NAME"] = [one_line(chapter.title)]
        if cover_png and isinstance(file, FLAC):
            file.add_picture(_picture(cover_png))
        elif cover_png:
            file.tags["METADATA_BLOCK_PICTURE"] = [base64.b64encode(_picture(cover_png).write()).decode("ascii")]


def _picture(png: bytes) -> Any:
    from mutagen.flac import Picture

    picture = Picture()
    picture.type, picture.mime, picture.data = 3, "image/png", png
    picture.width, picture.height = int.from_bytes(png[16:20], "big"), int.from_bytes(png[20:24], "big")
    picture.depth = 24
    return picture


def _chapter_time(seconds: float) -> str:
    """The form of Ogg chapter comments, HH:MM:SS.mmm."""
    milliseconds = round(seconds * 1000)
    minutes, rest = divmod(milliseconds, 60_000)
    return f"{minutes // 60:02}:{minutes % 60:02}:{rest // 1000:02}.{rest % 1000:03}"


def _by_mutagen(path: Path) -> dict[str, str]:
    import mutagen

    try:
        file = mutagen.File(path, easy=True)
        if file is None or not file.tags:
            return {}
        return {name: text for name, keys in _NAMES.items() if (text := _first_word(file.tags, keys))}
    except Exception:  # whatever a stranger's tags make it raise, the track stays
        return {}


def _first_word(tags: Any, keys: tuple[str, ...]) -> str:
    for key in keys:
        try:
            found = tags[key]
        except (KeyError, ValueError):
            continue
        values = found.text if hasattr(found, "text") else found
        return ", ".join(dict.fromkeys(map(str, values))) if isinstance(values, list) else str(values)
    return ""


def _by_container(path: Path) -> dict[str, str]:
    """What FFmpeg knows: WAV INFO chunks and kinds that mutagen doesn't read."""
    found = _of_container(path)
    return {name: found[name] for name in _NAMES if found.get(name)}


def _of_container(path: Path) -> dict[str, str]:
    """All that FFmpeg reads of a file's tags, by keys in lower case."""
    from audio.files.container import decoder_errors, opened

    unreadable: tuple[type[Exception], ...] = (AudioError, *decoder_errors())
    try:
        with opened(path) as (container, stream):
            return {key.lower(): text for key, text in [*container.metadata.items(), *stream.metadata.items()]}
    except unreadable:
        return {}
