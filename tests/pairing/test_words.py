"""What was measured, in words."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from show_class import a_class, a_set, an_arc

from pairing.constants import MODERATE_METS
from pairing.effort.arc import CAPS, REST_ENERGY, TOP_RANGE
from pairing.model import Kind
from pairing.show.words import effort, loudness, place_in_class, places_in_class, temper, temper_against, voice
from pairing.temper import TEMPERS

ENERGY = st.floats(0, 1)
CALM_FIRST = [word for _, word in reversed(TEMPERS)]
HARDER = ["easy", "warm", "working", "hard"]


@given(ENERGY, ENERGY)
def test_livelier_music_never_has_a_calmer_word(one, two):
    low, high = sorted((one, two))
    assert CALM_FIRST.index(temper(low)) <= CALM_FIRST.index(temper(high))


def test_each_word_is_met_at_the_places_of_the_arc_that_it_is_for():
    assert {temper(REST_ENERGY), temper(CAPS[Kind.OPENING])} == {"still"}
    assert temper(TOP_RANGE[1]) == "driving"
    assert {temper(energy / 100) for energy in range(101)} == set(CALM_FIRST)


@given(ENERGY, ENERGY)
def test_music_and_what_is_asked_change_places_with_the_words(one, two):
    there, back = temper_against(one, two), temper_against(two, one)
    assert (there is None) == (back is None)
    if there and back:
        assert there.replace("calmer", "livelier") == back.replace("calmer", "livelier") and there != back
        assert ("livelier" in there) == (one > two)


def test_much_is_more_than_a_little():
    words = [temper_against(0.5 + apart, 0.5) for apart in (0.0, 0.06, 0.15, 0.3)]
    assert words == [None, "a little livelier than asked", "livelier than asked", "much livelier than asked"]


# ACSM/AHA bands (PMC8321902, table 1): light below 3.0 METs, moderate from there on. Published costs: lying quietly 1.0
# (by the definition of the MET), held poses 2.2 +/- 0.7 (Larson-Meyer 2016), sun salutations at 6, 4 and 3 s a pose
# 3.28, 3.64 and 4.22 METs (see pairing.constants).
@pytest.mark.parametrize(
    ("mets", "word"),
    [(1.0, "easy"), (2.2, "warm"), (2.99, "warm"), (MODERATE_METS, "working"), (3.28, "working"), (3.64, "working"),
     (4.22, "hard"), (6.0, "hard")],
)  # fmt: skip
def test_effort_follows_the_published_bands(mets, word):
    assert effort(mets) == word


@given(st.floats(0, 15), st.floats(0, 15))
def test_more_work_never_has_an_easier_word(one, two):
    low, high = sorted((one, two))
    assert HARDER.index(effort(low)) <= HARDER.index(effort(high))


@pytest.mark.parametrize(
    ("share", "kind", "words"),
    [(0.0, None, "no voice"), (0.01, "speech", "no voice"), (0.1, "singing", "some voice"), (0.5, None, "sung"),
     (0.5, "speech", "spoken"), (0.1, "speech", "some talk"), (0.9, "choir", "a choir")],
)  # fmt: skip
def test_voices_in_words(share, kind, words):
    assert voice(share, kind) == words


@given(st.lists(st.integers(-40, -5), min_size=1, max_size=20), st.integers(-30, 30))
def test_a_level_is_soft_or_loud_beside_ones_own_whatever_the_volume(levels, volume):
    said = [loudness(level, levels) for level in levels]
    assert said == [loudness(level + volume, [each + volume for each in levels]) for level in levels]
    assert len(levels) % 2 == 0 or "" in said  # the one in the middle is neither


def test_silence_is_neither_soft_nor_loud():
    assert loudness(-math.inf, [-14.0]) == "" == loudness(-14.0, [-math.inf]) == loudness(-14.0, [])


def _places(*spans):
    timetable = a_class(60)
    setlist = a_set(timetable, an_arc(timetable))
    picks = tuple(
        replace(setlist.picks[0], n=n, class_start_s=start, class_end_s=start + 60) for n, start in enumerate(spans, 1)
    )
    return places_in_class(replace(setlist, picks=picks))


def test_a_track_comes_in_where_the_teacher_would_say():
    sections = {section.name: section for section in a_class(60).sections}
    tide, crest, rest = sections["Tide"], sections["Crest"], sections["Float"]
    third_s = (tide.end_s - tide.start_s) / 3
    places = {
        -120.0: "before the class",
        0.0: "as the class begins",
        tide.start_s - 8: "as Tide begins",
        tide.start_s + third_s / 2: "early in Tide",
        tide.start_s + 1.5 * third_s: "halfway through Tide",
        tide.end_s - 30: "late in Tide",
        crest.start_s: "at the peak",
        rest.start_s + 2: "as the rest begins",
        rest.end_s + 1: "after the class",
    }
    assert list(_places(*places).values()) == list(places.values())


@given(st.lists(st.integers(-200, 3700), min_size=1, max_size=12, unique=True))
def test_no_two_tracks_share_a_place(starts):
    places = _places(*map(float, sorted(starts)))
    assert len(set(places.values())) == len(starts)


def test_one_place_is_the_same_as_that_of_all():
    timetable = a_class(45)
    setlist = a_set(timetable, an_arc(timetable))
    assert {pick.n: place_in_class(setlist, pick.n) for pick in setlist.picks} == places_in_class(setlist)
