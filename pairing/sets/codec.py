"""A set as plain JSON values and back, by its types; what these can't say stands in `pairing.sets.consistent`.

The types of `pairing.model` name every value and its range. msgspec reads them, names the place of a fault, and
writes the schema that docs/setfile.schema.json is. A curve is a list of numbers, null where no music is.
"""

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any

import msgspec
import numpy as np
from msgspec import Meta

from pairing.deeds import remedy_words
from pairing.model import DAY_S, MOST_STATES, Curve, Finding, Pick, SetList

FORMAT = "arcbed-set"
VERSION = 2
Json = dict[str, Any]

_DIGITS = 4
_CurveValues = Annotated[
    list[Annotated[float, Meta(ge=0, le=2)] | None], Meta(max_length=int(DAY_S), description="at 1 Hz; null: no music")
]
_ABOUT = (
    "A class with its music. Times are seconds; class times count from the first breath, track times from the first "
    "sample of a recording; loudness in LUFS and LU; curves at 1 Hz. Unknown names are passed over."
)
_WORDS = {
    "float": "a number",
    "int": "a whole number",
    "str": "a text",
    "bool": "true or false",
    "array": "a list",
    "object": "named values",
    "null": "null",
}


def to_json(setlist: SetList, base: Path) -> Json:
    """A set as plain values.

    Args:
        setlist: the set.
        base: folder of the set file; files below it are named relative to it.
    """
    newer, previous = setlist, []
    for former in reversed(setlist.previous):
        was = _values(former.was, base, lambda name: _is_other(former.was, newer, name))  # noqa: B023
        previous.append({"what": former.what, "with_plan": former.with_plan, "was": was})
        newer = former.was
    values = _values(setlist, base, lambda name: name != "previous")
    return {"format": FORMAT, "version": VERSION, **values, "previous": previous[::-1]}


def from_json(values: Json, base: Path) -> SetList:
    """The set that plain values of this version stand for; their ranges are checked, not how they go together.

    Args:
        values: as `to_json` gives them.
        base: folder of the set file, for relative paths.
    Raises:
        msgspec.ValidationError: a value is of another kind or out of range; see `in_words`.
    """
    setlist = msgspec.convert(filled_up(values), SetList, dec_hook=_curve)
    earlier = tuple(replace(former, was=_with_paths(former.was, base)) for former in setlist.previous)
    return replace(_with_paths(setlist, base), previous=earlier)


def filled_up(values: Json) -> Json:
    """The values with every earlier state whole; the file says of each only what is other in the state after it."""
    values, previous = _with_findings(values), values.get("previous")
    if not isinstance(previous, list) or not all(isinstance(each, dict) for each in previous):
        return values  # no set: its types say so
    newer, filled = values | {"previous": []}, []
    for former in reversed(previous[: MOST_STATES + 1]):  # one too many is told
        changed = former.get("was")
        if isinstance(changed, dict):
            newer = newer | _with_findings(changed) | {"previous": []}
        filled.append(former | ({"was": newer} if isinstance(changed, dict) else {}))
    return values | {"previous": filled[::-1]}


def schema() -> Json:
    """The JSON Schema (draft 2020-12) of a set file, from the types."""
    written = msgspec.json.schema(SetList, schema_hook=_curve_schema)
    parts = written.pop("$defs")
    whole = parts.pop("SetList")
    known = {name: value for name, value in whole["properties"].items() if name != "previous"}
    parts["Former"]["properties"]["was"] = {
        "type": "object",
        "description": "what was other than in the state after it",
        "properties": known,
    }
    end = {"track_end_s": {"type": "number", "description": "track_start_s and as long as in the class"}}
    parts["Pick"]["properties"] |= end
    found = parts["Finding"]["properties"]
    found |= {"about": found["where"], "advice": found["remedy"], "where": {"type": "string"}}
    found["remedy"] = {"type": ["string", "null"], "description": "advice, and the commands that do it"}
    del found["edits"]
    for part in parts.values():
        part["description"] = part.get("description", "").partition("\n")[0]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"arcbed set, version {VERSION}",
        "description": _ABOUT,
        "type": "object",
        "required": ["format", "version", *whole["required"]],
        "properties": {"format": {"const": FORMAT}, "version": {"const": VERSION}} | whole["properties"],
        "$defs": parts,
    }


def in_words(error: msgspec.ValidationError, values: object) -> str:
    """What is wrong with a set's values, as a person reads it.

    >>> from pairing.model import Rest
    >>> try:
    ...     msgspec.convert({"start_s": -1, "end_s": 2}, Rest)
    ... except msgspec.ValidationError as error:
    ...     print(in_words(error, {"start_s": -1, "end_s": 2}))
    start_s should be a number, at least 0, but is -1.
    """
    said, *places = str(error).split(" - at `$")
    path = "".join(place.removesuffix("`") for place in reversed(places)).removeprefix(".")
    missing = re.match(r"Object missing required field `(\w+)`", said)
    if missing:
        return f"{path}.{missing[1]} is missing.".removeprefix(".")
    return should_be(path, _expected(said), value_at(values, path))


