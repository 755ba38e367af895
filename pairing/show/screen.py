"""A terminal: its width, whether it shows colours, and progress with the time left.

rich draws tables and bars; it is imported only here and in `terminal`. Text goes in as `rich.text.Text`, never as
markup, after `one_line` has taken every control character out.
"""

import contextlib
import io
import os
import shutil
import sys
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, TextIO

from audio.text import one_line

if TYPE_CHECKING:
    from rich.console import Console, RenderableType
    from rich.text import Text

LEAST_WIDTH, MOST_WIDTH = 60, 160  # tables don't get better when wider; editorial

Advance = Callable[[int, int, str], None]


def width_of_screen() -> int:
    """Columns to fill: those of the terminal (COLUMNS), 80 where there is none."""
    return min(max(shutil.get_terminal_size((80, 24)).columns, LEAST_WIDTH), MOST_WIDTH)


def wants_colour(stream: TextIO) -> bool:
    """Whether `stream` is a terminal and the user has not said NO_COLOR (https://no-color.org) or TERM=dumb."""
    return stream.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def can_draw(stream: TextIO | None = None) -> bool:
    """Whether blocks and lines can be printed, or only letters."""
    encoding = getattr(stream or sys.stdout, "encoding", None) or "ascii"
    try:
        "▁█━·…–×½".encode(encoding)
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def rendered(part: "RenderableType", width: int | None = None) -> str:
    """Give what rich makes of `part` as text, with colours if stdout shows them."""
    stream = io.StringIO()
    console = _console(stream, width or width_of_screen(), wants_colour(sys.stdout))
    console.print(part)
    return "\n".join(line.rstrip() for line in stream.getvalue().split("\n")).rstrip("\n")


def safe(text: str, style: str = "") -> "Text":
    """Give any text as one harmless line for a table."""
    from rich.text import Text

    return Text(one_line(text), style=style)


@contextlib.contextmanager
def progress_bar(what: str, stream: TextIO | None = None) -> Iterator[Advance]:
    """Show how far long work is and how long it will take; give the function to call as it goes on.

    The function takes how many are done, how many there are, and what was just done. Where `stream` (stderr) is no
    terminal, nothing is drawn.
    """
    out = stream or sys.stderr
    if not out.isatty():
        yield _silent
        return
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (
        TextColumn("{task.description}", markup=False),
        BarColumn(bar_width=24),
        MofNCompleteColumn(),
        TimeRemainingColumn(compact=True),
        TextColumn("left  {task.fields[name]}", markup=False),
    )
    console = _console(out, width_of_screen(), wants_colour(out), terminal=True)
    with Progress(*columns, console=console, transient=True) as progress:
        task = progress.add_task(what, total=None, name="")

        def advance(done: int, total: int, name: str = "") -> None:
            progress.update(task, completed=done, total=total, name=one_line(name, 30))

        yield advance


@contextlib.contextmanager
def waiting(what: str, stream: TextIO | None = None) -> Iterator[None]:
    """Say what is under way, and for how long, where nobody knows how much is left; only if `stream` is a terminal."""
    out = stream or sys.stderr
    if not out.isatty():
        yield
        return
    from rich.progress import Progress, TextColumn, TimeElapsedColumn

    console = _console(out, width_of_screen(), wants_colour(out), terminal=True)
    columns = (TextColumn("{task.description}", markup=False), TimeElapsedColumn())
    with Progress(*columns, console=console, transient=True) as progress:
        progress.add_task(what, total=None)
        yield


def _silent(done: int, total: int, name: str = "") -> None:
    pass


def _console(stream: TextIO, width: int, colour: bool, *, terminal: bool | None = None) -> "Console":
    from rich.console import Console

    return Console(
        file=stream,
        width=width,
        force_terminal=True if terminal else colour,
        no_color=not colour,
        color_system="standard" if colour else None,
        highlight=False,
        markup=False,
        emoji=False,
        legacy_windows=False,
    )
