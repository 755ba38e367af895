"""Music of recent classes, so that a class need not sound like last week's.

A use costs less with every week that passes; it never bans a track.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from audio.track import Track
from pairing.model import SetList

LAST_CLASS_COST = 3.0  # a track of today's class, in the objective's units; editorial
HALVED_EVERY_DAYS = 7.0  # editorial


@dataclass(frozen=True, slots=True)
class Use:
    """A recording that was played in a class."""

    fingerprint: str
    days_ago: float


def recency_costs(tracks: Sequence[Track], uses: Iterable[Use]) -> Mapping[int, float]:
    """Cost of using each track again, by number; uses add up."""
    cost: dict[str, float] = {}
    for use in uses:
        # Whole days, so that two runs on one day give the same set.
        halved = 0.5 ** (max(round(use.days_ago), 0) / HALVED_EVERY_DAYS)
        cost[use.fingerprint] = cost.get(use.fingerprint, 0.0) + LAST_CLASS_COST * halved
    return {track.id: cost[track.fingerprint] for track in tracks if track.fingerprint in cost}


def fingerprints(setlist: SetList) -> tuple[str, ...]:
    """The recordings a set plays, in order, each once: what to note when it was used."""
    return tuple(dict.fromkeys(pick.fingerprint for pick in setlist.picks))
