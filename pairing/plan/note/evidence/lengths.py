"""How long the parts of a line take, where that is open or odd for what it is."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from pairing.constants import USUAL_BREATH_S
from pairing.model import Element, Group
from pairing.plan.line.amounts import exactly
from pairing.plan.line.chunks import is_size
from pairing.plan.line.sizes import PASSIVE_BREATHS
from pairing.plan.note.evidence.numbers import bare_numbers, is_held, shared_out, values
from pairing.plan.note.evidence.typed import Setting, Typed
from pairing.plan.note.partly import Part
from pairing.plan.poses import Pose
from pairing.plan.style import LONG_HOLD_BREATHS

LONG_S = 240.0  # a line that names no minutes seldom takes longer; editorial
MUCH_GUESSED_S, MOST_GUESSED_S = 20.0, 60.0  # of a line, without a length; editorial
STAYED_S = 60.0  # a usual stay beyond that is a guess; editorial


def guessed(parts: Sequence[Part], setting: Setting) -> Iterator[str]:
    """Give a sign where nothing typed tells much of the time that a line takes."""
    seconds = 0.0 if setting.shares else sum(_guessed_s(part, setting) for part in parts)
    if seconds >= MUCH_GUESSED_S:
        yield "open guessed long" if seconds >= MOST_GUESSED_S else "open guessed"


def _guessed_s(part: Part, setting: Setting) -> float:
    """Seconds of a part that are the usual stay in its poses, and no more."""
    if isinstance(part, Group):
        once_s = 0.0 if part.minutes else sum(_guessed_s(inner, setting) for inner in part.parts)
        return once_s * part.rounds * (2 if part.both_sides else 1)
    pose = setting.table.poses.get(part.pose_id or "")
    if part.what != "pose" or part.length is not None or part.times or pose is None or _is_laid(pose):
        return 0.0
    return _usual_s(part, setting) * (2 if part.each_side else 1)


def _is_laid(pose: Pose) -> bool:
    """Whether one is laid down in it: its length is seldom typed, and known from the class."""
    return pose.family == "rest" and pose.hold_breaths_slow >= PASSIVE_BREATHS


def open_lengths(line: Typed, flat: Sequence[Element], setting: Setting) -> Iterator[str]:
    """Give a sign for each pose whose line tells no length."""
    sized = any(map(is_size, line.said))
    for part in flat:
        if part.what != "pose" or part.length is not None or part.pose_id is None:
            continue
        pose = setting.table.get(part.pose_id)
        rests = not sized and (_is_laid(pose) or setting.style.stay_s is not None)
        stays = not rests and _usual_s(replace(part, times=None), setting) > STAYED_S
        if setting.table.compound(part.pose_id) or (part.times is not None and not stays):
            continue
        if part.times is not None and not is_held(setting.table.get(part.pose_id), setting.table):
            continue
        yield "open long" if stays else "open beside" if sized else "open alone"


def shape(line: Typed, parts: Sequence[Part], flat: Sequence[Element], setting: Setting) -> Iterator[str]:
    """Give signs that a line as a whole is odd: too long, or with one length for several poses."""
    sizes = [token for token in line.said if is_size(token)]
    timed = any(
        token.kind in ("length", "pair") and token.unit == "seconds" and max(values(token)) >= 60 for token in sizes
    )
    timed = timed or (
        setting.style.stay_s is not None and any(token.kind == "pair" for token in sizes)
    )  # "4/4", in yin
    about = sum(_about_s(part, setting) for part in parts)
    whole = any(part.pose_id and setting.table.compound(part.pose_id) for part in flat)
    told = any(part.length is not None or part.times for part in flat)
    if (
        about > LONG_S
        and told
        and not timed
        and not whole
        and "bare minutes" not in bare_numbers(line, flat, setting.table)
    ):
        yield "long"
    lengths = [token for token in sizes if token.kind in ("length", "number")]
    holds = [part for part in flat if part.length is not None and part.what in ("pose", "gap")]
    stays = [part for part in holds if part.length != exactly("breaths", 1)] or holds  # others are passed through
    each = any(token.says("join.each", "again.all", "sides.each", "sides.right", "sides.left") for token in line.said)
    level = any(token.says("how.level") for token in line.said) or all(h.length == exactly("breaths", 1) for h in holds)
    plain = len(lengths) == 1 and not each and not level and not shared_out(lengths[0], parts)
    if plain and len(stays) > 1 and len({h.pose_id for h in stays}) > 1:
        yield "shared"
    rests = any(part.pose_id and setting.table.get(part.pose_id).family == "rest" for part in flat)
    then = [token.start for token in line.outside if token.says("join.then")]
    ends = [token.start for token in sizes]
    if len(flat) == 1 and len(sizes) > 1 and any(min(ends) < at < max(ends) for at in then):
        yield "merged"
    counted = [part.pose_id for part in flat if part.times and part.length is None and part.pose_id]
    if any(is_held(setting.table.get(pose_id), setting.table) for pose_id in counted):
        yield "count held"
    if setting.rounds and (timed or rests):
        yield "in rounds"


def about_s(parts: Sequence[Part], setting: Setting) -> float:
    """Give about the seconds that a line takes."""
    return sum(_about_s(part, setting) for part in parts)


def _about_s(part: Part, setting: Setting) -> float:
    """About the seconds that a part takes."""
    if isinstance(part, Group):
        if part.minutes:
            return part.minutes.likely
        inner_s = sum(_about_s(inner, setting) for inner in part.parts)
        return inner_s * part.rounds * (2 if part.both_sides else 1)
    if part.length is not None:
        once = part.length.likely * (USUAL_BREATH_S if part.length.unit == "breaths" else 1.0)
    else:
        once = _usual_s(part, setting)
    return once * (part.times or 1) * (2 if part.each_side else 1)


def _usual_s(part: Element, setting: Setting) -> float:
    """About the seconds of a pose, or of one repetition of it, where its line tells none."""
    pose, style = setting.table.poses.get(part.pose_id or ""), setting.style
    if pose is None:
        return 0.0
    steps = len(setting.table.compound(pose.id)) / 2
    if part.times and pose.rep_breaths is not None:
        return pose.rep_breaths * USUAL_BREATH_S
    if style.stay_s and not steps and pose.hold_breaths_slow >= LONG_HOLD_BREATHS:
        return style.stay_s
    usual = pose.hold_breaths_flow if style.holds == "flow" else pose.hold_breaths_slow
    return steps * USUAL_BREATH_S if steps else usual * style.breath_s
