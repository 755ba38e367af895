"""The lines of a note -> the sections of a plan. Every line finds a place: none is refused, what isn't sure is asked.

A line is read as the strict language first (`elements`), which leaves no doubt; else from its tokens (`moves`). Around
the lines stand headings, typed with or without signs; lines that speak of those above them (`refs`); and clock times
in front (`fronts`).
"""

import itertools
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from pairing.constants import USUAL_BREATH_S
from pairing.model import Element, Group, Kind, Length, LineRead, Place, Plan, Section, Side, Wishes
from pairing.plan.elements import Result, read_element
from pairing.plan.fronts import Front
from pairing.plan.groups import Groups
from pairing.plan.headings import EDGE, Opened, is_bare_heading, open_group, open_section
from pairing.plan.kinds import kind_named
from pairing.plan.language import Lexicon, spelled
from pairing.plan.lines import Line
from pairing.plan.loose import Loose, loose_heading
from pairing.plan.moves import (
    CHANT_S,
    COUNTED_BREATH,
    FROM_HERE_SECONDS,
    LINE_GROUP,
    Around,
    attributes_in,
    is_between,
    is_rested_in,
    is_size,
    line_of,
    parts_of,
    sides_joined,
    wished,
)
from pairing.plan.moves import Line as Said_line
from pairing.plan.poses import PoseTable
from pairing.plan.problems import Problems
from pairing.plan.refs import Reference, again, on_side, reference
from pairing.plan.said import Fault, Said
from pairing.plan.says import says_of, says_of_parts
from pairing.plan.sections import in_sections
from pairing.plan.style import style_in_words
from pairing.plan.table import Row
from pairing.plan.titles import clock_span, read_title
from pairing.plan.tokens import Scanner, Token
from pairing.plan.top import Top, names_key, read_key
from pairing.plan.words import scaled, show_seconds

CHANT_ID, VINYASA_ID = "om_chant", "vinyasa"
_LONG = ("yin", "restorative")  # classes of few, long poses
MOST_OF_LINE_S = 1500.0  # of several poses or repetitions on one line; editorial
MANY_TIMES = 60  # a count beyond that may be a product of two; editorial
_OTHER: dict[Side, Side] = {"right": "left", "left": "right"}
Part = Element | Group


@dataclass(slots=True)
class _Item:
    """A line that put parts into the class."""

    line: Line
    opened: Opened
    first: int  # its parts are opened.parts[first:last]
    last: int
    complete: bool = False  # both sides of it are done, or it has none
    is_repeat: bool = False


@dataclass(slots=True)
class _Echo:
    says: str = ""
    sure: bool = True


