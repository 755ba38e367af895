"""The gains of a whole class from levels that are known, and the words of a swap, each worked out from its rule."""

import math
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from test_set_checks import a_set, pick, section, track

from audio.render.span import Level, Span
from pairing.model import Kind, Levels, PairOptions, RestWish, SetList
from pairing.sets import mixdown, promises, shaping, swap
from pairing.sets import rest as rests
from pairing.sets.heard import ClassSound, _integrated, _momentary, rises
from pairing.solve import arrays
from pairing.solve.problem import Chosen

PER_S = 10
STEPS = 12000  # the set of twenty minutes: flow to 600 s, peak to 840 s, rest to 1200 s, silent in its last minute


def power(lufs: np.ndarray) -> np.ndarray:
    """The mean square of a loudness (ITU-R BS.1770-4)."""
    return 10 ** ((lufs + 0.691) / 10)


def at(curve: np.ndarray, second: float) -> float:
    return float(curve[round(second * PER_S)])


def planned(*parts: tuple[float, float, float], setlist: SetList | None = None) -> shaping._PlannedGains:
    """Gains over a class at -30 LUFS and, from second to second, at other levels; what begins before the rest."""
    made = object.__new__(shaping._PlannedGains)
    level = np.full(STEPS, -30.0)
    for start_s, end_s, lufs in parts:
        level[round(start_s * PER_S) : round(end_s * PER_S)] = lufs
    made.setlist = setlist or a_set()
    made.made, made.origin_s = (), 0.0
    made.sides = [power(level), np.zeros(STEPS)]
    made.gains = [np.zeros(STEPS), np.zeros(STEPS)]
    made.noted = made.gains
    return made


def span(start_s: float, end_s: float, fade_s: float = 4.0) -> Span:
    return Span(Path("a.wav"), start_s, end_s, 0.0, fade_s, fade_s, (Level(start_s, 0.0),))


# ---- below the peak ----------------------------------------------------------------------------------------------


def test_what_is_not_near_the_top_stays_a_lu_and_a_half_below_the_peak() -> None:
    class_ = planned((300, 310, -14), (700, 710, -16))
    class_.cap_below_peak()
    for gain in class_.gains:
        assert at(gain, 305) == pytest.approx(-16 - 1.5 + 14, abs=0.01)
        assert (at(gain, 100), at(gain, 500), at(gain, 705)) == (0.0, 0.0, 0.0)
    assert class_.power()[3050] == pytest.approx(power(np.array([-17.5]))[0])


def test_where_the_arc_stands_near_its_top_it_may_be_as_loud() -> None:
    arc = a_set().arc.copy()
    arc[300:310] = 0.71  # a tenth below the top counts as near it
    class_ = planned((300, 310, -14), (400, 410, -14), (700, 710, -16), setlist=replace(a_set(), arc=arc))
    class_.cap_below_peak()
    assert at(class_.gains[0], 305) == 0.0
    assert at(class_.gains[0], 405) == pytest.approx(-1.5, abs=0.01)  # below the loudest there is near the top
    arc[300:310] = 0.69
    class_ = planned((300, 310, -14), (700, 710, -16), setlist=replace(a_set(), arc=arc))
    class_.cap_below_peak()
    assert at(class_.gains[0], 305) == pytest.approx(-3.5, abs=0.01)


def test_a_cool_down_stays_below_the_peak_itself() -> None:
    arc = a_set().arc.copy()
    arc[100:110] = 0.8
    parts = (
        section("Tide", Kind.FLOW, 0, 600),
        section("Crest", Kind.PEAK, 600, 700),
        section("Ebb", Kind.COOL_DOWN, 700, 840),
        section("Float", Kind.REST, 840, 1200),
    )
    class_ = planned(
        (100, 110, -10), (650, 660, -16), (750, 760, -14), setlist=replace(a_set(), arc=arc, sections=parts)
    )
    class_.cap_below_peak()
    assert at(class_.gains[0], 105) == 0.0
    assert at(class_.gains[0], 755) == pytest.approx(-16 - 1.5 + 14, abs=0.01)
    no_peak = tuple(replace(part, kind=Kind.FLOW if part.kind is Kind.PEAK else part.kind) for part in parts)
    class_ = planned((100, 110, -10), (750, 760, -11), setlist=replace(a_set(), arc=arc, sections=no_peak))
    class_.cap_below_peak()
    assert at(class_.gains[0], 755) == pytest.approx(-10 - 1.5 + 11, abs=0.01)


