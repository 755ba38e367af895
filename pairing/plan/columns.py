"""The columns of a table, pasted into a note or saved as CSV: what each holds, by its name and its cells."""

import itertools
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from pairing.plan.language import Lexicon, spelled
from pairing.plan.names import key
from pairing.plan.words import parse_length

Unit = Literal["minutes", "seconds", "breaths", "times", "open", ""]  # "open": the reader of lines weighs it

BARE = re.compile(r"\d+(?:[.,]\d+)?(?:\s?[-–]\s?\d+)?")  # a number or range without a unit
MOST_AMOUNTS = 0.6  # of the cells of a column begin with a number: they tell how long or how often; editorial
LEAST_RISING = 3  # bare minutes that rise from 0 are starts; editorial
_AMOUNT = re.compile(r"[x×]?\s?\d", re.IGNORECASE)
_NAMES = ("start", "end", "length", "section", "pose", "side", "notes")
_UNITS: tuple[tuple[str, Unit], ...] = (
    ("units.seconds", "seconds"),
    ("units.minutes", "minutes"),
    ("units.breaths", "breaths"),
    ("units.times", "times"),
    ("units.rounds", "times"),
    ("units.counts", "times"),
)
_RUNNING = {"", "no", "nr", "number", "row", "step"}  # names of a column that counts the rows


@dataclass(frozen=True, slots=True)
class Columns:
    """Which column holds what."""

    places: Mapping[str, int]  # of "pose", "section", "side", "start", "end", "notes"
    lengths: tuple[tuple[int, Unit], ...]  # places and units of bare numbers; there may be several
    others: tuple[tuple[int, str], ...]  # places and names of those that nothing is known of
    counted: bool = False  # the first one counts the rows
    of_one_side: bool = False  # lengths are those of one side: "hold (per side)"
    rest: int = -1  # the place of rests behind work, and of how often both come
    sets: int = -1

    def cell(self, row: Sequence[str], name: str) -> str:
        """Give what a row holds in a column; "" where there is none."""
        return cell_at(row, self.places.get(name, -1))


def cell_at(row: Sequence[str], at: int) -> str:
    """Give the cell at a place; "" where the row is shorter."""
    return row[at] if 0 <= at < len(row) else ""


def columns_of(rows: Sequence[Sequence[str]], lexicon: Lexicon) -> Columns:
    """Read the first row as the names of the columns, in any language of the lexicon."""
    header, *below = rows
    places: dict[str, int] = {}
    lengths: list[tuple[int, Unit]] = []
    others: list[tuple[int, str]] = []
    for at, name in enumerate(header):
        unit = unit_named(name, lexicon)
        what = _what(name, lexicon, [cell_at(row, at) for row in below], places)
        if what == "length" and (unit or all(known in ("times", "breaths") for _, known in lengths)):
            lengths.append((at, unit))
        elif what and what != "length":
            places[what] = at
        elif at or key(name) not in _RUNNING:
            others.append((at, name))
    if not lengths:
        told = [at for at, _ in others if _are_amounts([cell_at(row, at) for row in below])]
        lengths += [(at, "open") for at in told[:1]]
        others = [(at, name) for at, name in others if at not in told[:1]]
    rest, sets = _circuit(header, below, lengths, lexicon)
    if rest >= 0:
        lengths = _of_work(header, below, lengths, (rest, sets), lexicon)
        others = [(at, name) for at, name in others if at not in (rest, sets, *(place for place, _ in lengths))]
    width = max(map(len, rows))
    others += [(at, "") for at in range(len(header), width)]
    held = any(_is_of_one_side(header[at], lexicon) for at, _ in lengths)
    return Columns(places, tuple(lengths), tuple(others), key(header[0]) in _RUNNING, held, rest, sets)


def _circuit(
    header: Sequence[str], below: Sequence[Sequence[str]], lengths: Sequence[tuple[int, Unit]], lexicon: Lexicon
) -> tuple[int, int]:
    """Give the columns of "work | rest | sets" that hold rests and counts of sets; -1 for one that isn't there."""
    rests = [
        at for at, name in enumerate(header) if _is_named(name, lexicon, "intervals.rest", "once.rest", "once.pause")
    ]
    rests = [at for at in rests if _tell_amounts([cell_at(row, at) for row in below])]
    works = [at for at, name in enumerate(header) if _is_named(name, lexicon, "intervals.work")]
    if not rests or not (works or lengths):
        return -1, -1
    counts = [at for at, name in enumerate(header) if _is_named(name, lexicon, "units.rounds", "units.times")]
    return rests[0], counts[0] if counts else -1


