"""A class is refused only where no set exists, or in words that don't claim it."""

import invented_music
import numpy as np
import pytest
from invented_music import USUAL, track
from random_orders import chain_by_chance, scarce_case, widest_task

from audio.track import Track
from pairing.alignment import supply
from pairing.alignment.task import build
from pairing.errors import NotEnoughMusic
from pairing.model import PairOptions, SetList, Wishes
from pairing.sets.pair import pair
from pairing.solve.costs import violations
from pairing.solve.orders import by_orders, most_useful

LONG = tuple((name, kind, 1.45 * seconds, energy) for name, kind, seconds, energy in USUAL)  # 57 minutes


def paired(tracks: list[Track], wishes: dict[str, Wishes] | None = None, *, repeats: bool = False) -> SetList:
    table = invented_music.timetable(LONG, wishes)
    options = PairOptions(allow_repeats=repeats)
    return pair(invented_music.plan(), table, invented_music.arc(table, LONG), tracks, options)


SUNG = [track(n, 0.1 + 0.04 * n, 226.0, voice=((10, 200),) if n > 5 else ()) for n in range(20)]
RESTLESS = [track(n, 0.1 + 0.05 * n, 226.0, marks={"rest": "never"} if n else {}) for n in range(20)]
REFUSED: list[tuple[list[Track], dict[str, Wishes], str]] = [
    (
        [track(n, 0.2 + 0.1 * n, 30.0) for n in range(5)],
        {},
        r"needs 57 minutes of music; you have 2.5 minutes \(5 tracks\): 55 minutes too little",
    ),
    ([track(1, 0.5, 7200.0)], {}, r"at least 2 tracks, one up to the rest .* you have 1 track\."),
    (
        [track(n, 0.1 + 0.08 * n, 186.0) for n in range(10)],
        {},
        r"needs 57 minutes of music; you have 31 minutes \(10 tracks\): 26 minutes too little",
    ),
    (RESTLESS, {}, r"Float \(rest\) needs 8.7 minutes .* fit for a rest; .* 3.8 minutes \(1 track\): 5.0 minutes too"),
    (SUNG, {"Tide": Wishes(no_voice=True)}, r"Tide \(flow\) and Float \(rest\) need 26 minutes .*: 3.1 minutes too"),
]


@pytest.mark.parametrize(("tracks", "wishes", "said"), REFUSED)
def test_what_a_sum_rules_out_is_refused_with_the_sum(
    tracks: list[Track], wishes: dict[str, Wishes], said: str
) -> None:
    with pytest.raises(NotEnoughMusic, match=said):
        paired(tracks, wishes)


def test_one_long_file_fills_a_class_up_to_its_rest() -> None:
    setlist = paired([track(1, 0.5, 3300.0), track(2, 0.1, 800.0)])
    assert len(setlist.picks) == 2


@pytest.mark.parametrize("seconds", [7200.0, 900.0])
def test_one_file_that_may_come_again_is_no_reason_to_refuse(seconds: float) -> None:
    setlist = paired([track(1, 0.3, seconds)], repeats=True)
    assert setlist.rest is not None
    assert setlist.picks[-1].class_end_s == pytest.approx(setlist.class_s)
    assert any(pick.class_start_s == pytest.approx(setlist.rest.start_s) for pick in setlist.picks)


def test_scraps_are_played_where_there_is_nothing_else() -> None:
    setlist = paired([track(n, 0.2 + 0.1 * n, 30.0) for n in range(5)], repeats=True)
    assert max(pick.class_end_s - pick.class_start_s for pick in setlist.picks) <= 30


@pytest.mark.parametrize("first", [0, 10])
def test_where_chance_finds_a_set_the_constructor_finds_one(first: int) -> None:
    for seed in range(first, first + 6):
        problem = widest_task(*scarce_case(seed, most=25)).problem
        placed = by_orders(problem, most_useful(problem))
        if placed.bare:
            assert chain_by_chance(problem, 12, seed) is None
        else:
            assert not violations(problem, placed.chosen)


@pytest.mark.parametrize("seed", range(6))
def test_what_a_sum_rules_out_chance_does_not_find(seed: int) -> None:
    task = widest_task(*scarce_case(100 + seed, most=12))
    try:
        supply.require(task)
    except NotEnoughMusic as refusal:
        assert "too little" in str(refusal) or "at least" in str(refusal) or "none" in str(refusal)  # noqa: PT017
        assert chain_by_chance(task.problem, 40, seed) is None


def test_a_set_is_found_where_the_beam_runs_out_of_tracks() -> None:
    # Refused once, though random orders found a set at the first try.
    plan, table, arc, tracks, options = scarce_case(22)
    setlist = pair(plan, table, arc, tracks, options)
    assert np.isfinite(setlist.fit.gap)


def test_what_is_not_found_is_not_called_impossible() -> None:
    tracks = [track(n, 0.1 + 0.1 * n, 305.0) for n in range(8)]
    table = invented_music.timetable(USUAL)
    with pytest.raises(NotEnoughMusic, match=r"no way was found .* The nearest try left .* without music"):
        pair(invented_music.plan(), table, invented_music.arc(table), tracks, PairOptions())


def test_tracks_too_short_to_be_played_count_for_nothing() -> None:
    # The whole search was once made without clips first, though the rest can be filled by nothing else.
    lively = [track(n, 0.3 + 0.01 * n, 240.0, calm=False) for n in range(50)]
    calm = [track(100 + n, 0.12, 80.0) for n in range(8)]
    table = invented_music.timetable(USUAL)
    what = (invented_music.plan(), table, invented_music.arc(table), [*lively, *calm], PairOptions())
    widest = widest_task(*what)
    whole = build(widest.frame, widest.tracks, widest.frame.arc, PairOptions())
    with pytest.raises(NotEnoughMusic, match=r"Float \(rest\) needs 6.0 minutes .* tracks too short to be played"):
        supply.require(whole)
    assert chain_by_chance(whole.problem, 40, 0) is None
    assert any(pick.class_end_s - pick.class_start_s < 90 for pick in pair(*what).picks)
