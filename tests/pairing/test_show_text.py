"""Any text becomes one harmless line."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from show_class import HOSTILE

from audio.text import clock, one_line
from pairing.show.text import counted, length

# XML 1.0 (fifth edition), section 2.2: Char ::= #x9 | #xA | #xD | [#x20-#xD7FF] | [#xE000-#xFFFD] | [#x10000-#x10FFFF]
XML_CHAR = re.compile("[\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]*")
# ECMA-48 (fifth edition), 5.3 and 8.2: C0 is 00 to 1F, C1 is 80 to 9F; 7F is DELETE.
CONTROL = re.compile("[\x00-\x1f\x7f-\x9f]")
# Unicode Standard Annex 9, table 1 (LRM, RLM, ALM, embeddings, overrides, isolates)
DIRECTION = re.compile("[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]")

any_text = st.text(st.characters(codec=None), max_size=60)


@given(any_text)
def test_what_leaves_has_no_control_no_override_and_fits_xml_and_utf_8(text):
    line = one_line(text)
    assert not CONTROL.search(line)
    assert not DIRECTION.search(line)
    assert XML_CHAR.fullmatch(line)
    line.encode("utf-8")


@given(any_text)
def test_twice_is_once(text):
    assert one_line(one_line(text)) == one_line(text)


@given(any_text, st.integers(2, 40))
def test_a_limit_is_kept(text, limit):
    assert len(one_line(text, limit)) <= limit


@pytest.mark.parametrize("text", ["Low tide", "Übung für Zoë, 3/4 & 5 < 6", "मंत्र", "👩🏽‍🎤 🌊", "a b"])
def test_honest_text_stays_as_it_is(text):
    assert one_line(text) == text


def test_markup_stays_text():
    assert one_line(HOSTILE[0]) == HOSTILE[0]


@given(st.floats(-100_000, 100_000))
def test_a_clock_reads_back_to_its_seconds(seconds):
    parts = [int(part) for part in clock(seconds).lstrip("-").split(":")]
    total = sum(part * 60**power for power, part in enumerate(reversed(parts)))
    assert abs(total - abs(seconds)) <= 0.5


@pytest.mark.parametrize(
    ("seconds", "words"), [(1, "1 second"), (59.6, "1 minute"), (600, "10 minutes"), (75, "1:15 minutes")]
)
def test_lengths_are_said_as_people_say_them(seconds, words):
    assert length(seconds) == words


def test_a_half_breath_and_several():
    assert [counted(n, "breath", "breaths") for n in (0.5, 1, 1.5, 5)] == [
        "½ breath",
        "1 breath",
        "1½ breaths",
        "5 breaths",
    ]
