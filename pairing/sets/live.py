"""What a page needs to follow a class that doesn't go by the plan: for each track of a set where it can be left, where
it can jump back, and what could stand in for it.

Times of the class are class seconds, times of a track seconds of its recording. Computed when a class is packed, for
its tracks alone.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from audio.measure.jumps import Jump, heard, jumps
from audio.progress import Progress
from audio.render.chunks import count
from audio.render.span import Span
from audio.track import Analysis, Track
from pairing.model import Kind, Pick, SectionTime, SetList
from pairing.sets.mixdown import SINK_S, bells, origin_s

# All editorial.
MORE_S = 60.0  # a track is packed for so much longer than it is to play, if it lasts,
MORE_REST_S = 180.0  # and in the rest, where nothing else may make it longer
SPARE_S = 150.0  # length of a track made ready for a part
LONG_PART_S = 150.0  # shorter parts have none
MOST_VOICE = 0.1
PHRASE_COST, BAR_COST, FADE_COST = 0.2, 0.5, 0.9
BAR_FADES_S = 4.0  # without bars a track can be left by a fade so often
LOOP_FADE_S, LOOP_AFTER_S = 6.0, 8.0
CHECK_S = 10.0
CEILING_DBTP = -1.0

Read = Callable[[Path], "tuple[Jump, ...]"]


@dataclass(frozen=True, slots=True)
class LiveTrack:
    """A stretch of a recording and how it can be stretched; all places are seconds of the recording."""

    path: Path
    title: str
    from_s: float
    to_s: float
    exits: tuple[tuple[float, float], ...]  # second, cost: 0 the music ends there by itself, 1 anywhere
    jumps: tuple[Jump, ...]
    loop: tuple[float, float]  # where it goes on from its end if nothing sounds alike, and in how long a cross-fade


@dataclass(frozen=True, slots=True)
class LivePick:
    """A pick as the page plays it; `levels` are (seconds from its start, dB), straight between them."""

    track: int
    pick: Pick
    peak: bool
    spare: int | None  # index of the track made ready for its part
    levels: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class LiveSet:
    """All that is played in a class, planned or not."""

    picks: tuple[LivePick, ...]
    tracks: tuple[LiveTrack, ...]
    spare_levels: tuple[float, ...]  # dB, a value a track; of no meaning for those of picks
    bells: tuple[tuple[float, float], ...]  # class second, LUFS
    sinks_s: float  # how long the rest's own fade takes
    check: tuple[tuple[int, float, float], ...] = field(default=())  # loudest and quietest: track, second, dB
    lower_db: float = 0.0  # by how much all comes down so that no peak is clipped

    @property
    def pieces(self) -> int:
        """How many pieces of sound a page holds."""
        return sum(count(track.from_s, track.to_s) for track in self.tracks) + len(self.bells[:1])


def live_set(
    setlist: SetList,
    spans: Sequence[Span],
    tracks: Sequence[Track],
    jumps_of: Read | None = None,
    progress: Progress | None = None,
) -> LiveSet:
    """Gather what a page needs.

    Args:
        spans: what the mix plays, pick by pick, as `mixdown.with_even_rest` gives it.
        tracks: the library; gives beats and cut points, and what stands in.
        jumps_of: finds the jumps of a recording; None: by reading it.
    Raises:
        AudioError: a file can't be read.
    """
    known = {track.fingerprint: track for track in tracks}
    lasting = [
        _lasting(setlist, pick, span, known.get(pick.fingerprint), jumps_of)
        for pick, span in zip(_told(setlist.picks, progress), spans, strict=True)
    ]
    spares, spare_of = _spares(setlist, tracks, len(lasting), jumps_of)
    shift = origin_s(setlist)
    picks = tuple(
        LivePick(index, pick, _is_peak(setlist, pick), spare_of.get(index), _levels(span))
        for index, (pick, span) in enumerate(zip(setlist.picks, spans, strict=True))
    )
    every = (*lasting, *(track for track, _ in spares))
    levels = (*(pick.gain_db for pick in setlist.picks), *(level for _, level in spares))
    return LiveSet(
        picks=picks,
        tracks=every,
        spare_levels=levels,
        bells=tuple((at + shift, lufs) for at, lufs in bells(setlist)),
        sinks_s=SINK_S,
        check=_check(setlist, known),
        lower_db=_lower(setlist, spans, known),
    )


def _told(picks: Sequence[Pick], progress: Progress | None) -> Iterator[Pick]:
    for done, pick in enumerate(picks):
        if progress:
            progress(done, len(picks), pick.title)
        yield pick


def _lasting(setlist: SetList, pick: Pick, span: Span, track: Track | None, jumps_of: Read | None) -> LiveTrack:
    analysis = track.analysis if track else None
    resting = setlist.rest is not None and pick.class_start_s >= setlist.rest.start_s - 0.01
    more = MORE_REST_S if resting else MORE_S
    end = min(analysis.curves.cut_points[-1].at_s, pick.track_end_s + more) if analysis else pick.track_end_s
    to_s = max(end, pick.track_end_s)
    return _track(span.path, pick.title, analysis, pick.track_start_s, to_s, resting, jumps_of)


def _track(
    path: Path, title: str, analysis: Analysis | None, from_s: float, to_s: float, still: bool, jumps_of: Read | None
) -> LiveTrack:
    """A stretch of a recording; one that is to lie still has neither jumps nor exits."""
    inside = [] if still or analysis is None else _jumps(path, analysis, jumps_of)
    back = tuple(jump for jump in inside if from_s + 1 < jump.to_s and jump.from_s < to_s - 1)
    exits = () if still or analysis is None else _exits(analysis, from_s, to_s)
    return LiveTrack(path, title, from_s, to_s, exits, back, _loop(exits, from_s, to_s))


def _jumps(path: Path, analysis: Analysis, jumps_of: Read | None) -> "tuple[Jump, ...]":
    if jumps_of is not None:
        return jumps_of(path)
    return jumps(heard(path), analysis.curves.beats_s, analysis.curves.downbeats_s)


def _exits(analysis: Analysis, from_s: float, to_s: float) -> tuple[tuple[float, float], ...]:
    """Bars, else beats by fours, else every few seconds; the cut points of the analysis cost what it says."""
    bars = analysis.curves.downbeats_s if analysis.curves.downbeats_s.size else analysis.curves.beats_s[::4]
    steps = bars if bars.size else np.arange(from_s, to_s, BAR_FADES_S)
    cost = BAR_COST if bars.size else FADE_COST
    places = {round(float(at), 3): cost for at in steps}
    places |= {round(cut.at_s, 3): min(cut.leave_cost, cost) for cut in analysis.curves.cut_points[1:]}
    return tuple((at, cost) for at, cost in sorted(places.items()) if from_s < at < to_s)


def _loop(exits: Sequence[tuple[float, float]], from_s: float, to_s: float) -> tuple[float, float]:
    after = [at for at, cost in exits if from_s + LOOP_AFTER_S <= at <= from_s + (to_s - from_s) / 2]
    return (after[0] if after else from_s + (to_s - from_s) / 4), min(LOOP_FADE_S, (to_s - from_s) / 6)


# ---- what could stand in -----------------------------------------------------------------------------------------


def _spares(
    setlist: SetList, tracks: Sequence[Track], offset: int, jumps_of: Read | None
) -> tuple[list[tuple[LiveTrack, float]], dict[int, int]]:
    """A track for each longer part before the rest, as lively as the part asks: the tracks with their gains, and by
    index of the pick the one made ready for it."""
    taken = {pick.fingerprint for pick in setlist.picks}
    spares: list[tuple[LiveTrack, float]] = []
    spare_of: dict[int, int] = {}
    for section in setlist.sections:
        here = [index for index, pick in enumerate(setlist.picks) if _section_of(setlist, pick) is section]
        if section.kind in (Kind.REST, Kind.CLOSING) or section.end_s - section.start_s < LONG_PART_S or not here:
            continue
        found = _nearest(setlist, section, [track for track in tracks if track.fingerprint not in taken])
        if found is None:
            continue
        taken.add(found.fingerprint)
        level = setlist.options.levels.bed(section.kind) - found.analysis.loudness_lufs
        from_s, last_s = found.analysis.curves.cut_points[0].at_s, found.analysis.curves.cut_points[-1].at_s
        to_s = min(last_s, from_s + SPARE_S)
        spares.append((_track(found.path, found.title, found.analysis, from_s, to_s, False, jumps_of), level))
        spare_of |= dict.fromkeys(here, offset + len(spares) - 1)
    return spares, spare_of


def _section_of(setlist: SetList, pick: Pick) -> SectionTime:
    """Where a pick sounds longest."""
    return max(
        setlist.sections, key=lambda each: min(pick.class_end_s, each.end_s) - max(pick.class_start_s, each.start_s)
    )


def _is_peak(setlist: SetList, pick: Pick) -> bool:
    return _section_of(setlist, pick).kind is Kind.PEAK


def _nearest(setlist: SetList, section: SectionTime, tracks: Sequence[Track]) -> Track | None:
    """The track whose liveliness comes nearest to what the section asks; none that is short, sung where none may sing,
    or kept out by the teacher."""
    asked = setlist.target_energy[int(section.start_s) : max(int(section.end_s), int(section.start_s) + 1)]
    wanted = float(np.nanmean(asked)) if np.isfinite(asked).any() else 0.4
    fit = [track for track in tracks if track.id not in setlist.options.exclude and _may_stand_in(track)]
    return min(fit, key=lambda track: (abs(track.analysis.curves.mean_energy - wanted), track.id), default=None)


def _may_stand_in(track: Track) -> bool:
    heard = track.analysis
    if heard.duration_s < SPARE_S / 2 or heard.curves.voice_share >= MOST_VOICE:
        return False
    return not track.marks and track.path.is_file()


# ---- levels ------------------------------------------------------------------------------------------------------


def _levels(span: Span) -> tuple[tuple[float, float], ...]:
    return tuple((level.at_s - span.mix_start_s, level.gain_db) for level in span.levels)


def _check(setlist: SetList, known: dict[str, Track]) -> tuple[tuple[int, float, float], ...]:
    """The loudest and the quietest ten seconds of the class, before any fade."""
    found = []
    for index, pick in enumerate(setlist.picks):
        track = known.get(pick.fingerprint)
        if track is None or pick.class_end_s - pick.class_start_s < 2 * CHECK_S:
            continue
        first, last = int(pick.track_start_s + pick.fade_in_s + 1), int(pick.track_end_s - pick.fade_out_s - CHECK_S)
        curve = track.analysis.curves.loudness
        for at in range(first, max(last, first + 1), 5):
            part = curve[at : at + int(CHECK_S)]
            if len(part) and np.isfinite(part).all():
                found.append((float(part.mean()) + pick.gain_db, index, float(at), pick.gain_db))
    if not found:
        return ()
    return tuple((index, at, gain) for _, index, at, gain in (max(found), min(found)))


def _lower(setlist: SetList, spans: Sequence[Span], known: dict[str, Track]) -> float:
    """By how much all comes down so that no track's own peak, and no cross-fade of two, is clipped."""
    peaks = [
        track.analysis.true_peak_dbtp + max(level.gain_db for level in span.levels)
        for pick, span in zip(setlist.picks, spans, strict=True)
        if (track := known.get(pick.fingerprint)) and track.analysis
    ]
    return max(max(peaks, default=CEILING_DBTP) - CEILING_DBTP, 0.0)
