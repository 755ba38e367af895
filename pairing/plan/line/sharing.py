"""What is said once for several moves of a line, and names that only head others."""

import itertools
from dataclasses import replace

from pairing.plan.line.amounts import Amount, exactly, middle
from pairing.plan.line.moves import Line, Move
from pairing.plan.poses import Pose
from pairing.plan.words import scaled

SEAT_ID, VINYASA_ID = "easy_seat", "vinyasa"
PLACES = {"tabletop", "easy_seat", "side_lying_rest", "constructive_rest", "crocodile"}
LEAST_TOGETHER_S = 60.0  # of several movements joined by a plus; editorial
MUCH_TOGETHER_S = 120.0  # from here on poses named behind the length go on in its time; editorial
LONG_TOGETHER_S = 180.0  # from here on those named before it too; editorial
MOST_PAIRS = 10  # rounds of two poses joined by a slash; editorial
FEW_TIMES = 5  # a held pose counted oftener is moved in and out of; editorial
MOST_COUNTED = 30  # before pulses; editorial
_SEATS = {"easy_seat", "seated_meditation", "lotus", "half_lotus", "hero", "thunderbolt"}
_WITHIN = {"say", "pause", "gap"}


def settle(line: Line) -> None:
    """Share what is said once for several moves, and drop names that only head others."""
    _repeat_pairs(line)
    _drop_steps(line)
    _drop_heads(line)
    _take_head_minutes(line)
    _drop_talk(line)
    _pass_through_seat(line)
    _sit_to_breathe(line)
    _begin_from_place(line)
    _count_before_pulses(line)
    _hold_each(line)
    _hold_repetitions(line)
    _move_within(line)
    _rest_in(line)
    if any(token.says("how.level") for token in line.label_tokens):
        for move in line.moves:
            if move.what == "pose" and not move.amount.has_size():
                move.amount.lengths = [exactly("breaths", 1.0)]
    _fill_bracket(line)
    moves = [move for move in line.moves if move.what in ("pose", "gap", "move")]
    if len(moves) == 1 and line.between:
        _rounds_of(moves[0], line)
    if len(moves) > 1:
        _share_minutes(moves)
        _share_each(moves)
        _share_sides(moves, line)
        _share_variants(line.moves)
        _share_rounds(line)
    _go_on_within(line)
    if line.shared.rounds and line.shared.times:
        line.sets = int(middle(line.shared.times.pop()))


def _repeat_pairs(line: Line) -> None:
    """ "Boat 30 s / low boat 10 s x3": both of them, so often."""
    for at, (one, other) in enumerate(itertools.pairwise(list(line.moves))):
        few = len(other.amount.times) == 1 and not one.amount.times and other.amount.times[0][1] <= MOST_PAIRS
        timed = all(len(move.amount.lengths) == 1 and not move.amount.side for move in (one, other))
        if other.joined == "/" and few and timed:
            times = int(middle(other.amount.times.pop()))
            line.moves[at : at + 2] = [
                replace(move, amount=replace(move.amount, lengths=[*move.amount.lengths]))
                for _ in range(times)
                for move in (one, other)
            ]
            return


def _drop_steps(line: Line) -> None:
    """ "Sun salute x4 - arms up, fold, half lift, up": what stands behind the dash tells its steps."""
    if len(line.moves) < 2 or line.moves[0].pose is None or line.moves[1].joined != "—":
        return
    first, *steps = line.moves
    flows = (
        first.pose is not None and first.pose.family in ("flow transition", "compound") and len(first.amount.times) == 1
    )
    if flows and not any(move.amount.has_any() for move in steps) and len(steps) > 1:
        line.notes += [" ".join((move.name, *move.notes)) for move in steps]
        del line.moves[1:]


def _rounds_of(move: Move, line: Line) -> None:
    """ "3 rounds of 30, 30 s rest between": what is between comes between rounds, not between repetitions."""
    amount = move.amount
    if len(amount.times) == 1 and len(amount.numbers) == 1 and move.pose and move.pose.rep_breaths is not None:
        line.sets = max(1, int(middle(amount.times[0])))
        amount.times, amount.numbers, amount.rounds = [amount.numbers[0]], [], False


def _take_head_minutes(line: Line) -> None:
    """ "5 min warm up - roll downs x3, cat cow": what stands behind the dash fills the minutes."""
    if len(line.moves) < 2 or line.minutes:
        return
    first, *others = line.moves
    heads = first.what == "gap" and len(first.amount.lengths) == 1 and others[0].joined == "—"
    if heads and first.amount.lengths[0].unit == "seconds" and not any(move.amount.lengths for move in others):
        line.minutes, line.label = first.amount.lengths[0], line.label or first.name
        del line.moves[0]


