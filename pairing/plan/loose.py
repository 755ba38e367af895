"""Headings typed without signs: "WARM UP", "Thighs", "SEAT - R leg", "CIRCUIT 40s on / 20s off, 2 rounds"."""

import itertools
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from pairing.model import Kind, Length, Side, Wishes
from pairing.plan.kinds import kind_named
from pairing.plan.line.chunks import is_size, wished, with_intervals
from pairing.plan.line.sides import sides_joined
from pairing.plan.lines import Line
from pairing.plan.refs import is_no_hold
from pairing.plan.tokens import Token
from pairing.plan.words import scaled

SHORTEST_BLOCK_S = 60.0  # of a part whose lines are only its details; editorial
MOST_OF_DETAILS = 0.5  # of the minutes of a part are told by lines that only say what is in it; editorial
LEAST_MINUTES = 3  # a number behind the name of a part is that of the part below; editorial
MOST_TOLD = 1.35  # of the minutes of a plain heading are told by its lines; editorial
BULLETS = "-–•*+·‣▪◦●○■□"
MOST_HEAD = 4  # words of a name that opens a part; editorial
LONGEST_SEAT_S = 180.0  # of a pose whose name heads parts too; editorial
LONGEST_STATION_S = 120.0  # of work in a circuit; editorial
LEAST_WORK_S = 10.0  # of work and rest in the name of a part; editorial
CORPSE_ID = "corpse"
SHORTEST_LOUD = 3  # letters of a word in capitals that opens a part


_ROMAN = re.compile(r"[IVX]{1,4}[.)]\s")  # "II. Standing"
_FIRST = re.compile(r"1[.)]?\s+[^\W\d]")  # "1 plank", "1. plank"
_BLOCKS = {Kind.WARM_UP, Kind.FLOW, Kind.STANDING, Kind.STRENGTH, Kind.FLOOR, Kind.PEAK, Kind.COOL_DOWN}


@dataclass(frozen=True, slots=True)
class Loose:
    """What a heading without signs says."""

    name: str
    kind: Kind | None = None
    side: Side | None = None
    both: bool = False  # all of it on the right, then all of it on the left
    rounds: int = 1
    again: int = 0  # more rounds, without holds
    minutes: Length | None = None
    intervals: tuple[float, float] | None = None  # seconds of work and rest
    between: Length | None = None  # rest between rounds
    hold: Length | None = None  # of each pose below that tells none itself
    each_side: bool = False  # each line below is done on both sides before the next
    block: bool = False  # the lines below are its details, and take no time of their own
    fills: Length | None = None  # minutes in brackets, which the lines below share
    told: Length | None = None  # minutes of the heading, whoever takes them
    indented: bool = False  # it heads the lines set in below it, and no others
    peak: bool = False
    notes: tuple[str, ...] = ()
    wishes: Wishes = field(default_factory=Wishes)
    says: str = ""

    @property
    def is_plain(self) -> bool:
        """Whether it says nothing of how or how long its lines are done."""
        return not (self.told or self.intervals or self.both or self.side or self.rounds > 1)


