"""Each check of a set just inside its limit and just outside, and the class as heard from levels that are known."""

import math
from dataclasses import replace

import numpy as np
import pytest
from test_set_checks import a_set, codes, section, track, with_pick

from audio.track import Track
from pairing.checks.heard import heard_findings
from pairing.checks.rest import REST_CODES
from pairing.checks.set import check_set
from pairing.model import Finding, Kind, PairOptions, SetList, Swap
from pairing.sets.heard import ClassSound, as_heard, rises
from pairing.sets.rest import is_one_fit_track

# The set: tracks from 0 to 304, 300 to 604, 600 to 850, 840 to 1140 s; flow to 600, peak to 840, rest to 1200, silent
# in its last minute; talk from 200 to 260, a pose held from 860 on.
PICKS = [
    (2, {"class_start_s": 304.04}, "gap", False),
    (2, {"class_start_s": 304.06}, "gap", True),
    (1, {"class_start_s": 0.04}, "gap", False),
    (1, {"class_start_s": 0.06}, "gap", True),
    (4, {"class_end_s": 1139.96}, "gap", False),
    (4, {"class_end_s": 1139.94}, "gap", True),
    (4, {"class_end_s": 1200.04}, "runs-over", False),
    (4, {"class_end_s": 1200.06}, "runs-over", True),
    (1, {"class_end_s": 304.04}, "overlap", False),
    (1, {"class_end_s": 304.06}, "overlap", True),
    (1, {"class_end_s": 308.0, "fade_out_s": 8.0}, "overlap", False),
    (4, {"class_start_s": 840.04}, "rest-start", False),
    (4, {"class_start_s": 840.06}, "rest-start", True),
    (2, {"class_start_s": 203.0}, "change-in-stillness", False),
    (2, {"class_start_s": 203.1}, "change-in-stillness", True),
    (2, {"class_start_s": 256.9}, "change-in-stillness", True),
    (2, {"class_start_s": 257.0}, "change-in-stillness", False),
    (4, {"class_start_s": 900.0}, "change-in-stillness", False),
    (3, {"class_start_s": 760.0}, "short-clip", False),
    (3, {"class_start_s": 760.1}, "short-clip", True),
    (3, {"class_start_s": 760.1, "pinned": True}, "short-clip", False),
]


@pytest.mark.parametrize(("n", "changes", "code", "told"), PICKS)
def test_a_pick_at_the_edge_of_what_is_told(n: int, changes: dict[str, object], code: str, told: bool) -> None:
    assert (code in codes(with_pick(n, **changes))) is told


@pytest.mark.parametrize(("start_s", "level"), [(804.9, "note"), (805.1, "should")])
def test_a_scrap_is_worse_than_a_clip(start_s: float, level: str) -> None:
    found = check_set(with_pick(3, class_start_s=start_s))
    assert [f.level for f in found if f.code == "short-clip"] == [level]


@pytest.mark.parametrize(("long_s", "told"), [(89.0, False), (90.0, True)])
def test_a_short_section_asks_for_a_short_clip(long_s: float, told: bool) -> None:
    setlist = with_pick(3, class_start_s=775.0)
    middle = (775.0 + 850.0) / 2
    parts = (
        section("Tide", Kind.FLOW, 0, middle - 9),
        section("Hop", Kind.PEAK, middle - 9, middle - 9 + long_s),
        section("Float", Kind.REST, middle - 9 + long_s, 1200),
    )
    assert ("short-clip" in codes(replace(setlist, sections=parts))) is told


def played(start: int, end: int, above: float) -> SetList:
    made = a_set()
    curve = made.target_energy + np.float32(0.05)
    curve[start:end] = made.target_energy[start:end] + np.float32(above)
    return replace(made, played_energy=curve)


@pytest.mark.parametrize(
    ("start", "end", "above", "told"),
    [
        (900, 906, 0.125, True),
        (900, 905, 0.125, False),
        (900, 960, 0.115, False),
        (850, 855, 0.5, False),
        (850, 861, 0.5, True),
        (850, 860, 0.5, False),
    ],
)
def test_a_rest_is_too_lively_from_six_seconds_on_after_the_tail_of_the_track_before(
    start: int, end: int, above: float, told: bool
) -> None:
    assert ("rest-too-lively" in codes(played(start, end, above))) is told


@pytest.mark.parametrize(("above", "told"), [(0.145, False), (0.155, True), (-0.145, False), (-0.155, True)])
def test_the_peak_is_missed_by_fifteen_hundredths(above: float, told: bool) -> None:
    assert ("peak-missed" in codes(played(600, 840, above))) is told
    assert "peak-missed" not in codes(played(500, 600, above))


