"""What becomes of a set outside of the solver: the bed under a voice, a file a track, what a page may stretch.

The set is that of `test_set_checks`: flow to 600 s, peak to 840 s, rest to 1200 s; its four picks cross-fade for 4 s.
"""

import math
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import invented_music
import numpy as np
import pytest
from test_alignment_by_hand import with_cuts
from test_set_checks import a_set, section

from audio.measure import opinion
from audio.measure.jumps import Jump
from audio.render.span import Level, Span
from audio.track import Track
from pairing.alignment import meetings
from pairing.alignment.options import PinWish
from pairing.checks.slot import SPARE_SHARE, SlotCheck
from pairing.errors import NotEnoughMusic
from pairing.model import Kind, Levels, PairOptions, SetFrame, SetList, SetPlan
from pairing.sets import fitrest, live, mixdown, parts, promises, swap
from pairing.sets import heard as heard_of
from pairing.solve.stage import Infeasible

# ---- the bed under a voice ---------------------------------------------------------------------------------------


def spoken(kind: Kind = Kind.FLOW, **levels: float) -> SetList:
    made = a_set()
    sections = (replace(made.sections[0], kind=kind), *made.sections[1:])
    frame = replace(made.frame, talk_s=((100.0, 120.0), (250.0, 250.5), (290.0, 295.0), (1000.0, 1010.0)))
    return replace(made, sections=sections, frame=frame, options=PairOptions(levels=Levels(**levels)))


@pytest.mark.parametrize(
    ("index", "kind", "levels", "by_db"),
    [
        (0, Kind.FLOW, {}, -10.0),
        (3, Kind.FLOW, {}, -2.0),  # the bed of a rest is 8 LU softer already
        (3, Kind.FLOW, {"rest_lu": -12.0}, 0.0),
        (0, Kind.BREATHING, {"opening_lu": -3.0}, -7.0),
    ],
)
def test_under_talk_the_bed_lies_10_lu_below_it_and_comes_and_goes_in_a_second_and_a_half(
    index: int, kind: Kind, levels: dict[str, float], by_db: float
) -> None:
    """At least 10 LU: Torcoli et al., AES 146th Convention 2019, paper 10175 (from memory)."""
    setlist = spoken(kind, **levels)
    pick = setlist.picks[index]
    at, db = np.array(mixdown._ducking(setlist, pick)).T
    for now in np.arange(pick.class_start_s, pick.class_end_s + 0.01, 0.25):
        away = min(max(start - now, now - end, 0.0) for start, end in setlist.frame.talk_s)
        assert np.interp(now, at, db) == pytest.approx(by_db * max(0.0, 1 - away / 1.5), abs=1e-9), now


def test_in_an_opening_the_teacher_speaks_throughout() -> None:
    setlist = replace(spoken(), sections=(section("Arrive", Kind.OPENING, 0, 60), section("Tide", Kind.FLOW, 60, 1200)))
    at, db = np.array(mixdown._ducking(setlist, setlist.picks[0])).T
    assert np.interp([0, 30, 60, 60.75, 61.5, 90], at, db) == pytest.approx([-10, -10, -10, -5, 0, 0])


def test_levels_add_up_what_sinks_and_what_is_ducked_and_lie_inside_the_pick() -> None:
    setlist = spoken()
    pick = replace(setlist.picks[3], gain_db=-3.0)
    levels = {level.at_s: level.gain_db for level in mixdown._levels(setlist, pick, under_voice=True)}
    assert levels == pytest.approx(
        {840.0: 3.0, 900.0: -3.0, 998.5: -3.0, 1000.0: -5.0, 1010.0: -5.0, 1011.5: -3.0, 1140.0: -3.0}
    )
    before = replace(setlist, frame=replace(setlist.frame, before_s=20.0))
    assert [level.at_s for level in mixdown._levels(before, pick, under_voice=False)] == [860.0, 920.0]


# ---- a file a track ----------------------------------------------------------------------------------------------


def span(start_s: float, end_s: float, fade_in_s: float = 4.0, fade_out_s: float = 4.0) -> Span:
    levels = (Level(start_s, -3.0), Level(end_s, -5.0))
    return Span(Path("a.flac"), start_s, end_s, 10.0, fade_in_s, fade_out_s, levels)


