"""A plan kept as a spreadsheet -> a plan's text. The table itself is read as one pasted into a note is (`table`).

Columns: section, pose, length, notes; in any order, under these or like names, others are kept as notes. Cells are
separated by comma, semicolon or tab. A section's name stands in each of its rows, or only in the first; its kind and
attributes may follow it as in a heading ("Tide: flow, both sides").
"""

import csv
import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from pairing.errors import PlanError
from pairing.model import Finding, Where
from pairing.plan.columns import columns_of
from pairing.plan.kinds import kind_named
from pairing.plan.language import lexicon_of, spelled
from pairing.plan.poses import pose_table
from pairing.plan.table import Row, rows_of
from pairing.plan.words import show_seconds

MOST_ROWS = 2000  # editorial: a class has some hundred


def plan_from_csv(text: str, *, title: str) -> str:
    """Give the text of a plan from the text of a spreadsheet file.

    Cells are text and nothing else: a cell that begins like a formula (=, +, -, @) loses these signs, and none can
    open a heading or a second line. The text may still hold what a plan doesn't understand; reading it tells.
    Raises:
        PlanError: no column holds poses, or there is no row below the header.
    """
    cells = [[_clean(cell) for cell in row] for row in _rows(text)]
    cells = [row for row in cells if any(row)]
    header = cells[0] if cells else []
    lexicon = lexicon_of(spelled(text))
    columns = columns_of(cells, lexicon) if cells else None
    if columns is None or "pose" not in columns.places:
        raise _error("no-pose-column", f"The first row has no column of poses ({', '.join(header) or 'empty'}).")
    if len(cells) < 2:
        raise _error("no-rows", "There is nothing below the column names.")
    if len(cells) > MOST_ROWS:
        raise _error("too-many-rows", f"The table has {len(cells)} rows; a class has {MOST_ROWS} at most.")
    rows = [row for row in rows_of(cells, columns, lexicon) if row.what == "row"]
    named = "section" in columns.places
    lines = [f"# {_clean(title) or 'Class'}", *_lines([row if named else _as_heading(row) for row in rows])]
    return "\n".join(lines) + "\n"


def _rows(text: str) -> list[list[str]]:
    text = text.lstrip("\ufeff").replace("\0", "")
    first = re.match(r"sep=(.)\r?\n", text)
    text = text[first.end() :] if first else text
    head = next((line for line in text.splitlines() if line.strip(" ,;\t")), "")
    delimiter = first[1] if first else max(";\t,", key=head.count)
    try:
        return list(csv.reader(text.splitlines(keepends=True), delimiter=delimiter))
    except (csv.Error, TypeError, ValueError) as error:
        raise _error("no-table", f"This table can't be read ({error}).") from error


def _clean(cell: str) -> str:
    """One line of plain text; signs that open a formula in a spreadsheet, or a heading in a plan, are taken off."""
    text = re.sub(r"[\x00-\x1f\x7f-\x9f\u2028\u2029\s]+", " ", cell).strip()
    return re.sub(r"^(?:[=@#>|*•\s]+|[+\-–—]+(?=\D|$))+", "", text).strip()


def _as_heading(row: Row) -> Row:
    """A section's name in the column of poses: nothing beside it, a kind, and no pose."""
    alone = not (row.amount or row.side or row.notes or row.others)
    name = re.split("[:,]", row.pose)[0]
    heads = alone and kind_named(name) is not None and not pose_table().knows(name)
    return replace(row, part=row.pose, pose="", opens=True) if heads else row


def _lines(rows: Sequence[Row]) -> Iterator[str]:
    for at, row in enumerate(rows):
        opens = row.opens or at == 0
        if opens:
            length = _length(row)
            yield from ("", f"## {row.part or 'Class: flow'}" + (f", {length}" if length and not row.pose else ""))
        yield from _line(row, opens=opens)


def _line(row: Row, *, opens: bool) -> Iterator[str]:
    """Give the line of a row; what stands beside no pose is a remark, or left for the reader of plans to ask about."""
    notes = re.sub(r"[()\[\]<>{}]", "", "; ".join(filter(None, (row.notes, row.counts, row.others))))
    length = _length(row)
    if row.pose:
        yield f"- {', '.join(filter(None, [row.pose, length, _side(row.side)]))}" + (f" ({notes})" if notes else "")
        return
    if length and not opens:
        yield f"- {length}"
    if notes:
        yield f"> {notes}"


def _length(row: Row) -> str:
    """How long a row takes: as typed, else up to the start of the next."""
    return row.amount or (show_seconds(row.by_starts_s) if row.by_starts_s else "")


def _side(cell: str) -> str:
    both = re.fullmatch(r"(?:both|each|2|r\W*l|l\W*r|yes|y|x)(?:\s+sides?)?", cell, re.IGNORECASE)
    return "each side" if both else cell


def _error(code: str, message: str) -> PlanError:
    remedy = 'The first row names the columns: "section,pose,length,notes".'
    return PlanError(message, (Finding("must", code, Where(name="spreadsheet"), message, remedy),))
