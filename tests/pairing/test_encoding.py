"""How notes are written: the marks of The Unicode Standard 15.0, section 23.8, table 23-6 (from memory)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pairing.plan.encoding import encoding_of

# The byte order mark U+FEFF in each form, as the table has it.
MARKS = {"utf-8": b"\xef\xbb\xbf", "utf-16-be": b"\xfe\xff", "utf-16-le": b"\xff\xfe"}


@pytest.mark.parametrize(("name", "mark"), MARKS.items())
@given(text=st.text(st.characters(codec="utf-8")))
def test_a_marked_text_comes_back_without_its_mark_and_is_written_with_it(name: str, mark: bytes, text: str) -> None:
    data = mark + text.encode(name)
    found = encoding_of(data)
    assert (found.name, found.read(data)) == (name, text)
    assert found.written(text) == data


@given(data=st.binary())
def test_bytes_that_are_no_unicode_text_come_back_as_they_are(data: bytes) -> None:
    found = encoding_of(data)
    if found.name in ("latin-1", "utf-8"):
        assert found.written(found.read(data)) == data


def test_what_the_encoding_lacks_becomes_a_question_mark() -> None:
    assert encoding_of("Übung".encode("latin-1")).written("Übung ☾") == b"\xdcbung ?"
