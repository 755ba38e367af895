"""What the solver is given of tracks and wishes, and what a library can reach, each worked out in loops."""

import dataclasses
import math
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from invented_music import track

from audio.track import Tags, Track
from pairing.alignment import cuts, reach, task
from pairing.alignment.options import PinWish
from pairing.model import Kind, PairOptions
from pairing.sets import fitrest
from pairing.solve.problem import Weights


def known_as(one: Track, **more: object) -> Track:
    return dataclasses.replace(one, analysis=dataclasses.replace(one.analysis, **more))


# ---- tracks ------------------------------------------------------------------------------------------------------

# As every handbook of music spells them: semitones above C, minor keys apart.
KEYS = {
    "C major": 0, "C# major": 1, "Db major": 1, "D major": 2, "Eb major": 3, "E major": 4, "F major": 5, "F# major": 6,
    "G♭ major": 6, "G major": 7, "G♯ major": 8, "A major": 9, "B♭ major": 10, "B major": 11, "Cb major": 11,
    "A minor": 21, "a minor": 21, "C minor": 12, "C# minor": 13, "B minor": 23, "Bb minor": 22, "B# minor": 12,
    "D## minor": 16, "": -1, "H minor": -1,
}  # fmt: skip


@pytest.mark.parametrize("name", KEYS)
def test_a_key_has_its_number(name: str) -> None:
    assert task.key_number(known_as(track(1, 0.5, 60), key=name or None)) == KEYS[name]


def test_tracks_of_twenty_seconds_may_be_chosen_each_recording_once() -> None:
    made = [track(n, 0.5, 60) for n in range(1, 6)]
    made[1] = known_as(made[1], duration_s=19.9)
    made[2] = dataclasses.replace(made[2], fingerprint=made[0].fingerprint)
    made[3] = dataclasses.replace(made[3], marks={"use": "never"})
    short = known_as(track(9, 0.5, 60), duration_s=20.0)
    options = PairOptions(exclude=(5,))
    assert [one.id for one in task.usable([short, *made[::-1]], options)] == [1, 9]
    assert 5 in [one.id for one in task.usable(made, options, always=(5,))]
    assert [one.id for one in task.usable(made[:3], options, always=(3,))] == [
        3
    ]  # of one recording the one that is meant
    assert 2 not in [one.id for one in task.usable(made, options, always=(2,))]


def test_tracks_of_one_artist_have_one_number() -> None:
    names = ["Quay", " quay ", "", "Tide", "QUAY", "  "]
    made = [dataclasses.replace(track(n, 0.5, 60), tags=Tags(artist=name)) for n, name in enumerate(names)]
    assert task._artists(made).tolist() == [0, 0, -1, 1, 0, -1]


