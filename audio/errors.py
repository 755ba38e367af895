"""The errors that stop the work, written for the person who has to act on them."""


class ArcbedError(Exception):
    """Root of all errors that a person is meant to read.

    Args:
        message: what was wrong, one sentence.
        where: file and line, or the thing concerned; shown in front of the message.
        remedy: what to do now, in words that hold wherever the program is used.
        command: what is typed for it at a terminal.
    """

    def __init__(
        self, message: str, *, where: str | None = None, remedy: str | None = None, command: str | None = None
    ) -> None:
        super().__init__(message)
        self.message = message
        self.where = where
        self.remedy = remedy
        self.command = command

    def __str__(self) -> str:
        text = f"{self.where}: {self.message}" if self.where else self.message
        more = self.remedy or self.command
        if self.remedy and self.command:
            more = f"{self.remedy.rstrip('.')}: {self.command}"
        return f"{text}\n  {more}" if more else text


class AudioError(ArcbedError):
    """A file can't be read as audio, or audio can't be written."""


class LibraryError(ArcbedError):
    """The library file can't be opened or written."""


class OutputError(ArcbedError):
    """A result can't be written: the disk is full, the folder is read-only, the file exists."""
