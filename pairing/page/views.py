"""What each view of the page is told: values of the desk as JSON, nothing computed anew."""

from collections.abc import Iterable
from dataclasses import asdict
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from audio.database import UnusableLibraryError
from audio.errors import LibraryError
from audio.files.encode import ENDINGS
from audio.text import clock
from audio.track import Recording, Track
from pairing.alignment.sedative import largest_rise
from pairing.checks.heard import heard_findings
from pairing.effort.echo import LineTime, echo_of
from pairing.effort.planned import Planned
from pairing.errors import PlanError
from pairing.model import Pick, SetList
from pairing.page import pictures
from pairing.page.actions import CLASS_FILES
from pairing.page.desk import Desk, OpenSet
from pairing.page.disk import mark_of
from pairing.page.notes import Note, note_of
from pairing.page.places import known_classes
from pairing.page.values import Json, findings_of, harmless, name_of, number, track_row
from pairing.page.versions import Version, versions
from pairing.sets.mixmark import Age, age_of
from pairing.show.axes import Size
from pairing.show.heard import sound_lines, whole_text
from pairing.show.text import length, title_of
from pairing.workflow import byhand, plans, sets
from pairing.workflow.away import OUTPUTS, Output
from pairing.workflow.examples import examples
from pairing.workflow.music import library_path

if TYPE_CHECKING:
    from pairing.sets.swap import Alternative, Wish

MOST_POSES = 12
MOST_TRACKS = 400  # rows of the library's list sent at once; a search finds the others


def state(desk: Desk, size: Size) -> Json:
    """Everything but the library's list."""
    with desk.lock:
        now, note = desk.open, desk.note
        known = _outline(desk)
        tracks = desk.tracks()
        return {
            "title": harmless(_title(desk, known)),
            "folder": str(desk.folder),
            "plan": {
                "path": str(desk.plan_path.absolute()),
                "name": desk.plan_path.name,
                "text": note.shown,
                "mark": mark_of(note.content),
            }
            if desk.plan_path and note
            else None,
            "set": _set(desk, now) if now else None,
            "picture": pictures.set_picture(now.file.setlist, _outline_of_set(desk, now.file.setlist), tracks, size)
            if now
            else pictures.plan_picture(known, size)
            if known
            else None,
            "undo": desk.undoes,
            "redo": desk.redoes,
            "library": {
                "path": str(library_path(desk.library)),
                "usable": len(tracks),
                "unusable": len(desk.unusable()),
                **_problem(desk),
            },
            "job": job(desk),
            "written": [str(path) for path in desk.written],
            "teach": _teach(desk, now) if now else None,
            "old_mixes": _old_mixes(now) if now else [],
            "outputs": [_output(each) for each in OUTPUTS],
        }


def _teach(desk: Desk, now: OpenSet) -> str | None:
    """Where the class as it is now is taught; None as long as it isn't made ready."""
    return next((room.address for room in desk.rooms[::-1] if room.mark == now.mark), None)


def _old_mixes(now: OpenSet) -> list[str]:
    """The mixes beside the set, of its name, that are of an earlier version of the class."""
    found = [path for path in map(now.file.path.with_suffix, ENDINGS) if path.is_file()]
    return [harmless(path.name) for path in found if _age(path, path.stat().st_mtime_ns, now) == "earlier"]


@lru_cache(maxsize=32)
def _age(path: Path, modified_ns: int, now: OpenSet) -> Age:
    """Kept as long as neither the file nor the set changes."""
    return age_of(path, now.file.setlist)


def _plan(path: Path, note: Note) -> Json:
    return {"path": str(path.absolute()), "name": path.name, "text": note.shown, "mark": mark_of(note.content)}


def pulse(desk: Desk) -> Json:
    """What may change without the page's doing: the two files, the library, the job."""
    return {**desk.marks_on_disk(), "library": repr(desk.library_tracks.mark()), "job": job(desk)}


def job(desk: Desk) -> Json | None:
    """The job that runs, or the last one."""
    latest = desk.jobs.latest
    return asdict(latest) if latest else None


