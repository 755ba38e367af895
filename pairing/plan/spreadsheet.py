"""A plan kept as a spreadsheet -> a plan's text.

Columns: section, pose, length, notes; in any order, under these or like names, others are kept as notes. Cells are
separated by comma, semicolon or tab. A section's name stands in each of its rows, or only in the first; its kind and
attributes may follow it as in a heading ("Tide: flow, both sides").
"""

import csv
import re
from collections.abc import Iterator

from pairing.errors import PlanError
from pairing.model import Finding
from pairing.plan.names import key

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
        raise _error(
            "no-pose-column", f"No column of poses is found in the first row ({', '.join(header) or 'empty'})."
        )
    if len(rows) < 2:
        raise _error("no-rows", "There is no row below the column names.")
    lines = [f"# {_clean(title) or 'Class'}", *_lines(rows[1 : MOST_ROWS + 1], header, columns)]
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
        raise _error("no-table", f"This is no table that can be read ({error}).") from error


def _clean(cell: str) -> str:
    """One line of plain text; signs that open a formula in a spreadsheet, or a heading in a plan, are taken off."""
    text = re.sub(r"[\x00-\x1f\x7f-\x9f\u2028\u2029\s]+", " ", cell).strip()
    return re.sub(r"^[=+@#>|*•\-–—\s]+(?=\D|$)", "", text).strip()


def _columns(header: list[str]) -> dict[str, int]:
    found: dict[str, int] = {}
    for at, name in enumerate(header):
        plain = re.sub(r"[(\[].*", "", name)
        column = _BY_KEY.get(key(plain)) or next(
            (_BY_KEY[key(word)] for word in plain.split() if key(word) in _BY_KEY), None
        )
        if column:
            found.setdefault(column, at)
    return found


def _lines(rows: list[list[str]], header: list[str], columns: dict[str, int]) -> Iterator[str]:
    section = None
    unit = _unit(header[columns["length"]]) if "length" in columns else ""
    for row in rows:
        cell = {name: row[at] if at < len(row) else "" for name, at in columns.items()}
        named = cell.get("section", "")
        if (named and named != section) or section is None:
            section = named or "Class: flow"
            yield from ("", f"## {section}")
        if cell["pose"]:
            yield _line(cell, unit, _others(row, header, columns))


def _line(cell: dict[str, str], unit: str, others: list[str]) -> str:
    length = cell.get("length", "")
    bare = re.fullmatch(r"\d+(?:[.,]\d+)?(?:\s?[-–]\s?\d+)?", length)
    said = [cell["pose"], f"{length} {unit}" if bare and unit else length, _side(cell.get("side", ""))]
    notes = "; ".join(re.sub(r"[()\[\]<>{}]", "", note) for note in [cell.get("notes", ""), *others] if note)
    return f"- {', '.join(filter(None, said))}" + (f" ({notes})" if notes else "")


def _others(row: list[str], header: list[str], columns: dict[str, int]) -> list[str]:
    used = set(columns.values())
    return [
        f"{header[at]} {cell}".strip() for at, cell in enumerate(row) if at not in used and cell and at < len(header)
    ]


def _unit(name: str) -> str:
    """The unit of bare numbers below a column's name; "" where the name tells none, so that reading asks for it."""
    return next((unit for word, unit in _UNITS if word in name.lower()), "")


def _side(cell: str) -> str:
    both = re.fullmatch(r"(?:both|each|2|r\W*l|l\W*r|yes|y|x)(?:\s+sides?)?", cell, re.IGNORECASE)
    return "each side" if both else cell


def _error(code: str, message: str) -> PlanError:
    remedy = 'The first row names the columns: "section,pose,length,notes".'
    return PlanError(message, (Finding("must", code, "spreadsheet", message, remedy),))