def loose_heading(line: Line, tokens: Sequence[Token], below: Line | None, told_s: float | None) -> Loose | None:
    """Read a bare line as the heading of a part; None where it is none.

    Args:
        line: it.
        tokens: its tokens.
        below: the next line, None at the end of the note.
        told_s: seconds that the lines below tell by themselves; None: nothing stands below.
    """
    if not might_head(line, tokens, below):
        return None
    tokens = with_intervals(up_to_manner(numbered(tokens)))
    head, rest = _parted(tokens)
    tokens = sides_joined(tokens)
    kind, loud = _kind_and_loudness(line, head, rest)
    loud = loud or _is_brief_name(line, head, rest, below) or _arrives(line, kind, rest, below)
    loud = loud or (kind is not None and _lists(line, below) and not any(token.match for token in head))
    if not loud and any(token.says("once.pause", "once.rest") for token in head) and any(map(is_size, tokens)):
        return None  # "rebound on belly 2": a rest and its minutes
    if not loud and len(head) == 2 and head[0].match is not None and head[1].kind == "number" and not rest:
        return None  # "seal 2": a pose and its number
    if not loud and len(head) == 1 and head[0].match is not None and _minutes_s(rest) <= LONGEST_SEAT_S:
        return None  # "sit 2 min"
    if not loud and (_is_counted_pose(head, rest) or _counts_itself(head, rest)):
        return None  # "suns 5 rounds"
    heads = heads_items(line, tokens, below)
    apart = _stands_apart(line, below) and not any(map(is_size, tokens))
    apart = apart or (_is_shouted_with_minutes(head, rest) and below is not None and not below.text.isupper())
    apart = apart and not (
        rest and CORPSE_ID in {token.match.pose.id for token in head if token.match and token.match.pose}
    )
    warms = not rest and (_warms_up(head) or _is_sided_in_capitals(line, head, below))
    listed = _lists(line, below) or _counts_one(below)
    stations = loud and listed and _intervals(rest) is not None  # "PLANKS 30 on / 15 off" above "1 side plank"
    if not (heads or apart or warms or stations or _may_head(head, loud=loud or _all_of_it(rest), bare=not rest)) or (
        below is None and told_s is None and not line.text.endswith(":") and not loud
    ):
        return None
    said = _rest(rest)
    counted = any(token.kind == "times" and not token.says("units.rounds") for token in rest)
    if said is None or (counted and not loud and not said.intervals):
        return None  # "tune in - mantra x3": so often is that done, not what is below
    bullets = _lists(line, below) and loud and kind is not None
    posed = any(token.kind == "pose" and not token.picture for token in _without_props(head))
    named = posed and not (heads or _all_of_it(rest))
    placed = said.both and not any(map(is_size, tokens)) and all(map(_is_no_side, head))  # "De pie - lado D y lado I"
    parts = all(token.says("kinds") for token in head)
    stretches = (loud and kind in (Kind.WARM_UP, Kind.COOL_DOWN) and parts) or (line.bold and parts)
    placed = placed or warms or stations or (loud and parts and said.intervals is not None)  # "ARMS - 1:00 ea, no rest"
    if (
        named
        and not (bullets or stretches or placed)
        and (not loud or any(token.kind in ("times", "length", "number") for token in tokens))
    ):
        return None
    minutes = said.minutes or _length_in(head) or _minutes_in_brackets(rest)
    sized = minutes is not None
    if sized and told_s is None and below is None:
        return None
    if minutes is not None and kind in (Kind.REST, Kind.CLOSING) and told_s and are_details(told_s, minutes):
        return None  # "SAVASANA 10 min" above "sit, 1 min quiet"
    blocks = kind in _BLOCKS or (loud and kind not in (Kind.REST, Kind.CLOSING))
    if minutes is not None and said.each and said.rounds == 1:
        minutes = scaled(minutes, 2.0)
    alone = len([token for token in rest if token.kind != "mark"]) <= 1  # "warm up - 5 min"
    block = (
        minutes is not None
        and minutes.likely >= SHORTEST_BLOCK_S
        and blocks
        and (loud or alone or said.notes != ())
        and are_details(told_s, minutes)
    )
    told = bool(told_s) and (loud or (len(rest) <= 1 and _add_up(told_s, minutes)))
    if sized and not block and not said.intervals and not (blocks and told):
        return None
    if (
        told_s is None
        and not line.text.rstrip().endswith(":")
        and kind in (Kind.REST, Kind.CLOSING, Kind.OPENING, None)
        and not said.both
    ):
        return None
    name = " ".join(token.text for token in head if token.kind not in ("length", "mark")).strip(" :–—-")
    side = said.side or _side_in(head)
    both = said.both or any(token.says("sides.each") for token in sides_joined(head))  # "FLOW R then L - 3 rounds"
    return Loose(
        name=name or "Part",
        kind=kind,
        side=None if both else side,
        both=both and not said.each_side,
        each_side=said.each_side,
        rounds=1 if block else said.rounds,
        again=said.again,
        minutes=minutes if block else None,
        fills=_shared(minutes, rest, told_s) if loud and not block else None,
        told=said.minutes or _length_in(head) or _minutes_in_brackets(rest),
        intervals=said.intervals,
        between=said.between,
        hold=said.hold,
        block=block,
        peak=said.peak or any(token.says("kinds.peak") for token in tokens),
        notes=said.notes,
        wishes=said.wishes,
        says=said.says,
    )


