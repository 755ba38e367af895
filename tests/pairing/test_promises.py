"""What a teacher has decided by hand holds whatever is chosen anew later, or is named with the reason."""

import dataclasses
import functools
from collections import Counter
from pathlib import Path

import invented_music
import pytest
from random_edits import Week

from audio.files.folders import Found
from audio.library import Library
from pairing.model import PairOptions, SetList
from pairing.sets.pair import pair
from pairing.sets.promises import CODE
from pairing.sets.rest import rebuild_rest
from pairing.sets.swap import alternatives, pin, swap
from pairing.workflow import sets


@functools.cache
def week() -> Week:
    return Week(seed=1)


@functools.cache
def decided() -> SetList:
    """A set with a pin, a swap, a track left out, and a rest made by hand."""
    it = week()
    pinned = pin(it.setlist, 3)
    other = alternatives(pinned, 2, it.tracks, limit=1)[0].track
    swapped = swap(pinned, 2, other.id, it.tracks)
    return rebuild_rest(swapped, it.tracks, silence_s=90.0, bells=["end"])


def again(text: str, former: SetList, *, keep: bool = True) -> SetList:
    it = week()
    before, it.text = it.text, text
    try:
        return it.paired(former if keep else None, None if keep else former)
    finally:
        it.text = before


@pytest.mark.parametrize("keep", [True, False])
@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("", ""),
        ("start: 18:30", "start: 19:00"),
        ("slot: 26", "slot: 30"),
        ("warrior two, 5 breaths", "warrior two, 6 breaths"),
        ("Crest: peak", "Crest: peak, energy 60%"),
    ],
)
def test_a_pin_a_swap_and_a_rest_outlast_a_change_of_the_plan(old: str, new: str, keep: bool) -> None:
    before = decided()
    after = again(week().text.replace(old, new), before, keep=keep)
    said = [each for each in after.findings if each.code == CODE]
    assert said == []
    one, two = before.picks[2], before.picks[1]
    assert [pick.fingerprint for pick in after.picks if pick.pinned] == [one.fingerprint]
    assert after.options.swapped == (two.fingerprint,)
    assert two.fingerprint in {pick.fingerprint for pick in after.picks}
    assert after.rest is not None
    assert after.rest.silence_s == 90.0
    assert after.rest.bells_s == (after.rest.end_s,)


def test_where_only_the_hour_changed_a_pin_stays_to_the_hundredth_of_a_second() -> None:
    before = decided()
    after = again(week().text.replace("18:30", "7:15"), before)
    assert [(p.fingerprint, round(p.class_start_s, 2)) for p in after.picks] == [
        (p.fingerprint, round(p.class_start_s, 2)) for p in before.picks
    ]


def test_a_promise_that_cannot_be_kept_is_named_with_the_reason(monkeypatch: pytest.MonkeyPatch) -> None:
    it, before = week(), decided()
    pinned = before.picks[2]
    fewer = [track for track in it.tracks if track.fingerprint != pinned.fingerprint]
    monkeypatch.setattr(it, "tracks", fewer)
    made = it.paired(before, None)
    (said,) = [each for each in made.findings if each.code == CODE]
    assert said.where.name == pinned.title
    assert "no longer among your tracks" in said.message
    assert "plays there now" in said.message


@pytest.mark.parametrize(
    ("marks", "left_out", "why"), [({"use": "never"}, (), "said never"), ({}, "pinned", "left it out")]
)
def test_the_reason_is_the_one_that_holds(
    monkeypatch: pytest.MonkeyPatch, marks: dict[str, str], left_out: str, why: str
) -> None:
    it, before = week(), decided()
    pinned = before.picks[2]
    changed = [
        dataclasses.replace(track, marks=marks) if track.fingerprint == pinned.fingerprint else track
        for track in it.tracks
    ]
    monkeypatch.setattr(it, "tracks", changed)
    exclude = (pinned.track_id,) if left_out else ()
    former = dataclasses.replace(before, options=dataclasses.replace(before.options, exclude=exclude))
    (said,) = [each for each in it.paired(former, None).findings if each.code == CODE]
    assert why in said.message


def test_a_rest_whose_length_the_plan_changed_since_is_told() -> None:
    it = week()
    before = rebuild_rest(it.setlist, it.tracks, minutes=6.0)
    same = again(it.text.replace("18:30", "19:00"), before)
    assert same.rest is not None
    assert same.rest.end_s - same.rest.start_s == pytest.approx(360.0)
    changed = again(it.text.replace("rest, 5 minutes", "rest, 4 minutes"), before)
    assert any("You had made it 6 minutes" in each.message for each in changed.findings)


def test_what_was_left_out_stays_out() -> None:
    it = week()
    out = it.setlist.picks[1]
    options = dataclasses.replace(it.setlist.options, exclude=(out.track_id,))
    without = dataclasses.replace(it.setlist, options=options)
    table = invented_music.timetable()
    made = pair(invented_music.plan(), table, invented_music.arc(table), it.tracks, it.setlist.options, keep=without)
    assert out.fingerprint not in {pick.fingerprint for pick in made.picks}
    assert made.options.exclude == (out.track_id,)


def test_through_random_edits_every_promise_is_kept_or_named() -> None:
    it, done = Week(seed=3), Counter[str]()
    for _ in range(14):  # tests/benchmarks/promises.py takes a thousand
        done[it.step().partition(":")[0]] += 1
    assert it.lost == []
    assert it.kept > 0


def test_pairing_again_over_a_set_keeps_what_was_decided_in_it(tmp_path: Path) -> None:
    library, plan, out = tmp_path / "library.sqlite", tmp_path / "tide.md", tmp_path / "tide.json"
    plan.write_text(week().text)
    with Library.open_or_create(library) as known:
        for track in week().tracks:
            known.store(Found(tmp_path / f"{track.id}.wav", 1, 1), track.fingerprint, track.tags, track.analysis)
    first = sets.pair_plan(plan, out, library, PairOptions())
    content = out.read_bytes()
    sets.pair_plan(plan, out, library, PairOptions())
    assert out.read_bytes() == content, "where nothing was decided by hand the same input gives the same bytes"
    pinned = sets.pin(first, 2, True, out).setlist.picks[1]
    plan.write_text(week().text.replace("slot: 26", "slot: 31"))
    again = sets.pair_plan(plan, out, library, PairOptions())
    assert [pick.fingerprint for pick in again.setlist.picks if pick.pinned] == [pinned.fingerprint]
    plan.with_name("other.md").write_text(week().text)
    other = sets.pair_plan(plan.with_name("other.md"), out, library, PairOptions())
    assert not any(pick.pinned for pick in other.setlist.picks), "another class takes over nothing"
