"""What is known of a note while its lines are read: one struct that all readers of lines share."""

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from pairing.model import Section
from pairing.plan.elements import Result
from pairing.plan.fronts import Front
from pairing.plan.groups import Groups
from pairing.plan.headings import Opened
from pairing.plan.kinds import kind_named
from pairing.plan.line.moves import Around
from pairing.plan.line.sizes import FROM_HERE_SECONDS, is_rested_in
from pairing.plan.lines import Line
from pairing.plan.loose import Loose
from pairing.plan.note.partly import Part, last_element
from pairing.plan.poses import PoseTable
from pairing.plan.problems import Problems
from pairing.plan.style import style_in_words
from pairing.plan.table import Row
from pairing.plan.tokens import Scanner, Token
from pairing.plan.top import Top

LONG_STYLES = ("yin", "restorative", "kundalini")  # classes whose bare numbers are minutes
LEAST_TOLD_LINES, MOSTLY_TOLD = 6, 0.7  # lines that name poses, and how many of them tell a length; editorial
LEAST_HELD, MOST_MINUTES = 3, 3  # bare numbers behind held poses, where they are minutes; editorial


@dataclass(slots=True)
class Item:
    """A line that put parts into the class."""

    line: Line
    opened: Opened
    first: int  # its parts are opened.parts[first:last]
    last: int
    complete: bool = False  # both sides of it are done, or it has none
    is_repeat: bool = False


@dataclass(slots=True)
class Echo:
    """What is said of a line."""

    says: str = ""
    sure: bool = True
    parts: tuple[Part, ...] = ()  # what the line put into the class
    what: Literal["line", "heading", "repeat"] = "line"
    both_sides: bool = False  # around it all is done on both sides
    rounds: bool = False  # a heading without signs repeats all around it
    detail: bool = False  # it only says what is done in the minutes of its heading
    shares: bool = False  # its part has minutes, or what is left of the class
    accounted: bool = False  # the strict language read it, in a note with signs, and left nothing over
    strict: bool = False  # the strict language read it, in a note with signs
    around: Around | None = None  # what the reading of the line leant on
    long: bool = False  # it does so much of the lines above once more that it may mean fewer