def _without_props(head: Sequence[Token]) -> list[Token]:
    """The name of a part but for what one uses in it: "standing behind chair", "floor work with blocks"."""
    return [token for at, token in enumerate(head) if not (at and head[at - 1].says("join.with"))]


def _is_brief_name(line: Line, head: Sequence[Token], rest: Sequence[Token], below: Line | None) -> bool:
    """ "STR 3:00" right above lines: two or three capitals and minutes, and no more."""
    name = head[0].text if len(head) == 1 and head[0].match is None else ""
    timed = len(rest) == 1 and rest[0].kind == "length" and rest[0].low >= SHORTEST_BLOCK_S
    above = below is not None and not below.first and line.form == "text"
    return name.isupper() and 1 < len(name) <= SHORTEST_LOUD and timed and above


def _arrives(line: Line, kind: Kind | None, rest: Sequence[Token], below: Line | None) -> bool:
    """ "arrive (5 min)" below a blank line and right above others: a part, and not one pose of it."""
    above = below is not None and not below.first
    return kind is Kind.OPENING and line.first and above and len(rest) == 1 and _minutes_in_brackets(rest) is not None


def _is_no_side(token: Token) -> bool:
    """Whether a word of a heading names a part, and no pose that has two sides itself."""
    pose = token.match.pose if token.match else None
    return token.says("kinds") and (pose is None or not pose.sided)


def _shared(minutes: Length | None, rest: Sequence[Token], told_s: float | None) -> Length | None:
    """The minutes of a heading that its lines take one by one: in brackets, or where they tell sides and no lengths."""
    long = minutes is not None and minutes.likely >= SHORTEST_BLOCK_S
    return minutes if told_s == math.inf and long else _minutes_in_brackets(rest)


def _minutes_in_brackets(rest: Sequence[Token]) -> Length | None:
    """ "STANDING (15 min)": a length and nothing else in brackets."""
    inner = [part for token in rest if token.kind == "aside" for part in token.inner if part.kind != "mark"]
    alone = len(inner) == 1 and inner[0].kind == "length" and inner[0].unit == "seconds"
    return inner[0].length if alone and inner[0].low >= SHORTEST_BLOCK_S else None


def _is_counted_pose(head: Sequence[Token], rest: Sequence[Token]) -> bool:
    """Whether a name that is a pose's too stands before a count and no more: "suns 5 rounds"."""
    counted = any(token.kind == "times" for token in rest)
    alone = len(rest) == 1 and all(token.match is not None for token in head)
    return counted and (alone or head[0].kind == "pose")  # "surya namaskar clásico, 4 vueltas (2 lentas)"


def _warms_up(head: Sequence[Token]) -> bool:
    """ "Calentar de pie", "warm up standing": a part by its kind, and where it is done."""
    kinds = all(token.says("kinds") for token in head)
    return kinds and head[0].match is None and head[0].says("kinds.warm-up", "kinds.cool-down")


def _is_sided_in_capitals(line: Line, head: Sequence[Token], below: Line | None) -> bool:
    """ "SIDE KICKS right leg" above its exercises: a part done on one side, though its name is that of a pose too."""
    sided = any(token.says("sides.right", "sides.left") for token in head)
    return sided and below is not None and not below.first and not line.bold and _is_loud(line, head)


def _counts_itself(head: Sequence[Token], rest: Sequence[Token]) -> bool:
    """Whether numbers belong to what is done: "sit 2 silent", "pulse 16", "sit, 1 om", not to a name: "flow 2"."""
    for before, number in itertools.pairwise(head):
        named = before.says("kinds", "columns.section", "how.round", "units.rounds", "top.class")
        named = named and before.match is None and (len(head) == 2 or not before.says("kinds.floor"))
        if number.kind == "number" and not named:
            return True
    behind = any(token.kind == "number" for token in rest[:-1]) and _intervals(rest) is None
    return behind or head[0].says("units.pulses")


