"""What stands before a colon and heads the rest of its line: "Hips (10 min): ...", "tabata x 8: ..."."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from pairing.plan.line.amounts import exactly
from pairing.plan.line.chunks import Chunk, is_size
from pairing.plan.line.moves import Around, Line
from pairing.plan.tokens import Token

_EVERY = (1, 2, 3)  # minutes
LONG_LABEL_S = 120.0  # minutes before a colon hold what stands behind it, whatever it tells; editorial
LEAST_LABEL_S = 20.0  # "4s: ..." is no four seconds; editorial
TABATA_ROUNDS, TABATA_S = 8, (20.0, 10.0)  # work and rest; Tabata et al. 1996 had seven to eight such bouts
MOST_TABATAS = 4  # more of them are its rounds; editorial
LEAST_WAYS = 2  # of a pose, behind a colon
MOST_LABEL = 5  # chunks before a colon; editorial


def without_label(chunks: list[Chunk], line: Line, around: Around) -> list[Chunk]:
    """Take a label off: what stands before a colon, if poses or counts of their own stand behind it."""
    part = bool(chunks) and all(token.says("kinds") or token.kind == "number" for token in chunks[0].tokens)
    if len(chunks) > 2 and chunks[1].bracket and (chunks[2].before == ":" or (part and chunks[2].before == "—")):
        chunks = _with_minutes_in_bracket(chunks, line)  # "sun salutations (8 mins) - A x2, B x2" too
    chunks = _with_whole_label(chunks)
    if len(chunks) < 2 or chunks[1].before != ":":
        return chunks
    head, rest = chunks[0], chunks[1:]
    has_pose = any(token.kind == "pose" for token in head.tokens)
    later = any(_opens(token) for chunk in rest for token in chunk.tokens)
    filled = not any(is_size(token) for chunk in rest for token in chunk.tokens)
    long = any(token.kind == "length" and token.low >= LONG_LABEL_S for token in head.tokens)
    if (long or (later and (filled or not has_pose))) and _label_with_minutes(head.tokens, line):
        line.label = " ".join(token.text for token in head.tokens)
        return rest
    if has_pose and not any(token.kind == "pose" or token.says("moves.short") for c in rest for token in c.tokens):
        return _ways_of(head, rest, line) or chunks  # "plies: 16 slow, 16 pulses"
    if later and not any(is_size(token) and token.kind != "number" for token in head.tokens):
        line.label = " ".join(token.text for token in head.tokens)
        line.label_tokens = tuple(head.tokens)
        return rest
    if not has_pose and not any(map(is_size, head.tokens)) and not later and not _names_move(head.tokens):
        line.label = " ".join(token.text for token in head.tokens)
        line.label_tokens = tuple(head.tokens)
    return chunks


def _ways_of(head: Chunk, rest: list[Chunk], line: Line) -> list[Chunk]:
    """ "Dragon R: low 2 min, winged 2 min": ways of the pose before the colon, each with its length."""
    poses = [token for token in head.tokens if token.kind == "pose"]
    timed = all(sum(token.kind == "length" for token in chunk.tokens) == 1 for chunk in rest)
    named = all(any(token.kind == "unknown" for token in chunk.tokens) for chunk in rest)
    if len(rest) < LEAST_WAYS or len(poses) != 1 or not (timed and named) or any(map(is_size, head.tokens)):
        return []
    line.label = " ".join(token.text for token in head.tokens)
    line.label_tokens = tuple(head.tokens)
    return [replace(chunk, tokens=[poses[0], *chunk.tokens]) for chunk in rest]


def _with_whole_label(chunks: list[Chunk]) -> list[Chunk]:
    """ "Ankles and toes: ...", "stretch 7 min, lights low: ...": all that stands before the colon as one chunk."""
    colon = next((at for at, chunk in enumerate(chunks[:MOST_LABEL]) if chunk.before == ":"), 0)
    head = chunks[:colon]
    if colon and any(token.kind == "length" for token in head[0].tokens):
        head = [chunk for chunk in head if not chunk.bracket]  # "arms 5 min (2 lb): ..."
    if colon < 2 or any(chunk.bracket for chunk in head):
        return chunks
    sizes = sum(is_size(token) for chunk in head for token in chunk.tokens)
    later = any(_opens(token) for chunk in chunks[colon:] for token in chunk.tokens)
    if sizes > 1 or not later or any(chunk.before not in ("", "&", "+", ",", "/") for chunk in head):
        return chunks
    return [Chunk("", [token for chunk in head for token in chunk.tokens]), *chunks[colon:]]


def _with_minutes_in_bracket(chunks: list[Chunk], line: Line) -> list[Chunk]:
    """ "Hips (10 min): pigeon, frog": the minutes of all that stands behind."""
    inner = [token for token in chunks[1].tokens if token.kind != "mark"]
    if len(inner) != 1 or inner[0].kind != "length" or inner[0].unit != "seconds":
        return chunks
    line.minutes = inner[0].length
    return [chunks[0], *chunks[2:]]


def _label_with_minutes(tokens: Sequence[Token], line: Line) -> bool:
    """ "AMRAP 6 min: ...", "E2MOM x 5: ...", "tabata x 8: ...": how long or how often what stands behind it is done."""
    lengths = [token for token in tokens if token.kind == "length" and token.unit == "seconds"]
    counts = [token for token in tokens if token.kind in ("number", "times")]
    every = next((n for n in _EVERY for token in tokens if token.says(f"intervals.every_{n}")), 0)
    if len(lengths) == 1 and not counts and lengths[0].high >= LEAST_LABEL_S:
        line.minutes = lengths[0].length
    elif every and len(counts) == 1:
        line.minutes = exactly(
            "seconds", 60.0 * every * counts[0].high if counts[0].kind == "times" else 60.0 * counts[0].high
        )
    elif len(counts) <= 1 and any(token.says("intervals.tabata") for token in tokens):
        often = int(counts[0].high) if counts else 1
        line.sets = often if often > MOST_TABATAS else TABATA_ROUNDS * max(1, often)  # "tabata x2": sixteen
        line.work_rest = TABATA_S
    else:
        return False
    return True


def _names_move(tokens: Iterable[Token]) -> bool:
    return any(token.says("moves", "once", "units.pulses", "how.hold") or token.match for token in tokens)


def _opens(token: Token) -> bool:
    return (
        token.kind in ("pose", "pulses")
        or token.says("moves.short", "once", "units.pulses", "how.hold")
        or token.match is not None
    )
