"""Where a track rises: sections against an exhaustive split, and pieces whose loudest, stillest and last parts are known
from how they were put together."""

from itertools import combinations

import numpy as np
import pytest
import sounds
from hypothesis import given, settings
from hypothesis import strategies as st
from test_tempo_and_beats import features_of

from audio.measure import rises
from audio.measure.beats import NO_BEATS
from audio.measure.rises import shape_of
from audio.track import Shape


def shape_of_samples(samples: np.ndarray) -> Shape:
    return shape_of(features_of(samples), NO_BEATS, len(samples) / sounds.RATE)


def piece(levels: list[float], each_s: float = 10.0) -> np.ndarray:
    """Soft chords throughout, and drums and a bright tone as loud as each part's level says."""
    seconds = len(levels) * each_s
    ground = sounds.chords([[48, 52, 55], [45, 48, 52]], 2.0, seconds)
    busy = sounds.drums(120, seconds)[0] + 0.5 * sounds.chords([[72, 76, 79, 84]], 0.25, seconds)
    return 0.1 * ground + np.repeat(levels, round(each_s * sounds.RATE))[: len(ground)].astype(np.float32) * busy


@pytest.mark.parametrize(
    ("levels", "climax_from_s", "climax_to_s"),
    [([0.02, 0.1, 0.3, 1.0, 0.1, 0.02], 30, 40), ([0.3, 0.02, 0.3, 0.3, 1, 1, 0.02], 40, 60)],
    ids=["a hill", "after a lull"],
)
def test_the_climax_lies_where_most_is_played_and_the_climb_leads_there(levels, climax_from_s, climax_to_s):
    shape = shape_of_samples(piece(levels))
    assert climax_from_s - 1 <= shape.climax_s <= climax_to_s + 1
    assert shape.climb_s < climax_from_s
    assert max(shape.sections, key=lambda s: s.level).start_s == pytest.approx(climax_from_s, abs=3)


def test_the_ending_begins_where_hardly_anything_is_played_any_more():
    assert shape_of_samples(piece([0.3, 0.02, 0.3, 0.3, 1, 1, 0.02])).ending_s == pytest.approx(60, abs=3)


def test_what_stays_the_same_has_no_climax_and_one_section():
    shape = shape_of_samples(sounds.chords([[48, 52, 55]], 2.0, 60))
    assert shape.climax_s is None
    assert shape.climb_s is None
    assert len(shape.sections) == 1
    assert shape.breaks == ()


@pytest.mark.parametrize("still_s", [2.0, 4.0, 8.0])
def test_a_break_is_found_where_the_drums_stop_and_ends_where_they_are_back(still_s):
    samples = piece([1.0] * 6)
    first, last = round(30 * sounds.RATE), round((30 + still_s) * sounds.RATE)
    samples[first:last] *= 0.02
    (found,) = shape_of_samples(samples).breaks
    assert found.start_s == pytest.approx(30, abs=1)
    assert found.end_s == pytest.approx(30 + still_s, abs=1)


def test_music_that_comes_back_has_the_letter_it_had():
    shape = shape_of_samples(np.concatenate([piece([1.0] * 3), piece([0.0] * 3), piece([1.0] * 3)]))
    letters = [s.letter for s in shape.sections]
    assert letters == ["A", "B", "A"]
    assert [s.start_s for s in shape.sections] == pytest.approx([0, 30, 60], abs=3)


@given(st.integers(1, 3), st.integers(3, 9), st.integers(0, 10_000))
@settings(max_examples=40, deadline=None)
def test_no_other_split_into_sections_is_cheaper(shortest, count, seed):
    vectors = np.random.default_rng(seed).normal(size=(count, 2)).cumsum(axis=0)

    def cost(edges: tuple[int, ...]) -> float:
        parts = [vectors[a:b] for a, b in zip((0, *edges), (*edges, count), strict=True)]
        price = rises._PRICE * float(np.square(vectors).sum(axis=1).mean())
        return sum(float(np.square(part - part.mean(axis=0)).sum()) + price for part in parts)

    ours = tuple(rises._split(vectors, shortest, longest=count)[1:-1])
    every = [edges for size in range(count) for edges in combinations(range(1, count), size)]
    allowed = [edges for edges in every if min(np.diff((0, *edges, count))) >= shortest]
    assert cost(ours) == pytest.approx(min(map(cost, allowed)))


@pytest.mark.parametrize("seconds", [0.2, 1.0, 3.0])
def test_a_moment_of_sound_is_no_trouble(seconds):
    shape = shape_of_samples(sounds.noise(seconds, "white"))
    assert shape.climax_s is None
    assert shape.sections[0].start_s <= shape.sections[-1].end_s
