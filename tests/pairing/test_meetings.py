"""The music's climax meets the peak's pose: which moments of a class, which points of a track, and whether they meet."""

from dataclasses import replace

import invented_music
import numpy as np
import pytest
import solve_instances as instances
from hypothesis import given
from hypothesis import strategies as st

from audio.track import Break, Shape, Track
from pairing.alignment import frame, meetings, peaks
from pairing.alignment.meetings import MET_S
from pairing.effort.arc import make_arc
from pairing.effort.timetable import build_timetable
from pairing.model import PairOptions, SetList, Step, Wishes
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan
from pairing.sets.pair import pair
from pairing.solve.costs import evaluate, violations
from pairing.solve.grid import grid
from pairing.solve.picks import pick_costs
from pairing.solve.problem import Chosen, Meetings, Problem, Weights
from pairing.solve.search import solve

CREST = "## Tide: flow, 5 minutes\n- warrior two\n\n## Crest: peak\n{}\n\n## Float: rest, 5 minutes\n- savasana\n"

# What stands in the peak; what is met when: the hardest pose in its middle, or what the line asks for as it begins.
MOMENTS = [
    ("- crow, 30 seconds", [(315, "climax", "crow")]),
    ("- crow, 1 second", [(300.5, "climax", "crow")]),
    ("- warrior two, 60 seconds, right\n- crow, 30 seconds\n- garland, 60 seconds", [(375, "climax", "crow")]),
    ("- child's pose, 8 seconds\n- crow, 30 seconds", [(300, "break", "child's pose"), (323, "climax", "crow")]),
    ("- child's pose, 7 seconds\n- crow, 30 seconds", [(322, "climax", "crow")]),  # too short for a stillness
    ("- child's pose, 90 seconds\n- crow, 30 seconds", [(300, "break", "child's pose"), (405, "climax", "crow")]),
    ("- child's pose, 91 seconds\n- crow, 30 seconds", [(406, "climax", "crow")]),
    (  # it ends 20 s before, and 21
        "- child's pose, 30 seconds\n- warrior two, 20 seconds, right\n- crow, 30 seconds",
        [(300, "break", "child's pose"), (365, "climax", "crow")],
    ),
    ("- child's pose, 30 seconds\n- warrior two, 21 seconds, right\n- crow, 30 seconds", [(366, "climax", "crow")]),
    ("- child's pose, 30 seconds\n- crow, 30 seconds", [(300, "break", "child's pose"), (345, "climax", "crow")]),
    ("- pause: water, 20 seconds\n- crow, 30 seconds", [(300, "break", "water"), (335, "climax", "crow")]),
    ("- warrior two, 60 seconds, right, rises into\n- crow, 30 seconds", [(300, "climax", "warrior two")]),
    (
        "- warrior two, 60 seconds, right\n- crow, 30 seconds, breaks at",
        [(360, "break", "crow"), (375, "climax", "crow")],
    ),
    (  # the only climax is the one asked for
        "- warrior two, 60 seconds, right, rises into\n- crow, 30 seconds, breaks at",
        [(300, "climax", "warrior two"), (360, "break", "crow")],
    ),
]


@pytest.mark.parametrize(("lines", "expected"), MOMENTS)
def test_the_moments_of_a_peak(lines: str, expected: list[tuple[float, str, str]]) -> None:
    plan = read_plan("# A\nbetween: 0 seconds\n\n" + CREST.format(lines), file="a.md")
    table = build_timetable(plan, pose_table())
    found = peaks.of_class(table, make_arc(table).target_energy)
    assert [(moment.at_s, moment.what, moment.name) for moment in found] == expected


def test_a_class_without_a_peak_has_no_moment_and_a_line_anywhere_can_ask_for_one() -> None:
    text = "# A\n\n## Sit: opening, 3 minutes\n- easy seat\n\n## Tide: flow, 3 rounds\n- warrior two, 30 seconds{}\n"
    for wish, count in (("", 0), (", rises into", 1)):
        table = build_timetable(read_plan(text.format(wish), file="a.md"), pose_table())
        assert len(peaks.of_class(table, make_arc(table).target_energy)) == count


