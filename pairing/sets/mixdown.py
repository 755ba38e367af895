"""A set into what the mixer plays: spans, levels, chapters, bells.

Second 0 of the mix is the first second of the set, which lies before the class where music for arrivals is asked for.
"""

from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

import numpy as np

from audio.files.tags import Chapter
from audio.render.bell import LENGTH_S as BELL_S
from audio.render.gain_ride import evened
from audio.render.span import Level, Span
from audio.track import Track
from pairing.alignment.sedative import CLEAR_BEAT
from pairing.errors import SetError
from pairing.model import Finding, Kind, Pick, Scan, SectionTime, SetList, Swap, Where

NEAR_ENDS_S = 30.0  # beats so near to the ends of a span are handed to the mixer
SINK_S = 60.0  # the music sinks to the bed of the rest in that time, or in a quarter of the pick; editorial
MOST_SINK_LU = 6.0  # it begins at most so far above the bed; editorial
# Listeners want commentary at least 10 LU above the music (Torcoli et al., AES 146th Convention 2019, paper 10175; the
# value from memory); counted from the bed, since a voice heard over it is at least as loud. Only the room can tell.
UNDER_VOICE_LU = -10.0
DUCK_S = 1.5  # time to go down and to come back
HELD_DOWN = (Kind.OPENING, Kind.COOL_DOWN, Kind.REST)  # nothing rises suddenly there
BELL_OVER_BED_LU = 0.0  # a bell is never louder than the bed asks for

Knots = list[tuple[float, float]]


def origin_s(setlist: SetList) -> float:
    """The class second of the mix's second 0: below 0 where music begins before the class."""
    return 0.0 - setlist.frame.before_s


def duration_s(setlist: SetList) -> float:
    """Length of the mix: the class, and the music before and after it."""
    return setlist.class_s + setlist.frame.before_s + setlist.frame.after_s


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


def with_even_picks(setlist: SetList, spans: Sequence[Span]) -> tuple[Span, ...]:
    """The spans of a set, the sudden rises within each of those taken out to which people lie or sit still: of the
    opening, the cool-down and the rest. Reads their music.

    Raises:
        AudioError: a file can't be read.
    """
    return tuple(
        evened(span, settled_s=_sinking_s(setlist, pick)) if _is_held_down(setlist, pick) else span
        for span, pick in zip(spans, setlist.picks, strict=True)
    )


def locate(pick: Pick, base: Path, tracks: Sequence[Track]) -> Path:
    """The file of a pick: where the library knows the recording, wherever it was moved, else where the set says.

    A file that the library knows as another recording isn't taken, whatever its name; so a set by someone else can
    have only such files opened as `outside_library` tells of.

    Raises:
        SetError: neither is there.
    """
    for track in tracks:
        if track.fingerprint == pick.fingerprint and track.path.is_file():
            return track.path
    named = base / pick.path
    if named.is_file() and not any(track.path == named for track in tracks):
        return named
    raise SetError(
        f'the file of track {pick.n}, "{pick.title}", is gone: {named}',
        remedy="Put it back, scan the folder it is in now, or choose another track.",
    )


def outside_library(setlist: SetList, base: Path, tracks: Sequence[Track]) -> tuple[Finding, ...]:
    """Picks that play files which the library doesn't know: a set by someone else, or music that was never scanned."""
    known = {track.fingerprint for track in tracks if track.path.is_file()}
    return tuple(
        Finding(
            "should",
            "outside-the-library",
            Where(tracks=(pick.n,)),
            f'"{pick.title}" isn\'t among your tracks; the file named is {base / pick.path}.',
            "If you know this file, scan its folder; if not, choose another track.",
            deeds=(Scan(), Swap(pick.n)),
        )
        for pick in setlist.picks
        if pick.fingerprint not in known and (base / pick.path).is_file()
    )


def chapters(setlist: SetList) -> tuple[Chapter, ...]:
    """A chapter a pick, named after section and track; no path of this machine in it."""
    start_s = origin_s(setlist)
    edges = [*(pick.class_start_s - start_s for pick in setlist.picks), duration_s(setlist)]
    return tuple(
        Chapter(start, end, f"{pick.section}: {pick.title}" if pick.section else pick.title)
        for (start, end), pick in zip(pairwise(edges), setlist.picks, strict=True)
    )


def bells(setlist: SetList) -> tuple[tuple[float, float], ...]:
    """(second of the mix, loudness in LUFS) of every bell stroke.

    A stroke at the end of the music begins earlier, so that it has died away when the music ends.
    """
    if setlist.rest is None:
        return ()
    level = setlist.rest.bed_lufs + BELL_OVER_BED_LU
    latest = max(duration_s(setlist) - BELL_S, 0.0)
    return tuple((min(at - origin_s(setlist), latest), level) for at in setlist.rest.bells_s)


