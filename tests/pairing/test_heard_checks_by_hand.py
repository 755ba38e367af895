"""What is told of a class as it is heard, from sounds that are made for it: just at each limit, and which track is meant."""

from dataclasses import replace

import numpy as np
import pytest
from test_set_checks import a_set, pick, section

from pairing.checks import heard as checks
from pairing.checks.heard import heard_findings
from pairing.model import ChooseAnew, Finding, Kind, MakeRest, SetList, Swap
from pairing.sets.heard import Carried, ClassSound, SectionSound

# The set: tracks 1 to 4 from 0, 300, 600 and 840 s; flow to 600, peak to 840, rest to 1200 s, silent from 1140 s.
SOUND = SectionSound(
    section=0, name="Tide", kind=Kind.FLOW, start_s=0.0, end_s=600.0, loudness_lufs=-24.0, loudest_lufs=-20.0,
    loudest_at_s=500.0, rise_lu=0.0, rise_at_s=0.0, energy=0.5, is_known=True, beat_bpm=None, voice_share=0.0,
    silence_s=0.0, carried=(),
)  # fmt: skip
PEAK = replace(
    SOUND, section=1, name="Crest", kind=Kind.PEAK, start_s=600.0, end_s=840.0, loudest_lufs=-18.0, loudest_at_s=700.0
)
REST = replace(
    SOUND, section=2, name="Float", kind=Kind.REST, start_s=840.0, end_s=1200.0, loudest_lufs=-30.0, loudest_at_s=900.0
)


def sound(
    *parts: SectionSound, bells_s: tuple[float, ...] = (), levels: tuple[tuple[float, float, float], ...] = ()
) -> ClassSound:
    """A class at -30 LUFS, silent in its last minute, and from second to second at other levels."""
    level = np.full(12000, -30.0)
    level[11400:] = -70.0
    for start_s, end_s, lufs in levels:
        level[round(start_s * 10) : round(end_s * 10)] = lufs
    return ClassSound(parts or (SOUND, PEAK, REST), -24.0, 0.0, level, level, bells_s)


def told(code: str, made: ClassSound, setlist: SetList | None = None) -> list[Finding]:
    return [one for one in heard_findings(setlist or a_set(), made) if one.code == code]


@pytest.mark.parametrize(("rise_lu", "is_told"), [(3.3, False), (3.31, True)])
def test_rises_of_more_than_three_lu_are_told_where_people_lie_arrive_or_wind_down(
    rise_lu: float, is_told: bool
) -> None:
    for kind, code in ((Kind.REST, "rise-in-rest"), (Kind.OPENING, "sudden-rise"), (Kind.COOL_DOWN, "sudden-rise")):
        said = told(code, sound(replace(REST, kind=kind, rise_lu=rise_lu, rise_at_s=905.0)))
        assert len(said) == is_told
        assert all("by 3.3 dB within 3 s, at 15:05" in one.message for one in said)
    assert not told("sudden-rise", sound(replace(SOUND, rise_lu=9.0)))


# ---- how the rest opens ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("over", "is_told"), [(1.299, False), (1.31, True)])
def test_the_first_twenty_seconds_of_a_rest_are_no_louder_than_the_rest(over: float, is_told: bool) -> None:
    levels = ((850.0, 850.5, -28.0 + over), (900.0, 901.0, -28.0))
    said = told("rest-opens-loud", sound(levels=levels))
    assert len(said) == is_told
    if is_told:
        assert said[0].deeds == (Swap(3),)
        assert said[0].message == "At 14:10 it is 1 dB louder than the rest is at any time after."
    assert not told("rest-opens-loud", sound(levels=((860.0, 861.0, -10.0),)))  # behind them it is the rest itself
    assert not told("rest-opens-loud", sound(levels=((839.0, 840.0, -10.0),)))


@pytest.mark.parametrize(("for_s", "named"), [(10.1, False), (10.2, True)])
def test_the_track_that_still_plays_then_is_named(for_s: float, named: bool) -> None:
    rest = replace(REST, carried=(Carried(3, for_s),))
    (said,) = told("rest-opens-loud", sound(SOUND, PEAK, rest, levels=((850.0, 850.1, -20.0),)))
    assert ("track 3 is still playing then" in said.message) is named  # the loud tenth ends at 850.1 s


def test_a_rest_without_sound_or_with_none_behind_its_opening_is_left_alone() -> None:
    assert not told("rest-opens-loud", sound(levels=((860.0, 1200.0, -70.0), (850.0, 851.0, -20.0))))
    short = replace(REST, end_s=850.0)
    assert not told("rest-opens-loud", sound(SOUND, PEAK, short, levels=((845.0, 846.0, -20.0),)))
    assert not told("rest-opens-loud", sound(SOUND, PEAK, replace(REST, end_s=840.0)))


@pytest.mark.parametrize(("starts_s", "n"), [(839.9, 4), (839.96, 3), (840.0, 3)])
def test_the_track_before_the_rest_is_the_last_that_begins_before_it(starts_s: float, n: int) -> None:
    setlist = a_set()
    picks = (*setlist.picks[:3], replace(setlist.picks[3], class_start_s=starts_s))
    assert checks._last_before(replace(setlist, picks=picks), REST) == n
    assert checks._last_before(replace(setlist, picks=()), REST) == 1
    assert checks._at(replace(setlist, picks=picks), starts_s) == 4
    assert checks._at(setlist, 599.9) == 2
    assert checks._at(replace(setlist, picks=()), 100.0) == 1


@pytest.mark.parametrize(("for_s", "is_told"), [(4.05, False), (4.06, True)])
def test_a_tail_of_four_seconds_is_enough(for_s: float, is_told: bool) -> None:
    said = told("tail-in-rest", sound(replace(REST, carried=(Carried(3, for_s),))))
    assert [one.where.tracks for one in said] == ([(3,)] if is_told else [])


