"""How much: lengths, counts, numbers and sides as typed on a line, not yet weighed."""

from dataclasses import dataclass, field, replace
from typing import Literal

from pairing.constants import USUAL_BREATH_S
from pairing.model import Length
from pairing.plan.tokens import Token
from pairing.plan.words import LONGEST_S, MOST_TIMES

ADJACENT = 3  # letters at most between "10s, 20s" of one ladder


@dataclass(slots=True)
class Amount:
    """How much: lengths and counts as typed, not yet weighed."""

    lengths: list[Length] = field(default_factory=list)
    times: list[tuple[float, float]] = field(default_factory=list)
    numbers: list[tuple[float, float]] = field(default_factory=list)
    counts: float = 0.0
    chain: tuple[float, ...] = ()
    tempo: bool = False  # the chain tells the seconds of one repetition, no ladder
    pair: tuple[float, ...] = ()
    pair_unit: str = ""
    side: Literal["right", "left", "each"] | None = None
    each: bool = False
    ways: int = 1  # "each direction"
    way: bool = False  # "each way": both sides, or both directions of the one side that is told too
    slow: bool = False
    quick: bool = False
    no_hold: bool = False
    optional: bool = False
    supported: bool = False
    alternating: bool = False
    half: bool = False
    open: bool = False
    rounds: bool = False  # the count was given as rounds or sets
    on_off: bool = False  # the pair is work and rest
    ea: bool = field(default=False, compare=False)  # "ea": each side, or each of several poses
    odd: bool = False  # it says two things that don't go together
    length_end: int = 0  # where the last length ends in the line

    def has_size(self) -> bool:
        """Say whether anything tells a length or a count."""
        return bool(self.lengths or self.times or self.numbers or self.counts or self.chain or self.pair or self.half)

    def has_any(self) -> bool:
        """Say whether anything was said at all."""
        return self != Amount()


def add(amount: Amount, token: Token) -> None:
    """Note what an attribute says."""
    if token.kind == "length":
        sane = token.low > 0.0 and token.high <= (LONGEST_S if token.unit == "seconds" else LONGEST_S / USUAL_BREATH_S)
        amount.odd = amount.odd or not sane or any(length.unit != token.length.unit for length in amount.lengths)
        apart = bool(amount.lengths) and token.start - amount.length_end > ADJACENT and amount.side is None
        amount.odd = amount.odd or apart
        amount.length_end = token.end
        amount.lengths += [token.length] if sane else []
    elif token.kind == "times":
        amount.odd = amount.odd or token.high > MOST_TIMES or token.low < 1 or _twice_plain(amount, token)
        if token.high > MOST_TIMES or token.low < 1:
            return
        amount.times.append((token.low, token.high))
        amount.rounds = amount.rounds or token.says("units.rounds")
    elif token.kind in ("counts", "pulses"):
        amount.counts += (token.low + token.high) / 2
    elif token.kind == "number" and token.low > 0.0:
        amount.numbers.append((token.low, token.high))
    elif token.kind == "chain":
        amount.chain, amount.tempo = token.values, token.says("tempo")
    elif token.kind == "pair":
        amount.pair, amount.pair_unit, amount.on_off = token.values, token.unit, token.text == "on/off"
    elif token.says("sides.direction"):
        if not token.says("sides.each") or amount.side:
            amount.ways = 2
        else:
            amount.side, amount.way = "each", True
    elif amount.way and token.says("sides.each", "sides.right", "sides.left"):
        amount.ways, amount.way = 2, False
        amount.side = "right" if token.says("sides.right") else "left" if token.says("sides.left") else "each"
    elif token.says("sides.each"):
        amount.odd = amount.odd or amount.side in ("right", "left")
        amount.ea = token.says("join.each")
        amount.side = "each"
    elif token.says("sides.right", "sides.left"):
        amount.odd = amount.odd or amount.side == "each"
        amount.side = "right" if token.says("sides.right") else "left"
    elif token.says("how.variants"):
        if amount.numbers:
            amount.times.append(amount.numbers.pop())
    else:
        for name in ("slow", "quick", "no_hold", "optional", "supported", "alternating", "half", "open"):
            if token.says(f"how.{name}"):
                setattr(amount, name, True)
        if token.says("how.twice"):
            amount.times.append((2.0, 2.0))


def _twice_plain(amount: Amount, token: Token) -> bool:
    """ "x3 x2": two counts, none of them sets or rounds."""
    return bool(amount.times) and not (amount.rounds or token.says("units.rounds")) and not amount.lengths


def merge(into: Amount, more: Amount) -> None:
    """Add what more was said to an amount."""
    if into.way and more.side:
        into.ways, into.way, into.side = 2, False, more.side
    elif more.way and into.side:
        more = replace(more, ways=2, way=False, side=None)
    into.odd = into.odd or ("each" in (into.side, more.side) and bool({into.side, more.side} & {"right", "left"}))
    into.odd = into.odd or len({length.unit for length in (*into.lengths, *more.lengths)}) > 1
    into.lengths += more.lengths
    into.times += more.times
    into.numbers += more.numbers
    into.counts += more.counts
    into.chain, into.tempo = into.chain or more.chain, into.tempo or more.tempo
    into.pair, into.pair_unit = (into.pair, into.pair_unit) if into.pair else (more.pair, more.pair_unit)
    into.side, into.way = into.side or more.side, into.way or more.way
    into.ways = max(into.ways, more.ways)
    for name in (
        "each",
        "slow",
        "quick",
        "no_hold",
        "optional",
        "supported",
        "alternating",
        "half",
        "open",
        "rounds",
        "on_off",
        "odd",
    ):
        setattr(into, name, getattr(into, name) or getattr(more, name))


def with_shared(own: Amount, shared: Amount) -> Amount:
    """Give an amount with what its line says for all its moves."""
    if not shared.has_any():
        return own
    both = replace(own, lengths=list(own.lengths), numbers=list(own.numbers), times=list(own.times))
    more = replace(shared, times=[]) if own.has_size() or shared.times else shared
    if own.has_size():
        more = replace(more, lengths=[], numbers=[], counts=0.0)
    merge(both, more)
    return both


def middle(ends: tuple[float, float]) -> float:
    """Give the middle of a range."""
    return (ends[0] + ends[1]) / 2


def exactly(unit: Literal["breaths", "seconds"], count: float) -> Length:
    """Give a length without a range."""
    count = round(count, 3)
    return Length(unit, count, count, count)