def _span(setlist: SetList, pick: Pick, path: Path, track: Track | None, under_voice: bool) -> Span:
    analysis = track.analysis if track else None
    ends = (pick.track_start_s, pick.track_end_s)
    clear = analysis is not None and analysis.tempo_confidence >= CLEAR_BEAT
    beats = tuple(float(beat) for beat in analysis.curves.beats_s if _is_near(beat, ends)) if analysis and clear else ()
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
        tempo_bpm=analysis.tempo_bpm if analysis and clear else None,
    )


def _is_near(beat: float, ends: tuple[float, float]) -> bool:
    start, end = ends
    return start - 1 <= beat <= start + NEAR_ENDS_S or end - NEAR_ENDS_S <= beat <= end + 1


# ---- levels: changes of the gain, each as knots (class second, dB) joined by straight lines -------------------------


def _levels(setlist: SetList, pick: Pick, under_voice: bool) -> tuple[Level, ...]:
    changes = [_sinking(setlist, pick)]
    if under_voice:
        changes.append(_ducking(setlist, pick))
    at = sorted({second for change in changes for second, _ in change})
    inside = [second for second in at if pick.class_start_s <= second <= pick.class_end_s]
    total = np.zeros(len(inside))
    for change in changes:
        total += np.interp(inside, [second for second, _ in change], [by for _, by in change])
    shift = origin_s(setlist)
    return tuple(Level(second - shift, pick.gain_db + float(by)) for second, by in zip(inside, total, strict=True))


def _sinking(setlist: SetList, pick: Pick) -> Knots:
    """From the bed before the rest down to that of the rest."""
    rest, start_s, lasts_s = setlist.rest, pick.class_start_s, _sinking_s(setlist, pick)
    if rest is None or not lasts_s:
        return [(start_s, 0.0)]
    above = min(max(_bed_before(setlist) - rest.bed_lufs, 0.0), MOST_SINK_LU)
    return [(start_s, above), (start_s + lasts_s, 0.0)]


def _sinking_s(setlist: SetList, pick: Pick) -> float:
    rest = setlist.rest
    begins = rest is not None and abs(pick.class_start_s - rest.start_s) < 0.01
    return min(SINK_S, (pick.class_end_s - pick.class_start_s) / 4) if begins else 0.0


def _is_held_down(setlist: SetList, pick: Pick) -> bool:
    """Whether a pick begins in a section of stillness, or sounds there longest."""
    begins = any(
        section.start_s - 0.01 <= pick.class_start_s < section.end_s - 0.01
        for section in setlist.sections
        if section.kind in HELD_DOWN
    )
    return begins or _kind(setlist, pick) in HELD_DOWN


def _bed_before(setlist: SetList) -> float:
    assert setlist.rest is not None
    before = [section.kind for section in setlist.sections if section.end_s <= setlist.rest.start_s + 0.01]
    return setlist.options.levels.bed(before[-1]) if before else setlist.rest.bed_lufs


def _ducking(setlist: SetList, pick: Pick) -> Knots:
    """Down in every stretch of talk, to so far below the bed that a voice as loud as the bed is understood."""
    beds = setlist.options.levels
    by = min(beds.bed_lufs + UNDER_VOICE_LU - beds.bed(_kind(setlist, pick)), 0.0)
    talk = _talk(setlist)
    corners = {corner for start, end in talk for corner in (start - DUCK_S, start, end, end + DUCK_S)}
    corners |= {pick.class_start_s, pick.class_end_s}
    return [(at, by * _depth(talk, at)) for at in sorted(corners)]


def _kind(setlist: SetList, pick: Pick) -> Kind:
    """The kind of section whose bed the pick was brought to: where it sounds longest."""

    def shared(section: SectionTime) -> float:
        return min(pick.class_end_s, section.end_s) - max(pick.class_start_s, section.start_s)

    longest = max(setlist.sections, key=shared)
    if shared(longest) > 0:
        return longest.kind
    return Kind.OPENING if pick.class_start_s < 0 else Kind.CLOSING


def _depth(talk: Sequence[tuple[float, float]], at_s: float) -> float:
    """1 inside talk, 0 away from it."""
    return max((1 - _away(start, end, at_s) / DUCK_S for start, end in talk), default=0.0)


def _away(start: float, end: float, at_s: float) -> float:
    return min(max(start - at_s, at_s - end, 0.0), DUCK_S)


def _talk(setlist: SetList) -> list[tuple[float, float]]:
    openings = ((each.start_s, each.end_s) for each in setlist.sections if each.kind is Kind.OPENING)
    return [*setlist.frame.talk_s, *openings]
