"""Whole sets over invented libraries: what must always hold, and what a teacher asked for."""

import dataclasses
import functools
import itertools

import invented_music
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from invented_music import track

from audio.track import Track
from pairing.alignment import marks
from pairing.alignment.keeping import hand_over
from pairing.alignment.options import PinWish
from pairing.alignment.recency import Use
from pairing.alignment.zones import in_folder
from pairing.checks.set import check_set
from pairing.errors import NotEnoughMusic
from pairing.model import Kind, PairOptions, Pick, SetList, Step, Timetable, Wishes
from pairing.sets.codec import to_json
from pairing.sets.pair import pair
from pairing.sets.played import correlation, played_energy, rmse

QUICK = (
    ("Arrive", Kind.OPENING, 150.0, 0.18),
    ("Tide", Kind.FLOW, 400.5, 0.6),
    ("Crest", Kind.PEAK, 200.0, 0.75),
    ("Float", Kind.REST, 240.25, 0.16),
)


def made(
    tracks: list[Track],
    *,
    shape: tuple[tuple[str, Kind, float, float], ...] = QUICK,
    wishes: dict[str, Wishes] | None = None,
    steps: tuple[Step, ...] = (),
    options: PairOptions | None = None,
    pins: tuple[PinWish, ...] = (),
    keep: SetList | None = None,
    uses: tuple[Use, ...] = (),
    **plan: object,
) -> SetList:
    table = invented_music.timetable(shape, wishes, steps)
    return pair(
        invented_music.plan(**plan),
        table,
        invented_music.arc(table, shape),
        tracks,
        options or PairOptions(),
        pins=pins,
        keep=keep,
        uses=uses,
    )


@functools.cache
def usual() -> SetList:
    return made(invented_music.library(40), shape=invented_music.USUAL)


def assert_sound(setlist: SetList, tracks: list[Track], wishes: dict[str, Wishes] | None = None) -> None:
    """Everything the contract promises of a set."""
    by_id = {track.id: track for track in tracks}
    picks = setlist.picks
    assert [pick.n for pick in picks] == list(range(1, len(picks) + 1))
    fingerprints = [pick.fingerprint for pick in picks]
    assert len(set(fingerprints)) == len(fingerprints) or setlist.options.allow_repeats
    for pick in picks:
        _assert_inside_track(pick, by_id[pick.track_id])
    for one, two in itertools.pairwise(picks):
        overlap = one.class_end_s - two.class_start_s
        if overlap > 1e-6:
            assert one.fade_out_s == pytest.approx(overlap, abs=1e-5)
            assert two.fade_in_s == pytest.approx(overlap, abs=1e-5)
    for one, three in zip(picks, picks[2:], strict=False):
        assert one.class_end_s <= three.class_start_s + 1e-6
    _assert_covered(setlist)
    _assert_rest(setlist, by_id)
    _assert_curves(setlist, by_id)
    for section in setlist.sections:
        if (wishes or {}).get(section.name, Wishes()).no_voice:
            assert not _voiced_seconds(setlist, by_id, section.start_s, section.end_s)


def _assert_inside_track(pick: Pick, track: Track) -> None:
    assert pick.class_start_s < pick.class_end_s
    assert pick.track_start_s >= 0
    assert pick.track_end_s <= track.analysis.duration_s + 1e-6
    assert pick.fade_in_s + pick.fade_out_s <= pick.class_end_s - pick.class_start_s + 1e-6


def _assert_covered(setlist: SetList) -> None:
    silent = setlist.frame.silent_s
    stretches = sorted([*((pick.class_start_s, pick.class_end_s) for pick in setlist.picks), *silent])
    reached = stretches[0][0]
    assert reached <= 0
    for start, end in stretches:
        assert start <= reached + 1e-5, f"a gap at {reached}"
        reached = max(reached, end)
    assert reached == pytest.approx(setlist.class_s + setlist.frame.after_s, abs=1e-5)
    for pick in setlist.picks:
        for start, end in silent:
            assert pick.class_end_s <= start + 1e-5 or pick.class_start_s >= end - 1e-5


