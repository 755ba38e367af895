"""A track named by its number or by words of its title: asks where two fit."""

import sys
from collections.abc import Sequence
from typing import TypeVar

import typer

from audio.errors import ArcbedError
from audio.text import one_line
from audio.track import Recording
from pairing.commands.app import say

AnyRecording = TypeVar("AnyRecording", bound=Recording)
MOST_ASKED = 12  # more are too many to choose from on a screen


def which(words: str, tracks: Sequence[AnyRecording]) -> AnyRecording:
    """The track of the library that is meant by its number or by words of title, artist, album or file name.

    Raises:
        ArcbedError: none fits; or several do and nobody can be asked.
    """
    from pairing.workflow.music import fitting

    found = fitting(tracks, words)
    if len(found) == 1:
        return found[0]
    if not found:
        raise ArcbedError(f'no track of the library fits "{words}".', remedy="arcbed tracks lists them.")
    listed = "\n".join(f"  {track.id:>5}  {_name(track)}" for track in found[:MOST_ASKED])
    more = f"\n  and {len(found) - MOST_ASKED} more" if len(found) > MOST_ASKED else ""
    if sys.stdin.isatty() and sys.stderr.isatty():
        say(f'{len(found)} tracks fit "{words}":\n{listed}{more}')
        number = typer.prompt("Which one? Its number", err=True)
        return which(str(number), found)
    raise ArcbedError(
        f'{len(found)} tracks fit "{words}"; which one is meant?\n{listed}{more}',
        remedy="Give its number, or more of its words.",
    )


def _name(track: Recording) -> str:
    return one_line(f"{track.title}, {track.tags.artist}" if track.tags.artist else track.title)
