"""What a library can reach, second by second from the rules in words, and what is said of it, word for word."""

import dataclasses
import math

import invented_music
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_alignment_by_hand import a_frame

from pairing.alignment import frame, reach

FEW = settings(max_examples=40)


def percentile(values: list[float], share: float) -> float:
    """On a straight line between the two nearest (NIST/SEMATECH e-handbook, 7.2.6.2: of N - 1 steps)."""
    kept = sorted(values)
    place = share * (len(kept) - 1)
    below = int(place)
    above = min(below + 1, len(kept) - 1)
    return kept[below] + (place - below) * (kept[above] - kept[below])


def ends(arc: list[float]) -> tuple[float, float]:
    known = [value for value in arc if not math.isnan(value)]
    return percentile(known, 0.02), percentile(known, 0.98)


def held(curve: list[float]) -> list[float]:
    """The mean of each 20 seconds in a row."""
    return [sum(curve[at : at + 20]) / 20 for at in range(len(curve) - 19)]


@FEW
@given(st.integers(0, 10_000), st.lists(st.integers(1, 400), max_size=5), st.integers(20, 500))
def test_reach_is_what_music_for_most_of_the_time_asked_for_holds(seed: int, lengths: list[int], class_s: int) -> None:
    """Music for 0.7 of the time for which the arc is within 0.15 of its range of its end, 120 s at least."""
    dice = np.random.default_rng(seed)
    energies = [dice.random(length).astype(np.float32) for length in lengths]
    arc = dice.random(class_s).astype(np.float32)
    arc[dice.random(class_s) < 0.2] = np.nan
    levels = sorted(level for curve in energies for level in held(curve.tolist()))
    wanted = [value for value in arc.tolist() if not math.isnan(value)]
    found = reach.reach(energies, arc)
    if not levels or not wanted:
        assert found == (0.0, 1.0)
        return
    low, high = ends(wanted)
    near = 0.15 * (high - low)
    low_s = round(0.7 * max(sum(value <= low + near for value in wanted), 120))
    high_s = round(0.7 * max(sum(value >= high - near for value in wanted), 120))
    assert found[0] == pytest.approx(levels[min(low_s, len(levels) - 1)], abs=1e-5)
    assert found[1] == pytest.approx(levels[::-1][min(high_s, len(levels) - 1)], abs=1e-5)


def test_music_of_20_seconds_holds_one_level_and_shorter_none() -> None:
    arc = np.array([0.1, 0.9], np.float32)
    assert reach.reach([np.full(20, 0.5, np.float32)], arc) == (0.5, 0.5)
    assert reach.reach([np.full(19, 0.5, np.float32)], arc) == (0.0, 1.0)
    assert reach.reach([np.full(20, 0.5, np.float32)], np.full(3, np.nan, np.float32)) == (0.0, 1.0)


arcs = st.integers(0, 10_000).map(lambda seed: np.random.default_rng(seed).uniform(0.2, 0.8, 300))


@FEW
@given(arcs, st.floats(0, 0.5), st.floats(0.5, 1))
def test_a_fitted_arc_keeps_as_much_of_its_range_as_there_is_and_lies_as_near_as_it_can(
    arc: np.ndarray, lowest: float, highest: float
) -> None:
    low, high = ends(arc.tolist())
    made = reach.fitted(arc, lowest, highest)
    if lowest <= low + 0.03 and highest >= high - 0.03:
        assert made is arc
        return
    size = min(high - low, max(highest - lowest, 0.02))
    bottom = min(max(low, lowest), highest - size) if highest - lowest >= 0.02 else lowest
    expected = [min(max(bottom + (value - low) / (high - low) * size, 0.0), 1.0) for value in arc.tolist()]
    assert made.tolist() == pytest.approx(expected, abs=1e-5)


@pytest.mark.parametrize(
    ("lowest", "highest", "same"),
    [(0.0, 1.0, True), (0.049, 1.0, True), (0.051, 1.0, False), (0.0, 0.951, True), (0.0, 0.949, False)],
)
def test_an_end_may_be_missed_by_a_little(lowest: float, highest: float, same: bool) -> None:
    """From 0 to 1 but for two in a hundred at each end: 0.02 to 0.98."""
    arc = np.linspace(0, 1, 101)
    assert (reach.fitted(arc, lowest, highest) is arc) is same


def test_of_a_level_arc_nothing_is_left_to_fit() -> None:
    level = np.full(50, 0.5)
    assert reach.fitted(level, 0.8, 0.9) is level


