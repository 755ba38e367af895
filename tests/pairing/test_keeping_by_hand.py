"""What is kept of a former set when its class changes: which picks move with their sections, and which must go."""

from dataclasses import replace

import numpy as np
import pytest
from test_alignment_by_hand import a_frame, with_cuts
from test_set_checks import a_set, section

from pairing.alignment import keeping
from pairing.alignment.options import PinWish
from pairing.alignment.task import Task
from pairing.model import Kind, SectionTime, SetList
from pairing.solve import arrays

# The former set: flow to 600, peak to 840, rest to 1200 s; tracks to 304, from 300 to 604, to 850, to 1140.


def shift(sections: tuple[SectionTime, ...], n: int, setlist: SetList | None = None) -> float | None:
    former = setlist or a_set()
    return keeping._shift(sections, former, former.picks[n - 1])


def moved(flow_s: float, peak_s: float = 240.0, name: str = "Crest", kind: Kind = Kind.PEAK) -> tuple[SectionTime, ...]:
    edges = (0.0, flow_s, flow_s + peak_s, flow_s + peak_s + 360.0)
    return (
        section("Tide", Kind.FLOW, *edges[:2]),
        section(name, kind, *edges[1:3]),
        section("Float", Kind.REST, *edges[2:]),
    )


@pytest.mark.parametrize(
    ("sections", "shifts"),
    [
        (moved(600.0), [0, 0, 0, 0]),
        (moved(660.0), [None, None, 60, 60]),  # the flow is longer: what plays in it goes
        (moved(600.4), [0, 0, 0.4, 0.4]),
        (moved(600.6), [None, None, 0.6, 0.6]),
        (moved(600.0, 300.0), [0, 0, None, 60]),
        (moved(600.0, name="Height"), [0, 0, None, 0]),
        (moved(600.0, kind=Kind.FLOW), [0, 0, None, 0]),
        (moved(600.0)[:2], [0, 0, 0, None]),
        (moved(600.0)[::-1], [0, 0, 0, 0]),
    ],
)
def test_a_pick_moves_with_its_sections_if_they_are_as_long_as_they_were(
    sections: tuple[SectionTime, ...], shifts: list[float | None]
) -> None:
    found = [shift(sections, n) for n in (1, 2, 3, 4)]
    assert found == [None if each is None else pytest.approx(each) for each in shifts]


def test_a_pick_over_a_border_moves_where_both_sections_move_alike() -> None:
    """The third from 540 on; what it shares of a section by less than half a second doesn't count."""
    former = a_set()
    wide = replace(former, picks=(*former.picks[:2], replace(former.picks[2], class_start_s=540.0), former.picks[3]))
    swapped = (
        section("Crest", Kind.PEAK, 0.0, 240.0),
        section("Tide", Kind.FLOW, 240.0, 840.0),
        section("Float", Kind.REST, 840.0, 1200.0),
    )
    assert shift(swapped, 3, wide) is None
    assert shift(swapped, 3) == -600.0
    near = replace(former, picks=(*former.picks[:2], replace(former.picks[2], class_start_s=599.6), former.picks[3]))
    assert shift(swapped, 3, near) == -600.0


def test_the_next_pick_takes_over_where_it_begins_and_before_silence_the_end_counts() -> None:
    picks = a_set().picks
    assert [keeping.hand_over(picks, n) for n in range(4)] == [300.0, 600.0, 840.0, 1140.0]
    apart = (*picks[:1], replace(picks[1], class_start_s=320.0))
    assert keeping.hand_over(apart, 0) == 304.0


def a_task(**changes: object) -> Task:
    """A class of 1,050 s whose music begins at 0; three tracks of ten minutes, the last banned from the second part."""
    frame = replace(a_frame(before_s=0.0, after_s=0.0), silent=(), arc=np.full(1051, 0.5, np.float32))
    target = np.full(frame.seconds, 0.5)
    target[700:720] = np.nan
    problem = arrays.problem(
        [np.full(600, 0.5)] * 3,
        target,
        zone=np.repeat([0, 1], [500, frame.seconds - 500]),
        zone_cost=np.array([[0, 0, 0], [0, 0, np.inf]]),
        track_cost=np.array([0.0, np.inf, 0.0]),
        must_change=np.array([300, 900]),
        **changes,
    )
    tracks = tuple(replace(with_cuts(600.0), id=n) for n in (1, 2, 3))
    return Task(problem, frame, tracks, None, None)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("number", "at_s", "end_s", "allowed"),
    [
        (0, 0.0, 300.0, True),
        (0, 300.0, 600.0, True),
        (0, 299.0, 600.0, False),
        (0, 0.0, 301.0, False),
        (1, 0.0, 300.0, False),
        (2, 300.0, 500.0, True),
        (2, 300.0, 501.0, False),
        (0, 600.0, 700.0, True),
        (0, 600.0, 701.0, False),
        (0, 719.0, 800.0, False),
        (0, 720.0, 800.0, True),
        (0, 400.0, 400.4, False),
        (0, 400.0, 401.0, True),
    ],
)
def test_a_kept_pick_breaks_no_rule(number: int, at_s: float, end_s: float, allowed: bool) -> None:
    assert keeping._is_allowed(a_task(), number, PinWish(number + 1, at_s, end_s, 0.0)) is allowed


@pytest.mark.parametrize(("hole_s", "kept"), [(0, 2), (1, 0), (44, 0), (45, 2), (200, 2)])
def test_a_hole_too_short_for_a_track_costs_the_picks_beside_it(hole_s: int, kept: int) -> None:
    wishes = [PinWish(1, 0.0, 300.0, 0.0), PinWish(3, 300.0 + hole_s, 600.0 + hole_s, 0.0)]
    left = keeping._beside_no_short_hole(a_task(), wishes)
    assert len(left) == kept


def test_a_hole_before_a_silence_costs_what_ends_there() -> None:
    task = a_task()
    assert keeping._beside_no_short_hole(task, [PinWish(1, 400.0, 680.0, 0.0)]) == []
    assert len(keeping._beside_no_short_hole(task, [PinWish(1, 400.0, 655.0, 0.0)])) == 1
    assert len(keeping._beside_no_short_hole(task, [PinWish(1, 400.0, 700.0, 0.0)])) == 1


def test_what_became_of_the_former_set_is_told() -> None:
    former = a_set()
    made = replace(former, picks=(former.picks[0], replace(former.picks[1], fingerprint="new", title="Lanterns")))
    (said,) = keeping.changes(former, made)
    assert said.message == 'Kept 1 of 4 tracks; new: "Lanterns"; gone: "Track 2", "Track 3", "Track 4".'
    assert keeping.listed(list("abcdef")).count(",") == 5
    assert keeping.listed(list("abcdefgh")).endswith('"f" and 2 more')


def test_tracks_that_are_new_cost_a_little() -> None:
    former = a_set()
    known = replace(with_cuts(600.0), id=7, fingerprint="print 1")
    other = replace(with_cuts(600.0), id=8, fingerprint="else")
    assert dict(keeping.kept_costs([known, other], former)) == {8: keeping.NEW_TRACK_COST}
    assert not keeping.kept_costs([known, other], None)