def _minutes_s(rest: Sequence[Token]) -> float:
    """Seconds that stand right behind a name; endless where none do."""
    first = rest[0] if len(rest) == 1 else None
    return first.low if first is not None and first.kind == "length" and first.unit == "seconds" else math.inf


def might_head(line: Line, tokens: Sequence[Token], below: Line | None) -> bool:
    """Say whether a line may head a part at all: it names a kind, is loud, or tells work and rest."""
    deeper = below is not None and below.level > line.level and below.form != "heading"
    if (line.form == "item" and line.raw.lstrip()[:1] in BULLETS and not deeper) or not tokens:
        return False
    tokens = with_intervals(up_to_manner(numbered(tokens)))
    head, rest = _parted(tokens)
    joined = any(token.kind == "mark" and token.text in "+→&" for token in sides_joined(tokens))
    joined = joined and not (_is_round(head) and not any(token.kind == "pose" for token in rest))
    joined = joined and not (_lists(line, below) and all(map(_names_part, tokens)))  # "Flow 2 -> peak"
    if not head or joined or any(token.kind in ("times", "counts", "pulses", "chain") for token in head):
        return False
    if any(sum(part.kind == "times" for part in token.inner) > 1 for token in rest):
        return False  # "side series (kick x10, circles x10)"
    kind, loud = _kind_and_loudness(line, head, rest)
    minutes = rest[-1:] and rest[-1].kind == "number" and rest[-1].low >= LEAST_MINUTES  # "arrive, lie, 5"
    if not loud and (_ends_in_minutes(head) or head[0].kind == "number" or minutes):
        return False
    return kind is not None or loud or _intervals(_flat(rest)) is not None


def _names_part(token: Token) -> bool:
    """Whether a token of a heading is the name of a part, its number, or a sign."""
    return token.kind in ("mark", "number") or (token.says("kinds") and token.match is None)


def numbered(tokens: Sequence[Token]) -> Sequence[Token]:
    """Give "set 1 x3" as a part by its number, and three times of it; not as one time of three."""
    for at, (before, times, number) in enumerate(zip(tokens, tokens[1:], tokens[2:], strict=False)):
        named = before.says("how.round", "columns.section") or (before.says("kinds") and before.match is None)
        split = times.kind == "times" and times.text.endswith(" x") and number.kind == "number"
        if named and split and number.start == times.end:
            name = replace(times, kind="number", roles=frozenset())
            return [*tokens[: at + 1], name, replace(number, kind="times"), *tokens[at + 3 :]]
    return tokens


def up_to_manner(tokens: Sequence[Token]) -> Sequence[Token]:
    """Give a heading without how its rounds are done: "FLOW R then L - 3 rounds: first slow, 2 + 3 quick"."""
    for at, (count, mark) in enumerate(itertools.pairwise(tokens)):
        behind = tokens[at + 2 :]
        rounds = count.kind == "times" and count.says("units.rounds") and mark.text in (":", "—", ",")
        rounds = rounds or (count.kind == "times" and mark.kind == "aside")  # "R then L, x3 (1st slow)"
        manner = any(
            token.says("how.slow", "how.quick", "how.no_hold", "how.first") for token in (*mark.inner, *behind)
        )
        if rounds and manner and not any(token.kind in ("pose", "times", "aside") for token in behind):
            return tokens[: at + 1]
    return tokens


def _ends_in_minutes(head: Sequence[Token]) -> bool:
    """ "Relaxation with babies 5", but not "flow 3"."""
    number = head[-1]
    parts = head[0].says("kinds.flow", "columns.section", "units.rounds", "how.round") or head[0].text.isupper()
    counted = len(head) == 2 and parts  # "YIN 30" too
    return number.kind == "number" and number.low >= LEAST_MINUTES and not counted


