"""Lines that speak of the lines above them: "other side", "repeat all L leg", "do that again faster", "and back down".

What is repeated takes its time on the line that asks for it.
"""

import itertools
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace

from pairing.model import Element, Group, Length, Place, Side
from pairing.plan.poses import PoseTable
from pairing.plan.tokens import Token
from pairing.plan.words import scaled

_DONE_BEFORE = ("again.same", "again.repeat")
FASTER = 0.7  # of the time of the first pass, for "again, faster"; editorial
_OTHER: dict[Side | None, Side] = {"right": "left", "left": "right", None: "left"}


@dataclass(frozen=True, slots=True)
class Reference:
    """What a line asks to be done again."""

    side: Side | None = None  # on this side
    other: bool = False  # on the side that has not been done
    both: bool = False
    times: int = 1
    no_hold: bool = False
    quick: bool = False
    half: bool = False
    back_down: bool = False
    whole: bool = False  # all of the part, not the last line alone
    named: str = ""  # words that may name the part


def reference(tokens: Sequence[Token], names: Iterable[tuple[str, ...]]) -> Reference | None:
    """Read a line as one about the lines above; None where it is none. `names`: words that name those lines."""
    tokens, in_manner = without_manner(tokens)
    flat = [
        part
        for token in tokens
        if token.kind != "mark"
        for part in (token.inner if token.kind == "aside" else (token,))
    ]
    flat = [token for token in flat if token.kind != "mark"]
    label = _label_of_round(flat)
    flat = flat[label:]
    names = list(names)
    if not flat or _heads(flat) or _begins_anew(flat, names) or (label and not _tells_how(flat, in_manner=in_manner)):
        return None
    flat = _with_more(flat)
    again = [token for token in flat if token.says("again.same", "again.repeat", "again.down")]
    sides = [token for token in flat if token.says("sides.right", "sides.left", "sides.other", "sides.each")]
    faster = all(
        token.kind == "times" or (token.says("how.quick", "how.no_hold", "join") and not token.says("moves"))
        for token in flat
    )
    if not again and not sides and not (faster and (in_manner or any(token.says("how") for token in flat))):
        return None
    if any(token.kind in ("length", "counts", "pulses", "pair") and not is_no_hold(token) for token in flat):
        return None
    known = {word for name in names for word in name}
    strange = [token for token in flat if not _belongs(token, known)]
    if strange and (len(strange) > 3 or not again) and not (sides and len(strange) <= 2 and _leads(flat, sides, known)):
        return None
    opens = next((token for token in flat if not token.says("join") and token.kind != "times"), None)
    behind_with = any(token.says("join.with") for token in flat)
    if any(token.kind == "pose" for token in strange) and not (opens in again and behind_with):
        return None
    made = replace(_made(flat, sides), no_hold=in_manner) if in_manner else _made(flat, sides)
    return replace(made, whole=True) if label else made


def _with_more(flat: Sequence[Token]) -> list[Token]:
    """ "2 more each side, one breath each": so often once more."""
    begins = len(flat) > 1 and flat[0].kind == "number" and flat[1].says("again.more")
    if not begins or any(token.kind == "pose" for token in flat):
        return list(flat)
    count = replace(flat[0], kind="times")
    return [count, replace(flat[1], roles=frozenset({"again.repeat", "again.all"})), *flat[2:]]


def without_manner(tokens: Sequence[Token]) -> tuple[Sequence[Token], bool]:
    """Take "1 breath per move", "one breath = one movement", "breath : beat" out; whether it stood there."""
    for at, token in enumerate(tokens):
        if not (is_no_hold(token) or (token.says("units.breaths") and token.kind == "word")):
            continue
        if turned := _movement_first(tokens, at):
            return [*tokens[:turned], *tokens[at + 1 :]], True
        end = at + 1
        equal = end < len(tokens) and tokens[end].kind == "mark" and tokens[end].text in "=:/"
        each = end < len(tokens) and tokens[end].says("join.each")
        end += equal or each
        end += end < len(tokens) and tokens[end].kind == "number" and tokens[end].low == 1.0
        move = end < len(tokens) and tokens[end].kind in ("word", "unknown", "length")
        move = move and (equal or tokens[end].says("columns.pose"))
        if move or (each and is_no_hold(token)):
            return [*tokens[:at], *tokens[end + move :]], True
    return tokens, False


