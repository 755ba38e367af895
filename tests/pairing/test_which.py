"""A track named by its number or by words of its title."""

import dataclasses

import pytest
from invented_music import library
from show_class import a_class, a_set, an_arc

from audio.errors import ArcbedError
from audio.track import Tags
from pairing.commands.which import which, which_pick
from pairing.workflow.music import fitting

TITLES = ("Low Tide", "Low Tide", "Low Lanterns", "Slack Water", "Tide", "12")
TRACKS = tuple(
    dataclasses.replace(track, tags=Tags(title, f"Player {track.id}", "Harbour"))
    for track, title in zip(library(len(TITLES)), TITLES, strict=True)
)


@pytest.mark.parametrize(
    ("words", "ids"),
    [
        ("4", [4]), ("slack", [4]), ("WATER slack", [4]), ("tide", [5]), ("low", [1, 2, 3]), ("low tide", [1, 2]),
        ("low tide player 2", [2]), ("lanterns harbour", [3]), ("12", [6]), ("13", []), ("  ", []), ("nothing", []),
    ],
)  # fmt: skip
def test_a_number_then_the_whole_title_then_its_words(words: str, ids: list[int]) -> None:
    assert [track.id for track in fitting(TRACKS, words)] == ids


def test_where_two_fit_and_nobody_can_be_asked_both_are_named() -> None:
    with pytest.raises(ArcbedError, match=r'(?s)2 tracks fit "low tide".*1  Low Tide, Player 1.*2  Low Tide, Player 2'):
        which("low tide", TRACKS)
    with pytest.raises(ArcbedError, match='none of your tracks fits "reef"'):
        which("reef", TRACKS)


def test_where_two_fit_a_person_is_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin.isatty", lambda: True)
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    monkeypatch.setattr("typer.prompt", lambda *_, **__: "2")
    assert which("low tide", TRACKS).id == 2


def test_a_track_of_the_class_goes_by_its_number_its_title_or_words_of_it() -> None:
    timetable = a_class()
    setlist = a_set(timetable, an_arc(timetable))
    assert [which_pick(words, setlist) for words in ("4", "kiln", "salt ROAD", "copper", "99")] == [4, 6, 4, 3, 99]
    with pytest.raises(ArcbedError, match=r'(?s)several tracks of this class fit "quay".*1 "Lanterns.*2 "Slow'):
        which_pick("quay", setlist)
    with pytest.raises(ArcbedError, match='no track of this class fits "reef"'):
        which_pick("reef", setlist)