def _kind_and_loudness(line: Line, head: Sequence[Token], rest: Sequence[Token]) -> tuple[Kind | None, bool]:
    kind = _kind_of(head)
    if kind is None and _is_round(head) and not any(map(is_size, rest)):
        return Kind.FLOW, True
    return kind, _is_loud(line, head)


def _flat(tokens: Sequence[Token]) -> list[Token]:
    return [part for token in tokens for part in (token.inner if token.kind == "aside" else (token,))]


def _parted(tokens: Sequence[Token]) -> tuple[list[Token], list[Token]]:
    """The name of a heading, and what stands behind it: in brackets, behind a comma or dash, or with a number."""
    head: list[Token] = []
    for at, token in enumerate(tokens):
        if (
            token.kind == "aside"
            or (token.kind == "mark" and token.text in ",;—:" and head)
            or (token.kind == "length" and head and not token.says("kinds"))
            or (token.kind == "pair" and head and _are_work_and_rest(token))  # "CIRCUIT 40/20"
        ):
            return head, list(tokens[at:])
        sided = bool(head) and _sides_behind(head, tokens[at + 1 :])
        if token.kind == "times" and head and (token.says("units.rounds") or sided or _is_shouted(head)):
            return head, list(tokens[at:])
        if token.says("join.then") and _are_both(head) and any(one.says("again", "how") for one in tokens[at:]):
            first = next(place for place, one in enumerate(tokens) if one.says("sides"))
            return head[:first], list(tokens[first:])  # "FLOW R/L then twice more"
        if token.kind != "mark":
            head.append(token)
    return head, []


def _are_work_and_rest(pair: Token) -> bool:
    """ "40/20", "30/30"; "10/10" is so often on either side."""
    work, rest = pair.values
    return min(work, rest) >= LEAST_WORK_S and (work != rest or work > LEAST_WORK_S)


def _is_shouted(head: Sequence[Token]) -> bool:
    """ "STANDING FLOW x2": a name in capitals that is nothing but that of a part."""
    parts = all(token.says("kinds", "columns.section") for token in head)
    typed = "".join(token.text for token in head)
    return parts and typed.isupper() and len(typed) > SHORTEST_LOUD


def _sides_behind(head: Sequence[Token], behind: Sequence[Token]) -> bool:
    """ "FLOW B x2, R + L": nothing is counted but the rounds of a part that names no pose."""
    named = head[0].says("kinds") and not any(token.kind == "pose" for token in (*head, *behind))
    return named and any(token.says("sides") for token in behind)


def _lists(line: Line, below: Line | None) -> bool:
    """Whether a line without a mark stands above one with a bullet."""
    raw = below.raw.lstrip() if below is not None and below.form == "item" else ""
    bullet = raw[:1] in BULLETS and raw[1:2] != ">"
    return bool(raw) and bullet and line.form == "text"


def _counts_one(below: Line | None) -> bool:
    """Whether a line is the first of some that are counted, "1 plank", "2 side plank"."""
    return below is not None and _FIRST.match(below.raw.lstrip()) is not None


def _is_shouted_with_minutes(head: Sequence[Token], rest: Sequence[Token]) -> bool:
    """ "SUN SALUTES (12')" above "3 x A", "3 x B"."""
    typed = "".join(token.text for token in head)
    return typed.isupper() and len(typed) > SHORTEST_LOUD and len(rest) == 1 and _minutes_in_brackets(rest) is not None


def _stands_apart(line: Line, below: Line | None) -> bool:
    """In capitals below a blank line and right above another: "PLIÉS"."""
    letters = [letter for letter in re.sub(r"\(.*?(?:\)|$)", "", line.text) if letter.isalpha()]
    upper = len(letters) > SHORTEST_LOUD and all(letter.isupper() for letter in letters)
    return upper and line.first and below is not None and not below.first and not below.text.isupper()


