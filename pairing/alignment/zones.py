"""Which track may sound where: voice, folder, beat, the rest, and the breath, as costs a second.

A zone is a set of grid seconds under one set of rules. A cost of inf forbids.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType

import numpy as np

from audio.arrays import F32, F64, I64, Mask
from audio.track import Track
from pairing.alignment import marks
from pairing.alignment.frame import Frame
from pairing.alignment.sedative import NEVER, RestCandidate, has_clear_beat, is_fit, judge
from pairing.model import Kind, Rule

VOICE_BLIPS = 0.02  # share of seconds that may look like a voice where too few tracks are wholly without one
VOICE_BLIP_COST = 0.03  # a second, on top, so that such a track is taken only when needed; editorial
CHOICE = 2.0  # so many times the seconds needed leave the solver a choice; editorial
UNFIT_CHOICE = 5.0  # the same among unfit tracks, where calm, short and even must be weighed; editorial
LOST_S = 6.0  # of each track, to trims and cross-fades
LEAST_BAD_COST = 0.01  # a second of an unfit track in the rest, times 1 + its excess; editorial
MOST_EXCESS = 4.0  # what is further off is not told apart
WRONG_BEAT_COST = 0.01  # a second at half or double the beat asked for; editorial
BREATH_COST = 0.001  # a second, where the beats of a breath are furthest from an even number; editorial
BREATH_KINDS = frozenset({Kind.FLOW, Kind.WARM_UP, Kind.PEAK})

FADING_S = 20  # the last fade of a rest
BEAT_UNDER_FADE_COST = 2.0  # a second: in all a little less than a change of music in the rest; editorial


@dataclass(frozen=True, slots=True, eq=False)
class Zones:
    """The zone of each grid second, shape (T,), and what a second of each track costs there, shape (Z, N)."""

    zone: I64
    cost: F32
    least_bad: tuple[RestCandidate, ...] = ()  # unfit tracks that had to be admitted to the rest


@dataclass(frozen=True, slots=True)
class _Key:
    no_voice: bool = False
    folder: str | None = None
    beat_bpm: tuple[float, float] | None = None
    rest: bool = False
    breath_s: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class _TrackTraits:
    """What several zones ask of each track, shape (N,)."""

    voice: F64
    seconds: F64
    tempo: F64  # (N, 2) two levels of the beat; NaN: none

    @classmethod
    def of(cls, tracks: Sequence[Track]) -> "_TrackTraits":
        seconds = [track.analysis.duration_s for track in tracks]
        return cls(np.array([voice_share(track) for track in tracks]), np.array(seconds), tempos(tracks))

    def without(self, tracks: Sequence[int]) -> "_TrackTraits":
        """The same, but these have nothing to give."""
        seconds = self.seconds.copy()
        seconds[list(tracks)] = 0.0
        return replace(self, seconds=seconds)

    def enough(self, which: Mask, needed_s: int, *, generous: bool) -> float:
        """Seconds of such music from which no less fit tracks need be admitted."""
        giving = int(np.count_nonzero(which & (self.seconds > 0)))
        return CHOICE * needed_s if generous else needed_s + LOST_S * giving


def zones(
    frame: Frame,
    tracks: Sequence[Track],
    *,
    generous: bool = False,
    only: tuple[int, int] | None = None,
    taken: Mapping[int, int] = MappingProxyType({}),
) -> Zones:
    """The zones of a class for these tracks (all usable).

    Args:
        only: grid seconds outside which nothing is asked, since nothing changes there.
        generous: admit unfit tracks to the rest, and such with the odd second that may be a voice where none is wished,
            though there is enough other music, since it can't be cut to measure.
        taken: tracks, by their place, that can play nowhere but at a grid second: they are no supply elsewhere.
    """
    keys: list[_Key] = [_Key()]
    zone = np.zeros(frame.seconds, np.int64)
    for rule in frame.rules:
        key = _key(frame, rule)
        if key not in keys:
            keys.append(key)
        zone[frame.grid(rule.start_s) : frame.grid(rule.end_s)] = keys.index(key)
    wanted = ~np.isnan(frame.on_grid(frame.arc))
    if only is not None:
        wanted[: only[0]] = wanted[only[1] :] = False
    known = _TrackTraits.of(tracks)
    cost = np.zeros((len(keys), len(tracks)), np.float32)
    least_bad: tuple[RestCandidate, ...] = ()
    for index, key in enumerate(keys):
        needed_s = int(np.count_nonzero(wanted & (zone == index)))
        if not needed_s:
            continue
        elsewhere = [track for track, second in taken.items() if index not in zone[second : second + 1]]
        free = known.without(elsewhere)
        cost[index] += _voice_costs(free, needed_s, generous) if key.no_voice and not key.rest else 0
        cost[index] += _folder_costs(tracks, key.folder) if key.folder else 0
        cost[index] += _beat_costs(known.tempo, key.beat_bpm) if key.beat_bpm else 0
        cost[index] += _breath_costs(known.tempo, key.breath_s) if key.breath_s else 0
        if key.rest:
            rest_cost, least_bad = _rest_costs(tracks, free, needed_s, cost[index], generous)
            cost[index] += rest_cost
    return _under_last_fade(frame, tracks, Zones(zone, cost, least_bad))


def in_folder(path: Path, folder: str) -> bool:
    """Whether a file lies in a folder of this name, at any depth; "a/b" names two folders, one in the other.

    >>> song = Path("Music/Yin/slow/a.mp3")
    >>> in_folder(song, "yin"), in_folder(song, "yin/slow"), in_folder(song, "a.mp3")
    (True, True, False)
    """
    wanted = [part.casefold() for part in folder.replace("\\", "/").split("/") if part not in ("", ".")]
    parts = [part.casefold() for part in path.parts[:-1]]
    return any(parts[at : at + len(wanted)] == wanted for at in range(len(parts) - len(wanted) + 1))


def voice_share(track: Track) -> float:
    """Share of seconds with a likely voice, 0 to 1; the teacher's word counts more."""
    said = marks.voice(track)
    return track.analysis.curves.voice_share if said is None else float(said)


