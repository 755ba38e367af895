"""What only a hand on the page asks for: a wish for energy, who serves a section, what to hear, a folder to scan."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from audio.errors import ArcbedError, AudioError
from audio.files.folders import SONG_ENDINGS
from audio.render.bell import bell_at
from audio.render.master import Mix
from audio.render.mixer import MIX_RATE, Sound
from audio.render.span import Level, Span
from audio.text import clock, shown
from audio.track import Track
from pairing.alignment import frame
from pairing.effort.planned import Planned, planned
from pairing.errors import PlanError, SetError
from pairing.model import Edit, Element, Kind, Plan, Section, Timetable
from pairing.plan.edit import apply_edits
from pairing.plan.lines import split_lines
from pairing.plan.read import load_plan, read_plan
from pairing.sets import mixdown, serving, shaping
from pairing.sets.serving import Service
from pairing.workflow.music import opened
from pairing.workflow.pace import paced
from pairing.workflow.plans import Changed, edit_plan, poses_beside
from pairing.workflow.sets import SetFile

MOST_FOLDERS = 500
AROUND_S = 5.0  # heard before and after a change
SETTLING_S = 1.0  # a span that ended so shortly before may still matter to the mixer
_LEFT = re.compile(r"\bwhat is left\b(?:\s*,?\s*at least [\w.: ]*\w['’]?)?", re.IGNORECASE)
_SILENT = re.compile(r",?\s*\bsilent last\b[^,\n]*", re.IGNORECASE)
_MINUTES = re.compile(
    r"(?:\d+\s*[-–]\s*)?\d+(?:[.,:]\d+)?\s*(?:minutes?|mins?\b|m\b|seconds?|secs?\b|['’′])|\b\d+:\d\d\b", re.IGNORECASE
)
SAME_S = 0.6  # a rest so near in length is as long as asked
_LEVEL = re.compile(r"\benergy\s*:?\s*\d+\s*%|\b(?:quiet|steady|driving)(?:\s+music)?\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Shelf:
    """A folder as somebody sees it who looks for music: what is above, what is inside, and songs right in it."""

    path: Path
    above: Path | None
    folders: tuple[Path, ...]
    songs: int


@dataclass(frozen=True, slots=True)
class Joined:
    """A change from one track to the next: the mix, as far as it is needed, and the seconds of it that are heard."""

    mix: Mix
    first_s: float
    end_s: float


def ask_energy(path: Path, section: int, percent: int) -> Changed:
    """Write into the plan how lively the music of a section shall be; nothing else of the note changes.

    Args:
        section: index into the plan's sections. percent: 0 to 100.
    Raises:
        PlanError: the plan can't be read, or its heading takes no such wish.
    """
    plan = load_plan(path)
    if section >= len(plan.sections):  # the note was changed since the music was chosen
        raise PlanError("the plan no longer has this part; choose the music again.", (), where=path.name)
    edit = next(_with_energy(plan, poses_beside(path), section, percent), None)
    if edit is None:
        raise PlanError(
            f'"{plan.sections[section].name}" can\'t be made livelier or calmer from here; write it into the plan.',
            (),
            where=path.name,
        )
    edit_plan(path, (edit,))
    return Changed(path, (edit,), f"energy {percent}% in {plan.sections[section].name}")


def with_rest(text: str, name: str, poses: str, minutes: float, silence: float) -> str | None:
    """A plan's note in which the closing rest lasts so long and is silent for so long at its end; None where no change
    of its heading or of one of its lines says just that and nothing else. A note without headings names no silence.

    Args:
        text: the note. name: its file, for messages. poses: the folder's own poses, as text.
        minutes: of the rest. silence: minutes of it without music, at its end.
    """
    plan = read_plan(text, file=name, folder_poses=poses)
    index = next((at for at, each in enumerate(plan.sections) if each.kind is Kind.REST), None)
    if index is None:
        return None
    before = planned(paced(plan)).timetable
    rest = before.sections[index]
    edits = _with_rest(plan, index, rest.end_s - rest.start_s, minutes, silence)
    without_silence = None
    for after in dict.fromkeys(apply_edits(text, each) for each in edits):
        now = _timed(after, plan, poses)
        if now is not None and _rests_so(now, before, index, 60 * minutes):
            if abs((now.sections[index].wishes.silent_last_s or 0.0) - 60 * silence) < SAME_S:
                return after
            without_silence = without_silence or after
    return without_silence


def sound_of_join(found: SetFile, n: int) -> Joined:
    """The change into pick n, as it sounds in the mix.

    Where a recording is gone that doesn't sound in it, its level may differ a little from the mix's: what is held down
    in a class is judged by all of it.

    Raises:
        SetError: there is no such pick, or one of the recordings of the change is nowhere to be found.
        AudioError: a recording can't be read.
    """
    setlist = found.setlist
    if not 1 <= n <= len(setlist.picks):
        raise SetError("there is no such track in the class.")
    comes_s, before = setlist.picks[n - 1].class_start_s, setlist.picks[max(n - 2, 0)]
    first_s = comes_s - AROUND_S
    end_s = (max(before.class_end_s, comes_s) if n > 1 else comes_s) + AROUND_S
    origin_s = mixdown.origin_s(setlist)
    mix = _sound_between(found, first_s - SETTLING_S, end_s)
    return Joined(mix, max(first_s - origin_s, 0.0), min(end_s - origin_s, mix.duration_s))


def _sound_between(found: SetFile, first_s: float, end_s: float) -> Mix:
    """The mix, of which only what sounds between two class seconds is needed."""
    setlist, origin_s = found.setlist, mixdown.origin_s(found.setlist)
    try:
        whole = sound_of(found)
    except (SetError, AudioError):
        heard = [each for each in setlist.picks if each.class_end_s > first_s and each.class_start_s < end_s]
        return sound_of(replace(found, setlist=replace(setlist, picks=tuple(heard))))
    spans = (
        span for span in whole.spans if span.mix_end_s > first_s - origin_s and span.mix_start_s < end_s - origin_s
    )
    return replace(whole, spans=tuple(spans))


def sound_of(found: SetFile) -> Mix:
    """The mix of a set, to be heard in parts.

    Raises:
        SetError: a recording is nowhere to be found; names it. AudioError: one in the rest can't be read.
    """
    setlist, base = found.setlist, found.path.absolute().parent
    return Mix(
        spans=shaping.shaped(setlist, mixdown.spans(setlist, base, found.tracks)),
        duration_s=mixdown.duration_s(setlist),
        sounds=tuple(Sound(at_s, bell_at(level, MIX_RATE)) for at_s, level in mixdown.bells(setlist)),
    )


def sound_alone(track: Track) -> Mix:
    """One track from its first second to its last, as it was recorded."""
    length_s = track.analysis.duration_s
    span = Span(track.path, 0.0, length_s, 0.0, 0.0, 0.0, (Level(0.0, 0.0),))
    return Mix((span,), length_s)


def shelf(path: Path) -> Shelf:
    """Look into a folder, to choose one that shall be scanned.

    Raises:
        ArcbedError: it is none, or may not be read.
    """
    path = path.expanduser().absolute()
    try:
        inside = sorted(path.iterdir(), key=lambda each: each.name.casefold())
        folders = tuple(
            each for each in inside if not each.name.startswith(".") and _is_folder(each) and shown(each) == str(each)
        )
    except (OSError, ValueError) as error:  # ValueError: no path at all
        why = error.strerror if isinstance(error, OSError) else None
        raise ArcbedError(f"can't be opened ({why or error}).", where=shown(path)) from error
    songs = sum(1 for each in inside if each.suffix.lower() in SONG_ENDINGS and each not in folders)
    return Shelf(path, path.parent if path.parent != path else None, folders[:MOST_FOLDERS], songs)


def likely_music(folder: Path) -> Path:
    """Where a person's music lies, most likely: here or right below, else the system's music folder, else at home.

    Args:
        folder: of the class; for a first class it isn't there yet.
    Raises:
        ArcbedError: the folder may not be read.
    """
    from platformdirs import user_music_path

    if folder.is_dir():
        here = shelf(folder)
        if here.songs or any(_holds_songs(each) for each in here.folders):
            return here.path
    usual = user_music_path()
    return usual if usual.is_dir() else Path.home()


def serving_tracks(found: SetFile, section: int) -> tuple[Service, ...]:
    """The library in the order in which its tracks serve a section of a set."""
    setlist = found.setlist
    rules = [rule for rule in frame.of_set(setlist).rules if rule.section == section]
    place = serving.place_of(setlist.sections[section], setlist.target_energy, rules)
    return serving.ranked(found.tracks, place)


def serving_plan(known: Planned, tracks: Sequence[Track], section: int) -> tuple[Service, ...]:
    """The same for a plan that has no set yet."""
    place = serving.place_of(known.timetable.sections[section], known.arc.target_energy)
    return serving.ranked(tracks, place)


def last_uses(library: Path | None) -> dict[str, str]:
    """When each recording was last played in a class (ISO 8601), by fingerprint."""
    with opened(library) as known:
        return {fingerprint: when for when, _, played in known.uses() for fingerprint in played}


def _holds_songs(folder: Path) -> bool:
    try:
        return any(each.suffix.lower() in SONG_ENDINGS for each in folder.iterdir())
    except OSError:
        return False


def _is_folder(path: Path) -> bool:
    try:
        return path.is_dir()
    except OSError:
        return False


def _with_energy(plan: Plan, poses: str, section: int, percent: int) -> Iterator[Edit]:
    """Changes of the section's heading after which the plan says just this energy there."""
    number = plan.sections[section].place.line
    raw = split_lines(plan.text)[number - 1].rstrip("\r\n")
    wish = f"energy {percent}%"
    tried = [_LEVEL.sub(wish, raw, count=1)] if _LEVEL.search(raw) else []
    for new in (*tried, f"{raw.rstrip()}, {wish}", f"{raw.rstrip()}: {wish}"):
        edit = Edit(number, new)
        try:
            after = read_plan(apply_edits(plan.text, [edit]), file=plan.file, folder_poses=poses)
        except PlanError:
            continue
        same = [each.name for each in after.sections] == [each.name for each in plan.sections]
        if same and after.sections[section].wishes.energy == percent / 100:
            yield edit


