"""Whether the strict language's reading of a line leaves anything of it out."""

import re
from collections.abc import Sequence

from pairing.model import Element, Length, Wishes
from pairing.plan.line.between import is_between
from pairing.plan.line.chunker import COUNTED_BREATH
from pairing.plan.line.chunks import attributes_in, ends_in_silence, is_size
from pairing.plan.line.moves import Line as Said_line
from pairing.plan.line.sides import sides_joined
from pairing.plan.lines import Line
from pairing.plan.names import key
from pairing.plan.note.partly import Part, told_s
from pairing.plan.note.state import Reading
from pairing.plan.tokens import Token

MOST_OF_LINE_S = 1500.0  # of several poses or repetitions on one line; editorial
MANY_POSES = 3  # with arrows between them, named on a line; editorial
MANY_TIMES = 60  # a count beyond that may be a product of two; editorial
_MORE = re.compile(r"[+→>]|\d-\d{1,2}-\d|\bbetween\b(?! sides)|\bthen\b|\bdirection", re.IGNORECASE)


def leaves_doubt(reading: Reading, line: Line, element: Element) -> bool:
    """Say whether what the strict language read may leave out something of the line."""
    if element.what == "bell":
        return any(token.kind == "length" or token.says("once.greet", "once.say") for token in reading.tokens_of(line))
    if element.what in ("pause", "say") and element.length is None:
        tokens = reading.tokens_of(line)
        inner = [part for token in tokens for part in (token, *token.inner)]
        return not _is_canonical(tokens) and any(token.kind in ("number", "length") for token in inner)
    if element.what != "pose":
        return False
    loose = reading.loose.get(reading.stack[0].line.number)
    if loose and loose.intervals and element.length is None:
        return True
    if element.times is not None and element.times > MANY_TIMES:
        return True
    tokens = reading.tokens_of(line)
    if tokens[0].says("how.level"):
        return True  # "rung 4: + half moon 3 br"
    if element.length is None and element.times is None and any(token.kind == "length" for token in _plain(tokens)):
        return True  # "uttanasana few br", "wall sit (max 2 min)"
    if reading.around().yin and element.length is None and any(token.kind == "number" for token in tokens):
        return True
    if element.length is None and COUNTED_BREATH.match(element.name):
        return True
    if element.length is None and element.times is None and "same" in element.note.lower().split():
        return True
    poses = {token.match.pose.id for token in tokens if token.match and token.match.pose and not token.broad}
    if "/" in element.note and len(poses) > 1:
        return True
    if not reading.has_signs and len(poses) >= MANY_POSES - ("→" in line.text) and re.search(r"[→>]|->", line.text):
        return True  # "lunge flow: low lunge > half split > lizard"
    if not reading.table.exact(key(element.name)) and _is_found_by_likeness_alone(element, tokens):
        return True
    each = any(token.says("join.each") for token in tokens)
    if each and (element.alternatives or (_is_timed(element.length) and element.times and not element.each_side)):
        return True
    flat = [part for token in tokens for part in (token.inner if token.kind == "aside" else (token,))]
    timed = element.length is not None or any(token.kind == "length" for token in flat)  # "squats 3x15 (20 s rest)"
    if element.times and timed and any(token.says("once.rest", "once.pause") for token in flat):
        return True
    if element.wishes.silent_last_s is None and ends_in_silence(flat):
        return True  # "savasana 9 min (last 2 without music)"
    if element.times and _is_timed(element.length) and not reading.has_signs and not _is_held(reading, element):
        return True  # "sun A x4 (6 min)"
    if element.times is None and element.length is not None and any(token.kind == "times" for token in tokens):
        return True  # "sun A x4 - 6 min"
    if any(token.says("intervals.work") for token in tokens) and any(token.says("intervals.rest") for token in tokens):
        return True
    if element.times and any(token.kind == "pose" and token.text.endswith(f" {element.times}") for token in tokens):
        return not any(is_size(token) for token in tokens)  # "warrior 2 R/L" is no two of each side
    if any(map(_counts_next, tokens, tokens[1:])):
        return True  # "suns 3A 3B"
    if _names_other_first(element, tokens):
        return True
    if _is_length_in_another(tokens) or (tokens[-1].says("again.repeat") and len(tokens) > 1):
        return True
    if any(token.says("sides.direction") for token in tokens) and sum(token.says("sides") for token in tokens) > 1:
        return True  # "leg circles x5 each way, r/l"
    if _leaves_size_in_note(reading, element, tokens) or is_too_long((element,)):
        return True
    if any(token.says("intervals.every_1", "intervals.every_2", "intervals.every_3") for token in tokens):
        return True
    if any(token.kind == "pulses" or token.says("units.pulses") for token in tokens):
        return True
    quick = any(token.says("how.quick") for token in tokens) and bool(reading.table.compound(element.pose_id or ""))
    if quick and not element.no_hold:
        return True
    if element.times and element.length and any(token.says("how.hold") for token in tokens):
        return True
    if element.note == "" and not element.alternatives:
        return _may_say_more(line.text)
    outside = [token for token in tokens if token.kind != "aside"]
    sizes = sum(token.kind != "number" and is_size(token) for token in (*outside, *attributes_in(tokens)))
    told = sum(said is not None for said in (element.length, element.times, element.wishes.silent_last_s))
    both = element.each_side or element.once is not None
    sided = any(token.says("sides.each", "sides.other") for token in sides_joined(outside)) and not both
    sided = sided or (not both and element.side is None and _names_both(outside))
    between = is_between(outside) and not element.once
    variants = any(token.says("how.variants") for token in attributes_in(tokens))
    return sizes > told or sided or between or variants or _second_move(tokens)


