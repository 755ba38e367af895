"""Checks of the music in the closing rest: is it fit, does it change, does a beat end in a fade."""

from collections.abc import Iterator, Mapping, Sequence

from audio.track import Track
from pairing.alignment.sedative import CLEAR_BEAT, RestCandidate, felt_bpm, is_driving, judge, stretch_of
from pairing.checks.byhand import is_by_hand
from pairing.model import Finding, Kind, MakeRest, Pick, Rest, SetList, Swap, Where

REST_CODES = ("change-in-rest", "driving-in-rest", "unfit-in-rest", "beat-under-fade")
SHOWN = 3  # tracks that are named one by one


def rest_findings(setlist: SetList, tracks: Mapping[str, Track]) -> Iterator[Finding]:
    """What a teacher must know of the music in the rest; nothing where the class has none.

    Args:
        setlist: as read or as made.
        tracks: the library by fingerprint; picks that it lacks are not judged.
    """
    rest = setlist.rest
    if rest is None:
        return
    inside = _inside(setlist, rest)
    known = [(pick, tracks[pick.fingerprint]) for pick in inside if pick.fingerprint in tracks]
    name = next((section.name for section in setlist.sections if section.kind is Kind.REST), "rest")
    yield from _unfit(setlist, name, _judged(setlist, rest, tracks))
    if known and known[-1][0] is inside[-1]:
        yield from _beat_under_fade(name, inside[-1].n, known[-1][1])
    if len(inside) > 1:
        yield Finding(
            "note",
            "change-in-rest",
            Where(section=name),
            f"The rest has {len(inside)} tracks, so the music changes in it.",
            "Add a calm track as long as its music, or make its silence longer."
            if rest.silence_s
            else "Add a calm track as long as the rest, or end it in silence.",
            deeds=(MakeRest(silent=True),),
        )


def has_unfit(setlist: SetList, tracks: Mapping[str, Track]) -> bool:
    """Whether a track plays in the rest that doesn't suit one."""
    rest = setlist.rest
    return rest is not None and not all(candidate.fit for _, candidate in _judged(setlist, rest, tracks))


def _inside(setlist: SetList, rest: Rest) -> list[Pick]:
    return [pick for pick in setlist.picks if rest.start_s - 1 < pick.class_start_s < rest.end_s - 1]


def _judged(setlist: SetList, rest: Rest, tracks: Mapping[str, Track]) -> list[tuple[Pick, RestCandidate]]:
    known = [pick for pick in _inside(setlist, rest) if pick.fingerprint in tracks]
    return [(pick, judge(_as_played(pick, tracks[pick.fingerprint]))) for pick in known]


def _as_played(pick: Pick, track: Track) -> Track:
    return stretch_of(track, pick.track_start_s, pick.track_start_s + pick.class_end_s - pick.class_start_s)


def _unfit(setlist: SetList, name: str, judged: Sequence[tuple[Pick, RestCandidate]]) -> Iterator[Finding]:
    assert setlist.rest is not None
    unfit = [(pick, candidate) for pick, candidate in judged if not candidate.fit]
    if not unfit:
        return
    said = "; ".join(f'"{each.track.title}" ({", ".join(each.reasons)})' for _, each in unfit[:SHOWN])
    more = f"; and {len(unfit) - SHOWN} more" if len(unfit) > SHOWN else ""
    silence = "make its silence longer" if setlist.rest.silence_s else "leave the rest silent"
    chosen = "You have too little music calm enough for this rest. The calmest was taken: "
    driving = any(is_driving(each.track) for _, each in unfit)
    yield Finding(
        "must" if driving else "should",
        "driving-in-rest" if driving else "unfit-in-rest",
        Where(section=name),
        f"{_by_hand(setlist, [pick for pick, _ in unfit]) or chosen}{said}{more}.",
        f"Add calm music with no beat and no voice, or {silence}.",
        deeds=(MakeRest(silent=True),),
    )


def _by_hand(setlist: SetList, unfit: Sequence[Pick]) -> str | None:
    """How unfit tracks came to stand in the rest, where the teacher put all of them there."""
    if all(pick.pinned for pick in unfit):
        return "You pinned this in the rest, though it doesn't suit one: "
    if all(is_by_hand(setlist, pick.n) for pick in unfit):
        return "You chose this for the rest, though it doesn't suit one: "
    return None


def _beat_under_fade(name: str, n: int, track: Track) -> Iterator[Finding]:
    """A steady beat that a fade takes away is listened after; music without one just goes."""
    known = track.analysis
    assert known is not None
    if known.tempo_bpm is None or known.tempo_confidence < CLEAR_BEAT:
        return
    yield Finding(
        "should",
        "beat-under-fade",
        Where(section=name),
        f'"{track.title}", which fades out at the end of the rest, has a clear beat of {felt_bpm(known):.0f} a minute.',
        "Choose music without a beat, if you have any calm enough.",
        deeds=(Swap(n),),
    )
