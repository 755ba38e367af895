"""The library's tracks as the page holds them: at hand, and read again when the library's file has changed."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from audio.database import UnusableLibraryError
from audio.errors import LibraryError
from audio.stored import content_mark
from audio.track import Analysis, Track, UnusableTrack
from pairing.alignment import marks
from pairing.alignment.sedative import is_fit
from pairing.workflow import music

Stamp = tuple[int, int] | None
Music = tuple[tuple[Track, ...], tuple[UnusableTrack, ...]]


class Tracks:
    """The tracks of one library file."""

    def __init__(self, library: Path | None) -> None:
        self._library = library
        self._known: Music = ((), ())
        self._read_at: object = None
        self.problem: LibraryError | None = None  # why the last reading gave nothing
        self._calm: tuple[object, int] = (None, 0)
        self._analyses: dict[str, tuple[int, Analysis]] = {}

    def mark(self) -> tuple[Stamp, ...]:
        """Names the state of the library's file."""
        path = music.library_path(self._library)
        return tuple(_stamp(each) for each in (path, path.with_name(path.name + "-wal")))

    @property
    def read_at(self) -> object:
        """The state of the file from which the tracks were read last."""
        return self._read_at

    def all(self) -> Music:
        """Every track, and what can't be used; none where the library can't be read, see `problem`."""
        if self.mark() != self._read_at:
            there = music.library_path(self._library).exists()
            try:
                read, unusable = music.everything(self._library) if there else ([], [])
                former, self._analyses = self._analyses, {}
                self._known = tuple(self._at_hand(track, former) for track in read), tuple(unusable)
                self._read_at, self.problem = self.mark(), None
            except LibraryError as error:
                # What is damaged stays so until its file changes; what can't be read now may be readable next time.
                self._read_at = self.mark() if isinstance(error, UnusableLibraryError) else None
                self._known, self.problem = ((), ()), error
        return self._known

    def calm(self) -> int:
        """How many of them are calm enough for a rest."""
        tracks = self.all()[0]
        if self._calm[0] != self._read_at:
            usable = (track for track in tracks if not marks.is_banned(track))
            self._calm = self._read_at, sum(is_fit(track) for track in usable)
        return self._calm[1]

    def _at_hand(self, track: Track, former: Mapping[str, tuple[int, Analysis]]) -> Track:
        """The track with its curves unpacked: the library's own unpacks them at each look, a hundred times a click.

        A recording of which nothing new was measured keeps the analysis it has: a mark changes the library's file too,
        and what is still in use of the former tracks would hold all their curves a second time.
        """
        content = content_mark(track.analysis)
        kept, analysis = former.get(track.fingerprint, (None, track.analysis))
        if kept != content:
            analysis = track.analysis.but()
        self._analyses[track.fingerprint] = content, analysis
        return replace(track, analysis=analysis)


def _stamp(path: Path) -> Stamp:
    try:
        state = path.stat()
    except OSError:
        return None
    return state.st_mtime_ns, state.st_size
