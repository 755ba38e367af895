"""Which tracks serve a place of a class: what its section and the plan's rules ask, and what speaks against each track."""

import dataclasses
from pathlib import Path

import numpy as np
import pytest
from invented_music import track
from test_set_checks import section

from audio.track import Track
from pairing.model import Kind, Rule, Wishes
from pairing.sets.serving import SectionNeed, place_of, ranked

CURVE = np.repeat([0.2, 0.6], 300).astype(np.float32)


def rule(start_s: float, end_s: float, **more: object) -> Rule:
    return Rule(start_s, end_s, 0, **more)  # type: ignore[arg-type]


def need(
    kind: Kind = Kind.FLOW, wishes: Wishes | None = None, *rules: Rule, start_s: float = 300.0, end_s: float = 600.0
) -> SectionNeed:
    part = dataclasses.replace(section("Tide", kind, start_s, end_s), wishes=wishes or Wishes())
    return place_of(part, CURVE, rules)


def test_a_place_asks_for_the_mean_of_its_seconds() -> None:
    assert need().energy == pytest.approx(0.6)
    assert need(start_s=150.0, end_s=450.0).energy == pytest.approx(0.4)
    assert need(start_s=299.0, end_s=299.5).energy == pytest.approx(0.2)  # a second at least
    assert place_of(section("Tide", Kind.FLOW, 0, 9), np.full(9, np.nan, np.float32)).energy == 0.2


def test_what_is_asked_of_a_section_goes_before_the_rules_that_hold_in_it() -> None:
    free, sung = rule(300, 600, no_voice=True), rule(300, 600)
    assert (need().no_voice, need(Kind.REST).no_voice, need(Kind.REST).in_rest, need().in_rest) == (
        False,
        True,
        True,
        False,
    )
    assert need(Kind.FLOW, Wishes(no_voice=True)).no_voice
    assert need(Kind.FLOW, None, free).no_voice
    assert not need(Kind.FLOW, None, free, sung).no_voice  # in a part of it voices may be
    made = need(Kind.FLOW, None, rule(300, 600, folder="slow", beat_bpm=(60, 70)))
    assert (made.folder, made.beat_bpm) == ("slow", (60, 70))
    own = need(Kind.FLOW, Wishes(folder="loud", beat_bpm=(90, 99)), rule(300, 600, folder="slow", beat_bpm=(60, 70)))
    assert (own.folder, own.beat_bpm) == ("loud", (90, 99))
    later = need(Kind.FLOW, None, rule(300, 400), rule(400, 600, folder="slow", beat_bpm=(60, 70)))
    assert (later.folder, later.beat_bpm) == ("slow", (60, 70))


@pytest.mark.parametrize(
    ("start_s", "end_s", "holds"), [(0, 301, False), (0, 301.1, True), (598.9, 700, True), (599, 700, False)]
)
def test_a_rule_holds_that_overlaps_by_more_than_a_second(start_s: float, end_s: float, holds: bool) -> None:
    assert (need(Kind.FLOW, None, rule(start_s, end_s, folder="slow")).folder == "slow") is holds


def known_as(n: int, energy: float = 0.6, **more: object) -> Track:
    made = track(n, energy, 400)
    curves = {"voice": np.zeros(400, np.float32), "energy": np.full(400, energy, np.float32)}
    quiet = dataclasses.replace(made, analysis=made.analysis.but(**curves))
    return dataclasses.replace(quiet, **more)  # type: ignore[arg-type]


def why(one: Track, place: SectionNeed) -> tuple[bool, str]:
    (found,) = ranked([one], place)
    return found.may, found.why


def test_what_speaks_against_a_track_is_said() -> None:
    plain = need()
    assert why(known_as(1), plain)[0]
    assert why(known_as(1, marks={"use": "never"}), plain) == (False, "you said never")
    sung = known_as(1, marks={"voice": "yes"})
    silent = need(Kind.FLOW, Wishes(no_voice=True))
    assert why(sung, plain)[0]
    assert why(sung, silent) == (False, "has a voice, and the plan asks for none here")
    assert why(known_as(1, marks={"voice": "no"}), silent)[0]
    assert why(known_as(1), silent)[0]
    rest = need(Kind.REST)
    assert why(sung, rest)[1].startswith("doesn't suit a rest: ")
    assert "has a voice, and" not in why(sung, rest)[1]
    placed = need(Kind.FLOW, Wishes(folder="Slow"))
    assert why(known_as(1, path=Path("/music/slow/a.mp3")), placed)[0]
    assert why(known_as(1, path=Path("/music/slow.mp3")), placed) == (False, 'isn\'t in your folder "Slow"')


@pytest.mark.parametrize(("bpm", "fits"), [(95.0, False), (96.0, True), (110.0, True), (111.0, False)])
def test_a_beat_lies_in_its_range(bpm: float, fits: bool) -> None:
    place = need(Kind.FLOW, Wishes(beat_bpm=(96, 110)))
    one = known_as(1, marks={"beat": f"{bpm:g}"})
    assert why(one, place)[0] is fits


def test_those_that_may_come_first_then_the_nearest_favourites_before_their_like() -> None:
    levels = {1: 0.85, 2: 0.62, 4: 0.3, 5: 0.62}
    library = [known_as(3, marks={"use": "never"}), *(known_as(n, level) for n, level in levels.items())]
    found = ranked(library, need())
    assert [one.track.id for one in found] == [2, 5, 1, 4, 3]
    assert [one.distance for one in found] == pytest.approx([0.02, 0.02, 0.25, 0.3, 0.0], abs=1e-6)
    assert found[0].why.endswith("just what Tide asks for")
    assert "than Tide asks for" in found[2].why
