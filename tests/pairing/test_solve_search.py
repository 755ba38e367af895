"""What every answer of the solver keeps, whatever the library and the class."""

from dataclasses import replace

import numpy as np
import pytest
import solve_instances as instances
from hypothesis import given, settings
from hypothesis import strategies as st

from pairing.solve import rounds
from pairing.solve.costs import evaluate, violations
from pairing.solve.polish import alternatives
from pairing.solve.problem import Pin, Problem
from pairing.solve.search import solve
from pairing.solve.stage import Infeasible


def small(seed: int, tracks: int = 14) -> Problem:
    return instances.full(seed, tracks, 900)


@settings(max_examples=12, deadline=None)
@given(seed=st.integers(0, 10_000), tracks=st.integers(1, 25), silence=st.booleans())
def test_every_answer_keeps_every_rule(seed: int, tracks: int, silence: bool) -> None:
    problem = small(seed, tracks)
    if silence:
        target = problem.target.copy()
        target[400:430] = np.nan
        problem = replace(problem, target=target)
    try:
        answer = solve(problem)
    except Infeasible:
        return
    assert violations(problem, answer.chosen) == []
    assert answer.bound <= answer.cost == pytest.approx(sum(evaluate(problem, answer.chosen).values()))


def test_pins_and_exclusions_hold() -> None:
    problem = small(3)
    free = solve(problem)
    second = free.chosen[1]
    cost = problem.track_cost.copy()
    cost[free.chosen[0].track] = np.inf
    pinned = replace(problem, pins=(Pin(second.track, second.start, second.end, second.enter),), track_cost=cost)
    answer = solve(pinned)
    assert violations(pinned, answer.chosen) == []
    assert second in answer.chosen
    assert free.chosen[0].track not in {pick.track for pick in answer.chosen}


def test_a_pin_that_cannot_be_kept_is_named() -> None:
    with pytest.raises(Infeasible) as refused:
        solve(replace(small(3), pins=(Pin(0, 100, 890),)))
    assert (refused.value.why, refused.value.second) == ("pin", 100)


def test_the_same_problem_gives_the_same_answer() -> None:
    assert solve(small(4, 40)) == solve(small(4, 40))


def test_a_former_answer_is_never_made_worse() -> None:
    former = solve(small(5, 40))
    assert solve(small(5, 40), start=former).cost <= former.cost


def test_one_short_track_is_refused_unless_repeats_are_allowed() -> None:
    problem = instances.energy_only(1, 1, 896)
    with pytest.raises(Infeasible):
        solve(problem)
    repeated = replace(problem, allow_repeats=True)
    assert violations(repeated, solve(repeated).chosen) == []


def test_a_replacement_changes_one_pick_and_the_cuts_beside_it() -> None:
    problem = small(6, 40)
    answer = solve(problem)
    found = alternatives(problem, answer, 2, limit=5)
    assert found
    for one in found:
        assert violations(problem, one.chosen) == []
        assert sum(one.terms.values()) - answer.cost == pytest.approx(one.cost_change, abs=1e-6)
        changed = [n for n, (old, new) in enumerate(zip(answer.chosen, one.chosen, strict=True)) if old != new]
        assert set(changed) <= {1, 2, 3}
        assert [p.track for n, p in enumerate(one.chosen) if n != 2] == [
            p.track for n, p in enumerate(answer.chosen) if n != 2
        ]
    assert [one.cost_change for one in found] == sorted(one.cost_change for one in found)


def test_the_borders_of_a_pick_shorter_than_the_slack_do_not_pass_each_other() -> None:
    problem = small(6, 40)
    answer = solve(problem)
    for index in range(len(answer.chosen)):
        for one in alternatives(problem, answer, index, limit=3, slack_s=600):
            assert violations(problem, one.chosen) == []


def test_a_search_without_an_answer_yet_is_near_no_bound() -> None:
    """Or it would stop after its first round, and refuse a class that a longer search covers."""
    empty = rounds.BestChain((), np.inf, 0.0, None, np.zeros(0), 0.0)  # type: ignore[arg-type]
    assert not rounds.near(empty)