def test_without_a_top_or_in_silence_nothing_is_held_down() -> None:
    flat = replace(a_set(), arc=np.full(1200, np.nan, np.float32), sections=(section("Tide", Kind.FLOW, 0, 1200),))
    for class_ in (planned((300, 310, -14), setlist=flat), planned((590, 840, -200.0), (300, 310, -14))):
        class_.cap_below_peak()
        assert not class_.gains[0].any()


# ---- the rest ----------------------------------------------------------------------------------------------------


def test_the_rest_opens_no_louder_than_it_goes_on() -> None:
    class_ = planned((840, 855, -20), (1000, 1010, -25), (1150, 1160, -15))
    class_.cap_opening_of_rest()
    for gain in class_.gains:
        assert at(gain, 850) == pytest.approx(-25 + 0.5 + 20, abs=0.01)
        assert (at(gain, 800), at(gain, 900), at(gain, 1155)) == (0.0, 0.0, 0.0)
        assert at(gain, 860) == pytest.approx(-4.5 + 0.5 * 4, abs=0.3)  # half a LU a second back
    for silent in (planned((850, 1140, -200.0)), planned(setlist=replace(a_set(), rest=None))):
        silent.cap_opening_of_rest()
        assert not silent.gains[0].any()


def test_what_begins_with_the_rest_has_a_gain_of_its_own() -> None:
    class_ = planned()
    assert [class_._is_later(span(start, 1200)) for start in (839.94, 839.96, 840.0, 900.0)] == [
        False,
        True,
        True,
        True,
    ]
    class_.origin_s = -10.0
    assert class_._is_later(span(849.96, 1200))
    assert not class_._is_later(span(840.0, 1200))
    assert not planned(setlist=replace(a_set(), rest=None))._is_later(span(900.0, 1200))
    class_._add(np.full(STEPS, -2.0))
    class_._add(np.full(STEPS, -1.0), to_rest=False)
    assert [set(gain.tolist()) for gain in class_.gains] == [{-3.0}, {-2.0}]


def test_a_part_is_in_steps_of_the_mix_and_inside_it() -> None:
    class_ = planned()
    assert class_.part(1.0, 2.5) == slice(10, 25)
    assert class_.part(-9.0, 2.0) == slice(0, 20)
    assert class_.part(1190.0, 9999.0) == slice(11900, STEPS)
    assert class_.part(-20.0, -10.0) == slice(0, 0)
    class_.origin_s = -5.0
    assert class_.part(0.0, 1.0) == slice(50, 60)


