"""Every example of the documents runs: commands in a small home with real music, plans, Python, docstrings.

A document's `sh` blocks run line after line in one folder, as a reader would type them. The class is shorter than the
documents', so that the whole file takes some seconds; the commands are the same.
"""

import json
import re
import shlex
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
import soundfile
from typer.main import get_command
from typer.testing import CliRunner

from audio.scan import scan
from pairing.commands import demo, music, open, outputs, pace, plans, sets  # noqa: A004, F401  (they add their commands)
from pairing.commands.app import app
from pairing.plan.read import read_plan
from pairing.workflow.plans import outline_of

ROOT = Path(__file__).parents[2]
DOCUMENTS = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md"))]
COMMANDS = get_command(app).commands  # type: ignore[attr-defined]
RATE, SECONDS = 22_050, 42  # of each drum; a drone lasts twice as long
LANGUAGES = {"", "text", "sh", "markdown", "python", "json"}

# Stands for the hour that `arcbed plan --new` writes.
SHORT_CLASS = """# Saturday
slot: 3.7 minutes
breath: 5 seconds

## Arrive: opening, 45 seconds, quiet music
- easy seat

## Standing: flow, 40 seconds, driving music
- warrior two

## Rest: rest, what is left, at least 2 minutes, no voice, silent last 1 minute
- savasana
- bell
"""
# Lines that aren't commands of arcbed, or would not end by themselves; each says what runs them instead.
RUN_ELSEWHERE = {
    r"python3 -m venv \.venv && \.venv/bin/pip install": ".ci/run takes both from the README",
    r"\.venv/bin/python -m pytest": "this is it",
    r"(\.venv/bin/python )?\.ci/": "they run this",
    r"\.venv/bin/pre-commit": "the same commands as .ci/check",
    r"\.venv/bin/python tests/(benchmarks|docs)/": "scripts of minutes",
    r"\.venv/bin/pdoc": "test_api_pages.py",
    r"git ": "for a fresh clone",
}


@dataclass(frozen=True)
class Block:
    """A fenced block of a document."""

    document: Path
    line: int
    language: str
    text: str

    def __str__(self) -> str:
        return f"{self.document.name}:{self.line}"


def blocks(document: Path) -> Iterator[Block]:
    """The fenced blocks of a document."""
    begun, language, lines = 0, "", []
    for number, line in enumerate(document.read_text(encoding="utf-8").splitlines(), start=1):
        fence = re.fullmatch(r"```(\w*)", line)
        if fence and not begun:
            begun, language, lines = number, fence[1], []
        elif fence:
            yield Block(document, begun, language, "\n".join(lines) + "\n")
            begun = 0
        elif begun:
            lines.append(line)
    assert not begun, f"{document.name}: the block of line {begun} has no end"


ALL = [block for document in DOCUMENTS for block in blocks(document)]
of = lambda language: [block for block in ALL if block.language == language]


def inline_commands() -> list[tuple[str, str]]:
    """Commands that stand in a line of text, with the place."""
    return [
        (f"{document.name}:{number}", found)
        for document in DOCUMENTS
        for number, line in enumerate(document.read_text(encoding="utf-8").splitlines(), start=1)
        for found in re.findall(r"`(arcbed [^`]+)`", line)
    ]


def elsewhere(line: str) -> bool:
    if line.startswith("python tests/benchmarks/"):
        return (ROOT / line.split()[1]).is_file()  # for whoever measures anew
    return any(re.match(known, line) for known in RUN_ELSEWHERE)


def drone(hertz: float) -> np.ndarray:
    """A soft chord that swells slowly, and is touched now and then."""
    seconds = 2 * SECONDS  # one lasts as long as the music of the rest
    time = np.arange(seconds * RATE) / RATE
    chord = sum(np.sin(2 * np.pi * hertz * step * time) / step for step in (1, 1.5, 2, 3))
    touched = 0.4 + 0.6 * np.exp(-60 * (time % 4))  # of an even tone all is peak, which costs a meter most
    return 0.1 * touched * chord * (1 + 0.1 * np.sin(0.3 * time)) * np.minimum(1, np.minimum(time, seconds - time))


