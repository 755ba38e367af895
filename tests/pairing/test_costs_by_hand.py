"""Terms of the objective and of effort where the right answer is known without the program."""

import csv
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from audio.measure.key import KEY_NAMES
from pairing import plan as plan_package
from pairing.effort.arc import make_arc
from pairing.effort.mets import RESTING_METS, supported_mets
from pairing.effort.timetable import build_timetable
from pairing.model import SetPlan, Timetable
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan
from pairing.sets import mixdown
from pairing.solve import arrays
from pairing.solve.costs import evaluate
from pairing.solve.problem import Chosen, Problem, Weights

# The circle of fifths as every handbook of music has it: a minor key beside the major one of the same signature.
CIRCLE = [
    ("C", "A"), ("G", "E"), ("D", "B"), ("A", "F#"), ("E", "C#"), ("B", "G#"), ("F#", "D#"), ("C#", "Bb"), ("G#", "F"),
    ("Eb", "C"), ("Bb", "G"), ("F", "D"),
]  # fmt: skip


def timed(text: str) -> Timetable:
    return build_timetable(read_plan(text, file="a.md"), pose_table())


def key(name: str) -> int:
    """The number of a key, by whichever of its two names the program has."""
    flat = {"C#": "Db", "D#": "Eb", "F#": "Gb", "G#": "Ab", "A#": "Bb"}
    tonic, mode = name.split()
    sharp = {other: one for one, other in flat.items()}
    spellings = (tonic, flat.get(tonic, tonic), sharp.get(tonic, tonic))
    return next(number for number, known in enumerate(KEY_NAMES) if known in {f"{each} {mode}" for each in spellings})


def two_tracks(weights: Weights, **known: np.ndarray) -> tuple[Problem, tuple[Chosen, ...]]:
    """A class of two minutes, a track for each."""
    curves = [np.full(60, 0.5), np.full(60, 0.5)]
    made = arrays.problem(curves, np.full(120, 0.5), shortest_s=30)
    return replace(made, weights=weights, **known), (Chosen(0, 0, 60, 0), Chosen(1, 60, 120, 0))


@pytest.mark.parametrize("place", range(12))
@pytest.mark.parametrize("away", range(12))
def test_a_step_of_key_counts_by_its_way_on_the_circle_of_fifths(place: int, away: int) -> None:
    (major, minor), (other_major, other_minor) = CIRCLE[place], CIRCLE[(place + away) % 12]
    expected = 0.6 * min(away, 12 - away) / 6
    for one, two in [
        (f"{major} major", f"{other_major} major"),
        (f"{minor} minor", f"{other_minor} minor"),
        (f"{major} major", f"{other_minor} minor"),
        (f"{minor} minor", f"{other_major} major"),
    ]:
        problem, chosen = two_tracks(Weights(key_step=0.6), key=np.array([key(one), key(two)]))
        assert evaluate(problem, chosen)["key steps"] == pytest.approx(expected), (one, two)


# More than 12 % apart counts; double and half the tempo are the same beat; no clear beat is no step.
TEMPOS = [(100, 111, 0), (100, 113, 1), (113, 100, 1), (100, 200, 0), (60, 118, 0), (60, 240, 0), (100, 140, 1)]


@pytest.mark.parametrize(("one", "two", "steps"), [*TEMPOS, (100, np.nan, 0), (np.nan, 140, 0)])
def test_a_step_of_tempo_counts_from_12_per_cent_on_octaves_folded(one: float, two: float, steps: int) -> None:
    problem, chosen = two_tracks(Weights(tempo_step=0.15), tempo_bpm=np.array([one, two], np.float64))
    assert evaluate(problem, chosen)["tempo steps"] == pytest.approx(0.15 * steps)


@given(mets=st.floats(RESTING_METS, 12), more=st.floats(0.01, 5))
def test_props_take_part_of_the_effort_above_rest_and_never_more(mets: float, more: float) -> None:
    assert RESTING_METS <= supported_mets(mets) <= mets
    assert supported_mets(mets) < supported_mets(mets + more) < mets + more
    assert supported_mets(RESTING_METS) == RESTING_METS


def test_moving_between_poses_costs_more_than_holding_them() -> None:
    """And the quicker the more (METs of moves by gas exchange: the paces of sun salutations)."""
    means = []
    for between in (0, 20, 5):
        plan = f"# A\nbreath: 5 seconds\nbetween: {between} seconds\n\n## One: standing\n- warrior two, 20 seconds, right\n"
        timetable = timed(plan + "- triangle, 20 seconds, right\n")
        seconds = timetable.duration_s
        means.append((make_arc(timetable).demand_mets[: int(seconds)], seconds))
    held, slow, quick = (demand for demand, _ in means)
    assert [seconds for _, seconds in means] == [40.0, 60.0, 45.0]
    assert slow[20:40].mean() > held[:20].mean()
    assert quick[20:25].mean() > slow[20:40].mean()


