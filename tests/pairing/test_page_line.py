"""The one line through the page: its words follow what is there, and plan, class and what was written agree."""

import time

import pytest

pytest.importorskip("starlette")
from page_desk import BRIEF, PLAN, SHORT, Visitor, a_desk

from pairing.page.desk import Desk
from pairing.page.disk import plain_name
from pairing.sets.setfile import read_set


@pytest.fixture(scope="module")
def origin(tmp_path_factory):
    folder = tmp_path_factory.mktemp("origin")
    a_desk(folder, tracks=40, sounds=True)
    return folder


@pytest.fixture
def visitor(origin):
    for left in origin.glob("low-water.*"):
        keep = origin / f".{left.name}"
        if left.suffix in (".md", ".json"):
            keep.exists() or keep.write_bytes(left.read_bytes())
            left.write_bytes(keep.read_bytes())
        else:
            left.unlink()
    return Visitor(Desk(origin, origin / "library.sqlite", origin / "low-water.md")).enter()


def said(state):
    return {step["view"]: step["words"] for step in state["steps"]}


def finished(visitor):
    end = time.monotonic() + 120
    while (job := visitor.get("/pulse").json()["job"])["state"] == "running":
        assert time.monotonic() < end
        time.sleep(0.05)
    return job


# ---- what is next ------------------------------------------------------------------------------------------------


def test_from_nothing_to_ready_each_step_asks_for_the_next(tmp_path):
    visitor = Visitor(Desk(tmp_path, tmp_path / "library.sqlite")).enter()
    state = visitor.get("/state").json()
    assert [step["view"] for step in state["steps"]] == ["plan", "music", "class", "rest", "ready"]
    assert not any(step["done"] for step in state["steps"])
    assert state["next"]["view"] == "plan"
    a_desk(tmp_path, tracks=12, paired=False)
    visitor = Visitor(Desk(tmp_path, tmp_path / "library.sqlite", tmp_path / "low-water.md")).enter()
    state = visitor.get("/state").json()
    assert said(state)["music"].startswith("12 tracks, ")
    assert (state["next"]["view"], state["next"]["action"]) == ("class", "pair")
    state = visitor.do("pair", keep=False).json()
    assert state["next"]["view"] == "ready"
    state = visitor.do("plan", text=PLAN.replace("5 breaths", "6 breaths")).json()
    assert (state["next"]["view"], state["next"]["action"]) == ("class", "keep")
    assert said(state)["class"] == "the plan has changed since"
    state = visitor.do("plan", text=PLAN + "- warrior two, 5 breaths each side, wobble 3\n").json()
    assert said(state)["plan"] == f"{state['questions']} question{'s' if state['questions'] != 1 else ''}"
    assert state["next"]["view"] == "plan"


@pytest.mark.parametrize(("minutes", "words"), [(4, "it is too long"), (6, "left over"), (5, "it just fits")])
def test_the_plan_says_how_it_stands_to_the_time_there_is(tmp_path, minutes, words):
    note = f"# Short\nslot: {minutes} minutes\nbreath: 5 seconds\n\n## Tide: flow\n- warrior two, 58 breaths\n"
    (tmp_path / "short.md").write_text(note, "utf-8")
    state = Visitor(Desk(tmp_path, tmp_path / "library.sqlite", tmp_path / "short.md")).enter().get("/state").json()
    assert said(state)["plan"].endswith(words)


# ---- the rest, and the note that says it --------------------------------------------------------------------------


def test_after_a_change_of_the_rest_plan_and_class_agree_and_undo_takes_both_back(visitor):
    note, music = visitor.desk.plan_path.read_text("utf-8"), visitor.desk.set_path.read_bytes()
    state = visitor.do("rest", minutes=3.5, silence=0.5, bell_start=False, bell_end=True).json()
    outline = visitor.post("/outline", {"text": state["plan"]["text"]}).json()
    assert state["set"]["same_plan"]
    assert said(state)["plan"].startswith(state["set"]["class"])
    assert outline["class"] == state["set"]["class"]
    assert visitor.desk.plan_path.read_text("utf-8") == note.replace(
        "rest, 5 minutes, silent last 1 minutes", "rest, 3:30, silent last 0:30"
    )
    visitor.do("undo")
    assert visitor.desk.plan_path.read_text("utf-8") == note
    assert visitor.desk.set_path.read_bytes() == music
    visitor.do("redo")
    assert read_set(visitor.desk.set_path).rest.silence_s == 30


