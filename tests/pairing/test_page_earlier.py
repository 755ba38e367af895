"""Earlier versions of a class: kept before much is changed, few of long ago, brought back whole; and classes to begin from."""

import base64
import shutil
from datetime import UTC, datetime, timedelta

import pytest

pytest.importorskip("starlette")
from page_desk import PLAN, Visitor, a_desk

from pairing.page import desk as desks
from pairing.page.desk import Desk
from pairing.page.versions import FOLDER, MOST, is_wrecked, keep, version, versions

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def origin(tmp_path_factory):
    folder = tmp_path_factory.mktemp("origin")
    a_desk(folder, tracks=30)
    return folder


@pytest.fixture
def visitor(origin, tmp_path, monkeypatch):
    monkeypatch.setattr(desks, "APART_S", 0.0)
    here = shutil.copytree(origin, tmp_path / "classes")
    return Visitor(Desk(here, here / "library.sqlite", here / "low-water.md")).enter()


def listed(visitor):
    return visitor.get("/versions").json()["versions"]


def held(visitor):
    return [(visitor.desk.folder / name).read_bytes() for name in ("low-water.md", "low-water.json")]


# ---- what a press may lose -----------------------------------------------------------------------------------------


PRESSES = {
    "everything deleted": ("plan", {"text": ""}),
    "another note pasted over": ("plan", {"text": "# Other\n## Float: rest, 5 minutes\n- savasana\n"}),
    "music chosen afresh": ("pair", {"prefer": "whole songs", "keep": False}),
    "a track left out": ("drop", {"n": 2}),
    "another rest": ("rest", {"minutes": 4, "silence": 2, "bell_start": True}),
    "a section's energy": ("energy", {"section": 2, "percent": 80}),
}


@pytest.mark.parametrize("press", PRESSES)
def test_what_a_press_changed_is_brought_back_to_the_byte_and_that_too(visitor, press):
    before = held(visitor)
    action, values = PRESSES[press]
    assert "error" not in visitor.do(action, **values).json()
    after = held(visitor)
    assert after != before
    (kept, *_) = listed(visitor)
    assert visitor.do("bring_back", version=kept["id"]).json()["plan"]["text"] == PLAN
    assert held(visitor) == before
    assert visitor.do("bring_back", version=listed(visitor)[0]["id"]).json()["plan"]
    assert held(visitor) == after


def test_what_somebody_else_wrote_is_kept_before_it_is_written_over(visitor):
    note = visitor.desk.folder / "low-water.md"
    note.write_text(PLAN + "- say: from elsewhere, 1 minute\n", encoding="utf-8")
    visitor.do("plan", text=PLAN.replace("18 breaths", "20 breaths"), overwrite=True)
    assert "from elsewhere" in version(visitor.desk.files, listed(visitor)[0]["id"]).content(note.name).decode()


def test_the_list_tells_what_is_otherwise_than_now(visitor):
    assert listed(visitor) == []
    visitor.do("plan", text=PLAN.replace("18 breaths", "20 breaths"))
    (kept,) = listed(visitor)
    assert (kept["note"], kept["music"]) == (True, False)
    assert kept["lines"] == len([line for line in PLAN.splitlines() if line])
    assert abs(datetime.fromisoformat(kept["kept"]) - datetime.now(UTC)) < timedelta(minutes=5)


@pytest.mark.parametrize("name", ["", "..", "../..", "2026-01-01 000000-000000", "low-water"])
def test_only_what_is_listed_is_brought_back(visitor, name):
    before = held(visitor)
    assert "no longer there" in visitor.do("bring_back", version=name).json()["error"]
    assert held(visitor) == before


def test_a_folder_that_cant_be_written_to_is_never_in_the_way(visitor):
    (visitor.desk.folder / FOLDER).write_text("a file where the folder would be")
    assert "error" not in visitor.do("plan", text="").json()
    assert (visitor.desk.folder / "low-water.md").read_bytes() == b""


# ---- how many --------------------------------------------------------------------------------------------------


