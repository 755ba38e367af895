"""What a class asks of each second and each track, worked out second by second from the rules in words.

The program makes these tables for all tracks at once; here every entry is found alone, in loops.
"""

import dataclasses
import math

import invented_music
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from invented_music import track

from audio.track import CutPoint, Track
from pairing.alignment import cuts, frame, moments, sedative, zones
from pairing.model import Kind, PairOptions, Step, Wishes

# ---- where a track can be cut ------------------------------------------------------------------------------------


def with_cuts(duration_s: float, *points: tuple[float, float, float]) -> Track:
    made = track(1, 0.5, duration_s)
    return dataclasses.replace(made, analysis=made.analysis.but(cut_points=tuple(CutPoint(*point) for point in points)))


def half_up(seconds: float) -> int:
    return math.floor(seconds + 0.5)


def ends_of(one: Track) -> tuple[float, float, list[CutPoint]]:
    """The first and the last second of the music, and its cut points."""
    duration_s = one.analysis.duration_s
    points = list(one.analysis.curves.cut_points) or [CutPoint(0.0, 0.0, 0.0)]
    first, last = points[0].at_s, min(points[-1].at_s, duration_s)
    return first, last if last > first else duration_s, points


def enters(one: Track) -> dict[int, float]:
    """A phrase start that isn't 'anywhere' and isn't at the very end; the music's own start always."""
    first, last, points = ends_of(one)
    found: dict[int, float] = {}
    for point in points:
        at = half_up(point.at_s)
        if point.at_s <= first or (point.enter_cost < 1 and at < math.floor(last) - 2):
            cost = point.enter_cost + 0.012 * min(max(point.at_s - first, 0.0), 300.0)
            found[at] = min(cost, found.get(at, np.inf))
    return found


