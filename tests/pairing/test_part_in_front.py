"""A line may name the part of the class that it begins: "cool down: pigeon". Invented notes; common practice, no source."""

import pytest

from pairing.model import Kind
from pairing.plan.read import read_plan


@pytest.mark.parametrize(
    ("line", "kind"),
    [
        ("cool down: pigeon 2 min ea", Kind.COOL_DOWN),
        ("down: pigeon 2 min ea", Kind.COOL_DOWN),
        ("Wind down: pigeon 2 min each side", Kind.COOL_DOWN),
        ("Stretch: pigeon 2 min, 10 br fold", Kind.COOL_DOWN),
        ("floor: pigeon 2 min ea", Kind.FLOOR),
        ("Core: boat 5 br x3", Kind.STRENGTH),
    ],
)
def test_the_peak_ends_where_the_next_part_is_named(line: str, kind: Kind) -> None:
    note = f"Flow 60\nchild 1 min\nPEAK\ndancer 5 br e/s\nwheel x2\n{line}\nseated fold 10 br\nsav 7\n"
    parts = [(section.kind, len(section.parts)) for section in read_plan(note).sections]
    assert [each[0] for each in parts] == [Kind.FLOW, Kind.PEAK, kind, Kind.REST]
    assert parts[1][1] == 2