class Reader:
    """Reads the lines of a note in order; `plan` gives what they make."""

    def __init__(
        self,
        table: PoseTable,
        lexicon: Lexicon,
        problems: Problems,
        lines: Sequence[Line],
        front: Mapping[int, Front],
        rows: Mapping[int, Row],
        *,
        style: str | None = None,
    ) -> None:
        self._table = table
        self._scanner = Scanner(lexicon, table)
        self._problems = problems
        self._lines = [
            replace(line, text=front[line.number].text, full="") if line.number in front else line for line in lines
        ]
        self._front = front
        self._rows = rows
        self._style = style
        self._has_title = any(line.form == "heading" and line.level == 1 for line in lines)
        self._has_signs = any(line.form == "heading" and line.level > 1 for line in lines)
        self._groups = Groups(problems)
        self._top = Top()
        self._title: str | None = None
        self._slot_by_title = False
        self._open: list[Opened] = []  # section, group, group within
        self._sections: list[Section] = []
        self._last_item: Line | None = None
        self._items: list[_Item] = []
        self._unit: tuple[Opened, int, int] | None = None  # what "again" means: both sides of what was last repeated
        self._echo: dict[int, _Echo] = {}
        self._tokens: dict[int, list[Token]] = {}
        self._loose: dict[int, Loose] = {}  # of opened sections, by the line of their heading
        self._peaks: set[int] = set()  # lines that the note calls its peak
        self._block: tuple[int, Opened] | None = None

    # ---- the pass ------------------------------------------------------------------------------------------------

    def read(self, at: int) -> None:
        """Read the line at this place in the list."""
        line = self._lines[at]
        row = self._rows.get(line.number)
        if row is not None:
            self._row(line, row)
            return
        front = self._front.get(line.number)
        if front is not None and front.start and self._top.start is None:
            self._top.start = front.start
        if line.form == "rule":
            self._said(line, "a line to part others")
        elif line.form == "remark":
            self._remark(line)
        elif line.form == "heading":
            self._heading(line)
        else:
            self._free(line, at, front)

    def _free(self, line: Line, at: int, front: Front | None) -> None:
        if self._is_underlined_heading(line):
            self._heading(line)
        elif self._is_inert(line):
            self._remark(line, line.text.strip("()[]{} "))
        elif self._is_plain_key(line) or self._is_title(line) or self._is_total(line):
            return
        elif self._is_strict_heading(line):
            self._heading(line)
        elif not (self._is_key(line) or self._is_music(line) or self._is_rounds(line) or self._is_reference(line)):
            loose = self._is_loose_heading(line, at)
            if loose is not None:
                self._open_loose(line, loose, front)
            else:
                self._item(line, front)

    def plan(self) -> Plan:
        """Give what was read; the findings are in `problems`."""
        self._close(to_level=2)
        self._check_rests()
        if self._title is None and self._top.title is None:
            self._problems.liberty(None, "title-missing", 'No title is given; "Class" is taken.')
        if self._top.breath_s is None and self._sections:
            self._problems.liberty(
                None, "breath-missing", f"No breath is given; {show_seconds(USUAL_BREATH_S)} a breath are taken."
            )
        sections = in_sections(self._sections, self._table, self._peaks)
        plan = self._top.plan(self._title or self._top.title or "Class", sections)
        return replace(plan, lines=self._lines_read(), slot_by_title=self._slot_by_title)

    def _lines_read(self) -> tuple[LineRead, ...]:
        asked = self._problems.asked()
        read: list[LineRead] = []
        for line in self._lines:
            echo = self._echo.get(line.number, _Echo("not part of the class"))
            answers = asked.get(line.number)
            read.append(
                LineRead(line.number, line.raw.strip(), echo.says, echo.sure and answers is None, answers or ())
            )
        return tuple(read)

    def _said(self, line: Line, says: str, *, sure: bool = True) -> None:
        self._echo[line.number] = _Echo(says, sure)

    def _tokens_of(self, line: Line) -> list[Token]:
        if line.number not in self._tokens:
            self._tokens[line.number] = self._scanner.scan(line.full or line.text)
        return self._tokens[line.number]

    # ---- the note outside lists ----------------------------------------------------------------------------------

    def _remark(self, line: Line, text: str | None = None) -> None:
        text = line.text if text is None else text
        self._said(line, "a note, not part of the class")
        if self._open and text:
            self._open[-1].notes.append(text)
        elif text:
            self._top.facts.append(("note", text))

    def _is_inert(self, line: Line) -> bool:
        text = line.text.strip()
        return text[:1] in "([{" and text[-1:] in ")]}" and text.find(")") in (-1, len(text) - 1)

    def _is_title(self, line: Line) -> bool:
        """Read the first line as the title, and a bare line above all else as a fact."""
        if self._open or self._sections or self._top.told or line.form != "text":
            return False
        if self._title is not None or self._has_title:
            return self._has_title and self._is_fact(line)
        title = read_title(line.text, self._tokens_of(line), apart=self._stands_apart(line))
        if title is None:
            return False
        self._title = title.name
        self._note_slot(title.slot_s, title.start)
        self._said(line, "the title" + (f"; the slot is {show_seconds(title.slot_s)}" if title.slot_s else ""))
        return True

    def _stands_apart(self, line: Line) -> bool:
        """Whether a blank line or the settings of the class follow."""
        below = self._lines[1] if len(self._lines) > 1 and self._lines[0] is line else None
        return below is not None and (below.first or below.form == "heading" or names_key(below.text))

    def _is_plain_key(self, line: Line) -> bool:
        """A setting of the class by its own name, above all parts."""
        if self._open or not names_key(line.text):
            return False
        return self._is_key(line)

    def _is_fact(self, line: Line) -> bool:
        tokens = self._tokens_of(line)
        if any(token.kind == "pose" or token.says("kinds") for token in tokens) or ":" in line.text:
            return False
        if re.search(r"\d", line.text):
            return False
        self._top.facts.append(("note", line.text))
        self._problems.liberties_of(line, [f'"{line.text}" is taken as a note for the sheet'])
        self._said(line, "a note, not part of the class")
        return True

    def _note_slot(self, slot_s: float | None, start: str | None) -> None:
        if slot_s and self._top.slot_s is None:
            self._top.slot_s, self._slot_by_title = slot_s, True
        if start and self._top.start is None:
            self._top.start = start

    def _is_total(self, line: Line) -> bool:
        tokens = [token for token in self._tokens_of(line) if token.kind != "mark"]
        if not tokens or (not tokens[0].says("top.total") and not (len(tokens) == 2 and tokens[1].says("top.total"))):
            return False
        sizes = [token for token in tokens if token.kind in ("length", "number")]
        if len(sizes) != 1 or any(token.kind == "pose" for token in tokens):
            return False
        size = sizes[0]
        self._problems.total = (line, size.high if size.kind == "length" else 60.0 * size.high)
        self._said(line, "a check of the whole, no part of the class")
        return True

    def _is_key(self, line: Line) -> bool:
        if ":" in line.text and not names_key(line.text):
            line_said = line_of(self._tokens_of(line), self._around())
            if line_said.moves or kind_named(line.text.partition(":")[0]):
                return False
        found = read_key(line, self._top, self._open[-1] if self._open else None, self._problems)
        if found:
            self._said(line, "a setting of the class" if not self._open else "how this part is done")
        if found and (span := clock_span(line.text)):
            self._note_slot(None, span[1])
        return found

    def _is_underlined_heading(self, line: Line) -> bool:
        """A bare line over a rule is a heading, as in Markdown, unless it is a pose, a key or in a run of lines."""
        if not line.underlined or line.form != "text":
            return False
        return line.underlined == "=" or (line.first and not self._table.knows(re.split("[,:;]", line.text)[0]))

    def _is_strict_heading(self, line: Line) -> bool:
        untitled = self._title is None and self._top.title is None and not self._open and self._has_title
        if untitled or not is_bare_heading(line, self._table):
            return False
        if (self._has_signs and not line.bold) or not self._is_plain_heading(line):
            return False
        self._problems.liberties_of(line, [f'"{line.text}" is taken as a heading'])
        return True

    def _is_plain_heading(self, line: Line) -> bool:
        """Whether the strict language understands all of a heading without signs."""
        section = open_section(line, Problems(""))
        kind = section.kind or kind_named(section.name)
        tokens = self._tokens_of(line)
        sided = any(token.says("sides.right", "sides.left") for token in tokens)
        counted = any(token.kind in ("times", "chain", "counts", "number") for token in tokens)
        sized = counted or any(token.kind in ("length", "pair") for token in tokens)
        rests = kind is Kind.REST and line.first and not counted
        return kind is not None and not section.notes and not sided and (not sized or line.bold or rests)

    def _heading(self, line: Line) -> None:
        self._last_item = None
        if line.form == "heading":
            level = line.level
        else:
            level = 1 if line.underlined == "=" else 3 if line.bold and self._has_signs else 2
        if level == 1 and self._title is None and self._top.title is None and not self._open and not self._sections:
            title = read_title(line.text, self._scanner.scan(line.text), must=True)
            self._title = line.text.strip(EDGE)
            if title:
                self._note_slot(title.slot_s, title.start)
            self._said(line, "the title")
        elif level <= 2 or not self._open:
            self._close(to_level=2)
            self._open.append(open_section(line, self._problems))
            self._said(line, f"a part of the class: {self._open[-1].name}")
        else:
            self._close(to_level=level)
            self._open.append(open_group(line, level, self._problems))
            self._said(line, f"a group of lines: {self._open[-1].name}")
        self._unit = None

    # ---- headings without signs ----------------------------------------------------------------------------------

    def _is_loose_heading(self, line: Line, at: int) -> Loose | None:
        front = self._front.get(line.number)
        next_line = self._lines[at + 1].number if at + 1 < len(self._lines) else 0
        if front and front.length_s and (next_line == 0 or next_line in self._front):
            return None
        below = self._lines[at + 1] if at + 1 < len(self._lines) else None
        return loose_heading(line, self._tokens_of(line), below, self._below(at))

    def _below(self, at: int) -> float | None:
        """Seconds that the lines below this one tell by themselves, up to the next heading; None where none stands."""
        seconds, seen, untold = 0.0, 0, 0
        for line in self._lines[at + 1 : at + 12]:
            if line.form in ("heading", "rule", "remark"):
                break
            tokens = self._tokens_of(line)
            if loose_heading(line, tokens, None, None) or (line.text.isupper() and len(line.text) > 3):
                break
            seen += 1
            told = [token for token in tokens if token.kind == "length"]
            untold += not told
            seconds += sum(token.low * (USUAL_BREATH_S if token.unit == "breaths" else 1.0) for token in told)
        return None if not seen else seconds if untold else max(seconds, 1e-6)

    def _open_loose(self, line: Line, loose: Loose, front: Front | None) -> None:
        self._close(to_level=2)
        said = Said()
        if loose.rounds > 1:
            said.rounds = loose.rounds
            said.told.add("rounds")
        said.wishes = loose.wishes
        minutes = loose.minutes or (_seconds(front.length_s) if front and front.length_s else None)
        if minutes:
            said.length = minutes
            said.told.add("length")
        opened = Opened(line, 2, loose.name, said, loose.kind, side=loose.side, notes=list(loose.notes))
        self._open.append(opened)
        self._loose[line.number] = loose
        self._last_item, self._unit = None, None
        self._said(line, f"a part of the class: {loose.name}" + (f", {loose.says}" if loose.says else ""))
        if loose.peak:
            self._peaks.add(line.number)

    # ---- lines that ask for no movement --------------------------------------------------------------------------

    def _is_music(self, line: Line) -> bool:
        """A line that is a wish for the music alone: it holds from here on."""
        tokens = [token for token in self._tokens_of(line) if token.kind != "mark"]
        if not tokens or not all(token.says("music", "join") for token in tokens):
            return False
        if all(token.roles <= {"music.word", "once.song"} for token in tokens) or (
            len(tokens) == 1 and tokens[0].says("kinds")
        ):
            return False
        wishes = Wishes()
        for token in tokens:
            wishes = wished(wishes, token)
        if not self._open:
            self._top.wishes = wishes if self._top.wishes == Wishes() else self._top.wishes
        elif self._open[-1].parts:
            self._open[-1].music_from.append((len(self._open[-1].parts), wishes))
        else:
            self._open[-1].said.wishes = wishes
        self._said(line, f"music from here on: {says_of(wishes)}")
        return True

    def _is_rounds(self, line: Line) -> bool:
        """ "Repeat x3" at the end of a part with a heading: its rounds."""
        opened = self._open[-1] if self._open else None
        if opened is None or opened.line.form != "heading" or not opened.parts or opened.said.rounds:
            return False
        result = read_element(line, self._table)
        return result.rounds is not None and self._speaks_of_others(line, result, opened)

    def _is_reference(self, line: Line) -> bool:
        if not self._items and not self._open:
            return False
        asked = reference(self._tokens_of(line), self._names())
        if asked is None:
            return False
        if asked.side and not asked.whole and not self._has_spoken_of_sides(line) and self._opens_side(line, asked):
            return True
        if not self._open or not self._items_here():
            return self._opens_side(line, asked)
        opened, first, last = self._meant(asked, line)
        if first >= last:
            return self._opens_side(line, asked)
        self._repeat(line, asked, opened, first, last)
        return True

    def _has_spoken_of_sides(self, line: Line) -> bool:
        tokens = self._tokens_of(line)
        return any(token.says("again", "sides.other") for token in tokens)

    def _opens_side(self, line: Line, asked: Reference) -> bool:
        """ "Right side:" above its lines, or "left side" with lines of its own below it."""
        if not asked.side or asked.whole or not self._open:
            return False
        here = self._items_here()
        if here and not line.text.rstrip().endswith(":"):
            return False
        self._open[-1].side = asked.side
        self._said(line, f"the {asked.side} side, for the lines below it")
        return True

    def _names(self) -> list[tuple[str, ...]]:
        names = [opened.name for opened in self._open] + [section.name for section in self._sections[-3:]]
        return [tuple(name.lower().split()) for name in names]

    def _items_here(self) -> list[_Item]:
        return [item for item in self._items if self._open and item.opened is self._open[-1]]

    def _meant(self, asked: Reference, line: Line) -> tuple[Opened, int, int]:
        """The parts that a reference means: first and last in those of the open part."""
        opened = self._open[-1]
        items = self._items_here()
        if not (asked.other or asked.side) and self._unit and self._unit[0] is opened:
            return self._unit
        if asked.whole or asked.back_down or line.number in self._loose or self._by_name(asked):
            start = next((item for item in items if not item.is_repeat), items[0])
            return opened, start.first, max(item.last for item in items if not item.is_repeat or asked.both)
        last = items[-1]
        if asked.side and opened.side == _OTHER[asked.side]:  # "Right leg: ...", all of it
            done = max((at + 1 for at, item in enumerate(items) if item.is_repeat), default=0)
            return opened, items[min(done, len(items) - 1)].first, last.last
        return opened, self._start_of_side(items), last.last

    def _by_name(self, asked: Reference) -> bool:
        named = asked.named.lower().split()
        name = self._open[-1].name.lower().split()
        return bool(named) and any(word in name for word in named)

    def _start_of_side(self, items: list[_Item]) -> int:
        """Where the run of lines begins that has been done on one side only."""
        last = items[-1]
        if last.last - last.first >= 3 or self._is_run(last):
            return last.first
        start = last.first
        if last.complete:
            return start
        for item in reversed(items[:-1]):
            if item.complete or item.is_repeat or self._is_run(item):
                break
            start = item.first
            if item.line.first:
                break
        return start

    def _is_run(self, item: _Item) -> bool:
        parts = item.opened.parts[item.first : item.last]
        inner = parts[0].parts if len(parts) == 1 and isinstance(parts[0], Group) else parts
        return len(inner) >= 3

    def _repeat(self, line: Line, asked: Reference, opened: Opened, first: int, last: int) -> None:
        place = Place(line.number, line.column())
        start = len(opened.parts)
        parts = tuple(opened.parts[first:last])
        other = asked.other or asked.side is not None
        if other and not asked.both:
            opened.parts[first:last] = on_side(parts, _OTHER[asked.side or "left"], self._table)
            done = again(parts, place, self._table, replace(asked, side=asked.side or self._missing_side(parts)))
            self._unit = (opened, first, start + len(done))
        elif asked.back_down:
            done = again(parts, place, self._table, asked)
        elif asked.both and not self._is_whole(opened, first, last):
            done = (Group(LINE_GROUP, place, again(parts, place, self._table, asked), both_sides=True),)
        else:
            done = again(parts, place, self._table, asked)
        if asked.times > 1 and done:
            done = (Group(LINE_GROUP, place, done, rounds=asked.times),)
        opened.parts.extend(done)
        opened.side = None if other else opened.side
        self._items.append(_Item(line, opened, start, len(opened.parts), complete=True, is_repeat=True))
        if not self._unit or self._unit[0] is not opened:
            self._unit = (opened, first, last)
        self._said(line, f"the lines above once more{_how(asked)}")
        if opened.closed_by:
            opened.closed_by = None

    def _missing_side(self, parts: Sequence[Part]) -> Side | None:
        sides = {part.side for part in parts if isinstance(part, Element) and part.side}
        return _OTHER[sides.pop()] if len(sides) == 1 else "left" if not sides else None

    def _is_whole(self, opened: Opened, first: int, last: int) -> bool:
        """Whether both sides lie among these parts already."""
        return any(
            item.is_repeat and item.first < last and item.first >= first
            for item in self._items
            if item.opened is opened
        )

    # ---- lines of sections ---------------------------------------------------------------------------------------

    def _none_counts_breaths(self, line: Line | None) -> bool:
        """Whether no bare number on this line or beside it is that of a pose held for some breaths."""
        at = next((at for at, other in enumerate(self._lines) if other is line), None)
        if line is None or at is None:
            return False
        near = [other for other in self._lines[max(0, at - 1) : at + 2] if other.form in ("text", "item")]
        return not any(_counts_breaths(self._tokens_of(other), itself=other is line) for other in near)

    def _around(self, line: Line | None = None) -> Around:
        section = self._open[0] if self._open else None
        kind = (section.kind or kind_named(section.name)) if section else None
        loose = self._loose.get(section.line.number) if section else None
        before = None
        for part in reversed(self._open[-1].parts if self._open else []):
            before = _last_element(part)
            if before is not None:
                break
        return Around(
            self._table,
            kind,
            self._style in _LONG or (section is not None and _is_long(section.name)),
            self._style in ("mat", "barre", "interval", "chair"),
            before,
            loose.intervals if loose else None,
            self._none_counts_breaths(line),
            any(opened.said.each_side for opened in self._open),
        )

    def _item(self, line: Line, front: Front | None) -> None:
        if self._leaves_part(line):
            self._close(to_level=2)
        if front is not None and front.length_s is None and front.shown and self._is_end(line):
            self._said(line, "the end of the class")
            return
        if not self._open:
            self._open_unnamed(line)
        group = self._open[-1]
        if self._closes_class(line, front):
            return
        result, sure = self._strict(line)
        if sure and result is not None and result.element is not None:
            self._add(line, (self._as_usual(result.element),), front, sure=True)
            self._problems.liberties_of(line, result.liberties)
            if result.element.what == "gap":
                self._ask_unknown(line, result.element.name, [])
            return
        if result is not None and self._speaks_of_others(line, result, group):
            return
        if self._is_note_below(line, group) and result is not None:
            self._note_below(line, group)
            return
        self._from_tokens(line, front, result)

    def _is_end(self, line: Line) -> bool:
        tokens = [token for token in self._tokens_of(line) if token.kind != "mark"]
        return bool(tokens) and all(token.says("kinds.closing", "top.total", "join") for token in tokens)

    def _leaves_part(self, line: Line) -> bool:
        """Whether a line stands behind the lines of a heading without signs.

        Below a blank line, numbered as the heading is, done on both sides where all else is, or no level of a pyramid.
        """
        opened = self._open[-1] if self._open else None
        loose = self._loose.get(opened.line.number) if opened else None
        if opened is None or loose is None or not opened.parts:
            return False
        if _is_numbered(opened.line) and _is_numbered(line) and not _is_numbered(self._items_here()[0].line):
            return True
        if loose.intervals and self._is_rest(line):
            return True
        if not (loose.both or opened.side):
            return False
        sided = any(token.says("sides.each") for token in sides_joined(self._tokens_of(line)))
        if line.first or (loose.both and sided) or self._rests_behind_vinyasa(line):
            return True
        levels = [item for item in self._items_here() if self._is_level(item.line)]
        return len(levels) > 1 and not self._is_level(line)

    def _rests_behind_vinyasa(self, line: Line) -> bool:
        """A resting pose with minutes of its own, behind the vinyasa that ends a flow."""
        tokens = self._tokens_of(line)
        poses = [token.match.pose for token in tokens if token.match and token.match.pose]
        timed = any(token.kind == "length" and token.unit == "seconds" for token in tokens)
        before = _last_element(self._open[-1].parts[-1])
        ended = before is not None and before.pose_id == VINYASA_ID
        return ended and timed and len(poses) == 1 and poses[0].family == "rest"

    def _is_rest(self, line: Line) -> bool:
        """ "Rest 1 min", behind the stations of a circuit."""
        tokens = [token for token in self._tokens_of(line) if token.kind != "mark"]
        sized = any(token.kind == "length" for token in tokens)
        return sized and tokens[0].says("once.rest", "once.pause", "intervals.rest")

    def _is_level(self, line: Line) -> bool:
        tokens = self._tokens_of(line)
        return bool(tokens) and tokens[0].says("how.level")

    def _strict(self, line: Line) -> tuple[Result | None, bool]:
        """The strict language's reading of a line, and whether it leaves no doubt."""
        if line.full:
            return None, False
        section = self._open[0]
        rest = (section.kind or kind_named(section.name)) is Kind.REST
        result = read_element(line, self._table, rest=rest)
        if result.element is not None and result.element.what == "song":
            self._problems.faults(line, result.faults)
            return result, True
        sure = result.element is not None and not result.faults and not self._leaves_doubt(line, result.element)
        return result, sure

    def _as_usual(self, element: Element) -> Element:
        """A chant that names no length is no single om."""
        unsized = element.length is None and element.times is None
        if self._has_signs or element.pose_id != CHANT_ID or not unsized:
            return element
        return replace(element, length=Length("seconds", CHANT_S, CHANT_S, CHANT_S))

    def _leaves_doubt(self, line: Line, element: Element) -> bool:
        if element.what == "bell":
            return any(token.kind == "length" for token in self._tokens_of(line))
        if element.what == "pause" and element.length is None:
            return any(token.kind == "number" for token in self._tokens_of(line))
        if element.what != "pose":
            return False
        loose = self._loose.get(self._open[0].line.number)
        if loose and loose.intervals and element.length is None:
            return True
        if element.times is not None and element.times > MANY_TIMES:
            return True
        tokens = self._tokens_of(line)
        if self._around().yin and element.length is None and any(token.kind == "number" for token in tokens):
            return True
        if element.length is None and COUNTED_BREATH.match(element.name):
            return True
        if element.length is None and element.times is None and "same" in element.note.lower().split():
            return True
        poses = {token.match.pose.id for token in tokens if token.match and token.match.pose and not token.broad}
        if "/" in element.note and len(poses) > 1:
            return True
        each = any(token.says("join.each") for token in tokens)
        if each and (element.alternatives or (_is_timed(element.length) and element.times and not element.each_side)):
            return True
        if element.times and element.length and any(token.says("once.rest", "once.pause") for token in tokens):
            return True
        if self._leaves_size_in_note(element, tokens) or _is_too_long((element,)):
            return True
        if any(token.says("intervals.every_1", "intervals.every_2", "intervals.every_3") for token in tokens):
            return True
        if any(token.kind == "pulses" or token.says("units.pulses") for token in tokens):
            return True
        if element.note == "" and not element.alternatives:
            return _may_say_more(line.text)
        outside = [token for token in tokens if token.kind != "aside"]
        sizes = sum(token.kind != "number" and is_size(token) for token in (*outside, *attributes_in(tokens)))
        told = sum(said is not None for said in (element.length, element.times, element.wishes.silent_last_s))
        both = element.each_side or element.once is not None
        sided = any(token.says("sides.each", "sides.other") for token in sides_joined(outside)) and not both
        sided = sided or (not both and element.side is None and _names_both(outside))
        between = is_between(outside) and not element.once
        variants = any(token.says("how.variants") for token in attributes_in(tokens))
        return sizes > told or sided or between or variants or _second_move(tokens)

    def _leaves_size_in_note(self, element: Element, tokens: Sequence[Token]) -> bool:
        """ "March on the spot 20", "leg extensions x5 each": what tells how much must not end as a note."""
        if element.wishes != Wishes():  # "x3, beat 120-128, each": the numbers are those of the music
            return False
        noted = set(element.note.split())
        numbers = element.length is None and any(token.kind == "number" and token.text in noted for token in tokens)
        sided = element.pose_id is not None and self._table.get(element.pose_id).sided
        each = (
            sided
            and element.times is not None
            and any(token.says("join.each") and token.text in noted for token in tokens)
        )
        return numbers or each

    def _from_tokens(self, line: Line, front: Front | None, strict: Result | None) -> None:
        around = self._around(line)
        said = line_of(self._tokens_of(line), around)
        place = Place(line.number, line.column())
        faults = list(strict.faults) if strict else []
        unknown = [move for move in said.moves if move.unknown or move.doubt]
        odd = said.shared.odd or any(move.amount.odd for move in said.moves) or bool(said.leftover)
        odd = odd or _is_too_long(parts_of(said, place, around)) or _asks_for_more(said)
        kept = [fault for fault in faults if self._is_kept(fault, odd=odd)]
        if (unknown or odd or kept or not said.moves) and self._as_corrected(line, faults, front):
            return
        if not said.moves:
            self._gap(line, said, front, faults)
            return
        parts = (*self._added_to(said), *(_with_terms(part, strict) for part in parts_of(said, place, around)))
        if said.wishes != Wishes():
            parts = tuple(replace(part, wishes=said.wishes) for part in parts)
        if said.peak:
            self._peaks.add(line.number)
        side = _side_of(said.label_tokens)
        parts = on_side(parts, side, self._table) if side and not said.other_side else parts
        parts = tuple(_placed(part, place) if part.place.line == 0 else part for part in parts)
        self._inline_section(line, said)
        if said.minutes and not _all_timed(parts):
            parts = _lasting(parts, said.minutes, line)
        self._add(line, parts, front, sure=not (unknown or odd or kept))
        if kept:
            self._problems.faults(line, kept)
        elif odd:
            self._problems.faults(
                line, [Fault("unclear", line.text, f'"{line.text}" can be meant in two ways.', _UNCLEAR)]
            )
        elif unknown and not (front and front.length_s and not unknown[0].doubt):
            name = f"{' '.join(unknown[0].notes)} {unknown[0].name}" if unknown[0].doubt else unknown[0].name
            self._ask_unknown(line, name, faults)

    def _closes_class(self, line: Line, front: Front | None) -> bool:
        """ "Slowly back, seated, close", behind the closing rest: words of an end, not a pose that is stayed in."""
        rested = any(item.opened.parts[item.first : item.last] and self._is_corpse(item) for item in self._items[-2:])
        tokens = [token for token in self._tokens_of(line) if token.kind != "mark"]
        ends = any(token.says("kinds.closing") for token in tokens) and len(tokens) > 1
        rings = any(token.says("once.bell", "once.silence", "once.pause") for token in tokens)  # "bell at the end"
        if not rested or front is not None or any(map(is_size, tokens)) or not ends or rings:
            return False
        length = Length("seconds", CHANT_S, CHANT_S, CHANT_S)
        self._add(
            line, (Element("say", line.text, Place(line.number, line.column()), length=length),), front, sure=True
        )
        return True

    def _is_corpse(self, item: _Item) -> bool:
        last = _last_element(item.opened.parts[item.last - 1])
        return last is not None and last.pose_id == "corpse"

    def _is_kept(self, fault: Fault, *, odd: bool) -> bool:
        """Whether what the strict language finds wrong stays wrong however the line is read."""
        if fault.code in _KEPT or (odd and fault.code in _ODD):
            return True
        word = re.sub(r"[\d\s]+$", "", fault.fragment)  # "rebound 1"
        slip = fault.new is not None and spelled(word) not in self._scanner.lexicon.roles
        in_unit = fault.code == "unknown-length" and re.fullmatch(r"[\d\s–-]+[^\W\d_]{3,}", fault.fragment) is not None
        return slip and (fault.code == "unknown-attribute" or in_unit)

    def _as_corrected(self, line: Line, faults: list[Fault], front: Front | None) -> bool:
        """Take a line for what it reads once its slips are corrected, and ask; say whether that was possible."""
        text = line.text
        for fault in faults:
            if fault.new is None or "\n" in fault.new or fault.fragment not in text:
                return False
            text = text.replace(fault.fragment, fault.new, 1)
        if not faults or text == line.text:
            return False
        result = read_element(replace(line, text=text), self._table)
        if result.element is None or result.faults:
            return False
        self._add(line, (result.element,), front, sure=False)
        self._problems.faults(line, faults)
        return True

    def _added_to(self, said: Said_line) -> tuple[Part, ...]:
        """ "Level 5: + standing split" does all of the level before, and more."""
        if (
            not any(token.says("how.level") for token in said.label_tokens)
            or not said.moves
            or said.moves[0].joined != "+"
        ):
            return ()
        items = self._items_here()
        if not items:
            return ()
        last = items[-1]
        return tuple(_placed(part, Place(0)) for part in last.opened.parts[last.first : last.last])

    def _inline_section(self, line: Line, said: Said_line) -> None:
        """ "Balance: tree r 45 s ..." begins a part of this name where its label names a kind."""
        kinds = [token for token in said.label_tokens if token.says("kinds")]
        if not kinds or self._has_signs or any(token.says("sides", "again") for token in said.label_tokens):
            return
        kind = kind_named(said.label)
        loose = self._loose.get(self._open[0].line.number) if self._open else None
        if loose and (self._open[0].side or loose.both):
            return
        if kind is None or not all(
            token.says("kinds", "join", "top") or token.kind == "number" for token in said.label_tokens
        ):
            return
        if self._open and (self._open[0].kind is kind and self._open[0].name == said.label):
            return
        self._close(to_level=2)
        self._open.append(Opened(line, 2, said.label, Said(), kind))
        self._unit = None

    def _gap(self, line: Line, said: Said_line, front: Front | None, faults: list[Fault]) -> None:
        """A line that names nothing known keeps its length and its place."""
        group = self._open[-1]
        length = said.shared.lengths[0] if said.shared.lengths else None
        if (
            length is not None
            and not said.notes
            and not _letters(line.text, said)
            and not group.parts
            and group.said.length is None
        ):
            group.said.length = length
            group.said.told.add("length")
            self._problems.liberties_of(line, [f'"{line.text}" is taken as the length of "{group.name}"'])
            self._said(line, f"the length of {group.name}")
            return
        kind = next((kind_named(token.text) for token in self._tokens_of(line) if token.says("kinds")), None)
        name = re.split(r"[,;(\[<{]|\s\d", line.text)[0].strip(EDGE) or line.text.strip(EDGE) or "?"
        times = int(said.shared.times[0][0]) if said.shared.times else None
        if length is None and said.shared.numbers:
            low, high = said.shared.numbers[0]
            length = Length("seconds", (low + high) / 2, low, high) if low >= 30 else None
            if self._style in _LONG and high < 30:
                length = Length("seconds", 30 * (low + high), 60 * low, 60 * high)
        if kind is Kind.REST and length is not None and self._rests_short(length):
            element = Element("pause", name, Place(line.number, line.column()), length=length)
            self._add(line, (element,), front, sure=True)
            return
        if kind is Kind.REST and length is not None:
            element = Element("pose", name, Place(line.number, line.column()), pose_id="corpse", length=length)
            self._add(line, (element,), front, sure=True)
            return
        if length is None and times is None and front is None and self._is_only_a_cue(line):
            self._remark(line)
            return
        element = Element("gap", name, Place(line.number, line.column()), length=length, times=times)
        timed = length is not None or bool(front and front.length_s)
        named = timed and any(token.says("kinds", "easy") for token in self._tokens_of(line))
        self._add(line, (element,), front, sure=named)
        if not named:
            sized_only = all(is_size(token) or token.kind == "mark" for token in self._tokens_of(line))
            self._ask_unknown(line, "" if sized_only else name, faults)

    def _rests_short(self, length: Length) -> bool:
        return length.unit == "breaths" or length.likely <= 120

    def _is_only_a_cue(self, line: Line) -> bool:
        """Nothing in it could be a movement: a question mark, a link, many words."""
        return len(line.text.split()) > 12 or "?" in line.text or "://" in line.text

    def _ask_unknown(self, line: Line, name: str, faults: list[Fault]) -> None:
        self._problems.ask_pose(line, name, self._table, faults)

    def _add(self, line: Line, parts: tuple[Part, ...], front: Front | None, *, sure: bool) -> None:
        group = self._open[-1]
        if group.side:
            parts = on_side(parts, group.side, self._table)
        if front is not None and front.length_s and (line.number in self._rows or not _all_timed(parts)):
            minutes = Length("seconds", front.length_s, front.length_s, front.length_s)
            parts = _lasting(parts, minutes, line)
        start = len(group.parts)
        group.parts.extend(parts)
        self._items.append(_Item(line, group, start, len(group.parts), complete=_complete(parts, self._table)))
        self._unit = None
        self._last_item = line
        self._said(line, says_of_parts(parts, self._table), sure=sure)

    def _speaks_of_others(self, line: Line, result: Result, group: Opened) -> bool:
        """Take a line that is no element but says how the others are done; say whether it was one."""
        said = group.said
        if result.rounds and group.parts and said.rounds is None and group.line.form == "heading":
            said.rounds = result.rounds
            meaning = f'"{result.rounds} rounds" of "{group.name}"'
        elif result.length and not group.parts and said.length is None and group.name:
            said.length = result.length
            said.told.add("length")
            meaning = f'the length of "{group.name}"'
        elif result.alternative and group.parts and isinstance(group.parts[-1], Element):
            last = group.parts[-1]
            group.parts[-1] = replace(last, alternatives=(*last.alternatives, result.alternative))
            meaning = "an alternative to the line above"
        else:
            return False
        self._problems.liberties_of(line, [f'"{line.text}" is taken as {meaning}'])
        self._said(line, meaning)
        return True

    def _open_unnamed(self, line: Line) -> None:
        self._open.append(Opened(line, 2, "Class", Said(), Kind.FLOW, unnamed=True))
        if self._has_signs:
            self._problems.liberty(line, "section-missing", 'No section stands above; "Class: flow" is taken.')

    def _is_note_below(self, line: Line, group: Opened) -> bool:
        """Whether a line that names no pose is set in below one that does, and holds no number."""
        above = self._last_item
        deeper = above is not None and line.level >= above.level + 2
        return deeper and bool(group.parts) and isinstance(group.parts[-1], Element) and not re.search(r"\d", line.text)

    def _note_below(self, line: Line, group: Opened) -> None:
        last = group.parts[-1]
        bare = re.sub(r"[()\[\]<>{}]", "", line.text).strip()
        group.parts[-1] = replace(last, note="; ".join(filter(None, (last.note, bare))))
        self._problems.liberties_of(line, [f'"{line.text}" is taken as a note to the line above'])
        self._said(line, "a note to the line above")

    def _row(self, line: Line, row: Row) -> None:
        """A row of a table: its poses share its minutes."""
        if row.what == "header":
            self._said(line, "the names of the columns")
            return
        if row.what == "total":
            self._problems.total = (line, row.length_s or 0.0)
            self._said(line, "a check of the whole, no part of the class")
            return
        if row.section or not self._open:
            kind = kind_named(row.section) if row.section else None
            self._close(to_level=2)
            self._open.append(Opened(line, 2, row.section or "Class", Said(), kind, unnamed=not row.section))
        if row.start and self._top.start is None and row.start >= "04:00":
            self._top.start = row.start
        text = row.text
        typed = replace(line, text=text, full="")
        front = Front(text, row.length_s) if row.length_s else None
        self._tokens[line.number] = self._scanner.scan(text)
        if not text:
            self._gap(typed, Said_line(), front, []) if front else self._said(line, "an empty row")
            return
        self._item(typed, front)
        notes = self._scanner.scan(row.notes)
        if any(token.says("kinds.peak") for token in notes):
            self._peaks.add(line.number)
        wishes = Wishes()
        for token in notes:
            if token.says("music") and (len(token.text.split()) > 1 or token.says("music.word")):
                wishes = wished(wishes, token)
        if wishes != Wishes() and self._open[-1].parts:
            self._open[-1].parts[-1] = replace(self._open[-1].parts[-1], wishes=wishes)

    # ---- closing -------------------------------------------------------------------------------------------------

    def _close(self, to_level: int) -> None:
        while self._open and self._open[-1].level >= to_level:
            opened = self._open.pop()
            if opened.unnamed and not opened.parts and not self._open:
                continue
            self._finish(opened)
            if self._open:
                self._open[-1].parts.append(self._groups.group(opened, self._top.breath_s))
            else:
                first = not self._sections
                self._sections.append(self._groups.section(opened, self._top.breath_s, first=first))

    def _finish(self, opened: Opened) -> None:
        loose = self._loose.get(opened.line.number)
        _music_from(opened)
        if loose is None:
            return
        place = Place(0)  # no line of its own asks for these passes
        parts = tuple(opened.parts)
        if loose.both and parts:
            opened.parts[:] = on_side(parts, "right", self._table)
            opened.parts.extend(again(parts, place, self._table, Reference(side="left")))
        if loose.again and opened.parts:
            once = again(tuple(opened.parts), place, self._table, Reference(no_hold=True))
            opened.parts.append(Group(LINE_GROUP, place, once, rounds=loose.again))
        if loose.between and opened.said.rounds:
            opened.parts.append(
                Element(
                    "pause", "rest between rounds", Place(0), length=loose.between, last_round="not", every_time=True
                )
            )
        if loose.block and loose.minutes:
            heading = Place(opened.line.number, opened.line.column())
            opened.parts[:] = [_placed(part, heading) for part in opened.parts]

    def _check_rests(self) -> None:
        rests = [section for section in self._sections if section.kind is Kind.REST]
        for section in rests[:-1] if not self._has_signs else ():
            self._sections[self._sections.index(section)] = replace(section, kind=Kind.COOL_DOWN)
        for section in rests[1:] if self._has_signs else ():
            self._problems.at_line(
                section.place.line,
                "two-rests",
                f'"{section.name}" is a second closing rest.',
                'A class has one "rest", the closing one; a pause before it is "cool-down".',
            )


