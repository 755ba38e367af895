"""The class as the music sees it: silent stretches, rules, borders, and the grid of whole seconds the solver works on.

A frame is made from a time table, or read back from a set, so that a later change of the set follows the same rules.
Grid second g stands for class second g + origin_s; the few moments that must be exact are kept as anchors.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from pairing.alignment import peaks
from pairing.model import (
    Arc,
    Curve,
    Kind,
    Moment,
    PairOptions,
    Plan,
    Rest,
    Rule,
    SectionTime,
    SetFrame,
    SetList,
    Song,
    Step,
    Timetable,
    Wishes,
)

HELD_S = 25.0  # editorial: a pose held so long is a stillness that a change of music disturbs
BEFORE_ENERGY = 0.3  # editorial: arrivals, a little above an opening
AFTER_ENERGY = 0.25  # editorial: leaving, soft


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """What the class asks of the music, exact in time."""

    class_s: float
    before_s: float
    after_s: float
    sections: tuple[SectionTime, ...]
    arc: Curve  # class seconds; NaN where no music shall sound
    rules: tuple[Rule, ...]  # sorted; from -before_s to class_s + after_s
    silent: tuple[tuple[float, float], ...]  # stretches without music, sorted, apart
    held: tuple[tuple[float, float], ...]  # poses held still: no change of music inside
    talk: tuple[tuple[float, float], ...]  # the teacher speaks: no change inside either
    songs: tuple[Song, ...]
    moments: tuple[Moment, ...]
    spoken: tuple[tuple[float, float], ...]  # where the plan asks to keep clear of voices
    rest: Rest | None

    @property
    def origin_s(self) -> int:
        """The class second at which the grid begins."""
        return -math.ceil(self.before_s)

    @property
    def seconds(self) -> int:
        """Length of the grid."""
        return math.ceil(self.class_s + self.after_s) - self.origin_s

    def grid(self, at_s: float) -> int:
        """The grid second of a class time; the two ends of the music stand for the two ends of the grid."""
        if at_s >= self.class_s + self.after_s - 1e-6:
            return self.seconds
        return 0 if at_s <= 1e-6 - self.before_s else min(max(round(at_s) - self.origin_s, 0), self.seconds)

    def anchors(self) -> dict[int, float]:
        """Exact class times of the grid seconds that must be exact."""
        exact = {self.grid(at): at for edges in self.silent for at in edges}
        if self.rest is not None:
            exact |= {self.grid(at): at for at in (self.rest.start_s, self.rest.end_s)}
        return exact | {0: 0.0 - self.before_s, self.seconds: self.class_s + self.after_s}

    def breaks(self) -> tuple[float, ...]:
        """Class times at which the music must have died away before it may begin again: the end of the rest."""
        return (self.rest.end_s,) if self.rest is not None and self.grid(self.rest.end_s) < self.seconds else ()

    def is_break(self, second: int) -> bool:
        """Whether a grid second stands for such a time."""
        return any(self.grid(at) == second for at in self.breaks())

    def section_at(self, at_s: float) -> SectionTime:
        """The section of a class time; the first or last for times outside the class."""
        for section in self.sections:
            if at_s < section.end_s:
                return section
        return self.sections[-1]

    def on_grid(self, curve: Curve) -> Curve:
        """A curve of class seconds on the grid, with music before and after, NaN in silence.

        Args:
            curve: shape (ceil(class_s),), 0 to 1; its gaps are bridged.
        Returns:
            shape (seconds,).
        """
        values = np.full(self.seconds, np.nan, np.float32)
        start = -self.origin_s
        filled = _filled(curve)
        values[:start] = min(BEFORE_ENERGY, float(filled[0]) + 0.1)
        values[start : start + len(filled)] = filled
        values[start + len(filled) :] = AFTER_ENERGY
        values[start : start + len(curve)][np.isnan(self.arc) & ~self._edge_seconds()] = np.nan
        for begin, end in self.silent:
            values[self.grid(begin) : self.grid(end)] = np.nan
        return values

    def silent_seconds(self) -> np.ndarray:
        """Which class seconds have no music, shape (ceil(class_s),)."""
        silent = np.isnan(self.on_grid(self.arc))
        return silent[-self.origin_s :][: len(self.arc)]

    def _edge_seconds(self) -> np.ndarray:
        """Seconds that a silent stretch covers in part: the grid decides there, not the arc."""
        at = np.zeros(len(self.arc), bool)
        for edges in self.silent:
            for edge in edges:
                if 0 <= math.floor(edge) < len(at) and edge != math.floor(edge):
                    at[math.floor(edge)] = True
        return at


def of_class(plan: Plan, timetable: Timetable, arc: Arc, options: PairOptions) -> Frame:
    """The frame of a class."""
    rest = _rest(timetable, options)
    return Frame(
        class_s=timetable.duration_s,
        before_s=plan.before_s,
        after_s=plan.after_s,
        sections=timetable.sections,
        arc=np.array(arc.target_energy, np.float32),
        rules=tuple(_rules(plan, timetable)),
        silent=_joined(_silences(timetable, rest)),
        held=tuple((step.start_s, step.end_s) for step in timetable.steps if _is_held(step)),
        talk=tuple((step.start_s, step.end_s) for step in timetable.steps if step.what == "say"),
        songs=tuple(Song(step.start_s, step.name, step.line) for step in timetable.steps if step.what == "song"),
        moments=peaks.of_class(timetable, arc.target_energy),
        spoken=_joined(_spoken(timetable)),
        rest=rest,
    )


def of_set(setlist: SetList) -> Frame:
    """The frame a set was made in; songs are pins by then."""
    kept = setlist.frame
    return Frame(
        class_s=setlist.class_s,
        before_s=kept.before_s,
        after_s=kept.after_s,
        sections=setlist.sections,
        arc=setlist.arc,
        rules=kept.rules,
        silent=kept.silent_s,
        held=kept.held_s,
        talk=kept.talk_s,
        songs=kept.songs,
        moments=kept.moments,
        spoken=kept.spoken_s,
        rest=setlist.rest,
    )


def for_set(frame: Frame) -> SetFrame:
    """What a set keeps of its frame."""
    return SetFrame(
        before_s=frame.before_s,
        after_s=frame.after_s,
        rules=frame.rules,
        silent_s=frame.silent,
        held_s=frame.held,
        talk_s=frame.talk,
        songs=frame.songs,
        moments=frame.moments,
        spoken_s=frame.spoken,
    )


def with_rest(frame: Frame, rest: Rest) -> Frame:
    """The same class with another end of its rest: the silence follows."""
    assert frame.rest is not None
    old = (frame.rest.end_s - frame.rest.silence_s, frame.rest.end_s)
    kept = [edges for edges in frame.silent if edges != old]
    if rest.silence_s > 0:
        kept.append((rest.end_s - rest.silence_s, rest.end_s))
    arc = frame.arc.copy()
    first, last = math.floor(old[0]), math.ceil(old[1])
    arc[first:last] = _filled(frame.arc)[first:last]
    return replace(frame, rest=rest, silent=_joined(kept), arc=arc)


def _rest(timetable: Timetable, options: PairOptions) -> Rest | None:
    section = next((each for each in timetable.sections if each.kind is Kind.REST), None)
    if section is None:
        return None
    planned = tuple(step.start_s for step in timetable.steps if step.what == "bell")
    length, wish = section.end_s - section.start_s, options.rest
    ends = {"start": section.start_s, "end": section.end_s}
    said = section.wishes.silent_last_s or _silent_end(timetable)
    silence = said if wish.silence_s is None else wish.silence_s
    return Rest(
        start_s=section.start_s,
        end_s=section.end_s,
        bells_s=planned if wish.bells is None else tuple(ends[word] for word in wish.bells),
        silence_s=min(silence, length),
        bed_lufs=options.levels.bed(Kind.REST),
    )


def _silent_end(timetable: Timetable) -> float:
    """Seconds of silence with which the rest ends by its lines."""
    silent = 0.0
    for step in reversed(timetable.steps):
        if timetable.sections[step.section].kind is not Kind.REST or step.what == "bell":
            continue
        if step.what != "silence":
            return silent + min(step.wishes.silent_last_s or 0.0, step.end_s - step.start_s)
        silent += step.end_s - step.start_s
    return silent


def _spoken(timetable: Timetable) -> Iterable[tuple[float, float]]:
    """Speech that is to stay clear of voices: talk, and the cues of the first of several passes."""
    for step in timetable.steps:
        if step.wishes.clear_talk and step.end_s > step.start_s:
            passes = timetable.sections[step.section].passes
            if step.what == "say" or (len(passes) > 1 and step.start_s < passes[0].end_s - 1e-6):
                yield step.start_s, step.end_s


def _silences(timetable: Timetable, rest: Rest | None) -> Iterable[tuple[float, float]]:
    for step in timetable.steps:
        if step.what == "silence" or step.wishes.no_music:
            yield step.start_s, step.end_s
    places: list[Step | SectionTime] = [*timetable.steps, *timetable.sections]
    for place in places:
        if place.wishes.silent_last_s and not (rest and place.end_s == rest.end_s):  # the rest's own end is below
            yield max(place.end_s - place.wishes.silent_last_s, place.start_s), place.end_s
    if rest is not None and rest.silence_s > 0:
        yield rest.end_s - rest.silence_s, rest.end_s


def _joined(stretches: Iterable[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    joined: list[tuple[float, float]] = []
    for start, end in sorted(stretches):
        if end <= start:
            continue
        if joined and start <= joined[-1][1] + 1e-6:
            joined[-1] = (joined[-1][0], max(joined[-1][1], end))
        else:
            joined.append((start, end))
    return tuple(joined)


def _rules(plan: Plan, timetable: Timetable) -> Iterable[Rule]:
    if plan.before_s > 0:
        yield _rule(-plan.before_s, 0.0, -1, plan.wishes)
    current: Rule | None = None
    for step in timetable.steps:
        if step.end_s <= step.start_s:
            continue
        in_rest = timetable.sections[step.section].kind is Kind.REST
        rule = _rule(step.start_s, step.end_s, step.section, step.wishes, in_rest)
        if current is not None and replace(rule, start_s=current.start_s) == replace(current, end_s=rule.end_s):
            current = replace(current, end_s=rule.end_s)
            continue
        if current is not None:
            yield current
        current = rule
    if current is not None:
        yield current
    if plan.after_s > 0:
        end = timetable.duration_s
        yield _rule(end, end + plan.after_s, len(timetable.sections), plan.wishes)


def _rule(start_s: float, end_s: float, section: int, wishes: Wishes, in_rest: bool = False) -> Rule:
    return Rule(start_s, end_s, section, wishes.no_voice or in_rest, wishes.folder, wishes.beat_bpm)


def _is_held(step: Step) -> bool:
    return step.what == "pose" and step.times == 1 and step.end_s - step.start_s >= HELD_S


def _filled(curve: Curve) -> Curve:
    """The curve with its gaps bridged on straight lines; 0.2 where there is nothing at all."""
    known = ~np.isnan(curve)
    if not known.any():
        return np.full(len(curve), 0.2, np.float32)
    at = np.arange(len(curve))
    return np.interp(at, at[known], curve[known]).astype(np.float32)
