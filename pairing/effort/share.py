"""Lines that share a given number of minutes, and the section that takes what is left of the slot.

Lines with a length keep it; each hold without one gets the same share of what remains (in quicker rounds a share
quicker by as much). Salutations and transitions without a length keep their count of breaths as long as there are
holds to share; else they stretch. No share is shorter than half a breath: then the lines win over the minutes.
"""

from audio.text import clock
from pairing.effort.line import LEFT_OVER
from pairing.effort.walk import Spread, TimedStretch, Walk
from pairing.model import Finding, Where

_NOTICED_S = 1.0  # smaller differences are not worth a word


def share_minutes(walk: Walk, available_s: float | None) -> tuple[Finding, ...]:
    """Set the seconds of all stretches that fill given minutes, and of what is left; says where it can't be done.

    Args:
        walk: changed in place.
        available_s: slot less settling and leaving; None: no slot, nothing is stretched to it.
    """
    findings: list[Finding] = []
    for spread in walk.spreads:  # inner groups come before those around them
        if spread.group.minutes is not None:
            wanted = walk.pace.seconds(spread.group.minutes, walk.stretches[spread.first].here.breath_s)
            findings.extend(_told(walk, spread, wanted, _fill(walk, spread, wanted)))
            _settle(walk, spread)
    open_ended = [spread for spread in walk.spreads if spread.group.what_is_left]
    for spread in open_ended:
        if spread.group.at_least_s is not None:
            _fill(walk, spread, spread.group.at_least_s)
    if available_s is not None and open_ended:
        _stretch(walk, open_ended, available_s - walk.seconds())
    walk.stretches = [stretch for stretch in walk.stretches if stretch.line is not LEFT_OVER or stretch.seconds > 0.0]
    return tuple(findings)


def _fill(walk: Walk, spread: Spread, wanted_s: float) -> float:
    """Share `wanted_s` out; give the seconds by which the lines are longer (above 0) or leave time over (below)."""
    part = walk.stretches[spread.first : spread.last]
    sharers = _sharers(part)
    kept_s = sum(stretch.seconds for stretch in part) - sum(stretch.seconds for stretch in sharers)
    weights = [_weight(stretch) for stretch in sharers]
    for stretch, weight in zip(sharers, weights, strict=True):
        share_s = max(0.0, wanted_s - kept_s) * weight / sum(weights)
        stretch.seconds = max(share_s, stretch.here.breath_s / 2)
        if not stretch.line.compound:
            stretch.breaths = None
    return sum(stretch.seconds for stretch in part) - wanted_s


def _sharers(part: list[TimedStretch]) -> list[TimedStretch]:
    holds = [stretch for stretch in part if stretch.shares == "yes"]
    return holds or [stretch for stretch in part if stretch.shares == "if it must" and stretch.seconds > 0.0]


def _weight(stretch: TimedStretch) -> float:
    return stretch.here.pace if stretch.shares == "yes" else stretch.seconds


def _told(walk: Walk, spread: Spread, wanted_s: float, over_s: float) -> list[Finding]:
    """Say that the lines are longer than the minutes, or put the time they leave over at the end."""
    if abs(over_s) < _NOTICED_S:
        return []
    name = spread.group.name
    where = Where(walk.plan.file, spread.group.place.line) if walk.plan.file else Where(section=name)
    if over_s > 0.0:
        return [
            Finding(
                "should",
                "lines-longer-than-minutes",
                where,
                f'The lines of "{name}" take {clock(wanted_s + over_s)}, more than its {clock(wanted_s)}; '
                "the lines win.",
                "Shorten a line, or give the section the minutes its lines take.",
            )
        ]
    walk.stretches[spread.last - 1].seconds -= over_s
    return [
        Finding(
            "should",
            "minutes-not-filled",
            where,
            f'The lines of "{name}" take {clock(wanted_s + over_s)} of its {clock(wanted_s)}; '
            f"{clock(-over_s)} at its end is left open.",
            "Take the length off one line, and it fills the rest.",
        )
    ]


def _settle(walk: Walk, spread: Spread) -> None:
    for stretch in walk.stretches[spread.first : spread.last]:
        stretch.shares = "no"


def _stretch(walk: Walk, open_ended: list[Spread], left_s: float) -> None:
    """Give every open-ended group the same part of the time left in the slot."""
    if left_s <= 0.0:
        return
    for spread in open_ended:
        part = walk.stretches[spread.first : spread.last]
        now_s = sum(stretch.seconds for stretch in part)
        missing_s = -_fill(walk, spread, now_s + left_s / len(open_ended))
        poses = [stretch for stretch in part if stretch.line.what == "pose"]
        (poses or part)[-1].seconds += max(0.0, missing_s)
