"""Writes the commands' part of docs/reference.md from the program's own help: `python tests/docs/help_texts.py`."""

import inspect
import typing
from collections.abc import Callable
from pathlib import Path
from typing import Any

from typer.models import ArgumentInfo, OptionInfo

from pairing.commands import demo, music, open, outputs, plans, sets  # noqa: A004, F401  (they add their commands)
from pairing.commands.app import app

PAGE = Path(__file__).parents[2] / "docs" / "reference.md"
BEGIN, END = "<!-- commands: written by tests/docs/help_texts.py -->", "<!-- end of commands -->"
ORDER = ["demo", "scan", "tracks", "poses", "plan", "pair", "swap", "rest", "used", "check", "mix", "playlist", "sheet"]


def commands_text() -> str:
    """A section a command, in the order in which one needs them."""
    known = {command.name or command.callback.__name__: command.callback for command in app.registered_commands}
    names = [*ORDER, *sorted(known.keys() - set(ORDER))]
    return "\n".join(_section(name, known[name]) for name in names)


def renewed(page: str) -> str:
    """The page with its commands' part as the program has it now."""
    before, _, rest = page.partition(BEGIN)
    _, _, after = rest.partition(END)
    return f"{before}{BEGIN}\n{commands_text()}{END}{after}"


def _section(name: str, command: Callable[..., None]) -> str:
    what, _, example = inspect.getdoc(command).partition("\n\nExample: ")
    hints = typing.get_type_hints(command, include_extras=True)
    rows = "".join(
        _row(parameter, hints[parameter.name]) for parameter in inspect.signature(command).parameters.values()
    )
    return f"### arcbed {name}\n{' '.join(what.split())}\n\nExample: `{example}`\n\n| give | means |\n|---|---|\n{rows}"


def _row(parameter: inspect.Parameter, hint: Any) -> str:
    kind, info = typing.get_args(hint)
    text = (info.help or "").replace("|", "or")
    if info.envvar:
        text += f" Also: {info.envvar} in the environment."
    if isinstance(parameter.default, str | int) and parameter.default not in (False, ""):
        text += f" Else {parameter.default}."
    return f"| {_given(parameter.name, kind, info)} | {text} |\n"


def _given(name: str, kind: Any, info: ArgumentInfo | OptionInfo) -> str:
    if isinstance(info, ArgumentInfo):
        return f"`{info.metavar}`"
    words = [info.default, *(info.param_decls or ())]  # the first word of an option stands where its default would
    option = next((word for word in words if str(word).startswith("--")), f"--{name}")
    if kind is bool:
        return f"`{option}`"
    kinds = {"int": "NUMBER", "float": "NUMBER", "str": "WORD", "Path": "FILE"}
    value = info.metavar or next(word for known, word in kinds.items() if known in str(kind))
    return f"`{option} {value}`"


if __name__ == "__main__":
    PAGE.write_text(renewed(PAGE.read_text(encoding="utf-8")), encoding="utf-8", newline="\n")
