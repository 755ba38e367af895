"""How long work tells how far it is."""

from collections.abc import Callable

Progress = Callable[[int, int, str], None]  # done, in all, what is being done now
