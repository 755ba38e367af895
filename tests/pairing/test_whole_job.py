"""The whole job as a teacher does it: commands in a fresh home, real files, a network that refuses."""

import hashlib
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from forked import ROOT, Commands
from sounds import chords, drums, written

from audio.files.decode import Decoder
from audio.measure.loudness import Meter, weights_of

pytestmark = [pytest.mark.slow, pytest.mark.skipif(sys.platform == "win32", reason="fork")]

PLAN = """# Short tide
slot: 4 minutes
breath: 5 seconds

## Sit: opening, quiet music
- easy seat, 6 breaths

## Rise: flow, 2 rounds, each round 10% quicker, driving music
- warrior two, 3 breaths
- reverse warrior, 1 breath
- vinyasa

## Top: peak, driving music
- chair, 5 breaths x2

## Down: cool-down, quiet music
- seated forward fold, 6 breaths

## Rest: rest, 1 minute, silent last 10 seconds
- savasana
- bell
"""
DRUMS_BPM, CHORDS = (100, 108, 116, 124), (45, 48, 52)  # beats a minute; MIDI notes of the lowest tones

# In every process, workers included: no socket but those between processes of this machine, no name looked up.
NO_NETWORK = """
import socket, sys
def refuse(event, args):
    asked = event == "socket.__new__" and args[1] not in (-1, getattr(socket, "AF_UNIX", None))
    if asked or event in ("socket.connect", "socket.bind", "socket.sendto", "socket.getaddrinfo", "urllib.Request"):
        sys.stderr.write("Traceback: the network was asked for\\n")  # seen even where the error is caught
        raise OSError("the test refuses the network")
sys.addaudithook(refuse)
"""


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A home with a folder of music, four of it driving and three of it still, and a plan."""
    home = tmp_path_factory.mktemp("teacher")
    (home / "Music").mkdir()
    for bpm in DRUMS_BPM:
        written(home / "Music" / f"drums {bpm}.wav", drums(bpm, 50)[0])
    for low in CHORDS:
        written(home / "Music" / f"chords {low}.wav", 0.2 * chords([[low, low + 7, low + 16]], 20, 80, attack_s=5))
    (home / "Music" / "broken.mp3").write_bytes(b"no music at all" * 100)
    (home / "tide.md").write_text(PLAN)
    refusing = home / "refusing"
    refusing.mkdir()
    (refusing / "sitecustomize.py").write_text(NO_NETWORK)
    return home


@pytest.fixture(scope="module")
def scan_text(home: Path) -> str:
    """What the first scan says, started as a user starts it; the other commands need its library."""
    environment = os.environ | of_a_teacher(home)
    command = [sys.executable, "-c", "from pairing.commands import main; main()", "scan", "Music"]
    done = subprocess.run(command, cwd=home, env=environment, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "Traceback" not in done.stderr
    return done.stdout + done.stderr


def of_a_teacher(home: Path) -> dict[str, str]:
    """What stands in the environment of one who types there."""
    return {
        "HOME": str(home),
        "XDG_DATA_HOME": str(home / "data"),
        "XDG_CACHE_HOME": str(home / ".cache"),
        "ARCBED_LIBRARY": str(home / "library.sqlite"),
        "PYTHONPATH": os.pathsep.join((str(home / "refusing"), str(ROOT))),
        "NO_COLOR": "1",
    }


Arcbed = Callable[..., str]


@pytest.fixture(scope="module")
def arcbed(home: Path, scan_text: str) -> Iterator[Arcbed]:
    """Runs a command in a process of its own, which needn't load everything first; gives its output, stderr included."""
    with Commands(home, **of_a_teacher(home)) as commands:

        def run(*words: str, status: int = 0) -> str:
            ended = commands.run(*words)
            assert ended.status == status, ended.said
            assert "Traceback" not in ended.said
            return ended.said

        yield run


@pytest.fixture(scope="module")
def paired(home: Path, arcbed: Arcbed) -> Path:
    """The set that the plan is paired to, once: tests that change it do so to a copy."""
    arcbed("pair", "tide.md", "--out", "tide.json")
    return home / "tide.json"


def files(folder: Path) -> Iterator[Path]:
    return (path for path in sorted(folder.rglob("*")) if path.is_file())


def checksums(folder: Path) -> dict[Path, str]:
    return {path: hashlib.sha256(path.read_bytes()).hexdigest() for path in files(folder)}


def short_term(path: Path) -> tuple[float, np.ndarray]:
    """Length in seconds and short-term loudness each 100 ms."""
    with Decoder(path) as decoder:
        meter, frames = Meter(decoder.rate, weights_of(decoder.layout)), 0
        for block in decoder.blocks():
            meter.feed(block.samples)
            frames += len(block.samples)
        return frames / decoder.rate, meter.read().short_term_lufs[::10]


