"""After a change of plan or slot: as much of the former set as still fits, and what changed."""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from audio.track import Track
from pairing.alignment.options import PinWish
from pairing.alignment.task import Task
from pairing.model import Finding, Pick, SectionTime, SetList, Where

NEW_TRACK_COST = 2.0  # a track that wasn't in the former set; editorial
SAME_S = 0.5  # lengths that differ less are the same
SHORT_HOLE_S = 45.0  # a hole so short between two kept picks is better filled with one of them


def kept_costs(tracks: Sequence[Track], keep: SetList | None) -> Mapping[int, float]:
    """Cost of tracks that are new against a former set, by number."""
    if keep is None:
        return {}
    former = {pick.fingerprint for pick in keep.picks}
    return {track.id: NEW_TRACK_COST for track in tracks if track.fingerprint not in former}


def kept_pins(task: Task, keep: SetList) -> list[PinWish]:
    """Places for the picks whose sections are as they were, moved with them."""
    found: list[PinWish] = []
    for index, pick in enumerate(keep.picks):
        number = task.index(pick.fingerprint)
        shift = _shift(task.frame.sections, keep, pick)
        if number is None or shift is None:
            continue
        end_s = hand_over(keep.picks, index)
        wish = PinWish(task.tracks[number].id, pick.class_start_s + shift, end_s + shift, pick.track_start_s)
        if _is_allowed(task, number, wish) and (not found or wish.at_s >= (found[-1].end_s or 0.0) - SAME_S):
            found.append(wish)
    return _beside_no_short_hole(task, found)


def hand_over(picks: Sequence[Pick], index: int) -> float:
    """When the next pick takes over from this one, or its own end before silence."""
    end_s = picks[index].class_end_s
    return min(end_s, picks[index + 1].class_start_s) if index + 1 < len(picks) else end_s


def changes(former: SetList, made: SetList) -> Iterator[Finding]:
    """What became of the former set, in one line."""
    before = {pick.fingerprint: pick.title for pick in former.picks}
    after = {pick.fingerprint: pick.title for pick in made.picks}
    kept = [title for mark, title in before.items() if mark in after]
    gone = [title for mark, title in before.items() if mark not in after]
    new = [title for mark, title in after.items() if mark not in before]
    words = [f"Kept {len(kept)} of {len(before)} tracks"]
    words += [f"new: {listed(new)}"] if new else []
    words += [f"gone: {listed(gone)}"] if gone else []
    yield Finding("note", "re-paired", Where(name="set"), "; ".join(words) + ".")


def _shift(sections: Sequence[SectionTime], keep: SetList, pick: Pick) -> float | None:
    """By how much the sections a pick plays in have moved, all of them alike; None where they have changed."""
    end_s = hand_over(keep.picks, pick.n - 1)
    touched = [
        each for each in keep.sections if each.start_s < end_s - SAME_S and each.end_s > pick.class_start_s + SAME_S
    ]
    shifts = [_moved(sections, each) for each in touched]
    known = [shift for shift in shifts if shift is not None]
    if not known or len(known) < len(shifts) or max(known) - min(known) > SAME_S:
        return None
    return known[0]


def _moved(sections: Sequence[SectionTime], old: SectionTime) -> float | None:
    for new in sections:
        same = (new.name, new.kind) == (old.name, old.kind)
        if same and abs((new.end_s - new.start_s) - (old.end_s - old.start_s)) <= SAME_S:
            return new.start_s - old.start_s
    return None


def _is_allowed(task: Task, number: int, wish: PinWish) -> bool:
    assert wish.end_s is not None
    first, last = task.frame.grid(wish.at_s), task.frame.grid(wish.end_s)
    problem = task.problem
    if last - first < 1 or not np.isfinite(problem.zone_cost[problem.zone[first:last], number]).all():
        return False
    if np.isnan(problem.target[first:last]).any() or not np.isfinite(problem.track_cost[number]):
        return False
    return not any(first < second < last for second in problem.must_change)


def _beside_no_short_hole(task: Task, wishes: list[PinWish]) -> list[PinWish]:
    """Give up kept picks beside a hole that is too short for a track of its own."""
    target = task.problem.target
    covered = np.isnan(target)
    for wish in wishes:
        covered[task.frame.grid(wish.at_s) : task.frame.grid(wish.end_s or wish.at_s)] = True
    edges = np.flatnonzero(np.diff(np.concatenate(([True], covered, [True])).astype(np.int8)))
    holes = [(first, last) for first, last in zip(edges[::2], edges[1::2], strict=True) if last - first < SHORT_HOLE_S]
    return [wish for wish in wishes if not any(_touches(task, wish, hole) for hole in holes)]


def _touches(task: Task, wish: PinWish, hole: tuple[int, int]) -> bool:
    return task.frame.grid(wish.at_s) == hole[1] or task.frame.grid(wish.end_s or wish.at_s) == hole[0]


def listed(titles: Sequence[str]) -> str:
    """Titles in quotes, the first six by name.

    >>> listed(["Tide", "Ebb"])
    '"Tide", "Ebb"'
    """
    shown = [f'"{title}"' for title in titles[:6]]
    return ", ".join(shown) + (f" and {len(titles) - 6} more" if len(titles) > 6 else "")
