"""Renews what the documents quote from the program: `python tests/docs/quoted.py`.

The commands' part of docs/reference.md is written from the program's own help, and the timetables in README and guide
from the plans they are of, the schema of a set file from its types. Output that hangs on a library of music is pasted by hand and not compared.
"""

import inspect
import json
import re
import tempfile
import typing
from collections.abc import Callable
from pathlib import Path
from typing import Any

from typer.models import ArgumentInfo, OptionInfo
from typer.testing import CliRunner

from pairing.commands import demo, music, open, outputs, pace, plans, sets  # noqa: A004, F401  (they add their commands)
from pairing.commands.app import app
from pairing.plan.starter import starting_plan
from pairing.sets import codec

ROOT = Path(__file__).parents[2]
PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))]
SCHEMA = ROOT / "docs" / "setfile.schema.json"
BEGIN, END = "<!-- commands: written by tests/docs/quoted.py -->", "<!-- end of commands -->"
ORDER = [
    "demo",
    "scan",
    "tracks",
    "poses",
    "plan",
    "pair",
    "swap",
    "rest",
    "used",
    "pace",
    "check",
    "mix",
    "sheet",
    "pack",
    "playlist",
]


def commands_text() -> str:
    """A section a command, in the order in which one needs them."""
    known = {command.name or command.callback.__name__: command.callback for command in app.registered_commands}
    names = [*ORDER, *sorted(known.keys() - set(ORDER))]
    return "\n".join(_section(name, known[name]) for name in names)


def timetables() -> list[str]:
    """What `arcbed plan` prints of the plans that documents show, from "Takes" to the last section."""
    demo_class = (ROOT / "pairing" / "plan" / "demo-class.md").read_text(encoding="utf-8")
    found = []
    for text in (starting_plan(60), demo_class):
        with tempfile.TemporaryDirectory() as folder:
            (Path(folder) / "saturday.md").write_text(text, encoding="utf-8")
            printed = CliRunner().invoke(app, ["plan", f"{folder}/saturday.md"], env={"COLUMNS": "100"}).output
        part = re.search(r"^Takes .*?\n\n.*?\n\n", printed.replace(" \n", "\n"), re.DOTALL | re.MULTILINE)
        assert part, printed
        found.append("\n".join(line.rstrip() for line in part[0].splitlines()).rstrip() + "\n")
    return found


def renewed(page: str) -> str:
    """The page with what it quotes as the program has it now."""
    if BEGIN in page:
        before, _, rest = page.partition(BEGIN)
        _, _, after = rest.partition(END)
        page = f"{before}{BEGIN}\n{commands_text()}{END}{after}"
    for old in re.findall(r"^Takes .*?(?=```)", page, re.DOTALL | re.MULTILINE):
        sections = set(re.findall(r"[A-Z]\w+", old))
        new = max(timetables(), key=lambda text: len(sections & set(re.findall(r"[A-Z]\w+", text))))
        page = page.replace(old, new)
    return page


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
        text += f" Usually {parameter.default}."
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


def schema_text() -> str:
    """The schema of a set file, as docs has it."""
    return json.dumps(codec.schema(), indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    SCHEMA.write_text(schema_text(), encoding="utf-8", newline="\n")
    for document in PAGES:
        now, then = renewed(document.read_text(encoding="utf-8")), document.read_text(encoding="utf-8")
        if now != then:
            document.write_text(now, encoding="utf-8", newline="\n")
            print(f"renewed {document.relative_to(ROOT)}")
