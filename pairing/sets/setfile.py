"""Set files: written whole, and read with every value checked; docs/setfile.schema.json describes them.

A set file may come from a stranger: everything is checked, nothing in it is run, and the only files it can name are
the recordings of its picks, which `mixdown` looks at before anything opens them, and a plan below its own folder.
"""

import json
import math
import os
import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from audio.files.whole import write_text
from pairing.alignment.options import PREFERENCES
from pairing.errors import SetError
from pairing.model import Curve, Finding, Fit, Kind, Passage, Pick, Rest, SectionTime, SetList, Wishes
from pairing.sets.jsonvalue import Value, load
from pairing.sets.setjson import FORMAT, VERSION, fit_json, pick_json, rest_json, times_json, times_values, to_json

CURVES = ("arc", "target_energy", "played_energy")
LONGEST_CLASS_S = 24 * 3600.0
MOST_PICKS = 2000
MOST_STATES = 20  # earlier states kept for undo
LONGEST_PLAN = 1_000_000
SLACK_S = 0.01


def write_set(setlist: SetList, path: Path) -> None:
    """Write a set, whole or not at all; paths below the file's folder become relative.

    Raises:
        OutputError: it can't be written.
    """
    values = to_json(setlist, path.absolute().parent)
    curves = {name: json.dumps(values[name], allow_nan=False) for name in CURVES}
    text = json.dumps(values | dict.fromkeys(CURVES, ()), ensure_ascii=False, indent=1, allow_nan=False)
    # One line a list of numbers: a person who opens the file finds the picks.
    text = re.sub(r"\[\s+((?:-?[\d.e+-]+|null)(?:,\s+(?:-?[\d.e+-]+|null))*)\s+\]", _one_line, text)
    for name, curve in curves.items():  # put in last: laid out like the rest they take most of the time
        text = text.replace(f'\n "{name}": []', f'\n "{name}": {curve}', 1)
    # File names that aren't UTF-8 hold lone surrogates; as escapes the file stays valid UTF-8.
    text = re.sub("[\ud800-\udfff]", lambda match: f"\\u{ord(match[0]):04x}", text)
    write_text(path, text + "\n")


def read_set(path: Path) -> SetList:
    """Read a set; paths in it become absolute.

    Raises:
        SetError: the file isn't a set, is damaged, or was made by a newer version; says where.
    """
    return _set(load(path), path.absolute().parent)


def plan_beside(setlist: SetList, base: Path) -> Path | None:
    """The note that the set was made from, if it still lies in the set's folder or below.

    A stranger's set could name any file of this machine as its plan, so no other is opened.
    """
    folder, path = os.path.realpath(base), Path(os.path.realpath(base / setlist.plan_path.replace("\0", "")))
    if not path.is_relative_to(folder) or not path.is_file() or path.stat().st_size > LONGEST_PLAN:
        return None
    return base / setlist.plan_path


def state(setlist: SetList, *, times: bool = False) -> dict[str, object]:
    """What a change of a set may change, as plain values, to be put back by `restored`.

    Args:
        times: with the class's length and all that lies in it, for a change that moves them.
    """
    return ({"times": times_json(setlist)} if times else {}) | {
        "picks": [pick_json(pick) for pick in setlist.picks],
        "rest": rest_json(setlist.rest),
        "fit": fit_json(setlist.fit),
        "silent_s": _frame_of(setlist)["silent_s"],
    }


def picks_of(state: Mapping[str, object]) -> tuple[Pick, ...]:
    """The picks of an earlier state."""
    return _picks(Value(state, "previous", "set")["picks"], Path())


def restored(setlist: SetList, state: Mapping[str, object]) -> SetList:
    """A set with an earlier state of its picks, rest and fit; curves are left for the caller to make again."""
    value = Value(state, "previous", "set")
    times = value.get("times")
    if times is not None:
        setlist = replace(setlist, **_times(times, setlist.options))
    silent = [[one.number(*_OUTSIDE) for one in edges.pair()] for edges in value["silent_s"].items(MOST_PICKS)]
    options = setlist.options | {"frame": _frame_of(setlist) | {"silent_s": silent}}
    return replace(
        setlist,
        options=options,
        picks=_picks(value["picks"], Path()),
        rest=_rest(value, setlist.class_s),
        fit=_fit(value["fit"]),
    )


_OUTSIDE = (-LONGEST_CLASS_S, 2 * LONGEST_CLASS_S)  # class times, music before and after the class included


def _frame_of(setlist: SetList) -> dict[str, object]:
    stored = setlist.options["frame"]
    assert isinstance(stored, dict)
    return stored


def _one_line(match: re.Match[str]) -> str:
    return "[" + re.sub(r"\s+", " ", match[1]) + "]"


# ---- reading -----------------------------------------------------------------------------------------------------