@pytest.mark.parametrize(("correlation", "told"), [(0.69, True), (0.7, False)])
def test_a_class_is_followed_loosely_below_a_correlation_of_seven_tenths(correlation: float, told: bool) -> None:
    made = a_set()
    assert ("arc-hardly-followed" in codes(replace(made, fit=replace(made.fit, correlation=correlation)))) is told


# Pick 4 enters its track at 10 s; between its fades lie its seconds 20 to 306: 286 of them.
@pytest.mark.parametrize(("sung", "told"), [(14, False), (15, True)])
def test_a_voice_is_told_from_a_twentieth_of_the_time_on(sung: int, told: bool) -> None:
    assert ("voice" in codes(a_set(), tracks=[track(4, slice(100, 100 + sung))])) is told


@pytest.mark.parametrize(
    ("voiced", "told"),
    [
        (slice(20, 23), False),
        (slice(20, 24), True),
        (slice(77, 80), False),
        (slice(60, 64), True),
        (slice(80, 200), False),
    ],
)
def test_a_voice_under_talk_is_told_from_four_seconds_on(voiced: slice, told: bool) -> None:
    """Talk from 850 to 910: the seconds 20 to 80 of the track, from where its fade ends."""
    made = a_set()
    made = replace(made, frame=replace(made.frame, spoken_s=((840.0, 910.0),)))
    assert ("voice-under-talk" in codes(made, tracks=[track(4, voiced)])) is told


# ---- the class as heard ------------------------------------------------------------------------------------------

TIDE, CREST, FLOAT = -24.0, -20.0, -34.0


def sound(setlist: SetList, *changes: tuple[float, float, float]) -> ClassSound:
    """Tide, Crest and Float at levels of their own, LUFS, and stretches of other levels."""
    level = np.concatenate([np.full(6000, TIDE), np.full(2400, CREST), np.full(3000, FLOAT), np.full(600, -math.inf)])
    level[8390:8400] = FLOAT  # the peak has died away
    for start_s, end_s, lufs in changes:
        level[round(10 * start_s) : round(10 * end_s)] = lufs
    return as_heard(setlist, 10 ** ((level + 0.691) / 10), [])


def quiet(**changes: object) -> SetList:
    made = with_pick(3, class_end_s=844.0)
    arc = np.concatenate([np.full(600, 0.6), np.full(240, 0.8), np.full(360, 0.16)]).astype(np.float32)
    return replace(made, arc=arc, options=PairOptions(), **changes)  # type: ignore[arg-type]


def heard(setlist: SetList, *changes: tuple[float, float, float]) -> set[str]:
    found = heard_findings(setlist, sound(setlist, *changes))
    return {finding.code for finding in found if finding.code != "uneven-level"}


HEARD = [
    ((), set()),
    (((1000.0, 1140.0, FLOAT + 3.2),), set()),
    (((1000.0, 1140.0, FLOAT + 3.4),), {"rise-in-rest"}),
    (((840.0, 859.0, FLOAT + 1.2),), set()),
    (((840.0, 859.0, FLOAT + 1.4),), {"rest-opens-loud"}),
    (((300.0, 302.0, CREST + 0.2),), set()),
    (((300.0, 302.0, CREST + 0.4),), {"loudest-elsewhere"}),
    (((1150.0, 1150.2, -50.0),), {"sound-in-silence"}),
    (((1140.0, 1140.1, -50.0),), set()),
]


@pytest.mark.parametrize(("changes", "told"), HEARD)
def test_what_is_heard_at_the_edge_of_what_is_told(changes: tuple[tuple[float, float, float]], told: set[str]) -> None:
    assert heard(quiet(), *changes) == told


@pytest.mark.parametrize(("end_s", "told"), [(844.0, False), (844.04, False), (844.1, True)])
def test_the_track_before_has_faded_in_four_seconds(end_s: float, told: bool) -> None:
    made = replace(with_pick(3, class_end_s=end_s), arc=quiet().arc)
    assert ("tail-in-rest" in heard(made)) is told


@pytest.mark.parametrize(("over", "told"), [(10.2, False), (10.4, True)])
@pytest.mark.parametrize("at", [1000.0, 832.0])
def test_a_bell_is_ten_decibels_over_the_rest_at_most(over: float, told: bool, at: float) -> None:
    made = quiet()
    assert made.rest is not None
    made = replace(made, rest=replace(made.rest, bells_s=(at,)))
    stroke = sound(made, (at - 1, at, FLOAT), (at, at + 2, FLOAT + over), (at + 2, at + 9, FLOAT))
    assert ("bell-loud" in {f.code for f in heard_findings(made, stroke)}) is told