# ---- helpers -----------------------------------------------------------------------------------------------------


_KEPT = {"length", "count", "energy", "beat", "quicker", "song-length", "song-title"}  # wrong, however it is read
_ODD = {"said-twice", "unknown-attribute", "unknown-length"}
_UNCLEAR = "Say one thing a line; what is only to be read stands in brackets."


def _with_terms(part: Part, strict: Result | None) -> Part:
    """Give a part the rounds in which it is done, and the like, as the strict language reads them on its line."""
    element = strict.element if strict else None
    if element is None:
        return part
    if isinstance(part, Group):
        return replace(part, parts=tuple(_with_terms(inner, strict) for inner in part.parts))
    terms = {name: value for name in _TERMS if (value := getattr(element, name)) not in (None, False, 1)}
    return replace(part, **terms, wishes=element.wishes if part.wishes == Wishes() else part.wishes)


_TERMS = ("from_round", "to_round", "last_round", "once", "optional", "supported", "every_time")


def _counts_breaths(tokens: Sequence[Token], *, itself: bool) -> bool:
    """ "Cobra 3": a bare number behind a pose that isn't rested in; on the line `itself` "3 br" too."""
    for before, token in itertools.pairwise(tokens):
        pose = before.match.pose if before.match else None
        if token.kind == "number" and token.high < FROM_HERE_SECONDS and pose is not None and not is_rested_in(pose):
            return True
    return itself and any(token.kind == "length" and token.unit == "breaths" for token in tokens)


