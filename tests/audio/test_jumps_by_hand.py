"""Where a track can jump back to, step by step from the words beside each limit, in plain loops."""

from types import SimpleNamespace

import numpy as np
import pytest

from audio.measure import jumps
from audio.measure.features import CHROMA_PER_S, flux_of, shares
from audio.measure.jumps import Heard, Jump
from audio.measure.spectrum import FRAMES_PER_S, RATE, Spectrum


def features(seconds: float, seed: int = 0) -> SimpleNamespace:
    rng = np.random.default_rng(seed)
    frames = round(seconds * FRAMES_PER_S)
    return SimpleNamespace(
        bands=rng.uniform(-90, 0, (frames, 5)).astype(np.float32),
        power=rng.uniform(0, 1, frames).astype(np.float32),
        chroma=rng.uniform(0, 1, (round(seconds * CHROMA_PER_S), 12)).astype(np.float32),
        flux=rng.uniform(0, 1, frames).astype(np.float32),
    )


@pytest.mark.parametrize(
    ("bars", "beats", "steps", "clear"), [(8, 16, 8, True), (7, 16, 16, True), (7, 15, 19, False), (0, 0, 19, False)]
)
def test_steps_are_bars_else_beats_else_half_seconds(bars: int, beats: int, steps: int, clear: bool) -> None:
    grid, is_clear = jumps._grid(features(10), np.arange(beats) * 0.5, np.arange(bars) * 2.0)  # type: ignore[arg-type]
    assert (len(grid), is_clear) == (steps, clear)
    assert grid[1] - grid[0] == (2.0 if bars == 8 else 0.5)


def test_each_step_is_parted_in_four() -> None:
    edges = jumps._edges(np.array([1.0, 3.0, 7.0]))
    assert edges.tolist() == [1, 1.5, 2, 2.5, 3, 4, 5, 6, 7, 8, 9, 10, 11]  # the last is as long as the one before


def test_means_are_of_the_frames_between_edges_and_of_one_at_least() -> None:
    values = np.arange(20.0)[:, None]
    assert jumps._means(values, np.array([0.0, 0.5, 0.52, 1.0]), 10).ravel().tolist() == [2.0, 5.0, 7.0]
    assert jumps._means(values, np.array([1.8, 9.0]), 10).ravel().tolist() == [18.0]  # nothing lies behind the end


def test_places_are_compared_in_bands_level_and_harmony() -> None:
    made, grid = features(12), np.array([0.0, 2.0, 4.0, 6.0, 8.0])
    bands, level, harmony = jumps._distances(made, grid)  # type: ignore[arg-type]
    top = jumps.loudest_band(made)  # type: ignore[arg-type]
    parts = [(first + part / 2, first + part / 2 + 0.5) for first in grid for part in range(4)]

    def mean(values: np.ndarray, per_s: float) -> np.ndarray:
        found = []
        for start, end in parts:
            low = round(start * per_s)
            high = max(min(round(end * per_s), len(values) - 1), low + 1)
            found.append(values[low:high].mean(axis=0, dtype=np.float64))
        return np.array(found)

    heard = np.maximum(mean(made.bands, FRAMES_PER_S), top - 50)
    loud = 10 * np.log10(mean(made.power[:, None], FRAMES_PER_S) + 1e-10)
    tones = np.sqrt(mean(made.chroma, CHROMA_PER_S))
    for one in range(5):
        for two in range(5):
            mine, theirs = slice(4 * one, 4 * one + 4), slice(4 * two, 4 * two + 4)
            assert bands[one, two] == pytest.approx(np.square(heard[mine] - heard[theirs]).mean(), abs=1e-3)
            assert level[one, two] == pytest.approx(abs(loud[mine].mean() - loud[theirs].mean()), abs=1e-6)
            alike = np.corrcoef(tones[mine].ravel(), tones[theirs].ravel())[0, 1]
            assert harmony[one, two] == pytest.approx(1 - alike, abs=1e-5)


