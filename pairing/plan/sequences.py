"""Several poses strung together on one line: a known sequence, or a fault with a line for each."""

import re
from collections.abc import Iterator

from pairing.plan.lines import Line
from pairing.plan.names import words
from pairing.plan.poses import LONGEST_NAME, Match, PoseTable
from pairing.plan.said import Fault

_THEN = re.compile(r"\s+(?:to|then|and|and then|into|plus)\s+|\s*(?:→|->|=>|>|\+|&)\s*", re.IGNORECASE)
_COMMA = re.compile(r"\s*[,;]\s*(?:then\s+|and\s+)?", re.IGNORECASE)
_EACH_OF_THEM = re.compile(r"\s*\beach\b(?!\s+(?:side|way|leg|arm|direction))\s*", re.IGNORECASE)
_PLACED = re.compile(r"\b(?:with|at|on|over|in|against|using|under|without|from)\b", re.IGNORECASE)
# Where a body is, or what goes on in a seat: "figure four, seated", "easy seat, breath awareness".
_POSTURES = {"seated", "sit", "sitting", "stand", "standing", "core", "seat", "kneel", "kneeling", "rest", "rocking"}
_INSTEAD = {"cobra": "upward_dog", "low_cobra": "upward_dog", "eight_limbed": "low_plank"}  # in a vinyasa
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
    ids = tuple(pose_id for name in names for piece in _THEN.split(name) for pose_id in _in_a_row(piece, table))
    ids = tuple(_INSTEAD.get(pose_id, pose_id) for pose_id in ids)
    for compound, steps in table.compounds.items():
        if len(ids) >= 3 and ids == tuple(step.pose_id for step in steps)[-len(ids) :]:
            return compound
    return None


def _in_a_row(name: str, table: PoseTable) -> Iterator[str]:
    """Give the ids of the poses whose names follow each other in `name`, longest names first; "" for any other word."""
    typed = words(name)
    while typed:
        lengths = range(min(len(typed), LONGEST_NAME), 0, -1)
        length = next((n for n in lengths if table.knows("".join(typed[:n]))), 0)
        pose = table.look_up("".join(typed[:length])).pose if length else None
        yield pose.id if pose else ""
        typed = typed[length or 1 :]


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
    if words(note)[0] in ("arm", "hand"):  # "high lunge, arms up" is a cue
        return False
    pose = table.look_up(note).pose
    return pose is not None and pose is not match.pose and pose.id not in _PRACTICES


def _pieces(text: str, table: PoseTable) -> Iterator[str]:
    """Part a line at commas and, where that isn't within the name of a pose ("knees to chest"), at joining words."""
    for part in filter(None, (part.strip() for part in _COMMA.split(text))):
        name = re.split(r"\s+(?=\d|x\d|each\b)", part, maxsplit=1)[0]
        name = name if table.knows(name) else ""
        behind, *more = _THEN.split(part[len(name) :])
        yield from (piece for piece in (name + behind, *more) if piece.strip())


def _one_each(text: str, table: PoseTable) -> list[str]:
    """Begin a new line at each piece that begins with a pose; "each" at the end holds for all."""
    lines: list[str] = []
    for piece in _pieces(text, table):
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