def test_a_group_that_asks_for_it_is_met_as_its_first_pose_begins_in_its_first_round() -> None:
    text = "# A\n\n## Tide: flow, 8 minutes\n- mountain, 1 minute\n### Wave: 3 rounds, rises into\n- warrior two, 5 breaths\n- triangle\n"
    table = build_timetable(read_plan(text, file="a.md"), pose_table())
    (moment,) = peaks.of_class(table, make_arc(table).target_energy)
    first = next(step for step in table.steps if step.name == "warrior two")
    assert (moment.at_s, moment.what, moment.name) == (first.start_s, "climax", "warrior two")


@given(points=st.lists(st.floats(0, 300), max_size=4), seconds=st.integers(1, 300))
def test_how_far_each_second_is_from_a_point_by_its_definition(points: list[float], seconds: int) -> None:
    found = meetings._apart(points, seconds)
    for at in range(0, seconds, 7):
        off = min((abs(at - point) for point in points), default=np.inf)
        assert found[at] == pytest.approx(min(max((off - 2) / 10, 0), 1), abs=1e-4)


def problem(seed: int, handover_s: int) -> Problem:
    """A class with two meetings at random and a point of each kind in each track."""
    rng = np.random.default_rng(seed)
    made = instances.energy_only(seed, 24, 1200, handover_s=handover_s)
    seconds = np.diff(made.offset)
    rows = [np.concatenate([meetings._apart([float(rng.uniform(0, n))], int(n)) for n in seconds]) for _ in range(2)]
    asked = Meetings.of([(int(rng.integers(0, 1200)), row, float(rng.uniform(0.2, 2))) for row in (0, 1)])
    return replace(made, apart=np.array(rows, np.float32), meetings=asked, weights=replace(made.weights, meeting=3.0))


@pytest.mark.parametrize(("seed", "handover_s"), [(1, 1), (2, 4)])
def test_the_search_counts_meetings_as_the_objective_does(seed: int, handover_s: int) -> None:
    asked = problem(seed, handover_s)
    answer = solve(asked)
    assert not violations(asked, answer.chosen)
    assert answer.bound <= answer.cost + 1e-6
    laid = grid(asked)
    columns = np.array([(laid.node(p.start), laid.node(p.end), p.track, p.enter) for p in answer.chosen]).T.copy()
    start, end, track, enter = columns.astype(np.int64)
    assert pick_costs(asked, laid, start, end, track, enter).sum() == pytest.approx(answer.cost, rel=1e-4)
    heard_without = solve(replace(asked, meetings=Meetings.of()))
    assert answer.cost <= sum(evaluate(asked, heard_without.chosen).values()) + 1e-6


def test_a_missed_meeting_costs_its_weight_and_one_in_silence_nothing() -> None:
    asked = replace(problem(1, 4), weights=Weights(meeting=2.0), meetings=Meetings.of([(100, 0, 1.5)]))
    asked.apart[:] = 1.0
    here, elsewhere = Chosen(0, 40, 120, 0), Chosen(0, 200, 280, 0)
    assert evaluate(asked, (here,))["meetings"] == pytest.approx(3.0)
    assert evaluate(asked, (elsewhere,))["meetings"] == 0.0


def shaped(track: Track, seed: int) -> Track:
    """The track with a climax somewhere in its second half and one break."""
    assert track.analysis is not None
    rng = np.random.default_rng([seed, track.id])
    at = float(rng.uniform(0.4, 0.85) * track.analysis.duration_s)
    shape = Shape(
        climb_s=at - 30, climax_s=at, breaks=(Break(at - 20, at - 14),), ending_s=track.analysis.duration_s - 9
    )
    return replace(track, analysis=track.analysis.but(shape=shape))


