"""What a list of replacements announces is what taking one gives."""

import dataclasses

import invented_music
import numpy as np
import pytest

from audio.track import Track
from pairing.alignment import frame
from pairing.model import PairOptions, SetList
from pairing.sets.pair import pair
from pairing.sets.redo import on_grid, task_of
from pairing.sets.swap import alternatives, swap
from pairing.solve.costs import evaluate, violations
from pairing.solve.polish import SLACK_S
from pairing.solve.problem import Chosen


def small_class(tracks: list[Track]) -> SetList:
    table = invented_music.timetable()
    return pair(invented_music.plan(), table, invented_music.arc(table), tracks, PairOptions())


def times(setlist: SetList) -> list[tuple[float, ...]]:
    return [
        (each.track_id, each.class_start_s, each.class_end_s, each.track_start_s, each.fade_in_s, each.gain_db)
        for each in setlist.picks
    ]


def swapped_as_announced(setlist: SetList, tracks: list[Track], rng: np.random.Generator, steps: int) -> list[str]:
    """Random swaps, one on the other; gives what was otherwise than announced."""
    wrong = []
    for step in range(steps):
        n = int(rng.integers(1, len(setlist.picks) + 1))
        offered = alternatives(setlist, n, tracks)
        if not offered:
            continue
        taken = offered[int(rng.integers(len(offered)))]
        after = swap(setlist, n, taken.track.id, tracks)
        same = times(after) == times(taken.setlist) and after.fit == taken.setlist.fit
        if not same or len(after.previous) != len(taken.setlist.previous):
            wrong.append(f"step {step}: track {n} by {taken.track.id}")
        setlist = dataclasses.replace(after, previous=after.previous[-2:])
    return wrong


@pytest.mark.parametrize(("seed", "steps"), [(1, 12), (2, 33)])
def test_taking_what_was_offered_gives_just_that_set(seed: int, steps: int) -> None:
    tracks = invented_music.library(40, seed)
    assert not swapped_as_announced(small_class(tracks), tracks, np.random.default_rng(seed), steps)


def test_the_figures_are_of_the_set_as_it_is_now() -> None:
    tracks = invented_music.library(40)
    setlist = small_class(tracks)
    worst = alternatives(setlist, 3, tracks)[-1]
    assert worst.cost_change > 0
    assert worst.setlist.fit.gap > setlist.fit.gap
    back = swap(swap(setlist, 3, worst.track.id, tracks), 3, setlist.picks[2].track_id, tracks)
    assert back.fit == setlist.fit


def longer_by_hand(setlist: SetList, n: int, tracks: list[Track]) -> set[int]:
    """Numbers of tracks that can play in a place for at least 5 s longer, where only the track after is cut anew: each
    cut of each track is tried against the rules."""
    shape = frame.of_set(setlist)
    task, _ = task_of(setlist, shape, tracks, setlist.picks, [])
    problem, chain = task.problem, on_grid(task, setlist.picks)
    old, after = chain[n - 1 : n + 1]
    allowed = set(violations(problem, chain))
    used, found = {pick.track for pick in chain}, set()

    def cuts(at: np.ndarray, offset: np.ndarray, number: int) -> set[int]:
        return set(at[offset[number] : offset[number + 1]].tolist())

    for later in cuts(problem.enter_at, problem.enter_offset, after.track):
        if not 5 <= later - after.enter <= SLACK_S or old.end != after.start:
            continue
        end = old.end + later - after.enter
        beside = dataclasses.replace(after, start=end, enter=later)
        for number in set(range(len(tracks))) - used:
            leaves = cuts(problem.leave_at, problem.leave_offset, number)
            for enter in cuts(problem.enter_at, problem.enter_offset, number):
                if enter + end - old.start in leaves:
                    new = (*chain[: n - 1], Chosen(number, old.start, end, enter), beside, *chain[n + 1 :])
                    if set(violations(problem, new)) <= allowed and np.isfinite(sum(evaluate(problem, new).values())):
                        found.add(task.tracks[number].id)
    return found


@pytest.mark.parametrize("n", [1, 4, 6])
def test_no_way_to_play_longer_is_passed_over_and_taking_one_gives_what_was_offered(n: int) -> None:
    tracks = invented_music.library(16, 2)
    setlist = small_class(tracks)
    offered = alternatives(setlist, n, tracks, wish="longer", limit=16)
    assert longer_by_hand(setlist, n, tracks) <= {each.track.id for each in offered}
    lasts = setlist.picks[n - 1].class_end_s - setlist.picks[n - 1].class_start_s
    for each in offered[:3]:
        new = each.setlist.picks[n - 1]
        assert new.class_end_s - new.class_start_s > lasts
        assert times(swap(setlist, n, each.track.id, tracks, "longer")) == times(each.setlist)
