"""The command that opens the page."""

import os
from pathlib import Path
from typing import Annotated

import typer

from audio.errors import ArcbedError
from pairing.commands.app import LibraryFile, app, say


@app.command(name="open")
def open_(
    file: Annotated[Path | None, typer.Argument(metavar="[PLAN or MUSIC]", help="What to open first.")] = None,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Only print the address, open no browser.")] = False,
    library: LibraryFile = None,
) -> None:
    """Open the page: plan a class, choose its music, hear and change it. Only this computer can reach it.

    Example: arcbed open saturday.md
    """
    try:
        import starlette  # noqa: F401
        import uvicorn  # noqa: F401
    except ImportError:
        raise ArcbedError("the page needs two more packages.", remedy='Add them: pip install "arcbed[page]"') from None
    from pairing.page import instance
    from pairing.page.desk import desk_for
    from pairing.page.server import serve
    from pairing.page.visit import visit
    from pairing.workflow.music import library_path

    secret = instance.secret_of_user()
    port = instance.running(secret, library_path(library))
    if port is not None:
        address = visit(port, secret, file.absolute() if file else None, browser=not no_browser)
        say(f"arcbed is open already: {address}")
        return
    serve(desk_for(file, library), secret, browser=not no_browser, told=_told)


@app.callback(invoke_without_command=True)
def start(context: typer.Context) -> None:
    """Open the page where no command is named."""
    if context.invoked_subcommand is None:
        open_(None, False, Path(given) if (given := os.environ.get("ARCBED_LIBRARY")) else None)


def _told(address: str) -> None:
    say(f"The page: {address}\nCtrl-C ends it, and so does “Close arcbed” at the foot of the page.")
