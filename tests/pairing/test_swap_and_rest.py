"""Calm editing: a swap, a pin, an undo and a new rest leave everything else as it was."""

import dataclasses
import functools
import itertools
from pathlib import Path

import invented_music
import numpy as np
import pytest
from invented_music import track
from test_pair import assert_sound

from audio.track import Track
from pairing.alignment.sedative import judge
from pairing.errors import NotEnoughMusic, SetError
from pairing.model import Kind, PairOptions, Pick, SetList
from pairing.sets.history import before_last
from pairing.sets.mixdown import bells, chapters, duration_s, locate, outside_library, spans
from pairing.sets.pair import pair
from pairing.sets.rest import rebuild_rest
from pairing.sets.setfile import read_set, write_set
from pairing.sets.swap import alternatives, pin, swap, unpin


@functools.cache
def library() -> tuple[Track, ...]:
    return tuple(invented_music.library(40))


@functools.cache
def usual() -> SetList:
    table = invented_music.timetable()
    plan = invented_music.plan(before_s=120.0, slot_s=3000.0)
    return pair(plan, table, invented_music.arc(table), library(), PairOptions())


def place(pick: Pick) -> tuple[str, float, float]:
    """Which music starts when; the fades belong to the hand-overs."""
    return pick.fingerprint, pick.class_start_s, pick.track_start_s


def changed(before: SetList, after: SetList) -> list[int]:
    """Numbers of the picks that stand elsewhere, or are others."""
    assert len(before.picks) == len(after.picks)
    return [one.n for one, two in zip(before.picks, after.picks, strict=True) if place(one) != place(two)]


@pytest.mark.parametrize("index", [0, 2, 5, -1])
def test_a_swap_touches_the_pick_and_its_neighbours_alone_and_the_total_stays(index: int) -> None:
    n = usual().picks[index].n
    found = alternatives(usual(), n, library(), limit=4)
    assert found
    assert [each.cost_change for each in found] == sorted(each.cost_change for each in found)
    assert np.isfinite([each.cost_change for each in found]).all(), "the cuts that the set has are open to it"
    for each in found:
        assert_sound(each.setlist, list(library()))
        assert set(changed(usual(), each.setlist)) <= {n, n + 1}
        assert n in changed(usual(), each.setlist)
        assert each.setlist.class_s == usual().class_s
        assert each.rmse_change == pytest.approx(each.setlist.fit.rmse - usual().fit.rmse, abs=1e-4)
        assert "follows the class" in each.effect


@pytest.mark.parametrize("n", [2, 5, 9])
def test_swapping_back_restores_the_picks_and_so_does_undo(n: int, tmp_path: Path) -> None:
    first = alternatives(usual(), n, library(), limit=1)[0]
    there = swap(usual(), n, first.track.id, library())
    assert there.picks == first.setlist.picks
    write_set(there, tmp_path / "s.json")
    there = read_set(tmp_path / "s.json")
    back = swap(there, n, usual().picks[n - 1].track_id, library())
    assert [dataclasses.replace(pick, path="") for pick in back.picks] == [
        dataclasses.replace(pick, path="") for pick in usual().picks
    ]
    undone = before_last(there)
    assert undone.picks == usual().picks
    assert undone.fit == usual().fit
    assert np.array_equal(undone.played_energy, usual().played_energy, equal_nan=True)
    with pytest.raises(SetError, match="nothing to undo"):
        before_last(undone)


@pytest.mark.parametrize("wish", ["quieter", "livelier", "longer"])
def test_a_wish_is_met_by_every_replacement(wish: str) -> None:
    n = 4
    old = usual().picks[n - 1]
    for each in alternatives(usual(), n, library(), wish=wish, limit=3):  # type: ignore[arg-type]
        new = each.setlist.picks[n - 1]
        assert {"quieter": "calmer", "livelier": "livelier", "longer": "longer"}[wish] in each.effect
        if wish == "longer":
            assert new.class_end_s - new.class_start_s > old.class_end_s - old.class_start_s