def _movement_first(tokens: Sequence[Token], at: int) -> int:
    """Where "1 movement = 1 breath" begins, that ends here; 0 where it doesn't."""
    if at < 2 or not is_no_hold(tokens[at]) or tokens[at - 1].text not in "=:/" or tokens[at - 2].kind == "mark":
        return 0
    number = at > 2 and (tokens[at - 3].kind == "number" or tokens[at - 3].says("join.of"))
    return at - 2 - number


def _tells_how(flat: Sequence[Token], *, in_manner: bool) -> bool:
    """Whether what stands behind "round 2" says how the round before is done once more."""
    says_so = in_manner or any(token.says("again", "how.quick", "how.no_hold") for token in flat)
    return says_so and all(_belongs(token, set()) for token in flat if not token.says("again"))


def _label_of_round(flat: Sequence[Token]) -> int:
    """The tokens of "round 2" in front of "same again": what it repeats is all of the round before."""
    named = len(flat) > 2 and flat[0].says("how.round", "units.rounds", "how.level")
    return 2 if named and flat[1].kind == "number" else 0


def _heads(flat: Sequence[Token]) -> bool:
    """ "Standing series - R first, then repeat on L" heads what is below, though it speaks of both sides."""
    sides = [token for token in flat if token.says("sides.right", "sides.left")]
    first = any(token.says("how.first") for token in flat)
    named = any(token.says("kinds") for token in flat) and not any(token.says(*_DONE_BEFORE) for token in flat)
    return first and ((flat[0].says("kinds") and len(sides) == 2) or (named and len(sides) == 1))


def _begins_anew(flat: Sequence[Token], names: Sequence[tuple[str, ...]]) -> bool:
    """ "Flow 2 - R, L, then both again": a part by its number, which no part above has."""
    numbered = len(flat) > 2 and flat[0].says("kinds") and flat[1].kind == "number"
    name = tuple(" ".join(token.text for token in flat[:2]).lower().split())
    return (
        numbered and any(token.says("sides") for token in flat) and name not in {known[: len(name)] for known in names}
    )


def up_to_addition(tokens: Sequence[Token]) -> Sequence[Token]:
    """ "Both sides again, add a twist", "round 3 - 1 br each + knee drives x5, R + L": the tokens but what is added."""
    marks = [at for at, token in enumerate(tokens) if token.kind == "mark"]
    plus = next((at for at in marks if tokens[at].text == "+" and tokens[at - 1].says("join.each")), None)
    if plus is not None and tokens[0].says("how.round", "units.rounds"):
        end = next((at for at in marks if at > plus and tokens[at].text == ","), len(tokens))
        return [*tokens[:plus], *tokens[end:]]
    for at, (mark, token) in enumerate(itertools.pairwise(tokens)):
        before = tokens[:at]
        if mark.text in ",;—" and token.says("again.add") and any(one.says(*_DONE_BEFORE) for one in before):
            return before
    return tokens


def _leads(flat: Sequence[Token], sides: Sequence[Token], known: set[str]) -> bool:
    """Whether a side, or a name of what stands above with a side, opens the line: "now mandala L (clockwise)"."""
    for token in flat:
        if token in sides:
            return True
        if not _belongs(token, known):
            return False
    return False


def _belongs(token: Token, known: set[str]) -> bool:
    if token.kind in ("times", "chain") or is_no_hold(token):
        return True
    if token.says("sides", "again", "join", "how", "music", "moves.counted") or token.text.lower() in (
        "now",
        "do",
        "on",
        "all",
    ):
        return True
    return all(word in known for word in token.text.lower().split())


def is_no_hold(token: Token) -> bool:
    """Whether a length says no more than that nothing is held: "1 breath each"."""
    return token.kind == "length" and token.unit == "breaths" and token.high <= 1.0


