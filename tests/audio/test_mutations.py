"""Random damage to small files of every kind: never a hang, a crash, or an error that isn't for people.

100 a kind; `tests/benchmarks/endurance.py` runs 2,000.
"""

import time
from pathlib import Path

import nasty
import numpy as np
import pytest

from audio import worker
from audio.errors import AudioError
from audio.files.decode import Decoder

pytestmark = pytest.mark.slow


@pytest.mark.parametrize("kind", nasty.SMALL)
def test_random_damage_is_survived(kind: str, tmp_path: Path) -> None:
    sound = nasty.SMALL[kind]()
    path = tmp_path / f"a.{kind}"
    slowest = 0.0
    decoded = 0
    for seed in range(100):
        path.write_bytes(nasty.mutated(sound, seed))
        began = time.monotonic()
        identity = worker.identify(path)
        assert identity.fingerprint or identity.absent
        try:
            with Decoder(path) as decoder:
                assert all(np.isfinite(block.samples).all() for block in decoder.blocks())
            decoded += 1
        except AudioError as error:
            assert error.message.endswith(".")  # noqa: PT017
        slowest = max(slowest, time.monotonic() - began)
    assert slowest < 20
    assert decoded > 10  # damage, not ruin