def _is_found_by_likeness_alone(element: Element, tokens: Sequence[Token]) -> bool:
    """ "Back through standing split", "floor / hips": the words name another pose, or are no slip of a name at all."""
    found = {token.match.pose.id for token in tokens if token.match and token.match.pose}
    slips = any(token.kind == "unknown" for token in tokens)
    return element.pose_id not in found and (bool(found) or not slips)


def _plain(tokens: Sequence[Token]) -> list[Token]:
    """Tokens outside brackets, and those of brackets that hold little else than a size."""
    return [
        part
        for token in tokens
        for part in (token.inner if token.kind == "aside" and len(token.inner) <= 2 else (token,))
    ]


def _counts_next(number: Token, pose: Token) -> bool:
    return number.kind == "number" and number.text.isdecimal() and pose.kind == "pose" and number.end == pose.start


def _names_other_first(element: Element, tokens: Sequence[Token]) -> bool:
    """ "Table top cat cow 1 min, bird dog 5": a pose is named before the one that the line was read as."""
    first = next((token for token in tokens if token.kind == "pose" and not token.broad), None)
    pose = first.match.pose if first is not None and first.match else None
    behind = [token for token in tokens if token.match and token.match.pose and token.match.pose.id == element.pose_id]
    return first is not None and pose is not None and bool(behind) and behind[0].start > first.start


def _is_length_in_another(tokens: Sequence[Token]) -> bool:
    """ "Vinyasa, 3 br in dog": the length is that of what is named behind it."""
    return any(
        comma.text == "," and size.kind == "length" and word.says("join.with", "join.then") and pose.kind == "pose"
        for comma, size, word, pose in zip(tokens, tokens[1:], tokens[2:], tokens[3:], strict=False)
    )


def _leaves_size_in_note(reading: Reading, element: Element, tokens: Sequence[Token]) -> bool:
    """ "March on the spot 20", "leg extensions x5 each": what tells how much must not end as a note."""
    if element.wishes != Wishes():  # "x3, beat 120-128, each": the numbers are those of the music
        return False
    noted = set(element.note.split())
    numbers = element.length is None and any(token.kind == "number" and token.text in noted for token in tokens)
    numbers = numbers or any(token.kind == "times" and token.text in noted for token in tokens)
    pose = reading.table.get(element.pose_id) if element.pose_id is not None else None
    sided = pose is not None and (
        pose.sided or (pose.rep_breaths is not None and element.length is None)
    )  # "saw x4 each"
    each = (
        sided and element.times is not None and any(token.says("join.each") and token.text in noted for token in tokens)
    )
    return numbers or each


def _is_timed(length: Length | None) -> bool:
    return length is not None and length.unit == "seconds"


def _names_both(tokens: Sequence[Token]) -> bool:
    return all(any(token.says(side) for token in tokens) for side in ("sides.right", "sides.left"))


def _may_say_more(text: str) -> bool:
    """Whether a line that the strict language read to the end may hold more than one amount for the loose one."""
    return bool(_MORE.search(text)) and bool(re.search(r"\d", text))


def _second_move(tokens: Sequence[Token]) -> bool:
    """Whether a pose with a size of its own stands behind a comma."""
    first, pose, sized = True, False, False
    for token in (*tokens, Token("mark", ",", 0, 0)):
        if token.kind == "mark" and token.text in ",;":
            if not first and pose and sized:
                return True
            first, pose, sized = False, False, False
        named = token.kind == "pose" or (token.match is not None and token.says("once"))  # "om x3" too
        pose = pose or (named and not token.broad)
        sized = sized or (is_size(token) and token.kind != "number")
        if token.says("join.with"):
            pose, sized = False, False
    return False


def is_too_long(parts: Sequence[Part]) -> bool:
    """Whether counts and lengths of a line multiply to more than a line ever takes."""
    plain = len(parts) == 1 and isinstance(parts[0], Element) and (parts[0].times or 1) == 1
    return not plain and sum(map(told_s, parts)) > MOST_OF_LINE_S


def asks_for_more(said: Said_line) -> bool:
    """ "Plies 2nd: same": what is to be the same isn't said on the line."""
    words = {word for move in said.moves for note in move.notes for word in note.lower().split()}
    return "same" in words and not any(move.amount.has_size() for move in said.moves)


def _is_canonical(tokens: Sequence[Token]) -> bool:
    """ "Say: breathe for 4": what is said may hold any number."""
    return len(tokens) > 1 and tokens[0].text.lower() == "say" and tokens[1].text == ":"


def _is_held(reading: Reading, element: Element) -> bool:
    """Whether one stays in what the line names, so that a length is that of each of several."""
    pose = reading.table.poses.get(element.pose_id or "")
    return pose is None or (pose.rep_breaths is None and not reading.table.compound(pose.id))
