"""Undo and redo without limit: former contents of a set's file, packed, and the plan's that went with them."""

import zlib
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class State:
    """What the set's file held; `plan` are the plan's contents before and after, where the change wrote into it too."""

    content: bytes
    plan: tuple[bytes, bytes] | None = None


@dataclass(frozen=True, slots=True)
class _Change:
    what: str
    content: bytes  # packed
    plan: tuple[bytes, bytes] | None

    def state(self) -> State:
        return State(zlib.decompress(self.content), self.plan)


class History:
    """The contents a file had, and those that were taken back."""

    def __init__(self) -> None:
        self._before: list[_Change] = []
        self._after: list[_Change] = []

    def note(self, what: str, content: bytes, plan: tuple[bytes, bytes] | None = None) -> None:
        """Remember the content before a change that did `what`; what was taken back is forgotten."""
        self._before.append(_Change(what, _packed(content), plan))
        self._after.clear()

    def back(self, content: bytes) -> State:
        """The state before the last change; `content` is that of now.

        Raises:
            IndexError: there is none.
        """
        change = self._before.pop()
        self._after.append(replace(change, content=_packed(content)))
        return change.state()

    def again(self, content: bytes) -> State:
        """The state after the change that was taken back last.

        Raises:
            IndexError: there is none.
        """
        change = self._after.pop()
        self._before.append(replace(change, content=_packed(content)))
        return change.state()

    def forget(self) -> None:
        """Start anew: the file is another one now."""
        self._before.clear()
        self._after.clear()

    @property
    def undoes(self) -> str | None:
        """What undo would take back."""
        return self._before[-1].what if self._before else None

    @property
    def redoes(self) -> str | None:
        """What redo would do again."""
        return self._after[-1].what if self._after else None


def _packed(content: bytes) -> bytes:
    return zlib.compress(content, 6)
