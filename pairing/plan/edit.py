"""Changes of a plan's text that leave every other character as it is."""

from collections.abc import Callable, Iterable

from pairing.model import Edit, Plan
from pairing.plan.lines import split_lines


def apply_edits(text: str, edits: Iterable[Edit]) -> str:
    """Give the text with the edits made; line endings, and all lines without an edit, stay as they are.

    The first edit of a line counts. A new line may hold line feeds: they become the line ending used there.
    Raises:
        ValueError: a line number isn't in the text.

    >>> apply_edits("# Class\\r\\n- krow\\r\\n", [Edit(2, "- crow")])
    '# Class\\r\\n- crow\\r\\n'
    """
    lines = split_lines(text)
    done: set[int] = set()
    for edit in edits:
        if not 1 <= edit.line <= len(lines):
            raise ValueError(f"no line {edit.line} in a text of {len(lines)} lines")
        if edit.line not in done:
            done.add(edit.line)
            lines[edit.line - 1] = _changed(lines[edit.line - 1], edit.new)
    return "".join(lines)


def clear_edits(plan: Plan, read: Callable[[str], Plan]) -> tuple[Edit, ...]:
    """Give the corrections of a note that have one clear meaning and change that of no other line.

    Args:
        plan: as read.
        read: reads a changed text in the same way.
    """
    wanted = {edit.line: edit for finding in (*plan.questions, *plan.taken_as) for edit in finding.edits}
    if not wanted or _keeps(plan, tuple(wanted.values()), read):
        return tuple(wanted.values())
    return tuple(edit for edit in wanted.values() if _keeps(plan, (edit,), read))


def _keeps(plan: Plan, edits: tuple[Edit, ...], read: Callable[[str], Plan]) -> bool:
    """Whether all lines that were understood say the same after the edits."""
    changed = {edit.line for edit in edits}
    if any(edit.new is None or "\n" in edit.new for edit in edits):
        return False
    after = {line.line: line.says for line in read(apply_edits(plan.text, edits)).lines}
    return all(after.get(line.line) == line.says for line in plan.lines if line.line not in changed)


def _changed(line: str, new: str | None) -> str:
    if new is None:
        return ""
    body = line.rstrip("\r\n")
    ending = line[len(body) :]
    return new.replace("\n", ending or "\n") + ending
