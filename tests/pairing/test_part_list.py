"""Parts mixed anew into the same folder: former parts go with --force, files of other people never do."""

from pathlib import Path

import pytest

from audio.errors import OutputError
from pairing.sets.parts import Part
from pairing.workflow import partlist


def part(name: str) -> Part:
    return Part(name, f"{name}\nof the sea", "", (), 61.4, ())


def written(folder: Path, *names: str) -> None:
    """What the mixer leaves: the files, then the list of them."""
    former = partlist.listed(folder)
    for name in names:
        (folder / f"{name}.mp3").write_bytes(b"sound")
    partlist.renew(folder, [part(name) for name in names], ".mp3", former)


def left(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_fewer_parts_leave_none_of_the_former_ones(tmp_path: Path) -> None:
    written(tmp_path, "01 Tide", "02 Kelp", "03 Foam")
    (tmp_path / "03 Mine.mp3").write_bytes(b"a teacher's own")
    written(tmp_path, "01 Tide", "02 Sand")
    assert left(tmp_path) == ["01 Tide.mp3", "02 Sand.mp3", "03 Mine.mp3", "parts.m3u8"]
    assert (tmp_path / "03 Mine.mp3").read_bytes() == b"a teacher's own"


def test_the_list_plays_the_parts_in_their_order(tmp_path: Path) -> None:
    written(tmp_path, "01 Tide", "02 Kelp")
    assert (tmp_path / "parts.m3u8").read_text().splitlines() == [
        "#EXTM3U",
        "#EXTINF:61,01 Tide of the sea",
        "01 Tide.mp3",
        "#EXTINF:61,02 Kelp of the sea",
        "02 Kelp.mp3",
    ]


def test_old_and_new_parts_are_not_mingled_unasked(tmp_path: Path) -> None:
    partlist.refuse_to_mingle(tmp_path)
    partlist.refuse_to_mingle(tmp_path / "not there yet")
    (tmp_path / "01 Song.mp3").write_bytes(b"a teacher's own")
    partlist.refuse_to_mingle(tmp_path)
    written(tmp_path, "01 Tide")
    with pytest.raises(OutputError, match="holds the parts of a mix already"):
        partlist.refuse_to_mingle(tmp_path)


@pytest.mark.parametrize("line", ["../01 Far.mp3", "Song.mp3", "01 notes.txt", "/etc/01 x.mp3", "01 a/../../02 b.mp3"])
def test_a_list_that_names_other_files_takes_none_of_them_away(tmp_path: Path, line: str) -> None:
    folder = tmp_path / "parts"
    (folder / "01 a").mkdir(parents=True)
    target = Path(line) if line.startswith("/") else folder / line
    if not line.startswith("/"):
        target.write_bytes(b"a teacher's own")
    (folder / "parts.m3u8").write_text(f"#EXTM3U\n{line}\n")
    assert partlist.listed(folder) == ()
    written(folder, "01 Tide")
    assert line.startswith("/") or target.read_bytes() == b"a teacher's own"
