"""What comes between sets, rounds or sides: "10 s rest in between", "vinyasa between sides"."""

from collections.abc import Sequence

from pairing.model import Length
from pairing.plan.line.amounts import Amount, add
from pairing.plan.line.chunks import is_rest
from pairing.plan.line.moves import Around, Line, Move
from pairing.plan.tokens import Token


def rests_between_sets(tokens: Sequence[Token], line: Line) -> bool:
    """ "3 x 20 s, rest 10 s": a rest behind sets comes between them."""
    last = line.moves[-1].amount if line.moves else None
    sets = last is not None and any(high > 1 for _, high in last.times)
    timed = last is not None and any(length.unit == "seconds" for length in last.lengths)
    kinds = ("length", "number") if timed else ("length",)  # "3 x 30 s, 15 rest"
    sized = any(token.kind in kinds for token in tokens)
    sized = sized and any(map(is_rest, tokens))  # "3 x 20 s, 10 s off" too
    return sets and sized and all(token.kind in kinds or is_rest(token) for token in tokens)


def is_between(tokens: Sequence[Token]) -> bool:
    """Say whether these words speak of what comes between sets, rounds or sides: "10 s rest in between"."""
    for at, token in enumerate(tokens):
        if token.says("join.between"):
            behind = tokens[at + 1] if at + 1 < len(tokens) else None
            return (
                behind is None
                or behind.kind == "mark"
                or len(token.text.split()) > 1
                or behind.says("sides", "units", "columns.side")
                or (behind.kind == "length" and any(map(is_rest, tokens)))
            )
    return False


def read_between(tokens: Sequence[Token], line: Line, around: Around) -> None:
    """ "rest 15 s between sets", "vinyasa between sides", "dd 1br between"."""
    amount = Amount()
    pose = next((token for token in tokens if token.kind == "pose"), None)
    for token in tokens:
        if token is not pose:
            add(amount, token)
    if any(
        token.says("sides") or "side" in token.text.lower() for token in tokens if token.says("join.between", "sides")
    ):
        line.between_what = "sides"
    if pose is None and not amount.lengths and not amount.numbers:
        line.notes.append(" ".join(token.text for token in tokens))
        return
    if pose is not None and pose.match and pose.match.pose and amount.has_size() is False and _rests(pose):
        line.notes.append(" ".join(token.text for token in tokens))
        return
    if pose is None and amount.numbers and not amount.lengths:  # "15 rest" behind sets of seconds
        low, high = amount.numbers.pop()
        amount.lengths.append(Length("seconds", (low + high) / 2, low, high))
    move = Move("pose", pose.text, pose.match, amount) if pose else Move("pause", "rest", None, amount)
    line.between.append(move)


def _rests(token: Token) -> bool:
    pose = token.match.pose if token.match else None
    return pose is not None and pose.family == "rest"
