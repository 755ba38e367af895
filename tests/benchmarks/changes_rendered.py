"""Fifty classes that don't go by the plan, rendered by the page's own player in a browser, sample by sample.

    .venv/bin/python tests/benchmarks/changes_rendered.py [CLASSES] [FIRST_SEED]

The class of three minutes that the tests of the live page use, whose music is noise with strokes, so that a shift by one
sample shows; Stay, On, lateness, a part left out, To the rest at places from a seed. A window of 60 s around each change is
rendered in an OfflineAudioContext. Around each border of two chunks and each change the sound is compared with the same spans
summed from the files themselves: by how many samples it lies beside it, and how alike they are.
"""

import random
import sys
import tempfile
from pathlib import Path

import numpy as np
import soundfile

sys.path.insert(0, str(Path(__file__).parents[1] / "pairing"))

from live_class import RATE, a_live_set, write_page
from page_file import Visit, launched
from test_live_page import lag_and_likeness, rendered

WINDOW_S, CHUNK_S, OVERLAP_S, BESIDE_S, SETTLED_S = 60.0, 10.0, 0.1, 0.12, 0.5
LEVEL = 10 ** (-3.0 / 20)
TAUGHT = """(events) => { const live = JSON.parse(document.getElementById('class-data').textContent).live;
const conductor = conductorOf(live); let state = conductor.fresh();
for (const [what, r, value] of events) state = what === 'late' ? conductor.standAt(state, r, Math.max(conductor.place(state, r) - value, 0))
  : what === 'left out' ? conductor.leaveOut(state, r, [[conductor.place(state, r) + 5, conductor.place(state, r) + 5 + value]]) : conductor[what](state, r);
return state.spans.filter((span) => span.pick >= 0); }"""


def events_of(rng: random.Random) -> list[tuple[str, float, float]]:
    """What happens in a class."""
    at, found = rng.uniform(5, 40), []
    while at < 125:
        what = rng.choice(
            ["stay", "on", "on", "late", "left out", "toRest"] if at > 80 else ["stay", "on", "late", "left out"]
        )
        found.append((what, at, rng.uniform(5, 20)))
        at += rng.uniform(5, 25)
        if what == "stay":
            found.append(("stay", at, 0.0))
            at += rng.uniform(3, 20)
    return found


def summed(live, spans) -> np.ndarray:
    """The spans as they should sound, from the files themselves: quarters of a sine up and down, left channel."""
    sound = np.zeros(round((max(each["end"] for each in spans) + 1) * RATE))
    for each in spans:
        first, count = round(each["offset"] * RATE), round(each["end"] * RATE) - round(each["start"] * RATE)
        samples, _ = soundfile.read(live.tracks[each["track"]].path, frames=count, start=first)
        at, lasts = np.arange(len(samples)) / RATE, each["end"] - each["start"]
        rise = np.sin(np.clip(at / max(each["fade_in"], 1e-6), 0, 1) * np.pi / 2)
        fall = np.cos(np.clip((at - lasts + each["fade_out"]) / max(each["fade_out"], 1e-6), 0, 1) * np.pi / 2)
        place = round(each["start"] * RATE)
        sound[place : place + len(samples)] += LEVEL * samples[:, 0] * rise * fall
    return sound


def borders_of(live, span) -> list[float]:
    """The moments at which one chunk of a span gives way to the next."""
    into = span["offset"] - live.tracks[span["track"]].from_s
    first = int(into // CHUNK_S) + 1
    moments = (span["start"] + n * CHUNK_S - into + OVERLAP_S / 2 for n in range(first, first + 40))
    return [at for at in moments if span["start"] + 0.2 < at < span["end"] - 0.2]


def beside(sound: np.ndarray, mix: np.ndarray, at: float, from_s: float) -> list[tuple[int, float]]:
    """Lag and likeness just before and just after a moment, where there is sound enough to tell."""
    found = []
    for when in (at - BESIDE_S, at + BESIDE_S):
        here = int((when - from_s) * RATE)
        if 5000 < here < len(sound) - 5000 and np.abs(mix[here - 3000 : here + 3000]).mean() > 1e-3:
            found.append(lag_and_likeness(sound, mix, here))
    return found


def main(classes: int, first: int) -> None:
    """Render and compare."""
    at_borders, at_changes, windows, gaps = [], [], 0, []
    with tempfile.TemporaryDirectory() as folder, launched("/usr/bin/chromium", "--mute-audio") as browser:
        setlist, live = a_live_set(Path(folder))
        page = write_page(Path(folder), setlist, live)
        with Visit(browser, page, view="clock", width=390, height=844) as visit:
            visit.wait_until("document.documentElement.dataset.ready === 'yes'")
            for seed in range(first, first + classes):
                spans = visit.page.evaluate(TAUGHT, events_of(random.Random(seed)))
                mix = summed(live, spans)
                for change in [each["start"] for each in spans if each["start"] > 1]:
                    from_s = max(change - WINDOW_S / 2, 0.0)
                    sound = rendered(visit, spans, from_s, WINDOW_S)
                    there = mix[round(from_s * RATE) :][: len(sound)]
                    sound, windows = sound[: len(there)], windows + 1
                    at_changes += beside(sound, there, change, from_s)
                    for span in spans:
                        for at in borders_of(live, span):
                            at_borders += beside(sound, there, at, from_s)
                    quiet = ((np.abs(sound) < 1e-5) & (np.abs(there) > 1e-3))[round(SETTLED_S * RATE) :]
                    gaps.append(bool(np.convolve(quiet, np.ones(8), "valid").max() >= 8))
    for name, found in (("borders of chunks", at_borders), ("changes", at_changes)):
        lags, alike = np.array([lag for lag, _ in found]), np.array([likeness for _, likeness in found])
        print(
            f"{name}: {len(found)} places, lag {lags.min()} to {lags.max()} samples, likeness {np.percentile(alike, 1):.3f} at the 1st percentile, {alike.min():.3f} at worst"
        )
    print(
        f"{classes} classes, {windows} windows of {WINDOW_S:g} s, {sum(gaps)} with eight samples of silence where there is none"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 50, int(sys.argv[2]) if len(sys.argv) > 2 else 0)