def test_a_pinned_neighbour_keeps_its_cuts() -> None:
    pinned = pin(pin(usual(), 3), 5)
    assert [pick.pinned for pick in pinned.picks].count(True) == 2
    for each in alternatives(pinned, 4, library(), limit=3):
        assert changed(pinned, each.setlist) == [4]
    assert unpin(unpin(pinned, 3), 5).picks == usual().picks


def test_what_cannot_stand_there_is_refused_with_its_reason() -> None:
    rest = len(usual().picks)
    lively = max(library(), key=lambda each: each.analysis.curves.mean_energy)
    with pytest.raises(SetError, match="doesn't suit a rest: "):
        swap(usual(), rest, lively.id, library())
    with pytest.raises(SetError, match="is track 3 already"):
        swap(usual(), 5, usual().picks[2].track_id, library())
    with pytest.raises(SetError, match="the number 9999"):
        swap(usual(), 5, 9999, library())
    with pytest.raises(SetError, match="no track 0"):
        alternatives(usual(), 0, library())


def test_swapping_in_the_same_track_changes_nothing() -> None:
    assert swap(usual(), 2, usual().picks[1].track_id, library()) is usual()


def test_silence_and_bells_change_only_the_rest() -> None:
    after = rebuild_rest(usual(), library(), silence_s=120.0, bells=["start", "end"])
    assert_sound(after, list(library()))
    assert set(changed(usual(), after)) == {len(usual().picks)}
    assert after.rest is not None
    assert after.rest.bells_s == (after.rest.start_s, after.rest.end_s)
    assert np.isnan(after.played_energy[-120:]).all()
    assert not np.isnan(after.played_energy[-122])
    again = rebuild_rest(after, library(), silence_s=0.0)
    assert_sound(again, list(library()))
    assert not np.isnan(again.played_energy).any()
    assert before_last(before_last(again)).picks == usual().picks


def test_a_rest_of_another_length_is_taken_back_even_from_the_file(tmp_path: Path) -> None:
    before = swap(usual(), 2, alternatives(usual(), 2, library())[0].track.id, library())
    write_set(rebuild_rest(before, library(), minutes=8.5), tmp_path / "longer.json")
    write_set(rebuild_rest(read_set(tmp_path / "longer.json"), library(), minutes=4.0), tmp_path / "shorter.json")
    back = before_last(before_last(read_set(tmp_path / "shorter.json")))
    assert back.picks == before.picks
    assert (back.class_s, back.sections, back.rest) == (before.class_s, before.sections, before.rest)
    assert np.allclose(back.arc, before.arc, atol=1e-4)
    assert np.allclose(back.played_energy, before.played_energy, atol=1e-4, equal_nan=True)
    assert before_last(back).picks == usual().picks


@pytest.mark.parametrize("minutes", [4.0, 8.5])
def test_a_longer_or_shorter_rest_moves_the_end_of_the_class(minutes: float) -> None:
    after = rebuild_rest(usual(), library(), minutes=minutes)
    assert_sound(after, list(library()))
    assert after.rest is not None
    assert after.rest.end_s - after.rest.start_s == pytest.approx(60 * minutes)
    assert after.class_s == pytest.approx(after.rest.end_s)
    assert [place(pick) for pick in after.picks[:10]] == [place(pick) for pick in usual().picks[:10]]


def test_a_rest_is_made_anew_in_a_set_whose_other_picks_break_a_rule(tmp_path: Path) -> None:
    """A set file in which a section asks for a folder that none of its tracks lies in, as a random change made it."""
    before = usual()
    assert before.rest is not None
    first, *others = before.frame.rules
    assert first.end_s <= before.rest.start_s
    rules = (dataclasses.replace(first, folder="elsewhere"), *others)
    odd = dataclasses.replace(before, frame=dataclasses.replace(before.frame, rules=rules))
    after = rebuild_rest(odd, library(), silence_s=60.0)
    assert (after.fit.bound_rmse, after.fit.gap) == (before.fit.bound_rmse, before.fit.gap)
    write_set(after, tmp_path / "s.json")
    assert read_set(tmp_path / "s.json").rest == after.rest


