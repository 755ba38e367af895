"""The user's music as the page lists it: what serves a part of the class first, a part of the list at a time."""

import statistics
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from audio.errors import LibraryError
from audio.track import Recording, Track
from pairing.alignment import marks
from pairing.page.desk import Desk
from pairing.page.disk import mark_of
from pairing.page.values import Json, figures, harmless, name_of, track_row
from pairing.show import shapes, words
from pairing.show.musicmap import WORDS, music_map, needs_of, too_little
from pairing.temper import temper
from pairing.workflow import byhand
from pairing.workflow.music import library_path

AT_ONCE = 50  # rows sent at once; more come when they are asked for
MOST_UNUSABLE = 400
WIDEST = 1120.0  # pixels of the picture of all music; the list below is as wide


@dataclass(frozen=True, slots=True)
class ListQuery:
    """What of the list is asked for.

    Attributes:
        section: whose needs come first; None: by name. typed: words that title, artist, album or file hold.
        temper: only tracks of this one. shown: how many rows are there already. rows: how many more.
        width: of the picture of all of it, pixels.
    """

    section: int | None = None
    typed: tuple[str, ...] = ()
    temper: str | None = None
    shown: int = 0
    rows: int = AT_ONCE
    width: float = 1000.0


def listed(desk: Desk, asked: ListQuery) -> Json:
    """A part of the list, the tracks that can't be used, and how much there is of each temper."""
    tracks = [track for track in desk.tracks() if _holds(track, asked.typed)]
    chosen = [track for track in tracks if asked.temper in (None, temper(marks.mean_energy(track)))]
    served, section = _served(desk, asked.section)
    chosen.sort(key=lambda track: (served.get(track.id, (len(tracks),))[0], name_of(track).casefold()))
    part = chosen[asked.shown : asked.shown + asked.rows]
    unusable = [track for track in desk.unusable() if _holds(track, asked.typed)]
    return {
        "tracks": list(_rows(desk, part, served)),
        "count": len(chosen),
        "order": mark_of(repr([track.id for track in chosen]).encode()),
        "more": max(len(chosen) - asked.shown - asked.rows, 0),
        "step": AT_ONCE,
        "unusable": [track_row(track) for track in unusable[:MOST_UNUSABLE]],
        "sections": _section_names(desk),
        "section": section,
        "temper": asked.temper,
        "supply": _supply(desk, asked.width),
        "tempers": WORDS,
    }


def track(desk: Desk, track_id: int) -> Json | None:
    """All of one track."""
    found = next((each for each in desk.tracks() if each.id == track_id), None)
    if found is None:
        return None
    return track_row(found) | {
        "shape": shapes.track_shape(found),
        "figures": figures(found),
        "file": harmless(str(found.path)),
        "album": harmless(found.tags.album),
    }


def _rows(desk: Desk, part: Iterable[Track], served: Mapping[int, tuple[int, bool, str]]) -> Iterator[Json]:
    now, uses = desk.open, _uses(desk)
    setlist = now.file.setlist if now else None
    places = words.places_in_class(setlist) if setlist else {}
    plays = {pick.fingerprint: places[pick.n] for pick in setlist.picks} if setlist else {}
    median = [statistics.median(each.analysis.loudness_lufs for each in desk.tracks())] if desk.tracks() else []
    for each in part:
        row = track_row(each, uses.get(each.fingerprint)) | {
            "loudness": words.loudness(each.analysis.loudness_lufs, median),
            "plays": plays.get(each.fingerprint),
            "shape": shapes.track_shape(each),
        }
        service = served.get(each.id)
        yield row | {"why": service[2], "may": service[1]} if service else row


def _supply(desk: Desk, width: float) -> Json:
    """All of the user's music against what the class asks for, and where there is too little."""
    now, known, tracks = desk.open, desk.outline(), desk.tracks()
    if now:
        needs = needs_of(now.file.setlist.arc, now.file.setlist.sections)
    else:
        needs = needs_of(known.arc.target_energy, known.timetable.sections) if known else ()
    return {
        "map": music_map(tracks, needs, min(width, WIDEST)),
        "short": too_little(tracks, needs),
        "asked": bool(needs),
    }


def _served(desk: Desk, section: int | None) -> tuple[dict[int, tuple[int, bool, str]], int | None]:
    """Place in the list, whether it may stand there, and why, by track; and the section, if there is such a one."""
    now, known = desk.open, desk.outline()
    if section is not None and now is not None and 0 <= section < len(now.file.setlist.sections):
        found = byhand.serving_tracks(now.file, section)
    elif section is not None and now is None and known is not None and 0 <= section < len(known.timetable.sections):
        found = byhand.serving_plan(known, desk.tracks(), section)
    else:
        return {}, None
    return {each.track.id: (place, each.may, harmless(each.why)) for place, each in enumerate(found)}, section


def _section_names(desk: Desk) -> list[str]:
    now, known = desk.open, desk.outline()
    if now is not None:
        return [harmless(section.name) for section in now.file.setlist.sections]
    return [harmless(section.name) for section in known.timetable.sections] if known else []


def _holds(track: Recording, typed: Iterable[str]) -> bool:
    names = "\n".join((name_of(track), track.tags.artist, track.tags.album, track.path.name)).casefold()
    return all(word.casefold() in names for word in typed)


def _uses(desk: Desk) -> dict[str, str]:
    if not library_path(desk.library).exists():
        return {}
    try:
        return byhand.last_uses(desk.library)
    except LibraryError:
        return {}