@pytest.mark.parametrize(
    ("kind", "begins", "from_s", "still_s", "to_rest"),
    [
        (Kind.REST, True, 10.0, 6.0, True),
        (Kind.REST, False, 3.0, 3.0, True),
        (Kind.OPENING, True, 10.0, 6.0, False),
        (Kind.COOL_DOWN, True, 3.0, 3.0, False),
    ],
)
def test_rises_are_held_down_from_where_a_fade_in_ends(
    kind: Kind, begins: bool, from_s: float, still_s: float, to_rest: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A window of 3 s and the 3 s of a rise lie before a section; the gain may sink there by one window."""
    asked = []
    knots = np.array([0.0, -2.0, -4.0])

    def ride(heard: np.ndarray, first_s: float, *, still_s: float) -> np.ndarray:
        asked.append((len(heard), first_s, still_s))
        return knots

    monkeypatch.setattr(shaping.gain_ride, "ride", ride)
    class_ = planned()
    class_.made = (span(840.04 if begins else 840.06, 1100, 4.0), span(300, 845, 9.0))
    class_.hold_down(section("Float", kind, 840.0, 1100.0))
    assert asked == [((6 + 260) * PER_S, pytest.approx(from_s), pytest.approx(still_s))]
    gain = class_.gains[0]
    assert not gain[: 834 * PER_S].any()
    assert gain[1100 * PER_S] == pytest.approx(-4.0 + 0.05)  # and back by half a LU a second
    assert at(gain, 1103) == pytest.approx(-4.0 + 3.1 * 0.5, abs=0.01)
    assert (at(gain, 1109), gain.max()) == (0.0, 0.0)
    knot_s = shaping.gain_ride.KNOT / PER_S
    assert at(gain, 834 + knot_s) == pytest.approx(-2.0 * 1.1, abs=0.01)  # half a step behind the knot
    assert class_.gains[1].any() == to_rest
    knots[:] = 0.0
    class_.hold_down(section("Float", kind, 840.0, 1100.0))
    assert class_.gains[0] is gain
    class_.hold_down(section("Sit", kind, 0.0, 60.0))
    assert asked[-1] == (60 * PER_S, pytest.approx(0.0), pytest.approx(0.0))


# ---- louder and softer -------------------------------------------------------------------------------------------


def test_what_a_track_lost_between_its_fades_is_told() -> None:
    class_ = planned()
    class_.made = (span(100, 200), span(400, 500), span(900, 1000))
    class_.sides[1] = class_.sides[0].copy()
    class_.note()
    gain = np.zeros(STEPS)
    gain[1000:2000], gain[4000:4500] = -3.0, -100.0
    class_._add(gain, to_rest=False)
    assert class_.lost() == pytest.approx([3.0, 10 * math.log10(92 / 46), 0.0], abs=0.01)
    assert planned((0, 1200, -math.inf)).lost() == []
    silent = planned()
    silent.sides[0][:] = 0.0
    silent.made = (span(100, 200),)
    assert silent.lost() == [0.0]


@pytest.mark.parametrize(
    ("lufs", "asked", "softer"),
    [
        ((-20, -16, -20), False, [0, 2.6, 0]),
        ((-20, -18.7, -20), False, [0, 0, 0]),
        ((-16, -20, -20), False, [2.6, 0, 0]),
        ((-20, -10, -20), False, [0, 6, 0]),
        ((-20, -16, -13), False, [0, 2.6, 4.2]),
        ((-13, -16, -20), False, [4.2, 2.6, 0]),
        ((-20, -16, -20), True, [0, 0, 0]),
    ],
)
def test_the_louder_of_two_neighbours_comes_nearer(
    lufs: tuple[float, ...], asked: bool, softer: list[float], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nearer than 1.4 LU, but by 6 LU at most; unless the class asks for the step."""
    steps = []

    def is_asked(_: object, one: object, two: object, step: float) -> bool:
        steps.append((one.n, two.n))  # type: ignore[attr-defined]
        return asked

    monkeypatch.setattr(shaping, "is_asked", is_asked)
    picks = (pick(1, 0, 200), pick(2, 200, 400), pick(3, 400, 600))
    parts = [(200 * n, 200 * n + 200, level) for n, level in enumerate(lufs)]
    class_ = planned(*parts, setlist=replace(a_set(), picks=picks))
    assert class_.softer() == pytest.approx(softer, abs=0.01)
    assert set(steps) <= {(1, 2), (2, 3)}  # in the order of the class


def test_only_what_is_heard_between_the_fades_counts_for_its_neighbours() -> None:
    picks = (pick(1, 0, 200), pick(2, 200, 400))
    loud_in_fades = planned((0, 4, -5), (196, 204, -5), (396, 400, -5), setlist=replace(a_set(), picks=picks))
    assert loud_in_fades.softer() == [0.0, 0.0]


@pytest.mark.parametrize(
    ("lost", "softer", "levels"),
    [
        ([0.0, 1.0], [0.0, 0.0], (0.0, 0.0)),
        ([0.5, 3.0], [0.0, 0.0], (0.5, 3.0)),
        ([0.0, 9.0], [0.0, 0.0], (0.0, 8.0)),
        ([0.0, 0.0], [0.0, 2.0], (0.0, -2.0)),
        ([0.0, 3.0], [1.0, 0.0], (-1.0, 3.0)),
    ],
)
def test_what_lost_more_than_a_lu_is_played_louder_and_what_is_far_louder_softer(
    lost: list[float], softer: list[float], levels: tuple[float, float], monkeypatch: pytest.MonkeyPatch
) -> None:
    def stub(_: SetList, spans: list[Span]) -> object:
        return SimpleNamespace(lost=lambda: lost, softer=lambda: softer, spans=lambda: tuple(spans))

    monkeypatch.setattr(shaping, "_planned", stub)
    monkeypatch.setattr(mixdown, "with_even_picks", lambda _, spans: tuple(spans))
    made = shaping.shaped(a_set(), [span(0, 100), span(100, 200)])
    assert tuple(each.levels[0].gain_db for each in made) == levels


def test_what_ends_just_behind_the_start_of_the_rest_sinks(monkeypatch: pytest.MonkeyPatch) -> None:
    """It comes down in 14 s, or half of what it has, to 1 LU under the rest, and from there on only sinks."""
    level = np.full(STEPS, -20.0)
    level[8420:8430] = -15.0

    def forecast(spans: list[Span], _: float) -> np.ndarray:
        whole = np.full(STEPS, -28.0)
        whole[: 19 * PER_S + 8400] = -18.0  # louder while it opens, which doesn't count
        return power(level if spans and spans[0].mix_start_s < 839 else whole)

    monkeypatch.setattr(shaping, "forecast", forecast)
    tail, rest, long_, early = span(600, 844), span(840, 1140), span(600, 844.2), span(600, 839.9)
    made = shaping._with_tail_sunk(a_set(), [tail, rest, long_, early])
    assert made[1:] == (rest, long_, early)

    def gain(second: float, sunk: Span = made[0]) -> float:
        return float(np.interp(second, [one.at_s for one in sunk.levels], [one.gain_db for one in sunk.levels]))

    assert gain(825.0) == pytest.approx(0.0, abs=0.01)
    assert gain(839.9) == pytest.approx(-9.0, abs=0.15)  # -20 to -29 LUFS
    assert gain(833.0) == pytest.approx(-4.5, abs=0.15)
    assert gain(841.0) == pytest.approx(-9.0, abs=0.05)
    assert gain(842.9) == pytest.approx(-14.0, abs=0.3)
    assert gain(843.9) == pytest.approx(-14.0, abs=0.3)  # it comes back no more
    short = shaping._with_tail_sunk(a_set(), [span(830, 844), rest])[0]
    assert [gain(second, short) for second in (835, 837.5)] == pytest.approx([0.0, -4.5], abs=0.1)
    assert shaping._with_tail_sunk(replace(a_set(), rest=None), [tail]) == (tail,)


# ---- a swap in words ---------------------------------------------------------------------------------------------


def bench(*curves: np.ndarray) -> swap._Bench:
    """A class of a minute: track 0 for 30 s, then 1; the others stand beside."""
    problem = arrays.problem(curves, np.full(60, 0.5), cut_s=10)
    task = SimpleNamespace(
        problem=problem, tracks=[SimpleNamespace(id=n, fingerprint=str(n)) for n in range(len(curves))]
    )
    chosen = (Chosen(0, 0, 30, 0), Chosen(1, 30, 60, 0))
    return swap._Bench(a_set(), task, {}, chosen, 0)  # type: ignore[arg-type]


FLAT = [np.full(60, level) for level in (0.5, 0.5, 0.5, 0.58, 0.42)]


@pytest.mark.parametrize(
    ("track_", "lasts_s", "meets"),
    [(2, 34, ""), (2, 35, "longer"), (3, 30, "livelier"), (4, 30, "quieter"), (3, 40, "livelier longer"), (2, 30, "")],
)
def test_a_wish_is_met_by_a_noticed_difference(track_: int, lasts_s: int, meets: str) -> None:
    made = bench(*FLAT)
    chosen = (Chosen(track_, 0, lasts_s, 0), Chosen(1, lasts_s, 60, 0))
    for wish in ("longer", "livelier", "quieter"):
        assert swap._meets(made, chosen, wish) is (wish in meets.split())  # type: ignore[arg-type]
    assert swap._meets(made, chosen, None)


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (-0.0021, "more closely"),
        (-0.0019, "as well"),
        (0.0019, "as well"),
        (0.0021, "a little less closely"),
        (0.0099, "a little less closely"),
        (0.0101, "less closely"),
    ],
)
@pytest.mark.parametrize(("lasts_s", "moved"), [(30, False), (35, True), (26, True)])
def test_the_effect_of_a_swap_is_said(
    error: float, words: str, lasts_s: int, moved: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(swap.why, "met", lambda *_: ())
    made = bench(*FLAT)
    fit = made.setlist.fit
    after = replace(made.setlist, fit=replace(fit, rmse=fit.rmse + error))
    said = swap._effect(made, (Chosen(2, 0, lasts_s, 0), Chosen(1, lasts_s, 60, lasts_s - 30)), after).split(", ")
    assert said[0] == "as lively as now"
    assert said[1] in (f"follows the class {words}",)
    assert ("plays 5 s longer" in said) == (lasts_s == 35)
    assert not any("shorter" in each for each in said)
    assert said[-1] == ("the track after is cut differently" if moved else "the tracks around it stay as they are")


def test_both_neighbours_are_named_and_what_is_met_no_longer(monkeypatch: pytest.MonkeyPatch) -> None:
    said = {0: ("its climax meets the peak", "same"), 3: ("same", "it falls back")}
    monkeypatch.setattr(swap.why, "met", lambda _, pick_: said[pick_.track])
    made = bench(*FLAT)
    made = replace(made, chosen=(Chosen(1, 0, 20, 0), Chosen(0, 20, 40, 0), Chosen(2, 40, 60, 0)), index=1)
    words = swap._effect(made, (Chosen(1, 0, 18, 0), Chosen(3, 18, 35, 0), Chosen(2, 35, 60, 0)), made.setlist)
    assert words == (
        "a little livelier than now, follows the class as well, it falls back, no longer its climax meets the peak, "
        "the tracks before and after are cut differently"
    )


def test_the_distance_from_the_bound_moves_with_the_cost() -> None:
    made = bench(np.full(60, 0.4), np.full(60, 0.4), np.full(60, 0.3))
    made = replace(made, setlist=replace(made.setlist, fit=replace(made.setlist.fit, gap=0.1)))
    assert made.gap(made.chosen) == pytest.approx(0.1)
    dearer = (Chosen(2, 0, 30, 0), Chosen(1, 30, 60, 0))  # 30 s at an error of 0.2 and 30 at 0.1: 1.5 to 0.6
    assert made.gap(dearer) == pytest.approx(1.1 * 2.5 - 1)
    better = replace(made, chosen=dearer)
    assert better.gap(made.chosen) == 0.0
    forbidden = (Chosen(2, 0, 30, 0), Chosen(1, 30, 60, 3))  # where it can't be entered
    assert made.gap(forbidden) == 0.1


def test_of_a_large_library_the_tracks_nearest_in_energy_are_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(swap, "SHORTLIST", 3)
    setlist = a_set()  # asks for 0.6 where track 2 plays
    levels = {11: 0.6, 12: 0.5, 13: 0.72, 14: 0.1, 15: 0.95, 2: 0.6}
    monkeypatch.setattr(swap.marks, "mean_energy", lambda each: levels[each.id])
    library = [replace(track(2, slice(0)), id=n, fingerprint=f"print {n}") for n in levels]
    asked = next(each for each in library if each.id == 15)
    assert [each.id for each in swap._thinned(setlist, 2, library, None)] == [2, 11, 12, 13]
    assert [each.id for each in swap._thinned(setlist, 2, library, asked)] == [2, 11, 12, 13, 15]
    assert [each.id for each in swap._thinned(setlist, 2, library, library[0])] == [2, 11, 12, 13]
    assert [each.id for each in swap._thinned(setlist, 2, library[:3], asked)] == [11, 12, 13]
    silent = replace(setlist, target_energy=np.full(1200, np.nan, np.float32))  # 0.3 is taken then
    assert {each.id for each in swap._thinned(silent, 2, library, None)} == {2, 12, 11, 14}


def test_a_pin_keeps_and_an_unpinned_track_is_nobodys_choice() -> None:
    setlist = replace(a_set(), options=PairOptions(swapped=("print 2", "print 3")))
    pinned = swap.pin(setlist, 2)
    assert [each.pinned for each in pinned.picks] == [False, True, False, False]
    assert pinned.options.swapped == ("print 2", "print 3")
    assert swap.pin(pinned, 2) is pinned
    free = swap.unpin(pinned, 2)
    assert [each.pinned for each in free.picks] == [False] * 4
    assert free.options.swapped == ("print 3",)
    assert swap.unpin(setlist, 1) is setlist


# ---- the rest made anew ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("at_s", "by_s", "moved"),
    [
        (500, 60, 500),
        (600, 60, 660),
        (599.9, 60, 599.9),
        (700, -60, 640),
        (590, -60, 540),
        (30, -700, 0.0),
        (599.9999999, 60, 660),
    ],
)
def test_what_follows_the_rest_moves_with_its_end(at_s: float, by_s: float, moved: float) -> None:
    assert rests._later(at_s, 600.0, by_s) == pytest.approx(moved)