def _is_loud(line: Line, head: Sequence[Token]) -> bool:
    beside = ("sides", "columns.side", "how.last", "join")  # "SERIE LATERAL lado der", "STRETCH last 5 min"
    typed = "".join(token.text for token in head if token.kind != "number" and not (token.says(*beside)))
    letters = [letter for letter in typed if letter.isalpha()]
    upper = len(letters) > SHORTEST_LOUD and all(letter.isupper() for letter in letters)
    return line.bold or upper or _ROMAN.match(line.raw.strip()) is not None or line.text.rstrip().endswith(":")


def _kind_of(head: Sequence[Token]) -> Kind | None:
    kinds = [token for token in head if token.says("kinds")]
    if not kinds:
        return None
    named = kind_named(" ".join(token.text for token in head))
    roles = [role.removeprefix("kinds.") for role in sorted(kinds[-1].roles) if role.startswith("kinds.")]
    return named or Kind(roles[0])


def _is_round(head: Sequence[Token]) -> bool:
    """ "Round 1", "round 2 slow", "block 2", "part B"."""
    words = len(head) > 1 and head[0].says("how.round", "units.rounds", "columns.section")
    numbered = words and (head[1].kind == "number" or (len(head[1].text) == 1 and head[1].text.isupper()))
    return numbered and all(token.says("how", "sides", "kinds", "columns") for token in head[2:])


def _may_head(head: Sequence[Token], *, loud: bool, bare: bool) -> bool:
    """No pose in the name, unless its words are those of a part too."""
    poses = [token for token in _without_props(head) if token.kind == "pose" and not token.picture]
    if any(not token.says("kinds") for token in poses):
        return False
    others = [
        token
        for token in head
        if not (
            token.says("kinds", "top", "join", "sides", "easy", "intervals", "again", "talk.props")
            or token.kind in ("number", "pose")
        )
    ]
    return len(others) <= (4 if loud else 2) and (
        loud or not poses or not bare or all(token.picture for token in head if token.kind == "pose")
    )


def heads_items(line: Line, tokens: Sequence[Token], below: Line | None) -> bool:
    """Whether a line that ends in the word for a part stands above items of a list: "crescent series (R+L)"."""
    head = [token for token in _parted(tokens)[0] if not token.says("sides", "join")]
    lists = below is not None and line.form == "text" and (below.form == "item" or below.level > line.level)
    return bool(lists and head[-1:] and head[-1].says("kinds") and 1 < len(head) <= MOST_HEAD)


def _all_of_it(rest: Sequence[Token]) -> bool:
    """Whether a bracket speaks of all that stands below: "(R side all the way up & down, then L)"."""
    return any(part.says("again.all") or part.says("how.quick") for token in rest for part in token.inner)


def _length_in(head: Sequence[Token]) -> Length | None:
    return next((token.length for token in head if token.kind == "length" and token.unit == "seconds"), None)


def _side_in(head: Sequence[Token]) -> Side | None:
    if any(token.says("sides.right") for token in head):
        return "right"
    return "left" if any(token.says("sides.left") for token in head) else None


def _add_up(told_s: float | None, minutes: Length | None) -> bool:
    """Whether lines tell about the minutes that their heading tells: "warm up 6 min" above its exercises."""
    if told_s is None or minutes is None:
        return False
    return not are_details(told_s, minutes) and told_s <= MOST_TOLD * minutes.likely


def are_details(told_s: float | None, minutes: Length) -> bool:
    """Say whether lines that tell so much by themselves only say what is done in these minutes of their heading."""
    return told_s is not None and told_s < MOST_OF_DETAILS * minutes.likely


@dataclass(slots=True)
class _Remainder:
    side: Side | None = None
    both: bool = False
    each: bool = False  # the minutes are those of one side
    rounds: int = 1
    again: int = 0
    minutes: Length | None = None
    intervals: tuple[float, float] | None = None
    between: Length | None = None
    hold: Length | None = None
    each_side: bool = False  # of the hold
    peak: bool = False
    notes: tuple[str, ...] = ()
    wishes: Wishes = field(default_factory=Wishes)
    says: str = ""


