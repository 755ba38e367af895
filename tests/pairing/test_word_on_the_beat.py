"""A teacher's word on the beat is said once, in a word or a number, and holds when the track is heard again."""

from dataclasses import replace
from pathlib import Path

import invented_music
import numpy as np
import pytest

from audio.errors import ArcbedError
from audio.files.folders import Found
from audio.library import Library
from audio.track import Track
from pairing.alignment import marks, zones
from pairing.show.tables import tempo
from pairing.workflow.music import mark_track


def heard(path: Path, bpm: float | None) -> None:
    """The track, measured with this beat, in the library."""
    track = invented_music.track(1, 0.6, 200.0)
    with Library.open_or_create(path) as known:
        known.store(Found(track.path, 1, 1), "one", track.tags, replace(track.analysis, tempo_bpm=bpm))


def known_in(path: Path) -> Track:
    with Library(path) as known:
        return known.tracks()[0]


@pytest.mark.parametrize(
    ("first", "word", "again", "felt", "shown"),
    [
        (144.6, "half", 72.3, 72.3, "72"),
        (144.6, "half", 144.6, 72.3, "72"),
        (72.3, "double", 144.6, 144.6, "145"),
        (72.3, "double", 72.3, 144.6, "145"),
        (72.3, "right", 144.6, 72.3, "72"),
        (72.3, "145", None, 145.0, "145"),
        (100.0, "Half", 33.4, 50.0, "50"),
    ],
)
def test_what_was_said_once_holds_whatever_is_measured_later(
    tmp_path: Path, first: float, word: str, again: float | None, felt: float, shown: str
) -> None:
    path = tmp_path / "library.sqlite"
    heard(path, first)
    mark_track(path, 1, [f"beat={word}"])
    heard(path, again)
    track = known_in(path)
    assert marks.tempos_bpm(track) == pytest.approx((felt,), rel=0.01)
    assert tempo(track) == shown
    cost = zones._beat_costs(zones.tempos([track]), (felt - 2, felt + 2))
    assert cost[0] == 0.0
    assert np.isinf(zones._beat_costs(zones.tempos([track]), (4 * felt, 5 * felt))[0])


def test_a_word_on_the_beat_is_taken_back(tmp_path: Path) -> None:
    path = tmp_path / "library.sqlite"
    heard(path, 72.0)
    mark_track(path, 1, ["beat=double"])
    mark_track(path, 1, ["beat="])
    assert tempo(known_in(path)) == "72 or 144"


def test_the_half_of_no_beat_is_refused_with_what_can_be_said(tmp_path: Path) -> None:
    path = tmp_path / "library.sqlite"
    heard(path, None)
    with pytest.raises(ArcbedError, match="no clear beat") as refused:
        mark_track(path, 1, ["beat=half"])
    assert refused.value.remedy is not None
    assert "beat=72" in refused.value.remedy
    mark_track(path, 1, ["beat=72"])
    assert tempo(known_in(path)) == "72"


@pytest.mark.parametrize("value", ["19", "301", "soon", "-72", "nan"])
def test_no_music_has_such_a_beat(value: str) -> None:
    with pytest.raises(ArcbedError, match="can't be said"):
        marks.checked("beat", value)
