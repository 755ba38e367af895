"""The teacher's own pace: said by hand, or learned from logs of classes taught; and the file it is kept in.

A log (docs/class-log.md) tells when each step of a class was seen to begin. Of every kind of section it gives seconds a
breath, in first passes and in later ones, and the time between poses; never what the note gives in seconds, which the
teacher reads off a clock. An odd evening has no weight beside two usual ones, and where few breaths were seen the value
stays near what this teacher does elsewhere, and that near what is usual in the style.

There are no logs of real classes to test this with; tests/benchmarks/own_pace.py tries it on made-up teachers.
"""

import statistics
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Annotated, Literal

import msgspec
from msgspec import Meta

from pairing.model import Kind, KindPace, OwnPace, Seconds, Text
from pairing.plan.style import Style, style_in_words

Count = Annotated[float, Meta(ge=0, le=100_000)]

# All editorial.
USUAL_BREATHS = 20.0  # what the teacher's breath is over all kinds counts as so many breaths seen
USUAL_CHANGES = 20.0  # and as so many changes of pose
LEAST_BREATHS, LEAST_CHANGES = 4.0, 2.0  # less says nothing of a class
INTERRUPTED = 4.0  # a step so many times longer or shorter than the others of its kind was no pose taught
INTERRUPTED_S = 90.0  # nor was one in which the clock was stopped for so long
ODD = 0.3  # a class so far from the median of all is an odd one
LATEST_CLASSES = 12  # what counts: a teacher's pace changes over the years
STATES = 20  # to take back
STILL_STYLES = frozenset({"yin", "restorative"})  # have a pace of their own


_KINDS = frozenset(kind.value for kind in Kind)


# ---- the log of a class ------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Change:
    """The moment a step of the class was seen to begin."""

    planned_s: Seconds
    real_s: Seconds  # since the start
    kind: Text
    section: Text = ""
    round: Annotated[int, Meta(ge=1, le=10_000)] = 1
    side: Literal["right", "left"] | None = None
    line: Annotated[int, Meta(ge=0)] = 0  # 0: between two poses
    pose: Text | None = None
    breaths: Annotated[float, Meta(ge=0, le=100_000)] | None = None


@dataclass(frozen=True, slots=True)
class Stay:
    """The class stayed where it was, longer than planned."""

    real_s: Seconds
    length_s: Seconds


@dataclass(frozen=True, slots=True)
class MovedOn:
    """The class moved on before its time."""

    real_s: Seconds
    saved_s: Annotated[float, Meta(ge=-86_400, le=86_400)]


@dataclass(frozen=True, slots=True)
class ClassLog:
    """What a class that was taught left behind."""

    format: Literal["arcbed-class-log"]
    version: Literal[1]
    title: Text
    started: Text  # ISO 8601 with zone
    changes: Annotated[tuple[Change, ...], Meta(max_length=20_000)]
    ended_real_s: Seconds
    plan_sha256: Annotated[str, Meta(max_length=64)] = ""
    left_out: Annotated[tuple[int, ...], Meta(max_length=20_000)] = ()
    stays: Annotated[tuple[Stay, ...], Meta(max_length=20_000)] = ()
    ons: Annotated[tuple[MovedOn, ...], Meta(max_length=20_000)] = ()


# ---- what is kept ------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Seen:
    """What one class showed of one kind of section."""

    first_breaths: Count = 0.0
    first_s: Count = 0.0
    later_breaths: Count = 0.0
    later_s: Count = 0.0
    changes: Count = 0.0
    between_s: Count = 0.0


@dataclass(frozen=True, slots=True)
class Taught:
    """One class taught."""

    started: Text
    title: Text
    still: bool  # yin or restorative
    seen: dict[str, Seen]


