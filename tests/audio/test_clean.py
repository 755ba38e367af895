"""Tags shown clean: repaired only where they clearly were encoded twice."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from audio.files.clean import clean, encoded_once

# Words of several languages, as they would be spelt; UTF-8 read as Windows-1252 by Python's own codecs.
WORDS = (
    "Schöne Flöte",
    "Étude à l’été",
    "Ærø",
    "Dvořák-Straße",
    "Señor",
    "ночь",
    "夜の海",
    "Trường",
    "naïve café",
    "“Tide”",
)


def misread(text: str) -> str:
    """UTF-8 read byte by byte: as Windows-1252 where it knows the byte, else as Latin-1."""
    return "".join(_read(byte) for byte in text.encode("utf-8"))


def _read(byte: int) -> str:
    try:
        return bytes([byte]).decode("cp1252")
    except UnicodeDecodeError:
        return chr(byte)


@pytest.mark.parametrize("word", WORDS)
def test_what_was_encoded_twice_or_three_times_is_repaired(word: str) -> None:
    assert encoded_once(misread(word)) == word
    assert encoded_once(misread(misread(word))) == word


@pytest.mark.parametrize("word", [*WORDS, "Tide", "Ã", "Ã la mer", "Â", "1 € and £ 2", "Ã©tude et étude", ""])
def test_what_is_right_stays_as_it_is(word: str) -> None:
    assert encoded_once(word) == word


@given(st.text(max_size=30).filter(lambda text: not text.isascii()))
def test_any_text_encoded_twice_comes_back(text: str) -> None:
    if encoded_once(text) == text:  # it isn't itself what a text encoded twice would be
        assert encoded_once(misread(text)) == text


@pytest.mark.parametrize(
    ("tag", "shown"),
    [
        ("Unknown Artist", ""),
        ("<unknown>", ""),
        ("[Unknown Album]", ""),
        ("Unknown Waters", "Unknown Waters"),
        ("Low Tide [Official Audio]", "Low Tide"),
        ("Low Tide (Official Video) (Live)", "Low Tide (Live)"),
        ("The Official Tide", "The Official Tide"),
        ("[Official Audio]", "[Official Audio]"),
    ],
)
def test_words_that_say_nothing_are_left_out(tag: str, shown: str) -> None:
    assert clean(tag) == shown
