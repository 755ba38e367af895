"""What a packed class can do with each track, worked out by hand for tracks whose bars and levels are known."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from test_alignment_by_hand import with_cuts
from test_set_checks import a_set

from audio.render.span import Level, Span
from audio.track import Track
from pairing.model import PairOptions
from pairing.sets import live

CUTS = ((2.0, 0.0, 1.0), (41.0, 0.2, 0.2), (90.0, 0.2, 0.7), (298.0, 1.0, 0.0))


def with_bars(**known: object) -> Track:
    made = with_cuts(300.0, *CUTS)
    return replace(made, analysis=made.analysis.but(**known))


BARS = {23.0: 0.5, 41.0: 0.2, 43.0: 0.5, 63.0: 0.5, 83.0: 0.5, 90.0: 0.5}
BY_FOURS = {20.0: 0.5, 40.0: 0.5, 41.0: 0.2, 60.0: 0.5, 80.0: 0.5, 90.0: 0.5}
FADES = {**{float(at): 0.9 for at in range(14, 95, 4)}, 41.0: 0.2, 90.0: 0.7}
NONE = np.zeros(0)


@pytest.mark.parametrize(
    ("downbeats", "beats", "places"),
    [
        (np.arange(3.0, 300, 20), np.arange(3.0, 300, 5), BARS),
        (NONE, np.arange(0.0, 300, 5), BY_FOURS),
        (NONE, NONE, FADES),
    ],
)
def test_a_track_can_be_left_at_its_bars_its_beats_by_fours_or_every_few_seconds(
    downbeats: np.ndarray, beats: np.ndarray, places: dict[float, float]
) -> None:
    exits = live._exits(with_bars(downbeats_s=downbeats, beats_s=beats).analysis, 10.0, 95.0)
    assert exits == tuple(sorted(places.items()))


def test_it_goes_on_from_a_place_of_its_first_half_where_nothing_sounds_alike() -> None:
    exits = ((12.0, 0.5), (19.0, 0.5), (50.0, 0.5), (70.0, 0.2))
    assert live._loop(exits, 10.0, 110.0) == (19.0, 6.0)
    assert live._loop(((17.9, 0.5), (18.0, 0.5)), 10.0, 110.0) == (18.0, 6.0)
    assert live._loop(((60.0, 0.5),), 10.0, 110.0) == (60.0, 6.0)
    assert live._loop(((60.1, 0.5),), 10.0, 110.0) == (35.0, 6.0)
    assert live._loop((), 0.0, 24.0) == (6.0, 4.0)


def spare(number: int, energy: float, tmp_path: Path, **more: object) -> Track:
    made = with_cuts(300.0, *CUTS)
    path = tmp_path / f"{number}.flac"
    path.touch()
    known = {"energy": np.full(300, energy, np.float32), **more}
    return replace(made, id=number, fingerprint=str(number), path=path, analysis=made.analysis.but(**known))


def test_the_nearest_in_liveliness_stands_in_unless_it_is_short_sung_marked_or_kept_out(tmp_path: Path) -> None:
    """The flow asks for 0.6."""
    setlist = a_set()
    flow = setlist.sections[0]
    sung = np.where(np.arange(300) < 30, 0.9, 0.0).astype(np.float32)
    library = [
        spare(1, 0.60, tmp_path, voice=sung),
        spare(2, 0.60, tmp_path, duration_s=74.0),
        spare(3, 0.60, tmp_path),
        spare(4, 0.60, tmp_path),
        spare(5, 0.58, tmp_path),
        spare(6, 0.63, tmp_path),
        spare(7, 0.50, tmp_path),
    ]
    library[2] = replace(library[2], marks={"favourite": "yes"})
    setlist = replace(setlist, options=PairOptions(exclude=(4,)))
    assert [live._nearest(setlist, flow, library[:n]) for n in (1, 2, 3, 4)] == [None] * 4
    assert live._nearest(setlist, flow, library) is library[4]
    assert live._nearest(setlist, flow, library[5:]) is library[5]
    spares, of = live._spares(setlist, library, 4, lambda _: ())
    assert [(one.title, round(one.to_s - one.from_s)) for one, _ in spares] == [("Piece 1", 150)] * 2
    assert of == {0: 4, 1: 4, 2: 5}  # flow and peak; the rest has none
    assert spares[0][1] == pytest.approx(setlist.options.levels.bed_lufs - library[4].analysis.loudness_lufs)


def span(gain_db: float) -> Span:
    return Span(Path("a.flac"), 0.0, 300.0, 10.0, 4.0, 4.0, (Level(5.0, gain_db), Level(9.0, -9.0)))


@pytest.mark.parametrize(
    ("peak", "gain_db", "lower"), [(-1.0, 3.0, 3.0), (-6.0, 4.0, 0.0), (0.5, -9.0, 0.0), (0.0, 0.0, 1.0)]
)
def test_all_comes_down_by_what_the_highest_peak_is_over_the_ceiling(peak: float, gain_db: float, lower: float) -> None:
    """EBU R 128: -1 dBTP."""
    made = with_cuts(300.0, *CUTS)
    known = {"print 1": replace(made, analysis=made.analysis.but(true_peak_dbtp=peak))}
    setlist = a_set()
    assert live._lower(setlist, [span(gain_db)] * 4, known) == pytest.approx(lower)


def test_the_loudest_and_the_quietest_ten_seconds_are_heard_at_the_check() -> None:
    """Of the first pick: its track from 10 s, not faded in, faded out for 4 s; every five seconds from 11 on."""
    loudness = np.full(400, -20.0, np.float32)
    loudness[96:106], loudness[206:216] = -10.0, -30.0
    made = with_cuts(400.0, (0.0, 0.0, 1.0), (400.0, 1.0, 0.0))
    known = {"print 1": replace(made, analysis=made.analysis.but(loudness=loudness))}
    assert live._check(a_set(), known) == ((0, 96.0, 0.0), (0, 206.0, 0.0))
    assert live._check(a_set(), {}) == ()