def _side_of(tokens: Sequence[Token]) -> Side | None:
    """The one side that a label names: "R: warrior one, warrior two"."""
    right, left = (any(token.says(f"sides.{side}") for token in tokens) for side in ("right", "left"))
    return None if right == left else "right" if right else "left"


def _is_timed(length: Length | None) -> bool:
    return length is not None and length.unit == "seconds"


def _names_both(tokens: Sequence[Token]) -> bool:
    return all(any(token.says(side) for token in tokens) for side in ("sides.right", "sides.left"))


def _is_numbered(line: Line) -> bool:
    return line.raw.lstrip().lstrip("(")[:1].isdigit() and line.form == "item"


def _may_say_more(text: str) -> bool:
    """Whether a line that the strict language read to the end may hold more than one amount for the loose one."""
    return bool(_MORE.search(text)) and bool(re.search(r"\d", text))


def _second_move(tokens: Sequence[Token]) -> bool:
    """Whether a pose with a size of its own stands behind a comma."""
    first, pose, sized = True, False, False
    for token in (*tokens, Token("mark", ",", 0, 0)):
        if token.kind == "mark" and token.text in ",;":
            if not first and pose and sized:
                return True
            first, pose, sized = False, False, False
        pose = pose or (token.kind == "pose" and not token.broad)
        sized = sized or (is_size(token) and token.kind != "number")
        if token.says("join.with"):
            pose, sized = False, False
    return False