def outline(desk: Desk, shown: str, size: Size) -> Json:
    """What follows from a text of the plan; where it can't be understood, what is wrong in which line."""
    try:
        known = desk.outline_of(shown)
    except PlanError as error:
        return {"ok": False, "findings": findings_of(error.findings), "remedies": []}
    table, slot = known.timetable, known.slot
    return {
        "ok": True,
        "findings": findings_of(known.findings),
        "remedies": [{"id": remedy.id, "text": harmless(remedy.text)} for remedy in slot.remedies[:8]],
        "lines": [_line(line) for line in echo_of(known.plan, table)],
        "picture": pictures.plan_picture(known, size),
        "class": clock(table.duration_s),
        "range": f"{clock(table.shortest_s)} to {clock(table.longest_s)}",
        "fits": slot.fits,
        "available": clock(slot.available_s) if slot.available_s is not None else None,
        "spare": clock(slot.spare_s) if slot.spare_s is not None else None,
        "sections": [
            {
                "name": harmless(section.name),
                "kind": section.kind.value,
                "at": clock(section.start_s),
                "lasts": clock(section.end_s - section.start_s),
                "mets": round(section.mean_mets, 1),
                "line": known.plan.sections[index].place.line if index < len(known.plan.sections) else None,
            }
            for index, section in enumerate(table.sections)
        ],
    }


def _line(line: LineTime) -> Json:
    """A line of the note, as it is shown beside it."""
    return {
        "line": line.line,
        "at": clock(line.start_s) if line.start_s is not None else "",
        "takes": clock(line.length_s) if line.length_s else "",
        "says": harmless(line.says),
        "sure": line.sure,
        "answers": list(line.answers),
    }


def alternatives(desk: Desk, n: int, wish: "Wish | None") -> Json:
    """Ranked replacements of a pick, each with its effect in words and as a line."""
    now = desk.opened()
    found = desk.alternatives(n, wish)
    return {"n": n, "mark": now.mark, "alternatives": [_alternative(each, n) for each in found]}


def library(desk: Desk, section: int | None, words: Iterable[str]) -> Json:
    """The library's list, in the order in which its tracks serve the section, or by name."""
    tracks = [track for track in desk.tracks() if _holds(track, words)]
    uses = _uses(desk)
    served = _served(desk, section)
    rows = []
    for track in tracks:
        service = served.get(track.id)
        row = track_row(track, uses.get(track.fingerprint))
        rows.append(
            (service[0] if service else len(tracks), row | {"why": service[2], "may": service[1]} if service else row)
        )
    rows.sort(key=lambda item: item[0])
    unusable = [track_row(track) for track in desk.unusable() if _holds(track, words)]
    return {
        "tracks": [row for _, row in rows[:MOST_TRACKS]],
        "more": max(len(rows) - MOST_TRACKS, 0),
        "unusable": unusable[:MOST_TRACKS],
        "sections": _section_names(desk),
        "section": section,
    }


def poses(word: str) -> Json:
    """The poses whose names hold a word: what a plan may call them, how long they are held, how hard they are."""
    found = plans.find_poses(word)
    return {
        "more": max(len(found) - MOST_POSES, 0),
        "poses": [
            {
                "name": pose.english,
                "also": ", ".join(pose.names[1:]),
                "held": f"{pose.hold_breaths_flow:g} breaths in a flow, {pose.hold_breaths_slow:g} in a slow class",
                "sided": pose.sided,
                "mets": f"{pose.mets:.1f}",
                "cautions": list(pose.cautions),
            }
            for pose in found[:MOST_POSES]
        ],
    }


def folders(desk: Desk, at: str) -> Json:
    """A folder, those inside it, and how much music lies right in it."""
    found = byhand.shelf(Path(at) if at else byhand.likely_music(desk.folder))
    return {
        "at": str(found.path),
        "above": str(found.above) if found.above else None,
        "folders": [{"name": harmless(each.name), "at": str(each)} for each in found.folders],
        "songs": found.songs,
    }


def files_nearby(desk: Desk) -> Json:
    """Plans, sets and tables in the folder of the class, and the classes that were open last."""
    found = [path for path in desk.folder.glob("*") if path.suffix.lower() in CLASS_FILES]
    names = [path.name for path in sorted(found) if path.is_file() and path.stat().st_size < 5_000_000]
    known = [Path(each.path) for each in known_classes()]
    return {
        "files": [name for name in names if name.lower() not in ("readme.md", "poses.md")][:50],
        "known": [
            {"path": str(path), "name": harmless(path.stem), "folder": harmless(path.parent.name)} for path in known
        ],
    }


def earlier_versions(desk: Desk) -> Json:
    """The versions kept of the class, the latest first: when (ISO 8601), and what in it is otherwise than now."""
    with desk.lock:
        found = versions(desk.files) if desk.files else ()
        return {"versions": [_version(desk, each) for each in found]}


