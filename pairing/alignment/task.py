"""Tracks, a class and options into the solver's arrays."""

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from audio.arrays import F64, I64, Mask, offsets
from audio.track import Track
from pairing.alignment import cuts, marks, meetings, moments, reach
from pairing.alignment.cuts import CutTable
from pairing.alignment.frame import Frame
from pairing.alignment.options import PREFERENCES, PinWish
from pairing.alignment.zones import Zones, tempos, zones
from pairing.model import Curve, PairOptions
from pairing.solve.problem import Pin, Problem, Weights

SHORTEST_TRACK_S = 20.0  # editorial: a shorter file is an effect, not music for a class
FILLERS = 30  # tracks that can be faded out at any second, for each short stretch between exact borders
NARROWEST = 0.3  # a range below that share of the arc's is not stretched further; editorial
PLENTY = 4.0  # times the class in tracks long enough: no clip has to be played; editorial
PLAIN_COST = 0.3  # a track that is no favourite, where there are favourites; editorial
PITCHES = {"c": 0, "d": 2, "e": 4, "f": 5, "g": 7, "a": 9, "b": 11}


@dataclass(frozen=True, slots=True, eq=False)
class Task:
    """A problem and what its numbers stand for."""

    problem: Problem
    frame: Frame
    tracks: tuple[Track, ...]  # in the solver's order
    zones: Zones
    music_s: F64  # seconds of music in each track

    def index(self, fingerprint: str) -> int | None:
        """The solver's number of a recording; None where it isn't among the tracks."""
        return next((i for i, track in enumerate(self.tracks) if track.fingerprint == fingerprint), None)


def usable(tracks: Sequence[Track], options: PairOptions, *, always: Collection[int] = ()) -> tuple[Track, ...]:
    """The tracks that may be chosen, sorted by number, one of each recording; those in `always` in any case."""
    kept: dict[str, Track] = {}
    for track in sorted(tracks, key=lambda track: (track.id not in always, track.id)):
        if track.analysis.duration_s < SHORTEST_TRACK_S or not track.analysis.curves.seconds:
            continue
        if track.id in always or not (track.id in options.exclude or marks.is_banned(track)):
            kept.setdefault(track.fingerprint, track)
    return tuple(sorted(kept.values(), key=lambda track: track.id))


def build(
    frame: Frame,
    tracks: Sequence[Track],
    target: Curve,
    options: PairOptions,
    *,
    pins: Sequence[PinWish] = (),
    track_costs: Mapping[int, float] | None = None,
    generous: bool = False,
    only: tuple[int, int] | None = None,
    clips: bool = False,
    held: Mapping[int, float] = MappingProxyType({}),
) -> Task:
    """The problem of a class.

    Args:
        frame: the class.
        tracks: usable tracks; see `usable`.
        target: energy to follow, class seconds, shape (ceil(class_s),).
        options: weights, repeats.
        pins: what shall stand where.
        track_costs: cost of using a track, by number (history, a former set).
        only: grid seconds outside which nothing will change; rules are laid out inside alone.
        generous: admit more tracks to the rest; see `zones`.
        clips: allow short picks even where there is plenty of music.
        held: tracks, by number, that stand at a class second already; they can't be counted on elsewhere, nor can pins.
    """
    standing = {} if options.allow_repeats else {**held, **{pin.track_id: pin.at_s for pin in pins}}
    taken = {n: frame.grid(standing[track.id]) for n, track in enumerate(tracks) if track.id in standing}
    ruled = zones(frame, tracks, generous=generous, only=only, taken=taken)
    weight, over = moments.second_weights(frame)
    energy, offset = _curves(tracks)
    enter, leave, music_s = cuts.tables(tracks, _fillers(frame, ruled, _means(energy, offset), target))
    leave = _with_whole_stretches(frame, enter, leave, music_s)
    meets, apart = meetings.of_tracks(frame, tracks)
    problem = Problem(
        target=frame.on_grid(target),
        weight=weight,
        over=over,
        energy=energy,
        offset=offset,
        **cuts.as_fields(enter, leave),
        change_cost=moments.change_costs(frame),
        must_change=np.array(moments.must_change(frame), np.int64),
        length_cost=moments.length_costs(
            frame, clips=clips or not _is_plenty(frame, tracks), longest_s=float(music_s.max(initial=0.0))
        ),
        zone=ruled.zone,
        zone_cost=ruled.cost,
        track_cost=_track_costs(tracks, track_costs or {}),
        tempo_bpm=tempos(tracks)[:, 0].astype(np.float32),
        key=np.array([key_number(track) for track in tracks], np.int64),
        artist=_artists(tracks),
        twins=tuple(moments.twins(frame.sections, frame)),
        pins=tuple(_pins(frame, tracks, pins)),
        meetings=meets,
        apart=apart,
        allow_repeats=options.allow_repeats,
        weights=_weights(PREFERENCES[options.prefer], reach.squeeze(frame.arc, target), repeats=options.allow_repeats),
    )
    return Task(problem, frame, tuple(tracks), ruled, music_s)


