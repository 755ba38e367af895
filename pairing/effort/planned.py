"""The one step from a plan to all that is computed of it: what pairing, checks, mix, picture and sheet begin with."""

from dataclasses import dataclass

from pairing.effort.arc import make_arc
from pairing.effort.timetable import build_timetable
from pairing.model import Arc, Plan, Timetable
from pairing.plan.poses import PoseTable, pose_table


@dataclass(frozen=True, slots=True, eq=False)
class Planned:
    """A class as planned: when everything happens, and what that asks of body and music."""

    plan: Plan
    poses: PoseTable  # the plan's own among them
    timetable: Timetable
    arc: Arc


def planned(plan: Plan) -> Planned:
    """Derive timetable and arc of a plan; nothing is checked.

    >>> from pairing.plan.read import read_plan
    >>> found = planned(read_plan("# Tide\\n\\n## Sit: opening, 3 minutes\\n- easy seat\\n"))
    >>> found.timetable.duration_s, len(found.arc.target_energy)
    (180.0, 180)
    """
    poses = pose_table().with_own(plan.own_poses)
    timetable = build_timetable(plan, poses)
    return Planned(plan, poses, timetable, make_arc(timetable))