def _key(frame: Frame, rule: Rule) -> _Key:
    if not 0 <= rule.section < len(frame.sections):
        return _Key(rule.no_voice, rule.folder, rule.beat_bpm)
    section = frame.sections[rule.section]
    breath_s = section.breath_s if section.kind in BREATH_KINDS else None
    return _Key(rule.no_voice, rule.folder, rule.beat_bpm, section.kind is Kind.REST, breath_s)


def _voice_costs(known: _TrackTraits, needed_s: int, generous: bool) -> F32:
    share = known.voice
    free = share == 0
    cost = np.where(free, 0.0, np.inf)
    if known.seconds[free].sum() < known.enough(free, needed_s, generous=generous):
        cost[(share > 0) & (share <= VOICE_BLIPS)] = VOICE_BLIP_COST
    return np.asarray(cost, np.float32)


def _folder_costs(tracks: Sequence[Track], folder: str) -> F32:
    return np.array([0.0 if in_folder(track.path, folder) else np.inf for track in tracks], np.float32)


def _beat_costs(tempo: F64, beat_bpm: tuple[float, float]) -> F32:
    low, high = beat_bpm
    cost = np.full(len(tempo), np.inf)
    for factor in (0.5, 2.0):
        cost[(tempo[:, 0] * factor >= low) & (tempo[:, 0] * factor <= high)] = WRONG_BEAT_COST
    cost[((tempo >= low - 0.5) & (tempo <= high + 0.5)).any(axis=1)] = 0.0
    return np.asarray(cost, np.float32)


