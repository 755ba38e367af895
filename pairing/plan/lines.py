"""The lines of a note: what is a heading, an item of a list, a rule, a remark; whatever a phone makes of them.

Read as meant: "##Flow", "-pose", "• pose", "– pose", "1. pose", "- [ ] pose", bold and italic marks, bare lines,
a heading with a rule under it. Only line feeds and carriage returns end a line, so that line numbers are those of
any editor.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from pairing.plan.pictures import has_pictures

Form = Literal["heading", "item", "text", "remark", "rule"]

_HEADING = re.compile(r"\s*(#{1,6})\s*(.*?)\s*#*\s*$")
_LETTERS = "ABCDEFabcdef"  # of parts and lines; "W2" and "K1" are warriors
_WORD = re.compile(r"[^\W_]")
_MARKER = re.compile(r"(?:[-–—−*+•·‣▪▫◦●○■□◆◇►▶→⇒✓✔✗☐☑✅⭐🔸🔹]\ufe0f?|\(?\d{1,3}[.)](?!\d)|\|)\s*(?:\[[ xX]?\]\s*)?")
_STROKE = re.compile(r"\d{1,2}/\s+(?=[^\W\d])")  # "4/ Sun A x3"
_LETTER = re.compile(  # "a. lunge", "B) hips", "A2 bridge"; "C1 40/20 x 2" is a name
    r"\(?([A-Za-z])(?:(\d{1,2})(?=[^(]*[^\W\d_]{3}))?([.):]|\s*[-–—]+)?\s+(?=\S)(?!\()"
)
_ENDS = (".", ")", ":", "-", "–", "—", " -", " –", " —")
_PICTURES = "[\u2600-\u27bf\u2b00-\u2bff\ufe0e\ufe0f\U0001f000-\U0001faff]+"
_ORNAMENT = re.compile(rf"^(?:{_PICTURES}\s*)+|(?:\s*{_PICTURES})+$")  # emoji before or behind a line's text
_STARRED = re.compile(r"([*~])\s+(?P<name>[^\W_].*?)\s*\1")  # "* Opening *", "~ floor ~"
_FRAME = r"(?:-{2,}|={2,}|~{2,}|\*{3,}|\+{2,})"
_FRAMED = re.compile(rf"{_FRAME}\s*([^\W_].*?[^\s=~*+-])\s*{_FRAME}")  # "-- standing --"
_RULE = re.compile(r"(={2,}|-{2,})")
_MARKED = re.compile(r"[*_`~\\|]")
_EMPHASIS = re.compile(r"(?<![\w*])([*_])(?=[^\s*_])(.+?)(?<=[^\s*_])\1(?![\w*])")
_TABLE_RULE = re.compile(r"[\s|:-]*-{2,}[\s|:-]*\|[\s|:-]*")  # below the head of a table
_INVISIBLE = re.compile("[\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufeff\u00ad]")
_ODD_SPACE = re.compile(
    r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u00a0\u2000-\u200a\u2028\u2029\u202f\u3000\t\ud800-\udfff]"
)


@dataclass(frozen=True, slots=True)
class Line:
    """One line that is not blank."""

    number: int  # from 1
    raw: str
    form: Form
    level: int  # a heading's number of signs; else the indentation in characters
    text: str  # without marker and emphasis
    underlined: str = ""  # "=" or "-": the line below is such a rule
    first: bool = False  # the line above is blank, or there is none
    bold: bool = False  # begins in bold
    full: str = ""  # the text with the pictures that stand for words; "" where it has none
    part: str = ""  # the letter in front of it, where that may name a part of the class

    def column(self, fragment: str = "") -> int:
        """Give the column, from 1, where `fragment` (or the text) begins in the line as typed."""
        word = fragment or self.text
        start = self.raw.find(word) if word else -1
        return (start if start >= 0 else len(self.raw) - len(self.raw.lstrip())) + 1


def split_lines(text: str) -> list[str]:
    """Split at line feeds and carriage returns only; each line keeps its own ending."""
    return [line for line in re.split(r"(?<=\n)|(?<=\r)(?!\n)", text) if line]


def scan(text: str) -> Iterator[Line]:
    """Give all lines that are not blank, in order."""
    raws = [line.rstrip("\r\n") for line in split_lines(text)]
    lettered = _lettered(raws)
    for index, raw in enumerate(raws):
        plain = _plain(raw)
        if plain.strip():
            below = raws[index + 1].strip() if index + 1 < len(raws) else ""
            first = index == 0 or not raws[index - 1].strip()
            yield _line(index + 1, raw, plain, below, first=first, lettered=lettered.get(index))


def _plain(raw: str) -> str:
    return _ODD_SPACE.sub(" ", _INVISIBLE.sub("", raw)) if not raw.isascii() or not raw.isprintable() else raw


def _lettered(raws: list[str]) -> dict[int, str]:
    """The lines that letters count: "a.", "b.", or "A1", "A2" below "A) 2 rounds", which names a part of the class.

    Returns:
        By index of the line the letter of the part that it may name, or "".
    """
    found: dict[int, str] = {}
    letters: dict[str, int] = {}  # counted so far, with their numbers
    last = ""
    for index, raw in enumerate(raws):
        match = _LETTER.match(raw.strip())
        letter, number = (match[1], int(match[2] or 0)) if match else ("", 0)
        if match is None or letter not in _LETTERS or (not number and match[3] not in _ENDS):
            continue
        if (letter in "aA" and not number) or (number and letters.get(letter, -1) == number - 1):
            begins = True
        else:
            begins = bool(last) and not number and ord(letter) == ord(last) + 1
        if begins or number == 1:
            letters[letter] = number
            last = letter
            found[index] = letter if letter.isupper() and not number else ""
    counted = sum(1 for each in letters) > 1 or any(number > 1 for number in letters.values())
    return found if counted else {}


def _line(number: int, raw: str, plain: str, below: str, *, first: bool, lettered: str | None = None) -> Line:
    heading = _HEADING.match(plain)
    if heading and heading[2]:
        return Line(number, raw, "heading", len(heading[1]), _unmarked(heading[2]).rstrip(" :"), first=first)
    drawn = has_pictures(plain)
    if not (_WORD.search(plain) or drawn) or ("|" in plain and _TABLE_RULE.fullmatch(below)):
        return Line(number, raw, "rule", 0, plain.strip())
    indent = len(plain) - len(plain.lstrip())
    rest = plain.strip()
    if rest.startswith(">"):
        return Line(number, raw, "remark", indent, _unmarked(rest.lstrip("> ")))
    framed = _FRAMED.fullmatch(rest) or _STARRED.fullmatch(rest)
    rest = (framed["name"] if framed.re is _STARRED else framed[1]) if framed else rest
    bold = rest.startswith(("**", "__")) or framed is not None
    marker = None if bold or _EMPHASIS.match(rest) else _MARKER.match(rest) or _STROKE.match(rest)
    marker = marker or (_LETTER.match(rest) if lettered is not None else None)
    body = _unmarked(rest[marker.end() :] if marker else rest)
    full = body if drawn else ""
    body = body if body.isascii() else _ORNAMENT.sub("", body)
    rule = _RULE.fullmatch(below)
    form: Form = "item" if marker else "text"
    return Line(number, raw, form, indent, body, rule[1][0] if rule else "", first, bold, full, lettered or "")


def _unmarked(text: str) -> str:
    """Take emphasis and escapes out, until none is left, so that text read and printed stays as it is."""
    text = text.strip()
    while _MARKED.search(text):
        plain = _EMPHASIS.sub(r"\2", re.sub(r"\*\*|__|~~|`", "", text))
        plain = re.sub(r"\\([^\w\s])", r"\1", plain).strip()
        if "|" in plain:  # cells of a table
            plain = plain.replace("|", ", ").strip(" ,")
        if plain == text:
            break
        text = plain
    return text
