"""The steps from effort to energy, each beside a slower way: sums over the window, covers looked for second by second."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pairing.effort import arc
from pairing.effort.breath import beat_ranges, beats_of_breath
from pairing.effort.mets import flow_mets, share_in_motion, supported_mets
from pairing.effort.timetable import build_timetable
from pairing.model import Kind, Passage, SectionTime, Step, Timetable, Wishes
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan
from pairing.temper import DRIVING

levels = st.lists(st.floats(0, 1), min_size=1, max_size=40).map(np.array)
rates = st.sampled_from([0.01, 0.04, 0.3])


def below(curve: np.ndarray, rate: float) -> np.ndarray:
    """The highest curve below another that is no steeper: each second is held down by every other."""
    seconds = range(len(curve))
    return np.array([min(curve[at] + rate * abs(at - second) for at in seconds) for second in seconds])


@given(levels, rates)
def test_the_limited_curve_lies_midway_between_its_covers(curve: np.ndarray, rate: float) -> None:
    expected = (below(curve, rate) - below(-curve, rate)) / 2
    assert arc.limit_rate(curve, rate) == pytest.approx(expected)


@given(levels, rates, st.data())
def test_a_curve_bends_as_much_as_its_fixed_seconds_ask(curve: np.ndarray, rate: float, data: st.DataObject) -> None:
    some = st.sampled_from([np.nan, np.nan, 0.2, 0.5, 0.9])
    fixed = np.array(data.draw(st.lists(some, min_size=len(curve), max_size=len(curve))))
    held = np.flatnonzero(~np.isnan(fixed))
    met = arc.meet(curve, fixed, rate)
    for second in range(len(curve)):
        least = max((fixed[at] - rate * abs(at - second) for at in held), default=-np.inf)
        most = min((fixed[at] + rate * abs(at - second) for at in held), default=np.inf)
        if second in held:
            assert met[second] == fixed[second]
        elif least > most:
            assert met[second] == pytest.approx((least + most) / 2)
        else:
            assert met[second] == pytest.approx(min(max(curve[second], least), most))


@given(levels, st.sampled_from([1, 3, 45]))
def test_smoothing_is_a_mean_weighted_by_half_a_wave_around_each_second(curve: np.ndarray, window: int) -> None:
    count = min(window, 2 * len(curve) - 1)
    weights = [math.sin(math.pi * (at + 1) / (count + 1)) ** 2 for at in range(count)]
    half = count // 2
    for second, value in enumerate(arc._smooth(curve, window)):
        seen = [curve[min(max(second + at - half, 0), len(curve) - 1)] for at in range(count)]
        assert value == pytest.approx(sum(w * s for w, s in zip(weights, seen)) / sum(weights))


def test_felt_effort_follows_work_as_heart_rate_does() -> None:
    """First order, 33 s up (Am J Physiol Regul Integr Comp Physiol 2012;303:R791) and 55 s down (IEEE EMBS 2006)."""
    felt = arc.felt_curve(np.repeat([1.0, 5.0, 2.0], [10, 100, 200]))
    top = 5 - 4 * math.exp(-100 / 33)
    assert felt[9] == 1.0
    for second in (0, 32, 65, 99):
        assert felt[10 + second] == pytest.approx(5 - 4 * math.exp(-(second + 1) / 33))
    for second in (0, 54, 199):
        assert felt[110 + second] == pytest.approx(2 + (top - 2) * math.exp(-(second + 1) / 55))


@pytest.mark.parametrize(
    ("mets", "seconds", "top"),
    [(2.6, 300, 0.40), (4.3, 300, 0.85), (3.45, 300, 0.625), (3.45, 20, 0.625), (1.0, 300, 0.25), (6.0, 300, 0.90)],
)
def test_the_highest_minute_sets_the_top(mets: float, seconds: int, top: float) -> None:
    assert arc.top_energy(np.full(seconds, mets)) == pytest.approx(top)


def test_a_moment_counts_as_a_part_of_its_minute() -> None:
    moment = np.full(300, 2.6)
    moment[100:115] = 2.6 + 1.7
    assert arc.top_energy(moment) == pytest.approx(0.40 + 0.45 / 4)


def table(*spans: tuple[Kind, float]) -> Timetable:
    sections, steps, at = [], [], 0.0
    for index, (kind, seconds) in enumerate(spans):
        sections.append(
            SectionTime(kind, kind, at, at + seconds, (Passage(1, None, at, at + seconds),), 5.0, 2.0, Wishes())
        )
        steps.append(Step("pose", "a", at, at + seconds, index, mets=2.0))
        at += seconds
    return Timetable(at, tuple(sections), tuple(steps), at, at)


def test_purposes_hold_the_curve_where_they_say() -> None:
    """Before a peak nothing reaches it and all of it leans towards it; a cool-down stays below the middle."""
    spans = [
        (Kind.OPENING, 100),
        (Kind.WARM_UP, 300),
        (Kind.FLOW, 400),
        (Kind.PEAK, 200),
        (Kind.FLOOR, 100),
        (Kind.COOL_DOWN, 200),
        (Kind.REST, 150.5),
    ]
    made = table(*spans)
    felt = np.full(1451, 4.3)
    felt[0] = 1.0
    top = float(np.clip(0.85, 0.25, 0.9))
    curve = arc._follow_purpose(arc._shape(felt, top), {kind: arc._during(made, kind, 1451) for kind in Kind}, top)

    def part(share: float) -> float:
        return 0.17 + share * (0.85 - 0.17)

    for second in (1, 50, 99, 100, 250, 399, 400, 600, 799):
        lean = part(0.8 + 0.2 * second / 800)
        cap = 0.20 if second < 100 else part(0.75) if second < 400 else part(0.92)
        assert curve[second] == pytest.approx(min(lean, cap)), second
    assert curve[800:1000] == pytest.approx(0.85)
    assert curve[1000:1100] == pytest.approx(part(0.7))
    assert curve[1100:1300] == pytest.approx(part(0.5))
    assert curve[1300:] == pytest.approx(0.16)


def test_without_a_peak_only_opening_cool_down_and_rest_are_held_down() -> None:
    made = table((Kind.WARM_UP, 300), (Kind.COOL_DOWN, 100))
    felt = np.linspace(1.0, 4.3, 400)
    curve = arc._follow_purpose(arc._shape(felt, 0.8), {kind: arc._during(made, kind, 400) for kind in Kind}, 0.8)
    shape = 0.17 + 0.63 * (felt - 1.0) / 3.3
    for second in (0, 150, 299):
        assert curve[second] == pytest.approx(0.17 + (shape[second] - 0.17) * (0.8 + 0.2 * second / 399))
    assert curve[300:].max() == pytest.approx(0.17 + 0.5 * 0.63)


def test_a_class_without_a_range_of_effort_stays_level() -> None:
    assert arc._shape(np.full(9, 3.0), 0.8) == pytest.approx(0.17)
    assert arc._shape(np.array([3.0, 3.25]), 0.8) == pytest.approx([0.17, 0.17 + 0.63 / 2])
    assert arc._shape(np.array([3.0, 4.0]), 0.8) == pytest.approx([0.17, 0.8])


def test_driving_music_still_swells_with_the_class() -> None:
    fixed, curve = np.full(3, np.nan), np.array([0.1, 0.25, 0.4])
    arc._fix(fixed, slice(0, 3), curve, Wishes(level="driving"))
    assert fixed == pytest.approx([DRIVING, DRIVING + 0.06, DRIVING + 0.12])


# ---- breath and beat ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("breath_s", [1.0, 3.0, 4.4, 5.0, 6.0, 12.0, 30.0])
def test_beats_of_a_breath_fall_on_it_and_can_be_danced_to(breath_s: float) -> None:
    made = {beats: (bpm, low, high) for beats, bpm, low, high in beats_of_breath(breath_s)}
    for beats in (4, 8, 12, 16):
        bpm = beats / (breath_s / 60)
        assert (beats in made) == (40 <= bpm <= 220)
        if beats in made:
            assert made[beats] == pytest.approx((bpm, 0.96 * bpm, 1.04 * bpm))


def test_each_pace_of_a_moving_section_has_its_own_beats() -> None:
    text = (
        "# A\nbreath: 5 seconds\n\n## Sit: opening\n- easy seat, 6 breaths\n\n## One: flow, 2 rounds, each round 20% quicker\n"
        "- chair, 2 breaths\n- plank, 20 seconds\n"
    )
    found = beat_ranges(build_timetable(read_plan(text, file="a.md"), pose_table()))
    assert [(one.section, one.round, one.breath_s, one.beats) for one in found] == [
        (1, 1, 5.0, 4),
        (1, 1, 5.0, 8),
        (1, 1, 5.0, 12),
        (1, 1, 5.0, 16),
        (1, 2, 4.0, 4),
        (1, 2, 4.0, 8),
        (1, 2, 4.0, 12),
    ]
    eight = found[1]
    assert [eight.holds(bpm) for bpm in (92.1, 92.2, 96, 99.8, 99.9)] == [False, True, True, True, False]


@given(st.floats(0.1, 8))
def test_what_is_held_and_what_flows_share_a_pose_between_one_and_two_breaths(breaths: float) -> None:
    assert share_in_motion(breaths) == pytest.approx(min(1.0, max(0.0, 2.0 - breaths)))


def test_the_line_of_the_published_paces() -> None:
    """6, 4 and 3 s a pose cost 3.28, 3.64 and 4.22 METs (n = 10; sun salutations by gas exchange)."""
    for seconds, mets in ((6, 3.28), (4, 3.64), (3, 4.22)):
        assert flow_mets(60 / seconds) == pytest.approx(mets, abs=0.08)
    assert supported_mets(3.0) == pytest.approx(1.0 + 0.15 * 2.0)
    assert supported_mets(0.9) == 0.9