def _pass_through_seat(line: Line) -> None:
    """ "Roll up to seat" comes to sit; nobody stays there."""
    last = line.moves[-1] if len(line.moves) > 1 else None
    if last and last.pose and last.pose.id == SEAT_ID and last.joined == "to" and not last.amount.has_size():
        last.amount.lengths = [exactly("breaths", 1.0)]


def _sit_to_breathe(line: Line) -> None:
    """ "Easy seat, ujjayi 3 min" is one thing: one sits while one breathes."""
    if len(line.moves) != 2:
        return
    seat, breath = line.moves
    sits = seat.pose is not None and seat.pose.id in _SEATS and not seat.amount.has_size()
    if sits and breath.pose is not None and _is_breathing(breath.pose) and breath.amount.has_size():
        line.label = line.label or seat.name
        del line.moves[0]


def _begin_from_place(line: Line) -> None:
    """ "All fours - cat cow 8 rounds": where it is done, not something to stay in."""
    if len(line.moves) < 2:
        return
    place, behind = line.moves[:2]
    there = place.pose is not None and place.pose.id in PLACES and not place.amount.has_any()
    if there and behind.amount.has_size() and behind.joined in ("—", ",", "("):
        line.label = line.label or place.name
        del line.moves[0]


def _is_breathing(pose: Pose) -> bool:
    return pose.family == "seated" and any(word in pose.id for word in ("breath", "nostril", "four_seven"))


def _count_before_pulses(line: Line) -> None:
    """ "Bridge 15 + 10 pulses": what is pulsed was done so often before."""
    for one, other in itertools.pairwise(line.moves):
        amount = one.amount
        bare = len(amount.numbers) == 1 and not (amount.lengths or amount.times or amount.counts)
        held = other.what == "hold" and other.joined == "+"  # "bridge 10 + hold 20 s"
        if one.what == "pose" and (other.what == "pulse" or held) and bare and amount.numbers[0][1] < MOST_COUNTED:
            amount.times, amount.numbers = amount.numbers, []


def _fill_bracket(line: Line) -> None:
    """ "WARM-UP (5 min) knee lifts, side steps, arm reaches": the minutes of all that stands behind the bracket."""
    lengths = line.shared.lengths
    long = len(lengths) == 1 and lengths[0].unit == "seconds" and lengths[0].likely >= MUCH_TOGETHER_S
    if line.in_front and long and len(line.moves) > 1 and not (line.minutes or line.shared.each or line.shared.side):
        line.minutes, line.shared.lengths = lengths[0], []


def _hold_each(line: Line) -> None:
    """ "Triangle 2x each side, hold 20 secs": a held pose that is done a few times, for so long each time."""
    for one, other in itertools.pairwise(list(line.moves)):
        amount, pose = one.amount, one.pose
        few = len(amount.times) == 1 and amount.times[0][1] <= FEW_TIMES and not (amount.lengths or amount.numbers)
        held = few and pose is not None and pose.rep_breaths is None and pose.family != "flow transition"
        if held and other.what == "hold" and len(other.amount.lengths) == 1 and not other.amount.times:
            amount.lengths = other.amount.lengths
            line.moves.remove(other)


def _hold_repetitions(line: Line) -> None:
    """ "Leg extensions 10x R, 10x L, hold each 5 s": each of those that are counted is held so long."""
    hold = line.moves[-1] if len(line.moves) > 1 and line.moves[-1].what == "hold" else None
    counted = [move for move in line.moves[:-1] if move.amount.times or move.amount.numbers]
    each = (
        hold is not None
        and (hold.amount.each or hold.amount.side == "each" or line.of_each)
        and len(hold.amount.lengths) == 1
    )
    if hold is None or not each or len(counted) != len(line.moves) - 1 or hold.amount.times:
        return
    if any(move.amount.lengths or move.pose is None for move in counted):
        return
    for move in counted:
        move.amount.times, move.amount.numbers = move.amount.times or move.amount.numbers, []
        move.amount.lengths = [*hold.amount.lengths]
    line.moves.remove(hold)


