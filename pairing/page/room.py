"""A class that is taught from this page: made ready once, its sound piece by piece as the clock asks for it."""

from functools import lru_cache

from audio.progress import Progress
from pairing.sets.live import LiveSet
from pairing.show.livepage import piece
from pairing.workflow.live import live_of, page_of
from pairing.workflow.sets import SetFile

KEPT = 64  # pieces at hand, ten minutes of sound in 10 MB: who goes back or begins anew waits for nothing


class Room:
    """What the live page of one state of a class is made of. It stays as it was when that class changes meanwhile.

    Args:
        number: under which its page is found. mark: of the state of the class.
    """

    def __init__(self, number: int, found: SetFile, mark: str, live: LiveSet) -> None:
        self.mark = mark
        self.address = f"/teach/{number}"
        self.page = page_of(found, live, f"/sound/room/{number}")
        self.piece = lru_cache(KEPT)(lambda track, n: piece(live, track, n))


def room_of(number: int, found: SetFile, mark: str, progress: Progress) -> Room:
    """Make a class ready: its tracks are read for places to leave and to go back to.

    Raises:
        AudioError: a track can't be read.
    """
    return Room(number, found, mark, live_of(found, progress))