def should_be(place: str, expected: str, value: object) -> str:
    """The sentence about a value that isn't what it has to be."""
    shown = repr(value)
    return f"{place or 'the file'} should be {expected}, but is {shown if len(shown) <= 40 else shown[:37] + '...'}."


def value_at(values: Any, path: str) -> object:
    """The value at a place such as `picks[3].title`; the nearest around it where the path can't say more."""
    for key, index in re.findall(r"(\w+)|\[(\d+)\]", path):
        try:
            values = values[key or int(index)]
        except (KeyError, IndexError, TypeError):
            break
    return values


# ---- out ---------------------------------------------------------------------------------------------------------


def _values(setlist: SetList, base: Path, wanted: Callable[[str], bool]) -> Json:
    values: Json = {
        name: msgspec.to_builtins(getattr(setlist, name), enc_hook=_plain, str_keys=True)
        for name in SetList.__slots__
        if name != "previous" and wanted(name)
    }
    if "plan" in values:
        values["plan"]["path"] = _relative(setlist.plan.path, base)
    if "picks" in values:
        values["picks"] = [_pick(pick, base) for pick in setlist.picks]
    if "findings" in values:
        values["findings"] = [_finding(finding) for finding in setlist.findings]
    return values


def _pick(pick: Pick, base: Path) -> Json:
    values: Json = {}
    for name, value in msgspec.to_builtins(pick, enc_hook=_plain).items():
        values[name] = value
        if name == "track_start_s":
            values["track_end_s"] = round(float(pick.track_end_s), 6)
    return values | {"path": _relative(pick.path, base)}


def _finding(finding: Finding) -> Json:
    """A finding in words for whoever reads the file, and what they were made from for the program."""
    about = {name: value for name, value in msgspec.to_builtins(finding.where).items() if value}
    deeds = msgspec.to_builtins(finding.deeds)
    words = {"where": str(finding.where), "message": finding.message, "remedy": remedy_words(finding)}
    return {
        "level": finding.level,
        "code": finding.code,
        **words,
        "about": about,
        "advice": finding.remedy,
        "deeds": deeds,
    }


def _is_other(one: SetList, other: SetList, name: str) -> bool:
    mine, theirs = getattr(one, name), getattr(other, name)
    if isinstance(mine, np.ndarray):
        return mine is not theirs and not np.array_equal(mine, theirs, equal_nan=True)
    return bool(mine != theirs)


def _plain(value: object) -> object:
    if isinstance(value, np.ndarray):
        rounded = np.round(value.astype(np.float64), _DIGITS)
        return np.where(np.isnan(rounded), None, rounded).tolist()  # type: ignore[call-overload]
    if isinstance(value, np.floating):
        return float(value)
    raise TypeError(f"{type(value)} in a set")


def _relative(path: str, base: Path) -> str:
    if not path:
        return path
    try:
        return Path(path).relative_to(base).as_posix() if Path(path).is_absolute() else Path(path).as_posix()
    except ValueError:
        return path


# ---- in ----------------------------------------------------------------------------------------------------------


def _curve(_: type, value: object) -> Curve:
    """A curve from its numbers; msgspec asks for what it doesn't know itself, and a set holds nothing else such."""
    try:
        return np.array(msgspec.convert(value, _CurveValues), np.float32)
    except msgspec.ValidationError as error:
        raise ValueError(error) from error  # so msgspec adds the place of the curve


def _with_findings(values: Json) -> Json:
    """The values with every finding as its type has it; of an older file only the words are left."""
    findings = values.get("findings")
    if not isinstance(findings, list) or not all(isinstance(each, dict) for each in findings):
        return values
    return values | {"findings": [_finding_values(each) for each in findings]}


def _finding_values(finding: Json) -> Json:
    where = finding.get("where")
    return finding | {
        "where": finding.get("about", {"name": where} if isinstance(where, str) else where),
        "remedy": finding.get("advice"),
    }


def _with_paths(setlist: SetList, base: Path) -> SetList:
    return replace(setlist, picks=tuple(replace(pick, path=str(base / pick.path)) for pick in setlist.picks))


def _expected(said: str) -> str:
    """What was expected, from msgspec's sentence."""
    found = re.match(r"Expected `([^`]+)`(.*?)(?:, got .*)?$", said)
    if not found:
        return "one of the words that are known" if said.startswith("Invalid enum") else "a number within its range"
    words = " or ".join(_WORDS.get(each.strip(), each.strip()) for each in found[1].split("|"))
    more = found[2].replace(" of length ", ", its length ").replace(" matching regex ", " such as ")
    return words + more.replace(" >= ", ", at least ").replace(" <= ", ", at most ").replace(".0", "")


def _curve_schema(_: type) -> Json:
    return msgspec.json.schema(_CurveValues)
