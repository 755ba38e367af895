"""Changes of a plan's text that leave every other character as it is."""

from collections.abc import Iterable

from pairing.model import Edit
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


def _changed(line: str, new: str | None) -> str:
    if new is None:
        return ""
    body = line.rstrip("\r\n")
    ending = line[len(body) :]
    return new.replace("\n", ending or "\n") + ending
