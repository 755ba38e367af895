"""From whole seconds to exact ones: small classes whose hand-overs, tails and fades are worked out by hand."""

import dataclasses
from typing import Any

import invented_music
import numpy as np
import pytest
from test_alignment_by_hand import a_frame, with_cuts

from audio.track import Track
from pairing.alignment import refine as module
from pairing.alignment.frame import Frame
from pairing.alignment.refine import Exact, ExactPick, refine
from pairing.alignment.task import Task
from pairing.model import Rule
from pairing.solve.problem import Chosen

# The class: opening to 100 s, warm-up to 300.5, flow to 600.5, peak to 750.5, cool-down to 870.75, rest to 1050.75.
# It begins 7.5 s after the music, grid second 8 is class second 0; silent from 400.5 to 425 and in its last 30.5 s.


def whole_frame(**changes: Any) -> Frame:
    made = dataclasses.replace(a_frame(), silent=(), arc=np.full(1051, 0.5, np.float32))
    return dataclasses.replace(made, **changes)


def exact(frame: Frame, tracks: list[Track], *chosen: Chosen, known: dict[int, Exact] | None = None) -> list[ExactPick]:
    task = Task(None, frame, tuple(tracks), None, None)  # type: ignore[arg-type]
    return list(refine(task, chosen, known))


def lasting(*cuts: float, duration_s: float = 400.0, **known: object) -> Track:
    """A track that begins at once and ends by itself, with phrases between."""
    made = with_cuts(duration_s, (0.0, 0.0, 1.0), *((at, 0.2, 0.2) for at in cuts), (duration_s, 1.0, 0.0))
    return dataclasses.replace(made, analysis=made.analysis.but(**known))


PLAIN = {"tempo_bpm": None, "tempo_confidence": 0.0}


@pytest.mark.parametrize(
    ("phrase", "at"),
    [(200.0, 192.5), (200.4, 192.9), (199.6, 192.1), (203.0, 192.5), (200.5, 193.0)],
)
def test_a_hand_over_waits_for_the_phrase_of_the_track_that_goes(phrase: float, at: float) -> None:
    """It begins at -7.5 and is left near its second 200: 192.5 s later in the class; the grid says 192."""
    one, two = lasting(phrase, **PLAIN), lasting(**PLAIN)
    first, second = exact(whole_frame(), [one, two], Chosen(0, 0, 200, 0), Chosen(1, 200, 500, 0))
    assert (first.class_start_s, first.track_start_s) == (-7.5, 0.0)
    assert second.class_start_s == pytest.approx(at)
    assert first.class_end_s - second.class_start_s == second.fade_in_s == first.fade_out_s == 6.0  # of a warm-up


def test_without_a_phrase_it_waits_for_the_beat_if_that_is_clear() -> None:
    for confidence, at in ((0.5, 192.0 - 0.1), (0.49, 192.5)):
        one = lasting(tempo_bpm=60.0, tempo_confidence=confidence, beats_s=np.arange(0.4, 400, 1.0))
        made = exact(whole_frame(), [one, lasting(**PLAIN)], Chosen(0, 0, 200, 0), Chosen(1, 200, 500, 0))
        assert made[1].class_start_s == pytest.approx(at)


@pytest.mark.parametrize(("lasts_s", "tail_s"), [(400.0, 6.0), (204.0, 4.0), (201.2, 1.2), (200.9, 0.0)])
def test_a_track_sounds_on_for_as_long_as_the_section_asks_and_it_has_music(lasts_s: float, tail_s: float) -> None:
    one = lasting(duration_s=lasts_s, **PLAIN)
    first, second = exact(whole_frame(), [one, lasting(**PLAIN)], Chosen(0, 0, 200, 0), Chosen(1, 200, 500, 0))
    assert first.class_end_s == pytest.approx(second.class_start_s + tail_s)
    assert second.fade_in_s == tail_s
    assert first.fade_out_s == tail_s  # at its own end it needs no fade


def test_an_overlap_is_at_most_half_of_what_is_played_on_either_side() -> None:
    short = exact(whole_frame(), [lasting(**PLAIN)] * 3, Chosen(0, 0, 8, 0), Chosen(1, 8, 300, 0))
    assert short[0].class_end_s - short[1].class_start_s == pytest.approx((short[1].class_start_s + 7.5) / 2)
    short = exact(
        whole_frame(), [lasting(**PLAIN)] * 3, Chosen(0, 0, 200, 0), Chosen(1, 200, 206, 0), Chosen(2, 206, 500, 0)
    )
    lasted_s = short[2].class_start_s - short[1].class_start_s
    assert short[0].class_end_s - short[1].class_start_s == pytest.approx(lasted_s / 2)


