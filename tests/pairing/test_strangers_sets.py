"""A set file by a stranger, or damaged in any way, through every command: words or results, and no other file touched."""

import copy
import json
import math
import os
import random
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import nasty
import pytest
from invented_music import library as invented_library
from test_setfile import a_set

from audio.errors import ArcbedError
from audio.files.fingerprint import fingerprint
from audio.track import Track
from pairing.errors import PlanError
from pairing.model import SetPlan
from pairing.sets import mixdown
from pairing.sets.codec import to_json
from pairing.sets.parts import parts
from pairing.sets.setfile import plan_beside, read_set
from pairing.show.asjson import as_text
from pairing.show.picture import picture_svg
from pairing.show.playlist import m3u8, xspf
from pairing.show.scene import Scene
from pairing.show.terminal import set_text
from pairing.workflow import checks, outputs, sets
from pairing.workflow.sets import SetFile

HOSTILE: tuple[Any, ...] = (
    None, True, -1, 0, 1e308, -0.0, 10**400, "", "x" * 9999, "\0", "\ud800", "\x1b[2J", "../../etc/passwd", "/dev/zero", "</script>",
    "=1+1", "%n%s{0}", [], {}, [[]], [None], "NaN", "\u202e", "con", "a\nb",
)  # fmt: skip


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """A sound set as JSON, with a plan that can be read."""
    folder = tmp_path_factory.mktemp("whole")
    plan = "# Tide\n\n## Sit: opening, 3 minutes\n- easy seat\n\n## Rest: rest, 10 seconds\n- savasana\n"
    return json.loads(json.dumps(to_json(a_set(folder, plan=SetPlan(str(folder / "p.md"), plan, "0" * 64)), folder)))


