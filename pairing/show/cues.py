"""A timetable as a teacher reads it: a section's lines once, however many rounds; what to leave out when late.

Steps that are the same line of the plan become one line of the sheet, with the rounds and sides it is done in.
"""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from audio.text import clock, one_line
from pairing.effort.breath import MOVING_KINDS, TOLERANCE
from pairing.model import Kind, Passage, SectionTime, Step, Timetable
from pairing.plan.poses import pose_table
from pairing.show.text import counted, length

NEAR_S = 10.0  # a change of music so close to a beginning counts as at it; editorial
LONG_HOLD_BREATHS = 3.0  # holds from this length on can give a breath away; editorial
TIMED_HOLD_S = 60.0  # so can holds given in seconds or minutes from this length on; editorial
QUICKER = 0.9  # of the breaths of the first pass; editorial
LEAST_SAVING_S = 10.0  # what saves less is not worth saying; editorial


@dataclass(frozen=True, slots=True)
class CueLine:
    """One line of a section: "warrior two, 4 breaths", with what else is to be known."""

    name: str
    amount: str  # "4 breaths", "×3, 5 breaths each", "2 minutes"
    marks: tuple[str, ...]  # "each side", "from round 2", "optional"
    note: str
    what: str  # "pose", "say", "pause", "bell" and the like


@dataclass(frozen=True, slots=True)
class Lap:
    """One round, with the side and moment of each pass, in class seconds."""

    round: int
    sides: tuple[tuple[str, float], ...]  # ("right", 754.0); "" where sides don't matter


@dataclass(frozen=True, slots=True)
class Saving:
    """A moment up to which something can be decided to be left out, in class seconds, and what that gives."""

    from_s: float
    saves_s: float
    spans: tuple[tuple[float, float], ...]  # the stretches that fall away; () where holds only get shorter


@dataclass(frozen=True, slots=True)
class Drop:
    """Something that can be left out to gain time, kindest to the class first."""

    what: Literal["option", "breath", "round"]
    text: str
    section: int  # index into Timetable.sections
    savings: tuple[Saving, ...]


def as_in_set(timetable: Timetable, sections: Sequence[SectionTime]) -> Timetable:
    """A plan's timetable with each section where a set has it: a rest may have been made longer or shorter since.

    Inside a section that has changed its length everything keeps its share. Sections that don't correspond one by one
    leave the timetable as it is.
    """
    pairs = list(zip(timetable.sections, sections, strict=False))
    if len(sections) != len(timetable.sections) or all(a.start_s == b.start_s and a.end_s == b.end_s for a, b in pairs):
        return timetable
    moved = tuple(
        replace(
            section,
            start_s=there.start_s,
            end_s=there.end_s,
            passes=tuple(
                replace(p, start_s=_moved(p.start_s, section, there), end_s=_moved(p.end_s, section, there))
                for p in section.passes
            ),
        )
        for section, there in pairs
    )
    steps = tuple(
        replace(s, start_s=_moved(s.start_s, *pairs[s.section]), end_s=_moved(s.end_s, *pairs[s.section]))
        for s in timetable.steps
    )
    return replace(timetable, duration_s=moved[-1].end_s, sections=moved, steps=steps)


def _moved(at_s: float, here: SectionTime, there: SectionTime) -> float:
    length_s = here.end_s - here.start_s
    share = (at_s - here.start_s) / length_s if length_s > 0 else 0.0
    return there.start_s + share * (there.end_s - there.start_s)


def lines_of(timetable: Timetable, section: int) -> tuple[CueLine, ...]:
    """Give the lines of a section in the order in which they first come."""
    steps = [step for step in timetable.steps if step.section == section and step.what != "between"]
    runs = runs_of(timetable.sections[section])
    sided = any(passage.side for passage in timetable.sections[section].passes)
    quick = _quick_steps(steps)
    rows: dict[tuple[int, str, bool], list[Step]] = {}
    order: list[tuple[int, str, bool]] = []
    before: tuple[int, str, bool] | None = None
    for step in steps:
        key = (*_asked_by(step), id(step) in quick)
        if key not in rows:  # one that comes only in a later round stands where it comes there
            order.insert(order.index(before) + 1 if before else 0, key)
        rows.setdefault(key, []).append(step)
        before = key
    return tuple(_line(rows[key], runs, sided, quick=key[-1]) for key in order)


def _asked_by(step: Step) -> tuple[int, str]:
    """The line of the plan that a step is of, and its name."""
    return step.line or step.told_by, step.name


