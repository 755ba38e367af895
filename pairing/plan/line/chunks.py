"""The tokens of a line -> its chunks: what stands between commas, arrows, brackets, "then" and "or"."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field, fields, replace

from pairing.model import Wishes
from pairing.plan.line.moves import Line
from pairing.plan.line.sides import sides_joined
from pairing.plan.tokens import Token

_SEPARATORS = {",", ";", "→", "—", ":", "+", "&", "/", "|", "."}
MOST_AT_END = 8  # tokens of a rest at the end of a line, its signs among them
MANY_SLASHES = 3  # on a line part what comes one after the other; fewer stand between alternatives; editorial
_SIZES = ("length", "times", "counts", "pulses", "number", "pair", "chain")


@dataclass(slots=True)
class Chunk:
    """Tokens between two separators."""

    before: str
    tokens: list[Token] = field(default_factory=list)
    bracket: bool = False


def chunks_of(tokens: Sequence[Token], line: Line) -> list[Chunk]:
    """Part the tokens of a line."""
    chunks = [Chunk("")]
    for at, token in enumerate(tokens):
        if _begins_rest(tokens, at, chunks[-1]):
            chunks.append(Chunk(","))
            if _is_with(token):
                continue
        if token.kind == "aside":
            _aside(token, chunks, line)
        elif token.kind == "mark":
            behind_w = token.text == "/" and chunks[-1].tokens and chunks[-1].tokens[-1].end == token.start
            if behind_w and chunks[-1].tokens[-1].text.lower() == "w":
                continue  # "w/ straps"
            if token.text == "+" and chunks[-1].before == ":" and not chunks[-1].tokens:
                continue  # "2: + warrior three"
            if token.text in _SEPARATORS and not _adds_up(tokens, at):
                chunks.append(Chunk(token.text))
        elif token.text.lower() == "to" and any(
            other.says("sides.right", "sides.left") for other in tokens[at + 1 : at + 2]
        ):
            continue  # "twist to R"
        elif token.says("join.then") and not token.match:
            chunks.append(Chunk("→" if token.text.lower() != "to" else "to"))
        elif token.says("join.or") and not (token.says("how.option") and not chunks[-1].tokens):
            chunks.append(Chunk("or"))
        elif token.says("join.and") and not token.says("join.with"):
            chunks.append(Chunk("&"))
        else:
            chunks[-1].tokens.append(token)
            behind = tokens[at + 1].text[:1] if at + 1 < len(tokens) else ""
            if token.kind == "length" and token.text.endswith(".") and behind.isupper():
                chunks.append(Chunk("."))  # "boat 20 sec. L same"
    filled = [chunk for at, chunk in enumerate(chunks) if chunk.tokens and not (at and _is_silence(chunk, line))]
    if sum(chunk.before == "/" for chunk in filled) >= MANY_SLASHES:
        return [replace(chunk, before=",") if chunk.before == "/" else chunk for chunk in filled]
    return filled


def _adds_up(tokens: Sequence[Token], at: int) -> bool:
    """ "3+3 half butterfly": the plus between two bare numbers in front of a name."""
    around = tokens[max(0, at - 1) : at + 2]
    return at == 1 and len(around) > 2 and tokens[at].text == "+" and around[0].kind == around[2].kind == "number"


def _begins_rest(tokens: Sequence[Token], at: int, chunk: Chunk) -> bool:
    """ "Plank 30 s x3 rest 15 s", "boat x3 w/ 10 s rest": a rest and its length behind sets, at the end."""
    if len(tokens) - at > MOST_AT_END:
        return False
    behind = [token for token in tokens[at:] if token.kind != "mark" and not _is_with(token)]
    sets = any(token.kind == "times" for token in chunk.tokens) and len(behind) == 2
    first = is_rest(tokens[at]) or tokens[at].kind == "length" or _is_with(tokens[at])
    return sets and first and any(map(is_rest, behind)) and any(token.kind == "length" for token in behind)


def _is_with(token: Token) -> bool:
    return token.says("join.with", "join.and") and not is_rest(token)


def _aside(token: Token, chunks: list[Chunk], line: Line) -> None:
    """A bracket that says nothing but how long, how often, on which side counts; any other is a note."""
    inner = [part for part in sides_joined(token.inner) if part.kind != "mark"]
    if any(part.says("join.between") for part in inner):
        chunks.append(Chunk("(", list(inner), bracket=True))
        chunks.append(Chunk("("))
        return
    if any(part.text == "=" for part in token.inner):
        _means(token, inner, chunks, line)
        return
    if _rests(inner):
        chunks.append(Chunk("(", list(inner), bracket=True))
        chunks.append(Chunk("("))
        return
    if inner and all(part.says("kinds.peak") for part in inner):
        line.peak = True
        return
    if inner and all(part.says("music") for part in inner) and " " in token.text:
        for part in inner:
            line.wishes = wished(line.wishes, part)
    line.wishes = _silent_at_the_end(line.wishes, inner)
    if _parts_count(inner, chunks):
        line.notes.append(token.text)
        return
    if any(part.says("kinds.peak") for part in inner):
        line.peak = True
        inner = [part for part in inner if not part.says("kinds.peak")]
    if (
        inner
        and all(map(is_attribute, inner))
        and any(is_size(part) or part.says("sides") or part.says("how") for part in inner)
    ):
        chunks.append(Chunk("(", list(inner), bracket=True))
        chunks.append(Chunk(")"))
    elif _is_about(inner) and not any(is_size(part) for chunk in chunks for part in chunk.tokens):
        chunks.append(Chunk("(", [part for part in inner if is_size(part)], bracket=True))
        chunks.append(Chunk(")"))
    elif inner and is_size(inner[0]) and not any(is_size(part) for chunk in chunks for part in chunk.tokens):
        sizes = list(itertools.takewhile(is_attribute, inner))
        chunks.append(Chunk("(", sizes, bracket=True))
        chunks.append(Chunk(")"))
        line.notes.append(" ".join(part.text for part in inner[len(sizes) :]))
    elif token.text:
        line.notes.append(token.text)


def _means(token: Token, inner: Sequence[Token], chunks: list[Chunk], line: Line) -> None:
    """ "(R + L = 1)": a round is of both sides; what else a bracket explains is a note."""
    sides = [part for part in inner if part.says("sides.each", "sides.right", "sides.left")]
    both = any(part.says("sides.each") for part in sides) or len(sides) > 1
    one = [part.high for part in inner if is_size(part)] == [1.0]
    if both and one:
        word = Token("word", "each side", token.start, token.end, frozenset({"sides.each"}))
        chunks.append(Chunk("(", [word], bracket=True))
        chunks.append(Chunk(")"))
    else:
        line.notes.append(token.text)


def _is_silence(chunk: Chunk, line: Line) -> bool:
    """ "Savasana 8, last 2 without music": a wish for the music, and no silence after it."""
    before = line.wishes
    line.wishes = _silent_at_the_end(before, chunk.tokens)
    return line.wishes != before


def _silent_at_the_end(wishes: Wishes, tokens: Sequence[Token]) -> Wishes:
    """ "Savasana 8 (last 2 min silence, bell)": a wish for the music, however else the line is read."""
    lengths = [_minutes_s(part) for part in tokens if part.kind == "number" or _is_time(part)]
    return replace(wishes, silent_last_s=lengths[0]) if ends_in_silence(tokens) and len(lengths) == 1 else wishes


def ends_in_silence(tokens: Sequence[Token]) -> bool:
    """Say whether words ask for silence at the end of something: "last 2 without music"."""
    return any(map(_is_last, tokens)) and any(token.says("once.silence", "music.off") for token in tokens)


def _is_last(token: Token) -> bool:
    return token.says("how.last")


def _is_time(token: Token) -> bool:
    return token.kind == "length" and token.unit == "seconds"


def _minutes_s(token: Token) -> float:
    return token.length.likely if token.kind == "length" else 60.0 * token.high


def _parts_count(inner: Sequence[Token], chunks: Sequence[Chunk]) -> bool:
    """ "x4 (2 slow, 2 on the breath)": numbers in a bracket that add up to the count before it."""
    counted = [token.high for chunk in chunks for token in chunk.tokens if token.kind in ("times", "number")]
    numbers = [part.high for part in inner if part.kind in ("times", "number")]
    return len(numbers) > 1 and sum(numbers) in counted


def _is_about(inner: Sequence[Token]) -> bool:
    """ "(max 2 min)", "(about 5 breaths)": a length behind one word."""
    return len(inner) == 2 and inner[1].kind == "length" and inner[0].kind in ("unknown", "word")


def _rests(tokens: Sequence[Token]) -> bool:
    """ "Rest 30 s", "10 Sek Pause": a rest and its length, and no more."""
    lengths = sum(token.kind == "length" for token in tokens)
    return lengths == 1 and len(tokens) > 1 and all(token.kind == "length" or is_rest(token) for token in tokens)


def is_rest(token: Token) -> bool:
    """Say whether a word is one for a rest between sets."""
    return token.says("once.rest", "once.pause", "intervals.rest")


def attributes_in(tokens: Sequence[Token]) -> list[Token]:
    """Give what stands in brackets that say nothing but how long, how often, on which side."""
    inner = [[part for part in token.inner if part.kind != "mark"] for token in tokens if token.kind == "aside"]
    return [
        part
        for parts in inner
        if all(is_attribute(part) or part.says("kinds.peak") for part in parts)
        for part in parts
    ]


def is_size(token: Token) -> bool:
    """Say whether a token is a length, a count or a number."""
    return token.kind in _SIZES


def is_attribute(token: Token) -> bool:
    """Say whether a token tells how much, how often, on which side or how."""
    return is_size(token) or (
        token.kind == "word"
        and token.says("sides", "how", "join", "units", "again")
        and not token.says("how.last", "how.first")
    )


def with_intervals(tokens: Sequence[Token]) -> list[Token]:
    """Make one token of "30 s on, 10 s off"."""
    out: list[Token] = []
    for token in tokens:
        out.append(token)
        plain = [other for other in out[-6:] if other.kind != "mark"][-4:]
        if len(plain) == 4 and _is_interval(plain):
            at = out.index(plain[0])
            values = (plain[0].low, plain[2].low)
            out[at:] = [Token("pair", "on/off", plain[0].start, token.end, values=values, unit="seconds")]
    return out


def _is_interval(tokens: Sequence[Token]) -> bool:
    work, on, rest, off = tokens
    sized = all(size.kind in ("length", "number") and size.unit != "breaths" for size in (work, rest))
    return sized and on.says("intervals.work") and off.says("intervals.rest")


_WISHED: tuple[tuple[str, Wishes], ...] = (
    ("music.off", Wishes(no_music=True)),
    ("music.no_voice", Wishes(no_voice=True)),
    ("music.clear", Wishes(clear_talk=True)),
    ("music.same", Wishes(same_music=True)),
    ("music.rises", Wishes(rises_into=True)),
    ("music.breaks", Wishes(breaks_at=True)),
    ("music.louder", Wishes(level="driving")),
    ("music.quieter", Wishes(level="quiet")),
    ("music.steady", Wishes(level="steady")),
)


def wished(wishes: Wishes, token: Token) -> Wishes:
    """Add what a word asks of the music."""
    for role, asked in _WISHED:
        if token.says(role):
            changed = {each.name: getattr(asked, each.name) for each in fields(asked)}
            return replace(wishes, **{name: value for name, value in changed.items() if value})
    return wishes
