"""Sets as files: what is written reads back, and nothing a stranger writes does harm."""

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from audio.errors import ArcbedError
from pairing.errors import SetError
from pairing.model import (
    Finding,
    Fit,
    Kind,
    MakeRest,
    PairOptions,
    Passage,
    Pick,
    Rest,
    Rule,
    SectionTime,
    SetFrame,
    SetList,
    SetPlan,
    Swap,
    Where,
    Wishes,
)
from pairing.sets.codec import schema, to_json
from pairing.sets.history import changed
from pairing.sets.setfile import read_set, write_set

CONTRACT_KEYS = [
    "format", "version", "title", "plan", "options", "frame", "class_s", "slot_s", "sections", "arc", "target_energy",
    "played_energy", "fit", "rest", "picks", "findings", "previous",
]  # fmt: skip
CONTRACT_PICK = [
    "n", "track_id", "fingerprint", "path", "title", "artist", "class_start_s", "class_end_s", "track_start_s",
    "track_end_s", "fade_in_s", "fade_out_s", "gain_db", "section", "pinned", "why",
]  # fmt: skip


def a_set(folder: Path, **changes: object) -> SetList:
    passes = (Passage(1, "right", 0.0, 50.0), Passage(1, "left", 50.0, 100.0))
    sections = (
        SectionTime("Tide", Kind.FLOW, 0.0, 100.0, passes, 5.0, 3.1, Wishes()),
        SectionTime("Float", Kind.REST, 100.0, 190.5, (Passage(1, None, 100.0, 190.5),), 6.0, 1.0, Wishes()),
    )
    arc = np.full(191, 0.5, np.float32)
    arc[180:] = np.nan
    picks = (
        Pick(1, 7, "aa", str(folder / "m" / "a.mp3"), "Ä", "B", 0.0, 112.0, 3.25, 0.0, 12.0, -3.5, "Tide", True, "w"),
        Pick(2, 9, "bb", "/elsewhere/b.flac", "b", "", 100.0, 180.5, 0.0, 12.0, 20.0, -8.0, "Float"),
    )
    frame = SetFrame(rules=(Rule(0.0, 190.5, 0),), silent_s=((180.5, 190.5),))
    values: dict[str, object] = {
        "title": "Harbour", "plan": SetPlan(str(folder / "p.md"), "# Harbour\n", "0" * 64),
        "options": PairOptions(), "frame": frame, "class_s": 190.5, "slot_s": None, "sections": sections,
        "arc": arc, "target_energy": arc.copy(), "played_energy": arc.copy(), "fit": Fit(0.05, 0.04, 0.01, 0.9),
        "rest": Rest(100.0, 190.5, (190.5,), 10.0, -28.0), "picks": picks,
        "findings": (Finding("note", "n", Where(tracks=(2,)), "m", "Take another.", deeds=(Swap(2), MakeRest(silent=True))),),
    }  # fmt: skip
    made = SetList(**(values | changes))  # type: ignore[arg-type]
    return made if "previous" in changes else changed(replace(made, picks=made.picks[:1]), made, "adding a track")


def test_a_set_has_the_keys_of_the_contract(tmp_path: Path) -> None:
    value = to_json(a_set(tmp_path), tmp_path)
    assert list(value) == CONTRACT_KEYS
    assert [list(pick) for pick in value["picks"]] == [CONTRACT_PICK] * 2  # type: ignore[attr-defined]


def test_a_set_reads_back_as_it_was_written(tmp_path: Path) -> None:
    path = tmp_path / "s.json"
    made = a_set(tmp_path)
    write_set(made, path)
    read = read_set(path)
    assert read.picks == made.picks
    for name in ("rest", "fit", "findings", "options", "frame", "sections"):
        assert getattr(read, name) == getattr(made, name)
    assert read.plan == replace(made.plan, path="p.md")
    assert [(each.what, each.was.picks) for each in read.previous] == [("adding a track", made.picks[:1])]
    write_set(read, tmp_path / "again.json")
    assert (tmp_path / "again.json").read_bytes() == path.read_bytes()


def test_paths_below_the_file_are_relative_with_slashes_others_absolute(tmp_path: Path) -> None:
    value = to_json(a_set(tmp_path), tmp_path)
    assert [pick["path"] for pick in value["picks"]] == ["m/a.mp3", "/elsewhere/b.flac"]  # type: ignore[attr-defined]


