"""What each view of the page is told: values of the desk as JSON, nothing computed anew."""

from collections.abc import Container, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from audio.database import UnusableLibraryError
from audio.text import clock
from audio.track import Track
from pairing.alignment.sedative import RestCandidate
from pairing.checks.heard import heard_findings
from pairing.effort.echo import LineSpan, echo_of
from pairing.effort.planned import Planned
from pairing.errors import PlanError
from pairing.model import Pick, SetList
from pairing.page import pictures, steps
from pairing.page.actions import CLASS_FILES
from pairing.page.desk import Desk, OpenSet
from pairing.page.disk import is_small_file, mark_of
from pairing.page.look import Look
from pairing.page.notes import NoteFile, note_of
from pairing.page.places import known_classes
from pairing.page.steps import Standing
from pairing.page.values import Json, figures, findings_of, harmless, name_of, track_row
from pairing.page.versions import Version, versions
from pairing.page.written import written_beside
from pairing.show import shapes, words
from pairing.show.heard import sound_lines, whole_text
from pairing.show.text import length, title_of
from pairing.temper import temper
from pairing.workflow import byhand, plans, sets
from pairing.workflow.away import OUTPUTS, Output
from pairing.workflow.examples import examples
from pairing.workflow.music import library_path
from pairing.workflow.plans import Outline

if TYPE_CHECKING:
    from pairing.sets.swap import Alternative, Wish

MOST_POSES = 12
TEMPERS_ASKED = [{"word": temper(percent / 100), "percent": percent} for percent in (15, 32, 47, 62, 80)]
MOST_CALM, MOST_OTHERS = 24, 12  # tracks shown for the rest: calm enough, and not


def state(desk: Desk, look: Look) -> Json:
    """Everything but the list of the user's music."""
    with desk.lock:
        now, note = desk.open, desk.note
        known, tracks = desk.outline(), desk.tracks()
        it = _standing(desk, now, known, tracks)
        return {
            "title": harmless(_title(desk, known)),
            "folder": str(desk.folder),
            "plan": _plan(desk.plan_path, note) if desk.plan_path and note else None,
            "set": _set(desk, now) if now else None,
            "steps": [asdict(step) for step in steps.steps(it)],
            "next": asdict(steps.next_step(it)),
            "questions": it.questions,
            **_pictures(desk, now, known, look),
            "undo": desk.undoes,
            "redo": desk.redoes,
            "library": {
                "path": str(library_path(desk.library)),
                "usable": it.tracks,
                "unusable": len(desk.unusable()),
                **_problem(desk),
            },
            "job": job(desk),
            "written": [str(path) for path in desk.written],
            "told": desk.told,
            "beside": [
                {"file": harmless(each.path.name), "name": each.name, "age": each.age, "ending": each.path.suffix}
                for each in it.written
            ],
            "teach": _teach(desk, now) if now else None,
            "outputs": [_output(each) for each in OUTPUTS],
            "tempers": TEMPERS_ASKED,
        }


def _standing(desk: Desk, now: OpenSet | None, known: Outline | None, tracks: Sequence[Track]) -> Standing:
    latest, setlist = desk.jobs.latest, now.file.setlist if now else None
    here = {track.fingerprint for track in tracks}
    return Standing(
        has_plan=desk.note is not None,
        outline=known,
        tracks=len(tracks),
        calm=desk.calm(),
        listening=bool(latest and latest.what == "scan" and latest.state == "running"),
        setlist=setlist,
        gone=sum(pick.fingerprint not in here for pick in setlist.picks) if setlist else 0,
        same_plan=setlist is None or _same_plan(desk, setlist),
        heard=desk.noticed(),
        written=written_beside(now.file.path, now.file.setlist) if now else (),
    )


def _pictures(desk: Desk, now: OpenSet | None, known: Outline | None, look: Look) -> Json:
    """The class drawn large, and the strip that is always in sight."""
    if now is not None:
        setlist = now.file.setlist
        return pictures.set_pictures(setlist, _outline_of_set(desk, setlist), look)
    return pictures.plan_pictures(known, look) if known is not None else {"picture": None, "strip": None}


def _teach(desk: Desk, now: OpenSet) -> str | None:
    """Where the class as it is now is taught; None as long as it isn't made ready."""
    return next((room.address for room in desk.rooms[::-1] if room.mark == now.mark), None)


