"""What a teacher has decided by hand holds whatever is chosen anew later, or is named with the reason.

Promises are tracks that were pinned or swapped in, tracks that were left out, and the rest as it was made: its length,
its silence, its bells. A pin outlasts a swap where both can't be.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from audio.text import clock
from audio.track import Track
from pairing.alignment import marks
from pairing.alignment.keeping import kept_pins
from pairing.alignment.options import PinWish
from pairing.alignment.task import Task
from pairing.errors import NotEnoughMusic
from pairing.model import Finding, MakeRest, PairOptions, Pick, SectionTime, SetList, Swap, Where
from pairing.solve.stage import Infeasible

CODE = "promise-broken"
SAME_S = 1.0  # nearer moments are one

PinWishes = tuple[PinWish, ...]


def promised(former: SetList) -> tuple[Pick, ...]:
    """The tracks that a teacher put where they stand; not the songs that the plan names, which the plan itself says."""
    songs = [song.at_s for song in former.frame.songs]
    return tuple(
        pick
        for pick in former.picks
        if (pick.pinned or pick.fingerprint in former.options.swapped)
        and not any(abs(at - pick.class_start_s) < SAME_S for at in songs)
    )


def with_wishes_of(options: PairOptions, former: SetList) -> PairOptions:
    """Options under which what was left out of a former set stays out, and its rest is as it was made."""
    exclude = tuple(sorted({*options.exclude, *former.options.exclude}))
    return replace(options, exclude=exclude, rest=former.options.rest)


def attempts(task: Task, former: SetList, others: Sequence[PinWish], *, keep: bool) -> Iterator[PinWishes]:
    """What may be held where, the most that could be first; each without what stands where `others` stand.

    Args:
        task: the new problem.
        former: the set that is chosen anew.
        others: what stands fast by the plan.
        keep: hold the rest of the former set as well, as far as its sections are as they were.
    """
    exact = {wish.track_id: wish for wish in kept_pins(task, former) if not _collides(wish, others)}
    mine = [wish for wish in _placed(task, former) if not _collides(wish, others)]
    held = [exact.get(wish.track_id, wish) for wish in mine]
    loose = tuple(replace(wish, end_s=None, track_start_s=None) for wish in held)
    ids = {wish.track_id for wish in mine}
    kept = [wish for wish in exact.values() if wish.track_id not in ids and not _collides(wish, held)] if keep else []
    yield _in_order(*held, *kept)
    if held:
        yield _in_order(*loose, *kept)
        yield _in_order(*held)
        yield _in_order(*loose)


def fewer(task: Task, former: SetList, wishes: Sequence[PinWish], refusal: NotEnoughMusic) -> PinWishes:
    """The wishes without the one that a refusal points at: a swap, where one is as near as any pin."""
    cause = refusal.__cause__
    second = cause.second + task.frame.origin_s if isinstance(cause, Infeasible) else 0.0
    pinned = {pick.fingerprint for pick in former.picks if pick.pinned}
    by_id = {track.id: track.fingerprint for track in task.tracks}

    def away(wish: PinWish) -> tuple[bool, float]:
        return by_id.get(wish.track_id) in pinned, abs(wish.at_s - second)

    worst = min(wishes, key=away)
    return tuple(wish for wish in wishes if wish is not worst)


def marked(made: SetList, former: SetList) -> SetList:
    """The set with its promises marked as such, those that were kept."""
    kept = {pick.fingerprint: pick for pick in promised(former) if is_kept(pick, former, made)}
    pinned = {mark for mark, pick in kept.items() if pick.pinned}
    picks = tuple(replace(pick, pinned=pick.pinned or pick.fingerprint in pinned) for pick in made.picks)
    swapped = tuple(mark for mark in former.options.swapped if mark in kept)
    return replace(made, picks=picks, options=replace(made.options, swapped=swapped))


def is_kept(pick: Pick, former: SetList, made: SetList) -> bool:
    """Whether a track stands where it stood: in the part of that name, or at that moment of the class."""
    at_s = moment(former, made.sections, pick.class_start_s)
    return any(
        new.fingerprint == pick.fingerprint
        and (new.section == pick.section or new.class_start_s - SAME_S <= at_s < new.class_end_s)
        for new in made.picks
    )


def broken(former: SetList, made: SetList, tracks: Sequence[Track]) -> Iterator[Finding]:
    """Each promise that couldn't be kept: why, and what was done instead."""
    known = {track.fingerprint: track for track in tracks}
    for pick in promised(former):
        if is_kept(pick, former, made):
            continue
        at_s = moment(former, made.sections, pick.class_start_s)
        now = next((new for new in reversed(made.picks) if new.class_start_s <= at_s + SAME_S), None)
        instead = f'"{now.title}" plays there now' if now and now.class_end_s > at_s else "it is silent there now"
        yield Finding(
            "should",
            CODE,
            Where(name=pick.title),
            f"You {'pinned' if pick.pinned else 'swapped in'} this at {clock(pick.class_start_s)}; it couldn't stay: "
            f"{_why_not(pick, former, made, known.get(pick.fingerprint), at_s)}; {instead}.",
            "See what can play there." if now else None,
            deeds=(Swap(now.n),) if now else (),
        )
    yield from _rest_broken(former, made)


