"""The command that opens the page."""

from pathlib import Path
from typing import Annotated

import typer

from audio.errors import ArcbedError
from pairing.commands.app import LibraryFile, app, say


@app.command(name="open")
def open_(
    file: Annotated[Path | None, typer.Argument(metavar="[PLAN or SET]", help="What to open first.")] = None,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Only print the address.")] = False,
    library: LibraryFile = None,
) -> None:
    """Build, hear and change a class by hand, on a page that only this machine can reach.

    Example: arcbed open saturday.md
    """
    try:
        import starlette  # noqa: F401
        import uvicorn  # noqa: F401
    except ImportError:
        raise ArcbedError("the page needs two more packages.", remedy='Add them: pip install "arcbed[page]"') from None
    from pairing.page.desk import desk_for
    from pairing.page.server import serve

    serve(desk_for(file, library), browser=not no_browser, told=_told)


def _told(address: str) -> None:
    say(f"The page: {address}\nIt works as long as this window stays open; Ctrl-C ends it.")
