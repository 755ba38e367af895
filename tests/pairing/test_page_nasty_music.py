"""A folder of broken files and hostile names, scanned and looked at through the page: all answered, text only."""

import re
import sys
import time

import nasty
import pytest
from page_desk import Visitor

from pairing.page.desk import Desk

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="names of any bytes")

BROKEN = ("archive.mp3", "encrypted.m4a", "film.mp4", "letter.mp3", "no moov.m4a", "rate 1.wav", "silent.flac")
# C0 and C1 controls, turns of direction (Unicode Standard Annex 9), halves of characters
STEERING = re.compile("[\x00-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")


@pytest.fixture(scope="module")
def scanned(tmp_path_factory):
    """A desk whose library was made by the page's own scan of such a folder, and how the scan ended."""
    folder = tmp_path_factory.mktemp("desk")
    music = folder / "music"
    music.mkdir()
    nasty.make(music, BROKEN)
    visitor = Visitor(Desk(folder, folder / "library.sqlite")).enter()
    assert "error" not in visitor.do("scan", folder="music").json()
    end = time.monotonic() + 240
    while (job := visitor.get("/pulse").json()["job"])["state"] == "running":
        assert time.monotonic() < end
        time.sleep(0.1)
    return visitor, job


def test_every_file_is_used_or_left_out_with_its_reason(scanned):
    visitor, job = scanned
    assert job["state"] == "done"
    assert {each["file"] for each in job["result"]["left_out"]} == set(BROKEN)
    assert all(each["why"] for each in job["result"]["left_out"])
    library = visitor.get("/music").json()
    assert len(library["tracks"]) == len(nasty.NAMES)
    assert {row["file"] for row in library["unusable"]} == set(BROKEN)
    assert all(row["problem"] for row in library["unusable"])


def test_whatever_is_listed_can_be_looked_at_and_heard_or_says_why_not(scanned):
    visitor, _ = scanned
    library = visitor.get("/music").json()
    for row in library["tracks"]:
        assert visitor.get(f"/track/{row['id']}").status_code == 200
        assert visitor.get(f"/sound/track/{row['id']}").status_code == 200, row["file"]
    for row in library["unusable"]:
        assert visitor.get(f"/track/{row['id']}").json()["error"]
        sound = visitor.get(f"/sound/track/{row['id']}")
        assert (sound.status_code, sound.text) == (404, "there is no such track.\n")


def test_nothing_that_steers_a_screen_reaches_the_page(scanned):
    visitor, _ = scanned
    for view in ("/state", "/pulse", "/music", "/folders?at=music", "/rest"):
        answer = visitor.get(view)
        assert answer.status_code == 200
        steering = [text for text in texts(answer.json()) if STEERING.search(text)]
        assert not steering, view


def texts(value):
    """Every text in a JSON value, keys included."""
    if isinstance(value, str):
        yield value
    for each in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
        yield from texts(each)
    if isinstance(value, dict):
        yield from value
