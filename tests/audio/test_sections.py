"""Recursive filters by blocks: sample by sample what scipy.signal's own give, however the samples come."""

import re
from pathlib import Path

import numpy as np
import pytest

from audio.measure.loudness import k_weighting
from audio.measure.sections import Sections

RESONANT = np.array(
    [[0.2, -0.1, 0.05, 1.0, -1.9, 0.95], [1.0, 0.5, 0.25, 1.0, 0.3, 0.4], [0.3, 0.0, 0.0, 1.0, -0.7, 0.0]]
)
LENGTHS = (0, 1, 31, 32, 33, 64, 4096, 33_000, 5, 100_003)  # around a block, and beyond what is worked on at once


@pytest.mark.parametrize(
    "sections",
    [*(k_weighting(rate) for rate in (8_000, 44_100, 192_000)), RESONANT],
    ids=["8", "44.1", "192", "resonant"],
)
@pytest.mark.parametrize("channels", [1, 2, 6])
def test_pieces_of_any_length_are_filtered_as_scipy_filters_the_whole(sections: np.ndarray, channels: int):
    from scipy.signal import sosfilt

    samples = np.random.default_rng(3).standard_normal((sum(LENGTHS), channels))
    samples[50_000:70_000] = 0  # a state dies away, and is back
    filters = Sections(sections, channels)
    filtered = np.concatenate([filters.filtered(piece) for piece in np.split(samples, np.cumsum(LENGTHS)[:-1])])
    np.testing.assert_allclose(filtered, sosfilt(sections, samples, axis=0), atol=2e-9)


def test_what_an_impulse_leaves_does_not_end_at_a_block():
    from scipy.signal import sosfilt

    impulse = np.zeros((3000, 1))
    impulse[31] = 1.0
    filtered = Sections(RESONANT, 1).filtered(impulse)
    np.testing.assert_allclose(filtered, sosfilt(RESONANT, impulse, axis=0), atol=1e-14)
    assert np.abs(filtered[200:260]).max() > 1e-6


def test_nothing_loads_the_module_that_it_stands_for():
    root = Path(__file__).parents[2]
    loading = re.compile(
        r"^\s*(from scipy\.signal\b|import scipy\.signal\b|from scipy import .*\bsignal\b)", re.MULTILINE
    )
    found = [
        path
        for top in ("audio", "pairing")
        for path in (root / top).rglob("*.py")
        if loading.search(path.read_text("utf-8"))
    ]
    assert found == []
