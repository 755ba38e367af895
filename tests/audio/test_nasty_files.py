"""Every kind of bad file is used, used with a note, or left out with a reason; nothing hangs or crashes."""

import re
import time
from pathlib import Path

import nasty
import numpy as np
import pytest

from audio.errors import AudioError
from audio.files.decode import Decoder


@pytest.mark.parametrize("name", nasty.FILES)
def test_each_file_is_decoded_or_refused_as_what_it_is(name: str, tmp_path: Path) -> None:
    content, expected = nasty.FILES[name]
    path = tmp_path / name
    path.write_bytes(content())
    began = time.monotonic()
    try:
        with Decoder(path) as decoder:
            samples = [block.samples for block in decoder.blocks()]
            length, notes = decoder.duration_s, decoder.notes
    except AudioError as error:
        assert expected.reason is not None, error
        assert re.search(expected.reason, str(error)), error
        assert name in str(error)
    else:
        assert expected.length_s is not None, f"was decoded to {length} s"
        assert length == pytest.approx(expected.length_s, abs=expected.within_s)
        assert length == pytest.approx(sum(map(len, samples)) / decoder.rate)
        assert all(np.isfinite(block).all() and block.dtype == np.float32 for block in samples)
        if expected.note is None:
            assert notes == ()
        else:
            assert any(re.search(expected.note, note) for note in notes), notes
    assert time.monotonic() - began < 20