def drums(bpm: float) -> np.ndarray:
    """A kick on each beat and a hiss on each half."""
    since = np.arange(SECONDS * RATE) / RATE % (60 / bpm)
    hiss = np.random.default_rng(7).standard_normal(len(since))
    return 0.6 * np.sin(2 * np.pi * 60 * since) * np.exp(-20 * since) + 0.2 * hiss * np.exp(-60 * (since % (30 / bpm)))


@pytest.fixture(scope="module")
def teacher(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A home with some minutes of music, known to a library."""
    home = tmp_path_factory.mktemp("teacher")
    (home / "Music").mkdir()
    for number in range(5):
        soundfile.write(home / "Music" / f"drone {number}.wav", drone(110 + 10 * number), RATE)
        soundfile.write(home / "Music" / f"drums {number}.wav", drums(100 + 4 * number), RATE)
    scan([home / "Music"], home / "library.sqlite", jobs=1)
    return home


@pytest.fixture
def desk(teacher: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder to type in, with a plan, a set and a library of its own."""
    shutil.copy(teacher / "library.sqlite", tmp_path)
    monkeypatch.setenv("HOME", str(teacher))
    monkeypatch.setenv("USERPROFILE", str(teacher))
    monkeypatch.setenv("ARCBED_LIBRARY", str(tmp_path / "library.sqlite"))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "saturday.md").write_text(SHORT_CLASS, encoding="utf-8")
    return tmp_path


def typed(line: str) -> None:
    """Run a line as if it were typed."""
    words = [word.replace("~", str(Path.home())) for word in shlex.split(line)[1:]]
    result = CliRunner().invoke(app, words)
    assert result.exit_code == 0, f"{line}\n{result.output}\n{result.exception!r}"
    if "--new" in words:
        written = Path(words[words.index("--new") + 1])
        outline_of(read_plan(written.read_text(encoding="utf-8"), file=written.name))
        written.write_text(SHORT_CLASS, encoding="utf-8")


def test_blocks_are_of_kinds_that_are_looked_at() -> None:
    assert {block.language for block in ALL} <= LANGUAGES


@pytest.mark.slow
@pytest.mark.parametrize("document", sorted({block.document for block in of("sh")}), ids=lambda path: path.name)
def test_commands_run_in_the_order_they_stand(document: Path, desk: Path) -> None:
    lines = [
        line.partition("  #")[0].strip()
        for block in of("sh")
        for line in block.text.splitlines()
        if block.document == document and line.strip()
    ]
    for line in lines:
        if line.startswith("arcbed "):
            if (desk / "saturday.md").exists() and "--new saturday.md" in line:
                (desk / "saturday.md").unlink()
            typed(line)
        else:
            assert elsewhere(line), f"{document.name}: who runs this? {line}"


@pytest.mark.parametrize(("place", "line"), inline_commands())
def test_commands_in_a_sentence_have_words_that_exist(place: str, line: str) -> None:
    words = shlex.split(line)[1:]
    if words and not words[0].startswith("-"):
        known = {option for parameter in COMMANDS[words[0]].params for option in parameter.opts} | {"--help"}
        assert {word for word in words if word.startswith("--")} <= known, f"{place}: {line}"


@pytest.mark.parametrize("block", of("markdown"), ids=str)
def test_plans_are_understood(block: Block) -> None:
    outline_of(read_plan(block.text, file=str(block)))


@pytest.mark.parametrize("block", of("json"), ids=str)
def test_json_can_be_read(block: Block) -> None:
    json.loads(block.text)


@pytest.mark.parametrize("document", sorted({block.document for block in of("python")}), ids=lambda path: path.name)
def test_python_runs_block_after_block(document: Path, desk: Path) -> None:
    typed("arcbed pair saturday.md --out saturday.json")
    names: dict[str, object] = {"__name__": "example"}
    for block in of("python"):
        if block.document == document:
            exec(compile(block.text, str(block), "exec"), names)


def test_links_lead_somewhere() -> None:
    dead = []
    for document in DOCUMENTS:
        for link in re.findall(r"\]\(([^)#\s]+)[^)]*\)", document.read_text(encoding="utf-8").replace("\n", " ")):
            if "://" not in link and not (document.parent / link).exists():
                dead.append(f"{document.name}: {link}")
    assert not dead
