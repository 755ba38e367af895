"""A set made again with most of its picks held where they are: what swap and rest have in common."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from audio.track import Track
from pairing.alignment import cuts, frame, supply
from pairing.alignment.cuts import CutTable
from pairing.alignment.frame import Frame
from pairing.alignment.keeping import hand_over
from pairing.alignment.options import PinWish
from pairing.alignment.refine import Exact, refine
from pairing.alignment.task import Task, build, usable
from pairing.deeds import command
from pairing.errors import NotEnoughMusic, SetError
from pairing.model import ChooseAnew, Pick, SetList
from pairing.sets import assemble, why
from pairing.sets.figures import bounds
from pairing.solve.problem import Answer, Chosen

ROUNDED_S = 2  # by which whole seconds on both scales may differ from a pick's own


def leaving_out(setlist: SetList, track_ids: Collection[int]) -> SetList:
    """The set with these tracks of the library, and no others, left out of whatever is chosen for it later."""
    return replace(setlist, options=replace(setlist.options, exclude=tuple(sorted(track_ids))))


def task_of(
    setlist: SetList,
    shape: Frame,
    tracks: Sequence[Track],
    held: Sequence[Pick],
    pins: Sequence[Pick],
    *,
    only: tuple[int, int] | None = None,
    promised: Sequence[Pick] = (),
    generous: bool = False,
) -> tuple[Task, dict[int, Exact]]:
    """The problem behind a set, and the exact times of the picks that are held.

    Args:
        setlist: gives target and options.
        shape: its frame.
        tracks: the library.
        held: picks whose exact times are kept where they don't move, in order.
        pins: those of them that may not move at all.
        only: grid seconds outside which nothing will change.
        promised: picks whose tracks begin where they began.
        generous: admit more tracks to the rest; see `pairing.alignment.zones`.
    Raises:
        SetError: a held pick's recording is no longer in the library.
    """
    known = {track.fingerprint: track.id for track in tracks}
    for pick in (*held, *promised):
        if pick.fingerprint not in known:
            raise SetError(
                f'track {pick.n}, "{pick.title}", is no longer among your tracks.',
                remedy="Scan its folder, or choose the music again; what fits stays.",
                command=command(ChooseAnew()),
            )
    wishes = tuple(
        PinWish(known[pick.fingerprint], pick.class_start_s, hand_over(setlist.picks, pick.n - 1), pick.track_start_s)
        for pick in pins
    ) + tuple(PinWish(known[pick.fingerprint], pick.class_start_s) for pick in promised)
    kept = {known[pick.fingerprint] for pick in (*held, *promised)}
    options = replace(setlist.options, exclude=tuple(set(setlist.options.exclude) - kept))
    chosen_from = usable(tracks, options, always=kept)
    standing = {known[pick.fingerprint]: pick.class_start_s for pick in held}
    task = build(
        shape,
        chosen_from,
        setlist.target_energy,
        options,
        pins=wishes,
        only=only,
        clips=True,
        generous=generous,
        held=standing,
    )
    place = {track.fingerprint: index for index, track in enumerate(chosen_from)}
    exact = {
        shape.grid(pick.class_start_s): Exact(pick.class_start_s, place[pick.fingerprint], pick.track_start_s)
        for pick in held
    }
    return _with_held_cuts(task, setlist.picks, held), exact


def _with_held_cuts(task: Task, picks: Sequence[Pick], held: Sequence[Pick]) -> Task:
    """The task with the cuts that a set has already, open where they are.

    Exact times are rounded to the grid one by one, so that a cut may come to lie a second beside the one it is.
    """
    chosen = [_chosen(task, picks, pick.n - 1) for pick in held]
    track = [each.track for each in chosen]
    problem = task.problem
    enter = cuts.with_seconds(
        CutTable(problem.enter_at, problem.enter_cost, problem.enter_offset), track, [each.enter for each in chosen]
    )
    leave = cuts.with_seconds(
        CutTable(problem.leave_at, problem.leave_cost, problem.leave_offset),
        track,
        [each.enter + each.end - each.start for each in chosen],
    )
    return replace(task, problem=replace(problem, **cuts.as_fields(enter, leave)))


def covered(task: Task) -> Answer:
    """The class covered.

    Raises:
        NotEnoughMusic: it can't be, or no way was found.
    """
    supply.require(task)
    return supply.solved(task)


def is_wider(task: Task, than: Task) -> bool:
    """Whether more is allowed in one of two problems of a class: shorter picks, or more tracks in some zone."""
    shorter = bool(np.any(np.isfinite(task.problem.length_cost) & np.isinf(than.problem.length_cost)))
    return shorter or bool(np.any(np.isfinite(task.problem.zone_cost) & np.isinf(than.problem.zone_cost)))


def on_grid(task: Task, picks: Sequence[Pick]) -> tuple[Chosen, ...]:
    """A set's picks as the solver sees them.

    Raises:
        SetError: one is played on beyond the end of its track.
    """
    return tuple(_chosen(task, picks, index) for index in range(len(picks)))


def _chosen(task: Task, picks: Sequence[Pick], index: int) -> Chosen:
    pick = picks[index]
    track = task.index(pick.fingerprint)
    assert track is not None
    start, end = task.frame.grid(pick.class_start_s), task.frame.grid(hand_over(picks, index))
    enter = max(int(np.floor(pick.track_start_s + 0.5)), 0)
    beyond = enter + end - start - int(np.diff(task.problem.offset)[track])
    if beyond > ROUNDED_S:
        raise SetError(
            f'"{pick.title}" would play on beyond its end.',
            where=f"track {pick.n}",
            remedy="Choose the music again.",
            command=command(ChooseAnew()),
        )
    return Chosen(track, start, end, max(enter - max(beyond, 0), 0))


def remade(
    setlist: SetList,
    task: Task,
    chosen: Sequence[Chosen],
    exact: Mapping[int, Exact],
    whys: Mapping[str, str],
    pinned: frozenset[str],
) -> SetList:
    """The set with these picks, its curves and figures made again.

    Args:
        setlist: the set that is changed: title, plan, sections, target.
        task, chosen, exact: the new picks on the grid, and what is known of them exactly.
        whys, pinned: by fingerprint.
    """
    stretches = refine(task, chosen, exact)
    played = [task.tracks[stretch.track] for stretch in stretches]
    made = assemble.picks(
        task,
        stretches,
        setlist.options.levels,
        [whys.get(track.fingerprint, "") for track in played],
        [track.fingerprint in pinned for track in played],
    )
    asked, heard = assemble.curves(task.frame, played, made, setlist.target_energy)
    fit = assemble.fit(heard, asked, setlist.arc, setlist.fit.bound_rmse, setlist.fit.gap)
    return replace(
        setlist,
        frame=frame.for_set(task.frame),
        rest=task.frame.rest,
        target_energy=asked,
        played_energy=heard,
        fit=fit,
        picks=made,
    )


def redo(
    changed: SetList,
    shape: Frame,
    outside: Sequence[Pick],
    tracks: Sequence[Track],
    promised: Sequence[Pick] = (),
) -> SetList:
    """Choose anew what isn't held.

    Args:
        changed: the set with its new times.
        shape: the class as it shall be.
        outside: the picks that stay.
        tracks: the library.
        promised: picks whose tracks begin where they began, and may be left at another moment.
    Raises:
        NotEnoughMusic: the hole can't be filled.
    """
    lay_out = partial(task_of, changed, shape, tracks, outside, outside, promised=promised)
    task, exact = lay_out()
    try:
        answer = covered(task)
    except NotEnoughMusic:
        wider, exact = lay_out(generous=True)  # what is held counts among what would suit the rest
        if not is_wider(wider, task):
            raise
        task, answer = wider, covered(wider)
    chosen = answer.chosen
    whys = {task.tracks[pick.track].fingerprint: why.reason(task, pick) for pick in chosen}
    whys |= {pick.fingerprint: pick.why for pick in outside}
    pinned = frozenset(pick.fingerprint for pick in (*outside, *promised) if pick.pinned)
    made = remade(changed, task, chosen, exact, whys, pinned)
    # What is held counts in the gap; in what the music allows it doesn't.
    free = replace(task, problem=replace(task.problem, pins=()))
    found = bounds(free, answer)
    if not np.isfinite((found.bound_rmse, found.gap)).all():
        return made  # what is held breaks a rule (of a plan changed since, say): nothing is proven of such a set anew
    return replace(made, fit=replace(made.fit, bound_rmse=round(found.bound_rmse, 5), gap=round(found.gap, 5)))
