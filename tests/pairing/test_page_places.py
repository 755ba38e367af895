"""The classes that were open last: listed, found again after a move, and never a reason to fail."""

import os

import pytest

from pairing.page import places


@pytest.fixture
def here(tmp_path, monkeypatch):
    home = tmp_path / "users" / "teacher"
    home.mkdir(parents=True)
    monkeypatch.setattr(places.platformdirs, "user_documents_path", lambda: home / "Documents")
    return home


def a_class(path, text="# One\n"):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text)
    places.note_opened(path)
    return path


def listed():
    return [each.path for each in places.known_classes()]


def test_the_last_one_opened_comes_first_and_each_once(here):
    one, two = a_class(here / "one.md", "1"), a_class(here / "two.md", "2")
    places.note_opened(one)
    assert sorted(listed()) == sorted([str(one), str(two)])
    assert places._read()[0].path == str(one)


@pytest.mark.parametrize(
    ("was", "to"),
    [
        ("terms/one.md", "Documents/Classes/one.md"),
        ("terms/one.md", "terms/autumn/one.md"),
        ("terms/one.md", "renamed.md"),
        ("one.md", "terms/one.md"),
    ],
)
def test_a_class_that_was_moved_or_renamed_is_found_again(here, was, to):
    a_class(here / was)
    (here / to).parent.mkdir(parents=True, exist_ok=True)
    (here / was).rename(here / to)
    assert listed() == [str(here / to)]


def test_one_that_was_changed_and_moved_is_found_by_its_name(here):
    was = a_class(here / "one.md")
    was.write_text("# One, changed\n")
    (here / "Documents/Classes").mkdir(parents=True)
    was.rename(here / "Documents/Classes/one.md")
    assert listed() == [str(here / "Documents/Classes/one.md")]


def test_a_folder_that_goes_while_it_is_looked_through_is_no_reason_to_fail(here, monkeypatch):
    was = a_class(here / "one.md")
    (here / "going").mkdir()
    (here / "there").mkdir()
    was.rename(here / "there" / "one.md")
    looked_into = os.scandir

    def gone_by_then(path="."):
        if os.fspath(path).endswith("going"):
            raise FileNotFoundError(2, "No such file or directory", path)
        return looked_into(path)

    monkeypatch.setattr(os, "scandir", gone_by_then)
    assert listed() == [str(here / "there/one.md")]


def test_of_two_that_might_be_it_neither_is_taken(here):
    was = a_class(here / "one.md")
    was.unlink()
    for folder in ("a", "b"):
        (here / folder).mkdir()
        (here / folder / "one.md").write_text(folder)
    assert listed() == []


def test_a_class_that_is_gone_is_not_listed(here):
    a_class(here / "one.md").unlink()
    assert listed() == []


@pytest.mark.parametrize("spoilt", ["", "{", "[1]", '[{"path": 1}]', "null", "\udcff"])
def test_a_spoilt_list_is_begun_again(here, spoilt):
    a_class(here / "one.md")
    places._file().write_bytes(spoilt.encode("utf-8", "surrogateescape"))
    assert listed() == []
    places.note_opened(here / "one.md")
    assert listed() == [str(here / "one.md")]


def test_a_list_that_cant_be_written_refuses_no_class(here, monkeypatch):
    monkeypatch.setattr(places, "_file", lambda: here / "one.md" / "classes.json")
    a_class(here / "one.md")
    assert listed() == []