def test_silence_is_null_and_a_span_is_as_long_in_the_class_as_in_the_track(tmp_path: Path) -> None:
    value = json.loads(json.dumps(to_json(a_set(tmp_path), tmp_path)))
    assert value["arc"][180:] == [None] * 11
    for pick in value["picks"]:
        assert pick["track_end_s"] - pick["track_start_s"] == pytest.approx(pick["class_end_s"] - pick["class_start_s"])


def test_a_file_name_that_is_not_utf8_survives(tmp_path: Path) -> None:
    odd = "/music/\udcff\n\"<b>&'.mp3"
    _, second = a_set(tmp_path).picks
    made = a_set(tmp_path, picks=(Pick(1, 7, "aa", odd, odd, "", 0, 112, 3.25, 0, 12, -3.5, "Tide"), second))
    write_set(made, tmp_path / "s.json")
    (tmp_path / "s.json").read_bytes().decode("utf-8")
    assert read_set(tmp_path / "s.json").picks[0].path == odd


# Changes of a sound file, and the place that the message has to name.
DAMAGE = [
    (("format",), "other-set", "format"),
    (("version",), 99, "newer"),
    (("class_s",), -1, "class_s"),
    (("class_s",), 1e9, "class_s"),
    (("class_s",), True, "class_s"),
    (("arc",), [0.5], "arc"),
    (("arc", 3), "x", r"arc\[3\]"),
    (("sections",), [], "sections"),
    (("sections", 0, "kind"), "dance", r"sections\[0\].kind"),
    (("picks", 0, "gain_db"), 1e6, r"picks\[0\].gain_db"),
    (("picks", 0, "path"), "", r"picks\[0\].path"),
    (("picks", 0, "path"), "a\0b", r"picks\[0\].path"),
    (("picks", 0, "path"), ["a"], r"picks\[0\].path"),
    (("picks", 1, "n"), 5, r"picks\[1\].n"),
    (("picks", 1, "class_end_s"), 20.0, r"picks\[1\].class_end_s"),
    (("picks", 1, "class_start_s"), -5.0, r"picks\[1\].class_start_s"),
    (("picks", 0, "fade_in_s"), 1000, r"picks\[0\].fade_in_s"),
    (("rest", "end_s"), 50, "rest.end_s"),
    (("options", "prefer"), "loud", "options.prefer"),
    (("frame", "rules"), {}, "frame.rules"),
    (("frame", "rules", 0, "end_s"), -5, r"frame.rules\[0\].end_s"),
    (("frame", "silent_s"), [[100, 200], [-1, 100.5]], "frame.silent_s"),
    (("findings", 0, "about"), {"line": "x"}, r"findings\[0\].where.line"),
    (("findings", 0, "deeds"), [{"type": "dance"}], r"findings\[0\].deeds\[0\]"),
    (("findings", 0, "level"), "fatal", r"findings\[0\].level"),
    (("previous", 0, "was"), 3, r"previous\[0\].was"),
    (("previous", 0, "was"), {"picks": 3}, r"previous\[0\].was.picks"),
    (("previous", 0, "was"), {"class_s": 20.0}, r"previous\[0\].was.arc"),
]


@pytest.mark.parametrize(("place", "value", "said"), DAMAGE)
def test_a_damaged_set_is_refused_with_the_place(
    tmp_path: Path, place: tuple[str | int, ...], value: object, said: str
) -> None:
    whole = json.loads(json.dumps(to_json(a_set(tmp_path), tmp_path)))
    holder = whole
    for key in place[:-1]:
        holder = holder[key]
    holder[place[-1]] = value
    path = tmp_path / "s.json"
    path.write_text(json.dumps(whole), "utf-8")
    with pytest.raises(SetError, match=said):
        read_set(path)


@pytest.mark.parametrize("text", ["", "{", "[]", "null", "[" * 100_000, '{"format": NaN}'])
def test_what_is_no_set_is_refused(tmp_path: Path, text: str) -> None:
    (tmp_path / "s.json").write_text(text)
    with pytest.raises(SetError):
        read_set(tmp_path / "s.json")


@pytest.mark.parametrize("name", ["missing.json", "."])
def test_what_is_no_file_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(SetError):
        read_set(tmp_path / name)


