"""Seeded instances for the solver's tests and benchmarks: invented libraries and classes, as arrays."""

import numpy as np

from pairing.solve import arrays
from pairing.solve.problem import Problem, Weights


def curves(rng: np.random.Generator, tracks: int, *, short_s: int = 110, long_s: int = 360) -> list[np.ndarray]:
    """Energy curves at 1 Hz: phrases of some level each, an intro that builds, an ending that falls, small waves."""
    return [_curve(rng, int(rng.integers(short_s, long_s))) for _ in range(tracks)]


def _curve(rng: np.random.Generator, length: int) -> np.ndarray:
    mean = rng.beta(1.6, 1.6)
    spread = rng.uniform(0.03, 0.15)
    phrase = int(rng.choice([14, 16, 20, 24, 30]))
    levels = np.repeat(mean + spread * rng.standard_normal(length // phrase + 1), phrase)[:length]
    wave = 0.04 * np.convolve(rng.standard_normal(length + 4), np.ones(5) / np.sqrt(5.0), mode="valid")
    ramp = np.minimum(1.0, 0.4 + np.arange(length) / rng.uniform(8.0, 50.0))
    fall = np.minimum(1.0, 0.3 + np.arange(length)[::-1] / rng.uniform(5.0, 25.0))
    smooth = np.convolve(np.pad(levels, 2, mode="edge"), np.ones(5) / 5.0, mode="valid")
    return np.clip((smooth + wave) * ramp * fall, 0.0, 1.0).astype(np.float32)


def arc(rng: np.random.Generator, seconds: int) -> tuple[np.ndarray, list[int]]:
    """A class: opening, warm-up, two flows, standing, peak, cool-down, rest; target energy and section starts."""
    levels = np.array([0.15, 0.35, 0.55, 0.62, 0.7, 0.85, 0.4, 0.25, 0.08]) + rng.uniform(-0.05, 0.05, 9)
    shares = np.array([0.07, 0.12, 0.15, 0.15, 0.12, 0.11, 0.1, 0.06, 0.12]) * rng.uniform(0.8, 1.2, 9)
    bounds = np.round(np.concatenate(([0.0], np.cumsum(shares / shares.sum()))) * seconds / 4.0).astype(int) * 4
    bounds[-1] = seconds
    target = np.repeat(levels, np.diff(bounds))
    for one, two in zip(bounds[1:6], bounds[2:7], strict=True):
        target[one:two] += 0.07 * np.sin(np.arange(two - one) / rng.uniform(15.0, 40.0))
    kernel = np.ones(31) / 31.0
    smooth = np.convolve(np.pad(target, 15, mode="edge"), kernel, mode="valid")
    smooth[bounds[-2] :] = target[bounds[-2] :]
    return np.clip(smooth, 0.02, 0.98).astype(np.float32), [int(b) for b in bounds[1:-1]]


def energy_only(
    seed: int, tracks: int, seconds: int = 3600, *, handover_s: int = 4, cut_s: int = 8, shortest_s: int = 64
) -> Problem:
    """Squared error alone: hand-overs on a grid of class seconds, cuts on a grid of track seconds."""
    rng = np.random.default_rng(seed)
    library = curves(rng, tracks)
    target, _ = arc(rng, seconds)
    return arrays.problem(library, target, handover_s=handover_s, cut_s=cut_s, shortest_s=shortest_s)


def full(
    seed: int, tracks: int, seconds: int = 3600, *, artists: int | None = None, weights: Weights | None = None
) -> Problem:
    """The whole objective on a 1-s grid: phrase starts as cuts, free changes before section starts, a voiceless rest."""
    rng = np.random.default_rng(seed)
    library = curves(rng, tracks)
    target, sections = arc(rng, seconds)
    change = np.ones(seconds + 1)
    for start in sections:
        change[max(0, start - 8) : start + 1] = 0.0
    enters, enter_costs, leaves, leave_costs = [], [], [], []
    for curve in library:
        phrase = float(rng.uniform(7.0, 17.0))
        starts = np.unique(np.round(np.arange(0.0, len(curve) - 20.0, phrase)).astype(int))
        enters.append(starts)
        enter_costs.append(np.where(starts == 0, 0.0, np.where(starts < 30, 0.3, 1.0)))
        ends = np.append(starts[starts > 20], len(curve) - 4)
        leaves.append(ends)
        leave_costs.append(np.where(ends == len(curve) - 4, 0.0, 1.0))
    length = np.clip((90.0 - np.arange(seconds + 1)) / 60.0, 0.0, 1.0)
    length[:60] = np.inf
    weight = np.ones(seconds)
    weight[: sections[0]] = 3.0
    weight[sections[4] : sections[5]] = 2.0
    weight[sections[-1] :] = 3.0
    over = np.ones(seconds)
    over[: sections[0]] = 2.0
    over[sections[-1] :] = 2.0
    means = np.array([curve.mean() for curve in library])
    voiced = rng.random(tracks) < 0.4
    zone = np.zeros(seconds, dtype=np.int64)
    zone[sections[-1] :] = 1
    zone_cost = np.zeros((2, tracks))
    zone_cost[1] = np.where(voiced | (means > 0.45), np.inf, 0.0)
    if not np.isfinite(zone_cost[1]).any():
        zone_cost[1] = 0.0
    flow = (sections[1], (sections[1] + sections[2]) // 2)
    return arrays.problem(
        library,
        target,
        enter_at=enters,
        leave_at=leaves,
        enter_cost=enter_costs,
        leave_cost=leave_costs,
        change_cost=change,
        length_cost=length,
        weight=weight,
        over=over,
        zone=zone,
        zone_cost=zone_cost,
        must_change=np.array([sections[-1]]),
        tempo_bpm=np.where(rng.random(tracks) < 0.2, np.nan, rng.uniform(60.0, 150.0, tracks)),
        key=rng.integers(-1, 24, tracks),
        artist=rng.integers(0, artists or max(2, tracks // 5), tracks),
        twins=((flow[0], flow[1], flow[1] - flow[0]),),
        weights=weights or Weights(),
    )
