"""Playlists against the published rules of XSPF version 1 and the habits of M3U."""

import re
from collections import Counter
from dataclasses import replace
from pathlib import Path
from urllib.parse import unquote_to_bytes, urlsplit
from xml.etree import ElementTree

import pytest
from show_class import an_arc, hostile_set, lengths_of

from pairing.show.playlist import m3u8, xspf

NS = "{http://xspf.org/ns/0/}"
# XSPF version 1 (xspf.org/spec, 4.1.1 and 4.1.1.2): elements of playlist and of track, and which may come once only
ONCE_IN_PLAYLIST = {"title", "creator", "annotation", "info", "location", "identifier", "image", "date", "license",
                    "attribution", "trackList"}  # fmt: skip
ONCE_IN_TRACK = {"title", "creator", "annotation", "info", "image", "album", "trackNum", "duration"}
OFTEN = {"link", "meta", "extension"}
OFTEN_IN_TRACK = OFTEN | {"location", "identifier"}


@pytest.fixture(scope="module")
def hostile(timetable):
    return hostile_set(timetable, an_arc(timetable))


def check_xspf(text: str) -> list[ElementTree.Element]:
    """Hold a document against the rules; give its tracks."""
    root = ElementTree.fromstring(text.encode())
    assert root.tag == f"{NS}playlist"
    assert root.attrib == {"version": "1"}
    names = Counter(child.tag for child in root)
    assert {name.removeprefix(NS) for name in names} <= ONCE_IN_PLAYLIST | OFTEN
    assert all(names[NS + name] <= 1 for name in ONCE_IN_PLAYLIST)
    assert names[f"{NS}trackList"] == 1  # "MUST contain one and only one trackList element"
    tracks = list(root.find(f"{NS}trackList"))
    for track in tracks:
        assert track.tag == f"{NS}track"
        inner = Counter(child.tag for child in track)
        assert {name.removeprefix(NS) for name in inner} <= ONCE_IN_TRACK | OFTEN_IN_TRACK
        assert all(inner[NS + name] <= 1 for name in ONCE_IN_TRACK)
        assert all(re.fullmatch(r"\d+", d.text) for d in track.iter(f"{NS}duration"))  # nonNegativeInteger
        for location in track.iter(f"{NS}location"):
            assert re.fullmatch(r"[A-Za-z0-9\-._~:/?#\[\]@!$&'()*+,;=%]+", location.text)  # RFC 3986, appendix A
    return tracks


def test_xspf_keeps_the_rules_and_names_each_track_once(setlist, tmp_path):
    tracks = check_xspf(xspf(setlist, tmp_path, tmp_path / "class.xspf", lengths_s=lengths_of(setlist)))
    assert [t.findtext(f"{NS}title") for t in tracks] == [p.title for p in setlist.picks]
    assert [t.findtext(f"{NS}creator") for t in tracks] == [p.artist for p in setlist.picks]
    lengths = lengths_of(setlist)
    assert [int(t.findtext(f"{NS}duration")) for t in tracks] == [
        round(1000 * lengths[p.track_id]) for p in setlist.picks
    ]


def test_xspf_of_hostile_names_is_still_xspf_and_finds_the_files(hostile, tmp_path):
    tracks = check_xspf(xspf(hostile, tmp_path, tmp_path / "class.xspf"))
    for track, pick in zip(tracks, hostile.picks, strict=True):
        location = track.findtext(f"{NS}location")
        assert not urlsplit(location).scheme
        assert unquote_to_bytes(location).decode("utf-8", "surrogateescape") == pick.path


def test_an_empty_set_has_an_empty_track_list(setlist, tmp_path):
    assert check_xspf(xspf(replace(setlist, picks=()), tmp_path, tmp_path / "class.xspf")) == []


def entries(text: str) -> list[str]:
    return [line for line in text.split("\n") if line and not line.startswith("#")]


def test_m3u8_starts_as_readers_expect_and_points_at_the_files(setlist, tmp_path):
    text = m3u8(setlist, tmp_path, tmp_path / "class.m3u8", lengths_s=lengths_of(setlist))
    lines = text.split("\n")
    assert lines[0] == "#EXTM3U"
    assert not text.startswith("\ufeff")
    assert entries(text) == [p.path for p in setlist.picks]
    infos = [line for line in lines if line.startswith("#EXTINF:")]
    first = setlist.picks[0]
    assert infos[0] == f"#EXTINF:{round(lengths_of(setlist)[first.track_id])},{first.artist} - {first.title}"
    assert len(infos) == len(setlist.picks)


def test_a_length_that_is_not_known_is_minus_one(setlist, tmp_path):
    assert "#EXTINF:-1," in m3u8(setlist, tmp_path, tmp_path / "class.m3u8")


def test_a_list_in_another_folder_names_files_by_their_whole_path(setlist, tmp_path):
    text = m3u8(setlist, tmp_path / "sets", tmp_path / "out" / "class.m3u8")
    assert entries(text)[0] == str(tmp_path / "sets" / setlist.picks[0].path)
    tracks = check_xspf(xspf(setlist, tmp_path / "sets", tmp_path / "out" / "class.xspf"))
    assert tracks[0].findtext(f"{NS}location").startswith("file:///")


def test_m3u8_of_hostile_names_has_one_entry_a_track_and_no_control(hostile, tmp_path):
    text = m3u8(hostile, tmp_path, tmp_path / "class.m3u8")
    assert len(entries(text)) == len(hostile.picks)
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f]", text)
    text.encode("utf-8")


@pytest.mark.parametrize("name", ["#1 hit.mp3", " leading.mp3", "trailing .mp3 ", "new\nline.mp3", "\udcff.mp3"])
def test_an_entry_that_would_not_read_as_a_path_is_written_so_that_it_does(setlist, tmp_path, name):
    pick = replace(setlist.picks[0], path=name)
    (entry,) = entries(m3u8(replace(setlist, picks=(pick,)), tmp_path, tmp_path / "class.m3u8"))
    assert not entry.startswith(("#", " "))
    assert Path(entry).name == name or unquote_to_bytes(entry).decode("utf-8", "surrogateescape") == name