def _quick_steps(steps: Sequence[Step]) -> set[int]:
    """The steps (by id) that a heading has done once more in fewer breaths, as in "R, then L, then both again faster".

    Where all that can be quicker in a pass is, the whole pass is: what takes a breath either time is part of it.
    """
    firsts: dict[tuple[int, str], Step] = {}
    found: set[int] = set()
    for done in _passes_of(steps):
        quicker = [step for step in done if _is_quicker(step, firsts.setdefault(_asked_by(step), step))]
        others = [step for step in done if step not in quicker and step.breaths is not None]
        whole = quicker and all(
            step is not firsts[_asked_by(step)] and (step.breaths or 0) <= step.times for step in others
        )
        found |= {id(step) for step in (done if whole else quicker)}
    return found


def _passes_of(steps: Sequence[Step]) -> list[list[Step]]:
    """Part steps where an earlier line of the plan comes again."""
    passes: list[list[Step]] = []
    for step in steps:
        if not passes or _asked_by(step)[0] < _asked_by(passes[-1][-1])[0]:
            passes.append([])
        passes[-1].append(step)
    return passes


def _is_quicker(step: Step, first: Step) -> bool:
    """Whether a step takes fewer breaths than it took first."""
    if step.breaths is None or first.breaths is None:
        return step.breaths is not None and step is not first
    return step.breaths / step.times < QUICKER * first.breaths / first.times


def runs_of(section: SectionTime) -> tuple[tuple[Passage, ...], ...]:
    """Part the passes of a section into runs whose rounds are counted together.

    A section with rounds is one run. One that holds groups with rounds of their own has a run for each group and for
    each stretch between them.
    """
    runs: list[list[Passage]] = []
    for passage in section.passes:
        if not runs or _counts_anew(passage, runs[-1]):
            runs.append([])
        runs[-1].append(passage)
    return tuple(map(tuple, runs))


def _counts_anew(passage: Passage, run: Sequence[Passage]) -> bool:
    before = run[-1]
    if passage.round != before.round:
        return passage.round < before.round
    if passage.side is None:  # the time between two rounds is a pass of its own
        return before.side is None and passage.round == 1
    return not any(p.side for p in run) or any((p.round, p.side) == (passage.round, passage.side) for p in run)


def rounds_at(section: SectionTime, at_s: float) -> int:
    """How many rounds are counted together at a moment of a section."""
    return next((_rounds_in(run) for run in runs_of(section) if at_s < run[-1].end_s), 1)


def _rounds_in(run: Sequence[Passage]) -> int:
    return max(passage.round for passage in run)


def laps_of(section: SectionTime) -> tuple[Lap, ...]:
    """Give the rounds of a section; empty where nothing is done twice."""
    return tuple(
        Lap(number, tuple((passage.side or "", passage.start_s) for passage in _begun(list(same))))
        for run in runs_of(section)
        if len(run) > 1
        for number, same in itertools.groupby(run, key=lambda passage: passage.round)
    )


def _begun(same: list[Passage]) -> list[Passage]:
    """The passes of a round; where it has no sides it begins with its last one, behind the time to get there."""
    return same if any(passage.side for passage in same) else same[-1:]


def amount_of(step: Step) -> str:
    """How long a step takes, in the unit the teacher counts in.

    >>> amount_of(Step("pose", "boat", 0, 45, 0, breaths=9, times=3))
    '×3, 3 breaths each'
    """
    if step.what == "bell":
        return f"×{step.times}" if step.times > 1 else ""
    if step.times > 1:
        return f"×{step.times}{_each(step)}"
    if step.what in ("pose", "say") and step.breaths is not None:
        return counted(step.breaths, "breath", "breaths")
    return length(step.end_s - step.start_s) if step.end_s > step.start_s else ""


def _each(step: Step) -> str:
    """How long one of several times takes; nothing where each is done on a breath."""
    if step.breaths is None:
        return f", {length((step.end_s - step.start_s) / step.times)} each"
    once = step.breaths / step.times
    return f", {counted(round(once), 'breath', 'breaths')} each" if once >= 1.5 and once == round(once) else ""


def place_at(timetable: Timetable, at_s: float) -> tuple[str, bool]:
    """Say where the class is at a moment, and whether something begins there.

    Returns:
        "the left side of Tide, round 2" or "Tide, round 2, left side: warrior two"; True for the former kind.
    """
    for section in timetable.sections:
        for passage in _beginnings(section):
            if abs(passage.start_s - at_s) <= NEAR_S:
                return _beginning(section, passage), True
    section, passage, step = _here(timetable, at_s)
    place = one_line(section.name)
    if rounds_at(section, at_s) > 1:
        place += f", round {passage.round}"
    if passage.side:
        place += f", {passage.side} side"
    return (f"{place}: {one_line(step.name)}" if step else place), False


def drops(timetable: Timetable) -> tuple[Drop, ...]:
    """What can be left out, section by section: options, a breath of long holds, a last round; never of the rest."""
    found: list[Drop] = []
    for index, section in enumerate(timetable.sections):
        if section.kind == Kind.REST:
            continue
        steps = [step for step in timetable.steps if step.section == index]
        found += _options(index, one_line(section.name), steps)
        found += _shorter_holds(index, section, steps)
        found += _last_round(index, section)
    return tuple(found)


