"""A set into what the mixer plays, a rest made longer or shorter, and the words on a pick, worked out by hand."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from test_set_checks import a_set, section, track

from audio.render.bell import LENGTH_S
from pairing.errors import SetError
from pairing.model import Kind, Levels, PairOptions, Passage, Rule, SetList, Song
from pairing.sets import levels, mixdown
from pairing.sets.rest import _resized, _stroke

# The set: flow to 600, peak to 840, rest to 1200 s, silent in its last minute; tracks from 0, 300, 600 and 840 on.
BEDS = Levels(bed_lufs=-20.0, opening_lu=-4.0, rest_lu=-8.0)


def made(before_s: float = 10.0, **rest: object) -> SetList:
    setlist = a_set()
    assert setlist.rest is not None
    frame = replace(setlist.frame, before_s=before_s, after_s=30.0)
    return replace(
        setlist, frame=frame, options=PairOptions(levels=BEDS), rest=replace(setlist.rest, bed_lufs=-28.0, **rest)
    )


def knots(setlist: SetList, n: int, *, under_voice: bool = False) -> list[tuple[float, float]]:
    """(class second, dB) of a pick's levels; the mix begins 10 s before the class."""
    span = mixdown._span(setlist, setlist.picks[n - 1], Path("a.flac"), None, under_voice)
    return [(level.at_s - 10.0, level.gain_db) for level in span.levels]


def test_the_mix_begins_with_the_music_before_the_class() -> None:
    setlist = made()
    assert (mixdown.origin_s(setlist), mixdown.duration_s(setlist)) == (-10.0, 1240.0)
    span = mixdown._span(setlist, setlist.picks[1], Path("a.flac"), None, False)
    assert (span.mix_start_s, span.mix_end_s, span.track_start_s) == (310.0, 614.0, 10.0)
    assert (span.fade_in_s, span.fade_out_s, span.beats_s, span.tempo_bpm) == (4.0, 4.0, (), None)
    titles = [(chapter.start_s, chapter.end_s, chapter.title) for chapter in mixdown.chapters(setlist)]
    assert titles == [
        (10.0, 310.0, "Tide: Track 1"),
        (310.0, 610.0, "Tide: Track 2"),
        (610.0, 850.0, "Tide: Track 3"),
        (850.0, 1240.0, "Tide: Track 4"),
    ]


def test_the_first_music_of_the_rest_sinks_to_its_bed() -> None:
    """The peak's bed lies 8 LU above the rest's; 6 of it are let down, in a minute or in a quarter of the pick."""
    assert knots(made(), 4) == [(840.0, 6.0), (900.0, 0.0)]
    assert knots(made(), 2) == [(300.0, 0.0)]
    setlist = made()
    short = replace(setlist, picks=(*setlist.picks[:3], replace(setlist.picks[3], class_end_s=1000.0)))
    assert knots(short, 4) == [(840.0, 6.0), (880.0, 0.0)]
    near = replace(setlist, options=PairOptions(levels=replace(BEDS, bed_lufs=-25.0)))
    assert knots(near, 4)[0] == (840.0, 3.0)
    assert knots(replace(setlist, rest=None), 4) == [(840.0, 0.0)]


def test_under_a_voice_the_music_goes_down_by_ten_and_comes_back() -> None:
    """Talk from 200 to 260 s; 1.5 s to go down and to come back."""
    assert knots(made(), 1, under_voice=True) == [
        (0.0, 0.0),
        (198.5, 0.0),
        (200.0, -10.0),
        (260.0, -10.0),
        (261.5, 0.0),
        (304.0, 0.0),
    ]
    opened = made()
    opened = replace(opened, sections=(replace(opened.sections[0], kind=Kind.OPENING), *opened.sections[1:]))
    assert knots(opened, 1, under_voice=True)[0] == (0.0, -6.0), "an opening lies 4 LU below already"
    assert knots(opened, 2, under_voice=True)[-1] == (604.0, pytest.approx(0.0))
    quiet = replace(made(), frame=replace(made().frame, talk_s=()))
    assert {by for _, by in knots(quiet, 1, under_voice=True)} == {0.0}, "nobody speaks"