def told(former: SetList, made: SetList, tracks: Sequence[Track]) -> SetList:
    """The set with what is to be said of its promises now, and nothing of what was said before."""
    others = [finding for finding in made.findings if finding.code != CODE]
    return replace(made, findings=(*others, *broken(former, made, tracks)))


def moment(former: SetList, sections: Sequence[SectionTime], at_s: float) -> float:
    """Where a moment of a former class lies in the new one: at the same share of the section of that name."""
    old = next((each for each in former.sections if each.start_s - 1e-6 <= at_s < each.end_s), None)
    new = _same(former.sections, sections, old) if old else None
    if old is None or new is None:
        return at_s if at_s < 0 else at_s / former.class_s * (sections[-1].end_s if sections else former.class_s)
    share = (at_s - old.start_s) / max(old.end_s - old.start_s, 1e-9)
    return new.start_s + share * (new.end_s - new.start_s)


def _same(former: Sequence[SectionTime], sections: Sequence[SectionTime], old: SectionTime) -> SectionTime | None:
    """The section of that name, else the one of that kind in the same place among its kind."""
    named = next((each for each in sections if (each.name, each.kind) == (old.name, old.kind)), None)
    if named is not None:
        return named
    place = [each for each in former if each.kind is old.kind].index(old)
    alike = [each for each in sections if each.kind is old.kind]
    return alike[place] if place < len(alike) else None


def _placed(task: Task, former: SetList) -> Iterator[PinWish]:
    """A place for every promise whose recording is there and whose moment has music."""
    for pick in promised(former):
        number = task.index(pick.fingerprint)
        at_s = moment(former, task.frame.sections, pick.class_start_s)
        second = task.frame.grid(at_s)
        if number is None or second >= task.frame.seconds or np.isnan(task.problem.target[second]):
            continue
        yield PinWish(task.tracks[number].id, _settled(task, at_s))


def _settled(task: Task, at_s: float) -> float:
    """The exact moment where one is near that must be exact, else the whole second."""
    return task.frame.anchors().get(task.frame.grid(at_s), float(round(at_s)))


def _in_order(*wishes: PinWish) -> PinWishes:
    return tuple(sorted(wishes, key=lambda wish: wish.at_s))


def _collides(wish: PinWish, others: Sequence[PinWish]) -> bool:
    """Whether something else stands there, or the same track elsewhere."""
    first_s, last_s = wish.at_s - SAME_S, (wish.end_s or wish.at_s) + SAME_S
    return any(
        other.track_id == wish.track_id or (first_s < (other.end_s or other.at_s + SAME_S) and other.at_s < last_s)
        for other in others
    )


def _why_not(pick: Pick, former: SetList, made: SetList, track: Track | None, at_s: float) -> str:
    if track is None:
        return "its file is no longer among your tracks"
    if marks.is_banned(track):
        return "you said never to use it"
    if track.id in made.options.exclude:
        return "you have left it out of this class since"
    if any(start - SAME_S <= at_s < end for start, end in made.frame.silent_s):
        return "the plan wants silence there now"
    elsewhere = next((new for new in made.picks if new.fingerprint == pick.fingerprint), None)
    if elsewhere is not None:
        return f"it plays at {clock(elsewhere.class_start_s)} now, or the class could not be filled"
    if not any(each.name == pick.section for each in made.sections):
        return f'the plan no longer has a part called "{pick.section}"'
    return "with it there, the class could not be filled"


def _rest_broken(former: SetList, made: SetList) -> Iterator[Finding]:
    wish, rest = former.options.rest, made.rest
    if wish.minutes is None and wish.silence_s is None and wish.bells is None:
        return
    if rest is None:
        yield Finding("should", CODE, Where(name="rest"), "The rest you made is gone: the plan no longer has one.")
        return
    if wish.minutes is not None and abs((rest.end_s - rest.start_s) - 60 * wish.minutes) > SAME_S:
        yield Finding(
            "should",
            CODE,
            Where(name="rest"),
            f"You had made it {wish.minutes:g} minutes; the plan gives it {(rest.end_s - rest.start_s) / 60:.1f} now, "
            "and the plan was changed last.",
            f"Make it {wish.minutes:g} minutes again.",
            deeds=(MakeRest(),),
        )
    if wish.silence_s is not None and abs(rest.silence_s - wish.silence_s) > SAME_S:
        yield Finding(
            "should",
            CODE,
            Where(name="rest"),
            f"You had given it {clock(wish.silence_s)} of silence; it is too short for that now and has "
            f"{clock(rest.silence_s)}.",
        )
