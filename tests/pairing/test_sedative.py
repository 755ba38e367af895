"""Fitness for the closing rest: one trait at a time, at its published or editorial limit."""

import dataclasses

import numpy as np
import pytest
from invented_music import track

from audio.track import Track
from pairing.alignment.sedative import judge, largest_rise
from pairing.sets.rest import rest_candidates


def calm(number: int = 1, marks: dict[str, str] | None = None, **changes: object) -> Track:
    made = track(number, 0.15, 400.0, marks=marks)
    return dataclasses.replace(made, analysis=made.analysis.but(**changes))


def stepped(by_lu: float) -> np.ndarray:
    """The music steps up at once; a window of 3 s (EBU Tech 3341) sees that within 3 s."""
    power = 10 ** (np.where(np.arange(402) < 202, -26.0, -26.0 + by_lu) / 10)
    return (10 * np.log10(np.convolve(power, np.full(3, 1 / 3), "valid"))).astype(np.float32)


# 80 BPM: Shum et al. 2014, Chan et al. 2010, Lai and Good 2005, as tabulated in PMC7399370 table 3.
# 3 LU within 3 s, 10 LU of range: editorial.
@pytest.mark.parametrize(
    ("changes", "fit", "said"),
    [
        ({}, True, "no clear beat"),
        ({"tempo_bpm": 60.0, "tempo_confidence": 0.9}, True, "slow beat"),
        ({"tempo_bpm": 80.0, "tempo_confidence": 0.9}, True, "slow beat"),
        ({"tempo_bpm": 80.3, "tempo_confidence": 0.9, "onset_rate": 1.4}, False, "just over 80 a minute (80 at most)"),
        ({"tempo_bpm": 81.0, "tempo_confidence": 0.9, "onset_rate": 1.4}, False, "clear beat of 81 a minute"),
        ({"tempo_bpm": 120.0, "tempo_confidence": 0.2, "onset_rate": 2.5}, True, "no clear beat"),
        ({"tempo_bpm": 140.0, "tempo_confidence": 0.9, "onset_rate": 2.0}, True, "slow beat (70 a minute)"),
        ({"tempo_bpm": 140.0, "tempo_confidence": 0.9, "onset_rate": 2.5}, False, "clear beat of 140 a minute"),
        ({"voice": np.where(np.arange(400) == 90, 0.8, 0).astype(np.float32)}, False, "a voice"),
        ({"energy": np.full(400, 0.6, np.float32)}, False, "lively on the whole"),
        ({"loudness_range_lu": 10.0}, True, "steady loudness"),
        ({"loudness_range_lu": 12.0}, False, "now soft, now loud"),
        ({"loudness": stepped(2.9)}, True, "no sudden rise"),
        ({"loudness": stepped(3.5)}, True, "a rise that the mix evens out"),
        ({"loudness": stepped(8.5)}, False, "a sudden rise in loudness"),
        ({"loudness": stepped(-20)}, True, "no sudden rise"),
        ({"onset_rate": 5.0}, False, "many new sounds"),
        ({"treble_share": 0.4}, False, "bright and sharp"),
    ],
)
def test_each_trait_has_its_limit_and_its_reason(changes: dict[str, object], fit: bool, said: str) -> None:
    candidate = judge(calm(**changes))
    assert candidate.fit is fit
    assert any(said in reason for reason in candidate.reasons)


def test_a_rise_out_of_silence_at_the_start_is_no_sudden_rise() -> None:
    loudness = np.full(400, -26, np.float32)
    loudness[:8] = np.linspace(-70, -26, 8)
    analysis = calm(loudness=loudness).analysis
    assert largest_rise(analysis) == 0.0


def test_a_swell_far_below_the_usual_level_is_no_sudden_rise() -> None:
    loudness = np.full(400, -26, np.float32)
    loudness[200:210], loudness[210:220] = -60, -50
    loudness[220:260] = np.linspace(-50, -26, 40)
    analysis = calm(loudness=loudness).analysis
    assert largest_rise(analysis) < 3


@pytest.mark.parametrize(("level", "counts"), [(-25.0, True), (-27.0, False)])
def test_a_rise_counts_from_3_lu_under_the_median(level: float, counts: bool) -> None:
    """Of 400 heard seconds 200 lie at -20 and 180 at -30 or below: the median lies between -20 and the risen level."""
    heard = np.repeat([-20.0, -30.0, -40.0, level], [200, 160, 20, 20])
    assert float(np.median(heard)) == (level - 20.0) / 2
    analysis = calm(loudness=np.concatenate((np.full(10, -20.0), heard)).astype(np.float32)).analysis
    assert largest_rise(analysis) == pytest.approx(level + 40.0 if counts else 0.0)


@pytest.mark.parametrize(
    ("marks", "fit"), [({"rest": "never"}, False), ({"rest": "yes"}, True), ({"voice": "yes"}, False)]
)
def test_the_teachers_word_counts_more_than_measurement(marks: dict[str, str], fit: bool) -> None:
    assert judge(calm(marks=marks)).fit is fit


def test_candidates_come_fit_first_then_from_least_bad_on() -> None:
    library = [
        calm(1, tempo_bpm=140.0, tempo_confidence=1.0, onset_rate=2.9),
        calm(2),
        calm(3, tempo_bpm=84.0, tempo_confidence=1.0, onset_rate=2.0),
        calm(4, {"rest": "never"}),
        calm(5, {"use": "never"}),
    ]
    assert [candidate.track.id for candidate in rest_candidates(library)] == [2, 3, 1, 4]
