"""Counts of one breath or one repetition: "in 4 out 6", "20 in 20 hold 20 out", "down 3 up 1 x8"."""

from collections.abc import Sequence

from pairing.plan.tokens import Token

LONGEST = 60.0  # counts of one of its parts; editorial
_BETWEEN = "/,:-—+"


def with_tempo(tokens: Sequence[Token]) -> list[Token]:
    """Make one token of the counts of a breath or repetition: a chain where it is counted how often, else a word."""
    counted = any(token.kind == "times" for token in tokens)
    out: list[Token] = []
    at = 0
    while at < len(tokens):
        values, end = _tempo_at(tokens, at)
        if not values or not (counted or tokens[at].says("tempo") or tokens[end - 1].says("tempo")):
            out.append(tokens[at])
            at += 1
            continue
        text = " ".join(token.text for token in tokens[at:end])
        start, stop = tokens[at].start, tokens[end - 1].end
        if counted:
            out.append(Token("chain", text, start, stop, values=values))
        else:
            out.append(Token("word", text, start, stop, frozenset({"tempo.told"})))
        at = end
    return out


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
