"""Making the demo's files: complete, tagged, kept, made again where something is missing; short excerpts."""

import contextlib
import json
import sqlite3
import time
from pathlib import Path

import numpy as np
import pytest

from audio.database import SUMMED
from audio.errors import OutputError
from audio.files.decode import Decoder
from audio.files.tags import read_tags
from audio.listened import Listened, listen
from audio.scan import scan
from audio.synth.recipes import RECIPES
from audio.synth.tracks import Then, make_track, make_tracks

pytestmark = pytest.mark.slow

ONE_OF_EACH = tuple({recipe.format: recipe for recipe in RECIPES}.values())
SECONDS = 6.0


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("made") / "new" / "folder"
    make_tracks(folder, jobs=1, recipes=ONE_OF_EACH, seconds=SECONDS)
    return folder


@pytest.mark.parametrize("recipe", ONE_OF_EACH, ids=lambda recipe: recipe.format)
def test_a_file_of_each_kind_is_readable_tagged_and_not_silent(folder: Path, recipe):
    path = folder / recipe.filename
    tags = read_tags(path)
    assert (tags.title, tags.artist, tags.album) == (recipe.title, recipe.artist, recipe.album)
    with Decoder(path) as decoder:
        blocks = [block.samples for block in decoder.blocks()]
        rate = decoder.rate
    samples = np.concatenate(blocks)
    assert len(samples) / rate == pytest.approx(SECONDS, abs=0.1)
    assert samples.shape[1] == 2
    assert np.sqrt(np.square(samples).mean()) > 0.003


def test_a_second_run_makes_nothing_and_is_quick(folder: Path):
    before = {path: path.stat().st_mtime_ns for path in folder.iterdir()}
    told: list[str] = []
    started = time.process_time()
    paths = make_tracks(
        folder, jobs=1, recipes=ONE_OF_EACH, seconds=SECONDS, progress=lambda done, of, title: told.append(title)
    )
    assert time.process_time() - started < 1
    assert told == []
    assert paths == tuple(folder / recipe.filename for recipe in ONE_OF_EACH)
    assert before == {path: path.stat().st_mtime_ns for path in folder.iterdir()}


def test_what_is_missing_or_cut_short_is_made_again(folder: Path):
    gone, cut = folder / ONE_OF_EACH[0].filename, folder / ONE_OF_EACH[1].filename
    whole = {path: path.read_bytes() for path in (gone, cut)}
    gone.unlink()
    cut.write_bytes(whole[cut][:1000])
    told: list[tuple[int, int]] = []
    make_tracks(
        folder, jobs=1, recipes=ONE_OF_EACH, seconds=SECONDS, progress=lambda done, of, title: told.append((done, of))
    )
    assert told == [(1, 2), (2, 2)]
    assert len(cut.read_bytes()) == len(whole[cut])
    flac = next(path for path in (*whole, gone) if path.suffix == ".flac")
    assert flac.read_bytes() == whole[flac]  # lossless files come out the same to the byte


def test_a_file_made_from_another_recipe_is_made_again(folder: Path):
    made = json.loads((folder / "made.json").read_text("utf-8"))
    name = ONE_OF_EACH[0].filename
    (folder / "made.json").write_text(json.dumps(made | {name: made[name] | {"recipe": "older"}}), "utf-8")
    told: list[str] = []
    make_tracks(
        folder, jobs=1, recipes=ONE_OF_EACH, seconds=SECONDS, progress=lambda done, of, title: told.append(title)
    )
    assert told == [ONE_OF_EACH[0].title]


def test_what_no_recipe_makes_any_more_is_removed_unless_changed(tmp_path: Path):
    for name in ("former.mp3", "changed.mp3", "foreign.mp3"):
        (tmp_path / name).write_bytes(b"1234")
    made = {"former.mp3": {"recipe": "", "bytes": 4}, "changed.mp3": {"recipe": "", "bytes": 5}}
    (tmp_path / "made.json").write_text(json.dumps(made), "utf-8")
    make_tracks(tmp_path, jobs=1, recipes=())
    assert {path.name for path in tmp_path.glob("*.mp3")} == {"changed.mp3", "foreign.mp3"}


@pytest.mark.parametrize("spoilt", ["[not json", "[1]", '{"lamp-oil.mp3": 3}'])
def test_a_spoilt_list_costs_time_only(tmp_path: Path, spoilt: str):
    (tmp_path / "made.json").write_text(spoilt, "utf-8")
    (path,) = make_tracks(tmp_path, jobs=1, recipes=ONE_OF_EACH[:1], seconds=1.0)
    assert path.is_file()


def test_other_files_in_the_folder_are_left_alone(tmp_path: Path):
    (tmp_path / "README.md").write_text("mine", "utf-8")
    make_tracks(tmp_path, jobs=1, recipes=ONE_OF_EACH[:1], seconds=1.0)
    assert {path.name for path in tmp_path.iterdir()} == {"README.md", "made.json", ONE_OF_EACH[0].filename}
    assert (tmp_path / "README.md").read_text("utf-8") == "mine"


def test_two_processes_make_what_one_makes(tmp_path: Path, folder: Path):
    few = [recipe for recipe in ONE_OF_EACH if recipe.format in ("flac", "wav")]
    for path in make_tracks(tmp_path, jobs=2, recipes=few, seconds=2.0):
        alone = tmp_path / "alone"
        alone.mkdir(exist_ok=True)
        make_track(alone, next(recipe for recipe in few if recipe.filename == path.name), 2.0)
        assert path.read_bytes() == (alone / path.name).read_bytes()


def test_what_is_heard_where_it_is_made_is_what_a_scan_hears(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    few = [recipe for recipe in ONE_OF_EACH if recipe.format in ("mp3", "wav")]
    apart, at_once = tmp_path / "apart.sqlite", tmp_path / "at_once.sqlite"
    with Listened() as listened:
        paths = make_tracks(tmp_path / "tracks", jobs=2, recipes=few, seconds=6.0, then=Then(listen, listened.take))
        assert set(listened.paths) == set(paths)
        scan([tmp_path / "tracks"], apart)
        with monkeypatch.context() as patch:
            patch.setattr("audio.workers.workers", None)  # nothing is left to measure
            report = scan(listened.paths, at_once, executor=listened)
    assert (report.new, report.tracks, report.left_out) == (2, 2, ())
    assert content(at_once) == content(apart)


def test_a_scan_hears_itself_what_was_not_listened_to(tmp_path: Path):
    one, other = make_tracks(tmp_path / "tracks", jobs=1, recipes=ONE_OF_EACH[:2], seconds=6.0)
    with Listened() as listened:
        listened.take(one, listen(one))
        report = scan([one, other], tmp_path / "library.sqlite", executor=listened)
    assert (report.new, report.left_out) == (2, ())


def content(library: Path) -> list[tuple[object, ...]]:
    """All that a library knows of its recordings, but for the numbers it gave, by their files."""
    columns = ", ".join([*SUMMED["recordings"][1:], "path", "size", "modified_ns"])
    with contextlib.closing(sqlite3.connect(library)) as database:
        return database.execute(
            f"SELECT {columns} FROM recordings JOIN files ON recording = id ORDER BY path"
        ).fetchall()


def test_a_folder_that_cannot_be_made_is_named(tmp_path: Path):
    (tmp_path / "file").write_text("", "utf-8")
    with pytest.raises(OutputError, match="file"):
        make_tracks(tmp_path / "file" / "tracks", jobs=1)
