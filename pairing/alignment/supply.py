"""Is there enough music at all? Says what is missing in minutes and kind before anything is searched."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from audio.text import clock
from audio.track import Track
from pairing.alignment.task import Task
from pairing.errors import NotEnoughMusic
from pairing.solve.problem import Answer, Ints
from pairing.solve.search import solve
from pairing.solve.stage import Infeasible

REPEATS = "or let tracks repeat (--allow-repeats)"


def require_any(tracks: Sequence[Track]) -> None:
    """Check that there is any music at all.

    Raises:
        NotEnoughMusic: there is none.
    """
    if not tracks:
        raise NotEnoughMusic(
            "there is no usable music in the library.", remedy="Scan a folder of music: arcbed scan FOLDER"
        )


def require(task: Task) -> None:
    """Check that the tracks can cover the class under its rules.

    Raises:
        NotEnoughMusic: what is missing, in minutes and kind, and what to do.
    """
    wanted = ~np.isnan(task.problem.target)
    if not wanted.any():
        return
    usable = np.isfinite(task.problem.track_cost)
    # Zones of the same tracks draw on one supply, though other costs differ in them.
    supplies = [np.isfinite(costs) & usable for costs in task.problem.zone_cost]
    kinds = [allowed.tobytes() for allowed in supplies]
    for kind in dict.fromkeys(kinds):
        zones = [zone for zone, other in enumerate(kinds) if other == kind]
        allowed = supplies[zones[0]]
        seconds = np.flatnonzero(wanted & np.isin(task.problem.zone, zones))
        if len(seconds):
            _require_of(task, allowed, seconds)
    _require_total(float(np.count_nonzero(wanted)), task.music_s[usable], task.problem.allow_repeats)


def solved(task: Task, start: Answer | None = None) -> Answer:
    """The solver's answer.

    Raises:
        NotEnoughMusic: no chain of tracks covers the class; says where it gets stuck.
    """
    try:
        return solve(task.problem, start=start)
    except Infeasible as error:
        raise _refusal(task, error) from error


def _refusal(task: Task, error: Infeasible) -> NotEnoughMusic:
    where, kind = _words(task, error.second)
    at = clock(error.second + task.frame.origin_s)
    if error.why == "too few":
        need = float(np.count_nonzero(~np.isnan(task.problem.target)))
        return NotEnoughMusic(
            f"the music can't be cut to cover the {_minutes(need)} of the class with every track used once"
            f" ({_tracks(len(task.tracks))}).",
            remedy=f"Add music and scan again, {REPEATS}.",
        )
    reasons = {
        "no track": f"no track may play in {where} at {at}{kind and ', where music' + kind + ' is asked for'}.",
        "no cut": f"no track can be cut so that it plays in {where} at {at}.",
        "pin": f"what is pinned in {where} at {at} leaves no room for the rest of the class.",
    }
    return NotEnoughMusic(
        reasons.get(error.why, f"no chain of tracks gets past {at} in {where}."),
        remedy="Add music, change the wish in the plan, or take a pin back.",
    )


def _require_of(task: Task, allowed: NDArray[np.bool_], seconds: Ints) -> None:
    pinned = _pinned_seconds(task, seconds)
    have, need = float(task.music_s[allowed].sum()), float(len(seconds)) - pinned
    if need <= 0 or (allowed.any() and (have >= need or task.problem.allow_repeats)):
        return
    where, kind = _words(task, int(seconds[0]))
    raise NotEnoughMusic(
        f"{where} needs {_minutes(need)} of music{kind}; your library has {_minutes(have)}"
        f" ({_tracks(int(allowed.sum()))}).",
        remedy=f"Add such tracks, change the wish in the plan, {REPEATS}."
        if allowed.any()
        else "Add such tracks and scan again, or change the wish in the plan.",
    )


def _require_total(need: float, lengths: np.ndarray, allow_repeats: bool) -> None:
    have = float(lengths.sum())
    if have >= need or (allow_repeats and len(lengths)):
        return
    raise NotEnoughMusic(
        f"the class needs {_minutes(need)} of music; your library has {_minutes(have)}"
        f" ({_tracks(len(lengths))}), {_minutes(need - have)} too little.",
        remedy=f"Add music and scan again, {REPEATS}.",
    )


def _pinned_seconds(task: Task, seconds: Ints) -> int:
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
    if rule is not None and rule.folder:
        kinds.append(f'from the folder "{rule.folder}"')
    if rule is not None and rule.beat_bpm:
        kinds.append(f"at {rule.beat_bpm[0]:g} to {rule.beat_bpm[1]:g} beats a minute")
    return f"{section.name} ({section.kind})", (" " + ", ".join(kinds)) if kinds else ""


def _minutes(seconds: float) -> str:
    if seconds < 90:
        return f"{seconds:.0f} seconds"
    return f"{seconds / 60:.1f} minutes" if seconds < 600 else f"{seconds / 60:.0f} minutes"


def _tracks(count: int) -> str:
    return "1 track" if count == 1 else f"{count} tracks"
