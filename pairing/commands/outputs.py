"""Commands that write what a teacher walks in with: mix, playlist, sheet."""

import datetime
from pathlib import Path
from typing import Annotated

import typer

from audio.files.encode import endings_text
from pairing.commands.app import Force, LibraryFile, Misuse, app, end, end_with_gaps, say, show
from pairing.commands.sets import SetPath
from pairing.model import Finding

RIGHTS = (
    "Playing music to a class, and copying it into one file, may need a licence where you live; keep the file to\n"
    "yourself. Set the volume with a sound level meter at a mat."
)

SHEET_READY = "Open it in a browser: print it, or press Class clock beside the mat."


@app.command()
def mix(
    set_file: SetPath,
    out: Annotated[Path | None, typer.Option("--out", metavar="FILE", help=f"One file: {endings_text()}.")] = None,
    parts: Annotated[
        Path | None,
        typer.Option("--parts", metavar="FOLDER", help="A file for each track, cut, levelled and numbered."),
    ] = None,
    ending: Annotated[
        str, typer.Option("--as", metavar="KIND", help="With --parts: the kind of file, such as mp3 or flac.")
    ] = "mp3",
    under_voice: Annotated[
        bool, typer.Option("--under-voice", help="Lower the music in the opening and wherever the plan has you speak.")
    ] = False,
    loud: Annotated[
        bool, typer.Option("--loud", help="Make all of it louder, as far as its loudest moment allows.")
    ] = False,
    library: LibraryFile = None,
    force: Force = False,
) -> None:
    """Write the music of the whole class as one file, or a file for each track.

    Example: arcbed mix saturday.json --out saturday.mp3
    """
    from pairing.show.heard import sound_text
    from pairing.show.screen import progress_bar
    from pairing.show.terminal import findings_text, mix_text
    from pairing.workflow import outputs, sets

    if (out is None) == (parts is None):
        raise Misuse("say where to write.", remedy="--out FILE for one file, or --parts FOLDER for a file a track.")
    found = sets.open_set(set_file, library)
    with progress_bar("Writing") as progress:
        if out is not None:
            report = outputs.write_whole_mix(
                found, out, under_voice=under_voice, loud=loud, replace=force, progress=progress
            )
        else:
            assert parts is not None
            report = outputs.write_parts(
                found,
                parts,
                ending="." + ending.lower().lstrip("."),
                under_voice=under_voice,
                loud=loud,
                replace=force,
                progress=progress,
            )
    show(mix_text(report.files))
    if report.sound is not None:
        show(f"\n{sound_text(report.sound)}\n")
    if report.findings:
        show(findings_text(report.findings, set_file))
    say(RIGHTS)
    end_with_gaps(found.setlist)


@app.command()
def pack(
    set_file: SetPath,
    out: Annotated[Path, typer.Option("--out", metavar="FOLDER", help="A new folder, or one packed before.")],
    ending: Annotated[
        str, typer.Option("--as", metavar="KIND", help="The kind of sound files, such as mp3 or flac.")
    ] = "mp3",
    under_voice: Annotated[
        bool, typer.Option("--under-voice", help="Lower the music in the opening and wherever the plan has you speak.")
    ] = False,
    loud: Annotated[
        bool, typer.Option("--loud", help="Make all of it louder, as far as its loudest moment allows.")
    ] = False,
    live: Annotated[
        bool, typer.Option("--live", help="Only one page, with the music inside, that follows you as you teach.")
    ] = False,
    library: LibraryFile = None,
) -> None:
    """Put all you need in class into one folder: mix, cue sheet with clock, a file for each track.

    Example: arcbed pack saturday.json --out saturday-to-go
    """
    if live:
        _pack_live(set_file, out, library)
        return
    from pairing.show.heard import sound_text
    from pairing.show.screen import progress_bar
    from pairing.show.terminal import findings_text
    from pairing.workflow import sets
    from pairing.workflow.pack import write_pack

    found = sets.open_set(set_file, library)
    kind = "." + ending.lower().lstrip(".")
    with progress_bar("Packing") as progress:
        report = write_pack(found, out, ending=kind, under_voice=under_voice, loud=loud, progress=progress)
    show(f"Packed {out}: copy the whole folder to the phone or the stick.")
    if report.sound is not None:
        show(f"\n{sound_text(report.sound)}\n")
    if report.findings:
        show(findings_text(report.findings, set_file))
    say(RIGHTS)


