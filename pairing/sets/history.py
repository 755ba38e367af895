"""Music of recent classes, so that a class need not sound like last week's.

A use costs less with every week that passes; it never bans a track. Weeks count back from the last class noted, not
from today, so that the same history gives the same set.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime

from audio.track import Track
from pairing.model import SetList

LAST_CLASS_COST = 3.0  # a track of the last class, in the objective's units; editorial
HALVED_EVERY_DAYS = 7.0  # editorial

Use = tuple[str, str, tuple[str, ...]]  # when (ISO 8601), title of the set, fingerprints; as the library gives them


def recency_costs(tracks: Sequence[Track], uses: Iterable[Use]) -> Mapping[int, float]:
    """Cost of using each track again, by number; uses add up."""
    played = [(_moment(when), fingerprints) for when, _, fingerprints in uses]
    last = max((when for when, _ in played), default=None)
    cost: dict[str, float] = {}
    for when, fingerprints in played:
        assert last is not None
        days = (last - when).total_seconds() / 86_400
        for fingerprint in dict.fromkeys(fingerprints):
            halved = 0.5 ** (days / HALVED_EVERY_DAYS)
            cost[fingerprint] = cost.get(fingerprint, 0.0) + LAST_CLASS_COST * halved
    return {track.id: cost[track.fingerprint] for track in tracks if track.fingerprint in cost}


def fingerprints(setlist: SetList) -> tuple[str, ...]:
    """The recordings a set plays, in order, each once: what to note when it was used."""
    return tuple(dict.fromkeys(pick.fingerprint for pick in setlist.picks))


def _moment(when: str) -> datetime:
    moment = datetime.fromisoformat(when)
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)