@pytest.mark.parametrize(("length_s", "by_s"), [(420.0, 60.0), (300.0, -60.0), (360.0, 0.0)])
def test_a_rest_of_another_length_keeps_its_silence_at_its_end(length_s: float, by_s: float) -> None:
    setlist = replace(a_set(), rest=replace(a_set().rest, bells_s=(840.0, 1200.0)))
    made = rests._resized(setlist, length_s)
    assert made.rest is not None
    assert (made.class_s, made.rest.end_s, made.rest.silence_s) == (1200 + by_s, 1200 + by_s, 60.0)
    assert made.rest.bells_s == (840.0, 1200.0 + by_s)
    assert [(one.start_s, one.end_s) for one in made.sections] == [(0, 600), (600, 840), (840, 1200 + by_s)]
    assert len(made.arc) == len(made.target_energy) == 1200 + by_s
    assert np.isfinite(made.arc).all()  # the silence is laid on anew
    assert made.arc[840:] == pytest.approx(0.16)
    assert made.frame.silent_s == ((1140 + by_s, 1200 + by_s),)
    assert made.picks == setlist.picks


def test_a_silence_is_no_longer_than_its_rest() -> None:
    made = rests._resized(a_set(), 30.0)
    assert made.rest is not None
    assert made.rest.silence_s == 30.0
    for length_s in (0.0, 3600.1):
        with pytest.raises(Exception, match="make no rest"):
            rests._resized(a_set(), length_s)
    rests._resized(a_set(), 3600.0)


