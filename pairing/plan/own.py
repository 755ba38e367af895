"""A teacher's own poses: "- tidal lunge: like high lunge", "- tidal lunge: 3.5 METs, one side"."""

import re

from pairing.model import OwnPose
from pairing.plan.lines import Line
from pairing.plan.names import key
from pairing.plan.poses import PoseTable, pose_table
from pairing.plan.problems import Problems
from pairing.plan.said import Fault

OWN_HEADINGS = {key(name) for name in ("own poses", "my poses", "my own poses", "new poses")}
LOWEST_METS, HIGHEST_METS = 0.8, 10.0  # corpse pose 0.83 (Ray et al. 2011); vigorous hatha 8.0 (2024 Compendium, 02153)

_METS = re.compile(r"(\d{1,2}(?:[.,]\d{1,6})?)\s*mets?\b", re.IGNORECASE)
_HOW = 'Write: "- tidal lunge: like high lunge" or "- tidal lunge: 3.5 METs, one side".'


def read_own_poses(lines: list[Line], problems: Problems, known: tuple[OwnPose, ...]) -> tuple[OwnPose, ...]:
    """Read the lines of own poses; give them after those already known, a later one of the same name instead."""
    own = {key(pose.name): pose for pose in known}
    for line in lines:
        if line.form in ("heading", "rule", "remark"):
            continue
        pose = _own_pose(line, pose_table().with_own(own.values()), problems)
        if pose:
            own[key(pose.name)] = pose
    return tuple(own.values())


def _own_pose(line: Line, table: PoseTable, problems: Problems) -> OwnPose | None:
    name, colon, rest = line.text.partition(":")
    if not colon or not key(name):
        problems.faults(line, [Fault("own-pose", line.text, f'"{line.text}" doesn\'t define a pose.', _HOW)])
        return None
    found = _METS.search(rest)
    mets = float(found[1].replace(",", ".")) if found else None
    like: str | None = None
    sided: bool | None = None
    faults: list[Fault] = []
    for part in filter(None, (part.strip(" .") for part in _METS.sub("", rest).split(","))):
        if re.fullmatch(r"(?:one[- ]sided?|each side|one side|both sides|sided)", part, re.IGNORECASE):
            sided = True
        elif re.fullmatch(r"(?:no sides?|not sided|symmetric(?:al)?)", part, re.IGNORECASE):
            sided = False
        elif part.lower().startswith("like "):
            like = _like(part[5:], table, faults)
        else:
            faults.append(Fault("own-pose", part, f'"{part}" says nothing about a pose.', _HOW))
    faults += _sense(line, like, mets, any_fault=bool(faults))
    problems.faults(line, faults)
    if faults:
        return None
    base = table.poses.get(like or "")
    return OwnPose(name.strip(), like, mets, sided if sided is not None else bool(base and base.sided))


def _like(name: str, table: PoseTable, faults: list[Fault]) -> str | None:
    match = table.find(name)
    if match.pose is None:
        meant = table.meant(name)
        near = " or ".join(f'"{other}"' for other in match.nearest)
        faults.append(
            Fault(
                "unknown-pose",
                name,
                f'"{name}" isn\'t a known pose.',
                f"Did you mean {near}?" if near else _HOW,
                meant,
            )
        )
        return None
    return match.pose.id


def _sense(line: Line, like: str | None, mets: float | None, *, any_fault: bool) -> list[Fault]:
    if mets is not None and not LOWEST_METS <= mets <= HIGHEST_METS:
        return [
            Fault(
                "own-pose",
                line.text,
                f"{mets:g} METs can't be the effort of a pose.",
                "Lying still is 1, a strong flow 4.",
            )
        ]
    if like is None and mets is None and not any_fault:
        return [Fault("own-pose", line.text, f'"{line.text}" doesn\'t say how hard it is.', _HOW)]
    return []