def _made(flat: Sequence[Token], sides: Sequence[Token]) -> Reference:
    right, left = (any(token.says(f"sides.{side}") for token in sides) for side in ("right", "left"))
    times = next((int((token.low + token.high) / 2) for token in flat if token.kind == "times"), 1)
    if any(token.says("how.twice") for token in flat):
        times = 2
    return Reference(
        side=None if right == left else "right" if right else "left",
        other=any(token.says("sides.other") for token in sides) or any(token.says("again.same") for token in flat),
        both=any(token.says("sides.each") for token in sides) or (right and left),
        times=max(1, min(times, 50)),
        no_hold=any(token.says("how.no_hold") or is_no_hold(token) for token in flat),
        quick=any(token.says("how.quick") for token in flat),
        half=any(token.says("how.half") for token in flat),
        back_down=any(token.says("again.down") for token in flat),
        whole=any(token.says("again.all") for token in flat),
        named=" ".join(token.text for token in flat if token.says("kinds") or token.kind == "unknown"),
    )


def by_numbers(tokens: Sequence[Token], known: Collection[int]) -> tuple[Reference, range] | None:
    """Read "11+12 again", "repeat 3-5", "2 on the other side": lines meant by the numbers that the note gives them.

    Args:
        tokens: those of the line.
        known: the numbers of the lines above.
    """
    plain = [token for token in tokens if token.kind != "mark"]
    numbers = [token for token in plain if token.kind == "number"]
    others = [token for token in plain if token.kind != "number"]
    speaks = any(token.says("again.same", "again.repeat", "sides.other") for token in others)
    if not numbers or not speaks or not all(_belongs(token, set()) for token in others):
        return None
    first, last = (int(number) for number in (min(t.low for t in numbers), max(t.high for t in numbers)))
    if not all(number in known for number in range(first, last + 1)):
        return None
    sides = [token for token in others if token.says("sides")]
    return replace(_made(others, sides), other=any(token.says("sides.other") for token in others)), range(
        first, last + 1
    )


def again(
    parts: Sequence[Element | Group], place: Place, table: PoseTable, asked: Reference
) -> tuple[Element | Group, ...]:
    """Give the parts as they are done again, with the place of the line that asks for it."""
    copied = [_copied(part, place, table, asked) for part in parts]
    if asked.back_down:
        copied = [*reversed(copied[:-1])]
    return tuple(copied)


def _copied(part: Element | Group, place: Place, table: PoseTable, asked: Reference) -> Element | Group:
    if place.line == 0:  # a heading asks for it, the line above tells how
        place = Place(0, told_by=part.place.line or part.place.told_by)
    if isinstance(part, Group):
        inner = tuple(_copied(inner, place, table, asked) for inner in part.parts)
        return replace(part, place=place, parts=inner)
    side = part.side
    sided = part.pose_id is not None and table.get(part.pose_id).sided
    if asked.side and (side or sided) and not part.each_side:
        side = asked.side
    elif asked.other and (side or sided) and not part.each_side:
        side = _OTHER[side]
    length = part.length
    if asked.no_hold and part.what == "pose" and not table.compound(part.pose_id or ""):
        length = Length("breaths", 1.0, 1.0, 1.0) if length is None or _holds(length) else length
    elif asked.half and length is not None:
        length = scaled(length, 0.5)
    elif asked.quick and length is not None:
        length = scaled(length, FASTER)
    elif asked.quick and part.what == "pose" and part.times is None and not table.compound(part.pose_id or ""):
        length = Length("breaths", 1.0, 1.0, 1.0)
    return replace(part, place=place, side=side, length=length)


def _holds(length: Length) -> bool:
    return length.likely > (1.0 if length.unit == "breaths" else 5.0)


def on_side(parts: Sequence[Element | Group], side: Side, table: PoseTable) -> tuple[Element | Group, ...]:
    """Give the parts with their one-sided poses on this side, where they name none."""
    done: list[Element | Group] = []
    for part in parts:
        if isinstance(part, Group):
            done.append(replace(part, parts=on_side(part.parts, side, table)))
        elif part.pose_id and part.side is None and not part.each_side and table.get(part.pose_id).sided:
            done.append(replace(part, side=side))
        else:
            done.append(part)
    return tuple(done)
