"""The application: options shared by all commands, results to the screen, errors to exit statuses."""

import io
import os
import select
import sys
from pathlib import Path
from typing import Annotated, Any

import typer

from audio.errors import ArcbedError, AudioError, LibraryError, OutputError
from pairing.errors import PlanError
from pairing.model import Finding, SetList

app = typer.Typer(
    name="arcbed",
    help="Times the music of a movement class to its plan.",
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

LibraryFile = Annotated[
    Path | None,
    typer.Option(
        "--library", metavar="FILE", envvar="ARCBED_LIBRARY", help="The library file; else the one of this user."
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="Print the result as JSON and nothing else.")]
Numbers = Annotated[bool, typer.Option("--numbers", help="Show the figures behind the words too.")]
Force = Annotated[bool, typer.Option("--force", help="Replace a file that exists.")]


class Misuse(ArcbedError):
    """A command was typed in a way that says too little or too much."""


DONE, MUST, WRONG_USE, FAILED, INTERRUPTED = 0, 1, 2, 3, 130
UNHEARD = 141  # 128 and 13, the number of SIGPIPE: as a shell tells of any program whose output nobody reads


def run() -> None:
    """Run the command line; every error a person can cause ends in words and an exit status."""
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:  # closed by whoever started the program
            setattr(sys, name, open(os.devnull, "w"))  # noqa: SIM115
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a title must not end the work where the screen lacks its letters
    try:
        app()
    except PlanError as error:
        from pairing.show.terminal import plan_error_text

        sys.exit(_said(plan_error_text(error, _as_typed(error.where)), WRONG_USE))
    except (AudioError, OutputError, LibraryError) as error:
        sys.exit(_said(_harmless(error), FAILED))
    except ArcbedError as error:
        sys.exit(_said(_harmless(error), WRONG_USE))
    except KeyboardInterrupt:
        sys.exit(_said("Interrupted; what was finished is kept.", INTERRUPTED))
    except SystemExit as end:
        if isinstance(end.__context__, BrokenPipeError):  # typer has ended in silence, whichever pipe it was
            end.code = UNHEARD if _is_unheard() else _said(f"{end.__context__.strerror}.", FAILED)
        raise
    except OSError as error:
        sys.exit(_said(f"{error.filename or 'A file'}: {error.strerror or error}.", FAILED))


def _is_unheard() -> bool:
    """Whether what reads the output has gone, and not a pipe of the program's own."""
    if not hasattr(select, "poll"):
        return True
    poll = select.poll()
    for stream in (1, 2):
        poll.register(stream, 0)
    return any(event & select.POLLERR for _, event in poll.poll(0))


def say(text: str) -> None:
    """Print a message for the person, beside the result."""
    typer.echo(text, err=True)


def show(text: str) -> None:
    """Print a result."""
    typer.echo(text)


def show_json(value: Any) -> None:
    """Print a result as JSON, alone on stdout."""
    from pairing.show.asjson import as_text

    typer.echo(as_text(value))


def end(findings: tuple[Finding, ...]) -> None:
    """Leave with status 1 if a finding must be seen to."""
    if any(finding.level == "must" for finding in findings):
        raise typer.Exit(MUST)


def end_with_gaps(setlist: SetList) -> None:
    """Name what the set's plan leaves open, and leave with status 1 if anything is."""
    from pairing.show.terminal import gaps_text
    from pairing.workflow.plans import open_questions

    questions = open_questions(setlist)
    if questions:
        say(gaps_text(questions))
    end(questions)


def _as_typed(name: str | None) -> Path | None:
    """The file of this name with the folder that was typed before it, so that a command can name it again."""
    return next((Path(word) for word in sys.argv[1:] if name and Path(word).name == Path(name).name), None)


def _harmless(error: ArcbedError) -> str:
    from audio.text import one_line

    text = "\n".join(one_line(line) for line in str(error).split("\n"))
    return text if error.where else text[:1].upper() + text[1:]


def _said(text: str, status: int) -> int:
    say(text)
    return status
