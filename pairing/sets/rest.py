"""The closing rest: who is fit for it and why, and how to make it anew without touching the rest of the set."""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from audio.track import Track
from pairing.alignment import frame as frames
from pairing.alignment import marks
from pairing.alignment.sedative import RestCandidate, judge
from pairing.alignment.task import SHORTEST_TRACK_S
from pairing.errors import NotEnoughMusic, SetError
from pairing.model import Pick, Rest, SectionTime, SetFrame, SetList
from pairing.sets import promises
from pairing.sets.history import changed
from pairing.sets.redo import redo

LONGEST_REST_S = 3600.0
Bell = Literal["start", "end"] | float


def rest_candidates(tracks: Sequence[Track], *, least_s: float = SHORTEST_TRACK_S) -> tuple[RestCandidate, ...]:
    """Every usable track of that length with what speaks for and against it: fit ones first, calmest first."""
    usable = [track for track in tracks if track.analysis.duration_s >= least_s]
    judged = [judge(track) for track in usable if not marks.is_banned(track)]
    return tuple(sorted(judged, key=_order))


def rebuild_rest(
    setlist: SetList,
    tracks: Sequence[Track],
    *,
    minutes: float | None = None,
    bells: Sequence[Bell] | None = None,
    silence_s: float | None = None,
) -> SetList:
    """Choose the music of the rest anew; every pick outside it stays as it is.

    Args:
        setlist: a set with a rest.
        tracks: the library.
        minutes: length of the rest; None keeps it. What follows the rest moves with its end.
        bells: "start", "end" or class seconds at which a bell sounds; None keeps those of the set.
        silence_s: the last seconds of the rest without music; None keeps them.
    Raises:
        SetError: the set has no rest, or the numbers make none.
        NotEnoughMusic: nothing may stand in the rest.
    """
    if setlist.rest is None:
        raise SetError("this class has no rest.", remedy='Give the plan a section of kind "rest".')
    resized = setlist if minutes is None else _resized(setlist, 60 * minutes)
    rest = resized.rest
    assert rest is not None
    length = rest.end_s - rest.start_s
    silence = rest.silence_s if silence_s is None else silence_s
    if not 0 <= silence <= length:
        raise SetError(
            f"{silence / 60:g} minutes of silence don't fit into a rest of {length / 60:.1f} minutes.",
            remedy="Make the rest longer, or the silence shorter.",
            command="--minutes MINUTES, --silence MINUTES",
        )
    strokes = rest.bells_s if bells is None else tuple(_stroke(rest, bell) for bell in bells)
    wanted = replace(rest, bells_s=strokes, silence_s=silence)
    shape = frames.with_rest(frames.of_set(resized), wanted)
    after = _chosen_anew(_with_wish(setlist, resized, minutes, bells, silence_s), shape, tracks)
    return changed(setlist, promises.told(setlist, after, tracks), "the rest")


def lengthened(setlist: SetList, tracks: Sequence[Track], minutes: float) -> SetList:
    """The set with a rest of so many minutes, its silence and bells as they were asked for.

    Raises:
        NotEnoughMusic: nothing may stand in the rest.
    """
    resized = _resized(setlist, 60 * minutes)
    assert resized.rest is not None
    wish = setlist.options.rest
    rest = resized.rest
    if wish.bells is not None:
        rest = replace(rest, bells_s=tuple(_stroke(rest, bell) for bell in wish.bells))
    if wish.silence_s is not None:
        rest = replace(rest, silence_s=min(wish.silence_s, rest.end_s - rest.start_s))
    return _chosen_anew(resized, frames.with_rest(frames.of_set(resized), rest), tracks)


def is_one_fit_track(setlist: SetList, tracks: Sequence[Track]) -> bool:
    """Whether one track that is fit for a rest plays all through that of a set."""
    rest = setlist.rest
    if rest is None:
        return False
    inside = [pick.fingerprint for pick in setlist.picks if rest.start_s - 1 < pick.class_start_s < rest.end_s - 1]
    return len(inside) == 1 and any(track.fingerprint in inside and judge(track).fit for track in tracks)


def is_inside(setlist: SetList, pick: Pick) -> bool:
    """Whether a pick begins in the rest."""
    rest = setlist.rest
    return rest is not None and rest.start_s - 0.01 <= pick.class_start_s < rest.end_s - 0.01


def _chosen_anew(resized: SetList, shape: frames.Frame, tracks: Sequence[Track]) -> SetList:
    """The rest's music chosen anew in a new shape; what was promised in it stays where that can be."""
    rest = shape.rest
    assert rest is not None
    inside = [pick for pick in resized.picks if is_inside(resized, pick)]
    outside = [pick for pick in resized.picks if pick not in inside]
    known = {track.fingerprint for track in tracks}
    mine = [
        pick
        for pick in inside
        if (pick.pinned or pick.fingerprint in resized.options.swapped)
        and pick.fingerprint in known
        and pick.class_start_s < rest.end_s - rest.silence_s - SHORTEST_TRACK_S
    ]
    while mine:
        try:
            return redo(resized, shape, outside, tracks, mine)
        except NotEnoughMusic:
            mine.pop()
    return redo(resized, shape, outside, tracks)