def leaves(one: Track, any_second: bool) -> dict[int, float]:
    """A phrase start; a fade every 8 s (of a long track a hundredth of it) or every second; 3 to 12 s before the end."""
    first, last, points = ends_of(one)
    step = 1 if any_second else max(8, int((last - first) // 100))
    offered = [(half_up(point.at_s), point.leave_cost) for point in points]
    offered += [(at, 1.5) for at in range(math.floor(first) + max(step, 2), math.floor(last) + 1, step)]
    offered += [(math.floor(last) - before, points[-1].leave_cost) for before in range(3, 13)]
    earliest = math.floor(first) + 2
    latest = max(math.floor(last) - 3, earliest)
    found: dict[int, float] = {}
    for at, cost in offered:
        if earliest <= at <= latest:
            cost += 0.018 * min(max(math.floor(last) - 12 - at, 0), 300.0)
            found[at] = min(cost, found.get(at, np.inf))
    return found


CUT = [
    with_cuts(
        200, (0.4, 0.0, 1.0), (33.5, 0.2, 0.25), (34.4, 0.1, 0.3), (80, 1, 0.3), (150.6, 0.3, 0.1), (197.2, 1, 0)
    ),
    with_cuts(200.0, (5.7, 1.0, 1.0), (120.0, 0.2, 0.2), (196.0, 0.2, 0.1), (197.8, 0.4, 0.1), (203.0, 0.3, 0.05)),
    with_cuts(90.0),
    with_cuts(40.0, (12.0, 0.5, 0.5)),
    with_cuts(17.0, (0.0, 0.0, 1.0), (4.0, 0.2, 0.2), (6.5, 1.0, 0.1)),
    with_cuts(200.0, (0.0, 0.0, 1.0), (194.9, 0.2, 0.2), (197.2, 1.0, 0.0)),
    with_cuts(30.0, (0.5, 0.0, 1.0), (4.2, 1.0, 0.0)),
    with_cuts(2400.0, (3.0, 0.0, 1.0), (299.0, 0.2, 0.2), (350.5, 0.2, 0.2), (1900.0, 0.1, 0.1), (2398.0, 1.0, 0.2)),
]


def rows(table: cuts.CutTable, index: int) -> dict[int, float]:
    part = slice(table.offset[index], table.offset[index + 1])
    assert (np.diff(table.at[part]) > 0).all()
    return dict(zip(table.at[part].tolist(), table.cost[part].tolist(), strict=True))


@pytest.mark.parametrize("any_second", [False, True])
def test_every_cut_and_its_cost_are_those_of_the_rules(any_second: bool) -> None:
    enter, leave, music_s = cuts.tables(CUT, np.full(len(CUT), any_second))
    for index, one in enumerate(CUT):
        first, last, _ = ends_of(one)
        assert rows(enter, index) == pytest.approx(enters(one))
        assert rows(leave, index) == pytest.approx(leaves(one, any_second))
        assert music_s[index] == pytest.approx(last - first)
        assert (cuts.music_starts(one.analysis), cuts.music_ends(one.analysis)) == (first, last)


def test_a_second_more_costs_what_the_nearest_does() -> None:
    table, *_ = cuts.tables(CUT[:2], np.zeros(2, bool))
    more = cuts.with_seconds(table, [1, 0], [100, 36])
    assert rows(more, 0) == pytest.approx(rows(table, 0) | {36: rows(table, 0)[34]})
    assert rows(more, 1) == pytest.approx(rows(table, 1) | {100: rows(table, 1)[120]})
    nothing = dataclasses.replace(table, at=table.at[:0], cost=table.cost[:0], offset=np.zeros(2, np.int64))
    assert rows(cuts.with_seconds(nothing, [0], [50]), 0) == {50: 1.5}


@pytest.mark.parametrize(("second", "exact"), [(33, 33.5), (34, 34.4), (35, 35.0), (151, 150.6), (152, 152.0)])
def test_the_cut_behind_a_second_is_the_nearest_within_half_a_second(second: int, exact: float) -> None:
    assert cuts.exact_second(CUT[0].analysis, second) == exact


# ---- the class on the grid ---------------------------------------------------------------------------------------

SHAPE = (
    ("Arrive", Kind.OPENING, 100.0, 0.2),
    ("Salutes", Kind.WARM_UP, 200.5, 0.4),
    ("Tide", Kind.FLOW, 300.0, 0.6),
    ("Crest", Kind.PEAK, 150.0, 0.8),
    ("Ebb", Kind.COOL_DOWN, 120.25, 0.3),
    ("Float", Kind.REST, 180.0, 0.15),
)
WISHES = {"Crest": Wishes(same_music=True), "Float": Wishes(silent_last_s=30.5)}
MORE = (
    Step("pose", "Tree", 320.0, 350.0, 2),
    Step("pose", "Boat", 360.0, 384.0, 2),  # not held long
    Step("say", "Breathe", 120.0, 126.0, 1),
    Step("silence", "silence", 400.5, 420.25, 2),
    Step("silence", "silence", 420.25, 425.0, 2),
)


def a_frame(before_s: float = 7.5, after_s: float = 20.0) -> frame.Frame:
    table = invented_music.timetable(SHAPE, WISHES, MORE)
    curve = invented_music.arc(table, SHAPE)
    return frame.of_class(invented_music.plan(before_s=before_s, after_s=after_s), table, curve, PairOptions())


def is_silent(made: frame.Frame, second: int) -> bool:
    """Whether the most of a second lies in a silence; the grid is whole seconds, borders are rounded."""
    return any(round(start) <= second < round(end) for start, end in made.silent)


def test_borders_silences_and_what_is_kept_of_a_class() -> None:
    made = a_frame()
    assert made.origin_s == -8
    assert made.seconds == 8 + math.ceil(1050.75 + 20.0)
    assert made.silent == ((400.5, 425.0), (1050.75 - 30.5, 1050.75))
    assert made.talk == ((120.0, 126.0),)
    assert made.held == ((320.0, 350.0),)
    assert made.rest is not None
    assert (made.rest.start_s, made.rest.end_s, made.rest.silence_s) == (870.75, 1050.75, 30.5)
    assert [made.grid(at) for at in (-7.5, -7.4, 0.0, 99.4, 99.6, 1070.6, 1070.75)] == [0, 1, 8, 107, 108, 1079, 1079]
    assert made.anchors() == {
        0: -7.5,
        1079: 1070.75,
        408: 400.5,
        433: 425.0,
        1028: 1020.25,
        879: 870.75,
        1059: 1050.75,
    }
    assert made.breaks() == (1050.75,)
    assert [second for second in range(made.seconds) if made.is_break(second)] == [1059]
    assert [made.section_at(at).name for at in (-5, 0, 99.9, 100, 2000)] == [
        "Arrive",
        "Arrive",
        "Arrive",
        "Salutes",
        "Float",
    ]


def test_the_curve_on_the_grid_is_the_arc_with_music_before_and_after_and_none_in_silence() -> None:
    made = a_frame()
    values = made.on_grid(made.arc)
    for second in range(made.seconds):
        at = second - 8
        if is_silent(made, at):
            assert np.isnan(values[second]), at
        elif at < 0:
            assert values[second] == pytest.approx(min(0.3, made.arc[0] + 0.1))
        elif at < len(made.arc):
            assert values[second] == pytest.approx(made.arc[at])
        else:
            assert values[second] == pytest.approx(0.25)
    assert (np.flatnonzero(made.silent_seconds()) == [*range(400, 425), *range(1020, 1051)]).all()


def change_cost(made: frame.Frame, second: int) -> float:
    """What changing the music at a grid second costs, by the rules of `moments` in words."""
    at_a_start = {
        **dict.fromkeys(range(-8, -4), 0.2),
        -4: 0.05,
        -3: 0.05,
        -2: 0.0,
        -1: 0.0,
        0: 0.0,
        1: 0.2,
        2: 0.2,
        3: 0.5,
        4: 0.5,
    }
    at_a_pass = dict.fromkeys(range(-3, 2), 0.7)
    starts = [made.grid(section.start_s) for section in made.sections]
    passes = [made.grid(passage.start_s) for section in made.sections for passage in section.passes]
    cost = min([1.0, *(at_a_pass.get(second - at, 1.0) for at in passes)])
    if any(made.grid(start) < second < made.grid(end) for start, end in (*made.held, *made.talk)):
        cost = 1.6
    cost = min([cost, *(at_a_start.get(second - at, cost) for at in (*starts, made.grid(made.class_s)))])
    assert made.rest is not None
    if made.grid(made.rest.start_s) < second < made.grid(made.rest.end_s):
        cost = 50.0
    crest = made.grid(made.sections[3].start_s)
    return np.inf if crest - 12 <= second <= crest + 12 else cost


def test_what_a_change_of_music_costs_at_every_second() -> None:
    made = a_frame()
    held = dataclasses.replace(made, held=((330.0, 360.0), (700.0, 740.0)))
    assert moments.change_costs(held).tolist() == pytest.approx(
        [change_cost(held, at) for at in range(made.seconds + 1)]
    )


def test_how_much_a_second_counts() -> None:
    made = a_frame()
    weight, over = moments.second_weights(made)
    known = {Kind.OPENING: (3, 2), Kind.PEAK: (2, 1), Kind.COOL_DOWN: (1, 2), Kind.REST: (1, 6)}
    for second in range(made.seconds):
        at = second - 8
        inside = [s for s in made.sections if round(s.start_s) <= at < round(s.end_s)]
        assert (weight[second], over[second]) == (
            known.get(inside[0].kind, (1, 1)) if inside else (pytest.approx(0.3), 1)
        ), at


def test_pieces_between_exact_borders_and_where_a_track_must_begin() -> None:
    made = a_frame()
    assert moments.must_change(made) == [879]
    assert moments.stretches(made) == [(0, 408), (433, 879), (879, 1028), (1059, 1079)]
    whole = dataclasses.replace(made, silent=(), arc=np.full(len(made.arc), 0.5, np.float32))
    assert moments.must_change(whole) == [879, 1059]
    assert moments.stretches(whole) == [(0, 879), (879, 1059), (1059, 1079)]


@pytest.mark.parametrize(("clips", "longest_s", "shortest"), [(True, 400, 30), (False, 400, 90), (False, 100, 50)])
def test_how_short_a_track_may_be_heard(clips: bool, longest_s: float, shortest: int) -> None:
    made = dataclasses.replace(a_frame(after_s=0.0), silent=(), arc=np.full(1051, 0.5, np.float32))
    costs = moments.length_costs(made, clips=clips, longest_s=longest_s)
    for seconds in range(len(costs)):
        expected = max(90 - seconds, 0) / 60 if seconds >= shortest else np.inf
        assert costs[seconds] == pytest.approx(expected), seconds


def test_the_two_sides_of_a_flow_are_twins() -> None:
    made = a_frame()
    tide = made.sections[2]
    start = round(tide.start_s) + 8
    middle = round(tide.start_s + 150) + 8
    assert moments.twins(made.sections, made) == [(start, middle, 150)]


@given(st.lists(st.tuples(st.integers(0, 60), st.integers(0, 60)), max_size=6))
def test_joined_stretches_hold_the_same_seconds_and_lie_apart(stretches: list[tuple[int, int]]) -> None:
    joined = frame._joined(stretches)
    assert {s for start, end in joined for s in range(start, end)} == {
        s for start, end in stretches for s in range(start, end)
    }
    assert all(one[1] < two[0] for one, two in zip(joined, joined[1:]))
    assert all(start < end for start, end in joined)


def test_another_rest_brings_back_the_arc_where_the_silence_was() -> None:
    made = a_frame()
    assert made.rest is not None
    longer = frame.with_rest(made, dataclasses.replace(made.rest, silence_s=0.0))
    assert longer.silent == made.silent[:1]
    assert not np.isnan(longer.arc[1020:]).any()
    shorter = frame.with_rest(made, dataclasses.replace(made.rest, end_s=1000.0, silence_s=10.0))
    assert shorter.silent == (made.silent[0], (990.0, 1000.0))


def test_music_begins_again_after_a_rest_that_there_is_and_before_the_end() -> None:
    made = a_frame()
    assert made.rest is not None
    assert dataclasses.replace(made, rest=None).breaks() == ()
    assert not dataclasses.replace(made, rest=None).is_break(1059)
    assert a_frame(after_s=0.0).breaks() == ()
    assert dataclasses.replace(made, rest=dataclasses.replace(made.rest, end_s=1070.0)).breaks() == (1070.0,)


def test_a_set_keeps_the_frame_it_was_made_in() -> None:
    made = a_frame()
    kept = frame.for_set(made)
    assert (kept.before_s, kept.after_s, kept.silent_s, kept.talk_s) == (7.5, 20.0, made.silent, made.talk)


# ---- which track may sound where ---------------------------------------------------------------------------------


def cost_in(made: zones.Zones, second: int) -> list[float]:
    return made.cost[made.zone[second]].tolist()


def asked(name: str, wish: Wishes, library: list[Track], *, generous: bool = False) -> list[float]:
    """What a second of each track costs in the middle of a section under a wish."""
    table = invented_music.timetable(SHAPE, {name: wish})
    shape = frame.of_class(invented_music.plan(), table, invented_music.arc(table, SHAPE), PairOptions())
    section = next(section for section in table.sections if section.name == name)
    return cost_in(zones.zones(shape, library, generous=generous), int(section.start_s + section.end_s) // 2)


def with_beat(number: int, bpm: float, confidence: float = 0.9, **more: object) -> Track:
    made = track(number, 0.5, 300.0, tempo_bpm=bpm, **more)  # type: ignore[arg-type]
    return dataclasses.replace(made, analysis=made.analysis.but(tempo_confidence=confidence))


@pytest.mark.parametrize(
    ("bpm", "cost"),
    [(119.4, np.inf), (119.5, 0), (120, 0), (128.5, 0), (128.6, np.inf), (60, 0.01), (59.9, np.inf), (64, 0.01),
     (64.1, np.inf), (240, 0.01), (239.9, np.inf), (256, 0.01), (256.1, np.inf), (100, np.inf)],
)  # fmt: skip
def test_a_beat_asked_for_is_met_within_half_a_beat_or_dearly_at_half_and_double(bpm: float, cost: float) -> None:
    assert asked("Ebb", Wishes(beat_bpm=(120, 128)), [with_beat(1, bpm)]) == [pytest.approx(cost)]


@pytest.mark.parametrize(("confidence", "cost"), [(0.29, np.inf), (0.3, 0.0)])
def test_a_beat_counts_from_some_confidence_on(confidence: float, cost: float) -> None:
    assert asked("Ebb", Wishes(beat_bpm=(120, 128)), [with_beat(1, 124, confidence)]) == [cost]


@pytest.mark.parametrize("bpm", [96.0, 100.0, 108.0, 120.0, 130.0])
def test_beats_that_meet_each_half_breath_cost_nothing_and_others_by_their_distance(bpm: float) -> None:
    """A breath is 5 s in the invented class."""
    beats = bpm * 5 / 60
    nearest_even = min((0, 2, 4, 6, 8, 10, 12), key=lambda even: abs(beats - even))
    assert asked("Tide", Wishes(), [with_beat(1, bpm)]) == [pytest.approx(0.001 * abs(beats - nearest_even))]
    assert asked("Ebb", Wishes(), [with_beat(1, bpm)]) == [0.0]


def sings(number: int, share: float, duration_s: float = 100.0) -> Track:
    made = track(number, 0.5, duration_s)
    voice = np.where(np.arange(math.ceil(duration_s)) < share * duration_s, 0.9, 0.0).astype(np.float32)
    return dataclasses.replace(made, analysis=made.analysis.but(voice=voice))


@pytest.mark.parametrize(
    ("free", "generous", "odd"),
    [(2, False, np.inf), (1, False, 0.03), (2, True, 0.03), (3, True, np.inf)],
)
def test_an_odd_second_of_voice_is_admitted_only_where_music_is_short(free: int, generous: bool, odd: float) -> None:
    """A cool-down of 120 s: 126 s of one track needed, or 132 of two; 240 s where there shall be a choice."""
    library = [sings(n, 0.0) for n in range(free)]
    costs = asked("Ebb", Wishes(no_voice=True), [*library, sings(8, 0.02), sings(9, 0.03)], generous=generous)
    assert costs == pytest.approx([*[0.0] * free, odd, np.inf])


# ---- what suits a rest -------------------------------------------------------------------------------------------


def calm(**changes: object) -> Track:
    made = track(1, 0.15, 400.0)
    return dataclasses.replace(made, analysis=made.analysis.but(**changes))


FLAT = np.full(400, 0.2, np.float32)
BEAT = {"tempo_confidence": 0.5, "onset_rate": 9.0}
# (how far off is) 1 where it is far off: by 60 beats, by the limit once more, by 0.1 of energy.
EXCESSES = [
    ({"tempo_bpm": 110.0, **BEAT, "onset_rate": 2.0}, (110 - 80) / 60),
    ({"tempo_bpm": 110.0, **BEAT, "onset_rate": 2.0, "tempo_confidence": 0.49}, 0),
    ({"tempo_bpm": 150.0, **BEAT, "onset_rate": 2.5}, 1),
    ({"tempo_bpm": 240.0, **BEAT, "onset_rate": 2.5}, (120 - 80) / 60),
    ({"loudness_range_lu": 15.0}, 0.5),
    ({"loudness_range_lu": 45.0}, 2),
    ({"onset_rate": 3.6}, 0.2),
    ({"treble_share": 0.3}, 0.5),
    ({"energy": FLAT + 0.3}, 0.8),
    ({"energy": np.where(np.arange(400) % 40 < 10, 0.7, FLAT).astype(np.float32)}, 1),
    ({"energy": np.where(np.arange(400) % 40 < 8, 0.7, FLAT).astype(np.float32)}, 0),
    ({"voice": np.where(np.arange(400) < 100, 0.9, 0).astype(np.float32)}, 0.75),
]


@pytest.mark.parametrize(("changes", "excess"), EXCESSES)
def test_how_far_a_track_is_off(changes: dict[str, object], excess: float) -> None:
    one = calm(**changes)
    judged = sedative.judge(one)
    assert judged.excess == pytest.approx(excess, abs=1e-5)
    assert judged.fit is sedative.is_fit(one) is (excess == 0)


def test_never_counts_for_more_than_all_that_can_be_measured() -> None:
    one = dataclasses.replace(calm(loudness_range_lu=15.0), marks={"rest": "never"})
    assert sedative.judge(one).excess == pytest.approx(100.5)


@given(st.lists(st.floats(-80, 0, width=32), min_size=1, max_size=60), st.integers(0, 20))
def test_the_largest_rise_by_looking_at_every_second(levels: list[float], first: int) -> None:
    one = calm(loudness=np.array([-20.0] * 10 + levels, np.float32))
    after = levels[first:]
    largest = 0.0
    if len(after) >= 5:
        median = float(np.median(after))
        held = [max(level, -70.0) for level in after]
        for now in range(4, len(held)):
            before = min((held[now - 4] + held[now - 3]) / 2, held[now - 2])
            if held[now] > median - 3.0:
                largest = max(largest, held[now] - before)
    assert sedative.largest_rise(one.analysis, first) == pytest.approx(largest, abs=1e-4)


@given(st.lists(st.floats(-90, 0, width=32), min_size=1, max_size=50))
def test_the_loudness_range_of_a_part_is_that_of_tech_3342(levels: list[float]) -> None:
    """Gates at -70 and 20 below the mean power, then from the 10th to the 95th percentile (EBU Tech 3342, 2016)."""
    kept = [level for level in levels if level > -70]
    gate = 10 * math.log10(sum(10 ** (level / 10) for level in kept) / len(kept)) - 20 if kept else 0.0
    kept = sorted(level for level in kept if level > gate)

    def percentile(share: float) -> float:
        place = share * (len(kept) - 1)
        below = int(place)
        above = min(below + 1, len(kept) - 1)
        return kept[below] + (place - below) * (kept[above] - kept[below])

    expected = percentile(0.95) - percentile(0.10) if kept else 0.0
    one = calm(loudness=np.array([-20.0] * 7 + levels + [-5.0] * 9, np.float32), loudness_range_lu=200.0)
    part = sedative.stretch_of(one, 7.2, 7 + len(levels) - 0.5)
    assert part.analysis.loudness_range_lu == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize(
    ("energy", "bpm", "confidence", "onsets", "driving"),
    [
        (0.2, 130.0, 0.9, 9.0, True),
        (0.2, 129.0, 0.9, 9.0, False),
        (0.2, 140.0, 0.4, 9.0, False),
        (0.2, 140.0, 0.9, 2.0, False),
        (0.95, None, 0.0, 9.0, True),
    ],
)
def test_what_would_wake_a_class_up(
    energy: float, bpm: float | None, confidence: float, onsets: float, driving: bool
) -> None:
    one = calm(energy=FLAT * 0 + np.float32(energy), tempo_bpm=bpm, tempo_confidence=confidence, onset_rate=onsets)
    assert sedative.is_driving(one) is driving


def unfit(number: int, excess: float, duration_s: float = 400.0) -> Track:
    """A calm track that is off by so much: its loudness range is, up to 1, then its onsets too."""
    made = track(number, 0.15, duration_s)
    known = {"loudness_range_lu": 10.0 * (1 + min(excess, 1.0)), "onset_rate": 3.0 * (1 + max(excess - 1.0, 0.0))}
    return dataclasses.replace(made, analysis=made.analysis.but(**known))


@pytest.mark.parametrize(
    ("library", "admitted"),
    [
        # A rest of 180 s. One would do; what is hardly worse comes in too, up to five times the seconds needed.
        ([unfit(1, 0.5), unfit(2, 0.6), unfit(3, 2.0)], [1, 2]),
        ([unfit(1, 0.5), unfit(2, 0.6), unfit(3, 1.5)], [1, 2, 3]),
        ([unfit(1, 0.5), unfit(2, 0.6, 500.0), unfit(3, 0.7)], [1, 2]),
        ([unfit(1, 0.5), unfit(2, 0.6, 499.0), unfit(3, 0.7)], [1, 2, 3]),
        # One that is too short needs others beside it: 1 - 90/180 worse.
        ([unfit(1, 0.5, 90.0), unfit(2, 0.9), unfit(3, 1.1)], [2, 1, 3]),
        # Fit music alone is enough from 186 s on: what a cross-fade takes comes on top.
        ([track(1, 0.15, 187.0), unfit(2, 0.1)], []),
        ([track(1, 0.15, 185.0), unfit(2, 0.1), unfit(3, 1.2)], [2]),
    ],
)
def test_the_least_bad_are_admitted_to_a_rest_where_fit_music_is_short(
    library: list[Track], admitted: list[int]
) -> None:
    table = invented_music.timetable(SHAPE)
    shape = frame.of_class(invented_music.plan(), table, invented_music.arc(table, SHAPE), PairOptions())
    made = zones.zones(shape, library)
    assert [candidate.track.id for candidate in made.least_bad] == admitted
    costs = dict(zip([one.id for one in library], cost_in(made, 900)))
    for one in library:
        if sedative.is_fit(one):
            assert costs[one.id] == 0.0
        else:
            excess = sedative.judge(one).excess
            assert costs[one.id] == (pytest.approx(0.01 * (1 + excess)) if one.id in admitted else np.inf)


def test_a_steady_beat_is_dear_under_the_last_fade() -> None:
    table = invented_music.timetable(SHAPE)
    shape = frame.of_class(invented_music.plan(), table, invented_music.arc(table, SHAPE), PairOptions())
    made = zones.zones(shape, [calm(), calm(tempo_bpm=70.0, tempo_confidence=0.5), calm(tempo_bpm=70.0)])
    end = shape.seconds
    assert shape.rest is not None
    assert cost_in(made, end - 1) == cost_in(made, end - 20) == pytest.approx([0.0, 2.0, 0.0])
    assert cost_in(made, end - 21) == pytest.approx([0.0, 0.0, 0.0])


def test_a_voice_may_sound_in_the_rest_where_the_teacher_says_that_a_track_suits_it() -> None:
    """Enough fit music beside them, so that nothing has to be admitted."""
    rest_yes = [dataclasses.replace(sings(n, 1.0), marks={"rest": word}) for n, word in ((8, "yes"), (9, "never"))]
    library = [calm(), *rest_yes, dataclasses.replace(calm(), id=3, marks={"rest": "never"}), sings(4, 1.0)]
    assert asked("Float", Wishes(), library) == [0.0, 0.0, np.inf, np.inf, np.inf]
    assert asked("Float", Wishes(no_voice=True), library) == [0.0, 0.0, np.inf, np.inf, np.inf]


@pytest.mark.parametrize(("silent_s", "starts_s"), [(40.0, 60.0), (100.0, 0.0), (500.0, 0.0)])
def test_a_section_that_ends_in_silence_is_silent_in_itself_alone(silent_s: float, starts_s: float) -> None:
    table = invented_music.timetable(SHAPE, {"Arrive": Wishes(silent_last_s=silent_s)})
    shape = frame.of_class(invented_music.plan(), table, invented_music.arc(table, SHAPE), PairOptions())
    assert shape.silent == ((starts_s, 100.0),)
