""" "One breath one movement" is a way to move, not a length. Invented lines; common practice, no source."""

import pytest

from pairing.plan.read import read_plan


@pytest.mark.parametrize(
    ("line", "times"),
    [
        ("sun A x3, one breath one movement", 3),
        ("sun A x3 slow, x2 one breath one movement", 5),
        ("sun A x2 slow, then x3 one breath per movement", 5),
        ("Sun B x2 slow, x2 breath to movement", 4),
        ("surya namaskar A x3 slow, x2 one breath one move", 5),
        ("sun A x4, 1 breath 1 move", 4),
    ],
)
def test_it_is_done_in_flow_and_as_often_as_it_says(line: str, times: int) -> None:
    plan = read_plan(f"Flow 60\n{line}\nchild 1 min\n")
    salutation = plan.sections[0].parts[0]
    assert (salutation.times, salutation.length) == (times, None)
    assert all(read.sure for read in plan.lines)
