"""The words on a pick and on what is missing, for small classes whose numbers are known."""

from dataclasses import replace

import invented_music
import numpy as np
import pytest
from test_alignment_by_hand import SHAPE, a_frame, with_cuts

from audio.track import Track
from pairing.alignment import supply
from pairing.alignment.frame import Frame
from pairing.alignment.task import Task
from pairing.errors import NotEnoughMusic
from pairing.model import Rule
from pairing.sets import fitrest, why
from pairing.solve import arrays
from pairing.solve.problem import Answer, Chosen, Pin, Problem
from pairing.temper import temper

# The class: opening to 100 s, warm-up to 300.5, flow to 600.5, peak to 750.5, cool-down to 870.75, rest to 1050.75.


def a_task(energies: list[np.ndarray], target: float = 0.5, **changes: object) -> Task:
    frame = replace(a_frame(before_s=0.0, after_s=0.0), silent=(), arc=np.full(1051, target, np.float32))
    given = {"cut_s": 8, "shortest_s": 20, "zone_cost": np.zeros((1, len(energies))), **changes}
    problem: Problem = arrays.problem(energies, np.full(frame.seconds, target), **given)  # type: ignore[arg-type]
    tracks = [with_cuts(float(len(each)), (0.0, 0.0, 1.0), (float(len(each)), 1.0, 0.0)) for each in energies]
    tracks = [replace(track, id=n, fingerprint=str(n)) for n, track in enumerate(tracks, 1)]
    return Task(problem, frame, tuple(tracks), None, np.array([float(len(each)) for each in energies]))  # type: ignore[arg-type]


def marked(task: Task, **marks: str) -> Task:
    one: Track = replace(task.tracks[0], marks=marks)
    return replace(task, tracks=(one, *task.tracks[1:]))


FLAT = np.full(300, 0.5)
HALF = Chosen(0, 150, 300, 60)


@pytest.mark.parametrize(
    ("off", "said"),
    [
        (0.05, "follows the class closely"),
        (0.07, "follows the class"),
        (0.11, "follows the class"),
        (0.13, "follows the class loosely"),
    ],
)
def test_how_close_a_pick_is_is_said_by_its_root_mean_squared_error(off: float, said: str) -> None:
    assert why.reason(a_task([FLAT + off]), HALF).split(", ")[1] == said
    wave = FLAT + off * np.where(np.arange(300) % 2, 1, -1)
    assert why.reason(a_task([wave]), HALF).split(", ")[1] == said


@pytest.mark.parametrize(("by", "said"), [(0.16, " and rising"), (-0.16, " and sinking"), (0.09, "")])
def test_a_course_is_the_last_third_against_the_first(by: float, said: str) -> None:
    """A straight line that moves by so much: the middles of the outer thirds lie two thirds of it apart."""
    slope = np.interp(np.arange(300), [60, 209], [0.5 - by / 2, 0.5 + by / 2])
    assert why.reason(a_task([slope]), HALF).split(", ")[0] == f"{temper(0.5)}{said}"


def test_what_was_taken_for_another_reason_says_so() -> None:
    far, near = a_task([FLAT + 0.25]), a_task([FLAT + 0.01])
    assert why.reason(far, HALF, pinned=True) == f"pinned by you, {temper(0.75)}, much livelier than asked"
    assert why.reason(marked(near, favourite="yes"), HALF).startswith("your favourite, ")
    assert why.reason(marked(far, favourite="yes"), HALF).endswith("much livelier than asked")
    assert why.reason(far, HALF).endswith("loosely")


@pytest.mark.parametrize(("enter", "end", "whole"), [(0, 437, True), (0, 436, False), (2, 435, True), (3, 434, False)])
def test_a_track_plays_whole_from_its_start_to_its_last_seconds(enter: int, end: int, whole: bool) -> None:
    """Of 300 s: entered within 2 s, left 13 s before its end or later."""
    said = why.reason(a_task([FLAT]), Chosen(0, 150, end, enter))
    assert said.endswith("plays whole") is whole


@pytest.mark.parametrize(("start", "inside"), [(869, False), (870, True), (900, True)])
def test_in_the_rest_it_is_said_whether_a_track_suits_one(start: int, inside: bool) -> None:
    said = why.reason(a_task([FLAT]), Chosen(0, start, start + 60, 60))
    assert ("suit a rest" in said) is inside


def test_a_runner_up_far_off_is_none() -> None:
    task = a_task([FLAT, FLAT + 0.12, FLAT + 0.21])
    assert why.runner_up(task, HALF, replace(HALF, track=1)) == 'next best: "Piece 1", livelier'
    assert why.runner_up(task, HALF, replace(HALF, track=2)) == "no other track comes near"


# ---- what is missing ---------------------------------------------------------------------------------------------


def refusal(task: Task) -> NotEnoughMusic | None:
    try:
        supply.require(task)
    except NotEnoughMusic as error:
        return error
    return None