def _with_rest(plan: Plan, index: int, lasts_s: float, minutes: float, silence: float) -> Iterator[tuple[Edit, ...]]:
    """Changes of the rest's heading, and of one of its lines with it, that may say how long it lasts."""
    section, raw = plan.sections[index], [line.rstrip("\r\n") for line in split_lines(plan.text)]
    number, lasting = section.place.line, _spoken(minutes)
    quiet = f", silent last {_spoken(silence)}" if silence else ""
    heading = _SILENT.sub("", raw[number - 1]).rstrip()
    headings = [heading]
    for pattern in (_LEFT, _MINUTES):
        if pattern.search(heading):
            headings.insert(0, pattern.sub(lasting, heading, count=1))
    headings += [f"{heading}, {lasting}", f"{heading}: {lasting}"]
    for each in headings:
        yield (Edit(number, each + quiet),)
    for line, length_s in _lengths(section):
        if _MINUTES.search(raw[line - 1]):
            itself = 60 * minutes - (lasts_s - length_s)  # getting there takes its time too
            for spoken in (lasting, _spoken(max(itself, 0.0) / 60)):
                changed = Edit(line, _MINUTES.sub(spoken, raw[line - 1], count=1))
                yield (changed,)
                if line != number:
                    yield Edit(number, heading + quiet), changed


