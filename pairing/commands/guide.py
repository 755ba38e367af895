"""Help, and what to do where a command was typed wrongly, in this program's own words.

Built on typer's classes of commands, which take what is typed apart; what a person reads of it stands here.
"""

import difflib
import re
import textwrap
import typing
from typing import Any

import typer
from typer.core import TyperCommand, TyperGroup

from pairing.show.screen import width_of_screen

UsageError: type[Exception] = typer.BadParameter.__mro__[1]  # the root of all that is wrong with what was typed
ORDER = (
    "open", "demo", "scan", "tracks", "poses", "plan", "pair", "swap", "rest", "check", "mix", "sheet", "pack",
    "playlist", "used", "pace",
)  # fmt: skip
_NUMBERS = {int: "a whole number", float: "a number"}
_WIDEST = 22  # of what is typed, beside which it is explained; longer stands above


class Command(TyperCommand):
    """A command whose help is a sentence, an example, and a line for each word that it takes."""

    def format_help(self, ctx: Any, formatter: Any) -> None:
        """Write the help."""
        what, _, example = (self.help or "").partition("\n\nExample: ")
        parts = [
            " ".join([ctx.command_path, *(_usage(each) for each in self.params if _is_argument(each))]),
            _paragraph(what),
            f"  For example: {example.strip()}" if example else "",
            _rows([(_name(each), _meaning(each)) for each in self.params if _is_argument(each)]),
            _rows([*((_name(each), _meaning(each)) for each in self.params if not _is_argument(each)), _HELP]),
        ]
        formatter.write("\n\n".join(part for part in parts if part) + "\n")


class CommandList(TyperGroup):
    """All commands: the help lists them in the order in which one needs them."""

    def format_help(self, ctx: Any, formatter: Any) -> None:
        """Write the help."""
        names = [*ORDER, *sorted(self.commands.keys() - set(ORDER))]
        rows = [(name, _first_sentence(self.commands[name].help or "")) for name in names if name in self.commands]
        parts = [
            f"{ctx.command_path}: {self.help}",
            _paragraph(
                f"{ctx.command_path} by itself opens the page in your browser, where all of it can be done. "
                "Or type one of these after it:"
            ),
            _rows(rows),
            f"  More about one of them: {ctx.command_path} swap --help",
        ]
        formatter.write("\n\n".join(parts) + "\n")


def usage_text(error: Any) -> str:
    """What was typed wrongly, and what to do.

    Args:
        error: a `UsageError` of typer.
    """
    command = error.ctx.command_path if error.ctx else "arcbed"
    lines = [*_wrong(error, command), f"  Help: {command} --help"]
    return "\n".join(lines)


def _wrong(error: Any, command: str) -> list[str]:
    param = getattr(error, "param", None)
    option = getattr(error, "option_name", None)
    if type(error).__name__ == "MissingParameter" and param is not None:
        return [f"{command} needs {_label(param)}: {_small(param.help)}", *_example(error)]
    if param is not None:
        return [f"{_label(param)} takes {_kind(param, error.ctx)}.", *_example(error)]
    if type(error).__name__ == "NoSuchOption":
        return [f"{command} has no {option}.", *_near(str(option), _options(error.ctx), "")]
    if option is not None:
        needs = "requires" in error.format_message()
        return [f"{option} needs a word after it." if needs else f"{option} stands by itself: nothing comes after it."]
    return _too_much(error, command)


def _too_much(error: Any, command: str) -> list[str]:
    """A command that there isn't, or more words than a command takes."""
    message = error.format_message()
    if name := re.fullmatch(r"No such command '(.*)'\..*", message, re.DOTALL):
        return [f'There is no command "{name[1]}".', *_near(name[1], list(error.ctx.command.commands), f"{command} ")]
    if words := re.search(r"arguments?(?:\(s\))? \((.*)\)", message, re.DOTALL):
        return [f'{command} has no use for "{words[1]}".', "  A name with spaces in it goes between quotes."]
    return [message]


def _near(typed: str, known: list[str], before: str) -> list[str]:
    near = difflib.get_close_matches(typed, known, 1, 0.5)
    return [f"  Did you mean {before}{near[0]}?"] if near else []


def _options(context: Any) -> list[str]:
    return [option for each in context.command.params for option in each.opts if option.startswith("--")]


def _example(error: Any) -> list[str]:
    _, _, example = (error.ctx.command.help or "").partition("\n\nExample: ")
    return [f"  For example: {example.strip()}"] if example else []


def _kind(param: Any, context: Any) -> str:
    """What a word has to be, from the type that the command takes."""
    hint = typing.get_type_hints(context.command.callback, include_extras=True).get(param.name)
    kinds = [kind for kind in _NUMBERS if kind in _inside(hint)]
    kind = _NUMBERS[kinds[0]] if kinds else "another word"
    low, high = getattr(param, "min", None), getattr(param, "max", None)
    return kind + (f" from {low:g} on" if low is not None else "") + (f" up to {high:g}" if high is not None else "")


def _inside(hint: Any) -> list[Any]:
    return [hint, *(inner for each in typing.get_args(hint) for inner in _inside(each))]


def _is_argument(param: Any) -> bool:
    return bool(param.param_type_name == "argument")


def _label(param: Any) -> str:
    return str(param.metavar or param.name) if _is_argument(param) else _name(param)


def _name(param: Any) -> str:
    if _is_argument(param):
        return str(param.metavar or param.name)
    word = next(each for each in param.opts if each.startswith("--"))
    return word if param.is_flag else f"{word} {param.metavar}"


def _usage(param: Any) -> str:
    name = _name(param).strip("[]")
    return name if param.required else f"[{name}]"


def _meaning(param: Any) -> str:
    others = [] if _is_argument(param) or param.envvar is None else [f"Also: {param.envvar} in the environment."]
    usual = param.default
    if isinstance(usual, str | int) and not isinstance(usual, bool) and usual != "":
        others.append(f"Usually {usual}.")
    return " ".join([param.help or "", *others])


_HELP = ("--help", "Show this.")


def _small(text: str | None) -> str:
    words = text or ""
    return words[:1].lower() + words[1:]


def _first_sentence(text: str) -> str:
    return " ".join(text.split("\n\n")[0].split()).partition(". ")[0].rstrip(".") + "."


def _paragraph(text: str) -> str:
    wide = width_of_screen() - 2
    return "\n\n".join(
        textwrap.fill(" ".join(part.split()), wide, initial_indent="  ", subsequent_indent="  ")
        for part in text.split("\n\n")
    )


def _rows(rows: list[tuple[str, str]]) -> str:
    """Words, each with what it means beside it, below it where it is long."""
    if not rows:
        return ""
    column = min(max(len(name) for name, _ in rows), _WIDEST)
    lines: list[str] = []
    for name, meaning in rows:
        body = textwrap.wrap(meaning, width_of_screen() - column - 4, break_on_hyphens=False) or [""]
        beside = len(name) <= column
        lines.append(f"  {name:<{column}}  {body[0]}".rstrip() if beside else f"  {name}")
        lines += [f"  {'':<{column}}  {line}" for line in (body[1:] if beside else body)]
    return "\n".join(lines)
