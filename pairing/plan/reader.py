"""The lines of a note -> the sections of a plan. Every line finds a place: none is refused, what isn't sure is asked.

A line is read as the strict language first (`elements`), which leaves no doubt; else from its tokens (`line`). Around
the lines stand headings, typed with or without signs; lines that speak of those above them (`refs`); and clock times
in front (`fronts`).
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from pairing.model import LineRead, Plan, Section
from pairing.plan.fronts import Front, has_music_sign
from pairing.plan.groups import Groups
from pairing.plan.language import Lexicon
from pairing.plan.lines import Line
from pairing.plan.note.beside import ends_note, stands_before, stands_behind
from pairing.plan.note.blocks import block_heading
from pairing.plan.note.items import read_canonical, read_item
from pairing.plan.note.minutes import minutes_heading
from pairing.plan.note.nested import nested_heading
from pairing.plan.note.outside import (
    is_done_aside,
    is_errand,
    is_inert,
    is_key,
    is_labelled,
    is_music,
    is_plain_key,
    is_title,
    is_total,
    remark,
)
from pairing.plan.note.parting import (
    check_rests,
    close_to,
    is_loose_heading,
    is_strict_heading,
    is_underlined_heading,
    name_of_first,
    open_heading,
    open_loose,
    unfolded,
)
from pairing.plan.note.questions import ask_what_is_unsure
from pairing.plan.note.repeats import is_reference, is_rounds
from pairing.plan.note.rests import is_rest_between, moves_between
from pairing.plan.note.rows import read_row
from pairing.plan.note.state import Echo, Reading
from pairing.plan.note.together import does_parts_again
from pairing.plan.poses import PoseTable
from pairing.plan.problems import Problems
from pairing.plan.sections import in_sections
from pairing.plan.style import style_of
from pairing.plan.table import Row
from pairing.plan.tokens import scanner_of

LEAST_PLAIN = 2  # times as many lines stand in a note whose signs for music mark what plays; editorial


def read_lines(
    table: PoseTable,
    lexicon: Lexicon,
    problems: Problems,
    lines: Sequence[Line],
    front: Mapping[int, Front],
    rows: Mapping[int, Row],
    *,
    style: str | None = None,
) -> Plan:
    """Give the plan that the lines of a note make; the findings are in `problems`.

    Args:
        table: the poses that it may name.
        lexicon: the words of its languages.
        problems: where what is found goes.
        lines: its lines.
        front: what stands in front of them, by their numbers.
        rows: those that are rows of a table.
        style: the style its first lines name.
    """
    lines = [replace(line, form="text") if line.number in rows else line for line in lines]
    bare = [replace(line, text=front[line.number].text, full="") if line.number in front else line for line in lines]
    reading = Reading(
        table,
        scanner_of(lexicon, table),
        problems,
        bare,
        front,
        rows,
        style,
        has_title=_has_title(lines),
        has_signs=any(line.form == "heading" and line.level > 1 for line in lines),
        groups=Groups(problems),
        places={line.number: at for at, line in enumerate(bare)},
        marks_music=LEAST_PLAIN * sum(map(has_music_sign, bare)) <= len(bare),
        last_sized=max((at for at, line in enumerate(bare) if any(map(str.isdecimal, line.text))), default=-1),
    )
    for at in range(len(bare)):
        _read(reading, at)
    return _plan(reading)


def _has_title(lines: Sequence[Line]) -> bool:
    """Whether a heading is the title: not where several with one sign head the parts below a first line without."""
    titles = [line for line in lines if line.form == "heading" and line.level == 1]
    return bool(titles) and (len(titles) == 1 or lines[0].form != "text")


def _read(reading: Reading, at: int) -> None:
    """Read the line at this place in the list."""
    line = reading.lines[at]
    reading.leant_on, reading.left_over = None, 0.0
    row = reading.rows.get(line.number)
    if row is not None:
        read_row(reading, line, row)
        return
    front = reading.front.get(line.number)
    if front is not None and front.start and reading.top.start is None:
        reading.top.start = front.start
    if line.form == "rule":
        reading.said(line, "a dividing line")
    elif moves_between(reading, line):
        return
    elif line.form == "remark" and not is_done_aside(reading, line):
        remark(reading, line)
    elif line.form == "heading":
        open_heading(reading, line)
    elif not read_canonical(reading, line, front):
        _read_free(reading, line, at, front)


def _read_free(reading: Reading, line: Line, at: int, front: Front | None) -> None:
    if is_underlined_heading(reading, line):
        open_heading(reading, line)
    elif is_rest_between(reading, line):
        return
    elif is_inert(line) and not (front is not None and front.length_s):  # "20' (left)" takes its time
        remark(reading, line, line.text.strip("()[]{} "))
    elif is_plain_key(reading, line) or is_title(reading, line) or is_total(reading, line):
        return
    elif timed := minutes_heading(reading, line, at):
        open_loose(reading, line, timed, None)
    elif stands_before(reading, line) or stands_behind(reading, line) or ends_note(reading, line):
        remark(reading, line)
    elif is_strict_heading(reading, line):
        open_heading(reading, line)
    elif not (_speaks_of_the_class(reading, line, front) or _is_for_oneself(reading, line)):
        line = unfolded(reading, line)
        loose = nested_heading(reading, line, at, front) or is_loose_heading(reading, line, at)
        if loose is None or loose.is_plain:
            loose = block_heading(reading, line, at) or loose
        if loose is not None:
            open_loose(reading, line, loose, front)
        else:
            read_item(reading, line, front)


def _speaks_of_the_class(reading: Reading, line: Line, front: Front | None) -> bool:
    """Whether a line says how the class is done, what plays, or to do lines above once more."""
    takes_time = front is not None and front.length_s  # "18:05 breath, count 4 in 4 out"
    if not takes_time and is_key(reading, line):
        return True
    if is_music(reading, line):
        return True
    return is_rounds(reading, line) or does_parts_again(reading, line) or is_reference(reading, line)


def _is_for_oneself(reading: Reading, line: Line) -> bool:
    return is_labelled(reading, line) or is_errand(reading, line, over=reading.ended or reading.rested)


def _plan(reading: Reading) -> Plan:
    close_to(reading, to_level=2)
    check_rests(reading)
    top, problems = reading.top, reading.problems
    if reading.title is None and top.title is None:
        problems.liberty(None, "title-missing", 'There is no title; "Class" is used.')
    if top.breath_s is None and reading.sections:
        problems.liberty(
            None,
            "breath-missing",
            "The plan doesn't say how long a breath is; the usual one of its style is taken.",
        )
    sections = _named(reading, in_sections(reading.sections, reading.table, reading.peaks))
    plan = top.plan(reading.title or top.title or "Class", sections)
    ask_what_is_unsure(reading, style_of(plan).style)
    if reading.known_at is not None and plan.between_s is None and plan.breath_s is None:
        plan = replace(plan, between_s=0.0)  # the minutes up to a time of day hold all that happens
    return replace(plan, lines=_lines_read(reading), slot_by_title=reading.slot_by_title)


def _named(reading: Reading, sections: tuple[Section, ...]) -> tuple[Section, ...]:
    """Name the parts that no heading names by what is done first in them, where the class has others."""
    if len(sections) == 1 or reading.has_signs:
        return sections
    headed = {number for number, echo in reading.echo.items() if echo.what == "heading"}
    return tuple(
        replace(section, name=_name_of(reading, section) or section.name)
        if section.name == "Class" and section.place.line not in headed
        else section
        for section in sections
    )


def _name_of(reading: Reading, section: Section) -> str:
    at = reading.places.get(next((part.place.line for part in section.parts if part.place.line), 0))
    return name_of_first(reading, reading.lines[at]) if at is not None else ""


def _lines_read(reading: Reading) -> tuple[LineRead, ...]:
    asked = reading.problems.asked()
    read: list[LineRead] = []
    for line in reading.lines:
        echo = reading.echo.get(line.number, Echo("not part of the class"))
        answers = asked.get(line.number)
        read.append(LineRead(line.number, line.raw.strip(), echo.says, echo.sure and answers is None, answers or ()))
    return tuple(read)
