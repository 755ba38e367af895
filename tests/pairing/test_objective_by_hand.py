"""The objective worked out second by second, and the search beside all chains there are of a tiny class."""

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from pairing.solve import arrays
from pairing.solve.costs import cut_costs, evaluate, violations
from pairing.solve.polish import alternatives
from pairing.solve.problem import Chosen, Meetings, Pin, Problem, Weights
from pairing.solve.search import solve
from pairing.solve.stage import Infeasible

STEP = 4  # seconds between cut points, and between hand-overs
NAN = float("nan")


def tiny(seed: int, *, seconds: int = 20, tracks: int = 3, silence: bool = False, **more: object) -> Problem:
    """A class of half a minute and tracks of 12 to 24 seconds; every term of the objective counts in it."""
    rng = np.random.default_rng(seed)
    curves = [rng.uniform(0, 1, int(length)) for length in rng.choice([12, 16, 20, 24], tracks)]
    target = np.repeat(rng.uniform(0, 1, seconds // STEP), STEP)
    if silence:
        target[12:16] = NAN
    change = np.full(seconds + 1, np.inf)
    change[::STEP] = rng.uniform(0.2, 1, len(change[::STEP]))
    length = np.concatenate((np.full(STEP, np.inf), np.linspace(0.5, 0, seconds + 1 - STEP)))
    at = [
        np.arange(number % STEP, len(curve) + 1, STEP) for number, curve in enumerate(curves)
    ]  # on grids of their own
    problem = arrays.problem(
        curves,
        target,
        enter_at=at,
        leave_at=at,
        enter_cost=[rng.uniform(0, 1, len(each)) for each in at],
        leave_cost=[rng.uniform(0, 1, len(each)) for each in at],
        change_cost=change,
        length_cost=length,
        weight=rng.uniform(0.5, 3, seconds),
        over=rng.uniform(1, 2, seconds),
        zone=np.repeat([0, 1], [seconds - 8, 8]),
        zone_cost=np.vstack((np.zeros(tracks), np.where(np.arange(tracks) == 0, np.inf, rng.uniform(0, 0.1, tracks)))),
        track_cost=rng.uniform(0, 0.4, tracks),
        tempo_bpm=np.array([100.0, 118.0, NAN, 204.0, 90.0][:tracks]),
        key=np.array([0, 9 + 12, 7, -1, 2 + 12][:tracks]),
        artist=np.array([0, 1, 1, -1, 0][:tracks]),
        twins=((0, 4, 4),),
        meetings=Meetings.of([(5, 0, 1.0), (10, 0, 0.5)]),
        apart=rng.uniform(0, 1, (1, sum(map(len, curves)))),
        weights=Weights(),
    )
    return replace(problem, **more)  # type: ignore[arg-type]


CIRCLE = {0: 0, 7: 1, 2: 2, 9 + 12: 0, 2 + 12: -1}  # fifths up from C major; A minor beside it, D minor beside F


def cost_by_hand(problem: Problem, chain: tuple[Chosen, ...]) -> float:
    """What a chain costs; each term in a loop, from its words in `Weights`."""
    weights, total, squares, heard = problem.weights, 0.0, {}, {}
    for pick in chain:
        first = int(problem.offset[pick.track])
        for second in range(pick.start, pick.end):
            energy = float(problem.energy[first + pick.enter + second - pick.start])
            heard[second] = energy
            squares[second] = (energy - float(problem.target[second])) ** 2
            over = float(problem.over[second]) if energy > problem.target[second] else 1.0
            total += weights.error * float(problem.weight[second]) * over * squares[second]
            total += float(problem.zone_cost[problem.zone[second], pick.track])
        for table, at, cost in (("enter", pick.enter, 0), ("leave", pick.enter + pick.end - pick.start, 0)):
            begin = int(getattr(problem, f"{table}_offset")[pick.track])
            total += weights.trim * float(getattr(problem, f"{table}_cost")[begin + at // STEP]) + cost
        total += weights.clip * float(problem.length_cost[pick.end - pick.start]) + float(
            problem.track_cost[pick.track]
        )
        music_begins = pick.start == 0 or math.isnan(problem.target[pick.start - 1])
        total += 0.0 if music_begins else weights.change * float(problem.change_cost[pick.start])
        for second, row, weight in zip(problem.meetings.second, problem.meetings.row, problem.meetings.weight):
            if pick.start <= second < pick.end:
                total += weights.meeting * weight * float(problem.apart[row, first + pick.enter + second - pick.start])
    for one, two in zip(chain, chain[1:]):
        if one.end != two.start:
            continue
        fast, slow = problem.tempo_bpm[one.track], problem.tempo_bpm[two.track]
        ratios = [abs(math.log(fast / slow * octave)) for octave in (0.25, 0.5, 1, 2, 4)]
        total += weights.tempo_step * (min(ratios) > math.log(1.12))
        keys = [int(problem.key[each.track]) for each in (one, two)]
        if min(keys) >= 0:
            away = (CIRCLE[keys[0]] - CIRCLE[keys[1]]) % 12
            total += weights.key_step * min(away, 12 - away) / 6
        artists = [problem.artist[each.track] for each in (one, two)]
        total += weights.same_artist * (one.track == two.track or (artists[0] == artists[1] >= 0))
    total += weights.repeat * (len(chain) - len({pick.track for pick in chain}))
    for one, two, length in problem.twins:
        total += weights.twin * sum((heard[one + at] - heard[two + at]) ** 2 for at in range(length))
    windows = [
        [squares[at] for at in range(first, first + 8)]
        for first in squares
        if all(first + at in squares for at in range(8))
    ]
    runs = [[first] for first in squares if first - 1 not in squares]
    for run in runs:
        while run[-1] + 1 in squares:
            run.append(run[-1] + 1)
        if len(run) < 8:
            windows.append([squares[at] for at in run])
    return total + weights.worst_window * max(sum(window) / len(window) for window in windows)


def chains(problem: Problem, at: int = 0, used: tuple[Chosen, ...] = ()) -> Iterator[tuple[Chosen, ...]]:
    """All chains of tracks, each once unless repeats are allowed, that cover the class; by trying."""
    seconds = len(problem.target)
    while at < seconds and math.isnan(problem.target[at]):
        at += 1
    if at == seconds:
        yield used
        return
    for track in range(len(problem.track_cost)):
        if not problem.allow_repeats and track in {pick.track for pick in used}:
            continue
        length = int(problem.offset[track + 1] - problem.offset[track])
        for enter in range(track % STEP, length, STEP):
            for end in range(at + STEP, min(at + length - enter, seconds) + 1, STEP):
                if any(math.isnan(problem.target[second]) for second in range(at, end)):
                    break
                if not np.isfinite(problem.zone_cost[problem.zone[at:end], track]).all():
                    break
                yield from chains(problem, end, (*used, Chosen(track, at, end, enter)))


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("silence", [False, True])
def test_every_chain_costs_what_it_does_by_hand(seed: int, silence: bool) -> None:
    problem = tiny(seed, silence=silence)
    rng = np.random.default_rng(seed)
    found = list(chains(problem))
    assert len(found) > 100
    for which in rng.choice(len(found), 20, replace=False):
        assert violations(problem, found[which]) == []
        assert sum(evaluate(problem, found[which]).values()) == pytest.approx(
            cost_by_hand(problem, found[which]), rel=1e-5
        )


@pytest.mark.parametrize("seed", range(4))
def test_the_answer_is_the_best_of_all_chains_and_its_bound_below_it(seed: int) -> None:
    problem = tiny(seed, silence=seed % 2 == 1)
    best = min((cost_by_hand(problem, chain) for chain in chains(problem)), default=None)
    if best is None:
        with pytest.raises(Infeasible):
            solve(problem)
        return
    answer = solve(problem)
    assert answer.bound <= best * (1 + 1e-4)
    assert answer.cost == pytest.approx(best, rel=1e-4)


@pytest.mark.parametrize("seed", [2, 3])
def test_pins_borders_and_repeats_hold_in_the_best_chain_too(seed: int) -> None:
    plain = tiny(seed)
    for problem in (
        replace(tiny(seed, seconds=12, tracks=2), allow_repeats=True, weights=Weights(repeat=0.5)),
        replace(plain, must_change=np.array([12])),
        replace(plain, pins=(Pin(1, 8, 16, None),)),
        replace(plain, pins=(Pin(2, 4, None, 6),)),
    ):
        allowed = [chain for chain in chains(problem) if not violations(problem, chain)]
        costs = [cost_by_hand(problem, chain) for chain in allowed]
        if not costs:
            with pytest.raises(Infeasible):
                solve(problem)
            continue
        answer = solve(problem)
        assert violations(problem, answer.chosen) == []
        assert answer.bound <= min(costs) * (1 + 1e-4)
        assert answer.cost == pytest.approx(min(costs), rel=1e-3)


@pytest.mark.parametrize("seed", range(2))
def test_what_could_stand_there_instead_is_the_best_of_each_track(seed: int) -> None:
    problem = tiny(seed, tracks=5)
    answer = solve(problem)
    at = len(answer.chosen) // 2
    for other in alternatives(problem, answer, at, limit=9):
        assert sum(evaluate(problem, other.chosen).values()) == pytest.approx(
            cost_by_hand(problem, other.chosen), rel=1e-5
        )
        assert other.cost_change == pytest.approx(cost_by_hand(problem, other.chosen) - answer.cost, abs=1e-4)


def test_every_broken_rule_is_named() -> None:
    problem = replace(tiny(1), must_change=np.array([8]))
    chain = next(chain for chain in chains(tiny(1)) if len(chain) >= 3 and chain[0].end == 8)
    assert violations(problem, chain) == []
    last = chain[-1]
    for broken, words in [
        (chain[:-1], "is covered 0 times"),
        ((*chain, last), "is covered 2 times"),
        ((*chain[:-1], replace(last, end=last.end + 1)), "isn't inside the class"),
        ((replace(chain[0], end=12), replace(chain[1], start=12), *chain[2:]), "no track starts at second 8"),
    ]:
        assert any(words in said for said in violations(problem, broken)), words


def test_a_cut_costs_what_its_table_says_and_cannot_be_where_it_has_none() -> None:
    problem = tiny(2)
    rng = np.random.default_rng(1)
    track, second = rng.integers(0, 3, 200), rng.integers(-3, 30, 200)
    costs = cut_costs(problem.enter_at, problem.enter_cost, problem.enter_offset, track, second)
    for owner, at, cost in zip(track, second, costs):
        rows = range(problem.enter_offset[owner], problem.enter_offset[owner + 1])
        known = {int(problem.enter_at[row]): float(problem.enter_cost[row]) for row in rows}
        assert cost == pytest.approx(known.get(int(at), np.inf))
