"""Sets found by chance, for tests and benchmarks: tracks in a random order, cut by the plainest dynamic programme.

It knows the rules of a problem and nothing of its costs, and shares no code with the search but `violations`, so that
it can show that a refusal was wrong.
"""

from dataclasses import dataclass

import invented_music
import numpy as np

from audio.track import Track
from pairing.alignment import frame, reach
from pairing.alignment.task import Task, build, usable
from pairing.model import Arc, Kind, PairOptions, Plan, Timetable, Wishes
from pairing.solve.costs import change_costs, stretches, violations
from pairing.solve.problem import Chosen, Problem


def widest_task(plan: Plan, table: Timetable, arc: Arc, tracks: list[Track], options: PairOptions) -> Task:
    """The problem of a class under the mildest rules that `pair` knows."""
    shape = frame.of_class(plan, table, arc, options)
    chosen_from = usable(tracks, options)
    lowest, highest = reach.reach(reach.sample(chosen_from), shape.arc)
    target = reach.fitted(shape.arc, lowest, highest)
    return build(shape, chosen_from, target, options, clips=True, generous=True)


def chain_by_chance(problem: Problem, orders: int, seed: int) -> tuple[Chosen, ...] | None:
    """A chain of distinct tracks that breaks no rule, from one of some random orders; None if none gives one."""
    rng = np.random.default_rng(seed)
    tracks = [_lengths(problem, track) for track in range(len(problem.track_cost))]
    tracks = [one for one in tracks if len(one.length)]
    starts = np.isfinite(change_costs(problem))
    for _ in range(orders):
        chain = _in_order(problem, [tracks[k] for k in rng.permutation(len(tracks))], starts)
        if chain is not None:
            assert not violations(problem, chain)
            return chain
    return None


SHARES = (
    ("Arrive", Kind.OPENING, 0.1, 0.2),
    ("Salutes", Kind.WARM_UP, 0.15, 0.4),
    ("Tide", Kind.FLOW, 0.3, 0.6),
    ("Crest", Kind.PEAK, 0.15, 0.8),
    ("Ebb", Kind.COOL_DOWN, 0.3, 0.35),
)


def scarce_case(seed: int, *, most: int = 100) -> tuple[Plan, Timetable, Arc, list[Track], PairOptions]:
    """A class and a library that holds 0.9 to 3 times the music it needs, some of it calm, some sung."""
    rng = np.random.default_rng([17, seed])
    count = int(rng.integers(5, most + 1))
    mean_s = float(rng.uniform(60, 320))
    lengths = mean_s * rng.uniform(0.5, 1.5, count)
    plenty = float(rng.uniform(0.9, 3.0))
    class_s = min(max(lengths.sum() / plenty, 240.0), 5400.0)
    rest_s = float(rng.choice([0.08, 0.12, 0.25, 0.5])) * class_s
    calm = float(rng.uniform(0.2, 0.9))
    tracks = []
    for n, length in enumerate(lengths, start=1):
        energy = float(rng.uniform(0.06, 0.28) if rng.random() < calm else rng.uniform(0.3, 0.9))
        sung = ((10, 30),) if rng.random() < 0.25 else ()
        tracks.append(invented_music.track(n, energy, float(max(length, 22.0)), seed=seed, voice=sung))
    shape = [(name, kind, round(share * (class_s - rest_s), 2), energy) for name, kind, share, energy in SHARES]
    shape.append(("Float", Kind.REST, round(rest_s, 2), 0.16))
    wishes = {"Float": Wishes(silent_last_s=float(rng.choice([0.0, 0.0, 60.0])) or None)}
    wishes["Tide"] = Wishes(no_voice=bool(rng.random() < 0.2))
    table = invented_music.timetable(tuple(shape), wishes)
    return invented_music.plan(), table, invented_music.arc(table, tuple(shape)), tracks, PairOptions()


@dataclass
class _Track:
    number: int
    length: np.ndarray  # seconds for which it can be heard, ascending
    enter: np.ndarray  # the second of the track at which it is then entered
    last: np.ndarray  # (T + 1,) class second to which it may play from each class second


def _lengths(problem: Problem, track: int) -> _Track:
    into = slice(problem.enter_offset[track], problem.enter_offset[track + 1])
    out = slice(problem.leave_offset[track], problem.leave_offset[track + 1])
    enters = problem.enter_at[into][np.isfinite(problem.enter_cost[into])]
    leaves = problem.leave_at[out][np.isfinite(problem.leave_cost[out])]
    lengths = (leaves[None, :] - enters[:, None]).ravel()
    entered = np.repeat(enters, len(leaves))
    fits = (lengths > 0) & (lengths < len(problem.length_cost))
    lengths, entered = lengths[fits], entered[fits]
    ok = np.isfinite(problem.length_cost[lengths]) & np.isfinite(problem.track_cost[track])
    lengths, first = np.unique(lengths[ok], return_index=True)
    return _Track(track, lengths, entered[ok][first], _last(problem, track))


def _last(problem: Problem, track: int) -> np.ndarray:
    seconds = len(problem.target)
    stop = np.isnan(problem.target) | ~np.isfinite(problem.zone_cost[problem.zone, track])
    last = np.full(seconds + 1, seconds)
    border = set(map(int, problem.must_change))
    for second in range(seconds - 1, -1, -1):
        last[second] = second if stop[second] else second + 1 if second + 1 in border else last[second + 1]
        if not stop[second] and second + 1 == seconds:
            last[second] = seconds
    return last


def _in_order(problem: Problem, order: list[_Track], starts: np.ndarray) -> tuple[Chosen, ...] | None:
    runs = stretches(problem.target)
    over = {end: start for (_, end), (start, _) in zip(runs, runs[1:], strict=False)}
    reached = np.zeros(len(problem.target) + 1, bool)
    came: dict[int, Chosen] = {}
    reached[runs[0][0]] = True
    for track in order:
        at = np.flatnonzero(reached & starts)
        new: dict[int, Chosen] = {}
        for length, enter in zip(track.length.tolist(), track.enter.tolist(), strict=True):
            begins = at[at + length <= track.last[at]]
            for begin in begins[~reached[begins + length]].tolist():
                new.setdefault(begin + length, Chosen(track.number, begin, begin + length, enter))
        for end, pick in new.items():
            came[end] = pick
            reached[end] = True
            if end in over and not reached[over[end]]:
                reached[over[end]] = True
                came[over[end]] = pick
        if reached[runs[-1][1]]:
            return _traced(came, runs)
    return None


def _traced(came: dict[int, Chosen], runs: list[tuple[int, int]]) -> tuple[Chosen, ...]:
    chain, at = [], runs[-1][1]
    while at != runs[0][0]:
        chain.append(came[at])
        at = came[at].start
    return tuple(chain[::-1])
