"""The same class with other music: for several groups, or next week."""

import invented_music
import numpy as np

from audio.track import Track
from pairing.alignment.recency import Use
from pairing.model import Kind, PairOptions, SetList
from pairing.sets.pair import pair

SHORT = (
    ("Arrive", Kind.OPENING, 150.0, 0.2),
    ("Tide", Kind.FLOW, 400.0, 0.6),
    ("Crest", Kind.PEAK, 180.0, 0.75),
    ("Float", Kind.REST, 200.0, 0.16),
)


def paired(
    tracks: list[Track], others: tuple[SetList, ...] = (), uses: tuple[Use, ...] = (), *, fresh: bool = False
) -> SetList:
    table = invented_music.timetable(SHORT)
    options = PairOptions(fresh=fresh)
    return pair(
        invented_music.plan(), table, invented_music.arc(table, SHORT), tracks, options, others=others, uses=uses
    )


def said(setlist: SetList, code: str) -> str:
    return next((finding.message for finding in setlist.findings if finding.code == code), "")


def test_three_groups_hear_three_sets_along_one_arc() -> None:
    tracks = invented_music.library(50)
    sets: tuple[SetList, ...] = ()
    for _ in range(3):
        sets = (*sets, paired(tracks, sets))
    played = [{pick.fingerprint for pick in each.picks} for each in sets]
    assert not played[0] & played[1]
    assert not (played[0] | played[1]) & played[2]
    for other in sets[1:]:
        np.testing.assert_array_equal(other.arc, sets[0].arc)
        np.testing.assert_array_equal(other.target_energy, sets[0].target_energy)
        assert other.fit.correlation > 0.8
        count = len({pick.fingerprint for pick in other.picks})
        assert said(other, "other-than") == f"{count} of {count} tracks are in none of the other classes."


def test_what_had_to_come_again_is_told() -> None:
    tracks = invented_music.library(9)
    first = paired(tracks)
    second = paired(tracks, (first,))
    again = {pick.title for pick in first.picks} & {pick.title for pick in second.picks}
    assert again
    assert all(f'"{title}"' in said(second, "other-than") for title in sorted(again)[:3])


def test_fresh_names_what_it_had_to_repeat() -> None:
    tracks = invented_music.library(9)
    uses = tuple(Use(track.fingerprint, 3.0) for track in tracks)
    assert "Heard in the last 4 weeks" in said(paired(tracks, uses=uses, fresh=True), "heard-lately")
    assert not said(paired(tracks, uses=uses), "heard-lately")
    old = tuple(Use(track.fingerprint, 60.0) for track in tracks)
    assert not said(paired(tracks, uses=old, fresh=True), "heard-lately")