@pytest.mark.parametrize(
    ("range_", "share", "squeezed"), [(1.0, 0.5, 0.5), (1.0, 2.0, 1.0), (0.052, 0.5, 1.0), (0.054, 0.5, 0.5)]
)
def test_by_how_much_a_range_shrank(range_: float, share: float, squeezed: float) -> None:
    """All but 4 in a hundred of a straight line is 0.96 of its range; below 0.05 there is nothing to tell."""
    arc = np.linspace(0, range_, 101)
    assert reach.squeeze(arc, arc * share) == pytest.approx(squeezed)
    gaps = arc.copy()
    gaps[50] = np.nan
    assert reach.squeeze(gaps, gaps * share) == pytest.approx(squeezed, abs=1e-3)
    nothing = np.full(3, np.nan)
    assert (reach.squeeze(nothing, arc), reach.squeeze(arc, nothing)) == (1.0, 1.0)
    assert reach.are_alike(arc, arc * share) is (squeezed < 0.35)


def test_ranges_are_alike_below_a_share() -> None:
    arc = np.linspace(0, 1, 101)
    assert [reach.are_alike(arc, arc * share) for share in (0.34, 0.36)] == [True, False]


@pytest.mark.parametrize(
    ("seconds", "length", "words"),
    [
        (range(0, 90), 100, "all"),
        (range(0, 89), 100, "the first 89 seconds"),
        (range(0, 90), 200, "the first 2 minutes"),  # 1.5, to the even minute
        (range(5, 60), 100, "the first 55 seconds"),
        (range(6, 60), 100, "54 seconds"),
        (range(60, 96), 100, "the last 36 seconds"),
        (range(60, 95), 100, "35 seconds"),
        (range(5, 85), 100, "the first 80 seconds"),
        (range(5, 96, 2), 100, "46 seconds"),
        (range(0), 100, "all"),
        (range(100, 400), 400, "the last 5 minutes"),
    ],
)
def test_which_part_is_said(seconds: range, length: int, words: str) -> None:
    assert reach._which(np.array(seconds), length) == words


def with_arc(**levels: float) -> frame.Frame:
    """A class whose sections have these levels throughout, 0.5 where none is given."""
    made = a_frame()
    arc = np.full(len(made.arc), 0.5, np.float32)
    for section in made.sections:
        arc[int(section.start_s) : math.ceil(section.end_s)] = levels.get(section.name, 0.5)
    return dataclasses.replace(made, arc=arc)


def said(made: frame.Frame, lowest: float, highest: float, **words: bool) -> dict[str, tuple[str, str]]:
    return {each.code: (each.where.section, each.message) for each in reach.findings(made, lowest, highest, **words)}


def test_what_is_missing_is_said_of_the_section_that_misses_most_of_it() -> None:
    made = with_arc(Crest=0.9, Tide=0.7, Float=0.1, Ebb=0.2)
    found = said(made, 0.15, 0.8)
    assert found["nothing-lively-enough"][0] == "Crest"
    assert "for all of Crest (peak): " in found["nothing-lively-enough"][1]
    assert found["nothing-calm-enough"][0] == "Float"
    assert "nothing-lively-enough" not in said(made, 0.15, 0.88)
    assert "nothing-calm-enough" not in said(made, 0.12, 0.8)
    assert set(said(made, 0.15, 0.95)) == {"nothing-calm-enough", "arc-fitted-to-library"}
    assert set(said(made, 0.05, 0.8)) == {"nothing-lively-enough", "arc-fitted-to-library"}
    assert said(made, 0.05, 0.95) == {}


def test_what_is_calm_enough_for_the_rest_leaves_only_what_else_is_calmer() -> None:
    made = with_arc(Crest=0.9, Float=0.1, Ebb=0.2)
    assert said(made, 0.25, 0.95, calm_rest=True)["nothing-calm-enough"][0] == "Ebb"
    assert set(said(made, 0.18, 0.95, calm_rest=True)) == {"arc-fitted-to-library"}
    assert set(said(made, 0.18, 0.95)) == {"nothing-calm-enough", "arc-fitted-to-library"}


def test_alike_tracks_are_all_that_is_said() -> None:
    made = with_arc(Crest=0.9, Float=0.1)
    ((code, (_, words)),) = said(made, 0.5, 0.55).items()
    assert code == "tracks-alike"
    assert "and the class asks for" in words


@given(st.lists(st.integers(1, 3000), min_size=1, max_size=6))
@settings(max_examples=20)
def test_few_tracks_are_all_looked_at(lengths: list[int]) -> None:
    tracks = [invented_music.track(number, 0.5, float(length)) for number, length in enumerate(lengths)]
    assert len(reach.sample(tracks)) == len(tracks)


def test_a_huge_library_is_thinned_out_evenly(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of 1,000 seconds every second track is looked at where 500 to 999 would do, every third for 400."""
    tracks = [invented_music.track(number, 0.5, 100.0) for number in range(10)]
    for most, every in ((1001, 1), (1000, 2), (600, 2), (500, 3), (400, 3), (333, 4)):
        monkeypatch.setattr(reach, "LIBRARY_SAMPLE", most)
        assert len(reach.sample(tracks)) == len(tracks[::every])