def test_a_rest_all_silent_has_no_music() -> None:
    after = rebuild_rest(usual(), library(), silence_s=360.0)
    assert after.rest is not None
    assert max(pick.class_end_s for pick in after.picks) == pytest.approx(after.rest.start_s)
    assert_sound(after, list(library()))


def test_a_rest_is_found_though_all_that_suits_one_plays_elsewhere() -> None:
    before = usual()
    rest = before.rest
    assert rest is not None
    outside = {each.fingerprint for each in before.picks if each.class_start_s < rest.start_s - 1}
    calm = {"tempo_bpm": None, "onset_rate": 0.5, "loudness_range_lu": 4.0, "treble_share": 0.1}
    driving = {"tempo_bpm": 120.0, "tempo_confidence": 1.0, "onset_rate": 2.5}
    tracks = []
    for known in library():
        even = [np.full(known.analysis.curves.seconds, value, np.float32) for value in (0.1, 0.0, -20.0)]
        curves = dict(zip(("energy", "voice", "loudness"), even, strict=True))
        changes = calm | curves if known.fingerprint in outside else driving
        tracks.append(dataclasses.replace(known, analysis=known.analysis.but(**changes)))
    assert sum(judge(each).fit for each in tracks if each.fingerprint in outside) >= 3
    assert not any(judge(each).fit for each in tracks if each.fingerprint not in outside)
    after = rebuild_rest(before, tracks, silence_s=60.0)
    assert after.rest is not None
    assert after.rest.silence_s == 60.0
    assert [p for p in after.picks if p.class_start_s >= rest.start_s - 1]


def test_an_impossible_rest_is_refused() -> None:
    with pytest.raises(SetError, match="minutes of silence"):
        rebuild_rest(usual(), library(), silence_s=4000.0)
    with pytest.raises(SetError, match="no rest"):
        rebuild_rest(dataclasses.replace(usual(), rest=None), library())
    with pytest.raises((SetError, NotEnoughMusic)):
        rebuild_rest(usual(), library()[:3])


# ---- the way to the mixer ----------------------------------------------------------------------------------------


@pytest.fixture
def on_disk(tmp_path: Path) -> tuple[SetList, list[Track]]:
    """The usual set and its library, with a file for every track."""
    tracks = [dataclasses.replace(each, path=tmp_path / each.path.name) for each in library()]
    for each in tracks:
        each.path.touch()
    paths = {each.id: str(each.path) for each in tracks}
    picks = tuple(dataclasses.replace(pick, path=paths[pick.track_id]) for pick in usual().picks)
    return dataclasses.replace(usual(), picks=picks), tracks


def test_spans_are_the_picks_on_the_time_of_the_mix(on_disk: tuple[SetList, list[Track]], tmp_path: Path) -> None:
    setlist, tracks = on_disk
    made = spans(setlist, tmp_path, tracks)
    assert duration_s(setlist) == pytest.approx(setlist.class_s + 120)
    assert made[0].mix_start_s == 0.0
    assert made[-1].mix_end_s == pytest.approx(duration_s(setlist))
    for span, pick in zip(made, setlist.picks, strict=True):
        assert span.mix_start_s == pytest.approx(pick.class_start_s + 120)
        assert span.track_start_s == pick.track_start_s
        assert span.levels[-1].gain_db == pytest.approx(pick.gain_db)
        assert list(span.levels) == sorted(span.levels, key=lambda level: level.at_s)
    assert made[-1].levels[0].gain_db > made[-1].levels[-1].gain_db, "the music sinks to the bed of the rest"


def test_the_bed_goes_down_where_the_teacher_speaks(on_disk: tuple[SetList, list[Track]], tmp_path: Path) -> None:
    setlist, tracks = on_disk
    both = spans(setlist, tmp_path, tracks), spans(setlist, tmp_path, tracks, under_voice=True)
    for pick, plain, under in zip(setlist.picks, *both, strict=True):
        opening = setlist.sections[0]
        speaks = plain.mix_start_s < opening.end_s + 120 and plain.mix_end_s > 122
        lowest = min(level.gain_db for level in under.levels) - min(level.gain_db for level in plain.levels)
        # 10 LU below the bed of the flow; the bed of the opening lies 4 LU lower by itself
        lower = next(each.kind for each in setlist.sections if each.name == pick.section) is Kind.OPENING
        assert lowest == pytest.approx((-6 if lower else -10) if speaks else 0, abs=0.3)


