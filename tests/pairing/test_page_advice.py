"""What is said on the page names no command: a teacher who points and clicks has none."""

import ast
import re
from pathlib import Path
from typing import get_args

import pytest

import audio
import pairing
from audio.errors import ArcbedError
from pairing.model import Apply, Deed, Finding, Mark, Swap, Where, WriteMix
from pairing.page.values import error_words, findings_of

TOP = Path(pairing.__file__).parent
FOLDERS = [
    Path(audio.__file__).parent,
    *(TOP / name for name in ("alignment", "checks", "effort", "page", "plan", "sets", "solve", "workflow")),
]
TYPED = re.compile(
    r"\barcbed (check|demo|mix|open|pair|plan|playlist|poses|rest|scan|sheet|swap|tracks|used)\b|(?<![-\w])--[a-z]"
)
TYPING = {"command", "refusal"}  # where it is said what is typed, or where the address of the page is asked for


def texts(path: Path):
    """Every text of a module but docstrings and what errors say is typed."""
    tree = ast.parse(path.read_text("utf-8"))
    other = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.keyword) and node.arg == "command":
            other |= {id(part) for part in ast.walk(node.value)}
        if isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") in ("_PAIR", "REPEATING"):
            other |= {id(part) for part in ast.walk(node.value)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in other:
            yield node.value


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_no_message_and_no_remedy_names_a_command(folder):
    named = {(path.name, text) for path in folder.rglob("*.py") for text in texts(path) if TYPED.search(text)}
    # Refusals of a browser that came without the address: whoever opened the page typed that command.
    assert {text for name, text in named if name != "security.py"} == set()


@pytest.mark.parametrize("kind", get_args(Deed), ids=lambda kind: kind.__name__)
def test_every_deed_has_its_place_on_the_page(kind):
    made = {
        Swap: lambda: Swap(5),
        Mark: lambda: Mark(7, "voice=no"),
        Apply: lambda: Apply("rounds-1"),
        WriteMix: lambda: WriteMix("a.mp3"),
    }.get(kind, kind)()
    (shown,) = findings_of([Finding("note", "a", Where(tracks=(5,)), "m", "Do it.", deeds=(made,))])
    assert shown["remedy"] == "Do it."
    (mend,) = shown["mends"]
    page = (TOP / "page" / "templates" / "page.html").read_text("utf-8")
    assert f'id="view-{mend["view"]}"' in page
    assert mend.get("n") == (5 if kind is Swap else None)


def test_an_error_is_said_in_the_same_way():
    error = ArcbedError("there is no usable music.", remedy="Scan a folder of music.", command="arcbed scan FOLDER")
    assert error_words(error) == "there is no usable music.\nScan a folder of music."
    assert str(error) == "there is no usable music.\n  Scan a folder of music: arcbed scan FOLDER"


@pytest.mark.parametrize(("named", "said"), [("library", "Your music"), ("set", ""), ("the end", "At the end")])
def test_what_has_only_a_name_is_said_as_on_the_sheet(named: str, said: str) -> None:
    (shown,) = findings_of([Finding("note", "a", Where(name=named), "m", None)])
    assert (shown["place"], shown["where"]) == (said, "")
