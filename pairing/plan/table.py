"""A table pasted into a note, its cells parted by tabs or bars: what each of its rows says.

Starts and minutes are the truth of a table; a row of a total is a check.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from pairing.plan.language import Lexicon, spelled
from pairing.plan.lines import Line
from pairing.plan.words import parse_length, parse_time_of_day

_COLUMNS = ("start", "end", "length", "section", "pose", "side", "notes")


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table."""

    what: Literal["header", "row", "total"]
    text: str = ""  # what is done, as a line of a note
    section: str = ""
    length_s: float | None = None
    start: str | None = None
    notes: str = ""
    told_s: float | None = None  # minutes as typed, where the starts say otherwise


def table_rows(lines: Sequence[Line], lexicon: Lexicon) -> dict[int, Row]:
    """Give the rows of the table in a note by line number; none where it holds no table with a header."""
    cells = {
        line.number: [cell.strip() for cell in line.raw.split("\t")]
        for line in lines
        if "\t" in line.raw.strip("\t") or line.raw.count("\t") > 1
    }
    if len(cells) < 3:
        return {}
    first, *others = cells
    columns = _with_rising(_columns(cells[first], lexicon), cells, first, lexicon)
    if "pose" not in columns and "section" not in columns:
        return {}
    rows = {first: Row("header")}
    starts = {number: _start_s(_cell(cells[number], columns, "start")) for number in others}
    section = ""
    for at, number in enumerate(others):
        row = cells[number]
        if _is_total(row, lexicon):
            rows[number] = Row("total", length_s=_total_s(row))
            continue
        start = starts[number]
        after = next((starts[later] for later in others[at + 1 :] if starts[later] is not None), None)
        length_s = _length_s(
            _cell(row, columns, "length"), cells[first][columns["length"]] if "length" in columns else ""
        )
        between = after - start if start is not None and after is not None and after > start else None
        named = _cell(row, columns, "section")
        pose = _cell(row, columns, "pose")
        length = _cell(row, columns, "length") if length_s is None else ""
        side = _cell(row, columns, "side")
        text = ", ".join(filter(None, (pose or (named if "pose" not in columns else ""), length, side)))
        if not pose and named and "pose" in columns:
            text = named
        time = _cell(row, columns, "start")
        rows[number] = Row(
            "row",
            text=text,
            section=named if named != section else "",
            length_s=length_s if length_s is not None else between,
            start=parse_time_of_day(time) if ":" in time and len(time) >= 5 else None,
            notes=_cell(row, columns, "notes"),
            told_s=between,
        )
        section = named or section
    return rows


def _columns(header: Sequence[str], lexicon: Lexicon) -> dict[str, int]:
    found: dict[str, int] = {}
    for at, name in enumerate(header):
        words = spelled(name.partition("(")[0])
        for column in _COLUMNS:
            if column not in found and at not in found.values() and lexicon.has(words, f"columns.{column}"):
                found[column] = at
                break
    return found


def _with_rising(columns: dict[str, int], cells: dict[int, list[str]], first: int, lexicon: Lexicon) -> dict[str, int]:
    """ "Min | Exercise | Duration", the minutes 0, 5, 7, 12: they are starts, whatever their column is called."""
    if "start" in columns or "length" not in columns:
        return columns
    column = [_cell(row, columns, "length") for number, row in cells.items() if number != first]
    values = [float(cell) for cell in column if cell.isdigit()]
    if len(values) < 3 or values[0] != 0.0 or not all(a < b for a, b in itertools.pairwise(values)):
        return columns
    found = {**columns, "start": columns["length"]}
    del found["length"]
    for at, name in enumerate(cells[first]):
        if at not in found.values() and lexicon.has(spelled(name), "columns.length"):
            found["length"] = at
    return found


def _cell(row: Sequence[str], columns: dict[str, int], column: str) -> str:
    at = columns.get(column, -1)
    return row[at] if 0 <= at < len(row) else ""


def _start_s(cell: str) -> float | None:
    parts = cell.replace(".", ":").replace("h", ":").split(":")
    if not all(part.isdigit() for part in parts) or not cell:
        return None
    return 60.0 * (int(parts[0]) if len(parts) == 1 else 60 * int(parts[0]) + int(parts[1]))


def _length_s(cell: str, header: str) -> float | None:
    if not cell:
        return None
    plain = cell.strip(" ~'’′")
    if plain.replace(".", "").replace(",", "").isdigit():
        value = float(plain.replace(",", "."))
        name = header.lower()
        return (
            None
            if any(word in name for word in ("breath", "rep", "count"))
            else value * (1.0 if "sec" in name else 60.0)
        )
    length = parse_length(cell)
    return length.likely if length and length.unit == "seconds" else None


def _is_total(row: Sequence[str], lexicon: Lexicon) -> bool:
    return any(lexicon.has(spelled(cell), "top.total") for cell in row if cell)


def _total_s(row: Sequence[str]) -> float | None:
    numbers = [cell for cell in row if cell.strip(" ~'min").replace(":", "").isdigit()]
    if not numbers:
        return None
    cell = numbers[0].strip(" ~'min")
    hours, _, minutes = cell.partition(":")
    return 60.0 * (60 * int(hours) + int(minutes) if minutes else int(hours))
