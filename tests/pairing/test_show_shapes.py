"""The small shapes of tracks and the map of one's music: each mark at its second, each length its minutes."""

import re
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from invented_music import library, track
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_bipartite_matching
from show_class import a_class, a_set, an_arc

from pairing.alignment import marks
from pairing.alignment.sedative import LIVELIEST_MOMENT, judge
from pairing.model import Kind, SectionTime, Wishes
from pairing.show.musicmap import LEFT, RIGHT, Need, music_map, needs_of, too_little
from pairing.show.shapes import CLEAN_CUT, LEAST_APART, TOP, WIDTH, calm_shape, offer_shape, track_shape
from pairing.temper import PLAINLY, TEMPERS, temper

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def sung():
    return track(3, 0.6, 240.0, tempo_bpm=100.0, voice=((30, 60), (120, 200)))


@pytest.fixture(scope="module")
def pick():
    timetable = a_class(60)
    return replace(
        a_set(timetable, an_arc(timetable)).picks[4], track_start_s=40.0, class_start_s=1000.0, class_end_s=1150.0
    )


def parts(drawn, style):
    return [e for e in ElementTree.fromstring(drawn).iter() if style in e.get("class", "").split()]


def points(element):
    numbers = [float(word) for word in re.findall(r"-?\d+\.?\d*", element.get("d"))]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def across(element):
    xs = [x for x, _ in points(element)]
    return min(xs), max(xs)


def test_a_track_is_drawn_from_its_first_second_to_its_last(sung):
    (ribbon,) = parts(track_shape(sung), "ribbon")
    assert across(ribbon) == (0, WIDTH)
    deepest = max(points(ribbon), key=lambda point: point[1])[0] / WIDTH * 240
    assert sung.analysis.curves.energy[int(deepest)] > np.quantile(sung.analysis.curves.energy, 0.9)


def test_of_a_pick_just_the_part_that_plays_is_filled(sung, pick):
    drawn = track_shape(sung, pick)
    (ribbon,), (outline,) = parts(drawn, "ribbon"), parts(drawn, "outline")
    assert across(ribbon) == pytest.approx((40 / 240 * WIDTH, 190 / 240 * WIDTH), abs=0.1)
    assert across(outline) == (0, WIDTH)


def test_slits_are_the_clean_cuts_and_can_be_told_apart(sung):
    slits = [points(slit)[0][0] for slit in parts(track_shape(sung), "slit")]
    clean = [
        cut.at_s / 240 * WIDTH
        for cut in sung.analysis.curves.cut_points
        if min(cut.enter_cost, cut.leave_cost) <= CLEAN_CUT
    ]
    assert slits
    assert all(min(abs(x - other) for other in clean) <= 0.06 for x in slits)
    assert all(abs(b - a) >= LEAST_APART - 0.1 for a, b in zip(slits[:-1], slits[1:], strict=True))
    for x in clean:  # and none is missing that had room
        assert min(x, WIDTH - x) < LEAST_APART or min(abs(x - other) for other in slits) < LEAST_APART


def test_a_wave_runs_where_somebody_sings(sung):
    (wave,) = parts(track_shape(sung), "sung")
    runs = [[float(word) for word in re.findall(r"-?\d+\.?\d*", run)] for run in wave.get("d").split("M")[1:]]
    assert [(min(run[::2]), max(run[::2])) for run in runs] == [
        pytest.approx((30 / 240 * WIDTH, 60 / 240 * WIDTH), abs=0.1),
        pytest.approx((120 / 240 * WIDTH, 200 / 240 * WIDTH), abs=0.1),
    ]
    assert parts(track_shape(track(4, 0.2, 200.0)), "sung") == []


def test_strokes_are_beats_and_where_none_is_clear_none_is_drawn(sung):
    (strokes,) = parts(track_shape(sung), "beat")
    xs = np.array([float(x) for x in re.findall(r"M([\d.]+)", strokes.get("d"))])
    beats = sung.analysis.curves.beats_s / 240 * WIDTH
    assert np.abs(xs[:, None] - beats[None, :]).min(axis=1).max() <= 0.06
    assert np.diff(xs).min() >= 3
    unclear = replace(sung, analysis=replace(sung.analysis, tempo_confidence=0.2))
    assert parts(track_shape(unclear), "beat") == []


def test_an_offer_that_is_just_what_is_asked_lies_on_the_line(sung, pick):
    asked = np.zeros(3600, np.float32)
    asked[1000:1150] = sung.analysis.curves.energy[40:190]
    drawn = offer_shape(sung, pick, asked)
    (ribbon,), (line,) = parts(drawn, "ribbon"), parts(drawn, "asked")
    assert across(ribbon) == across(line) == (0, WIDTH)
    edge = np.array([point for point in points(ribbon) if point[1] > TOP])
    want = np.array(points(line))
    assert np.abs(np.interp(want[2:-2, 0], edge[:, 0], edge[:, 1]) - want[2:-2, 1]).max() < 0.5
    livelier = offer_shape(replace(sung, marks={"energy": "90"}), pick, asked)
    deep = np.mean([y for _, y in points(parts(livelier, "ribbon")[0])])
    assert deep > np.mean([y for _, y in points(ribbon)]) + 2


