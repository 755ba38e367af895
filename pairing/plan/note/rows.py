"""Rows of a table."""

from dataclasses import replace

from pairing.model import Wishes
from pairing.plan.fronts import Front
from pairing.plan.headings import Opened
from pairing.plan.kinds import kind_named
from pairing.plan.line.chunks import is_size, wished
from pairing.plan.line.moves import Line as Said_line
from pairing.plan.lines import Line
from pairing.plan.loose import SHORTEST_LOUD, loose_heading
from pairing.plan.note.adding import add_gap
from pairing.plan.note.items import read_item
from pairing.plan.note.minutes import minutes_heading
from pairing.plan.note.parting import close_to, open_loose
from pairing.plan.note.repeats import is_reference
from pairing.plan.note.state import Reading
from pairing.plan.said import Said
from pairing.plan.table import Row
from pairing.plan.words import show_seconds

APART_S = 60.0  # minutes of a row and of the starts around it contradict each other from here on; editorial


def _heads_rows(reading: Reading, line: Line, row: Row) -> bool:
    """Take a row in capitals that tells no amount, but work and rest, or a side, as the heading of those below."""
    first = row.pose.split()[:1]
    shouted = bool(first) and len(first[0]) > SHORTEST_LOUD and first[0].isupper()
    if not shouted or row.length_s or row.opens:
        return False
    text = ", ".join(filter(None, (row.pose, row.amount, row.side, row.notes or row.others if row.amount else "")))
    typed = replace(line, text=text, full="")
    tokens = reading.scanner.scan(text)
    at = reading.places[line.number]
    loose = loose_heading(typed, tokens, reading.lines[at + 1], 0.0) if at + 1 < len(reading.lines) else None
    if loose is None or (any(map(is_size, tokens)) and not loose.intervals):
        return False
    reading.scanned[line.number] = tokens
    open_loose(reading, typed, loose, None)
    return True


def read_row(reading: Reading, line: Line, row: Row) -> None:
    """A row of a table: its poses share its minutes."""
    if row.what == "header":
        reading.said(line, "the names of the columns")
        return
    if row.what == "total":
        reading.problems.total = (line, row.length_s or 0.0)
        reading.said(line, "a check of the whole, not part of the class")
        return
    if row.opens or not reading.stack:
        name = row.part if row.opens else ""
        close_to(reading, to_level=2)
        reading.stack.append(
            Opened(line, 2, name or "Class", Said(), kind_named(name) if name else None, unnamed=not name)
        )
    if row.start and reading.top.start is None and row.start >= "04:00":
        reading.top.start = row.start
    if row.length_s is not None and row.by_starts_s is not None and abs(row.length_s - row.by_starts_s) >= APART_S:
        reading.problems.at(
            line,
            "times-differ",
            f"The row says {show_seconds(row.length_s)}; the next one starts {show_seconds(row.by_starts_s)} later.",
            "Change one of the two; until then the minutes of the row count.",
        )
    if _heads_rows(reading, line, row):
        return
    if timed := minutes_heading(reading, line, reading.places[line.number]):
        open_loose(reading, line, timed, None)
        return
    text = row.text
    typed = replace(line, text=text, full="")
    front = Front(text, row.length_s) if row.length_s else None
    reading.scanned[line.number] = reading.scanner.scan(text)
    if not text:
        add_gap(reading, typed, Said_line(), front, []) if front else reading.said(line, "an empty row")
        return
    if front is None and is_reference(reading, typed):
        return
    read_item(reading, typed, front)
    notes = reading.scanner.scan(row.notes)
    if any(token.says("kinds.peak") for token in notes):
        reading.peaks.add(line.number)
    wishes = Wishes()
    for token in notes:
        if token.says("music") and (len(token.text.split()) > 1 or token.says("music.word")):
            wishes = wished(wishes, token)
    if wishes != Wishes() and reading.stack[-1].parts:
        reading.stack[-1].parts[-1] = replace(reading.stack[-1].parts[-1], wishes=wishes)
