"""The demo, stopped while it makes its tracks."""

from pathlib import Path

import pytest

from audio.library import Library
from audio.synth.recipes import RECIPES
from audio.synth.tracks import make_tracks
from pairing.workflow import demo


def test_what_was_heard_before_it_was_stopped_is_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    def stopped_after_one(folder, *, progress, then):
        make_tracks(folder, jobs=1, recipes=RECIPES[:1], seconds=6.0, then=then)
        raise KeyboardInterrupt

    monkeypatch.setattr(demo, "folder_of_tracks", lambda: tmp_path / "tracks")
    monkeypatch.setattr(demo, "compile_here", lambda: None)
    monkeypatch.setattr(demo, "make_tracks", stopped_after_one)
    with pytest.raises(KeyboardInterrupt):
        demo.try_it(tmp_path / "class", tmp_path / "library.sqlite", lambda *_: None)
    with Library.open_or_create(tmp_path / "library.sqlite") as known:
        assert [track.path.name for track in known.tracks()] == [RECIPES[0].filename]