_MORE = re.compile(r"[+→>]|\d-\d{1,2}-\d|\bbetween\b(?! sides)|\bthen\b|\bdirection", re.IGNORECASE)


def _letters(text: str, said: Said_line) -> bool:
    return bool(said.notes or said.label)


def _seconds(value: float | None) -> Length | None:
    return None if value is None else Length("seconds", value, value, value)


def _last_element(part: Part) -> Element | None:
    if isinstance(part, Element):
        return part if part.what in ("pose", "gap") else None
    return next((found for inner in reversed(part.parts) if (found := _last_element(inner))), None)


def _lasting(parts: tuple[Part, ...], minutes: Length, line: Line) -> tuple[Part, ...]:
    """Parts that take these minutes together."""
    if len(parts) == 1 and isinstance(parts[0], Element):
        only = parts[0]
        count = (only.times or 1) * (2 if only.each_side else 1)
        return (replace(only, length=scaled(minutes, 1.0 / count)),)
    if len(parts) == 1 and isinstance(parts[0], Group) and parts[0].minutes is None:
        return (replace(parts[0], minutes=minutes, parts=tuple(map(_without_length, parts[0].parts))),)
    return (Group(LINE_GROUP, Place(line.number, line.column()), tuple(map(_without_length, parts)), minutes=minutes),)