def _assert_rest(setlist: SetList, by_id: dict[int, Track]) -> None:
    rest = setlist.rest
    if rest is None or rest.silence_s >= rest.end_s - rest.start_s:
        return
    inside = [pick for pick in setlist.picks if rest.start_s - 0.5 < pick.class_start_s < rest.end_s - 0.5]
    assert inside[0].class_start_s == pytest.approx(rest.start_s, abs=1e-6)
    music_end_s = rest.end_s - rest.silence_s
    assert inside[-1].class_end_s == pytest.approx(music_end_s, abs=1e-6)
    if music_end_s - rest.start_s >= 40:
        assert inside[-1].fade_out_s >= 10
    before = [pick for pick in setlist.picks if pick.n == inside[0].n - 1]
    assert all(pick.class_end_s <= rest.start_s + 4 + 1e-6 for pick in before)
    assert not _voiced_seconds(setlist, by_id, rest.start_s, music_end_s)


def _voiced_seconds(setlist: SetList, by_id: dict[int, Track], start_s: float, end_s: float) -> int:
    """Whole seconds between two class times in which a voice is heard."""
    heard = 0
    for pick in setlist.picks:
        first, last = max(start_s, pick.class_start_s), min(end_s, pick.class_end_s)
        shift = pick.track_start_s - pick.class_start_s
        analysis = by_id[pick.track_id].analysis
        if last - first > 0:
            heard += int((analysis.curves.voice[int(np.ceil(first + shift)) : int(last + shift)] >= 0.5).sum())
    return heard


def _assert_curves(setlist: SetList, by_id: dict[int, Track]) -> None:
    seconds = int(np.ceil(setlist.class_s))
    assert len(setlist.arc) == len(setlist.target_energy) == len(setlist.played_energy) == seconds
    assert (np.isnan(setlist.target_energy) == np.isnan(setlist.played_energy)).all()
    energies = [marks.energy(by_id[pick.track_id]) for pick in setlist.picks]
    heard = played_energy(setlist.picks, energies, setlist.class_s)
    known = ~np.isnan(setlist.played_energy)
    assert setlist.played_energy[known] == pytest.approx(heard[known], abs=1e-3)
    assert setlist.fit.rmse == pytest.approx(rmse(setlist.played_energy, setlist.target_energy), abs=1e-4)
    assert setlist.fit.correlation == pytest.approx(correlation(setlist.played_energy, setlist.arc), abs=1e-4)


def test_a_usual_class_is_covered_follows_the_arc_and_changes_with_the_sections() -> None:
    setlist = usual()
    assert_sound(setlist, invented_music.library(40))
    assert setlist.fit.correlation >= 0.85
    assert setlist.fit.bound_rmse <= setlist.fit.rmse
    starts = [section.start_s for section in setlist.sections[1:]]
    hit = [any(abs(pick.class_start_s - start) <= 8 for pick in setlist.picks) for start in starts]
    assert sum(hit) >= len(hit) - 1


def test_the_same_input_gives_the_same_bytes(tmp_path: object) -> None:
    again = made(invented_music.library(40), shape=invented_music.USUAL)
    assert to_json(again, tmp_path) == to_json(usual(), tmp_path)  # type: ignore[arg-type]


def test_every_pick_says_why_it_is_there() -> None:
    for pick in usual().picks:
        assert "follows the class" in pick.why
    assert any("next best" in pick.why for pick in usual().picks)


