"""Does the class fit its slot, in the likely and in the longest case, and what to do if not.

available = slot - settle - leave. "fits": the longest case fits; "tight": only the likely one does; "too long": not
even that. A class that leaves more than a tenth of the time over is told where time may go.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from audio.text import clock
from pairing.checks.remedies import PlanChange, lengthening, shortening
from pairing.checks.timer import Timer
from pairing.constants import LONG_REST, usual_rest_s
from pairing.effort.manner import told_style
from pairing.effort.timetable import available_s
from pairing.model import Apply, Finding, Kind, Plan, Remedy, Timetable, Where
from pairing.plan.poses import PoseTable

SPARE_SHARE = 0.1  # of the available time; more than that left over is worth a word; editorial
_ROUNDING_S = 0.5  # below what a plan can say
_WORTH_S = 1.0  # a remedy that saves less isn't shown
MOST_NAMED = 3  # remedies in one sentence

Fits = Literal["fits", "tight", "too long"]


@dataclass(frozen=True, slots=True)
class SlotCheck:
    """How a class lies in its slot; all None and empty where the plan names no slot."""

    available_s: float | None = None
    spare_s: float | None = None  # below 0: so much too long
    fits: Fits | None = None
    findings: tuple[Finding, ...] = ()
    remedies: tuple[Remedy, ...] = ()  # best first

    @property
    def left_over_s(self) -> float | None:
        """Seconds that a class which fits leaves of its slot, where they are so many that it is worth a word."""
        much = self.fits == "fits" and (self.spare_s or 0.0) > SPARE_SHARE * (self.available_s or 0.0)
        return self.spare_s if much else None


def check_slot(plan: Plan, timetable: Timetable, poses: PoseTable) -> SlotCheck:
    """Compare a class with its slot; without a slot there is nothing to say.

    Remedies change the plan's text and nothing but what they say; `saves_s` is what the likely class gets shorter by
    (below 0: longer), or, where a section takes what is left, what that section gains. First stand those that are
    enough alone, the smallest of them first; then the others, the largest first.
    """
    available = available_s(plan)
    if available is None:
        return SlotCheck()
    spare = available - timetable.duration_s
    fits = _fits(timetable, available)
    remedies: tuple[Remedy, ...] = ()
    if fits != "fits":
        needed = -spare if fits == "too long" else timetable.longest_s - available
        remedies = _ranked(_timed(plan, poses, shortening(plan), least_s=_WORTH_S), needed)
    elif spare > SPARE_SHARE * available:
        remedies = _filling(plan, poses, spare)
    elif (much := _rest_too_long(timetable)) > _WORTH_S:
        remedies = _filling(plan, poses, much)
    findings = _findings(plan, timetable, available, fits, remedies)
    return SlotCheck(available, spare, fits, tuple(findings), remedies)


def _rest_too_long(timetable: Timetable) -> float:
    """Seconds of a closing rest, far longer than usual, that could go elsewhere."""
    usual_s = usual_rest_s(timetable.duration_s)
    rest_s = sum(section.end_s - section.start_s for section in timetable.sections if section.kind == Kind.REST)
    return rest_s - usual_s if rest_s > LONG_REST * usual_s else 0.0


def _filling(plan: Plan, poses: PoseTable, room_s: float) -> tuple[Remedy, ...]:
    """Where so much time may go, the largest first; what is more than a rest should get isn't offered."""
    timed = _timed(plan, poses, lengthening(plan, room_s), least_s=-room_s - _ROUNDING_S, most_s=-_WORTH_S)
    return tuple(sorted(timed, key=lambda remedy: (remedy.saves_s, remedy.id)))


def _fits(timetable: Timetable, available: float) -> Fits:
    if timetable.longest_s <= available + _ROUNDING_S:
        return "fits"
    return "tight" if timetable.duration_s <= available + _ROUNDING_S else "too long"


