"""A teacher's note -> Plan. No line is refused: what isn't understood stands in the class as a gap, with a question.

The language is described for teachers in docs/plan-language.md. `lines` parts the note, `reader` reads it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from pairing.errors import PlanError
from pairing.model import Element, Finding, Group, LineRead, OwnPose, Plan, Where
from pairing.plan.encoding import encoding_of
from pairing.plan.fronts import LEAST, fronts
from pairing.plan.language import lexicon_of, spelled
from pairing.plan.lines import Line, scan
from pairing.plan.located import located
from pairing.plan.names import key
from pairing.plan.own import OWN_HEADINGS, read_own_poses
from pairing.plan.poses import own_id, pose_table
from pairing.plan.problems import Problems
from pairing.plan.reader import read_lines
from pairing.plan.style import style_in_words
from pairing.plan.table import table_rows
from pairing.plan.titles import slot_in
from pairing.plan.totals import totals_of

MOST_LETTERS, MOST_LINES = 1_000_000, 20_000  # editorial: a class has some hundred lines
TITLE_LINES = 2  # in which a style is named; editorial
MOST_TITLE_WORDS = 15  # of a title; editorial
TOO_LARGE = "is larger than any class plan: over a million letters or 20,000 lines."
NOTHING = "holds nothing that names a pose, a time or a part of a class."


def load_plan(path: Path) -> Plan:
    """Read a plan's file (UTF-8 with or without mark, UTF-16, else Latin-1) and the `poses.md` beside it.

    Raises:
        PlanError: the file can't be opened, or it is no plan; see `read_plan`.
    """
    return read_beside(plan_text(path), path)


def read_beside(text: str, path: Path) -> Plan:
    """Read a text as the plan of this file: with the `poses.md` that stands beside it."""
    beside = path.with_name("poses.md")
    poses = plan_text(beside) if beside.is_file() and beside != path else ""
    return read_plan(text, file=path.name, folder_poses=poses)


def read_plan(text: str, *, file: str = "plan.md", folder_poses: str = "") -> Plan:
    """Read a note as a plan; what isn't understood for certain stands in `questions`, never in an error.

    Args:
        text: the note as typed.
        file: its name, for messages.
        folder_poses: the text of the `poses.md` that stands beside it: own poses for a whole folder.
    Raises:
        PlanError: nothing in it names a pose, a time or a part of a class; or it is larger than any class.

    >>> plan = read_plan("# Saturday\\n## Standing: flow, 2 rounds\\n- warrior two, 5 breaths each side\\n")
    >>> [(section.name, section.kind.value, section.rounds) for section in plan.sections]
    [('Standing', 'flow', 2)]
    """
    if len(text) > MOST_LETTERS or text.count("\n") > MOST_LINES:
        raise PlanError(TOO_LARGE, (_refused(file, "too-large", TOO_LARGE),), where=file)
    problems = Problems(file)
    lines = list(scan(text))
    problems.remember(lines)
    own_lines = _own_lines(lines)
    own = _own_poses(lines, own_lines, folder_poses, problems)
    plan = _read(text, [line for line in lines if line.number not in own_lines], own, problems)
    if not plan.sections:
        raise PlanError(NOTHING, (_refused(file, "no-class", NOTHING),), where=file)
    here = {own_id(line.text.partition(":")[0]) for line in lines if line.number in own_lines}
    plan = replace(plan, file=file, text=text, own_poses=_used(own, plan, here))
    plan = replace(plan, lines=tuple(sorted((*plan.lines, *_own_read(lines, own_lines)), key=lambda read: read.line)))
    total = (problems.total[0].number, problems.total[1]) if problems.total else None
    taken_as, questions = located(plan, problems.liberties), located(plan, problems.questions())
    return replace(plan, taken_as=taken_as, questions=questions, total=total)


def _read(text: str, lines: list[Line], own: tuple[OwnPose, ...], problems: Problems) -> Plan:
    lexicon = lexicon_of(spelled(text))
    signs = any(line.form == "heading" and line.level > 1 for line in lines)
    style = None if signs else _style_named(lines)  # with signs, names mean what the table says
    table = pose_table().in_style(style).with_own(own) if style else pose_table().with_own(own)
    rows = table_rows(lines, lexicon, next(iter(_slot_of(lines)), None))
    totals = totals_of(lines, lexicon)
    told = [line for line in lines if line.number not in totals]
    front = {} if rows else fronts(told, {*totals.values(), *_slot_of(lines)})
    plan = read_lines(table, lexicon, problems, lines, front, rows, style=style)
    lengths = [each.length_s for each in front.values()] + [row.length_s for row in rows.values()]
    if sum(length is not None for length in lengths) >= LEAST and plan.between_s is None and plan.breath_s is None:
        return replace(plan, between_s=0.0)  # times that follow one another hold all that happens
    return plan


def _slot_of(lines: Sequence[Line]) -> tuple[float, ...]:
    slot_s = slot_in(lines[0].text) if lines else None
    return (slot_s,) if slot_s else ()


def _own_read(lines: list[Line], own_lines: set[int]) -> list[LineRead]:
    return [
        LineRead(line.number, line.raw.strip(), "one of your own poses") for line in lines if line.number in own_lines
    ]


def _style_named(lines: list[Line]) -> str | None:
    """The style that the first lines name, for names that mean another pose in it."""
    return next(
        (style.name for line in lines[:TITLE_LINES] if (style := style_in_words(_first_words(line.text)))), None
    )


def _first_words(text: str) -> str:
    """What may be a title of a line: no whole class that stands in it."""
    return " ".join(text.split()[:MOST_TITLE_WORDS])


def _refused(file: str, code: str, message: str) -> Finding:
    return Finding("must", code, Where(file), message, 'A line looks like: "- warrior two, 3 breaths".')


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


def plan_text(path: Path) -> str:
    """The text of a note, whatever wrote it: UTF-8 with or without mark, UTF-16, else Latin-1.

    Raises:
        PlanError: the file can't be opened.
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        raise PlanError(f"can't be read ({error.strerror or error}).", (), where=str(path)) from error
    return encoding_of(data).read(data)


def elements_of(group: Group) -> Iterator[Element]:
    """Give all lines of a group, those of groups inside it included."""
    for part in group.parts:
        if isinstance(part, Group):
            yield from elements_of(part)
        else:
            yield part
