"""A track named by its number or by words of its title: asks where two fit."""

import sys
from collections.abc import Sequence
from typing import TypeVar

import typer

from audio.errors import ArcbedError
from audio.text import one_line
from audio.track import Recording
from pairing.commands.app import say
from pairing.model import SetList

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
        raise ArcbedError(f'none of your tracks fits "{words}".', remedy="arcbed tracks lists them.")
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


def which_pick(words: str, setlist: SetList) -> int:
    """The number of the track of a class that is meant by its number or by words of its title and artist.

    Raises:
        ArcbedError: none fits, or several do.
    """
    asked = words.strip().casefold()
    if asked.isdecimal():
        return int(asked)
    names = {pick.n: f"{pick.title} {pick.artist}".casefold() for pick in setlist.picks}
    alike = [pick.n for pick in setlist.picks if pick.title.casefold() == asked]
    found = alike or [n for n, name in names.items() if asked and all(word in name for word in asked.split())]
    if len(found) == 1:
        return found[0]
    said = ", ".join(f'{pick.n} "{one_line(pick.title)}"' for pick in setlist.picks if pick.n in found or not found)
    raise ArcbedError(
        f'{"several tracks" if found else "no track"} of this class {"fit" if found else "fits"} "{words}".',
        remedy=f"Give its number: {said}.",
    )
