"""Problem and Answer: all the solver knows is arrays.

Class time is a grid of whole seconds 0 .. T, track time a grid of whole seconds. A solution is a chain of picks, each
(track, class start, class end, second of the track at the start), that covers every second whose target is not NaN.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from audio.arrays import F32, I64


@dataclass(frozen=True, slots=True)
class Weights:
    """Every weight of the objective in one place, in error² x seconds; editorial, measured in docs/pairing.md."""

    # All editorial.
    error: float = 1.0  # a second's weighted squared error
    worst_window: float = 4.0  # the worst 8-s window's mean squared error, once
    change: float = 0.7  # a change where change_cost is 1
    trim: float = 0.35  # a cut whose enter or leave cost is 1
    clip: float = 0.5  # a pick for which length_cost is 1
    tempo_step: float = 0.15  # two neighbours with clear beats more than 12 % apart (octaves folded)
    key_step: float = 0.05  # two neighbours six steps apart on the circle of fifths
    same_artist: float = 0.5
    twin: float = 0.3  # two sides of a flow unlike, mean squared difference x seconds
    repeat: float = 10.0  # each further use of a track, where repeats are allowed: only as a way out
    meeting: float = 3.0  # a moment of the class at which the track is nowhere near the point of its own it asks for


ENERGY_ALONE = Weights(
    worst_window=0.0,
    change=0.0,
    trim=0.0,
    clip=0.0,
    tempo_step=0.0,
    key_step=0.0,
    same_artist=0.0,
    twin=0.0,
    repeat=0.0,
    meeting=0.0,
)


@dataclass(frozen=True, slots=True)
class Pin:
    """A track that must stand at a place."""

    track: int
    start: int  # class second
    end: int | None = None  # None: free
    enter: int | None = None  # second of the track; None: free


@dataclass(frozen=True, slots=True, eq=False)
class Meetings:
    """K class seconds at which the track that plays shall be at a certain point of its own, its climax say."""

    second: I64  # (K,)
    row: I64  # (K,) of Problem.apart: which point
    weight: F32  # (K,)

    @classmethod
    def of(cls, rows: Sequence[tuple[int, int, float]] = ()) -> "Meetings":
        """Of (second, row, weight); those of the same second and row count together."""
        places, where = np.unique(
            np.array([row[:2] for row in rows], np.int64).reshape(-1, 2), axis=0, return_inverse=True
        )
        weight = np.bincount(where.reshape(-1), [row[2] for row in rows], len(places))
        return cls(places[:, 0].copy(), places[:, 1].copy(), weight.astype(np.float32))

    def within(self, first: int, last: int, seconds: int = 1) -> "Meetings":
        """Those from a class second to another, counted from the first in units of `seconds`.

        Args:
            first, last: class seconds, the last not included.
        """
        inside = (self.second >= first) & (self.second < last)
        at = (self.second[inside] - first) // seconds
        return Meetings.of(list(zip(at.tolist(), self.row[inside].tolist(), self.weight[inside].tolist(), strict=True)))


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """N tracks, T seconds of class, Z zones.

    A zone is a stretch of class seconds under one set of rules; zone_cost[z, i] is what a second of track i costs
    there on top of the energy error (inf: forbidden), which carries no voice, folder, rest, breath-and-beat wishes.
    """

    target: F32  # (T,), 0 to 1; NaN: no music here
    weight: F32  # (T,) weight of the squared error
    over: F32  # (T,) factor on the weight where the music is livelier than the target, >= 1
    energy: F32  # all curves end to end
    offset: I64  # (N + 1,) track i has energy[offset[i]:offset[i + 1]]
    enter_at: I64  # seconds of the track at which it can be entered, track after track, ascending within a track
    enter_cost: F32
    enter_offset: I64  # (N + 1,)
    leave_at: I64  # seconds of the track at which it can be left (hand-over; the fade's tail comes after it)
    leave_cost: F32
    leave_offset: I64  # (N + 1,)
    change_cost: F32  # (T + 1,) cost of a hand-over at a class second; inf: none allowed
    must_change: I64  # class seconds at which a new track must start
    length_cost: F32  # (T + 1,) cost of a pick of that many seconds (short clips)
    zone: I64  # (T,)
    zone_cost: F32  # (Z, N)
    track_cost: F32  # (N,) used once a pick: history, the teacher's marks; inf: excluded
    tempo_bpm: F32  # (N,) NaN: no clear beat
    key: I64  # (N,) 0 to 23: pitch class of the tonic (major), 12 + pitch class (minor); -1: none
    artist: I64  # (N,) -1: unknown
    twins: tuple[tuple[int, int, int], ...] = ()  # (start of one side, start of the other, seconds)
    pins: tuple[Pin, ...] = ()
    meetings: Meetings = field(default_factory=Meetings.of)
    apart: F32 = field(default_factory=lambda: np.zeros((0, 0), np.float32))  # (R, all seconds of all curves) 0 to 1
    allow_repeats: bool = False
    weights: Weights = field(default_factory=Weights)


@dataclass(frozen=True, slots=True)
class Chosen:
    """One pick of an answer, on the grid."""

    track: int
    start: int
    end: int
    enter: int


@dataclass(frozen=True, slots=True)
class Answer:
    """The chain found, its cost, and a proven lower bound on the cost of any chain.

    `terms` names each part of the objective with its share of the cost; `bounded_terms` are those the bound covers.
    """

    chosen: tuple[Chosen, ...]
    cost: float
    bound: float
    terms: dict[str, float]
    bounded_terms: tuple[str, ...]
    bound_is_of_shortlist: bool  # True: tracks outside the shortlist were not priced
