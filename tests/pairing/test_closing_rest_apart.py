"""The closing rest belongs to no part that is done on both sides or again. Invented notes; common practice, no source."""

import pytest

from pairing.effort.timetable import build_timetable
from pairing.plan.poses import pose_table
from pairing.plan.read import read_plan

ON_SIDES = [
    ("STANDING x2, R then L", "sav 7 min, last 2 min in silence", 420),
    ("Flow 1 (R then L)", "savasana 8 min", 480),
    ("Standing, all on the right then all left", "Savasana: 6 minutes", 360),
    ("FLOW B x3", "savasana 10", 600),
    ("Stehen, erst rechts dann links", "Savasana 7 Min", 420),
    ("De pie, derecha y luego izquierda", "savasana 6 min", 360),
]


@pytest.mark.parametrize(("heading", "rest", "meant_s"), ON_SIDES)
def test_one_rests_once(heading: str, rest: str, meant_s: int) -> None:
    note = f"Flow 60\n\n{heading}\nlunge 3 br\nvinyasa\ndown dog 1 min\n{rest}\n"
    steps = build_timetable(read_plan(note), pose_table()).steps
    assert sum(step.end_s - step.start_s for step in steps if step.line == 7) == pytest.approx(meant_s, abs=1)
