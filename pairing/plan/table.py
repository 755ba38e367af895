"""A table, in a note with its cells parted by tabs or strokes, or saved as CSV: what each of its rows says.

Starts and minutes are the truth of a table; a row of a total is a check.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from pairing.plan.columns import BARE, Columns, Unit, cell_at, columns_of, length_s, start_s, with_unit
from pairing.plan.language import Lexicon, spelled
from pairing.plan.lines import Line
from pairing.plan.words import parse_time_of_day

LEAST_ROWS = 3  # of a table in a note; editorial
LONGEST_LAST_S = 1800.0  # from the last start to the end of the class; editorial
LEAST_STROKES = 2  # between the cells of a row; editorial
_EMPTY = re.compile(r"[-–—./]+")  # what stands in a cell that holds nothing


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table."""

    what: Literal["header", "row", "total"]
    pose: str = ""
    part: str = ""  # the section that its column names
    opens: bool = False  # it is the first row of that section
    amount: str = ""  # how long or how often, as typed, each with its unit
    counts: str = ""  # how often, beside minutes that hold all of it
    side: str = ""
    length_s: float | None = None  # minutes that it takes, whatever else it says
    by_starts_s: float | None = None  # up to the start of the next row
    start: str | None = None
    notes: str = ""
    others: str = ""  # cells of columns that nothing is known of, each with their name
    number: int | None = None  # by which the table counts this row

    @property
    def text(self) -> str:
        """What is done, as a line of a note; minutes that stand in a column of their own are in `length_s`."""
        amount = "" if self.length_s is not None else self.amount
        return ", ".join(filter(None, (self.pose or self.part, amount, self.side)))


def table_rows(lines: Sequence[Line], lexicon: Lexicon, whole_s: float | None = None) -> dict[int, Row]:
    """Give the rows of the table in a note by line number; none where it holds no table with a header.

    Args:
        lines: those of the note.
        lexicon: the words of its languages.
        whole_s: how long the class takes, where that is known: the last row with a start lasts up to there.
    """
    tabbed = {
        line.number: [cell.strip() for cell in line.raw.split("\t")]
        for line in lines
        if "\t" in line.raw.strip("\t") or line.raw.count("\t") > 1
    }
    rows = _named_rows(tabbed, lexicon, whole_s, least=1)
    return rows or _named_rows(_stroked(lines), lexicon, whole_s, least=2)


def _stroked(lines: Sequence[Line]) -> dict[int, list[str]]:
    """The cells of lines such as "1 | child | 2 min | -"."""
    found: dict[int, list[str]] = {}
    for line in lines:
        text = line.raw.strip()
        text = text[1:].removesuffix("|") if text.startswith("|") else text
        cells = [_EMPTY.sub("", cell) if _EMPTY.fullmatch(cell) else cell for cell in map(str.strip, text.split("|"))]
        if len(cells) > LEAST_STROKES and any(cells):
            found[line.number] = cells
    return found


def _named_rows(cells: dict[int, list[str]], lexicon: Lexicon, whole_s: float | None, *, least: int) -> dict[int, Row]:
    """The rows below a header that names the poses or the parts of a class, and so many columns at least."""
    if len(cells) < LEAST_ROWS:
        return {}
    columns = columns_of(list(cells.values()), lexicon)
    known = len(columns.places) + bool(columns.lengths)
    if known < least or ("pose" not in columns.places and "section" not in columns.places):
        return {}
    return dict(zip(cells, rows_of(list(cells.values()), columns, lexicon, whole_s), strict=True))


def rows_of(
    cells: Sequence[Sequence[str]], columns: Columns, lexicon: Lexicon, whole_s: float | None = None
) -> list[Row]:
    """Read the rows of a table, its header first; `whole_s`: how long the class takes."""
    starts = [start_s(columns.cell(row, "start")) for row in cells]
    first_s = next((start for start in starts if start is not None), 0.0)
    end_s = None if whole_s is None else first_s + whole_s
    rows = [Row("header")]
    part = ""
    for at, row in enumerate(cells[1:], 1):
        if _is_total(row, lexicon):
            rows.append(Row("total", length_s=_total_s(row)))
            continue
        here = starts[at]
        close = end_s is not None and here is not None and 0.0 < end_s - here <= LONGEST_LAST_S
        after = next((start for start in starts[at + 1 :] if start is not None), end_s if close else None)
        between_s = after - here if here is not None and after is not None and after > here else None
        rows.append(_row(row, columns, between_s, part))
        part = rows[-1].part or part
    return rows


def _row(row: Sequence[str], columns: Columns, between_s: float | None, above: str) -> Row:
    told = [(cell, unit) for at, unit in columns.lengths if (cell := cell_at(row, at))]
    times = [(cell, unit, seconds) for cell, unit in told if (seconds := length_s(cell, unit)) is not None]
    counts = [(cell, unit) for cell, unit in told if length_s(cell, unit) is None]
    # "20 | 3" below "sec | reps" is 3 times 20 s; below "min | reps" the minutes hold all of it
    apart = bool(counts) and bool(times) and any(unit != "seconds" for _, unit, _ in times)
    whole = bool(times) and not columns.of_one_side
    whole = whole and not (counts and not apart)
    whole = whole and any(unit in ("minutes", "seconds", "") for _, unit, _ in times)  # "45s" among counts is a hold
    rest, sets = cell_at(row, columns.rest), re.sub(r"^[x×]\s?|[x×]$", "", cell_at(row, columns.sets))
    works = bool(rest) and bool(told)
    part = columns.cell(row, "section")
    time = columns.cell(row, "start")
    others = [f"{name} {cell}".strip() for at, name in columns.others if (cell := cell_at(row, at))]
    return Row(
        "row",
        pose=columns.cell(row, "pose"),
        part=part,
        opens=bool(part) and part != above,
        amount=_worked(told, rest, sets)
        if works
        else _typed([(each, unit) for each, unit, _ in times] if apart else told),
        counts=_typed(counts) if apart else "",
        side=columns.cell(row, "side"),
        length_s=sum(seconds for _, _, seconds in times) if whole and not works else between_s,
        by_starts_s=between_s,
        start=parse_time_of_day(time) if ":" in time and len(time) >= 5 else None,
        notes=columns.cell(row, "notes"),
        others="; ".join(others),
        number=int(row[0]) if row and row[0].isdecimal() and columns.counted else None,
    )


def _worked(told: Sequence[tuple[str, Unit]], rest: str, sets: str) -> str:
    """The cells of work, rest and sets as one would type them: "40 seconds on 20 seconds off, x3"."""
    work, pause = (f"{cell} seconds" if BARE.fullmatch(cell) else cell for cell in (told[0][0], rest))
    return f"{work} on {pause} off" + (f" x{sets}" if sets else "")


def _typed(cells: Sequence[tuple[str, Unit]]) -> str:
    """The cells as one would type them: "1 minutes 30 seconds", "3 breaths, 5 times"."""
    text = ""
    for cell, unit in cells:
        text += (" " if unit == "seconds" and text.endswith("minutes") else ", " if text else "") + with_unit(
            cell, unit
        )
    return text


def _is_total(row: Sequence[str], lexicon: Lexicon) -> bool:
    return any(lexicon.has(spelled(cell), "top.total") for cell in row if cell)


def _total_s(row: Sequence[str]) -> float | None:
    numbers = [cell for cell in row if cell.strip(" ~'min").replace(":", "").isdigit()]
    if not numbers:
        return None
    cell = numbers[0].strip(" ~'min")
    hours, _, minutes = cell.partition(":")
    return 60.0 * (60 * int(hours) + int(minutes) if minutes else int(hours))