def _rest(tokens: Sequence[Token]) -> _Remainder | None:
    """What stands behind a heading's name; None where it holds what no heading does."""
    said = _Remainder()
    flat = [part for token in tokens for part in ([*token.inner] if token.kind == "aside" else [token])]
    flat = _without_more(flat, said)
    lengths = [token for token in flat if token.kind == "length"]
    in_bracket = {id(part) for token in tokens if token.kind == "aside" for part in token.inner}
    if any(token.kind == "pose" and id(token) not in in_bracket and not token.says("kinds") for token in flat):
        return None
    said.intervals = _intervals(flat)
    each = [length for length in lengths if length.unit == "seconds" and length.high <= LONGEST_STATION_S]
    rounds = any(token.kind == "times" and token.says("units.rounds") for token in flat)
    rounds = rounds or any(token.says("intervals.rest", "how.no_hold") for token in flat)  # "1:00 ea, no rest"
    if len(lengths) == len(each) == 1 and rounds and any(token.says("join.each", "sides.each") for token in flat):
        said.intervals, lengths = (each[0].low, 0.0), []  # "circuit 30 sec each, 3 rounds"
        flat = [token for token in flat if not (token.says("sides.each") and token.says("join.each"))]  # "30 sec ea"
    if said.intervals and not any(token.kind == "pair" for token in flat):
        lengths = lengths[2 if said.intervals[1] else 1 :]
    between = any(token.says("join.between") for token in flat)
    flows = [token for token in lengths if is_no_hold(token)]
    if flows and any(token.says("again", "sides") for token in flat):  # "R, L, then again 1 br per move"
        lengths = [token for token in lengths if token not in flows]
        said.again = sum(token.says("sides.each", "again.repeat") for token in sides_joined(flat)) > 1
    if between and lengths:
        said.between = lengths[-1].length
        lengths = lengths[:-1]
    held = any(token.says("how.hold") for token in flat)
    if held and len(lengths) == 1 and _is_of_each(flat, lengths[0]):
        said.hold, said.each_side, lengths = lengths[0].length, is_each_time(flat), []
    if lengths and lengths[0].unit == "seconds" and id(lengths[0]) not in in_bracket:
        said.minutes = lengths[0].length
        lengths = lengths[1:]
    if len(lengths) == 1 and id(lengths[0]) not in in_bracket and _is_of_each(flat, lengths[0]):
        said.hold, lengths = lengths[0].length, []
    if any(token.kind in ("counts", "pulses", "chain") for token in flat) or (
        lengths and any(id(token) not in in_bracket for token in lengths)
    ):
        return None
    _sides(said, flat)
    for at, token in enumerate(flat):
        if token.kind == "times" and not any(other.kind == "number" for other in flat[at + 1 : at + 2]):
            count = max(1, min(int((token.low + token.high) / 2), 50))
            if any(other.says("how.quick") for other in flat) and said.both:
                said.again = count
            else:
                said.rounds = count
        if token.says("how.twice") and said.both:
            said.rounds = 2  # "R then L, go round it twice"
        if token.says("kinds.peak"):
            said.peak = True
        if token.says("music") and not token.says("kinds"):
            said.wishes = wished(said.wishes, token)
    if not tokens or not lengths:
        said.notes = tuple(token.text for token in tokens if token.kind == "aside")
    if said.again:
        said.says += ", then once more, quick" if said.again == 1 else f", then {said.again} times more, quick"
    return said


def _without_more(flat: list[Token], said: _Remainder) -> list[Token]:
    """Note what comes behind both sides, as in "R, L, then both again faster", "R/L then twice more"; give the rest."""
    thens = [at for at, token in enumerate(flat) if _are_both(flat[:at]) and _goes_on(flat[at:])]
    more = flat[thens[-1] + 1 :] if thens else []
    quick = any(token.says("how.quick", "how.no_hold") or is_no_hold(token) for token in more)
    if any(token.kind == "pose" for token in more) or not (quick or any(token.says("again") for token in more)):
        return flat
    counts = (one for one, other in itertools.pairwise(more) if one.kind == "number" and other.says("again.more"))
    times = next((round(token.low) for token in (*counts, *more) if token.kind in ("times", "number")), None)
    count = times or (2 if any(token.says("how.twice") for token in more) else 1)
    if quick:
        said.again = count
    else:
        said.rounds += count
    return flat[: thens[-1]]