def _move_within(line: Line) -> None:
    """ "Hip flexor kneeling, squeeze the seat 60 s": what one does in the pose, for as long as one stays."""
    for one, other in itertools.pairwise(list(line.moves)):
        timed = len(other.amount.lengths) == 1 and other.amount == Amount(
            lengths=other.amount.lengths, length_end=other.amount.length_end, side=other.amount.side
        )
        held = one.what == "pose" and one.pose is not None and one.pose.rep_breaths is None
        if held and not one.amount.has_size() and other.what == "move" and timed and other.joined == ",":
            one.amount.lengths, one.amount.side = other.amount.lengths, one.amount.side or other.amount.side
            one.notes.append(other.name)
            line.moves.remove(other)


def _drop_talk(line: Line) -> None:
    """ "5 min arrival, talk", "break, water 1 min": what has no size beside minutes goes on within them."""
    timed = any(length.unit == "seconds" for move in line.moves for length in move.amount.lengths)
    if not timed:
        return
    _name_both(line)
    for one, other in itertools.pairwise(list(line.moves)):
        if one.what == "pose" and other.what == "pause" and other.joined == "&" and not one.amount.has_size():
            one.amount, one.notes = other.amount, [*one.notes, "and", other.name]  # "knees to chest and rest 7 min"
            line.moves.remove(other)
    for move in [
        move for move in line.moves if move.what in _WITHIN and not move.amount.has_size() and move.joined != "→"
    ]:
        line.moves.remove(move)
        line.notes.append(" ".join((move.name, *move.notes)))


def _rest_in(line: Line) -> None:
    """ "Rest 30 s, knees to chest": how one rests in that time."""
    for one, other in itertools.pairwise(list(line.moves)):
        timed = one.what == "pause" and len(one.amount.lengths) == 1
        pose = other.pose if other.what == "pose" and not other.amount.has_any() else None
        if not timed or pose is None or pose.rep_breaths is not None or other.joined not in (",", "—", "(", "&"):
            continue
        if {"once.rest", "intervals.rest"} & one.roles or pose.family == "rest":  # "pause 20 s, child"
            line.moves.remove(other)
            one.notes.append(other.name)


def _go_on_within(line: Line) -> None:
    """ "Jog / high knees / butt kicks 3 min", "sleeping bears 4 min, read the story": the minutes hold all of it."""
    sized = [move for move in line.moves if move.amount.has_any()]
    amount = sized[0].amount if len(sized) == 1 else None
    if amount is None or len(amount.lengths) != 1 or amount.lengths[0].unit != "seconds" or line.shared.has_any():
        return
    if amount != Amount(lengths=amount.lengths, length_end=amount.length_end) or line.between:
        return
    minutes_s, at = amount.lengths[0].likely, line.moves.index(sized[0])
    for index, move in enumerate(list(line.moves)):
        behind = line.moves[index + 1] if index + 1 < len(line.moves) else move
        listed = "/" in (move.joined, behind.joined)
        weak = (
            move.what != "pose"
            or move.broad
            or listed
            or minutes_s >= (LONG_TOGETHER_S if index < at else MUCH_TOGETHER_S)
        )
        if move is not sized[0] and minutes_s >= LEAST_TOGETHER_S and weak and "→" not in (move.joined, behind.joined):
            line.moves.remove(move)
            line.notes.append(" ".join((move.name, *move.notes)))


def _name_both(line: Line) -> None:
    """ "Circle + check in - 8 min": a word that can be a movement is talk beside talk that has the minutes."""
    for one, other in itertools.pairwise(list(line.moves)):
        plain = one.what == "move" and not one.amount.has_size()
        talk = other.what == "say" or "once.say" in other.roles
        if plain and talk and other.amount.lengths and other.joined in ("+", "&"):
            line.moves.remove(one)
            other.name = f"{one.name} and {other.name}"


def _drop_heads(line: Line) -> None:
    """ "Pranayama - anuloma viloma 4 min" is one thing; so is a pose named again with its count."""
    moves = line.moves
    while len(moves) > 1 and moves[0].what == "pose" and not moves[0].amount.has_size() and not moves[0].amount.side:
        first, behind = moves[0], moves[1]
        heads = (
            any(role.startswith("kinds.") for role in first.roles)
            and (bool(behind.amount.lengths) or _are_both_salutations(first, behind))
            and behind.joined != "→"
            and not (first.pose is not None and first.pose.id == VINYASA_ID and behind.joined in (",", "("))
        )
        same = first.pose is behind.pose and behind.what == "pose"
        if not heads and not (same and (behind.amount.has_size() or behind.name.isdecimal())):  # "hundred, 100"
            break
        line.label = line.label or first.name
        del moves[0]


