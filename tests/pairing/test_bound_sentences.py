"""What the set says of the closest there is: chains that mind nothing but energy try to beat it."""

from dataclasses import replace

import numpy as np
import pytest
import solve_instances as instances

from pairing.solve.bound import energy_bound
from pairing.solve.candidates import only
from pairing.solve.costs import played, squared_errors
from pairing.solve.problem import ENERGY_ALONE, Problem
from pairing.solve.search import solve

ROUNDED = 0.005  # half a point of energy: what a figure in whole points may hide


def rmse(problem: Problem, of: Problem) -> float:
    """Of the best chain that is found where nothing but energy counts."""
    flat = replace(problem, weight=np.ones_like(problem.weight), over=np.ones_like(problem.over), weights=ENERGY_ALONE)
    errors = squared_errors(of, played(of, solve(flat).chosen))
    return float(np.sqrt(errors.sum() / np.count_nonzero(~np.isnan(of.target))))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_no_chain_under_the_rules_of_the_set_comes_closer(seed: int) -> None:
    problem = instances.full(seed, 40, 1800)
    assert rmse(problem, problem) >= energy_bound(problem) - 1e-6


def test_in_a_large_library_no_other_tracks_come_noticeably_closer() -> None:
    problem = instances.energy_only(5, 500, 1800)
    bound = energy_bound(problem)
    rng = np.random.default_rng(5)
    for _ in range(4):
        some = np.sort(rng.choice(500, 240, replace=False))
        part = only(problem, some)
        part = replace(part, track_cost=np.where(np.isin(np.arange(500), some), 0.0, np.inf).astype(np.float32))
        assert rmse(part, problem) >= bound - ROUNDED
    assert rmse(problem, problem) >= bound - ROUNDED
