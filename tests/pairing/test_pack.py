"""What one carries to class: of one state, whole whatever ends the work, and a mix that knows its set."""

import shutil
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import soundfile
from forked import Commands

from audio.files.encode import ENDINGS, Encoder
from audio.files.tags import read_comment
from audio.files.whole_folder import whole_folder
from pairing.sets.mixmark import age_of, comment_of, mark_of
from pairing.sets.setfile import read_set

KILLS = 3


def names(folder: Path) -> set[str]:
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*")}


@pytest.mark.parametrize("ending", ENDINGS)
def test_every_kind_of_file_keeps_the_mark(commands: Commands, tmp_path: Path, ending: str) -> None:
    setlist = read_set(commands.home / "tide.json")
    path = tmp_path / f"mix{ending}"
    with Encoder(path, title="Tide", comment=comment_of(setlist)) as encoder:
        encoder.write(np.zeros((44_100, 2), np.float32))
    assert read_comment(path) == comment_of(setlist)
    assert age_of(path, setlist) == "this"
    moved = replace(setlist.picks[0], gain_db=setlist.picks[0].gain_db + 1)
    assert age_of(path, replace(setlist, picks=(moved, *setlist.picks[1:]))) == "other"


def test_the_mark_is_of_what_is_heard_and_of_nothing_else(commands: Commands) -> None:
    setlist = read_set(commands.home / "tide.json")
    pinned = tuple(replace(pick, pinned=True, why="because") for pick in setlist.picks)
    assert mark_of(replace(setlist, picks=pinned, title="Other", findings=())) == mark_of(setlist)
    assert setlist.rest is not None
    rung = replace(setlist, rest=replace(setlist.rest, bells_s=(setlist.rest.start_s,)))
    assert mark_of(rung) != mark_of(setlist)


def test_a_sheet_says_when_its_mix_is_of_an_earlier_version(commands: Commands, tmp_path: Path) -> None:
    target = tmp_path / "tide.json"
    shutil.copy(commands.home / "tide.json", target)
    mix, page = tmp_path / "tide.flac", tmp_path / "tide.html"
    assert commands.run("mix", target, "--out", mix).status == 0
    assert commands.run("sheet", target, "--out", page, "--audio", mix).status == 0
    assert "is not the mix" not in page.read_text()
    assert commands.run("swap", target, "1", "--best").status in (0, 1)
    ended = commands.run("sheet", target, "--out", page, "--audio", mix)
    assert ended.status == 1
    assert f"arcbed mix {target} --out {mix} --force" in " ".join(ended.said.split())
    assert "is not the mix of this class as it is now" in page.read_text()
    assert commands.run("mix", target, "--out", mix, "--force").status == 0
    assert commands.run("sheet", target, "--out", page, "--audio", mix).status == 0
    soundfile.write(mix, np.zeros((8000, 2)), 8000)
    said = commands.run("sheet", target, "--out", page, "--audio", mix).said
    assert "doesn't say which class it is of" in said
    assert "--force" not in said  # it may be somebody's music


def test_a_pack_is_of_one_state_and_its_playlist_names_what_lies_beside_it(commands: Commands, tmp_path: Path) -> None:
    folder = tmp_path / "to go"
    ended = commands.run("pack", "tide.json", "--out", folder, "--as", "flac")
    assert ended.status == 0, ended.said
    setlist = read_set(commands.home / "tide.json")
    assert {path.name for path in folder.iterdir()} == {
        "tide.flac",
        "tide.html",
        "one file a track",
        "what is in here.txt",
    }
    assert age_of(folder / "tide.flac", setlist) == "this"
    assert '"audio":"./tide.flac"' in (folder / "tide.html").read_text()
    tracks = folder / "one file a track"
    listed = [line for line in (tracks / "in order.m3u8").read_text().splitlines() if not line.startswith("#")]
    assert len(listed) == len(setlist.picks)
    assert all((tracks / name).is_file() and "/" not in name for name in listed)
    seconds = sum(soundfile.info(tracks / name).duration for name in listed)
    assert seconds == pytest.approx(setlist.class_s, abs=0.01)


def test_a_folder_with_other_things_is_left_alone(commands: Commands, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    (other / "my notes.txt").write_text("mine")
    ended = commands.run("pack", "tide.json", "--out", other)
    assert ended.status == 3
    assert "holds other things" in ended.said
    assert names(other) == {"my notes.txt"}


@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
def test_a_pack_that_is_killed_leaves_the_former_one_whole_and_the_next_replaces_it(
    commands: Commands, tmp_path: Path
) -> None:
    folder = tmp_path / "to go"
    whole = commands.run("pack", "tide.json", "--out", folder, "--as", "wav")
    first, rng = names(folder), np.random.default_rng(7)
    (folder / "mine").write_text("mine")
    for turn in range(KILLS):
        commands.run(
            "pack",
            "tide.json",
            "--out",
            folder,
            "--as",
            "flac" if turn % 2 else "wav",
            kill_after_s=rng.uniform(0.3, whole.took_s),
        )
        held = names(folder) - {"mine"}
        assert {name.replace(".flac", ".wav") for name in held} - {"tide.cue"} == first - {"tide.cue"}
    assert commands.run("pack", "tide.json", "--out", folder, "--as", "flac").status == 0
    assert names(folder) == {name.replace(".wav", ".flac") for name in first - {"tide.cue"}} | {"mine"}
    assert not list(tmp_path.glob(".arcbed_before*"))


def test_a_folder_left_between_two_renames_is_made_good(tmp_path: Path) -> None:
    folder, before = tmp_path / "to go", tmp_path / ".arcbed_before-to go"
    before.mkdir()
    (before / "old").write_text("old")
    with whole_folder(folder, lambda _: ["old"]) as made:
        assert (folder / "old").read_text() == "old", "the former state is back before anything is done"
        (made / "new").write_text("new")
    assert names(folder) == {"new"}
    before.mkdir()
    (before / "mine").write_text("mine")
    with whole_folder(folder, lambda _: ["new"]) as made:
        (made / "new").write_text("newer")
    assert names(folder) == {"new", "mine"}
    assert [path.name for path in tmp_path.iterdir()] == ["to go"]


def test_a_day_stands_on_the_sheet_and_a_picture_has_none(commands: Commands, tmp_path: Path) -> None:
    page = tmp_path / "tide.html"
    assert commands.run("sheet", "tide.json", "--out", page, "--date", "2026-12-05").status in (0, 1)
    assert "Saturday 5 December 2026" in page.read_text("utf-8")
    ended = commands.run("sheet", "tide.json", "--picture", tmp_path / "tide.svg", "--date", "2026-12-05")
    assert ended.status == 2
    assert "A picture has no date" in ended.said
    assert not (tmp_path / "tide.svg").exists()