SPANS = (span(0, 304, 0.0), span(300, 604), span(600, 850, 0.25, 10.0), span(840, 1140, 10.0, 20.0))


def test_parts_are_cut_at_the_hand_overs_and_hold_the_bells_that_sound_in_them() -> None:
    """A stroke lasts 9 s: one that began 9 s before a part has died away, one of less is heard in both."""
    made = a_set()
    assert made.rest is not None
    made = replace(made, rest=replace(made.rest, bells_s=(831.0, 835.0, 840.0, 1195.0)))
    found = parts.parts(made, SPANS)
    assert [one.duration_s for one in found] == [300.0, 300.0, 240.0, 360.0]
    moved = [one.spans[0] for one in found]
    assert [(one.mix_start_s, one.mix_end_s) for one in moved] == [(0, 300), (0, 300), (0, 240), (0, 300)]
    assert [(one.fade_in_s, one.fade_out_s) for one in moved] == [(0.0, 2.0), (0.5, 2.0), (0.25, 2.0), (0.5, 20.0)]
    assert [[level.at_s for level in one.levels] for one in moved] == [[0, 304], [0, 304], [0, 250], [0, 300]]
    assert [[at for at, _ in one.bells] for one in found] == [[], [], [231.0, 235.0], [-5.0, 0.0, 351.0]]
    assert [one.name for one in found] == ["01 Track 1", "02 Track 2", "03 Track 3", "04 Track 4"]
    assert parts.parts(replace(made, picks=()), ()) == ()


@pytest.mark.parametrize(
    ("title", "name"),
    [("Tide: \"low\" / high", "Tide low high"), ("a-b, c's", "a-b, c's"), ("x" * 61, "x" * 60), ("?!", "track"),
     ("y" * 59 + " z", "y" * 59), ("Ebbe № 5", "Ebbe 5")],
)  # fmt: skip
def test_a_file_is_named_after_its_title_as_every_file_system_takes_it(title: str, name: str) -> None:
    assert parts._file_name(title) == name


# ---- why a track can't stand somewhere ---------------------------------------------------------------------------


def titled(number: int, lasts_s: float = 400.0, **known: object) -> Track:
    made = invented_music.track(number, 0.15, lasts_s, title=f"Piece {number}")
    return replace(made, analysis=made.analysis.but(**known))


@pytest.mark.parametrize(
    ("at_s", "end_s", "known", "words"),
    [
        (840.0, 1140.0, {"treble_share": 0.5}, "doesn't suit a rest: bright and sharp"),
        (839.99, 1140.0, {"treble_share": 0.5}, "doesn't suit a rest"),
        (839.98, 1140.0, {"treble_share": 0.5}, "asks for other music"),
        (1200.0, 1300.0, {"treble_share": 0.5}, "asks for other music"),
        (840.0, 1240.0, {}, "asks for other music"),
        (840.0, 1240.1, {}, "too short for this place"),
    ],
)
def test_a_swap_that_can_not_be_says_why(at_s: float, end_s: float, known: dict[str, object], words: str) -> None:
    setlist = a_set()
    pick = replace(setlist.picks[3], class_start_s=at_s, class_end_s=end_s)
    assert words in swap._why_not(setlist, pick, titled(9, **known))
    there = replace(titled(9), fingerprint="print 2")
    assert swap._why_not(setlist, pick, there) == '"Piece 9" is track 2 already, and no track plays twice.'


@pytest.mark.parametrize(
    ("at_s", "changes", "words"),
    [
        (1138.9, {}, "with it there"),
        (1139.0, {}, "the plan wants silence there now"),
        (1199.9, {}, "the plan wants silence there now"),
        (1200.0, {}, "with it there"),
        (300.0, {"marks": {"use": "never"}}, "you said never to use it"),
        (300.0, {"id": 7}, "you have left it out of this class since"),
        (300.0, {"fingerprint": "print 3"}, "it plays at 10:00 now, or the class could not be filled"),
        (300.0, {"section": "Gone"}, 'the plan no longer has a part called "Gone"'),
    ],
)
def test_a_promise_that_can_not_be_kept_says_why(at_s: float, changes: dict[str, object], words: str) -> None:
    """Silence from 1140 s on; a moment less than a second before it is the same."""
    made = replace(a_set(), options=PairOptions(exclude=(7,)))
    mark = str(changes.get("fingerprint", "another"))
    pick = replace(made.picks[0], fingerprint=mark, section=str(changes.get("section", "Tide")))
    one = replace(titled(9), **{name: value for name, value in changes.items() if name in ("id", "marks")})
    assert promises._why_not(pick, a_set(), made, one, at_s).startswith(words)
    assert promises._why_not(pick, a_set(), made, None, at_s) == "its file is no longer among your tracks"


