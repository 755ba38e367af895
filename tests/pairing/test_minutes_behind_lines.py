"""Bare minutes at the ends or in front of lines, told by all of them together. Invented notes; common practice, no source."""

import pytest

from pairing.effort.timetable import build_timetable
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan

DASHED = """Slow flow 30
rest on back, feet down - 4
cat cow, slow - 2
puppy 6 br
lizard, block under forearm - 1.5
sphinx - 2
sleeping pigeon - 3 per side
wide leg fold - 2, sway
savasana - 6
"""
APART = """Restorative 45 min
settle, blankets   3
constructive rest, calves on a chair   5
side lying over bolster   6 + 6
legs up the wall   8
savasana, eye pillow   12
"""
IN_FRONT = """Hatha 30
3  easy seat, om x3
5  alternate nostril
1+1  triangle
45"+45"  tree
2+2  head to knee
1½+1½  seated twist
8  savasana
3  shoulderstand
"""
MEANT = [
    (DASHED, {2: 240, 3: 120, 5: 90, 6: 120, 7: 360, 8: 120, 9: 360}),
    (APART, {2: 180, 3: 300, 4: 720, 5: 480, 6: 720}),
    (IN_FRONT, {2: 180, 3: 300, 4: 120, 5: 90, 6: 240, 7: 180, 8: 480, 9: 180}),
]


@pytest.mark.parametrize(("note", "meant"), MEANT)
def test_they_are_the_minutes_of_their_lines(note: str, meant: dict[int, float]) -> None:
    steps = build_timetable(read_plan(note), pose_table()).steps
    took = {line: sum(step.end_s - step.start_s for step in steps if step.line == line) for line in meant}
    assert took == pytest.approx(meant, abs=1)


def test_dashes_before_counts_are_none() -> None:
    note = "Strong 30\npush ups - 10\nsquats - 12\nlunges - 8 e/s\nplank - 30 s\nboat - 5\nbridge - 10\n"
    steps = build_timetable(read_plan(note), pose_table()).steps
    assert sum(step.end_s - step.start_s for step in steps if step.line == 2) < 120
