"""Music of recent classes and of other sets, so that a class need not sound like last week's, or a third group's.

A use costs less with every week that passes, a place in another set always the same; neither bans a track. What comes
again is told.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from audio.track import Track
from pairing.alignment.keeping import listed
from pairing.model import Finding, SetList, Where

LAST_CLASS_COST = 3.0  # a track of today's class, in the objective's units; editorial
HALVED_EVERY_DAYS = 7.0  # editorial
OTHER_SET_COST = 25.0  # a track of a set that this one shall not be like: more than a whole set costs; editorial
LATELY_DAYS = 28  # so long a use is told of


@dataclass(frozen=True, slots=True)
class Use:
    """A recording that was played in a class."""

    fingerprint: str
    days_ago: float


def recency_costs(tracks: Sequence[Track], uses: Iterable[Use]) -> Mapping[int, float]:
    """Cost of using each track again, by its number, in the solver's unit; uses add up, and halve with the days.

    >>> from types import SimpleNamespace as Known
    >>> costs = recency_costs([Known(id=7, fingerprint="a"), Known(id=8, fingerprint="b")], [Use("a", 0.0)])
    >>> costs == {7: LAST_CLASS_COST}
    True
    """
    cost: dict[str, float] = {}
    for use in uses:
        # Whole days, so that two runs on one day give the same set.
        halved = 0.5 ** (max(round(use.days_ago), 0) / HALVED_EVERY_DAYS)
        cost[use.fingerprint] = cost.get(use.fingerprint, 0.0) + LAST_CLASS_COST * halved
    return {track.id: cost[track.fingerprint] for track in tracks if track.fingerprint in cost}


def fingerprints(setlist: SetList) -> tuple[str, ...]:
    """The recordings a set plays, in order, each once: what to note when it was used."""
    return tuple(dict.fromkeys(pick.fingerprint for pick in setlist.picks))


def other_costs(tracks: Sequence[Track], others: Iterable[SetList]) -> Mapping[int, float]:
    """Cost of the tracks that other sets play, by number."""
    theirs = {mark for setlist in others for mark in fingerprints(setlist)}
    return {track.id: OTHER_SET_COST for track in tracks if track.fingerprint in theirs}


def come_again(made: SetList, others: Sequence[SetList], uses: Iterable[Use]) -> Iterator[Finding]:
    """What a set plays though other music was asked for: of other sets, and of recent classes."""
    picks = {pick.fingerprint: pick.title for pick in made.picks}
    theirs = {mark for setlist in others for mark in fingerprints(setlist)}
    again = [title for mark, title in picks.items() if mark in theirs]
    if others:
        words = f"{len(picks) - len(again)} of {len(picks)} tracks are in none of the other classes."
        words += f" These come again: {listed(again)}." if again else ""
        yield Finding("note", "other-than", Where(name="set"), words)
    lately = {use.fingerprint: round(use.days_ago) for use in sorted(uses, key=lambda use: -use.days_ago)}
    heard = [mark for mark in picks if lately.get(mark, LATELY_DAYS + 1) <= LATELY_DAYS]
    if heard:
        titles = listed([picks[mark] for mark in heard])
        yield Finding(
            "note",
            "heard-lately",
            Where(name="set"),
            f"Heard in the last {LATELY_DAYS // 7} weeks, and chosen again: {titles}.",
        )
