"""Which track may sound where: voice, folder, beat, marks, history, songs."""

import dataclasses
import math
from pathlib import Path

import invented_music
import numpy as np
import pytest
from invented_music import track

from audio.errors import ArcbedError
from pairing.alignment import frame, marks, recency, songs, zones
from pairing.alignment.options import PinWish
from pairing.alignment.task import key_number, usable
from pairing.effort.arc import make_arc
from pairing.effort.timetable import build_timetable
from pairing.model import Finding, PairOptions, Step, Wishes
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan
from pairing.show.tables import tempo

VOICED = ((50, 60),)


def shape(wishes: dict[str, Wishes] | None = None, steps: tuple[Step, ...] = (), **plan: object) -> frame.Frame:
    table = invented_music.timetable(wishes=wishes, steps=steps)
    return frame.of_class(invented_music.plan(**plan), table, invented_music.arc(table), PairOptions())


def cost_at(made: zones.Zones, second: int) -> list[float]:
    return made.cost[made.zone[second]].tolist()


def test_a_voice_may_not_sound_where_the_plan_says_no_voice_and_may_elsewhere() -> None:
    library = [track(n, 0.5, 300, voice=VOICED if n == 1 else ()) for n in range(1, 9)]
    made = zones.zones(shape({"Tide": Wishes(no_voice=True)}), library)
    assert np.isinf(cost_at(made, 700)[0])
    assert np.isfinite(cost_at(made, 700)[1:]).all()
    assert np.isfinite(cost_at(made, 300)).all()


def test_the_teachers_word_on_a_voice_counts() -> None:
    library = [track(1, 0.5, 300, voice=VOICED, marks={"voice": "no"}), track(2, 0.5, 300, marks={"voice": "yes"})]
    made = zones.zones(shape({"Tide": Wishes(no_voice=True)}), library)
    assert np.isfinite(cost_at(made, 700)).tolist() == [True, False]


@pytest.mark.parametrize(
    ("folder", "path", "inside"),
    [
        ("Rain", "/music/rain/a.mp3", True),
        ("rain", "/music/Rain/one/a.mp3", True),
        ("rain/one", "/music/Rain/one/a.mp3", True),
        ("rain\\one", "/music/Rain/one/a.mp3", True),
        ("one/rain", "/music/Rain/one/a.mp3", False),
        ("rain", "/music/rainy/a.mp3", False),
        ("a.mp3", "/music/rain/a.mp3", False),
    ],
)
def test_a_folder_is_known_by_its_name(folder: str, path: str, inside: bool) -> None:
    assert zones.in_folder(Path(path), folder) is inside


def test_a_beat_is_met_exactly_or_dearly_at_half_and_double() -> None:
    library = [track(n, 0.5, 300, tempo_bpm=bpm) for n, bpm in enumerate((124.0, 62.0, 248.0, 100.0), start=1)]
    made = zones.zones(shape({"Crest": Wishes(beat_bpm=(120, 128))}), library)
    cost = np.array(cost_at(made, 1400))
    assert cost[0] < zones.WRONG_BEAT_COST <= cost[1]
    assert np.isfinite(cost).tolist() == [True, True, True, False]


def test_only_fit_tracks_in_the_rest_and_the_least_bad_where_none_is() -> None:
    calm, lively = track(1, 0.15, 500), track(2, 0.8, 500)
    rest = 2100
    assert np.isfinite(cost_at(zones.zones(shape(), [calm, lively]), rest)).tolist() == [True, False]
    alone = zones.zones(shape(), [track(2, 0.8, 500), track(3, 0.45, 500)])
    assert [candidate.track.id for candidate in alone.least_bad] == [3]
    assert np.isfinite(cost_at(alone, rest)).tolist() == [False, True]
    never = zones.zones(shape(), [track(2, 0.8, 500, marks={"rest": "never"})])
    assert np.isinf(cost_at(never, rest)).all()


def test_silences_are_cut_out_of_the_arc() -> None:
    at = 400.0
    silence = Step("silence", "stillness", at, at + 60, 1)
    made = shape({"Float": Wishes(silent_last_s=120.0)}, (silence,))
    table = invented_music.timetable()
    silent = made.silent_seconds()
    assert silent[400:460].all()
    assert silent[-120:].all()
    assert silent.sum() == 180
    assert made.rest is not None
    assert made.rest.silence_s == 120
    assert made.anchors()[made.grid(400.0)] == 400.0
    assert made.seconds == int(np.ceil(table.duration_s))


@pytest.mark.parametrize(
    "lines",
    [
        "- savasana, 7 minutes, silent last 2 minutes",
        "savasana 7 min, quiet music, last 2 min silence\nbell, sit, close 1 min",
        "savasana 7 min (last two minutes in silence)",
        "savasana 5 min\nsilence 2 min\nbell",
        "savasana 4 min, silent last 1 min\nsilence 1 min",
        "happy baby 2 min, silent last 30 s\nsavasana 5 min",
        "tree 2 min each side, silent last 1 minute\nsavasana 5 min",
    ],
)
def test_where_the_arc_asks_for_no_music_a_set_knows_a_silence(lines: str) -> None:
    """However a silence was typed: what the arc leaves open and a set knows nothing of is called a hole in its music."""
    plan = read_plan(f"Flow 60 min\ncat cow x8\nsun A x3\n{lines}\n")
    table = build_timetable(plan, pose_table())
    arc = make_arc(table)
    made = frame.of_class(plan, table, arc, PairOptions())
    known = np.zeros(len(arc.target_energy), bool)
    for start, end in made.silent:
        known[math.floor(start) : math.ceil(end)] = True
    assert np.isnan(arc.target_energy).sum() >= 30
    assert known.tolist() == np.isnan(arc.target_energy).tolist()


