"""The dynamic programme over diagonals against the plainest one, which looks at every pick there is."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
import solve_instances as instances

from pairing.solve import tables as tabled
from pairing.solve.grid import Grid, grid
from pairing.solve.picks import pick_costs, pin_picks
from pairing.solve.problem import Pin, Problem

Found = dict[tuple[int, int, int], float]  # (slot, start, end): the least cost


def with_silence(problem: Problem) -> Problem:
    target = problem.target.copy()
    target[240:256] = np.nan
    return replace(problem, target=target)


def with_lengths(problem: Problem, cost: np.ndarray) -> Problem:
    return replace(problem, length_cost=np.resize(cost, len(problem.length_cost)).astype(np.float32))


SMALL = instances.full(5, 6, 480)
CLIPS = np.concatenate((np.full(20, np.inf), np.linspace(2, 0, 70), np.zeros(391)))
PROBLEMS = {
    "as it is": SMALL,
    "with a silence": with_silence(SMALL),
    "with pins": replace(SMALL, pins=(Pin(3, 150), Pin(5, 256, 268))),
    "with clips": with_lengths(SMALL, CLIPS),
    "with clips, pins and a silence": replace(with_lengths(with_silence(SMALL), CLIPS), pins=(Pin(5, 300),)),
    "with a longest pick": with_lengths(SMALL, np.where(np.arange(481) > 150, np.inf, CLIPS)),
    "energy alone": instances.energy_only(4, 8, 600, shortest_s=40),
}


def every_pick(problem: Problem, laid: Grid) -> Found:
    found: Found = {}
    for track in range(len(problem.track_cost)):
        if not np.isfinite(laid.track_cost[track]):
            continue
        for enter, nodes in cuts(problem, laid, track):
            start = np.arange(laid.nodes - nodes + 1)
            start = start[(laid.reach[laid.reach_row[track], start] >= start + nodes) & np.isfinite(laid.change[start])]
            one = np.ones(len(start), np.int64)
            cost = pick_costs(problem, laid, start, start + nodes, one * track, one * enter)
            for at, paid in zip(start.tolist(), cost.tolist(), strict=True):
                key = track, at, at + nodes
                found[key] = min(paid, found.get(key, np.inf))
    return found


def cuts(problem: Problem, laid: Grid, track: int) -> Iterator[tuple[int, int]]:
    """Second of the track and nodes of each pick that the lengths allow."""
    for enter in problem.enter_at[problem.enter_offset[track] : problem.enter_offset[track + 1]].tolist():
        for leave in problem.leave_at[problem.leave_offset[track] : problem.leave_offset[track + 1]].tolist():
            nodes = (leave - enter) // laid.step
            if (leave - enter) % laid.step == 0 and 0 < nodes <= laid.nodes and np.isfinite(laid.length[nodes]):
                yield enter, nodes


def cover(laid: Grid, picks: Found, pair: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Least cost up to each node, by the slot that comes next, and from each node on, by the slot before."""
    slots, nodes = len(pair), laid.nodes
    first, last = [stretch[0] for stretch in laid.stretch.tolist()], [stretch[1] for stretch in laid.stretch.tolist()]
    by_start: dict[int, list[tuple[int, int, float]]] = {}
    for (slot, start, end), cost in picks.items():
        by_start.setdefault(start, []).append((slot, end, cost))
    best, ready = (np.full((slots, nodes + 1), np.inf) for _ in range(2))
    for node in range(nodes):
        if node in first:
            at = first.index(node)
            ready[:, node] = 0.0 if at == 0 else met(best[:, last[at - 1]], np.where(np.isinf(pair), np.inf, 0.0))
        elif node not in last:
            ready[:, node] = met(best[:, node], pair)
        for slot, end, cost in by_start.get(node, []):
            best[slot, end] = min(best[slot, end], ready[slot, node] + cost)
    onward, behind = (np.full((slots, nodes + 1), np.inf) for _ in range(2))
    behind[:, nodes] = 0.0
    for node in range(nodes - 1, -1, -1):
        for slot, end, cost in by_start.get(node, []):
            onward[slot, node] = min(onward[slot, node], cost + behind[slot, end])
        if node in last:
            quiet = np.where(np.isinf(pair), np.inf, 0.0)
            behind[:, node] = met(onward[:, first[last.index(node) + 1]], quiet.T)
        elif node not in first[:1]:
            behind[:, node] = met(onward[:, node], pair.T)
    return ready, behind