def test_the_rest_begins_to_the_second_and_the_track_before_has_gone_four_seconds_later() -> None:
    made = exact(
        whole_frame(), [lasting(250.0, **PLAIN), lasting(**PLAIN)], Chosen(0, 629, 879, 0), Chosen(1, 879, 1059, 0)
    )
    assert made[1].class_start_s == 870.75
    assert made[0].class_end_s == pytest.approx(870.75 + 4.0)
    assert (made[1].class_end_s, made[1].fade_out_s) == (1050.75, 20.0)


def test_after_the_rest_the_music_comes_back_softly_and_before_it_nothing_is_left() -> None:
    made = exact(whole_frame(), [lasting(**PLAIN)] * 2, Chosen(0, 879, 1059, 0), Chosen(1, 1059, 1079, 5))
    assert (made[0].class_end_s, made[0].fade_out_s) == (1050.75, 20.0)
    assert (made[1].class_start_s, made[1].fade_in_s) == (1050.75, 8.0)
    assert made[1].class_end_s == 1070.75
    assert made[1].fade_out_s == 10.0  # 20 s, but half of what there is


def test_into_a_silence_music_fades_and_out_of_it_it_comes_in() -> None:
    frame = a_frame()
    tracks = [lasting(**PLAIN), lasting(**PLAIN), lasting(duration_s=208.3, **PLAIN)]
    made = exact(frame, tracks, Chosen(0, 208, 408, 30), Chosen(1, 433, 633, 30))
    assert made[0].class_end_s == 400.5
    assert made[0].fade_out_s == 8.0
    assert made[1].class_start_s == 425.0
    assert made[1].fade_in_s == 3.0
    at_its_start = exact(frame, tracks, Chosen(0, 208, 408, 30), Chosen(1, 433, 633, 0))
    assert at_its_start[1].fade_in_s == 0.0, "it begins by itself"
    ends_itself = exact(frame, tracks, Chosen(2, 200, 408, 0))
    assert ends_itself[0].fade_out_s == 0.0


def test_where_people_sit_still_music_comes_in_softly_even_at_its_start() -> None:
    frame = dataclasses.replace(whole_frame(), silent=((10.0, 20.0),))
    made = exact(frame, [lasting(**PLAIN)], Chosen(0, 28, 228, 0))
    assert made[0].fade_in_s == 3.0


def test_a_change_inside_the_rest_gets_a_long_cross_fade() -> None:
    one, two = lasting(duration_s=103.0, **PLAIN), lasting(**PLAIN)
    made = exact(whole_frame(), [one, two], Chosen(0, 879, 979, 0), Chosen(1, 979, 1059, 0))
    assert made[0].class_end_s - made[1].class_start_s == pytest.approx(12.0)
    assert made[1].class_start_s == pytest.approx(870.75 + 103.0 - 12.0)


def test_what_is_known_exactly_stays() -> None:
    made = exact(
        whole_frame(),
        [lasting(**PLAIN)] * 2,
        Chosen(0, 0, 200, 0),
        Chosen(1, 200, 500, 10),
        known={200: Exact(192.3, 1, 10.7)},
    )
    assert (made[1].class_start_s, made[1].track_start_s) == (192.3, 10.7)
    far = exact(whole_frame(), [lasting(**PLAIN)], Chosen(0, 0, 200, 10), known={0: Exact(-7.5, 0, 12.0)})
    assert far[0].track_start_s == 10.0
    other = exact(whole_frame(), [lasting(**PLAIN)] * 2, Chosen(0, 0, 200, 10), known={0: Exact(-7.5, 1, 10.5)})
    assert other[0].track_start_s == 10.0


@pytest.mark.parametrize(("enter", "starts_s", "enters_s"), [(202, -7.5, 199.5), (200, -7.5, 199.5)])
def test_a_track_too_short_for_its_place_is_entered_earlier(enter: int, starts_s: float, enters_s: float) -> None:
    """Its music lasts 400 s; it has to sound for 200.5 s."""
    made = exact(
        whole_frame(),
        [lasting(**PLAIN)] * 2,
        Chosen(0, 0, 201, enter),
        Chosen(1, 201, 500, 0),
        known={201: Exact(193.0, 1)},
    )
    assert (made[0].class_start_s, made[0].track_start_s) == (starts_s, min(enters_s, enter))
    assert made[1].class_start_s == 193.0


def sings(*seconds: int) -> Track:
    voice = np.isin(np.arange(400), seconds).astype(np.float32)
    return lasting(voice=voice, **PLAIN)