@dataclass(slots=True)
class Reading:
    """All that is known of a note while its lines are read in order."""

    table: PoseTable
    scanner: Scanner
    problems: Problems
    lines: Sequence[Line]
    front: Mapping[int, Front]
    rows: Mapping[int, Row]
    style: str | None
    has_title: bool
    has_signs: bool
    groups: Groups
    places: Mapping[int, int]  # of lines in `lines`, by their numbers
    top: Top = field(default_factory=Top)
    title: str | None = None
    slot_by_title: bool = False
    stack: list[Opened] = field(default_factory=list)  # section, group, group within
    sections: list[Section] = field(default_factory=list)
    last_item: Line | None = None
    items: list[Item] = field(default_factory=list)
    items_of: dict[int, list[Item]] = field(default_factory=dict)  # of each part, by its identity
    again_means: tuple[Opened, int, int] | None = None  # both sides of what was last repeated
    echo: dict[int, Echo] = field(default_factory=dict)
    scanned: dict[int, list[Token]] = field(default_factory=dict)
    loose: dict[int, Loose] = field(default_factory=dict)  # of opened sections, by the line of their heading
    left_over: float = 0.0  # weight of what the strict language left over of the line that is being read
    strictly: tuple[Line, bool, Result] | None = None  # what the strict language made of the last line it read
    leant_on: Around | None = None  # of the line that is being read
    ended: bool = False  # a line said that the class is over
    rested: bool = False  # the closing rest stands above, as far as one can tell
    counted_heads: bool | None = None  # numbered lines head those below them; None: not looked at yet
    marks_heads: bool | None = None  # lines with a mark head those without; None: not looked at yet
    heads_lists: bool | None = None  # lines without bullets head those with; None: not looked at yet
    cells: bool | None = None  # nearly all lines have an amount behind a tab; None: not looked at yet
    asides_done: bool | None = None  # some line behind ">" tells a length; None: not looked at yet
    levels_both: bool = False  # a line above the class says that each level is done on both sides
    marks_music: bool = False  # some lines begin with a sign for music, and most don't
    last_sized: int = 0  # the place of the last line with a number in it
    other_side: set[int] = field(default_factory=set)  # lines that one below does on the other side
    minutes: bool | None = None  # bare numbers of the note are minutes; None: not looked at yet
    told: bool | None = None  # nearly all lines tell how long they take; None: not looked at yet
    known_at: tuple[float, int] | None = None  # a time of day that a line ends at, in seconds, and its number
    peaks: set[int] = field(default_factory=set)  # lines that the note calls its peak

    def said(
        self,
        line: Line,
        says: str,
        *,
        sure: bool = True,
        parts: tuple[Part, ...] = (),
        what: Literal["line", "heading", "repeat"] = "line",
        strict: bool = False,
    ) -> None:
        """Keep what is said of a line, and what it put into the class."""
        strict = strict and self.has_signs
        loose = self.loose.get(self.stack[0].line.number) if self.stack else None
        both = loose is not None and loose.both
        rounds = loose is not None and (loose.both or loose.rounds > 1) and not loose.intervals
        detail = loose is not None and loose.block and what == "line"
        shares = any(opened.said.length or opened.said.what_is_left for opened in self.stack)
        both = both or any(opened.said.each_side for opened in self.stack)
        self.echo[line.number] = Echo(
            says,
            sure,
            parts,
            what,
            both,
            rounds,
            detail,
            shares,
            strict and self.left_over == 0.0,
            strict,
            self.leant_on,
        )

    def tokens_of(self, line: Line) -> list[Token]:
        """Give the tokens of a line, scanned once."""
        if line.number not in self.scanned:
            self.scanned[line.number] = self.scanner.scan(line.full or line.text)
        return self.scanned[line.number]

    def items_here(self) -> list[Item]:
        """Give the lines of the part that is open."""
        return self.items_of.get(id(self.stack[-1]), []) if self.stack else []

    def keep(self, item: Item) -> None:
        """Keep a line that put parts into the open part."""
        self.items.append(item)
        self.items_of.setdefault(id(item.opened), []).append(item)

    def none_counts_breaths(self, line: Line | None) -> bool:
        """Whether no bare number on this line or beside it is that of a pose held for some breaths."""
        if line is None:
            return False
        at = self.places[line.number]
        near = [other for other in self.lines[max(0, at - 1) : at + 2] if other.form in ("text", "item")]
        return not any(_counts_breaths(self.tokens_of(other), itself=other.number == line.number) for other in near)

    def counts_minutes(self) -> bool:
        """Whether bare numbers of this note are minutes: no held pose has more than a few of them, several have one."""
        if self.minutes is None:
            pairs = [pair for line in self.lines for pair in itertools.pairwise(self.tokens_of(line))]
            found = [pair for pair in pairs if pair[1].kind == "number" and _is_held(pair[0], self.table)]
            held = [number.high for name, number in found if not _is_rest(name)]
            still = 2 * sum(map(_is_on_feet, (name for name, _ in found))) <= len(found)
            self.minutes = still and len(held) >= LEAST_HELD and min(held) < max(held) <= MOST_MINUTES
        return self.minutes

    def passes_through(self) -> bool:
        """Whether what tells no length is passed through: nearly all else does, in a class of few, long poses."""
        if self.told is None:
            named = [tokens for line in self.lines if _names_pose(tokens := self.tokens_of(line))]
            sized = sum(any(map(_is_size, itertools.chain(tokens, *(t.inner for t in tokens)))) for tokens in named)
            self.told = len(named) >= LEAST_TOLD_LINES and sized >= MOSTLY_TOLD * len(named)
        return self.told and (self.style in LONG_STYLES or self.counts_minutes())

    def around(self, line: Line | None = None) -> Around:
        """Give what the reading of a line may lean on."""
        section = self.stack[0] if self.stack else None
        kind = (section.kind or kind_named(section.name)) if section else None
        loose = self.loose.get(section.line.number) if section else None
        before = None
        for part in reversed(self.stack[-1].parts if self.stack else []):
            before = last_element(part)
            if before is not None:
                break
        return Around(
            self.table,
            kind,
            self.style in LONG_STYLES or self.counts_minutes() or (section is not None and _is_long(section.name)),
            self.style in ("mat", "barre", "interval", "chair", "mobility"),
            before,
            loose.intervals if loose else None,
            self.none_counts_breaths(line),
            any(opened.said.each_side for opened in self.stack),
        )


def _names_pose(tokens: Sequence[Token]) -> bool:
    return any(token.kind == "pose" and not token.broad for token in tokens)


def _is_size(token: Token) -> bool:
    return token.kind in ("length", "number", "pair")


def _is_on_feet(name: Token) -> bool:
    pose = name.match.pose if name.match else None
    return pose is not None and pose.family in ("standing", "balance")


def _is_rest(name: Token) -> bool:
    return name.match is not None and name.match.pose is not None and is_rested_in(name.match.pose)


def _is_held(name: Token, table: PoseTable) -> bool:
    """Whether a name is that of a pose that is stayed in."""
    pose = name.match.pose if name.match else None
    return pose is not None and pose.rep_breaths is None and not table.compound(pose.id) and not name.broad


def _counts_breaths(tokens: Sequence[Token], *, itself: bool) -> bool:
    """ "Cobra 3": a bare number behind a pose that isn't rested in; on the line `itself` "3 br" too."""
    for before, token in itertools.pairwise(tokens):
        pose = before.match.pose if before.match else None
        if token.kind == "number" and token.high < FROM_HERE_SECONDS and pose is not None and not is_rested_in(pose):
            return True
    return itself and any(token.kind == "length" and token.unit == "breaths" for token in tokens)


def _is_long(name: str) -> bool:
    """Whether the name of a part says that poses are stayed in for minutes: "YIN 30" in a class that begins fast."""
    style = style_in_words(name)
    return style is not None and style.name in LONG_STYLES