def _pack_live(set_file: Path, out: Path, library: Path | None) -> None:
    from pairing.show.screen import progress_bar
    from pairing.workflow.live import pack_live
    from pairing.workflow.sets import open_set

    with progress_bar("Packing") as progress:
        page = pack_live(open_set(set_file, library), out, progress=progress)
    say(f"Wrote {page} ({page.stat().st_size / 1e6:.0f} MB): open it in a browser, press Class clock, check the level.")
    say(RIGHTS)


@app.command()
def playlist(
    set_file: SetPath,
    out: Annotated[Path, typer.Option("--out", metavar="FILE", help="The playlist to write, .m3u8 or .xspf.")],
    library: LibraryFile = None,
) -> None:
    """Write a playlist. It plays whole tracks, so it takes longer than the class.

    Example: arcbed playlist saturday.json --out saturday.m3u8
    """
    from pairing.show.terminal import quoted
    from pairing.workflow import outputs, sets

    outputs.write_playlist(sets.open_set(set_file, library), out)
    say(f"Wrote {out.name}. A playlist plays whole tracks, without cuts or fades. For music that fits to the second:")
    say(f"  arcbed mix {quoted(set_file)} --out {quoted(set_file.with_suffix('.mp3'))}")


@app.command()
def sheet(
    set_file: SetPath,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FILE", help="The page to write, .html, or .ics for a calendar.")
    ] = None,
    audio: Annotated[
        Path | None, typer.Option("--audio", metavar="MIX", help="The mix, to play along with the class clock.")
    ] = None,
    picture: Annotated[
        Path | None, typer.Option("--picture", metavar="FILE", help="Write the picture of the class too, .svg or .png.")
    ] = None,
    day: Annotated[
        str | None,
        typer.Option(
            "--date",
            metavar="DAY",
            help="The day of the class, as 2026-12-05. A calendar entry without it: the next time that hour comes.",
        ),
    ] = None,
    library: LibraryFile = None,
) -> None:
    """Write the cue sheet with its class clock as one page that works without a network, a calendar entry or a picture.

    Example: arcbed sheet saturday.json --out sheet.html --audio saturday.mp3
    """
    from pairing.show.terminal import findings_text
    from pairing.workflow import outputs, sets

    if out is None and picture is None:
        raise Misuse("say where to write.", remedy="--out FILE.html for the sheet, --picture FILE.svg for the picture.")
    if day and out is None:
        raise Misuse("a picture has no date.", remedy="Leave --date out, or write the sheet: --out FILE.html.")
    found = sets.open_set(set_file, library)
    doubts: tuple[Finding, ...] = ()
    if out is not None:
        doubts = outputs.write_sheet(found, out, audio=audio, day=_day(day) if day else None)
        entry = out.suffix.lower() == ".ics"
        how = "Open it: your calendar takes it." if entry else SHEET_READY
        say(f"Wrote {out.name}. {how}")
    if picture is not None:
        outputs.write_picture(found, picture)
        say(f"Wrote {picture.name}.")
    if doubts:
        say(findings_text(doubts, set_file))
        end(doubts)
    end_with_gaps(found.setlist)


def _day(typed: str) -> datetime.date:
    try:
        return datetime.date.fromisoformat(typed)
    except ValueError:
        raise Misuse(f'"{typed}" is not a day.', remedy="Type it as 2026-12-05: year, month, day.") from None