def _plan(path: Path, note: NoteFile) -> Json:
    return {"path": str(path.absolute()), "name": path.name, "text": note.shown, "mark": mark_of(note.content)}


def pulse(desk: Desk) -> Json:
    """What may change without the page's doing: the two files, the library, the job."""
    return {**desk.marks_on_disk(), "library": repr(desk.library_tracks.mark()), "job": job(desk)}


def job(desk: Desk) -> Json | None:
    """The job that runs, or the last one."""
    latest = desk.jobs.latest
    return asdict(latest) if latest else None


def outline(desk: Desk, shown: str, look: Look) -> Json:
    """What follows from a text of the plan; where nothing can be read in it, why."""
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
        "strip": pictures.plan_strip(known, look),
        "class": clock(table.duration_s),
        "range": f"{clock(table.shortest_s)} to {clock(table.longest_s)}"
        if table.longest_s - table.shortest_s >= 1
        else "",
        "fits": slot.fits,
        "available": clock(slot.available_s) if slot.available_s is not None else None,
        "left_over": clock(slot.left_over_s) if slot.left_over_s is not None else None,
        "sections": [_section(known, index) for index in range(len(table.sections))],
    }


def _section(known: Outline, index: int) -> Json:
    section, written = known.timetable.sections[index], known.plan.sections
    return {
        "name": harmless(section.name),
        "kind": section.kind.value,
        "at": clock(section.start_s),
        "lasts": clock(section.end_s - section.start_s),
        "effort": words.effort(section.mean_mets),
        "mets": f"{section.mean_mets:.1f} METs",
        "line": written[index].place.line if index < len(written) else None,
    }


def _line(line: LineSpan) -> Json:
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
                "effort": words.effort(pose.mets),
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
    names = [path.name for path in sorted(found) if is_small_file(path, 5_000_000)]
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


def rest(desk: Desk) -> Json | None:
    """The closing rest, and how calm each track is that could play there."""
    now = desk.open
    if now is None or now.file.setlist.rest is None:
        return None
    setlist, found = now.file.setlist, now.file.setlist.rest
    inside = [pick for pick in setlist.picks if found.start_s - 0.01 <= pick.class_start_s < found.end_s - 0.01]
    plays = {pick.fingerprint for pick in inside}
    judged = sets.rest_candidates(now.file)
    fit = [each for each in judged if each.fit or each.track.fingerprint in plays]
    unfit = [each for each in judged if not (each.fit or each.track.fingerprint in plays)]
    return {
        "at": clock(found.start_s),
        "start_s": found.start_s,
        "minutes": (found.end_s - found.start_s) / 60,
        "silence": found.silence_s / 60,
        "bell_start": any(abs(at - found.start_s) < 1 for at in found.bells_s),
        "bell_end": any(abs(at - found.end_s) < 1 for at in found.bells_s),
        "picks": [{"n": pick.n, "title": title_of(pick), "track": pick.track_id} for pick in inside],
        "candidates": [_candidate(each, plays) for each in fit[:MOST_CALM]],
        "more": max(len(fit) - MOST_CALM, 0),
        "others": [_candidate(each, plays) for each in unfit[:MOST_OTHERS]],
        "unfit": len(unfit),
    }


def _candidate(each: RestCandidate, plays: Container[str]) -> Json:
    return track_row(each.track) | {
        "fit": each.fit,
        "plays": each.track.fingerprint in plays,
        "why": harmless("; ".join(each.reasons)),
        "shape": shapes.calm_shape(each.track),
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
        "findings": findings_of(heard_findings(setlist, sound), words.places_in_class(setlist)),
    }


def _alternative(found: "Alternative", n: int) -> Json:
    pick = found.setlist.picks[n - 1]
    played, asked = _heard_and_asked(found.setlist, pick)
    return track_row(found.track) | {
        "effect": harmless(found.effect),
        "against": words.temper_against(played, asked) if played is not None and asked is not None else None,
        "why": harmless(pick.why),
        "from_s": pick.track_start_s,
        "start_s": pick.class_start_s,
        "figures": figures(found.track, played),
        "shape": shapes.offer_shape(found.track, pick, found.setlist.arc),
        "ghost": pictures.ghost(found.setlist),
    }