def test_a_moved_file_is_found_by_its_fingerprint(on_disk: tuple[SetList, list[Track]], tmp_path: Path) -> None:
    setlist, tracks = on_disk
    (tmp_path / "new").mkdir()
    pick = setlist.picks[2]
    moved = tmp_path / "new" / "moved.flac"
    Path(pick.path).rename(moved)
    with pytest.raises(SetError, match="track 3"):
        locate(pick, tmp_path, tracks)
    known = [dataclasses.replace(each, path=moved) if each.id == pick.track_id else each for each in tracks]
    assert locate(pick, tmp_path, known) == moved


def test_a_file_that_is_another_recording_now_is_not_taken(
    on_disk: tuple[SetList, list[Track]], tmp_path: Path
) -> None:
    setlist, tracks = on_disk
    pick, other = setlist.picks[2], setlist.picks[3]
    swapped = [
        dataclasses.replace(each, path=Path(other.path if each.id == pick.track_id else pick.path))
        if each.id in (pick.track_id, other.track_id)
        else each
        for each in tracks
    ]
    assert locate(pick, tmp_path, swapped) == Path(other.path)


def test_files_outside_the_library_are_named(on_disk: tuple[SetList, list[Track]], tmp_path: Path) -> None:
    setlist, tracks = on_disk
    assert outside_library(setlist, tmp_path, tracks) == ()
    stranger = dataclasses.replace(setlist.picks[0], path="/etc/hostname", fingerprint="x")
    strange = dataclasses.replace(setlist, picks=(stranger, *setlist.picks[1:]))
    (finding,) = outside_library(strange, tmp_path, tracks)
    assert "/etc/hostname" in finding.message


def test_chapters_cover_the_mix_and_name_section_and_track(on_disk: tuple[SetList, list[Track]]) -> None:
    setlist, _ = on_disk
    made = chapters(setlist)
    assert made[0].start_s == 0
    assert made[-1].end_s == pytest.approx(duration_s(setlist))
    assert all(one.end_s == two.start_s for one, two in itertools.pairwise(made))
    assert made[3].title == f"{setlist.picks[3].section}: {setlist.picks[3].title}"


def test_bells_sound_on_the_time_of_the_mix_no_louder_than_the_bed() -> None:
    after = rebuild_rest(usual(), library(), bells=["end"])
    assert after.rest is not None
    # the class ends with the rest: the stroke of 9 s begins so early that it is heard whole
    assert bells(after) == ((after.rest.end_s + 120 - 9, after.rest.bed_lufs),)


def test_a_swap_at_a_thousand_tracks_answers_from_the_whole_library() -> None:
    many = [*library(), *(track(1000 + n, 0.3 + 0.0003 * n, 240.0, seed=3) for n in range(1000))]
    found = alternatives(usual(), 4, many, limit=5)
    assert len(found) == 5
    assert any(each.track.id >= 1000 for each in found)


@pytest.mark.parametrize("index", [0, -1])
@pytest.mark.parametrize("late_s", [0.0, 3600.0])
def test_a_set_that_plays_a_track_beyond_its_end_is_told_when_it_is_changed(index: int, late_s: float) -> None:
    """As a set file may say that was changed by hand."""
    picks = list(usual().picks)
    pick = picks[index]
    end_s = next(one.analysis.duration_s for one in library() if one.fingerprint == pick.fingerprint)
    picks[index] = dataclasses.replace(pick, track_start_s=end_s - 5.0 + late_s)
    with pytest.raises(SetError, match="beyond its end"):
        alternatives(dataclasses.replace(usual(), picks=tuple(picks)), 2, library(), limit=1)
