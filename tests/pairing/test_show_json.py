"""JSON with the keys and nulls that people script against."""

import json
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

import numpy as np
from show_class import FINDINGS, a_class, an_analysis, an_arc

from audio.track import Tags, Track, UnusableTrack
from pairing.model import Arc, Finding, Plan, Where
from pairing.show.asjson import as_text, plan_json, tracks_json

TRACK_KEYS = [
    "id", "path", "title", "artist", "album", "duration_s", "tempo_bpm", "tempo_confidence", "key", "loudness_lufs",
    "loudness_range_lu", "true_peak_dbtp", "rise_lu", "mean_energy", "voice_share", "voice_kind", "shape", "marks", "problem", "notes",
]  # fmt: skip
CURVE_KEYS = ["energy", "voice", "speech", "loudness", "beats_s", "cut_points_s"]
PLAN_KEYS = [
    "title", "duration_s", "shortest_s", "longest_s", "slot_s", "available_s", "spare_s", "fits", "sections", "steps",
    "demand_mets", "effort_mets", "arc", "taken_as", "lines", "findings",
]  # fmt: skip


def a_track(**changes):
    analysis = replace(an_analysis(200.0, 96.0), **changes)
    marks = MappingProxyType({"energy": "0.4"})
    return Track(7, "f7", Path("music/x.mp3"), Tags("X", "Y", "Z"), analysis, marks=marks)


def test_a_track_has_the_keys_of_the_contract_in_order():
    (value,) = tracks_json([a_track()])
    assert list(value) == TRACK_KEYS
    (value,) = tracks_json([a_track()], curves=True)
    assert list(value) == TRACK_KEYS + CURVE_KEYS
    assert len(value["energy"]) == 200
    assert value["cut_points_s"] == [0, 200]


def test_what_is_no_number_is_null():
    silent = a_track(loudness_lufs=float("-inf"), tempo_bpm=None, key=None, rise_lu=float("nan"))
    (value,) = tracks_json([silent])
    assert value["loudness_lufs"] is value["tempo_bpm"] is value["key"] is value["rise_lu"] is None
    json.loads(as_text(value), parse_constant=lambda word: 1 / 0)


def test_a_file_that_cannot_be_used_keeps_its_reason_and_all_keys():
    broken = UnusableTrack(8, "f8", Path("music/\udcff.mp3"), Tags(), "is empty.")
    (value,) = tracks_json([broken], curves=True)
    assert list(value) == TRACK_KEYS + CURVE_KEYS
    assert value["problem"] == "is empty."
    assert json.loads(as_text(value))["path"] == "music/\udcff.mp3"


class Slot:
    available_s = 3420.0
    spare_s = -180.0
    fits = "too long"


def test_a_plan_has_the_keys_of_the_contract():
    timetable = a_class(60)
    arc = an_arc(timetable)
    taken = Finding("note", "taken-as", Where("a.md", 3), "crescent was taken as high lunge.")
    plan = Plan("Harbour", (), slot_s=3600, taken_as=(taken,))
    value = plan_json(plan, timetable, arc, Slot(), (*FINDINGS, taken))
    assert list(value) == PLAN_KEYS
    assert list(value["sections"][0]) == ["name", "kind", "start_s", "end_s", "mean_mets", "passes"]
    assert list(value["sections"][0]["passes"][0]) == ["round", "side", "start_s", "end_s"]
    assert list(value["steps"][0]) == ["pose", "start_s", "end_s", "breaths", "side", "round", "line", "note"]
    assert list(value["findings"][0]) == ["level", "code", "where", "message", "remedy"]
    assert [f["code"] for f in value["taken_as"]] == ["taken-as"]
    assert len(value["findings"]) == len(FINDINGS)  # what was taken stands in its own list
    assert len(value["arc"]) == len(value["effort_mets"]) == len(value["demand_mets"]) == 3600
    assert (value["available_s"], value["spare_s"], value["fits"]) == (3420.0, -180.0, "too long")


def test_seconds_without_music_are_null_in_the_arc():
    timetable = a_class(60)
    arc = an_arc(timetable)
    target = arc.target_energy.copy()
    target[-60:] = np.nan
    value = plan_json(Plan("", ()), timetable, Arc(arc.demand_mets, arc.felt_mets, target), None, ())
    assert value["arc"][-60:] == [None] * 60
    assert value["arc"][0] is not None
    assert value["fits"] is value["spare_s"] is value["slot_s"] is None
    json.loads(as_text(value), parse_constant=lambda word: 1 / 0)


def test_no_control_character_of_a_tag_leaves_as_such():
    tagged = replace(a_track(), tags=Tags("\x1b[31mred\x9b0m\u202e", "", ""))
    text = as_text(tracks_json([tagged]))
    assert text.isascii()
    assert "\x1b" not in text
    assert json.loads(text)[0]["title"] == "\x1b[31mred\x9b0m\u202e"