def test_a_wish_for_the_rest_is_kept_where_it_differs_from_what_is() -> None:
    setlist = replace(a_set(), rest=replace(a_set().rest, bells_s=(1200.0,)))

    def wish(minutes: float | None = None, bells: object = None, silence_s: float | None = None) -> RestWish:
        return rests._with_wish(setlist, setlist, minutes, bells, silence_s).options.rest  # type: ignore[arg-type]

    assert wish() == wish(6.0, ["end"], 60.0) == wish(6.0 + 1 / 60) == wish(silence_s=61.0) == RestWish()
    assert (wish(7.0).minutes, wish(7.0).planned_s) == (7.0, 360.0)
    assert wish(silence_s=61.1).silence_s == 61.1
    assert wish(bells=["start", "end"]).bells == ("start", "end")
    assert wish(bells=["start", 900.0]).bells is None


def test_a_pick_begins_in_the_rest_to_a_hundredth_of_a_second() -> None:
    inside = [
        rests.is_inside(a_set(), replace(a_set().picks[3], class_start_s=at_s))
        for at_s in (839.98, 839.995, 1199.98, 1199.995)
    ]
    assert inside == [False, True, True, False]
    assert not rests.is_inside(replace(a_set(), rest=None), a_set().picks[3])


def test_the_moment_of_a_promise_moves_with_its_section() -> None:
    former = a_set()
    sections = (
        section("Tide", Kind.FLOW, 0, 300),
        section("Crest", Kind.PEAK, 300, 540),
        section("Float", Kind.REST, 540, 700),
    )
    assert [promises.moment(former, sections, at_s) for at_s in (0, 300, 600, 720, 840, 1020)] == pytest.approx(
        [0, 150, 300, 420, 540, 620]
    )