def _is_long(name: str) -> bool:
    """Whether the name of a part says that poses are stayed in for minutes: "YIN 30" in a class that begins fast."""
    style = style_in_words(name)
    return style is not None and style.name in _LONG


def _is_too_long(parts: Sequence[Part]) -> bool:
    """Whether counts and lengths of a line multiply to more than a line ever takes."""
    plain = len(parts) == 1 and isinstance(parts[0], Element) and (parts[0].times or 1) == 1
    return not plain and sum(map(_told_s, parts)) > MOST_OF_LINE_S


def _told_s(part: Part) -> float:
    if isinstance(part, Group):
        return sum(map(_told_s, part.parts)) * part.rounds * (2 if part.both_sides else 1)
    length = part.length
    held = 0.0 if length is None else length.likely * (USUAL_BREATH_S if length.unit == "breaths" else 1.0)
    return held * (part.times or 1) * (2 if part.each_side else 1)


def _asks_for_more(said: Said_line) -> bool:
    """ "Plies 2nd: same": what is to be the same isn't said on the line."""
    words = {word for move in said.moves for note in move.notes for word in note.lower().split()}
    return "same" in words and not any(move.amount.has_size() for move in said.moves)


def _all_timed(parts: Sequence[Part]) -> bool:
    """Whether each of them has seconds of its own, which win over the gap to the next time in front."""
    return bool(parts) and all(
        _all_timed(part.parts) if isinstance(part, Group) else part.length is not None and part.length.unit == "seconds"
        for part in parts
    )