@pytest.mark.slow
@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_whatever_is_asked_the_answer_is_sound_or_a_plain_refusal(data: st.DataObject) -> None:
    tracks = invented_music.library(data.draw(st.integers(6, 30)), data.draw(st.integers(0, 999)))
    lengths = data.draw(st.lists(st.floats(60, 500), min_size=4, max_size=4))
    shape = tuple((name, kind, round(s, 2), e) for (name, kind, _, e), s in zip(QUICK, lengths, strict=True))
    if data.draw(st.booleans()):
        shape = (*shape, ("Seat", Kind.CLOSING, data.draw(st.floats(20, 150)), 0.2))
    wishes = {
        "Tide": Wishes(no_voice=data.draw(st.booleans())),
        "Crest": Wishes(no_music=data.draw(st.booleans())),
        "Float": Wishes(silent_last_s=data.draw(st.sampled_from([None, 60.0, 400.0]))),
    }
    plan = {"before_s": data.draw(st.sampled_from([0.0, 90.0])), "after_s": data.draw(st.sampled_from([0.0, 60.5]))}
    pinned = data.draw(st.sampled_from(tracks))
    options = PairOptions(
        exclude=(data.draw(st.sampled_from(tracks)).id,),
        allow_repeats=data.draw(st.booleans()),
    )
    pins = (PinWish(pinned.id, 30.0),) if data.draw(st.booleans()) else ()
    try:
        setlist = made(tracks, shape=shape, wishes=wishes, options=options, pins=pins, **plan)
    except NotEnoughMusic as refusal:
        assert refusal.remedy  # noqa: PT017
        return
    if not pins:
        assert_sound(setlist, tracks, wishes)
        assert not any(pick.track_id in options.exclude for pick in setlist.picks)
    else:
        assert any(pick.track_id == pinned.id and abs(pick.class_start_s - 30.0) < 1e-6 for pick in setlist.picks)


def test_a_pinned_song_begins_where_the_plan_says_and_is_heard_whole() -> None:
    tracks = [*invented_music.library(30), track(99, 0.6, 180.0, title="Lanterns on the Pier")]
    setlist = made(tracks, steps=(Step("song", "Lanterns on the pier", 300.25, 300.25, 1),))
    (song,) = [pick for pick in setlist.picks if pick.track_id == 99]
    assert song.pinned
    assert song.class_start_s == 300.25
    assert song.track_end_s >= 178
    assert_sound(setlist, tracks)


def test_marks_folders_and_beats_are_respected() -> None:
    tracks = [
        dataclasses.replace(each, marks={"rest": "never"} if each.id % 2 else {}) for each in invented_music.library(60)
    ]
    tracks += [track(100 + n, 0.6, 300.0, folder="music/tide", tempo_bpm=124.0) for n in range(4)]
    wishes = {"Tide": Wishes(folder="tide", beat_bpm=(120, 128))}
    setlist = made(tracks, wishes=wishes)
    by_id = {track.id: track for track in tracks}
    for pick in setlist.picks:
        if pick.section == "Tide":
            assert in_folder(by_id[pick.track_id].path, "tide")
        if pick.section == "Float":
            assert pick.track_id % 2 == 0


def test_same_music_means_no_change_at_that_border() -> None:
    setlist = made(invented_music.library(60), wishes={"Crest": Wishes(same_music=True)})
    border = setlist.sections[2].start_s
    assert all(abs(pick.class_start_s - border) > 10 for pick in setlist.picks)


def test_a_library_without_calm_music_says_so_and_offers_the_least_bad() -> None:
    tracks = [track(n, 0.55 + 0.01 * n, 300.0, calm=False) for n in range(1, 12)]
    setlist = made(tracks)
    codes = {finding.code for finding in (*setlist.findings, *check_set(setlist, tracks=tracks))}
    assert "driving-in-rest" in codes or "unfit-in-rest" in codes
    assert "tracks-alike" in codes
    (rest,) = [pick for pick in setlist.picks if pick.section == "Float"]
    assert "doesn't suit a rest" in rest.why


def test_a_narrow_library_gets_the_arc_fitted_into_its_range() -> None:
    tracks = invented_music.library(60, low=0.3, high=0.55)
    setlist = made([dataclasses.replace(each, marks={"rest": "yes"}) for each in tracks])
    assert float(np.nanmin(setlist.target_energy)) > 0.2  # the arc asks for 0.16
    assert setlist.fit.correlation >= 0.85
    assert any(finding.code == "nothing-lively-enough" for finding in setlist.findings)