def test_enough_music_is_let_pass_and_a_minute_too_little_is_told_in_minutes() -> None:
    """The class takes 1,051 s, in two pieces: up to the rest, and the rest of 180 s, of which a track gives no more."""
    assert len(SHAPE) == 6
    assert refusal(a_task([np.full(600, 0.5), np.full(456, 0.5)])) is None
    said = refusal(a_task([np.full(600, 0.5), np.full(400, 0.5)]))
    assert said is not None
    assert said.message == (
        "the class needs 18 minutes of music; you have 17 minutes (2 tracks): 51 seconds too little."
    )


def test_a_track_is_heard_no_longer_than_the_longest_piece() -> None:
    said = refusal(a_task([np.full(2000, 0.5), np.full(100, 0.5)]))
    assert said is not None
    assert "of which 16 minutes can be heard beside cross-fades and the borders" in said.message


def test_each_piece_needs_a_track_of_its_own() -> None:
    said = refusal(a_task([np.full(2000, 0.5)]))
    assert said is not None
    assert said.message.startswith("the class needs at least 2 tracks, one up to the rest or the silence in it")
    assert said.message.endswith("you have 1 track.")


def test_where_only_some_tracks_may_play_they_are_counted_alone() -> None:
    """No voice from 300.5 to 600.5: the second track alone may play there, and lasts 200 s."""
    zones = {"zone": np.repeat([0, 1, 0], [301, 300, 450]), "zone_cost": np.array([[0.0, 0.0], [np.inf, 0.0]])}
    task = a_task([np.full(900, 0.5), np.full(200, 0.5)], **zones)
    task = replace(task, frame=replace(task.frame, rules=(Rule(300.5, 600.5, 2, no_voice=True),)))
    said = refusal(task)
    assert said is not None
    assert said.message == (
        "Tide (flow) needs 5.0 minutes of music without voice; you have 3.3 minutes (1 track): 1.7 minutes too little."
    )
    none = replace(task, problem=replace(task.problem, zone_cost=np.float32([[0.0, 0.0], [np.inf, np.inf]])))
    said = refusal(none)
    assert said is not None
    assert said.message == "Tide (flow) needs 5.0 minutes of music without voice; you have none that may play there."
    pinned = replace(task, problem=replace(task.problem, pins=(Pin(0, 301, 401, 0),)))
    assert refusal(pinned) is None


@pytest.mark.parametrize(
    ("seconds", "said"),
    [(1, "1 second"), (89, "89 seconds"), (90, "1.5 minutes"), (599, "10.0 minutes"), (600, "10 minutes")],
)
def test_minutes_are_as_exact_as_they_are_few(seconds: float, said: str) -> None:
    assert supply._minutes(seconds) == said


# ---- a rest that is some seconds too long for its music ----------------------------------------------------------


def resting(fit_s: float) -> tuple[Task, Answer]:
    """A fit track of so many seconds, and one that isn't fit and was chosen; the rest wants 180 s."""
    task = a_task([np.full(int(fit_s), 0.15), np.full(400, 0.9)], cut_s=1)
    calm = invented_music.track(1, 0.15, fit_s)
    lively = replace(task.tracks[1], analysis=task.tracks[1].analysis.but(energy=np.full(400, 0.9, np.float32)))
    chosen = (Chosen(1, 871, 1051, 0),)
    assert task.frame.rest is not None
    frame = replace(task.frame, rest=replace(task.frame.rest, silence_s=0.0))
    return replace(task, frame=frame, tracks=(calm, lively)), Answer(chosen, 1.0, 0.0, {}, (), False)


@pytest.mark.parametrize(("fit_s", "missing"), [(179, 1), (170, 10), (169, 0), (180, 0), (300, 0)])
def test_a_rest_gets_unfit_music_for_want_of_ten_seconds_at_most(fit_s: float, missing: int) -> None:
    task, answer = resting(fit_s)
    assert fitrest._missing(task, answer) == missing
    fit = replace(answer, chosen=(Chosen(0, 871, 1051, 0),))
    assert fitrest._missing(task, fit) == 0


def test_a_class_without_a_rest_is_solved_as_it_is() -> None:
    task, answer = resting(175)
    bare = replace(task, frame=replace(task.frame, rest=None))
    asked: list[Frame] = []

    def solve(shape: Frame) -> fitrest.Solved:
        asked.append(shape)
        return bare, answer, ()

    assert fitrest.solved(bare.frame, solve) == (bare, answer, ())
    assert asked == [bare.frame]


def test_more_silence_is_taken_where_it_makes_the_music_fit_and_only_there() -> None:
    task, answer = resting(175)
    fit = replace(answer, chosen=(Chosen(0, 871, 1046, 0),))
    for second, taken in ((fit, True), (answer, False)):
        asked: list[float] = []

        def solve(shape: Frame, second: Answer = second, asked: list[float] = asked) -> fitrest.Solved:
            assert shape.rest is not None
            asked.append(shape.rest.silence_s)
            return replace(task, frame=shape), second if len(asked) > 1 else answer, ()

        _, got, _ = fitrest.solved(task.frame, solve)
        assert asked == [0.0, 5.0]
        assert (got is fit) is taken
