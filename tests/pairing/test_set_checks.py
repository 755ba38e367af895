"""Checks of a set: a sound set is left alone, and each thing that can go wrong with it is named."""

from dataclasses import replace
from hashlib import sha256
from pathlib import Path

import numpy as np
import pytest

from audio.track import Analysis, MeasuredCurves, Tags, Track
from pairing.checks.set import check_set, renewed
from pairing.model import (
    Finding,
    Fit,
    Kind,
    PairOptions,
    Passage,
    Pick,
    Rest,
    Rule,
    Scan,
    SectionTime,
    SetFrame,
    SetList,
    SetPlan,
    Swap,
    Where,
    Wishes,
)

PLAN = "# Quay\n"


def section(name: str, kind: Kind, start_s: float, end_s: float) -> SectionTime:
    return SectionTime(name, kind, start_s, end_s, (Passage(1, None, start_s, end_s),), 5.0, 2.0, Wishes())


def pick(n: int, start_s: float, end_s: float, fade_in_s: float = 4.0, fade_out_s: float = 4.0) -> Pick:
    return Pick(
        n=n,
        track_id=n,
        fingerprint=f"print {n}",
        path=f"/music/{n}.flac",
        title=f"Track {n}",
        artist="Quay Ensemble",
        class_start_s=start_s,
        class_end_s=end_s,
        track_start_s=10.0,
        fade_in_s=fade_in_s,
        fade_out_s=fade_out_s,
        gain_db=0.0,
        section="Tide",
    )


def a_set() -> SetList:
    """Twenty minutes: flow to 600 s, peak to 840 s, rest from there, silent in its last minute."""
    target = np.concatenate([np.full(600, 0.6), np.full(240, 0.8), np.full(360, 0.16)]).astype(np.float32)
    target[1140:] = np.nan
    frame = SetFrame(
        rules=(Rule(840.0, 1200.0, 2, no_voice=True),),
        silent_s=((1140.0, 1200.0),),
        held_s=((860.0, 1200.0),),
        talk_s=((200.0, 260.0),),
    )
    return SetList(
        title="Quay",
        plan=SetPlan("quay.md", PLAN, sha256(PLAN.encode()).hexdigest()),
        options=PairOptions(),
        frame=frame,
        class_s=1200.0,
        slot_s=None,
        sections=(
            section("Tide", Kind.FLOW, 0, 600),
            section("Crest", Kind.PEAK, 600, 840),
            section("Float", Kind.REST, 840, 1200),
        ),
        arc=target,
        target_energy=target,
        played_energy=target + np.float32(0.05),
        fit=Fit(0.05, 0.04, 0.01, 0.95),
        rest=Rest(840.0, 1200.0, silence_s=60.0),
        picks=(
            pick(1, 0, 304, fade_in_s=0.0),
            pick(2, 300, 604),
            pick(3, 600, 850, fade_out_s=10.0),
            pick(4, 840, 1140, fade_in_s=10.0),
        ),
    )


FLOAT = Where(section="Float")


def codes(setlist: SetList, **more: object) -> list[str]:
    return [finding.code for finding in check_set(setlist, **more)]  # type: ignore[arg-type]


def with_pick(n: int, **changes: object) -> SetList:
    setlist = a_set()
    picks = tuple(replace(p, **changes) if p.n == n else p for p in setlist.picks)  # type: ignore[arg-type]
    return replace(setlist, picks=picks)


def test_a_sound_set_is_left_alone() -> None:
    assert codes(a_set()) == []
    assert codes(a_set(), plan_text=PLAN, tracks=[]) == []


PICK_FAULTS = [
    (2, {"class_start_s": 310.0}, "gap"),
    (4, {"class_end_s": 1100.0}, "gap"),
    (1, {"class_start_s": 2.0}, "gap"),
    (4, {"class_end_s": 1215.0}, "runs-over"),
    (2, {"class_end_s": 612.0}, "overlap"),
    (3, {"fingerprint": "print 1"}, "repeated-track"),
    (4, {"class_start_s": 845.0}, "rest-start"),
    (2, {"class_start_s": 230.0, "fade_in_s": 80.0}, "change-in-stillness"),
    (3, {"class_start_s": 780.0}, "short-clip"),
]


@pytest.mark.parametrize(("n", "changes", "code"), PICK_FAULTS)
def test_a_misplaced_pick_is_named(n: int, changes: dict[str, object], code: str) -> None:
    assert code in codes(with_pick(n, **changes))


@pytest.mark.parametrize(
    ("enter_s", "lasts_s", "said"),
    [(0.0, 74.0, "It plays for only 1:10, all of it."), (60.0, 400.0, "It plays for only 1:10.")],
)
def test_a_short_track_that_plays_whole_is_said_to_be_short(enter_s: float, lasts_s: float, said: str) -> None:
    setlist = with_pick(3, class_start_s=780.0, track_start_s=enter_s)
    known = track(3, slice(0))
    short = replace(known, analysis=replace(known.analysis, duration_s=lasts_s))
    (found,) = [each for each in check_set(setlist, tracks=[short]) if each.code == "short-clip"]
    assert found.message == said
    assert ("longer track" in (found.remedy or "")) == (lasts_s < 100)


def test_where_no_music_suits_the_rest_nobody_is_told_to_choose_calmer() -> None:
    known = track(4, slice(0))
    driving = replace(known, analysis=replace(known.analysis, tempo_bpm=120.0, tempo_confidence=1.0, onset_rate=2.5))
    found = codes(played(a_set(), 900, 960, 0.5), tracks=[driving])
    assert "unfit-in-rest" in found
    assert "rest-too-lively" not in found
    assert "rest-too-lively" in codes(played(a_set(), 900, 960, 0.5), tracks=[known])