@pytest.mark.parametrize(
    ("tracks", "wishes", "said"),
    [
        ([], {}, "no music yet that can be used"),
        ([track(1, 0.5, 300.0)], {}, "too little|one track|1 track"),
        (invented_music.library(30), {"Tide": Wishes(folder="nowhere")}, 'from the folder "nowhere"'),
        (invented_music.library(30), {"Tide": Wishes(beat_bpm=(400, 410))}, "400 to 410 beats a minute"),
        (
            [track(n, 0.5, 300.0, voice=((10, 200),)) for n in range(1, 9)],
            {"Tide": Wishes(no_voice=True)},
            "without voice",
        ),
        ([track(n, 0.5, 300.0, marks={"rest": "never"}) for n in range(1, 9)], {}, "Float"),
    ],
)
def test_what_is_missing_is_said_in_minutes_and_kind(tracks: list[Track], wishes: dict[str, Wishes], said: str) -> None:
    with pytest.raises(NotEnoughMusic, match=said):
        made(tracks, wishes=wishes)


def test_repeats_are_the_teachers_choice() -> None:
    tracks = [track(1, 0.2, 400.0, calm=True), track(2, 0.6, 300.0)]
    with pytest.raises(NotEnoughMusic):
        made(tracks)
    assert_sound(made(tracks, options=PairOptions(allow_repeats=True)), tracks)


def test_fresh_avoids_the_music_of_the_last_class_and_only_when_asked() -> None:
    tracks = invented_music.library(60)
    first = made(tracks)
    uses = tuple(Use(pick.fingerprint, 2.0) for pick in first.picks)
    assert made(tracks, uses=uses).picks == first.picks
    fresh = made(tracks, uses=uses, options=PairOptions(fresh=True))
    old = {pick.fingerprint for pick in first.picks}
    assert sum(pick.fingerprint in old for pick in fresh.picks) <= len(first.picks) / 3


def test_pairing_again_after_a_change_of_plan_keeps_what_still_fits() -> None:
    tracks = invented_music.library(40)
    shape = tuple(part for part in invented_music.USUAL if part[0] != "Crest")
    after = made(tracks, shape=shape, keep=usual())
    assert_sound(after, tracks)
    before = {pick.fingerprint for pick in usual().picks}
    kept = [pick for pick in after.picks if pick.fingerprint in before]
    assert len(kept) >= len(after.picks) - 2
    assert any(finding.code == "re-paired" and "Kept" in finding.message for finding in after.findings)


def test_pairing_again_without_a_change_changes_nothing() -> None:
    again = made(invented_music.library(40), shape=invented_music.USUAL, keep=usual())
    assert again.picks == usual().picks


def test_hand_overs_of_tracks_with_a_beat_fall_on_a_beat_of_the_track_that_goes() -> None:
    tracks = {track.id: track for track in invented_music.library(40)}
    fixed = {usual().sections[-1].start_s}
    for index, pick in enumerate(usual().picks[:-1]):
        analysis = tracks[pick.track_id].analysis
        at = pick.track_start_s + hand_over(usual().picks, index) - pick.class_start_s
        moments = [*analysis.curves.beats_s.tolist(), *(cut.at_s for cut in analysis.curves.cut_points)]
        ending = analysis.curves.cut_points[-1].at_s - at < 13
        if analysis.tempo_bpm and not ending and hand_over(usual().picks, index) not in fixed:
            assert min(abs(at - moment) for moment in moments) < 0.02


def test_a_class_without_any_music_is_a_set_without_picks() -> None:
    silent = {name: Wishes(no_music=True) for name, *_ in QUICK}
    setlist = made(invented_music.library(5), wishes=silent)
    assert setlist.picks == ()
    assert np.isnan(setlist.played_energy).all()


def test_the_table_of_a_class_has_no_gap() -> None:
    table: Timetable = invented_music.timetable(QUICK)
    assert table.duration_s == pytest.approx(990.75)
