"""Music whose file is not there now: its disk isn't plugged in, or it was moved or deleted.

Such a track is not chosen anew as long as what is there suffices. Where it doesn't, or nothing is there at all, a class
can still be planned with all that is known: the files are needed only when it is played.
"""

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from pathlib import Path

from audio.files.folders import common_folder
from audio.text import shown
from audio.track import Track
from pairing.errors import NotEnoughMusic, SetError
from pairing.model import ChooseAnew, Deed, Finding, Scan, SetList, Where
from pairing.sets.mixdown import locate
from pairing.show.text import counted


def is_there(track: Track) -> bool:
    """Whether there is a file where the track lies."""
    return track.path.is_file()


def offered_from(tracks: Sequence[Track]) -> Callable[[Track], bool]:
    """Which tracks can be offered: those that are there; any where none is."""
    return is_there if any(map(is_there, tracks)) else lambda _: True


def gone(setlist: SetList, base: Path, tracks: Sequence[Track]) -> tuple[str, ...]:
    """Paths of the picks whose recordings are nowhere to be found."""
    paths = []
    for pick in setlist.picks:
        try:
            locate(pick, base, tracks)
        except SetError:
            paths.append(pick.path)
    return tuple(paths)


def promised(setlist: SetList) -> set[str]:
    """Recordings that stand where a teacher or the plan put them, by fingerprint."""
    return {pick.fingerprint for pick in setlist.picks if pick.pinned} | set(setlist.options.swapped)


def chosen(
    tracks: Sequence[Track],
    choose: Callable[[Sequence[Track]], SetList],
    held: Callable[[SetList], Collection[str]] = promised,
) -> SetList:
    """What is chosen from the tracks whose files are there, and from those that are held.

    Only what was chosen is looked for on the disk; where some of it isn't there, everything is, and the choice is made
    again.

    Args:
        tracks: the library.
        choose: makes a set of the tracks that it is given.
        held: recordings of a set that stay whether their files are there or not, by fingerprint.
    Raises:
        NotEnoughMusic: not even all tracks suffice.
    """
    made = choose(tracks)
    kept, known = held(made), {track.fingerprint: track for track in tracks}
    free = {pick.fingerprint for pick in made.picks}.difference(kept)
    if all(is_there(known[mark]) for mark in free):
        return made
    away = [track for track in tracks if not is_there(track)]
    if len(away) == len(tracks):
        return made
    left_out = [track for track in away if track.fingerprint not in kept]
    numbers = {track.id for track in left_out}
    try:
        again = choose([track for track in tracks if track.id not in numbers])
    except NotEnoughMusic:
        return replace(made, findings=(*made.findings, _needed(away)))
    return replace(again, findings=(*again.findings, _left_out(left_out)))


def _left_out(away: Sequence[Track]) -> Finding:
    remedy = "Plug in the disk, or scan the folder that it is in now; then choose again."
    return _away(away, "it was chosen from the others", remedy, Scan(), ChooseAnew())


def _needed(away: Sequence[Track]) -> Finding:
    return _away(away, "the others can't fill the class, so it was chosen from all")


def _away(away: Sequence[Track], what: str, remedy: str | None = None, *deeds: Deed) -> Finding:
    return Finding("note", "music-away", Where(name="library"), f"{_not_there(away)}; {what}.", remedy, deeds=deeds)


def _not_there(away: Sequence[Track]) -> str:
    folder = common_folder([track.path for track in away])
    where = f" in {shown(folder)}" if folder else ""
    return f"{counted(len(away), 'track', 'tracks')} could not be found{where} when the music was chosen"
