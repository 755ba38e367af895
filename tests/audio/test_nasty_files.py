"""Every kind of bad file is used, used with a note, or left out with a reason; nothing hangs or crashes."""

import re
import time
from pathlib import Path

import nasty
import numpy as np
import pytest

from audio.errors import AudioError
from audio.files.decode import Decoder
from audio.files.fingerprint import fingerprint

USED = [name for name, (_, entry) in nasty.FILES.items() if entry.reason is None]
REFUSED = [name for name in nasty.FILES if name not in USED]


@pytest.mark.parametrize("name", USED)
def test_what_holds_sound_is_decoded_as_far_as_it_goes(name: str, tmp_path: Path) -> None:
    expected = nasty.FILES[name][1]
    path = tmp_path / name
    path.write_bytes(nasty.content(name))
    with Decoder(path) as decoder:
        samples = [block.samples for block in decoder.blocks()]
    assert len(fingerprint(path)) == 32
    assert decoder.duration_s == pytest.approx(expected.length_s, abs=expected.within_s)
    assert decoder.duration_s == pytest.approx(sum(map(len, samples)) / decoder.rate)
    assert all(np.isfinite(block).all() and block.dtype == np.float32 for block in samples)
    assert {block.shape[1] for block in samples} == {decoder.channels}
    if expected.note is None:
        assert decoder.notes == ()
    else:
        assert any(re.search(expected.note, note) for note in decoder.notes), decoder.notes


@pytest.mark.parametrize("name", REFUSED)
def test_what_holds_none_is_refused_as_what_it_is(name: str, tmp_path: Path) -> None:
    expected = nasty.FILES[name][1]
    path = tmp_path / name
    path.write_bytes(nasty.content(name))
    began = time.monotonic()
    with pytest.raises(AudioError, match=expected.reason) as caught, Decoder(path) as decoder:
        list(decoder.blocks())
    assert name in str(caught.value)
    assert time.monotonic() - began < 20