# ---- bells and silence -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("over", "is_told"), [(10.3, False), (10.31, True)])
def test_a_bell_is_ten_decibels_over_the_median_of_the_rest(over: float, is_told: bool) -> None:
    levels = ((900.0, 909.0, -30.0 + over), (1000.0, 1100.0, -20.0))
    assert len(told("bell-loud", sound(bells_s=(900.0,), levels=levels))) == is_told


@pytest.mark.parametrize(("at_s", "is_told"), [(831.0, True), (830.9, False), (1199.0, True), (1130.0, True)])
def test_a_bell_from_nine_seconds_before_the_rest_on_is_one_of_it(at_s: float, is_told: bool) -> None:
    found = told("bell-loud", sound(bells_s=(at_s,), levels=((at_s, at_s + 1, -10.0),)))
    assert len(found) == is_told


def test_a_silent_rest_has_no_bell_that_is_too_loud() -> None:
    assert not told("bell-loud", sound(bells_s=(900.0,), levels=((840.0, 1200.0, -70.0), (900.0, 901.0, -10.0))))


@pytest.mark.parametrize(
    ("start_s", "end_s", "is_told"),
    [
        (1150.0, 1150.1, False),
        (1150.0, 1150.2, True),
        (1140.2, 1140.4, False),
        (1140.4, 1140.6, True),
        (1199.8, 1200.0, True),
    ],
)
def test_a_silence_is_one_from_four_tenths_of_a_second_on(start_s: float, end_s: float, is_told: bool) -> None:
    said = told("sound-in-silence", sound(levels=((start_s, end_s, -50.0),)))
    assert [one.deeds for one in said] == ([(ChooseAnew(), MakeRest())] if is_told else [])
    assert all("from 19:00 to 20:00 something is heard for 0.2 s" in one.message for one in said)
    rung = sound(levels=((start_s, end_s, -50.0),), bells_s=(start_s,))
    assert not told("sound-in-silence", rung)


# ---- the loudest moment ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("lufs", "is_told"), [(-17.701, False), (-17.69, True)])
def test_a_cool_down_is_no_louder_than_the_loudest_peak(lufs: float, is_told: bool) -> None:
    ebb = replace(SOUND, name="Ebb", kind=Kind.COOL_DOWN, loudest_lufs=lufs, loudest_at_s=310.0)
    quiet = replace(PEAK, loudest_lufs=-40.0)
    said = told("louder-than-peak", sound(ebb, quiet, PEAK))
    assert [one.deeds for one in said] == ([(Swap(2),)] if is_told else [])
    assert not told("louder-than-peak", sound(replace(ebb, loudest_lufs=0.0)))


@pytest.mark.parametrize(
    ("lufs", "arc", "is_told"),
    [(-17.701, 0.6, False), (-17.69, 0.6, True), (-10.0, 0.701, False), (-10.0, 0.69, True), (-10.0, 0.75, False)],
)
def test_the_loudest_moment_lies_at_the_peak_or_near_the_top_of_the_arc(lufs: float, arc: float, is_told: bool) -> None:
    setlist = a_set()
    curve = setlist.arc.astype(np.float64)
    curve[500] = arc
    made = replace(setlist, arc=curve)
    said = told(
        "loudest-elsewhere",
        sound(replace(SOUND, loudest_lufs=lufs), PEAK, replace(PEAK, loudest_lufs=-40.0), REST),
        made,
    )
    assert [one.where.section for one in said] == (["Tide"] if is_told else [])


def test_without_a_peak_the_arc_alone_counts_and_where_people_wind_down_another_check_tells() -> None:
    tide = replace(SOUND, loudest_lufs=-10.0)
    assert told("loudest-elsewhere", sound(tide, REST))
    ends = replace(a_set(), arc=np.where(np.arange(1200) < 1140, a_set().arc, 0.2))
    behind = sound(replace(tide, loudest_at_s=1500.0), REST)
    assert told("loudest-elsewhere", behind, ends)  # behind the class: its last second
    assert not told("loudest-elsewhere", sound(replace(tide, kind=Kind.COOL_DOWN), REST))
    assert not told("loudest-elsewhere", sound(replace(tide, loudness_lufs=-np.inf), replace(REST, loudest_lufs=-70.0)))
    flat = replace(a_set(), arc=np.full(1200, np.nan))
    assert not told("loudest-elsewhere", sound(tide, REST), flat)


# ---- neighbours --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("step", "said"),
    [(2.299, None), (2.31, "2.3 dB louder"), (-2.299, None), (-2.31, "2.3 dB softer"), (5.0, "5.0 dB louder")],
)
def test_neighbours_lie_two_decibels_apart(step: float, said: str | None) -> None:
    parts = (section("Tide", Kind.FLOW, 0, 1200),)
    setlist = replace(a_set(), picks=(pick(1, 0, 304), pick(2, 300, 604)), sections=parts)
    level = sound(levels=((4.0, 300.0, -30.0), (304.0, 600.0, -30.0 + step)))
    found = told("uneven-level", level, setlist)
    assert [one.where.tracks for one in found] == ([] if said is None else [(2,)])
    assert all(said is not None and said in one.message for one in found)
    fades = sound(levels=((0.0, 4.0, -5.0), (300.0, 304.0, -5.0), (600.0, 604.0, -5.0)))
    assert not told("uneven-level", fades, setlist)
    asked = setlist.target_energy.copy()
    asked[304:604] = 0.75 if step > 0 else 0.45
    assert not told("uneven-level", level, replace(setlist, target_energy=asked))
