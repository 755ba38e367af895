"""The findings of reading a plan: what can't be understood, and what was taken with some liberty."""

import difflib
import re
from collections.abc import Iterable, Sequence

from pairing.model import Edit, Element, Finding, Where
from pairing.plan.lines import Line
from pairing.plan.names import key
from pairing.plan.poses import PoseTable
from pairing.plan.said import Fault


class Problems:
    """Gathers the findings of one file."""

    def __init__(self, file: str) -> None:
        self._file = file
        self._lines: dict[int, Line] = {}
        self.findings: list[Finding] = []
        self.liberties: list[Finding] = []
        self.total: tuple[Line, float] | None = None  # a line that sums the class up, and its seconds
        self._answers: dict[int, tuple[str, ...]] = {}

    def faults(self, line: Line, faults: Sequence[Fault]) -> None:
        """Note what can't be understood in a line; every finding carries the line with all clear corrections."""
        edits = _corrected(line, faults)
        for fault in faults:
            where = self._where(line, fault.fragment)
            has_own = fault.new is not None
            self.findings.append(
                Finding("must", fault.code, where, fault.message, fault.remedy, edits if has_own else ())
            )

    def at(self, line: Line, code: str, message: str, remedy: str) -> None:
        """Note what is wrong with a whole line."""
        self.findings.append(Finding("must", code, self._where(line), message, remedy))

    def at_line(self, number: int, code: str, message: str, remedy: str) -> None:
        """Note what is wrong with the line of this number."""
        self.at(self._lines[number], code, message, remedy)

    def whole(self, code: str, message: str, remedy: str) -> None:
        """Note what is wrong with the file as a whole."""
        self.findings.append(Finding("must", code, Where(self._file), message, remedy))

    def liberty(self, line: Line | None, code: str, message: str) -> None:
        """Note how something was taken that can be read in several ways."""
        where = self._where(line) if line else Where(self._file)
        self.liberties.append(Finding("note", code, where, message))

    def liberties_of(self, line: Line, messages: Iterable[str]) -> None:
        """Note how parts of a line were taken."""
        for message in messages:
            self.liberty(line, "taken-as", f"{message[0].upper()}{message[1:]}.")

    def remember(self, lines: Iterable[Line]) -> None:
        """Keep the lines, so that findings about them later can show and correct them."""
        self._lines = {line.number: line for line in lines}

    def unknown_repeat(self, line: Line, wanted: str, names: Sequence[str]) -> None:
        """Note that a heading repeats what doesn't stand above it."""
        likely = difflib.get_close_matches(wanted.lower(), [name.lower() for name in names], 1, 0.6)
        known = next((name for name in names if likely and name.lower() == likely[0]), None)
        remedy = f'Did you mean "{known}"?' if known else f"Above are: {', '.join(names) or 'no sections'}."
        fault = Fault("unknown-repeat", wanted, f'"{wanted}" isn\'t a section or group above this line.', remedy, known)
        self.faults(line, [fault])

    def sides_and_rounds(self, element: Element, *, sides: bool, rounds: int) -> None:
        """Note a line whose sides or rounds don't go with those of its section."""
        line = self._lines.get(element.place.line)
        if line is None:
            return
        if sides and element.each_side and element.once is None:
            typed = re.search(_EACH_SIDE, line.raw, re.IGNORECASE)
            fault = Fault(
                "each-side-twice",
                typed.group() if typed else line.text,
                f'"{element.name}" is done on each side already: its section says "both sides".',
                'Leave out "each side", or add "after both sides".',
                "" if typed else None,
            )
            self.faults(line, [fault])
        highest = max(element.from_round, element.to_round or 1)
        if highest > rounds:
            self.faults(
                line,
                [
                    Fault(
                        "no-such-round",
                        line.text,
                        f"There is no round {highest} here, only {rounds}.",
                        'Rounds go in the heading: "## Tide: flow, 3 rounds".',
                    )
                ],
            )

    def ask_pose(
        self, line: Line, name: str, table: PoseTable, faults: Sequence[Fault], taken: str = "", kept: str = ""
    ) -> None:
        """Ask what a line means that names no known pose; at most three answers, each a rewrite of it.

        Args:
            line: it.
            name: words of it that name no pose.
            table: the poses.
            faults: what else is wrong with it.
            taken: the line as it was read, where it names a pose after all.
            kept: the line as a gap of its length; the first answer where no pose is clearly meant.
        """
        if not name:
            self.faults(line, [Fault("no-pose", line.text, f'"{line.text}" doesn\'t name a pose.', _POSE_LINES)])
            return
        nearest = table.nearest(name)
        typed = name if name in line.raw else line.text if line.text in line.raw else ""
        answers = [line.raw.replace(typed, known, 1) for known in nearest] if typed else []
        if taken and line.text in line.raw:
            answers.insert(0, line.raw.replace(line.text, taken, 1))
        meant = None if taken else table.meant(name)
        unsized = not any(map(str.isdecimal, line.text))  # words alone are rather a note than a slip of a name
        answers.insert(0 if unsized and not (taken or meant) else len(answers), _as_note(line))
        if kept and meant is None and line.text in line.raw:
            answers.insert(0, line.raw.replace(line.text, kept, 1))
        fault = Fault(
            "unknown-pose",
            typed or line.text,
            f'"{name}" isn\'t known; the class has a gap there.',
            f'Did you mean {" or ".join(nearest)}? Your own poses go under "## Own poses"; notes go in brackets.'
            if nearest
            else 'Your own poses go under "## Own poses"; notes go in brackets.',
            meant,
        )
        self._answers[line.number] = tuple(dict.fromkeys(answer for answer in answers if answer != line.raw))[:3]
        self.faults(line, [fault])

    def ask_doubt(self, line: Line, why: str, rewrites: Sequence[str]) -> None:
        """Ask whether a line was read as meant; `rewrites` are what else it may mean, the likeliest first."""
        self._ask(line, f'"{line.text}" may mean something else: {why}.', rewrites)

    def _ask(self, line: Line, message: str, rewrites: Sequence[str]) -> None:
        self._answers[line.number] = tuple(rewrites)
        self.faults(line, [Fault("unclear", line.text, message, _DOUBTFUL)])

    def offer(self, line: Line, rewrites: Sequence[str]) -> None:
        """Keep rewrites as answers to what is asked about a line, where none are known."""
        self._answers.setdefault(line.number, tuple(line.raw.replace(line.text, text, 1) for text in rewrites if text))

    def forget(self, line: Line) -> None:
        """Drop what was asked about a line: it takes no time, whatever it means."""
        self.findings = [finding for finding in self.findings if _line_number(finding) != line.number]
        self._answers.pop(line.number, None)

    def asked(self) -> dict[int, tuple[str, ...]]:
        """Give the answers that may be given to the questions about each line; () where there are none."""
        found: dict[int, tuple[str, ...]] = {}
        for finding in self.findings:
            number = _line_number(finding)
            mended = tuple(edit.new for edit in finding.edits if edit.new is not None and edit.line == number)
            found[number] = tuple(dict.fromkeys((*found.get(number, ()), *mended, *self._answers.get(number, ()))))[:3]
        return found

    def questions(self) -> tuple[Finding, ...]:
        """Give what could not be read for certain, in the order of the lines."""
        return tuple(sorted(self.findings, key=_line_number))

    def _where(self, line: Line, fragment: str = "") -> Where:
        return Where(self._file, line.number, line.column(fragment))


_DOUBTFUL = 'Choose what you mean, or write it in full: "low lunge, 5 breaths each side".'
_POSE_LINES = 'A line looks like: "- warrior two, 3 breaths".'
_EACH_SIDE = r"\b(?:on\s+)?(?:each|per|both|either)\s+(?:sides?|ways?|legs?|directions?|arms?)\b|\be/s\b|\br\s?/\s?l\b"


def _as_note(line: Line) -> str:
    return f"({line.raw.strip().replace('(', '').replace(')', '')})"


def _line_number(finding: Finding) -> int:
    """The line that a finding of reading stands at; 0 for the whole file."""
    return finding.where.line


def _corrected(line: Line, faults: Sequence[Fault]) -> tuple[Edit, ...]:
    raw = line.raw
    for fault in faults:
        if fault.new is None or not fault.fragment or fault.fragment not in raw:
            continue
        if fault.new:
            raw = raw.replace(fault.fragment, fault.new, 1)
        else:
            raw = re.sub(r"\s*,?\s*" + re.escape(fault.fragment), "", raw, count=1)
    return (Edit(line.number, raw),) if raw != line.raw and key(raw) else ()
