"""A teacher's note -> Plan. Every line that is not blank is understood, or named in a finding; all of them at once.

The language is described for teachers in docs/plan-language.md. Lines are classed in `lines`, the attributes in them
found in `attributes`; here they become a plan.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path

from pairing.constants import USUAL_BREATH_S
from pairing.errors import PlanError
from pairing.model import Element, Finding, Group, Kind, Length, OwnPose, Place, Plan, Section, Wishes
from pairing.plan.attributes import Fault, Said, read_heading
from pairing.plan.elements import read_element
from pairing.plan.kinds import kind_in, kind_named
from pairing.plan.lines import Line, scan
from pairing.plan.names import key
from pairing.plan.own import OWN_HEADINGS, read_own_poses
from pairing.plan.poses import PoseTable, own_id, pose_table
from pairing.plan.problems import Problems
from pairing.plan.top import Top, read_key
from pairing.plan.words import show_seconds


def load_plan(path: Path) -> Plan:
    """Read a plan's file (UTF-8 with or without mark, UTF-16, else Latin-1) and the `poses.md` beside it.

    Raises:
        PlanError: the file can't be opened, or the plan can't be understood; see `read_plan`.
    """
    beside = path.with_name("poses.md")
    poses = plan_text(beside) if beside.is_file() and beside != path else ""
    return read_plan(plan_text(path), file=path.name, folder_poses=poses)


def read_plan(text: str, *, file: str = "plan.md", folder_poses: str = "") -> Plan:
    """Read a plan.

    Args:
        text: the note as typed.
        file: its name, for messages.
        folder_poses: the text of the `poses.md` that stands beside it: own poses for a whole folder.
    Raises:
        PlanError: something isn't understood; carries one "must" finding for each such thing, with corrections.
    """
    problems = Problems(file)
    lines = list(scan(text))
    problems.remember(lines)
    own_lines = _own_lines(lines)
    own = _own_poses(lines, own_lines, folder_poses, problems)
    reader = _Reader(pose_table().with_own(own), problems)
    for line in lines:
        if line.number not in own_lines:
            reader.read(line)
    plan = reader.plan()
    problems.raise_if_any()
    here = {own_id(line.text.partition(":")[0]) for line in lines if line.number in own_lines}
    plan = replace(plan, file=file, text=text, own_poses=_used(own, plan, here))
    return replace(plan, taken_as=tuple(problems.liberties))


@dataclass(slots=True)
class _Open:
    """A section or group whose lines are still coming."""

    line: Line
    level: int
    name: str
    said: Said
    kind: Kind | None = None
    parts: list["Element | Group"] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


class _Reader:
    def __init__(self, table: PoseTable, problems: Problems) -> None:
        self._table = table
        self._problems = problems
        self._top = Top()
        self._title: str | None = None
        self._open: list[_Open] = []  # section, group, group within
        self._sections: list[Section] = []
        self._named: dict[str, Group] = {}
        self._last_item: Line | None = None

    def read(self, line: Line) -> None:
        """Read one line."""
        if line.form == "rule":
            return
        if line.form == "remark":
            self._remark(line.text)
        elif line.form == "heading" or self._is_underlined_heading(line):
            self._heading(line)
        elif not self._is_key(line):
            self._item(line)

    def plan(self) -> Plan:
        """Give what was read; the findings are in `problems`."""
        self._close(to_level=2)
        if not self._sections:
            self._problems.whole("no-sections", "This plan has no section yet.",
                                 'A section begins like this: "## Arrive: opening", its poses below it.')  # fmt: skip
        self._check_rests()
        if self._title is None and self._top.title is None:
            self._problems.liberty(None, "title-missing", 'No title is given; "Class" is taken.')
        if self._top.breath_s is None and self._sections:
            self._problems.liberty(
                None, "breath-missing", f"No breath is given; {show_seconds(USUAL_BREATH_S)} a breath are taken."
            )
        return self._top.plan(
            self._title or self._top.title or "Class", tuple(self._sections)
        )

    # ---- the note outside lists ----

    def _remark(self, text: str) -> None:
        if self._open and text:
            self._open[-1].notes.append(text)
        elif text:
            self._top.facts.append(("note", text))

    def _is_underlined_heading(self, line: Line) -> bool:
        """A bare line over a rule is a heading, as in Markdown, unless it is a pose, a key or in a run of lines."""
        if not line.underlined or line.form != "text":
            return False
        return line.underlined == "=" or (line.first and not self._table.knows(re.split("[,:;]", line.text)[0]))

    def _is_key(self, line: Line) -> bool:
        return read_key(line, self._top, self._open[-1] if self._open else None, self._problems)

    def _heading(self, line: Line) -> None:
        self._last_item = None
        level = line.level if line.form == "heading" else (1 if line.underlined == "=" else 2)
        if level == 1 and self._title is None and not self._open and not self._sections:
            self._title = line.text
        elif level <= 2 or not self._open:
            self._section(line)
        else:
            self._close(to_level=level)
            name, rest = _split_heading(line.text, group=True)
            said = self._heading_said(line, rest)
            self._open.append(_Open(line, level, name or "part", said, notes=[*said.notes, *said.parts]))

    def _section(self, line: Line) -> None:
        self._close(to_level=2)
        name, rest = _split_heading(line.text, group=False)
        said = self._heading_said(line, rest)
        kind, notes = kind_in(said.parts)
        opened = _Open(line, 2, name, said, kind, notes=[*said.notes, *notes])
        opened.name = name or (kind.value if kind else "")
        self._open.append(opened)

    def _heading_said(self, line: Line, rest: str) -> Said:
        said = read_heading(rest)
        kept = []
        for part in said.parts:
            if re.search(r"\d", part) or re.match(r"(?:each|every|per)\b", part, re.IGNORECASE):
                said.faults.append(Fault("unknown-attribute", part, f'"{part}" is no attribute of a section.', _HEADINGS))
            else:
                kept.append(part)
        said.parts = kept
        self._problems.faults(line, said.faults)
        self._problems.liberties_of(line, said.liberties)
        return said

    # ---- lines of sections ----

    def _item(self, line: Line) -> None:
        if not self._open:
            if self._title is None and line.form == "text":
                self._title = line.text
                return
            self._open_unnamed(line)
        group = self._open[-1]
        section = self._open[0]
        result = read_element(line, self._table, rest=(section.kind or kind_named(section.name)) is Kind.REST)
        if result.element and not result.faults:
            group.parts.append(result.element)
            self._last_item = line
            self._problems.liberties_of(line, result.liberties)
        elif result.other_side and group.parts and not group.said.each_side:
            group.said.each_side = True
            self._problems.liberties_of(line, [f'"{line.text}" is taken as "both sides" of "{group.name}"'])
        elif self._is_note_below(line, group):
            last = group.parts[-1]
            group.parts[-1] = replace(last, note="; ".join(filter(None, (last.note, _bare(line.text)))))
            self._problems.liberties_of(line, [f'"{line.text}" is taken as a note to the line above'])
        else:
            self._problems.faults(line, result.faults)

    def _open_unnamed(self, line: Line) -> None:
        self._open.append(_Open(line, 2, "Class", Said(), Kind.FLOW))
        self._problems.liberty(line, "section-missing", 'No section stands above; "Class: flow" is taken.')

    def _is_note_below(self, line: Line, group: _Open) -> bool:
        """Whether a line that names no pose is set in below one that does, and holds no number."""
        above = self._last_item
        deeper = above is not None and line.level >= above.level + 2
        return deeper and bool(group.parts) and isinstance(group.parts[-1], Element) and not re.search(r"\d", line.text)

    # ---- closing ----

    def _close(self, to_level: int) -> None:
        while self._open and self._open[-1].level >= to_level:
            opened = self._open.pop()
            group = self._group(opened)
            if opened.name:
                self._named[key(opened.name)] = group
            if self._open:
                self._open[-1].parts.append(group)
            else:
                self._sections.append(self._finish_section(opened, group))

    def _finish_section(self, opened: _Open, group: Group) -> Section:
        kind = opened.kind
        if kind is None and group.repeats:
            earlier = self._named.get(key(group.repeats))
            kind = earlier.kind if isinstance(earlier, Section) else None
        if kind is None:
            kind = self._guess_kind(opened, group)
            group = replace(group, name=group.name or kind.value)
        section = Section(**{name: getattr(group, name) for name in Group.__dataclass_fields__}, kind=kind)
        if opened.name:
            self._named[key(opened.name)] = section
        self._check_lines(section, sides=False, rounds=1)
        return section

    def _guess_kind(self, opened: _Open, group: Group) -> Kind:
        kind = kind_named(opened.name)
        if kind is not None and key(opened.name) == key(kind.value):
            return kind
        rests = any(isinstance(part, Element) and part.pose_id == "corpse" for part in group.parts)
        kind = kind or (Kind.REST if rests else Kind.OPENING if not self._sections else Kind.FLOW)
        self._problems.liberty(opened.line, "kind-guessed", f'"{opened.name}" names no kind; {kind.value} is taken.')
        return kind

    def _group(self, opened: _Open) -> Group:
        said, line = opened.said, opened.line
        group = Group(
            name=opened.name,
            place=Place(line.number, line.column()),
            parts=tuple(opened.parts),
            rounds=said.rounds or 1,
            quicker=said.quicker or 0.0,
            both_sides=said.each_side,
            first_side=said.first_side or "right",
            minutes=self._in_seconds(said.length, said),
            what_is_left=said.what_is_left,
            at_least_s=self._seconds(said.at_least, said),
            breath_s=self._seconds(said.breath, said),
            between_s=self._seconds(said.between, said),
            optional=said.optional,
            note="\n".join(filter(None, (note.strip(" >\t") for note in opened.notes))),
            wishes=said.wishes,
        )
        if said.at_least is not None and not said.what_is_left:
            self._problems.liberty(line, "what-is-left", '"at least" is taken as "what is left, at least".')
            group = replace(group, what_is_left=True)
        return self._repeated(opened, group) if said.repeats else group

    def _repeated(self, opened: _Open, group: Group) -> Group:
        wanted = opened.said.repeats or ""
        earlier = self._named.get(key(wanted))
        if earlier is None:
            self._problems.unknown_repeat(opened.line, wanted, [g.name for g in self._named.values()])
            return group
        if group.parts:
            self._problems.at(opened.line, "repeat-with-lines", f'"repeat {wanted}" takes no lines of its own.',
                              "Put them under a heading of their own.")  # fmt: skip
        told = opened.said.told
        kept = {
            name: getattr(earlier, name)
            for name, word in _INHERITED.items()
            if word not in told
        }  # fmt: skip
        wishes = group.wishes if group.wishes != Wishes() else earlier.wishes
        return replace(group, **kept, parts=earlier.parts, repeats=earlier.name, wishes=wishes)

    def _in_seconds(self, length: Length | None, said: Said) -> Length | None:
        if length is None or length.unit == "seconds":
            return length
        breath = self._breath(said)
        return Length("seconds", length.likely * breath, length.shortest * breath, length.longest * breath)

    def _seconds(self, length: Length | None, said: Said) -> float | None:
        in_seconds = self._in_seconds(length, said)
        return in_seconds.likely if in_seconds else None

    def _breath(self, said: Said) -> float:
        own = said.breath.likely if said.breath and said.breath.unit == "seconds" else None
        return own or self._top.breath_s or USUAL_BREATH_S

    # ---- checks of sense ----

    def _check_rests(self) -> None:
        rests = [section for section in self._sections if section.kind is Kind.REST]
        for section in rests[1:]:
            self._problems.at_line(section.place.line, "two-rests", f'"{section.name}" is a second closing rest.',
                                   'A class has one "rest", the closing one; a pause before it is "cool-down".')  # fmt: skip

    def _check_lines(self, group: Group, *, sides: bool, rounds: int) -> None:
        sides = sides or group.both_sides
        rounds = group.rounds if group.rounds > 1 else rounds
        for part in group.parts:
            if isinstance(part, Group):
                self._check_lines(part, sides=sides, rounds=rounds)
            else:
                self._problems.sides_and_rounds(part, sides=sides, rounds=rounds)


_INHERITED = {
    "rounds": "rounds", "quicker": "quicker", "both_sides": "each_side", "first_side": "first_side",
    "minutes": "length", "breath_s": "breath", "between_s": "between",
}  # fmt: skip
_HEADINGS = "A heading holds a name, a kind, rounds, sides, minutes, music; what is only to be read stands in brackets."


def _split_heading(text: str, *, group: bool) -> tuple[str, str]:
    """Give a heading's name and the rest: at a colon, a dash, a comma; else the kind or the attributes are the name."""
    for separator in (r"\s*:(?!\d)\s*", r"\s+[-–—]+\s+", r"\s*,\s*"):
        name, *rest = re.split(separator, text, maxsplit=1)
        if rest:
            if group and separator.startswith(r"\s*,") and _only_attributes(name):
                return "", text
            return name.strip(_EDGE), rest[0]
    said = read_heading(text)
    if said.told & _STRUCTURE and not said.faults:
        return " ".join(said.parts).strip(_EDGE), text
    return text.strip(_EDGE), ""


