"""The cue sheet and the class clock: one HTML file that holds everything and asks nothing of the network.

The page has two views, the sheet (to read and print) and the clock (to stand beside the mat). Its policy
(Content-Security-Policy) lets only its own script and style run, named by their hashes, so that nothing in a title can.
"""

import base64
import datetime
import hashlib
import json
import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from functools import cache
from importlib.resources import files
from pathlib import Path, PurePath, PureWindowsPath
from typing import TYPE_CHECKING
from urllib.parse import quote

from audio.text import clock, one_line
from audio.track import Track
from pairing.alignment import marks
from pairing.model import Arc, Finding, Kind, Pick, Plan, SectionTime, SetList, Step, Timetable
from pairing.plan.starter import is_remark
from pairing.sets.mixdown import origin_s
from pairing.show import cues
from pairing.show.findings import Told, in_order, is_caution, told
from pairing.show.glance import breaths_of, strip_picture
from pairing.show.scene import Scene
from pairing.show.text import counted, length, title_of
from pairing.show.words import temper, voice

if TYPE_CHECKING:
    from jinja2 import Environment

REST_FADE_S = 8.0  # "to the rest now": the music sinks for so long; editorial
CLOCK_TITLE = 60  # characters of a title beside the mat, where one line must do; editorial
TRIMMED_S = 3.0  # a beginning that is cut by less is no news; editorial
_STYLES = ("page.css", "picture.css", "sheet.css", "clock.css")
_SHARED = ("course.js", "words.js", "awake.js", "face.js")
_CLOCK = (*_SHARED, "timing.js", "mix.js", "clock.js")
_LIVE = (*_SHARED, "conductor.js", "player.js", "log.js", "live.js")
PICTURE_WIDTHS = {"wide": 1116.0, "middle": 770.0, "narrow": 366.0}  # of the strip: a laptop, paper, a phone
# Which letters lie in which part of the font; a browser reads only the parts that a page uses.
_LETTERS = {
    "latin": "U+0-FF,U+131,U+152-153,U+2BB-2BC,U+2C6,U+2DA,U+2DC,U+2000-206F,U+20AC,U+2122,U+2212,U+FFFD",
    "latin-ext": "U+100-130,U+132-151,U+154-2BA,U+2BD-2C5,U+1E00-1EFF,U+2C60-2C7F,U+A720-A7FF",
}


@dataclass(frozen=True, slots=True)
class _Music:
    """A track as a row of the sheet shows it."""

    n: int
    title: str
    artist: str
    at: str
    facts: str  # "lively, sung, 8 beats a breath, starts 0:48 in"
    check: str


@dataclass(frozen=True, slots=True)
class _SheetRow:
    """A section as a row of the sheet."""

    name: str
    kind: str  # with how long it lasts
    at: str
    wall: str
    left: str  # minutes to the end of the class
    rest: bool
    laps: tuple[str, ...]
    lines: tuple[cues.CueLine, ...]
    music: tuple[_Music, ...]
    heard: str = ""  # how it sounds, in one line
    going_on: str = ""  # title of the track that plays on into this section


