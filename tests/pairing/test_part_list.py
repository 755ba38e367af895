"""Parts mixed anew into the same folder: former parts go with --force, files of other people never do."""

from pathlib import Path

import pytest

from audio.errors import OutputError
from pairing.sets.parts import MixPart
from pairing.workflow import partlist


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "parts"
    made.mkdir()
    return made


def part(name: str) -> MixPart:
    return MixPart(name, f"{name}\nof the sea", "", (), 61.4, ())


def written(folder: Path, *names: str) -> None:
    """What the mixer leaves: the files, then the list of them."""
    former = partlist.listed(folder)
    for name in names:
        (folder / f"{name}.mp3").write_bytes(b"sound")
    partlist.renew(folder, [part(name) for name in names], ".mp3", former)


def left(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_fewer_parts_leave_none_of_the_former_ones(folder: Path) -> None:
    written(folder, "01 Tide", "02 Kelp", "03 Foam")
    (folder / "03 Mine.mp3").write_bytes(b"a teacher's own")
    written(folder, "01 Tide", "02 Sand")
    assert left(folder) == ["01 Tide.mp3", "02 Sand.mp3", "03 Mine.mp3"]
    assert (folder / "03 Mine.mp3").read_bytes() == b"a teacher's own"


def test_the_list_plays_the_parts_in_their_order(folder: Path) -> None:
    written(folder, "01 Tide", "02 Kelp")
    assert partlist.list_of(folder).read_text().splitlines() == [
        "#EXTM3U",
        "#EXTINF:61,01 Tide of the sea",
        "parts/01 Tide.mp3",
        "#EXTINF:61,02 Kelp of the sea",
        "parts/02 Kelp.mp3",
    ]


def test_old_and_new_parts_are_not_mingled_unasked(folder: Path) -> None:
    partlist.refuse_to_mingle(folder)
    partlist.refuse_to_mingle(folder / "not there yet")
    (folder / "01 Song.mp3").write_bytes(b"a teacher's own")
    partlist.refuse_to_mingle(folder)
    written(folder, "01 Tide")
    with pytest.raises(OutputError, match="holds the parts of a mix already"):
        partlist.refuse_to_mingle(folder)


@pytest.mark.parametrize("line", ["../01 Far.mp3", "Song.mp3", "01 notes.txt", "/etc/01 x.mp3", "01 a/../../02 b.mp3"])
def test_a_list_that_names_other_files_takes_none_of_them_away(folder: Path, line: str) -> None:
    (folder / "01 a").mkdir()
    target = Path(line) if line.startswith("/") else folder / line
    if not line.startswith("/"):
        target.write_bytes(b"a teacher's own")
    partlist.list_of(folder).write_text(f"#EXTM3U\nparts/{line}\n/etc/01 x.mp3\n")
    assert partlist.listed(folder) == ()
    written(folder, "01 Tide")
    assert line.startswith("/") or target.read_bytes() == b"a teacher's own"


def test_the_folder_one_stands_in_has_its_list_too(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(folder)
    written(Path(), "01 Tide", "02 Kelp")
    assert "parts/01 Tide.mp3" in partlist.list_of(folder).read_text()
    written(Path(), "01 Tide")
    assert left(folder) == ["01 Tide.mp3"]
