"""Parts of the solver beside the plainest loops there are: blocks summed up, every pick rated, every chain tried."""

import math
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import permutations

import numpy as np
import pytest
import solve_instances as instances
from test_objective_by_hand import STEP, chains, cost_by_hand, tiny
from test_solve_tables import cover, every_pick

from audio.arrays import F32
from pairing.solve import arrays, candidates, heard, orders, prices
from pairing.solve import tables as tabled
from pairing.solve.beam import search
from pairing.solve.bound import energy_bound
from pairing.solve.coarse import coarse
from pairing.solve.costs import evaluate, played, squared_errors, violations
from pairing.solve.graph import Graph, chosen
from pairing.solve.grid import Grid, grid
from pairing.solve.heard import HeardCost
from pairing.solve.picks import Picks
from pairing.solve.polish import alternatives
from pairing.solve.problem import ENERGY_ALONE, Answer, Chosen, Meetings, Pin, Problem, Weights
from pairing.solve.stage import Infeasible, check_pins, lay_out

SEEDS = range(3)


def cuts(problem: Problem, track: int, which: str) -> dict[int, float]:
    """Seconds at which a track can be entered or left, and what each costs."""
    rows = range(*getattr(problem, f"{which}_offset")[track : track + 2])
    return {
        int(getattr(problem, f"{which}_at")[row]): float(getattr(problem, f"{which}_cost")[row])
        for row in rows
        if math.isfinite(getattr(problem, f"{which}_cost")[row])
    }