def sheet_html(
    setlist: SetList,
    timetable: Timetable,
    arc: Arc,
    *,
    findings: Iterable[Finding],
    audio: str | None = None,
    cautions: Sequence[str] = (),
    plan: Plan | None = None,
    tracks: Mapping[int, Track] | None = None,
    set_file: Path | None = None,
    heard: Mapping[int, str] | None = None,
    warning: str = "",
    live: Mapping[str, object] | None = None,
    chunks: str | None = None,
    day: datetime.date | None = None,
) -> str:
    """Write the page of a class.

    Args:
        timetable, arc: of the set's plan.
        findings: what the checks found; cautions among them stand with `cautions`.
        audio: the mix beside the page or below its folder, as a path relative to it; of any other path the name.
        cautions: for the poses of this class, a sentence each.
        plan: adds the hour, theme, props and notes.
        tracks: by id; adds tempo, beats a breath and what is played of each track.
        set_file: its name goes into the commands that findings name.
        heard: how each section sounds, a line by its index.
        warning: what has to be seen before the class, such as a mix that isn't of this set.
        live: what `livepage.live_json` gives; the clock's music then follows the class.
        chunks: where a server gives a live page its sound; style and script are then files of that server too, see
            `live_files`.
        day: on which it is taught.
    """
    timetable = cues.as_in_set(timetable, setlist.sections)
    found = [_homeless(_bare(finding, setlist), setlist, plan) for finding in findings]
    warnings = [finding for finding in found if is_caution(finding)]
    others = in_order(finding for finding in found if finding not in warnings)
    scene = Scene.of_set(setlist, timetable, arc)
    start_s = _wall_start_s(plan)
    style, script = _style(), _script(_CLOCK if live is None else _LIVE)
    return (
        _environment()
        .get_template("sheet.html")
        .render(
            title=one_line(setlist.title) or "A class",
            style=style,
            script=script,
            policy=_policy(style, script),
            **{name: strip_picture(scene, width) for name, width in PICTURE_WIDTHS.items()},
            breaths={name: _a_wave(scene, width) for name, width in PICTURE_WIDTHS.items()},
            summary=_summary(setlist, start_s, day),
            facts=_facts(plan),
            rows=_rows(setlist, timetable, tracks or {}, start_s, heard or {}),
            warning=one_line(warning),
            has_audio=audio is not None,
            live=live is not None,
            served=chunks is not None,
            mend=[_finding(finding) for finding in others if finding.level == "must"],
            findings=[_finding(finding) for finding in others if finding.level != "must"],
            assumptions=_assumptions(setlist, timetable),
            cautions=[one_line(caution) for caution in (*cautions, *map(_caution, warnings))],
            advised=any(finding.code == "caution-general" for finding in warnings),
            data=_data(setlist, timetable, audio, start_s, live, chunks),
        )
    )


# ---- the sheet ---------------------------------------------------------------------------------------------------


def _summary(setlist: SetList, start_s: float | None, day: datetime.date | None) -> list[tuple[str, str]]:
    facts = [("Day", f"{day:%A} {day.day} {day:%B %Y}")] if day else []
    facts.append(("Class", length(setlist.class_s)))
    if start_s is not None:
        facts.append(("Hours", f"{_wall(start_s)} to {_wall(start_s + setlist.class_s)}"))
    if setlist.slot_s:
        facts.append(("Slot", length(setlist.slot_s)))
    if setlist.rest:
        rest = f"{clock(setlist.rest.start_s)} to {clock(setlist.rest.end_s)}"
        silent = length(setlist.rest.silence_s).removeprefix("1 ")
        facts.append(("Rest", f"{rest}, the last {silent} silent" if setlist.rest.silence_s else rest))
        if setlist.rest.bells_s:
            facts.append(("Bell", ", ".join(clock(at) for at in setlist.rest.bells_s)))
    facts.append(("Music", counted(len(setlist.picks), "track", "tracks")))
    return facts


def _facts(plan: Plan | None) -> list[tuple[str, str]]:
    """What the teacher noted at the top of the plan; remarks of a starting plan are no such notes."""
    return [(one_line(key), one_line(value)) for key, value in (plan.facts if plan else ()) if not is_remark(value)]


def _a_wave(scene: Scene, width: float) -> str:
    """What a wave of a strip stands for, in words."""
    count = breaths_of(scene, width)
    return "a breath" if count == 1 else counted(count, "breath", "breaths")


def _bare(finding: Finding, setlist: SetList) -> Told:
    """A finding without command, file and line: nobody types on a mat."""
    where = replace(finding.where, file="", line=0, column=0)
    return told(replace(finding, where=where, deeds=()), titles={pick.n: title_of(pick) for pick in setlist.picks})


def _assumptions(setlist: SetList, timetable: Timetable) -> list[str]:
    """How the plan's times were counted, with their range as long as the set has the plan's length."""
    said = cues.assumed(timetable)
    least, most = timetable.shortest_s, timetable.longest_s
    if said and most - least >= 1 and least <= setlist.class_s <= most:
        said.insert(0, f"it may take from {clock(least)} to {clock(most)}, as options and breath go")
    return said