def _are_both_salutations(head: Move, behind: Move) -> bool:
    """ "Suns 3A 3B": the letters say which."""
    poses = [move.pose for move in (head, behind)]
    salutes = all(pose is not None and pose.family == "flow transition" for pose in poses)
    return salutes and behind.amount.has_size()


def _share_each(moves: list[Move]) -> None:
    """ "Warrior two, triangle 3 breaths each": each of the poses, where those before it have no size of their own."""
    last, before = moves[-1].amount, [move.amount for move in moves[:-1]]
    if not last.each or not last.lengths or any(amount.has_size() or amount.side for amount in before):
        return
    for amount in before:
        amount.lengths = [*last.lengths]
    last.each = False


def _share_sides(moves: list[Move], line: Line) -> None:
    """ "Lizard, half split, pigeon r/l": all of them on both sides."""
    last = moves[-1].amount
    others = [move.amount for move in moves[:-1]]
    if last.side == "each" and not any(amount.side for amount in others) and moves[-1].joined != "→":
        for move in moves[:-1]:
            if move.pose is not None and move.pose.sided and not move.amount.has_size():
                move.amount.side = "each"


def _are_minutes_together(move: Move) -> bool:
    """Minutes behind "march + arms": of both together, unless they are said of each, or of a side."""
    amount = move.amount
    timed = len(amount.lengths) == 1 and amount.lengths[0].unit == "seconds"
    plain = not (amount.each or amount.side or amount.times or amount.numbers or amount.counts)
    return timed and plain and amount.lengths[0].likely >= LEAST_TOGETHER_S


def _share_minutes(moves: list[Move]) -> None:
    """ "Sit 2 min, then neck + shoulders 1 min": joined moves share the minutes of the last of them."""
    for at in range(len(moves) - 1, 0, -1):
        first = at
        while first and moves[first].joined in ("&", "+") and not moves[first - 1].amount.has_size():
            first -= 1
        if first == at or not _are_minutes_together(moves[at]) or any(move.amount.side for move in moves[first:at]):
            continue
        part = scaled(moves[at].amount.lengths[0], 1.0 / (at - first + 1))
        for move in moves[first : at + 1]:
            move.amount.lengths = [part]


def _share_variants(moves: list[Move]) -> None:
    """ "A + B 5/5", "I & II 5 breaths": joined moves share the size of the last of them."""
    for at in range(len(moves) - 2, -1, -1):
        move, behind = moves[at], moves[at + 1]
        if (
            behind.joined in ("&", "+")
            and move.what == "pose"
            and behind.what == "pose"
            and not move.amount.has_size()
            and behind.amount.has_size()
        ):
            if behind.amount.times and not behind.amount.lengths:
                continue
            if _are_minutes_together(behind):
                continue
            side = move.amount.side or behind.amount.side
            move.amount = replace(
                behind.amount,
                lengths=list(behind.amount.lengths),
                numbers=list(behind.amount.numbers),
                times=list(behind.amount.times),
                side=side,
            )


def _share_rounds(line: Line) -> None:
    """ "20 s, 20 s, 20 s x3" is three rounds; "plank to dog x10" ten of both; "... (r/l) x2" two of all."""
    moves = line.moves
    last = moves[-1]
    if len(last.amount.times) != 1 or last.amount.numbers:
        return
    sizes = [move.amount for move in moves]
    once = not any(size.times for size in sizes[:-1])
    alike = (
        once
        and len(moves) > 2
        and all(len(size.lengths) == 1 and size.lengths[0] == sizes[0].lengths[0] for size in sizes)
    )
    swung = (
        last.joined in ("to", "→", "+", "&")
        and not last.amount.lengths
        and not any(size.has_size() for size in sizes[:-1])
    )
    timed = all(len(size.lengths) == 1 and size.lengths[0].unit == "seconds" for size in sizes)
    paired = timed and last.joined in ("/", "+", "&")  # "boat 30 s/low boat 15 s x3"
    if alike or paired:
        line.sets = int(middle(last.amount.times.pop()))
    elif swung and (len(moves) == 2 or all(move.joined in ("to", "→") for move in moves[1:])):
        line.sets = int(middle(last.amount.times.pop()))
        for move in moves:
            whole = move.pose is not None and move.pose.id.startswith("sun_salutation")
            move.amount.lengths = [] if whole else [exactly("breaths", 1.0)]
    elif last.amount.rounds and not any(size.has_size() for size in sizes[:-1]) and not last.amount.lengths:
        line.sets = int(middle(last.amount.times.pop()))