# ---- what is heard -----------------------------------------------------------------------------------------------


def test_momentary_and_integrated_loudness_by_their_definition() -> None:
    """ITU-R BS.1770-4: blocks of 0.4 s, each 0.1 s later; gates at -70 LUFS and 10 LU below."""
    rng = np.random.default_rng(4)
    heard = power(rng.choice([-20.0, -23.0, -36.0, -80.0], 200))
    for step, level in enumerate(_momentary(heard)):
        mean = np.mean(heard[max(step - 3, 0) : step + 1])
        assert level == pytest.approx(max(-0.691 + 10 * math.log10(mean), -70.0))
    blocks = np.array([heard[first : first + 4].mean() for first in range(197)])
    level = -0.691 + 10 * np.log10(blocks)
    loud = level > -70.0
    gate = -0.691 + 10 * math.log10(blocks[loud].mean()) - 10.0
    assert _integrated(heard) == pytest.approx(-0.691 + 10 * math.log10(blocks[loud & (level > gate)].mean()))
    assert _integrated(heard[:3]) == -math.inf
    assert math.isfinite(_integrated(power(np.full(4, -20.0))))


def sounding(short_term: np.ndarray, *bells_s: float) -> ClassSound:
    return ClassSound((), -20.0, 0.0, short_term, short_term, bells_s)


def test_a_rise_is_measured_against_the_lowest_of_three_seconds_before() -> None:
    level = np.full(STEPS, -30.0)
    level[9000:] = -25.0
    level[5000:5050] = -40.0
    setlist = a_set()
    float_ = setlist.sections[2]
    risen = rises(setlist, sounding(level), float_)
    assert len(risen) == 3600
    expected = [level[step] - level[max(step - 30, 0) : step + 1].min() for step in range(8400, STEPS)]
    assert risen == pytest.approx([rise if step >= 8400 + 130 else 0.0 for step, rise in enumerate(expected, 8400)])
    quiet = level.copy()
    quiet[8600:8700], quiet[8650:8660] = -40.0, -34.0  # more than 3 LU below the median of -25
    assert rises(setlist, sounding(quiet), float_)[250:260].max() == 0.0
    rung = rises(setlist, sounding(level, 899.0), float_)
    assert rung[:600].max() == 0.0
    silence = rises(setlist, sounding(np.full(STEPS, -70.0)), float_)
    assert (len(silence), silence.max()) == (3600, 0.0)


def test_levels_have_a_bed_for_every_kind() -> None:
    assert Levels().bed(Kind.FLOW) >= Levels().bed(Kind.REST)