@pytest.mark.parametrize(("second", "given_up"), [(0, 1), (215, 1), (230, 3), (400, 3), (None, 1)])
def test_of_several_promises_the_swap_nearest_to_where_it_got_stuck_is_given_up(
    second: int | None, given_up: int
) -> None:
    """Picks 2 and 4 are pinned and go last; swaps stand at 100 and 300 s of the class, the grid begins 20 s before."""
    made = a_set()
    former = replace(made, picks=tuple(replace(one, pinned=one.n in (2, 4)) for one in made.picks))
    tracks = [SimpleNamespace(id=n, fingerprint=f"print {n}") for n in (1, 2, 3, 4)]
    task = SimpleNamespace(tracks=tracks, frame=SimpleNamespace(origin_s=-20))
    wishes = [PinWish(2, second - 20.0 if second is not None else 0.0), PinWish(1, 100.0), PinWish(3, 300.0)]
    refusal = NotEnoughMusic("it isn't there.")
    refusal.__cause__ = None if second is None else Infeasible(second, 0, "no cut")
    left = promises.fewer(task, former, wishes, refusal)  # type: ignore[arg-type]
    assert [wish.track_id for wish in left] == [n for n in (2, 1, 3) if n != given_up]


@pytest.mark.parametrize(
    ("changes", "wish", "found"),
    [({}, None, True), ({}, "quieter", True), ({}, "longer", False), ({"rest": None}, None, False),
     ({"frame": SetFrame()}, None, False), ({"plan": SetPlan("b.md", "", "")}, None, False)],
)  # fmt: skip
def test_a_swap_back_is_found_among_earlier_states_of_the_same_class(
    changes: dict[str, object], wish: swap.Wish | None, found: bool
) -> None:
    """The latest of them counts; pins are those of now."""
    now = replace(with_pinned(a_set(), 2), options=PairOptions(exclude=(5,)))
    there = replace(titled(9), fingerprint="print 9")
    picks = (*now.picks[:2], replace(now.picks[2], fingerprint="print 9"), now.picks[3])
    older, was = (replace(a_set(), picks=picks, title=title, **changes) for title in ("older", "was"))
    setlist = replace(now, previous=tuple(SimpleNamespace(was=each) for each in (older, was, a_set())))
    back = swap._earlier(setlist, 3, there, wish)
    assert (back is not None) is found
    if back is not None:
        assert (back.title, back.options.exclude) == ("was", (5,))
        assert [pick.pinned for pick in back.picks] == [False, True, False, False]
        assert back.picks[2].fingerprint == "print 9"


def with_pinned(setlist: SetList, n: int) -> SetList:
    return replace(setlist, picks=tuple(replace(pick, pinned=pick.n == n) for pick in setlist.picks))


