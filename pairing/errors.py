"""Errors of plans and sets."""

from audio.errors import ArcbedError
from pairing.model import Finding


class PlanError(ArcbedError):
    """A plan can't be read; carries every finding of the file at once."""

    def __init__(self, message: str, findings: tuple[Finding, ...], *, where: str | None = None) -> None:
        super().__init__(message, where=where)
        self.findings = findings


class SetError(ArcbedError):
    """A set file can't be read, or an edit of a set isn't possible."""


class NotEnoughMusic(ArcbedError):
    """The library can't cover the class under the rules given; says what is missing."""