def _goes_on(behind: Sequence[Token]) -> bool:
    """Whether what is done after both sides begins here: "then", or a comma before "both again" or "2 more"."""
    again = any(token.says("again.repeat", "again.more") for token in behind)
    return behind[0].says("join.then") or (behind[0].kind == "mark" and behind[0].text in ",;—+&" and again)


def _are_both(flat: Sequence[Token]) -> bool:
    right, left = (any(token.says(side) for token in flat) for side in ("sides.right", "sides.left"))
    return (right and left) or any(token.says("sides.each") for token in flat)


def _is_of_each(flat: Sequence[Token], length: Token) -> bool:
    """ "hold everything 3 br", "5 breaths each": what each pose below takes that tells nothing itself."""
    brief = length.unit == "breaths" or length.high <= LONGEST_STATION_S
    alone = not any(token.kind == "pose" for token in flat)
    at = flat.index(length)
    each = any(token.says("join.each") for token in flat[at + 1 : at + 2]) or any(
        token.says("how.hold", "again.all") for token in (*flat[max(0, at - 2) : at], *flat[at + 1 : at + 2])
    )
    return brief and alone and each


def _sides(said: _Remainder, flat: Sequence[Token]) -> None:
    right = any(token.says("sides.right") for token in flat)
    left = any(token.says("sides.left") for token in flat)
    each = any(token.says("sides.each") for token in flat)
    within = any(one.says("join.each") and other.says("how.round") for one, other in itertools.pairwise(flat))
    right, left, each = (said_so and not within for said_so in (right, left, each))  # "both sides inside each round"
    said.both, said.each = each or (right and left), is_each_time(flat)
    said.side = None if said.both else "right" if right else "left" if left else None
    said.says = "first right, then left" if said.both else f"on the {said.side}" if said.side else ""


def is_each_time(flat: Sequence[Token]) -> bool:
    """ "5 min each side": said right behind the minutes, that of each side; "(10 min), both sides" is of both."""
    plain = [token for token in flat if not token.says("how.hold")]  # "1 min halten je Seite"
    return any(one.kind == "length" and other.says("sides.each") for one, other in itertools.pairwise(plain))


def _each_station(flat: Sequence[Token]) -> Token | None:
    """ "20s each straight through, all R then all L, whole thing x2": what each line of a part takes."""
    lengths = [token for token in flat if token.kind == "length"]
    only = lengths[0] if len(lengths) == 1 and lengths[0].unit == "seconds" else None
    if only is None or only.high > LONGEST_STATION_S or any(token.kind == "pose" for token in flat):
        return None
    each = any(one is only and other.says("join.each") for one, other in itertools.pairwise(flat))
    again = any(token.kind == "times" for token in flat)
    return only if each and again else None


def _intervals(flat: Sequence[Token]) -> tuple[float, float] | None:
    """ "40s on / 20s off", "30/15", "40 work 20 rest"."""
    each = _each_station(flat)
    if each is not None:
        return each.low, 0.0
    pair = next((token for token in flat if token.kind == "pair"), None)
    if pair and pair.values[0] >= 5:
        return pair.values[0], pair.values[1]
    if not any(token.says("intervals.work", "intervals.rest", "once.rest") for token in flat):
        return None
    sizes = [token for token in flat if token.kind in ("length", "number") and token.unit != "breaths"]
    work = next((at for at, token in enumerate(flat) if token.says("intervals.work")), None)
    beside = work is not None and any(flat[at] in sizes for at in (work - 1, work + 1) if 0 <= at < len(flat))
    if work is None and len(sizes) == 2 and all(size.kind == "length" for size in sizes):  # "40s / 20s rest"
        at = flat.index(sizes[1])
        beside = any(token.says("intervals.rest", "once.rest") for token in flat[at + 1 : at + 2])
    if len(sizes) < 2 or not beside:
        return None
    return sizes[0].low, sizes[1].low
