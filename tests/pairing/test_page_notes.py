"""A plan's file through a browser's text field and back: every byte that was not touched stays."""

import re

from hypothesis import given
from hypothesis import strategies as st

from pairing.page.notes import note_of

LINES = st.lists(
    st.sampled_from(["# Tide", "- warrior two", "", "  ", "é", "• pose", "\t", "\x0c", "\u2028"]), max_size=9
)
ENDINGS = st.sampled_from(["\n", "\r\n", "\r"])


def as_a_field_has_it(text: str) -> str:
    """HTML Standard, "value sanitization": a text field's value has line feeds only."""
    return re.sub(r"\r\n?", "\n", text)


@given(
    lines=LINES,
    endings=st.lists(ENDINGS, min_size=9, max_size=9),
    last=st.booleans(),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
)
def test_a_plan_that_nobody_touched_is_written_as_it_was(lines, endings, last, encoding):
    text = "".join(line + ending for line, ending in zip(lines, endings, strict=False))
    content = (text if last else text.rstrip("\r\n")).encode(encoding)
    note = note_of(content)
    assert note.with_text(as_a_field_has_it(note.typed)).content == content


@given(lines=LINES, at=st.integers(0, 8))
def test_a_new_line_gets_the_ending_of_the_others(lines, at):
    note = note_of("".join(line + "\r\n" for line in lines).encode())
    shown = note.shown.split("\n")
    shown.insert(min(at, len(shown) - 1), "- crow, 5 breaths")
    text = note.with_text("\n".join(shown)).typed
    assert text.count("\r\n") == text.count("\n") or not lines


def test_a_note_of_an_old_editor_stays_latin_1_as_long_as_it_can():
    note = note_of("# Caf\xe9\n".encode("latin-1"))
    assert note.with_text("# Caf\xe9s\n").content == "# Caf\xe9s\n".encode("latin-1")
    assert note.with_text("# Café ☾\n").content == "# Café ☾\n".encode()