@pytest.mark.parametrize("worst", [False, True])
@pytest.mark.parametrize(("after", "before"), [(2, 1), (1, 2), (3, 0)])
def test_what_follows_two_places_and_what_comes_before_counts(after: int, before: int, worst: bool) -> None:
    distance = np.random.default_rng(3).uniform(0, 1, (6, 6))
    along = jumps._along(distance, after, before, worst)
    for one in range(6):
        for two in range(6):
            seen = [
                distance[one + by, two + by] if min(one, two) + by >= 0 and max(one, two) + by < 6 else np.inf
                for by in range(-before, after)
            ]
            assert along[one, two] == pytest.approx(max(seen) if worst else np.mean(seen))


def test_squared_distances_are_those_of_all_pairs() -> None:
    vectors = np.random.default_rng(1).normal(size=(5, 3))
    expected = [[np.square(one - two).sum() for two in vectors] for one in vectors]
    assert jumps._squares(vectors) == pytest.approx(np.array(expected), abs=1e-12)


def test_a_songs_own_flux_is_the_third_quartile_of_the_largest_around_its_bars() -> None:
    made, bars = features(8), np.array([0.0, 1.0, 2.0, 3.0, 7.99])
    reach = round(0.1 * FRAMES_PER_S)
    largest = []
    for bar in bars:
        middle = round(bar * FRAMES_PER_S)
        largest.append(made.flux[max(middle - reach, 0) : middle + reach + 1].max())
    assert jumps._own_flux(made, bars) == pytest.approx(np.percentile(largest, 75), abs=1e-5)  # type: ignore[arg-type]


