"""After a small change only what changed is said, and all of it."""

from dataclasses import replace
from pathlib import Path

from show_class import FINDINGS

from pairing.model import Finding, Rest, Where
from pairing.show.changetext import change_text

PATH = Path("harbour.json")


def _with(setlist, n, **values):
    picks = tuple(replace(pick, **values) if pick.n == n else pick for pick in setlist.picks)
    return replace(setlist, picks=picks)


def test_a_swapped_track_is_named_with_the_one_it_replaces_and_no_other(setlist):
    after = _with(setlist, 3, fingerprint="new", title="Blue flint", why="calm")
    text = change_text(setlist, after, PATH)
    assert "Blue flint" in text and "instead of Copper morning" in " ".join(text.split())
    assert not [pick.title for pick in setlist.picks if pick.n != 3 and pick.title in text]
    assert "arcbed swap harbour.json --undo" in text


def test_neighbours_that_moved_are_named_with_both_times(setlist):
    pick = setlist.picks[4]
    text = change_text(setlist, _with(setlist, 5, class_start_s=pick.class_start_s + 7), PATH)
    assert text.startswith(pick.title)
    assert "it was" in text
    assert len(text.split("\n\n")[0].split("\n")) <= 2


def test_a_pin_is_one_line_and_a_second_one_none(setlist):
    pinned = _with(setlist, 2, pinned=True)
    assert change_text(setlist, pinned, PATH).split("\n")[0].endswith("stays whatever changes.")
    assert change_text(pinned, pinned, PATH) == "Nothing changed: it was so already."
    undone = change_text(pinned, setlist, PATH, undone="pinning track 2")
    assert undone.split("\n")[0] == "Undone: pinning track 2."
    assert "may be changed again" in undone and "--undo" not in undone


def test_the_rest_and_the_length_of_the_class_are_said_where_they_change(setlist):
    rest = Rest(setlist.rest.start_s, setlist.rest.end_s + 60, (), 120.0)
    after = replace(setlist, rest=rest, class_s=setlist.class_s + 60)
    text = change_text(setlist, after, PATH)
    assert "The rest: 8 minutes, no bell, the last 2 minutes silent." in text
    assert "The class takes 61 minutes now; it was 60 minutes." in text


def test_what_is_found_and_what_is_mended_is_said_and_what_stays_is_not(setlist):
    new = Finding("should", "gap", Where(tracks=(2,)), "There is a gap.")
    after = replace(_with(setlist, 2, pinned=True), findings=(FINDINGS[0], new))
    text = change_text(setlist, after, PATH)
    assert "Slow water: There is a gap." in text
    assert "Mended:\n  In Crest: the liveliest track reaches" in text
    assert FINDINGS[0].message not in text
