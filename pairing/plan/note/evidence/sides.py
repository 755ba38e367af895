"""Sides of a line that its reading left over, or supposed."""

from collections.abc import Iterable, Iterator, Sequence

from pairing.model import Element, Group
from pairing.plan.note.evidence.typed import Setting, Typed
from pairing.plan.note.partly import Part, elements
from pairing.plan.poses import PoseTable
from pairing.plan.tokens import Token

BOTH_FROM_S = 180.0  # minutes that hold both sides, where a line names none; editorial


def sides_left(line: Typed, parts: Sequence[Part], setting: Setting) -> Iterator[str]:
    """Give a sign for each side that is named and not done, or done and not named."""
    sided = [token for token in line.said if token.says("sides") and not token.says("sides.parts", "sides.direction")]
    flat = list(elements(parts))
    both = setting.both_sides or both_in(parts) or {"right", "left"} <= {part.side for part in flat}
    one = both or any(part.side for part in flat)
    if any(token.says("sides.each", "sides.other") for token in sided) and not both:
        yield "side left"
    right, left = (any(token.says(f"sides.{side}") for token in sided) for side in ("right", "left"))
    if (right and left and not both) or ((right or left) and not one):
        yield "side left"
    sidedly = any(_is_sided(part, setting.table) for part in flat)
    if not any(part.what in ("pose", "gap") for part in flat):
        return
    counted = any(part.times or setting.table.compound(part.pose_id or "") for part in flat)  # "x3, 20 s each"
    if (
        any(token.says("join.each") for token in line.said)
        and not both
        and (sidedly or (len(flat) == 1 and not counted))
    ):
        yield "each left"
    half = one and not both and not setting.again and not (right and left)
    if half and sidedly and any(token.kind == "unknown" for token in _behind_names(line.said)):
        yield "one side"
    apart = [part for part in flat if _is_sided(part, setting.table)]
    if one and not setting.both_sides and any(part.each_side for part in apart) and not all(map(_has_side, apart)):
        yield "side in part"
    long = any(token.kind == "length" and token.unit == "seconds" and token.low >= BOTH_FROM_S for token in line.said)
    lone = (
        sidedly
        and not long
        and not (sided or both or setting.again or setting.given or any(part.side for part in flat))
    )
    if lone and not any(token.says("sides") for token in line.said):
        strange = any(token.kind == "unknown" for token in _behind_names(line.said))
        yield "one side" if strange else "no side" if setting.sides_told else "side untold"


def _has_side(part: Element) -> bool:
    return part.each_side or part.side is not None


def _is_sided(part: Element, table: PoseTable) -> bool:
    return part.pose_id is not None and table.get(part.pose_id).sided and not table.compound(part.pose_id)


def _behind_names(tokens: Sequence[Token]) -> Sequence[Token]:
    named = next((at for at, token in enumerate(tokens) if token.match), 0)
    return tokens[named:]


def both_in(parts: Iterable[Part]) -> bool:
    """Say whether any of these parts is done on both sides."""
    return any(
        (part.both_sides or both_in(part.parts)) if isinstance(part, Group) else part.each_side for part in parts
    )
