"""What a packed class can be stretched by: exits and jumps inside what is packed, spares that are no track of the set."""

from pathlib import Path

import pytest
from forked import Commands

from pairing.model import Kind
from pairing.sets import mixdown
from pairing.sets.live import MORE_REST_S, LiveSet, live_set
from pairing.workflow.sets import SetFile, open_set


@pytest.fixture(scope="module")
def found(commands: Commands) -> SetFile:
    return open_set(commands.home / "tide.json", commands.home / "library.sqlite")


@pytest.fixture(scope="module")
def live(commands: Commands, found: SetFile) -> LiveSet:
    return live_set(found.setlist, mixdown.spans(found.setlist, commands.home, found.tracks), found.tracks)


def test_every_place_lies_inside_what_is_packed(live: LiveSet) -> None:
    for track in live.tracks:
        places = [at for at, _ in track.exits]
        places += [at for jump in track.jumps for at in (jump.from_s, jump.to_s)]
        assert all(track.from_s < at < track.to_s for at in places)
        assert track.from_s <= track.loop[0] < track.to_s
        assert all(jump.to_s < jump.from_s for jump in track.jumps)


def test_what_the_plan_plays_is_packed_whole(found: SetFile, live: LiveSet) -> None:
    for pick, packed in zip(found.setlist.picks, live.picks, strict=True):
        track = live.tracks[packed.track]
        assert track.from_s <= pick.track_start_s
        assert track.to_s >= pick.track_end_s - 0.01


def test_the_rest_can_only_last_longer(found: SetFile, live: LiveSet) -> None:
    rest = found.setlist.rest
    assert rest is not None
    for packed in live.picks:
        if packed.pick.class_start_s >= rest.start_s - 0.01:
            track = live.tracks[packed.track]
            assert (track.exits, track.jumps, packed.spare) == ((), (), None)
            assert track.to_s <= packed.pick.track_end_s + MORE_REST_S


def test_no_spare_is_a_track_of_the_set_or_stands_in_twice(found: SetFile, live: LiveSet) -> None:
    parts: dict[int, set[str]] = {}
    for packed in live.picks:
        if packed.spare is not None:
            parts.setdefault(packed.spare, set()).add(packed.pick.section)
    taken = {live.tracks[packed.track].path for packed in live.picks}
    assert all(live.tracks[spare].path not in taken for spare in parts)
    assert len({live.tracks[spare].path for spare in parts}) == len(parts)
    assert any(packed.peak for packed in live.picks) == any(s.kind is Kind.PEAK for s in found.setlist.sections)


def test_pack_live_writes_one_page_and_lists_it(commands: Commands, tmp_path: Path) -> None:
    done = commands.run("pack", "tide.json", "--out", str(tmp_path / "carry"), "--live")
    assert done.status == 0, done
    page = tmp_path / "carry" / "tide-live.html"
    assert {path.name for path in page.parent.iterdir()} == {"tide-live.html", "what is in here.txt"}
    assert 'id="sound-0-0"' in page.read_text("utf-8")
    again = commands.run("pack", "tide.json", "--out", str(tmp_path / "carry"), "--live")
    assert again.status == 0
