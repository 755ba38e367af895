"""A plan's file as a browser shows it, and back, byte for byte what was typed.

A text field of a browser knows only line feeds (HTML Standard, "API value" of textarea). So each line that was not
touched gets back the ending it had, new ones the ending that the file mostly uses, and the encoding stays.
"""

import re
from collections import Counter
from dataclasses import dataclass
from difflib import SequenceMatcher
from pathlib import Path

from audio.files.whole import whole_file
from pairing.plan.encoding import encoding_of
from pairing.plan.lines import split_lines


@dataclass(frozen=True, slots=True)
class NoteFile:
    """The file of a plan."""

    content: bytes
    encoding: str  # of Python, without mark
    mark: bytes  # byte order mark

    @property
    def typed(self) -> str:
        """The text as the file has it."""
        return self.content[len(self.mark) :].decode(self.encoding)

    @property
    def shown(self) -> str:
        """The text as a browser's text field holds it."""
        return re.sub(r"\r\n?", "\n", self.typed)

    def with_typed(self, text: str) -> "NoteFile":
        """The file with another text as it was typed."""
        try:
            return NoteFile(self.mark + text.encode(self.encoding), self.encoding, self.mark)
        except UnicodeEncodeError:
            return NoteFile(text.encode("utf-8", "replace"), "utf-8", b"")

    def with_text(self, shown: str) -> "NoteFile":
        """The file with a text from a browser in it."""
        return self.with_typed(_with_endings(self.typed, shown))


def note_of(content: bytes) -> NoteFile:
    """Take a file's bytes as the plan's reader takes them."""
    encoding = encoding_of(content)
    return NoteFile(content, encoding.name, encoding.mark)


def write_bytes(path: Path, content: bytes) -> None:
    """Write a file whole or not at all; see `audio.files.whole`."""
    with whole_file(path) as temporary:
        temporary.write_bytes(content)


def _with_endings(typed: str, shown: str) -> str:
    before = [_parted(line) for line in split_lines(typed)]
    after = [_parted(line) for line in split_lines(shown)]
    endings = [ending for _, ending in before if ending]
    if all(ending == "\n" for ending in endings):
        return shown
    usual = Counter(endings).most_common(1)[0][0]
    lines = [body + (usual if ending else "") for body, ending in after]
    matcher = SequenceMatcher(None, [body for body, _ in before], [body for body, _ in after], autojunk=False)
    for block in matcher.get_matching_blocks():
        for step in range(block.size):
            body, ending = before[block.a + step]
            if ending and after[block.b + step][1]:
                lines[block.b + step] = body + ending
    return "".join(lines)


def _parted(line: str) -> tuple[str, str]:
    body = line.rstrip("\r\n")
    return body, line[len(body) :]
