"""Lines that stand before the class or behind it: props and plans below the title, errands behind the closing rest.

A teacher puts what is only to be remembered right below the title, apart from the class by a blank line, and at the
end. Neither place makes a note of a line that tells a time or how often something is done.
"""

import itertools
from collections.abc import Sequence

from pairing.plan.line.chunks import is_size
from pairing.plan.line.sides import sides_joined
from pairing.plan.lines import Line
from pairing.plan.note.state import Reading
from pairing.plan.tokens import Token

MOST_BEFORE = 4  # lines below a title, apart from the class; editorial
MOST_LINES = 60  # of a block that are looked at
LEAST_OF_CLASS = 2  # times as many stand below these; editorial
LEAST_SLOT_S = 1200.0  # of a class; editorial
MOST_NAMED = 0.6  # of the letters of such a line are names of poses; editorial
LEAST_STRANGE = 0.6  # of the letters of a line behind the rest are of words that nothing knows; editorial
LEAST_LINES, MOST_BEHIND = 6, 3  # lines of a class above the last ones of a note; editorial
LEAST_WORDS = 4  # of such a line; editorial
_ACTS = ("once.say", "once.silence", "once.pause", "moves.counted")
_DASHES = ("-", "—", ":")
_COUNTED = ("counts", "pulses", "pair", "chain")


def stands_before(reading: Reading, line: Line) -> bool:
    """Whether a line below the title, with a blank line between it and the class, does nothing of the class."""
    if reading.has_signs or reading.title is None or reading.items or line.number in reading.front:
        return False
    top = itertools.islice(reading.lines, MOST_BEFORE + 2)
    block = list(itertools.takewhile(lambda each: each is reading.lines[0] or not each.first, top))
    small = 1 < len(block) <= 1 + MOST_BEFORE and len(block) * (1 + LEAST_OF_CLASS) <= len(reading.lines)
    tokens = reading.tokens_of(line)
    here = small and reading.places[line.number] < len(block)
    found = here and (not _is_done(tokens, line) or _tells_slot(reading, tokens))
    reading.levels_both = reading.levels_both or (found and _speaks_of_levels(tokens))
    return found


def _tells_slot(reading: Reading, tokens: Sequence[Token]) -> bool:
    """ "60 min, 20 people at most", "Date: 12 May  Length: 60 min", below a title: how long the class is."""
    timed = [token for token in tokens if token.kind == "length" and token.unit == "seconds"]
    lengths = [token for token in timed if ":" not in token.text and token.low >= LEAST_SLOT_S]
    labels = sum(token.text == ":" for token in tokens) > 1
    alone = reading.top.slot_s is None and len(lengths) == 1 and (labels or tokens[0] is lengths[0])
    if not alone or any(token.kind == "pose" for token in tokens):
        return False
    reading.top.slot_s, reading.slot_by_title = lengths[0].low, True
    return True


def _speaks_of_levels(tokens: Sequence[Token]) -> bool:
    """ "Add-on flow, every rung R+L": how each level is done."""
    return any(token.says("how.level") for token in tokens) and any(
        token.says("sides.each") for token in sides_joined(tokens)
    )


def ends_note(reading: Reading, line: Line) -> bool:
    """Whether the last lines of a note, of which this is one, have hardly a known word: "send pdf to HR fri"."""
    at = reading.places[line.number]
    if reading.has_signs or len(reading.items) < LEAST_LINES or len(reading.lines) - at > MOST_BEHIND:
        return False
    return all(_is_strange(reading, each) for each in reading.lines[at:] if each.form != "remark")


def _is_strange(reading: Reading, line: Line) -> bool:
    tokens = reading.tokens_of(line)
    words = len(line.text.split()) >= LEAST_WORDS and line.number not in reading.front
    named = any(token.kind == "pose" or token.says(*_ACTS) for token in tokens)
    named = named or _closes(tokens)
    return words and not named and not _is_done(tokens, line) and _share(tokens, "unknown") >= LEAST_STRANGE


def stands_behind(reading: Reading, line: Line) -> bool:
    """Whether a line behind the closing rest is none of the class: it stands apart, or has hardly a known word."""
    if (
        reading.has_signs
        or not (reading.rested or reading.ended or _has_closed(reading))
        or line.number in reading.front
        or line.number in reading.rows
    ):
        return False
    tokens = reading.tokens_of(line)
    if _is_done(tokens, line) or (_closes(tokens) and not reading.ended):
        return False
    block = _block_of(reading, line)
    apart = block[0].first and not any(item.line in block for item in reading.items[-len(block) :])
    last = block[-1] is reading.lines[-1]
    strange = _share(tokens, "unknown") >= LEAST_STRANGE and len(line.text.split()) >= LEAST_WORDS
    return (apart and last) or (strange and not any(token.kind == "pose" for token in tokens))


def _has_closed(reading: Reading) -> bool:
    """Whether the last thing done was to close: "up slow, 3 breaths, close"."""
    last = reading.items[-1].line if reading.items else None
    return last is not None and any(token.says("kinds.closing", "once.greet") for token in reading.tokens_of(last))


def _block_of(reading: Reading, line: Line) -> list[Line]:
    """The lines between two blank ones that a line stands among."""
    here = at = reading.places[line.number]
    while at > 0 and not reading.lines[at].first and here - at < MOST_LINES:
        at -= 1
    lines = itertools.islice(reading.lines, at + 1, at + 1 + MOST_LINES)
    behind = itertools.takewhile(lambda each: not each.first, lines)
    return [reading.lines[at], *behind]


def _is_done(tokens: Sequence[Token], line: Line) -> bool:
    """Whether a line tells a time, or how often something is done; or is nothing but names of poses."""
    plain = [token for token in tokens if token.kind != "mark"]
    of_music = any(token.says("music") for token in plain)
    timed = any(token.kind in _COUNTED or (token.kind == "length" and not of_music) for token in plain)
    beside = itertools.pairwise(token for token in tokens if token.text not in _DASHES)
    counted = any(_is_counted(one, other) or _is_counted(other, one) for one, other in beside)
    begins = bool(plain) and plain[0].says("kinds") and not plain[0].says("kinds.peak") and any(map(is_size, plain))
    return timed or counted or begins or line.form == "item" or _share(tokens, "pose") > MOST_NAMED


def _is_counted(size: Token, name: Token) -> bool:
    return is_size(size) and (name.kind == "pose" or name.says(*_ACTS))


def _closes(tokens: Sequence[Token]) -> bool:
    return any(token.says("kinds.closing", "once.greet", "once.bell", "once.silence", "once.say") for token in tokens)


def _share(tokens: Sequence[Token], kind: str) -> float:
    """How much of the letters of a line is in tokens of a kind."""
    letters = [(token.kind, sum(map(str.isalpha, token.text))) for token in tokens]
    return sum(count for found, count in letters if found == kind) / max(1, sum(count for _, count in letters))