def places(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Every place of a JSON value; of long lists the first three."""
    keys = value if isinstance(value, dict) else range(min(len(value), 3)) if isinstance(value, list) else ()
    for key in keys:
        yield (*path, key)
        yield from places(value[key], (*path, key))


def put(whole: dict[str, Any], place: tuple[Any, ...], value: Any) -> dict[str, Any]:
    changed = copy.deepcopy(whole)
    holder: Any = changed
    for key in place[:-1]:
        holder = holder[key]
    holder[place[-1]] = value
    return changed


def do_everything(path: Path, tracks: list[Track]) -> None:
    """What the commands do with a set, short of sound."""
    found = SetFile(path, read_set(path), tuple(tracks))
    set_text(found.setlist, path)
    as_text(to_json(found.setlist, path.parent))
    mixdown.outside_library(found.setlist, path.parent, tracks)
    mixdown.chapters(found.setlist)
    mixdown.bells(found.setlist)
    m3u8(found.setlist, path.parent, path.with_name("a.m3u8"))
    xspf(found.setlist, path.parent, path.with_name("a.xspf"))
    picture_svg(Scene.of_set(found.setlist))
    outputs.write_playlist(found, path.with_name("b.m3u8"))
    for act in (
        lambda: outputs.write_sheet(found, path.with_name("b.html"), audio=None),
        lambda: checks.check(path, path.with_name("no library")),
        lambda: parts(found.setlist, mixdown.spans(found.setlist, path.parent, tracks)),
        lambda: sets.pin(found, 1, True, path.with_name("pinned.json")),
        lambda: sets.undo(found, path.with_name("undone.json")),
    ):
        try:
            act()
        except ArcbedError as error:
            assert str(error)  # noqa: PT017


def test_a_sound_set_goes_all_the_way(whole: dict[str, Any], tmp_path: Path) -> None:
    path = tmp_path / "s.json"
    path.write_text(json.dumps(whole), "utf-8")
    do_everything(path, invented_library(12))
    assert {"b.m3u8", "b.html", "pinned.json"} <= {each.name for each in tmp_path.iterdir()}


def test_the_second_of_two_changes_at_once_is_told(whole: dict[str, Any], tmp_path: Path) -> None:
    path, tracks = tmp_path / "s.json", tuple(invented_library(12))
    path.write_text(json.dumps(whole), "utf-8")
    first, second = (sets.open_set_with(path, tracks) for _ in range(2))
    after = sets.pin(first, 1, True, path)
    with pytest.raises(ArcbedError, match="changed or removed by another program"):
        sets.pin(second, 1, True, path)
    assert path.read_bytes() == after.content
    sets.pin(after, 1, False, path)  # whoever made the last change goes on from there
    sets.pin(second, 1, True, tmp_path / "elsewhere.json")


def test_a_set_without_tracks_gives_results_or_words(whole: dict[str, Any], tmp_path: Path) -> None:
    path = tmp_path / "s.json"
    path.write_text(json.dumps(whole | {"picks": []}), "utf-8")
    do_everything(path, invented_library(12))
    found = SetFile(path, read_set(path), ())
    for write in (
        lambda: outputs.write_whole_mix(found, tmp_path / "a.mp3", under_voice=False, replace=False, progress=None),
        lambda: outputs.write_parts(
            found, tmp_path / "parts", ending=".mp3", under_voice=False, replace=False, progress=None
        ),
    ):
        with pytest.raises(ArcbedError, match="no music yet"):
            write()


@pytest.mark.parametrize("seed", range(4))
def test_one_value_changed_anywhere_gives_results_or_words(whole: dict[str, Any], tmp_path: Path, seed: int) -> None:
    dice, tracks = random.Random(seed), invented_library(12)
    spots = list(places(whole))
    path = tmp_path / "s.json"
    for _ in range(150):
        changed = put(whole, dice.choice(spots), dice.choice(HOSTILE))
        path.write_text(json.dumps(changed), "utf-8")
        try:
            do_everything(path, tracks)
        except (ArcbedError, PlanError) as error:
            assert str(error)  # noqa: PT017


@pytest.mark.parametrize("seed", range(3))
def test_bytes_changed_anywhere_give_results_or_words(whole: dict[str, Any], tmp_path: Path, seed: int) -> None:
    dice, tracks = random.Random(seed), invented_library(12)
    sound = json.dumps(whole).encode()
    path = tmp_path / "s.json"
    for _ in range(150):
        content = bytearray(sound)
        for _ in range(dice.randint(1, 3)):
            at = dice.randrange(len(content))
            content[at : at + dice.choice([0, 1, 1, 9])] = dice.choice(
                [b"", b"9", b"-", b"e9", b'"', b"\xff", b"null", b"]"]
            )
        path.write_bytes(content)
        try:
            do_everything(path, tracks)
        except (ArcbedError, PlanError) as error:
            assert str(error)  # noqa: PT017


@pytest.mark.skipif(sys.platform == "win32", reason="no such things there")
@pytest.mark.parametrize(
    "plan", ["/dev/zero", "pipe.md", "../secret.md", "link.md", "/etc/hostname", "", "a\0b", "p.md"]
)
def test_a_set_opens_no_plan_but_one_beside_it(tmp_path: Path, plan: str) -> None:
    here = tmp_path / "here"
    here.mkdir()
    (tmp_path / "secret.md").write_text("# Secret\n")
    (here / "link.md").symlink_to("../secret.md")
    (here / "p.md").write_text("# Plan\n")
    os.mkfifo(here / "pipe.md")
    setlist = a_set(here, plan=SetPlan(plan, "# Harbour\n", "0" * 64))
    assert plan_beside(setlist, here) == (here / "p.md" if plan == "p.md" else None)


@pytest.fixture
def known(tmp_path: Path) -> list[Track]:
    """A library of one recording that lies on the disk."""
    path = tmp_path / "mine.wav"
    path.write_bytes(nasty.wav(nasty.music(1)))
    return [replace(invented_library(1)[0], path=path, fingerprint=fingerprint(path))]


def test_a_set_cannot_pass_another_file_off_as_a_known_recording(tmp_path: Path, known: list[Track]) -> None:
    secret = tmp_path / "secret.wav"
    secret.write_bytes(nasty.wav(nasty.music(2)))
    pick = replace(a_set(tmp_path).picks[0], path=str(secret), fingerprint=known[0].fingerprint)
    assert mixdown.locate(pick, tmp_path, known) == known[0].path
    stranger = replace(pick, fingerprint="unknown")
    setlist = replace(a_set(tmp_path), picks=(stranger,))
    assert mixdown.locate(stranger, tmp_path, known) == secret
    (finding,) = mixdown.outside_library(setlist, tmp_path, known)
    assert str(secret) in finding.message


def test_a_check_says_what_lies_outside_the_library(tmp_path: Path, whole: dict[str, Any]) -> None:
    (tmp_path / "m").mkdir()
    (tmp_path / "m" / "a.mp3").write_bytes(nasty.mp3(nasty.music(1)))
    path = tmp_path / "s.json"
    path.write_text(json.dumps(whole), "utf-8")
    codes = {finding.code for finding in checks.check(path, tmp_path / "none").findings}
    assert {"outside-the-library", "file-gone"} <= codes
    assert all(math.isfinite(pick.class_end_s) for pick in read_set(path).picks)
