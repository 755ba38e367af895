"""No voice where none may sound: over random libraries, classes and wishes, in every second that is heard."""

import invented_music
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_pair import assert_sound

from audio.track import Track
from pairing.errors import NotEnoughMusic
from pairing.model import Kind, PairOptions, SetList, Wishes
from pairing.sets.pair import pair

pytestmark = pytest.mark.slow

LEVELS = {
    Kind.OPENING: 0.2,
    Kind.WARM_UP: 0.4,
    Kind.FLOW: 0.6,
    Kind.PEAK: 0.8,
    Kind.COOL_DOWN: 0.35,
    Kind.REST: 0.15,
    Kind.CLOSING: 0.25,
}


def singing(rng: np.random.Generator, number: int, seed: int) -> Track:
    """A track that sings in some seconds, or not at all."""
    sung = [(int(at), int(at + rng.integers(1, 40))) for at in rng.integers(0, 300, rng.integers(0, 3))]
    level, length = float(rng.uniform(0.08, 0.9)), float(rng.uniform(60, 420))
    return invented_music.track(number, level, length, seed=seed, voice=sung if rng.random() < 0.6 else ())


def paired(seed: int, longest_s: float) -> tuple[SetList, list[Track], dict[str, Wishes]]:
    """A set of a random class, borders at fractions of a second included."""
    rng = np.random.default_rng(seed)
    kinds = [kind for kind in LEVELS if kind is Kind.REST or rng.random() < 0.7]
    shape = [
        (f"{kind} {n}", kind, round(float(rng.uniform(20, longest_s)), int(rng.integers(0, 3))) + 60, LEVELS[kind])
        for n, kind in enumerate(kinds)
    ]
    wishes = {name: Wishes(no_voice=True) for name, _, _, _ in shape if rng.random() < 0.4}
    tracks = [singing(rng, number, seed) for number in range(1, int(rng.integers(9, 45)))]
    table = invented_music.timetable(shape, wishes)
    around = invented_music.plan(before_s=120.5 if rng.random() < 0.3 else 0.0, after_s=60.0)
    return pair(around, table, invented_music.arc(table, shape), tracks, PairOptions()), tracks, wishes


def sung_where_forbidden(setlist: SetList, tracks: list[Track]) -> list[tuple[int, float]]:
    """(pick, class second) of every second with a voice, a part of which sounds where none may."""
    known = {track.id: track.analysis for track in tracks}
    rules = [rule for rule in setlist.frame.rules if rule.no_voice]
    found = []
    for pick in setlist.picks:
        analysis = known[pick.track_id]
        for second in np.flatnonzero(analysis.curves.voice >= 0.5).tolist():
            at = pick.class_start_s + second - pick.track_start_s
            first, last = max(at, pick.class_start_s), min(at + 1, pick.class_end_s)
            if any(min(last, rule.end_s) - max(first, rule.start_s) > 1e-3 for rule in rules):
                found.append((pick.n, at))
    return found


@settings(max_examples=6, deadline=None)
@given(seed=st.integers(0, 100_000))
def test_no_voice_is_heard_where_none_may_sound(seed: int) -> None:
    try:
        setlist, tracks, wishes = paired(seed, 200.0)
    except NotEnoughMusic:
        return
    assert sung_where_forbidden(setlist, tracks) == []
    assert_sound(setlist, tracks, wishes)


def test_a_library_that_sings_throughout_leaves_the_rest_without_music_and_says_so() -> None:
    table = invented_music.timetable()
    tracks = [invented_music.track(n, 0.02 * n, 300.0, voice=((20, 200),)) for n in range(5, 35)]
    with pytest.raises(NotEnoughMusic, match=r"Float \(rest\) needs 6.0 minutes of music without voice"):
        pair(invented_music.plan(), table, invented_music.arc(table), tracks, PairOptions())
    marked = [invented_music.track(40, 0.1, 400.0, voice=((20, 200),), marks={"rest": "yes"}), *tracks]
    setlist = pair(invented_music.plan(), table, invented_music.arc(table), marked, PairOptions())
    assert setlist.picks[-1].track_id == 40  # the teacher's word on a rest counts more


def test_lively_music_without_voice_goes_before_calm_music_that_sings() -> None:
    table = invented_music.timetable()
    sung = [invented_music.track(n, 0.15, 400.0, voice=((20, 200),)) for n in range(1, 4)]
    lively = [invented_music.track(n, 0.3 + 0.02 * n, 300.0, calm=False) for n in range(6, 20)]
    setlist = pair(invented_music.plan(), table, invented_music.arc(table), [*sung, *lively], PairOptions())
    assert sung_where_forbidden(setlist, [*sung, *lively]) == []