@pytest.mark.parametrize(
    ("sung", "tail_s"), [((), 6.0), ((204,), 4.0), ((203, 204), 3.0), ((220,), 6.0), ((150,), 6.0), ((200,), 0.0)]
)
def test_a_voice_has_gone_before_the_stretch_without_one_begins(sung: tuple[int, ...], tail_s: float) -> None:
    """The hand-over lies at 192.5, the track is at its second 200 then; from 193 on the plan wants no voice."""
    rules = (Rule(193.0, 300.5, 1, no_voice=True),)
    made = exact(
        whole_frame(rules=rules),
        [sings(*sung), lasting(**PLAIN)],
        Chosen(0, 0, 200, 0),
        Chosen(1, 200, 500, 0),
        known={200: Exact(192.5, 1)},
    )
    assert made[0].class_end_s - 192.5 == pytest.approx(tail_s)


@pytest.mark.parametrize(("start_s", "end_s", "at"), [(192.2, 300.5, 192.2), (193.5, 300.5, 192.5)])
def test_a_hand_over_to_a_stretch_without_voice_lies_at_its_border(start_s: float, end_s: float, at: float) -> None:
    rules = (Rule(start_s, end_s, 1, no_voice=True),)
    made = exact(whole_frame(rules=rules), [sings(100), lasting(**PLAIN)], Chosen(0, 0, 200, 0), Chosen(1, 200, 500, 0))
    assert made[1].class_start_s == pytest.approx(at)
    back = (Rule(100.0, 192.8, 1, no_voice=True),)
    made = exact(whole_frame(rules=back), [lasting(**PLAIN), sings(9)], Chosen(0, 0, 200, 0), Chosen(1, 200, 500, 0))
    assert made[1].class_start_s == pytest.approx(192.8)


def test_stretches_without_voice_that_touch_are_one() -> None:
    rules = (Rule(0, 10, 0, True), Rule(10, 20, 0, True), Rule(20, 30, 0, False), Rule(31, 40, 0, True))
    assert module._voiceless(whole_frame(rules=rules)) == [(0, 20), (31, 40)]


def test_invented_music_is_left_where_its_cuts_are() -> None:
    one = invented_music.track(1, 0.4, 300.0, tempo_bpm=100.0)
    leave = next(cut.at_s for cut in one.analysis.curves.cut_points if 100 < cut.at_s < 200)
    made = exact(whole_frame(), [one, lasting(**PLAIN)], Chosen(0, 0, round(leave), 0), Chosen(1, round(leave), 500, 0))
    assert made[1].class_start_s == pytest.approx(leave - 7.5 - made[0].track_start_s)


# ---- a change inside the rest ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("second_lasts_s", "at", "overlap_s"),
    [(400.0, 961.75, 12.0), (85.2, 965.55, 8.2), (80.0, 970.75, 3.0)],
)
def test_a_cross_fade_in_the_rest_is_no_longer_than_the_next_track_allows(
    second_lasts_s: float, at: float, overlap_s: float
) -> None:
    """The first lasts 103 s and is left after 100, at 970.75; the next sounds for 80 s then, to the end of the rest."""
    tracks = [lasting(duration_s=103.0, **PLAIN), lasting(duration_s=second_lasts_s, **PLAIN)]
    made = exact(whole_frame(), tracks, Chosen(0, 879, 979, 0), Chosen(1, 979, 1059, 0))
    assert made[1].class_start_s == pytest.approx(at)
    assert made[0].class_end_s - made[1].class_start_s == pytest.approx(overlap_s)


def test_a_track_between_two_changes_keeps_enough_for_the_second() -> None:
    """It lasts 57 s and sounds for 40: 5 s earlier, 12 s are left for its own cross-fade."""
    tracks = [lasting(duration_s=103.0, **PLAIN), lasting(duration_s=57.0, **PLAIN), lasting(**PLAIN)]
    made = exact(whole_frame(), tracks, Chosen(0, 879, 979, 0), Chosen(1, 979, 1019, 0), Chosen(2, 1019, 1059, 0))
    assert [one.class_start_s for one in made] == pytest.approx([870.75, 965.75, 1010.75])
    assert made[1].class_end_s - made[2].class_start_s == pytest.approx(12.0)


def test_it_takes_at_most_half_of_the_track_before() -> None:
    tracks = [lasting(duration_s=21.0, **PLAIN), lasting(**PLAIN)]
    made = exact(whole_frame(), tracks, Chosen(0, 959, 979, 0), Chosen(1, 979, 1059, 0))
    assert [one.class_start_s for one in made] == [951.0, 961.0]


