"""Lines that head what is set in below them, by nothing but their place: "standing" above three poses further in."""

import itertools
from collections.abc import Sequence

from pairing.model import Length
from pairing.plan.fronts import Front
from pairing.plan.kinds import kind_named
from pairing.plan.line.chunks import is_size
from pairing.plan.line.sides import sides_joined
from pairing.plan.lines import Line
from pairing.plan.loose import MOST_TOLD, SHORTEST_BLOCK_S, Loose, are_details, is_each_time, numbered
from pairing.plan.note.outside import has_label
from pairing.plan.note.parting import tells_s
from pairing.plan.note.partly import seconds
from pairing.plan.note.state import LONG_STYLES, Reading
from pairing.plan.tokens import Token
from pairing.plan.words import scaled

MOST_TELLING = 0.7  # of the lines set in below a heading tell sizes of their own; editorial
ABOUT = 0.25  # of the minutes of a heading, what its lines tell may differ; editorial
LEAST_STAY = 10  # minutes, as a bare number above steps; editorial
MOST_ROUNDS = 20  # of lines set in; editorial
LONGEST_HOLD_S = 120.0  # of each pose below a heading; editorial


def nested_heading(reading: Reading, line: Line, at: int, front: Front | None) -> Loose | None:
    """Read a line above others that are set in as their heading; None where it is done itself."""
    inner = _set_in(reading, at)
    if reading.has_signs or not inner or line.number in reading.rows:
        return None
    tokens = numbered(sides_joined(reading.tokens_of(line)))
    hold = hold_of(tokens)
    minutes = None if hold else _minutes_of(tokens, front) or _long_stay(reading, tokens, inner)
    rounds = _rounds_of(tokens)
    if minutes is None and hold is None and rounds == 1 and any(map(is_size, tokens)):
        return None
    done = [each for each in inner if not has_label(reading, each) and _is_done(reading.tokens_of(each))]
    poses = [token for token in tokens if token.kind == "pose" and not token.says("kinds") and not token.broad]
    sided = any(token.says("sides") for token in tokens)
    told_only = minutes is not None and not poses and not any(any(map(is_size, reading.tokens_of(e))) for e in inner)
    if not told_only and (len(done) < 1 + bool(poses and not (minutes or sided)) or 2 * len(done) < len(inner)):
        return None
    heads = line.text.rstrip().endswith(":") or any(token.says("kinds") for token in tokens)
    long = minutes is not None and minutes == _long_stay(reading, tokens, inner)  # "nidra - 30" above its steps
    if poses and minutes is not None and front is None and not (heads or long):
        return None  # "butterfly 5'" above "rebound 1'": one after the other
    told, told_s = minutes, sum(tells_s(reading, each) for each in inner)
    if front is not None and _fills(rounds * told_s, minutes):
        told_s *= rounds  # "22-28 core, 3 rounds" above lines of two minutes
    if minutes is not None and told_s > MOST_TOLD * minutes.likely:
        return None  # "build the nest 3'" above "in it 12'"
    sized = [any(map(is_size, reading.tokens_of(each))) for each in inner]
    tell = front is None and len(inner) > 1 and sum(sized) >= MOST_TELLING * len(inner)
    if minutes is not None and (tell or not are_details(told_s, minutes)):
        minutes = None  # lines that tell their own sizes keep them
    flat = [part for token in reading.tokens_of(line) for part in (token, *token.inner)]
    both = any(token.says("sides.each") for token in sides_joined(flat))
    both = both or all(any(token.says(f"sides.{side}") for token in flat) for side in ("right", "left"))
    if minutes is not None and is_each_time(flat):
        minutes = scaled(minutes, 2.0)  # "side series 5 min each side"
    each_side = both and is_each_time(flat)  # "hold 1 min each side"
    right, left = (any(token.says(f"sides.{side}") for token in flat) for side in ("right", "left"))
    name = _name(tokens)
    return Loose(
        name=name or "Part",
        kind=kind_named(name),
        side=None if both or right == left else "right" if right else "left",
        both=both and not (hold and each_side),
        each_side=bool(hold and each_side),
        rounds=1 if minutes is not None else rounds,
        minutes=minutes,
        told=told,
        hold=hold,
        block=minutes is not None,
        indented=True,
        notes=tuple(token.text for token in tokens if token.kind == "aside"),
        says="the lines set in below it",
    )