@pytest.mark.parametrize(("by", "told"), [(3.2, False), (3.4, True)])
@pytest.mark.parametrize("kind", [Kind.OPENING, Kind.COOL_DOWN, Kind.FLOW])
def test_where_people_arrive_and_wind_down_nothing_rises_suddenly(kind: Kind, by: float, told: bool) -> None:
    made = quiet()
    made = replace(made, sections=(replace(made.sections[0], kind=kind), *made.sections[1:]))
    assert ("sudden-rise" in heard(made, (250.0, 600.0, TIDE + by))) is (told and kind is not Kind.FLOW)


@pytest.mark.parametrize(("over", "told"), [(0.2, False), (0.4, True)])
def test_nothing_in_the_cool_down_is_louder_than_the_peak(over: float, told: bool) -> None:
    made = quiet()
    made = replace(made, sections=(replace(made.sections[0], kind=Kind.COOL_DOWN), *made.sections[1:]))
    assert ("louder-than-peak" in heard(made, (300.0, 302.0, CREST + over))) is told


@pytest.mark.parametrize(("step", "told"), [(2.25, False), (2.35, True), (-2.25, False), (-2.35, True)])
@pytest.mark.parametrize("asked", [0.0, 0.11])
def test_neighbours_lie_two_decibels_apart_unless_the_class_asks(step: float, told: bool, asked: float) -> None:
    made = quiet()
    target = made.target_energy.copy()
    target[302:600] += math.copysign(asked, step)
    made = replace(made, target_energy=target)
    found = heard_findings(made, sound(made, (302.0, 600.0, TIDE + step)))
    named = [f.where.tracks for f in found if f.code == "uneven-level" and f.where.tracks == (2,)]
    assert bool(named) is (told and not asked)


def test_each_section_is_told_as_loud_as_it_is() -> None:
    made = quiet()
    tide, crest, rest = sound(made, (100.0, 101.0, TIDE + 6), (1100.0, 1140.0, -math.inf)).sections
    assert crest.loudness_lufs == pytest.approx(CREST, abs=0.01)
    assert rest.loudness_lufs == pytest.approx(FLOAT, abs=0.01)
    assert (tide.loudest_lufs, tide.loudest_at_s) == (pytest.approx(TIDE + 6), pytest.approx(100.4))
    # A second in three: the mean power of 3 s with one at 6 dB more (EBU Tech 3341).
    assert tide.rise_lu == pytest.approx(10 * math.log10((2 + 10**0.6) / 3), abs=0.01)
    assert tide.rise_at_s == pytest.approx(101.0, abs=0.01)
    assert rest.silence_s == pytest.approx(100.0 - 0.3)
    assert [(one.n, one.for_s) for one in rest.carried] == [(3, 4.0)]
    assert [(one.n, one.for_s) for one in crest.carried] == [(2, 4.0)]


def test_rises_are_those_from_the_lowest_of_three_seconds_that_end_near_the_median() -> None:
    rng = np.random.default_rng(4)
    made = quiet()
    changes = [(float(at), float(at) + 5, float(rng.uniform(-50, -20))) for at in range(0, 600, 5)]
    whole = sound(made, *changes)
    level = whole.short_term
    found = rises(made, whole, made.sections[0])
    median = float(np.median(level[:6000]))
    for step in range(40, 6000, 17):
        counts = level[step] > median - 3.0
        expected = level[step] - level[max(step - 30, 0) : step + 1].min() if counts else 0.0
        assert found[step] == pytest.approx(expected), step


@pytest.mark.parametrize(("bells", "told"), [((), {"rise-in-rest"}), ((999.0,), set()), ((990.0,), {"rise-in-rest"})])
def test_a_rise_after_a_stroke_of_a_bell_is_meant(bells: tuple[float, ...], told: set[str]) -> None:
    made = quiet()
    assert made.rest is not None
    made = replace(made, rest=replace(made.rest, bells_s=bells))
    assert heard(made, (1000.0, 1140.0, FLOAT + 5)) == told


# ---- the music in the rest ---------------------------------------------------------------------------------------


def resting(**known: object) -> Track:
    """A calm recording for the pick in the rest, which enters it at 10 s and plays 300 s of it."""
    made = track(4, slice(0, 0))
    usual = {"energy": np.full(400, 0.15, np.float32), "tempo_bpm": None, "tempo_confidence": 0.0}
    return replace(made, analysis=made.analysis.but(**usual | known))