def test_a_rest_changed_under_a_plan_that_was_typed_in_since_leaves_the_note_alone(visitor):
    typed = PLAN.replace("18 breaths", "12 breaths")
    visitor.do("plan", text=typed)
    assert "error" not in visitor.do("rest", minutes=4, silence=1, bell_start=False, bell_end=True).json()
    assert visitor.desk.plan_path.read_text("utf-8") == typed


# ---- two tabs ----------------------------------------------------------------------------------------------------


def test_of_two_tabs_none_writes_over_what_the_other_typed(visitor):
    base = visitor.get("/state").json()["plan"]["mark"]
    assert "error" not in visitor.do("plan", text=PLAN + "> one\n", base=base).json()
    assert visitor.do("plan", text=PLAN + "> two\n", base=base).json()["conflict"] == "plan"
    assert visitor.desk.plan_path.read_text("utf-8") == PLAN + "> one\n"
    assert "error" not in visitor.do("plan", text=PLAN + "> two\n", base=base, overwrite=True).json()
    assert visitor.desk.plan_path.read_text("utf-8") == PLAN + "> two\n"


# ---- ready -------------------------------------------------------------------------------------------------------


def test_everything_is_written_in_one_go_and_known_as_of_this_version_until_the_class_changes(tmp_path):
    visitor = Visitor(a_desk(tmp_path, tracks=14, sounds=True, text=SHORT, lengths_s=BRIEF)).enter()
    assert "error" not in visitor.do("everything", ending=".wav", name="low-water").json()
    job = finished(visitor)
    assert job["state"] == "done", job
    state = visitor.get("/state").json()
    assert {(each["name"], each["age"]) for each in state["beside"]} == {
        ("mix", "this"),
        ("sheet", "this"),
        ("playlist", "this"),
    }
    assert "low-water.wav" in (tmp_path / "low-water.html").read_text("utf-8")
    assert said(state)["ready"].endswith("as the class is now")
    assert visitor.do("everything", ending=".wav", name="low-water").json()["conflict"] == "file"
    other = visitor.get("/alternatives/2").json()["alternatives"][0]["id"]
    state = visitor.do("swap", n=2, track=other).json()
    assert {each["age"] for each in state["beside"]} == {"other"}
    assert (said(state)["ready"], state["next"]["view"]) == ("3 files are not of the class as it is now", "ready")
    state = visitor.do("undo").json()
    assert {each["age"] for each in state["beside"]} == {"this"}


def test_a_sheet_written_without_a_mix_says_that_it_has_no_sound(visitor):
    assert "no sound" in visitor.do("write", kind="sheet", ending=".html", name="low-water").json()["told"]


@pytest.mark.parametrize(
    ("typed", "ending", "name"),
    [
        ("class", ".md", "class.md"),
        ("class.md", ".md", "class.md"),
        ("class.MD", ".md", "class.md"),
        ("class.mp3", ".flac", "class.flac"),
        ("class.html.html", ".html", "class.html"),
        ("Saturday: low/high?", ".mp3", "Saturday low high.mp3"),
        ("../../up", ".md", "up.md"),
        (".hidden", ".md", "hidden.md"),
        ("é ☾ ‮x", ".md", "é ☾ x.md"),
        ("v1.2 of it", ".md", "v1.2 of it.md"),
        ("a" * 900, ".md", "a" * 120 + ".md"),
    ],
)
def test_any_name_becomes_one_that_a_file_can_have(typed, ending, name):
    assert plain_name(typed, ending, (".mp3", ".html")) == name


# ---- music -------------------------------------------------------------------------------------------------------


def test_a_long_list_comes_in_parts_each_track_once(tmp_path):
    visitor = Visitor(a_desk(tmp_path, tracks=120, sounds=False)).enter()
    seen, shown = [], 0
    while True:
        part = visitor.get(f"/music?section=2&shown={shown}").json()
        seen += [row["id"] for row in part["tracks"]]
        shown = len(seen)
        assert part["count"] == 120
        if not part["more"]:
            break
    assert sorted(seen) == sorted(track.id for track in visitor.desk.tracks())
    for word in part["tempers"]:
        rows = visitor.get(f"/music?temper={word}").json()["tracks"]
        assert {row["temper"] for row in rows} <= {word}