def _of_work(
    header: Sequence[str],
    below: Sequence[Sequence[str]],
    lengths: Sequence[tuple[int, Unit]],
    behind: tuple[int, int],
    lexicon: Lexicon,
) -> list[tuple[int, Unit]]:
    """Give the column of work among those of a table with rests: by its name, else the first that tells lengths."""
    works = [at for at, name in enumerate(header) if _is_named(name, lexicon, "intervals.work") and at not in behind]
    works = [at for at in works if _tell_amounts([cell_at(row, at) for row in below])]
    found: list[tuple[int, Unit]] = [(works[0], unit_named(header[works[0]], lexicon) or "open")] if works else []
    return found or [(at, unit) for at, unit in lengths if at not in behind][:1]


def _tell_amounts(cells: Sequence[str]) -> bool:
    """Whether nearly all that stands in a column whose name says so begins with a number."""
    told = [cell for cell in cells if cell]
    return bool(told) and sum(map(bool, map(_AMOUNT.match, told))) >= MOST_AMOUNTS * len(told)


def _is_named(name: str, lexicon: Lexicon, *roles: str) -> bool:
    words = spelled(re.sub(r"[(\[].*", "", name))
    return any(lexicon.has(word, role) for word in (words, *((each,) for each in words)) for role in roles)


def _is_of_one_side(name: str, lexicon: Lexicon) -> bool:
    words = spelled(name)
    pairs = [words[at : at + 2] for at in range(len(words) - 1)]
    return any(lexicon.has(word, "how.hold") for word in ((word,) for word in words)) or any(
        lexicon.has(pair, "sides.each") for pair in pairs
    )


def _what(name: str, lexicon: Lexicon, cells: Sequence[str], known: Mapping[str, int]) -> str | None:
    """What a column of this name holds. "Time" may be a start or a length, so may "Min": what stands below tells."""
    plain = re.sub(r"[(\[].*", "", name)
    for words in (spelled(plain), *((word,) for word in spelled(plain))):
        found = [each for each in _NAMES if each not in known and lexicon.has(words, f"columns.{each}")]
        if not found:
            continue
        if "length" in found and "start" not in known and _are_starts(cells):
            return "start"
        if "start" in found and "length" in found and not _are_starts(cells):
            return "length"
        return found[0]
    return None


def _are_amounts(cells: Sequence[str]) -> bool:
    """Whether most cells begin with a number, or a sign for times, whatever their column is called."""
    told = [cell for cell in cells if cell]
    return len(told) >= LEAST_RISING and sum(map(bool, map(_AMOUNT.match, told))) >= MOST_AMOUNTS * len(told)


def _are_starts(cells: Sequence[str]) -> bool:
    """Whether cells are times that rise: "18:00, 18:05, 18:12", or minutes from 0."""
    told = [cell for cell in cells if cell]
    values = [start_s(cell) for cell in told]
    numbers = [value for value in values if value is not None]
    rising = all(one < other for one, other in itertools.pairwise(numbers))
    if len(numbers) < LEAST_RISING or len(numbers) < len(told) - 1 or not rising:
        return False
    clock = all(":" in cell or "." in cell or "h" in cell for cell in told[: len(numbers)])
    return clock or numbers[0] == 0.0


def start_s(cell: str) -> float | None:
    """Give the seconds of "18:05", "18.05", "18h05" or bare minutes; None for what is none."""
    parts = cell.replace(".", ":").replace("h", ":").split(":")
    if not cell or len(parts) > 3 or not all(part.isdecimal() for part in parts):
        return None
    return 60.0 * (int(parts[0]) if len(parts) == 1 else 60 * int(parts[0]) + int(parts[1]))


def unit_named(name: str, lexicon: Lexicon) -> Unit:
    """Give the unit of bare numbers below a column's name: "length (sec)"; "" where the name tells none."""
    for word in spelled(name):
        roles = lexicon.roles.get((word,), frozenset())
        found = next((unit for role, unit in _UNITS if role in roles), None)
        if found:
            return found
    return "open" if any(lexicon.has((word,), "how.hold") for word in spelled(name)) else ""


def length_s(cell: str, unit: Unit) -> float | None:
    """Give the seconds of a cell that tells a time; a bare number without a unit is minutes."""
    plain = cell.strip(" ~'’′")
    if re.fullmatch(r"\d+(?:[.,]\d+)?", plain):
        return (
            None
            if unit in ("breaths", "times", "open")
            else float(plain.replace(",", ".")) * (1 if unit == "seconds" else 60)
        )
    length = parse_length(cell) if cell else None
    return length.likely if length and length.unit == "seconds" else None


def with_unit(cell: str, unit: Unit) -> str:
    """Give a cell with the unit of its column where it holds a bare number."""
    return f"{cell} {unit}" if unit not in ("", "open") and BARE.fullmatch(cell) else cell
