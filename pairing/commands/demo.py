"""The command that shows the whole job."""

from pathlib import Path
from typing import Annotated

import typer

from pairing.commands.app import app, say, show


@app.command()
def demo(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Where the results go.")] = Path("demo_class"),
) -> None:
    """Try everything: about 20 tracks are made up, then matched to a class made up too.

    Example: arcbed demo demo_class
    """
    from pairing.show.screen import progress_bar
    from pairing.show.terminal import set_text
    from pairing.workflow import demo as work

    say("This takes a few minutes the first time.")
    done = work.demo(folder, progress_bar)
    show(set_text(done.made.setlist, done.made.path, written=True))
    show("\nWritten:\n" + "\n".join(f"  {file}" for file in done.files))
    show(f"The tracks are in {done.tracks_folder}.\nOpen {done.folder / 'demo-class.html'} in your browser.")