# Attributes that a heading without separators may consist of; "quiet" alone is a name.
_STRUCTURE = {
    "rounds", "quicker", "each_side", "first_side", "length", "what_is_left", "at_least", "breath", "between", "optional",
    "repeats",
}  # fmt: skip
_EDGE = " \t:,;-–—#>"


def _only_attributes(text: str) -> bool:
    said = read_heading(text)
    return bool(said.told) and not said.parts and not said.faults


def _own_lines(lines: list[Line]) -> set[int]:
    numbers: set[int] = set()
    inside = False
    for line in lines:
        if line.form == "heading":
            inside = key(line.text) in OWN_HEADINGS
        if inside:
            numbers.add(line.number)
    return numbers


def _own_poses(lines: list[Line], own_lines: set[int], folder: str, problems: Problems) -> tuple[OwnPose, ...]:
    beside = Problems("poses.md")
    general = read_own_poses(list(scan(folder)), beside, ())
    problems.findings.extend(beside.findings)
    here = [line for line in lines if line.number in own_lines]
    return read_own_poses(here, problems, general)


def _used(own: tuple[OwnPose, ...], plan: Plan, here: set[str]) -> tuple[OwnPose, ...]:
    """Keep the plan's own poses, and those of the folder that it names or that those are like."""
    wanted = here | {line.pose_id or "" for section in plan.sections for line in elements_of(section)}
    kept: list[OwnPose] = []
    for pose in reversed(own):
        if own_id(pose.name) in wanted:
            kept.insert(0, pose)
            wanted.add(pose.like or "")
    return tuple(kept)


def _bare(text: str) -> str:
    return re.sub(r"[()\[\]<>{}]", "", text).strip()


def plan_text(path: Path) -> str:
    """The text of a note, whatever wrote it: UTF-8 with or without mark, UTF-16, else Latin-1.

    Raises:
        PlanError: the file can't be opened.
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        raise PlanError(f"can't be read ({error.strerror or error}).", (), where=str(path)) from error
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def elements_of(group: Group) -> Iterator[Element]:
    """Give all lines of a group, those of groups inside it included."""
    for part in group.parts:
        if isinstance(part, Group):
            yield from elements_of(part)
        else:
            yield part
