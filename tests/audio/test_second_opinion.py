"""Two opinions of one recording, where the beat is known because it was struck there."""

import numpy as np
import pytest
import sounds

from audio.errors import ArcbedError
from audio.measure import opinion
from audio.measure.opinion import Opinion, agreement, opinions

BPM = 100.0


@pytest.mark.slow
def test_both_hear_the_beat_that_was_struck_and_say_how_far_they_agree(tmp_path) -> None:
    pytest.importorskip("librosa")
    samples, _ = sounds.drums(BPM, 24)
    ours, theirs = opinions(sounds.written(tmp_path / "struck.wav", samples))
    for one in (ours, theirs):
        folded = one.tempo_bpm / BPM
        assert min(abs(folded - factor) for factor in (0.5, 1, 2)) < 0.04 * folded, one.who
        assert one.duration_s == pytest.approx(24, abs=0.1)
    assert agreement(ours, theirs) > 0.6


def test_agreement_is_the_f_measure_within_70_ms() -> None:
    def heard(beats: list[float]) -> Opinion:
        return Opinion("x", 10.0, np.zeros(10, np.float32), 1.0, 60.0, np.array(beats), None)

    assert agreement(heard([1, 2, 3, 4]), heard([1.05, 2, 3.2, 4])) == pytest.approx(0.75)
    assert agreement(heard([1, 2]), heard([1, 1.5, 2, 2.5])) == pytest.approx(2 * 1 * 0.5 / 1.5)
    assert agreement(heard([1, 2]), heard([1.069])) == pytest.approx(2 * 0.5 * 1 / 1.5)
    assert agreement(heard([1, 2]), heard([1.071, 3, 4])) == 0.0
    assert agreement(heard([]), heard([1])) is None
    assert agreement(heard([1]), heard([])) is None


def test_without_librosa_it_says_what_to_install(monkeypatch, tmp_path) -> None:
    monkeypatch.setattr(opinion, "find_spec", lambda name: None)
    with pytest.raises(ArcbedError, match="isn't installed") as raised:
        opinions(tmp_path / "any.wav")
    assert raised.value.command == "pip install 'arcbed[opinion]'"
