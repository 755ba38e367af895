"""The application: options shared by all commands, results to the screen, errors to exit statuses."""

import io
import os
import select
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any, TypeVar

import typer

from audio.errors import ArcbedError, AudioError, LibraryError, OutputError
from pairing.commands.guide import Command, CommandList, UsageError, usage_text
from pairing.errors import PlanError
from pairing.model import Finding, SetList

Function = TypeVar("Function", bound=Callable[..., Any])


class App(typer.Typer):
    """The program: its commands speak in the words of `pairing.commands.guide`."""

    def command(self, name: str | None = None, **kwargs: Any) -> Callable[[Function], Function]:
        """Add a command; a stop by hand is told, and what was finished is kept."""
        return super().command(name, cls=_Stoppable, **kwargs)


class _Stoppable(Command):
    def invoke(self, ctx: Any) -> Any:
        try:
            return super().invoke(ctx)
        except KeyboardInterrupt:
            if self.name != "open":  # there it is how one ends it
                say("Stopped. What was finished is kept.")
            raise typer.Exit(INTERRUPTED) from None


app = App(
    name="arcbed",
    cls=CommandList,
    help="times the music of a movement class to its plan.",
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

LibraryFile = Annotated[
    Path | None,
    typer.Option(
        "--library", metavar="FILE", envvar="ARCBED_LIBRARY", help="Another file of what is known about your music."
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="Print the result as JSON, and nothing else.")]
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
        sys.exit(app(prog_name="arcbed", standalone_mode=False))
    except UsageError as error:
        sys.exit(_said(usage_text(error), WRONG_USE))
    except PlanError as error:
        from pairing.show.terminal import plan_error_text

        sys.exit(_said(plan_error_text(error, _as_typed(error.where)), WRONG_USE))
    except (AudioError, OutputError, LibraryError) as error:
        sys.exit(_said(_harmless(error), FAILED))
    except ArcbedError as error:
        sys.exit(_said(_harmless(error), WRONG_USE))
    except (KeyboardInterrupt, typer.Abort):
        sys.exit(_said("Stopped. What was finished is kept.", INTERRUPTED))
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

    first, *others = map(one_line, str(error).split("\n"))
    text = "\n".join([first, *(f"  {line}" for line in others)])
    return text if error.where else text[:1].upper() + text[1:]


def _said(text: str, status: int) -> int:
    say(text)
    return status
