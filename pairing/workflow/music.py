"""What the commands about the library of music do."""

from collections.abc import Sequence
from pathlib import Path

from audio.errors import ArcbedError
from audio.library import Library, default_library_path
from audio.scan import Progress, ScanReport, scan
from audio.track import Track
from pairing.sets import marks


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
    with opened(library) as known:
        tracks = known.tracks(include_unusable=unusable)
    return sorted(tracks, key=lambda track: (track.tags.artist.casefold(), track.title.casefold(), track.id))


def find_tracks(library: Path | None, words: Sequence[str], *, unusable: bool = False) -> list[Track]:
    """The tracks whose title, artist, album or file name hold all the words."""
    found = all_tracks(library, unusable=unusable)
    return [track for track in found if all(word.casefold() in _names(track) for word in words)]


def mark_track(library: Path | None, track_id: int, words: Sequence[str]) -> Track:
    """Set the teacher's own word on a track, as KEY=VALUE; an empty value takes it back."""
    with opened(library) as known:
        if known.track(track_id) is None:
            raise ArcbedError(f"there is no track {track_id} in the library.", remedy="arcbed tracks lists them.")
        for word in words:
            key, value = _mark(word)
            known.mark(track_id, key, value)
        track = known.track(track_id)
        assert track is not None
        return track


def _names(track: Track) -> str:
    return "\n".join((track.title, track.tags.artist, track.tags.album, track.path.name)).casefold()


def opened(library: Path | None) -> Library:
    """The library, which must exist."""
    path = library_path(library)
    if not path.exists():
        raise ArcbedError(
            "there is no library of music yet.", where=str(path), remedy="Make one first: arcbed scan FOLDER"
        )
    return Library(path)


def _mark(word: str) -> tuple[str, str | None]:
    key, equals, value = word.partition("=")
    if not equals:
        raise ArcbedError(f'"{word}" is no mark.', remedy="Marks look like energy=40%, voice=no, rest=never.")
    return marks.checked(key, value) if value.strip() else (key.strip().casefold(), None)