@dataclass(frozen=True, slots=True)
class KeptPace:
    """The teacher's pace as it is kept, and what it was before."""

    format: Literal["arcbed-pace"] = "arcbed-pace"
    version: Literal[1] = 1
    said: dict[str, KindPace] = field(default_factory=dict)  # by kind of section
    taught: tuple[Taught, ...] = ()
    previous: tuple["FormerPace", ...] = ()

    def changed(
        self, *, said: dict[str, KindPace] | None = None, taught: tuple[Taught, ...] | None = None
    ) -> "KeptPace":
        """Give the pace after a change, which can be taken back."""
        return replace(
            self,
            said=self.said if said is None else said,
            taught=self.taught if taught is None else taught,
            previous=(*self.previous, FormerPace(self.said, self.taught))[-STATES:],
        )

    def undone(self) -> "KeptPace | None":
        """Give the pace before the last change; None where there was none."""
        if not self.previous:
            return None
        former = self.previous[-1]
        return replace(self, said=former.said, taught=former.taught, previous=self.previous[:-1])


@dataclass(frozen=True, slots=True)
class FormerPace:
    """What a pace was before a change."""

    said: dict[str, KindPace]
    taught: tuple[Taught, ...]


def pace_from_json(text: bytes) -> KeptPace:
    """Read a pace. Raises: msgspec.DecodeError."""
    return msgspec.json.decode(text, type=KeptPace)


def log_from_json(text: bytes) -> ClassLog:
    """Read the log of a class. Raises: msgspec.DecodeError."""
    return msgspec.json.decode(text, type=ClassLog)


def as_json(pace: KeptPace) -> bytes:
    """Write a pace."""
    return msgspec.json.format(msgspec.json.encode(pace), indent=2) + b"\n"


# ---- learning ----------------------------------------------------------------------------------------------------


def learned(pace: KeptPace, logs: Iterable[ClassLog]) -> KeptPace:
    """Give the pace with these classes; a log known already counts once."""
    taught = {each.started: each for each in pace.taught}
    for log in logs:
        taught[log.started] = taught_in(log)
    return pace.changed(taught=tuple(sorted(taught.values(), key=lambda each: each.started)))


def taught_in(log: ClassLog) -> Taught:
    """Sum up what a log shows of each kind of section."""
    steps = _usual(_steps(log))
    style = style_in_words(log.title)
    return Taught(
        started=log.started,
        title=log.title,
        still=style is not None and style.name in STILL_STYLES,
        seen={kind: _seen([step for step in steps if step.kind == kind]) for kind in sorted({s.kind for s in steps})},
    )


@dataclass(frozen=True, slots=True)
class _PacedStep:
    kind: str
    first: bool  # in a first pass that later ones follow
    breaths: float | None  # None: between two poses
    real_s: float

    @property
    def rate(self) -> float:
        return self.real_s / (self.breaths or 1.0)


def _steps(log: ClassLog) -> list[_PacedStep]:
    later = {change.section for change in log.changes if change.round > 1}
    stopped = [stay.real_s for stay in log.stays if stay.length_s >= INTERRUPTED_S]
    found = []
    for change, after in pairwise(log.changes):
        real_s = after.real_s - change.real_s
        counted = change.breaths if change.line else None
        if real_s <= 0.0 or (change.line and not counted):
            continue
        if any(change.real_s <= at < after.real_s for at in stopped):
            continue
        found.append(_PacedStep(change.kind, change.round == 1 and change.section in later, counted, real_s))
    return found


def _usual(steps: Sequence[_PacedStep]) -> list[_PacedStep]:
    """Leave out what was no pose taught: an interruption, a line skipped."""
    kept = []
    for key in {(step.kind, step.breaths is None) for step in steps}:
        same = [step for step in steps if (step.kind, step.breaths is None) == key]
        middle = statistics.median(step.rate for step in same)
        kept += [step for step in same if middle / INTERRUPTED <= step.rate <= middle * INTERRUPTED]
    return kept


def _seen(steps: Sequence[_PacedStep]) -> Seen:
    first = [step for step in steps if step.breaths is not None and step.first]
    later = [step for step in steps if step.breaths is not None and not step.first]
    between = [step for step in steps if step.breaths is None]
    return Seen(*_sums(first), *_sums(later), len(between), sum(step.real_s for step in between))


def _sums(steps: Sequence[_PacedStep]) -> tuple[float, float]:
    return sum(step.breaths or 0.0 for step in steps), sum(step.real_s for step in steps)