def paced(moves_a_minute: float) -> float:
    """The pace line of sun salutations, by gas exchange (its source stands with `PACE_BASE_METS`)."""
    return 2.30 + 0.094 * moves_a_minute


def held(pose_id: str) -> float:
    """What the pose table says."""
    with (Path(plan_package.__file__).parent / "poses.csv").open(encoding="utf-8") as file:
        return next(float(row["mets"]) for row in csv.DictReader(file) if row["id"] == pose_id)


# A salutation: ten half-breaths moved through and a dog of five breaths; a breath of 4 s is 30 half-breaths a minute.
EFFORTS = [
    ("warrior two, 2 breaths", lambda: held("warrior_2")),
    ("warrior two, 1 breath", lambda: paced(15)),
    ("warrior two, 6 seconds", lambda: (paced(10) + held("warrior_2")) / 2),  # a breath and a half: half in motion
    ("chair x8", lambda: held("chair")),  # the table gives it by the repetition
    ("chair x2", lambda: held("chair")),
    ("mountain x8", lambda: paced(15)),  # and this one not: a move a breath
    ("pigeon, 1 breath", lambda: held("half_pigeon")),  # near the floor
    ("sun salutation A, no hold", lambda: paced(30)),
    ("sun salutation A", lambda: (5 * paced(30) + 5 * held("downward_dog")) / 10),
]


@pytest.mark.parametrize(("line", "mets"), EFFORTS, ids=[line for line, _ in EFFORTS])
def test_a_line_costs_what_the_rules_of_effort_give_by_hand(line: str, mets: Callable[[], float]) -> None:
    timetable = timed(f"# A\nbreath: 4 seconds\nholds: flow\n\n## One: flow\n- {line}\n")
    step = next(step for step in timetable.steps if step.line)
    assert step.mets == pytest.approx(mets(), abs=0.01)


def test_a_pass_begins_and_ends_with_what_is_done_in_it() -> None:
    timetable = timed(
        "# A\nbreath: 5 seconds\n\n## One: flow, both sides, 2 rounds\n- warrior two, 3 breaths\n- triangle, 2 breaths\n"
    )
    (section,) = timetable.sections
    sides = [(each.round, each.side, each.start_s, each.end_s) for each in section.passes]
    assert [side[:2] for side in sides] == [(1, "right"), (1, "left"), (2, "right"), (2, "left")]
    for number, side, start_s, end_s in sides:
        inside = [step for step in timetable.steps if (step.round, step.side) == (number, side)]
        assert (inside[0].start_s, inside[-1].end_s) == (start_s, end_s)
    assert [one[3] for one in sides[:-1]] == [two[2] for two in sides[1:]]


def test_a_bell_is_never_louder_than_the_bed_of_the_rest(tmp_path) -> None:
    from test_setfile import a_set

    setlist = a_set(tmp_path, plan=SetPlan("p.md", "# A\n", "0" * 64))
    assert setlist.rest is not None
    levels = {level for _, level in mixdown.bells(replace(setlist, rest=replace(setlist.rest, bells_s=(100.0, 150.0))))}
    assert levels == {setlist.rest.bed_lufs}


def test_the_effort_of_a_section_is_the_mean_of_its_seconds() -> None:
    timetable = timed(
        "# A\nbreath: 5 seconds\n\n## Sit: opening\n- easy seat, 1 minute\n\n"
        "## One: standing\n- warrior two, 100 seconds, right\n- mountain, 20 seconds\n"
    )
    demand = make_arc(timetable).demand_mets
    for section in timetable.sections:
        inside = demand[round(section.start_s) : round(section.end_s)]
        assert section.mean_mets == pytest.approx(float(inside.mean()), rel=0.01)


@pytest.mark.parametrize(("holds", "breaths"), [("flow", 0.5), ("slow", 3.0)])
def test_holds_that_a_note_asks_for_are_those_of_the_table_and_no_style_raises_them(holds: str, breaths: float) -> None:
    """A dog that is passed through in a flow and stayed in when it is slow, as the pose table has them."""
    for title in ("Flow", "Gentle evening", "Yin"):
        timetable = timed(f"# {title}\nbreath: 4 seconds\nholds: {holds}\n\n## One: flow\n- upward dog\n")
        assert next(step.breaths for step in timetable.steps if step.line) == breaths
