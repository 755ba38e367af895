"""Commands about plans: plan, poses, check."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pairing.commands.app import AsJson, Force, LibraryFile, Misuse, Numbers, app, end, say, show, show_json

if TYPE_CHECKING:
    from pairing.model import Edit
    from pairing.workflow.plans import Changed


@app.command()
def plan(
    plan_file: Annotated[Path | None, typer.Argument(metavar="PLAN", help="The class plan.")] = None,
    new: Annotated[Path | None, typer.Option("--new", metavar="FILE", help="Write a plan to start from.")] = None,
    minutes: Annotated[
        int, typer.Option(metavar="MINUTES", help="With --new: how long the slot is, 30, 45, 60, 75 or 90 minutes.")
    ] = 60,
    from_csv: Annotated[
        Path | None, typer.Option("--from-csv", metavar="TABLE", help="Make the plan from a spreadsheet saved as CSV.")
    ] = None,
    apply: Annotated[
        str | None,
        typer.Option("--apply", metavar="N", help="Change the plan by one of the remedies listed: its number."),
    ] = None,
    correct: Annotated[
        bool, typer.Option("--correct", help="Correct every line that can only mean one thing.")
    ] = False,
    tidy: Annotated[
        Path | None,
        typer.Option("--tidy", metavar="FILE", help="Write the plan out in full, as arcbed understands it."),
    ] = None,
    numbers: Numbers = False,
    force: Force = False,
    as_json: AsJson = False,
) -> None:
    """Show what a plan comes to: when everything happens, how hard it is, whether it fits the slot.

    Example: arcbed plan saturday.md
    """
    from pairing.workflow import plans

    if new is not None:
        plans.new_plan(new, minutes, replace=force)
        say(f"Wrote {new.name}. See what it comes to: arcbed plan {_quoted(new)}")
        return None
    if plan_file is None:
        raise Misuse("say which plan.", remedy="Or start a new one.", command="arcbed plan --new saturday.md")
    if from_csv is not None:
        plans.plan_from_spreadsheet(from_csv, plan_file, replace=force)
        say(f"Wrote {plan_file.name}. See what it comes to: arcbed plan {_quoted(plan_file)}")
        return None
    if apply is not None or correct:
        changed = plans.apply_remedy(plan_file, apply) if apply is not None else plans.correct(plan_file)
        say(_changed_text(changed))
        if tidy is None:
            return _show_outline(plan_file, as_json, numbers=numbers, whole=False)
    if tidy is not None:
        plans.tidy(plan_file, tidy, replace=force)
        say(f"Wrote {tidy.name}. See what it comes to: arcbed plan {_quoted(tidy)}")
        return None
    return _show_outline(plan_file, as_json, numbers=numbers)


@app.command()
def poses(
    word: Annotated[str, typer.Argument(metavar="WORD", help="Part of a pose's name, its family or a caution.")] = "",
    as_json: AsJson = False,
) -> None:
    """Look up poses: their names, sides, usual holds, effort and cautions.

    Example: arcbed poses dog
    """
    from pairing.show.asjson import poses_json
    from pairing.show.terminal import poses_table
    from pairing.workflow import plans

    found = plans.find_poses(word)
    if as_json:
        show_json(poses_json(found))
    elif found:
        show(poses_table(found))
    else:
        say(f'No pose has "{word}" in its name. Try a shorter word: arcbed poses {word[:3]}')


@app.command()
def check(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A plan, or a class's music.")],
    audio: Annotated[
        Path | None, typer.Option("--audio", metavar="MIX", help="Listen to this mix, as it was written.")
    ] = None,
    numbers: Numbers = False,
    library: LibraryFile = None,
    as_json: AsJson = False,
) -> None:
    """Look over a plan or a class's music: length, rest, sides, sudden changes, how it will sound.

    Example: arcbed check saturday.json
    """
    from pairing.show.asjson import findings_json, heard_json
    from pairing.show.heard import sound_text
    from pairing.show.screen import progress_bar
    from pairing.show.terminal import findings_text
    from pairing.workflow import checks

    with progress_bar("Listening") as progress:
        checked = checks.check(file, library, audio=audio, progress=progress)
    if as_json:
        heard = heard_json(checked.sound) if checked.sound is not None else []
        show_json([*findings_json(checked.findings), *heard])
    else:
        if checked.sound is not None:
            show(f"{sound_text(checked.sound, numbers=numbers)}\n")
        plan = file if checked.setlist is None else None
        show(findings_text(checked.findings, file, plan, setlist=checked.setlist))
    end(checked.findings)


def _show_outline(path: Path, as_json: bool, *, numbers: bool, whole: bool = True) -> None:
    from pairing.show.asjson import plan_json
    from pairing.show.terminal import plan_change_text, plan_text
    from pairing.workflow import plans

    found = plans.outline(path)
    if as_json:
        show_json(plan_json(found.plan, found.timetable, found.arc, found.slot, found.findings))
    elif whole:
        show(plan_text(found.plan, found.timetable, found.arc, found.slot, found.findings, path=path, numbers=numbers))
    else:
        show(plan_change_text(found.plan, found.timetable, found.slot, found.findings, path))
    end(found.findings)


def _changed_text(changed: "Changed") -> str:
    if not changed.edits:
        return f"{changed.path.name} stays as it is: no line has one clear correction."
    lines = "".join(f"\n  {edit.new.strip() if edit.new is not None else _taken_out(edit)}" for edit in changed.edits)
    return f"Changed in {changed.path.name} ({changed.what}):{lines}"


def _taken_out(edit: "Edit") -> str:
    return f"(line {edit.line} is gone)"


def _quoted(path: Path) -> str:
    from pairing.show.terminal import quoted

    return quoted(path)