def _set(desk: Desk, now: OpenSet) -> Json:
    setlist, known = now.file.setlist, {track.fingerprint: track for track in desk.tracks()}
    fit, rest_of, places = setlist.fit, setlist.rest, words.places_in_class(setlist)
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
        "picks": [_pick(pick, setlist, places[pick.n], known.get(pick.fingerprint)) for pick in setlist.picks],
        "sections": [_section_of_set(setlist, index) for index in range(len(setlist.sections))],
        "findings": findings_of(setlist.findings, places),
    }


def _left_out(desk: Desk, setlist: SetList) -> list[Json]:
    """The tracks that are kept out of this class."""
    exclude, here = setlist.options.exclude, {pick.fingerprint for pick in setlist.picks}
    return [
        {"id": track.id, "title": name_of(track)}
        for track in desk.tracks()
        if track.id in exclude and track.fingerprint not in here
    ]


def _section_of_set(setlist: SetList, index: int) -> Json:
    section = setlist.sections[index]
    asked = setlist.arc[int(section.start_s) : max(int(section.end_s), int(section.start_s) + 1)]
    mean = float(np.nanmean(asked)) if np.isfinite(asked).any() else None
    return {
        "name": harmless(section.name),
        "kind": section.kind.value,
        "start_s": section.start_s,
        "end_s": section.end_s,
        "asks": temper(mean) if mean is not None else None,
        "effort": words.effort(section.mean_mets),
    }


def _fit_words(correlation: float, rmse: float) -> str:
    closeness = "closely" if rmse < 0.08 else "well" if rmse < 0.13 else "loosely"
    together = "" if correlation >= 0.8 else ", though it does not always rise and fall with it"
    return f"follows the arc {closeness}{together}"


def _pick(pick: Pick, setlist: SetList, place: str, track: Track | None) -> Json:
    played, asked = _heard_and_asked(setlist, pick)
    known = track.analysis if track else None
    return {
        "n": pick.n,
        "track": pick.track_id,
        "title": title_of(pick),
        "artist": harmless(pick.artist),
        "place": place,
        "at": clock(pick.class_start_s),
        "start_s": pick.class_start_s,
        "end_s": pick.class_end_s,
        "plays": length(pick.class_end_s - pick.class_start_s),
        "from_s": pick.track_start_s,
        "from": clock(pick.track_start_s),
        "temper": temper(played) if played is not None else "",
        "against": words.temper_against(played, asked) if played is not None and asked is not None else None,
        "voice": words.voice(known.curves.voice_share) if known else "",
        "section": harmless(pick.section),
        "pinned": pick.pinned,
        "why": harmless(pick.why),
        "shape": shapes.track_shape(track, pick) if track else None,
        "figures": figures(track, played) if track else [],
        "gone": track is None,
    }


def _heard_and_asked(setlist: SetList, pick: Pick) -> tuple[float | None, float | None]:
    """Mean energy of what is heard while a track plays, and of what is asked for then; None in silence."""
    inside = slice(max(int(pick.class_start_s), 0), max(int(pick.class_end_s), 1))
    curves = (setlist.played_energy[inside], setlist.arc[inside])
    played, asked = (float(np.nanmean(each)) if np.isfinite(each).any() else None for each in curves)
    return played, asked


def _same_plan(desk: Desk, setlist: SetList) -> bool:
    return desk.note is None or desk.note.typed == setlist.plan.text or desk.note.shown == setlist.plan.text


def _output(output: Output) -> Json:
    names = ("name", "title", "about", "button", "endings", "folder", "wrote")
    return {name: getattr(output, name) for name in names}


def _title(desk: Desk, known: Planned | None) -> str:
    if desk.open is not None:
        return desk.open.file.setlist.title
    return known.plan.title if known else desk.plan_path.stem if desk.plan_path else "A class and its music"


def _outline_of_set(desk: Desk, setlist: SetList) -> Planned | None:
    """Of the plan inside the set, which may be older than the one that is open, and give the rest another length."""
    try:
        return desk.outline_of(setlist.plan.text)
    except PlanError:
        return None


def _problem(desk: Desk) -> Json:
    """Why the library can't be read, if it can't, and whether setting it aside would help."""
    error = desk.library_tracks.problem
    if error is None:
        return {"problem": None, "can_set_aside": False}
    return {
        "problem": harmless(f"{error.where}: {error.message}"),
        "can_set_aside": isinstance(error, UnusableLibraryError),
    }