@pytest.mark.parametrize(
    ("starts", "unfit", "has"),
    [((100, 150), (2,), True), ((100, 150), (), False), ((99, 150), (1,), False), ((100, 160), (2,), False),
     ((100, 159), (2,), True)],
)  # fmt: skip
def test_whether_anything_in_the_rest_does_not_suit_it(
    starts: tuple[int, int], unfit: tuple[int, ...], has: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It wants music from the grid's second 100 to 160; a track outside of it may be as it is."""
    monkeypatch.setattr(fitrest, "_span", lambda _: (100, 160))
    monkeypatch.setattr(fitrest, "is_fit", lambda track: track not in (*unfit, 0))
    picks = [SimpleNamespace(start=start, track=n) for n, start in enumerate((20, *starts))]
    task = SimpleNamespace(frame=SimpleNamespace(rest=1), tracks=[0, 1, 2])
    assert fitrest._has_unfit(task, SimpleNamespace(chosen=picks)) is has  # type: ignore[arg-type]
    task.frame.rest = None
    assert not fitrest._has_unfit(task, SimpleNamespace(chosen=picks))  # type: ignore[arg-type]


# ---- what a page may stretch -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("start_s", "end_s", "last_cut_s", "to_s"),
    [(0, 304, 298.0, 314.0), (0, 304, 350.0, 350.0), (0, 304, 900.0, 374.0), (840, 1140, 900.0, 490.0),
     (839.98, 1140, 900.0, 310.02 + 60.0), (839.995, 1140, 900.0, 310.005 + 180.0)],
)  # fmt: skip
def test_a_track_is_packed_for_a_minute_more_than_it_plays_and_in_the_rest_for_three(
    start_s: float, end_s: float, last_cut_s: float, to_s: float
) -> None:
    """It is entered at its second 10."""
    setlist = a_set()
    pick = replace(setlist.picks[0], class_start_s=start_s, class_end_s=end_s)
    known = with_cuts(1000.0, (0.0, 0.0, 1.0), (last_cut_s, 1.0, 0.0))
    still = start_s > 839.99
    inside = [Jump(370.0, 11.0, 1.0, 0.1), Jump(200.0, 11.1, 1.0, 0.1), Jump(to_s - 1.0, 50.0, 1.0, 0.1),
              Jump(to_s - 1.1, 50.0, 1.0, 0.1)]  # fmt: skip
    made = live._lasting(setlist, pick, span(start_s, end_s), known, lambda _: tuple(inside))
    assert (made.from_s, made.to_s) == (10.0, pytest.approx(to_s))
    assert made.jumps == (() if still else (inside[1], inside[3]))
    assert (made.exits == ()) is still
    bare = live._lasting(setlist, pick, span(start_s, end_s), None, None)
    assert (bare.to_s, bare.jumps, bare.exits) == (pytest.approx(10.0 + end_s - start_s), (), ())


@pytest.mark.parametrize(
    ("start_s", "end_s", "name"),
    [(0, 304, "Tide"), (580, 850, "Crest"), (500, 701, "Crest"), (500, 699, "Tide"), (700, 1000, "Float")],
)
def test_a_pick_belongs_to_the_part_in_which_it_sounds_longest(start_s: float, end_s: float, name: str) -> None:
    setlist = a_set()
    pick = replace(setlist.picks[0], class_start_s=start_s, class_end_s=end_s)
    assert live._section_of(setlist, pick).name == name
    assert live._is_peak(setlist, pick) is (name == "Crest")


def test_a_set_for_a_page_tells_what_it_holds() -> None:
    assert live._levels(span(300, 604)) == ((0.0, -3.0), (304.0, -5.0))
    lasting = [live.LiveTrack(Path("a"), "a", 10.0, to_s, (), (), (0, 0)) for to_s in (20.0, 20.1, 45.0, 10.0)]
    made = live.LiveSet((), tuple(lasting), (), ((5.0, -20.0), (9.0, -20.0)), 60.0)
    assert made.pieces == 1 + 2 + 4 + 1 + 1  # ten seconds each, and one sound for all bells
    assert replace(made, bells=()).pieces == 8


@pytest.mark.parametrize(
    ("lasts_s", "sung", "may"), [(75.0, 0, True), (74.9, 0, False), (100.0, 9, True), (100.0, 10, False)]
)
def test_what_is_short_or_sung_for_a_tenth_stands_in_nowhere(
    lasts_s: float, sung: int, may: bool, tmp_path: Path
) -> None:
    (tmp_path / "a.flac").touch()
    voice = np.where(np.arange(100) < sung, 0.9, 0.0).astype(np.float32)
    one = replace(titled(1, lasts_s, voice=voice), path=tmp_path / "a.flac")
    assert live._may_stand_in(one) is may
    assert not live._may_stand_in(replace(one, path=tmp_path / "b.flac"))


