"""Is there enough music at all? Says what is missing in minutes and kind before anything is searched."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from audio.arrays import F64, I64, Mask
from audio.text import clock
from audio.track import Track
from pairing.alignment import moments
from pairing.alignment.task import Task
from pairing.errors import NotEnoughMusic
from pairing.model import Kind
from pairing.solve.problem import Answer
from pairing.solve.search import solve
from pairing.solve.stage import Infeasible

REPEATS = "or let tracks repeat"
REPEATING = "arcbed pair PLAN --out MUSIC --allow-repeats"
MOST_KINDS = 6  # kinds of zones whose unions are all looked at
SHOWN = 3  # sections that are named one by one


def require_any(tracks: Sequence[Track]) -> None:
    """Check that there is any music at all.

    Raises:
        NotEnoughMusic: there is none.
    """
    if not tracks:
        raise NotEnoughMusic(
            "there is no music yet that can be used.", remedy="Scan a folder of music.", command="arcbed scan FOLDER"
        )


def require(task: Task) -> None:
    """Refuse a class that the tracks can't cover, where a sum proves it.

    Every second of some zones needs a track that may play there, and a track gives at most the longest stretch that can
    be heard of it, once; so the sums over the zones of each kind, and of several kinds together, must suffice.

    Raises:
        NotEnoughMusic: what is needed, what there is and what is missing, and what to do.
    """
    kinds = _kinds(task)
    if not kinds:
        return
    for kind in kinds:
        if not kind.tracks.any():
            raise _without_any(task, kind)
    if task.problem.allow_repeats:
        return
    _require_tracks(task)
    heard_s = _longest(task)
    for kind in _unions(kinds):
        have, need = float(heard_s[kind.tracks].sum()), float(len(kind.seconds)) - _pinned_seconds(task, kind.seconds)
        if have < need:
            raise _shortage(task, kind, need, have)


def solved(task: Task, start: Answer | None = None) -> Answer:
    """The solver's answer.

    Raises:
        NotEnoughMusic: no chain of tracks covers the class, or none was found; says where it gets stuck.
    """
    try:
        return solve(task.problem, start=start)
    except Infeasible as error:
        raise _refusal(task, error) from error


@dataclass(frozen=True, slots=True, eq=False)
class _ZoneKind:
    """Zones in which the same tracks may play: their seconds that want music, and which tracks, shape (N,)."""

    seconds: I64
    tracks: Mask


def _kinds(task: Task) -> list[_ZoneKind]:
    problem = task.problem
    wanted, usable = ~np.isnan(problem.target), np.isfinite(problem.track_cost)
    allowed = [np.isfinite(costs) & usable for costs in problem.zone_cost]
    marks = [tracks.tobytes() for tracks in allowed]
    found = []
    for mark in dict.fromkeys(marks):
        zones = [zone for zone, other in enumerate(marks) if other == mark]
        seconds = np.flatnonzero(wanted & np.isin(problem.zone, zones))
        if len(seconds) > _pinned_seconds(task, seconds):
            found.append(_ZoneKind(seconds, allowed[zones[0]]))
    return found


def _unions(kinds: Sequence[_ZoneKind]) -> Iterator[_ZoneKind]:
    """All kinds together, then each, then several of them."""
    sizes = [len(kinds), *range(1, len(kinds) if len(kinds) <= MOST_KINDS else 2)]
    for size in sizes:
        for some in combinations(kinds, size):
            seconds = np.sort(np.concatenate([kind.seconds for kind in some]))
            yield _ZoneKind(seconds, np.any([kind.tracks for kind in some], axis=0))


def _longest(task: Task) -> F64:
    """Seconds of each track that can be heard at most, in one piece between two borders; 0 where that is too short."""
    problem = task.problem
    longest = np.zeros(len(problem.track_cost))
    has = (np.diff(problem.enter_offset) > 0) & (np.diff(problem.leave_offset) > 0)
    first, last = problem.enter_offset[:-1][has], problem.leave_offset[1:][has] - 1
    longest[has] = problem.leave_at[last] - problem.enter_at[first]
    room = max(last - first for first, last in moments.stretches(task.frame))
    heard = np.minimum(longest, room)
    return np.where(heard < _shortest(task), 0.0, heard)


def _shortest(task: Task) -> int:
    """Seconds below which no pick may be, but a pin's."""
    allowed = np.isfinite(task.problem.length_cost)
    return int(np.argmax(allowed)) if allowed.any() else len(allowed)


def _require_tracks(task: Task) -> None:
    """Each stretch between two borders, of a silence or of the rest, needs a track of its own."""
    needed = len(moments.stretches(task.frame))
    there = int(np.isfinite(task.problem.track_cost).sum())
    if there >= needed:
        return
    why = f"since the music starts again {needed - 1} times in it, at the rest and after each silence"
    if needed == 2:
        why = "one up to the rest or the silence in it, and one from there on"
    raise NotEnoughMusic(
        f"the class needs at least {needed} tracks, {why}; you have {_tracks(there)}.",
        remedy=f"Add music and scan again, {REPEATS}.",
        command=REPEATING,
    )


