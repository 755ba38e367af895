"""What is said on the page names no command: a teacher who points and clicks has none."""

import ast
import doctest
import re
import sys
from pathlib import Path

import pytest

import audio
import pairing
from audio.errors import ArcbedError
from pairing.page.advice import Advice, advice, error_words

FOLDERS = [Path(audio.__file__).parent, *(Path(pairing.__file__).parent / name for name in ("checks", "plan", "sets", "workflow"))]  # fmt: skip


def texts():
    """Every text of the program that names a command or an option, with 7 for what is filled in."""
    for folder in FOLDERS:
        for path in sorted(folder.rglob("*.py")):
            tree = ast.parse(path.read_text("utf-8"))
            docs = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
            inner = {id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in node.values}
            for node in ast.walk(tree):
                text = ""
                if isinstance(node, ast.JoinedStr):
                    text = "".join(part.value if isinstance(part, ast.Constant) else "7" for part in node.values)
                elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docs | inner:
                    text = node.value
                if re.search(r"\barcbed [a-z]+|[^-]--[a-z]", text):
                    yield text


TEXTS = sorted(set(texts()))


def test_there_are_such_texts():
    assert len(TEXTS) > 15


@pytest.mark.parametrize("text", TEXTS)
def test_no_remedy_on_the_page_names_a_command(text):
    told = advice(text)
    words = told.words or ""
    assert not re.search(r"arcbed [a-z]|--[a-z]|\bSET\b|FOLDER|MINUTES", words), words
    assert not words or re.search(r"\w", words)
    assert words or told.label


def test_the_button_leads_to_where_it_is_done():
    told = advice("Choose one of them again: arcbed swap SET 5.")
    assert (told.view, told.n, told.words) == ("class", 5, "Choose one of them again.")
    assert (
        advice("If it has none, say so (arcbed tracks --mark); else arcbed swap SET 3 shows others.").view == "library"
    )
    assert advice("Make the rest again (arcbed rest SET), or pair again.").view == "rest"
    assert advice("Offer fists, forearms or a wedge.") == Advice("Offer fists, forearms or a wedge.")
    assert advice(None) == Advice(None)


def test_an_error_is_said_in_the_same_way():
    error = ArcbedError("there is no usable music in the library.", remedy="Scan a folder of music: arcbed scan FOLDER")
    assert error_words(error) == "there is no usable music in the library.\nScan a folder of music."


def test_the_examples():
    assert doctest.testmod(sys.modules[Advice.__module__]).failed == 0