def key_number(track: Track) -> int:
    """0 to 11 for major keys from C, 12 to 23 for minor ones; -1 where the key isn't clear."""
    name = track.analysis.key
    if not name or name[0].casefold() not in PITCHES:
        return -1
    sharp = sum(name[1:3].count(sign) for sign in "#♯") - sum(name[1:3].count(sign) for sign in "b♭")
    return (PITCHES[name[0].casefold()] + sharp) % 12 + (12 if "minor" in name else 0)


def _is_plenty(frame: Frame, tracks: Sequence[Track]) -> bool:
    lengths = [track.analysis.duration_s for track in tracks]
    return sum(length for length in lengths if length >= moments.SHORT_S) >= PLENTY * frame.seconds


def _weights(weights: Weights, squeezed: float, *, repeats: bool) -> Weights:
    """Errors count in the range there is: where it is half the arc's, an error of half the size is as large.

    Where tracks may come again, what speaks for long picks grows as much; else a small library would be cut to scraps
    that follow an arc it can't reach.
    """
    factor = 1 / max(squeezed, NARROWEST) ** 2
    long = factor if repeats else 1.0
    return replace(
        weights,
        error=weights.error * factor,
        worst_window=weights.worst_window * factor,
        twin=weights.twin * factor,
        change=weights.change * long,
        trim=weights.trim * long,
        clip=weights.clip * long,
        repeat=weights.repeat * long,
        meeting=weights.meeting * long,
    )


def _curves(tracks: Sequence[Track]) -> tuple[Curve, I64]:
    """The energy of all tracks end to end, and where each begins."""
    seconds = [track.analysis.curves.seconds for track in tracks]
    offset = offsets(seconds)
    energy = np.empty(offset[-1], np.float32)
    for track, first, last in zip(tracks, offset[:-1].tolist(), offset[1:].tolist(), strict=True):
        energy[first:last] = marks.energy(track)
    return energy, offset


def _means(energy: Curve, offset: I64) -> Curve:
    if not len(energy):
        return energy
    return np.asarray(np.add.reduceat(energy, offset[:-1]) / np.diff(offset), np.float32)


def _fillers(frame: Frame, ruled: Zones, means: Curve, target: Curve) -> Mask:
    """Which tracks may have to fill a stretch between two exact borders alone: those nearest to its target in it."""
    wanted = frame.on_grid(target)
    fillers = np.zeros(len(means), bool)
    for first, last in moments.stretches(frame):
        if last - first <= moments.ALONE_S:
            allowed = np.isfinite(ruled.cost[np.unique(ruled.zone[first:last])]).all(axis=0)
            off = np.where(allowed, np.abs(means - np.nanmean(wanted[first:last])), np.inf)
            nearest = np.argsort(off, kind="stable")[:FILLERS]
            fillers[nearest[np.isfinite(off[nearest])]] = True
    return fillers


def _with_whole_stretches(frame: Frame, enter: CutTable, leave: CutTable, music_s: F64) -> CutTable:
    """The leave table with the seconds at which a very long track has filled a long stretch alone."""
    tracks, seconds = [], []
    for length in {last - first for first, last in moments.stretches(frame)}:
        for track in np.flatnonzero(music_s >= length)[:FILLERS].tolist() if length > moments.ALONE_S else ():
            left = enter.at[enter.offset[track] : enter.offset[track + 1]] + length
            left = left[left <= leave.at[leave.offset[track + 1] - 1]]
            tracks += [track] * len(left)
            seconds += left.tolist()
    return cuts.with_seconds(leave, tracks, seconds) if tracks else leave


def _track_costs(tracks: Sequence[Track], given: Mapping[int, float]) -> np.ndarray:
    cost = np.array([given.get(track.id, 0.0) for track in tracks], np.float32)
    favourite = np.array([marks.is_favourite(track) for track in tracks], bool)
    return cost + np.where(favourite | ~favourite.any(), 0.0, PLAIN_COST).astype(np.float32)


def _artists(tracks: Sequence[Track]) -> I64:
    numbers: dict[str, int] = {}
    names = [track.tags.artist.strip().casefold() for track in tracks]
    return np.array([numbers.setdefault(name, len(numbers)) if name else -1 for name in names], np.int64)


def _pins(frame: Frame, tracks: Sequence[Track], wishes: Sequence[PinWish]) -> list[Pin]:
    place = {track.id: index for index, track in enumerate(tracks)}
    return [
        Pin(
            track=place[wish.track_id],
            start=frame.grid(wish.at_s),
            end=None if wish.end_s is None else frame.grid(wish.end_s),
            enter=None if wish.track_start_s is None else math.floor(wish.track_start_s + 0.5),
        )
        for wish in sorted(wishes, key=lambda wish: wish.at_s)
        if wish.track_id in place
    ]
