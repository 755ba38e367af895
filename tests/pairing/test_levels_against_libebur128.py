"""The gain of a pick against an independent meter: libebur128 (EBU R 128, ITU-R BS.1770), by its Python binding."""

from functools import cache

import numpy as np
import pytest
from invented_music import track
from numpy.typing import NDArray

from audio.measure.loudness import Meter
from audio.track import Analysis
from pairing.model import Kind, Levels
from pairing.sets.levels import gain_db, span_loudness

RATE = 8_000
SECONDS = 180


@cache
def music(seed: int) -> NDArray[np.float32]:
    """Stereo noise that swells and fades, with accents and a pause, as music does."""
    rng = np.random.default_rng(seed)
    time = np.arange(SECONDS * RATE) / RATE
    swell = 0.08 * 10 ** ((6 * np.sin(time / 17 + seed) + 3 * np.sin(time / 3)) / 20)
    accents = 1 + 1.5 * (np.sin(2 * np.pi * time * 1.5) > 0.9)
    pause = 1 - 0.999 * ((time > 100) & (time < 104))
    return (rng.standard_normal((len(time), 2)) * (swell * accents * pause)[:, None]).astype(np.float32).clip(-1, 1)


@cache
def analysed(seed: int) -> Analysis:
    samples = music(seed)
    meter = Meter(RATE, (1.0, 1.0))
    meter.feed(samples)
    loudness = meter.read()
    made = track(1, 0.5, float(SECONDS)).analysis
    return made.but(loudness_lufs=loudness.integrated_lufs, loudness=loudness.curve(SECONDS), duration_s=float(SECONDS))


def independent_lufs(samples: NDArray[np.float32]) -> float:
    ebur128 = pytest.importorskip("pyebur128")
    state = ebur128.R128State(2, RATE, ebur128.MeasurementMode.MODE_I)
    state.add_frames(samples.ravel(), len(samples))
    return float(ebur128.get_loudness_global(state))


@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize(("start_s", "end_s"), [(0, 180), (0, 60), (20, 140), (90, 150), (130.5, 175.2), (60, 84)])
def test_the_loudness_of_a_part_is_within_half_a_lu(seed: int, start_s: float, end_s: float) -> None:
    # The bar is 0.5 LU in a mix; EBU Tech 3341 itself allows a meter 0.1 LU.
    samples = music(seed)
    part = samples[int(start_s * RATE) : int(end_s * RATE)]
    assert span_loudness(analysed(seed), start_s, end_s) == pytest.approx(independent_lufs(part), abs=0.5)


def test_the_bed_is_lower_in_the_opening_and_the_rest() -> None:
    analysis = analysed(0)
    gain = {kind: gain_db(analysis, 0, 180, kind, Levels()) for kind in Kind}
    assert gain[Kind.FLOW] == pytest.approx(-20 - analysis.loudness_lufs, abs=0.05)
    assert gain[Kind.FLOW] - gain[Kind.OPENING] == pytest.approx(4)
    assert gain[Kind.FLOW] - gain[Kind.REST] == pytest.approx(8)


def test_silence_is_not_lifted() -> None:
    silent = analysed(0).but(loudness_lufs=-np.inf, loudness=np.full(SECONDS, -100, np.float32))
    assert gain_db(silent, 0, 60, Kind.FLOW, Levels()) == 0.0
