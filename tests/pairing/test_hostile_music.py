"""Music whose names and tags were made to act on what shows them, through every command: text and nothing more.

Formats of several channels and rates, wrong endings, samples that are no numbers and damaged packets are among it.
"""

import json
import re
import sys
from collections.abc import Iterator
from xml.etree import ElementTree

import nasty_songs
import pytest
from forked import Commands, Ended
from invented_music import track
from made import made_found

from audio.files.decode import Decoder
from audio.files.fingerprint import fingerprint
from audio.files.tags import read_tags
from audio.library import Library

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="names of any bytes, fork")

SONGS = 8
PLAN = """# Tide <b>"&amp;
slot: 3 minutes

## <i>Sit: opening, 35 seconds
- easy seat

## Rise: flow, 50 seconds, driving music
- warrior two

## Float: rest, 35 seconds, quiet music
- savasana
"""
# C0 and C1 controls but for line feeds, turns of direction (Unicode Standard Annex 9), halves of characters
STEERING = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")


@pytest.fixture(scope="module")
def commands(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Commands]:
    """Hostile songs, a library that knows them by invented numbers and what their tags say, and a set of them."""
    home = tmp_path_factory.mktemp("strange")
    (home / "Music").mkdir()
    nasty_songs.make(home / "Music", SONGS, (24, 40))
    with Library.open_or_create(home / "library.sqlite") as library:
        for number, path in enumerate(sorted((home / "Music").iterdir())):
            with Decoder(path) as decoder:
                assert sum(len(block.samples) for block in decoder.blocks())
            analysis = track(number, 0.1 + 0.08 * number, decoder.duration_s).analysis
            found = made_found(path, path.stat().st_size, path.stat().st_mtime_ns)
            library.store(found, fingerprint(path), read_tags(path), analysis)
    (home / "tide.md").write_text(PLAN)
    with Commands(home) as commands:
        said(commands.run("pair", "tide.md", "--out", "tide.json"))
        yield commands


def said(ended: Ended) -> str:
    assert ended.status in (0, 1), ended.said
    assert "Traceback" not in ended.said
    assert not STEERING.search(ended.said), ended.said
    return ended.said


def test_nothing_but_text_reaches_the_terminal(commands: Commands) -> None:
    assert "HYPERLINK" in said(commands.run("tracks"))
    listed = json.loads(said(commands.run("tracks", "--json")))
    assert len(listed) == SONGS
    for words in (("check", "tide.json"), ("swap", "tide.json", "2"), ("scan", "Music"), ("used", "tide.json")):
        said(commands.run(*words))
    said(commands.run("rest", "tide.json", "--out", "rest.json", "--silence", "0.2"))
    assert not (commands.home / "owned").exists()


def test_a_playlist_names_every_file_and_no_address(commands: Commands) -> None:
    picks = json.loads((commands.home / "tide.json").read_text())["picks"]
    said(commands.run("playlist", "tide.json", "--out", "tide.m3u8"))
    lines = (commands.home / "tide.m3u8").read_text().splitlines()
    assert not STEERING.search("\n".join(line for line in lines if line.startswith("#")))
    entries = [line for line in lines if not line.startswith("#")]
    assert len(entries) == len(picks)
    # RFC 3986, section 4.2: a relative reference has no colon before its first slash
    assert not [entry for entry in entries if re.match("[^/]*:", entry)]
    said(commands.run("playlist", "tide.json", "--out", "tide.xspf"))
    locations = [*ElementTree.parse(commands.home / "tide.xspf").iter("{http://xspf.org/ns/0/}location")]
    assert len(locations) == len(picks)


def test_a_playlist_inside_the_music_takes_no_name_for_an_address_or_a_comment(commands: Commands) -> None:
    said(commands.run("playlist", "tide.json", "--out", "Music/tide.m3u8"))
    try:
        lines = (commands.home / "Music" / "tide.m3u8").read_text().splitlines()
        assert not [line for line in lines if not line.startswith("#") and re.match("[^/]*:", line)]
        assert sum(not line.startswith("#") for line in lines) == len(
            json.loads((commands.home / "tide.json").read_text())["picks"]
        )
    finally:
        (commands.home / "Music" / "tide.m3u8").unlink()


def test_a_mix_its_chapters_and_its_parts(commands: Commands) -> None:
    said(commands.run("mix", "tide.json", "--out", "tide.wav"))
    cue = (commands.home / "tide.cue").read_text()
    assert not STEERING.search(cue)
    assert sum(line.startswith("FILE ") for line in cue.splitlines()) == 1
    said(commands.run("mix", "tide.json", "--parts", "parts", "--as", "flac"))
    made = json.loads((commands.home / "tide.json").read_text())
    parts = sorted((commands.home / "parts").iterdir())
    assert len(parts) == len(made["picks"])
    assert not [path for path in parts if re.search(r'[<>:"/\\|?*\x00-\x1f]', path.name)]  # Windows takes none of these
    for path in (commands.home / "tide.wav", *parts):
        with Decoder(path) as decoder:
            assert sum(len(block.samples) for block in decoder.blocks())
        assert decoder.notes == ()


def test_the_page_and_the_picture_hold_text_and_no_path_of_this_machine(commands: Commands) -> None:
    said(commands.run("sheet", "tide.json", "--out", "tide.html", "--picture", "tide.svg"))
    page, picture = ((commands.home / name).read_text() for name in ("tide.html", "tide.svg"))
    ElementTree.fromstring(picture)
    for text in (page, picture):
        assert not STEERING.search(text)
        assert "<script>alert" not in text
        assert "<img src=x" not in text
        assert str(commands.home) not in text
