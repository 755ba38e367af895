"""Several poses strung together on one line: a known sequence, or a fault with a line for each."""

import re

from pairing.plan.lines import Line
from pairing.plan.names import words
from pairing.plan.poses import Match, PoseTable
from pairing.plan.said import Fault

_THEN = re.compile(r"\s+(?:to|then|and|and then|into|plus)\s+|\s*(?:→|->|=>|>|\+|&)\s*", re.IGNORECASE)
_BETWEEN = re.compile(rf"\s*[,;]\s*(?:then\s+|and\s+)?|{_THEN.pattern}", re.IGNORECASE)
_EACH_OF_THEM = re.compile(r"\s*\beach\b(?!\s+(?:side|way|leg|arm|direction))\s*", re.IGNORECASE)
_PLACED = re.compile(r"\b(?:with|at|on|over|in|against|using|under|without|from)\b", re.IGNORECASE)
# Where a body is, or what goes on in a seat: "figure four, seated", "easy seat, breath awareness".
_POSTURES = {"seated", "sit", "sitting", "stand", "standing", "core", "seat", "kneel", "kneeling", "rest"}
_PRACTICES = {"belly_breath", "victorious_breath", "seated_meditation", "om_chant", "corpse"}


def strung(name: str, table: PoseTable) -> list[str]:
    """Give the poses of "plank to low plank"; [] where the name is that of one pose."""
    if table.knows(name):
        return []
    pieces = [piece.strip() for piece in _THEN.split(name)]
    found = [table.look_up(piece).pose if piece else None for piece in pieces]
    practice = any(pose and pose.id in _PRACTICES for pose in found[1:])
    return pieces if len(pieces) > 1 and all(found) and not practice else []


def others(match: Match, notes: list[str], table: PoseTable) -> list[str]:
    """Give those notes that are the full name of another pose than the line's own."""
    return [note for note in notes if match.pose and _is_other(note, match, table)]


def known_sequence(names: list[str], table: PoseTable) -> str | None:
    """Give the id of the compound whose last poses, three at least, these are: "chaturanga, up dog, down dog"."""
    found = [table.look_up(name).pose for name in names]
    ids = tuple(pose.id if pose else "" for pose in found)
    for compound, steps in table.compounds.items():
        if len(ids) >= 3 and ids == tuple(step.pose_id for step in steps)[-len(ids) :]:
            return compound
    return None


def several_poses(line: Line, count: int, table: PoseTable) -> Fault:
    """The fault of a line that names several poses, with a line for each as its correction."""
    lines = _one_each(line.text, table)
    start = line.raw[: line.raw.find(line.text)] if line.text in line.raw else "- "
    new = ("\n" + start).join(lines) if len(lines) > 1 and line.text in line.raw else None
    return Fault(
        "several-poses", line.text, f'"{line.text}" names {count} poses.', "Put each on a line of its own.", new
    )


def _is_other(note: str, match: Match, table: PoseTable) -> bool:
    note = re.sub(r"^(?:then|and|to|into)\s+", "", note, flags=re.IGNORECASE)
    if not table.knows(note) or _PLACED.search(note) or (len(words(note)) == 1 and words(note)[0] in _POSTURES):
        return False
    pose = table.look_up(note).pose
    return pose is not None and pose is not match.pose and pose.id not in _PRACTICES


def _one_each(text: str, table: PoseTable) -> list[str]:
    """Begin a new line at each piece that begins with a pose; "each" at the end holds for all."""
    lines: list[str] = []
    pieces = [piece for piece in _BETWEEN.split(text) if piece and piece.strip()]
    for piece in pieces:
        name = re.split(r"\s+(?=\d|x\d|each\b)", piece, maxsplit=1)[0]
        if table.knows(name) or not lines:
            lines.append(piece)
        else:
            lines[-1] += f", {piece}"
    if not _EACH_OF_THEM.search(lines[-1]):
        return lines
    *before, last = lines
    name, _, rest = _EACH_OF_THEM.sub("", last).partition(",")
    attributes = rest.strip() or " ".join(re.findall(r"\d.*", name))
    return [*(f"{line}, {attributes}" for line in before), _EACH_OF_THEM.sub("", last)]
