"""A silence that a note puts at the end of its rest is a silence of the music. Invented lines; common practice, no source."""

import pytest

from pairing.plan.read import read_plan


@pytest.mark.parametrize(
    ("line", "minutes", "silent_s"),
    [
        ("sav 7 - last 2 silent, bell", 7, 120),
        ("savasana 8 min, last 2 silent", 8, 120),
        ("savasana 9 min (last 2 min no music)", 9, 120),
        ("savasana 6, final 2 minutes without music", 6, 120),
        ("Savasana 10 min, last 3 in silence", 10, 180),
        ("savasana 7 min, music off last 2", 7, 120),
        ("Savasana 8 Min, letzte 2 ohne Musik", 8, 120),
        ("savasana 8 min, últimos 2 en silencio", 8, 120),
        ("savasana 8 min, les 2 dernières en silence", 8, 120),
    ],
)
def test_the_end_of_the_rest_is_silent(line: str, minutes: int, silent_s: int) -> None:
    plan = read_plan(f"Flow 60\nchild 1 min\n{line}\n")
    rest = plan.sections[1].parts[0]
    assert (rest.length.likely, rest.wishes.silent_last_s) == (60 * minutes, silent_s)
    assert all(read.sure for read in plan.lines)