def drops_after(drops: Sequence[Drop], at_s: float, section: int) -> list[tuple[Drop, float]]:
    """What can still be left out after a moment, nearest first: something small, and a round if there is one.

    Returns:
        At most two drops with the seconds they give; an option goes before shorter holds.
    """
    still = [(drop, left(drop, at_s)) for drop in drops if drop.section >= section]
    still = [(drop, saves) for drop, saves in still if saves >= LEAST_SAVING_S]
    small = min(
        (pair for pair in still if pair[0].what != "round"),
        key=lambda pair: (pair[0].what != "option", pair[0].section),
        default=None,
    )
    large = min((pair for pair in still if pair[0].what == "round"), key=lambda pair: pair[0].section, default=None)
    return [pair for pair in (small, large) if pair]


def left(drop: Drop, at_s: float) -> float:
    """Seconds that a drop still gives at a moment."""
    return sum(saving.saves_s for saving in drop.savings if saving.from_s >= at_s)


def fitting(levels_bpm: Sequence[float], timetable: Timetable, at_s: float) -> float | None:
    """The level of the beat that fits the breath at a moment; the first in a still section, None without a beat."""
    breath_s = _moving_breath_s(timetable, at_s)
    if not levels_bpm or breath_s is None:
        return next(iter(levels_bpm), None)
    return min(levels_bpm, key=lambda bpm: abs(bpm * breath_s / 60 - 2 * round(bpm * breath_s / 120)))


def beats_a_breath(tempo_bpm: float | None, timetable: Timetable, at_s: float) -> str:
    """How many beats fall on a breath at a moment, in words; empty where there is no beat or the class is still."""
    breath_s = _moving_breath_s(timetable, at_s)
    if not tempo_bpm or breath_s is None:
        return ""
    beats = tempo_bpm * breath_s / 60
    whole = round(beats)
    if whole and abs(beats / whole - 1) <= TOLERANCE:
        return f"{whole} beats a breath"
    return f"{int(beats)} to {int(beats) + 1} beats a breath"


def _moving_breath_s(timetable: Timetable, at_s: float) -> float | None:
    """Length of a breath at a moment; None where the class is still."""
    section, passage, _ = _here(timetable, at_s)
    if section.kind not in MOVING_KINDS:
        return None
    own = (_breath_s(step) for step in timetable.steps if step.breaths and step.start_s >= passage.start_s)
    return next(own, None) or section.breath_s


def _breath_s(step: Step) -> float:
    return (step.end_s - step.start_s) / (step.breaths or 1)


def _line(same: list[Step], runs: Sequence[Sequence[Passage]], sided: bool, *, quick: bool) -> CueLine:
    first = same[0]
    name = " or ".join(one_line(word) for word in (first.name, *first.alternatives)) or first.what
    marks = (*(["again, quick"] if quick else []), *_marks(same, runs, sided))
    return CueLine(name, amount_of(first), marks, one_line(first.note), first.what)


def _marks(same: list[Step], runs: Sequence[Sequence[Passage]], sided: bool) -> Iterator[str]:
    laps = next((_rounds_in(run) for run in runs if same[0].start_s < run[-1].end_s), 1)
    sides = {step.side for step in same} - {None}
    if len(sides) == 1 or (sides and not sided):
        yield "each side" if len(sides) == 2 else f"{sides.pop()} only" if sided else f"{sides.pop()}"
    first, last = min(step.round for step in same), max(step.round for step in same)
    if laps > 1 and same[0].what == "pose" and (first > 1 or last < laps):
        yield _rounds(first, last, laps)
    elif laps > 1 and len(runs) > 1 and same[0].what == "pose":
        yield f"{laps} rounds"
    if same[0].what == "song":
        yield "song"
    if same[0].supported:
        yield "supported"
    if same[0].optional:
        yield "optional"


def _rounds(first: int, last: int, laps: int) -> str:
    if first == last:
        return "last round" if last == laps else f"round {first}"
    return f"from round {first}" if last == laps else f"rounds {first} to {last}"


def _beginnings(section: SectionTime) -> Iterator[Passage]:
    """Passes that a teacher would call a beginning: not what comes between or after two sides, or after rounds."""
    sided = any(passage.side for passage in section.passes)
    for passage in section.passes:
        counted = not sided and rounds_at(section, passage.start_s) > 1
        if passage.side or counted or passage == section.passes[0]:
            yield passage


def _beginning(section: SectionTime, passage: Passage) -> str:
    name = one_line(section.name)
    if passage == section.passes[0]:
        return name
    rounds = rounds_at(section, passage.start_s) > 1
    if passage.side:
        return f"the {passage.side} side of {name}" + (f", round {passage.round}" if rounds else "")
    return f"round {passage.round} of {name}"