def test_repeats_that_were_allowed_are_not_named() -> None:
    setlist = with_pick(3, fingerprint="print 1")
    assert codes(replace(setlist, options=PairOptions(allow_repeats=True))) == []


def played(setlist: SetList, start: int, end: int, energy: float) -> SetList:
    curve = setlist.played_energy.copy()
    curve[start:end] = energy
    return replace(setlist, played_energy=curve)


@pytest.mark.parametrize(
    ("start", "end", "energy", "found"),
    [
        (900, 960, 0.5, ["rest-too-lively"]),
        (840, 855, 0.7, []),  # the tail of the track before
        (600, 840, 0.5, ["peak-missed"]),
        (600, 620, 0.3, []),
        (100, 500, 0.1, []),
    ],
)
def test_energy_is_judged_in_the_rest_and_at_the_peak(start: int, end: int, energy: float, found: list[str]) -> None:
    assert codes(played(a_set(), start, end, energy)) == found


def track(n: int, voiced: slice, marks: dict[str, str] | None = None) -> Track:
    voice = np.zeros(400, np.float32)
    voice[voiced] = 0.9
    nothing = np.zeros(0)
    known = Analysis(
        duration_s=400.0,
        loudness_lufs=-18.0,
        loudness_range_lu=4.0,
        true_peak_dbtp=-1.0,
        rise_lu=2.0,
        tempo_bpm=None,
        tempo_confidence=0.0,
        tempo_drift=0.0,
        metre=None,
        key=None,
        key_strength=0.0,
        treble_share=0.1,
        onset_rate=1.0,
        curves=MeasuredCurves(
            beats_s=nothing,
            downbeats_s=nothing,
            energy=np.zeros(400, np.float32),
            voice=voice,
            loudness=np.full(400, -18, np.float32),
            cut_points=(),
        ),
    )
    return Track(n, f"print {n}", Path(f"/music/{n}.flac"), Tags(), known, marks=marks or {})


# Pick 4 enters its track at 10 s, is faded in for 10 s and out for 4: its seconds 20 to 306 must be free of voice.
@pytest.mark.parametrize(
    ("voiced", "marks", "found"),
    [
        (slice(100, 200), {}, ["voice"]),
        (slice(0, 18), {}, []),
        (slice(310, 400), {}, []),
        (slice(100, 105), {}, []),
        (slice(100, 200), {"voice": "no"}, []),
    ],
)
def test_voice_is_named_where_the_plan_wants_none(voiced: slice, marks: dict[str, str], found: list[str]) -> None:
    assert [code for code in codes(a_set(), tracks=[track(4, voiced, marks)]) if code == "voice"] == found
    assert "voice" not in codes(a_set(), tracks=[track(2, slice(0, 400))])


def test_a_track_that_was_chosen_by_hand_is_named_where_another_one_is_meant() -> None:
    setlist = with_pick(2, class_start_s=230.0, fade_in_s=80.0)
    pinned = replace(setlist, picks=(replace(setlist.picks[0], pinned=True), *setlist.picks[1:]))
    (found,) = [each for each in check_set(pinned) if each.code == "change-in-stillness"]
    assert found.remedy == f'You chose "{setlist.picks[0].title}" yourself. If you want it there, leave it.'
    assert found.deeds == ()


@pytest.mark.parametrize("by_hand", [False, True])
def test_a_voice_under_talk_is_named_and_who_chose_the_track_is_not_told_to_swap_it(by_hand: bool) -> None:
    setlist = a_set()
    pick = setlist.picks[3]
    spoken = (pick.class_start_s + 20, pick.class_start_s + 80)
    options = PairOptions(swapped=(pick.fingerprint,) if by_hand else ())
    setlist = replace(setlist, frame=replace(setlist.frame, spoken_s=(spoken,)), options=options)
    (found,) = [f for f in check_set(setlist, tracks=[track(4, slice(0, 400))]) if f.code == "voice-under-talk"]
    assert ("another track" in (found.remedy or "")) != by_hand
    assert (Swap(4) in found.deeds) != by_hand


def test_files_that_are_gone_and_a_plan_that_changed_are_named() -> None:
    found = check_set(a_set(), missing_files=("/music/2.flac",), plan_text="# Quay, longer\n")
    assert [(f.code, f.level) for f in found] == [("file-gone", "must"), ("plan-changed", "should")]
    assert (found[0].where, found[0].deeds) == (Where(tracks=(2,)), (Scan(), Swap(2)))


def test_a_set_without_rest_or_wishes_does_no_harm() -> None:
    bare = replace(a_set(), rest=None, frame=SetFrame())
    assert "gap" in codes(bare)  # nothing says that the last minute is meant to be silent


def test_what_checks_said_before_a_change_makes_room_for_what_they_say_now() -> None:
    kept = Finding("should", "nothing-calm-enough", FLOAT, "Nothing calm enough.", "Add calmer tracks.")
    stale = Finding("should", "rest-too-lively", FLOAT, "Livelier during 29 s.", "Let quieter tracks be chosen.")
    now = Finding("should", "rest-too-lively", FLOAT, "Livelier during 31 s.", "Let quieter tracks be chosen.")
    assert renewed((kept, stale), (now,)) == (kept, now)
