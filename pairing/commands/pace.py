"""The command about the teacher's own pace."""

from pathlib import Path
from typing import Annotated

import typer

from pairing.commands.app import AsJson, Misuse, app, say, show, show_json


@app.command()
def pace(
    kind: Annotated[
        str | None, typer.Argument(metavar="KIND", help="A kind of section: flow, floor, rest and so on.")
    ] = None,
    words: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="WORD...", help="breath=SECONDS, first=SECONDS or between=SECONDS; nothing after = forgets it."
        ),
    ] = None,
    learn: Annotated[
        list[Path] | None,
        typer.Option("--learn", metavar="LOG", help="Learn from the log of a class you taught; can be repeated."),
    ] = None,
    undo: Annotated[bool, typer.Option("--undo", help="Undo the last change.")] = False,
    as_json: AsJson = False,
) -> None:
    """Show or set your own pace, or learn it from classes you taught; plans that name no breath use it.

    Example: arcbed pace flow breath=5.5 between=10
    """
    from pairing.show.pacetext import pace_change_text, pace_json, pace_text
    from pairing.workflow import pace as paces

    done = None
    if undo:
        done = paces.undo()
    elif learn:
        logs = [*learn, *map(Path, filter(None, (kind, *(words or []))))]  # "--learn LOG LOG LOG" types more easily
        done = paces.learn(logs)
    elif kind is not None and words:
        done = paces.say(kind, words)
    elif kind is not None:
        command = "arcbed pace flow breath=5.5 between=10"
        raise Misuse(f"say what your pace is in {kind}.", remedy="For example.", command=command)
    if done and not as_json:
        show(pace_change_text(done.before, done.after))
        say(f"Kept in {done.path}. To undo it: arcbed pace --undo")
    elif as_json:
        show_json(pace_json(paces.known_pace()))
    else:
        show(pace_text(paces.known_pace()))
