"""What a line says -> elements and groups of a plan."""

import re
from collections.abc import Iterable
from dataclasses import replace

from pairing.model import Element, Group, Length, Place
from pairing.plan.attributes import trailing
from pairing.plan.line.amounts import Amount, exactly, middle, with_shared
from pairing.plan.line.moves import LINE_GROUP, Around, Line, Move
from pairing.plan.line.sizes import FROM_HERE_SECONDS, STRONG, sizes_of

CHANT_S, GREETING_S = 30.0, 8.0
SHORT_REST = 3  # a bare number behind a rest between exercises is minutes up to here
LEAST_STAY_S, LEAST_OF_SIDE_S = 60.0, 90.0  # "2 x" so long, with both sides told: one of each; editorial
_BRACKETS = re.compile(r"[()\[\]<>{}\s\x00]+")


def parts_of(line: Line, place: Place, around: Around) -> tuple[Element | Group, ...]:
    """Give the elements and groups that a line's moves stand for."""
    seconds = any(map(_tells_seconds, line.moves))
    if line.work_rest and around.intervals is None:
        around = replace(around, intervals=line.work_rest)
    parts: list[Element | Group] = []
    before = around.before
    for move in _stations(line, around):
        amount = with_shared(move.amount, line.shared)
        made = _parts_of_move(move, amount, place, replace(around, before=before), seconds=seconds, line=line)
        parts += made
        before = next(
            (part for part in reversed(made) if isinstance(part, Element) and part.what in ("pose", "gap")), before
        )
    sided = [part for part in parts if isinstance(part, Element) and part.each_side]
    shared_sides = line.shared.side == "each" and len(sided) > 1
    sides_open = line.between_what == "sides" and bool(line.between) and not sided
    by_clock = around.intervals is not None and not any(move.amount.has_size() for move in line.moves)
    both = not by_clock and (line.other_side or shared_sides or (sides_open and len(line.moves) > 1))
    sets = (
        line.sets
        if line.sets > 1
        else int(middle(line.shared.times[0]))
        if line.shared.times and len(line.moves) > 1
        else 1
    )
    if both:
        one_side = len({part.side for part in parts if isinstance(part, Element) and part.side}) == 1
        if one_side:  # "triangle R, repeat left"
            parts = [replace(part, side=None) if isinstance(part, Element) else part for part in parts]
        parts = [replace(part, each_side=False) if isinstance(part, Element) else part for part in parts]
    pauses = _betweens(line, place, around)
    if both and line.between_what == "sides":
        parts += [replace(pause, once="between sides") for pause in pauses]
    elif sets > 1:
        parts = [_each_set(part) for part in parts]
        parts += [replace(pause, last_round="not", every_time=True) for pause in pauses]
    if (both or sets > 1) and parts:
        return (Group(line.label or LINE_GROUP, place, tuple(parts), rounds=max(1, min(sets, 300)), both_sides=both),)
    return tuple(parts)


def _each_set(part: Element | Group) -> Element | Group:
    """ "Criss cross 30 s, rest 10 s, 3 rounds": the rest comes in each of them."""
    return replace(part, every_time=True) if isinstance(part, Element) and part.what == "pause" else part


def _tells_seconds(move: Move) -> bool:
    """Whether it is held for seconds, so that bare numbers beside it are: "plank 40, side plank 20"."""
    held = move.pose is not None and move.pose.rep_breaths is None
    bare = held and any(low >= FROM_HERE_SECONDS for low, _ in move.amount.numbers)
    return bare or any(length.unit == "seconds" for length in move.amount.lengths)


def _stations(line: Line, around: Around) -> list[Move]:
    """The moves of a line; one of several where the line is one turn of a circuit."""
    sized = [move for move in line.moves if move.amount.has_any()]
    if len(sized) == 1 < len(line.moves) and sized[0].amount.on_off:  # "squat + pulse, 40 s on 20 s off x3"
        return [replace(line.moves[0], amount=sized[0].amount)]
    if around.intervals is None or any(move.amount.has_size() for move in line.moves):
        return line.moves
    return line.moves[:1]