def _with_wish(
    before: SetList, resized: SetList, minutes: float | None, bells: Sequence[Bell] | None, silence_s: float | None
) -> SetList:
    """The set with what is asked for and wasn't so before noted, so that it holds when the class is chosen anew."""
    wish, rest = before.options.rest, before.rest
    assert rest is not None
    lasts_s = rest.end_s - rest.start_s
    if minutes is not None and abs(60 * minutes - lasts_s) > promises.SAME_S:
        wish = replace(wish, minutes=minutes, planned_s=lasts_s if wish.minutes is None else wish.planned_s)
    if silence_s is not None and abs(silence_s - rest.silence_s) > promises.SAME_S:
        wish = replace(wish, silence_s=silence_s)
    if bells is not None and tuple(_stroke(rest, bell) for bell in bells) != rest.bells_s:
        words = tuple(dict.fromkeys(bell for bell in bells if bell == "start" or bell == "end"))
        wish = replace(wish, bells=words if len(words) == len(bells) else None)
    return replace(resized, options=replace(resized.options, rest=wish))


def _order(candidate: RestCandidate) -> tuple[bool, float, float, int]:
    return (not candidate.fit, candidate.excess, float(marks.energy(candidate.track).mean()), candidate.track.id)


def _stroke(rest: Rest, bell: Bell) -> float:
    if bell == "start":
        return rest.start_s
    if bell == "end":
        return rest.end_s
    if not isinstance(bell, int | float) or not math.isfinite(bell):
        raise SetError(f'a bell can\'t ring at "{bell}".', remedy="Say start, end, or both.")
    return float(bell)


def _resized(setlist: SetList, length_s: float) -> SetList:
    """The same class with a rest of another length: what follows moves, the arc of the rest is carried on."""
    rest = setlist.rest
    assert rest is not None
    if not 0 < length_s <= LONGEST_REST_S:
        raise SetError(f"{length_s / 60:g} minutes make no rest.", remedy="A rest lasts from 5 to 15 minutes.")
    by_s = length_s - (rest.end_s - rest.start_s)
    return replace(
        setlist,
        class_s=setlist.class_s + by_s,
        sections=tuple(_section_moved(section, rest.end_s, by_s) for section in setlist.sections),
        arc=_spliced(setlist.arc, setlist, by_s),
        target_energy=_spliced(setlist.target_energy, setlist, by_s),
        rest=replace(
            rest,
            end_s=rest.end_s + by_s,
            bells_s=tuple(_later(at, rest.end_s, by_s) for at in rest.bells_s),
            silence_s=min(rest.silence_s, length_s),
        ),
        picks=tuple(_pick_moved(pick, rest.end_s, by_s) for pick in setlist.picks),
        frame=_frame_moved(setlist, by_s),
    )


def _later(at_s: float, from_s: float, by_s: float) -> float:
    return at_s + by_s if at_s >= from_s - 1e-6 else min(at_s, max(from_s + by_s, 0.0))


def _section_moved(section: SectionTime, from_s: float, by_s: float) -> SectionTime:
    passes = tuple(
        replace(each, start_s=_later(each.start_s, from_s, by_s), end_s=_later(each.end_s, from_s, by_s))
        for each in section.passes
    )
    start_s, end_s = (_later(at, from_s, by_s) for at in (section.start_s, section.end_s))
    return replace(section, start_s=start_s, end_s=end_s, passes=passes)


def _pick_moved(pick: Pick, from_s: float, by_s: float) -> Pick:
    if pick.class_start_s < from_s - 0.01:
        return pick
    return replace(pick, class_start_s=pick.class_start_s + by_s, class_end_s=pick.class_end_s + by_s)


def _frame_moved(setlist: SetList, by_s: float) -> SetFrame:
    shape = frames.of_set(setlist)
    assert shape.rest is not None
    from_s = shape.rest.end_s
    silence = (shape.rest.end_s - shape.rest.silence_s, shape.rest.end_s)

    def moved(stretches: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
        kept = [edges for edges in stretches if edges != silence]
        return tuple((_later(start, from_s, by_s), _later(end, from_s, by_s)) for start, end in kept)

    rules = [
        replace(rule, start_s=_later(rule.start_s, from_s, by_s), end_s=_later(rule.end_s, from_s, by_s))
        for rule in shape.rules
    ]
    end_s = from_s + by_s
    silent = moved(shape.silent)
    if shape.rest.silence_s > 0:
        silent = (*silent, (max(end_s - shape.rest.silence_s, shape.rest.start_s), end_s))
    after = replace(
        shape,
        rules=tuple(rule for rule in rules if rule.end_s > rule.start_s),
        silent=tuple(sorted(edges for edges in silent if edges[1] > edges[0])),
        held=moved(shape.held),
        talk=moved(shape.talk),
        songs=tuple(replace(song, at_s=_later(song.at_s, from_s, by_s)) for song in shape.songs),
        spoken=moved(shape.spoken),
        moments=tuple(replace(moment, at_s=_later(moment.at_s, from_s, by_s)) for moment in shape.moments),
    )
    return frames.for_set(after)


def _spliced(curve: np.ndarray, setlist: SetList, by_s: float) -> np.ndarray:
    """The curve with the rest's part stretched or cut before what follows it; its silence stays at its end."""
    rest = setlist.rest
    assert rest is not None
    curve, silent_from = curve.copy(), math.floor(rest.end_s - rest.silence_s)
    if rest.silence_s > 0 and silent_from > 0:
        curve[silent_from : math.ceil(rest.end_s)] = curve[silent_from - 1]
    seconds = math.ceil(setlist.class_s + by_s)
    after = curve[math.floor(rest.end_s + 0.5) :]
    room = seconds - len(after)
    before = curve[: math.floor(rest.end_s + 0.5)]
    known = before[~np.isnan(before)]
    filled = np.concatenate((before[:room], np.full(max(room - len(before), 0), known[-1] if len(known) else np.nan)))
    return np.concatenate((filled, after)).astype(np.float32)