@pytest.mark.parametrize("lag", [-400, -30, 0, 17, 600])
def test_the_second_place_is_moved_to_where_its_samples_meet_the_first(lag: int) -> None:
    rng = np.random.default_rng(2)
    mono = rng.normal(0, 0.01, 3 * RATE).astype(np.float32)
    part = rng.normal(0, 1, RATE // 2).astype(np.float32)
    mono[RATE // 2 : RATE] = part
    mono[2 * RATE + lag : 2 * RATE + lag + RATE // 2] = 0.5 * part
    one, other = 0.8, 2.3
    assert jumps._lag_s(mono, one, other) == pytest.approx(lag / RATE, abs=1e-9)
    joined = jumps._joined(Heard(None, mono), one + 0.04, other + 0.04, 0.3, clear=True)  # type: ignore[arg-type]
    assert (joined.from_s, joined.to_s, joined.fade_s, joined.seam) == pytest.approx(
        (one, other + lag / RATE, 0.06, 0.3)
    )
    still = jumps._joined(Heard(None, mono), 0.79, 2.29, 0.3, clear=False)  # type: ignore[arg-type]
    assert still == Jump(0.79, 2.29, 4.0, 0.3)


@pytest.mark.parametrize(("one", "other", "moves"), [(0.15, 1.0, True), (0.149, 1.0, False), (1.0, 0.1801, True), (1.0, 0.179, False),
                                                      (1.85, 1.0, True), (1.851, 1.0, False), (1.0, 1.8199, True), (1.0, 1.821, False)])  # fmt: skip
def test_near_the_ends_of_a_track_nothing_is_moved(one: float, other: float, moves: bool) -> None:
    mono = np.random.default_rng(5).normal(size=2 * RATE).astype(np.float32)
    assert (jumps._lag_s(mono, one, other) != 0.0) is moves


def test_sound_around_a_place_has_silence_beyond_the_ends() -> None:
    mono = np.arange(1.0, 11.0, dtype=np.float32)
    assert jumps._around(mono, 5, 2).tolist() == [4, 5, 6, 7]
    assert jumps._around(mono, 1, 3).tolist() == [0, 0, 1, 2, 3, 4]
    assert jumps._around(mono, 9, 3).tolist() == [7, 8, 9, 10, 0, 0]


@pytest.mark.parametrize("fade_s", [0.06, 4.0])
def test_the_flux_of_a_seam_is_that_of_the_joined_sound(fade_s: float) -> None:
    """Equal power over the fade, or over what is looked at; a tenth of a second around the seam counts."""
    rng = np.random.default_rng(6)
    mono = (rng.normal(size=6 * RATE) * (1 + np.arange(6 * RATE) // RATE)).astype(np.float32)
    one, two = 1.5, 4.2
    half, cross = round(0.6 * RATE), round(min(fade_s, 0.6) * RATE)
    joined = np.empty(2 * half)
    for at in range(2 * half):
        turned = min(max((at - (half - cross / 2)) / cross, 0.0), 1.0) * np.pi / 2
        joined[at] = mono[round(one * RATE) - half + at] * np.cos(turned) + mono[
            round(two * RATE) - half + at
        ] * np.sin(turned)
    share = shares(Spectrum().feed(joined.astype(np.float32)))
    flux = np.concatenate(([0.0, 0.0], flux_of(share[2:], share[:2])))
    middle, reach = round(0.6 * FRAMES_PER_S), round(0.1 * FRAMES_PER_S)
    expected = flux[middle - reach : middle + reach + 1].max()
    assert jumps._flux_at(mono, Jump(one, two, fade_s, 0.0)) == pytest.approx(float(expected), rel=1e-4)


def test_from_each_place_the_two_least_seams_back_are_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    flux = {0.0: 0.2, 1.0: 5.0, 2.0: 1.0, 3.0: 0.4, 4.0: 0.1, 5.0: 0.1}
    monkeypatch.setattr(jumps, "_joined", lambda _, one, two, cost, clear: Jump(one, two, 4.0, cost))
    monkeypatch.setattr(jumps, "_flux_at", lambda _, jump: flux[jump.to_s])
    sound = Heard(None, np.zeros(0, np.float32))  # type: ignore[arg-type]
    costs = np.array([0.9, 0.1, 0.3, 0.5, 1.1, np.inf, 0.0])
    found = jumps._from(sound, 6, costs, np.arange(7.0), False, 2.0)
    # To 3: seam 0.5, its flux is a fifth of the limit; to 2: half the limit; to 1: more than it; to 0: 0.9.
    assert [(jump.to_s, jump.seam) for jump in found] == [(2.0, 0.5), (3.0, 0.5)]
    few = jumps._from(sound, 6, np.array([0.9, np.inf, np.inf, np.inf, 1.0, 1.01, 0.0]), np.arange(7.0), False, 2.0)
    assert [(jump.to_s, jump.seam) for jump in few] == [(0.0, 0.9), (4.0, 1.0)]
    many = np.array([0.5, 0.4, 0.3, 0.2, 0.1, 0.6, 0.0])
    tried = jumps._from(sound, 6, many, np.arange(7.0), False, 1.0)  # the four least are tried: 4, 3, 2, 1
    assert [jump.to_s for jump in tried] == [4.0, 3.0]


def test_a_part_played_twice_is_found_and_nothing_nearer_than_eight_seconds(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(jumps, "_flux_at", lambda *_: 0.0)
    half = features(10, seed=4)
    twice = SimpleNamespace(**{name: np.concatenate((values, values)) for name, values in vars(half).items()})
    sound = Heard(twice, np.zeros(20 * RATE, np.float32))  # type: ignore[arg-type]
    found = jumps.jumps(sound, np.zeros(0), np.zeros(0))
    assert found
    assert all(jump.from_s - jump.to_s == pytest.approx(10.0) for jump in found)
    # Two seconds before each place and five after it are compared.
    assert {jump.to_s for jump in found} == {second / 2 for second in range(4, 10)}
    bars = np.arange(0, 19, 1.0)
    assert {jump.from_s for jump in jumps.jumps(sound, np.zeros(0), bars)} <= {bar - 0.04 for bar in bars}
    seven = features(7, seed=4)
    near = SimpleNamespace(**{name: np.concatenate((values, values, values)) for name, values in vars(seven).items()})
    sound = Heard(near, np.zeros(21 * RATE, np.float32))  # type: ignore[arg-type]
    assert all(jump.from_s - jump.to_s == pytest.approx(14.0) for jump in jumps.jumps(sound, np.zeros(0), np.zeros(0)))
    assert jumps.jumps(Heard(features(1.9), np.zeros(RATE, np.float32)), np.zeros(0), np.zeros(0)) == ()  # type: ignore[arg-type]
