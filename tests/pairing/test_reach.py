"""The arc fitted into what the library can give, and what is said about it."""

import invented_music
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pairing.alignment import frame, reach
from pairing.model import PairOptions

TABLE = invented_music.timetable()
ARC = invented_music.arc(TABLE)
SHAPE = frame.of_class(invented_music.plan(), TABLE, ARC, PairOptions())


@given(lowest=st.floats(0, 0.6), highest=st.floats(0.3, 1))
def test_the_fitted_arc_rises_where_the_arc_rises_and_stays_in_reach(lowest: float, highest: float) -> None:
    made = reach.fitted(ARC.target_energy, lowest, highest)
    order = np.argsort(ARC.target_energy, kind="stable")
    assert (np.diff(made[order]) >= -1e-6).all()
    low, high = reach.arc_ends(made)
    if lowest < highest - 0.1:
        assert low >= min(lowest, reach.arc_ends(ARC.target_energy)[0]) - reach.TOLERANCE - 1e-3
        assert high <= highest + reach.TOLERANCE + 1e-3


def test_an_arc_within_reach_stays_as_it_is() -> None:
    assert reach.fitted(ARC.target_energy, 0.05, 0.95) is ARC.target_energy
    assert list(reach.findings(SHAPE, 0.05, 0.95)) == []


def test_what_is_missing_is_said_with_its_place() -> None:
    found = list(reach.findings(SHAPE, 0.3, 0.62))
    messages = {finding.code: finding.message for finding in found}
    remedies = {finding.code: finding.remedy or "" for finding in found}
    assert "livelier tracks" in remedies["nothing-lively-enough"]
    assert "calmer tracks" in remedies["nothing-calm-enough"]
    assert "Crest (peak): what there is enough of is calmer than asked" in messages["nothing-lively-enough"]
    assert "Float (rest): what there is enough of is livelier than asked" in messages["nothing-calm-enough"]
    assert "fitted" in messages["arc-fitted-to-library"]


def test_that_nothing_is_lively_or_calm_enough_is_not_said_where_some_is() -> None:
    """One track of three minutes is as lively as the peak of five asks, another as calm as the rest."""
    some = [np.full(180, 0.95, np.float32), np.full(180, 0.02, np.float32), np.full(4000, 0.5, np.float32)]
    said = [each.message for each in reach.findings(SHAPE, *reach.reach(some, ARC.target_energy))]
    assert len(said) >= 1
    assert not any(
        words in each for each in said for words in ("othing", "your calmest", "your liveliest", "goes from")
    )


def test_the_reach_needs_the_level_for_as_long_as_the_arc_does() -> None:
    # One lively track of three minutes is not enough for a peak of five.
    lively, calm = np.full(180, 0.9, np.float32), np.full(4000, 0.5, np.float32)
    _, highest = reach.reach([lively, calm], ARC.target_energy)
    assert highest == pytest.approx(0.5)
    _, highest = reach.reach([lively, lively, lively, calm], ARC.target_energy)
    assert highest == pytest.approx(0.9)
