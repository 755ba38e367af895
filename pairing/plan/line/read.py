"""The tokens of one line -> what it says."""

import itertools
from collections.abc import Sequence

from pairing.plan.line.between import is_between, read_between, rests_between_sets
from pairing.plan.line.chunker import Chunker
from pairing.plan.line.chunks import Chunk, chunks_of, is_size, with_intervals
from pairing.plan.line.labels import without_label
from pairing.plan.line.moves import Around, Line
from pairing.plan.line.sharing import settle
from pairing.plan.line.sides import sides_joined
from pairing.plan.line.tempo import with_tempo
from pairing.plan.line.turns import with_both_sides, with_ladder, with_minutes, without_turns
from pairing.plan.tokens import Token


def line_of(tokens: Sequence[Token], around: Around) -> Line:
    """Read the tokens of a line."""
    line = Line()
    line.same = any(token.says("again.same") for token in tokens)
    line.of_each = any(token.says("join.each") and not token.says("sides") for token in tokens)
    tokens = with_both_sides(with_minutes(tokens, around))
    tokens = with_ladder(without_turns(with_intervals(tokens)))
    chunks = chunks_of(sides_joined(with_tempo(tokens)), line)
    chunks = without_label(chunks, line, around)
    for index, chunk in enumerate(chunks):
        _read_chunk(chunk, line, around, later=chunks[index + 1 :])
    settle(line)
    if line.work_rest and any(move.amount.times for move in line.moves):
        line.sets = 1  # "tabata finisher: mountain climbers 20/10 x8"
    return line


def _read_chunk(chunk: Chunk, line: Line, around: Around, *, later: list[Chunk]) -> None:
    tokens = chunk.tokens
    if (
        len(tokens) == 1
        and tokens[0].says("units.rounds")
        and tokens[0].kind == "times"
        and later
        and later[0].before == ":"
    ):
        line.sets = max(1, int((tokens[0].low + tokens[0].high) / 2))
        line.moves = line.moves[:1] if not any(move.amount.has_size() for move in line.moves) else line.moves
        return
    if line.moves and (_tells_the_end(tokens, line) or _tells_some(tokens, line)):
        line.notes.append(" ".join(token.text for token in tokens))
        return
    if tokens[0].says("how.option") and line.moves:
        line.notes.append(" ".join(token.text for token in tokens))
        return
    if any(token.says("sides.other") for token in tokens) and line.moves:
        line.other_side = True
        tokens = [token for token in tokens if not token.says("sides.other", "again", "join", "sides.parts")]
        if not tokens:
            return
    if rests_between_sets(tokens, line) and not _goes_on(later):
        read_between(tokens, line, around)
        return
    if is_between(tokens) and not (chunk.before == "" and not later):
        read_between(tokens, line, around)
        return
    if (
        line.moves
        and tokens[0].says("again.same", "again.repeat", "sides")
        and any(token.says("again.same", "again.repeat") for token in tokens)
        and all(token.says("again", "sides", "join") for token in tokens)
    ):
        if _goes_once_more(tokens, line) and not later:
            line.sets = 2
        else:
            line.other_side = True
        return
    Chunker(chunk, tokens, line, around).read()


def _goes_once_more(tokens: list[Token], line: Line) -> bool:
    """ "Camel 5 br, sit on heels, again": all of the line twice, where nothing of it has two sides."""
    sided = any(move.pose is None or move.pose.sided or move.amount.side for move in line.moves)
    told = any(move.amount.has_size() for move in line.moves)
    return all(token.says("again.repeat") for token in tokens) and told and not sided and line.sets == 1


def _goes_on(later: list[Chunk]) -> bool:
    """ "8x, rest 30 s, 8x again", "45 s - rest 15 s - 45 s": once more behind the rest, which parts no sets."""
    behind = later[0].tokens if later else []
    again = any(token.says("again.repeat", "again.same") for token in behind)
    timed = any(token.kind == "length" for token in behind)
    alone = all(is_size(token) or token.says("again", "how.last") for token in behind)
    return alone and (again or timed)


def _tells_some(tokens: list[Token], line: Line) -> bool:
    """ "Sun A x4, first 2 slow", "the last one fast": how some of those that are counted before it are done."""
    counted = bool(line.moves[-1].amount.times or line.moves[-1].amount.numbers)
    some = any(token.says("how.first", "how.last") for token in tokens)
    kinds = ("pose", "length", "times", "counts")
    done = any((token.kind in kinds and token.unit != "breaths") or token.says("how.hold") for token in tokens)
    return counted and some and not done


def _tells_the_end(tokens: list[Token], line: Line) -> bool:
    """ "Fast last 30 secs": how the end of what stands before is done; not "hold the last 20 s" behind a count."""
    held = bool(line.moves[-1].amount.times) and any(token.says("how.hold") for token in tokens)
    return not held and any(
        one.says("how.last") and other.kind in ("length", "number") for one, other in itertools.pairwise(tokens)
    )
