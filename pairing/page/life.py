"""How long the program lives: until it is told to end, or an hour after the last page asked for anything."""

import time
from collections.abc import Callable

ALONE_S = 3600.0


class Life:
    """Knows when the program should end.

    Args:
        busy: whether work is under way that a person waits for.
        now: a clock in seconds that never runs backwards.
    """

    def __init__(self, busy: Callable[[], bool], now: Callable[[], float] = time.monotonic) -> None:
        self._busy = busy
        self._now = now
        self._seen_at = now()
        self._told = False

    def seen(self) -> None:
        """A page has asked for something."""
        self._seen_at = self._now()

    def end(self) -> None:
        """A person has closed the program."""
        self._told = True

    @property
    def is_over(self) -> bool:
        """Whether the program should end now; work that is under way is finished first, unless it was told to."""
        if self._busy():
            self.seen()
        return self._told or self._now() - self._seen_at > ALONE_S