def test_only_what_a_rest_cannot_bear_is_marked_as_waking():
    for found in library(60):
        drawn = calm_shape(found)
        low = {y for _, y in points(parts(drawn, "wakes")[0])}
        smooth = np.convolve(marks.energy(found), np.full(6, 1 / 6), "valid")
        assert (max(low) - min(low) > 0.3) is bool(smooth.max() > LIVELIEST_MOMENT + 0.02) or abs(
            smooth.max() - LIVELIEST_MOMENT
        ) < 0.04
        said = ElementTree.fromstring(drawn).get("aria-label")
        assert said.endswith(": calm enough for a rest") is judge(found).fit


def test_minutes_of_each_temper_are_those_of_the_tracks_and_of_the_arc():
    tracks = library(40)
    asked = np.array([0.16] * 600 + [0.6] * 1200 + [np.nan] * 60 + [0.85] * 300, np.float32)
    needs = needs_of(asked)
    needed = {need.word: need.minutes for need in needs}
    assert needed == {"still": 10, "lively": 20, "driving": 5}
    drawn = music_map(tracks, needs, 1000)
    root = ElementTree.fromstring(drawn)
    have = {
        word: sum(t.analysis.duration_s for t in tracks if temper(marks.mean_energy(t)) == word) / 60
        for _, word in TEMPERS
    }
    scale = (1000 - LEFT - RIGHT) / min(max(*have.values(), 20), 80)
    for row in root.findall(f"{SVG}g"):
        word = row.get("data-temper")
        stones = [e for e in row if e.get("class") == "stone"]
        shown = sum(float(stone.get("width")) + 1 for stone in stones)
        assert shown == pytest.approx(min(have[word] * scale, 1000 - LEFT - RIGHT), abs=4)
        ids = {int(stone.get("data-track")) for stone in stones}
        assert ids <= {t.id for t in tracks if temper(marks.mean_energy(t)) == word}
        marked = [points(e)[1][0] for e in row if "need" in e.get("class", "").split()]
        assert marked == ([pytest.approx(LEFT + needed[word] * scale, abs=0.1)] * 2 if word in needed else [])


@settings(max_examples=60)
@given(
    levels=st.lists(st.sampled_from([0.1, 0.22, 0.3, 0.45, 0.58, 0.74]), max_size=9),
    asks=st.lists(st.sampled_from([0.16, 0.3, 0.5, 0.65, 0.85]), min_size=1, max_size=9),
)
def test_too_little_music_is_said_exactly_where_no_sharing_out_would_do(levels, asks):
    """Against another method: the largest matching of minutes asked for and minutes of music that lie near enough."""
    tracks = [track(n, 0.5, 60.0, marks={"energy": f"{100 * level:g}"}) for n, level in enumerate(levels, 1)]
    near = csr_array(np.abs(np.subtract.outer(asks, levels)) <= PLAINLY)
    matched = maximum_bipartite_matching(near, perm_type="column") if levels else np.full(len(asks), -1)
    asked = np.repeat(np.float32(asks), 60)
    assert bool(too_little(tracks, needs_of(asked))) is bool((matched < 0).any())


def test_what_is_calm_enough_for_a_rest_does_in_the_rest_and_nowhere_else():
    calm = [track(1, 0.15, 600.0, marks={"energy": "36"})]
    asked = np.full(300, 0.16, np.float32)
    assert judge(calm[0]).fit
    rest = needs_of(asked, [SectionTime("Float", Kind.REST, 0, 300, (), 6, 1, Wishes())])
    assert too_little(calm, rest) == ()
    assert "5 min needed, none there; calm music will do" in music_map(calm, rest)
    assert too_little(calm, needs_of(asked)) == ("still",)


def test_two_thousand_tracks_have_a_map_and_none_has_too():
    many = library(2000)
    for tracks, width in ((many, 360), (many, 1440), ([], 820)):
        for needs in ((), (Need("calm", 12.0, 0.2, 0.45), Need("driving", 20.0, 0.65, 1.0))):
            root = ElementTree.fromstring(music_map(tracks, needs, width))
            for rect in root.iter(f"{SVG}rect"):
                assert float(rect.get("x")) + 0.01 >= LEFT
                assert float(rect.get("x")) + float(rect.get("width")) <= width - RIGHT + 0.1
    assert too_little([], [Need("calm", 12.0, 0.2, 0.45)]) == ("calm",)