def _lengths(section: Section) -> Iterator[tuple[int, float]]:
    """The lines of a section that have a length in seconds, and that length."""
    for part in section.parts:
        if isinstance(part, Element) and part.length and part.length.unit == "seconds":
            yield part.place.line, part.length.likely


def _timed(after: str, plan: Plan, poses: str) -> Timetable | None:
    """A plan's note after a change, timed; None where it can't be read, or leaves more in doubt."""
    try:
        read = read_plan(after, file=plan.file, folder_poses=poses)
        return planned(paced(read)).timetable if len(read.questions) <= len(plan.questions) else None
    except PlanError:
        return None


def _rests_so(now: Timetable, before: Timetable, index: int, rest_s: float) -> bool:
    """Whether the rest lasts so long now, and each other section as long as before."""
    wanted = [each.end_s - each.start_s for each in before.sections]
    wanted[index] = rest_s
    lasts = [each.end_s - each.start_s for each in now.sections]
    return len(lasts) == len(wanted) and all(abs(a - b) < SAME_S for a, b in zip(lasts, wanted, strict=True))


def _spoken(minutes: float) -> str:
    """Minutes as a note says them.

    >>> _spoken(6), _spoken(5.5)
    ('6 minutes', '5:30')
    """
    whole = round(minutes)
    if abs(minutes - whole) > 1e-6:
        return clock(60 * minutes)
    return "1 minute" if whole == 1 else f"{whole} minutes"
