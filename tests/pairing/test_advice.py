"""Advice never speaks against what was just done, and one cause is told once."""

import dataclasses
import functools

import invented_music
import numpy as np
import pytest
from invented_music import track
from random_orders import widest_task

from audio.track import Track
from pairing.alignment import supply
from pairing.checks.set import check_set
from pairing.errors import NotEnoughMusic
from pairing.model import Finding, PairOptions, SetList, Swap
from pairing.sets.pair import pair
from pairing.sets.rest import rebuild_rest
from pairing.sets.swap import pin
from pairing.solve.stage import Infeasible

SUNG = track(90, 0.5, 600.0, voice=((0, 600),))
LIBRARY = invented_music.library(30)
LIVELY = [track(n, 0.42 + 0.02 * n, 400.0, calm=False) for n in range(1, 20)]


def paired(tracks: list[Track]) -> SetList:
    return _paired(tuple(tracks))


@functools.cache
def _paired(tracks: tuple[Track, ...]) -> SetList:
    table = invented_music.timetable()
    return pair(invented_music.plan(), table, invented_music.arc(table), list(tracks), PairOptions())


def found(setlist: SetList, tracks: list[Track]) -> dict[str, Finding]:
    return {finding.code: finding for finding in (*setlist.findings, *check_set(setlist, tracks=tracks))}


def with_a_voice_in_the_rest() -> SetList:
    setlist = paired(LIBRARY)
    last = dataclasses.replace(setlist.picks[-1], track_id=SUNG.id, fingerprint=SUNG.fingerprint)
    return dataclasses.replace(setlist, picks=(*setlist.picks[:-1], last))


@pytest.mark.parametrize("by", ["swap", "pin"])
def test_who_put_a_track_there_is_not_told_to_swap_it(by: str) -> None:
    setlist = with_a_voice_in_the_rest()
    last = len(setlist.picks)
    chosen = found(setlist, [SUNG])["voice"]
    assert Swap(last) in chosen.deeds
    swapped = dataclasses.replace(setlist.options, swapped=(SUNG.fingerprint,))
    mine = pin(setlist, last) if by == "pin" else dataclasses.replace(setlist, options=swapped)
    told = found(mine, [SUNG])
    assert told["voice"].deeds == chosen.deeds[:1]  # it can still be marked as one without voice
    assert "another" not in (told["voice"].remedy or "")
    unfit = next(told[code] for code in ("unfit-in-rest", "driving-in-rest") if code in told)
    assert "library" not in unfit.message  # it isn't for want of music


def test_where_nothing_but_a_swap_would_help_what_was_swapped_in_may_stay() -> None:
    setlist = with_a_voice_in_the_rest()
    beaten = dataclasses.replace(SUNG, analysis=invented_music.track(90, 0.2, 600.0, tempo_bpm=70.0).analysis)
    assert found(setlist, [beaten])["beat-under-fade"].deeds == (Swap(len(setlist.picks)),)
    told = found(pin(setlist, len(setlist.picks)), [beaten])["beat-under-fade"]
    assert not told.deeds
    assert "yourself" in (told.remedy or "")


def test_a_rest_that_ends_in_silence_is_not_told_to() -> None:
    tracks = [*LIVELY, *(track(n, 0.15, 170.0) for n in range(40, 46))]
    whole = paired(tracks)
    assert "end it in silence" in (found(whole, tracks)["change-in-rest"].remedy or "")
    silent = rebuild_rest(whole, tracks, silence_s=60.0)
    assert "longer" in (found(silent, tracks)["change-in-rest"].remedy or "")
    assert "end it in silence" not in (found(silent, tracks)["change-in-rest"].remedy or "")


@pytest.mark.parametrize("fit", [True, False])
def test_no_calmer_music_is_asked_for_where_one_fit_track_is_the_rest(fit: bool) -> None:
    steady = [track(n, 0.28 + 0.025 * n, 400.0, calm=False) for n in range(1, 20)]
    tracks = [*steady, track(40, 0.3, 420.0, calm=True, marks={"rest": "yes" if fit else "never"})]
    setlist = paired(tracks)
    calmer = [each for each in setlist.findings if each.code == "nothing-calm-enough" and each.where.section == "Float"]
    assert bool(calmer) != fit


@pytest.mark.parametrize("repeats", [True, False])
def test_repeats_are_not_offered_to_who_has_them(repeats: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    table, options = invented_music.timetable(), PairOptions(allow_repeats=repeats)
    task = widest_task(invented_music.plan(), table, invented_music.arc(table), LIVELY, options)

    def stuck(*_: object, **__: object) -> None:
        raise Infeasible(100, 0, "not found", (100, 101))

    monkeypatch.setattr(supply, "solve", stuck)
    with pytest.raises(NotEnoughMusic) as refusal:
        supply.solved(task)
    said = f"{refusal.value} {refusal.value.remedy} {refusal.value.command}"
    assert ("repeat" not in said and "once" not in said) == repeats


def test_that_tracks_are_alike_is_told_once() -> None:
    alike = [track(n, 0.47 + 0.004 * n, 300.0, marks={"rest": "yes"}) for n in range(1, 15)]
    told = found(paired(alike), alike)
    assert [code for code in told if code in ABOUT_ENERGIES] == ["tracks-alike"]
    assert "tracks-alike" not in found(paired(LIVELY), LIVELY)


ABOUT_ENERGIES = (
    "tracks-alike",
    "nothing-calm-enough",
    "nothing-lively-enough",
    "arc-fitted-to-library",
    "arc-hardly-followed",
)


# The rest lasts 360 s. Of a track four seconds less can be heard, beside its fades.
@pytest.mark.parametrize(("lasts_s", "silent_s"), [(420.0, 0.0), (363.0, 1.0), (359.0, 5.0), (300.0, None)])
def test_a_rest_a_second_too_long_for_the_one_fit_track_ends_in_silence(lasts_s: float, silent_s: float | None) -> None:
    tracks = [*LIVELY, track(40, 0.15, lasts_s, calm=True)]
    setlist = paired(tracks)
    told, rest = found(setlist, tracks), setlist.rest
    assert rest is not None
    assert ("unfit-in-rest" in told or "driving-in-rest" in told) == (silent_s is None)
    assert rest.silence_s == pytest.approx(silent_s or 0.0)
    assert ("rest-ends-sooner" in told) == bool(silent_s)
    assert "gap" not in told
    if silent_s:
        assert f"{silent_s:.0f} s earlier" in told["rest-ends-sooner"].message
        assert setlist.picks[-1].track_id == 40
        assert setlist.picks[-1].class_end_s == pytest.approx(rest.end_s - silent_s)
        assert np.isnan(setlist.target_energy[-int(silent_s) :]).all()