def test_the_whole_job_without_a_network(home: Path, scan_text: str, arcbed: Arcbed, paired: Path) -> None:
    music = checksums(home / "Music")
    before = {path.relative_to(home).parts[0] for path in files(home)}
    assert "7 tracks can be used" in scan_text
    assert "broken.mp3" in scan_text
    assert "7 tracks" in arcbed("scan", "Music"), "a second scan knows them all"
    assert "Sit" in arcbed("plan", "tide.md")
    made = json.loads(paired.read_text())
    arcbed("mix", "tide.json", "--out", "tide.mp3")
    arcbed("sheet", "tide.json", "--out", "tide.html", "--audio", "tide.mp3", "--picture", "tide.png")
    arcbed("playlist", "tide.json", "--out", "tide.m3u8")
    arcbed("playlist", "tide.json", "--out", "tide.xspf")
    arcbed("check", "tide.json")

    seconds, loudness = short_term(home / "tide.mp3")
    assert seconds == pytest.approx(made["class_s"], abs=0.1)
    peak = next(section for section in made["sections"] if section["kind"] == "peak")
    rest = made["rest"]
    inside = lambda start, end: loudness[int(10 * start) : int(10 * end) - 30]
    assert np.median(inside(rest["start_s"], rest["end_s"] - 15)) < np.median(inside(peak["start_s"], peak["end_s"]))
    played = np.array([np.nan if value is None else value for value in made["played_energy"]])
    at_rest = np.nanmean(played[int(rest["start_s"]) : int(rest["end_s"])])
    assert at_rest < np.nanmean(played[int(peak["start_s"]) : int(peak["end_s"])])

    assert checksums(home / "Music") == music, "music is only ever read"
    left = {path.relative_to(home).parts[0] for path in files(home)} - before
    outputs = {f"tide.{ending}" for ending in ("json", "mp3", "html", "png", "m3u8", "xspf")}
    assert left <= outputs | {"library.sqlite-wal", "library.sqlite-shm", ".cache"}


def test_a_swap_there_and_back_and_an_undo(home: Path, arcbed: Arcbed, paired: Path) -> None:
    shutil.copy(paired, home / "swap.json")
    before = json.loads((home / "swap.json").read_text())["picks"]
    offered = json.loads(arcbed("swap", "swap.json", "1", "--json"))
    assert offered, "nothing to swap with"
    arcbed("swap", "swap.json", "1", "--best")
    after = json.loads((home / "swap.json").read_text())
    assert after["picks"][0]["track_id"] != before[0]["track_id"]
    assert after["picks"][-1]["class_end_s"] == pytest.approx(before[-1]["class_end_s"], abs=1e-3)
    arcbed("swap", "swap.json", "--undo")
    assert json.loads((home / "swap.json").read_text())["picks"] == before


def test_the_parts_of_a_class_last_as_long_as_the_class(home: Path, arcbed: Arcbed, paired: Path) -> None:
    made = json.loads(paired.read_text())
    arcbed("mix", "tide.json", "--parts", "parts", "--as", "flac")
    names = sorted((home / "parts").glob("*.flac"))
    assert len(names) == len(made["picks"])
    assert sum(short_term(path)[0] for path in names) == pytest.approx(made["class_s"], abs=0.1)
    again = arcbed("mix", "tide.json", "--parts", "parts", "--as", "mp3", status=3)
    assert "holds the parts of a mix already" in again
    assert not list((home / "parts").glob("*.mp3"))


@pytest.mark.parametrize(
    ("words", "status", "said"),
    [
        (("plan", "missing.md"), 2, "missing.md"),
        (("pair", "tide.md", "--out", "tide.md"), 3, "isn't a class's music"),
        (("mix", "tide.md", "--out", "x.mp3"), 2, "tide.md"),
        (("mix", "tide.json", "--out", "x.wma"), 3, "ends in"),
        (("playlist", "tide.json", "--out", "x.txt"), 3, ".m3u8"),
        (("swap", "tide.json", "99"), 2, "99"),
        (("rest", "tide.json", "--bell", "noon"), 2, "both or none"),
        (("scan", "nowhere"), 2, "nowhere"),
        (("tracks", "--mark", "1", "energy=lots"), 2, "how lively"),
        (("mix",), 2, "MUSIC"),
    ],
)
def test_wrong_use_is_said_in_words(
    home: Path, arcbed: Arcbed, paired: Path, words: tuple[str, ...], status: int, said: str
) -> None:
    before = checksums(home / "Music")
    assert said in arcbed(*words, status=status)
    assert checksums(home / "Music") == before


def test_every_command_has_help_with_an_example() -> None:
    from typer.main import get_command

    from pairing.commands import demo, music, outputs, plans, sets  # noqa: F401
    from pairing.commands.app import app

    commands = get_command(app).commands  # type: ignore[attr-defined]
    contract = {
        "demo",
        "scan",
        "tracks",
        "poses",
        "plan",
        "pair",
        "swap",
        "rest",
        "used",
        "check",
        "mix",
        "playlist",
        "sheet",
    }
    assert contract <= set(commands)
    for name, command in commands.items():
        assert f"Example: arcbed {name}" in (command.help or ""), name


HELP = """
import sys
sys.argv = ["arcbed", "--help"]
from pairing.commands import main
try:
    main()
except SystemExit:
    pass
print([name for name in ("numba", "scipy", "av", "librosa", "jinja2", "mutagen") if name in sys.modules])
"""


def test_help_loads_nothing_heavy() -> None:
    done = subprocess.run([sys.executable, "-c", HELP], capture_output=True, text=True, check=True)
    assert done.stdout.strip().endswith("[]"), done.stdout[-200:]


def test_a_note_with_open_questions_goes_the_whole_way(home: Path, arcbed: Arcbed) -> None:
    """Pair, mix and sheet work with the gaps of a note, say which lines they are and end with 1."""
    text = (home / "tide.md").read_text().replace("\n- ", "\n- frobnicate wobbulator, 10 seconds\n- ", 1)
    (home / "gap.md").write_text(text)
    number = text.split("\n").index("- frobnicate wobbulator, 10 seconds") + 1
    said = [
        arcbed("plan", "gap.md", status=1),
        arcbed("pair", "gap.md", "--out", "gap.json", status=1),
        arcbed("mix", "gap.json", "--out", "gap.wav", status=1),
        arcbed("sheet", "gap.json", "--out", "gap.html", status=1),
    ]
    assert all("frobnicate" in each or f"line {number}" in each for each in said), said
    assert (home / "gap.wav").stat().st_size > 1_000_000
    assert (home / "gap.html").is_file()
