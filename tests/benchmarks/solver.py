"""How near the solver comes to the optimum, energy alone, and what it costs as the library grows.

    python tests/benchmarks/solver.py [--full] [--tracks 15,60,...] [--seeds N]

Each instance is an hour, hand-overs each 4 s, cuts each 8 s, no track for less than 64 s (tests/pairing/solve_instances).
The cost is compared with a bound that is proven for the whole library: the shortlist's priced one, after all other
tracks were shown not to lower it (column generation: Dantzig, Wolfe, Operations Research 8(1), 1960, from memory). With
`--exact`, and always up to 60 tracks, HiGHS then solves the integer program of the picks that this bound leaves, and the
cost is compared with the optimum, or with HiGHS's bound where it isn't done in time. Times are CPU, imports and
compiling left out. `--full` adds 100,000 tracks and more seeds.
"""

import argparse
import statistics
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from audio.arrays import F32, F64, I64

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "pairing"))

import solve_instances as instances

from pairing.solve import tables as tabled
from pairing.solve.candidates import rate_tracks, shortlist
from pairing.solve.grid import Grid, grid
from pairing.solve.picks import pin_picks
from pairing.solve.prices import ascend
from pairing.solve.problem import Answer, Problem
from pairing.solve.search import solve
from pairing.solve.stage import Infeasible, first_prices, lay_out

SEEDS = {15: 6, 20: 4, 60: 4, 200: 3, 500: 3, 1000: 3, 2000: 3, 10_000: 2}
FULL = {15: 20, 20: 10, 60: 10, 200: 10, 500: 10, 1000: 10, 2000: 10, 10_000: 5, 100_000: 2}
ROUNDS, JOINING = 12, 400  # of tracks that lower the bound and join the shortlist
EXACT, EXACT_S = 60, 60.0  # tracks up to which HiGHS is always asked, and for how long
MOST_PICKS = 300_000


def whole_bound(problem: Problem, cost: float, *, exact: bool) -> float | None:
    """A lower bound over all tracks, or the optimum; None if none is proven in some rounds."""
    problem = replace(problem, allow_repeats=True)  # so that least costs by node alone prove something
    laid, short = grid(problem), shortlist(problem)
    tracks, price = short.tracks, first_prices(short)
    for round_ in range(ROUNDS):
        if round_ < 2:
            stage = lay_out(problem, laid, tracks, price, 100_000)
            price = ascend(stage.graph, price, goal=cost, steps=300, dearest=np.inf).price
        total, others, rating = other_tracks(problem, laid, tracks, price)
        paid = float(price.sum())
        lower = np.flatnonzero(rating < total * (1 - 1e-5))
        if not len(lower):
            if not exact:
                return total - paid
            possible = np.union1d(tracks, others[rating < cost + paid])
            every = np.zeros(len(possible))
            every[np.searchsorted(possible, tracks)] = price
            return max(total - paid, by_highs(problem, laid, possible, every, cost))
        joining = others[lower[np.argsort(rating[lower], kind="stable")[:JOINING]]]
        both = np.concatenate((tracks, joining))
        order = np.argsort(both)
        tracks, price = both[order], np.concatenate((price, np.zeros(len(joining))))[order]
    return None


def other_tracks(problem: Problem, laid: Grid, tracks: I64, price: F64) -> tuple[float, I64, F32]:
    """Least priced cost with these tracks, all others, and what a chain with each of them costs at least."""
    nodes = laid.nodes + 1
    table = tabled.priced(problem, laid, tracks, price)
    cover = tabled.least(problem, table, tracks, pin_picks(problem, laid, len(tracks)))
    to, onward = (side.min(axis=0)[:nodes].astype(np.float64) for side in (cover.ready, cover.behind))
    to[-1] = onward[0] = cover.total
    # Both are potentials of the shortlist's picks, and so is their mean, which wrongs fewer of the others. Nothing
    # ends at the nodes so near the start that no chain gets there, nor starts so near the end.
    reached = np.isfinite(to) & np.isfinite(onward)
    potential = (np.where(reached, to, 0.0) + cover.total - np.where(reached, onward, 0.0)) / 2
    ready = np.where(reached, potential + laid.change, np.inf).astype(np.float32)
    behind = np.where(reached, cover.total - potential, np.inf).astype(np.float32)
    others = np.setdiff1d(np.flatnonzero(np.isfinite(problem.track_cost)), tracks)
    if not len(others):
        return cover.total, others, np.empty(0, np.float32)
    return cover.total, others, rate_tracks(problem, laid, others, ready, behind, np.zeros(nodes, np.int64))[:, 0]


