"""Commands about the library of music: scan, tracks."""

import sys
from pathlib import Path
from typing import Annotated

import typer

from pairing.commands.app import FAILED, INTERRUPTED, AsJson, LibraryFile, Numbers, app, say, show, show_json
from pairing.commands.which import which


@app.command()
def scan(
    folders: Annotated[
        list[Path] | None, typer.Argument(metavar="FOLDER", help="Folders of music; if none, your music folder.")
    ] = None,
    library: LibraryFile = None,
    jobs: Annotated[
        int | None,
        typer.Option(
            "--jobs", metavar="N", min=1, help="How many files to listen to at once; usually one for each core."
        ),
    ] = None,
    scheduler: Annotated[
        str | None,
        typer.Option("--scheduler", metavar="ADDRESS", help="Let the workers of this dask scheduler do the listening."),
    ] = None,
    join: Annotated[
        list[Path] | None,
        typer.Option(
            "--join", metavar="FILE", help="First take over what another library file knows; can be repeated."
        ),
    ] = None,
    set_aside: Annotated[
        bool, typer.Option("--set-aside", help="First rename a library file that is damaged, and start a new one.")
    ] = False,
    forget_missing: Annotated[
        bool,
        typer.Option(
            "--forget-missing", help="At the end, forget files that are gone; what you said about them stays."
        ),
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Listen to your music: all that is new or has changed.

    With --join, --set-aside or --forget-missing and no FOLDER, only that is done.

    Example: arcbed scan ~/Music
    """
    if set_aside:
        _set_aside(library)
    for other in join or []:
        _join(library, other)
    if folders or not (set_aside or join or forget_missing):
        _scan(folders or [], library, jobs, scheduler, as_json)
    if forget_missing:
        _forget_missing(library)


def _scan(folders: list[Path], library: Path | None, jobs: int | None, scheduler: str | None, as_json: bool) -> None:
    from pairing.show.asjson import scan_json
    from pairing.show.terminal import progress_bar, scan_text
    from pairing.workflow import music

    with progress_bar("Listening", sys.stderr) as progress:
        report = music.scan_music(folders, library, jobs=jobs, progress=progress, scheduler=scheduler)
    if as_json:
        show_json(scan_json(report, music.library_path(library)))
    else:
        show(scan_text(report, music.library_path(library)))
    if report.interrupted:
        raise typer.Exit(INTERRUPTED)
    if report.not_looked_at:
        raise typer.Exit(FAILED)


def _set_aside(library: Path | None) -> None:
    from audio.text import one_line
    from pairing.workflow import music

    done = music.set_aside(library)
    if done is None:
        say("Nothing is damaged, so nothing was set aside.")
    else:
        say(one_line(f"The library file {done.reason} It is now called {done.path}, and a new one was started."))
        kept = done.kept
        say(f"Saved from it: {kept.recordings} tracks, {kept.words} marks and classes played.")


def _join(library: Path | None, other: Path) -> None:
    from audio.text import one_line
    from pairing.show.text import counted
    from pairing.workflow import music

    count = music.join(library, other)
    say(f"Took over {counted(count, 'track', 'tracks')} from {one_line(str(other))}.")


def _forget_missing(library: Path | None) -> None:
    from pairing.show.text import counted
    from pairing.workflow import music

    say(f"Forgot {counted(music.forget_missing(library), 'file', 'files')}; what you said about them stays.")


@app.command()
def tracks(
    words: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[WORD...]", help="Only tracks with these words in their names; with --mark, what you say of one."
        ),
    ] = None,
    library: LibraryFile = None,
    mark: Annotated[
        str | None,
        typer.Option(
            "--mark", metavar="TRACK", help="Say something of a track yourself: its number, or words of its title."
        ),
    ] = None,
    by: Annotated[
        str | None,
        typer.Option("--by", metavar="ORDER", help="What comes first: calm, lively, soft, length or title."),
    ] = None,
    numbers: Numbers = False,
    second_opinion: Annotated[
        str | None,
        typer.Option(
            "--second-opinion",
            metavar="TRACK",
            help="Listen to a track you doubt with librosa too: beat, tempo and key side by side.",
        ),
    ] = None,
    picture: Annotated[
        Path | None, typer.Option("--picture", metavar="FILE.svg", help="With --second-opinion: draw both here.")
    ] = None,
    unusable: Annotated[
        bool, typer.Option("--unusable", help="List the files that can't be used too, and why.")
    ] = False,
    curves: Annotated[bool, typer.Option("--curves", help="With --json: curves, beats and places to cut.")] = False,
    as_json: AsJson = False,
) -> None:
    """List your tracks, and say more of one of them than can be measured.

    Example: arcbed tracks --mark 12 energy=40% rest=never
    """
    from pairing.show.asjson import tracks_json
    from pairing.show.terminal import tracks_table
    from pairing.workflow import music

    if second_opinion is not None:
        _second_opinion(library, second_opinion, picture)
        return
    known, broken = music.everything(library)
    if mark is not None:
        found = [music.mark_track(library, which(mark, [*known, *broken]).id, words or [])]
    else:
        found = music.find_tracks([*known, *(broken if unusable else ())], words or [])
        found = music.in_order(found, by) if by else found
    if as_json:
        show_json(tracks_json(found, curves=curves))
    elif found:
        show(tracks_table(found, others=known, numbers=numbers))
    else:
        say("No track has these words in its name." if words else "No music yet. Start here: arcbed scan FOLDER")


def _second_opinion(library: Path | None, asked: str, picture: Path | None) -> None:
    from audio.files.whole import write_text
    from audio.measure.opinion import opinions
    from pairing.show.opinion import opinions_picture, opinions_text
    from pairing.workflow import music

    track = which(asked, music.all_tracks(library))
    both = opinions(track.path)
    show(opinions_text(track.title, both))
    if picture is not None:
        write_text(picture, opinions_picture(track.title, both))
        say(f"Drawn in {picture}.")