def _set(value: Value, base: Path) -> SetList:
    value["format"].one_of([FORMAT])
    version = value["version"].whole(1, 10**6)
    if version > VERSION:
        raise SetError(f"this set was made by a newer arcbed (version {version}).", remedy="Update arcbed.")
    class_s = value["class_s"].number(0.001, LONGEST_CLASS_S)
    length = math.ceil(class_s)
    sections = tuple(_section(item, class_s) for item in value["sections"].items(500))
    if not sections:
        raise value["sections"].wrong("a list of at least one section")
    options = _options(value["options"], len(sections))
    if _is_silent_throughout(options, class_s):
        raise value["options"]["frame"]["silent_s"].wrong("stretches that leave some of the class to the music")
    slot = value.get("slot_s")
    return SetList(
        title=value["title"].text(),
        plan_path=value["plan"]["path"].text(),
        plan_sha256=value["plan"]["sha256"].text(64),
        plan_text=value["plan"]["text"].text(LONGEST_PLAN),
        options=options,
        class_s=class_s,
        slot_s=None if slot is None else slot.number(0, LONGEST_CLASS_S),
        sections=sections,
        arc=_curve(value["arc"], length),
        target_energy=_curve(value["target_energy"], length),
        played_energy=_curve(value["played_energy"], length),
        fit=_fit(value["fit"]),
        rest=_rest(value, class_s),
        picks=_picks(value["picks"], base),
        findings=tuple(_finding(item) for item in value["findings"].items(10_000)),
        previous=_states(value["previous"], base, class_s, options),
    )


def _is_silent_throughout(options: dict[str, object], class_s: float) -> bool:
    frame, at = options["frame"], 0.0
    assert isinstance(frame, dict)
    for start, end in sorted(frame["silent_s"]):
        if start > at + 1:  # a second is the least that music is laid out in
            return False
        at = max(at, end)
    return at >= class_s - 1


def _curve(value: Value, length: int) -> Curve:
    return np.array(value.curve(length, 0.0, 2.0), np.float32)


def _section(value: Value, class_s: float) -> SectionTime:
    start, end = value["start_s"], value["end_s"]
    start_s = start.number(0, class_s)
    return SectionTime(
        name=value["name"].text(),
        kind=Kind(value["kind"].one_of([str(kind) for kind in Kind])),
        start_s=start_s,
        end_s=end.number(start_s, class_s + SLACK_S),
        passes=tuple(_passage(item, class_s) for item in value["passes"].items(MOST_PICKS)),
        breath_s=value["breath_s"].number(0.1, 600),
        mean_mets=value["mean_mets"].number(0, 50),
        wishes=Wishes(same_music=value["same_music"].flag()),
    )


def _passage(value: Value, class_s: float) -> Passage:
    side = value.get("side")
    start_s = value["start_s"].number(0, class_s)
    return Passage(
        round=value["round"].whole(1, 10_000),
        side=None if side is None else "right" if side.one_of(["right", "left"]) == "right" else "left",
        start_s=start_s,
        end_s=value["end_s"].number(start_s, class_s + SLACK_S),
    )


def _fit(value: Value) -> Fit:
    return Fit(
        rmse=value["rmse"].number(0, 10),
        bound_rmse=value["bound_rmse"].number(0, 10),
        gap=value["gap"].number(0, 1e9),
        correlation=value["correlation"].number(-1.001, 1.001),
    )


def _rest(holder: Value, class_s: float) -> Rest | None:
    value = holder.get("rest")
    if value is None:
        return None
    start_s = value["start_s"].number(0, class_s)
    end_s = value["end_s"].number(start_s, class_s + SLACK_S)
    return Rest(
        start_s=start_s,
        end_s=end_s,
        bells_s=tuple(bell.number(0, class_s + SLACK_S) for bell in value["bells_s"].items(1000)),
        silence_s=value["silence_s"].number(0, end_s - start_s + SLACK_S),
        bed_lufs=value["bed_lufs"].number(-70, 0),
    )


def _picks(value: Value, base: Path) -> tuple[Pick, ...]:
    items = list(value.items(MOST_PICKS))
    picks = tuple(_pick(item, base, n) for n, item in enumerate(items, start=1))
    for item, one, two in zip(items[1:], picks, picks[1:], strict=False):
        if two.class_start_s < one.class_start_s:
            raise item["class_start_s"].wrong("at or after the start of the pick before")
    for item, one, three in zip(items, picks, picks[2:], strict=False):
        if one.class_end_s > three.class_start_s + SLACK_S:
            raise item["class_end_s"].wrong("before the pick after the next begins")
    return picks


