"""A piece that is made alone is the one that comes in its turn."""

import numpy as np
import pytest
import soundfile

from audio.render.chunks import chunk, chunks, count


@pytest.mark.parametrize("rate", [44_100, 48_000])
def test_a_piece_alone_sounds_as_the_one_in_its_turn(tmp_path, rate):
    path, span = tmp_path / "noise.wav", (1.37, 34.2)
    noise = np.random.default_rng(7).standard_normal((35 * rate, 2))
    soundfile.write(path, 0.1 * np.apply_along_axis(np.convolve, 0, noise, np.hanning(24) / 12, "same"), rate)
    in_turn = list(chunks(path, *span))
    alone = [chunk(path, *span, n) for n in range(count(*span))]
    assert len(alone) == len(in_turn) == 4
    for n, (one, other) in enumerate(zip(alone, in_turn, strict=True)):
        first, second = (decoded(tmp_path, piece) for piece in (one, other))
        assert first.shape == second.shape
        assert np.abs(first - second).max() < 0.01 * np.abs(second).max() + (0.02 if rate != 44_100 else 0), n


def decoded(folder, piece):
    path = folder / "piece.mp3"
    path.write_bytes(piece)
    return soundfile.read(path)[0]