@pytest.mark.parametrize(
    ("second", "known_s", "at"),
    [
        (880, 871.7, 871.7),
        (880, 871.75, 871.75),
        (880, 871.8, 863.0),
        (1058, 1049.7, 1041.0),
        (1058, 1049.75, 1049.75),
        (1058, 1049.8, 1049.8),
    ],
)
def test_a_change_within_a_second_of_the_ends_of_the_rest_is_none_inside(
    second: int, known_s: float, at: float
) -> None:
    """The rest lasts from 870.75 to 1050.75."""
    tracks = [lasting(duration_s=103.0, **PLAIN), lasting(**PLAIN)]
    chosen = [Chosen(0, second - 100, second, 0), Chosen(1, second, 1079, 0)]
    made = exact(whole_frame(), tracks, *chosen, known={second: Exact(known_s, 1)})
    assert made[1].class_start_s == pytest.approx(at)


# ---- limits ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("beat_s", "at"), [(196.8, 190.5), (198.7, 191.2), (200.9, 193.4), (203.2, 193.5)])
def test_a_hand_over_moves_at_most_a_second_and_a_half_to_meet_a_beat(beat_s: float, at: float) -> None:
    """The grid says 192; the only beat near lies at this second of the track, which is at 200 there."""
    one = lasting(tempo_bpm=60.0, tempo_confidence=0.9, beats_s=np.array([20.0, beat_s, 380.0]))
    made = exact(whole_frame(), [one, lasting(**PLAIN)], Chosen(0, 0, 200, 0), Chosen(1, 200, 500, 0))
    assert made[1].class_start_s == pytest.approx(at)


@pytest.mark.parametrize(("start_s", "at"), [(191.0, 191.0), (190.9, 192.5), (193.0, 192.5)])
def test_a_border_counts_up_to_a_second_from_the_hand_over(start_s: float, at: float) -> None:
    rules = (Rule(start_s, 300.5, 1, no_voice=True),)
    made = exact(whole_frame(rules=rules), [sings(100), lasting(**PLAIN)], Chosen(0, 0, 200, 0), Chosen(1, 200, 500, 0))
    assert made[1].class_start_s == pytest.approx(at)


@pytest.mark.parametrize(("end_s", "at"), [(193.0, 193.0), (193.1, 192.5), (191.0, 192.5)])
def test_and_so_where_voices_are_welcome_again(end_s: float, at: float) -> None:
    rules = (Rule(100.0, end_s, 1, no_voice=True),)
    made = exact(whole_frame(rules=rules), [lasting(**PLAIN), sings(9)], Chosen(0, 0, 200, 0), Chosen(1, 200, 500, 0))
    assert made[1].class_start_s == pytest.approx(at)


@pytest.mark.parametrize(("word", "sung", "tail_s"), [("yes", (), 2.5), ("no", (203, 204), 6.0), ("no", (), 6.0)])
def test_the_teachers_word_on_a_voice_counts_for_the_whole_track(
    word: str, sung: tuple[int, ...], tail_s: float
) -> None:
    rules = (Rule(195.0, 300.5, 1, no_voice=True),)
    one = dataclasses.replace(sings(*sung), marks={"voice": word})
    known = {200: Exact(192.5, 1)}
    chosen = [Chosen(0, 0, 200, 0), Chosen(1, 200, 500, 0)]
    made = exact(whole_frame(rules=rules), [one, lasting(**PLAIN)], *chosen, known=known)
    assert made[0].class_end_s - 192.5 == pytest.approx(tail_s)


@pytest.mark.parametrize(
    ("lasts_s", "starts_s", "fade_s"), [(209.6, 192.0, 8.0), (209.5, 192.0, 0.0), (208.3, 192.2, 0.0)]
)
def test_what_ends_within_a_second_needs_no_fade(lasts_s: float, starts_s: float, fade_s: float) -> None:
    """It sounds for 208.5 s up to the silence; where it has less, it begins later."""
    (made,) = exact(a_frame(), [lasting(duration_s=lasts_s, **PLAIN)], Chosen(0, 200, 408, 0))
    assert (made.class_start_s, made.track_start_s, made.class_end_s) == (starts_s, 0.0, 400.5)
    assert made.fade_out_s == fade_s


def test_a_tail_of_a_second_is_one_and_a_short_return_fades_in_over_its_half() -> None:
    one = lasting(duration_s=201.0, **PLAIN)
    made = exact(whole_frame(), [one, lasting(**PLAIN)], Chosen(0, 0, 200, 0), Chosen(1, 200, 500, 0))
    assert made[1].fade_in_s == 1.0
    made = exact(whole_frame(), [lasting(**PLAIN)] * 2, Chosen(0, 1059, 1069, 5), Chosen(1, 1069, 1079, 5))
    assert made[0].fade_in_s == pytest.approx((made[1].class_start_s - 1050.75) / 2)