def _without_length(part: Part) -> Part:
    """Let a pose share the minutes of its line, whatever it says itself."""
    if isinstance(part, Group):
        return replace(part, parts=tuple(map(_without_length, part.parts)))
    return replace(part, length=None, times=None)


def _complete(parts: tuple[Part, ...], table: PoseTable) -> bool:
    """Whether a line leaves no side open: it has none, or both."""
    sided = False
    for part in parts:
        if isinstance(part, Group):
            if part.both_sides:
                return True
            continue
        if part.each_side or (part.pose_id and table.compound(part.pose_id) and part.pose_id != "vinyasa"):
            return True
        sided = sided or part.what == "pose"
    return not sided


def _placed(part: Part, place: Place) -> Part:
    if isinstance(part, Group):
        return replace(part, place=place, parts=tuple(_placed(inner, place) for inner in part.parts))
    return replace(part, place=place)


def _music_from(opened: Opened) -> None:
    """Put the wishes of music lines on the parts behind them."""
    for at, wishes in opened.music_from:
        opened.parts[at:] = [
            replace(part, wishes=wishes) if part.wishes == Wishes() else part for part in opened.parts[at:]
        ]


def _how(asked: Reference) -> str:
    said = [f"on the {asked.side}" if asked.side else "on the other side" if asked.other else ""]
    said += ["on both sides" if asked.both else "", f"{asked.times} times" if asked.times > 1 else ""]
    said += ["without holds" if asked.no_hold else "", "faster" if asked.quick else ""]
    words = ", ".join(filter(None, said))
    return f", {words}" if words else ""
