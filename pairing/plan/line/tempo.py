"""Counts of one breath or one repetition: "in 4 out 6", "20 in 20 hold 20 out", "down 3 up 1 x8"."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from pairing.plan.tokens import Token

LONGEST = 60.0  # counts of one of its parts; editorial
_BETWEEN = "/,:-—+"


def with_tempo(tokens: Sequence[Token]) -> list[Token]:
    """Make one token of the counts of a breath or repetition: a chain where it is counted how often, else a word."""
    if not any(map(_is_word, tokens)):
        return list(tokens)
    tokens = list(_counts_apart(tokens))
    counted = any(token.kind == "times" for token in tokens)
    breathes = any(map(_tells_of_breath, tokens))
    out: list[Token] = []
    at = 0
    while at < len(tokens):
        values, end = _tempo_at(tokens, at)
        breath = breathes and (tokens[at].says("tempo") or tokens[end - 1].says("tempo"))
        if not values or not (counted or breath):  # "circles 8 in 8 out" counts circles
            out.append(tokens[at])
            at += 1
            continue
        text = " ".join(token.text for token in tokens[at:end])
        start, stop = tokens[at].start, tokens[end - 1].end
        if counted:
            breaths = {"tempo.breath"} if any(token.says("tempo.in") for token in tokens[at:end]) else set()
            out.append(Token("chain", text, start, stop, frozenset({"tempo.told"} | breaths), values=values))
        else:
            out.append(Token("word", text, start, stop, frozenset({"tempo.told"})))
        at = end
    return out


def _tells_of_breath(token: Token) -> bool:
    pose = token.match.pose if token.match else None
    breath = pose is not None and ("breath" in pose.id or pose.family == "rest")
    return breath or token.kind in ("length", "counts") or token.says("kinds.breathing", "kinds.rest")


def _counts_apart(tokens: Sequence[Token]) -> Iterator[Token]:
    """ "Up 1 x8": the number in front of the count belongs to the word before it."""
    for at, token in enumerate(tokens):
        before, behind = tokens[at - 1] if at else None, tokens[at + 1] if at + 1 < len(tokens) else None
        sets = (
            token.kind == "times"
            and behind is not None
            and behind.kind == "number"
            and token.text.rstrip()[-1:] in "x×*"
        )
        if (
            sets
            and before is not None
            and behind is not None
            and _is_word(before)
            and at > 1
            and _is_count(tokens[at - 2])
        ):
            yield replace(token, kind="number", text=token.text.rstrip("x×* "))
        elif at and tokens[at - 1].kind == "times" and token.kind == "number" and at > 1 and _is_word(tokens[at - 2]):
            yield replace(token, kind="times") if at > 2 and _is_count(tokens[at - 3]) else token
        else:
            yield token


def _tempo_at(tokens: Sequence[Token], at: int) -> tuple[tuple[float, ...], int]:
    """The counts that begin here, each beside its word, and where they end; () for none."""
    for word_first in (True, False):
        values: list[float] = []
        words: set[str] = set()
        index, end = at, at
        while True:
            index = _past_marks(tokens, index) if values else index
            pair = [token for token in tokens[index : index + 3] if not _is_small(token)][:2]
            word, count = (
                pair if word_first and len(pair) == 2 else (pair[1], pair[0]) if len(pair) == 2 else (None, None)
            )
            if word is None or count is None or not (_is_word(word) and _is_count(count)):
                break
            values.append(count.high)
            words.add(word.text.lower())
            index = end = max(tokens.index(word), tokens.index(count)) + 1
        if len(words) > 1:
            return tuple(values), end
    return (), at


def _past_marks(tokens: Sequence[Token], at: int) -> int:
    while at < len(tokens) and tokens[at].kind == "mark" and tokens[at].text in _BETWEEN:
        at += 1
    return at


def _is_small(token: Token) -> bool:
    return token.says("join.with", "join.of") and not token.says("tempo")


def _is_word(token: Token) -> bool:
    return token.says("tempo", "moves.counted", "how.hold")


def _is_count(token: Token) -> bool:
    return token.kind in ("number", "counts") and 0 < token.high <= LONGEST