def by_highs(problem: Problem, laid: Grid, tracks: I64, price: F64, cost: float) -> float:
    """Least cost of a chain without repeats of the picks that can be in one of at most `cost`; or a bound on it."""
    stage = lay_out(problem, laid, tracks, price, MOST_PICKS, limit=cost * (1 + 1e-5))
    if stage.left_out < cost:
        return -np.inf
    picks = stage.graph.picks
    number = np.arange(len(picks.cost))
    ones = np.ones(len(number))
    flow = coo_array(
        (np.concatenate((ones, -ones)), (np.concatenate((picks.start, picks.end)), np.tile(number, 2))),
        shape=(laid.nodes + 1, len(number)),
    )
    uses = coo_array((ones, (picks.slot, number)), shape=(len(tracks), len(number)))
    ends = np.zeros(laid.nodes + 1)
    ends[0], ends[-1] = 1.0, -1.0
    found = milp(
        picks.cost,
        integrality=ones,
        bounds=Bounds(0, 1),
        options={"time_limit": EXACT_S, "mip_rel_gap": 1e-5},
        constraints=[LinearConstraint(flow.tocsr(), ends, ends), LinearConstraint(uses.tocsr(), -np.inf, 1.0)],
    )
    bound = found.mip_dual_bound
    return -np.inf if bound is None or not np.isfinite(bound) else float(bound)


def solved(problem: Problem) -> tuple[Answer, float]:
    """The answer and its CPU seconds."""
    start = time.process_time()
    answer = solve(problem)
    return answer, time.process_time() - start


def row(tracks: int, seeds: int, exact: bool) -> str:
    """One line of the table."""
    over, spent, unproven, refused = [], [], 0, 0
    for seed in range(1, seeds + 1):
        problem = instances.energy_only(seed, tracks)
        try:
            answer, seconds = solved(problem)
        except Infeasible:
            refused += 1
            continue
        spent.append(seconds)
        bound = whole_bound(problem, answer.cost, exact=exact or tracks <= EXACT)
        unproven += bound is None
        if bound is not None:
            over.append(100 * max(answer.cost / max(bound, answer.bound * (not answer.bound_is_of_shortlist)) - 1, 0.0))
    words = [f"{tracks:>8} {len(spent):>9}"]
    words.append(f"{statistics.median(over):>9.2f} {max(over):>8.2f}" if over else f"{'-':>9} {'-':>8}")
    words.append(f"{statistics.median(spent):>8.2f} {max(spent):>8.2f}" if spent else "")
    words.append(f"  {refused} too short" if refused else "")
    return " ".join(words) + (f"  {unproven} unproven" if unproven else "")


def main() -> None:
    """Print one row a size."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--full", action="store_true")
    asked.add_argument("--exact", action="store_true")
    asked.add_argument("--tracks", default="")
    asked.add_argument("--seeds", type=int, default=0)
    given = asked.parse_args()
    sizes = FULL if given.full else SEEDS
    solve(instances.energy_only(1, 20, 1200))
    print("  tracks instances  % over bound: median, worst  CPU s: median, worst")
    for tracks in [int(n) for n in given.tracks.split(",") if n] or sizes:
        print(row(tracks, given.seeds or sizes.get(tracks, 1), given.exact), flush=True)


if __name__ == "__main__":
    main()