def _rows(
    setlist: SetList,
    timetable: Timetable,
    tracks: Mapping[int, Track],
    start_s: float | None,
    heard: Mapping[int, str],
) -> list[_SheetRow]:
    found = cues.drops(timetable)

    titles = {pick.n: title_of(pick) for pick in setlist.picks}

    def music_of(picks: Sequence[Pick]) -> tuple[_Music, ...]:
        return tuple(
            _music(pick, timetable, found, tracks.get(pick.track_id), first=pick is picks[0]) for pick in picks
        )

    def row(index: int, section: SectionTime) -> _SheetRow:
        picks = _picks_of(setlist, timetable, index)
        return _SheetRow(
            name=one_line(section.name),
            kind=f"{section.kind.value}, {length(section.end_s - section.start_s)}",
            at=clock(section.start_s),
            wall=_wall(start_s + section.start_s) if start_s is not None else "",
            left=f"{round((setlist.class_s - section.start_s) / 60)}",
            rest=section.kind == Kind.REST,
            laps=_laps(cues.laps_of(section)),
            lines=cues.lines_of(timetable, index),
            music=music_of(picks),
            heard=heard.get(index, ""),
            going_on=titles.get(_going_on(setlist, section, picks), ""),
        )

    def around(name: str, picks: Sequence[Pick]) -> list[_SheetRow]:
        if not picks:
            return []
        at_s = picks[0].class_start_s
        wall = _wall(start_s + at_s) if start_s is not None else ""
        return [_SheetRow(name, "", clock(at_s), wall, "", False, (), (), music_of(picks))]

    before = [pick for pick in setlist.picks if pick.class_start_s < -cues.NEAR_S]
    after = [pick for pick in setlist.picks if pick.class_start_s >= timetable.duration_s > 0]
    sections = [row(index, section) for index, section in enumerate(timetable.sections)]
    return [*around("Before the class", before), *sections, *around("After the class", after)]


def _picks_of(setlist: SetList, timetable: Timetable, index: int) -> list[Pick]:
    """The tracks that come in during a section; a little before its beginning counts as there."""
    start_s = timetable.sections[index].start_s
    following = timetable.sections[index + 1 :]
    end_s = following[0].start_s if following else timetable.duration_s + cues.NEAR_S
    return [pick for pick in setlist.picks if start_s <= pick.class_start_s + cues.NEAR_S < end_s]


def _going_on(setlist: SetList, section: SectionTime, picks: Sequence[Pick]) -> int:
    """The number of the track that plays on from the section before; 0 where none does."""
    if picks and picks[0].class_start_s <= section.start_s + cues.NEAR_S:
        return 0
    before = [pick.n for pick in setlist.picks if pick.class_start_s < section.start_s < pick.class_end_s]
    return before[-1] if before else 0


def _laps(laps: Sequence[cues.Lap]) -> tuple[str, ...]:
    """When each round begins; one that is alone has no number."""
    return tuple(_lap(lap) if len(laps) == 1 else f"{lap.round}: {_lap(lap)}" for lap in laps)


def _lap(lap: cues.Lap) -> str:
    sided = any(side for side, _ in lap.sides)
    moments = [f"{side or 'then'} {clock(at)}" if sided else clock(at) for side, at in lap.sides]
    return ", ".join(moments)


def _music(pick: Pick, timetable: Timetable, found: Sequence[cues.Drop], track: Track | None, *, first: bool) -> _Music:
    check = cues.check_words(timetable, found, pick.class_start_s, first=first) if pick.class_start_s > 1 else ""
    return _Music(
        n=pick.n,
        title=title_of(pick),
        artist=one_line(pick.artist),
        at=clock(0.0 if -cues.NEAR_S < pick.class_start_s < 0 else pick.class_start_s),
        facts=", ".join(_heard_of(pick, timetable, track)),
        check=check,
    )