def _betweens(line: Line, place: Place, around: Around) -> list[Element]:
    made: list[Element] = []
    for move in line.between:
        made += [
            part
            for part in _parts_of_move(move, move.amount, place, around, seconds=True, line=Line())
            if isinstance(part, Element)
        ]
    return made


def _parts_of_move(
    move: Move, amount: Amount, place: Place, around: Around, *, seconds: bool, line: Line
) -> list[Element | Group]:
    base = _base(move, place, around)
    if around.yin and move.pose is not None and move.pose.sided and _twice_the_same(amount):
        amount = replace(amount, numbers=[], pair=(amount.numbers[0][0],) * 2)  # "dragon 3 + 3"
    base = replace(
        base,
        optional=amount.optional,
        no_hold=amount.no_hold or (amount.quick and bool(around.table.compound(base.pose_id or ""))),
        supported=amount.supported,
        note=_note(move.notes),
    )
    if base.what in ("say", "pause", "silence", "bell", "song"):
        return [_once_of(base, move, amount, among=seconds or len(line.moves) > 1 or around.kind in STRONG)]
    on_off = len(amount.pair) == 2 and (amount.pair[0] != amount.pair[1] or amount.on_off)
    pair_s = amount.pair if on_off else ()
    if amount.side in ("right", "left"):
        base = replace(base, side=amount.side)
    if pair_s and (amount.times or around.intervals is not None or line.sets > 1):
        sets = int(middle(amount.times[0])) if amount.times else 1
        return _intervals(base, pair_s, sets * (2 if amount.side == "each" and amount.each else 1), place)
    if around.intervals and not amount.has_size():
        return _intervals(base, around.intervals, 1, place)
    if base.side is None and (
        amount.side == "each"
        or (line.between_what == "sides" and line.between and len(line.moves) == 1)
        or (amount.pair and amount.pair[0] == amount.pair[1])
        or _each_is_side(amount, base, around, alone=len(line.moves) == 1)
    ):
        base = replace(base, each_side=not around.both_sides)
    if _are_sides(amount, around):
        amount = replace(amount, times=[])
    sizes = sizes_of(move, amount, base, around, seconds=seconds)
    parts: list[Element | Group] = [replace(base, length=length, times=times) for length, times in sizes]
    if len(parts) > 1 and line.between and line.sets == 1 and line.between_what != "sides":
        spread: list[Element | Group] = []
        for part in parts:
            between = _betweens(line, place, around) if spread else []
            spread += [*(replace(pause, every_time=True) for pause in between), part]
        return spread
    if len(parts) == 1 and line.between and line.sets == 1:
        return _spaced(parts[0], _betweens(line, place, around), amount, place, line)
    return parts


def _are_sides(amount: Amount, around: Around) -> bool:
    """ "2 x 4 min dragon R then L": so often, as it has two sides."""
    twice = amount.times == [(2.0, 2.0)] and amount.side == "each" and not amount.rounds
    long = len(amount.lengths) == 1 and amount.lengths[0].unit == "seconds"
    return twice and long and amount.lengths[0].likely >= (LEAST_STAY_S if around.yin else LEAST_OF_SIDE_S)


def _twice_the_same(amount: Amount) -> bool:
    numbers = amount.numbers
    return len(numbers) == 2 and numbers[0] == numbers[1] and not (amount.lengths or amount.times or amount.side)


def _note(words: Iterable[str]) -> str:
    """The words as a note; none where by themselves they would say how something is done: "inhale"."""
    note = _BRACKETS.sub(" ", " ".join(words)).strip(" \t.,;:!-–—~&+/=\\")
    return "" if note and not trailing(note)[0] else note


