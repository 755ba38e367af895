"""A set into what the mixer plays: spans, levels, chapters, bells.

Second 0 of the mix is the first second of the set, which lies before the class where music for arrivals is asked for.
"""

from collections.abc import Sequence
from pathlib import Path

from audio.files.tags import Chapter
from audio.render.span import Level, Span
from audio.track import Track
from pairing.errors import SetError
from pairing.model import Finding, Kind, Pick, Rest, SetList
from pairing.sets.options import Levels

NEAR_ENDS_S = 30.0  # beats so near to the ends of a span are handed to the mixer
SINK_S = 60.0  # the music sinks to the bed of the rest in that time, or in a quarter of the pick; editorial
MOST_SINK_LU = 6.0  # it begins at most so far above the bed; editorial
UNDER_VOICE_LU = -6.0  # editorial; how far is right in a room only the room can tell
DUCK_S = 1.5  # time to go down and to come back
BELL_OVER_BED_LU = 0.0  # a bell is never louder than the bed asks for


def origin_s(setlist: SetList) -> float:
    """The class second of the mix's second 0: below 0 where music begins before the class."""
    return -_frame_number(setlist, "before_s")


def duration_s(setlist: SetList) -> float:
    """Length of the mix: the class, and the music before and after it."""
    return setlist.class_s + _frame_number(setlist, "before_s") + _frame_number(setlist, "after_s")


def spans(setlist: SetList, base: Path, tracks: Sequence[Track], *, under_voice: bool = False) -> tuple[Span, ...]:
    """What sounds when, from which file, how loud.

    Args:
        setlist: the set.
        base: folder of the set file, for relative paths.
        tracks: the library; gives beats, and the new place of files that were moved.
        under_voice: lower the bed in the opening and where the teacher speaks.
    Raises:
        SetError: a recording is nowhere to be found; names it.
    """
    found = [locate(pick, base, tracks) for pick in setlist.picks]
    known = {track.fingerprint: track for track in tracks}
    return tuple(
        _span(setlist, pick, path, known.get(pick.fingerprint), under_voice)
        for pick, path in zip(setlist.picks, found, strict=True)
    )


def locate(pick: Pick, base: Path, tracks: Sequence[Track]) -> Path:
    """The file of a pick: where the set says, else where the library knows the same recording.

    A file that the library knows as another recording isn't taken, whatever its name.

    Raises:
        SetError: neither is there.
    """
    named = base / pick.path
    other = any(track.path == named and track.fingerprint != pick.fingerprint for track in tracks)
    if named.is_file() and not other:
        return named
    for track in tracks:
        if track.fingerprint == pick.fingerprint and track.path.is_file():
            return track.path
    raise SetError(
        f'the recording of pick {pick.n}, "{pick.title}", is gone: {named}',
        remedy="Put it back, or scan the folder it lies in now, or swap the pick.",
    )


def outside_library(setlist: SetList, base: Path, tracks: Sequence[Track]) -> tuple[Finding, ...]:
    """Picks whose files the library doesn't know: a set by someone else, or music that was never scanned."""
    known = {track.fingerprint for track in tracks}
    places = {track.path for track in tracks}
    return tuple(
        Finding(
            "should",
            "outside-the-library",
            f"track {pick.n}",
            f'"{pick.title}" is not in your library; the set names the file {base / pick.path}.',
            "Scan the folder it lies in, or swap the pick, if you don't know this file.",
        )
        for pick in setlist.picks
        if pick.fingerprint not in known and base / pick.path not in places
    )


def chapters(setlist: SetList) -> tuple[Chapter, ...]:
    """A chapter a pick, named after section and track; no path of this machine in it."""
    start_s = origin_s(setlist)
    starts = [pick.class_start_s - start_s for pick in setlist.picks]
    ends = [*starts[1:], duration_s(setlist)]
    return tuple(
        Chapter(start, end, f"{pick.section}: {pick.title}" if pick.section else pick.title)
        for start, end, pick in zip(starts, ends, setlist.picks, strict=True)
    )


