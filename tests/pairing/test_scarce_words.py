"""Scarce music: long picks where tracks come again, and a track taken for another reason than its energy says so."""

import invented_music
import pytest
from invented_music import track
from random_orders import widest_task

from audio.track import Track
from pairing.model import PairOptions, SetList
from pairing.sets.pair import pair
from pairing.solve.problem import Weights


def paired(tracks: list[Track]) -> SetList:
    table = invented_music.timetable()
    return pair(invented_music.plan(), table, invented_music.arc(table), tracks, PairOptions())


@pytest.mark.parametrize("repeats", [True, False])
def test_where_tracks_come_again_long_picks_weigh_as_much_as_in_a_library_of_all_energies(repeats: bool) -> None:
    alike = [track(n, 0.42 + 0.01 * n, 200.0 + 10 * n, calm=n < 2) for n in range(8)]
    table, plain = invented_music.timetable(), Weights()
    options = PairOptions(allow_repeats=repeats)
    weights = widest_task(invented_music.plan(), table, invented_music.arc(table), alike, options).problem.weights
    assert weights.error > 2 * plain.error  # the arc had to be fitted into a narrow range
    for name in ("change", "trim", "clip", "repeat"):
        weighed = getattr(weights, name) / weights.error
        assert (weighed == pytest.approx(getattr(plain, name) / plain.error)) == repeats


def test_a_favourite_far_from_the_arc_is_told_with_what_it_brings() -> None:
    tracks = [track(n, 0.1, 240.0, calm=True) for n in range(1, 12)]
    tracks.append(track(20, 0.5, 300.0, marks={"favourite": "yes"}))
    whys = {pick.track_id: pick.why for pick in paired(tracks).picks}
    assert whys[20].startswith("your favourite, ")
    assert "follows the class loosely" not in whys[20]


def test_few_short_tracks_that_may_come_again_are_not_called_alike() -> None:
    """Five of 30 s from calm to driving, for 39 minutes: each comes again, the calm ones where it is calm."""
    tracks = [track(n, 0.1 + 0.15 * n, 30.0) for n in range(1, 6)]
    table = invented_music.timetable()
    made = pair(invented_music.plan(), table, invented_music.arc(table), tracks, PairOptions(allow_repeats=True))
    assert "tracks-alike" not in {finding.code for finding in made.findings}
    assert made.fit.correlation > 0.9
    assert len({pick.track_id for pick in made.picks}) == 5