def _without_any(task: Task, kind: _ZoneKind) -> NotEnoughMusic:
    where, which = _words(task, int(kind.seconds[0]))
    need = _minutes(float(len(kind.seconds)))
    return NotEnoughMusic(
        f"{where} needs {need} of music{which}; you have none that may play there.",
        remedy="Add such tracks and scan again, or change the wish in the plan.",
    )


def _shortage(task: Task, kind: _ZoneKind, need: float, heard: float) -> NotEnoughMusic:
    music = float(task.music_s[kind.tracks].sum())
    whole = len(kind.seconds) == np.count_nonzero(~np.isnan(task.problem.target))
    where, which = ("the class", "") if whole else _places(task, kind.seconds)
    there = f"{_minutes(music)} ({_tracks(int(kind.tracks.sum()))})"
    if music >= need:
        scraps = ", tracks too short to be played" if _has_scraps(task, kind) else ""
        there += f", of which {_minutes(heard)} can be heard beside cross-fades{scraps} and the borders of the class"
    missing = _minutes(need - (heard if music >= need else music))
    wish = "Add music and scan again, " if whole else "Add such tracks and scan again, change the wish in the plan, "
    return NotEnoughMusic(
        f"{where} need{'' if ' and ' in where else 's'} {_minutes(need)} of music{which}; you have {there}:"
        f" {missing} too little.",
        remedy=f"{wish}{REPEATS}.",
        command=REPEATING,
    )


def _has_scraps(task: Task, kind: _ZoneKind) -> bool:
    return bool((task.music_s[kind.tracks] < _shortest(task)).any())


def _places(task: Task, seconds: I64) -> tuple[str, str]:
    """The sections of some class seconds, and what music they ask for."""
    starts = seconds[np.flatnonzero(np.diff(seconds, prepend=-2) > 1)]
    words = [_words(task, int(second)) for second in starts]
    names = list(dict.fromkeys(where for where, _ in words))
    if len(names) > SHOWN:
        names = [*names[:SHOWN], f"{len(names) - SHOWN} more"]
    which = {kind for _, kind in words}
    return _listed(names), which.pop() if len(which) == 1 else " of the kinds they ask for"


def _refusal(task: Task, error: Infeasible) -> NotEnoughMusic:
    if error.why == "not found":
        return _not_found(task, error)
    where, kind = _words(task, error.second)
    at = clock(error.second + task.frame.origin_s)
    reasons = {
        "no track": f"no track may play in {where} at {at}{kind and ', where music' + kind + ' is asked for'}.",
        "no cut": f"no track can be cut so that it plays in {where} at {at}.",
        "pin": f"what is pinned in {where} at {at} leaves no room for the rest of the class.",
    }
    return NotEnoughMusic(
        reasons.get(error.why, f"no order of tracks gets past {at} in {where}."),
        remedy="Add music, change the wish in the plan, or let go of a pinned track.",
    )


def _not_found(task: Task, error: Infeasible) -> NotEnoughMusic:
    """The search came to its end: that proves nothing, so what it lacked is told, not what is impossible."""
    need = float(np.count_nonzero(~np.isnan(task.problem.target)))
    usable = np.isfinite(task.problem.track_cost)
    there = f"{_minutes(float(task.music_s[usable].sum()))} of music ({_tracks(int(usable.sum()))})"
    places, _ = _places(task, np.array(error.bare))
    again = task.problem.allow_repeats
    return NotEnoughMusic(
        f"no way was found to fill the {_minutes(need)} of the class with your {there}"
        f"{'' if again else ', each track heard once'}. The nearest try left {_minutes(float(len(error.bare)))}"
        f" of {places} without music.",
        remedy=f"A few more tracks that may play there will do, or a shorter part{'' if again else f', {REPEATS}'}.",
        command=None if again else REPEATING,
    )


def _pinned_seconds(task: Task, seconds: I64) -> int:
    covered = np.zeros(len(task.problem.target), bool)
    for pin in task.problem.pins:
        length = int(task.problem.offset[pin.track + 1] - task.problem.offset[pin.track])
        covered[pin.start : pin.end if pin.end is not None else pin.start + length] = True
    return int(covered[seconds].sum())


def _words(task: Task, second: int) -> tuple[str, str]:
    at = second + task.frame.origin_s + 0.5
    section = task.frame.section_at(at)
    rule = next((rule for rule in task.frame.rules if rule.start_s <= at < rule.end_s), None)
    kinds = []
    if rule is not None and rule.no_voice:
        kinds.append("without voice")
    if section.kind is Kind.REST:
        kinds.append("fit for a rest")
    if rule is not None and rule.folder:
        kinds.append(f'from the folder "{rule.folder}"')
    if rule is not None and rule.beat_bpm:
        kinds.append(f"at {rule.beat_bpm[0]:g} to {rule.beat_bpm[1]:g} beats a minute")
    return f"{section.name} ({section.kind})", (" " + ", ".join(kinds)) if kinds else ""


def _minutes(seconds: float) -> str:
    if seconds < 90:
        return "1 second" if round(seconds) == 1 else f"{seconds:.0f} seconds"
    return f"{seconds / 60:.1f} minutes" if seconds < 600 else f"{seconds / 60:.0f} minutes"


def _tracks(count: int) -> str:
    return "1 track" if count == 1 else f"{count} tracks"


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