def bells(setlist: SetList) -> tuple[tuple[float, float], ...]:
    """(second of the mix, loudness in LUFS) of every bell stroke."""
    if setlist.rest is None:
        return ()
    level = setlist.rest.bed_lufs + BELL_OVER_BED_LU
    return tuple((at - origin_s(setlist), level) for at in setlist.rest.bells_s)


def _span(setlist: SetList, pick: Pick, path: Path, track: Track | None, under_voice: bool) -> Span:
    analysis = track.analysis if track else None
    ends = (pick.track_start_s, pick.track_end_s)
    beats = () if analysis is None else tuple(float(beat) for beat in analysis.beats_s if _is_near(beat, ends))
    shift = origin_s(setlist)
    return Span(
        path=path,
        mix_start_s=pick.class_start_s - shift,
        mix_end_s=pick.class_end_s - shift,
        track_start_s=pick.track_start_s,
        fade_in_s=pick.fade_in_s,
        fade_out_s=pick.fade_out_s,
        levels=_levels(setlist, pick, under_voice),
        beats_s=beats,
        tempo_bpm=analysis.tempo_bpm if analysis else None,
    )


def _is_near(beat: float, ends: tuple[float, float]) -> bool:
    start, end = ends
    return start - 1 <= beat <= start + NEAR_ENDS_S or end - NEAR_ENDS_S <= beat <= end + 1


def _levels(setlist: SetList, pick: Pick, under_voice: bool) -> tuple[Level, ...]:
    shift = origin_s(setlist)
    steps = [(pick.class_start_s, 0.0)]
    if setlist.rest is not None and _opens_rest(pick, setlist.rest):
        above = min(max(_bed_before(setlist) - setlist.rest.bed_lufs, 0.0), MOST_SINK_LU)
        sink = min(SINK_S, (pick.class_end_s - pick.class_start_s) / 4)
        steps = [(pick.class_start_s, above), (pick.class_start_s + sink, 0.0)]
    if under_voice:
        steps = _ducked(steps, _talk(setlist), pick)
    return tuple(Level(at - shift, pick.gain_db + change) for at, change in steps)


def _opens_rest(pick: Pick, rest: Rest) -> bool:
    return abs(pick.class_start_s - rest.start_s) < 0.01


def _bed_before(setlist: SetList) -> float:
    levels = setlist.options["levels"]
    assert isinstance(levels, dict)
    assert setlist.rest is not None
    before = [section.kind for section in setlist.sections if section.end_s <= setlist.rest.start_s + 0.01]
    return Levels(**levels).bed(before[-1]) if before else setlist.rest.bed_lufs


def _ducked(
    steps: list[tuple[float, float]], talk: Sequence[tuple[float, float]], pick: Pick
) -> list[tuple[float, float]]:
    """Lower the level in every stretch of talk, on straight lines of DUCK_S."""
    corners = {at for at, _ in steps}
    for start, end in talk:
        corners |= {start - DUCK_S, start, end, end + DUCK_S}
    inside = sorted(at for at in corners | {pick.class_start_s} if pick.class_start_s <= at <= pick.class_end_s)
    return [(at, _at(steps, at) + UNDER_VOICE_LU * _depth(talk, at)) for at in inside]


def _at(steps: Sequence[tuple[float, float]], at_s: float) -> float:
    (start, first), (end, last) = steps[0], steps[-1]
    if end <= start:
        return last
    return first + (last - first) * min(max((at_s - start) / (end - start), 0.0), 1.0)


def _depth(talk: Sequence[tuple[float, float]], at_s: float) -> float:
    """1 inside talk, 0 away from it."""
    return max((1 - _away(start, end, at_s) / DUCK_S for start, end in talk), default=0.0) if talk else 0.0


def _away(start: float, end: float, at_s: float) -> float:
    return min(max(start - at_s, at_s - end, 0.0), DUCK_S)


def _talk(setlist: SetList) -> list[tuple[float, float]]:
    frame = setlist.options["frame"]
    assert isinstance(frame, dict)
    spoken = [(start, end) for start, end in frame["talk_s"]]
    return spoken + [(each.start_s, each.end_s) for each in setlist.sections if each.kind is Kind.OPENING]


def _frame_number(setlist: SetList, name: str) -> float:
    frame = setlist.options["frame"]
    assert isinstance(frame, dict)
    return float(frame[name])
