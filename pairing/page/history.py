"""Undo and redo of a file without limit: its former contents, packed."""

import zlib


class History:
    """The contents a file had, and those that were taken back."""

    def __init__(self) -> None:
        self._before: list[tuple[str, bytes]] = []
        self._after: list[tuple[str, bytes]] = []

    def note(self, what: str, content: bytes) -> None:
        """Remember the content before a change that did `what`; what was taken back is forgotten."""
        self._before.append((what, _packed(content)))
        self._after.clear()

    def back(self, content: bytes) -> bytes:
        """The content before the last change; `content` is that of now.

        Raises:
            IndexError: there is none.
        """
        what, former = self._before.pop()
        self._after.append((what, _packed(content)))
        return zlib.decompress(former)

    def again(self, content: bytes) -> bytes:
        """The content after the change that was taken back last.

        Raises:
            IndexError: there is none.
        """
        what, later = self._after.pop()
        self._before.append((what, _packed(content)))
        return zlib.decompress(later)

    def forget(self) -> None:
        """Start anew: the file is another one now."""
        self._before.clear()
        self._after.clear()

    @property
    def undoes(self) -> str | None:
        """What undo would take back."""
        return self._before[-1][0] if self._before else None

    @property
    def redoes(self) -> str | None:
        """What redo would do again."""
        return self._after[-1][0] if self._after else None


def _packed(content: bytes) -> bytes:
    return zlib.compress(content, 6)
