"""What the commands about the library of music do."""

from collections.abc import Sequence
from pathlib import Path

from audio.errors import ArcbedError
from audio.library import Library, default_library_path
from audio.scan import Progress, ScanReport, scan
from audio.track import Track

MARKS = {  # what a teacher can say of a track, and what the values may be
    "energy": "0% to 100%",
    "voice": "yes or no",
    "rest": "never or yes",
    "favourite": "yes",
}


def library_path(given: Path | None) -> Path:
    """The library a command works on: the one named, else this user's."""
    return given or default_library_path()


def scan_music(
    folders: Sequence[Path], library: Path | None, *, jobs: int | None, progress: Progress | None
) -> ScanReport:
    """Analyse what is new or changed below the folders; the user's music folder if none is named."""
    if not folders:
        from platformdirs import user_music_path

        folders = (user_music_path(),)
    for folder in folders:
        if not folder.exists():
            raise ArcbedError(
                "there is no such folder.", where=str(folder), remedy="Name a folder of music: arcbed scan FOLDER"
            )
    return scan(folders, library_path(library), jobs=jobs, progress=progress)


def all_tracks(library: Path | None, *, unusable: bool = False) -> list[Track]:
    """The tracks of the library, by artist and title."""
    with _opened(library) as opened:
        tracks = opened.tracks(include_unusable=unusable)
    return sorted(tracks, key=lambda track: (track.tags.artist.casefold(), track.title.casefold(), track.id))


def mark_track(library: Path | None, track_id: int, words: Sequence[str]) -> Track:
    """Set the teacher's own word on a track, as KEY=VALUE; an empty value takes it back."""
    with _opened(library) as opened:
        if opened.track(track_id) is None:
            raise ArcbedError(f"there is no track {track_id} in the library.", remedy="arcbed tracks lists them.")
        for word in words:
            key, value = _mark(word)
            opened.mark(track_id, key, value)
        track = opened.track(track_id)
        assert track is not None
        return track


def _opened(library: Path | None) -> Library:
    path = library_path(library)
    if not path.exists():
        raise ArcbedError(
            "there is no library of music yet.", where=str(path), remedy="Make one first: arcbed scan FOLDER"
        )
    return Library(path)


def _mark(word: str) -> tuple[str, str | None]:
    key, equals, value = (part.strip().casefold() for part in word.partition("="))
    if key not in MARKS or not equals or (value and not _fits(key, value)):
        known = "; ".join(f"{name}={values}" for name, values in MARKS.items())
        raise ArcbedError(f'"{word}" is no mark.', remedy=f"Marks look like: {known}; an empty value takes one back.")
    return key, value or None


def _fits(key: str, value: str) -> bool:
    if key == "energy":
        number = value.removesuffix("%").strip()
        return number.isdecimal() and int(number) <= 100
    return value in {"voice": ("yes", "no"), "rest": ("never", "yes"), "favourite": ("yes",)}[key]
