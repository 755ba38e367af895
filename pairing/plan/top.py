"""The `key: value` lines of a plan: those of the whole class, and those that teachers put under a heading."""

import difflib
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Literal, Protocol

from pairing.constants import USUAL_BREATH_S
from pairing.model import Plan, Section, Wishes
from pairing.plan.attributes import read_heading, read_wishes
from pairing.plan.lines import Line
from pairing.plan.problems import Problems
from pairing.plan.said import Fault, Said
from pairing.plan.words import parse_length, parse_seconds, parse_slot, parse_time_of_day

FACTS = ("theme", "props", "level", "note")
LONGEST_SLOT_S = 12 * 3600.0  # editorial: guards against typing errors
BREATH_RANGE_S = (1.0, 30.0)  # 2 breaths a minute to the quickest measured pace (36 poses a minute) and beyond

_KEY = re.compile(r"([A-Za-z][A-Za-z' ]{0,24}?)\s*(?:[:=]|\s[-–—]\s)\s*(.*)$")
_KEY_BARE = re.compile(
    r"(slot|settle|leave|breath|holds|between|before|after|start|music)\s+"
    r"(?=[\d\"“]|half|flow|slow|quiet|no |steady|driving)(.*)$",
    re.IGNORECASE,
)
_SLOT_LAST = re.compile(r"(\d.*?)\s+(?:slot|class|booking|session)", re.IGNORECASE)
_SYNONYMS = {
    "slot": "slot",
    "duration": "slot",
    "class length": "slot",
    "booking": "slot",
    "length": "slot",
    "time slot": "slot",
    "settle": "settle",
    "arrivals": "settle",
    "settling": "settle",
    "leave": "leave",
    "leaving": "leave",
    "breath": "breath",
    "breaths": "breath",
    "breath length": "breath",
    "pace": "breath",
    "holds": "holds",
    "hold": "holds",
    "between": "between",
    "transition": "between",
    "transitions": "between",
    "music": "music",
    "before": "before",
    "music before": "before",
    "after": "after",
    "music after": "after",
    "start": "start",
    "starts": "start",
    "starts at": "start",
    "start time": "start",
    "title": "title",
    "class": "title",
    "name": "title",
    "theme": "theme",
    "props": "props",
    "prop": "props",
    "level": "level",
    "note": "note",
    "notes": "note",
}


class Holder(Protocol):
    """A section or group whose lines are still coming."""

    said: Said
    notes: list[str]


@dataclass(slots=True)
class Top:
    """What a plan says of the whole class, as far as it has been read."""

    title: str | None = None
    slot_s: float | None = None
    settle_s: float = 0.0
    leave_s: float = 0.0
    breath_s: float | None = None
    breath_range_s: tuple[float, float] | None = None
    holds: Literal["flow", "slow"] | None = None
    between_typed: str | None = None
    before_s: float = 0.0
    after_s: float = 0.0
    start: str | None = None
    wishes: Wishes = field(default_factory=Wishes)
    facts: list[tuple[str, str]] = field(default_factory=list)
    told: set[str] = field(default_factory=set)

    def plan(self, title: str, sections: tuple[Section, ...]) -> Plan:
        """Give the plan made of this and the sections."""
        breath_s = self.breath_s or USUAL_BREATH_S
        between_s = self.between_typed and parse_seconds(self.between_typed, bare=1.0, breath_s=breath_s)
        return Plan(
            title=title,
            sections=sections,
            slot_s=self.slot_s,
            settle_s=self.settle_s,
            leave_s=self.leave_s,
            breath_s=self.breath_s,
            breath_range_s=self.breath_range_s,
            holds=self.holds,
            between_s=None if self.between_typed is None else between_s or 0.0,
            before_s=self.before_s,
            after_s=self.after_s,
            start=self.start,
            wishes=self.wishes,
            facts=tuple(self.facts),
        )


def read_key(line: Line, top: Top, holder: Holder | None, problems: Problems) -> bool:
    """Read the line if it is a key with its value; say whether it was one.

    Under a heading, "breath", "between" and "music" belong to the section, "note", "theme", "props" and "level" are
    its notes; keys of the class are taken as such wherever they stand.
    """
    slot = _SLOT_LAST.fullmatch(line.text) if holder is None and "slot" not in top.told else None
    if slot and parse_slot(slot[1]):
        _read_value(line, "slot", slot[1], top, problems)
        return True
    found = _KEY.match(line.text) or (_KEY_BARE.match(line.text) if line.form == "text" else None)
    if not found or (holder and line.form == "item"):
        return False
    typed = found[1].strip()
    name = _SYNONYMS.get(typed.lower())
    if name is None and not re.match(r"\s*[:=]", line.text[len(found[1]) :]):
        return False  # a dash after a word that is no key: "child's pose - 3 minutes"
    if holder is not None:
        return name is not None and _read_below_heading(line, name, found[2], top, holder, problems)
    if name is None:
        return _read_unknown(line, typed, found[2], top, problems)
    _read_value(line, name, found[2].strip(), top, problems)
    return True


def names_key(text: str) -> bool:
    """Say whether a line begins with the name of a setting: "slot: 60", "start = 18:30"."""
    found = _KEY.match(text) or _KEY_BARE.match(text)
    return found is not None and found[1].strip().lower() in _SYNONYMS