def _spaced(
    part: Element | Group, pauses: list[Element], amount: Amount, place: Place, line: Line
) -> list[Element | Group]:
    """Repetitions with something between them, or two sides with something between."""
    assert isinstance(part, Element)
    if part.each_side and (line.between_what == "sides" or not (part.times or amount.numbers)):
        group = (replace(part, each_side=False), *(replace(pause, once="between sides") for pause in pauses))
        return [Group(LINE_GROUP, place, group, both_sides=True)]
    sets_first = len(amount.times) + len(amount.numbers) == 2 and (amount.numbers or amount.rounds)
    if part.times and not amount.lengths and amount.times and sets_first:  # "3 x 20, rest 30 s between"
        sets = max(1, int(middle(amount.times[0])))
        one = replace(part, times=max(1, part.times // sets))
        group = (one, *(replace(pause, last_round="not", every_time=True) for pause in pauses))
        return [Group(LINE_GROUP, place, group, rounds=sets)]
    many = part.times or (len(amount.numbers) if len(amount.numbers) > 2 else 1)
    if part.times and part.length and many > 1:
        group = (replace(part, times=None), *(replace(pause, last_round="not", every_time=True) for pause in pauses))
        return [Group(LINE_GROUP, place, group, rounds=many)]
    if many > 2:
        return [
            part,
            Group(LINE_GROUP, place, tuple(replace(pause, every_time=True) for pause in pauses), rounds=many - 1),
        ]
    return [part]


def _each_is_side(amount: Amount, base: Element, around: Around, *, alone: bool) -> bool:
    pose = around.table.poses.get(base.pose_id or "")
    counted = alone and bool(amount.times or amount.numbers) and not amount.lengths  # "saw x4 each"
    plain = pose is not None and not around.table.compound(pose.id) and pose.rep_breaths is not None
    return amount.each and (alone or not amount.times) and pose is not None and (pose.sided or (counted and plain))


def _base(move: Move, place: Place, around: Around) -> Element:
    if move.pose is not None:
        return Element("pose", move.name, place, pose_id=move.pose.id, alternatives=tuple(move.alternatives))
    if move.what in ("silence", "bell"):
        return Element(move.what, "bell" if move.what == "bell" else "", place)
    if move.what in ("hold", "pulse", "move"):
        before = around.before
        if (
            before is not None
            and before.pose_id
            and before.pose_id != "corpse"
            and around.table.get(before.pose_id).family not in ("flow transition", "compound")
        ):
            return Element("pose", move.name, place, pose_id=before.pose_id)
        return Element("gap", move.name, place)
    return Element(move.what, move.name, place)  # type: ignore[arg-type]


def _once_of(base: Element, move: Move, amount: Amount, *, among: bool) -> Element:
    """A pause, a bell, words; `among`: between exercises, where a bare number of some size is seconds."""
    length = amount.lengths[0] if amount.lengths else None
    if length is None and amount.numbers and base.what != "bell":
        low, high = amount.numbers[0]
        minutes = high <= (SHORT_REST if among and base.what == "pause" else 10)
        length = (
            Length("seconds", 30 * (low + high), 60 * low, 60 * high)
            if minutes
            else Length("seconds", (low + high) / 2, low, high)
        )
    times = int(middle(amount.times[0])) if amount.times else None
    if base.what == "bell":
        return replace(
            base, name="bell", times=times or (int(amount.numbers[0][0]) if amount.numbers else None), length=None
        )
    if base.what == "say" and length is None:
        length = exactly("seconds", GREETING_S if move.greets else CHANT_S)
        times = None
    return replace(base, length=length, times=None)


def _intervals(base: Element, pair: tuple[float, ...], rounds: int, place: Place) -> list[Element | Group]:
    work = replace(base, length=exactly("seconds", pair[0]), times=None, each_side=False)
    rest = Element("pause", "rest", place, length=exactly("seconds", pair[1]), every_time=True)
    parts = (work, rest) if pair[1] > 0 else (work,)
    return list(parts) if rounds == 1 else [Group(LINE_GROUP, place, parts, rounds=rounds)]