@settings(max_examples=80, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(data=st.data())
def test_a_file_changed_anywhere_is_read_or_refused_in_words(tmp_path: Path, data: st.DataObject) -> None:
    whole = json.loads(json.dumps(to_json(a_set(tmp_path), tmp_path)))
    junk = st.one_of(
        st.none(),
        st.booleans(),
        st.integers(),
        st.floats(),
        st.text(max_size=5),
        st.lists(st.integers(), max_size=3),
        st.dictionaries(st.text(max_size=3), st.integers(), max_size=2),
    )
    holder, key = whole, data.draw(st.sampled_from(sorted(whole)))
    while isinstance(holder[key], dict | list) and holder[key] and data.draw(st.booleans()):
        holder = holder[key]
        key = data.draw(st.sampled_from(sorted(holder) if isinstance(holder, dict) else range(len(holder))))
    holder[key] = data.draw(junk)
    path = tmp_path / "s.json"
    path.write_text(json.dumps(whole, allow_nan=True), "utf-8")
    try:
        read = read_set(path)
    except ArcbedError:
        return  # in words; anything else fails the test
    else:
        assert all(math.isfinite(pick.class_end_s) for pick in read.picks)
        write_set(read, tmp_path / "again.json")


STORED = Path(__file__).parent / "stored"


@pytest.mark.parametrize("version", [1])
def test_a_set_of_a_former_version_opens_and_is_written_as_one_of_today(tmp_path: Path, version: int) -> None:
    stored = STORED / f"set-version-{version}.json"
    then, read = json.loads(stored.read_text("utf-8")), read_set(stored)
    write_set(read, tmp_path / "now.json")
    now = json.loads((tmp_path / "now.json").read_text("utf-8"))
    for name in ("title", "class_s", "slot_s", "arc", "target_energy", "played_energy", "fit", "rest", "findings"):
        assert now[name] == then[name]
    for one, other in zip(then["picks"], now["picks"], strict=True):
        assert one | {"path": ""} == other | {"path": ""}
    assert now["frame"] == then["options"]["frame"] | {"songs": [], "moments": [], "spoken_s": []}
    assert [each.wishes.same_music for each in read.sections] == [each["same_music"] for each in then["sections"]]


@pytest.mark.parametrize("damage", [{"options": 3}, {"sections": 3}, {"sections": [3]}, {"options": {"frame": []}}])
def test_a_damaged_set_of_a_former_version_is_refused(tmp_path: Path, damage: dict[str, object]) -> None:
    then = json.loads((STORED / "set-version-1.json").read_text("utf-8"))
    (tmp_path / "s.json").write_text(json.dumps(then | damage), "utf-8")
    with pytest.raises(SetError, match="|".join([*damage, "frame"])):
        read_set(tmp_path / "s.json")


def test_a_long_history_is_short_in_the_file_and_whole_when_read(tmp_path: Path) -> None:
    setlist = a_set(tmp_path, previous=())
    for n in range(60):
        picks = (replace(setlist.picks[0], gain_db=-float(n)), setlist.picks[1])
        setlist = changed(setlist, replace(setlist, picks=picks), f"step {n}")
    write_set(setlist, tmp_path / "s.json")
    states = json.loads((tmp_path / "s.json").read_text("utf-8"))["previous"]
    assert [list(state["was"]) for state in states] == [["picks"]] * 50
    read = read_set(tmp_path / "s.json")
    assert [(each.what, each.was.picks) for each in read.previous] == [
        (each.what, each.was.picks) for each in setlist.previous
    ]
    assert all(np.array_equal(each.was.arc, setlist.arc, equal_nan=True) for each in read.previous)


SCHEMA = Path(__file__).parents[2] / "docs" / "setfile.schema.json"


def test_a_written_set_follows_the_published_schema(tmp_path: Path) -> None:
    # JSON Schema, draft 2020-12, judged by an independent implementation
    jsonschema = pytest.importorskip("jsonschema")
    published = json.loads(SCHEMA.read_text("utf-8"))
    assert published == json.loads(json.dumps(schema())), "python tests/docs/quoted.py writes it anew"
    jsonschema.Draft202012Validator.check_schema(published)
    write_set(a_set(tmp_path), tmp_path / "s.json")
    jsonschema.Draft202012Validator(published).validate(json.loads((tmp_path / "s.json").read_text("utf-8")))


@pytest.mark.parametrize(("place", "value"), [(("class_s",), -1), (("picks", 0, "why"), None), (("arc", 3), "x")])
def test_the_published_schema_refuses_what_is_wrong(
    tmp_path: Path, place: tuple[str | int, ...], value: object
) -> None:
    jsonschema = pytest.importorskip("jsonschema")
    whole = json.loads(json.dumps(to_json(a_set(tmp_path), tmp_path)))
    holder = whole
    for key in place[:-1]:
        holder = holder[key]
    holder[place[-1]] = value
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(whole, json.loads(SCHEMA.read_text("utf-8")))