def _heard_of(pick: Pick, timetable: Timetable, track: Track | None) -> Iterator[str]:
    """What a teacher hears of a track, and how long it plays."""
    if track:
        known = track.analysis
        heard = known.curves.energy[int(pick.track_start_s) : math.ceil(pick.track_end_s)]
        yield temper(float(heard.mean()) if heard.size else known.curves.mean_energy)
        yield voice(known.curves.voice_share, known.voice_kind)
        at_s = pick.class_start_s + cues.NEAR_S
        tempo = cues.fitting(marks.tempos_bpm(track), timetable, at_s)
        yield cues.beats_a_breath(tempo, timetable, at_s) or ("a beat" if tempo else "no clear beat")
    if pick.track_start_s >= TRIMMED_S:
        yield f"starts {clock(pick.track_start_s)} in"
    yield f"plays {clock(pick.class_end_s - pick.class_start_s)}"


def _homeless(finding: Told, setlist: SetList, plan: Plan | None) -> Told:
    """A finding without the folders of the teacher's machine: the page goes to others."""
    names = (setlist.plan.path, plan.file if plan else "", *(pick.path for pick in setlist.picks))
    folders = {name[: -len(PurePath(name).name)] for name in names if _is_absolute(name)}

    def cut(text: str) -> str:
        for folder in sorted(folders, key=len, reverse=True):
            text = text.replace(folder, "")
        return text

    return replace(finding, where=cut(finding.where), message=cut(finding.message), remedy=cut(finding.remedy))


def _is_absolute(path: str) -> bool:
    return PurePath(path).is_absolute() or PureWindowsPath(path).is_absolute()


def _finding(finding: Told) -> dict[str, str]:
    return {
        "level": finding.level,
        "where": one_line(finding.where),
        "message": one_line(finding.message),
        "remedy": one_line(finding.remedy),
    }


def _caution(finding: Told) -> str:
    words = f"{finding.message} {finding.remedy}" if finding.remedy else finding.message
    return words.replace(" (common practice, no source)", "")  # the page says so once, for all


# ---- the clock ---------------------------------------------------------------------------------------------------


def _data(
    setlist: SetList,
    timetable: Timetable,
    audio: str | None,
    start_s: float | None,
    live: Mapping[str, object] | None,
    chunks: str | None,
) -> str:
    """What the clock runs on, as JSON that can stand inside a script element."""
    rest = setlist.rest
    value = {
        "id": _identity(setlist),
        "title": one_line(setlist.title),
        "class_s": round(setlist.class_s, 3),
        "from_s": round(origin_s(setlist), 3),  # where the mix begins, even if its first seconds are silent
        "to_s": round(max([setlist.class_s, *(p.class_end_s for p in setlist.picks)]), 3),
        "start": start_s,
        "rest": [round(rest.start_s, 3), round(rest.end_s, 3)] if rest else _rest_of(timetable),
        "fade_s": REST_FADE_S,
        "audio": _beside(audio) if audio else None,
        "sections": [
            [one_line(s.name), s.kind.value, round(s.start_s, 2), round(s.end_s, 2)] for s in timetable.sections
        ],
        "passes": [
            [p.round, p.side, round(p.start_s, 2), round(p.end_s, 2), cues.rounds_at(s, p.start_s)]
            for s in timetable.sections
            for p in s.passes
            if len(s.passes) > 1
        ],
        "steps": [_step(step) for step in timetable.steps if step.what != "between"],
        "tracks": [
            [p.n, title_of(p, CLOCK_TITLE), round(p.class_start_s, 2), round(p.class_end_s, 2)] for p in setlist.picks
        ],
        "drops": [asdict(drop) for drop in cues.drops(timetable)],
    } | (
        {}
        if live is None
        else {
            "live": live,
            "chunks": chunks,
            "plan_sha256": setlist.plan.sha256,
            "betweens": [[round(s.start_s, 2), round(s.end_s, 2)] for s in timetable.steps if s.what == "between"],
        }
    )
    # "<" would end the script element, U+2028 and U+2029 are no JSON in older browsers
    text = json.dumps(value, ensure_ascii=True, separators=(",", ":"), allow_nan=False)
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _step(step: Step) -> list[object]:
    name = " or ".join(one_line(word) for word in (step.name, *step.alternatives)) or step.what
    return [
        round(step.start_s, 2),
        round(step.end_s, 2),
        name,
        one_line(step.note),
        step.side,
        round(step.breaths, 2) if step.breaths and step.what == "pose" else None,
        cues.amount_of(step) if step.times > 1 else "",
        step.line,
        step.pose_id,
        step.round,
    ]