def test_music_before_and_after_the_class_lies_on_the_same_grid() -> None:
    made = shape(before_s=600.0, after_s=300.0)
    assert made.origin_s == -600
    assert made.seconds == 600 + 2361 + 300
    target = made.on_grid(made.arc)
    assert np.isfinite(target).all()
    assert made.grid(0.0) == 600


def test_marks_are_checked_and_change_what_counts() -> None:
    assert marks.checked(" Energy ", "40 %") == ("energy", "40")
    assert marks.checked("rest", "Never") == ("rest", "never")
    for key, value in (("energy", "140"), ("energy", "high"), ("mood", "blue"), ("rest", "often")):
        with pytest.raises(ArcbedError):
            marks.checked(key, value)
    assert marks.energy(track(1, 0.5, 300, marks={"energy": "20"})).mean() == pytest.approx(0.2, abs=0.01)


def test_short_banned_and_excluded_tracks_are_left_out_and_pinned_ones_are_not() -> None:
    library = [track(n, 0.5, 300, marks={"use": "never"} if n == 3 else None) for n in range(1, 6)]
    library.append(track(7, 0.5, 4.0))
    library.append(dataclasses.replace(library[1], id=12))
    assert [each.id for each in usable(library, PairOptions(exclude=(1, 4)), always={4})] == [2, 4, 5]


def test_a_use_counts_half_a_week_later() -> None:
    library = [track(n, 0.5, 300) for n in (1, 2, 3)]
    uses = [recency.Use(library[0].fingerprint, 0.0), recency.Use(library[1].fingerprint, 7.0)]
    cost = recency.recency_costs(library, uses)
    assert cost[1] == pytest.approx(2 * cost[2])
    assert 3 not in cost


@pytest.mark.parametrize(
    ("key", "number"),
    [
        ("C major", 0),
        ("A minor", 21),
        ("F# minor", 18),
        ("Bb major", 10),
        ("E♭ minor", 15),
        ("Cb major", 11),
        (None, -1),
    ],
)
def test_keys_as_musicians_write_them(key: str | None, number: int) -> None:
    made = track(1, 0.5, 300)
    assert key_number(dataclasses.replace(made, analysis=dataclasses.replace(made.analysis, key=key))) == number


def test_a_song_is_found_by_its_title_and_heard_whole() -> None:
    library = [track(1, 0.5, 200, title="Lanterns on the Piér"), track(2, 0.5, 200, title="Other")]
    song = Step("song", "lanterns on the pier", 800.0, 800.0, 2, line=21)
    (found,) = songs.pins(shape(steps=(song,)), library, "harbour.md")
    assert isinstance(found, PinWish)
    assert (found.track_id, found.at_s) == (1, 800.0)
    assert found.end_s is not None
    assert found.end_s > 990


def test_a_song_that_is_missing_or_too_long_is_a_finding() -> None:
    library = [track(1, 0.5, 400, title="Long")]
    steps = (Step("song", "Nowhere", 300.0, 300.0, 1), Step("song", "Long", 1800.0, 1800.0, 4))
    found = list(songs.pins(shape(steps=steps), library, "harbour.md"))
    codes = [each.code for each in found if isinstance(each, Finding)]
    assert codes == ["song-not-found", "song-cut"]
    (pin,) = [each for each in found if isinstance(each, PinWish)]
    assert pin.end_s == pytest.approx(2000.75)


# Beats a minute as measured, the teacher's word, and the levels at which it may be felt.
LEVELS = [
    (72.0, "", (72.0, 144.0)),
    (144.0, "", (144.0, 72.0)),
    (110.0, "", (110.0,)),
    (50.0, "", (50.0,)),
    (72.0, "right", (72.0,)),
    (72.0, "double", (144.0,)),
    (144.0, "half", (72.0,)),
    (None, "half", ()),
    (72.3, "72", (72.3,)),
    (72.3, "145", (144.6,)),  # what was measured is finer than what was said
    (144.6, "72", (72.3,)),  # heard again, at the other level: the word holds
    (100.0, "72", (72.0,)),
    (None, "72", (72.0,)),
]


@pytest.mark.parametrize(("bpm", "word", "levels"), LEVELS)
def test_a_beat_that_may_be_felt_at_half_or_double_is_kept_at_both_until_one_word_settles_it(
    bpm: float | None, word: str, levels: tuple[float, ...]
) -> None:
    track = invented_music.track(1, 0.6, 200.0, calm=True, tempo_bpm=bpm, marks={"beat": word} if word else None)
    assert marks.tempos_bpm(track) == levels
    assert " or ".join(f"{level:.0f}" for level in sorted(levels)) in tempo(track)


def test_a_wish_for_a_beat_and_the_breath_take_the_level_that_fits() -> None:
    felt = [invented_music.track(n, 0.6, 200.0, tempo_bpm=bpm) for n, bpm in enumerate((72.0, 144.0, 100.0, 110.0), 1)]
    costs = zones._beat_costs(zones.tempos(felt), (140.0, 150.0))
    assert costs[0] == costs[1] == 0.0
    assert np.isinf(costs[2:]).all()
    breath = zones._breath_costs(zones.tempos(felt), 5.0)  # 72 a minute are 6 beats a breath, 144 are 12
    assert breath[0] == breath[1] == 0.0 < breath[3]
