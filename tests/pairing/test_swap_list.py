"""What a list of replacements announces is what taking one gives."""

import dataclasses

import invented_music
import numpy as np
import pytest

from audio.track import Track
from pairing.model import PairOptions, SetList
from pairing.sets.pair import pair
from pairing.sets.swap import alternatives, swap


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
