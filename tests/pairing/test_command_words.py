"""What a person reads who types a command wrongly, or asks for help: our words, an example, nothing of the framework."""

import re

import pytest

from pairing.commands import demo, main, music, open, outputs, pace, plans, sets  # noqa: A004, F401  (they add their commands)
from pairing.commands.app import WRONG_USE, app

NAMES = sorted(each.name or each.callback.__name__ for each in app.registered_commands)
NOT_OURS = re.compile(
    r"<\w|\[OPTIONS\]|Usage:|Options:|Arguments:|Invalid value|No such|Missing|unable to|Input should|Error:|\bNone\b"
    r"|\brequired\b|\bparse\b|\binteger\b"
)


def typed(words, monkeypatch, capsys):
    monkeypatch.setattr("sys.argv", ["arcbed", *words])
    monkeypatch.setenv("COLUMNS", "80")
    with pytest.raises(SystemExit) as end:
        main()
    out, err = capsys.readouterr()
    return end.value.code or 0, out, err


@pytest.mark.parametrize("name", NAMES)
def test_every_command_has_help_with_an_example_of_itself(name, monkeypatch, capsys):
    status, text, _ = typed([name, "--help"], monkeypatch, capsys)
    assert status == 0
    assert f"For example: arcbed {name}" in text
    assert not NOT_OURS.search(text)
    assert max(map(len, text.split("\n"))) <= 80
    options = re.findall(r"^  (--[\w-]+)", text, re.MULTILINE)
    assert options[-1] == "--help"
    assert len(set(options)) == len(options)


def test_the_list_of_commands_has_each_of_them(monkeypatch, capsys):
    status, text, _ = typed(["--help"], monkeypatch, capsys)
    assert status == 0
    assert sorted(re.findall(r"^  ([a-z]+)  +\S", text, re.MULTILINE)) == NAMES
    assert not NOT_OURS.search(text)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["swap"], "arcbed swap needs MUSIC: the class's music: the file that pair wrote."),
        (["pair", "a.md"], "arcbed pair needs --out MUSIC: the file"),
        (["swap", "a.json", "4", "--lively"], "Did you mean --livelier?"),
        (["chek", "a.json"], "Did you mean arcbed check?"),
        (["frobnicate"], 'There is no command "frobnicate".'),
        (["plan", "a.md", "--minutes", "x"], "--minutes MINUTES takes a whole number."),
        (["rest", "a.json", "--minutes", "0.1"], "--minutes MINUTES takes a number from 0.5 on."),
        (["scan", "--jobs", "0"], "--jobs N takes a whole number from 1 on."),
        (["check", "a.json", "--audio"], "--audio needs a word after it."),
        (["swap", "a.json", "--best=3"], "--best stands by itself: nothing comes after it."),
        (["swap", "a.json", "4", "5", "6"], 'arcbed swap has no use for "5 6".'),
        (["mix", "a.json"], "Say where to write.\n  --out FILE for one file"),
        (["swap", "a.json", "--pin", "--best"], "--best and --pin don't go together."),
        (["plan"], "Say which plan.\n  Or start a new one: arcbed plan --new saturday.md"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_what_was_typed_wrongly_is_said_with_what_to_do(words, said, monkeypatch, capsys):
    status, out, err = typed(words, monkeypatch, capsys)
    assert status == WRONG_USE
    assert out == ""
    assert said in err
    assert not NOT_OURS.search(err)
    assert len(err.strip().split("\n")) > 1