def chosen(seed: int, steps: tuple[Step, ...] = ()) -> tuple[SetList, list[Track], float]:
    """A set of the usual class, its music, and how far its climax is from the middle of the peak."""
    tracks = [shaped(track, seed) for track in invented_music.library(60, seed)]
    table = invented_music.timetable(steps=steps)
    setlist = pair(invented_music.plan(), table, invented_music.arc(table), tracks, PairOptions())
    known = {track.fingerprint: track for track in tracks}
    (moment,) = [each for each in setlist.frame.moments if each.what == "climax"]
    (pick,) = [p for p in setlist.picks if p.class_start_s + p.fade_in_s <= moment.at_s < p.class_end_s - p.fade_out_s]
    climax = known[pick.fingerprint].analysis.curves.shape.climax_s
    return setlist, tracks, abs(pick.class_start_s + climax - pick.track_start_s - moment.at_s)


@pytest.mark.parametrize("seed", [1, 2])
def test_the_climax_meets_the_peaks_pose_and_the_set_says_so(seed: int) -> None:
    setlist, _, off_s = chosen(seed)
    assert off_s <= MET_S
    assert sum('reaches its climax at "Crest"' in pick.why for pick in setlist.picks) == 1


TALK = "# A\n{}\n\n## Sit: opening, 2 minutes\n- say: welcome, 1 minute\n- easy seat\n\n## Tide: flow, both sides, 4 minutes\n- warrior two\n"


def test_talk_and_the_first_of_two_sides_are_kept_clear_of_voices_where_the_note_asks() -> None:
    found = []
    for asked in ("music: no singing while I speak", "music: quiet"):
        plan = read_plan(TALK.format(asked), file="a.md")
        table = build_timetable(plan, pose_table())
        found.append(frame.of_class(plan, table, make_arc(table), PairOptions()).spoken)
    assert found == [((0.0, 60.0), (120.0, 240.0)), ()]


def test_where_she_speaks_the_music_that_plays_does_not_sing() -> None:
    """Every lively track sings in one half of it; talk is put where the set without the wish sings most."""
    tracks = [sings_in_half(track) for track in invented_music.library(40, 5)]
    plain = invented_music.timetable()
    without = pair(invented_music.plan(), plain, invented_music.arc(plain), tracks, PairOptions())
    begins = max(range(600, 1500, 30), key=lambda at: sung_over(without, tracks, (at, at + 60)))
    talk = Step("say", "so", begins, begins + 60, 2, wishes=Wishes(clear_talk=True))
    table = invented_music.timetable(steps=(talk,))
    made = pair(invented_music.plan(), table, invented_music.arc(table), tracks, PairOptions())
    assert made.frame.spoken_s == ((begins, begins + 60),)
    assert sung_over(made, tracks, (begins, begins + 60)) <= 3
    assert sung_over(without, tracks, (begins, begins + 60)) >= 30


def sings_in_half(track: Track) -> Track:
    assert track.analysis is not None
    if track.analysis.curves.mean_energy < 0.35:
        return track
    half = track.analysis.curves.seconds // 2
    voice = np.zeros(track.analysis.curves.seconds, np.float32)
    voice[half * (track.id % 2) :][:half] = 0.9
    return replace(track, analysis=track.analysis.but(voice=voice))


def sung_over(setlist: SetList, tracks: list[Track], span_s: tuple[float, float]) -> int:
    """Seconds of a stretch in which a pick that has faded in sings."""
    known = {track.fingerprint: track.analysis for track in tracks}
    count = 0
    for pick in setlist.picks:
        first, last = pick.class_start_s + pick.fade_in_s, pick.class_end_s - pick.fade_out_s
        for second in np.arange(max(np.ceil(first), span_s[0]), min(last, span_s[1])):
            count += int(
                known[pick.fingerprint].curves.voice[int(second - pick.class_start_s + pick.track_start_s)] >= 0.5
            )
    return count
