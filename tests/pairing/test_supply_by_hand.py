"""Whether there is music enough, and what is said where there isn't, by sums that are done by hand; songs by their title."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from test_alignment_by_hand import a_frame, with_cuts

from audio.track import Tags, Track
from pairing.alignment import songs, supply
from pairing.alignment.frame import Frame
from pairing.alignment.options import PinWish
from pairing.alignment.task import Task
from pairing.errors import NotEnoughMusic
from pairing.model import Finding, Rule, Song
from pairing.solve import arrays
from pairing.solve.problem import Pin
from pairing.solve.stage import Infeasible

# The class: Arrive to 100, Salutes to 300.5, Tide to 600.5, Crest to 750.5, Ebb to 870.75, Float (the rest) to 1050.75 s.
SILENCE = ((100.0, 110.0),)


def a_task(
    lengths: Sequence[int],
    *,
    banned: Sequence[int] = (),
    silent: tuple[tuple[float, float], ...] = (),
    rules: tuple[Rule, ...] = (),
    pins: tuple[Pin, ...] = (),
    repeats: bool = False,
) -> Task:
    """Tracks that are cut at every eighth second and heard for 30 s at least; some may not play from 500 s on."""
    frame = replace(a_frame(before_s=0.0, after_s=0.0), silent=silent, arc=np.full(1051, 0.5, np.float32), rules=rules)
    target = np.full(1051, 0.5)
    for start, end in silent:
        target[round(start) : round(end)] = np.nan
    costs = np.zeros((2, len(lengths)))
    costs[1, list(banned)] = np.inf
    problem = arrays.problem(
        [np.full(length, 0.5) for length in lengths],
        target,
        shortest_s=30,
        zone=np.repeat([0, 1], [500, 551]),
        zone_cost=costs,
        pins=pins,
        allow_repeats=repeats,
    )
    tracks = tuple(replace(with_cuts(float(length)), id=n) for n, length in enumerate(lengths))
    return Task(problem, frame, tracks, None, np.array(lengths, float))  # type: ignore[arg-type]


def refused(task: Task) -> str:
    """The words of the refusal; none where there is enough."""
    try:
        supply.require(task)
    except NotEnoughMusic as error:
        return error.message
    return ""


@pytest.mark.parametrize(
    ("lengths", "said"),
    [
        ([600, 400, 100], ""),
        ([600, 400, 56], ""),  # 1,056 s for 1,051
        ([600, 400, 50], "you have 18 minutes (3 tracks): 1 second too little."),
        (
            [600, 400, 55],  # of the last 48 s can be heard
            "you have 18 minutes (3 tracks), of which 17 minutes can be heard beside cross-fades and the borders of"
            " the class: 3 seconds too little.",
        ),
        (
            [600, 400, 29, 29],
            "you have 18 minutes (4 tracks), of which 17 minutes can be heard beside cross-fades, tracks too short to be"
            " played and the borders of the class: 51 seconds too little.",
        ),
        (
            [1000, 180],  # 871 s up to the rest are all that one track can play
            "you have 20 minutes (2 tracks), of which 17 minutes can be heard beside cross-fades and the borders of the"
            " class: 4 seconds too little.",
        ),
        ([1000, 184], ""),
    ],
)
def test_all_tracks_together_must_last_as_long_as_the_class(lengths: list[int], said: str) -> None:
    assert refused(a_task(lengths)) == (said and f"the class needs 18 minutes of music; {said}")
    assert refused(a_task(lengths, repeats=True)) == ""


@pytest.mark.parametrize(
    ("lengths", "banned", "said"),
    [
        ([552, 800], [1], ""),
        ([500, 800], [1], "Tide (flow) needs 9.2 minutes of music; you have 8.3 minutes (1 track): 51 seconds too little."),
        ([500, 800], [0, 1], "Tide (flow) needs 9.2 minutes of music; you have none that may play there."),
        ([600, 304], [1], "the class needs 18 minutes of music; you have 15 minutes (2 tracks): 2.5 minutes too little."),
        ([240, 304, 600], [2], "Tide (flow) needs 9.2 minutes of music; you have 9.1 minutes (2 tracks): 7 seconds too little."),
    ],
)  # fmt: skip
def test_so_must_those_that_may_play_in_a_part_of_it(lengths: list[int], banned: list[int], said: str) -> None:
    assert refused(a_task(lengths, banned=banned)) == said


@pytest.mark.parametrize(("end", "enough"), [(3, True), (2, False), (None, True), (1, False)])
def test_what_a_pin_covers_needs_no_other_music(end: int | None, enough: bool) -> None:
    """3 seconds are missing; a pin without an end covers the whole of its track."""
    task = a_task([600, 400, 55], pins=(Pin(0, 0, end),))
    assert (refused(task) == "") is enough
    seconds = np.arange(0, 1051, 2)
    assert supply._pinned_seconds(task, seconds) == (300 if end is None else (end + 1) // 2)


def test_a_part_that_is_pinned_throughout_asks_for_nothing() -> None:
    pinned = (Pin(1, 500, 1051),)
    assert refused(a_task([600, 800], banned=[0, 1], pins=pinned)) == ""
    assert refused(a_task([600, 800], banned=[0, 1], pins=(Pin(1, 500, 1050),))) != ""
    assert refused(a_task([30], pins=(Pin(0, 0, 1051),))) == ""


@pytest.mark.parametrize(
    ("lengths", "silent", "repeats", "said"),
    [
        ([2000], (), False, "2 tracks, one up to the rest or the silence in it, and one from there on; you have 1 track."),
        ([2000], (), True, ""),
        ([2000] * 2, SILENCE, False, "3 tracks, since the music starts again 2 times in it, at the rest and after each silence; you have 2 tracks."),
        ([2000] * 2, SILENCE, True, ""),
        ([2000] * 3, SILENCE, False, ""),
        ([2000], SILENCE, True, ""),
    ],
)  # fmt: skip
def test_each_piece_of_music_needs_a_track(
    lengths: list[int], silent: tuple[tuple[float, float], ...], repeats: bool, said: str
) -> None:
    words = refused(a_task(lengths, silent=silent, repeats=repeats))
    assert words == (said and f"the class needs at least {said}")


def test_what_can_be_heard_of_a_track_at_most() -> None:
    assert supply._longest(a_task([600, 55, 31, 29, 4, 1000])).tolist() == [600, 48, 0, 0, 0, 871]
    assert supply._shortest(a_task([600])) == 30


RULES = (
    Rule(0.0, 200.0, 0),
    Rule(200.0, 500.0, 1, no_voice=True),
    Rule(500.0, 800.0, 2, folder="yin", beat_bpm=(60.0, 72.5)),
    Rule(870.75, 1050.75, 5, no_voice=True, folder="calm"),
)


@pytest.mark.parametrize(
    ("second", "where", "which"),
    [
        (0, "Arrive (opening)", ""),
        (199, "Salutes (warm-up)", ""),
        (200, "Salutes (warm-up)", " without voice"),
        (499, "Tide (flow)", " without voice"),
        (500, "Tide (flow)", ' from the folder "yin", at 60 to 72.5 beats a minute'),
        (599, "Tide (flow)", ' from the folder "yin", at 60 to 72.5 beats a minute'),
        (
            600,
            "Crest (peak)",
            ' from the folder "yin", at 60 to 72.5 beats a minute',
        ),  # its middle, 600.5, is the border
        (850, "Ebb (cool-down)", ""),
        (900, "Float (rest)", ' without voice, fit for a rest, from the folder "calm"'),
    ],
)
def test_a_second_is_told_by_its_section_and_what_is_asked_there(second: int, where: str, which: str) -> None:
    assert supply._words(a_task([600], rules=RULES), second) == (where, which)


def test_places_are_the_sections_in_which_stretches_begin() -> None:
    task = a_task([600], rules=RULES)
    runs = [0, 1, 2, 250, 251, 300, 301, 620, 800, 900]
    assert supply._places(task, np.array(runs[:3])) == ("Arrive (opening)", "")
    assert supply._places(task, np.array(runs[3:5])) == ("Salutes (warm-up)", " without voice")
    assert supply._places(task, np.array(runs[3:7])) == ("Salutes (warm-up) and Tide (flow)", " without voice")
    assert supply._places(task, np.array(runs[:5])) == (
        "Arrive (opening) and Salutes (warm-up)",
        " of the kinds they ask for",
    )
    assert supply._places(task, np.array(runs[:7]))[0] == "Arrive (opening), Salutes (warm-up) and Tide (flow)"
    assert supply._places(task, np.array(runs)) == (
        "Arrive (opening), Salutes (warm-up), Tide (flow) and 3 more",
        " of the kinds they ask for",
    )


@pytest.mark.parametrize(
    ("why", "second", "said"),
    [
        ("no track", 250, "no track may play in Salutes (warm-up) at 4:10, where music without voice is asked for."),
        ("no track", 50, "no track may play in Arrive (opening) at 0:50."),
        ("no cut", 250, "no track can be cut so that it plays in Salutes (warm-up) at 4:10."),
        ("pin", 50, "what is pinned in Arrive (opening) at 0:50 leaves no room for the rest of the class."),
        ("order", 50, "no order of tracks gets past 0:50 in Arrive (opening)."),
    ],
)
def test_where_the_solver_gets_stuck_is_told(why: str, second: int, said: str) -> None:
    assert supply._refusal(a_task([600], rules=RULES), Infeasible(second, 0, why)).message == said


def test_what_was_not_found_is_not_called_impossible() -> None:
    lacks = Infeasible(0, 0, "not found", tuple(range(40)))
    once = supply._refusal(a_task([600, 700]), lacks)
    assert once.message == (
        "no way was found to fill the 18 minutes of the class with your 22 minutes of music (2 tracks), each track heard"
        " once. The nearest try left 40 seconds of Arrive (opening) without music."
    )
    assert once.remedy == "A few more tracks that may play there will do, or a shorter part, or let tracks repeat."
    again = supply._refusal(a_task([600, 700], repeats=True), lacks)
    assert "heard once" not in again.message
    assert (again.remedy, again.command) == ("A few more tracks that may play there will do, or a shorter part.", None)


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0.4, "0 seconds"), (0.6, "1 second"), (1.4, "1 second"), (2, "2 seconds"), (89, "89 seconds"), (90, "1.5 minutes"),
     (599, "10.0 minutes"), (600, "10 minutes"), (3600, "60 minutes")],
)  # fmt: skip
def test_minutes_in_words(seconds: float, words: str) -> None:
    assert supply._minutes(seconds) == words


# ---- songs -------------------------------------------------------------------------------------------------------


def titled(number: int, title: str, artist: str = "Nobody", *, from_s: float = 0.0, to_s: float = 200.0) -> Track:
    made = with_cuts(to_s + 1.0, (from_s, 0.0, 1.0), (to_s, 1.0, 0.0))
    return replace(made, id=number, tags=Tags(title, artist))


@pytest.mark.parametrize(
    ("asked", "found"),
    [("Tide", 1), ("TIDE!", 1), ("tidé", 1), ("tides", 2), ("Low Tides", 2), ("harbour tide", 4), ("ebb", None), ("Lantern", 3),
     ("", None), ("?", None), ("nobody", None), ("Harbour", 4)],
)  # fmt: skip
def test_a_song_is_found_by_its_title_or_by_what_only_one_holds(asked: str, found: int | None) -> None:
    """Two hold "ebb", three are by Nobody."""
    tracks = [
        titled(1, "Tide"),
        titled(2, "Low tides, ebb"),
        titled(3, "Lanterns"),
        titled(4, "Tide", "Harbour"),
        titled(5, "Web bee"),
    ]
    made = songs.find_title(asked, tracks)
    assert (made.id if made else None) == found


def pinned(frame: Frame, track: Track, *at_s: float) -> list[PinWish | Finding]:
    asked = tuple(Song(at, track.title, line) for line, at in enumerate(at_s, 1))
    return list(songs.pins(replace(frame, songs=asked[::-1]), [track], "a.md"))


@pytest.mark.parametrize(
    ("at_s", "plays_s", "end_s", "cut_s"),
    [
        (100.0, 200.0, 295.0, None),  # the last five seconds lie under what follows
        (100.0, 288.5, 383.5, None),  # the silence begins at 400.5
        (100.0, 289.0, 389.0, None),  # nearer than 12 s to it a song goes on to its end
        (100.0, 300.5, 400.5, None),
        (100.0, 301.0, 400.5, None),
        (100.0, 301.6, 400.5, 1),
        (100.0, 350.0, 400.5, 50),
        (500.0, 400.0, 870.75, 29),  # the rest
        (900.0, 150.0, 1020.25, 30),  # its silence
        (1060.0, 100.0, 1070.75, 89),  # the end
    ],
)
def test_a_song_is_heard_whole_where_there_is_time(
    at_s: float, plays_s: float, end_s: float, cut_s: int | None
) -> None:
    track = titled(7, "Tide", from_s=2.0, to_s=2.0 + plays_s)
    *said, pin = pinned(a_frame(), track, at_s)
    assert pin == PinWish(7, at_s, pytest.approx(end_s), 2.0)
    assert [one.message for one in said] == (  # type: ignore[union-attr]
        [f'"Tide" can\'t be heard whole: it lasts {cut_s} s longer than there is time.'] if cut_s else []
    )


def test_the_next_song_ends_the_one_before_it() -> None:
    made = pinned(a_frame(), titled(7, "Tide", to_s=200.0), 100.0, 250.0)
    assert [each.end_s for each in made if isinstance(each, PinWish)] == [250.0, 400.5]
    assert [each.code for each in made if isinstance(each, Finding)] == ["song-cut", "song-cut"]


def test_without_silence_a_song_in_the_rest_ends_with_it() -> None:
    whole = replace(a_frame(), silent=(), arc=np.full(1051, 0.5, np.float32))
    assert pinned(whole, titled(7, "Tide", to_s=400.0), 900.0)[-1].end_s == 1050.75  # type: ignore[union-attr]


def test_a_song_that_is_not_there_is_named_with_its_line() -> None:
    frame = replace(a_frame(), songs=(Song(5.0, "Ebb", 3), Song(6.0, "Flood", 0)))
    first, second = songs.pins(frame, [titled(1, "Tide")], "a.md")
    assert isinstance(first, Finding)
    assert isinstance(second, Finding)
    assert (first.code, first.where.file, first.where.line) == ("song-not-found", "a.md", 3)
    assert second.where.name == "Flood"
