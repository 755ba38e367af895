"""Titles of strangers as chapter marks: read back from the file by other libraries, they are text and nothing more."""

import re

import av
import numpy as np
import pytest
from mutagen.id3 import ID3
from show_class import HOSTILE, a_class, an_arc, hostile_set

from audio.files.encode import Encoder
from audio.files.tags import Chapter
from pairing.sets.mixdown import chapters

STEERING = re.compile("[\x00-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")


@pytest.fixture(scope="module")
def marks():
    timetable = a_class(60)
    setlist = hostile_set(timetable, an_arc(timetable))
    return [Chapter(n / 2, (n + 1) / 2, chapter.title) for n, chapter in enumerate(chapters(setlist))]


def written(path, marks):
    with Encoder(path, title=HOSTILE[0], artist=HOSTILE[7], chapters=marks) as encoder:
        encoder.write(np.zeros((22050 * len(marks), 2), np.float32))
    return path


def test_in_mp3(tmp_path, marks):
    tags = ID3(written(tmp_path / "mix.mp3", marks))
    titles = [frame.sub_frames["TIT2"].text[0] for frame in tags.getall("CHAP")]
    assert len(titles) == len(HOSTILE)
    assert titles[0] == f"{HOSTILE[0]}: {HOSTILE[0]}"  # markup is text here
    assert not [title for title in titles if STEERING.search(title)]
    assert tags["TIT2"].text == [HOSTILE[0]]
    assert not STEERING.search(tags["TPE1"].text[0])


@pytest.mark.parametrize("ending", ["m4a", "ogg", "opus"])
def test_in_other_kinds(tmp_path, marks, ending):
    with av.open(str(written(tmp_path / f"mix.{ending}", marks))) as file:
        titles = [chapter["metadata"].get("title", "") for chapter in file.chapters()]
    assert len(titles) == len(HOSTILE)
    assert titles[0] == f"{HOSTILE[0]}: {HOSTILE[0]}"
    assert not [title for title in titles if STEERING.search(title)]


def test_in_the_cue_file_beside_a_wav_no_title_ends_its_line(tmp_path, marks):
    written(tmp_path / "mix.wav", marks)
    lines = (tmp_path / "mix.cue").read_text(encoding="utf-8").split("\n")
    titles = [line for line in lines if line.startswith("    TITLE ")]
    assert len(titles) == len(HOSTILE)
    assert all(re.fullmatch('    TITLE "[^"]*"', line) for line in titles)
    assert not [line for line in lines if STEERING.search(line)]