def met(cost: np.ndarray, pair: np.ndarray) -> np.ndarray:
    return np.asarray((cost[:, None] + pair).min(axis=0))


@pytest.mark.parametrize("name", PROBLEMS)
def test_least_costs_and_picks_are_those_of_looking_at_every_pick(name: str) -> None:
    problem = PROBLEMS[name]
    laid = grid(problem)
    tracks = np.flatnonzero(np.isfinite(laid.track_cost))
    slots = np.concatenate((tracks, [pin.track for pin in problem.pins])).astype(np.int64)
    pins = pin_picks(problem, laid, len(tracks))
    table = tabled.tables(problem, laid, tracks)
    least = tabled.least(problem, table, slots, pins)
    assert np.isfinite(least.total)

    of_tracks = {(int(np.searchsorted(tracks, t)), s, e): cost for (t, s, e), cost in every_pick(problem, laid).items()}
    of_pins: Found = {}
    for slot, start, end, cost in zip(
        *(part.tolist() for part in (pins.slot, pins.start, pins.end, pins.cost)), strict=True
    ):
        of_pins[slot, start, end] = min(cost, of_pins.get((slot, start, end), np.inf))
    pair, _ = tabled.neighbour_table(problem, slots)
    ready, behind = cover(laid, {**of_tracks, **of_pins}, pair)
    starts = np.isfinite(laid.change)
    at = [start for start, _ in laid.stretch.tolist()]
    nodes = np.array([node for node in range(laid.nodes) if starts[node] and (node not in at or node == 0)])
    assert least.ready[:, nodes] == pytest.approx(ready[:, nodes], abs=2e-3)
    assert least.behind[:, nodes[1:]] == pytest.approx(behind[:, nodes[1:]], abs=2e-3)

    limit = least.total * 1.2
    found, _ = tabled.collect(table, least, 1_000_000, limit)
    kept = tabled.found_picks(problem, table, found, np.searchsorted(tracks, np.arange(len(problem.track_cost))))
    names = set(zip(kept.slot.tolist(), kept.start.tolist(), kept.end.tolist(), strict=True))
    through = {key: ready[key[0], key[1]] + cost + behind[key[0], key[2]] for key, cost in of_tracks.items()}
    assert {key for key, cost in through.items() if cost < limit - 0.01} <= names
    assert names <= {key for key, cost in through.items() if cost < limit + 0.01}
    few, left_out = tabled.collect(table, least, len(names) // 3, limit)
    assert len(few) <= len(names) // 3
    costs = sorted(cost for cost in through.values() if np.isfinite(cost))
    assert left_out == pytest.approx(costs[len(few)], abs=0.01)


def test_tables_in_the_room_of_former_ones_are_the_same_and_no_others_change() -> None:
    """Against tables in fresh memory."""
    laid, tracks = grid(SMALL), np.arange(6)
    fresh, few = tabled.tables(SMALL, laid, tracks), tabled.tables(SMALL, laid, tracks[:2])
    with tabled.one_room():
        former = tabled.tables(SMALL, laid, tracks[::-1].copy())
        former.sums[:] = np.nan
        former.done()
        again, beside = tabled.tables(SMALL, laid, tracks), tabled.tables(SMALL, laid, tracks[:2])
        assert np.shares_memory(former.sums, again.sums)
        assert not np.shares_memory(again.sums, beside.sums)
        assert np.array_equal(again.sums, fresh.sums)
        assert np.array_equal(beside.sums, few.sums)
    assert not np.shares_memory(tabled.tables(SMALL, laid, tracks).sums, again.sums)
