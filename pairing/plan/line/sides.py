"""The words of two sides as one: "r/l", "R then L", "right and left"."""

from collections.abc import Sequence

from pairing.plan.tokens import Token


def sides_joined(tokens: Sequence[Token]) -> list[Token]:
    """Make one token of "r/l", "R then L", "right and left", and drop "leg" after a side."""
    if not any(token.says("sides", "columns.side") for token in tokens):
        return list(tokens)
    out: list[Token] = []
    for token in tokens:
        if (
            token.says("sides.parts")
            and out
            and (out[-1].says("sides.right", "sides.left", "sides.each") or _is_per(out))
        ):
            if out[-1].text == "/":  # "2 min/side"
                out[-1] = Token("word", "each side", out[-1].start, token.end, frozenset({"sides.each"}))
            continue
        if token.says("columns.side") and token.says("sides.parts") and out and out[-1].kind == "length":
            token = Token("word", token.text, token.start, token.end, frozenset({"sides.each"}))  # "4' side"
        out.append(token)
        last = out[-3:]
        if len(last) == 3 and _is_joiner(last[1]) and _opposite(last[0], last[2]):
            out[-3:] = [_each(last[0], last[2])]
        elif len(out) >= 2 and _opposite(out[-2], out[-1]):
            out[-2:] = [_each(out[-2], out[-1])]
        elif len(out) >= 4 and _is_joiner(out[-2]) and _is_joiner(out[-3]) and _opposite(out[-4], out[-1]):
            out[-4:] = [_each(out[-4], out[-1])]
    return out


def _is_per(before: Sequence[Token]) -> bool:
    """The slash of "2 min/side", not that of "neck / side body"."""
    sized = len(before) > 1 and before[-2].kind in ("length", "number", "times", "counts")
    return before[-1].text == "/" and sized


def _is_joiner(token: Token) -> bool:
    return (token.kind == "mark" and token.text in "/&+,-—") or token.says("join.then", "join.and")


def _opposite(one: Token, other: Token) -> bool:
    return (one.says("sides.right") and other.says("sides.left")) or (
        one.says("sides.left") and other.says("sides.right")
    )


def _each(one: Token, other: Token) -> Token:
    return Token("word", f"{one.text}/{other.text}", one.start, other.end, frozenset({"sides.each"}))
