"""A class and a library into a set: choose, order, trim, and say why."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from audio.track import Track
from pairing.alignment import frame, reach, songs, supply
from pairing.alignment.keeping import changes, kept_costs
from pairing.alignment.options import PinWish
from pairing.alignment.recency import Use, come_again, other_costs, recency_costs
from pairing.alignment.refine import Exact, refine
from pairing.alignment.task import Task, build, usable
from pairing.errors import NotEnoughMusic, PlanError
from pairing.model import Arc, Curve, Finding, PairOptions, Plan, SetList, SetPlan, Timetable
from pairing.sets import assemble, fitrest, promises, why
from pairing.sets.figures import bounds
from pairing.sets.promises import SAME_S
from pairing.sets.redo import covered, is_wider
from pairing.sets.rest import is_one_fit_track, lengthened
from pairing.solve.costs import pin_of
from pairing.solve.polish import alternatives
from pairing.solve.problem import Answer, Chosen
from pairing.solve.tables import one_room


def pair(
    plan: Plan,
    timetable: Timetable,
    arc: Arc,
    tracks: Sequence[Track],
    options: PairOptions,
    *,
    pins: Sequence[PinWish] = (),
    keep: SetList | None = None,
    promised: SetList | None = None,
    uses: Sequence[Use] = (),
    others: Sequence[SetList] = (),
) -> SetList:
    """Choose the music of a class.

    Args:
        plan: the class as written; gives title, text, music outside the class.
        timetable: when everything happens.
        arc: the energy to follow.
        tracks: the library; tracks with a problem are left out.
        options: wishes, levels; `fresh` makes `uses` count.
        pins: tracks that shall stand at a place; the plan's songs join them.
        keep: a former set of which as much as fits is kept.
        promised: a former set that is chosen anew, of which only what the teacher decided by hand is kept.
        uses: recordings played in recent classes.
        others: sets whose music shall not come again, as far as there is other music.
    Returns:
        a set whose picks cover the class to the second; the same input gives the same set.
    Raises:
        PlanError: the class has no length.
        NotEnoughMusic: the library can't cover the class under its rules; says what is missing.
    """
    if timetable.duration_s <= 0:
        raise PlanError("nothing in it takes time yet; write a pose into a section.", (), where=plan.file)
    former = keep or promised
    if former is not None:
        options = promises.with_wishes_of(options, former)
    shape = frame.of_class(plan, timetable, arc, options)
    findings: list[Finding] = []
    pins = _with_songs(shape, tracks, pins, plan.file, findings)
    chosen_from = usable(tracks, options, always={pin.track_id for pin in pins})
    supply.require_any(chosen_from)
    target, reached = _target(shape, chosen_from, repeats=options.allow_repeats)
    costs = dict(recency_costs(chosen_from, uses)) if options.fresh else {}
    for given in (kept_costs(chosen_from, keep), other_costs(chosen_from, others)):
        for number, cost in given.items():
            costs[number] = costs.get(number, 0.0) + cost

    def solve(shape: frame.Frame) -> fitrest.Solved:
        if former is None:
            return *_solved(shape, chosen_from, target, options, pins, costs), ()
        return _solved_as_promised(shape, chosen_from, target, options, pins, costs, former, keep=keep is not None)

    with one_room():
        task, answer, held = fitrest.solved(shape, solve) if options.rest.silence_s is None else solve(shape)
        made = setlist(task, answer, target, options, (*pins, *held), plan)
    said = (*_unreached(shape, made, chosen_from, reached), *fitrest.told(shape.rest, made))
    again = come_again(made, others, uses if options.fresh else ())
    if former is None:
        return replace(made, findings=(*findings, *said, *again))
    made = promises.marked(made, former)
    findings += [*said, *(changes(former, made) if keep is not None else ()), *again]
    made = _with_its_rest(replace(made, findings=tuple(findings)), tracks)
    return promises.told(former, made, tracks)


def _with_its_rest(made: SetList, tracks: Sequence[Track]) -> SetList:
    """The set with a rest as long as the teacher made it by hand, where the plan gives it what it gave it then."""
    wish, rest = made.options.rest, made.rest
    if rest is None or wish.minutes is None or wish.planned_s is None:
        return made
    if abs((rest.end_s - rest.start_s) - wish.planned_s) > SAME_S:
        return made
    return lengthened(made, tracks, wish.minutes)


def setlist(
    task: Task, answer: Answer, target: Curve, options: PairOptions, pins: Sequence[PinWish], plan: Plan
) -> SetList:
    """The set that an answer of the solver stands for, without findings."""
    stretches = refine(task, answer.chosen, pinned_times(task, pins))
    pinned = [pin_of(task.problem, pick) is not None for pick in answer.chosen]
    made = assemble.picks(task, stretches, options.levels, reasons(task, answer, pinned), pinned)
    played = [task.tracks[stretch.track] for stretch in stretches]
    asked, heard = assemble.curves(task.frame, played, made, target)
    figures = bounds(task, answer)
    arc = np.where(np.isnan(asked), np.nan, task.frame.arc).astype(np.float32).round(4)
    return SetList(
        title=plan.title,
        plan=SetPlan(plan.file, plan.text, SetPlan.digest(plan.text)),
        options=options,
        frame=frame.for_set(task.frame),
        class_s=task.frame.class_s,
        slot_s=plan.slot_s,
        sections=task.frame.sections,
        arc=arc,
        target_energy=asked,
        played_energy=heard,
        fit=assemble.fit(heard, asked, arc, figures.bound_rmse, figures.gap),
        rest=task.frame.rest,
        picks=made,
    )


def pinned_times(task: Task, wishes: Sequence[PinWish]) -> dict[int, Exact]:
    """The exact times of pins, by grid second."""
    place = {track.id: index for index, track in enumerate(task.tracks)}
    return {
        task.frame.grid(wish.at_s): Exact(wish.at_s, place[wish.track_id], wish.track_start_s)
        for wish in wishes
        if wish.track_id in place
    }


def reasons(task: Task, answer: Answer, pinned: Sequence[bool]) -> list[str]:
    """Why each pick stands where it stands."""
    words = []
    for index, pick in enumerate(answer.chosen):
        text = why.reason(task, pick, pinned=pinned[index])
        if not pinned[index]:
            others = _others(task, answer, index)
            text += f"; {why.runner_up(task, pick, others[0])}" if others else ""
        words.append(text)
    return words


def _others(task: Task, answer: Answer, index: int) -> list[Chosen]:
    found = alternatives(task.problem, answer, index, limit=1)
    return [other.chosen[index] for other in found]


def _with_songs(
    shape: frame.Frame, tracks: Sequence[Track], wishes: Sequence[PinWish], file: str, findings: list[Finding]
) -> tuple[PinWish, ...]:
    pins = list(wishes)
    for found in songs.pins(shape, tracks, file):
        if isinstance(found, PinWish):
            pins.append(found)
        else:
            findings.append(found)
    return tuple(pins)


def _target(shape: frame.Frame, tracks: Sequence[Track], *, repeats: bool) -> tuple[Curve, tuple[float, float] | None]:
    """The energy to follow, and the lowest and highest that the library can hold; None: nothing is asked for."""
    energies = reach.sample(tracks)
    if not energies or np.isnan(shape.arc).all():
        return shape.arc, None
    reached = reach.reach(energies, shape.arc, repeats=repeats)
    return reach.fitted(shape.arc, *reached), reached


def _unreached(
    shape: frame.Frame, made: SetList, tracks: Sequence[Track], reached: tuple[float, float] | None
) -> tuple[Finding, ...]:
    if reached is None:
        return ()
    return tuple(reach.findings(shape, *reached, calm_rest=is_one_fit_track(made, tracks)))


def _solved_as_promised(
    shape: frame.Frame,
    tracks: Sequence[Track],
    target: Curve,
    options: PairOptions,
    pins: Sequence[PinWish],
    costs: dict[int, float],
    former: SetList,
    *,
    keep: bool,
) -> tuple[Task, Answer, Sequence[PinWish]]:
    """As `_solved`, with as much of a former set held as can be; gives what was held as well."""
    task = build(shape, tracks, target, options, pins=pins, track_costs=costs)

    def tried(wishes: Sequence[PinWish]) -> Answer:
        held, error = [*pins, *wishes], None
        for clips in (False, True):
            stuck = build(shape, tracks, target, options, pins=held, track_costs=costs, clips=clips)
            try:
                return covered(stuck)
            except NotEnoughMusic as refusal:
                error = refusal
        assert error is not None
        raise error

    wishes: Sequence[PinWish] = ()
    for wishes in promises.attempts(task, former, pins, keep=keep):
        if not wishes:
            break
        try:
            return task, tried(wishes), wishes
        except NotEnoughMusic as error:
            refusal = error
    while len(wishes) > 1:  # the last attempt holds promises alone: give up one after the other
        wishes = promises.fewer(task, former, wishes, refusal)
        try:
            return task, tried(wishes), wishes
        except NotEnoughMusic as error:
            refusal = error
    return *_solved(shape, tracks, target, options, pins, costs), ()


def _solved(
    shape: frame.Frame,
    tracks: Sequence[Track],
    target: Curve,
    options: PairOptions,
    pins: Sequence[PinWish],
    costs: dict[int, float],
) -> tuple[Task, Answer]:
    task = build(shape, tracks, target, options, pins=pins, track_costs=costs)
    try:
        return task, covered(task)
    except NotEnoughMusic as error:
        refusal = error
    for generous in (False, True):
        wider = build(shape, tracks, target, options, pins=pins, track_costs=costs, clips=True, generous=generous)
        if not is_wider(wider, task):
            continue
        task = wider
        try:
            return task, covered(task)
        except NotEnoughMusic as error:
            refusal = error  # of the mildest rules: what they rule out can't be had
    raise refusal
