"""Commands about the library of music: scan, tracks."""

import sys
from pathlib import Path
from typing import Annotated

import typer

from pairing.commands.app import INTERRUPTED, AsJson, LibraryFile, app, say, show, show_json


@app.command()
def scan(
    folders: Annotated[
        list[Path] | None, typer.Argument(metavar="FOLDER", help="Folders of music; else this user's music folder.")
    ] = None,
    library: LibraryFile = None,
    jobs: Annotated[int | None, typer.Option("--jobs", min=1, help="Files analysed at once; else one a core.")] = None,
    as_json: AsJson = False,
) -> None:
    """Analyse new and changed audio files; what is known already is not read again.

    Example: arcbed scan ~/Music
    """
    from pairing.show.asjson import scan_json
    from pairing.show.terminal import progress_bar, scan_text
    from pairing.workflow import music

    with progress_bar("Listening", sys.stderr) as progress:
        report = music.scan_music(folders or [], library, jobs=jobs, progress=progress)
    if as_json:
        show_json(scan_json(report, music.library_path(library)))
    else:
        show(scan_text(report, music.library_path(library)))
    if report.interrupted:
        raise typer.Exit(INTERRUPTED)


@app.command()
def tracks(
    words: Annotated[
        list[str] | None, typer.Argument(metavar="[WORD...]", help="Only tracks with these words; with --mark, marks.")
    ] = None,
    library: LibraryFile = None,
    mark: Annotated[
        int | None,
        typer.Option("--mark", metavar="TRACK", help="Set your own word on a track: energy=40%, voice=no, rest=never."),
    ] = None,
    unusable: Annotated[bool, typer.Option("--unusable", help="Also the files that can't be used, and why.")] = False,
    curves: Annotated[bool, typer.Option("--curves", help="With --json: the curves, beats and cut points.")] = False,
    as_json: AsJson = False,
) -> None:
    """List the library's tracks with what was measured; mark one with your own word.

    Example: arcbed tracks --mark 12 energy=40% rest=never
    """
    from pairing.show.asjson import tracks_json
    from pairing.show.terminal import tracks_table
    from pairing.workflow import music

    if mark is not None:
        found = [music.mark_track(library, mark, words or [])]
    else:
        found = music.find_tracks(library, words or [], unusable=unusable)
    if as_json:
        show_json(tracks_json(found, curves=curves))
    elif found:
        show(tracks_table(found))
    else:
        say("No track fits these words." if words else "The library is empty. Fill it: arcbed scan FOLDER")