def rest_codes(setlist: SetList, *tracks: Track) -> dict[str, Finding]:
    return {f.code: f for f in check_set(setlist, tracks=tracks) if f.code in REST_CODES}


@pytest.mark.parametrize(
    ("known", "told"),
    [
        ({}, set()),
        ({"tempo_bpm": 70.0, "tempo_confidence": 0.49}, set()),
        ({"tempo_bpm": 70.0, "tempo_confidence": 0.5, "onset_rate": 2.0}, {"beat-under-fade"}),
        ({"tempo_bpm": None, "tempo_confidence": 0.9}, set()),
        ({"onset_rate": 3.1}, {"unfit-in-rest"}),
        ({"energy": np.full(400, 0.75, np.float32)}, {"driving-in-rest"}),
        # What lies outside of the part that is played doesn't count: energy and voice before 10 s, after 310 s.
        ({"energy": np.where(np.arange(400) < 310, 0.15, 0.9).astype(np.float32)}, set()),
        ({"energy": np.where(np.arange(400) < 300, 0.15, 0.9).astype(np.float32)}, {"unfit-in-rest"}),
        ({"voice": np.where(np.arange(400) < 10, 0.9, 0.0).astype(np.float32)}, set()),
    ],
)
def test_what_is_told_of_the_music_in_the_rest(known: dict[str, object], told: set[str]) -> None:
    found = rest_codes(a_set(), resting(**known))
    assert set(found) == told
    for finding in found.values():
        assert finding.level == ("must" if finding.code == "driving-in-rest" else "should")


@pytest.mark.parametrize(("starts_s", "told"), [(839.0, False), (839.1, True), (1198.9, True), (1199.0, False)])
def test_the_music_changes_in_the_rest_where_two_tracks_begin_in_it(starts_s: float, told: bool) -> None:
    assert ("change-in-rest" in rest_codes(with_pick(3, class_start_s=starts_s))) is told


def test_a_beat_under_the_fade_is_that_of_the_last_track() -> None:
    beating = resting(tempo_bpm=70.0, tempo_confidence=0.9, onset_rate=2.0)
    setlist = with_pick(3, class_start_s=845.0)
    setlist = replace(setlist, picks=(*setlist.picks[:2], setlist.picks[3], setlist.picks[2]))
    assert "beat-under-fade" not in rest_codes(setlist, beating), "the last one isn't known"
    assert "beat-under-fade" in rest_codes(a_set(), beating)


@pytest.mark.parametrize(
    ("n", "changes", "swapped"),
    [
        (1, {"class_start_s": 2.0}, 1),
        (2, {"class_start_s": 310.0}, 1),
        (4, {"class_start_s": 845.0, "class_end_s": 1140.0}, None),
        (3, {"class_end_s": 820.0}, 3),
        (4, {"class_end_s": 1100.0}, 4),
    ],
)
def test_before_a_gap_the_track_that_ends_there_is_the_one_to_swap(
    n: int, changes: dict[str, object], swapped: int | None
) -> None:
    gaps = [f for f in check_set(with_pick(n, **changes)) if f.code == "gap"]
    assert [f.deeds[0] for f in gaps] == ([Swap(swapped)] if swapped else [])


@pytest.mark.parametrize(("fit", "many", "one"), [(True, False, True), (False, False, False), (True, True, False)])
def test_one_fit_track_all_through_the_rest(fit: bool, many: bool, one: bool) -> None:
    setlist = with_pick(3, class_start_s=845.0) if many else a_set()
    known = resting() if fit else resting(onset_rate=9.0)
    other = replace(resting(), id=9, fingerprint="elsewhere")
    assert is_one_fit_track(setlist, [known, other]) is one
    assert not is_one_fit_track(setlist, [other])
    assert not is_one_fit_track(replace(setlist, rest=None), [known])


@pytest.mark.parametrize(("n", "talk"), [(2, (250.0, 320.0)), (3, (580.0, 650.0))])
def test_where_music_changes_under_talk_the_track_before_is_the_one_to_swap(n: int, talk: tuple[float, float]) -> None:
    setlist = a_set()
    setlist = replace(setlist, frame=replace(setlist.frame, talk_s=(talk,)))
    (found,) = [f for f in check_set(setlist) if f.code == "change-in-stillness"]
    assert (found.where.tracks, found.deeds) == ((n,), (Swap(n - 1),))