def _timed(
    plan: Plan, poses: PoseTable, changes: Iterable[PlanChange], *, least_s: float, most_s: float = float("inf")
) -> list[Remedy]:
    """Turn changes into remedies with what they save; leave out those that save too little or too much, and
    those after which the class would be of another style."""
    timer = Timer.of(plan, poses)
    before, style = timer.seconds(), told_style(plan).style
    remedies = []
    for change in changes:
        after = timer.seconds(change)
        if before is None or after is None or told_style(change.plan(plan)).style != style:
            continue  # in another style all else would take another time
        saves = before[0] - after[0]
        goes_to_rest = abs(saves) < _WORTH_S
        if goes_to_rest:
            saves = before[1] - after[1]
        if least_s <= saves <= most_s:
            remedies.append(Remedy(change.id, _text(change, saves, goes_to_rest), saves, change.edits))
    return remedies


def _text(change: PlanChange, saves: float, goes_to_rest: bool) -> str:
    if goes_to_rest:
        return f"{change.text}: {clock(abs(saves))} {'for' if saves > 0 else 'of'} what is left"
    return f"{change.text}: {clock(abs(saves))} {'shorter' if saves > 0 else 'longer'}"


def _ranked(remedies: list[Remedy], needed: float) -> tuple[Remedy, ...]:
    enough = sorted((r for r in remedies if r.saves_s >= needed - _ROUNDING_S), key=lambda r: (r.saves_s, r.id))
    others = sorted((r for r in remedies if r.saves_s < needed - _ROUNDING_S), key=lambda r: (-r.saves_s, r.id))
    return (*enough, *others)


def _advice(remedies: tuple[Remedy, ...], needed: float) -> tuple[str | None, tuple[Apply, ...]]:
    """Name the first remedies that together save what is needed; as if each saved what it saves alone."""
    if not remedies:
        return None, ()
    taken, saved = [remedies[0]], remedies[0].saves_s
    for remedy in remedies[1:]:
        if saved >= needed - _ROUNDING_S:
            break
        taken.append(remedy)
        saved += remedy.saves_s
    named = taken if len(taken) <= MOST_NAMED + 1 else taken[:MOST_NAMED]
    names = "; ".join(remedy.text for remedy in named)
    if len(named) < len(taken):
        names += f"; and less from {len(taken) - len(named)} others"
    deeds = tuple(Apply(remedy.id) for remedy in named)
    if len(taken) == 1:
        return f"For example: {names}.", deeds
    enough = saved >= needed - _ROUNDING_S
    return f"{'Together enough' if enough else 'Not enough even together'}: {names}.", deeds


def _findings(
    plan: Plan, timetable: Timetable, available: float, fits: Fits, remedies: tuple[Remedy, ...]
) -> Iterator[Finding]:
    where = Where(plan.file or plan.title)
    spare = available - timetable.duration_s
    needed = -spare if fits == "too long" else timetable.longest_s - available if fits == "tight" else 0.0
    best, deeds = _advice(remedies, needed)
    if fits == "too long":
        yield Finding(
            "must",
            "too-long",
            where,
            f"The class takes {clock(timetable.duration_s)}, {clock(-spare)} more than you have ({clock(available)}).",
            best or "Leave something out, or book a longer slot.",
            deeds=deeds,
        )
    elif fits == "tight":
        yield Finding(
            "should",
            "tight",
            where,
            f"The class fits as planned ({clock(timetable.duration_s)} of {clock(available)}), but with options and a "
            f"slower breath it takes {clock(timetable.longest_s)}.",
            best or "Know what you will leave out if time runs short.",
            deeds=deeds,
        )
    if spare > SPARE_SHARE * available:
        example, longer = _advice(remedies[:1], needed) if fits == "fits" else (None, ())
        yield Finding(
            "should",
            "spare-time",
            where,
            f"The class takes {clock(timetable.duration_s)}; {clock(spare)} of {clock(available)} is left over.",
            example or 'Give the rest "what is left", or add rounds.',
            deeds=longer,
        )
