"""A teacher's note -> Plan. Every line that is not blank is understood, or named in a finding; all of them at once.

The language is described for teachers in docs/plan-language.md. Lines are classed in `lines`, the attributes in them
found in `attributes`; here they become a plan.
"""

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from pairing.constants import USUAL_BREATH_S
from pairing.errors import PlanError
from pairing.model import Element, Group, Kind, OwnPose, Plan, Section
from pairing.plan.elements import Result, read_element
from pairing.plan.groups import Groups
from pairing.plan.headings import EDGE, Opened, is_bare_heading, open_group, open_section
from pairing.plan.kinds import kind_named
from pairing.plan.lines import Line, scan
from pairing.plan.names import key
from pairing.plan.own import OWN_HEADINGS, read_own_poses
from pairing.plan.poses import PoseTable, own_id, pose_table
from pairing.plan.problems import Problems
from pairing.plan.said import Said
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
    reader = _Reader(pose_table().with_own(own), problems, lines)
    for line in lines:
        if line.number not in own_lines:
            reader.read(line)
    plan = reader.plan()
    problems.raise_if_any()
    here = {own_id(line.text.partition(":")[0]) for line in lines if line.number in own_lines}
    plan = replace(plan, file=file, text=text, own_poses=_used(own, plan, here))
    return replace(plan, taken_as=tuple(problems.liberties))


