"""What `arcbed pace` does: the teacher's own pace, its file, and what follows from it for a plan."""

import os
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import msgspec

from audio.errors import ArcbedError
from audio.files.whole import whole_file
from audio.library import default_library_path
from pairing import pace as paces
from pairing.effort.manner import told_style
from pairing.model import Kind, KindPace, Plan
from pairing.pace import KeptPace

FIELDS = {"breath": "breath_s", "first": "first_breath_s", "between": "between_s"}


@dataclass(frozen=True, slots=True)
class PaceChange:
    """The pace before and after something was done to it."""

    before: KeptPace
    after: KeptPace
    path: Path
    logs: int = 0


def pace_path() -> Path:
    """Where the pace is kept: beside this user's library."""
    library = os.environ.get("ARCBED_LIBRARY")
    return (Path(library) if library else default_library_path()).with_name("pace.json")


def known_pace() -> KeptPace:
    """The teacher's pace; an empty one where nothing is known.

    Raises: ArcbedError if the file can't be read as a pace.
    """
    kept = kept_pace()
    try:
        return paces.pace_from_json(kept) if kept else KeptPace()
    except msgspec.DecodeError as error:
        raise ArcbedError(
            f"isn't a pace: {error}.", where=str(pace_path()), remedy="Rename or delete it, and learn the pace again."
        ) from error


def kept_pace() -> bytes:
    """What the file of the pace holds; nothing where there is none."""
    try:
        return pace_path().read_bytes()
    except FileNotFoundError:
        return b""


def paced(plan: Plan) -> Plan:
    """Give the plan with the teacher's own pace, where it states no breath of its own."""
    if plan.breath_s is not None:
        return plan
    return replace(plan, own_pace=paces.own_pace(known_pace(), told_style(plan).style))


def learn(logs: Sequence[Path]) -> PaceChange:
    """Learn from logs of classes taught.

    Raises: ArcbedError if one of them is none; then nothing is learned.
    """
    read = [_log(path) for path in logs]
    before = known_pace()
    return _written(before, paces.learned(before, read), len(read))


def say(kind: str, words: Sequence[str]) -> PaceChange:
    """Set the pace of a kind of section by hand: "breath=5", "first=7", "between=10"; an empty value takes it back."""
    if kind not in {each.value for each in Kind}:
        raise ArcbedError(f'there is no kind of section called "{kind}".', remedy=f"Kinds are: {', '.join(Kind)}.")
    before = known_pace()
    known = before.said.get(kind, KindPace())
    values = dict(map(_value, words))
    said = {**before.said, kind: _checked(replace(known, **values))}
    return _written(before, before.changed(said={k: v for k, v in said.items() if v != KindPace()}))


def undo() -> PaceChange:
    """Take the last change of the pace back. Raises: ArcbedError where there is none."""
    before = known_pace()
    after = before.undone()
    if after is None:
        raise ArcbedError("there is nothing to undo yet.")
    return _written(before, after)


def _value(word: str) -> tuple[str, float | None]:
    name, equals, typed = word.partition("=")
    try:
        value = float(typed.removesuffix("s").replace(",", ".")) if typed else None
    except ValueError:
        value = None
        equals = ""
    if name not in FIELDS or not equals:
        raise ArcbedError(f'"{word}" says nothing about a pace.', remedy="Write: breath=5, first=7.5 or between=10.")
    return FIELDS[name], value


def _checked(said: KindPace) -> KindPace:
    try:
        return msgspec.convert(msgspec.to_builtins(said), KindPace)
    except msgspec.ValidationError as error:
        raise ArcbedError(
            f"that can't be the pace of a class: {error}.",
            remedy="A breath takes 1 to 60 s, a change of pose up to 900 s.",
        ) from error


def _log(path: Path) -> paces.ClassLog:
    try:
        return paces.log_from_json(path.read_bytes())
    except OSError as error:
        raise ArcbedError(
            f"can't be read: {error.strerror}.", where=str(path), remedy="Name a log that exists."
        ) from error
    except msgspec.DecodeError as error:
        raise ArcbedError(
            f"isn't the log of a class: {error}.",
            where=str(path),
            remedy="Logs are saved by the class clock after a class.",
        ) from error


def _written(before: KeptPace, after: KeptPace, logs: int = 0) -> PaceChange:
    path = pace_path()
    path.parent.mkdir(parents=True, exist_ok=True)
    with whole_file(path) as temporary:
        temporary.write_bytes(paces.as_json(after))
    return PaceChange(before, after, path, logs)