# ---- the pace of a class -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Drift:
    """How much slower than usual (above 1) a teacher is over all kinds of sections."""

    breath: float
    between: float
    first: float  # and how much slower in first passes than in later ones


def own_pace(pace: KeptPace, style: Style) -> OwnPace | None:
    """Give the pace for classes of a style; None where nothing is said or learned that holds for it.

    Kinds of sections that weren't seen are as much slower or quicker than usual as those that were.
    """
    still = style.name in STILL_STYLES
    classes = [each for each in pace.taught if each.still == still][-LATEST_CLASSES:]
    if not classes and not pace.said:
        return None
    drift = _drift(classes, style)
    kinds = {kind: _of_kind(kind, classes, style, drift, pace.said.get(kind.value)) for kind in Kind}
    return OwnPace(kinds=kinds, classes=len(classes))


def _of_kind(kind: Kind, classes: Sequence[Taught], style: Style, drift: _Drift, said: KindPace | None) -> KindPace:
    usual_s = style.breath_in(kind) * drift.breath
    later_s = _settled([_later(each.seen.get(kind.value)) for each in classes], usual_s, LEAST_BREATHS, USUAL_BREATHS)
    first = [_first(each.seen.get(kind.value)) for each in classes]
    first_s = _settled(first, later_s * drift.first, LEAST_BREATHS, USUAL_BREATHS)
    changes = [_changes(each.seen.get(kind.value)) for each in classes]
    between_s = _settled(changes, style.between_s * drift.between, LEAST_CHANGES, USUAL_CHANGES)
    if said is None:
        return KindPace(later_s, first_s, between_s)
    breath_s = said.breath_s or later_s
    return KindPace(
        breath_s,
        said.first_breath_s or first_s * breath_s / later_s,
        between_s if said.between_s is None else said.between_s,
    )


def _later(seen: Seen | None) -> tuple[float, float]:
    return (seen.later_breaths, seen.later_s) if seen else (0.0, 0.0)


def _first(seen: Seen | None) -> tuple[float, float]:
    return (seen.first_breaths, seen.first_s) if seen else (0.0, 0.0)


def _changes(seen: Seen | None) -> tuple[float, float]:
    return (seen.changes, seen.between_s) if seen else (0.0, 0.0)


def _settled(seen: Iterable[tuple[float, float]], usual_s: float, least: float, usual_weight: float) -> float:
    """The mean of the classes that show enough, odd ones left out, drawn to the usual value the less was seen.

    Args:
        seen: of each class, how many and how many seconds.
    """
    telling = [(count, seconds) for count, seconds in seen if count >= least]
    if not telling:
        return usual_s
    middle = statistics.median(seconds / count for count, seconds in telling)
    kept = [(count, s) for count, s in telling if abs(s / count - middle) <= ODD * middle]
    weight = sum(count for count, _ in kept)
    return (sum(seconds for _, seconds in kept) + usual_weight * usual_s) / (weight + usual_weight)


def _drift(classes: Sequence[Taught], style: Style) -> _Drift:
    breath, between, first = [], [], []
    for taught in classes:
        kinds: Mapping[Kind, Seen] = {Kind(k): s for k, s in taught.seen.items() if k in _KINDS}
        breath.append(
            (
                sum(seen.later_breaths * style.breath_in(kind) for kind, seen in kinds.items()),
                sum(seen.later_s for seen in kinds.values()),
            )
        )
        between.append(
            (sum(seen.changes * style.between_s for seen in kinds.values()), sum(s.between_s for s in kinds.values()))
        )
        both = [seen for seen in kinds.values() if min(seen.first_breaths, seen.later_breaths) >= LEAST_BREATHS]
        first.append(
            (
                sum(seen.first_breaths * seen.later_s / seen.later_breaths for seen in both),
                sum(seen.first_s for seen in both),
            )
        )
    usual_s = style.breath_s * USUAL_BREATHS
    return _Drift(
        breath=_settled(breath, 1.0, 1.0, usual_s / 4),
        between=_settled(between, 1.0, 1.0, style.between_s * 2),
        first=_settled(first, style.first_pass, 1.0, usual_s / 4),
    )