def _breath_costs(tempo: F64, breath_s: float) -> F32:
    """An even number of beats a breath lets each half breath meet a beat; of two levels the one that fits."""
    beats = tempo * breath_s / 60
    off = np.abs(beats - 2 * np.round(beats / 2))
    return np.asarray(BREATH_COST * np.nan_to_num(np.fmin(off[:, 0], off[:, 1]), nan=0.0), np.float32)


def _rest_costs(
    tracks: Sequence[Track], known: _TrackTraits, needed_s: int, ruled: F32, generous: bool
) -> tuple[F32, tuple[RestCandidate, ...]]:
    seconds = known.seconds
    marked = np.array([marks.rest(track) is True for track in tracks], bool)
    allowed = np.isfinite(ruled) & (np.isfinite(_voice_costs(known, needed_s, generous)) | marked)
    fit = allowed.copy()
    fit[allowed] = [is_fit(tracks[index]) for index in np.flatnonzero(allowed).tolist()]
    cost = np.where(fit, 0.0, np.inf)
    enough_s = known.enough(fit, needed_s, generous=generous)
    if seconds[fit].sum() >= enough_s:
        return np.asarray(cost, np.float32), ()
    unfit = [(index, judge(tracks[index])) for index in np.flatnonzero(~fit & allowed).tolist()]
    admitted = _least_bad(unfit, seconds, float(seconds[fit].sum()), enough_s, needed_s)
    for index, candidate in admitted:
        cost[index] = LEAST_BAD_COST * (1 + min(candidate.excess, MOST_EXCESS))
    return np.asarray(cost, np.float32), tuple(candidate for _, candidate in admitted)


def _least_bad(
    unfit: Sequence[tuple[int, RestCandidate]], seconds: F64, supply_s: float, enough_s: float, needed_s: int
) -> list[tuple[int, RestCandidate]]:
    """The unfit tracks that have to be admitted to the rest, with some choice among equals."""

    def badness(one: tuple[int, RestCandidate]) -> tuple[float, int]:
        # A short track needs others beside it, and so changes in the rest.
        return one[1].excess + max(1 - seconds[one[0]] / needed_s, 0.0), one[1].track.id

    admitted: list[tuple[int, RestCandidate]] = []
    for one in sorted(unfit, key=badness):
        enough = supply_s >= enough_s + LOST_S * len(admitted)
        much_worse = bool(admitted) and badness(one)[0] > badness(admitted[-1])[0] + 1.0
        if one[1].excess >= NEVER or (enough and (much_worse or supply_s >= UNFIT_CHOICE * needed_s)):
            break
        admitted.append(one)
        supply_s += float(seconds[one[0]])
    return admitted


def _under_last_fade(frame: Frame, tracks: Sequence[Track], ruled: Zones) -> Zones:
    """A zone of its own for the seconds in which the rest's last music fades, dear for a steady beat."""
    if frame.rest is None:
        return ruled
    end = frame.grid(frame.rest.end_s - frame.rest.silence_s)
    first = max(end - FADING_S, frame.grid(frame.rest.start_s))
    if end <= first:
        return ruled
    zone = ruled.zone.copy()
    steady = np.array([has_clear_beat(track) for track in tracks], bool)
    fading = ruled.cost[zone[end - 1]] + np.where(steady, BEAT_UNDER_FADE_COST, 0.0).astype(np.float32)
    zone[first:end] = len(ruled.cost)
    return Zones(zone, np.concatenate((ruled.cost, fading[None])), ruled.least_bad)


def tempos(tracks: Sequence[Track]) -> F64:
    """Beats a minute of each track at both levels at which they may be felt, NaN without a clear beat; shape (N, 2)."""
    return np.array([_tempos(track) for track in tracks], np.float64).reshape(-1, 2)


def _tempos(track: Track) -> tuple[float, float]:
    levels = marks.tempos_bpm(track) if track.analysis.tempo_confidence >= 0.3 or "beat" in track.marks else ()
    return (levels[0], levels[-1]) if levels else (float("nan"), float("nan"))
