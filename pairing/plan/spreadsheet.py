"""A plan kept as a spreadsheet -> a plan's text.

Columns: section, pose, length, notes; in any order, under these or like names, others are kept as notes. Cells are
separated by comma, semicolon or tab. A section's name stands in each of its rows, or only in the first; its kind and
attributes may follow it as in a heading ("Tide: flow, both sides").
"""

import csv
import re
from collections.abc import Iterator

from pairing.errors import PlanError
from pairing.model import Finding, Where
from pairing.plan.kinds import kind_named
from pairing.plan.names import key
from pairing.plan.poses import pose_table

_COLUMNS = {
    "section": ("section", "part", "block", "phase", "sequence", "segment"),
    "pose": ("pose", "poses", "asana", "asanas", "exercise", "movement", "what", "posture", "item", "activity", "name"),
    "length": (
        "length",
        "breaths",
        "breath",
        "time",
        "duration",
        "hold",
        "minutes",
        "seconds",
        "count",
        "how long",
        "reps",
        "min",
        "sec",
        "times",
        "breath count",
        "hold time",
        "mins",
        "secs",
    ),
    "side": ("side", "sides"),
    "notes": ("note", "notes", "cue", "cues", "comment", "comments", "remark", "remarks", "props", "music"),
}
_BY_KEY = {key(name): column for column, names in _COLUMNS.items() for name in names}
# A unit in the header counts for bare numbers below it: "minutes", "length (sec)".
_UNITS = (
    ("sec", "seconds"),
    ("min", "minutes"),
    ("breath", "breaths"),
    ("hold", "breaths"),
    ("rep", "times"),
    ("times", "times"),
)
_RUNNING = {"", "no", "nr", "number", "row", "step"}
MOST_ROWS = 2000  # editorial: a class has some hundred


def plan_from_csv(text: str, *, title: str) -> str:
    """Give the text of a plan from the text of a spreadsheet file.

    Cells are text and nothing else: a cell that begins like a formula (=, +, -, @) loses these signs, and none can
    open a heading or a second line. The text may still hold what a plan doesn't understand; reading it tells.
    Raises:
        PlanError: no column holds poses, or there is no row below the header.
    """
    rows = [[_clean(cell) for cell in row] for row in _rows(text)]
    rows = [row for row in rows if any(row)]
    header = rows[0] if rows else []
    columns = _columns(header)
    if "pose" not in columns:
        raise _error("no-pose-column", f"The first row has no column of poses ({', '.join(header) or 'empty'}).")
    if len(rows) < 2:
        raise _error("no-rows", "There is nothing below the column names.")
    if len(rows) > MOST_ROWS:
        raise _error("too-many-rows", f"The table has {len(rows)} rows; a class has {MOST_ROWS} at most.")
    lines = [f"# {_clean(title) or 'Class'}", *_lines(rows[1:], header, columns)]
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


def _columns(header: list[str]) -> dict[str, list[int]]:
    """Give the places of each kind of column; of lengths there may be several ("minutes", "seconds")."""
    found: dict[str, list[int]] = {}
    for at, name in enumerate(header):
        plain = re.sub(r"[(\[].*", "", name)
        column = _BY_KEY.get(key(plain)) or next(
            (_BY_KEY[key(word)] for word in plain.split() if key(word) in _BY_KEY), None
        )
        if column and (column not in found or (column == "length" and _unit(name))):
            found.setdefault(column, []).append(at)
    return found


def _lines(rows: list[list[str]], header: list[str], columns: dict[str, list[int]]) -> Iterator[str]:
    section = None
    for row in rows:
        cell = {name: row[at[0]] if at[0] < len(row) else "" for name, at in columns.items()}
        cell["length"] = _length(row, header, columns.get("length", []))
        cell["notes"] = "; ".join(filter(None, [cell.get("notes", ""), *_others(row, header, columns)]))
        if "section" not in columns and _is_heading(cell):
            cell["section"], cell["pose"] = cell["pose"], ""
        named = cell.get("section", "")
        opens = bool(named and named != section) or section is None
        if opens:
            section = named or "Class: flow"
            yield from ("", f"## {section}" + (f", {cell['length']}" if cell["length"] and not cell["pose"] else ""))
        yield from _line(cell, opens=opens)


def _is_heading(cell: dict[str, str]) -> bool:
    """Whether a row is a section's name in the column of poses: nothing beside it, a kind, and no pose."""
    alone = not cell["length"] and not cell.get("side") and not cell["notes"]
    name = re.split("[:,]", cell["pose"])[0]
    return alone and kind_named(name) is not None and not pose_table().knows(name)


def _line(cell: dict[str, str], *, opens: bool) -> Iterator[str]:
    """Give the line of a row; what stands beside no pose is a remark, or left for the reader of plans to ask about."""
    notes = re.sub(r"[()\[\]<>{}]", "", cell["notes"])
    if cell["pose"]:
        said = ", ".join(filter(None, [cell["pose"], cell["length"], _side(cell.get("side", ""))]))
        yield f"- {said}" + (f" ({notes})" if notes else "")
        return
    if cell["length"] and not opens:
        yield f"- {cell['length']}"
    if notes:
        yield f"> {notes}"


def _length(row: list[str], header: list[str], places: list[int]) -> str:
    """Give what the columns of lengths say together: "1 minutes 30 seconds", "3 breaths, 5 times"."""
    said = [(_with_unit(row[at], _unit(header[at])), _unit(header[at])) for at in places if at < len(row) and row[at]]
    text = ""
    for length, unit in said:
        text += (" " if unit == "seconds" and text.endswith("minutes") else ", " if text else "") + length
    return text


def _with_unit(length: str, unit: str) -> str:
    bare = re.fullmatch(r"\d+(?:[.,]\d+)?(?:\s?[-–]\s?\d+)?", length)
    return f"{length} {unit}" if bare and unit else length


def _others(row: list[str], header: list[str], columns: dict[str, list[int]]) -> list[str]:
    """Give the cells of other columns, and those beyond the last column's name; running numbers are left out."""
    used = {at for places in columns.values() for at in places}
    others = [(header[at] if at < len(header) else "", cell) for at, cell in enumerate(row) if at not in used and cell]
    return [f"{name} {cell}".strip() for name, cell in others if not (key(name) in _RUNNING and cell.isdigit())]


def _unit(name: str) -> str:
    """The unit of bare numbers below a column's name; "" where the name tells none, so that reading asks for it."""
    return next((unit for word, unit in _UNITS if word in name.lower()), "")


def _side(cell: str) -> str:
    both = re.fullmatch(r"(?:both|each|2|r\W*l|l\W*r|yes|y|x)(?:\s+sides?)?", cell, re.IGNORECASE)
    return "each side" if both else cell


def _error(code: str, message: str) -> PlanError:
    remedy = 'The first row names the columns: "section,pose,length,notes".'
    return PlanError(message, (Finding("must", code, Where(name="spreadsheet"), message, remedy),))
