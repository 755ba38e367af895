"""The solver against optima found by others: HiGHS (scipy.optimize.milp), and trying every chain.

HiGHS: Huangfu, Hall, Parallelizing the dual revised simplex method, Mathematical Programming Computation 10, 2018.
"""

from dataclasses import replace

import numpy as np
import pytest
import solve_instances as instances
from scipy.optimize import Bounds, LinearConstraint, milp

from pairing.solve import arrays
from pairing.solve.bound import energy_bound
from pairing.solve.costs import evaluate, played
from pairing.solve.problem import Chosen, Problem
from pairing.solve.search import solve


def tiny(seed: int, tracks: int, seconds: int, *, shortest_s: int = 24) -> Problem:
    """A class of some minutes: hand-overs each 4 s, cuts each 8 s."""
    rng = np.random.default_rng(seed)
    library = instances.curves(rng, tracks, short_s=40, long_s=90)
    target, _ = instances.arc(rng, seconds)
    return arrays.problem(library, target, handover_s=4, cut_s=8, shortest_s=shortest_s)


def every_pick(problem: Problem) -> list[Chosen]:
    """All picks that the tables allow, by plain enumeration."""
    seconds = len(problem.target)
    return [
        Chosen(track, start, start + int(leave) - int(enter), int(enter))
        for track in range(len(problem.track_cost))
        for enter in problem.enter_at[problem.enter_offset[track] : problem.enter_offset[track + 1]]
        for leave in problem.leave_at[problem.leave_offset[track] : problem.leave_offset[track + 1]]
        for start in range(seconds)
        if leave > enter
        and start + leave - enter <= seconds
        and np.isfinite(problem.change_cost[start])
        and np.isfinite(problem.change_cost[start + leave - enter])
        and np.isfinite(problem.length_cost[leave - enter])
    ]


def squared_error(problem: Problem, pick: Chosen) -> float:
    """Its share of the error, second by second."""
    first = int(problem.offset[pick.track]) + pick.enter
    return sum(
        (float(problem.energy[first + k]) - float(problem.target[pick.start + k])) ** 2
        for k in range(pick.end - pick.start)
    )


def least_by_highs(problem: Problem) -> float:
    """Least squared error of a chain without repeats, as a flow through class seconds with one use a track."""
    picks = every_pick(problem)
    seconds, tracks = len(problem.target), len(problem.track_cost)
    flow = np.zeros((seconds + 1, len(picks)))
    uses = np.zeros((tracks, len(picks)))
    for n, pick in enumerate(picks):
        flow[pick.start, n] += 1
        flow[pick.end, n] -= 1
        uses[pick.track, n] = 1
    ends = np.zeros(seconds + 1)
    ends[0], ends[-1] = 1, -1
    found = milp(
        [squared_error(problem, pick) for pick in picks],
        integrality=np.ones(len(picks)),
        bounds=Bounds(0, 1),
        constraints=[LinearConstraint(flow, ends, ends), LinearConstraint(uses, -np.inf, np.ones(tracks))],
    )
    assert found.status == 0, found.message
    return float(found.fun)


@pytest.mark.parametrize(("seed", "tracks", "seconds"), [(1, 6, 200), (2, 8, 240), (3, 5, 160), (4, 10, 240)])
def test_energy_alone_is_solved_to_the_optimum_that_highs_proves(seed: int, tracks: int, seconds: int) -> None:
    problem = tiny(seed, tracks, seconds)
    least = least_by_highs(problem)
    answer = solve(problem)
    assert answer.bound <= least + 1e-4 * least
    assert least - 1e-4 * least <= answer.cost <= 1.04 * least  # the bar at worst; the median is 0 %
    assert energy_bound(problem) <= np.sqrt(least / seconds) + 1e-5


def every_chain(problem: Problem, picks: list[Chosen]) -> list[tuple[Chosen, ...]]:
    """All chains without repeats."""
    by_start: dict[int, list[Chosen]] = {}
    for pick in picks:
        by_start.setdefault(pick.start, []).append(pick)
    done, open_ = [], [()]
    while open_:
        chain = open_.pop()
        at = chain[-1].end if chain else 0
        if at == len(problem.target):
            done.append(chain)
            continue
        used = {pick.track for pick in chain}
        open_ += [(*chain, pick) for pick in by_start.get(at, []) if pick.track not in used]
    return done


@pytest.mark.parametrize("seed", [1, 2, 5])
def test_the_bound_lies_below_the_best_of_all_chains_and_the_answer_near_it(seed: int) -> None:
    """The whole objective, neighbours, worst window and twin sides included."""
    rng = np.random.default_rng(seed)
    problem = tiny(seed, 4, 112, shortest_s=40)
    change = np.full(113, np.inf)
    change[::8] = rng.choice([0.0, 0.5], 15)
    problem = replace(
        problem,
        change_cost=change.astype(np.float32),
        enter_cost=rng.choice([0.0, 0.5], len(problem.enter_at)).astype(np.float32),
        leave_cost=rng.choice([0.0, 0.5], len(problem.leave_at)).astype(np.float32),
        weight=rng.uniform(1.0, 3.0, 112).astype(np.float32),
        over=np.full(112, 2.0, dtype=np.float32),
        tempo_bpm=rng.uniform(60.0, 140.0, 4).astype(np.float32),
        key=rng.integers(-1, 24, 4),
        artist=np.array([0, 0, 1, 1]),
        twins=((16, 60, 40),),
        weights=type(problem.weights)(),
    )
    chains = every_chain(problem, every_pick(problem))
    costs = [sum(evaluate(problem, chain).values()) for chain in chains]
    errors = [np.sqrt(np.mean((played(problem, chain) - problem.target) ** 2)) for chain in chains]
    answer = solve(problem)
    assert answer.bound <= min(costs) * (1 + 1e-5)
    assert min(costs) - 1e-6 <= answer.cost <= 1.04 * min(costs)
    assert energy_bound(problem) <= min(errors) + 1e-5