def test_many_are_kept_of_late_and_few_of_long_ago(tmp_path):
    """A year of a change every day and then a change a minute: some of each, the first and the last among them."""
    note = tmp_path / "class.md"
    moments = [NOON + timedelta(days=day) for day in range(300)]
    moments += [moments[-1] + timedelta(minutes=minute) for minute in range(1, 60)]
    for number, now in enumerate(moments):
        note.write_text(f"- state {number}\n")
        keep((note,), now=now)
    kept = versions((note,))
    ages = sorted((moments[-1] - each.kept).total_seconds() for each in kept)
    assert len(kept) == MOST
    assert kept[0].content("class.md") == f"- state {len(moments) - 1}\n".encode()
    assert kept[-1].content("class.md") == b"- state 0\n"
    for low, high in ((0, 3600), (3600, 30 * 86_400), (30 * 86_400, 300 * 86_400)):
        assert sum(low <= age < high for age in ages) >= 3


def test_the_same_is_not_kept_twice_nor_what_is_typed_all_the_time(tmp_path):
    note = tmp_path / "class.md"
    for second in range(0, 601, 2):
        note.write_text(f"- state {second // 20}\n")
        keep((note,), apart_s=300, now=NOON + timedelta(seconds=second))
    assert [each.kept - NOON for each in versions((note,))[::-1]] == [timedelta(seconds=s) for s in (0, 300, 600)]
    keep((note,), now=NOON + timedelta(days=1))
    assert len(versions((note,))) == 3


def test_classes_of_one_folder_have_their_own(tmp_path):
    for name in ("one", "two"):
        (tmp_path / f"{name}.md").write_text(name)
        keep((tmp_path / f"{name}.md", tmp_path / f"{name}.json"), now=NOON)
    assert [each.content("one.md") for each in versions((tmp_path / "one.md",))] == [b"one"]
    assert versions((tmp_path / "three.md",)) == ()


@pytest.mark.parametrize(
    ("before", "after", "wrecked"),
    [
        ("a\nb\nc\nd", "a\nb\nc", False),
        ("a\nb\nc\nd", "d\nc\nb\na\ne", False),
        ("a\n\n\n\nb", "a\nb", False),
        ("a\nb\nc\nd", "a", True),
        ("a\nb\nc", "x\ny\nz", True),
    ],
)
def test_a_note_that_loses_three_lines_at_once_may_be_a_slip(before, after, wrecked):
    assert is_wrecked(before, after) is wrecked


# ---- classes to begin from -------------------------------------------------------------------------------------


def test_each_example_becomes_a_class_of_ones_own(visitor):
    for each in visitor.get("/examples").json()["examples"]:
        state = visitor.do("new", example=each["id"]).json()
        assert state["plan"]["name"] == f"{each['id']}.md"
        assert state["title"] == each["title"]
    assert visitor.do("new", example="yin-60").json()["plan"]["name"] == "yin-60 2.md"
    assert visitor.do("new", example="yin-60", name="sunday").json()["plan"]["name"] == "sunday.md"
    assert "exists already" in visitor.do("new", example="yin-60", name="sunday").json()["error"]
    assert "no example" in visitor.do("new", example="../demo-class").json()["error"]


TABLE = "pose,breaths,sides\ncat-cow,6,\nwarrior two,5,each side\n"  # as test_plan_files.py reads one


@pytest.mark.parametrize(
    ("name", "content", "read"),
    [
        (
            "flow.txt",
            "# Übung\n\n## Tide: flow\n- tree, 5 breaths\n".encode("latin-1"),
            "# Übung\n\n## Tide: flow\n- tree",
        ),
        ("flow.md", "tree 5 breaths\r\ncrow 3 breaths\r\n".encode("utf-16"), "tree 5 breaths\ncrow 3"),
        ("Tides at six.csv", TABLE.encode(), "# Tides at six"),
    ],
)
def test_a_class_from_elsewhere_is_brought_as_a_copy(visitor, name, content, read):
    for copy in ("", " 2"):
        state = visitor.do("bring_file", name=name, content=base64.b64encode(content).decode()).json()
        assert state["plan"]["name"] == f"{name.rpartition('.')[0]}{copy}.md"
        assert state["plan"]["text"].replace("\r", "").startswith(read)


@pytest.mark.parametrize("name", ["poster.pdf", "class", "class.docx", "../class.json"])
def test_what_is_no_note_and_no_table_is_not_brought(visitor, name):
    assert "Save it as text" in visitor.do("bring_file", name=name, content="YQ==").json()["error"]
    assert visitor.do("bring_file", name="class.md", content="no base64!").status_code == 400