def _pick(value: Value, base: Path, n: int) -> Pick:
    start_s = value["class_start_s"].number(*_OUTSIDE)
    end_s = value["class_end_s"].number(start_s, _OUTSIDE[1])
    length = end_s - start_s
    path = value["path"].text()
    if not path or "\0" in path:
        raise value["path"].wrong("the path of a recording")
    return Pick(
        n=value["n"].whole(n, n),
        track_id=value["track_id"].whole(0, 2**63 - 1),
        fingerprint=value["fingerprint"].text(200),
        path=str(base / path),
        title=value["title"].text(),
        artist=value["artist"].text(),
        class_start_s=start_s,
        class_end_s=end_s,
        track_start_s=value["track_start_s"].number(0, LONGEST_CLASS_S),
        fade_in_s=value["fade_in_s"].number(0, length + SLACK_S),
        fade_out_s=value["fade_out_s"].number(0, length + SLACK_S),
        gain_db=value["gain_db"].number(-120, 60),
        section=value["section"].text(),
        pinned=value["pinned"].flag(),
        why=value["why"].text(),
    )


def _finding(value: Value) -> Finding:
    remedy = value.get("remedy")
    level = value["level"].one_of(["must", "should", "note"])
    return Finding(
        level="must" if level == "must" else "should" if level == "should" else "note",
        code=value["code"].text(100),
        where=value["where"].text(),
        message=value["message"].text(),
        remedy=None if remedy is None else remedy.text(),
    )


def _states(value: Value, base: Path, class_s: float, options: dict[str, object]) -> tuple[dict[str, object], ...]:
    """Earlier states; one with times of its own is of another length, and so are all before it."""
    states: list[dict[str, object]] = []
    for item in reversed(list(value.items(MOST_STATES))):
        times = item.get("times")
        if times is not None:
            class_s = times["class_s"].number(0.001, LONGEST_CLASS_S)
        states.append(_state(item, base, class_s, options))
    return tuple(reversed(states))


def _times(value: Value, options: dict[str, object]) -> dict[str, Any]:
    class_s = value["class_s"].number(0.001, LONGEST_CLASS_S)
    sections = tuple(_section(item, class_s) for item in value["sections"].items(500))
    return {
        "class_s": class_s,
        "sections": sections,
        "arc": _curve(value["arc"], math.ceil(class_s)),
        "target_energy": _curve(value["target_energy"], math.ceil(class_s)),
        "options": options | {"frame": _frame(value["frame"], len(sections))},
    }


def _checked_times(value: Value, options: dict[str, object]) -> dict[str, object]:
    times = _times(value, options)
    return times_values(
        times["class_s"], times["sections"], times["arc"], times["target_energy"], times["options"]["frame"]
    )


def _state(value: Value, base: Path, class_s: float, options: dict[str, object]) -> dict[str, object]:
    times = value.get("times")
    return ({} if times is None else {"times": _checked_times(times, options)}) | {
        "picks": [pick_json(pick) for pick in _picks(value["picks"], base)],
        "rest": rest_json(_rest(value, class_s)),
        "fit": fit_json(_fit(value["fit"])),
        "silent_s": _stretches(value["silent_s"]),
    }


def _options(value: Value, sections: int) -> dict[str, object]:
    levels, crossfades = value["levels"], value["crossfades_s"]
    silence, bells = value.get("rest_silence_s"), value.get("bells_s")
    return {
        "prefer": value["prefer"].one_of(list(PREFERENCES)),
        "fresh": value["fresh"].flag(),
        "allow_repeats": value["allow_repeats"].flag(),
        "exclude": [item.whole(0, 2**63 - 1) for item in value["exclude"].items(1_000_000)],
        "levels": {
            "bed_lufs": levels["bed_lufs"].number(-70, 0),
            "opening_lu": levels["opening_lu"].number(-40, 20),
            "rest_lu": levels["rest_lu"].number(-40, 20),
        },
        "crossfades_s": {str(kind): crossfades[str(kind)].number(0, 60) for kind in Kind},
        "rest_silence_s": None if silence is None else silence.number(0, LONGEST_CLASS_S),
        "bells_s": None if bells is None else [bell.number(*_OUTSIDE) for bell in bells.items(1000)],
        "frame": _frame(value["frame"], sections),
    }


def _frame(value: Value, sections: int) -> dict[str, object]:
    return {
        "before_s": value["before_s"].number(0, LONGEST_CLASS_S),
        "after_s": value["after_s"].number(0, LONGEST_CLASS_S),
        "rules": [_rule(item, sections) for item in value["rules"].items(20_000)],
        "silent_s": _stretches(value["silent_s"]),
        "held_s": _stretches(value["held_s"]),
        "talk_s": _stretches(value["talk_s"]),
    }


def _rule(value: Value, sections: int) -> dict[str, object]:
    folder, beat = value.get("folder"), value.get("beat_bpm")
    start_s = value["start_s"].number(*_OUTSIDE)
    return {
        "start_s": start_s,
        "end_s": value["end_s"].number(start_s, _OUTSIDE[1]),
        "section": value["section"].whole(-1, sections),
        "no_voice": value["no_voice"].flag(),
        "folder": None if folder is None else folder.text(),
        "beat_bpm": None if beat is None else [bpm.number(1, 1000) for bpm in beat.pair()],
    }


def _stretches(value: Value) -> list[list[float]]:
    return [[edge.number(*_OUTSIDE) for edge in item.pair()] for item in value.items(20_000)]