def test_where_nothing_is_asked_a_middle_liveliness_stands_in(tmp_path: Path) -> None:
    (tmp_path / "a.flac").touch()
    library = [
        replace(titled(n, energy=np.full(400, energy, np.float32)), path=tmp_path / "a.flac")
        for n, energy in ((1, 0.3), (2, 0.45), (3, 0.35), (4, 0.6))
    ]
    setlist = replace(a_set(), target_energy=np.full(1200, np.nan, np.float32))
    assert live._nearest(setlist, setlist.sections[0], library) is library[1]
    assert live._nearest(setlist, setlist.sections[0], library[2:]) is library[2]
    nowhere = section("Still", Kind.FLOW, 30.5, 30.5)
    level = np.full(1200, 0.6, np.float32)
    level[30] = 0.3
    assert live._nearest(replace(setlist, target_energy=level), nowhere, library) is library[0]


# ---- voices, opinions, what is left ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("word", "voice", "sung"),
    [(None, (0.0, 0.49, 0.5, 0.9), (0, 0, 1, 1)), ("yes", (0.1, 0.6, 0.2, 0.2), (0, 1, 0, 0)),
     ("yes", (0.1, 0.1, 0.2, 0.2), (1, 1, 1, 1)), ("no", (0.1, 0.6, 0.2, 0.2), (0, 0, 0, 0))],
)  # fmt: skip
def test_the_teachers_word_counts_where_the_ear_heard_otherwise(
    word: str | None, voice: tuple[float, ...], sung: tuple[int, ...]
) -> None:
    made = titled(1, 4.0, voice=np.array(voice, np.float32))
    made = replace(made, marks={} if word is None else {"voice": word})
    assert meetings._sung(made).tolist() == list(sung)


def test_how_much_of_a_part_is_sung_second_by_second() -> None:
    """Whole seconds inside of it; a track from its first second on to before its last, from its second 10 on."""
    setlist = a_set()
    rng = np.random.default_rng(4)
    tracks = [
        replace(titled(n, voice=rng.choice([0.2, 0.5, 0.9], 400).astype(np.float32)), fingerprint=f"print {n}")
        for n in (1, 2, 3)
    ]
    tracks[2] = replace(tracks[2], marks={"voice": "no"})
    known = {track.fingerprint: track for track in tracks}
    for start_s, end_s in ((0.0, 20.0), (295.5, 310.7), (600.0, 640.0), (599.2, 601.0), (840.0, 900.0), (5.2, 5.9)):
        sung = []
        for second in range(math.ceil(start_s), math.floor(end_s)):
            heard = [
                known[pick.fingerprint].analysis.curves.voice[int(second - pick.class_start_s + 10)] >= 0.5
                for pick in setlist.picks[:2]
                if pick.class_start_s <= second < pick.class_end_s
            ]
            sung.append(any(heard))
        share = heard_of._voice_share(setlist.picks, section("Part", Kind.FLOW, start_s, end_s), known)
        assert share == pytest.approx(sum(sung) / len(sung) if sung else 0.0)


def beats(*at_s: float) -> opinion.Opinion:
    return opinion.Opinion("one", 10.0, np.zeros(1, np.float32), 1.0, None, np.array(at_s, float), None)


@pytest.mark.parametrize(
    ("one", "two", "measure"),
    [((1, 2, 3, 4), (1.0625, 2.08, 3), 4 / 7), ((0.0,), (0.07,), 1.0), ((0.0,), (0.071,), 0.0), ((), (1,), None),
     ((1, 2), (), None), ((1, 2, 3), (1, 2, 3), 1.0), ((1, 2), (1, 5, 6), 2 * 0.5 * (1 / 3) / (0.5 + 1 / 3))],
)  # fmt: skip
def test_two_ears_agree_by_the_f_measure_of_their_beats(
    one: tuple[float, ...], two: tuple[float, ...], measure: float | None
) -> None:
    """Beats within 70 ms are the same (S. Dixon, JNMR 36(1), 2007); twice precision times recall over their sum."""
    assert opinion.agreement(beats(*one), beats(*two)) == (measure if measure is None else pytest.approx(measure))


@pytest.mark.parametrize(("fits", "over"), [("fits", 0.01), ("fits", 0.0), ("too long", 1.0), ("fits", None)])
def test_time_left_over_is_worth_a_word_from_a_share_of_the_slot_on(fits: str, over: float | None) -> None:
    spare_s = None if over is None else SPARE_SHARE * 3600.0 + over
    made = SimpleNamespace(fits=fits, spare_s=spare_s, available_s=3600.0)
    assert SlotCheck.left_over_s.__get__(made) == (spare_s if fits == "fits" and over else None)