def _here(timetable: Timetable, at_s: float) -> tuple[SectionTime, Passage, Step | None]:
    section = next((s for s in timetable.sections if s.start_s <= at_s < s.end_s), timetable.sections[-1])
    passage = next((p for p in section.passes if p.start_s <= at_s < p.end_s), section.passes[-1])
    step = next((s for s in timetable.steps if s.start_s <= at_s < s.end_s and s.what != "between"), None)
    return section, passage, step


def _options(index: int, name: str, steps: list[Step]) -> Iterator[Drop]:
    rows: dict[int, list[Step]] = {}
    for step in steps:
        if step.optional and step.end_s > step.start_s:
            rows.setdefault(step.line, []).append(step)
    for same in rows.values():
        savings = tuple(
            Saving(
                both[0].start_s,
                sum(step.end_s - step.start_s for step in both),
                tuple((step.start_s, step.end_s) for step in both),
            )
            for both in _by_round(same)
        )
        if sum(saving.saves_s for saving in savings) >= LEAST_SAVING_S:
            yield Drop("option", f"leave out {one_line(same[0].name)} in {name}", index, savings)


def _shorter_holds(index: int, section: SectionTime, steps: list[Step]) -> Iterator[Drop]:
    """A breath of the holds counted in breaths, and a quarter of those that last minutes."""
    name = one_line(section.name)
    breathed, timed = [s for s in steps if _is_long_hold(s)], [s for s in steps if _is_timed_hold(s)]
    for words, holds, saved in (
        (f"hold a breath less in {name}", breathed, _breath_s),
        (f"hold the long poses of {name} a quarter shorter", timed, _quarter_s),
    ):
        rows: dict[int, list[Step]] = {}
        for step in holds:
            rows.setdefault(step.line, []).append(step)
        savings = [
            Saving(both[0].start_s, sum(map(saved, both)), ()) for same in rows.values() for both in _by_round(same)
        ]
        if sum(saving.saves_s for saving in savings) >= LEAST_SAVING_S:
            yield Drop("breath", words, index, tuple(sorted(savings, key=lambda saving: saving.from_s)))


def _quarter_s(step: Step) -> float:
    return (step.end_s - step.start_s) / 4


def _is_timed_hold(step: Step) -> bool:
    return step.what == "pose" and not step.breaths and not step.optional and step.end_s - step.start_s >= TIMED_HOLD_S


def _is_long_hold(step: Step) -> bool:
    moving = step.times > 1 or step.pose_id in pose_table().compounds
    return step.what == "pose" and (step.breaths or 0) >= LONG_HOLD_BREATHS and not (moving or step.optional)


def _last_round(index: int, section: SectionTime) -> Iterator[Drop]:
    for run in runs_of(section):
        last = _rounds_in(run)
        if last > 1:
            spans = tuple((passage.start_s, passage.end_s) for passage in run if passage.round == last)
            saving = Saving(spans[0][0], sum(end - start for start, end in spans), spans)
            yield Drop("round", f"do one round fewer of {one_line(section.name)}", index, (saving,))


def _by_round(same: list[Step]) -> Iterator[list[Step]]:
    """Both sides of a round stand or fall together."""
    for _, both in itertools.groupby(same, key=lambda step: step.round):
        yield list(both)


def assumed(timetable: Timetable) -> list[str]:
    """What was taken for granted in timing; how the range was found only where there is one."""
    fixed = timetable.longest_s - timetable.shortest_s < 1
    said = [one_line(words) for words in timetable.assumptions]
    return [words for words in said if not (fixed and words.startswith(("shortest:", "longest:")))]


def check_words(timetable: Timetable, found: Sequence[Drop], at_s: float, *, first: bool) -> str:
    """Where the class should be when a track starts, and what to do if it isn't there yet.

    Args:
        first: whether it is the first track of its section; a later one that starts in the middle of something only
            says where the class is.
    Returns:
        Empty before and after the class, and inside the rest, where nothing can be made up for.
    """
    if not -NEAR_S <= at_s < timetable.duration_s:
        return ""
    place, begins = place_at(timetable, at_s)
    words = f"You begin {place}" if begins else f"You are in {place}"
    section = next((i for i, s in enumerate(timetable.sections) if s.start_s <= at_s + NEAR_S < s.end_s), 0)
    if timetable.sections[section].kind == Kind.REST:
        return f"{words}; it keeps its minutes, so be there." if begins else ""
    gains = drops_after(found, at_s, section) if begins or first else []
    advice = " or ".join(f"{drop.text} (−{clock(saves)})" for drop, saves in gains)
    return f"{words}. If not yet: {advice}." if advice else f"{words}."