def _rest_of(timetable: Timetable) -> list[float] | None:
    rest = next((section for section in timetable.sections if section.kind == Kind.REST), None)
    return [round(rest.start_s, 3), round(rest.end_s, 3)] if rest else None


def _identity(setlist: SetList) -> str:
    """A short name under which the browser keeps where this class is."""
    parts = [setlist.plan.sha256, f"{setlist.class_s:.3f}", *(p.fingerprint for p in setlist.picks)]
    return hashlib.sha256("\n".join(parts).encode("utf-8", "surrogatepass")).hexdigest()[:16]


def _beside(audio: str) -> str:
    """The address of a file beside the page or below its folder; of any other path only the name is kept."""
    away = _is_absolute(audio) or ".." in PurePath(audio).parts
    parts = PureWindowsPath(audio).parts if PureWindowsPath(audio).is_absolute() else PurePath(audio).parts
    inside = "/".join(parts[-1:] if away else parts)
    return "./" + quote(inside.encode("utf-8", "surrogateescape"))


# ---- page --------------------------------------------------------------------------------------------------------


def _wall_start_s(plan: Plan | None) -> float | None:
    """Seconds since midnight at which the class begins; None where the plan names no hour."""
    if plan is None or not plan.start:
        return None
    hours, _, minutes = plan.start.partition(":")
    return int(hours) * 3600.0 + int(minutes or 0) * 60.0


def _wall(seconds: float) -> str:
    minutes = int(seconds / 60 + 0.5) % (24 * 60)
    return f"{minutes // 60}:{minutes % 60:02d}"


def _policy(style: str, script: str) -> str:
    allowed = {
        "default-src": "'none'",
        "script-src": _hash(script),
        "style-src": _hash(style),
        "media-src": "'self' file: blob:",
        "img-src": "data:",
        "font-src": "data:",
        "base-uri": "'none'",
        "form-action": "'none'",
    }
    return "; ".join(f"{name} {value}" for name, value in allowed.items())


def _hash(content: str) -> str:
    digest = base64.b64encode(hashlib.sha256(content.encode()).digest()).decode()
    return f"'sha256-{digest}'"


def live_files() -> dict[str, str]:
    """Style and script of a live page that a server gives, by name: its policy runs nothing that stands in a page."""
    return {"live.css": "\n".join([*_fonts(lambda name: name), *map(_part, _STYLES)]), "live.js": _script(_LIVE)}


@cache
def _style() -> str:
    return "\n".join([*_fonts(_inside), *map(_part, _STYLES)])


def _inside(font: str) -> str:
    data = (files("pairing.show") / "fonts" / font).read_bytes()
    return f"data:font/woff2;base64,{base64.b64encode(data).decode()}"


def _fonts(address: Callable[[str], str]) -> Iterator[str]:
    """The package's letters with the page, so that it reads from two metres the same everywhere."""
    for weight, name in ((400, "Regular"), (700, "Bold")):
        for part, letters in _LETTERS.items():
            yield (
                f'@font-face{{font-family:"Atkinson Hyperlegible";font-weight:{weight};unicode-range:{letters};'
                f"src:url({address(f'AtkinsonHyperlegible-{name}-{part}.woff2')})}}"
            )


@cache
def _script(parts: tuple[str, ...]) -> str:
    return "\n".join(map(_part, parts))


def _part(name: str) -> str:
    return (files("pairing.show") / "templates" / name).read_text(encoding="utf-8").replace("\r\n", "\n")


@cache
def _environment() -> "Environment":
    from jinja2 import Environment, PackageLoader, StrictUndefined

    return Environment(
        loader=PackageLoader("pairing.show"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