def _version(desk: Desk, kept: Version) -> Json:
    note, music = (kept.content(path.name) if path else None for path in (desk.plan_path, desk.set_path))
    now = desk.open
    return {
        "id": kept.id,
        "kept": kept.kept.isoformat(timespec="seconds"),
        "lines": len([line for line in note_of(note).shown.splitlines() if line.strip()]) if note else 0,
        "note": bool(note and desk.note and note != desk.note.content),
        "music": bool(music and now and music != now.content),
    }


def examples_to_begin_from() -> Json:
    """Whole classes to begin from, the shortest first; `new` takes the id of one."""
    return {"examples": [asdict(each) for each in examples()]}


def track(desk: Desk, track_id: int) -> Json | None:
    """All of one track."""
    found = next((each for each in desk.tracks() if each.id == track_id), None)
    if found is None:
        return None
    known = found.analysis
    return track_row(found) | {
        "picture": pictures.track_picture(found),
        "tempo": f"{known.tempo_bpm:.0f} beats a minute" if known.tempo_bpm else "no clear beat",
        "key": harmless(known.key) if known.key else "no clear key",
        "rise": number(largest_rise(known), 1),
    }


def rest(desk: Desk) -> Json | None:
    """The closing rest, and how calm each candidate is."""
    now = desk.open
    if now is None or now.file.setlist.rest is None:
        return None
    setlist, found = now.file.setlist, now.file.setlist.rest
    inside = [pick for pick in setlist.picks if found.start_s - 0.01 <= pick.class_start_s < found.end_s - 0.01]
    return {
        "at": clock(found.start_s),
        "minutes": (found.end_s - found.start_s) / 60,
        "silence": found.silence_s / 60,
        "bell_start": any(abs(at - found.start_s) < 1 for at in found.bells_s),
        "bell_end": any(abs(at - found.end_s) < 1 for at in found.bells_s),
        "bells": [clock(at) for at in found.bells_s],
        "picks": [{"n": pick.n, "title": title_of(pick)} for pick in inside],
        "candidates": [
            track_row(each.track) | {"fit": each.fit, "why": harmless("; ".join(each.reasons))}
            for each in sets.rest_candidates(now.file)[:20]
        ],
    }


def heard(desk: Desk) -> Json:
    """How the class will be heard: a line a section, and what is to be minded.

    Raises:
        ArcbedError: there is no set, or a recording is gone.
    """
    now = desk.opened()
    setlist, sound = now.file.setlist, desk.heard()
    lines = sound_lines(sound)
    return {
        "mark": now.mark,
        "whole": whole_text(sound),
        "lines": [
            {"at": clock(each.start_s), "name": harmless(each.name), "words": harmless(lines[index])}
            for index, each in enumerate(setlist.sections)
            if index in lines
        ],
        "findings": findings_of(heard_findings(setlist, sound)),
    }


def _alternative(found: "Alternative", n: int) -> Json:
    pick = found.setlist.picks[n - 1]
    return track_row(found.track) | {
        "effect": harmless(found.effect),
        "why": harmless(pick.why),
        "from_s": pick.track_start_s,
        "ghost": pictures.ghost(found.setlist),
    }


def _set(desk: Desk, now: OpenSet) -> Json:
    setlist, known = now.file.setlist, {track.fingerprint: track for track in desk.tracks()}
    fit, rest_of = setlist.fit, setlist.rest
    return {
        "name": desk.set_path.name if desk.set_path else "",
        "mark": now.mark,
        "class": clock(setlist.class_s),
        "class_s": setlist.class_s,
        "origin_s": now.origin_s,
        "fit": _fit_words(fit.correlation, fit.rmse),
        "rest": f"{clock(rest_of.start_s)} to {clock(rest_of.end_s)}" if rest_of else None,
        "same_plan": _same_plan(desk, setlist),
        "prefer": setlist.options.prefer,
        "repeats": setlist.options.allow_repeats,
        "left_out": _left_out(desk, setlist),
        "picks": [_pick(pick, setlist, known.get(pick.fingerprint)) for pick in setlist.picks],
        "sections": [
            {"name": harmless(each.name), "kind": each.kind.value, "start_s": each.start_s, "end_s": each.end_s}
            for each in setlist.sections
        ],
        "findings": findings_of(setlist.findings),
    }


