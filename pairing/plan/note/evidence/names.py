"""Names and words of a line that its reading left over, or trusted though they are weak."""

import itertools
import re
from collections.abc import Iterator, Sequence

from pairing.model import Element
from pairing.plan.line.chunks import is_size
from pairing.plan.names import key, words
from pairing.plan.note.evidence.numbers import has
from pairing.plan.note.evidence.typed import Typed
from pairing.plan.poses import IDLE_IN_NAMES, is_loose
from pairing.plan.tokens import ORDINAL, Token


def poses_left(tokens: Sequence[Token], flat: Sequence[Element]) -> Iterator[str]:
    """Give a sign for each pose that is named and became no part."""
    taken = {part.pose_id for part in flat}
    shown = " ".join(" ".join((part.name, *part.alternatives)).lower() for part in flat)
    talks = all(part.what == "say" for part in flat)
    colon = next((at for at, token in enumerate(tokens) if token.text == ":"), 0)
    behind_with = False
    for token in () if talks else tokens[colon:]:
        behind_with = (behind_with or token.says("join.with")) and token.kind != "mark"
        pose = token.match.pose if token.match else None
        if pose is None or pose.id in taken or token.text.lower() in shown:
            continue
        if token.broad or token.kind == "word":
            yield "broad left"
        elif not behind_with:
            yield "pose left"


def words_left(tokens: Sequence[Token], used: set[float], *, as_above: bool) -> Iterator[str]:
    """Give words that nothing knows, by where they stand; and words that speak of other lines or of a whole."""
    yield from _beside_sizes(tokens)
    for piece in _pieces(tokens):
        named = next((at for at, token in enumerate(piece) if token.kind == "pose" or token.match), None)
        sized = any(map(is_size, piece))
        for at, token in enumerate(piece):
            counted = at + 1 < len(piece) and piece[at + 1].kind == "times"  # "repeat x 2"
            same_as_above = token.says("again.same") and as_above
            if token.says("again.same", "again.repeat", "how.variants") and not (counted or same_as_above):
                yield "again left"
            if token.says("how.until", "how.half", "how.open"):
                yield "until left"
            if token.kind != "unknown" or not any(map(str.isalpha, token.text)):
                continue
            if any(map(str.isdecimal, token.text)):
                if not ORDINAL.fullmatch(token.text) and not any(has(used, number) for number in _numbers_in(token)):
                    yield "strange digits"
            elif named is None:
                yield "strange sized" if sized else "strange aside"
            elif at < named:
                narrows = at == named - 1 and _may_narrow(token, piece[named])
                yield "strange name" if narrows else "strange before"
            elif not (at and is_size(piece[at - 1])):
                yield "strange behind"


def _may_narrow(word: Token, name: Token) -> bool:
    """Whether a word before a name may make another pose of it: "moonlit lunge", "frobnicate the moon"."""
    idle = IDLE_IN_NAMES.issuperset(words(word.text))
    return not idle and name.match is not None and is_loose(key(name.text), name.match)


def _numbers_in(token: Token) -> list[float]:
    return [float(number) for number in re.findall(r"\d{1,5}", token.text)]


def is_as_above(line: Typed, flat: Sequence[Element], *, both: bool) -> bool:
    """Say whether a line without a size of its own took one: "triangle, same"."""
    sized = any(part.length is not None or part.times for part in flat)
    if sized and not any(map(is_size, line.said)) and both:
        return True
    return sized and not any(map(is_size, line.said)) and any(part.each_side or part.side for part in flat)


def _beside_sizes(tokens: Sequence[Token]) -> Iterator[str]:
    """An unknown word right behind a number or a length may be its unit or a side."""
    for size, word in itertools.pairwise(tokens):
        if is_size(size) and word.kind == "unknown" and word.start - size.end <= 1:
            yield "strange unit" if size.kind == "number" else "strange tail"


def _pieces(tokens: Sequence[Token]) -> Iterator[list[Token]]:
    piece: list[Token] = []
    for token in tokens:
        if token.kind == "mark" and token.text in ",;→—:+&/|.":
            yield piece
            piece = []
        else:
            piece.append(token)
    yield piece


def weak_names(tokens: Sequence[Token], flat: Sequence[Element]) -> Iterator[str]:
    """Give a sign for each name that was trusted though it has a slip or is a word of every day."""
    taken = {part.pose_id for part in flat}
    for token in tokens:
        match = token.match
        if match is None or match.pose is None or match.pose.id not in taken:
            continue
        if token.broad:
            yield "broad name"
        if token.mended:
            yield "mended name"
    yield from ("gap" for part in flat if part.what == "gap")
