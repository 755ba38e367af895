"""What a picture of a class shows, whether it has its music yet or not; times in class seconds."""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Self

import numpy as np

from pairing.model import Arc, Curve, Kind, Passage, Pick, SectionTime, SetList, Side, Step, Timetable
from pairing.show.cues import as_in_set

NOTICED = 0.02  # the arc fitted to the music is drawn where it differs by more on average; editorial
_NOTHING = np.zeros(0, np.float32)
_NOTHING.setflags(write=False)


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of a section done on one side, or on both at once, in one round."""

    section: int  # its index
    kind: Kind
    round: int
    side: Side | None
    start_s: float
    end_s: float
    breath_s: float
    mean_mets: float


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """A class as it is drawn."""

    title: str
    class_s: float
    start_s: float  # of the picture: below 0 where music plays before the class
    end_s: float
    sections: tuple[SectionTime, ...]
    stretches: tuple[Stretch, ...]
    effort_mets: Curve  # as felt; empty: not known, then each section's mean counts
    asked: Curve  # the arc, 0 to 1; NaN where no music shall sound
    fitted: Curve | None = None  # the arc fitted to the music there is, where that is another
    played: Curve = field(default_factory=lambda: _NOTHING)  # empty: no music yet
    picks: tuple[Pick, ...] = ()
    bells_s: tuple[float, ...] = ()

    @classmethod
    def of_set(cls, setlist: SetList, timetable: Timetable | None = None, arc: Arc | None = None) -> Self:
        """A class with its music; timetable and arc of its plan add the sides of single poses and the effort felt."""
        known = as_in_set(timetable, setlist.sections) if timetable else None
        ends = [(pick.class_start_s, pick.class_end_s) for pick in setlist.picks]
        return cls(
            title=setlist.title,
            class_s=setlist.class_s,
            start_s=min([0.0, *(start for start, _ in ends)]),
            end_s=max([setlist.class_s, *(end for _, end in ends)]),
            sections=setlist.sections,
            stretches=tuple(_stretches(setlist.sections, known.steps if known else ())),
            effort_mets=arc.felt_mets if arc else _NOTHING,
            asked=setlist.arc,
            fitted=setlist.target_energy if is_fitted(setlist) else None,
            played=setlist.played_energy,
            picks=setlist.picks,
            bells_s=setlist.rest.bells_s if setlist.rest else (),
        )

    @classmethod
    def of_plan(cls, timetable: Timetable, arc: Arc, title: str) -> Self:
        """A class that has no music yet."""
        return cls(
            title=title,
            class_s=timetable.duration_s,
            start_s=0.0,
            end_s=max(timetable.duration_s, 1.0),
            sections=timetable.sections,
            stretches=tuple(_stretches(timetable.sections, timetable.steps)),
            effort_mets=arc.felt_mets,
            asked=arc.target_energy,
        )

    def effort_between(self, stretch: Stretch, start_s: float, end_s: float) -> float:
        """Mean effort of a part of a stretch, METs."""
        felt = self.effort_mets[int(start_s) : max(int(np.ceil(end_s)), int(start_s) + 1)]
        return float(felt.mean()) if felt.size and np.isfinite(felt).all() else stretch.mean_mets

    def section_at(self, at_s: float) -> SectionTime | None:
        """The section that goes on at a moment."""
        return next((section for section in self.sections if section.start_s <= at_s < section.end_s), None)


def is_fitted(setlist: SetList) -> bool:
    """Whether the music's range forced the arc into another shape, which is then drawn too."""
    apart = np.abs(setlist.target_energy - setlist.arc)
    return bool(np.isfinite(apart).any() and np.nanmean(apart) > NOTICED)


def _stretches(sections: Sequence[SectionTime], steps: Sequence[Step]) -> Iterator[Stretch]:
    for index, section in enumerate(sections):
        inside = [step for step in steps if step.section == index and step.what == "pose" and step.end_s > step.start_s]
        for passage in section.passes:
            for part in _by_side(passage, inside):
                yield Stretch(
                    index,
                    section.kind,
                    part.round,
                    part.side,
                    part.start_s,
                    part.end_s,
                    section.breath_s,
                    section.mean_mets,
                )


def _by_side(passage: Passage, steps: Sequence[Step]) -> Iterator[Passage]:
    """A pass in which single poses are done on each side, parted where the side changes."""
    inside = [step for step in steps if passage.start_s <= step.start_s < passage.end_s]
    if passage.side or not inside:
        yield passage
        return
    runs = [(side, next(same).start_s) for side, same in itertools.groupby(inside, key=lambda step: step.side)]
    starts = [passage.start_s, *(start for _, start in runs[1:])]
    for (side, _), start, end in zip(runs, starts, [*starts[1:], passage.end_s], strict=True):
        yield replace(passage, side=side, start_s=start, end_s=end)