def _left_out(desk: Desk, setlist: SetList) -> list[Json]:
    """The tracks that are kept out of this class."""
    exclude, here = setlist.options.exclude, {pick.fingerprint for pick in setlist.picks}
    return [
        {"id": track.id, "title": name_of(track)}
        for track in desk.tracks()
        if track.id in exclude and track.fingerprint not in here
    ]


def _fit_words(correlation: float, rmse: float) -> str:
    closeness = "closely" if rmse < 0.08 else "well" if rmse < 0.13 else "loosely"
    together = "rises and falls with it" if correlation >= 0.8 else "does not always rise and fall with it"
    return f"follows the arc {closeness}: {100 * rmse:.0f} points of energy off on average, and {together}"


def _pick(pick: Pick, setlist: SetList, track: Track | None) -> Json:
    energy = setlist.played_energy[max(int(pick.class_start_s), 0) : max(int(pick.class_end_s), 1)]
    heard = energy[np.isfinite(energy)]
    return {
        "n": pick.n,
        "track": pick.track_id,
        "title": title_of(pick),
        "artist": harmless(pick.artist),
        "at": clock(pick.class_start_s),
        "start_s": pick.class_start_s,
        "end_s": pick.class_end_s,
        "plays": length(pick.class_end_s - pick.class_start_s),
        "from_s": pick.track_start_s,
        "from": clock(pick.track_start_s),
        "energy": round(100 * float(heard.mean())) if heard.size else None,
        "gain_db": pick.gain_db,
        "section": harmless(pick.section),
        "pinned": pick.pinned,
        "why": harmless(pick.why),
        "loudness": number(track.analysis.loudness_lufs, 1) if track else None,
        "gone": track is None,
    }


def _same_plan(desk: Desk, setlist: SetList) -> bool:
    return desk.note is None or desk.note.typed == setlist.plan.text or desk.note.shown == setlist.plan.text


def _output(output: Output) -> Json:
    names = ("name", "title", "about", "button", "endings", "folder", "wrote")
    return {name: getattr(output, name) for name in names}


def _title(desk: Desk, known: Planned | None) -> str:
    if desk.open is not None:
        return desk.open.file.setlist.title
    return known.plan.title if known else desk.plan_path.stem if desk.plan_path else "A class and its music"


def _outline(desk: Desk) -> Planned | None:
    if desk.note is None:
        return None
    try:
        return desk.outline_of(desk.note.shown)
    except PlanError:
        return None


def _outline_of_set(desk: Desk, setlist: SetList) -> Planned | None:
    """Of the plan inside the set, which may be older than the one on the desk; None where a rest was made longer."""
    try:
        known = desk.outline_of(setlist.plan.text)
    except PlanError:
        return None
    return known if abs(known.timetable.duration_s - setlist.class_s) < 1 else None


def _served(desk: Desk, section: int | None) -> dict[int, tuple[int, bool, str]]:
    """Place in the list, whether it may stand there, and why, by track."""
    now, known = desk.open, _outline(desk)
    if section is None:
        return {}
    if now is not None and 0 <= section < len(now.file.setlist.sections):
        found = byhand.serving_tracks(now.file, section)
    elif now is None and known is not None and 0 <= section < len(known.timetable.sections):
        found = byhand.serving_plan(known, desk.tracks(), section)
    else:
        return {}
    return {each.track.id: (place, each.may, harmless(each.why)) for place, each in enumerate(found)}


def _section_names(desk: Desk) -> list[str]:
    now, known = desk.open, _outline(desk)
    if now is not None:
        return [harmless(section.name) for section in now.file.setlist.sections]
    return [harmless(section.name) for section in known.timetable.sections] if known else []


def _holds(track: Recording, words: Iterable[str]) -> bool:
    names = "\n".join((name_of(track), track.tags.artist, track.tags.album, track.path.name)).casefold()
    return all(word.casefold() in names for word in words)


def _uses(desk: Desk) -> dict[str, str]:
    if not library_path(desk.library).exists():
        return {}
    try:
        return byhand.last_uses(desk.library)
    except LibraryError:
        return {}


def _problem(desk: Desk) -> Json:
    """Why the library can't be read, if it can't, and whether setting it aside would help."""
    error = desk.library_tracks.problem
    if error is None:
        return {"problem": None, "can_set_aside": False}
    return {
        "problem": harmless(f"{error.where}: {error.message}"),
        "can_set_aside": isinstance(error, UnusableLibraryError),
    }