@pytest.mark.parametrize(
    ("at_s", "rings_s"), [(0.0, 10.0), (840.0, 850.0), (1200.0, 1210.0), (1230.0, 1240 - LENGTH_S)]
)
def test_a_bell_rings_in_its_second_and_has_died_away_when_the_music_ends(at_s: float, rings_s: float) -> None:
    assert mixdown.bells(made(bells_s=(at_s,))) == ((rings_s, -28.0),)


def test_beats_near_the_ends_of_what_is_played_are_handed_on() -> None:
    setlist = made()
    known = track(2, slice(0, 0))
    beats = np.arange(0.0, 400.0, 0.5)
    for confidence, count in ((0.5, True), (0.49, False)):
        heard = replace(known, analysis=known.analysis.but(beats_s=beats, tempo_bpm=120.0, tempo_confidence=confidence))
        span = mixdown._span(setlist, setlist.picks[1], Path("a.flac"), heard, False)
        expected = [beat for beat in beats if 9.0 <= beat <= 40.0 or 284.0 <= beat <= 315.0] if count else []
        assert list(span.beats_s) == expected
        assert span.tempo_bpm == (120.0 if count else None)


@pytest.mark.parametrize(
    ("start_s", "end_s", "kind"),
    [
        (0, 304, Kind.FLOW),
        (500, 690, Kind.FLOW),
        (500, 710, Kind.PEAK),
        (830, 1140, Kind.REST),
        (-9, -1, Kind.OPENING),
        (1201, 1220, Kind.CLOSING),
    ],
)
def test_a_pick_belongs_to_the_section_that_it_sounds_longest_in(start_s: float, end_s: float, kind: Kind) -> None:
    setlist = made()
    pick = replace(setlist.picks[0], class_start_s=float(start_s), class_end_s=float(end_s))
    assert mixdown._kind(setlist, pick) is kind
    held = kind in (Kind.REST, Kind.OPENING)
    assert mixdown._is_held_down(setlist, pick) is held
    begins = replace(pick, class_start_s=840.0, class_end_s=2000.0)
    assert mixdown._is_held_down(setlist, begins)


# ---- a rest of another length ------------------------------------------------------------------------------------


def with_closing() -> SetList:
    """After the rest a closing of a minute, with a bell, a track and talk of its own."""
    setlist = made(bells_s=(840.0, 1000.0, 1200.0))
    frame = replace(
        setlist.frame,
        talk_s=((200.0, 260.0), (1210.0, 1230.0)),
        songs=(Song(1205.0, "Lanterns", 9),),
        rules=(Rule(840.0, 1200.0, 2, no_voice=True), Rule(1200.0, 1260.0, 3)),
    )
    curve = np.concatenate((setlist.arc, np.full(60, 0.3, np.float32)))
    return replace(
        setlist,
        class_s=1260.0,
        sections=(*setlist.sections, section("Close", Kind.CLOSING, 1200.0, 1260.0)),
        frame=frame,
        arc=curve,
        target_energy=curve.copy(),
        picks=(*setlist.picks, replace(setlist.picks[3], n=5, class_start_s=1200.0, class_end_s=1260.0)),
    )


@pytest.mark.parametrize("length_s", [480.0, 240.0, 361.0])
def test_a_rest_of_another_length_moves_what_follows_and_nothing_before(length_s: float) -> None:
    before, by = with_closing(), length_s - 360.0
    after = _resized(before, length_s)
    end = 840.0 + length_s
    assert (after.class_s, after.rest.start_s, after.rest.end_s) == (1260.0 + by, 840.0, end)  # type: ignore[union-attr]
    assert after.rest.bells_s == (840.0, min(1000.0, end), end)  # type: ignore[union-attr]
    assert [(each.start_s, each.end_s) for each in after.sections] == [
        (0, 600),
        (600, 840),
        (840, end),
        (end, end + 60),
    ]
    assert after.sections[3].passes == (Passage(1, None, end, end + 60),)
    assert [pick.class_start_s for pick in after.picks] == [0.0, 300.0, 600.0, 840.0, end]
    assert [pick.class_end_s for pick in after.picks] == [304.0, 604.0, 850.0, 1140.0, end + 60]
    assert after.frame.silent_s == ((end - 60, end),)
    assert after.frame.talk_s == ((200.0, 260.0), (end + 10, end + 30))
    assert after.frame.held_s == ((860.0, end),)
    assert after.frame.songs[0].at_s == end + 5
    assert [(rule.start_s, rule.end_s) for rule in after.frame.rules] == [(840.0, end), (end, end + 60)]
    for curve in (after.arc, after.target_energy):
        assert len(curve) == 1260 + by
        assert curve[:840] == pytest.approx(before.arc[:840])
        assert curve[840 : int(end) - 60] == pytest.approx(0.16)
        assert curve[int(end) :] == pytest.approx(0.3)