def _read_below_heading(line: Line, name: str, value: str, top: Top, holder: Holder, problems: Problems) -> bool:
    if name in FACTS:
        holder.notes.append(line.text if name != "note" else value)
        return True
    if name in ("breath", "between", "music"):
        said = read_heading(f"{name} {value}" if name != "music" else value)
        if said.parts or said.faults:
            problems.faults(line, said.faults or [_bad_value(line, name, value)])
        else:
            _add(holder.said, said)
        return True
    if name in ("slot", "settle", "leave", "holds", "start") and line.form == "text":
        _read_value(line, name, value, top, problems)
        return True
    return False


def _add(said: Said, more: Said) -> None:
    for name in ("breath", "between"):
        if name in more.told:
            setattr(said, name, getattr(more, name))
    said.told |= more.told
    said.wishes = more.wishes if said.wishes == Wishes() else said.wishes


def _read_unknown(line: Line, typed: str, value: str, top: Top, problems: Problems) -> bool:
    """A key nobody knows is a misspelt one, or a fact for the sheet where it looks like no other key."""
    near = difflib.get_close_matches(typed.lower(), _SYNONYMS, 1, 0.7)
    if near or parse_seconds(value, bare=60.0) is not None:
        known = _SYNONYMS[near[0]] if near else None
        fault = Fault(
            "unknown-key",
            typed,
            f'"{typed}" isn\'t a setting of a plan.',
            f'Did you mean "{known}"?' if known else f"Settings are: {', '.join(_SETTERS)}, {', '.join(FACTS)}.",
            known,
        )
        problems.faults(line, [fault])
        return True
    if typed.lower().split()[0] in ("say", "song", "pause", "silence", "bell", "track"):
        return False
    top.facts.append((typed.lower(), value.strip()))
    problems.liberties_of(line, [f'"{typed}" is read as a note for the sheet'])
    return True


def _read_value(line: Line, name: str, value: str, top: Top, problems: Problems) -> None:
    if name in FACTS:
        if value:
            top.facts.append((name, value))
        return
    if name in top.told:
        problems.faults(line, [Fault("said-twice", line.text, f'"{name}" is there twice.', "Keep one of them.")])
        return
    top.told.add(name)
    if _SETTERS[name](top, value):
        return
    first, comma, rest = value.partition(", ")
    if comma and name not in ("music", "title") and _SETTERS[name](top, first):
        top.facts.append(("note", rest.strip()))
        problems.liberties_of(line, [f'"{rest.strip()}" is read as a note for the sheet'])
        return
    problems.faults(line, [_bad_value(line, name, value)])


def _bad_value(line: Line, name: str, value: str) -> Fault:
    return Fault(
        "unknown-value", value or line.text, f'"{value}" can\'t be read as "{name}".', f"Write: {_EXAMPLES[name]}."
    )


def _duration(attribute: str, low: float, high: float, bare: float) -> Callable[[Top, str], bool]:
    def set_it(top: Top, value: str) -> bool:
        seconds = parse_slot(value) if attribute == "slot_s" else parse_seconds(value, bare=bare)
        if seconds is None or not low <= seconds <= high:
            return False
        setattr(top, attribute, seconds)
        return True

    return set_it


def _breath(top: Top, value: str) -> bool:
    """A breath in seconds; the ends of a range ("4-6 seconds") are taken for the shortest and the longest class."""
    span = parse_length(value) or parse_length(f"{value} seconds")
    if span and span.unit == "seconds" and span.shortest < span.longest:
        low, high = BREATH_RANGE_S
        top.breath_s, top.breath_range_s = span.likely, (span.shortest, span.longest)
        return low <= span.shortest and span.longest <= high
    return _duration("breath_s", *BREATH_RANGE_S, 1.0)(top, value)


def _holds(top: Top, value: str) -> bool:
    named = {"flow": "flow", "dynamic": "flow", "short": "flow", "quick": "flow", "slow": "slow", "long": "slow"}
    holds = named.get(value.lower().removesuffix(" holds").strip(" ."))
    if holds is None:
        return False
    top.holds = "slow" if holds == "slow" else "flow"
    return True


def _between(top: Top, value: str) -> bool:
    top.between_typed = value
    seconds = parse_seconds(value, bare=1.0)
    return seconds is not None and 0 <= seconds <= 900


def _start(top: Top, value: str) -> bool:
    top.start = parse_time_of_day(value)
    return top.start is not None


def _music(top: Top, value: str) -> bool:
    said = read_wishes(value)
    top.wishes = said.wishes
    return not said.parts and not said.faults


def _title(top: Top, value: str) -> bool:
    top.title = value
    return bool(value)


_SETTERS: dict[str, Callable[[Top, str], bool]] = {
    "slot": _duration("slot_s", 60.0, LONGEST_SLOT_S, 60.0),
    "settle": _duration("settle_s", 0.0, 3600.0, 60.0),
    "leave": _duration("leave_s", 0.0, 3600.0, 60.0),
    "breath": _breath,
    "holds": _holds,
    "between": _between,
    "music": _music,
    "before": _duration("before_s", 0.0, 3600.0, 60.0),
    "after": _duration("after_s", 0.0, 3600.0, 60.0),
    "start": _start,
    "title": _title,
}
_EXAMPLES = {
    "slot": "slot: 60 minutes",
    "settle": "settle: 3 minutes",
    "leave": "leave: 5 minutes",
    "breath": "breath: 5 seconds",
    "holds": "holds: flow, or holds: slow",
    "between": "between: 15 seconds",
    "before": "before: 10 minutes",
    "after": "after: 5 minutes",
    "start": "start: 18:30",
    "title": "title: Harbour evening flow",
    "music": 'music: quiet, no voice (also: steady, driving, energy 40%, no music, beat 96-110, from "folder")',
}
