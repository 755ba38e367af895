"""What the commands about the library of music do."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

from audio import unusable
from audio.errors import ArcbedError
from audio.files.folders import common_folder
from audio.library import Library, Rescued, default_library_path
from audio.progress import Progress
from audio.scan import ScanReport, scan
from audio.track import Recording, Track, UnusableTrack
from pairing.alignment import marks
from pairing.show.text import counted
from pairing.solve.compiling import compile_apart

AnyRecording = TypeVar("AnyRecording", bound=Recording)
ORDERS: Mapping[str, Callable[[Track], Any]] = MappingProxyType(
    {
        "calm": marks.mean_energy,
        "lively": lambda track: -marks.mean_energy(track),
        "soft": lambda track: track.analysis.loudness_lufs,
        "length": lambda track: track.analysis.duration_s,
        "title": lambda track: track.title.casefold(),
    }
)


def library_path(given: Path | None) -> Path:
    """The library a command works on: the one named, else this user's."""
    return given or default_library_path()


@dataclass(frozen=True, slots=True)
class SetAside:
    """A library that couldn't be used: its new name, why, and what was kept of it."""

    path: Path
    reason: str
    kept: Rescued


def set_aside(library: Path | None) -> SetAside | None:
    """Rename a library that can't be used, begin a new one and keep what the teacher said; None where it is in order.

    Raises: LibraryError if it is in use, or can't be read or renamed now.
    """
    path = library_path(library)
    reason = unusable.fault(path) if path.exists() else None
    if reason is None:
        return None
    aside = unusable.set_aside(path)
    with Library.open_or_create(path) as known:
        return SetAside(aside, reason, known.rescue(aside))


def join(library: Path | None, other: Path) -> int:
    """Take over what another library holds; gives the number of recordings taken over."""
    with Library.open_or_create(library_path(library)) as known:
        return known.join(other)


def forget_missing(library: Path | None) -> int:
    """Forget the files that are no longer there; marks stay. Gives the number of files."""
    with opened(library) as known:
        return len(known.forget_missing())


def scan_music(
    folders: Sequence[Path],
    library: Path | None,
    *,
    jobs: int | None,
    progress: Progress | None,
    scheduler: str | None = None,
) -> ScanReport:
    """Analyse what is new or changed below the folders; the user's music folder if none is named.

    Args:
        scheduler: address of a dask.distributed scheduler whose workers do it instead of this machine.
    """
    if not folders:
        from platformdirs import user_music_path

        folders = (user_music_path(),)
    for folder in folders:
        if not folder.exists():
            raise ArcbedError(
                "there is no such folder.",
                where=str(folder),
                remedy="Name a folder of music.",
                command="arcbed scan FOLDER",
            )
    progress = _compiling_meanwhile(progress)
    if scheduler is None:
        return scan(folders, library_path(library), jobs=jobs, progress=progress)
    from audio.cluster import cluster_at

    with cluster_at(scheduler) as cluster:
        return scan(
            folders, library_path(library), jobs=jobs or cluster.cores, executor=cluster.executor, progress=progress
        )


def _compiling_meanwhile(progress: Progress | None) -> Progress:
    """Progress that has the solver's loops compiled from the first file on that is listened to."""
    begun = False

    def tell(done: int, total: int, name: str) -> None:
        nonlocal begun
        if not begun:
            begun = True
            compile_apart()
        if progress:
            progress(done, total, name)

    return tell


def all_tracks(library: Path | None) -> list[Track]:
    """The tracks of the library, by artist and title."""
    return everything(library)[0]


def everything(library: Path | None) -> tuple[list[Track], list[UnusableTrack]]:
    """The tracks of the library, and the recordings that can't be used; each by artist and title."""
    with opened(library) as known:
        tracks, unusable = known.tracks(), known.unusable()
        older = () if tracks else known.unmeasured()
    if older:
        raise _measured_by_an_older_version(library_path(library), older)
    return sorted(tracks, key=_by_name), sorted(unusable, key=_by_name)


def _by_name(recording: Recording) -> tuple[str, str, int]:
    return recording.tags.artist.casefold(), recording.title.casefold(), recording.id


def _measured_by_an_older_version(library: Path, files: Sequence[Path]) -> ArcbedError:
    from pairing.show.tables import quoted

    folder = common_folder(files)
    return ArcbedError(
        f"was made by an older arcbed; its {counted(len(files), 'file has', 'files have')} to be listened to again.",
        where=str(library),
        remedy="Scan the folder again; what you said of tracks and what you played is kept.",
        command=f"arcbed scan {quoted(folder) if folder else 'FOLDER'}",
    )


def find_tracks(among: Iterable[Track | UnusableTrack], words: Sequence[str]) -> list[Track | UnusableTrack]:
    """Those whose title, artist, album or file name hold all the words, by artist and title."""
    found = [each for each in among if all(word.casefold() in _names(each) for word in words)]
    return sorted(found, key=_by_name)


def in_order(tracks: Iterable[Track | UnusableTrack], by: str) -> list[Track | UnusableTrack]:
    """The tracks in one of the `ORDERS`; those that can't be used last.

    Raises:
        ArcbedError: there is no such order.
    """
    order = ORDERS.get(by.strip().casefold())
    if order is None:
        raise ArcbedError(f'tracks can\'t be listed by "{by}".', remedy=f"They can by {', '.join(ORDERS)}.")
    found = list(tracks)
    usable = [track for track in found if isinstance(track, Track)]
    return [*sorted(usable, key=order), *(track for track in found if isinstance(track, UnusableTrack))]


def fitting(tracks: Sequence[AnyRecording], words: str) -> tuple[AnyRecording, ...]:
    """The tracks that may be meant by a number or by words of their names.

    A number is that of a track where there is one; else those of just this title, else those that hold all the words.
    """
    asked = words.strip()
    numbered = [track for track in tracks if asked.isdecimal() and track.id == int(asked)]
    titled = [track for track in tracks if track.title.casefold() == asked.casefold()]
    holding = [track for track in tracks if asked and all(word.casefold() in _names(track) for word in asked.split())]
    return tuple(numbered or titled or holding)


def mark_track(library: Path | None, track_id: int, words: Sequence[str]) -> Track | UnusableTrack:
    """Set the teacher's own word on a track, as KEY=VALUE; an empty value takes it back."""
    with opened(library) as known:
        before = known.recording(track_id)
        if before is None:
            raise ArcbedError(
                f"none of your tracks has the number {track_id}.",
                remedy="Look it up among your tracks.",
                command="arcbed tracks",
            )
        for word in words:
            key, value = _mark(word)
            if key == "beat" and value and isinstance(before, Track):
                value = marks.settled(before, value)
            known.mark(track_id, key, value)
        track = known.recording(track_id)
        assert track is not None
        return track


def _names(track: Recording) -> str:
    return "\n".join((track.title, track.tags.artist, track.tags.album, track.path.name)).casefold()


def opened(library: Path | None) -> Library:
    """The library, which must exist."""
    path = library_path(library)
    if not path.exists():
        raise ArcbedError(
            "there is no music yet.", where=str(path), remedy="Scan a folder first.", command="arcbed scan FOLDER"
        )
    return Library(path)


def _mark(word: str) -> tuple[str, str | None]:
    key, equals, value = word.partition("=")
    if not equals:
        raise ArcbedError(f'"{word}" isn\'t understood.', remedy="Write energy=40%, voice=no or rest=never.")
    return marks.checked(key, value) if value.strip() else (key.strip().casefold(), None)
