"""Tables, lists of commands and prose as the terminal shows them."""

import shlex
import subprocess
import sys
import textwrap
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from audio.text import clock, one_line
from audio.track import Recording, Shape, Track
from pairing.alignment import marks
from pairing.model import Pick
from pairing.show.screen import width_of_screen
from pairing.show.text import title_of

if TYPE_CHECKING:
    from rich.table import Table

BARS = "▁▂▃▄▅▆▇█"


def table(*columns: str) -> "Table":
    """A table without frame; a column whose name ends in ">" stands to the right and never breaks."""
    from rich.table import Table

    made = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim", collapse_padding=True)
    for column in columns:
        if column.endswith(">"):
            made.add_column(column.rstrip(">"), justify="right", no_wrap=True, overflow="ellipsis")
        else:
            made.add_column(column, overflow="fold")
    return made


def titled(title: str, body: str) -> str:
    """A part of the output with its name above it."""
    return f"{title}:\n{body}"


def filled(words: str) -> str:
    """Prose broken to the terminal's width, its own line breaks kept."""
    return "\n".join(textwrap.fill(line, width_of_screen()) for line in words.split("\n"))


def indented(words: str, first: str, others: str) -> str:
    """Any text as one harmless paragraph of the terminal's width; what stands before its first and its other lines."""
    wide = width_of_screen()
    return textwrap.fill(one_line(words), wide, initial_indent=first, subsequent_indent=others, break_on_hyphens=False)


def next_commands(steps: Sequence[tuple[str, str]]) -> str:
    """Commands to go on with, each with what it does, beside it or below as there is room."""
    wide = max(len(command) for command, _ in steps) + 4
    side_by_side = wide + max(len(what) for _, what in steps) <= width_of_screen()
    rows = (
        f"  {command:<{wide - 2}}{what}" if side_by_side else f"  {command}\n      {what}" for command, what in steps
    )
    return titled("Next", "\n".join(rows))


def quoted(path: Path) -> str:
    """A path as it can be typed after a command on this system."""
    text = one_line(str(path))
    return subprocess.list2cmdline([text]) if sys.platform == "win32" else shlex.quote(text)


def pick_name(pick: Pick) -> str:
    """Title and artist of a pick."""
    artist = one_line(pick.artist, 40)
    return f"{title_of(pick, 80)}, {artist}" if artist else title_of(pick, 80)


def track_name(track: Recording) -> str:
    """Title and artist of a track, else its file's name."""
    artist = one_line(track.tags.artist, 40)
    title = one_line(track.title, 80) or one_line(track.path.name, 80)
    return f"{title}, {artist}" if artist else title


def course(shape: Shape, steps: int = 8, *, climax: bool = False) -> str:
    """How a track rises and falls, a bar a part of it, on demand with the time of its climax; empty if not known."""
    if not shape.sections:
        return ""
    start, end = shape.sections[0].start_s, shape.sections[-1].end_s
    places = [start + (end - start) * (step + 0.5) / steps for step in range(steps)]
    levels = [next(s.level for s in shape.sections if at < s.end_s) for at in places]
    bars = "".join(BARS[min(len(BARS) - 1, int(level * len(BARS)))] for level in levels)
    return bars if shape.climax_s is None or not climax else f"{bars} {clock(shape.climax_s)}"


def tempo(track: Track) -> str:
    """Beats a minute, at both levels where either may be felt, or that there is no clear beat."""
    return " or ".join(f"{bpm:.0f}" for bpm in sorted(marks.tempos_bpm(track))) or "no beat"