# ---- a problem made coarse ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("seconds", [4, 5, 16])
@pytest.mark.parametrize("at_once", [1, 5_000])
def test_a_coarse_problem_has_sums_and_means_of_blocks(
    seconds: int, at_once: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pairing.solve.coarse.AT_ONCE", at_once)
    fine = tiny(3, seconds=36, silence=True, must_change=np.array([7, 29]), pins=(Pin(1, 10, 13, 6), Pin(2, 29)))
    thin, spread = coarse(fine, seconds)
    class_s = len(fine.target)
    blocks = [range(at, min(at + seconds, class_s)) for at in range(0, class_s, seconds)]
    for block, inside in enumerate(blocks):
        music = [second for second in inside if not math.isnan(fine.target[second])]
        middle = min(inside.start + seconds // 2, class_s - 1)
        assert thin.weight[block] == pytest.approx(sum(fine.weight[second] for second in music))
        assert thin.over[block] == fine.over[middle]
        assert thin.zone[block] == fine.zone[middle]
        if len(music) >= seconds / 2:
            assert thin.target[block] == pytest.approx(np.mean([fine.target[second] for second in music]))
        else:
            assert math.isnan(thin.target[block])
    assert {len(thin.target), len(thin.weight), len(thin.over), len(thin.zone)} == {len(blocks)}
    for border in range(len(blocks) + 1):
        around = [cost for second, cost in enumerate(fine.change_cost) if (second + seconds // 2) // seconds == border]
        assert thin.change_cost[border] == min(around, default=math.inf)
        assert thin.length_cost[border] == fine.length_cost[min(border * seconds, class_s)]
    assert thin.zone_cost == pytest.approx(seconds * fine.zone_cost)
    assert thin.must_change.tolist() == sorted({round(7 / seconds), round(29 / seconds)})
    assert [(pin.track, pin.start, pin.enter) for pin in thin.pins] == [
        (1, round(10 / seconds), round(6 / seconds)),
        (2, round(29 / seconds), None),
    ]
    assert [pin.end for pin in thin.pins] == [max(round(10 / seconds) + 1, round(13 / seconds)), None]
    for track in range(3):
        curve = fine.energy[fine.offset[track] : fine.offset[track + 1]]
        far = fine.apart[0, fine.offset[track] : fine.offset[track + 1]]
        at = int(thin.offset[track])
        for first in range(0, len(curve), seconds):
            assert thin.energy[at] == pytest.approx(curve[first : first + seconds].mean())
            assert spread[at] == pytest.approx(curve[first : first + seconds].var(), abs=1e-6)
            assert thin.apart[0, at] == pytest.approx(far[first : first + seconds].mean())
            at += 1
        assert at == thin.offset[track + 1]
        for which in ("enter", "leave"):
            least: dict[int, float] = {}
            for second, cost in cuts(fine, track, which).items():
                near = (second + seconds // 2) // seconds
                least[near] = min(cost, least.get(near, math.inf))
            assert cuts(thin, track, which) == pytest.approx(least)
    met = sorted((second // seconds, weight) for second, weight in ((5, 1.0), (10, 0.5)))
    assert sum(thin.meetings.weight) == pytest.approx(1.5)
    assert set(thin.meetings.second.tolist()) == {second for second, _ in met}
    assert (thin.twins, thin.meetings.row.tolist()) == ((), [0] * len(thin.meetings.second))


# ---- tracks rated ------------------------------------------------------------------------------------------------


def rated_by_hand(
    problem: Problem, laid: Grid, track: int, ready: F32, behind: F32, shortest: int, spread: F32
) -> dict[int, float]:
    """Least cost of a chain through a track by the node at which its pick ends, what its length costs left out."""
    best: dict[int, float] = {}
    first = int(problem.offset[track])
    for enter, into in cuts(problem, track, "enter").items():
        for leave, out in cuts(problem, track, "leave").items():
            long_s = leave - enter
            if long_s < shortest or long_s % laid.step:
                continue
            for start in range(laid.nodes + 1 - long_s // laid.step):
                end = start + long_s // laid.step
                total = float(ready[start] + behind[end] + problem.track_cost[track])
                total += problem.weights.trim * (into + out)
                for at in range(long_s):
                    node, phase, second = start + at // laid.step, at % laid.step, first + enter + at
                    if math.isnan(problem.target[laid.second(node) + phase]):
                        total = math.inf
                    error = float(problem.energy[second]) - float(laid.target[phase, node])
                    weight = float((laid.high if error > 0 else laid.low)[phase, node])
                    total += weight * (error**2 + float(spread[second]))
                    total += float(laid.slope[phase, node] * problem.energy[second])
                    total += float(problem.zone_cost[problem.zone[laid.second(node) + phase], track])
                    for moment, row, wanted in zip(
                        problem.meetings.second, problem.meetings.row, problem.meetings.weight
                    ):
                        if moment == laid.second(node) + phase:
                            total += problem.weights.meeting * float(wanted * problem.apart[row, second])
                if total < best.get(end, math.inf):
                    best[end] = total
    return best


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("seconds", [1, 2])
def test_each_track_is_rated_as_by_looking_at_all_its_picks(seed: int, seconds: int) -> None:
    fine = tiny(seed, seconds=40, tracks=4, silence=seed % 2 == 1)
    problem, spread = (fine, np.zeros(len(fine.energy), np.float32)) if seconds == 1 else coarse(fine, seconds)
    rng = np.random.default_rng(seed)
    more = HeardCost(rng.uniform(0, 2, len(problem.target)), rng.uniform(-1, 1, len(problem.target)), 0.0)
    laid = heard.on_grid(grid(problem, spread if seconds > 1 else None), more)
    ready, behind = (rng.uniform(0, 3, laid.nodes + 1).astype(np.float32) for _ in range(2))
    ready[rng.random(laid.nodes + 1) < 0.3] = np.inf
    bins = np.arange(laid.nodes + 1) // 3
    tracks = np.array([3, 1, 0, 2])
    rating = candidates.rate_tracks(problem, laid, tracks, ready, behind, bins)
    for row, track in enumerate(tracks):
        ends = rated_by_hand(problem, laid, int(track), ready, behind, STEP // seconds, spread)
        for bin_ in range(int(bins.max()) + 1):
            best = min((cost for end, cost in ends.items() if bins[end] == bin_), default=math.inf)
            assert rating[row, bin_] == pytest.approx(best, rel=1e-4), (track, bin_)


def test_the_best_of_each_minute_are_kept() -> None:
    rating = np.array([[1, 9], [2, 8], [3, 7], [np.inf, 6], [4, np.inf]], np.float32)
    assert candidates._best(rating, 2).tolist() == [0, 1, 2, 3]
    assert candidates._best(rating, 1).tolist() == [0, 3]
    assert candidates._best(rating, 9).tolist() == [0, 1, 2, 3, 4]
    assert candidates._best(np.full((3, 2), np.inf, np.float32), 2).tolist() == []


@pytest.mark.parametrize(("most", "kept"), [(12, range(12)), (6, range(0, 12, 2)), (5, range(0, 12, 3)), (1, [0])])
def test_a_sample_is_evenly_spread(most: int, kept: range) -> None:
    assert candidates._thinned(np.arange(12), most).tolist() == list(kept)


@pytest.mark.parametrize("too_many", [20_000, 9])
def test_the_tracks_that_suit_one_part_of_a_class_are_on_the_shortlist(
    too_many: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of many tracks as loud as nothing in the class, the two that lie on its target; others may not be used at all."""
    monkeypatch.setattr(candidates, "ALL", 4)
    monkeypatch.setattr(candidates, "MANY", 9)
    monkeypatch.setattr(candidates, "SAMPLE", 5)
    monkeypatch.setattr(candidates, "TOO_MANY", too_many)
    monkeypatch.setattr(candidates, "A_MINUTE_AGAIN", 8)
    monkeypatch.setattr(candidates, "A_MINUTE", 1)
    monkeypatch.setattr(candidates, "A_MINUTE_OF_MANY", 1)
    levels = [0.9, 0.8, 0.2, 0.95, 0.85, 0.6, 0.9, 0.8, 0.9, 0.85, 0.2, 0.6]
    cost = np.zeros(12)
    cost[10] = np.inf
    target = np.repeat([0.2, 0.6], 160)
    asked = arrays.problem([np.full(240, level) for level in levels], target, cut_s=16, track_cost=cost)
    asked = replace(asked, pins=(Pin(11, 0, 16),))
    short = candidates.shortlist(asked)
    assert {2, 5} <= set(short.tracks.tolist())
    assert not {10, 11} & set(short.tracks.tolist())
    assert not short.whole
    assert short.tracks.tolist() == sorted(short.tracks.tolist())
    sizes = np.diff(short.thin[0].offset)
    assert [track for track in range(12) if sizes[track]] == sorted([*short.tracks.tolist(), 11])


@pytest.mark.parametrize("seed", SEEDS)
def test_a_problem_of_some_tracks_costs_the_same_for_them(seed: int) -> None:
    problem = tiny(seed, tracks=4)
    few = candidates.only(problem, np.array([3]), (Chosen(1, 0, 4, 1),))
    assert np.flatnonzero(np.diff(few.offset)).tolist() == [1, 3]
    found = [chain for chain in chains(problem) if {pick.track for pick in chain} <= {1, 3}]
    assert {pick.track for chain in chains(few) for pick in chain} <= {1, 3}
    assert list(chains(few)) == found
    for chain in found[:5]:
        assert evaluate(few, chain) == pytest.approx(evaluate(problem, chain))
    bare = candidates.only(replace(problem, apart=np.zeros((0, 0), np.float32), meetings=Meetings.of()), np.array([0]))
    assert bare.apart.shape == (0, 0)


# ---- chains of picks ---------------------------------------------------------------------------------------------


def laid_out(problem: Problem) -> tuple[Grid, Graph]:
    """Every pick there is, as a graph."""
    laid = grid(problem)
    tracks = np.flatnonzero(np.isfinite(laid.track_cost))
    stage = lay_out(problem, laid, tracks, np.zeros(len(tracks) + len(problem.pins)), 100_000)
    return laid, stage.graph


def walks(graph: Graph, laid: Grid, node: int = 0, so_far: tuple[int, ...] = ()) -> Iterator[tuple[int, ...]]:
    """All chains of picks from the start to the end, none of a track after itself; by trying."""
    quiet = {int(end): int(start) for (_, end), (start, _) in zip(laid.stretch, laid.stretch[1:])}
    if node == laid.nodes:
        yield so_far
        return
    for pick in np.flatnonzero(graph.picks.start == quiet.get(node, node)).tolist():
        if not so_far or graph.picks.slot[so_far[-1]] != graph.picks.slot[pick]:
            yield from walks(graph, laid, int(graph.picks.end[pick]), (*so_far, pick))


def price_of(graph: Graph, walk: tuple[int, ...], price: np.ndarray) -> float:
    """What a chain costs with prices; neighbours count where one ends as the next starts."""
    picks = graph.picks
    total = sum(float(picks.cost[pick] + price[picks.slot[pick]]) for pick in walk)
    for one, two in zip(walk, walk[1:]):
        if picks.end[one] == picks.start[two]:
            total += float(graph.pair[picks.slot[one], picks.slot[two]])
    return total


GRAPHS = {
    "plain": {},
    "with a silence": {"silence": True},
    "with a pin": {"pins": (Pin(1, 8, 16, None),)},
    "with repeats": {"allow_repeats": True, "weights": Weights(repeat=0.4)},
    "with another seed": {"seed": 5, "tracks": 4},
}


@pytest.mark.parametrize("name", GRAPHS)
def test_priced_chains_are_the_least_of_all_chains(name: str) -> None:
    problem = tiny(**{"seed": 2} | GRAPHS[name])  # type: ignore[arg-type]
    laid, graph = laid_out(problem)
    rng = np.random.default_rng(1)
    every = [*walks(graph, laid)] if not problem.allow_repeats else [*repeating(graph, laid)]
    assert len(every) > 5
    for high in (0.0, 0.3, 3.0):
        price = rng.uniform(0, high, len(graph.slot_track))
        costs = {walk: price_of(graph, walk, price) for walk in every}
        value, chain = prices.least_chain(graph, price)
        assert value == pytest.approx(min(costs.values()) - price.sum())
        assert costs[tuple(chain.tolist())] == pytest.approx(min(costs.values()))
        slack = prices.slacks(graph, prices.priced(graph, price))
        for pick in range(len(graph.picks.start)):
            through = min((cost for walk, cost in costs.items() if pick in walk), default=math.inf)
            assert slack[pick] == pytest.approx(through - price.sum())


def repeating(graph: Graph, laid: Grid, node: int = 0, so_far: tuple[int, ...] = ()) -> Iterator[tuple[int, ...]]:
    if node == laid.nodes:
        yield so_far
        return
    for pick in np.flatnonzero(graph.picks.start == node).tolist():
        yield from repeating(graph, laid, int(graph.picks.end[pick]), (*so_far, pick))


@pytest.mark.parametrize("name", GRAPHS)
@pytest.mark.parametrize("width", [2000, 1])
def test_the_beam_finds_the_cheapest_chains_without_repeats(name: str, width: int) -> None:
    """Wide enough it finds the best of all, and never one that isn't there."""
    problem = tiny(**{"seed": 2} | GRAPHS[name])  # type: ignore[arg-type]
    laid, graph = laid_out(problem)
    repeats = problem.allow_repeats
    every = repeating(graph, laid) if repeats else walks(graph, laid)
    costs = {}
    for walk in every:
        slots = [int(graph.picks.slot[pick]) for pick in walk]
        again = len(slots) - len(set(slots))
        if repeats or not again:
            costs[chosen(graph, laid, np.array(walk))] = (
                price_of(graph, walk, np.zeros(len(graph.slot_track))) + problem.weights.repeat * again
            )
    limit = sorted(costs.values())[len(costs) // 2]
    priced = prices.priced(graph, np.full(len(graph.slot_track), 0.05))
    found = search(problem, laid, graph, priced, limit=limit, width=width, most=5)
    assert len(found) <= 5
    assert [costs[chain] for chain in found] == sorted(costs[chain] for chain in found)
    unused = 0.05 * len(graph.slot_track)  # a price is owed for what a chain doesn't use
    assert all(costs[chain] <= limit + unused for chain in found)
    assert not search(problem, laid, graph, priced, limit=min(costs.values()) - unused - 1e-6, width=width, most=5)
    if width > 1:
        assert costs[found[0]] == pytest.approx(min(costs.values()))


@pytest.mark.parametrize("seed", SEEDS)
def test_prices_rise_for_what_a_chain_repeats_and_fall_for_what_it_leaves_out(seed: int) -> None:
    _, graph = laid_out(tiny(seed))
    twice = np.flatnonzero(graph.picks.slot == 0)[:2]
    stepped = prices.step(graph, np.array([0.5, 0.0, 0.5]), twice, 0.2, np.inf)
    assert stepped == pytest.approx([0.6, 0.0, 0.4])  # slope (1, 0, -1): none below 0
    assert prices.step(graph, np.array([0.5, 0.0, 0.0]), twice, 9.0, 2.0) == pytest.approx([2.0, 0.0, 0.0])
    assert prices.step(graph, np.array([2.0, 0.0, 1.0]), twice, 0.5, 2.0) == pytest.approx([2.0, 0.0, 0.5])
    assert prices.step(graph, np.array([2.0, 0.0, 0.0]), twice, 0.5, 2.0).tolist() == [2.0, 0.0, 0.0]


# ---- orders of tracks --------------------------------------------------------------------------------------------


@cache
def order_by_hand(slots: orders._Slots, order: tuple[int, ...], node: int = 0, turn: int = 0) -> float:
    """Least cost of covering the class from a node on with the tracks left, each in its turn or not at all."""
    laid = slots.laid
    if node == laid.nodes:
        return 0.0
    best = slots.bare[node] + order_by_hand(slots, order, node + 1, turn)
    for pin in range(len(slots.pins.start)):
        if slots.pins.start[pin] == node:
            rest = order_by_hand(slots, order, int(slots.pins.end[pin]), turn)
            best = min(best, float(slots.pins.cost[pin]) + rest)
    for later in range(turn, len(order)):
        slot = order[later]
        for row in range(slots.length_offset[slot], slots.length_offset[slot + 1]):
            end = node + int(slots.length[row])
            if end <= laid.reach[laid.reach_row[slots.track[slot]], node]:
                own = slots.start[node] + slots.cost[row] + slots.level[slot, end] - slots.level[slot, node]
                best = min(best, float(own) + order_by_hand(slots, order, end, later + 1))
    return best


@pytest.mark.parametrize("more", [{}, {"silence": True}, {"pins": (Pin(1, 8, 16, None),)}])
def test_an_order_is_placed_at_the_least_cost_there_is(more: dict[str, object]) -> None:
    problem = tiny(2, seconds=24, **more)  # type: ignore[arg-type]
    tracks = orders.most_useful(problem)
    slots = orders._slots(problem, grid(problem), tracks)
    tried = orders._Tried(slots)
    for order in permutations(range(len(tracks))):
        tried.cost = np.inf
        tried.take(np.array(order))
        assert tried.cost == pytest.approx(order_by_hand(slots, order))
        placed = tried.placed()
        music = {second for pick in placed.chosen for second in range(pick.start, pick.end)}
        wanted = set(np.flatnonzero(~np.isnan(problem.target)).tolist())
        assert wanted - music == set(placed.bare)
        assert placed.bare or violations(problem, placed.chosen) == []


def test_what_an_order_is_placed_by_is_cuts_levels_and_zones() -> None:
    problem = tiny(4, seconds=24, weights=Weights(clip=0.9))
    laid = grid(problem)
    slots = orders._slots(problem, laid, np.array([0, 1, 2]))
    for track in range(3):
        best: dict[int, float] = {}
        for enter, into in cuts(problem, track, "enter").items():
            for leave, out in cuts(problem, track, "leave").items():
                nodes = (leave - enter) // STEP
                if 0 < nodes <= laid.nodes:
                    paid = 0.35 * (into + out) + 0.9 * float(problem.length_cost[leave - enter])
                    best[nodes] = min(best.get(nodes, math.inf), paid + float(problem.track_cost[track]))
        rows = slice(slots.length_offset[track], slots.length_offset[track + 1])
        found = dict(zip(slots.length[rows].tolist(), slots.cost[rows].tolist()))
        assert found == pytest.approx({nodes: cost for nodes, cost in best.items() if math.isfinite(cost)})
        mean = float(problem.energy[problem.offset[track] : problem.offset[track + 1]].mean())
        level = 0.0
        for second in range(24):
            assert slots.level[track, second // STEP] == pytest.approx(level, abs=1e-4) or second % STEP
            level += float(problem.weight[second]) * (mean - float(problem.target[second])) ** 2
            banned = problem.zone_cost[problem.zone[second], track]
            level += float(banned) if np.isfinite(banned) else 0.0
        assert slots.level[track, -1] == pytest.approx(level, abs=1e-4)


def test_the_most_useful_tracks_are_the_longest_of_each_zone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(orders, "MOST", 4)
    problem = tiny(1, tracks=6)
    lengths = np.diff(problem.offset)
    cost = problem.track_cost.copy()
    cost[5] = np.inf
    problem = replace(problem, track_cost=cost)
    kept = set()
    for zone in range(2):
        allowed = [track for track in range(5) if np.isfinite(problem.zone_cost[zone, track])]
        kept |= set(sorted(allowed, key=lambda track: -lengths[track])[:2])
    assert orders.most_useful(problem).tolist() == sorted(kept)
    monkeypatch.setattr(orders, "MOST", 5)
    assert orders.most_useful(problem).tolist() == [0, 1, 2, 3, 4]


def test_a_turn_is_moved_to_another() -> None:
    assert orders._moved(np.array([5, 6, 7, 8]), 0, 2).tolist() == [6, 7, 5, 8]
    assert orders._moved(np.array([5, 6, 7, 8]), 3, 1).tolist() == [5, 8, 6, 7]


# ---- prices of what is heard -------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_heard_costs_no_more_than_its_terms_and_as_much_where_it_touches_them(seed: int) -> None:
    """The worst window and the twins are convex: any price of what is heard lies below them (Lagrange)."""
    problem = replace(tiny(seed, silence=seed == 1), twins=((0, 4, 4), (3, 8, 3)))
    found = list(chains(problem))
    nothing = HeardCost(np.zeros(len(problem.target)), np.zeros(len(problem.target)), 0.0)

    def cost(price: HeardCost, chain: tuple[Chosen, ...]) -> float:
        curve = np.nan_to_num(played(problem, chain)).astype(np.float64)
        return float(price.square @ squared_errors(problem, played(problem, chain)) + price.slope @ curve) + (
            price.constant
        )

    def terms(chain: tuple[Chosen, ...]) -> float:
        worth = evaluate(problem, chain)
        return worth["worst window"] + worth["twins"]

    for chain in found[:: len(found) // 5]:
        curve = played(problem, chain).astype(np.float64)
        apart = [np.nan_to_num(curve[a : a + n] - curve[b : b + n]) for a, b, n in problem.twins]
        price = heard._towards(problem, nothing, squared_errors(problem, played(problem, chain)), apart)
        assert cost(price, chain) == pytest.approx(terms(chain), rel=1e-5)
        later = heard._towards(problem, price, squared_errors(problem, played(problem, found[0])), apart)
        assert later.square.sum() == pytest.approx(price.square.sum()) == problem.weights.worst_window
        for other in found[:: len(found) // 40]:
            assert cost(price, other) <= terms(other) + 1e-6
            assert cost(later, other) <= terms(other) + 1e-6


@pytest.mark.parametrize("seed", range(40))
def test_the_worst_window_is_the_first_of_the_largest_mean(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of four seconds, or of a stretch of music that is shorter; at the very start of one as anywhere."""
    monkeypatch.setattr(heard, "WINDOW_S", 4)
    dice = np.random.default_rng(seed)
    target = np.full(20, 0.5)
    target[dice.integers(0, 20, 2)] = np.nan
    problem, squares = arrays.problem([np.full(40, 0.5)], target), dice.integers(0, 6, 20).astype(float) ** 2
    squares[dice.integers(0, 20)] = 0.0
    windows = []
    for first in range(20):
        if np.isnan(target[first]):
            continue
        starts = first == 0 or np.isnan(target[first - 1])
        last = next((at for at in range(first, 20) if np.isnan(target[at])), 20)
        size = 4 if last - first >= 4 else last - first if starts else 0
        if size:
            windows.append((float(squares[first : first + size].mean()), -first, size))
    mean, first, size = max(windows)
    assert heard._worst(problem, squares) == (-first, size), mean


@pytest.mark.parametrize("seed", SEEDS)
def test_picks_carry_what_is_heard_in_their_seconds(seed: int) -> None:
    problem = tiny(seed, silence=seed == 1)
    laid, graph = laid_out(problem)
    rng = np.random.default_rng(seed)
    square, slope = rng.uniform(0, 1, len(problem.target)), rng.uniform(-1, 1, len(problem.target))
    square[:6], slope[:6] = 0, 0
    more = heard.with_heard(problem, laid, graph, HeardCost(square, slope, 0.0)).picks.cost - graph.picks.cost
    for pick, (start, end, slot, enter) in enumerate(
        zip(graph.picks.start, graph.picks.end, graph.picks.slot, graph.picks.enter_s)
    ):
        expected, first = 0.0, int(problem.offset[graph.slot_track[slot]] + enter)
        for second in range(laid.second(int(start)), laid.second(int(end))):
            energy = float(problem.energy[first + second - laid.second(int(start))])
            expected += square[second] * (energy - float(problem.target[second])) ** 2 + slope[second] * energy
        assert more[pick] == pytest.approx(expected, abs=1e-5)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_bound_with_what_is_heard_stays_below_every_chain(seed: int) -> None:
    problem = tiny(seed)
    laid, graph = laid_out(problem)
    best = min(cost_by_hand(problem, chain) for chain in chains(problem))
    _, _, bare = heard.ascend_heard(problem, laid, graph, np.zeros(3), goal=best, steps=1, dearest=np.inf)
    price, slot_prices, bound = heard.ascend_heard(
        problem, laid, graph, np.zeros(3), goal=best, steps=30, dearest=np.inf
    )
    assert bare < bound <= best * (1 + 1e-6)
    value, _ = prices.least_chain(heard.with_heard(problem, laid, graph, price), slot_prices)
    assert value + price.constant == pytest.approx(bound)


@pytest.mark.parametrize(
    ("worst_window", "twin", "twins", "counts"),
    [(4.0, 0.3, (), True), (0.0, 0.3, (), False), (0.0, 0.3, ((0, 4, 4),), True), (0.0, 0.0, ((0, 4, 4),), False)],
)
def test_what_is_heard_matters_where_its_terms_have_a_weight(
    worst_window: float, twin: float, twins: tuple[tuple[int, int, int], ...], counts: bool
) -> None:
    weights = Weights(worst_window=worst_window, twin=twin)
    assert heard.matters(replace(tiny(0), twins=twins, weights=weights)) == counts


# ---- other tracks for one place ----------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("slack_s", [0, 4])
def test_what_could_stand_at_a_place_is_the_best_way_to_put_each_track_there(seed: int, slack_s: int) -> None:
    """Of all chains that differ there alone, hand-overs moved by as much as is allowed; single picks' terms count."""
    problem = tiny(seed, tracks=4, weights=replace(Weights(), worst_window=0.0, twin=0.0))
    every = [chain for chain in chains(problem) if len(chain) == 3]
    base = every[len(every) // 2]
    answer = Answer(base, cost_by_hand(problem, base), 0.0, {}, (), bound_is_of_shortlist=False)
    for index in range(len(base)):
        best: dict[int, float] = {}
        for chain in every:
            if differs_only(problem, base, chain, index, slack_s):
                track = chain[index].track
                best[track] = min(best.get(track, math.inf), cost_by_hand(problem, chain))
        found = alternatives(problem, answer, index, limit=9, slack_s=slack_s)
        assert {one.track for one in found} == set(best)
        for one in found:
            assert one.cost_change == pytest.approx(best[one.track] - answer.cost, abs=1e-3)
            assert differs_only(problem, base, one.chosen, index, slack_s)
        assert [one.cost_change for one in found] == sorted(one.cost_change for one in found)
        if found:
            assert alternatives(problem, answer, index, limit=1, slack_s=slack_s)[0].track == found[0].track
            (alone,) = alternatives(problem, answer, index, slack_s=slack_s, alone=found[-1].track)
            assert alone.cost_change == pytest.approx(found[-1].cost_change, abs=1e-4)
        least_s = base[index].end - base[index].start + 1
        for longer in alternatives(problem, answer, index, slack_s=slack_s, least_s=least_s):
            assert longer.chosen[index].end - longer.chosen[index].start >= least_s


def differs_only(problem: Problem, one: tuple[Chosen, ...], two: tuple[Chosen, ...], index: int, slack_s: int) -> bool:
    """Whether two chains differ in one pick and, by some seconds at most, in the hand-overs beside it."""
    for at, (mine, theirs) in enumerate(zip(one, two)):
        if at < index - 1 or at > index + 1:
            if mine != theirs:
                return False
        elif at == index - 1:
            if (mine.track, mine.start, mine.enter) != (theirs.track, theirs.start, theirs.enter):
                return False
        elif at == index + 1:
            left = mine.enter + mine.end - mine.start, theirs.enter + theirs.end - theirs.start
            if (mine.track, mine.end) != (theirs.track, theirs.end) or abs(left[0] - left[1]) > slack_s:
                return False
        elif mine.track == theirs.track:
            return False
    moved = abs(one[index].start - two[index].start), abs(one[index].end - two[index].end)
    return max(moved) <= slack_s


# ---- bounds and pins ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", SEEDS)
def test_the_least_error_of_energy_lies_below_that_of_every_chain(seed: int) -> None:
    problem = tiny(seed, silence=seed == 1)
    for counted in (slice(None), slice(4, 12)):
        roots = []
        for chain in chains(problem):
            squares = squared_errors(problem, played(problem, chain))[counted]
            seconds = np.count_nonzero(~np.isnan(problem.target[counted]))
            roots.append(math.sqrt(squares.sum() / seconds))
        assert 0.5 * min(roots) <= energy_bound(problem, counted) <= min(roots) * (1 + 1e-4)


def test_where_one_chain_is_possible_the_least_error_of_energy_is_its_own() -> None:
    curves = [np.linspace(0, 1, 8), np.linspace(0.3, 0.4, 12)]
    cost, zone_cost = np.array([0.7, 0.2]), np.array([[0.4, np.inf], [np.inf, 0.3]])
    problem = arrays.problem(
        curves,
        np.full(20, 0.5),
        cut_s=4,
        enter_at=[[0], [0]],
        leave_at=[[8], [12]],
        track_cost=cost,
        over=np.full(20, 3.0),
        weight=np.full(20, 2.0),
        zone=np.repeat([0, 1], [8, 12]),
        zone_cost=zone_cost,
        weights=Weights(),
    )
    heard_ = np.concatenate(curves)
    assert energy_bound(problem) == pytest.approx(math.sqrt(((heard_ - 0.5) ** 2).mean()), rel=1e-4)
    assert energy_bound(problem, slice(6, 20)) == pytest.approx(math.sqrt(((heard_[6:] - 0.5) ** 2).mean()), rel=1e-4)
    assert energy_bound(replace(problem, target=np.full(20, np.nan, np.float32))) == 0.0
    assert energy_bound(problem, slice(20, 20)) == 0.0


@pytest.mark.parametrize(
    ("pin", "second"),
    [
        (Pin(1, 14), 14),
        (Pin(1, -1), 0),
        (Pin(1, 20), 19),
        (Pin(1, 0, 19), 0),
        (Pin(1, 0, 40), 0),
        (Pin(1, 8, 12, 3), None),
    ],
)
def test_a_pin_that_cannot_be_kept_is_told_by_its_second(pin: Pin, second: int | None) -> None:
    problem = replace(tiny(2, silence=True), pins=(pin,))
    if second is None:
        check_pins(problem)
        return
    with pytest.raises(Infeasible) as told:
        check_pins(problem)
    assert (told.value.second, told.value.why, told.value.zone) == (second, "pin", int(problem.zone[second]))


# ---- how many picks are kept -------------------------------------------------------------------------------------


@pytest.mark.parametrize("most", [3, 30])
@pytest.mark.parametrize("bins", [50, 8192])
def test_the_picks_kept_are_those_of_the_cheapest_chains_however_they_are_guessed(
    most: int, bins: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    problem = instances.energy_only(4, 4, 240, shortest_s=40)
    laid = grid(problem)
    tracks = np.arange(4)
    table = tabled.tables(problem, laid, tracks)
    none = np.empty(0, np.int64)
    least = tabled.least(problem, table, tracks, Picks(none, none, none, none, np.empty(0)))
    assert tabled.least_total(problem, table, tracks, Picks(none, none, none, none, np.empty(0))) == least.total
    picks = every_pick(problem, laid)
    ready, behind = cover(laid, picks, tabled.neighbour_table(problem, tracks)[0])
    through = sorted(ready[slot, start] + cost + behind[slot, end] for (slot, start, end), cost in picks.items())
    monkeypatch.setattr(tabled, "SPARSE", 0)
    monkeypatch.setattr(tabled, "SAMPLED", 2)
    monkeypatch.setattr(tabled, "BINS", bins)
    found, limit = tabled.collect(table, least, most)
    kept = tabled.found_picks(problem, table, found, np.arange(4))
    assert len(found) == most
    assert limit == pytest.approx(through[most], abs=0.01)
    totals = sorted(
        ready[slot, start] + picks[slot, start, end] + behind[slot, end]
        for slot, start, end in zip(kept.slot.tolist(), kept.start.tolist(), kept.end.tolist())
    )
    assert totals == pytest.approx(through[: len(totals)], abs=0.01)


def test_energy_alone_weighs_nothing_else() -> None:
    others = {name: getattr(ENERGY_ALONE, name) for name in ENERGY_ALONE.__dataclass_fields__}
    assert others == {name: float(name == "error") for name in others}
