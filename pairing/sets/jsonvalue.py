"""A value from a JSON file by a stranger: every access checks type and range, and errors say where it stands."""

import json
import math
from collections.abc import Iterator, Sequence
from pathlib import Path

from pairing.errors import SetError

LARGEST_BYTES = 64 * 2**20
LONGEST_TEXT = 10_000


def load(path: Path) -> "Value":
    """Parse a JSON file.

    Raises:
        SetError: it can't be read, is far too large, or is no JSON.
    """
    try:
        if not path.is_file():
            raise SetError("is no file." if path.exists() else "doesn't exist.", where=str(path))
        if path.stat().st_size > LARGEST_BYTES:
            raise SetError("is far too large for a set.", where=str(path))
        text = path.read_bytes().decode("utf-8")
        return Value(json.loads(text, parse_constant=_no_constant), "", path.name)
    except OSError as error:
        raise SetError(f"can't be read ({error.strerror or error}).", where=str(path)) from error
    except (ValueError, RecursionError) as error:
        raise SetError("is no set file: it isn't JSON.", where=str(path), remedy=_line(error)) from error


class Value:
    """A JSON value with its place in the file."""

    def __init__(self, value: object, place: str, file: str) -> None:
        self._value = value
        self._place = place
        self._file = file

    def wrong(self, expected: str) -> SetError:
        """The error to raise when this value isn't what it has to be."""
        shown = repr(self._value)
        shown = shown if len(shown) <= 40 else shown[:37] + "..."
        place = self._place or "the file"
        return SetError(
            f"{place} should be {expected}, but is {shown}.",
            where=self._file,
            remedy="The file was damaged or edited by hand; make the set again with: arcbed pair",
        )

    def __getitem__(self, key: str) -> "Value":
        if not isinstance(self._value, dict):
            raise self.wrong("an object with named values")
        place = f"{self._place}.{key}" if self._place else key
        if key not in self._value:
            raise SetError(f"{place} is missing.", where=self._file, remedy="Make the set again with: arcbed pair")
        return Value(self._value[key], place, self._file)

    def get(self, key: str) -> "Value | None":
        """A named value that may be absent or null."""
        if not isinstance(self._value, dict):
            raise self.wrong("an object with named values")
        return None if self._value.get(key) is None else self[key]

    @property
    def is_null(self) -> bool:
        """Whether the value is null."""
        return self._value is None

    def items(self, most: int) -> Iterator["Value"]:
        """The values of a list of at most so many."""
        if not isinstance(self._value, list) or len(self._value) > most:
            raise self.wrong(f"a list of at most {most}")
        for index, item in enumerate(self._value):
            yield Value(item, f"{self._place}[{index}]", self._file)

    def pair(self) -> tuple["Value", "Value"]:
        """The two values of a list of two."""
        values = list(self.items(2))
        if len(values) != 2:
            raise self.wrong("a list of two")
        return values[0], values[1]

    def text(self, longest: int = LONGEST_TEXT) -> str:
        """A text of at most so many characters."""
        if not isinstance(self._value, str) or len(self._value) > longest:
            raise self.wrong(f"a text of at most {longest} characters")
        return self._value

    def one_of(self, words: Sequence[str]) -> str:
        """One of a few words."""
        if not isinstance(self._value, str) or self._value not in words:
            raise self.wrong("one of " + ", ".join(words))
        return self._value

    def flag(self) -> bool:
        """True or false."""
        if not isinstance(self._value, bool):
            raise self.wrong("true or false")
        return self._value

    def number(self, low: float, high: float) -> float:
        """A finite number from `low` to `high`."""
        value = self._value
        if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
            raise self.wrong(f"a number from {low:g} to {high:g}")
        if not math.isfinite(value):
            raise self.wrong("a finite number")
        return float(value)

    def whole(self, low: int, high: int) -> int:
        """A whole number from `low` to `high`."""
        value = self._value
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            raise self.wrong(f"a whole number from {low} to {high}")
        return value

    def curve(self, length: int, low: float, high: float) -> list[float]:
        """Exactly `length` numbers, NaN where null stands."""
        if not isinstance(self._value, list) or len(self._value) != length:
            raise self.wrong(f"a list of {length} numbers")
        return [math.nan if item.is_null else item.number(low, high) for item in self.items(length)]


def _no_constant(name: str) -> object:
    raise ValueError(f"{name} is no JSON number")


def _line(error: Exception) -> str | None:
    return f"Line {error.lineno}: {error.msg}." if isinstance(error, json.JSONDecodeError) else None