# ---- levels ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("loudness", "kind", "gain"),
    [
        (-14.0, Kind.FLOW, -6.0),
        (-30.0, Kind.PEAK, 10.0),
        (-14.0, Kind.OPENING, -10.0),
        (-14.0, Kind.BREATHING, -10.0),
        (-14.0, Kind.REST, -14.0),
        (-14.0, Kind.CLOSING, -14.0),
        (-50.0, Kind.FLOW, 24.0),
        (float("-inf"), Kind.FLOW, 0.0),
    ],
)
def test_a_track_is_brought_to_the_bed_of_its_section(loudness: float, kind: Kind, gain: float) -> None:
    known = track(1, slice(0, 0)).analysis.but(loudness_lufs=loudness)
    assert levels.gain_db(known, 10.0, 300.0, kind, BEDS) == pytest.approx(gain)


def test_the_part_that_is_played_counts() -> None:
    """A half at -18 and a half at -24 LUFS: 10 log10 of their mean power is -20.03; the meter read -20.5 of the whole."""
    curve = np.repeat(np.float32([-18.0, -24.0]), 200)
    known = track(1, slice(0, 0)).analysis.but(loudness_lufs=-20.5, loudness=curve)
    mean = 10 * np.log10((10**-1.8 + 10**-2.4) / 2)
    assert levels.span_loudness(known, 0.0, 200.0) == pytest.approx(-18.0 - mean - 20.5, abs=1e-4)
    assert levels.span_loudness(known, 200.0, 400.0) == pytest.approx(-24.0 - mean - 20.5, abs=1e-4)
    assert levels.span_loudness(known, 198.0, 400.0) == pytest.approx(-24.0 - mean - 20.5, abs=1e-4), "windows of 3 s"
    short = 10 * np.log10((3 * 10**-1.8 + 2 * 10**-2.4) / 5)
    assert levels.span_loudness(known, 197.0, 202.0) == pytest.approx(short - mean - 20.5, abs=1e-4)
    assert levels.span_loudness(known, 197.0, 203.0) == pytest.approx(-24.0 - mean - 20.5, abs=1e-4)


def test_what_is_heard_is_weighed_against_the_bed() -> None:
    setlist = made()
    heard = np.array([-23.0, -23.0, -70.0, -17.0])
    power = 10 * np.log10((2 * 10**-2.3 + 10**-1.7) / 3)
    assert levels.over_bed(setlist, setlist.picks[0], heard) == pytest.approx(power + 20.0)
    assert np.isnan(levels.over_bed(setlist, setlist.picks[0], np.array([-70.0])))
    one, two = setlist.picks[1], setlist.picks[2]  # from flow at 0.6 into the peak at 0.8
    assert [levels.is_asked(setlist, one, two, by) for by in (1.0, -1.0)] == [True, False]
    assert not levels.is_asked(setlist, setlist.picks[0], one, 1.0)


def test_a_bell_rings_at_start_end_or_a_second_and_at_nothing_else() -> None:
    rest = made().rest
    assert rest is not None
    assert [_stroke(rest, bell) for bell in ("start", "end", 900, 901.5)] == [840.0, 1200.0, 900.0, 901.5]
    for bell in ("noon", float("nan"), float("inf"), None):
        with pytest.raises(SetError, match="a bell can't ring"):
            _stroke(rest, bell)  # type: ignore[arg-type]
