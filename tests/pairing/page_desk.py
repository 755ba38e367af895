"""A desk for the tests of the page: an invented library in a real file, a plan, a set, short sounds on disk."""

import tempfile
import threading
import wave
from concurrent.futures import Future
from dataclasses import replace
from functools import cache
from pathlib import Path

import anyio
import numpy as np
from anyio.from_thread import BlockingPortal
from invented_music import library
from once import once
from starlette.testclient import TestClient

from audio.files.fingerprint import fingerprint
from audio.files.folders import Found
from audio.library import Library
from pairing.model import PairOptions
from pairing.page.desk import Desk, desk_for
from pairing.page.security import Guard
from pairing.page.server import make_app
from pairing.workflow import sets
from pairing.workflow.music import library_path

PORT = 8123
SECRET = "only-this-user-knows-it-and-no-one-else-here"
HERE = f"http://127.0.0.1:{PORT}"

PLAN = """# Low water
slot: 20 minutes

## Arrive: opening, quiet music
- child's pose, 18 breaths

## Salutes: warm-up, 3 rounds
- sun salutation A

## Tide: flow, both sides, 2 rounds
- warrior two, 5 breaths
- reverse warrior, 2 breaths
- side angle, 5 breaths

## Ebb: cool-down
- pigeon, 1 minutes each side

## Float: rest, 5 minutes, silent last 1 minutes
- savasana
- bell
"""

SHORT = """# Short tide
slot: 4 minutes

## Arrive: opening, 30 seconds
- child's pose

## Tide: flow, 90 seconds
- warrior two

## Float: rest, 1 minutes
- savasana
"""


def struck(since_s: np.ndarray) -> np.ndarray:
    """The level of a tone that is struck and goes on softly: of an even one all is peak, which costs a meter most."""
    return 0.4 + 0.6 * np.exp(-15 * since_s)


def a_sound(path: Path, seconds: float, rate: int = 8000, pitch: int = 220) -> None:
    """A soft tone, struck once a second, as a small WAV file."""
    at = np.arange(rate) / rate
    second = (3000 * struck(at) * np.sin(2 * np.pi * pitch * at)).astype("<i2")  # whole waves: it can be repeated
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, rate, 0, "NONE", ""))
        file.writeframes(np.resize(second, int(seconds * rate)).tobytes())


@cache
def _sound_of(seconds: float, pitch: int) -> tuple[bytes, str]:
    """A tone as the bytes of a file, and its fingerprint: many tests have the same ones."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "tone.wav"
        a_sound(path, seconds, pitch=pitch)
        return path.read_bytes(), once(("fingerprint", seconds, pitch), lambda: fingerprint(path).encode()).decode()


LONG, BRIEF = (150.0, 420.0), (60.0, 120.0)  # seconds of the shortest and the longest track


def fill_library(
    path: Path,
    music: Path,
    tracks: int,
    *,
    sounds: bool = True,
    title: str | None = None,
    lengths_s: tuple[float, float] = LONG,
) -> None:
    """A library file of invented tracks; with `sounds` each has a file of its length, else an empty one."""
    music.mkdir(exist_ok=True)
    with Library.open_or_create(path) as known:
        for track in library(tracks, lengths_s=lengths_s):
            file = music / f"{track.id:04d}.wav"
            known_by = track.fingerprint
            if sounds:
                content, known_by = _sound_of(track.analysis.duration_s, 150 + 5 * track.id % 400)
                file.write_bytes(content)
            else:
                file.touch()
            tags = replace(track.tags, title=title) if title and track.id == 1 else track.tags
            known.store(Found(file, 1, 1), known_by, tags, track.analysis)


def a_desk(
    folder: Path,
    *,
    tracks: int = 40,
    sounds: bool = False,
    paired: bool = True,
    title: str | None = None,
    text: str = PLAN,
    lengths_s: tuple[float, float] = LONG,
) -> Desk:
    """A plan with its set on a desk."""
    music = folder / "music"
    fill_library(folder / "library.sqlite", music, tracks, sounds=sounds, title=title, lengths_s=lengths_s)
    plan = folder / "low-water.md"
    plan.write_text(text, encoding="utf-8")
    if paired:
        # Of the same plan and library comes the same set, to the byte (test_pair.py): each is chosen once.
        of_this, made = ("set", tracks, sounds, title, text, lengths_s), folder / "low-water.json"

        def chosen() -> bytes:
            sets.pair_plan(plan, made, folder / "library.sqlite", PairOptions())
            return made.read_bytes()

        made.write_bytes(once(of_this, chosen))
    return desk_for(plan, folder / "library.sqlite")


@cache
def _loop() -> BlockingPortal:
    """One event loop for all requests: each would else begin and end a thread with one of its own, two fifths of its time."""
    ready: Future[BlockingPortal] = Future()

    async def wait() -> None:
        async with BlockingPortal() as portal:
            ready.set_result(portal)
            await portal.sleep_until_stopped()

    threading.Thread(target=anyio.run, args=(wait,), daemon=True).start()
    return ready.result()


class Visitor:
    """A browser's requests to a guarded desk, without a browser."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.guard = Guard(make_app(desk), PORT, SECRET, library_path(desk.library))
        self.client = TestClient(self.guard, base_url=HERE, follow_redirects=False)
        self.client.portal = _loop()

    def enter(self) -> "Visitor":
        self.client.get(self.guard.opening_path)
        return self

    def get(self, path: str, **headers: str):
        return self.client.get(path, headers=headers)

    def post(self, path: str, values: object = None, **headers: str):
        return self.client.post(path, json=values or {}, headers={"Origin": HERE} | headers)

    def do(self, action: str, **values: object):
        return self.post(f"/do/{action}", values)