class _Reader:
    def __init__(self, table: PoseTable, problems: Problems, lines: list[Line]) -> None:
        self._table = table
        self._problems = problems
        self._has_title = any(line.form == "heading" and line.level == 1 for line in lines)
        self._has_signs = any(line.form == "heading" and line.level > 1 for line in lines)
        self._groups = Groups(problems)
        self._top = Top()
        self._title: str | None = None
        self._open: list[Opened] = []  # section, group, group within
        self._sections: list[Section] = []
        self._last_item: Line | None = None

    def read(self, line: Line) -> None:
        """Read one line."""
        if line.form == "rule":
            return
        if line.form == "remark":
            self._remark(line.text)
        elif line.form == "heading" or self._is_underlined_heading(line) or self._is_bare_heading(line):
            self._heading(line)
        elif not read_key(line, self._top, self._open[-1] if self._open else None, self._problems):
            self._item(line)

    def plan(self) -> Plan:
        """Give what was read; the findings are in `problems`."""
        self._close(to_level=2)
        if not self._sections:
            self._problems.whole(
                "no-sections",
                "This plan has no section yet.",
                'A section begins like this: "## Arrive: opening", its poses below it.',
            )
        self._check_rests()
        if self._title is None and self._top.title is None:
            self._problems.liberty(None, "title-missing", 'No title is given; "Class" is taken.')
        if self._top.breath_s is None and self._sections:
            self._problems.liberty(
                None, "breath-missing", f"No breath is given; {show_seconds(USUAL_BREATH_S)} a breath are taken."
            )
        return self._top.plan(self._title or self._top.title or "Class", tuple(self._sections))

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

    def _is_bare_heading(self, line: Line) -> bool:
        untitled = self._title is None and self._top.title is None and not self._open
        if untitled or (self._has_signs and not line.bold) or not is_bare_heading(line, self._table):
            return False
        self._problems.liberties_of(line, [f'"{line.text}" is taken as a heading'])
        return True

    def _heading(self, line: Line) -> None:
        self._last_item = None
        if line.form == "heading":
            level = line.level
        else:
            level = 1 if line.underlined == "=" else 3 if line.bold and self._has_signs else 2
        if level == 1 and self._title is None and self._top.title is None and not self._open and not self._sections:
            self._title = line.text.strip(EDGE)
        elif level <= 2 or not self._open:
            self._close(to_level=2)
            self._open.append(open_section(line, self._problems))
        else:
            self._close(to_level=level)
            self._open.append(open_group(line, level, self._problems))

    # ---- lines of sections ----

    def _item(self, line: Line) -> None:
        if not self._open:
            if line.form == "text" and not self._top.told:
                self._first_line(line)
                return
            self._open_unnamed(line)
        group = self._open[-1]
        section = self._open[0]
        result = read_element(line, self._table, rest=(section.kind or kind_named(section.name)) is Kind.REST)
        if result.element and not result.faults:
            self._add(line, result.element, group)
            self._problems.liberties_of(line, result.liberties)
        elif self._is_note_below(line, group):
            last = group.parts[-1]
            group.parts[-1] = replace(last, note="; ".join(filter(None, (last.note, _bare(line.text)))))
            self._problems.liberties_of(line, [f'"{line.text}" is taken as a note to the line above'])
        elif not self._speaks_of_others(line, result, group):
            self._problems.faults(line, result.faults)

    def _add(self, line: Line, element: Element, group: Opened) -> None:
        if group.closed_by:
            self._problems.at(
                group.closed_by,
                "repeat-line",
                f'"{group.closed_by.text}" stands in the middle.',
                'Put the lines above it under a heading: "### Right and left, both sides".',
            )
            group.closed_by = None
        if group.side and element.what == "pose" and element.side is None and not element.each_side:
            element = replace(element, side=group.side)
        group.parts.append(element)
        self._last_item = line

    def _speaks_of_others(self, line: Line, result: Result, group: Opened) -> bool:
        """Take a line that is no element but says how the others are done; say whether it was one."""
        said = group.said
        if result.side and not said.each_side:
            group.side = result.side
            meaning = f"on the {result.side} for the lines below it"
        elif result.other_side and group.parts and not said.each_side and not group.side:
            said.each_side, group.closed_by = True, line
            meaning = f'"both sides" of "{group.name}"'
        elif result.rounds and group.parts and said.rounds is None:
            said.rounds, group.closed_by = result.rounds, line
            meaning = f'"{result.rounds} rounds" of "{group.name}"'
        elif result.length and not group.parts and said.length is None:
            said.length = result.length
            said.told.add("length")
            meaning = f'the length of "{group.name}"'
        elif result.alternative and group.parts and isinstance(group.parts[-1], Element):
            last = group.parts[-1]
            group.parts[-1] = replace(last, alternatives=(*last.alternatives, result.alternative))
            meaning = "an alternative to the line above"
        else:
            return False
        self._problems.liberties_of(line, [f'"{line.text}" is taken as {meaning}'])
        return True

    def _first_line(self, line: Line) -> None:
        """A bare line above all else: the title, or a remark where another is given."""
        if self._title is None and not self._has_title:
            self._title = line.text.strip(EDGE)
            return
        self._top.facts.append(("note", line.text))
        self._problems.liberties_of(line, [f'"{line.text}" is taken as a note for the sheet'])

    def _open_unnamed(self, line: Line) -> None:
        self._open.append(Opened(line, 2, "Class", Said(), Kind.FLOW))
        self._problems.liberty(line, "section-missing", 'No section stands above; "Class: flow" is taken.')

    def _is_note_below(self, line: Line, group: Opened) -> bool:
        """Whether a line that names no pose is set in below one that does, and holds no number."""
        above = self._last_item
        deeper = above is not None and line.level >= above.level + 2
        return deeper and bool(group.parts) and isinstance(group.parts[-1], Element) and not re.search(r"\d", line.text)

    def _close(self, to_level: int) -> None:
        while self._open and self._open[-1].level >= to_level:
            opened = self._open.pop()
            if self._open:
                self._open[-1].parts.append(self._groups.group(opened, self._top.breath_s))
            else:
                first = not self._sections
                self._sections.append(self._groups.section(opened, self._top.breath_s, first=first))

    def _check_rests(self) -> None:
        rests = [section for section in self._sections if section.kind is Kind.REST]
        for section in rests[1:]:
            self._problems.at_line(
                section.place.line,
                "two-rests",
                f'"{section.name}" is a second closing rest.',
                'A class has one "rest", the closing one; a pause before it is "cool-down".',
            )


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
    return data.decode(encoding_of(data), errors="replace")


def encoding_of(data: bytes) -> str:
    """The encoding in which a note was written, so that a changed one can be written in the same."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return "latin-1"
    return "utf-8-sig" if data.startswith(b"\xef\xbb\xbf") else "utf-8"


def elements_of(group: Group) -> Iterator[Element]:
    """Give all lines of a group, those of groups inside it included."""
    for part in group.parts:
        if isinstance(part, Group):
            yield from elements_of(part)
        else:
            yield part