@pytest.mark.parametrize(
    ("favourites", "costs"), [((), [0.2, 0.0, 0.5]), ((1,), [0.5, 0.0, 0.8]), ((0, 1, 2), [0.2, 0.0, 0.5])]
)
def test_a_plain_track_costs_a_little_where_there_are_favourites(
    favourites: tuple[int, ...], costs: list[float], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(task.marks, "is_favourite", lambda one: one.id in favourites)
    found = task._track_costs([track(n, 0.5, 60) for n in range(3)], {0: 0.2, 2: 0.5})
    assert found.tolist() == pytest.approx(costs)


@pytest.mark.parametrize(("squeezed", "factor"), [(1.0, 1.0), (0.5, 4.0), (0.3, 1 / 0.09), (0.1, 1 / 0.09)])
def test_errors_count_in_the_range_there_is(squeezed: float, factor: float) -> None:
    plain = Weights()
    for repeats in (False, True):
        made = task._weights(plain, squeezed, repeats=repeats)
        for name in Weights.__dataclass_fields__:
            grows = name in ("error", "worst_window", "twin")
            grows |= repeats and name in ("change", "trim", "clip", "repeat", "meeting")
            assert getattr(made, name) == pytest.approx(getattr(plain, name) * (factor if grows else 1.0)), name


@pytest.mark.parametrize(("seconds", "plenty"), [(400, True), (401, False)])
def test_four_times_the_class_in_tracks_long_enough_is_plenty(seconds: int, plenty: bool) -> None:
    made = [known_as(track(1, 0.5, 60), duration_s=long_s) for long_s in (90.0, 1510.0, 89.0, 89.0)]
    assert task._is_plenty(SimpleNamespace(seconds=seconds), made) is plenty  # type: ignore[arg-type]


def test_pins_stand_on_the_grid_in_their_order() -> None:
    shape = SimpleNamespace(grid=lambda at_s: math.floor(at_s + 0.5) + 10)
    wishes = [PinWish(7, 99.6), PinWish(5, 20.4, 60.5, 3.5), PinWish(9, 1.0)]
    pins = task._pins(shape, [track(5, 0.5, 60), track(7, 0.5, 60)], wishes)  # type: ignore[arg-type]
    assert [(pin.track, pin.start, pin.end, pin.enter) for pin in pins] == [(0, 30, 71, 4), (1, 110, None, None)]


def test_means_are_those_of_each_curve() -> None:
    energy = np.array([0.1, 0.3, 0.5, 0.9, 0.7, 0.2], np.float32)
    assert task._means(energy, np.array([0, 2, 5, 6])).tolist() == pytest.approx([0.2, 0.7, 0.2])
    assert len(task._means(np.zeros(0, np.float32), np.zeros(1, np.int64))) == 0


@pytest.mark.parametrize(("alone_s", "filled"), [(10, {0, 1, 3, 4}), (9, {3, 4})])
def test_the_nearest_tracks_may_fill_a_short_stretch_alone(
    alone_s: int, filled: set[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two for each stretch; a track that may not play there is none of them."""
    monkeypatch.setattr(task, "FILLERS", 2)
    monkeypatch.setattr(task.moments, "ALONE_S", alone_s)
    monkeypatch.setattr(task.moments, "stretches", lambda _: [(0, 10), (10, 15)])
    target = np.repeat([0.2, 0.8], [10, 5])
    shape = SimpleNamespace(on_grid=lambda curve: curve)
    cost = np.zeros((2, 5))
    cost[1, 2] = np.inf
    ruled = SimpleNamespace(zone=np.repeat([0, 1], [10, 5]), cost=cost)
    means = np.array([0.21, 0.25, 0.8, 0.75, 0.9], np.float32)
    assert set(np.flatnonzero(task._fillers(shape, ruled, means, target)).tolist()) == filled  # type: ignore[arg-type]


def test_a_very_long_track_may_be_left_where_it_has_filled_a_long_stretch_alone(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(task.moments, "ALONE_S", 50)
    monkeypatch.setattr(task.moments, "stretches", lambda _: [(0, 50), (50, 150)])  # one of them is long
    enter = cuts.CutTable(np.array([0, 30, 10]), np.zeros(3, np.float32), np.array([0, 2, 3]))
    leave = cuts.CutTable(np.array([60, 120, 90]), np.full(3, 0.5, np.float32), np.array([0, 2, 3]))
    made = task._with_whole_stretches(None, enter, leave, np.array([130.0, 80.0]))  # type: ignore[arg-type]
    assert made.at.tolist() == [60, 100, 120, 90]  # not 130, which lies behind its last
    assert made.offset.tolist() == [0, 3, 4]
    assert task._with_whole_stretches(None, enter, leave, np.array([99.0, 80.0])) is leave  # type: ignore[arg-type]


@pytest.mark.parametrize(("fit_s", "lacks"), [(49, 11), (60, 0), (61, 0), (50, 10)])
def test_how_much_the_longest_fit_track_lacks_for_its_rest(
    fit_s: int, lacks: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is entered at its first cut and left at its last; ten seconds at most are made up by silence."""
    monkeypatch.setattr(fitrest, "_has_unfit", lambda *_: True)
    monkeypatch.setattr(fitrest, "_span", lambda _: (100, 160))
    monkeypatch.setattr(fitrest, "is_fit", lambda one: one.id != 3)
    problem = SimpleNamespace(
        enter_at=np.array([5, 9, 5, 0]), enter_offset=np.array([0, 2, 3, 4, 4]),
        leave_at=np.array([20, 5 + fit_s, 25, 300, 400]), leave_offset=np.array([0, 2, 3, 4, 5]),
        track_cost=np.array([0.0, 0.0, 0.0, 0.0]),
    )  # fmt: skip
    made = SimpleNamespace(problem=problem, tracks=[SimpleNamespace(id=n) for n in range(1, 5)])
    most = fitrest.MOST_SILENCE_S
    assert fitrest._missing(made, None) == (lacks if lacks <= most else 0)  # type: ignore[arg-type]


# ---- what is within reach ----------------------------------------------------------------------------------------

energies = st.lists(
    st.lists(st.floats(0, 1), min_size=1, max_size=60).map(lambda one: np.array(one, np.float32)), max_size=3
)


@given(energies, st.integers(1, 400), st.integers(0, 5))
def test_a_level_is_in_reach_where_enough_music_holds_it(curves: list[np.ndarray], calm: int, silent: int) -> None:
    """Held for 20 s on end; for seven tenths of the time the arc is near its end, of two minutes at least."""
    arc = np.concatenate((np.full(calm, 0.2), np.full(600 - calm, 0.7), np.full(silent, np.nan))).astype(np.float32)
    held = sorted(
        float(curve[first : first + 20].astype(np.float64).mean())
        for curve in curves
        for first in range(len(curve) - 19)
    )
    low, high = np.nanpercentile(arc, (2, 98))
    near = 0.15 * (high - low)
    low_s = round(0.7 * max(sum(value <= low + near for value in arc[:600].tolist()), 120))
    high_s = round(0.7 * max(sum(value >= high - near for value in arc[:600].tolist()), 120))
    expected = (held[min(low_s, len(held) - 1)], held[max(len(held) - 1 - high_s, 0)]) if held else (0.0, 1.0)
    assert reach.reach(curves, arc) == pytest.approx(expected, abs=1e-5)
    assert reach.reach(curves, np.full(9, np.nan, np.float32)) == (0.0, 1.0)


@given(st.floats(0, 0.6), st.floats(0.05, 0.4))
def test_an_arc_is_moved_into_the_range_by_one_rising_line(lowest: float, width: float) -> None:
    arc = np.linspace(0.1, 0.9, 101, dtype=np.float32)
    highest = lowest + width
    made = reach.fitted(arc, lowest, highest)
    low, high = reach.arc_ends(arc)
    bottom, top = reach.arc_ends(made)
    assert np.polyfit(arc[2:-2], made[2:-2], 1, full=True)[1] == pytest.approx(0, abs=1e-6)  # a line
    if lowest <= low + 0.03 and highest >= high - 0.03:
        assert made is arc
    else:
        wanted = max(low, lowest), min(high, highest)
        assert bottom == pytest.approx(max(lowest, min(wanted[0], wanted[1] - (high - low))), abs=1e-4)
        assert top == pytest.approx(min(highest, max(wanted[1], wanted[0] + (high - low))), abs=1e-4)


def test_a_range_is_never_wholly_flat_and_a_flat_arc_stays() -> None:
    arc = np.linspace(0.1, 0.9, 101, dtype=np.float32)
    bottom, top = reach.arc_ends(reach.fitted(arc, 0.5, 0.5))
    assert top - bottom == pytest.approx(0.02, abs=1e-4)
    flat = np.full(9, 0.5, np.float32)
    assert reach.fitted(flat, 0.7, 0.9) is flat


@pytest.mark.parametrize(
    ("share", "squeezed", "alike"), [(1.0, 1.0, False), (0.36, 0.36, False), (0.34, 0.34, True), (2.0, 1.0, False)]
)
def test_a_range_below_a_third_of_the_arcs_is_much_alike(share: float, squeezed: float, alike: bool) -> None:
    arc = np.linspace(0.1, 0.9, 101, dtype=np.float32)
    assert reach.squeeze(arc, arc * share) == pytest.approx(squeezed, abs=1e-4)
    assert reach.are_alike(arc, arc * share) is alike
    nothing = np.full(101, np.nan, np.float32)
    assert reach.squeeze(nothing, arc) == reach.squeeze(arc, nothing) == 1.0
    assert reach.squeeze(np.linspace(0.5, 0.55, 101), arc) == 1.0  # the arc hardly moves
    assert reach.squeeze(np.linspace(0.5, 0.56, 101), 0.5 * np.linspace(0.5, 0.56, 101)) == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("first", "last", "length", "said"),
    [(0, 99, 100, "all"), (0, 89, 100, "all"), (0, 88, 100, "the first 89 seconds"), (5, 70, 100, "the first 66 seconds"),
     (6, 70, 100, "65 seconds"), (40, 99, 100, "the last 60 seconds"), (40, 95, 100, "the last 56 seconds"),
     (40, 94, 100, "55 seconds"), (5, 95, 200, "the first 2 minutes"), (100, 220, 400, "2 minutes"), (0, -1, 100, "all")],
)  # fmt: skip
def test_which_part_of_a_section_is_meant(first: int, last: int, length: int, said: str) -> None:
    assert reach._which(np.arange(first, last + 1), length) == said


def of_class(arc: np.ndarray, rest: tuple[float, float] | None = None) -> SimpleNamespace:
    half = len(arc) // 2
    return SimpleNamespace(
        arc=arc,
        rest=None if rest is None else SimpleNamespace(start_s=rest[0], end_s=rest[1]),
        sections=(
            SimpleNamespace(name="Tide", kind=Kind.FLOW, start_s=0.0, end_s=float(half)),
            SimpleNamespace(name="Float", kind=Kind.REST, start_s=float(half), end_s=float(len(arc))),
        ),
    )


def test_what_is_missing_is_said_where_it_is_missing() -> None:
    arc = np.repeat([0.3, 0.9, 0.5, 0.1], 100).astype(np.float32)

    def told(lowest: float, highest: float, *, calm: bool = False) -> dict[str, str]:
        made = of_class(arc, (300.0, 400.0))
        return {
            one.code: f"{one.where.section}: {one.message}"
            for one in reach.findings(made, lowest, highest, calm_rest=calm)
        }  # type: ignore[arg-type]

    assert told(0.1, 0.9) == told(0.13, 0.87) == {}
    lively = told(0.1, 0.86)
    assert set(lively) == {"nothing-lively-enough", "arc-fitted-to-library"}
    assert lively["nothing-lively-enough"].startswith(
        "Tide: You have too little music lively enough for the last 2 minutes of Tide"
    )
    calm = told(0.2, 0.9)
    assert set(calm) == {"nothing-calm-enough", "arc-fitted-to-library"}
    assert calm["nothing-calm-enough"].startswith(
        "Float: You have too little music calm enough for the last 2 minutes of Float"
    )
    assert set(told(0.2, 0.9, calm=True)) == {"arc-fitted-to-library"}
    assert set(told(0.4, 0.6)) == {"tracks-alike"}