def _name(tokens: Sequence[Token]) -> str:
    """The words of a heading up to its first sign, without sides and how it is done."""
    head = list(itertools.takewhile(lambda token: token.text not in (",", "—", ":"), tokens)) or list(tokens)
    kept = [token for token in head if not is_size(token) and token.kind not in ("mark", "aside")]
    plain = [token for token in kept if not token.says("sides", "how")]
    return " ".join(token.text for token in plain or kept)


def _fills(told_s: float, minutes: Length | None) -> bool:
    """Whether lines tell about the minutes of their heading."""
    return minutes is not None and abs(told_s - minutes.likely) <= ABOUT * minutes.likely


def _set_in(reading: Reading, at: int) -> list[Line]:
    """The lines below this one that stand further in, and have no time of their own in front."""
    inner: list[Line] = []
    for line in reading.lines[at + 1 :]:
        if line.form not in ("text", "item") or line.level <= reading.lines[at].level or line.number in reading.front:
            break
        inner.append(line)
    return inner


def _minutes_of(tokens: Sequence[Token], front: Front | None) -> Length | None:
    """Minutes that stand in front of the line, or are all that it says of a size."""
    if front is not None and front.length_s and all(token.kind == "times" for token in tokens if is_size(token)):
        return seconds(front.length_s)
    flat = [part for token in tokens for part in (token.inner if token.kind == "aside" else (token,))]
    sizes = [token for token in flat if is_size(token)]
    only = sizes[0] if len(sizes) == 1 and front is None else None
    long = only is not None and only.kind == "length" and only.unit == "seconds" and only.low >= SHORTEST_BLOCK_S
    return only.length if only is not None and long else None


def _rounds_of(tokens: Sequence[Token]) -> int:
    """ "set 1 x3": how often all that is set in is done, where no pose is named."""
    flat = [part for token in tokens for part in (token.inner if token.kind == "aside" else (token,))]
    counts = [token for token in flat if token.kind == "times"]
    if not counts and any(token.says("how.twice") for token in flat) and not any(map(is_size, flat)):
        return 2  # "go round it twice"
    named = [two for one, two in itertools.pairwise(flat) if one.says("how.round", "columns.section", "kinds")]
    names = [token for token in named if token.kind == "number"]
    others = any(is_size(token) and token.kind != "times" and token not in names for token in flat)
    if len(counts) != 1 or others or any(token.kind == "pose" and not token.says("kinds") for token in flat):
        return 1
    return max(1, min(int(counts[0].low), MOST_ROUNDS))


def _long_stay(reading: Reading, tokens: Sequence[Token], inner: Sequence[Line]) -> Length | None:
    """ "Nidra - 30" above two lines and more without sizes, in a class of few, long poses."""
    sizes = [token for token in tokens if is_size(token)]
    only = sizes[0] if len(sizes) == 1 and sizes[0].kind == "number" and sizes[0].low >= LEAST_STAY else None
    plain = len(inner) > 1 and not any(any(map(is_size, reading.tokens_of(line))) for line in inner)
    return seconds(60.0 * only.low) if only is not None and plain and reading.style in LONG_STYLES else None


def hold_of(tokens: Sequence[Token]) -> Length | None:
    """ "Standing poses, 5 br each, R + L", "hold 1 min each side": what each line below takes that tells nothing."""
    sizes = [token for token in tokens if is_size(token)]
    only = sizes[0] if len(sizes) == 1 and sizes[0].kind == "length" else None
    if only is None or only.high > LONGEST_HOLD_S or any(token.kind == "pose" and not token.broad for token in tokens):
        return None
    sides = [token for token in tokens if token.says("sides")]
    each = any(token.says("join.each") and (not token.says("sides") or len(sides) > 1) for token in tokens)
    held = any(token.says("how.hold") for token in itertools.takewhile(lambda token: token is not only, tokens))
    return only.length if each or held else None


def _is_done(tokens: Sequence[Token]) -> bool:
    """Whether a line does something, and is no remark or alternative to the one above."""
    return not any(token.says("join.or", "how.option") for token in tokens[:1]) and any(
        is_size(token) or token.kind == "pose" or token.says("moves", "once") for token in tokens
    )
